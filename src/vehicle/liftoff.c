/* Lift-off, rail and hover. */
#include "vehicle/lift.h"
#include "vehicle/touchdown.h"

#include "curve/curve.h"

#include <math.h>

/* When one motor's thrust first exceeds a value, from the start of its curve [s]; SM_ABSENT if never. */
static double time_above(const struct sm_series *s, double thrust)
{
    if (s->thrust[0] >= thrust)
        return s->time[0];
    for (size_t i = 1; i < s->n; i++)
        if (s->thrust[i] >= thrust) {
            const double rise = s->thrust[i] - s->thrust[i - 1];
            return s->time[i - 1] + (s->time[i] - s->time[i - 1]) * (thrust - s->thrust[i - 1]) / rise;
        }
    return SM_ABSENT;
}

enum sm_status sm_lift_release(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                               const struct sm_vehicle_change *change, double *t, struct sm_error *err)
{
    const struct sm_motor_group *groups = vehicle->spec.motors.items;
    const struct sm_vehicle_launch *launch = &vehicle->spec.launch;
    *t = 0.0;
    for (size_t i = 0; i < vehicle->spec.motors.n && launch->release_thrust > 0.0; i++) {
        if (groups[i].ignite_at > 0.0 || sm_group_waits_for_height(&groups[i]))
            continue;
        const double late = groups[i].ignition_delay + (i == change->late_group ? change->late : 0.0);
        const double up =
            late + time_above(&runs[i]->series, launch->release_thrust / (1.0 + change->thrust));
        if (!(up <= launch->abort_after))
            return sm_fail(
                err, SM_E_PHYSICS,
                "the motors of /motors/%zu don't exceed release_thrust, %.4g N, within abort_after, %.4g s: "
                "it is not let go",
                i, launch->release_thrust, launch->abort_after);
        *t = fmax(*t, up);
    }
    return SM_OK;
}

double sm_lift_off_time(const struct sm_profile *p, double t)
{
    struct sm_profile_at at, before;
    sm_profile_eval(p, t, &before);
    if (before.full >= before.mass * p->gravity)
        return t;
    double last = t, spare = before.full - before.mass * p->gravity;
    for (size_t i = 0; i < p->n; i++) {
        if (p->t[i] <= t)
            continue;
        sm_profile_eval(p, p->t[i], &at);
        const double now = at.full - at.mass * p->gravity;
        if (now >= 0.0) /* a straight line between knots */
            return last + (p->t[i] - last) * spare / (spare - now);
        last = p->t[i];
        spare = now;
    }
    return SM_ABSENT;
}

/* The part of [a, b] on which a straight line from y0 to y1 is not negative, as shares of it. */
static void not_negative(double y0, double y1, double *from, double *to)
{
    const double zero = y0 == y1 ? 0.0 : y0 / (y0 - y1);
    *from = y0 >= 0.0 ? 0.0 : y1 >= 0.0 ? zero : 1.0;
    *to = y1 >= 0.0 ? 1.0 : y0 >= 0.0 ? zero : 0.0;
}

double sm_lift_hover(const struct sm_profile *p, double from, double *first, double *last)
{
    static const double sliver = 2e-9; /* in which a curve that jumps passes the weight [s] */
    double total = 0.0;
    *first = *last = SM_ABSENT;
    for (size_t i = 0; i + 1 < p->n; i++) {
        double over[2], under[2];
        const double width = p->t[i + 1] - p->t[i], g = p->gravity;
        not_negative(p->full[i] - p->mass[i] * g, p->full[i + 1] - p->mass[i + 1] * g, &over[0], &over[1]);
        not_negative(p->mass[i] * g - p->least[i], p->mass[i + 1] * g - p->least[i + 1], &under[0],
                     &under[1]);
        const double a = fmax(p->t[i] + width * fmax(over[0], under[0]), from);
        const double b = p->t[i] + width * fmin(over[1], under[1]);
        if (!(b - a > sliver))
            continue;
        total += b - a;
        *first = isnan(*first) ? a : *first;
        *last = b;
    }
    return total;
}

/* ---- figures ---- */

