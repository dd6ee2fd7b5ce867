/* Landing windows: contact times at which a landing exists, and the highest flight to each. */
#include "vehicle/lift.h"

#include "atmos/atmos.h"
#include "vehicle/touchdown.h"

#include <math.h>

/* Contact time i of n, from lift-off to burnout, both apart from the first. */
static double contact_time(const struct sm_profile *p, const struct sm_flight_state *start, size_t i,
                           size_t n)
{
    return start->t + (sm_profile_burnout(p) - start->t) * (double)(i + 1) / (double)n;
}

/* A hop that legs give by themselves is no flight: height over the ground [m]. */
static const double least_flight = 0.01;

/* Highest flight to a contact at T with the softest contact there is. Returned: 0 if there is none. */
static int highest_to(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit,
                      double *contact, struct sm_switches *control, double *apogee)
{
    struct sm_flight_state top;
    double lowest;
    if (!sm_reach_lands(p, start, T, limit, contact) ||
        !sm_reach_highest(p, start, T, 0.0, -*contact, control))
        return 0;
    sm_reach_extremes(p, start, control, T, &top, &lowest);
    *apogee = top.h;
    return top.h >= least_flight;
}

/* The highest flight to a contact at T with the first speed at which there is one: apogee, or below least_flight if there is
 * none [m]. */
static double any_to(const struct sm_profile *p, const struct sm_flight_state *start, double T, double limit)
{
    enum { SPEEDS = 4 };
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    for (int i = 0; i <= SPEEDS; i++) {
        struct sm_switches control;
        struct sm_flight_state top;
        double lowest;
        if (!sm_reach_highest(p, start, T, 0.0, -limit * i / SPEEDS, &control))
            continue;
        sm_reach_extremes(p, start, &control, T, &top, &lowest);
        if (lowest >= buried)
            return top.h;
    }
    return 0.0;
}

/* Between a contact that can be and one that can't, to a hundredth of the scan's step. */
static double edge_of(const struct sm_profile *p, const struct sm_flight_state *start, double limit,
                      double can, double cannot)
{
    enum { HALVINGS = 7 };
    const double settled = sm_touchdown_settled(p);
    for (int k = 0; k < HALVINGS; k++) {
        const double middle = 0.5 * (can + cannot);
        if (middle >= settled && any_to(p, start, middle, limit) >= least_flight)
            can = middle;
        else
            cannot = middle;
    }
    return can;
}

int sm_lift_window_ends(const struct sm_profile *p, const struct sm_flight_state *start, double limit,
                        size_t n, double *first, double *last, double *highest)
{
    size_t from = n, to = 0, best_at = 0;
    struct sm_switches control;
    double contact, apogee, best = 0.0;
    const double settled = sm_touchdown_settled(p);
    *first = *last = *highest = SM_ABSENT;
    for (size_t i = 0; i < n; i++) {
        const double T = contact_time(p, start, i, n);
        apogee = T >= settled ? any_to(p, start, T, limit) : 0.0;
        if (apogee < least_flight)
            continue;
        from = from < n ? from : i;
        to = i;
        if (apogee > best)
            best_at = i;
        best = fmax(best, apogee);
    }
    if (from == n)
        return 0;
    *first = edge_of(p, start, limit, contact_time(p, start, from, n),
                     from > 0 ? contact_time(p, start, from - 1, n) : start->t);
    *last = contact_time(p, start, to, n);
    if (to + 1 < n)
        *last = edge_of(p, start, limit, *last, contact_time(p, start, to + 1, n));
    /* A softer contact can move the best by one. */
    for (size_t i = best_at > 0 ? best_at - 1 : best_at; i <= best_at + 1 && i < n; i++)
        if (contact_time(p, start, i, n) >= settled &&
            highest_to(p, start, contact_time(p, start, i, n), limit, &contact, &control, &apogee))
            *highest = fmax(apogee, *highest);
    if (to + 1 < n && highest_to(p, start, *last, limit, &contact, &control, &apogee))
        *highest = fmax(apogee, *highest);
    return 1;
}

enum { COLUMNS = 5, AFTER = 8 }; /* contact time, speed, apogee, splay from and to; those of a touchdown */

