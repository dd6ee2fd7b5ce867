/* The table that is handed over, against the run it came from. The bounds are those the manual promises: total impulse
 * to 1e-6, maximum thrust to 0.1 %. */
#include "table.h"

#include "ballistics/elsewhere.h"
#include "curve/curve.h"

static double largest(const double *y, size_t n)
{
    double most = y[0];
    for (size_t i = 1; i < n; i++)
        most = fmax(most, y[i]);
    return most;
}

static void check_table(const struct sm_export *e, const char *name)
{
    const double *t = e->column[SM_OUT_TIME], *f = e->column[SM_OUT_THRUST];
    const struct sm_thrust_summary *s = &e->result->thrust;
    cr_expect(t[0] == 0.0 && f[0] == 0.0, "%s: starts at %g s with %g N", name, t[0], f[0]);
    for (size_t i = 1; i < e->n; i++)
        cr_assert(t[i] > t[i - 1], "%s: time does not rise at row %zu", name, i);
    for (size_t k = 0; k < e->n_ambient; k++) {
        for (size_t i = 0; i < e->n; i++)
            cr_assert(e->thrust[k][i] >= 0.0, "%s: thrust %g N", name, e->thrust[k][i]);
        cr_expect(e->thrust[k][e->n - 1] == 0.0 && e->thrust[k][e->n - 2] == 0.0);
        cr_expect(k == 0 || sm_curve_integral(t, e->thrust[k], e->n, 0.0, t[e->n - 1]) <=
                                sm_curve_integral(t, e->thrust[k - 1], e->n, 0.0, t[e->n - 1]));
    }
    cr_expect_float_eq(sm_curve_integral(t, f, e->n, 0.0, t[e->n - 1]), s->total_impulse,
                       1e-6 * s->total_impulse, "%s", name);
    cr_expect_float_eq(e->column[SM_OUT_IMPULSE][e->n - 1], s->total_impulse, 1e-6 * s->total_impulse);
    cr_expect_float_eq(largest(f, e->n), s->maximum, 1e-3 * s->maximum, "%s", name);
    cr_expect(e->ambient[e->own] == e->motor->ambient);
}

Test(tabulate, every_example_at_any_number_of_points)
{
    static const size_t points[] = {0, 8, 15, 40, 100, 1000};
    for (size_t i = 0; i < SM_COUNT(example_names); i++)
        for (size_t p = 0; p < SM_COUNT(points); p++) {
            struct opened o;
            const struct sm_export_options options = {.points = points[p]};
            open_example(&o, example_names[i], "csvw", &options);
            cr_expect(points[p] == 0 || o.table->n <= points[p]);
            check_table(o.table, example_names[i]);
            close_example(&o);
        }
}

Test(tabulate, the_report_tells_the_distance_to_the_run)
{
    struct opened o;
    const struct sm_export_options options = {.points = 30};
    struct sm_export_report r;
    double worst = 0.0;
    open_example(&o, "sandpiper-cored", "csvw", &options);
    sm_export_report(o.table, &r);
    const struct sm_series *s = &o.result->series;
    for (size_t i = 1; i < s->n; i++) { /* without the jump at ignition, which is a ramp in the table */
        const double line =
            sm_curve_at(o.table->column[SM_OUT_TIME], o.table->column[SM_OUT_THRUST], o.table->n, s->time[i]);
        if (s->time[i] > 1e-5)
            worst = fmax(worst, fabs(line - s->thrust[i]));
    }
    cr_expect(r.rows == 30 && r.of >= s->n && r.of <= s->n + 4);
    cr_expect_float_eq(r.thrust_off, worst, 1e-3 * worst);
    cr_expect(r.thrust_off < 0.02 * o.result->thrust.maximum);
    cr_expect(r.whole_motor && r.by_ambient && r.n_negative == 0);
    close_example(&o);
}

Test(tabulate, too_few_points_are_refused_with_how_many_would_do)
{
    for (size_t points = 1; points <= 3; points++) {
        struct opened o;
        struct sm_error err = {0};
        const struct sm_export_options options = {.points = points};
        burn_example(&o, "sandpiper-cored", NULL, 0);
        cr_expect(open_form(&o, "csvw", &options, &err) == SM_E_RANGE);
        cr_expect(o.table == NULL);
        cr_expect(strstr(err.message, points == 1 ? "2 or more" : "6 or more"), "%s", err.message);
        close_example(&o);
    }
}

/* dF/dp_a = -A_e while the nozzle flows full, so vacuum thrust is more by p_a A_e: textbook, e.g. Sutton and Biblarz,
 * Rocket Propulsion Elements, thrust equation. */
