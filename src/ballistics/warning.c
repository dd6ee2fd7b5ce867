#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

const double sm_warning_share = 0.02;

/* Share of [a, b] on which a straight line from y0 to y1 lies above limit. */
static double share_of_line(double y0, double y1, double limit)
{
    const double above0 = y0 - limit, above1 = y1 - limit;
    if (above0 > 0.0 && above1 > 0.0)
        return 1.0;
    if (!(above0 > 0.0) && !(above1 > 0.0))
        return 0.0;
    const double crossing = above0 / (above0 - above1);
    return above0 > 0.0 ? crossing : 1.0 - crossing;
}

double sm_share_above(const struct sm_warning_case *c, const double *y, double limit)
{
    const double *t = c->result->series.time;
    const double whole = t[c->last] - t[c->first];
    double held = 0.0;
    for (size_t i = c->first; i < c->last; i++)
        held += (t[i + 1] - t[i]) * share_of_line(y[i], y[i + 1], limit);
    return whole > 0.0 ? held / whole : 0.0;
}

double sm_share_below(const struct sm_warning_case *c, const double *y, double limit)
{
    return 1.0 - sm_share_above(c, y, limit);
}

/* The rows between the 5 % instants while propellant burns. */
static void find_rows(struct sm_warning_case *c)
{
    const struct sm_series *s = &c->result->series;
    const double start = c->result->thrust.burn_start, end = start + c->result->thrust.burn_time;
    c->first = 0;
    while (c->first + 1 < s->n && s->time[c->first] < start)
        c->first++;
    c->last = s->n - 1;
    while (c->last > c->first && (s->time[c->last] > end || (s->burn_area && !(s->burn_area[c->last] > 0.0))))
        c->last--;
}

/* Peak pressure with the grain at its hottest; absent if the model has no answer for that. */
static enum sm_status run_hot(struct sm_warning_case *c, const struct sm_allocator *allocator,
                              struct sm_error *err)
{
    const struct sm_run_options options = {
        .model = c->result->model,
        .accuracy = 1e-3,
        .grain_temperature = c->hot_temperature,
        .without_warnings = true,
    };
    const struct sm_context context = {.allocator = allocator};
    struct sm_result *hot = NULL;
    struct sm_error why = {0};
    const enum sm_status status = sm_simulate(c->motor, &options, &context, &hot, &why);
    if (status == SM_E_NOMEM)
        return sm_fail(err, status, "%s", why.message);
    if (status == SM_OK)
        c->hot_pressure = hot->chamber.pressure_maximum;
    else
        memcpy(c->why_not, why.message, sizeof c->why_not);
    sm_result_free(hot);
    return SM_OK;
}

static void add(const struct sm_warning *row, const char *text, struct sm_warning_found *found)
{
    strncpy(found->code, row->code, sizeof found->code - 1);
    strncpy(found->pointer, row->pointer, sizeof found->pointer - 1);
    memcpy(found->text, text, sizeof found->text);
}

enum sm_status sm_warnings_judge(const struct sm_motor *motor, const struct sm_chamber *chamber,
                                 struct sm_run *run, struct sm_error *err)
{
    struct sm_warning_case c = {
        .motor = motor,
        .chamber = chamber,
        .result = &run->result,
        .temperature = run->temperature,
        .hot_pressure = SM_ABSENT,
        .hot_temperature = motor->spec.conditions.hottest_temperature,
    };
    size_t n_rows = 0;
    while (sm_warning_list[n_rows])
        n_rows++;
    struct sm_warning_found *found = sm_arena_alloc(&run->arena, n_rows, sizeof *found);
    if (!found)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    find_rows(&c);
    if (chamber && !isnan(motor->spec.chamber.burst_pressure))
        SM_TRY(run_hot(&c, run->arena.allocator, err));
    size_t n = 0;
    for (size_t i = 0; i < n_rows; i++) {
        char text[sizeof found->text] = "";
        const struct sm_warning *row = sm_warning_list[i];
        const enum sm_warning_of not_of = chamber ? SM_OF_CURVES : SM_OF_GRAINS;
        if (row->of != not_of && row->judge(&c, text, sizeof text))
            add(row, text, &found[n++]);
    }
    run->result.warnings = found;
    run->result.n_warnings = n;
    return SM_OK;
}
