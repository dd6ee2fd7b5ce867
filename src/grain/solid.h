/* Simple solids anywhere in space: what a port is put together from. */
#ifndef SM_GRAIN_SOLID_H
#define SM_GRAIN_SOLID_H

#include <stdbool.h>

#include "grain/turned.h"

struct sm_triple {
    double x, y, z; /* [m]; [1] for a direction */
};

enum sm_solid_form {
    SM_SOLID_BALL, /* of radius a about its place */
    SM_SOLID_CONE, /* of revolution, from radius a at its place to radius b at c along its axis; a = b: a cylinder */
    SM_SOLID_BOX, /* 2 a by 2 b by 2 c about its place; its four edges along the third axis may be rounded */
    SM_SOLID_RING, /* torus about its place: its tube, of radius b, has its middle on a circle of radius a > b */
    SM_SOLID_TURNED /* of revolution, its meridian given from its place on; it need not be convex */
};

struct sm_solid {
    enum sm_solid_form form;
    struct sm_triple at;      /* [m] */
    struct sm_triple axes[3]; /* unit, at right angles, right-handed; the third is the solid's own axis [1] */
    double a, b, c;           /* [m] */
    double fillet;            /* of a box: radius of the rounding, at most a and b [m] */
    bool is_upright; /* it is known that the third axis is the grain's: then less is to be reckoned */
    const struct sm_turned *turned; /* of a turned one, borrowed; NULL of the others */
};

/* In the header, for they are asked for by the million. */
static inline double sm_triple_dot(struct sm_triple a, struct sm_triple b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

/* a + k b */
static inline struct sm_triple sm_triple_add(struct sm_triple a, double k, struct sm_triple b)
{
    return (struct sm_triple){a.x + k * b.x, a.y + k * b.y, a.z + k * b.z};
}

/*
 * Axes of a solid whose own axis leans by tilt from the z axis, towards the heading, which is turned from the x axis towards
 * the y axis; the first axis lies in the plane of the lean, then both are rolled about the third.
 *
 * Given: tilt, heading, roll [rad].
 */
void sm_solid_aim(struct sm_solid *solid, double tilt, double heading, double roll);

/* The solid turned about the z axis [rad]. */
struct sm_solid sm_solid_turned(const struct sm_solid *solid, double angle);

/* Distance of p from the surface, negative inside [m]. Exact outside; inside it is at most the distance to the surface and,
 * as outside, changes by no more than p moves. */
double sm_solid_distance(const struct sm_solid *solid, struct sm_triple p);

/* The point of the solid nearest to p: p itself if it lies inside. */
struct sm_triple sm_solid_nearest(const struct sm_solid *solid, struct sm_triple p);

/* Least distance between two solids [m], 0 where they meet, to within the given tolerance [m]. Torus tubes and turned bodies are
 * looked at from many places round them. */
double sm_solid_gap(const struct sm_solid *a, const struct sm_solid *b, double tolerance);

/* Is the third of three axes that of the grain, to the last bit? */
bool sm_triples_are_upright(const struct sm_triple axes[3]);

/* Farthest that the solid reaches along a unit direction, from the origin [m]. */
double sm_solid_extent(const struct sm_solid *solid, struct sm_triple way);

/* Is it a solid of revolution about the z axis? */
bool sm_solid_is_coaxial(const struct sm_solid *solid, double tolerance);

#endif
