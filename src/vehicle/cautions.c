/* What every output says, and what this vehicle is warned of. */
#include "base/text.h"
#include "vehicle/lift.h"

#include <math.h>

static const char *const cautions[] = {
    "Guidance only. Powered landing on solid motors is experimental.",
    ("Thrust to weight near one is far below the three to one at lift-off that high-power codes commonly ask "
     "for (from memory; "
     "check the current edition). Such a flight needs the prior agreement of the range and of the "
     "organisation, is no "
     "certification flight, and must have its own means of recovery and of ending the flight."),
    ("The motors can't be switched off: a vehicle that has not landed at burnout falls, and one whose motors "
     "burn on after "
     "touchdown can rise, tip over or start a fire."),
    ("Left out of the model: wind, the attitude loop, legs and tip-over, ground effect and hot gas drawn in "
     "again, and failures to ignite."),
};

const char *sm_lift_caution(size_t i)
{
    return i < SM_COUNT(cautions) ? cautions[i] : NULL;
}

enum { MOST = 16 };
struct warnings {
    struct sm_warning_found *found;
    size_t n;
};

static void warn(struct warnings *w, const char *code, const char *pointer, const char *fmt, ...)
    SM_PRINTF(4, 5);
static void warn(struct warnings *w, const char *code, const char *pointer, const char *fmt, ...)
{
    if (w->n == MOST)
        return;
    struct sm_warning_found *f = &w->found[w->n++];
    va_list args;
    va_start(args, fmt);
    sm_text_format(f->code, sizeof f->code, "%s", code);
    sm_text_format(f->pointer, sizeof f->pointer, "%s", pointer);
    sm_text_vformat(f->text, sizeof f->text, fmt, args);
    va_end(args);
}

static void judge_landing(const struct sm_lift_study *s, struct warnings *w)
{
    const struct sm_landing_window *bare = &s->lift.windows[0], *reserve = &s->lift.windows[1];
    if (!s->lift.has_throttle)
        return;
    if (bare->n + bare->n_rising == 0)
        warn(w, "no-landing", "/motors/0/tilt_limit",
             "the model finds no flight that touches down within the legs' limit before burnout; a splay "
             "limit of %.1f deg or "
             "more would keep thrust under the weight",
             s->lift.figures.least_limit * 57.29577951308232);
    else if (bare->n > 0 && reserve->n == 0)
        warn(w, "no-reserve", "/landing/reserve",
             "with the reserve for steering kept, the model finds no flight that lands");
    if (bare->n_rising > 0)
        warn(w, "rises-again", "/motors/0/tilt_limit",
             "touched down before %.2f s, thrust at most splay exceeds the weight again before burnout: it "
             "would lift off again, so %s",
             bare->settled,
             bare->n > 0 ? "such contacts are left out" : "the model finds no landing that lasts");
}

