/* Impulse classes: 1/8A, 1/4A, 1/2A, A, B, ... doubling. */
#ifndef SM_CURVE_IMPULSE_H
#define SM_CURVE_IMPULSE_H

#include <stddef.h>

struct sm_impulse_class {
    char letter[8];   /* "1/8A" ... "O", "P" ... "Z", "AA" past that */
    double above, to; /* impulse above the first and up to and including the second [N s] */
    double margin;    /* left to the upper limit [N s] */
};

/* total impulse > 0 [N s]. A whisker of rounding (1e-12 relative) above a limit still counts as at it. */
void sm_impulse_class_of(double total_impulse, struct sm_impulse_class *out);

/* "H13": class letter and average thrust to the nearest newton, at least 1; with "-7" for a delay of 7 s, "-P" plugged
 * (delay negative); delay SM_ABSENT: nothing. buf holds size bytes. */
void sm_impulse_designation(const struct sm_impulse_class *c, double average_thrust, double delay, char *buf,
                            size_t size);

#endif