static enum sm_status make_columns(struct sm_lift_study *s, size_t n, size_t columns, double **column,
                                   struct sm_error *err)
{
    for (size_t i = 0; i < columns; i++) {
        column[i] = sm_arena_alloc(&s->arena, n, sizeof(double));
        if (!column[i])
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    return SM_OK;
}

static void begin_window(const struct sm_profile *p, double *column[COLUMNS],
                         struct sm_landing_window *window)
{
    *window = (struct sm_landing_window){.time = column[0],
                                         .contact_speed = column[1],
                                         .apogee = column[2],
                                         .splay_from = column[3],
                                         .splay_to = column[4],
                                         .highest = SM_ABSENT,
                                         .highest_time = SM_ABSENT,
                                         .settled = sm_touchdown_settled(p)};
}

static void add_row(struct sm_landing_window *window, double *column[COLUMNS], const double *row)
{
    for (size_t k = 0; k < COLUMNS; k++)
        column[k][window->n] = row[k];
    window->n++;
    if (!(row[2] <= window->highest)) {
        window->highest = row[2];
        window->highest_time = row[0];
    }
}

enum sm_status sm_lift_fill_window(struct sm_lift_study *s, const struct sm_profile *p,
                                   const struct sm_flight_state *start, size_t n,
                                   struct sm_landing_window *window, struct sm_error *err)
{
    double *column[COLUMNS];
    SM_TRY(make_columns(s, n, COLUMNS, column, err));
    begin_window(p, column, window);
    for (size_t i = 0; i < n && !isnan(start->t); i++) {
        struct sm_switches control;
        double contact, apogee;
        const double T = contact_time(p, start, i, n);
        if (!highest_to(p, start, T, s->vehicle->spec.landing.speed_limit, &contact, &control, &apogee))
            continue;
        if (T < window->settled)
            window->n_rising++;
        else
            add_row(window, column, (const double[COLUMNS]){T, contact, apogee, control.off, control.on});
    }
    return SM_OK;
}

/* A reserve at both ends of the range of throttle, as angles: the ramp between them is shorter. */
static void keep_reserve(double reserve, struct sm_flight_group *g)
{
    const double low = cos(g->low), high = cos(g->high), whole = g->high - g->low;
    g->low = acos(low - reserve * (low - high));
    g->high = acos(high + reserve * (low - high));
    g->ramp *= whole > 0.0 ? (g->high - g->low) / whole : 0.0;
}

enum sm_status sm_lift_flown_model(const struct sm_vehicle *vehicle, const struct sm_result *const *runs,
                                   const struct sm_profile *p, const struct sm_vehicle_change *change,
                                   struct sm_arena *arena, struct sm_flight_model *model,
                                   struct sm_error *err)
{
    const struct sm_vehicle_spec *spec = &vehicle->spec;
    const struct sm_motor_group *groups = spec->motors.items;
    struct sm_air air;
    SM_TRY(sm_air_at(spec->site.altitude, &air, err));
    *model = (struct sm_flight_model){
        .profile = p,
        .drag = 0.5 * air.density * spec->aerodynamics.drag_coefficient * spec->aerodynamics.area,
    };
    for (size_t i = 0; i < spec->motors.n && model->n < SM_FLIGHT_GROUPS; i++) {
        struct sm_flight_group *g = &model->groups[model->n];
        double *spread;
        if (!sm_group_has_throttle(&groups[i]))
            continue;
        SM_TRY(sm_thrust_spread(vehicle, runs, change, p, i, arena, &spread, err));
        sm_group_splay(&groups[i], spec->landing.least_splay, &g->low, &g->high);
        g->spread = spread;
        g->ramp = groups[i].tilt_time;
        keep_reserve(change->reserve, g);
        model->n++;
    }
    return SM_OK;
}

void sm_lift_ease_down(const struct sm_flight_model *model, const struct sm_flight_state *start, double T,
                       double contact, double limit, struct sm_switches *control, double eased[3])
{
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    const double speeds[] = {contact, limit}, ease = sm_touchdown_ease(model, T);
    eased[0] = eased[1] = eased[2] = SM_ABSENT;
    for (size_t i = 0; i < SM_COUNT(speeds) && ease < T - start->t; i++) {
        struct sm_switches c = *control;
        struct sm_flight_state end;
        struct sm_flight_extremes passed;
        if (!sm_flight_land_eased(model, start, T, -speeds[i], ease, &c))
            continue;
        sm_flight_fly_eased(model, start, &c, T, ease, &end, &passed);
        if (passed.lowest < buried || c.on > T - ease)
            continue;
        eased[0] = T - ease;
        eased[1] = speeds[i];
        eased[2] = passed.highest;
        *control = c;
        return;
    }
}

static void name_touchdown(double *column[AFTER], struct sm_lift_touchdown *touchdown)
{
    *touchdown = (struct sm_lift_touchdown){.ratio = column[0],
                                            .ratio_time = column[1],
                                            .rise = column[2],
                                            .rise_speed = column[3],
                                            .rise_time = column[4],
                                            .eased_from = column[5],
                                            .eased_speed = column[6],
                                            .eased_apogee = column[7]};
}

/* What is sought to one contact, begun from what is there without drag and ramps; *landed of the last one found. */
struct flown {
    double T, contact; /* [s]; speed downwards [m/s] */
    struct sm_switches control;
    double apogee; /* [m] */
    struct sm_flight_landed landed;
};

/* As softly as without drag and ramps if that lands, else less softly, in quarters up to the limit. Returned: 0 if it finds none. */
static int fly_to(const struct sm_flight_model *model, const struct sm_flight_state *start, double limit,
                  int lands_without, struct flown *f)
{
    enum { SPEEDS = 4 };
    static const double buried = -1e-6; /* a path this little below ground is on it [m] */
    const double softest = lands_without ? f->contact : 0.0;
    const struct sm_switches without = lands_without ? f->control : f->landed.control;
    for (int i = 0; i <= SPEEDS; i++) {
        struct sm_flight_state end;
        struct sm_flight_extremes extremes;
        f->contact = softest + (limit - softest) * i / SPEEDS;
        f->control = without;
        if (!(lands_without && i == 0) &&
            !sm_reach_highest(model->profile, start, f->T, 0.0, -f->contact, &f->control) &&
            isnan(f->landed.T))
            continue;
        if (!sm_flight_land_next(model, start, f->T, -f->contact, &f->landed, &f->control))
            continue;
        sm_flight_fly(model, start, &f->control, f->T, &end, &extremes);
        f->apogee = extremes.highest;
        if (extremes.lowest >= buried && f->apogee >= least_flight)
            return 1;
    }
    return 0;
}

/* What comes after that contact, in columns. Returned: 0 if it hops too hard, and can't be eased down. */
static int touch_down(const struct sm_flight_model *model, const struct sm_flight_state *start, double limit,
                      struct flown *f, double after[AFTER])
{
    struct sm_touchdown down;
    struct sm_switches easing = f->control;
    double eased[3];
    sm_touchdown_begin(model, &f->control, f->T, 0.0, &down);
    sm_touchdown_finish(&down);
    sm_lift_ease_down(model, start, f->T, f->contact, limit, &easing, eased);
    if (down.rise_speed > limit) {
        if (isnan(eased[0]))
            return 0;
        f->control = easing;
        f->contact = eased[1];
        f->apogee = eased[2];
        sm_touchdown_begin(model, &f->control, f->T, f->T - eased[0], &down);
        sm_touchdown_finish(&down);
    }
    after[0] = sm_touchdown_ratio(model->profile, f->T, &after[1]);
    after[2] = down.rise;
    after[3] = down.rise_speed;
    after[4] = down.down;
    for (size_t k = 0; k < SM_COUNT(eased); k++)
        after[5 + k] = eased[k];
    return 1;
}

enum sm_status sm_lift_fill_flown(struct sm_lift_study *s, const struct sm_flight_model *model,
                                  const struct sm_flight_state *start,
                                  const struct sm_landing_window *without, size_t n,
                                  struct sm_landing_window *window, struct sm_lift_touchdown *touchdown,
                                  struct sm_error *err)
{
    const double limit = s->vehicle->spec.landing.speed_limit;
    double *column[COLUMNS], *after[AFTER];
    struct flown f = {.landed = {.T = SM_ABSENT}};
    SM_TRY(make_columns(s, n, COLUMNS, column, err));
    SM_TRY(make_columns(s, n, AFTER, after, err));
    begin_window(model->profile, column, window);
    name_touchdown(after, touchdown);
    window->n_rising = without->n_rising;
    for (size_t i = 0, row = 0; i < n && !isnan(start->t); i++) {
        double values[AFTER];
        f.T = contact_time(model->profile, start, i, n);
        if (f.T < window->settled)
            continue;
        const int lands_without = row < without->n && without->time[row] <= f.T;
        if (lands_without) {
            f.contact = without->contact_speed[row];
            f.control = (struct sm_switches){without->splay_from[row], without->splay_to[row]};
            row++;
        }
        if (!fly_to(model, start, limit, lands_without, &f))
            continue;
        if (!touch_down(model, start, limit, &f, values)) {
            window->n_rising++;
            continue;
        }
        for (size_t k = 0; k < AFTER; k++)
            after[k][window->n] = values[k];
        add_row(window, column,
                (const double[COLUMNS]){f.T, f.contact, f.apogee, f.control.off, f.control.on});
    }
    return SM_OK;
}
