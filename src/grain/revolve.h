/* Integrals of a trimmed meridian turned about its axis. */
#ifndef SM_GRAIN_REVOLVE_H
#define SM_GRAIN_REVOLVE_H

#include "grain/geometry.h"
#include "grain/stage.h"

/* Volume, z, z^2, x^2 and y^2 of what the fronts of a meridian (x along the axis, y >= 0 the radius) enclose, with the
 * first two derivatives by w; the other integrals are zero. w lies in the stage or on one of its ends, and is seen from
 * inside. */
void sm_revolve_knot(const struct sm_fronts *fronts, const struct sm_stage *stage, double w,
                     struct sm_geometry_knot *out);

#endif
