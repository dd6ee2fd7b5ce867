/*
 * The chamber with flow along it: each station of each grain burns at its own pressure and mass flux.
 *
 * The chamber is cut along its axis into gaps, at the case's section, and grains, each cut into cells. At every instant the
 * flow along it is steady (ballistics/portflow.h) but for the gas that a rising pressure stores, which is spread evenly over
 * the gas space at the head end's density. A cell has its own distance burned; a burning end has its own and cuts cells by a
 * fraction. Over a step the propellant of each cell is known before and after it, so that the books close whatever the step.
 *
 * Reference: the equations are Shapiro's for one-dimensional flow with mass added at right angles; derived in docs/theory.md.
 */
#ifndef SM_BALLISTICS_AXIAL_H
#define SM_BALLISTICS_AXIAL_H

#include "ballistics/portflow.h"
#include "ballistics/result.h"
#include "ballistics/wall.h"
#include "num/power.h"

/* Free section against distance burned, from the grain's passage: cubics between levels. */
struct sm_axial_table {
    const double *w;    /* levels [m] */
    const double *area; /* [m2] */
    const double *before,
        *after; /* dA/dw on the two sides of a level, that is in the pieces it ends and begins [m] */
    size_t n;
};

struct sm_axial_cell {
    struct sm_axial_table table;
    double from, to; /* before burning, from the head end [m] */
    double w, next;  /* distance burned before and after the step [m] */
    double was;      /* free section before the step [m2] */
    double area;     /* free section in the middle of the step [m2] */
    double wall;     /* its burning perimeter [m] */
    double rate;     /* [m/s] */
    struct sm_port_point point;
    double flux;                          /* [kg m-2 s-1] */
    double plain;                         /* rate by pressure alone [m/s] */
    double added;                         /* by erosive burning [m/s] */
    struct sm_power by_pressure, by_flux; /* the rate by pressure; (G D)^-0.2 */
    size_t level;                         /* where in the table the last look-up ended */
};

/* One grain of the stack; a copy of an entry is a grain of its own. */
struct sm_axial_grain {
    const struct sm_geometry *geometry; /* borrowed */
    struct sm_axial_cell *cells;        /* n_cells; none of a grain that has no port through it */
    size_t n_cells;
    double from, to;       /* faces before burning [m] */
    double circle;         /* section that it was cast in [m2] */
    double share;          /* volume by the grain's own geometry over that by its sections [1] */
    struct sm_cover cover; /* of the wall */
    int burns[2];          /* do the fore and aft ends burn? */
    double end[2];         /* distance burned by the ends before the step [m] */
    double next[2];        /* and after it [m] */
    double face[2];        /* static pressure at the ends over the head end's, in the last step [1] */
    double now[2];         /* and in this one [1] */
    double even;           /* distance at which an evenly burned grain has as much left [m] */
    double block, unblock; /* of a grain without port: its distance burned before and after the step [m] */
};

struct sm_axial_grid {
    struct sm_axial_grain *grains; /* n_grains of them */
    size_t n_grains, n_cells;
    double case_area, case_length; /* [m2], [m] */
    double around;                 /* circumference of the bore [m] */
    double web;                    /* thickest [m] */
    double correction; /* largest miss of the sections' volume at any level, over the grain's [1] */
    double flame_from; /* foremost burning surface [m] */
};

/* Status: SM_E_NOMEM; SM_E_GEOMETRY for a grain that gas can't pass behind another; as sm_shape_passage. */
enum sm_status sm_axial_grid_init(struct sm_axial_grid *grid, const struct sm_motor *motor, size_t stations,
                                  struct sm_arena *arena, struct sm_error *err) SM_MUST_CHECK;

/* Free section [m2] and its growth [m] at distance burned w [m]; level is where to look first, and is moved. */
static inline double sm_axial_section(const struct sm_axial_table *t, double w, size_t *level, double *growth)
{
    size_t i = *level;
    *growth = 0.0;
    if (w >= t->w[t->n - 1])
        return t->area[t->n - 1];
    while (i > 0 && w < t->w[i])
        i--;
    while (i + 2 < t->n && w >= t->w[i + 1])
        i++;
    *level = i;
    const double h = t->w[i + 1] - t->w[i];
    if (!(h > 0.0))
        return t->area[i];
    const double u = w > t->w[i] ? (w - t->w[i]) / h : 0.0, rise = t->area[i + 1] - t->area[i];
    const double c3 = h * t->after[i] - rise, c4 = rise - h * t->before[i + 1], v = 1.0 - u;
    *growth = (rise + (v - u) * (v * c3 + u * c4) + u * v * (c4 - c3)) / h;
    return t->area[i] + u * rise + u * v * (v * c3 + u * c4);
}

/* Propellant of a grain [m3], before the step or after it; *moment its first moment about the head end [m4], or NULL. */
double sm_axial_volume(const struct sm_axial_grain *grain, int after, double *moment);

