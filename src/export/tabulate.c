/*
 * From a run's series to the table that is handed over.
 *
 * First the rows: the run's own, with their times made to rise strictly, and a few made ones: nothing at t = 0, so that
 * a reader who holds the first value before ignition holds zero thrust; and two rows of nothing at the end, so that hold
 * and linear extrapolation give the same. A jump is a ramp of a millionth of the run. Then which rows are kept, then the
 * totals.
 */
#include "curve/curve.h"
#include "curve/resample.h"
#include "export/ambients.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Width of a jump, over the run's length [1]. */
static const double ramp = 1e-6;
/* Values that differ by less, over the column's largest, are one [1]. */
static const double same = 1e-9;
/* Largest thrust of the table is this near to the run's, over it [1]. */
static const double peak_error = 1e-3;
/* Impulse before t = 0 that a given curve may have, over its total [1]. */
static const double early_impulse = 1e-3;

struct making {
    struct sm_export *e;
    const struct sm_series *series;
    struct sm_arena *arena;
    double *thrust[SM_MAX_AMBIENT]; /* of the run's rows at each ambient pressure [N] */
    size_t first;                   /* of the run's rows that count */
    double width;                   /* of a jump [s] */
    double *time;                   /* of the rows [s], n of them */
    size_t *source;
    char *is_made;
    size_t n;
};

static enum sm_status out_of_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

static const double *series_column(const struct making *m, enum sm_out column)
{
    const size_t offset = sm_out_columns[column].series;
    if (offset == SM_OUT_OWN)
        return NULL;
    const double *values = *(double *const *)(const void *)((const char *)m->series + offset);
    return values && !isnan(values[0]) ? values : NULL;
}

/* ---- rows ---- */

static void add_row(struct making *m, double time, size_t source, int is_made)
{
    m->time[m->n] = sm_export_round(time);
    m->source[m->n] = source;
    m->is_made[m->n++] = (char)is_made;
}

static int is_same_row(const struct making *m, size_t a, size_t b)
{
    for (size_t k = 0; k < m->e->n_ambient; k++)
        if (fabs(m->thrust[k][a] - m->thrust[k][b]) > same * m->e->result->thrust.maximum)
            return 0;
    for (int c = 0; c < SM_N_OUT; c++) {
        const double *y = c == SM_OUT_TIME ? NULL : series_column(m, (enum sm_out)c);
        if (y && fabs(y[a] - y[b]) > same * fmax(fabs(y[a]), fabs(y[0])))
            return 0;
    }
    return 1;
}

/* Leaves out what a given curve has before ignition. */
static enum sm_status skip_early(struct making *m, struct sm_error *err)
{
    const struct sm_series *s = m->series;
    while (m->first + 1 < s->n && s->time[m->first] < 0.0)
        m->first++;
    const double early = sm_curve_integral(s->time, s->thrust, s->n, s->time[0], 0.0);
    if (fabs(early) <= early_impulse * fabs(m->e->result->thrust.total_impulse))
        return SM_OK;
    return sm_fail(err, SM_E_RANGE,
                   "the curve delivers %.3g N s before t = 0, which stands for ignition: shift its times",
                   early);
}

static void add_first_rows(struct making *m)
{
    const double start = m->series->time[m->first], thrust = m->thrust[m->e->own][m->first];
    if (start > 0.0 || thrust > 0.0)
        add_row(m, 0.0, m->first, 1);
    if (start > 2.0 * m->width && thrust > 0.0)
        add_row(m, start - m->width, m->first, 1);
}

/* Must row i be told, even though it comes sooner than next, before which no row may come? Of a jump both sides must. Of a run
 * that is finer than rows may be, the last one must if the thrust is less wrong with it late than without it. */
