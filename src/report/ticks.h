/* Round numbers for axes and scale bars, and how they are written. */
#ifndef SM_REPORT_TICKS_H
#define SM_REPORT_TICKS_H

#include <stdbool.h>

/* A range of an axis [axis unit]. */
struct sm_range {
    double lo, hi; /* [axis unit], lo < hi */
};

/* Ticks at first, first + 1, ... first + n - 1 steps from zero; numbers on them in units of 10^exponent. */
struct sm_ticks {
    double step;     /* [axis unit]: 1, 2 or 5 times a power of ten */
    long long first; /* in steps */
    int n;
    int exponent; /* 0 unless plain numbers would get too long */
    int decimals;
};

enum { SM_TICK_TEXT = 48, SM_TICKS_MAX = 40 };

/* The smallest of 1, 2 or 5 times a power of ten that is at least x > 0, a rounding apart; 0 is not answered.
 */
double sm_ticks_round_up(double x);

/* The ticks inside the range, of the smallest step with at most `most` intervals over it. 1 <= most <
 * SM_TICKS_MAX. */
struct sm_ticks sm_ticks_make(struct sm_range range, int most);

double sm_ticks_value(const struct sm_ticks *ticks, int i); /* [axis unit] */

/* The number at tick i, with no more digits than tell the ticks apart: "0.25", "12 500" (thin space between
 * groups of three from five digits on, as the SI brochure 5.4.4 has it), "2.5×10⁶". Returns buf. */
const char *sm_ticks_text(const struct sm_ticks *ticks, int i, char buf[SM_TICK_TEXT]);

/* How an automatic range is made from the data. */
struct sm_range_wish {
    double lo, hi;   /* of the data [axis unit]; lo > hi: there are none */
    bool off_zero;   /* zero need not be inside */
    double headroom; /* to leave free at the ends, of the range [1] */
    int most;        /* intervals, as for sm_ticks_make */
};

/* A range that holds the data, rounded outwards to half a step of its ticks; widened where all data are
 * alike. */
struct sm_range sm_ticks_range(const struct sm_range_wish *wish);

#endif
