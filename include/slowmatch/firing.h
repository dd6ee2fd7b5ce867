/*
 * Records from a test stand: reading and reducing them.
 *
 *     struct sm_stand stand;
 *     sm_stand_init(&stand);
 *     struct sm_firing *firing;
 *     if (sm_firing_load("record.csv", &stand, units, SM_BURN_END_CONTIGUOUS, &firing, &err) == SM_OK)
 *         ... firing->figures[SM_FIGURE_TOTAL_IMPULSE].value ...
 *     sm_firing_free(firing);
 */
#ifndef SLOWMATCH_FIRING_H
#define SLOWMATCH_FIRING_H

#include <stdbool.h>
#include <stddef.h>

#include "slowmatch/curve.h"
#include "slowmatch/param.h"
#include "slowmatch/plot.h"
#include "slowmatch/sink.h"
#include "slowmatch/units.h"

#ifdef __cplusplus
extern "C" {
#endif

/* ---- the stand ---- */

/* One column of a record. A reading r stands for sign * scale * (r - baseline). */
struct sm_stand_channel {
    const char *column;      /* its header's name or its number from 1; NULL: the usual name, or none */
    const char *unit;        /* of the readings; NULL: from the header, else N or Pa */
    double scale;            /* what one count stands for, in place of a unit; SM_ABSENT [N or Pa] */
    double baseline;         /* reading at rest; SM_ABSENT: from the quiet span [1 of the record] */
    bool reversed;           /* readings fall as thrust or pressure rises */
    double gain_uncertainty; /* standard uncertainty of the calibration, relative [1] */
};

enum sm_stand_orientation { SM_STAND_HORIZONTAL, SM_STAND_NOZZLE_UP, SM_STAND_NOZZLE_DOWN };
enum sm_stand_drift { SM_DRIFT_NONE, SM_DRIFT_LINEAR, SM_DRIFT_WEIGHT };

/* What a slowmatch-stand/1 file says. Texts are borrowed. */
struct sm_stand {
    const char *name;
    const char *time_column, *time_unit;
    double sample_rate; /* in place of a column of times; SM_ABSENT [1/s] */
    int delimiter;      /* 0 comma, 1 semicolon, 2 tab, 3 blanks; -1: guessed */
    int decimal;        /* 0 point, 1 comma; -1: guessed */
    const char *comment;
    bool log; /* lines that are no data are passed over, and the clock may start again */
    struct sm_stand_channel thrust, pressure;
    int orientation;        /* enum sm_stand_orientation; -1: not known */
    int drift;              /* enum sm_stand_drift; -1: by the orientation */
    double cutoff;          /* of the low-pass; SM_ABSENT: chosen by the record; 0: no filter [1/s] */
    double propellant_mass; /* SM_ABSENT: not known [kg] */
    double propellant_mass_uncertainty; /* standard [kg] */
    double throat_diameter;             /* SM_ABSENT: not known [m] */
    double throat_diameter_after;       /* SM_ABSENT: as before [m] */
    double throat_uncertainty;          /* standard, of a diameter [m] */
    double ambient_pressure;            /* [Pa] */
    double grain_temperature;           /* SM_ABSENT: not known [K] */
    double time_uncertainty;            /* standard, of the clock's rate, relative [1] */
};

/* Everything not known. */
SM_API void sm_stand_init(struct sm_stand *stand);

/* Reads a stand file. *stand borrows from *owner; free it with sm_stand_free. Problems are in diag. */
struct sm_stand_owner;
SM_API enum sm_status sm_stand_load(const char *path, struct sm_units *units, struct sm_stand_owner **owner,
                                    struct sm_stand *stand, struct sm_diag *diag) SM_MUST_CHECK;
SM_API void sm_stand_free(struct sm_stand_owner *owner);

/* ---- what was found ---- */

enum sm_firing_figure {
    SM_FIGURE_TOTAL_IMPULSE,
    SM_FIGURE_IMPULSE_IN_BURN_TIME,
    SM_FIGURE_BURN_TIME,
    SM_FIGURE_ACTION_TIME,
    SM_FIGURE_AVERAGE,
    SM_FIGURE_AVERAGE_IN_BURN_TIME,
    SM_FIGURE_MAXIMUM,
    SM_FIGURE_MAXIMUM_STEADY,
    SM_FIGURE_INITIAL,
    SM_FIGURE_SPECIFIC_IMPULSE,
    SM_FIGURE_EXHAUST_VELOCITY,
    SM_FIGURE_PRESSURE_MAXIMUM,
    SM_FIGURE_PRESSURE_AVERAGE,
    SM_FIGURE_CSTAR,
    SM_FIGURE_THRUST_COEFFICIENT,
    SM_N_FIGURES
};
struct sm_figure_info {
    const char *name, *label;
    enum sm_dim dim;
    bool is_velocity; /* of gas */
};
SM_API const struct sm_figure_info *sm_figure_describe(enum sm_firing_figure figure);

/* A number with its standard uncertainty; both SM_ABSENT where there is none. */
struct sm_figure {
    double value;       /* [SI unit of the figure] */
    double uncertainty; /* standard [SI unit of the figure] */
};

struct sm_span {
    double from, to; /* [s] */
};

enum { SM_MAX_FIRING_NOTES = 16 };
/* Something to know of a record. */
struct sm_firing_note {
    const char *code;
    char text[256];
    unsigned line; /* of the record; 0: all of it */
};

struct sm_firing {
    const char *name; /* of the record's file */
    size_t n;         /* rows of the record's part with the firing */
    /* n of each; the record's own clock */
    const double *time;     /* [s] */
    const double *raw;      /* as read, in newtons, nothing taken off [N] */
    const double *pressure; /* absolute; NULL without [Pa] */
    /* The firing alone, from shortly before its start to its end; m of each, time from the start of the burn. */
    size_t m;
    const double *t;        /* [s] */
    const double *thrust;   /* tare, drift and weight taken off, not filtered [N] */
    const double *filtered; /* [N] */
    const double *p;        /* absolute; NULL without [Pa] */
    double interval;        /* median between rows [s] */
    double noise;       /* standard deviation of the quiet span; from neighbours where there is none [N] */
    double correlation; /* rows that carry the information of one [1] */
    double tare;        /* taken off; at the start of the burn [N] */
    double shift;       /* level after less level before; SM_ABSENT if not seen [N] */
    struct sm_span quiet_before, quiet_after; /* both ends SM_ABSENT if there is none */
    struct sm_span event;                     /* above 5 % of the maximum, dips passed over [s] */
    struct sm_span burn, total;               /* windows of burn time and total impulse, the record's clock */
    int drift;                                /* enum sm_stand_drift, as done */
    double cutoff;                            /* 0: not filtered [1/s] */
    double ringing;                           /* SM_ABSENT: none seen [1/s] */
    double impulse_kept;                      /* filtered over raw impulse, less one [1] */
    struct sm_figure figures[SM_N_FIGURES];
    double maximum_filtered;   /* [N] */
    double burn_time_filtered; /* [s] */
    struct sm_impulse_class impulse_class;
    char designation[32];
    double chance_above, chance_below; /* that the true impulse lies in a higher or lower class [1] */
    double propellant_mass;            /* SM_ABSENT: not known [kg] */
    double grain_temperature;          /* SM_ABSENT: not known [K] */
    double throat_diameter;            /* SM_ABSENT: not known [m] */
    double gain_uncertainty;           /* of thrust, standard, relative [1] */
    double pressure_gain_uncertainty;  /* [1] */
    double ambient_pressure;           /* [Pa] */
    size_t n_skipped, n_restarts;
    struct sm_firing_note notes[SM_MAX_FIRING_NOTES];
    size_t n_notes;
};

/*
 * Reads a record and reduces it.
 *
 * Returned: *firing, caller frees with sm_firing_free. Status: as the reader of delimited text; SM_E_RANGE with file and
 * line for a record that can't be reduced: time that goes back, a flat top, no quiet span, no firing, a channel that does
 * not come back, a gap over more than a quarter of the burn.
 * Reference: JCGM 100:2008 for the uncertainties; windows as in curve.h, contiguous about the maximum.
 */
SM_API enum sm_status sm_firing_load(const char *path, const struct sm_stand *stand, struct sm_units *units,
                                     enum sm_burn_end burn_end, struct sm_firing **firing,
                                     struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_firing_free(struct sm_firing *firing);

/* ---- several firings ---- */

struct sm_firing_spread {
    size_t n;         /* firings that have the figure; the rest is SM_ABSENT below two, outlier below three */
    double mean;      /* [SI unit of the figure] */
    double deviation; /* standard [SI unit of the figure] */
    double variation; /* deviation over mean [1] */
    int outlier;      /* place of the one firing that strays by Grubbs' test at 5 %; -1: none */
};

/* Statistics of firings, and of their curves laid over each other from the start of the burn. */
struct sm_firing_set {
    size_t n;
    struct sm_firing_spread figures[SM_N_FIGURES];
    size_t n_at;
    const double *at;         /* n_at instants [s] */
    const double *mean;       /* [N] */
    const double *low, *high; /* hold 90 % of firings with 95 % confidence if they are normal [N] */
    double factor;            /* of that tolerance band: standard deviations either way [1] */
    bool is_steady;           /* deviation of total impulse at most SM_SPREAD_LIMIT of the mean */
};
/* NFPA 1125's limit on the standard deviation of total impulse over its mean (from memory) [1]. */
#define SM_SPREAD_LIMIT 0.067

/* Given: n >= 2 firings. Returned: *set, caller frees with sm_firing_set_free. Status: SM_E_RANGE, SM_E_NOMEM. */
SM_API enum sm_status sm_firing_compare(const struct sm_firing *const *firings, size_t n,
                                        struct sm_firing_set **set, struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_firing_set_free(struct sm_firing_set *set);

/* ---- writing; set and predicted may be NULL ---- */

struct sm_result;
/* A figure of a prediction; SM_ABSENT where it has none. */
SM_API double sm_figure_predicted(const struct sm_result *predicted, enum sm_firing_figure figure);
/* Root mean square of filtered less predicted thrust over the firing, both from the start of their burns [N]. */
SM_API double sm_firing_residual(const struct sm_firing *firing, const struct sm_result *predicted);

/* As slowmatch-firing/1. */
SM_API enum sm_status sm_firings_write_json(const struct sm_firing *const *firings, size_t n,
                                            const struct sm_firing_set *set,
                                            const struct sm_result *predicted, struct sm_sink *sink,
                                            struct sm_error *err) SM_MUST_CHECK;
/* The curve of one firing, or of several the band. */
SM_API enum sm_status sm_firings_write_csv(const struct sm_firing *const *firings, size_t n,
                                           const struct sm_firing_set *set, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
/* Thrust, pressure and what is left when the prediction is taken off. */
SM_API enum sm_status sm_plot_firings(const struct sm_firing *const *firings, size_t n,
                                      const struct sm_firing_set *set, const struct sm_result *predicted,
                                      enum sm_unit_system system, enum sm_picture_kind kind,
                                      struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
