/*
 * From a request to a motor: the quick quasi-steady burn guides the search, the full burn sets it right.
 *
 * Each figure of the quick burn is multiplied by what the full burn gave over it at the last place looked at, and the search
 * goes on from there, until both agree. Limits are held with a whisker in hand, so that the full burn keeps them too.
 */
#ifndef SM_DESIGN_DESIGN_H
#define SM_DESIGN_DESIGN_H

#include "base/pool.h"
#include "design/request.h"
#include "motor/vary.h"

enum sm_bound_kind { SM_BOUND_FIGURE, SM_BOUND_BAND, SM_BOUND_SHAPE, SM_BOUND_UNEVEN };

/* How far the search stays off a limit, as a share of it [1]. */
extern const double sm_design_whisker;

/* One limit: a figure, or the band of thrust, to one side. The last two kinds hold wishes while aims are sought. */
struct sm_bound {
    enum sm_bound_kind kind;
    enum sm_measure figure;
    enum sm_dim dim;
    int side;      /* 1: at most; -1: at least */
    double bound;  /* [SI unit of dim]; of the band, 0: nothing beyond it */
    double back;   /* whisker in hand, as a share of the bound [1] */
    double margin; /* what a figure is multiplied by so that the limit holds for motors that stray [1] */
    double offset; /* added to what the band is passed by, after the full burn [1] */
    double stray;  /* the same for motors that stray [1] */
    char what[96], pointer[64];
};

enum { SM_SHAPE_INSTANTS = 60 };

/* What one motor comes to. */
struct sm_measured {
    double figure[SM_N_MEASURES]; /* [SI unit of each] */
    double band[2]; /* by which thrust is under and over the band at worst, over the band there [1] */
    double thrust[SM_SHAPE_INSTANTS]; /* means over even stretches of the thrust wanted [N] */
    double
        uneven; /* root mean square of the burning area about its mean while the web proper burns, over the mean [1] */
};

/* What a search makes small. */
struct sm_aim {
    enum sm_measure figure;
    int side; /* 1: to be small; -1: to be great */
};

struct sm_design {
    const struct sm_motor *motor; /* borrowed */
    const struct sm_request_spec *spec;
    struct sm_optim_variable variables[SM_OPTIM_VARIABLES];
    struct sm_bound bounds[SM_OPTIM_LIMITS];
    size_t n_bounds;
    double factor[SM_N_MEASURES]; /* of the full burn over the quick one [1] */
    double scale[SM_N_MEASURES];  /* of each figure, for aims: the start's own [SI unit of each] */
    int has_scale;
    double thrust_wanted[SM_SHAPE_INSTANTS]; /* [N] */
    double thrust_offset[SM_SHAPE_INSTANTS]; /* of the full burn less the quick one [N] */
    int seeks_aims;                          /* the wishes with values are held; aims alone are the goal */
    const struct sm_aim *trade;              /* in place of the wishes; NULL: the wishes */
    double margin; /* of the case against bursting; absent: its pressure is not known [1] */
    int is_margin_low;
    int needs_hot;
    double hot_temperature; /* [K] */
    struct sm_pool pool;
    const struct sm_progress *progress;
    size_t looks;           /* quick burns so far */
    double looks_expected;  /* [1] */
    struct sm_error reason; /* why a point had no answer, the last of them */
    double *archive;        /* limits of points looked at, n_bounds each [1] */
    size_t n_archive;
    uint64_t seed;
    size_t restarts;
};

/*
 * Given: motor and spec, borrowed; options, or all zeros.
 * Status: SM_E_FIELD for a limit or wish on a figure that the motor does not have, or more limits than there is room for;
 * SM_E_RANGE for options, and for a margin under 1.5 that is not accepted. Release it whatever the status.
 */
enum sm_status sm_design_init(struct sm_design *design, const struct sm_motor *motor,
                              const struct sm_request_spec *spec, const struct sm_size_options *options,
                              const struct sm_context *context, struct sm_error *err) SM_MUST_CHECK;
void sm_design_release(struct sm_design *design);

/* Changes that x [n_free] stands for, with what is tied to it; room for SM_DESIGN_CHANGES. Returned: how many. */
enum { SM_DESIGN_CHANGES = SM_OPTIM_VARIABLES * (1 + SM_MAX_TIED) };
size_t sm_design_changes(const struct sm_request_spec *spec, const double *x, struct sm_change *changes);

/* x as a file of seven digits will have it. */
void sm_design_round(const struct sm_request_spec *spec, double *x);

/* Takes the start's figures as scales, if it burns; the first point that does otherwise. Status: SM_E_FIELD for a limit or
 * wish on a figure that the motor does not have. */
enum sm_status sm_design_look_at_start(struct sm_design *design, struct sm_error *err) SM_MUST_CHECK;

/* Burns a motor and takes its figures, hot ones too where they are needed. */
enum sm_status sm_design_measure(const struct sm_design *design, const struct sm_motor *motor,
                                 enum sm_model model, double accuracy, const struct sm_allocator *allocator,
                                 struct sm_measured *out, struct sm_error *err) SM_MUST_CHECK;

/* The same for x. */
enum sm_status sm_design_measure_at(struct sm_design *design, const double *x, enum sm_model model,
                                    double accuracy, struct sm_measured *out,
                                    struct sm_error *err) SM_MUST_CHECK;

/* Root mean square miss of the thrust wanted, over its mean; is_exact: without correction [1]. */
double sm_design_shape(const struct sm_design *design, const struct sm_measured *m, int is_exact);

/* A limit's measure: 0 or less where it is kept; with is_exact without whisker, margin and correction [1]. */
double sm_bound_broken(const struct sm_design *design, const struct sm_bound *bound,
                       const struct sm_measured *m, int is_exact);

/* One quick look: as an sm_optim_problem asks. */
enum sm_optim_answer sm_design_look(void *design, const double *x, double *goal, double *limits);

/* The best by the quick burn as corrected so far: values first; then, with each of them held within 0.03 % of what it got,
 * aims. Status: SM_E_CANCELLED if it was stopped; *result is the best met by then. */
enum sm_status sm_design_search(struct sm_design *design, const double *start, size_t restarts,
                                struct sm_optim_result *result, struct sm_error *err) SM_MUST_CHECK;

/*
 * Goes on from result until the quick burn and the full one agree. *full is the full burn's at the rounded end, and *gap what
 * they differed by before. Status: SM_E_PHYSICS naming limits that conflict; SM_E_NUMERIC if they don't come together;
 * SM_E_CANCELLED, *result being the best by then.
 */
enum sm_status sm_design_settle(struct sm_design *design, struct sm_optim_result *result,
                                struct sm_measured *full, double *gap, struct sm_error *err) SM_MUST_CHECK;

/* Says which two limits can't be kept together: always an error, SM_E_PHYSICS unless the search itself fails. */
enum sm_status sm_design_conflict(struct sm_design *design, const struct sm_optim_result *nearest,
                                  struct sm_error *err) SM_MUST_CHECK;

#endif