/* When it has risen by a height under full thrust [s]; SM_ABSENT if it does not before burnout. */
static double time_risen(const struct sm_profile *p, const struct sm_flight_state *start, double height)
{
    const struct sm_switches none = {SM_INF, SM_INF};
    struct sm_flight_state end;
    double a = start->t, b = sm_profile_burnout(p);
    sm_reach_fly(p, start, &none, b, &end);
    if (end.h < height)
        return SM_ABSENT;
    for (int k = 0; k < 60; k++) {
        sm_reach_fly(p, start, &none, 0.5 * (a + b), &end);
        if (end.h < height)
            a = 0.5 * (a + b);
        else
            b = 0.5 * (a + b);
    }
    return 0.5 * (a + b);
}

static double ratio_at(const struct sm_profile *p, double t)
{
    struct sm_profile_at at;
    sm_profile_eval(p, t, &at);
    return at.full / (at.mass * p->gravity);
}

/* The most within half a second of a time: that at lift-off is one where thrust rises to the weight, and says nothing. */
static double ratio_near(const struct sm_profile *p, double t)
{
    static const double near = 0.5; /* [s] */
    double most = fmax(ratio_at(p, t), ratio_at(p, t + near));
    for (size_t i = 0; i < p->n; i++)
        if (p->t[i] >= t && p->t[i] <= t + near)
            most = fmax(most, p->full[i] / (p->mass[i] * p->gravity));
    return most;
}

struct sm_leaving sm_lift_leave_rail(const struct sm_profile *p, const struct sm_flight_state *start,
                                     double length)
{
    const struct sm_switches none = {SM_INF, SM_INF};
    struct sm_flight_state end;
    struct sm_profile_at at;
    struct sm_leaving out = {SM_ABSENT, SM_ABSENT, SM_ABSENT, ratio_near(p, start->t)};
    const double t = length > 0.0 ? time_risen(p, start, length) : SM_ABSENT;
    if (isnan(t))
        return out;
    sm_reach_fly(p, start, &none, t, &end);
    sm_profile_eval(p, t, &at);
    out = (struct sm_leaving){t - start->t, end.v, at.full, ratio_at(p, t)};
    return out;
}

double sm_lift_greatest_ratio(const struct sm_profile *p)
{
    double greatest = 0.0;
    for (size_t i = 0; i < p->n; i++)
        greatest = fmax(greatest, p->full[i] / (p->mass[i] * p->gravity));
    return greatest;
}

static void straight_up(struct sm_lift_study *s)
{
    const struct sm_switches none = {SM_INF, SM_INF};
    struct sm_lift_figures *f = &s->lift.figures;
    struct sm_flight_state end, apogee;
    double lowest;
    const double burnout = sm_profile_burnout(s->lifting);
    sm_reach_fly(s->lifting, &s->lift_off, &none, burnout, &end);
    sm_reach_extremes(s->lifting, &s->lift_off, &none, burnout, &apogee, &lowest);
    f->straight_apogee = end.v > 0.0 ? end.h + 0.5 * end.v * end.v / s->bare.gravity : apogee.h;
    f->straight_delay = end.v > 0.0 && s->lighting.n == 0 ? end.v / s->bare.gravity : SM_ABSENT;
}

/* Splay at which the throttling motors, of thrust `splayed`, hold a weight with what the others give; SM_ABSENT if none. */
static double splay_for(double weight, double fixed, double splayed)
{
    const double share = (weight - fixed) / splayed;
    return share >= 0.0 && share <= 1.0 ? acos(share) : SM_ABSENT;
}

/* Columns that follow from two other splays: what the motors without throttle give along the axis, and what the others would
 * give untilted. */
static enum sm_status splay_columns(struct sm_lift_study *s, const double **fixed, const double **splayed,
                                    struct sm_error *err)
{
    static const double right = 1.57079632679489662;
    const struct sm_vehicle_change most = {.splay_limit = right}, half = {.splay_limit = 2.0 / 3.0 * right};
    struct sm_profile p, q;
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, &most, &s->arena, &p, err));
    SM_TRY(sm_thrust_profile(s->vehicle, s->runs, &half, &s->arena, &q, err));
    for (size_t i = 0; i < p.n; i++)
        q.least[i] = 2.0 * (q.least[i] - p.least[i]); /* the cosine of 60 degrees is a half */
    *fixed = p.least;
    *splayed = q.least;
    return SM_OK;
}

