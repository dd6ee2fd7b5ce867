/* Draws motors from their tolerances and burns them. */
#include <math.h>
#include <string.h>

#include "base/pool.h"
#include "base/text.h"
#include "motor/tolerance.h"
#include "num/parallel.h"
#include "num/points.h"
#include "num/sobolindex.h"
#include "num/stats.h"
#include "slowmatch/limits.h"
#include "uncertain/lanegroup.h"
#include "uncertain/samples.h"

enum { INSTANTS = 200, INSTANTS_OF_PAIR = 190, AT_IGNITION = 40, MAX_COLUMNS = 2 * SM_MAX_TOLERANCES + 2 };

_Static_assert((int)SM_SOBOL_BATCH == (int)SM_LANES, "a batch of Sobol points is a group of lanes");

const char *const sm_sensitivity_names[SM_SENSITIVITY_FIGURES + 1] = {"total_impulse", "burn_time", "peak",
                                                                      NULL};

/* ---- a study ---- */

/* Where each tolerance's share u stands among the columns, for the first motor and the second. */
struct layout {
    size_t column[2][SM_MAX_TOLERANCES];
    size_t scatter[2]; /* of the igniters, if there is one */
    size_t n;
};

/* Room of one thread. */
struct worker {
    struct sm_pool pool;
    struct sm_lane_group *groups; /* one for each motor of a sample; NULL: no lanes */
    bool is_starved;              /* memory ran out, which says nothing of the motor */
};

struct study {
    const struct sm_motor *motor;
    const struct sm_spread_options *options;
    struct sm_tolerances tolerances;
    struct layout layout;
    const double *u; /* column by column, options->n each [1] */
    struct sm_spread_samples *samples;
    struct worker *workers;
    double ambient; /* [Pa] */
    size_t run;     /* groups that one thread burns in a row, for what it writes to lie together */
};

static size_t add_input(struct sm_spread_samples *s, const struct study *study, struct layout *l,
                        const char *of, int motor, double middle, double sigma)
{
    struct sm_spread_input *in = &s->inputs[l->n];
    sm_text_format(in->of, sizeof in->of, "%s", of);
    in->motor = motor;
    in->middle = middle;
    in->sigma = sigma;
    in->is_latin = study->options->is_latin || l->n >= SM_SOBOL_COLUMNS;
    return l->n++;
}

/* Columns of what is shared first, then each motor's own: so a pair's first motors are a single motor's samples only in law,
 * not one by one. */
static enum sm_status lay_out(struct study *study, struct sm_error *err)
{
    struct layout *l = &study->layout;
    struct sm_spread_samples *s = study->samples;
    const struct sm_pair_options *pair = &study->options->pair;
    const int n_motors = pair->is_pair ? 2 : 1;
    s->inputs = sm_arena_alloc(&s->arena, MAX_COLUMNS, sizeof *s->inputs);
    if (!s->inputs)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (int pass = 0; pass <= n_motors; pass++)
        for (size_t i = 0; i < study->tolerances.n; i++) {
            const struct sm_tolerance *t = &study->tolerances.items[i];
            const int is_shared = t->is_batch || n_motors == 1;
            if (is_shared != (pass == 0))
                continue;
            const size_t column =
                add_input(s, study, l, t->of, is_shared ? 0 : pass, t->middle, sm_tolerance_sigma(t));
            for (int m = 0; m < 2; m++)
                if (is_shared || m + 1 == pass)
                    l->column[m][i] = column;
        }
    for (int m = 0; m < 2 && pair->is_pair && pair->ignition_scatter > 0.0; m++)
        l->scatter[m] = add_input(s, study, l, "igniter's delay", m + 1, 0.0, pair->ignition_scatter);
    s->head.n_inputs = l->n;
    return SM_OK;
}

/* ---- one burn ---- */

static void changes_of(const struct study *study, int motor, const double *shares, struct sm_change *changes)
{
    for (size_t i = 0; i < study->tolerances.n; i++) {
        const struct sm_tolerance *t = &study->tolerances.items[i];
        changes[i] =
            (struct sm_change){t->of, sm_tolerance_quantile(t, shares[study->layout.column[motor][i]])};
    }
}