/* The delay wanted, or plugged. */
static enum sm_status say_ejection(struct sm_lift_study *s, struct sm_error *err)
{
    const double delay = s->lift.figures.straight_delay;
    char said[200];
    if (s->lift.windows[SM_LIFT_BARE].n > 0)
        sm_text_format(said, sizeof said, "ejection charge: have it plugged, for it would land under power");
    else if (s->lighting.n > 0)
        sm_text_format(said, sizeof said,
                       "ejection charge: have it plugged, for motors are to be lit after the apogee");
    else if (isnan(delay))
        sm_text_format(said, sizeof said, "ejection charge: none fits, for at burnout it is on its way down");
    else
        sm_text_format(said, sizeof said, "ejection charge: a delay of %.3g s, from burnout to the apogee",
                       delay);
    s->lift.ejection = sm_arena_strdup(&s->arena, said);
    return s->lift.ejection ? SM_OK : sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* A charge on a vehicle that would land under power. */
static void judge_ejection(const struct sm_lift_study *s, struct warnings *w)
{
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    for (size_t i = 0; i < s->vehicle->spec.motors.n && s->lift.has_throttle; i++) {
        const struct sm_motor_spec *motor = &s->vehicle->motors[i]->spec;
        char pointer[64];
        const int is_told = !isnan(groups[i].eject_at);
        sm_text_format(pointer, sizeof pointer, "/motors/%zu/%s", i, is_told ? "eject_at" : "motor");
        if (is_told)
            warn(w, "ejection-charge", pointer,
                 "an ejection charge fires at %.3g s, on a vehicle that would land under power: have it "
                 "plugged",
                 groups[i].eject_at);
        else if (motor->is_curve && isnan(motor->bare.delay))
            warn(w, "ejection-unknown", pointer,
                 "whether this motor has an ejection charge is not told; a vehicle that lands under power "
                 "must have none");
        else if (motor->is_curve && motor->bare.delay >= 0.0)
            warn(w, "ejection-charge", pointer,
                 "this motor fires an ejection charge %.3g s after burnout, on a vehicle that would land "
                 "under power: have it plugged",
                 motor->bare.delay);
    }
}

/* Trim that passes the stops, at the worst instant of each axis. */
static void judge_trim(const struct sm_lift_study *s, struct warnings *w)
{
    static const double degree = 57.29577951308232;
    const struct sm_lift_turning *t = &s->lift.turning;
    for (size_t axis = 0; axis < SM_LIFT_AXES; axis++) {
        const struct sm_lift_axis *a = &t->axes[axis];
        double worst = 0.0;
        size_t at = 0;
        for (size_t i = 0; i < t->n; i++)
            if (a->trim[i] - a->tilt[i] > worst) {
                worst = a->trim[i] - a->tilt[i];
                at = i;
            }
        if (worst > 0.0)
            warn(
                w, "trim", "/tolerances",
                "mismatch and mount errors of three deviations ask for %.2f deg of tilt in %s at %.2f s, and "
                "beside a splay of %.1f deg the stops leave %.2f deg",
                a->trim[at] * degree, sm_lift_axis_name(axis), t->time[at], t->splay[at] * degree,
                a->tilt[at] * degree);
    }
}

/* Rings are in balance; one motor beside the axis is not. */
static void judge_balance(const struct sm_lift_study *s, struct warnings *w)
{
    const struct sm_lift_unbalanced u = sm_lift_find_unbalanced(s);
    const struct sm_motor_group *groups = s->vehicle->spec.motors.items;
    char pointer[64];
    if (!(u.moment > 0.0))
        return;
    sm_text_format(pointer, sizeof pointer, "/motors/%zu/ring_radius", u.group);
    warn(w, "unbalanced", pointer,
         "one motor stands by itself, %.3g m off the axis: at %.2f s it turns the vehicle with %.3g N m that "
         "no "
         "other motor balances; put a second one opposite, or it on the axis",
         groups[u.group].ring_radius, u.time, u.moment);
}

enum sm_status sm_lift_fill_warnings(struct sm_lift_study *s, struct sm_error *err)
{
    struct warnings w = {.found = sm_arena_alloc(&s->arena, MOST, sizeof *w.found)};
    const struct sm_lift_figures *f = &s->lift.figures;
    if (!w.found)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    if (f->rail_ratio < 3.0)
        warn(&w, "thrust-to-weight", "/body/dry_mass",
             "thrust to weight is %.3g %s; high-power codes commonly ask for 3 (from memory, check the "
             "edition): "
             "it needs the range's and the organisation's prior agreement",
             f->rail_ratio, isnan(f->rail_time) ? "as it lifts off" : "as it leaves the rail");
    if (!s->lifts_in_corner && f->corner_ratio >= 1.0)
        warn(&w, "corner", "/tolerances",
             "in the worst corner it is not let go: a motor does not exceed release_thrust in time, though "
             "all of "
             "them would come to %.3g of the weight (%s)",
             f->corner_ratio, s->lift.corner);
    else if (!s->lifts_in_corner)
        warn(&w, "corner", "/tolerances",
             "in the worst corner it does not lift off: thrust comes to %.3g of the weight (%s)",
             f->corner_ratio, s->lift.corner);
    judge_landing(s, &w);
    judge_ejection(s, &w);
    judge_trim(s, &w);
    judge_balance(s, &w);
    s->lift.warnings = w.found;
    s->lift.n_warnings = w.n;
    return say_ejection(s, err);
}
