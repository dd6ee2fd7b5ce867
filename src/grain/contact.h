/* Instants at which fronts touch each other or a wall: closed forms. */
#ifndef SM_GRAIN_CONTACT_H
#define SM_GRAIN_CONTACT_H

#include "grain/trim.h"

/* All w [m] between 0 and limit, rising, those nearer than 1e-14 of the figure's size taken as one. Contacts at places
 * that have burned by then are left out as far as that is easy to see. */
enum sm_status sm_contacts_find(struct sm_arena *arena, const struct sm_fronts *fronts, double limit,
                                double **w, size_t *n, struct sm_error *err) SM_MUST_CHECK;

#endif
