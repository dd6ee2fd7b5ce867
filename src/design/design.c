#include "design/design.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

enum { ARCHIVE = 4000, BAND_INSTANTS = 60 };
static const double held_within = 3e-4;    /* of a wish with a value while aims are sought */
static const double least_margin = 1.5;    /* against bursting, unless accepted by name */
static const double quick_accuracy = 1e-5; /* so that slopes over a thousandth of the box are smooth */
const double sm_design_whisker = 3e-4;     /* more than the full burn's own error */
static const double loosest = 2e-3;        /* of a figure, between quick and full burn at the end */
static const double kept = 1e-6;           /* a limit broken by no more counts as kept by the search */

/* ---- changes ---- */

size_t sm_design_changes(const struct sm_request_spec *spec, const double *x, struct sm_change *changes)
{
    size_t n = 0;
    for (size_t i = 0; i < spec->n_free; i++) {
        const struct sm_free_value *v = &spec->free[i];
        changes[n++] = (struct sm_change){v->of, x[i]};
        for (size_t k = 0; k < v->n_tied; k++)
            changes[n++] = (struct sm_change){v->tied[k].of, v->tied[k].factor * x[i] + v->tied[k].plus};
    }
    return n;
}

void sm_design_round(const struct sm_request_spec *spec, double *x)
{
    for (size_t i = 0; i < spec->n_free; i++) {
        char text[SM_MEASURE_TEXT];
        double scale, number;
        sm_measure_unit(spec->free[i].dim, &scale);
        sm_text_format(text, sizeof text, "%.7g", x[i] / scale);
        if (!spec->free[i].is_whole && sm_text_parse_double(text, strlen(text), &number) > 0)
            x[i] = fmin(spec->free[i].to, fmax(spec->free[i].from, number * scale));
    }
}

/* ---- burns ---- */

/* A straight line between the neighbours of t that give the value; absent outside them. */
static double band_at(const struct sm_thrust_limit *points, size_t n, double t, int is_most)
{
    double t0 = SM_ABSENT, v0 = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        const double v = is_most ? points[i].most : points[i].least;
        if (isnan(v))
            continue;
        if (points[i].time >= t)
            return points[i].time - t <= 0.0 ? v
                   : isnan(t0)               ? SM_ABSENT
                                             : v0 + (v - v0) * (t - t0) / (points[i].time - t0);
        t0 = points[i].time;
        v0 = v;
    }
    return SM_ABSENT;
}

static double thrust_at(const struct sm_series *s, double t)
{
    return t > s->time[s->n - 1] ? 0.0 : sm_curve_at(s->time, s->thrust, s->n, t);
}

static void measure_band(const struct sm_list *list, const struct sm_series *s, double band[2])
{
    const struct sm_thrust_limit *points = list->items;
    const size_t n = list->n;
    band[0] = band[1] = -SM_INF;
    for (size_t i = 0; i < n + BAND_INSTANTS; i++) {
        const double first = points[0].time, last = points[n - 1].time;
        const double t =
            i < n ? points[i].time : first + (last - first) * ((double)(i - n) + 0.5) / BAND_INSTANTS;
        const double thrust = thrust_at(s, t);
        const double least = band_at(points, n, t, 0), most = band_at(points, n, t, 1);
        if (least > 0.0)
            band[0] = fmax(band[0], (least - thrust) / least);
        if (most > 0.0)
            band[1] = fmax(band[1], (thrust - most) / most);
        else if (most == 0.0 && thrust > 0.0)
            band[1] = fmax(band[1], 1.0);
    }
}

/* Mean over one of the even stretches of the thrust wanted: unlike single instants, it changes smoothly as the end of the
 * burn moves. */
static double shape_mean(const struct sm_list *list, const double *time, const double *thrust, size_t n,
                         size_t i)
{
    const struct sm_thrust_wish *points = list->items;
    const double first = points[0].time, width = (points[list->n - 1].time - first) / SM_SHAPE_INSTANTS;
    const double from = first + width * (double)i;
    return sm_curve_integral(time, thrust, n, from, from + width) / width;
}

