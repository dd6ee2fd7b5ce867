/*
 * Flights that are off, and what can't lift, against closed forms of constant thrust and mass: legs of constant acceleration, and the
 * parabola by which full thrust stops (any mechanics text; the switching curve e.g. Bryson and Ho, Applied Optimal Control, from
 * memory, edition not at hand).
 */
#include "slowmatch/slowmatch.h"

#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

/* Mass is so much in the middle of the flight: its two milligrams of propellant hardly count. */
static const double g = 9.80665, force = 26.0, mass = 2.3, burn = 13.5,
                    most = 1.04719755119659775; /* [rad] */

static struct sm_vehicle *vehicle;
static struct sm_lift *lift;

/* Returned: as sm_lift_study's. */
static enum sm_status study(const char *place, const char *value, struct sm_error *err)
{
    const struct sm_override other = {place, value};
    const struct sm_load_options options = {.overrides = &other, .n_overrides = place ? 1 : 0};
    struct sm_diag diag = {0};
    cr_assert(sm_vehicle_load(SM_SOURCE_DIR "/tests/unit/vehicle/steady-vehicle.json", &options, NULL,
                              &vehicle, &diag) == SM_OK,
              "%s", diag.n ? diag.items[0].message : "?");
    sm_diag_release(&diag);
    return sm_lift_study(vehicle, NULL, NULL, &lift, err);
}

static void done(void)
{
    sm_lift_free(lift);
    sm_vehicle_free(vehicle);
    lift = NULL;
    vehicle = NULL;
}

TestSuite(offby, .fini = done);

/* On at a constant acceleration. */
static void leg(double *t, double *h, double *v, double until, double a)
{
    const double dt = fmax(until - *t, 0.0);
    *h += *v * dt + 0.5 * a * dt * dt;
    *v += a * dt;
    *t += dt;
}

/* The plan's splay as a fixed program of time on a vehicle of that thrust and mass, lit so much later, that burns so long: against
 * what the study says of it. */
static void expect_program(const struct sm_lift_off_by *off, double F, double m, double later, double burns)
{
    const double full = F / m - g, least = F * cos(most) / m - g, end = later + burns;
    const struct sm_lift_end *found = &off->ways[SM_LIFT_FIXED];
    double t = later, h = 0.0, v = 0.0;
    leg(&t, &h, &v, lift->plan_splay_from, full);
    leg(&t, &h, &v, lift->plan_splay_to, least);
    /* Down in the last leg, or not at all: of h + v s + full s^2 / 2 the lesser root. */
    const double inside = v * v - 2.0 * full * h,
                 s = inside < 0.0 ? (double)INFINITY : (-v - sqrt(inside)) / full;
    if (t + s < end) {
        cr_expect(fabs(found->contact_time - t - s) < 2e-4, "%s: %g s, not %g s", off->what,
                  found->contact_time, t + s);
        cr_expect(fabs(found->contact_speed + v + full * s) < 2e-3, "%s: %g m/s, not %g m/s", off->what,
                  found->contact_speed, -v - full * s);
        return;
    }
    leg(&t, &h, &v, end, full);
    cr_expect(fabs(found->height_left - h) < 2e-3, "%s: %g m, not %g m", off->what, found->height_left, h);
    cr_expect(fabs(found->speed_left - v) < 1e-3, "%s: %g m/s, not %g m/s", off->what, found->speed_left, v);
}

Test(offby, a_fixed_program_misses_by_the_closed_form)
{
    struct sm_error err = {0};
    cr_assert(study(NULL, NULL, &err) == SM_OK, "%s", err.message);
    cr_assert(lift->n_off_by == SM_LIFT_CASES, "%zu", lift->n_off_by);
    const struct sm_lift_off_by *o = lift->off_by;
    expect_program(&o[0], force, mass, 0.0, burn);
    expect_program(&o[1], 1.01 * force, mass, 0.0, burn);
    expect_program(&o[2], 0.99 * force, mass, 0.0, burn);
    expect_program(&o[3], force / 1.02, mass, 0.0, 1.02 * burn);
    expect_program(&o[4], force / 0.98, mass, 0.0, 0.98 * burn);
    expect_program(&o[5], force, 1.005 * mass, 0.0, burn);
    expect_program(&o[6], force, 0.995 * mass, 0.0, burn);
    expect_program(&o[7], force, mass, 0.02, burn);
}

