/*
 * Exact trimming of receding fronts in the plane.
 *
 * Every element of the initial burning outline, a line or an arc, has an offset curve at distance burned w: a line moved
 * along its normal, an arc of another radius; a corner that opens towards the propellant gives an arc that grows from
 * radius zero. A point of such a curve is on the front where no other element is nearer to it than w. So each curve is
 * cut at its meetings with the others, and each interval between cuts is kept or dropped by the distance of its middle.
 * Nothing is stitched together: there is no topology to get wrong.
 *
 * Straight-line distance is right because all that bounds the void burns and what encloses the propellant is convex.
 * Burned never becomes unburned: what was hidden at one w stays hidden later, which makes later cuts cheap.
 */
#ifndef SM_GRAIN_TRIM_H
#define SM_GRAIN_TRIM_H

#include "grain/contour.h"

/* A burning element (speed 1), or a wall or rim that stands (speed 0). No arc but a wall is more than half a turn. */
struct sm_front {
    bool is_arc;
    double speed;  /* along the normal, per unit of w [1] */
    double sign;   /* of an arc: +1 if its radius grows with w, -1 if it shrinks [1] */
    double radius; /* of an arc at w = 0 [m] */
    double extent; /* of a line its length [m], of a wall 0 if endless; of an arc its sweep as a diamond
                             angle, 0 to 4 [1] */
    struct sm_point base; /* start of a line, centre of an arc [m] */
    struct sm_point u;    /* unit: along a line; from the centre to an arc's start [1] */
    struct sm_point v; /* unit: normal of a line, into the propellant; from the centre to an arc's end [1] */
    struct sm_point hub; /* the element lies within reach of it [m] */
    double reach;        /* [m] */
    int before, after;   /* elements that this one runs into without a corner; -1 for none */
    int corner[2]; /* elements that it meets in a corner closing towards the propellant, at place 0 and at its
                             extent; -1 for none */
};

/* Walls bound the figure all round, their normals pointing inwards: they cut fronts, and nothing beyond them counts. Rims
 * are those stretches of walls that touch propellant: they are trimmed by the fronts, and cut nothing. */
struct sm_fronts {
    struct sm_front *items;    /* the burning ones, then the walls, then the rims */
    int n_burning, n_walls, n; /* where each kind ends in the list */
    double size;               /* of the whole figure, which tolerances are shares of [m] */
    bool
        come_in; /* some fronts start beyond the walls, so that what was not seen at one w may be at a later one */
};

/* Where a part of a front ends: at another front (root 0 or 1 says which of two meetings), or at its element's own end. */
enum { SM_OWN_END = -1 };
struct sm_end {
    int other;
    int root;
};

/* A visible stretch of one front. lo and hi are its places on the element: along a line [m], round an arc as a diamond
 * angle from its start [1]; they do not change along a normal. */
struct sm_part {
    int front;
    struct sm_end from, to;
    double lo, hi; /* [m] or [1] */
};

struct sm_parts {
    struct sm_part *items;
    int n;
    int n_burning; /* those of burning fronts, which come first */
};

/* Scratch memory of sm_trim. Where elements belong to several voids that have burned unequally far (each by its speed),
 * owner says to which, and is_void is asked whether a point of a front lies in another one's void. */
struct sm_trimmer {
    const struct sm_fronts *fronts;
    const int *owner; /* of each burning element; NULL: all are of one */
    bool (*is_void)(const void *user, int owner, struct sm_point p);
    const void *user;
    struct sm_arena *arena; /* takes the parts */
    struct sm_cut *cuts;
    int *alive, *near_by;
    char *is_alive;
    struct sm_part *parts;
    int n_alive, n_near;
    long n_trims; /* done so far */
};
enum sm_status sm_trimmer_init(struct sm_trimmer *trimmer, const struct sm_fronts *fronts,
                               struct sm_arena *arena, struct sm_error *err) SM_MUST_CHECK;

