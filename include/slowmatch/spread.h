/*
 * How far motors of one design stray from one another: many burns, each with values drawn from the motor's tolerances.
 */
#ifndef SLOWMATCH_SPREAD_H
#define SLOWMATCH_SPREAD_H

#include <stdint.h>

#include "slowmatch/simulate.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Two motors lit together, side by side. */
struct sm_pair_options {
    bool is_pair;
    double spacing;   /* between the nozzles [m] */
    double splay;     /* of each motor's thrust outwards from the axis [rad] */
    double arm;       /* from the nozzles' plane to the vehicle's centre of mass, at ignition [m] */
    double arm_empty; /* the same when all is burned; 0: as at ignition [m] */
    double temperature_difference; /* by which the second motor's grain is hotter [K] */
    double ignition_scatter;       /* standard deviation of each igniter's own delay [s] */
};

struct sm_spread_options {
    size_t n; /* samples, 2 to SM_MAX_SAMPLES; of pairs, pairs */
    uint64_t seed;
    bool is_latin;    /* Latin hypercube for all columns; else Sobol points for the first 40 */
    bool sensitivity; /* also n (d + 2) burns for Sobol indices; not of a pair */
    int threads;      /* 0: as many as the machine has */
    size_t shard, of; /* of 0: all; else the part `shard` of `of`, counted from 1 */
    double pressure;  /* whose exceeding is wanted [Pa]; 0: none */
    struct sm_run_options run;
    struct sm_pair_options pair;
};

/* ---- what comes out ---- */

/* Shares in per cent that percentiles are given for: 2.5, 16, 50, 84, 97.5. */
enum { SM_SPREAD_LEVELS = 5 };
extern SM_API const double sm_spread_percent[SM_SPREAD_LEVELS];

struct sm_distribution {
    const char *name; /* "total_impulse" */
    enum sm_dim dim;
    size_t n;                       /* samples that have it */
    double mean, mean_error;        /* [SI unit of dim] */
    double deviation;               /* [SI unit of dim] */
    double minimum, maximum;        /* [SI unit of dim] */
    double level[SM_SPREAD_LEVELS]; /* percentiles [SI unit of dim] */
    double level_error
        [SM_SPREAD_LEVELS]; /* standard error of each, as of independent samples [SI unit of dim] */
};

/* Percentiles against time; columns of n_instants values. */
struct sm_spread_band {
    const char *name; /* "thrust" */
    enum sm_dim dim;
    double *level[SM_SPREAD_LEVELS]; /* [SI unit of dim] */
};

struct sm_chance {
    char what[64]; /* "H"; "burst pressure" */
    double limit;  /* [N s] or [Pa] */
    double probability,
        error; /* with its standard error; of one that never or always came, a 95 % bound [1] */
};

/* How likely, in words: one that never or always came has a bound, and no error to either side. Returned: buf. */
enum { SM_CHANCE_TEXT = 80 };
SM_API const char *sm_chance_text(char buf[SM_CHANCE_TEXT], const struct sm_chance *chance);

/* A column of the points: an input that strays. */
struct sm_spread_input {
    char of[128]; /* pointer, or in words what belongs to no value of the file */
    int motor;    /* of a pair: 1, 2; 0: of both alike */
    bool is_latin;
    double middle, sigma; /* [SI] */
};

/* Shares of one figure's variance, and what a per cent more of the input makes of it. */
struct sm_sensitivity {
    double first, first_error; /* first-order Sobol index [1] */
    double total, total_error; /* total Sobol index [1] */
    double elasticity;         /* per cent per per cent [1]; SM_ABSENT of temperatures and of what is 0 */
};
enum {
    SM_SENSITIVITY_FIGURES = 3
}; /* total impulse, burn time, peak pressure (peak thrust of a bare curve) */
extern SM_API const char *const sm_sensitivity_names[SM_SENSITIVITY_FIGURES + 1];

enum {
    SM_SPREAD_MAX_CLASSES = 16,
    SM_SPREAD_MAX_REASONS = 3,
    SM_SPREAD_MAX_QUANTITIES = 16,
    SM_SPREAD_MAX_BANDS = 5
};

