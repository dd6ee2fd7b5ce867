/* The root of a function between two places at which its signs differ. */
#ifndef SM_NUM_BRACKET_H
#define SM_NUM_BRACKET_H

/*
 * Given: f, rising through zero between a and b, a <= b (it may be rough, even jump).
 * Returned: where it does, to rounding; a if it is not below zero there; b if it is not above zero there.
 * Notes:
 *   1) Inverse quadratic interpolation where that can be trusted, else halving: about eight calls for smooth functions, at most
 *      200.
 * Reference: T. R. Chandrupatla, Advances in Engineering Software 28 (1997) 145 (from memory).
 */
double sm_bracket_root(double (*f)(const void *user, double x), const void *user, double a, double b);

#endif
