/* When the fire comes to a place, by its distance from all that burns: a second way to every shape's volume, which shares
 * with the engine no more than the outline, meridian or list of solids that a shape gives. */
#ifndef SM_TEST_GRAIN_ARRIVAL_H
#define SM_TEST_GRAIN_ARRIVAL_H

#include "unit/grain/example.h"

/* Counts places of a Sobol net in the cylinder that the fire has not come to at some distances burned, and holds the share
 * against the table's volume. */
void arrival_agrees(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g,
                    uint64_t seed);

/* The mean square difference of the shares for nets of the given size, as of one grain. */
double arrival_square(struct sm_arena *arena, const struct example *e, const struct sm_geometry *g, int n);

/* The last place that the fire comes to, as far as climbing from the latest of a net's places finds it: distance burned by then [m]. */
double arrival_last(struct sm_arena *arena, const struct example *e, uint64_t seed);

#endif
