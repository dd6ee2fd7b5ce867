/* Integrals of a spliced grain at one distance burned. */
#ifndef SM_GRAIN_SLICES_H
#define SM_GRAIN_SLICES_H

#include "grain/splice.h"
#include "num/gauss.h"

struct sm_slice_plan;

/* The make-up that a grain has along its axis at some distances burned, rising. */
enum { SM_MOST_PLANS = 32 };
struct sm_slice_plans {
    double w[SM_MOST_PLANS];                          /* [m] */
    const struct sm_slice_plan *items[SM_MOST_PLANS]; /* the same pointer where the make-up is the same */
    int n;
};

/* How far a front swings round the end of a splice along a piece: widely, little, or hardly. */
enum sm_swing { SM_SWING_WIDE, SM_SWING_SHORT, SM_SWING_LEAST, SM_SWINGS };

struct sm_slicer {
    const struct sm_spliced *grain;
    struct sm_fronts fronts; /* of all splices together; speeds say how far each has burned */
    int *owner;              /* splice of each burning element */
    int *first;              /* of each splice, and one past the last */
    struct sm_arena *arena;  /* borrowed; takes the plans */
    const struct sm_allocator *allocator;
    double length;                    /* [m] */
    double fore, aft;                 /* 1 if that end burns, else 0 [1] */
    struct sm_gauss gauss[SM_SWINGS]; /* along a piece of one make-up, by how far its front swings round */
    signed char *covers; /* by first splice, then second: does its void hold the other's? -1: not known yet */
    bool is_quick;       /* a make-up found at one level is believed of others; not set at first */
    bool
        is_at_kink; /* set while a quick slicer is asked right beside a kink: pieces may just have come or gone */
    struct sm_slice_plans plans;
};

/* Given: arena, which outlives the slicer; is_rough: with so few points along the axis that areas are some 2e-5 off, and volumes'
 * derivatives more than that, else with as many as leave 1e-9 or less. */
enum sm_status sm_slicer_init(struct sm_arena *arena, const struct sm_spliced *grain, bool is_rough,
                              struct sm_slicer *out, struct sm_error *err) SM_MUST_CHECK;

/* Values and slopes at w [m]; the curvatures come out as zero. Not for two threads at once. */
enum sm_status sm_slicer_knot(struct sm_slicer *slicer, double w, struct sm_geometry_knot *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* Is any propellant left at w [m] > 0? */
enum sm_status sm_slicer_is_left(struct sm_slicer *slicer, double w, bool *out,
                                 struct sm_error *err) SM_MUST_CHECK;

/* For a quick slicer: levels asked for from now on lie beyond a kink from those before, and what was found there is not to be taken
 * for theirs. */
void sm_slicer_forget(struct sm_slicer *slicer);

/* One slice at z [m] and w [m] > 0: area left [m2] and length of its fronts [m], within the plane. */
enum sm_status sm_slicer_slice(struct sm_slicer *slicer, double w, double z, double *left, double *perimeter,
                               struct sm_error *err) SM_MUST_CHECK;

/*
 * Distances burned at which the area has a kink since a make-up begins or ends at the edge of what is sliced: where the front
 * that comes round the end of a splice reaches its farthest, where splices join, and at the grain's two ends.
 *
 * Given:    n_breaks distances burned [m], rising, at which events are known; kinks are looked for between them
 * Returned: *kinks [m], in the arena, in no order and maybe some twice
 */
enum sm_status sm_slicer_kinks(struct sm_slicer *slicer, struct sm_arena *arena, const double *breaks,
                               size_t n_breaks, double **kinks, size_t *n,
                               struct sm_error *err) SM_MUST_CHECK;

#endif
