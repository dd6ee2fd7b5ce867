/*
 * The motor for what is wanted: values of a motor that are free within bounds are chosen so that limits are kept and
 * wishes met as nearly as can be.
 *
 * What comes out is a prediction to be looked at and tested, not a drawing for manufacture.
 */
#ifndef SLOWMATCH_DESIGN_H
#define SLOWMATCH_DESIGN_H

#include <stdint.h>

#include "slowmatch/motor.h"
#include "slowmatch/plot.h"
#include "slowmatch/simulate.h"

#ifdef __cplusplus
extern "C" {
#endif

#define SM_REQUEST_FORMAT "slowmatch-request/1"

/* ---- figures that may be wanted, limited or traded ---- */

struct sm_size_figure {
    const char *name, *label;
    enum sm_dim dim;
    int sense; /* 1: more is better if nothing else is said; -1: less */
    const char *help;
};
enum { SM_SIZE_MAX_FIGURES = 24 };
/* Returned: how many; *figures is a static table. */
SM_API size_t sm_size_figures(const struct sm_size_figure **figures);

/* ---- requests ---- */

struct sm_request;

/*
 * Reads a request and the motor that it starts from.
 *
 * Given: path; options (NULL: none), whose overrides are for the request; context (NULL: defaults).
 * Returned: *request, to be freed with sm_request_free; NULL on failure. Problems go to *diag, as sm_motor_load's do.
 */
SM_API enum sm_status sm_request_load(const char *path, const struct sm_load_options *options,
                                      const struct sm_context *context, struct sm_request **request,
                                      struct sm_diag *diag) SM_MUST_CHECK;

struct sm_request_text {
    const char *request; /* n_request bytes */
    size_t n_request;
    const char *motor; /* n_motor bytes of a motor file: where it starts, whatever motor the request names */
    size_t n_motor;
    const char *request_name, *motor_name; /* what messages call them */
};
/* As sm_request_load, from texts; files that the motor names are sought from the current folder. */
SM_API enum sm_status sm_request_parse(const struct sm_request_text *text,
                                       const struct sm_load_options *options,
                                       const struct sm_context *context, struct sm_request **request,
                                       struct sm_diag *diag) SM_MUST_CHECK;
SM_API void sm_request_free(struct sm_request *request);

struct sm_size_options {
    uint64_t seed;   /* of the search and of the samples; another one is used for the check */
    size_t restarts; /* global searches, 1 to 50; 0: 2 */
    double robust; /* share of motors for which each limit must hold, 0.5 to 0.999 [1]; 0: the motor itself */
    size_t samples;            /* for that, 100 to SM_MAX_SAMPLES; 0: 1000 */
    int threads;               /* for the samples; 0: as many as the machine has */
    bool accepts_burst_margin; /* of under 1.5, as "accept": ["burst-margin"] in the request */
};

/* ---- what comes out ---- */

struct sm_sized_value {
    const char *of; /* JSON pointer */
    enum sm_dim dim;
    bool is_whole;
    double from, to, value; /* [SI unit of dim] */
    int at;                 /* -1: it lies at from; 1: at to; else 0 */
};

struct sm_sized_limit {
    char what[96];    /* "peak_pressure_hot at most 4 MPa" */
    char pointer[64]; /* into the request; of the motor's own margin "/case/margin" */
    enum sm_dim dim;
    bool is_most;      /* else least */
    double bound, got; /* [SI unit of dim] */
    bool is_active;    /* it is what keeps the wishes from being met better */
    bool is_kept;      /* by the full burn; always, but in what a search had found when it was stopped */
    /* What loosening it by one per cent does to the wish that gains most; gains_from absent if none gains 0.05 %, which is what
     * the search itself leaves open. */
    char gains[64];
    enum sm_dim gains_dim;
    double gains_from; /* what that got [SI] */
    double gains_to;   /* what it would get [SI] */
    /* Of a robust sizing, by a fresh spread: the share of motors that keep it, and its standard error. Else absent. */
    double share, share_error; /* [1] */
};

struct sm_sized_wish {
    char what[64]; /* "burn_time" */
    enum sm_dim dim;
    int aim;            /* 1: as great as can be; -1: as small; 0: a value */
    double wanted, got; /* wanted absent for an aim [SI unit of dim] */
};

struct sm_sizing {
    const char *request, *motor; /* names */
    bool
        complete; /* false: stopped before its end; the best found by then, which may break limits, costs and check left out */
    uint64_t seed;
    size_t restarts, evaluations;
    size_t searches, agreeing; /* local searches, and how many came to the same */
    const struct sm_sized_value *values;
    size_t n_values;
    const struct sm_sized_limit *limits;
    size_t n_limits;
    const struct sm_sized_wish *wishes;
    size_t n_wishes;
    double figures
        [SM_SIZE_MAX_FIGURES]; /* by the full burn; absent where the motor has none [SI unit of each] */
    double
        model_gap; /* largest relative difference of the quick model from the full burn before it was set right; absent if stopped
                      before [1] */
    double burst_margin;          /* wanted; absent if the case's burst pressure is not known [1] */
    bool is_margin_low;           /* under 1.5, accepted by name */
    double robust;                /* 0: not asked for, or stopped before its check [1] */
    size_t samples, n_impossible; /* of the check */
    uint64_t check_seed;
    bool holds; /* every limit within three standard errors of the share asked for */
    const struct sm_warning_found *warnings; /* n_warnings of them, that a burn of the motor found raises */
    size_t n_warnings;
};

/*
 * Status: SM_E_PHYSICS if no motor within the bounds keeps all limits: the message names two that conflict.
 * SM_E_FIELD for a limit on a figure that this motor does not have. SM_E_RANGE for options out of range, or a margin
 * that must be accepted by name. SM_E_CANCELLED if it was stopped before any motor was found; else *sizing holds the best,
 * with complete == false.
 * Returned: *sizing, to be freed with sm_sizing_free before the request.
 */
SM_API enum sm_status sm_size_run(const struct sm_request *request, const struct sm_size_options *options,
                                  const struct sm_context *context, struct sm_sizing **sizing,
                                  struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_sizing_free(struct sm_sizing *sizing);

/* The sized motor as a slowmatch-motor/1 file: the request's own with the new values in it. */
SM_API enum sm_status sm_sizing_write_motor(const struct sm_request *request, const struct sm_sizing *sizing,
                                            struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

/* Compromises between two figures: of each no other is better in both. */
struct sm_trade {
    const char *request;
    bool complete;    /* false: stopped before its end; the points found by then */
    size_t figure[2]; /* places in sm_size_figures */
    int sense[2];     /* 1: more is better; -1: less */
    const struct sm_sizing *const
        *points; /* n of them, from the best in the first figure to the best in the second */
    size_t n;
    size_t n_missed; /* levels between the ends that no motor was found for */
    size_t evaluations;
    uint64_t seed;
};
enum { SM_TRADE_MAX_POINTS = 100 };

/*
 * Given: two figures of sm_size_figures by place; senses, or 0 for a figure's own; n points wanted, 2 to
 * SM_TRADE_MAX_POINTS. Limits are kept; wishes are left out. Not with options->robust.
 * Status: as sm_size_run; SM_E_CANCELLED if it was stopped before the first end of the front was found.
 */
SM_API enum sm_status sm_trade_run(const struct sm_request *request, const size_t figure[2],
                                   const int sense[2], size_t n, const struct sm_size_options *options,
                                   const struct sm_context *context, struct sm_trade **trade,
                                   struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_trade_free(struct sm_trade *trade);

/* What every output says: sentence i, NULL past the last. The sizing says which apply. */
SM_API const char *sm_size_caution(const struct sm_sizing *sizing, size_t i);

/* As slowmatch-sizing/1 JSON, n of them; and a front as RFC 4180 CSV and as a picture. */
SM_API enum sm_status sm_sizing_write_json(const struct sm_sizing *sizing, struct sm_sink *sink,
                                           struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_trade_write_json(const struct sm_trade *trade, struct sm_sink *sink,
                                          struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_trade_write_csv(const struct sm_trade *trade, struct sm_sink *sink,
                                         struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_plot_trade(const struct sm_trade *trade, enum sm_unit_system system,
                                    enum sm_picture_kind kind, struct sm_sink *sink,
                                    struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