static enum sm_status fill_splay(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_profile *p = &s->bare;
    struct sm_lift_figures *f = &s->lift.figures;
    const double *fixed, *splayed, reserve = s->vehicle->spec.landing.reserve;
    double *tilt = sm_arena_alloc(&s->arena, p->n, sizeof *tilt);
    if (!tilt)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(splay_columns(s, &fixed, &splayed, err));
    f->least_limit = f->least_limit_reserved = f->hover_tilt_first = f->hover_tilt_last = SM_ABSENT;
    for (size_t i = 0; i < p->n; i++) {
        const double weight = p->mass[i] * p->gravity;
        tilt[i] = p->full[i] >= weight && s->lift.has_throttle ? splay_for(weight, fixed[i], splayed[i])
                                                               : SM_ABSENT;
        if (isnan(tilt[i]) || p->t[i] < s->start.t)
            continue;
        f->hover_tilt_first = isnan(f->hover_tilt_first) ? tilt[i] : f->hover_tilt_first;
        f->hover_tilt_last = tilt[i];
        f->least_limit = fmax(tilt[i], f->least_limit);
        f->least_limit_reserved =
            fmax(splay_for((weight - reserve * p->full[i]) / (1.0 - reserve), fixed[i], splayed[i]),
                 f->least_limit_reserved);
    }
    s->lift.series.hover_tilt = tilt;
    return SM_OK;
}

double sm_lift_down_from(const struct sm_profile *p, double from)
{
    const double settled = sm_touchdown_settled(p);
    return settled > from ? settled : SM_ABSENT;
}

enum sm_status sm_lift_fill_figures(struct sm_lift_study *s, struct sm_error *err)
{
    const struct sm_profile *p = &s->bare;
    struct sm_lift_figures *f = &s->lift.figures;
    struct sm_profile_at at;
    struct sm_profile_sums from, to;
    sm_profile_eval(p, f->release_time, &at);
    f->release_mass = at.mass;
    f->release_ratio = ratio_at(p, f->release_time);
    f->burnout_time = sm_profile_burnout(p);
    f->greatest_ratio = sm_lift_greatest_ratio(p);
    f->mass_for_no_lift = 0.0;
    for (size_t i = 0; i < s->lifting->n; i++) {
        f->mass_for_no_lift = fmax(f->mass_for_no_lift,
                                   s->lifting->full[i] / p->gravity + f->release_mass - s->lifting->mass[i]);
    }
    if (isnan(s->lift_off.t)) {
        const double ratio = sm_lift_greatest_ratio(s->lifting);
        return sm_fail(
            err, SM_E_PHYSICS,
            "it can't lift: at its best thrust is %.3g of the weight, so %.3g kg are too many for it: at "
            "release it has %.4g kg and may have less than %.4g kg; or thrust would have to be %.3g times "
            "as much",
            ratio, f->release_mass - f->mass_for_no_lift, f->release_mass, f->mass_for_no_lift, 1.0 / ratio);
    }
    sm_profile_sums(p, s->lift_off.t, &from);
    sm_profile_sums(p, f->burnout_time, &to);
    f->velocity_ideal = to.speed - from.speed;
    f->velocity_gravity = p->gravity * (f->burnout_time - s->lift_off.t);
    const struct sm_leaving left =
        sm_lift_leave_rail(s->lifting, &s->lift_off, s->vehicle->spec.launch.rail_length);
    if (s->vehicle->spec.launch.rail_length > 0.0 && isnan(left.time))
        return sm_fail(
            err, SM_E_PHYSICS,
            "thrust ends at %.4g s, before it has left the rail of %.4g m: a shorter rail, a longer "
            "burn or less mass would do",
            f->burnout_time, s->vehicle->spec.launch.rail_length);
    f->rail_time = left.time;
    f->rail_speed = left.speed;
    f->rail_thrust = left.thrust;
    f->rail_ratio = left.ratio;
    f->hover_time = sm_lift_hover(p, s->start.t, &f->hover_from, &f->hover_to);
    f->down_from = sm_lift_down_from(p, s->lighting.n > 0 ? s->start.t : p->t[0]);
    straight_up(s);
    SM_TRY(fill_splay(s, err));
    return sm_lift_fill_corner(s, err);
}
