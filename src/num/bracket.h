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

/*
 * False position, the end that stays being halved (Illinois): a place on each side of where f passes through zero, for loops
 * that stop by a rule of their own.
 * Reference: M. Dowell and P. Jarratt, BIT 11 (1971) 168 (from memory).
 */
struct sm_chord {
    double a, fa, b, fb; /* places and f there, in the caller's units; fa * fb < 0 [1] */
};

static inline double sm_chord_next(const struct sm_chord *c)
{
    return (c->a * c->fb - c->b * c->fa) / (c->fb - c->fa);
}

/* f at the next place x. */
static inline void sm_chord_take(struct sm_chord *c, double x, double f)
{
    if (f * c->fb < 0.0) {
        c->a = c->b;
        c->fa = c->fb;
    } else {
        c->fa *= 0.5;
    }
    c->b = x;
    c->fb = f;
}

#endif
