/*
 * Plane cuts through a port made of solids: a net of places with their distances from the nearest void, straight in each
 * triangle. For drawings and for the flow through the port, not for the burning surface.
 */
#ifndef SM_GRAIN_SHEET_H
#define SM_GRAIN_SHEET_H

#include "grain/contour.h"
#include "grain/patches.h"

struct sm_sheet {
    int nu, nv;             /* places either way, u the faster */
    struct sm_point *place; /* in the plane [m] */
    double *distance;       /* [m] */
};

/* Places of a net, their distances yet to be filled in: nu along the axis, z to the right, by nv upwards across the whole
 * grain; or nu out from the axis by nv round a turn [rad]. Status: SM_E_NOMEM. */
enum sm_status sm_sheet_net_along(struct sm_arena *arena, double radius, double length, int nu, int nv,
                                  struct sm_sheet *out, struct sm_error *err) SM_MUST_CHECK;
enum sm_status sm_sheet_net_across(struct sm_arena *arena, double radius, double turn, int nu, int nv,
                                   struct sm_sheet *out, struct sm_error *err) SM_MUST_CHECK;

/* Along the axis: z to the right, x upwards, n squares to the radius. The outermost places are asked a quarter of a square further
 * in, where what ends in the grain's faces is void. Status: SM_E_NOMEM. */
enum sm_status sm_sheet_along(struct sm_arena *arena, const struct sm_patcher *patcher, int n,
                              struct sm_sheet *out, struct sm_error *err) SM_MUST_CHECK;

/* One of the port's equal parts of the whole section at z [m], n rings to the radius. */
enum sm_status sm_sheet_across(struct sm_arena *arena, const struct sm_patcher *patcher, double z, int n,
                               struct sm_sheet *out, struct sm_error *err) SM_MUST_CHECK;

/* Void area [m2] and length of the front [m] at w [m], error of second order in the net's width away from corners. */
void sm_sheet_measure(const struct sm_sheet *sheet, double w, double *area, double *length);

/* The front at w as loose edges, propellant on the right, and with it the sheet's own rim where that is propellant. */
void sm_sheet_edges(const struct sm_sheet *sheet, double w, bool with_rim, struct sm_contour *out);

#endif