/* Draws a motor in the worker's room; *run is how it is to be burned. */
static enum sm_status draw(const struct study *study, struct worker *w, int motor, const double *shares,
                           struct sm_motor **drawn, struct sm_run_options *run, struct sm_error *err)
{
    struct sm_change changes[SM_MAX_TOLERANCES];
    *run = study->options->run;
    run->without_warnings = true;
    changes_of(study, motor, shares, changes);
    SM_TRY(sm_motor_vary(study->motor, changes, study->tolerances.n, &w->pool.allocator, drawn, err));
    if (motor == 1 && study->options->pair.temperature_difference != 0.0)
        run->grain_temperature =
            (*drawn)->spec.conditions.grain_temperature + study->options->pair.temperature_difference;
    return SM_OK;
}

/* Burns one drawn motor in the worker's room. */
static enum sm_status burn(const struct study *study, struct worker *w, int motor, const double *shares,
                           struct sm_result **result, struct sm_error *err)
{
    struct sm_motor *drawn = NULL;
    struct sm_run_options run;
    const struct sm_context context = {.allocator = &w->pool.allocator};
    SM_TRY(draw(study, w, motor, shares, &drawn, &run, err));
    return sm_simulate(drawn, &run, &context, result, err);
}

/* Value at rising instants of a column that is held before its start and is `after` past its end; *k moves along. */
static double value_at(const struct sm_series *s, const double *y, double t, double before, double after,
                       size_t *k)
{
    if (t < s->time[0])
        return before;
    while (*k + 1 < s->n && s->time[*k + 1] <= t)
        ++*k;
    if (*k + 1 >= s->n)
        return t > s->time[s->n - 1] ? after : y[s->n - 1];
    const double width = s->time[*k + 1] - s->time[*k];
    return width > 0.0 ? y[*k] + (y[*k + 1] - y[*k]) * (t - s->time[*k]) / width : y[*k + 1];
}

static void put(double *column, size_t i, double value)
{
    if (column)
        column[i] = value;
}

static void keep_single(const struct study *study, size_t i, const struct sm_result *r, double delay)
{
    struct sm_spread_samples *s = study->samples;
    put(s->quantity[SM_Q_IMPULSE], i, r->thrust.total_impulse);
    put(s->quantity[SM_Q_BURN_TIME], i, r->thrust.burn_time);
    put(s->quantity[SM_Q_AVERAGE], i, r->thrust.average);
    put(s->quantity[SM_Q_MAXIMUM], i, r->thrust.maximum);
    put(s->quantity[SM_Q_PRESSURE], i, r->chamber.pressure_maximum);
    put(s->quantity[SM_Q_IGNITION], i, r->thrust.burn_start + delay);
    put(s->quantity[SM_Q_BURNOUT], i, r->thrust.burn_start + r->thrust.burn_time + delay);
    size_t a = 0, b = 0;
    for (size_t k = 0; k < s->head.n_instants; k++) {
        const double t = s->time[k] - delay;
        s->curve[SM_C_THRUST][k * s->count + i] = value_at(&r->series, r->series.thrust, t, 0.0, 0.0, &a);
        if (s->curve[SM_C_PRESSURE])
            s->curve[SM_C_PRESSURE][k * s->count + i] =
                value_at(&r->series, r->series.pressure, t, study->ambient, study->ambient, &b);
    }
}

/* Propellant left in a motor [kg]; *k moves along with rising instants. */
static double left_at(const struct sm_result *r, double t, size_t *k)
{
    const double *mass = r->series.propellant_mass;
    return value_at(&r->series, mass, t, mass[0], 0.0, k);
}

/* What is largest of a pair's mismatch. */
struct mismatch {
    double thrust; /* [N] */
    double moment; /* [N m] */
};

static void meet(struct mismatch *m, double difference, double arm)
{
    m->thrust = fmax(m->thrust, fabs(difference));
    m->moment = fmax(m->moment, fabs(difference * arm));
}