static int must_tell(const struct making *m, size_t i, double next)
{
    const struct sm_series *s = m->series;
    if (i == m->first || m->is_made[m->n - 1] || s->time[i] == s->time[i - 1] || i + 1 == s->n)
        return 1;
    if (s->time[i + 1] <= next)
        return 0;
    const double *thrust = m->thrust[m->e->own];
    const double t0 = m->time[m->n - 1], y0 = thrust[m->source[m->n - 1]];
    const double share = (s->time[i] - t0) / (s->time[i + 1] - t0);
    const double without = fabs(y0 + share * (thrust[i + 1] - y0) - thrust[i]);
    const double late = fabs(thrust[i + 1] - thrust[i]) * (next - s->time[i]) / (s->time[i + 1] - s->time[i]);
    return without > late;
}

static enum sm_status make_rows(struct making *m, struct sm_error *err)
{
    const struct sm_series *s = m->series;
    enum { MADE = 4 }; /* at most */
    m->time = sm_arena_alloc(m->arena, s->n + MADE, sizeof *m->time);
    m->source = sm_arena_alloc(m->arena, s->n + MADE, sizeof *m->source);
    m->is_made = sm_arena_alloc(m->arena, s->n + MADE, 1);
    if (!m->time || !m->source || !m->is_made)
        return out_of_memory(err);
    SM_TRY(skip_early(m, err));
    m->width = ramp * s->time[s->n - 1];
    add_first_rows(m);
    for (size_t i = m->first; i < s->n; i++) {
        const double next = m->n > 0 ? m->time[m->n - 1] + m->width : 0.0;
        if (m->n > 0 && s->time[i] < next &&
            (!must_tell(m, i, next) || (!m->is_made[m->n - 1] && is_same_row(m, i, i - 1))))
            continue;
        add_row(m, fmax(s->time[i], next), i, 0);
    }
    if (m->thrust[m->e->own][s->n - 1] > 0.0)
        add_row(m, m->time[m->n - 1] + m->width, s->n - 1, 1);
    add_row(m, m->time[m->n - 1] + m->width, s->n - 1, 1);
    return SM_OK;
}

/* ---- values of rows ---- */

/* A made row has no thrust and no flow, and the ambient pressure in the chamber; its masses are those of the row beside
 * it. */
static double row_value(const struct making *m, enum sm_out column, const double *values, size_t i)
{
    if (column == SM_OUT_TIME)
        return m->time[i];
    if (m->is_made[i] && column == SM_OUT_MASS_FLOW)
        return 0.0;
    if (m->is_made[i] && column == SM_OUT_PRESSURE)
        return m->e->motor->ambient;
    return values[m->source[i]];
}

static double row_thrust(const struct making *m, size_t k, size_t i)
{
    return m->is_made[i] ? 0.0 : m->thrust[k][m->source[i]];
}

static double largest_of(const double *y, size_t n)
{
    double largest = 0.0;
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, fabs(y[i]));
    return largest;
}

/* ---- which rows ---- */

struct choice {
    struct sm_resample_column columns[SM_N_OUT + SM_MAX_AMBIENT];
    size_t n_columns;
    size_t *order;
    size_t n_kept;
    size_t peak; /* row of the largest thrust */
};

static enum sm_status add_choice(struct making *m, struct choice *c, double *y, struct sm_error *err)
{
    if (!y)
        return out_of_memory(err);
    const double scale = largest_of(y, m->n);
    if (scale > 0.0)
        c->columns[c->n_columns++] = (struct sm_resample_column){y, scale};
    return SM_OK;
}

static double *thrust_rows(const struct making *m, size_t k)
{
    double *y = sm_arena_alloc(m->arena, m->n, sizeof *y);
    for (size_t i = 0; y && i < m->n; i++)
        y[i] = row_thrust(m, k, i);
    return y;
}

static double *column_rows(const struct making *m, enum sm_out column, const double *values)
{
    double *y = sm_arena_alloc(m->arena, m->n, sizeof *y);
    for (size_t i = 0; y && i < m->n; i++)
        y[i] = row_value(m, column, values, i);
    return y;
}