Test(tabulate, vacuum_thrust_is_more_by_ambient_pressure_times_exit_area)
{
    struct opened o;
    open_example(&o, "sandpiper-cored", "csvw", NULL);
    const struct sm_export *e = o.table;
    const double area = 0.25 * 3.14159265358979323846 * 0.013 * 0.013;
    size_t n_full = 0;
    for (size_t i = 0; i < e->n; i++)
        if (e->column[SM_OUT_PRESSURE][i] > 2e6) {
            const double more = e->column[SM_OUT_THRUST_VACUUM][i] - e->column[SM_OUT_THRUST][i];
            cr_expect_float_eq(more, 101325.0 * area,
                               2e-4 * 101325.0 * area); /* both are fitted to their totals */
            n_full++;
        }
    cr_expect(n_full > 20);
    close_example(&o);
}

Test(tabulate, thrust_at_the_runs_own_pressure_is_the_runs)
{
    for (size_t i = 0; i < SM_COUNT(example_names); i++) {
        struct opened o;
        struct sm_arena arena;
        double thrust[4096];
        burn_example(&o, example_names[i], NULL, 0);
        sm_arena_init(&arena, NULL);
        cr_assert(o.result->series.n <= SM_COUNT(thrust));
        cr_assert(sm_thrust_elsewhere(o.motor, o.result, o.motor->ambient, &arena, thrust, NULL) == SM_OK);
        for (size_t j = 0; j < o.result->series.n; j++)
            cr_assert_float_eq(thrust[j], o.result->series.thrust[j], 1e-12 * o.result->thrust.maximum);
        cr_expect(sm_thrust_elsewhere(o.motor, o.result, -1.0, &arena, thrust, NULL) == SM_E_RANGE);
        sm_arena_release(&arena);
        close_example(&o);
    }
}

/* Between the pressures of the table thrust is a straight line: at every middle it is what a run of its own at that
 * pressure gives, to a thousandth of the largest, but for the last breath in which that run's own pressure differs. */
Test(tabulate, between_ambient_pressures_a_line_is_enough)
{
    struct opened o;
    open_example(&o, "sandpiper-end-burner", "csvw", NULL);
    const struct sm_export *e = o.table;
    const double *t = e->column[SM_OUT_TIME];
    for (size_t k = 0; k + 1 < e->n_ambient; k++) {
        struct opened there;
        char text[64];
        const double pressure = 0.5 * (e->ambient[k] + e->ambient[k + 1]);
        const struct sm_override set = {"conditions.ambient_pressure", text};
        snprintf(text, sizeof text, "%.17g Pa", pressure);
        burn_example(&there, "sandpiper-end-burner", &set, 1);
        const struct sm_series *s = &there.result->series;
        for (size_t i = 1; i < s->n && s->pressure[i] > 3e5; i++) {
            const double a = sm_curve_at(t, e->thrust[k], e->n, s->time[i]);
            const double b = sm_curve_at(t, e->thrust[k + 1], e->n, s->time[i]);
            if (s->time[i] > 1e-3)
                cr_assert_float_eq(0.5 * (a + b), s->thrust[i], 2e-3 * o.result->thrust.maximum,
                                   "%g Pa, %g s: %g against %g", pressure, s->time[i], 0.5 * (a + b),
                                   s->thrust[i]);
        }
        close_example(&there);
    }
    close_example(&o);
}

Test(tabulate, masses_fall_by_what_flows_out)
{
    for (size_t i = 2; i < SM_COUNT(example_names); i++) {
        struct opened o;
        open_example(&o, example_names[i], "csvw", NULL);
        const struct sm_export *e = o.table;
        const double *t = e->column[SM_OUT_TIME], *m = e->column[SM_OUT_PROPELLANT_MASS];
        const double out = sm_curve_integral(t, e->column[SM_OUT_MASS_FLOW], e->n, 0.0, t[e->n - 1]);
        cr_expect_float_eq(out, m[0], 2e-3 * m[0], "%s: %g kg of %g kg", example_names[i], out,
                           m[0]); /* gas stays */
        cr_expect_float_eq(e->column[SM_OUT_MOTOR_MASS][0], o.result->loaded_mass, 1e-11);
        close_example(&o);
    }
}

/* ---- curves as people give them ---- */