/* Looks at every row of one motor, since instants that all samples share would step over ignitions that lie close together.
 * Curves are straight between rows, and none before its first row and after its last: there both sides are looked at. */
static void meet_rows(const struct sm_pair_options *pair, const struct sm_result *of, double delay,
                      const struct sm_result *other, double other_delay, double loaded, struct mismatch *m)
{
    const struct sm_series *s = &of->series;
    size_t place = 0, left_place = 0;
    for (size_t k = 0; k < s->n; k++) {
        const double t = s->time[k] + delay - other_delay;
        const double thrust = value_at(&other->series, other->series.thrust, t, 0.0, 0.0, &place);
        const double left = s->propellant_mass[k] + left_at(other, t, &left_place);
        const double arm = sm_pair_moment_arm(pair, left / loaded);
        meet(m, s->thrust[k] - thrust, arm);
        if (k == 0 || k + 1 == s->n)
            meet(m, thrust, arm);
    }
}

static void keep_pair(const struct study *study, size_t i, const struct sm_result *a,
                      const struct sm_result *b, const double delay[2])
{
    struct sm_spread_samples *s = study->samples;
    const struct sm_pair_options *pair = &s->head.pair;
    struct mismatch largest = {0.0, 0.0};
    const double loaded = a->series.propellant_mass[0] + b->series.propellant_mass[0];
    size_t place = 0, left_a = 0, left_b = 0;
    for (size_t k = 0; k < s->head.n_instants; k++) {
        const double left =
            left_at(a, s->time[k] - delay[0], &left_a) + left_at(b, s->time[k] - delay[1], &left_b);
        const size_t at = k * s->count + i;
        const double other = value_at(&b->series, b->series.thrust, s->time[k] - delay[1], 0.0, 0.0, &place);
        s->curve[SM_C_DIFFERENCE][at] = s->curve[SM_C_THRUST][at] - other;
        s->curve[SM_C_MOMENT][at] = s->curve[SM_C_DIFFERENCE][at] * sm_pair_moment_arm(pair, left / loaded);
    }
    meet_rows(pair, a, delay[0], b, delay[1], loaded, &largest);
    meet_rows(pair, b, delay[1], a, delay[0], loaded, &largest);
    const double ignition = a->thrust.burn_start + delay[0] - b->thrust.burn_start - delay[1];
    const double burnout = ignition + a->thrust.burn_time - b->thrust.burn_time;
    s->quantity[SM_Q_IMPULSE_DIFFERENCE][i] = a->thrust.total_impulse - b->thrust.total_impulse;
    s->quantity[SM_Q_IGNITION_DIFFERENCE][i] = ignition;
    s->quantity[SM_Q_BURNOUT_DIFFERENCE][i] = burnout;
    s->quantity[SM_Q_THRUST_DIFFERENCE][i] = largest.thrust;
    s->quantity[SM_Q_LATERAL_FORCE][i] = fabs(largest.thrust * sin(pair->splay));
    s->quantity[SM_Q_MOMENT][i] = largest.moment;
    s->quantity[SM_Q_ALONE_IGNITION][i] = fabs(ignition);
    s->quantity[SM_Q_ALONE_BURNOUT][i] = fabs(burnout);
}

static void shares_of(const struct study *study, size_t sample, double *shares)
{
    for (size_t j = 0; j < study->layout.n; j++)
        shares[j] = study->u[j * study->options->n + sample];
}

static int motors_of(const struct study *study)
{
    return study->options->pair.is_pair ? 2 : 1;
}

/* Keeps what came out of sample i. */
static void keep(const struct study *study, size_t i, const double *shares,
                 const struct sm_result *const results[2])
{
    const struct sm_pair_options *pair = &study->options->pair;
    double delay[2] = {0.0, 0.0};
    for (int m = 0; m < 2 && pair->is_pair && pair->ignition_scatter > 0.0; m++)
        delay[m] = pair->ignition_scatter * sm_stats_normal_quantile(shares[study->layout.scatter[m]]);
    keep_single(study, i, results[0], delay[0]);
    if (pair->is_pair)
        keep_pair(study, i, results[0], results[1], delay);
}

