/* Grains whose port is a closed triangle mesh. */
#ifndef SM_GRAIN_MESHPORT_H
#define SM_GRAIN_MESHPORT_H

#include "grain/geometry.h"
#include "grain/mesh.h"
#include "grain/sheet.h"
#include "slowmatch/param.h"

/* The block of a shape that is_meshed: whoever reads it puts the file's facets in place of none. */
struct sm_meshport {
    struct sm_list vertices; /* of struct sm_vertex, from the grain's fore face and axis */
    struct sm_list facets;   /* of struct sm_facet */
    const char *file;        /* NULL: vertices and facets are given */
    double file_unit;        /* length of one unit of the file [m]; absent without a file */
    int resolution;          /* boxes across the grain's diameter */
};

/*
 * Geometry of the grain: the cylinder of the given radius and length [m] less what of the mesh lies in it.
 *
 * Given: burning, faces (enum sm_face), the bore among them.
 * Status:
 *   SM_E_NOMEM
 *   SM_E_GEOMETRY  the mesh is not sound (sm_mesh_check), leaves the cylinder sideways, or leaves nothing to burn; the
 *                  bore does not burn
 *   SM_E_RANGE     the lattice would have too many boxes, at /resolution
 * Notes:
 *   1) The cylinder is convex and all of the port burns, so the burnt is what lies within w of the mesh: exact distances to
 *      the nearest facet, from which fronts are taken in a lattice (grain/crease.h). The mesh may go beyond the ends; what
 *      lies there plays no part.
 *   2) Areas run in straight lines between levels, which are set closer where the area bends. The area is scaled so that
 *      its integral is the volume between the mesh's facets and the cylinder, which is exact unless bodies of the mesh
 *      overlap; then it is left as it is.
 *   3) accuracy is the root mean square difference from the area at half the resolution, of 24 levels, plus what the
 *      scaling took: more than the error, which falls with the square of the resolution but at jumps of the area.
 */
enum sm_status sm_meshport_geometry(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                    double length, unsigned burning, struct sm_geometry *out,
                                    struct sm_error *err) SM_MUST_CHECK;

/* The grain cut along its axis, for a drawing: z to the right, x upwards, n squares to the radius. Status: likewise. */
enum sm_status sm_meshport_sheet(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                 double length, unsigned burning, int n, struct sm_sheet *out,
                                 struct sm_error *err) SM_MUST_CHECK;

/* The grain cut across its axis at the places of its lattice: sheets of n rings to the radius, and
 * their places [m], n_sheets of each, in the arena. Status: likewise. */
enum sm_status sm_meshport_across(struct sm_arena *arena, const struct sm_meshport *port, double radius,
                                  double length, unsigned burning, int n, struct sm_sheet **sheets,
                                  double **places, size_t *n_sheets, struct sm_error *err) SM_MUST_CHECK;

/* Free section [m2] and length of the front [m] of the port alone, without the faces, in n planes at z [m] within the grain, each
 * at its own w [m]; by exact distances to the facets (grain/across.h). scratch takes what is needed on the way. Status: likewise. */
enum sm_status sm_meshport_sections(struct sm_arena *scratch, const struct sm_meshport *port, double radius,
                                    double length, const double *z, const double *w, size_t n, double *area,
                                    double *perimeter, struct sm_error *err) SM_MUST_CHECK;

#endif