static void want_thrust(struct sm_design *d)
{
    const struct sm_list *list = &d->spec->wanted.thrust;
    const struct sm_thrust_wish *points = list->items;
    double time[SM_MAX_THRUST_POINTS], thrust[SM_MAX_THRUST_POINTS];
    for (size_t i = 0; i < list->n; i++) {
        time[i] = points[i].time;
        thrust[i] = points[i].thrust;
    }
    for (size_t i = 0; i < SM_SHAPE_INSTANTS && list->n > 0; i++)
        d->thrust_wanted[i] = shape_mean(list, time, thrust, list->n, i);
}

double sm_design_shape(const struct sm_design *d, const struct sm_measured *m, int is_exact)
{
    double squares = 0.0, sum = 0.0;
    for (size_t i = 0; i < SM_SHAPE_INSTANTS; i++) {
        const double miss = m->thrust[i] + (is_exact ? 0.0 : d->thrust_offset[i]) - d->thrust_wanted[i];
        squares += miss * miss;
        sum += d->thrust_wanted[i];
    }
    return sum > 0.0 ? sqrt(squares * SM_SHAPE_INSTANTS) / sum : sqrt(squares);
}

/* Distance burned up to which evenness is judged: to the thinnest web that a shape itself calls so, before which no part of a
 * front comes to the wall; else to the web proper. */
static double even_web(const struct sm_motor *motor)
{
    double web = motor->stack.web_main;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        web = fmin(web, sm_grain_number(&motor->spec.grains[i], "web", web));
    return web * (1.0 - 1e-9); /* the march meets it to rounding */
}

/* Over the distance burned; straight between the series' rows. */
static double measure_uneven(const struct sm_motor *motor, const struct sm_series *s)
{
    const double web = even_web(motor);
    double length = 0.0, sum = 0.0, squares = 0.0;
    for (size_t i = 1; i < s->n && s->web[i - 1] < web; i++) {
        const double step = s->web[i] - s->web[i - 1], a = s->burn_area[i - 1], b = s->burn_area[i];
        length += step;
        sum += 0.5 * step * (a + b);
        squares += step * (a * a + a * b + b * b) / 3.0;
    }
    const double mean = sum / length;
    return sqrt(fmax(0.0, squares / length / (mean * mean) - 1.0));
}

static enum sm_status measure_hot(const struct sm_design *design, const struct sm_motor *motor,
                                  struct sm_run_options *run, const struct sm_context *context,
                                  struct sm_measured *out, struct sm_error *err)
{
    struct sm_result *result;
    out->figure[SM_F_PEAK_HOT] = out->figure[SM_F_PEAK];
    if (design->hot_temperature > motor->spec.conditions.grain_temperature) {
        run->grain_temperature = design->hot_temperature;
        SM_TRY(sm_simulate(motor, run, context, &result, err));
        out->figure[SM_F_PEAK_HOT] = fmax(out->figure[SM_F_PEAK], result->chamber.pressure_maximum);
        sm_result_free(result);
    }
    out->figure[SM_F_BURST_MARGIN] = motor->spec.chamber.burst_pressure / out->figure[SM_F_PEAK_HOT];
    return SM_OK;
}

enum sm_status sm_design_measure(const struct sm_design *design, const struct sm_motor *motor,
                                 enum sm_model model, double accuracy, const struct sm_allocator *allocator,
                                 struct sm_measured *out, struct sm_error *err)
{
    const struct sm_request_spec *spec = design->spec;
    const struct sm_context context = {.allocator = allocator};
    struct sm_run_options run = {.model = model, .accuracy = accuracy, .without_warnings = true};
    struct sm_result *result;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        out->figure[i] = SM_ABSENT;
    out->band[0] = out->band[1] = out->uneven = 0.0;
    memset(out->thrust, 0, sizeof out->thrust);
    SM_TRY(sm_simulate(motor, &run, &context, &result, err));
    sm_measure_burn(motor, result, spec->release_time, out->figure);
    if (spec->limits.thrust.n > 0)
        measure_band(&spec->limits.thrust, &result->series, out->band);
    for (size_t i = 0; i < SM_SHAPE_INSTANTS && spec->wanted.thrust.n > 0; i++)
        out->thrust[i] =
            shape_mean(&spec->wanted.thrust, result->series.time, result->series.thrust, result->series.n, i);
    if (spec->wanted.neutral)
        out->uneven = measure_uneven(motor, &result->series);
    sm_result_free(result);
    return design->needs_hot ? measure_hot(design, motor, &run, &context, out, err) : SM_OK;
}

