/* Closed triangle meshes: a void given by the facets that bound it. */
#ifndef SM_GRAIN_MESH_H
#define SM_GRAIN_MESH_H

#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"

struct sm_vertex {
    double x, y, z; /* [m] */
};

/* Corners by their place in the list of vertices, anticlockwise as seen from outside the void. */
struct sm_facet {
    int a, b, c;
};

struct sm_mesh {
    const struct sm_vertex *vertices;
    const struct sm_facet *facets;
    size_t n_vertices, n_facets;
    const size_t *numbers; /* by which the user knows the facets; NULL: from 1 on */
};

/*
 * Is the mesh a sound boundary of a void?
 *
 * Status:
 *   SM_E_GEOMETRY  a facet names no vertex; an edge has no facet on its other side; two facets at an edge face opposite
 *                  ways; a body is inside out, and no hole in another. The message names the first bad facet and its edge.
 *   SM_E_RANGE     a vertex is not finite
 *   SM_E_NOMEM
 * Notes:
 *   1) The error's place is that of the facet or vertex in a grain's lists.
 *   2) Bodies that overlap are allowed and mean their union: winding numbers tell what is void.
 */
enum sm_status sm_mesh_check(struct sm_arena *scratch, const struct sm_mesh *mesh,
                             struct sm_error *err) SM_MUST_CHECK;

/* Triangles, three corners each. */
struct sm_triangles {
    struct sm_vertex *corners; /* 3 n of them */
    size_t n;
};

/* What of the mesh lies between the planes z = 0 and z = length [m], as triangles without connection. Facets in those planes are
 * left out: a port is open there, and its walls are nearer to any propellant. */
enum sm_status sm_mesh_cut(struct sm_arena *arena, const struct sm_mesh *mesh, double length,
                           struct sm_triangles *out, struct sm_error *err) SM_MUST_CHECK;

#endif
