/* Limits that hold for a share of the motors made, not for the one on paper alone. */
#ifndef SM_DESIGN_ROBUST_H
#define SM_DESIGN_ROBUST_H

#include "design/design.h"

/* The motor of a point, as its file will have it, with its tolerances: to be freed with sm_motor_free. */
struct sm_design_maker {
    enum sm_status (*make)(void *user, const double *x, struct sm_motor **motor, struct sm_error *err);
    void *user;
};

/* Samples of what each bound is about, drawn from a motor's tolerances and burned in full. */
struct sm_stray {
    struct sm_arena arena;
    size_t n, n_impossible;
    size_t n_good;
    double *values; /* n_good of each bound, one bound after another n apart [SI] */
};

/* Status: SM_E_CANCELLED, SM_E_PHYSICS if no sample has an answer. Release *stray whatever the status. */
enum sm_status sm_stray_draw(const struct sm_design *design, const struct sm_motor *motor, size_t n,
                             uint64_t seed, int threads, struct sm_stray *stray,
                             struct sm_error *err) SM_MUST_CHECK;
void sm_stray_release(struct sm_stray *stray);

/* Share of all samples that keep bound i as it stands in the request; impossible motors don't [1]. */
double sm_stray_share(const struct sm_design *design, const struct sm_stray *stray, size_t i);

/*
 * Goes on from result until each limit holds for that share of motors. *full is the full burn's at the end.
 * Status: as sm_design_settle.
 */
enum sm_status sm_design_make_robust(struct sm_design *design, const struct sm_design_maker *maker,
                                     const struct sm_size_options *options, struct sm_optim_result *result,
                                     struct sm_measured *full, struct sm_error *err) SM_MUST_CHECK;

#endif