enum sm_status sm_design_measure_at(struct sm_design *design, const double *x, enum sm_model model,
                                    double accuracy, struct sm_measured *out, struct sm_error *err)
{
    struct sm_change changes[SM_DESIGN_CHANGES];
    struct sm_motor *motor;
    const size_t n = sm_design_changes(design->spec, x, changes);
    sm_pool_reset(&design->pool);
    SM_TRY(sm_motor_vary(design->motor, changes, n, &design->pool.allocator, &motor, err));
    return sm_design_measure(design, motor, model, accuracy, &design->pool.allocator, out, err);
}

/* ---- limits and wishes ---- */

double sm_bound_broken(const struct sm_design *design, const struct sm_bound *b, const struct sm_measured *m,
                       int is_exact)
{
    if (b->kind == SM_BOUND_BAND)
        return m->band[b->side > 0] + (is_exact ? 0.0 : b->offset + b->stray + b->back);
    if (b->kind == SM_BOUND_SHAPE || b->kind == SM_BOUND_UNEVEN)
        return (b->kind == SM_BOUND_SHAPE ? sm_design_shape(design, m, 0) : m->uneven) - b->bound;
    const double value = m->figure[b->figure] * (is_exact ? 1.0 : design->factor[b->figure] * b->margin);
    const double size = b->bound != 0.0 ? fabs(b->bound) : 1.0;
    return b->side * (value - b->bound) / size + (is_exact ? 0.0 : b->back);
}

static double square(double x)
{
    return x * x;
}

static int has_values(const struct sm_request_wishes *w)
{
    int found = w->under_class != NULL || w->neutral || w->thrust.n > 0;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        found = found || !isnan(w->of[i].value);
    return found;
}

static int has_aims(const struct sm_request_wishes *w)
{
    int found = 0;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        found = found || w->of[i].aim >= 0;
    return found;
}

static double class_end(const struct sm_request_wishes *w)
{
    return sm_class_limit(w->under_class) * (1.0 - w->class_reserve);
}

/* Squares of relative misses of what has a value. */
static double misses_of(const struct sm_design *d, const struct sm_measured *m)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    double misses = 0.0;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (!isnan(w->of[i].value))
            misses += w->of[i].weight * square(m->figure[i] * d->factor[i] / w->of[i].value - 1.0);
    if (w->under_class)
        misses += square(m->figure[SM_F_TOTAL_IMPULSE] * d->factor[SM_F_TOTAL_IMPULSE] / class_end(w) - 1.0);
    if (w->neutral)
        misses += square(m->uneven);
    if (w->thrust.n > 0)
        misses += square(sm_design_shape(d, m, 0));
    return misses;
}

/* What is to be great or small, against the start's own. */
static double aims_of(const struct sm_design *d, const struct sm_measured *m)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    double aims = 0.0;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (w->of[i].aim >= 0)
            aims += w->of[i].weight * (w->of[i].aim == 1 ? -1.0 : 1.0) * m->figure[i] * d->factor[i] /
                    d->scale[i];
    return aims;
}

static double goal_of(const struct sm_design *d, const struct sm_measured *m)
{
    if (d->trade)
        return d->trade->side * m->figure[d->trade->figure] * d->factor[d->trade->figure] /
               d->scale[d->trade->figure];
    return d->seeks_aims || !has_values(&d->spec->wanted) ? aims_of(d, m) : misses_of(d, m);
}

