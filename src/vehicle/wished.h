/*
 * A wished flight as motion alone: up to a height, hover there, down again, from rest to rest.
 *
 * Up it speeds up at +a and slows down at -a; then it hovers; down it speeds up at -a and slows down at +a. Splay takes its time,
 * so that each change of acceleration is a ramp, half a cosine: its splay need not turn infinitely fast where it starts from none.
 */
#ifndef SM_VEHICLE_WISHED_H
#define SM_VEHICLE_WISHED_H

enum { SM_WISHED_PARTS = 9 }; /* +a, turn, -a, ease, hover, and back again */

struct sm_instant {
    double t;            /* since lift-off [s] */
    double height;       /* [m] */
    double speed;        /* upwards [m/s] */
    double acceleration; /* [m/s2] */
};

struct sm_wished {
    double hover;                                  /* [s] */
    double acceleration;                           /* [m/s2] */
    double turn;                                   /* ramp from +a to -a, and back [s] */
    double ease;                                   /* ramp from -a to none, and back [s] */
    double steady;                                 /* for which it keeps at +a [s] */
    struct sm_instant begins[SM_WISHED_PARTS + 1]; /* states at the parts' borders */
};

/* Returned: 0, and nothing, if the ramps take up more than all of the height. */
int sm_wished_make(double height, double hover, double acceleration, double turn, double ease,
                   struct sm_wished *out);

/* How long a part takes [s]. */
double sm_wished_length(const struct sm_wished *w, int part);

/* At a time [s] within the flight; at a border of parts the later one. */
struct sm_instant sm_wished_when(const struct sm_wished *w, double t);

/* From lift-off to contact [s]. */
double sm_wished_whole(const struct sm_wished *w);

#endif
