/* A table from areas at levels of the distance burned, for methods that give areas with an error of their own. */
#ifndef SM_GRAIN_LEVELS_H
#define SM_GRAIN_LEVELS_H

#include "grain/geometry.h"

struct sm_level_source {
    /* Integrals over the burning front at w [m], in [m2], [m3] and [m4], by the method and by the same at half its
     * resolution. */
    void (*flux)(void *user, double w, double flux[SM_N_INTEGRALS]);
    void (*coarse)(void *user, double w, double flux[SM_N_INTEGRALS]);
    void *user;
    double reach;    /* no front lies beyond [m] */
    double nothing;  /* area taken for none [m2] */
    double bend;     /* of the area between two levels, share of the largest, that asks for a third [1] */
    double shortest; /* step that is still halved, as at a jump [m] */
    double volume;   /* of the grain, exact; SM_ABSENT if not known [m3] */
};

/*
 * Areas run in straight lines between levels, set closer where the area bends; where it still does in the shortest
 * step, it jumps.
 *
 * Returned: g with its pieces in the arena, web, web_main and accuracy; the rest is left alone.
 * Status: SM_E_NOMEM; SM_E_GEOMETRY if nothing burns.
 * Notes:
 *   1) Areas are scaled so that their integral is the volume, where that is known.
 *   2) accuracy is the root mean square difference from the coarse areas, of 24 levels, plus what the scaling took.
 */
enum sm_status sm_levels_table(struct sm_arena *arena, const struct sm_level_source *source,
                               struct sm_geometry *g, struct sm_error *err) SM_MUST_CHECK;

#endif
