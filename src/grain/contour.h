/* Plane outlines of straight lines and circular arcs: what a port's cross-section or a meridian is drawn with. */
#ifndef SM_GRAIN_CONTOUR_H
#define SM_GRAIN_CONTOUR_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"
#include "grain/point.h"

/* A line from a to b, or an arc about a centre. An arc from a point to itself is a whole circle. */
struct sm_edge {
    struct sm_point a, b;
    struct sm_point centre; /* of an arc */
    double radius;          /* of an arc [m]; 0 for a line */
    int turn;               /* +1 anticlockwise, -1 clockwise, 0 straight */
};

/* A chain of edges, each beginning where the one before ends. The void lies on the left as one walks along it and
 * propellant on the right, so that a port is walked round anticlockwise and a rod clockwise. */
struct sm_chain {
    size_t first, n; /* its edges */
};

struct sm_contour {
    struct sm_edge *edges;
    struct sm_chain *chains;
    size_t n_edges, n_chains;
    /* of the making */
    struct sm_arena *arena;
    size_t edge_room, chain_room;
    struct sm_point at;
    double reach; /* farthest from the origin so far [m] */
    bool is_short_of_memory;
};

/* Making one: a chain starts at a point and goes on by lines and arcs. Edges without length are left out. Memory running
 * out is noticed at the end, by sm_contour_check_memory. */
void sm_contour_init(struct sm_contour *contour, struct sm_arena *arena);
void sm_contour_start(struct sm_contour *contour, double x, double y);
void sm_contour_line(struct sm_contour *contour, double x, double y);
void sm_contour_arc(struct sm_contour *contour, double x, double y, double centre_x, double centre_y,
                    int turn);
void sm_contour_circle(struct sm_contour *contour, double centre_x, double centre_y, double radius, int turn);
enum sm_status sm_contour_check_memory(const struct sm_contour *contour, struct sm_error *err) SM_MUST_CHECK;

/* Is the chain's end its start? */
bool sm_chain_is_closed(const struct sm_contour *contour, const struct sm_chain *chain);

/* Unit direction of walking at an edge's start or end. */
struct sm_point sm_edge_direction(const struct sm_edge *edge, bool at_end);

/* Length of an edge [m] and, for an arc, the angle swept [rad], 0 for a line. */
double sm_edge_length(const struct sm_edge *edge);
double sm_edge_sweep(const struct sm_edge *edge);

/* The point at share 0 to 1 of the edge's length. */
struct sm_point sm_edge_point(const struct sm_edge *edge, double share);

/* Appends an edge as it is, with no chain yet. */
void sm_contour_add_loose(struct sm_contour *contour, const struct sm_edge *edge);

/* Puts loose edges into chains: each is followed by one that begins within the tolerance [m] of its end. */
enum sm_status sm_contour_stitch(struct sm_contour *contour, double tolerance,
                                 struct sm_error *err) SM_MUST_CHECK;

/* The half-sector [0, pi/n] mirrored at its second ray and repeated n times, as loose edges appended to whole. */
void sm_contour_unfold(const struct sm_edge *half, size_t n_edges, int n, struct sm_contour *whole);

#endif
