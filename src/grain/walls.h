/*
 * Walls of a meridian as straight lines, some burning and some inhibited, and shortest ways to the burning ones that keep
 * within the propellant.
 */
#ifndef SM_GRAIN_WALLS_H
#define SM_GRAIN_WALLS_H

#include "grain/contour.h"
#include "grain/meridian.h"

struct sm_wall {
    struct sm_point a, b;
    bool burns;
    bool is_bore; /* void on its left; else a flat end or the outer cylinder */
};

/* A place that a shortest way may turn at, and how far it is from what burns. */
struct sm_turn {
    struct sm_point at;
    double way; /* [m] */
};

struct sm_walls {
    struct sm_wall *walls;
    struct sm_turn *turns;
    size_t n, n_turns;
    double size;   /* of the grain [m] */
    double length; /* along the axis [m] */
};

/* Arcs become lines: chords of `steps` to a quarter circle. Status: SM_E_NOMEM; SM_E_GEOMETRY if nothing burns. */
enum sm_status sm_walls_init(struct sm_arena *arena, const struct sm_meridian *meridian, int steps,
                             struct sm_walls *out, struct sm_error *err) SM_MUST_CHECK;

/* From p to the bore's nearest wall, burning or not [m]. */
double sm_walls_distance(const struct sm_walls *walls, struct sm_point p);

/* Does p lie in the void? A place on a wall may be told either way. */
bool sm_walls_is_void(const struct sm_walls *walls, struct sm_point p);

struct sm_way {
    double length; /* [m]; infinite if there is none */
    double nx, ny; /* the length's gradient [1] */
};

/*
 * The shortest way from p, in the propellant, to what burns, within the propellant.
 *
 * Notes:
 *   1) It is straight, or turns at corners of inhibited walls; those have theirs by Dijkstra's method. Exact for straight
 *      walls.
 * Reference: E. W. Dijkstra, Numerische Mathematik 1 (1959) 269; shortest ways among obstacles turn at corners alone:
 * Lozano-Perez and Wesley, Comm. ACM 22 (1979) 560.
 */
void sm_walls_way(const struct sm_walls *walls, struct sm_point p, struct sm_way *out);

/* From p, in the void, to a burning wall whose foot faces it squarely: length is negative, the gradient as beyond the wall.
 * Infinite if there is none within `most` [m]. */
void sm_walls_behind(const struct sm_walls *walls, struct sm_point p, double most, struct sm_way *out);

#endif
