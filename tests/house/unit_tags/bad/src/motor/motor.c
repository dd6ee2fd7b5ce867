#include "slowmatch/motor.h"

/* [m] */
struct local { double one; };

static int sum(void)
{
    struct state {
        /* serves one field only [s] */
        double a;
        double b;
        /* this one is a's neighbour's neighbour's [s] */
        double c;
        double d; /* "quoted, and it's bare" */
    } state;
    return 0;
}