/* Every column counts, over its largest value; of thrusts that in vacuum and the run's own. */
static enum sm_status rank_rows(struct making *m, struct choice *c, struct sm_error *err)
{
    const struct sm_export *e = m->e;
    SM_TRY(add_choice(m, c, thrust_rows(m, e->own), err));
    if (e->own > 0)
        SM_TRY(add_choice(m, c, thrust_rows(m, 0), err));
    for (int column = SM_OUT_MASS_FLOW; column < SM_N_OUT; column++) {
        const double *values = series_column(m, (enum sm_out)column);
        if (values)
            SM_TRY(add_choice(m, c, column_rows(m, (enum sm_out)column, values), err));
    }
    c->order = sm_arena_alloc(m->arena, m->n, sizeof *c->order);
    if (!c->order)
        return out_of_memory(err);
    const size_t forced[] = {c->peak, m->n - 2};
    return sm_resample_rank(m->time, m->n, c->columns, c->n_columns, forced, SM_COUNT(forced), m->arena,
                            c->order, &c->n_kept, err);
}

static enum sm_status keep_all(struct making *m, struct choice *c, struct sm_error *err)
{
    c->order = sm_arena_alloc(m->arena, m->n, sizeof *c->order);
    if (!c->order)
        return out_of_memory(err);
    for (size_t i = 0; i < m->n; i++)
        c->order[i] = i;
    c->n_kept = m->n;
    return SM_OK;
}

static int by_place(const void *a, const void *b)
{
    const size_t x = *(const size_t *)a, y = *(const size_t *)b;
    return (x > y) - (x < y);
}

/* ---- totals ---- */

/* Thrust at n knots with the impulse of the whole run, and no more than its largest. Where the curve has a plateau
 * nothing below the largest is left to move, so that may move too, by less than the 0.1 % allowed. */
static int conserve(const double *time, double *y, size_t n, double integral, double largest, double *spare)
{
    memcpy(spare, y, n * sizeof *y);
    if (sm_resample_conserve(time, y, n, integral, largest))
        return 1;
    memcpy(y, spare, n * sizeof *y);
    return sm_resample_conserve(time, y, n, integral, (1.0 + 0.9 * peak_error) * largest) &&
           largest_of(y, n) >= (1.0 - 0.9 * peak_error) * largest;
}

/* What thrust at ambient pressure k should add up to: the run's total for its own; for others in the same proportion to
 * the sum over rows. */
static double impulse_wanted(const struct making *m, size_t k)
{
    const struct sm_series *s = m->series;
    const size_t own = m->e->own;
    const double end = s->time[s->n - 1];
    const double total = m->e->result->thrust.total_impulse;
    const double sum = sm_curve_integral(s->time, m->thrust[own], s->n, 0.0, end);
    return k == own ? total : sm_curve_integral(s->time, m->thrust[k], s->n, 0.0, end) * total / sum;
}

struct knots {
    size_t *rows; /* n of them, rising */
    size_t n;
    double *time, *y, *spare; /* scratch, n each [s], [N] */
};

/* Takes the first n of the order. Returned: can total impulse be kept with them? */
static int try_knots(struct making *m, const struct choice *c, struct knots *knots, size_t n)
{
    const size_t own = m->e->own;
    knots->n = n;
    memcpy(knots->rows, c->order, n * sizeof *knots->rows);
    qsort(knots->rows, n, sizeof *knots->rows, by_place);
    for (size_t i = 0; i < n; i++) {
        knots->time[i] = m->time[knots->rows[i]];
        knots->y[i] = row_thrust(m, own, knots->rows[i]);
    }
    return conserve(knots->time, knots->y, n, impulse_wanted(m, own), row_thrust(m, own, c->peak),
                    knots->spare);
}

