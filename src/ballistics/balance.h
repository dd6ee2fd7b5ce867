/* The pressure at which the chamber rests: gas made equals gas let out. */
#ifndef SM_BALLISTICS_BALANCE_H
#define SM_BALLISTICS_BALANCE_H

#include "ballistics/chamber.h"

struct sm_balance {
    double pressure; /* [Pa] */
    double rate;     /* burning rate that goes with it [m/s] */
    size_t band;
    int is_sliding; /* rests on edge[band], at a joint of the burning-rate law */
};

/*
 * The resting pressure reached from start_pressure [Pa] with a supply whose lit area is above 0: the first at or above
 * it if gas is made faster than let out there, else the first at or below it. Within one segment there is at
 * most one, since n < 1; steps of the law can make several, and this is the one that continues the past.
 * Status: SM_E_PHYSICS if the pressure would pass 1 GPa.
 */
enum sm_status sm_balance_find(const struct sm_supply *supply, const struct sm_bands *bands,
                               double start_pressure, struct sm_balance *out,
                               struct sm_error *err) SM_MUST_CHECK;

/*
 * All pressures at which the chamber can rest and come back after a small knock, in rising order.
 *
 * Given: a supply whose lit area is above 0.
 * Returned: how many; rests[i] for i below it. One if the law does not step up.
 * Notes: at least one lies between any two that differ where surplus and shortage balance but a knock would drive the
 * pressure away; those are not listed.
 */
enum { SM_MAX_RESTS = SM_MAX_BANDS };
size_t sm_balance_list(const struct sm_supply *supply, const struct sm_bands *bands,
                       struct sm_balance rests[SM_MAX_RESTS]);

#endif