static void take_scale(struct sm_design *d, const struct sm_measured *m)
{
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        d->scale[i] = m->figure[i] > 0.0 ? m->figure[i] : 1.0;
    d->has_scale = 1;
}

enum sm_optim_answer sm_design_look(void *user, const double *x, double *goal, double *limits)
{
    struct sm_design *d = user;
    struct sm_measured m;
    struct sm_error err = {0};
    d->looks++;
    if (d->progress && d->progress->step &&
        d->progress->step(d->progress->user, fmin(0.99, (double)d->looks / d->looks_expected)))
        return SM_OPTIM_STOP;
    if (sm_design_measure_at(d, x, SM_MODEL_EQUILIBRIUM, quick_accuracy, &m, &err) != SM_OK) {
        d->reason = err;
        return SM_OPTIM_NO_SUCH_POINT;
    }
    if (!d->has_scale)
        take_scale(d, &m);
    *goal = goal_of(d, &m);
    for (size_t i = 0; i < d->n_bounds; i++)
        limits[i] = sm_bound_broken(d, &d->bounds[i], &m, 0);
    if (d->archive && !d->seeks_aims && d->n_archive < ARCHIVE)
        memcpy(d->archive + d->n_bounds * d->n_archive++, limits, d->n_bounds * sizeof *limits);
    return SM_OPTIM_GOOD;
}

/* ---- making one ---- */

static enum sm_status add_bound(struct sm_design *d, const struct sm_bound *bound, struct sm_error *err)
{
    if (d->n_bounds == SM_OPTIM_LIMITS)
        return sm_fail(err, SM_E_INTERNAL, "more than %d limits", (int)SM_OPTIM_LIMITS);
    d->bounds[d->n_bounds] = *bound;
    d->bounds[d->n_bounds++].margin = 1.0;
    return SM_OK;
}

static enum sm_status add_figure(struct sm_design *d, enum sm_measure figure, int side, double value,
                                 double other, const char *pointer, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    char text[SM_MEASURE_TEXT];
    sm_size_figures(&figures);
    if (isnan(value))
        return SM_OK;
    struct sm_bound b = {
        .kind = SM_BOUND_FIGURE, .figure = figure, .dim = figures[figure].dim, .side = side, .bound = value};
    /* Between two limits that all but meet there is less room for the whisker. */
    b.back = isnan(other) || value == 0.0 ? sm_design_whisker
                                          : fmin(sm_design_whisker, 0.25 * fabs((value - other) / value));
    sm_text_format(b.what, sizeof b.what, "%s at %s %s", figures[figure].name, side > 0 ? "most" : "least",
                   sm_measure_text(text, b.dim, value, 6));
    sm_text_format(b.pointer, sizeof b.pointer, "%s", pointer);
    return add_bound(d, &b, err);
}

static enum sm_status add_band(struct sm_design *d, struct sm_error *err)
{
    const struct sm_list *list = &d->spec->limits.thrust;
    const struct sm_thrust_limit *points = list->items;
    for (int side = -1; side <= 1; side += 2) {
        size_t given = 0;
        for (size_t i = 0; i < list->n; i++)
            given += isnan(side > 0 ? points[i].most : points[i].least) ? 0 : 1;
        struct sm_bound b = {
            .kind = SM_BOUND_BAND, .side = side, .back = sm_design_whisker, .pointer = "/limits/thrust"};
        sm_text_format(b.what, sizeof b.what, "thrust at %s its band", side > 0 ? "most" : "least");
        if (given > 0)
            SM_TRY(add_bound(d, &b, err));
    }
    return SM_OK;
}

