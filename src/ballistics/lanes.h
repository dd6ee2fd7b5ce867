/*
 * Many motors burned side by side, each in a lane of the processor's vector registers.
 *
 * In place of the general march's adaptive steps all lanes take the same number of steps at places of their own: in time while
 * the surface is being lit and the chamber fills, then in distance burned. Between joints of the burning-rate law the chamber's
 * equation is linear in y = P^(1-n), so that a step with the area a straight line across it is exact but for the slow drift
 * of rho_p - P/RT and of the rate. Where a lane's pressure comes to a joint its step ends there and another begins. The books
 * close by construction. What is lost is of second order in the step; docs/theory.md has the derivation, and
 * tests/unit/ballistics/lanes.c holds it against the general march.
 *
 * It carries chambers whose throat stays, without heat to the wall, closure or igniter, whose surface is lit in a straight line
 * of time; choked or not, with any number of joints. A lane that can't be carried on (a pressure that rests on a joint) says so,
 * and the general march is to be taken.
 *
 * A lane's result does not depend on what is in the others, nor on the instruction set: all sets do the same IEEE operations
 * in the same order.
 */
#ifndef SM_BALLISTICS_LANES_H
#define SM_BALLISTICS_LANES_H

#include "ballistics/chamber.h"
#include "num/laneset.h"

enum {
    SM_LANES = 8,
    SM_LANE_RAMP = 16,     /* steps while the surface is being lit */
    SM_LANE_FILL = 8,      /* steps of the filling after it */
    SM_LANE_STEPS = 80,    /* steps in distance burned */
    SM_LANE_SEGMENTS = 12, /* of the burning-rate law at most */
    SM_LANE_MARCHED = SM_LANE_RAMP + SM_LANE_FILL + SM_LANE_STEPS + 1, /* nodes at burnout */
    SM_LANE_TAIL = 14,                                                 /* nodes of the tail at most */
    SM_LANE_NODES = 2 * SM_LANE_MARCHED + SM_LANE_TAIL /* of a curve at most: steep steps are shown as two */
};

/* The grain's surface at the places where the steps end. */
struct sm_lane_row {
    double w, to, dw;    /* where the step begins and ends, and its length [m] */
    double area0, area1; /* at its two ends; the mean is that of the volume [m2] */
    double pace;         /* length over that of the step before; 0 at the first [1] */
    double swing;        /* square of the area's change over its mean [1] */
    double left;         /* propellant at its end [m3] */
};
struct sm_lane_table {
    struct sm_lane_row rows[SM_LANE_STEPS];
    double volume, area,
        slope;     /* of propellant [m3] and of its surface before burning [m2], and the latter's slope [m] */
    double smooth; /* distance burned up to which the surface has no kink [m] */
    double web;    /* [m] */
};

/* Lanes in, lanes out. Arrays hold one value a lane. */
struct sm_lanes {
    double rt[SM_LANES], density[SM_LANES]; /* [J/kg], [kg/m3] */
    double drain[SM_LANES];                 /* A_t / c* [m s] */
    double choking[SM_LANES], ambient[SM_LANES],
        floor[SM_LANES];                         /* lowest pressure that is marched to [Pa] */
    double gamma[SM_LANES];                      /* of the nozzle's stream [1] */
    double subsonic[SM_LANES];                   /* c*^2 gamma / rt of the nozzle's stream [1] */
    double ramp[SM_LANES], fill[SM_LANES];       /* time until all is lit, and of filling after it [s] */
    double start[SM_LANES];                      /* pressure at time zero [Pa] */
    double space[SM_LANES];                      /* gas space before burning [m3] */
    double area[SM_LANES], slope[SM_LANES];      /* of the surface before burning [m2], [m] */
    const struct sm_lane_table *table[SM_LANES]; /* borrowed until the lanes are marched */
    double rate[SM_LANE_SEGMENTS][SM_LANES],
        exponent[SM_LANE_SEGMENTS][SM_LANES]; /* of P^n [m s-1 Pa-n], [1] */
    double joint[SM_LANE_SEGMENTS][SM_LANES]; /* upper end of each segment [Pa] */
    size_t n_segments[SM_LANES];
    int has[SM_LANES], failed[SM_LANES]; /* is there a motor; could it not be carried on? */
    double time[SM_LANE_MARCHED][SM_LANES], pressure[SM_LANE_MARCHED][SM_LANES]; /* at the nodes [s], [Pa] */
    double area_under[SM_LANE_MARCHED][SM_LANES]; /* of pressure until then [Pa s] */
    double room[SM_LANE_MARCHED][SM_LANES];       /* gas space [m3] */
    struct sm_jet jet[SM_LANES];
    double empty[SM_LANES]; /* gas space when all is burned [m3] */
};

/*
 * Thrust of cones that don't flow full, against pressure over ambient, in regimes across whose edges it steps or kinks: unchoked,
 * separated near the throat, separated further down. And the emptying of a burned-out chamber through an unchoked throat.
 * Serves all of the same gamma; for others, and past its end, both are found anew.
 */
enum { SM_LANE_REGIMES = 3, SM_LANE_CELLS = 512, SM_LANE_EMPTYING = 256 };
struct sm_lane_nozzle {
    double gamma;                                        /* that it was made for [1] */
    int is_long;                                         /* does the cone reach past the fold? */
    double edge[SM_LANE_REGIMES + 1];                    /* pressures over ambient [1] */
    double per[SM_LANE_REGIMES];                         /* cells a unit of pressure over ambient [1] */
    double parts[SM_LANE_REGIMES][SM_LANE_CELLS + 1][3]; /* as of sm_jet_parts [1] */
    double per_root; /* cells of the emptying a unit of sqrt(P over ambient - 1) [1] */
    /* From the choking pressure on: time over the chamber's time constant, and the area under the pressure over that and ambient. */
    double emptying[SM_LANE_EMPTYING + 1][2]; /* [1] */
};

/* The curve of one lane. */
struct sm_lane_curve {
    double time[SM_LANE_NODES], pressure[SM_LANE_NODES], thrust[SM_LANE_NODES]; /* [s], [Pa], [N] */
    double propellant[SM_LANE_NODES];                                           /* left [kg] */
    size_t n;
    double impulse; /* [N s] */
};

/* Returned: 0 if the surface has too many stretches. */
int sm_lane_table_make(struct sm_lane_table *table, const struct sm_chamber *chamber);

/* No motor in any lane. */
void sm_lanes_clear(struct sm_lanes *lanes);

/* Puts a chamber into a lane; the table stays where it is until the march. Returned: 0, and nothing is put, if lanes can't carry such a chamber. */
int sm_lanes_load(struct sm_lanes *lanes, int lane, const struct sm_chamber *chamber,
                  const struct sm_lane_table *table);

/* Marches all lanes up to burnout, by a set that the machine has. */
void sm_lanes_march(struct sm_lanes *lanes, enum sm_lane_set set);

void sm_lane_nozzle_make(struct sm_lane_nozzle *nozzle, const struct sm_jet *jet);

/* The curve of a lane that was marched, with its tail.
 * Returned: 0 if the lane could not be carried on. */
int sm_lanes_curve(const struct sm_lanes *lanes, int lane, const struct sm_lane_nozzle *nozzle,
                   struct sm_lane_curve *curve);

/* One for each set; ballistics/lanemarch.h. */
void sm_lane_march_plain(struct sm_lanes *lanes);
void sm_lane_march_avx2(struct sm_lanes *lanes);
void sm_lane_march_avx512(struct sm_lanes *lanes);

#endif