/* Burns sample i of those held by the general march, and keeps it. */
static enum sm_status burn_sample(const struct study *study, struct worker *w, size_t i, int is_kept,
                                  struct sm_error *err)
{
    double shares[MAX_COLUMNS];
    struct sm_result *results[2] = {NULL, NULL};
    shares_of(study, study->samples->first + i, shares);
    sm_pool_reset(&w->pool);
    for (int m = 0; m < motors_of(study); m++)
        SM_TRY(burn(study, w, m, shares, &results[m], err));
    if (is_kept)
        keep(study, i, shares, (const struct sm_result *const[2]){results[0], results[1]});
    return SM_OK;
}

/* Draws the m-th motors of n rows of shares, layout.n each, into the worker's lanes, and burns them. */
static void burn_lanes(const struct study *study, struct worker *w, int m, const double *shares, int n)
{
    struct sm_lane_group *group = &w->groups[m];
    sm_lane_group_begin(group);
    for (int k = 0; k < n; k++) {
        struct sm_motor *drawn = NULL;
        struct sm_run_options run;
        struct sm_arena arena;
        if (draw(study, w, m, shares + (size_t)k * study->layout.n, &drawn, &run, NULL) != SM_OK)
            continue;
        sm_arena_init(&arena, &w->pool.allocator); /* released with the pool */
        sm_lane_group_put(group, k, drawn,
                          run.grain_temperature > 0.0 ? run.grain_temperature
                                                      : drawn->spec.conditions.grain_temperature,
                          &arena);
    }
    sm_lane_group_burn(group);
}

/* Could sample i be burned by the general march? */
static int burn_general(const struct study *study, struct worker *w, size_t i)
{
    const enum sm_status status = burn_sample(study, w, i, 1, NULL);
    w->is_starved = w->is_starved || status == SM_E_NOMEM;
    return status == SM_OK;
}

/* Burns a group of samples in lanes; those that lanes can't carry, by the general march. */
static void burn_group(const struct study *study, int worker, size_t g)
{
    struct sm_spread_samples *s = study->samples;
    struct worker *w = &study->workers[worker];
    const size_t first = g * SM_LANES, left = s->count - first;
    const int n = left < SM_LANES ? (int)left : SM_LANES;
    double rows[SM_LANES * MAX_COLUMNS];
    sm_pool_reset(&w->pool);
    for (int k = 0; k < n; k++)
        shares_of(study, s->first + first + (size_t)k, rows + (size_t)k * study->layout.n);
    for (int m = 0; w->groups && m < motors_of(study); m++)
        burn_lanes(study, w, m, rows, n);
    for (int k = 0; k < n; k++) {
        const size_t i = first + (size_t)k;
        const struct sm_result *results[2] = {NULL, NULL};
        int is_done = w->groups != NULL;
        for (int m = 0; is_done && m < motors_of(study); m++)
            is_done = (results[m] = sm_lane_group_result(&w->groups[m], k)) != NULL;
        if (is_done)
            keep(study, i, rows + (size_t)k * study->layout.n,
                 (const struct sm_result *const[2]){results[0], results[1]});
        else
            is_done = burn_general(study, w, i);
        s->state[i] = w->is_starved ? SM_SAMPLE_OPEN : is_done ? SM_SAMPLE_DONE : SM_SAMPLE_IMPOSSIBLE;
    }
}

static size_t count_groups(const struct study *study)
{
    return (study->samples->count + SM_LANES - 1) / SM_LANES;
}

static void burn_run(void *user, int worker, size_t i)
{
    const struct study *study = user;
    const size_t first = i * study->run, all = count_groups(study);
    for (size_t g = first; g < first + study->run && g < all; g++)
        burn_group(study, worker, g);
}