static enum sm_status add_margin(struct sm_design *d, int accepts, struct sm_error *err)
{
    const struct sm_limit *given = &d->spec->limits.of[SM_F_BURST_MARGIN];
    const struct sm_case *chamber = &d->motor->spec.chamber;
    const char *pointer = isnan(given->least) ? "/case/margin" : "/limits/burst_margin";
    d->margin = isnan(chamber->burst_pressure) ? SM_ABSENT
                : isnan(given->least)          ? chamber->margin
                                               : given->least;
    if (isnan(d->margin))
        return SM_OK;
    d->is_margin_low = d->margin < least_margin;
    if (d->is_margin_low && !accepts)
        return sm_at(
            err,
            sm_fail(err, SM_E_RANGE,
                    "a burst margin of %.4g is under %.4g: it is refused unless accepted by name, with "
                    "\"accept\": [\"burst-margin\"]",
                    d->margin, least_margin),
            "%s", pointer);
    d->needs_hot = 1;
    return isnan(given->least)
               ? add_figure(d, SM_F_BURST_MARGIN, -1, d->margin, given->most, "/case/margin", err)
               : SM_OK;
}

/* Total impulse at most the end of a class, less a reserve. */
static enum sm_status add_class(struct sm_design *d, const char *letter, double reserve, const char *pointer,
                                struct sm_error *err)
{
    char text[SM_MEASURE_TEXT];
    const double end = sm_class_limit(letter) * (1.0 - reserve);
    SM_TRY(add_figure(d, SM_F_TOTAL_IMPULSE, 1, end, SM_ABSENT, pointer, err));
    struct sm_bound *b = &d->bounds[d->n_bounds - 1];
    sm_text_format(b->what, sizeof b->what, "class %s%s, %s", letter, reserve > 0.0 ? " with reserve" : "",
                   sm_measure_text(text, SM_DIM_IMPULSE, end, 6));
    return SM_OK;
}

static enum sm_status add_bounds(struct sm_design *d, int accepts, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    const struct sm_request_spec *s = d->spec;
    char pointer[64];
    sm_size_figures(&figures);
    SM_TRY(add_margin(d, accepts, err));
    for (size_t i = 0; i < SM_N_MEASURES; i++) {
        const struct sm_limit *l = &s->limits.of[i];
        sm_text_format(pointer, sizeof pointer, "/limits/%s", figures[i].name);
        SM_TRY(add_figure(d, (enum sm_measure)i, -1, l->least, l->most, pointer, err));
        SM_TRY(add_figure(d, (enum sm_measure)i, 1, l->most, l->least, pointer, err));
    }
    if (s->limits.impulse_class)
        SM_TRY(add_class(d, s->limits.impulse_class, 0.0, "/limits/class", err));
    if (s->wanted.under_class)
        SM_TRY(add_class(d, s->wanted.under_class, s->wanted.class_reserve, "/wanted/under_class", err));
    return add_band(d, err);
}

static int is_hot(size_t figure)
{
    return figure == SM_F_PEAK_HOT || figure == SM_F_BURST_MARGIN;
}

/* Figures that the motor does not have can't be limited, whatever its dimensions. */
static enum sm_status check_figures(struct sm_design *d, const struct sm_measured *m, struct sm_error *err)
{
    const struct sm_size_figure *figures;
    sm_size_figures(&figures);
    for (size_t i = 0; i < SM_N_MEASURES; i++) {
        const struct sm_wish *w = &d->spec->wanted.of[i];
        const struct sm_limit *l = &d->spec->limits.of[i];
        const int is_wanted = !isnan(w->value) || w->aim >= 0,
                  is_limited = !isnan(l->least) || !isnan(l->most);
        if (isnan(m->figure[i]) && (is_wanted || is_limited))
            return sm_at(err, sm_fail(err, SM_E_FIELD, "this motor has no %s", figures[i].label), "/%s/%s",
                         is_wanted ? "wanted" : "limits", figures[i].name);
    }
    return SM_OK;
}

