/* A spread from the inside: what was drawn and burned, from which all that is shown is reckoned. */
#ifndef SM_UNCERTAIN_SAMPLES_H
#define SM_UNCERTAIN_SAMPLES_H

#include "base/arena.h"
#include "slowmatch/spread.h"

/* What is kept of every sample. */
enum sm_spread_quantity {
    SM_Q_IMPULSE,
    SM_Q_BURN_TIME,
    SM_Q_AVERAGE,
    SM_Q_MAXIMUM,
    SM_Q_PRESSURE,
    SM_Q_IGNITION,
    SM_Q_BURNOUT,
    SM_Q_SINGLE,                           /* how many a single motor has */
    SM_Q_IMPULSE_DIFFERENCE = SM_Q_SINGLE, /* of a pair, first less second */
    SM_Q_IGNITION_DIFFERENCE,
    SM_Q_BURNOUT_DIFFERENCE,
    SM_Q_THRUST_DIFFERENCE, /* largest size of it */
    SM_Q_LATERAL_FORCE,     /* the same */
    SM_Q_MOMENT,            /* the same */
    SM_Q_ALONE_IGNITION,    /* how long one pushes while the other does not yet */
    SM_Q_ALONE_BURNOUT,     /* or no longer */
    SM_N_Q
};
struct sm_spread_column {
    const char *name;
    enum sm_dim dim;
};
extern const struct sm_spread_column sm_spread_quantities[SM_N_Q];

enum sm_spread_curve { SM_C_THRUST, SM_C_PRESSURE, SM_C_DIFFERENCE, SM_C_MOMENT, SM_N_C };
extern const struct sm_spread_column sm_spread_curves[SM_N_C];

enum sm_sample_state { SM_SAMPLE_OPEN, SM_SAMPLE_DONE, SM_SAMPLE_IMPOSSIBLE };

/* What all shards of one spread have in common: plain numbers, so that it can be compared and stored as it is. */
enum { SM_SPREAD_NAME = 256 };
struct sm_spread_head {
    char motor[SM_SPREAD_NAME];
    uint64_t n, seed, n_inputs, n_instants, is_curve, is_usual, is_pair, shards;
    uint64_t fingerprint; /* of the motor's numbers and the options of the run */
    struct sm_pair_options pair;
    double class_above, class_to; /* of the nominal motor's class [N s] */
    double limits[3];             /* pressures whose exceeding is wanted; 0: none [Pa] */
    double single_thrust;         /* nominal average thrust [N] */
};

struct sm_spread_samples {
    struct sm_spread spread; /* first, so that a spread is also its samples */
    struct sm_arena arena;
    struct sm_spread_head head;
    struct sm_spread_input *inputs; /* head.n_inputs of them */
    double *time;                   /* head.n_instants of them [s] */
    size_t first, count;            /* of the samples held */
    uint64_t shard;                 /* from 0; all where head.shards is 1 */
    char *state;                    /* count of them: enum sm_sample_state */
    double *quantity[SM_N_Q];       /* count of each, NaN where absent; NULL where no sample has it [SI] */
    double *curve[SM_N_C]; /* count at each instant: [instant * count + sample]; NULL the same [SI] */
};

/* What one sample of such a spread takes, in memory and in a part [bytes]. */
size_t sm_samples_bytes(const struct sm_spread_head *head);

/* Room for count samples of what the head says. */
enum sm_status sm_samples_room(struct sm_spread_samples *s, struct sm_error *err) SM_MUST_CHECK;

/* Fills the spread from the samples. Status: SM_E_PHYSICS if no sample came out. */
enum sm_status sm_samples_reckon(struct sm_spread_samples *s, int threads,
                                 struct sm_error *err) SM_MUST_CHECK;

/* Turns a difference of thrusts into a moment: (s/2) cos(splay) - L sin(splay), with a share of both motors' propellant left [m]. */
double sm_pair_moment_arm(const struct sm_pair_options *pair, double left);

#endif