/* Says why the first impossible samples are so. Memory that ran out is no such reason. */
static enum sm_status give_reasons(const struct study *study, struct sm_error *err)
{
    struct sm_spread_samples *s = study->samples;
    size_t n = 0;
    for (size_t i = 0; i < s->count && n < SM_SPREAD_MAX_REASONS; i++) {
        struct sm_error why = {0};
        if (s->state[i] != SM_SAMPLE_IMPOSSIBLE)
            continue;
        if (burn_sample(study, &study->workers[0], i, 0, &why) == SM_E_NOMEM)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        sm_text_format(s->spread.reasons[n++], sizeof s->spread.reasons[0], "sample %zu: %.160s%s%.60s%s",
                       s->first + i + 1, why.message, why.at.path[0] ? " [" : "", why.at.path,
                       why.at.path[0] ? "]" : "");
    }
    return SM_OK;
}

/* ---- sensitivity ---- */

static void model(void *user, int worker, size_t count, const double *u, double *out)
{
    const struct study *study = user;
    struct worker *w = &study->workers[worker];
    sm_pool_reset(&w->pool);
    if (w->groups)
        burn_lanes(study, w, 0, u, (int)count);
    for (size_t i = 0; i < count; i++, out += SM_SENSITIVITY_FIGURES) {
        const struct sm_result *r = w->groups ? sm_lane_group_result(&w->groups[0], (int)i) : NULL;
        struct sm_result *general = NULL;
        if (!r) {
            sm_pool_reset(&w->pool); /* lanes that are marched need nothing of it */
            r = burn(study, w, 0, u + i * study->layout.n, &general, NULL) == SM_OK ? general : NULL;
        }
        out[0] = r ? r->thrust.total_impulse : SM_NAN;
        out[1] = r ? r->thrust.burn_time : SM_NAN;
        out[2] = !r ? SM_NAN : study->motor->spec.is_curve ? r->thrust.maximum : r->chamber.pressure_maximum;
    }
}

/* Per cent a per cent, from the linear effects of the nominal run. */
static double elasticity(const struct sm_result *nominal, size_t i, size_t j)
{
    const struct sm_influence *in = &nominal->one_sigma.influences[i];
    const double effects[] = {in->effect.total_impulse, in->effect.burn_time,
                              nominal->is_curve ? in->effect.maximum : in->effect.pressure_maximum};
    const double values[] = {nominal->thrust.total_impulse, nominal->thrust.burn_time,
                             nominal->is_curve ? nominal->thrust.maximum : nominal->chamber.pressure_maximum};
    if (in->dim == SM_DIM_TEMPERATURE || in->middle == 0.0)
        return SM_ABSENT;
    return effects[j] / values[j] / (in->sigma / in->middle);
}

static enum sm_status reckon_sensitivity(struct study *study, const struct sm_result *nominal,
                                         const struct sm_context *context, struct sm_error *err)
{
    struct sm_spread_samples *s = study->samples;
    const size_t d = study->layout.n, k = SM_SENSITIVITY_FIGURES;
    struct sm_sobol_index *indices = sm_arena_alloc(&s->arena, d * k, sizeof *indices);
    struct sm_sensitivity *rows = sm_arena_alloc(&s->arena, d * k, sizeof *rows);
    const struct sm_sobol_study sobol = {
        .n = study->options->n,
        .d = d,
        .k = k,
        .seed = study->options->seed,
        .is_latin = study->options->is_latin,
        .threads = study->options->threads,
        .model = model,
        .user = study,
        .progress = context ? &context->progress : NULL,
    };
    if (!indices || !rows)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const enum sm_status status = sm_sobol_indices(&sobol, indices, &s->spread.n_sensitivity, err);
    if (status == SM_E_CANCELLED) {
        s->spread.complete = false;
        return SM_OK; /* the spread itself is kept */
    }
    SM_TRY(status);
    for (size_t i = 0; i < d * k; i++) {
        rows[i] = (struct sm_sensitivity){indices[i].first, indices[i].first_error, indices[i].total,
                                          indices[i].total_error, SM_ABSENT};
        if (i / k < nominal->one_sigma.n_influences)
            rows[i].elasticity = elasticity(nominal, i / k, i % k);
    }
    s->spread.sensitivity = rows;
    return SM_OK;
}

/* ---- setting up ---- */

