/* Sections burned by GEOS, a general library for plane polygons: arcs become polygons, offsets are its buffers. */
#ifndef SM_BENCH_GEOMETRY_GEOS_H
#define SM_BENCH_GEOMETRY_GEOS_H

#include "grain/section.h"

struct geos_section;

/* The port of a whole section of closed chains, and the cylinder round it, with so many straight pieces to a quarter
 * circle. Stops the program if GEOS can't. */
struct geos_section *geos_section_new(const struct sm_section *whole, int pieces);
void geos_section_free(struct geos_section *section);

/* Free area [m2] and burning perimeter [m] at distance burned w [m]. */
void geos_section_burn(const struct geos_section *section, double w, double *area, double *perimeter);

/* The whole of a section that may be given by a half-sector; in the arena. */
struct sm_section geos_whole(struct sm_arena *arena, const struct sm_section *section);

#endif