/* All burning elements and rims whole: the parts to start from. */
enum sm_status sm_trim_whole(struct sm_trimmer *trimmer, struct sm_parts *out,
                             struct sm_error *err) SM_MUST_CHECK;

/* The parts visible at w [m] > 0. before: those visible at an earlier w, or the whole. */
enum sm_status sm_trim(struct sm_trimmer *trimmer, double w, const struct sm_parts *before,
                       struct sm_parts *out, struct sm_error *err) SM_MUST_CHECK;

/* Are they of one front, with the same ends? */
bool sm_part_is_like(const struct sm_part *a, const struct sm_part *b);

/* Have both the same fronts with the same ends, in the same order? */
bool sm_parts_alike(const struct sm_parts *a, const struct sm_parts *b);

/* Is a part like that among them? */
bool sm_parts_hold(const struct sm_parts *parts, const struct sm_part *part);

/* A part at w: where it begins and ends, the tangent (in the sense of growing place) and the normal along which the
 * front moves, at both ends, and how fast each end runs outwards along the curve per unit of w. */
struct sm_cut_part {
    struct sm_point p[2];       /* [m] */
    struct sm_point tangent[2]; /* unit [1] */
    struct sm_point normal[2];  /* unit [1] */
    double run[2];              /* [1]; infinite where two fronts touch */
    double radius;              /* of an arc at w [m] */
};
void sm_part_place(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                   struct sm_cut_part *out);

/* The same without the runs, which are left alone. */
void sm_part_lie(const struct sm_fronts *fronts, const struct sm_part *part, double w,
                 struct sm_cut_part *out);

/* Its two ends alone. */
void sm_part_ends(const struct sm_fronts *fronts, const struct sm_part *part, double w, struct sm_point p[2]);

/* Do its ends move straight and evenly, so that its length and what it bounds go as polynomials in w? A line's do if they are
 * its own ends or at lines, an arc's if they are its own. */
bool sm_part_is_even(const struct sm_fronts *fronts, const struct sm_part *part);

/* The angle from an arc part's first direction to its second: at most half a turn, since no element is more. It may come
 * out negative by a rounding where the part is all but gone. */
double sm_part_sweep(struct sm_point e0, struct sm_point e1);

/* The point of an element's offset curve at a place. */
struct sm_point sm_front_point(const struct sm_front *front, double place, double w);

/* Meetings of the whole lines or circles that two elements' offsets lie on; 0 to 2 of them. */
int sm_front_meetings(const struct sm_fronts *fronts, int i, int j, double w, struct sm_point out[2]);

/* Circles about one centre, or parallel lines: their offsets are everywhere equally far apart. */
bool sm_front_are_twins(const struct sm_fronts *fronts, int i, int j);

/* By how much these cross: positive where they meet twice, zero where they touch, negative where they pass each other by; smooth
 * in the elements' offsets [m2]. Of twins, the difference of their radii or how far the second line lies before the first, by
 * that one's normal [m]. Other lines cross anyhow: 1. */
double sm_front_overlap(const struct sm_fronts *fronts, int i, int j, double w);

/* Place of a point of an element's offset on the element. Beyond an arc's ends it is negative or above the extent,
 * whichever end is nearer. */
double sm_front_place(const struct sm_front *front, struct sm_point p);

/* Radius of an arc's offset at w [m]; not above zero if it has vanished. */
double sm_front_radius(const struct sm_front *front, double w);

/* Is p farther than w, less the tolerance [m], from every burning element but two, and within the walls?
 * skip_a, skip_b: elements left out, -1 for none. */
bool sm_front_is_clear(const struct sm_fronts *fronts, struct sm_point p, double w, double tolerance,
                       int skip_a, int skip_b);

/* Diamond angle of a direction, turned from u: rises from 0 to 4 in one turn. */
double sm_diamond(struct sm_point u, struct sm_point d);

#endif