struct sm_spread {
    const char *motor;
    bool complete;                            /* all samples of this shard were done */
    bool is_curve;                            /* of a bare curve: no pressures */
    bool is_usual;                            /* by usual tolerances, not the file's */
    size_t n;                                 /* asked for in all shards */
    size_t n_held;                            /* of these, for this shard */
    size_t n_done;                            /* burned, whatever came out */
    size_t n_impossible;                      /* of these, motors that can't be or that have no answer */
    char reasons[SM_SPREAD_MAX_REASONS][256]; /* of the first of them; empty if there are fewer */
    uint64_t seed;
    struct sm_pair_options pair;
    const struct sm_spread_input *inputs; /* n_inputs columns of the points */
    size_t n_inputs;
    struct sm_distribution distributions[SM_SPREAD_MAX_QUANTITIES];
    size_t n_distributions;
    struct sm_chance classes[SM_SPREAD_MAX_CLASSES]; /* by falling probability */
    size_t n_classes;
    struct sm_chance border;       /* of passing the upper limit of the nominal motor's class */
    struct sm_chance pressures[3]; /* of exceeding these */
    size_t n_pressures;
    size_t n_instants;
    const double *time; /* [s] */
    struct sm_spread_band bands[SM_SPREAD_MAX_BANDS];
    size_t n_bands;
    /* of a pair, at ignition and when all is burned: */
    double neutral_splay, neutral_splay_empty; /* at which a mismatch makes no moment: tan = s/(2L) [rad] */
    double moment_arm, moment_arm_empty; /* of a difference of thrusts: (s/2) cos(splay) - L sin(splay) [m] */
    double single_thrust; /* of one motor alone, at ignition and near burnout: the nominal average [N] */
    const struct sm_sensitivity
        *sensitivity;     /* n_inputs rows of SM_SENSITIVITY_FIGURES; NULL: not asked for */
    size_t n_sensitivity; /* burns for it that came out */
};

/*
 * Burns n motors, or pairs.
 *
 * Given: options; context (NULL: defaults) whose progress may stop it: what was done is then kept.
 * Returned: *spread, to be freed with sm_spread_free before the motor. Status: SM_E_RANGE for options out of range,
 * SM_E_PHYSICS if the motor itself has no answer or no sample has, SM_E_CANCELLED if nothing was done yet.
 * Notes:
 *   1) The same seed gives the same bits for any number of threads.
 *   2) Every sample is a burn of its own by the chosen model.
 */
SM_API enum sm_status sm_spread_run(const struct sm_motor *motor, const struct sm_spread_options *options,
                                    const struct sm_context *context, struct sm_spread **spread,
                                    struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_spread_free(struct sm_spread *spread);

/* Memory that a spread takes [bytes]. */
SM_API size_t sm_spread_bytes(const struct sm_spread_options *options);

/* A shard's samples as bytes, for sm_spread_merge on any machine of the same kind. */
SM_API enum sm_status sm_spread_pack(const struct sm_spread *spread, struct sm_sink *sink,
                                     struct sm_error *err) SM_MUST_CHECK;

/* Bytes of one shard, and what they are called in messages. */
struct sm_spread_part {
    const char *bytes;
    size_t n;
    const char *name;
};
/*
 * Puts all shards of a spread together, in any order: the same bits as without shards.
 * Status: SM_E_SYNTAX for what is no part, SM_E_RANGE for parts of different spreads, one twice, or one missing.
 */
SM_API enum sm_status sm_spread_merge(const struct sm_spread_part *parts, size_t n, struct sm_spread **spread,
                                      struct sm_error *err) SM_MUST_CHECK;
/* The same from files. */
SM_API enum sm_status sm_spread_merge_files(const char *const *paths, size_t n, struct sm_spread **spread,
                                            struct sm_error *err) SM_MUST_CHECK;

SM_API enum sm_status sm_spread_write_json(const struct sm_spread *spread, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
/* The bands as RFC 4180 CSV, one row an instant. */
SM_API enum sm_status sm_spread_write_csv(const struct sm_spread *spread, struct sm_sink *sink,
                                          struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
