/*
 * How near flights come to the edge of their vehicle's tube, from which a landing still exists: with drag and the time that splay
 * takes.
 *
 * The edges are flown backwards from contacts once, and looked up at the instants of a flight: see sm_outline_tube.
 */
#ifndef SM_VEHICLE_MARGINS_H
#define SM_VEHICLE_MARGINS_H

#include "base/arena.h"
#include "base/fail.h"
#include "vehicle/flight.h"
#include "vehicle/tube.h"

/* Looks between two instants at which a flight may be planned anew; only there thrust is looked at. */
enum { SM_MARGIN_STEPS = 6, SM_MARGIN_SHARES = 19, SM_MARGIN_FLIGHTS = 65 };

/* Flights that touch down just so, at instants: columns of n_times each, NaN past the flight. */
struct sm_margin_flights {
    size_t n, n_times;
    double *h, *v; /* [m], [m/s] */
};

/* The edges of the tube of one thrust. */
struct sm_margin_table {
    struct sm_margin_flights stopping; /* at full thrust throughout, by contact */
    struct sm_margin_flights
        falling; /* least thrust, then full, from the lowest up; the last: full just then */
    double contact[SM_MARGIN_FLIGHTS]; /* of the first [s] */
    double
        on[SM_MARGIN_FLIGHTS]; /* when the others go full; later than the last contact: softer contacts [s] */
};

struct sm_margins {
    const struct sm_flight_model *model; /* borrowed */
    double limit;                        /* of the legs [m/s] */
    struct sm_tube tube;                 /* in closed form, where there is neither drag nor a ramp */
    int is_flown;                        /* the tables count */
    size_t n;
    double *t; /* instants [s] */
    struct sm_margin_table
        table[SM_MARGIN_SHARES]; /* the first at all instants; of other thrusts at each sixth */
};

/* Distances of one state to the edge; 0 outside. The ground is no edge. */
struct sm_margin {
    int is_inside;
    double height; /* at the same speed [m] */
    double speed;  /* at the same height [m/s] */
    double thrust; /* share of thrust, more or less from then on; at most 0.5 is looked at [1] */
};

/*
 * Given: limit, speed of contact [m/s]; start, of the flights, and every, between the instants at which they are planned anew [s].
 * Notes: the edges are interpolated by cubics between flights: heights to 1e-3 m and speeds to 1e-3 m/s, and shares of thrust
 *   to a hundredth of themselves (tests).
 * Status: SM_E_NOMEM.
 */
enum sm_status sm_margins_fill(const struct sm_flight_model *model, double limit, double start, double every,
                               struct sm_arena *arena, struct sm_margins *margins,
                               struct sm_error *err) SM_MUST_CHECK;

/* Of a state at instant i, counted from the start: SM_MARGIN_STEPS to each instant of planning anew. with_thrust: only at those. */
struct sm_margin sm_margins_at(const struct sm_margins *margins, size_t i, const struct sm_flight_state *at,
                               int with_thrust);

#endif
