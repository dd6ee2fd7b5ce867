/* Lift-off in the worst corner: cold, weak and heavy by three standard deviations, and one motor late by as much. */
#include "base/text.h"
#include "vehicle/lift.h"

#include <math.h>
#include <string.h>

static const double deviations = 3.0;
enum { SAID = 400 };

static struct sm_leaving none(double ratio)
{
    return (struct sm_leaving){SM_ABSENT, SM_ABSENT, SM_ABSENT, ratio};
}

/* How it leaves the rail as changed. *lifts: does it at all? */
static enum sm_status leave(struct sm_lift_study *s, const struct sm_vehicle_change *change,
                            struct sm_leaving *left, int *lifts, struct sm_error *err)
{
    struct sm_profile p;
    struct sm_flight_state start = {0};
    double release;
    SM_TRY(sm_thrust_profile(s->lighting.lifting, s->lighting.lifting_runs, change, &s->arena, &p, err));
    /* A fault is that it is not let go at all. */
    const int is_let_go =
        sm_lift_release(s->lighting.lifting, s->lighting.lifting_runs, change, &release, NULL) == SM_OK;
    start.t = is_let_go ? sm_lift_off_time(&p, release) : SM_ABSENT;
    *lifts = !isnan(start.t);
    *left = *lifts ? sm_lift_leave_rail(&p, &start, s->vehicle->spec.launch.rail_length)
                   : none(sm_lift_greatest_ratio(&p));
    return SM_OK;
}

/* Not to lift is worse than to lift, to stay on the rail worse than to leave it, then the slower is worse. */
static int is_worse(const struct sm_leaving *a, int a_lifts, const struct sm_leaving *b, int b_lifts)
{
    if (a_lifts != b_lifts)
        return b_lifts;
    if (isnan(a->speed) != isnan(b->speed))
        return isnan(a->speed);
    return isnan(a->speed) ? a->ratio < b->ratio : a->speed < b->speed;
}

static void add(char said[SAID], const char *fmt, ...) SM_PRINTF(2, 3);
static void add(char said[SAID], const char *fmt, ...)
{
    const size_t n = strlen(said);
    va_list args;
    va_start(args, fmt);
    if (n > 0 && n + 2 < SAID)
        strcpy(said + n, ", ");
    sm_text_vformat(said + strlen(said), SAID - strlen(said), fmt, args);
    va_end(args);
}

/* What the corner is made of, and what of it the file does not state. */
static enum sm_status say(struct sm_lift_study *s, const struct sm_vehicle_change *change,
                          struct sm_error *err)
{
    const struct sm_vehicle_tolerances *t = &s->vehicle->spec.tolerances;
    char made[SAID] = "", not_stated[SAID] = "", said[2 * SAID + 64];
    if (t->cold > 0.0)
        add(made, "cold by %.3g %% of thrust", 100.0 * t->cold);
    else
        add(not_stated, "tolerances.cold");
    if (t->thrust > 0.0)
        add(made, "thrust three times %.3g %% less", 100.0 * t->thrust);
    else
        add(not_stated, "tolerances.thrust");
    if (t->mass > 0.0)
        add(made, "mass three times %.3g %% more", 100.0 * t->mass);
    else
        add(not_stated, "tolerances.mass");
    if (change->late > 0.0)
        add(made, "one motor of /motors/%zu %.3g s late", s->lighting.place[change->late_group],
            change->late);
    else
        add(not_stated, "ignition_delay_tolerance");
    if (made[0] == '\0')
        sm_text_format(said, sizeof said,
                       "the file states no tolerances (%s), so this is the flight as told: it is no corner "
                       "until they are stated",
                       not_stated);
    else
        sm_text_format(said, sizeof said, "%s%s%s", made,
                       not_stated[0] ? "; not stated, so none taken: " : "", not_stated);
    s->lift.corner = sm_arena_strdup(&s->arena, said);
    return s->lift.corner ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

enum sm_status sm_lift_fill_corner(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &s->lighting.lifting->spec;
    const struct sm_motor_group *groups = spec->motors.items;
    struct sm_lift_figures *f = &s->lift.figures;
    struct sm_vehicle_change worst = {
        .thrust = (1.0 - spec->tolerances.cold) * (1.0 - deviations * spec->tolerances.thrust) - 1.0,
        .mass = deviations * spec->tolerances.mass * f->release_mass};
    struct sm_leaving left;
    SM_TRY(leave(s, &worst, &left, &s->lifts_in_corner, err));
    for (size_t i = 0; i < spec->motors.n; i++) {
        struct sm_vehicle_change change = worst;
        struct sm_leaving now;
        int lifts;
        change.late = deviations * groups[i].ignition_delay_tolerance;
        change.late_group = i;
        if (!(change.late > 0.0))
            continue;
        SM_TRY(leave(s, &change, &now, &lifts, err));
        if (worst.late > 0.0 && !is_worse(&now, lifts, &left, s->lifts_in_corner))
            continue;
        worst = change;
        left = now;
        s->lifts_in_corner = lifts;
    }
    f->corner_time = left.time;
    f->corner_speed = left.speed;
    f->corner_thrust = left.thrust;
    f->corner_ratio = left.ratio;
    return say(s, &worst, err);
}
