/* The ambient pressures at which thrust is handed over. */
#ifndef SM_EXPORT_AMBIENTS_H
#define SM_EXPORT_AMBIENTS_H

#include "export/export.h"

/*
 * Chooses pressures from vacuum to a little above the run's own or sea level's, so that thrust is a straight line between
 * them to a thousandth of its largest; where thrust is known at one pressure only, that one.
 *
 * Returned: e->ambient, n_ambient and own; thrust[k], of the run's rows at each pressure [N], in the arena.
 */
enum sm_status sm_export_ambients(struct sm_export *e, struct sm_arena *arena, double *thrust[SM_MAX_AMBIENT],
                                  struct sm_error *err) SM_MUST_CHECK;

#endif