Test(offby, planned_anew_on_the_true_curve_it_lands_as_planned)
{
    struct sm_error err = {0};
    cr_assert(study(NULL, NULL, &err) == SM_OK, "%s", err.message);
    cr_expect(fabs(lift->plan_speed - 0.5) < 1e-6, "half of the legs' limit");
    for (size_t i = 0; i < lift->n_off_by; i++) {
        const struct sm_lift_end *end = &lift->off_by[i].ways[SM_LIFT_REPLANNED];
        cr_expect(fabs(end->contact_time - lift->plan_contact) < 1e-4 &&
                      fabs(end->contact_speed - lift->plan_speed) < 1e-3,
                  "%s: %g s, %g m/s", lift->off_by[i].what, end->contact_time, end->contact_speed);
    }
}

Test(offby, margins_are_those_of_the_stopping_parabola)
{
    /* Through the last leg, h = (v^2 - c^2) / 2A with contact at c; the edge at that speed is (v^2 - limit^2) / 2A. Thrust is least to
     * spare where that leg is longest, at its beginning. */
    struct sm_error err = {0};
    cr_assert(study(NULL, NULL, &err) == SM_OK, "%s", err.message);
    const double A = force / mass - g, c = lift->plan_speed, limit = 1.0;
    const struct sm_lift_end *end = &lift->off_by[0].ways[SM_LIFT_FIXED];
    cr_expect(fabs(end->margin_height - (limit * limit - c * c) / (2.0 * A)) < 1e-3, "%g m, not %g m",
              end->margin_height, (limit * limit - c * c) / (2.0 * A));
    cr_expect(end->margin_height_time > lift->plan_splay_to - 0.1);
}

Test(offby, paths_begin_and_end_with_their_flight_and_tell_its_throttle)
{
    struct sm_error err = {0};
    cr_assert(study(NULL, NULL, &err) == SM_OK, "%s", err.message);
    const struct sm_lift_path *p = &lift->off_by[0].paths[SM_LIFT_FIXED];
    const double full = force / mass - g;
    cr_assert(p->n > 20 && p->n <= 102, "%zu", p->n);
    cr_expect(fabs(p->time[p->n - 1] - lift->plan_contact) < 1e-4 && p->height[p->n - 1] < 1e-5);
    for (size_t i = 0; i < p->n; i++) {
        const int is_least =
            p->time[i] > lift->plan_splay_from + 1e-6 && p->time[i] < lift->plan_splay_to - 1e-6;
        const int is_full = p->time[i] > 1e-6 && (p->time[i] < lift->plan_splay_from - 1e-6 ||
                                                  p->time[i] > lift->plan_splay_to + 1e-6);
        cr_expect(i == 0 || p->time[i] > p->time[i - 1]);
        cr_expect(!is_least || fabs(p->throttle[i] - cos(most)) < 1e-9, "%g at %g s", p->throttle[i],
                  p->time[i]);
        cr_expect(!is_full || fabs(p->throttle[i] - 1.0) < 1e-9, "%g at %g s", p->throttle[i], p->time[i]);
        if (p->time[i] < lift->plan_splay_from)
            cr_expect(fabs(p->height[i] - 0.5 * full * p->time[i] * p->time[i]) < 1e-4, "%g m at %g s",
                      p->height[i], p->time[i]);
    }
}

Test(offby, by_how_much_it_cannot_lift_and_what_would)
{
    /* 26 N hold 26 / g kilograms and no more. */
    struct sm_error err = {0};
    char share[32], over[32], has[32];
    const double heavy = 3.0;
    cr_assert(study("body.dry_mass", "3 kg", &err) == SM_E_PHYSICS);
    snprintf(share, sizeof share, "thrust is %.3g of the weight", force / (heavy * g));
    snprintf(over, sizeof over, "%.3g kg are too many", heavy - force / g);
    snprintf(has, sizeof has, "less than %.4g kg", force / g);
    cr_expect(strstr(err.message, share) && strstr(err.message, over) && strstr(err.message, has),
              "%s, %s, %s: %s", share, over, has, err.message);
    sm_vehicle_free(vehicle);
    vehicle = NULL;
    snprintf(has, sizeof has, "%.6g kg", 0.999 * force / g); /* a gram in a thousand less lifts */
    cr_expect(study("body.dry_mass", has, &err) == SM_OK, "%s", err.message);
}
