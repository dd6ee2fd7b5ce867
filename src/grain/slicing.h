/* The insides of slices.h: one slice, where the make-up of slices changes, and the integrals along the axis. */
#ifndef SM_GRAIN_SLICING_H
#define SM_GRAIN_SLICING_H

#include <math.h>
#include <stdint.h>

#include "grain/slices.h"

/* Plane integrals of a slice: over what is left, and over the front, each part weighed by how much its surface leans. */
struct sm_plane {
    double left[SM_N_PLANAR];  /* [m2], [m3], [m4] */
    double front[SM_N_PLANAR]; /* [m], [m2], [m3] */
};

/* Distance burned that stands for none, where unlike voids still lie apart [share of the radius]. */
#define SM_SOONEST 1e-8

/* A slice already cut. Slices to which every splice has burned equally far are the same, wherever they lie. */
struct sm_known_slice {
    double *q; /* as in struct sm_slicing, for whose time there is room [m] */
    struct sm_parts parts;
    struct sm_plane plane;
    bool is_summed; /* the plane's integrals are there */
};

/* Slices of one distance burned that are kept: those of the stretches that are even all along, which the ends and the flat
 * fronts ask for again. */
enum { SM_MOST_KNOWN = 8 };

/* Where two elements meet, or an element's own end: as struct sm_end. Two parts that join there share it. */
struct sm_slice_spot {
    int front, other, root;
    double per; /* 1 over the distance of two circles' centres [1/m] or over the sine between two lines [1] */
};

struct sm_slice_spot sm_slice_spot_of(const struct sm_fronts *fronts, int front, int other, int root);

/*
 * A place where a slice's outline may have a corner. Which of them are seen tells one make-up from another, and a slice's mark is
 * the sum of their keys; marks of several slices are found at once, in lanes, and much sooner than the make-ups.
 */
enum sm_slice_corner_kind {
    SM_CORNER_LINE_ENDS,
    SM_CORNER_ARC_ENDS,
    SM_CORNER_LINES,
    SM_CORNER_LINE_ARC,
    SM_CORNER_ARCS
};

struct sm_slice_corner {
    enum sm_slice_corner_kind kind;
    int a, b; /* two elements that meet, a line before an arc; or twice the one whose ends they are */
    bool a_burns, b_burns; /* what does not burn is always there, and endless where another meets it */
    double per;            /* as of a spot [1/m] or [1] */
    uint64_t key[2];       /* of each root; 0: there is none, or another corner's is the same */
};

/* An end of an arc as it was at first where no other element begins. */
struct sm_slice_free_end {
    int front;
    struct sm_point at; /* [m] */
};

/* Lanes, and numbers in each for every element while slices are looked at (grain/slicemarks.h). */
enum { SM_SLICE_LANES = 8, SM_SLICE_ROOM = 6 };

struct sm_slice_look {
    const struct sm_slicer *slicer;
    double w[SM_SLICE_LANES];                         /* [m] */
    double from[SM_SLICE_LANES], way[SM_SLICE_LANES]; /* places along the axis: from there by so much [m] */
    uint64_t mark[SM_SLICE_LANES];
};

/* A line through the plane of w and z along which slices are looked at: along the axis at one w, or with w, at a place that
 * stands or moves. */
struct sm_slice_way {
    bool by_w;
    double z, slope; /* by w: at z + slope w [m], [1] */
};

/* Distances burned and places at work. Within a slice a splice that is out of reach is not there. */
struct sm_slicing {
    struct sm_slicer *slicer;
    struct sm_arena scratch, passing; /* for all of the work, and for that at one distance burned */
    struct sm_trimmer trimmer;
    struct sm_parts whole; /* all elements as they were at first */
    struct sm_parts there; /* room for those that are in reach */
    struct sm_slice_way way;
    double w;       /* [m] */
    double *q;      /* how far each splice's void has burned in the slice [m]; negative: out of reach */
    double *burned; /* a copy of it at work [m] */
    int *others;    /* room for as many elements as there are */
    int without;    /* splice left out, -1 for none */
    struct sm_known_slice known[SM_MOST_KNOWN];
    int n_known;
    struct sm_error *err;
};

/* ---- marks (slicelook.c) ---- */

/* All corners that slices may have, and what is wanted to look for them. Given: the slicer's fronts. */
enum sm_status sm_slice_list_corners(struct sm_arena *arena, struct sm_slicer *slicer,
                                     struct sm_error *err) SM_MUST_CHECK;

/* Finds the marks of all lanes. */
void sm_slice_look(struct sm_slice_look *look);

/* Those of n slices along the slicing's way [m]. */
void sm_slicing_marks(const struct sm_slicing *c, const double *t, int n, uint64_t *out);

/* ---- one slice (slice.c) ---- */

/* w is not below what stands for none. To be released also if it fails. */
enum sm_status sm_slicing_start(struct sm_slicer *slicer, double w, struct sm_slicing *out,
                                struct sm_error *err) SM_MUST_CHECK;
void sm_slicing_release(struct sm_slicing *c);

/* To another distance burned: all that was made at the last one is void. */
void sm_slicing_restart(struct sm_slicing *c, double w);

