/* One-dimensional isentropic flow of a perfect gas: the relations every text gives. */
#ifndef SM_NOZZLE_ISENTROPIC_H
#define SM_NOZZLE_ISENTROPIC_H

#include "base/fail.h"

double sm_flow_pressure_ratio(double gamma, double mach); /* p / p0 [1] */
double sm_flow_area_ratio(double gamma, double mach);     /* A / A* [1], mach > 0 */
double sm_flow_critical_ratio(double gamma);              /* p* / p0 [1] */
/* Mach number on the supersonic or subsonic branch for A / A* = area_ratio >= 1, to 1e-14 relative. */
enum sm_status sm_flow_mach(double gamma, double area_ratio, int supersonic, double *mach,
                            struct sm_error *err) SM_MUST_CHECK;
/* Ideal thrust coefficient [1] (no divergence or friction loss), attached flow. eps = exit to throat area >=
 * 1; pc > 0 and pa >= 0, chamber and ambient pressure [Pa]. */
enum sm_status sm_flow_thrust_coefficient(double gamma, double eps, double pc, double pa, double *cf,
                                          struct sm_error *err) SM_MUST_CHECK;

#endif