/* A bare curve of n samples; masses as the Curlew's. */
static enum sm_status open_curve(struct opened *o, const char *times, const char *thrusts,
                                 struct sm_error *err)
{
    char text[1024];
    struct sm_diag diag = {0};
    *o = (struct opened){0};
    snprintf(text, sizeof text,
             "{\"format\":\"slowmatch-motor/1\",\"name\":\"given\",\"curve\":{"
             "\"time\":{\"unit\":\"s\",\"values\":[%s]},\"thrust\":{\"unit\":\"N\",\"values\":[%s]},"
             "\"loaded_mass\":\"82 g\",\"propellant_mass\":\"35 g\",\"length\":\"114 mm\",\"diameter\":\"29 "
             "mm\"}}",
             times, thrusts);
    cr_assert(sm_motor_parse(text, strlen(text), "test", NULL, NULL, &o->motor, &diag) == SM_OK, "%s",
              diag.n ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    cr_assert(sm_simulate(o->motor, NULL, NULL, &o->result, err) == SM_OK, "%s", err->message);
    return open_form(o, "csvw", NULL, err);
}

Test(tabulate, jumps_plateaus_and_late_starts_keep_their_impulse)
{
    static const struct {
        const char *times, *thrusts;
        double impulse; /* areas by hand [N s] */
    } rows[] = {{"0, 5", "10, 10", 50.0},
                {"0.5, 2.5", "10, 10", 20.0},
                {"0, 1, 1, 3, 3", "0, 0, 20, 20, 0", 40.0},
                {"0, 1, 1, 2", "10, 10, 4, 4", 14.0},
                {"0.2, 1.2, 2.2", "0, 8, 0", 8.0},
                {"0, 1e-9, 2e-9, 4, 4.000000001", "0, 5, 10, 10, 0", 40.0}};
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        struct opened o;
        struct sm_error err = {0};
        cr_assert(open_curve(&o, rows[i].times, rows[i].thrusts, &err) == SM_OK, "row %zu: %s", i,
                  err.message);
        cr_expect_float_eq(o.result->thrust.total_impulse, rows[i].impulse, 1e-6 * rows[i].impulse);
        check_table(o.table, rows[i].times);
        cr_expect(o.table->n_ambient == 1 && !o.table->column[SM_OUT_THRUST_VACUUM]);
        close_example(&o);
    }
}

Test(tabulate, values_below_zero_are_written_as_zero_and_counted)
{
    struct opened o;
    struct sm_error err = {0};
    struct sm_export_report r;
    cr_assert(open_curve(&o, "0, 1, 2, 3, 4, 5", "0, -0.01, 10, 5, -0.02, 0", &err) == SM_OK, "%s", err.message);
    sm_export_report(o.table, &r);
    cr_expect(r.n_negative == 2);
    check_table(o.table, "noise");
    close_example(&o);
}

/* What is written as zero below it can't be made up for without changing the peak. */
Test(tabulate, a_curve_that_pulls_back_much_is_refused)
{
    struct opened o;
    struct sm_error err = {0};
    cr_expect(open_curve(&o, "0, 1, 2, 3, 4, 5", "0, 10, 0, -4, -4, 0", &err) == SM_E_NUMERIC);
    cr_expect(strstr(err.message, "can't be made to add up to the total impulse"), "%s", err.message);
    close_example(&o);
}

Test(tabulate, a_template_is_needed_for_its_form)
{
    struct opened o;
    struct sm_error err = {0};
    burn_example(&o, "curlew-bought", NULL, 0);
    cr_expect(open_form(&o, "template", NULL, &err) == SM_E_FIELD);
    cr_expect(strstr(err.message, "the form template needs a template"), "%s", err.message);
    close_example(&o);
}

Test(tabulate, a_curve_that_burns_before_ignition_is_refused)
{
    struct opened o;
    struct sm_error err = {0};
    cr_expect(open_curve(&o, "-1, 0, 1, 2", "0, 10, 10, 0", &err) == SM_E_RANGE);
    cr_expect(strstr(err.message, "before t = 0"), "%s", err.message);
    close_example(&o);
    cr_expect(open_curve(&o, "-1, 0, 1, 2", "0, 0, 10, 0", &err) == SM_OK, "quiet before it is fine");
    close_example(&o);
}

Test(tabulate, a_run_that_was_stopped_is_no_curve)
{
    struct opened o;
    struct sm_error err = {0};
    burn_example(&o, "curlew-bought", NULL, 0);
    o.result->complete = false;
    cr_expect(open_form(&o, "csvw", NULL, &err) == SM_E_RANGE);
    close_example(&o);
}

Test(tabulate, twelve_digits_are_kept)
{
    cr_expect(sm_export_round(1.0 / 3.0) == 0.333333333333);
    cr_expect(sm_export_round(-123456789.0123456) == -123456789.012);
    cr_expect(sm_export_round(6.02214076e23) == 6.02214076e23);
    cr_expect(sm_export_round(0.0) == 0.0);
    cr_expect(sm_export_round(9.9999999999999e5) == 1e6);
}
