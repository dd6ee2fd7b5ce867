/* The transient march's own state, shared between its steps and its events. */
#ifndef SM_BALLISTICS_MARCH_H
#define SM_BALLISTICS_MARCH_H

#include "ballistics/trace.h"

enum sm_event {
    SM_NO_EVENT,
    SM_PIECE_END,   /* the surface takes another form, or is gone */
    SM_BAND_TOP,    /* pressure leaves its band */
    SM_BAND_BOTTOM, /* */
    SM_REST_HIGH,   /* a chamber that rests on a joint can do so no longer */
    SM_REST_LOW,    /* */
    SM_FILLS,       /* the flow comes to fill the cone */
    SM_LEAVES,      /* and leaves it again */
    SM_OPENS,       /* the closure gives way */
    SM_HALF_GONE,   /* half of the propellant is burned: from here on thrust may fade */
    SM_FADED        /* thrust is a thousandth of its peak */
};

struct sm_march {
    const struct sm_chamber *chamber;
    struct sm_bands bands;
    struct sm_chamber_system system;
    struct sm_arena *arena;
    struct sm_stretch *stretches;
    size_t n, capacity;
    double t, h;                 /* [s] */
    double y[SM_N_UNKNOWNS];     /* [Pa], [m], [kg], [m], [1] */
    double impulse;              /* so far [N s] */
    double scale[SM_N_UNKNOWNS]; /* floor of the error scale [unit of y] */
    double tolerance;            /* relative, of a step [1] */
    double thrust, peak_thrust;  /* now, and so far [N] */
    double fade_pressure;        /* below which the run ends; 0 while that is not judged [Pa] */
    double half_web;             /* distance at which half of the propellant is burned [m] */
    double booked;               /* by the books at the end of the last step [kg] */
    double books_allowed;        /* that they may be off by at the end of the run [kg] */
    int may_fade;                /* is half of it burned? */
    size_t rejected, zero_events;
};

static inline int sm_march_burned_out(const struct sm_march *m)
{
    return m->system.mode.piece >= m->chamber->stack->n_pieces;
}

/* The measure of an event at time t [s] with unknowns y: positive while the present mode holds, of order one. */
double sm_event_measure(const struct sm_march *m, enum sm_event kind, double t, const double *y);

/* The first event within a step, and at which share of it; SM_NO_EVENT if there is none. */
enum sm_event sm_event_first(const struct sm_march *m, const struct sm_ros_step *step, double *theta);

/* Puts the other formulas in place. Returned: is the run over? */
int sm_event_pass(struct sm_march *m, enum sm_event kind);

/* Goes on to the epoch that holds the present time. */
void sm_event_pass_epochs(struct sm_march *m);

/* Sets what follows from pressure and time alone at the start. */
void sm_march_set_mode(struct sm_march *m);

#endif