static enum sm_status check_pair(const struct sm_pair_options *p, struct sm_error *err)
{
    if (!p->is_pair)
        return SM_OK;
    if (!(p->spacing >= 0.0 && p->spacing <= 100.0))
        return sm_fail(err, SM_E_RANGE, "a spacing of %.4g m is outside 0 to 100 m", p->spacing);
    if (!(fabs(p->splay) < 1.5))
        return sm_fail(err, SM_E_RANGE, "a splay of %.4g rad is not between -1.5 and 1.5 rad", p->splay);
    if (!(p->arm >= 0.0 && p->arm <= 1000.0 && p->arm_empty >= 0.0 && p->arm_empty <= 1000.0))
        return sm_fail(err, SM_E_RANGE, "the arm to the centre of mass is outside 0 to 1000 m");
    if (!(fabs(p->temperature_difference) <= 100.0))
        return sm_fail(err, SM_E_RANGE, "a temperature difference of %.4g K is beyond 100 K",
                       p->temperature_difference);
    if (!(p->ignition_scatter >= 0.0 && p->ignition_scatter <= 10.0))
        return sm_fail(err, SM_E_RANGE, "an ignition scatter of %.4g s is outside 0 to 10 s",
                       p->ignition_scatter);
    return SM_OK;
}

static enum sm_status check(const struct sm_spread_options *o, struct sm_error *err)
{
    if (o->n < 2 || o->n > SM_MAX_SAMPLES)
        return sm_fail(err, SM_E_RANGE, "%zu samples; 2 to %d are allowed", o->n, (int)SM_MAX_SAMPLES);
    if (o->of > 0 && (o->shard < 1 || o->shard > o->of || o->of > o->n))
        return sm_fail(err, SM_E_RANGE, "there is no shard %zu of %zu of %zu samples", o->shard, o->of, o->n);
    if (o->sensitivity && (o->pair.is_pair || o->of > 1))
        return sm_fail(err, SM_E_RANGE, "sensitivities are those of a single motor, in one piece");
    if (!(o->pressure >= 0.0 && o->pressure < 1e12))
        return sm_fail(err, SM_E_RANGE, "a pressure of %.4g Pa to exceed", o->pressure);
    return check_pair(&o->pair, err);
}

/* FNV-1a, 64 bits. Reference: G. Fowler, L. Noll, K.-P. Vo, draft-eastlake-fnv. */
static uint64_t hash(uint64_t h, const void *bytes, size_t n)
{
    const unsigned char *b = bytes;
    for (size_t i = 0; i < n; i++)
        h = (h ^ b[i]) * 0x100000001b3u;
    return h;
}

/* Tells shards of different motors apart: by the nominal curve, which all that counts goes into, and by what is drawn. */
static uint64_t fingerprint(const struct study *study, const struct sm_result *nominal)
{
    uint64_t h = 0xcbf29ce484222325u;
    h = hash(h, nominal->series.time, nominal->series.n * sizeof(double));
    h = hash(h, nominal->series.thrust, nominal->series.n * sizeof(double));
    h = hash(h, &study->options->is_latin, sizeof study->options->is_latin);
    for (size_t i = 0; i < study->tolerances.n; i++) {
        const struct sm_tolerance *t = &study->tolerances.items[i];
        const double numbers[] = {t->middle, t->size, isnan(t->truncated) ? -1.0 : t->truncated,
                                  (double)t->law, (double)t->is_batch};
        h = hash(hash(h, t->of, strlen(t->of)), numbers, sizeof numbers);
    }
    return h;
}

/* How far the ignitions of a pair reach, from the mean igniter's instant on: past the rise of the nominal thrust by four
 * standard deviations of all that delays it [s]. */
static double end_of_ignitions(const struct study *study, const struct sm_result *nominal)
{
    static const char *const delays[] = {"/curve/ignition_delay", "/ignition/spread_time"};
    const struct sm_series *s = &nominal->series;
    double variance = pow(study->options->pair.ignition_scatter, 2.0);
    size_t k = 0;
    for (size_t i = 0; i < study->tolerances.n; i++)
        for (size_t d = 0; d < SM_COUNT(delays); d++)
            if (strcmp(study->tolerances.items[i].of, delays[d]) == 0)
                variance += pow(sm_tolerance_sigma(&study->tolerances.items[i]), 2.0);
    while (k + 1 < s->n && s->thrust[k] < 0.9 * nominal->thrust.initial)
        k++;
    return 1.5 * s->time[k] + 4.0 * sqrt(variance);
}