static enum sm_status check_options(const struct sm_size_options *o, struct sm_error *err)
{
    if (o->restarts > 50)
        return sm_fail(err, SM_E_RANGE, "%zu restarts are outside 1 to 50", o->restarts);
    const double rounding = 1e-9; /* 99.9 per cent is a hair more than 0.999 */
    if (o->robust != 0.0 && !(o->robust >= 0.5 && o->robust <= 0.999 + rounding))
        return sm_fail(err, SM_E_RANGE, "a share of %.4g %% is outside 50 %% to 99.9 %%", 100.0 * o->robust);
    if (o->samples != 0 && (o->samples < 100 || o->samples > SM_MAX_SAMPLES))
        return sm_fail(err, SM_E_RANGE, "%zu samples are outside 100 to %d", o->samples, (int)SM_MAX_SAMPLES);
    return SM_OK;
}

enum sm_status sm_design_look_at_start(struct sm_design *d, struct sm_error *err)
{
    struct sm_measured m;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        d->factor[i] = d->scale[i] = 1.0;
    d->has_scale = 0;
    if (sm_design_measure(d, d->motor, SM_MODEL_EQUILIBRIUM, quick_accuracy, &d->pool.allocator, &m, NULL) !=
        SM_OK)
        return SM_OK;
    take_scale(d, &m);
    return check_figures(d, &m, err);
}

enum sm_status sm_design_init(struct sm_design *d, const struct sm_motor *motor,
                              const struct sm_request_spec *spec, const struct sm_size_options *options,
                              const struct sm_context *context, struct sm_error *err)
{
    const int accepts = options->accepts_burst_margin ||
                        (spec->accept != SM_CHOICES_ABSENT && (spec->accept & SM_ACCEPT_BURST_MARGIN));
    *d = (struct sm_design){.motor = motor, .spec = spec, .seed = options->seed};
    sm_pool_init(&d->pool, context ? context->allocator : NULL);
    d->progress = context ? &context->progress : NULL;
    d->restarts = options->restarts > 0 ? options->restarts : 2;
    d->looks_expected = (double)(spec->n_free * (200 + 250 * d->restarts) + 2000);
    d->hot_temperature = motor->spec.conditions.hottest_temperature;
    SM_TRY(check_options(options, err));
    for (size_t i = 0; i < spec->n_free; i++)
        d->variables[i] =
            (struct sm_optim_variable){spec->free[i].from, spec->free[i].to, spec->free[i].is_whole};
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (is_hot(i) && (!isnan(spec->limits.of[i].least) || !isnan(spec->limits.of[i].most) ||
                          !isnan(spec->wanted.of[i].value) || spec->wanted.of[i].aim >= 0))
            d->needs_hot = 1;
    want_thrust(d);
    SM_TRY(add_bounds(d, accepts, err));
    SM_TRY(sm_design_look_at_start(d, err));
    d->archive = malloc(ARCHIVE * (d->n_bounds + 1) * sizeof *d->archive);
    return d->archive ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

void sm_design_release(struct sm_design *d)
{
    free(d->archive);
    d->archive = NULL;
    sm_pool_release(&d->pool);
}

/* ---- searching ---- */

static enum sm_status search_once(struct sm_design *d, const double *start, size_t restarts,
                                  struct sm_optim_result *result, struct sm_error *err)
{
    const struct sm_optim_problem problem = {
        .variables = d->variables, .n = d->spec->n_free, .m = d->n_bounds, .eval = sm_design_look, .user = d};
    const struct sm_optim_options options = {.seed = d->seed, .restarts = restarts, .tolerance = kept};
    const enum sm_status status = sm_optim_search(&problem, start, &options, result, err);
    /* Led past motors that there was no memory for, a search ends elsewhere. */
    return d->pool.arena.is_starved ? sm_fail(err, SM_E_NOMEM, "out of memory") : status;
}

/* Holds a figure within a whisker of what it got. */
static enum sm_status hold_figure(struct sm_design *d, enum sm_measure figure, double got,
                                  struct sm_error *err)
{
    for (int side = -1; side <= 1; side += 2) {
        const struct sm_bound b = {.kind = SM_BOUND_FIGURE,
                                   .figure = figure,
                                   .side = side,
                                   .bound = got * (1.0 + side * held_within)};
        SM_TRY(add_bound(d, &b, err));
    }
    return SM_OK;
}

static enum sm_status hold_values(struct sm_design *d, const struct sm_measured *m, struct sm_error *err)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    for (size_t i = 0; i < SM_N_MEASURES; i++)
        if (!isnan(w->of[i].value) || (i == SM_F_TOTAL_IMPULSE && w->under_class))
            SM_TRY(hold_figure(d, (enum sm_measure)i, m->figure[i] * d->factor[i], err));
    if (w->thrust.n > 0)
        SM_TRY(add_bound(
            d, &(struct sm_bound){.kind = SM_BOUND_SHAPE, .bound = sm_design_shape(d, m, 0) + held_within},
            err));
    if (w->neutral)
        SM_TRY(
            add_bound(d, &(struct sm_bound){.kind = SM_BOUND_UNEVEN, .bound = m->uneven + held_within}, err));
    return SM_OK;
}