static enum sm_status knots_init(struct making *m, struct knots *knots, struct sm_error *err)
{
    knots->rows = sm_arena_alloc(m->arena, m->n, sizeof *knots->rows);
    knots->time = sm_arena_alloc(m->arena, m->n, sizeof *knots->time);
    knots->y = sm_arena_alloc(m->arena, m->n, sizeof *knots->y);
    knots->spare = sm_arena_alloc(m->arena, m->n, sizeof *knots->spare);
    return knots->rows && knots->time && knots->y && knots->spare ? SM_OK : out_of_memory(err);
}

static enum sm_status choose_knots(struct making *m, struct knots *knots, struct sm_error *err)
{
    struct choice c = {.n_columns = 0};
    const size_t asked = m->e->options.points ? m->e->options.points : m->e->format->usual_points;
    const size_t n = asked == 0 || asked > m->n ? m->n : asked;
    for (size_t i = 1; i < m->n; i++)
        if (row_thrust(m, m->e->own, i) > row_thrust(m, m->e->own, c.peak))
            c.peak = i;
    SM_TRY(knots_init(m, knots, err));
    SM_TRY(n < m->n ? rank_rows(m, &c, err) : keep_all(m, &c, err));
    if (n >= c.n_kept && try_knots(m, &c, knots, n))
        return SM_OK;
    for (size_t more = n > c.n_kept ? n + 1 : c.n_kept; more <= m->n; more++)
        if (try_knots(m, &c, knots, more))
            return sm_fail(err, SM_E_RANGE,
                           "%zu points can't keep this curve's total impulse and maximum thrust; it takes "
                           "%zu or more",
                           n, more);
    return sm_fail(err, SM_E_NUMERIC, "the table's thrust can't be made to add up to the total impulse");
}

/* ---- the table ---- */

static double *new_column(struct sm_export *e)
{
    return sm_arena_alloc(&e->arena, e->n, sizeof(double));
}

static void round_all(double *y, size_t n)
{
    for (size_t i = 0; i < n; i++)
        y[i] = sm_export_round(y[i]);
}

static enum sm_status fill_thrust(struct making *m, const struct knots *knots, size_t k, struct sm_error *err)
{
    struct sm_export *e = m->e;
    double *y = e->thrust[k] = new_column(e);
    if (!y)
        return out_of_memory(err);
    for (size_t i = 0; i < e->n; i++)
        y[i] = row_thrust(m, k, knots->rows[i]);
    /* Thrust at another pressure is the run's less much the same at every instant, and the knots do for the run's. */
    if (!conserve(e->column[SM_OUT_TIME], y, e->n, impulse_wanted(m, k),
                  largest_of(m->thrust[k], m->series->n), knots->spare))
        return sm_fail(err, SM_E_INTERNAL,
                       "%zu points can't keep the impulse at an ambient pressure of %.6g Pa: give more", e->n,
                       e->ambient[k]);
    round_all(y, e->n);
    return SM_OK;
}

static enum sm_status fill_column(struct making *m, const struct knots *knots, enum sm_out column,
                                  struct sm_error *err)
{
    struct sm_export *e = m->e;
    const struct sm_series *s = m->series;
    const double *values = series_column(m, column);
    if (!values)
        return SM_OK;
    double *y = e->column[column] = new_column(e);
    if (!y)
        return out_of_memory(err);
    for (size_t i = 0; i < e->n; i++)
        y[i] = row_value(m, column, values, knots->rows[i]);
    if (column == SM_OUT_MASS_FLOW &&
        !sm_resample_conserve(e->column[SM_OUT_TIME], y, e->n,
                              sm_curve_integral(s->time, values, s->n, s->time[m->first], s->time[s->n - 1]),
                              SM_INF))
        return sm_fail(err, SM_E_INTERNAL, "the table's mass flow can't be made to add up");
    round_all(y, e->n);
    return SM_OK;
}

