/* From exact values at chosen webs to a table of pieces: as few as a given accuracy of the area allows. */
#ifndef SM_GRAIN_TABLE_H
#define SM_GRAIN_TABLE_H

#include "grain/geometry.h"

/*
 * What a table is made from. Stretch k runs between breaks k and k + 1; inside it every integral is smooth,
 * but at its two ends the area may go like a root, and from one stretch to the next it may jump.
 */
struct sm_table_source {
    /* Value, slope and curvature at w, which lies in stretch k or on one of its ends, as seen from inside.
     * The curvature may be infinite at an end. */
    void (*knot)(void *user, size_t k, double w, struct sm_geometry_knot *out);
    /* The slopes there alone, where they cost less than a knot: the same numbers. NULL: taken from a knot. */
    void (*slopes)(void *user, size_t k, double w, double slope[SM_N_INTEGRALS]);
    /* Told of n distances burned [m], rising, in stretch k or on its ends, that are about to be asked for, one by one. NULL: no
     * matter. */
    void (*prepare)(void *user, size_t k, const double *w, size_t n);
    void *user;
    bool has_no_bend;     /* knot gives no curvature: a knot halfway in u serves instead */
    const double *breaks; /* n_stretches + 1 of them, rising, from 0 [m] */
    size_t n_stretches;
    const double
        *roots;       /* two a stretch: where a root before it and one behind it lie [m]; NULL: at its ends */
    double reach;     /* a length that no coordinate exceeds, to weigh the moments against the volume [m] */
    double tolerance; /* on the area, and on the other slopes alike, as a share of the largest area [1] */
};

/*
 * Fits quintic pieces, halving each stretch until the tolerance is met at the two places where a quintic
 * through its ends errs most.
 *
 * Given:
 *   arena   takes the pieces
 *   source  borrowed for the call
 * Returned:
 *   g       pieces, web, web_main and accuracy are set, the rest is left alone
 * Status:
 *   SM_E_NOMEM
 * Notes:
 *   1) A stretch that has become shorter than 1e-12 of the web, or 1e-5 where knots have no curvature, is taken as it is; accuracy
 *      says what that cost. Next to a tangency a little before a stretch begins, that short ones are wanted; a hundred of
 *      less than 1e-9 are, no more, for else they follow roundings.
 */
enum sm_status sm_table_build(struct sm_arena *arena, const struct sm_table_source *source,
                              struct sm_geometry *g, struct sm_error *err) SM_MUST_CHECK;

#endif
