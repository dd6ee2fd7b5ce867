/* Integrals of a spliced grain at one distance burned. */
#ifndef SM_GRAIN_SLICES_H
#define SM_GRAIN_SLICES_H

#include <stdint.h>

#include "grain/splice.h"
#include "num/gauss.h"
#include "num/laneset.h"

struct sm_slice_corner;
struct sm_slice_free_end;

enum { SM_SLICE_RULES = 3, SM_MOST_HINTS = 64, SM_MOST_SEEN = 16, SM_MOST_KINDS = 64 };

/* By a sign a change of make-up is told: what passes through zero is the length of a part, or by how much its element crosses
 * another. */
struct sm_slice_change {
    struct sm_part part;
    int other; /* SM_OWN_END: the length is meant */
};

/* Where a change was at some distances burned: the angle that the front had swung there which comes round the end of a splice. */
enum { SM_SLICE_KNOWN = 3 };
struct sm_slice_trace {
    double w[SM_SLICE_KNOWN], angle[SM_SLICE_KNOWN]; /* the latest first [m], [rad] */
    int n;
};

/* A place along the axis where there may be something to see at a distance burned, beyond an edge by a share of it; and by what a
 * change there is told, if there may be one. */
struct sm_slice_hint {
    double edge, sine; /* [m]; negative before the edge [1] */
    bool is_change;
    struct sm_slice_change change;
    struct sm_slice_trace trace; /* of the change, before it was there */
};

/* A make-up that has been cut before, by what tells it from others (grain/slicing.h). */
struct sm_slice_kind {
    uint64_t mark;
    struct sm_parts parts;
};

struct sm_slicer {
    const struct sm_spliced *grain;
    struct sm_fronts fronts; /* of all splices together; speeds say how far each has burned */
    int *owner;              /* splice of each burning element */
    int *first;              /* of each splice, and one past the last */
    double *far;             /* of each splice: its void as it was at first is nearer to the axis [m] */
    const struct sm_allocator *allocator;
    double length;    /* [m] */
    double fore, aft; /* 1 if that end burns, else 0 [1] */
    struct sm_gauss
        gauss[SM_SLICE_RULES]; /* along a piece of one make-up: for long ones, short ones and the shortest */
    enum sm_lane_set set;      /* of instructions: the best that is there */
    const struct sm_slice_corner *corners; /* by which slices are told apart (grain/slicing.h) */
    const struct sm_slice_free_end *free_ends;
    size_t n_corners;
    int n_free_ends;
    double *offsets; /* room for work: every element's offset in all lanes [m] or [m2] */
    struct sm_slice_hint hints[SM_MOST_HINTS];
    int n_hints;
    double hints_w; /* at which changes have been placed [m] */
    struct sm_slice_kind kinds[SM_MOST_KINDS];
    int n_kinds;
    struct sm_parts kept; /* those of all kinds, one after another */
    int room;             /* for so many */
    double seen[SM_MOST_SEEN]
               [2]; /* between these, and nowhere else, something was left when that was last asked [m] */
    int n_seen;
    signed char *covers; /* by first splice, then second: does its void hold the other's? -1: not known yet */
};

/* Given: arena, which outlives the slicer. */
enum sm_status sm_slicer_init(struct sm_arena *arena, const struct sm_spliced *grain, struct sm_slicer *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* Values and slopes at w [m]; the curvatures come out as zero. Not for two threads at once. */
enum sm_status sm_slicer_knot(struct sm_slicer *slicer, double w, struct sm_geometry_knot *out,
                              struct sm_error *err) SM_MUST_CHECK;

/* The same at n distances burned w [m], and much quicker where they rise by small steps: out is n of them. */
enum sm_status sm_slicer_knots(struct sm_slicer *slicer, const double *w, size_t n,
                               struct sm_geometry_knot *out, struct sm_error *err) SM_MUST_CHECK;

/* Burning areas alone at n distances burned w [m]: area is n of them [m2]. Quicker again, by an eighth. */
enum sm_status sm_slicer_areas(struct sm_slicer *slicer, const double *w, size_t n, double *area,
                               struct sm_error *err) SM_MUST_CHECK;

/* Is any propellant left at w [m] > 0? */
enum sm_status sm_slicer_is_left(struct sm_slicer *slicer, double w, bool *out,
                                 struct sm_error *err) SM_MUST_CHECK;

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