/* Instants reach past the nominal burn by four standard deviations of its end and a tenth: later is the last breath of a few.
 * Those of a pair stand closer while it lights, where a mismatch is large and short, and begin with the first igniters. */
static enum sm_status set_instants(struct study *study, const struct sm_result *nominal, struct sm_error *err)
{
    struct sm_spread_samples *s = study->samples;
    const double sigma = nominal->one_sigma.figures.burn_time;
    const double scatter = study->options->pair.ignition_scatter;
    const double end = 1.1 * (nominal->thrust.burn_start + nominal->thrust.burn_time +
                              4.0 * ((isnan(sigma) ? 0.0 : sigma) + scatter));
    const int is_pair = study->options->pair.is_pair;
    const size_t n = is_pair ? INSTANTS_OF_PAIR : INSTANTS, n_first = is_pair ? AT_IGNITION : 0;
    const double start = -4.0 * scatter; /* 0 but of a pair */
    const double lit = is_pair ? fmin(0.5 * end, end_of_ignitions(study, nominal)) : 0.0;
    s->head.n_instants = n;
    s->time = sm_arena_alloc(&s->arena, n, sizeof *s->time);
    if (!s->time)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < n_first; k++)
        s->time[k] = start + (lit - start) * (double)k / (double)n_first;
    for (size_t k = n_first; k < n; k++)
        s->time[k] = lit + (end - lit) * (double)(k - n_first) / (double)(n - 1 - n_first);
    return SM_OK;
}

/* Member by member: heads are compared byte by byte, so the gaps between members stay as they were made, zero. */
static void copy_pair(const struct sm_pair_options *from, struct sm_pair_options *to)
{
    to->is_pair = from->is_pair;
    to->spacing = from->spacing;
    to->splay = from->splay;
    to->arm = from->arm;
    to->arm_empty = from->arm_empty;
    to->temperature_difference = from->temperature_difference;
    to->ignition_scatter = from->ignition_scatter;
}

static void fill_head(const struct study *study, const struct sm_result *nominal)
{
    const struct sm_case *chamber = &study->motor->spec.chamber;
    const struct sm_spread_options *o = study->options;
    struct sm_spread_head *h = &study->samples->head;
    sm_text_format(h->motor, sizeof h->motor, "%.250s", nominal->motor);
    h->n = o->n;
    h->seed = o->seed;
    h->is_curve = nominal->is_curve;
    h->is_usual = study->tolerances.is_usual != 0;
    h->is_pair = o->pair.is_pair;
    h->shards = o->of > 0 ? o->of : 1;
    h->fingerprint = fingerprint(study, nominal);
    copy_pair(&o->pair, &h->pair);
    h->class_above = nominal->impulse_class.above;
    h->class_to = nominal->impulse_class.to;
    h->limits[0] = o->pressure;
    h->single_thrust = nominal->thrust.average;
    if (!nominal->is_curve && !isnan(chamber->burst_pressure)) {
        h->limits[1] = chamber->burst_pressure / chamber->margin;
        h->limits[2] = chamber->burst_pressure;
    }
}

static enum sm_status set_up(struct study *study, const struct sm_result *nominal, struct sm_error *err)
{
    const struct sm_spread_options *o = study->options;
    struct sm_spread_samples *s = study->samples;
    const size_t shards = o->of > 0 ? o->of : 1, shard = o->of > 0 ? o->shard - 1 : 0;
    SM_TRY(sm_tolerances_of(study->motor, &study->tolerances, err));
    study->ambient = study->motor->ambient;
    SM_TRY(lay_out(study, err));
    SM_TRY(set_instants(study, nominal, err));
    fill_head(study, nominal);
    s->shard = shard;
    s->first = o->n * shard / shards;
    s->count = o->n * (shard + 1) / shards - s->first;
    SM_TRY(sm_samples_room(s, err));
    double *u = sm_arena_alloc(&s->arena, study->layout.n * o->n, sizeof *u);
    const int n_workers = sm_parallel_threads(o->threads);
    study->workers = sm_arena_alloc(&s->arena, (size_t)n_workers, sizeof *study->workers);
    if (!u || !study->workers)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    study->u = u;
    return sm_points(o->n, study->layout.n, o->seed, o->is_latin, u, err);
}

