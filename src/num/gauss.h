/* Gauss points of an interval. */
#ifndef SM_NUM_GAUSS_H
#define SM_NUM_GAUSS_H

#include "base/fail.h"

enum { SM_MOST_GAUSS = 16 };

/* Places in [0, 1], rising, and what share of the interval each stands for; exact for polynomials of degree 2 n - 1. */
struct sm_gauss {
    int n;
    double place[SM_MOST_GAUSS], share[SM_MOST_GAUSS]; /* [1] */
};

/* n from 1 to SM_MOST_GAUSS. Status: SM_E_NOMEM. Reference: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions,
 * 25.4.29-30. */
enum sm_status sm_gauss_make(int n, struct sm_gauss *out) SM_MUST_CHECK;

#endif