/* Length of a cell that burning ends leave, with these distances burned by them [m]. */
static inline double sm_axial_open(const struct sm_axial_grain *grain, const struct sm_axial_cell *cell,
                                   const double end[2])
{
    const double from = grain->from + end[0], to = grain->to - end[1];
    const double low = cell->from > from ? cell->from : from, high = cell->to < to ? cell->to : to;
    return high > low ? high - low : 0.0;
}

/* One step of the chamber, and what the flow is in it. */
struct sm_axial {
    const struct sm_chamber *chamber;
    struct sm_erosive_law erosive;
    struct sm_axial_grid grid;
    double gamma;        /* of the gas in the chamber [1] */
    double friction;     /* Fanning's [1] */
    double spread_speed; /* of the flame; SM_ABSENT: the epochs' share everywhere [m/s] */
    /* before the step */
    double t, dt;             /* [s] */
    double last;              /* head-end pressure of the step before [Pa] */
    double foretold, allowed; /* the step is no use if its pressure is further off this than that [Pa] */
    double slack;       /* what the pressure may be off by; the books take what that leaves as flow out [1] */
    double reach;       /* from the step's own instant to its end, over that from the last one's to it [1] */
    double gas_density; /* at the head end [kg/m3] */
    double gas_space;   /* [m3] */
    double warmth;      /* gas over flame temperature [1] */
    double growth;      /* of the throat's radius [m] */
    double igniter;     /* its mean flow over the step [kg/s] */
    int is_closed;      /* the nozzle */
    const struct sm_epoch *epoch;
    /* found by a march along the chamber */
    double head, aft;      /* static pressure at the head end and where the nozzle begins [Pa] */
    double total;          /* stagnation pressure there [Pa] */
    double mass_flow;      /* out [kg/s] */
    double made;           /* gas made over the step, without the igniter's [kg/s] */
    double stored;         /* of it kept in the gas space [kg/s] */
    double density, space; /* of gas at the head end [kg/m3]; gas space after the step [m3] */
    double heat;           /* x after the step [1] */
    double give;      /* how outflow less gas made rises with pressure, both logarithmic, as last found [1] */
    double choked_at; /* place where the last march that failed choked [m] */
    int chokes_backwards; /* did it run towards the head end? */
};

/* Marches from the head end at a pressure [Pa]. *excess is the flow that comes to the nozzle less what it lets out [kg/s].
 * Returned: 0 if it chokes on the way. */
int sm_axial_march(struct sm_axial *axial, double head, double *excess);

/* Readies a step of dt [s] and finds its pressure from a guess [Pa]; of a step that is no use, a pressure as far as it was
 * found. Status: SM_E_PHYSICS for a choked port, with its place,
 * and for a pressure past 1 GPa; SM_E_NUMERIC, saying when. */
enum sm_status sm_axial_solve(struct sm_axial *axial, double dt, double guess,
                              struct sm_error *err) SM_MUST_CHECK;

/* A row of the series. */
struct sm_axial_row {
    double t;                /* [s] */
    double head, aft, total; /* [Pa] */
    double thrust;           /* [N] */
    double flow;             /* out [kg/s] */
    double area, web;        /* [m2], [m] */
    double throat, ratio;    /* diameter [m], exit over throat area [1] */
    double mach, flux;       /* largest [1], [kg m-2 s-1] */
    struct sm_body propellant;
};

/* All that a run of the axial model leaves. */
struct sm_axial_trace {
    struct sm_trace books; /* without nodes */
    struct sm_axial_row *rows;
    size_t n;
    struct sm_axial_summary summary;
};

/* The run, from ignition to the end of tail-off. Status: as sm_axial_grid_init and sm_axial_solve. */
enum sm_status sm_march_axial(const struct sm_motor *motor, const struct sm_chamber *chamber,
                              const struct sm_march_options *options, size_t stations, double temperature,
                              struct sm_arena *arena, struct sm_axial_trace *trace,
                              struct sm_error *err) SM_MUST_CHECK;

/* No axial model: all absent. */
void sm_axial_absent(struct sm_axial_summary *summary);

/* Sets the peak against that of the lumped chamber, run beside; absent if that has no answer. */
void sm_axial_compare(const struct sm_motor *motor, const struct sm_run_options *options, struct sm_run *run);

/* Largest pressure of one series over the highest of another when as much propellant is burned, to a fiftieth of it, between
 * 2 % and 90 % of it: the rise, the tail and the instant at which a grain burns out are no erosive peak [1]. */
double sm_axial_ratio(const struct sm_series *axial, const struct sm_series *lumped);

/* Series from its rows. */
enum sm_status sm_series_from_axial(const struct sm_motor *motor, const struct sm_axial_trace *trace,
                                    struct sm_arena *arena, struct sm_series *series,
                                    struct sm_error *err) SM_MUST_CHECK;

#endif
