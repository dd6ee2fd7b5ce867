/*
 * Learning a propellant's constants from firings.
 */
#ifndef SLOWMATCH_FIT_H
#define SLOWMATCH_FIT_H

#include "slowmatch/firing.h"
#include "slowmatch/motor.h"
#include "slowmatch/simulate.h"

#ifdef __cplusplus
extern "C" {
#endif

enum sm_fit_parameter {
    SM_FIT_RATE,        /* the burning-rate coefficient; of several segments all by one factor */
    SM_FIT_EXPONENT,    /* of a law of one segment */
    SM_FIT_CSTAR,       /* c* efficiency */
    SM_FIT_THRUST,      /* thrust efficiency of the nozzle */
    SM_FIT_EROSION,     /* speed of the throat's wall, at 3 MPa unless the motor says */
    SM_FIT_SENSITIVITY, /* to temperature, from firings at two temperatures or more */
    SM_N_FIT_PARAMETERS
};
/* "rate", "exponent", "cstar", "thrust", "erosion", "sensitivity", NULL. */
SM_API const char *const *sm_fit_names(void);

struct sm_fit_options {
    unsigned vary;               /* bit i: parameter i; 0: rate and exponent */
    int starts;                  /* searches from places apart; 0: 3 */
    struct sm_progress progress; /* asked at each burn; may stop the fit */
};

struct sm_fit_value {
    enum sm_fit_parameter parameter;
    enum sm_dim dim;
    double before;      /* the motor's own [SI unit of dim] */
    double value;       /* [SI unit of dim] */
    double uncertainty; /* standard, from what the firings scatter about the fit [SI unit of dim] */
    double calibration; /* standard, from the gains of the load cell and transmitter [SI unit of dim] */
    double low, high;   /* 95 % interval from the scatter alone [SI unit of dim] */
};

/* How the fit goes with one firing. */
struct sm_fit_firing {
    double shift; /* added to the record's time from the start of its burn to give the motor's [s] */
    double residual_before; /* root mean square of thrust, measured less reckoned [N] */
    double residual;        /* [N] */
    double durbin_watson;   /* of thrust's residuals: 2 if they are independent, towards 0 if not [1] */
    double runs;            /* normal deviate of the number of runs of sign [1] */
    double pressure_from, pressure_to; /* reckoned, of the middle four fifths of the burn [Pa] */
};

struct sm_fit {
    bool complete; /* false: stopped before all searches came to their end; the best of those that did */
    size_t n_values, n_firings, n_residuals;
    struct sm_fit_value values[SM_N_FIT_PARAMETERS];
    double correlation[SM_N_FIT_PARAMETERS * SM_N_FIT_PARAMETERS]; /* n_values squared [1] */
    struct sm_fit_firing *firings;
    double condition;        /* of the slopes, columns scaled to length one [1] */
    bool is_separable;       /* can the parameters be told from one another? */
    double rate_pressure;    /* at which the rate is known best; SM_ABSENT if it was not fitted [Pa] */
    double rate;             /* there [m/s] */
    double rate_uncertainty; /* standard, from the scatter [m/s] */
    double rate_calibration; /* what gains off by their standard uncertainty do to it [m/s] */
    int n_starts, n_agreed;  /* searches, and how many ended at the same place */
    size_t evaluations;      /* of all firings */
    char advice[900];        /* what the firings can't tell, and what firing would; "" */
    struct sm_motor *motor;  /* with the values in it; freed with the fit */
};

/*
 * Fits the chosen values of a motor to firings by least squares, all at once, with the time of ignition of each free.
 *
 * Given: motor, which must outlive the fit; n firings, each with its own grain temperature and throat where its stand told
 * them; options, NULL for the usual.
 * Returned: *fit, freed with sm_fit_free.
 * Status: SM_E_RANGE for a choice that can't be fitted; SM_E_NUMERIC, SM_E_PHYSICS if no search comes to an end;
 * SM_E_CANCELLED if it was stopped before one did.
 * Notes: compared are means of thrust, and of pressure where it was recorded, over equal parts of each firing, weighted by
 * their noise. The uncertainty is the larger of that of independent residuals and that which allows for their being
 * neither alike nor independent (W. Newey, K. West, Econometrica 55 (1987) 703).
 */
SM_API enum sm_status sm_fit_firings(const struct sm_motor *motor, const struct sm_firing *const *firings,
                                     size_t n, const struct sm_fit_options *options, struct sm_fit **fit,
                                     struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_fit_free(struct sm_fit *fit);

/* The fitted propellant as slowmatch-propellant/1, standing "measured", and the whole fit as slowmatch-fit/1. */
SM_API enum sm_status sm_fit_write_propellant(const struct sm_fit *fit, const char *name,
                                              struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_fit_write_json(const struct sm_fit *fit, struct sm_sink *sink,
                                        struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