/* Lanes for every worker, if they can give what is asked for. */
static enum sm_status set_up_lanes(struct study *study, int n_workers, struct sm_error *err)
{
    struct sm_arena *arena = &study->samples->arena;
    if (!sm_lane_group_fits(study->motor, &study->options->run))
        return SM_OK;
    for (int i = 0; i < n_workers; i++) {
        struct sm_lane_group *groups = sm_arena_alloc(arena, (size_t)motors_of(study), sizeof *groups);
        if (!groups)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        for (int m = 0; m < motors_of(study); m++)
            sm_lane_group_init(&groups[m], study->motor, &study->options->run, arena);
        study->workers[i].groups = groups;
    }
    return SM_OK;
}

/* Groups in a run at most, and runs that each thread gets at least, so that none waits long for the last. */
enum { LONGEST_RUN = 8, SHARES = 16 };

static enum sm_status run_all(struct study *study, const struct sm_result *nominal,
                              const struct sm_context *context, struct sm_error *err)
{
    struct sm_spread_samples *s = study->samples;
    const int n_workers = sm_parallel_threads(study->options->threads);
    SM_TRY(set_up_lanes(study, n_workers, err));
    for (int i = 0; i < n_workers; i++)
        sm_pool_init(&study->workers[i].pool, context ? context->allocator : NULL);
    const size_t groups = count_groups(study), fair = groups / (SHARES * (size_t)n_workers);
    study->run = n_workers == 1 || fair < 1 ? 1 : fair < LONGEST_RUN ? fair : LONGEST_RUN;
    sm_parallel_for((groups + study->run - 1) / study->run, study->options->threads, burn_run, study,
                    context ? &context->progress : NULL);
    enum sm_status status = SM_OK;
    for (int i = 0; i < n_workers && status == SM_OK; i++)
        if (study->workers[i].is_starved)
            status = sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = give_reasons(study, err);
    if (status == SM_OK)
        status = sm_samples_reckon(s, study->options->threads, err);
    if (status == SM_OK && study->options->sensitivity && s->spread.complete)
        status = reckon_sensitivity(study, nominal, context, err);
    for (int i = 0; i < n_workers; i++)
        sm_pool_release(&study->workers[i].pool);
    return status;
}

enum sm_status sm_spread_run(const struct sm_motor *motor, const struct sm_spread_options *options,
                             const struct sm_context *context, struct sm_spread **spread,
                             struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_result *nominal = NULL;
    const struct sm_context quiet = {.allocator = context ? context->allocator : NULL};
    *spread = NULL;
    SM_TRY(check(options, err));
    sm_init();
    SM_TRY(sm_simulate(motor, &options->run, &quiet, &nominal, err));
    sm_arena_init(&arena, quiet.allocator);
    struct sm_spread_samples *samples = sm_arena_alloc(&arena, 1, sizeof *samples);
    enum sm_status status = samples ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (samples) {
        samples->arena = arena;
        struct study study = {.motor = motor, .options = options, .samples = samples};
        status = set_up(&study, nominal, err);
        if (status == SM_OK)
            status = run_all(&study, nominal, context, err);
    }
    sm_result_free(nominal);
    if (status == SM_OK)
        *spread = &samples->spread;
    else if (samples)
        sm_spread_free(&samples->spread);
    return status;
}

size_t sm_spread_bytes(const struct sm_spread_options *o)
{
    const size_t held = o->of > 1 ? o->n / o->of + 1 : o->n;
    const size_t kept = o->pair.is_pair ? SM_N_Q + SM_N_C * INSTANTS_OF_PAIR : SM_Q_SINGLE + 2 * INSTANTS;
    return held * (kept * sizeof(double) + 1);
}