static enum sm_status search_aims(struct sm_design *d, struct sm_optim_result *result, struct sm_error *err)
{
    const size_t n = d->n_bounds;
    struct sm_measured m;
    struct sm_optim_result better = {0};
    SM_TRY(sm_design_measure_at(d, result->x, SM_MODEL_EQUILIBRIUM, quick_accuracy, &m, err));
    enum sm_status status = hold_values(d, &m, err);
    d->seeks_aims = 1;
    if (status == SM_OK)
        status = search_once(d, result->x, 0, &better, err);
    d->seeks_aims = 0;
    d->n_bounds = n;
    if ((status == SM_OK || status == SM_E_CANCELLED) && better.found && better.violation <= 0.0) {
        memcpy(result->x, better.x, sizeof result->x);
        memcpy(result->limits, better.limits, n * sizeof *result->limits);
        result->evaluations += better.evaluations;
    }
    return status;
}

enum sm_status sm_design_search(struct sm_design *d, const double *start, size_t restarts,
                                struct sm_optim_result *result, struct sm_error *err)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    SM_TRY(search_once(d, start, restarts, result, err));
    if (!result->found)
        return sm_fail(err, SM_E_PHYSICS,
                       "no motor within the bounds has an answer; the last one tried: %.180s%s%s",
                       d->reason.message, d->reason.at.path[0] ? " at " : "", d->reason.at.path);
    if (d->trade || result->violation > 0.0 || !has_values(w) || !has_aims(w))
        return SM_OK;
    return search_aims(d, result, err);
}

/* Takes the full burn over the quick one into the corrections. Returned: the largest change of one that matters [1]. */
static double correct(struct sm_design *d, const struct sm_measured *quick, const struct sm_measured *full)
{
    const struct sm_request_wishes *w = &d->spec->wanted;
    double largest = 0.0, squares = 0.0;
    for (size_t i = 0; i < SM_N_MEASURES; i++) {
        int matters = !isnan(w->of[i].value) || w->of[i].aim >= 0 ||
                      (i == SM_F_TOTAL_IMPULSE && w->under_class != NULL) ||
                      (d->trade && d->trade->figure == i);
        for (size_t k = 0; k < d->n_bounds; k++)
            matters = matters || (d->bounds[k].kind == SM_BOUND_FIGURE && d->bounds[k].figure == i);
        if (!matters || !(quick->figure[i] > 0.0) || !(full->figure[i] > 0.0))
            continue;
        const double now = full->figure[i] / quick->figure[i];
        largest = fmax(largest, fabs(now / d->factor[i] - 1.0));
        d->factor[i] = now;
    }
    for (size_t k = 0; k < d->n_bounds; k++) {
        struct sm_bound *b = &d->bounds[k];
        if (b->kind != SM_BOUND_BAND)
            continue;
        const double now = full->band[b->side > 0] - quick->band[b->side > 0];
        largest = fmax(largest, fabs(now - b->offset));
        b->offset = now;
    }
    double mean = 0.0;
    for (size_t i = 0; i < SM_SHAPE_INSTANTS; i++)
        mean += d->thrust_wanted[i] / SM_SHAPE_INSTANTS;
    for (size_t i = 0; i < SM_SHAPE_INSTANTS && mean > 0.0; i++) {
        const double now = full->thrust[i] - quick->thrust[i];
        squares += square((now - d->thrust_offset[i]) / mean) / SM_SHAPE_INSTANTS;
        d->thrust_offset[i] = now;
    }
    return fmax(largest, sqrt(squares));
}

