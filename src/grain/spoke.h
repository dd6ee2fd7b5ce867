/* A spoke of even thickness that stands inwards on a ring of propellant: what wagon wheels and dendrites are made of. */
#ifndef SM_GRAIN_SPOKE_H
#define SM_GRAIN_SPOKE_H

#include "grain/contour.h"
#include "grain/gauge.h"

struct sm_spoke {
    double thickness; /* [m] */
    double core;      /* diameter of the circle it ends on [m] */
    double tip_angle; /* half of the angle at its end, up to a right angle for a flat one [rad] */
};

/* ring is the ring's inner radius [m], fillet the rounding between spoke and ring [m]. half is the angle from the spoke's
 * middle to that of the void beside it [rad]. core_name is the parameter that errors about the spoke's end belong to. */
enum sm_status sm_spoke_check(const struct sm_spoke *spoke, const char *core_name, double ring, double fillet,
                              double half, struct sm_error *err) SM_MUST_CHECK;

/* A spoke on the ray at the given angle [rad]: from the ring, where the chain is, by arc, fillet, side and tip to the
 * ray. */
void sm_spoke_add_inwards(const struct sm_spoke *spoke, double ring, double fillet, double ray,
                          struct sm_contour *contour);

/* A spoke on the x axis: a new chain from its tip by side and fillet to the ring. */
void sm_spoke_add_outwards(const struct sm_spoke *spoke, double ring, double fillet,
                           struct sm_contour *contour);

/* Where a drawing shows the circle that a spoke on the x axis ends on, by its parameter's name, and, if wanted, its thickness,
 * fillet_radius and tip_angle. */
void sm_spoke_gauges(const struct sm_spoke *spoke, const char *core_name, double ring, double fillet,
                     bool is_whole, struct sm_gauges *out);

#endif