/* To the slice at t [m] along the way: how far every splice has burned there, as the speeds of its elements too (the trimmer's
 * own w being 1). */
void sm_slicing_go(struct sm_slicing *c, double t);

/* Goes there and cuts the slice. */
enum sm_status sm_slicing_trim(struct sm_slicing *c, double t, struct sm_parts *out) SM_MUST_CHECK;

/* Is every part, and what ends it, of a void that has burned by all of w? Then so are the slices beside it that have the same
 * parts. */
bool sm_slicing_is_even(const struct sm_slicing *c, const struct sm_parts *parts);

/* Does the void of splice i hold that of splice j, however far both have burned? */
enum sm_status sm_slicing_covers(struct sm_slicing *c, size_t i, size_t j, bool *out) SM_MUST_CHECK;

/* Do voids that have burned by all of w cover those that have burned by less, where the slicing is now? Then the slices beside it
 * with the same splices in reach are the same. */
enum sm_status sm_slicing_is_covered(struct sm_slicing *c, bool *out) SM_MUST_CHECK;

/* Integrals over the parts where the slicing is now; of slices that come again, not twice. */
void sm_slicing_sum(struct sm_slicing *c, const struct sm_parts *parts, struct sm_plane *out);

/* ---- what tells a change (slicechange.c) ---- */

/* Where between a and b [m], with different make-ups, a part that only one of them has may come or go, and by what that is told.
 * Returned: false, and the guess is left alone, if it can't be told. */
bool sm_slicing_guess(struct sm_slicing *c, double a, const struct sm_parts *at_a, double b,
                      const struct sm_parts *at_b, struct sm_slice_change *told, double *guess);

/* May what two make-ups differ by be told so? */
bool sm_slicing_is_told(const struct sm_slicing *c, const struct sm_slice_change *change,
                        const struct sm_parts *at_a, const struct sm_parts *at_b);

/* ---- make-ups along a way (slicefind.c) ---- */

/* Between two places that are known beforehand. */
struct sm_slice_stretch {
    double a, b; /* places along the way [m] */
    int number;  /* which of them */
    int first_look, n_looks;
    bool is_covered; /* all of its slices are alike */
};

/* A part of a stretch along which slices keep their make-up. */
struct sm_slice_piece {
    double a, b; /* places along the way [m] */
    int stretch; /* number of the one it lies in */
    bool is_covered;
    struct sm_parts parts;
    uint64_t mark; /* of its slices */
    bool is_told;  /* it is known what its end is told by, where that is within the stretch */
    struct sm_slice_change end;
};

struct sm_slice_pieces {
    struct sm_slice_piece *items; /* void at the next distance burned */
    int n;
    size_t room;
};

/* Appends the pieces of n stretches one after another. Looked at are places just inside the ends of each, some between, closer to
 * the ends, and what is hinted. */
enum sm_status sm_slicing_find(struct sm_slicing *c, struct sm_slice_stretch *stretches, int n,
                               struct sm_slice_pieces *out) SM_MUST_CHECK;

/* So far inside a stretch of some length that ends at z its make-up is looked at. [m] */
double sm_slicing_inset(const struct sm_slicing *c, double z, double length);

/* ---- the whole grain (sliceaxis.c) ---- */

/* A place along the axis that moves evenly with the distance burned: at + slope w. */
struct sm_slice_border {
    double at, slope; /* [m], [1] */
    int reach;        /* a splice comes into reach above it: 1, below it: -1; else 0 */
};

/* All make-ups between the grain's ends at one distance burned. */
struct sm_slice_course {
    struct sm_slice_border *borders; /* of stretches: n + 1 of them, rising */
    int n;
    struct sm_slice_pieces pieces;
};
enum sm_status sm_slicing_course(struct sm_slicing *c, struct sm_slice_course *out) SM_MUST_CHECK;
static inline double sm_slice_place(const struct sm_slice_border *border, double w)
{
    return border->at + border->slope * w;
}

/* Beyond the end of a splice its front leans by w / q, q = w cos(phi) where w sin(phi) is the way from that end. */
struct sm_slice_swing {
    double edge, side; /* end of the splice [m]; 1 if z runs away from it, -1 if towards it */
};

/* The angle that the front has swung at z [m] when w [m] has burned; 0 before the edge. [rad] */
static inline double sm_slice_swing_angle(double edge, double side, double w, double z)
{
    return asin(fmin(fmax(side * (z - edge) / w, 0.0), 1.0));
}

/* That of the splice which has burned least far somewhere between a and b. At least one has burned by less than all of w. */
struct sm_slice_swing sm_slicing_swing(const struct sm_slicing *c, double a, double b);

/* Values and slopes at the distance burned whose make-ups these are. */
enum sm_status sm_slicing_integrate(struct sm_slicing *c, const struct sm_slice_course *course,
                                    struct sm_geometry_knot *out) SM_MUST_CHECK;

/* Has any slice a part? */
enum sm_status sm_slicing_is_left(struct sm_slicing *c, bool *out) SM_MUST_CHECK;

#endif