/* Does the full burn itself keep every limit? */
static int is_kept(const struct sm_design *d, const struct sm_measured *full)
{
    for (size_t i = 0; i < d->n_bounds; i++) {
        struct sm_bound b = d->bounds[i];
        double broken = full->band[b.side > 0] + b.stray;
        if (b.kind == SM_BOUND_FIGURE)
            broken = b.side * (full->figure[b.figure] * b.margin - b.bound) /
                     (b.bound != 0.0 ? fabs(b.bound) : 1.0);
        if (!(broken <= kept))
            return 0;
    }
    return 1;
}

/* Searches on from a place with the corrections as they are now. Stopped, it keeps the place unless a better one was met. */
static enum sm_status search_on(struct sm_design *d, struct sm_optim_result *result, struct sm_error *err)
{
    struct sm_optim_result next = {0};
    d->n_archive = 0; /* of the corrections before */
    enum sm_status status = sm_design_search(d, result->x, 0, &next, err);
    if (status == SM_OK && next.violation > 0.0) /* one search from nearby may be caught: the whole box */
        status = sm_design_search(d, result->x, d->restarts, &next, err);
    if (status != SM_OK && !(status == SM_E_CANCELLED && next.found && next.violation <= 0.0))
        return status;
    next.evaluations += result->evaluations;
    next.searches = result->searches;
    next.agreeing = result->agreeing;
    *result = next;
    return status;
}

/*
 * Quick and full burn at x. Where the best is at the very edge of what burns, as the longest burn is, one of them may have no
 * answer: then what keeps a search off that edge is told.
 */
static enum sm_status measure_both(struct sm_design *d, const double *x, struct sm_measured *quick,
                                   struct sm_measured *full, struct sm_error *err)
{
    const double full_accuracy = 1e-5;
    struct sm_error why = {0};
    enum sm_status status = sm_design_measure_at(d, x, SM_MODEL_EQUILIBRIUM, quick_accuracy, quick, &why);
    if (status == SM_OK)
        status = sm_design_measure_at(d, x, SM_MODEL_TRANSIENT, full_accuracy, full, &why);
    if (status == SM_E_PHYSICS)
        return sm_fail(err, status,
                       "the search went to the edge of what burns, where %.*s. A limit keeps it off: "
                       "\"average_pressure\": {\"least\": \"%.3g MPa\"}",
                       (int)fmin(100.0, (double)strcspn(why.message, ":;")), why.message,
                       1.2e-6 * d->motor->spec.propellant.minimum_pressure);
    if (status != SM_OK && err)
        *err = why;
    return status;
}

enum sm_status sm_design_settle(struct sm_design *d, struct sm_optim_result *result, struct sm_measured *full,
                                double *gap, struct sm_error *err)
{
    enum { ROUNDS = 12, PATIENCE = 4 };
    double agrees = 0.5 * sm_design_whisker;
    for (int round = 0; round < ROUNDS; round++) {
        struct sm_measured quick;
        if (result->violation > 0.0)
            return sm_design_conflict(d, result, err);
        sm_design_round(d->spec, result->x);
        SM_TRY(measure_both(d, result->x, &quick, full, err));
        const double change = correct(d, &quick, full);
        *gap = round == 0 ? change : *gap;
        if (change < agrees && is_kept(d, full))
            return SM_OK;
        /* Where many motors are as good, each search may end at another of them. */
        if (round >= PATIENCE)
            agrees = fmin(1.5 * agrees, loosest);
        SM_TRY(search_on(d, result, err));
    }
    return sm_fail(
        err, SM_E_NUMERIC,
        "the quick burn that guides the search and the full one don't come together; free values that "
        "change the motor less abruptly, or narrower bounds, would help");
}