static enum sm_status fill_impulse(struct sm_export *e, struct sm_error *err)
{
    const double *t = e->column[SM_OUT_TIME], *f = e->column[SM_OUT_THRUST];
    double *y = e->column[SM_OUT_IMPULSE] = new_column(e);
    double sum = 0.0; /* [N s] */
    if (!y)
        return out_of_memory(err);
    for (size_t i = 0; i < e->n; i++) {
        sum += i > 0 ? 0.5 * (f[i] + f[i - 1]) * (t[i] - t[i - 1]) : 0.0;
        y[i] = sm_export_round(sum);
    }
    return SM_OK;
}

static enum sm_status fill_table(struct making *m, const struct knots *knots, struct sm_error *err)
{
    struct sm_export *e = m->e;
    e->n = knots->n;
    e->source = sm_arena_alloc(&e->arena, e->n, sizeof *e->source);
    e->is_made = sm_arena_alloc(&e->arena, e->n, 1);
    if (!e->source || !e->is_made)
        return out_of_memory(err);
    for (size_t i = 0; i < e->n; i++) {
        e->source[i] = m->source[knots->rows[i]];
        e->is_made[i] = m->is_made[knots->rows[i]];
    }
    SM_TRY(fill_column(m, knots, SM_OUT_TIME, err));
    for (size_t k = 0; k < e->n_ambient; k++)
        SM_TRY(fill_thrust(m, knots, k, err));
    e->column[SM_OUT_THRUST] = e->thrust[e->own];
    if (e->ambient[0] == 0.0)
        e->column[SM_OUT_THRUST_VACUUM] = e->thrust[0];
    SM_TRY(fill_impulse(e, err));
    for (int column = SM_OUT_MASS_FLOW; column < SM_N_OUT; column++)
        SM_TRY(fill_column(m, knots, (enum sm_out)column, err));
    return SM_OK;
}

static enum sm_status fill_report(struct making *m, struct sm_error *err)
{
    struct sm_export *e = m->e;
    struct sm_export_report *r = &e->report;
    double *run = thrust_rows(m, e->own);
    if (!run)
        return out_of_memory(err);
    const double total = e->result->thrust.total_impulse, largest = largest_of(run, m->n);
    *r = (struct sm_export_report){
        .rows = e->n,
        .of = m->n,
        .impulse_off = fabs(e->column[SM_OUT_IMPULSE][e->n - 1] / total - 1.0),
        .peak_off = fabs(largest_of(e->column[SM_OUT_THRUST], e->n) / largest - 1.0),
        .knows_masses = e->column[SM_OUT_PROPELLANT_MASS] != NULL,
        .whole_motor = e->column[SM_OUT_MOTOR_MASS] != NULL,
        .by_ambient = e->n_ambient > 1,
    };
    r->thrust_off = sm_resample_deviation(m->time, run, m->n, e->column[SM_OUT_TIME],
                                          e->column[SM_OUT_THRUST], e->n, &r->thrust_off_at);
    for (size_t i = 0; i < m->series->n; i++)
        r->n_negative += m->series->thrust[i] < 0.0;
    return SM_OK;
}

static enum sm_status tabulate(struct making *m, struct sm_error *err)
{
    struct knots knots;
    SM_TRY(sm_export_ambients(m->e, m->arena, m->thrust, err));
    SM_TRY(make_rows(m, err));
    SM_TRY(choose_knots(m, &knots, err));
    SM_TRY(fill_table(m, &knots, err));
    return fill_report(m, err);
}

enum sm_status sm_export_tabulate(struct sm_export *e, struct sm_error *err)
{
    struct sm_arena scratch;
    struct making m = {.e = e, .series = &e->result->series, .arena = &scratch};
    if (!e->result->complete)
        return sm_fail(err, SM_E_RANGE,
                       "the run was stopped before its end, so there is no whole curve to hand over");
    if (e->options.points == 1)
        return sm_fail(err, SM_E_RANGE, "a table of 1 point is no curve: give 2 or more");
    sm_arena_init(&scratch, NULL);
    const enum sm_status status = tabulate(&m, err);
    sm_arena_release(&scratch);
    return status;
}
