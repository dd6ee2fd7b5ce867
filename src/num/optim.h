/*
 * The best point of a box under limits, by function values alone: a scan of the box, a global search from several seeds, and
 * local searches from the best places found. The only code that sees NLopt.
 *
 * Points are compared feasible-first: one that keeps all limits is better than any that does not; of two that keep them the
 * one with the lower goal is better, of two that do not the one that breaks them by less.
 *
 * Reference: K. Deb, Comput. Methods Appl. Mech. Engrg. 186 (2000) 311 for that order; controlled random search with local
 * mutation, P. Kaelo and M. Ali, J. Optim. Theory Appl. 130 (2006) 253; sequential quadratic programming, D. Kraft, DFVLR-FB
 * 88-28, 1988; COBYLA, M. Powell, in Advances in Optimization and Numerical Analysis, 1994, p. 51 (all as NLopt 2.7 has
 * them; papers from memory).
 */
#ifndef SM_NUM_OPTIM_H
#define SM_NUM_OPTIM_H

#include <stddef.h>
#include <stdint.h>

#include "base/fail.h"

enum { SM_OPTIM_VARIABLES = 16, SM_OPTIM_LIMITS = 64 };

struct sm_optim_variable {
    double low, high; /* low < high; of a whole number both whole [any] */
    int is_whole;
};

enum sm_optim_answer { SM_OPTIM_GOOD, SM_OPTIM_NO_SUCH_POINT, SM_OPTIM_STOP };

struct sm_optim_problem {
    const struct sm_optim_variable *variables; /* n of them, 1 to SM_OPTIM_VARIABLES */
    size_t n;
    size_t m; /* limits, up to SM_OPTIM_LIMITS */
    /* Fills *goal, to be made small, and limits[m], each kept where it is 0 or less; both best of order one. Whole
     * variables are whole in x. */
    enum sm_optim_answer (*eval)(void *user, const double *x, double *goal, double *limits);
    void *user;
};

struct sm_optim_options {
    uint64_t seed;
    size_t restarts;  /* global searches, each with a seed of its own; 0: local search from the start alone */
    double tolerance; /* by which a limit may be broken and still counts as kept [1] */
};

struct sm_optim_result {
    double x[SM_OPTIM_VARIABLES];   /* the best [any] */
    double goal;                    /* there [1] */
    double limits[SM_OPTIM_LIMITS]; /* there [1] */
    double violation;               /* sum of what limits are broken by, beyond the tolerance each [1] */
    int found;                      /* is there any point at all that has an answer? */
    size_t evaluations;
    size_t searches, agreeing; /* local searches, and how many of them came to the same goal within 1e-3 */
};

/* What limits[m] are broken by in all, each beyond the tolerance [1]. */
double sm_optim_violation(const double *limits, size_t m, double tolerance);

/*
 * Given: start[n] to begin with, or NULL with restarts above 0; values outside the box are brought into it.
 * Returned: *result, also if no point keeps the limits: then the one that breaks them least.
 * Status: SM_E_NOMEM; SM_E_CANCELLED if eval said stop.
 * Notes:
 *   1) The same seed gives the same bits. NLopt's random numbers are the calling thread's own, and are seeded by each
 *      global search.
 *   2) Goal and limits may be rough at 1e-6 of their size: slopes are taken over a thousandth of the box.
 *   3) Whole numbers: the global search rounds; local searches hold them fixed, from the best place of each of the best
 *      combinations met, then from the winner with each of them one up and one down until none is better.
 */
enum sm_status sm_optim_search(const struct sm_optim_problem *problem, const double *start,
                               const struct sm_optim_options *options, struct sm_optim_result *result,
                               struct sm_error *err) SM_MUST_CHECK;

#endif
