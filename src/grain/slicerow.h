/*
 * Several distances burned at once, each in a lane of the processor's vector registers.
 *
 * As long as slices go through the same make-ups along the axis, all that moves from one distance burned to the next is where one
 * make-up gives way to another. So the make-ups are found once, with what passes through zero where each ends, and from there on
 * that place is followed in lanes, and the slices between are summed in lanes too.
 *
 * Results do not depend on the set of instructions. On what is in other lanes they depend by less than they err: short pieces are
 * those that are short in all lanes, and joints are looked for from where they were before.
 */
#ifndef SM_GRAIN_SLICEROW_H
#define SM_GRAIN_SLICEROW_H

#include "grain/slicing.h"

/* More than these are cut level by level. */
enum { SM_ROW_SPLICES = 12, SM_ROW_SPOTS = 64 };

struct sm_row_part {
    int front;
    int from, to; /* of the piece's spots */
    double sweep; /* of an arc between its own ends; 0 of others [rad] */
};

/* What passes through zero where a make-up ends: the length between two spots of an element, or by how much two elements cross. */
struct sm_row_joint {
    struct sm_slice_change change;
    struct sm_slice_spot from, to; /* of the part */
    struct sm_slice_spot touch;    /* its element and the other */
    struct sm_slice_trace trace;
};

struct sm_row_piece {
    const struct sm_slice_spot *spots;
    const struct sm_row_part *parts;
    int n_spots, n_parts;
    int n_burning_spots, n_burning; /* those of burning elements, which come first */
    int joint;                      /* at which it ends; -1: where its stretch does */
    bool is_even;                   /* its slices are all the same */
    int rule;                       /* which of the slicer's Gauss points serve */
    uint64_t mark;                  /* of a slice in it */
};

/* Between two places that are known beforehand. Where it swings, places in it are told by the angle that the front has swung which
 * comes round the end of the least burned splice. */
struct sm_row_stretch {
    struct sm_slice_border a, b;
    bool swings;
    bool is_covered;   /* nothing that differs from slice to slice can be seen in it */
    double edge, side; /* as of a swing [m], [1] */
    /* splices, a bit for each, that have burned by all of w there, or are out of reach, or whose front swings by that angle */
    unsigned full, absent, swinging;
    int first_piece, n_pieces;
};

/* A plane front: all that is left there of a piece's slices burns towards or, with sign -1, is not there to burn. */
struct sm_row_flat {
    struct sm_slice_border z;
    int piece;
    double sign; /* [1] */
};

/* A slice that tells whether make-ups are as they were: within a piece, or where that begins or ends with its stretch. */
struct sm_row_view {
    int stretch, piece;
    enum { SM_ROW_MIDDLE, SM_ROW_FORE, SM_ROW_AFT } at;
};

/* What lanes sum: over what is left, and over the fronts. */
enum sm_row_sum { SM_ROW_ALL, SM_ROW_Z, SM_ROW_ZZ, SM_ROW_ROUND, SM_ROW_SUMS };

struct sm_row {
    const struct sm_slicer *slicer;
    bool areas_alone; /* of the sums only that of front[SM_ROW_ALL] is asked for */
    bool new_alone;   /* of the joints only those are placed that are known at one distance burned */
    struct sm_row_stretch *stretches;
    struct sm_row_piece *pieces;
    struct sm_row_joint *joints;
    struct sm_row_flat *flats;
    struct sm_row_view *views;
    int n_stretches, n_pieces, n_joints, n_flats, n_views;
    /* of each lane */
    double w[SM_SLICE_LANES];                  /* [m] */
    double (*from)[SM_SLICE_LANES];            /* angle at a stretch's beginning [rad] */
    double (*to)[SM_SLICE_LANES];              /* and at its end [rad] */
    double (*angle)[SM_SLICE_LANES];           /* at each joint: where to look, and then where it is [rad] */
    double left[SM_ROW_SUMS][SM_SLICE_LANES];  /* [m3], [m4], [m5] */
    double front[SM_ROW_SUMS][SM_SLICE_LANES]; /* [m2], [m3], [m4] */
    double failed[SM_SLICE_LANES];             /* not 0: it can't be carried on, and why [1] */
};

/* A joint was not found; or one has passed another, or a part its end. */
#define SM_ROW_LOST    1.0
#define SM_ROW_CROSSED 2.0

/* Where a joint may be by its trace at n distances burned w [m]: on the parabola, line or point through that, by divided differences.
 * out is n of them [rad]. */
static inline void sm_row_look_for(const struct sm_slice_trace *trace, const double *w, int n, double *out)
{
    const double *at = trace->w, *is = trace->angle;
    const double first = trace->n > 1 ? (is[1] - is[0]) / (at[1] - at[0]) : 0.0;
    const double next = trace->n > 2 ? (is[2] - is[1]) / (at[2] - at[1]) : 0.0;
    const double second = trace->n > 2 ? (next - first) / (at[2] - at[0]) : 0.0;
    for (int i = 0; i < n; i++)
        out[i] = is[0] + (w[i] - at[0]) * (first + (w[i] - at[1]) * second);
}

/* The trace with a place in front; the last goes if there is no room. */
static inline void sm_row_keep(struct sm_slice_trace *trace, double w, double angle)
{
    const int n = trace->n < SM_SLICE_KNOWN ? trace->n++ : SM_SLICE_KNOWN - 1;
    for (int i = n; i > 0; i--) {
        trace->w[i] = trace->w[i - 1];
        trace->angle[i] = trace->angle[i - 1];
    }
    trace->w[0] = w;
    trace->angle[0] = angle;
}

/* The make-ups where the slicing is, in the arena. *is_followable: can they be followed to other distances burned? */
enum sm_status sm_row_make(struct sm_slicing *c, struct sm_arena *arena, const struct sm_slice_course *course,
                           struct sm_row *row, bool *is_followable) SM_MUST_CHECK;

/* Places all joints from where to look, and then sums, by the slicer's set of instructions (slicelook.c). */
void sm_row_place(struct sm_row *row);
void sm_row_sum(struct sm_row *row);

/* The same, and marks of slices, once for each set. */
void sm_row_place_plain(struct sm_row *row);
void sm_row_sum_plain(struct sm_row *row);
void sm_row_look_plain(struct sm_slice_look *look);
void sm_row_place_avx2(struct sm_row *row);
void sm_row_sum_avx2(struct sm_row *row);
void sm_row_look_avx2(struct sm_slice_look *look);
void sm_row_place_avx512(struct sm_row *row);
void sm_row_sum_avx512(struct sm_row *row);
void sm_row_look_avx512(struct sm_slice_look *look);

#endif
