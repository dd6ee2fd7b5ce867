/* What a march leaves behind: the smooth stretches it took, and the nodes a series is made of. */
#ifndef SM_BALLISTICS_TRACE_H
#define SM_BALLISTICS_TRACE_H

#include "ballistics/chamber.h"
#include "slowmatch/context.h"
#include "slowmatch/simulate.h"

/* One accepted step, with the formulas that held in it. */
struct sm_stretch {
    struct sm_ros_step step;
    struct sm_mode mode;
};

/* One instant of the run. Two may share their time where the burning area jumps. */
struct sm_node {
    double t;                /* [s] */
    double y[SM_N_UNKNOWNS]; /* enum sm_unknown [Pa], [m], [kg], [m], [1] */
    struct sm_mode mode;
};

struct sm_trace {
    struct sm_node *nodes; /* n_nodes of them, in order of time */
    size_t n_nodes;
    double impulse, expelled; /* at the end [N s], [kg] */
    double volume_left;       /* of propellant at the end [m3] */
    double gas_left;          /* in the chamber at the end [kg] */
    double delivered;         /* by the igniter [kg] */
    size_t steps, rejected;
    enum sm_run_end end;
};

/* What a march is asked for. */
struct sm_march_options {
    double accuracy;                    /* of total impulse, relative [1] */
    const struct sm_progress *progress; /* may be NULL */
};

/* What the books may be off by at the end of a run of this accuracy, over the loaded mass [1]. */
static inline double sm_books_allowed(double accuracy)
{
    return accuracy > 1e-6 ? 0.1 * accuracy : 1e-9;
}

/*
 * The transient run of a chamber, from ignition to the end of tail-off. Everything it makes lives in the
 * arena. Status: SM_E_PHYSICS if the pressure runs away or there is no thrust; SM_E_INTERNAL if the step
 * shrinks to nothing, which no motor is known to do.
 */
enum sm_status sm_march_transient(const struct sm_chamber *chamber, const struct sm_march_options *options,
                                  struct sm_arena *arena, struct sm_trace *trace,
                                  struct sm_error *err) SM_MUST_CHECK;

/* The quasi-steady run: at each distance burned the pressure at which gas made equals gas let out, on the
 * branch that continues the past. */
enum sm_status sm_march_equilibrium(const struct sm_chamber *chamber, const struct sm_march_options *options,
                                    struct sm_arena *arena, struct sm_trace *trace,
                                    struct sm_error *err) SM_MUST_CHECK;

/* Nodes from stretches: enough that straight lines between them are true to options->accuracy of the peak
 * pressure, and nodes at the peak and at the levels that burn and action times are read off. */
enum sm_status sm_trace_sample(const struct sm_chamber *chamber, const struct sm_stretch *stretches, size_t n,
                               double accuracy, struct sm_arena *arena, struct sm_trace *trace,
                               struct sm_error *err) SM_MUST_CHECK;

/* Chamber pressure at which thrust is F [N], by bisection; thrust never falls as pressure rises. */
double sm_pressure_of_thrust(const struct sm_jet *jet, double thrust, double highest);

#endif
