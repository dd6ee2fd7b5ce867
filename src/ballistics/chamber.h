/*
 * The zero-dimensional chamber: one pressure, one distance burned.
 *
 *   V/(RT) dP/dt = s (rho_p - P/(RT)) A_b r + mdot_i - sqrt(x) mdot - b (x - x_w)      dw/dt = s r      dV/dt = s A_b r
 *
 * s(t) is the lit share of the surface, mdot_i the igniter's flow. x is the gas's temperature over the flame's: 1 unless the
 * bare wall takes heat, and then
 *
 *   P V/(RT x) dx/dt = (s rho_p A_b r + mdot_i) (1 - x) - b (x - x_w),      b = h A_bare / c_p,
 *
 * which is the first law with the work of compression left out, so that without heat loss the gas stays isothermal, and
 * filling and tail times come out long by up to a factor gamma. The mass in the chamber is P V/(RT x), and mass is kept
 * exactly. mdot is the nozzle's flow at the flame's temperature; it goes as 1/sqrt(x).
 *
 * The throat's radius may grow or shrink as a power of pressure, and with it the nozzle's stream.
 *
 * Reference: mass balance of the chamber as every text on solid rockets has it, e.g. Sutton and Biblarz, Rocket Propulsion
 * Elements, ch. 11; isothermal filling time L* / (c* Gamma^2). Derived in docs/theory.md.
 */
#ifndef SM_BALLISTICS_CHAMBER_H
#define SM_BALLISTICS_CHAMBER_H

#include "ballistics/ignition.h"
#include "ballistics/wall.h"
#include "motor/motor.h"
#include "num/rosenbrock.h"

/* The unknowns, in the order of the integrator's vector. The last two are carried only if they change. */
enum sm_unknown {
    SM_P,        /* pressure [Pa] */
    SM_W,        /* distance burned [m] */
    SM_EXPELLED, /* [kg] */
    SM_N_PLAIN,
    SM_GROWTH = SM_N_PLAIN, /* of the throat's radius [m] */
    SM_WARMTH,              /* gas temperature over flame temperature [1] */
    SM_N_UNKNOWNS
};

/* What stays the same through one run. */
struct sm_chamber {
    const struct sm_geometry *stack; /* borrowed from the motor */
    const size_t *run_end;         /* one a piece: the last of the pieces that join it without jump or kink */
    const struct sm_epoch *epochs; /* n_epochs of them */
    size_t n_epochs;
    struct sm_burn_law law;
    struct sm_jet jet;       /* through the throat as it is at the start */
    double throat_area;      /* of the throat itself at the start; the jet's is less by discharge [m2] */
    double throat_radius;    /* at the start [m] */
    double discharge;        /* [1] */
    double density;          /* of the propellant [kg/m3] */
    double rt;               /* at the flame's temperature [J/kg] */
    double volume_empty;     /* gas space when all propellant is gone [m3] */
    double start_pressure;   /* [Pa] */
    double closure_pressure; /* at which the nozzle opens; 0: it is open [Pa] */
    double loaded;           /* propellant and gas at time zero [kg] */
    struct sm_wear erosion, deposit;
    struct sm_bare_wall wall;
    double cooling;     /* h / c_p [kg m-2 s-1] */
    double wall_warmth; /* x_w, wall temperature over flame temperature [1] */
    int wears, cools;   /* are growth and warmth carried? */
};

/* Which formulas hold now. A band is a stretch of pressure over which one burning-rate segment and one of choked and
 * unchoked flow hold; bands are numbered in rising pressure. */
enum { SM_MAX_BANDS = 80 };
struct sm_bands {
    double edge[SM_MAX_BANDS - 1];  /* between band i and i + 1 [Pa] */
    size_t segment[SM_MAX_BANDS];   /* burning-rate segment of band i */
    int is_joint[SM_MAX_BANDS - 1]; /* the rate may step there */
    size_t n;                       /* bands */
};

struct sm_mode {
    size_t piece; /* of the stack's geometry, or an earlier one of its run; n_pieces once burned out */
    size_t band;
    size_t epoch;
    int is_sliding; /* pressure rests on edge[band], between the rates on its two sides */
    int is_closed;  /* the nozzle's closure holds */
    int is_full;    /* the flow fills the exit cone */
};

/* What a chamber does at one instant. */
struct sm_instant {
    double area, volume_left; /* burning area of the whole surface [m2], propellant left [m3] */
    double lit;               /* share of it that burns [1] */
    double rate;              /* burning rate [m/s] */
    double mass_flow;         /* out [kg/s] */
    double thrust;            /* [N] */
    double throat_area;       /* of the throat itself [m2] */
    double exit_area;         /* [m2] */
};

/* At grain temperature [K]; heat_transfer in place of the case's own unless it is absent [W m-2 K-1]. What it allocates lives
 * in the arena. */
enum sm_status sm_chamber_init(struct sm_chamber *chamber, const struct sm_motor *motor, double temperature,
                               double heat_transfer, struct sm_arena *arena,
                               struct sm_error *err) SM_MUST_CHECK;
void sm_bands_init(struct sm_bands *bands, const struct sm_chamber *chamber);
size_t sm_bands_find(const struct sm_bands *bands, double pressure);

/* The jet through the throat after growth of its radius [m]: the chamber's own, or one made in room. */
const struct sm_jet *sm_chamber_jet(const struct sm_chamber *chamber, double growth, struct sm_jet *room);

/* Speed of the throat's wall, outwards, in an epoch [m/s], and its slope [m/s/Pa], which may be NULL. */
double sm_chamber_wear(const struct sm_chamber *chamber, const struct sm_epoch *epoch, double pressure,
                       double *slope);

/* Says if growth of the throat's radius has left no nozzle: SM_E_PHYSICS, at time t [s]. */
enum sm_status sm_chamber_check_throat(const struct sm_chamber *chamber, double growth, double t,
                                       struct sm_error *err) SM_MUST_CHECK;

/* The piece that holds distance burned w [m] in a mode, within the mode's run. */
size_t sm_chamber_piece(const struct sm_chamber *chamber, const struct sm_mode *mode, double w);

/* The surface there; none once burned out. */
void sm_chamber_surface(const struct sm_chamber *chamber, const struct sm_mode *mode, double w,
                        struct sm_surface *out);

/* Does the burning area jump where the run of the piece before ends and the next begins? */
int sm_chamber_jumps(const struct sm_chamber *chamber, size_t before, size_t after);

/* At time t [s] with unknowns y in a given mode. */
void sm_chamber_instant(const struct sm_chamber *chamber, const struct sm_bands *bands,
                        const struct sm_mode *mode, double t, const double *y, struct sm_instant *now);

/* All that the pressure's rest depends on but the pressure itself. */
struct sm_supply {
    const struct sm_chamber *chamber;
    const struct sm_jet *jet; /* NULL: nothing flows out */
    double lit_area;          /* [m2] */
    double inflow;            /* [kg/s] */
    double heat;              /* b = h A_bare / c_p [kg/s] */
    double warmth;            /* x, or absent for that at which heat lost equals heat brought [1] */
};

/* Gas made at pressure P and rate r less what is let out and lost to cooling [kg/s]: its sign is that of dP/dt. */
double sm_supply_surplus(const struct sm_supply *supply, double pressure, double rate);

/* The rate at which that is zero [m/s]; what a sliding chamber burns at. warmth must be given. */
double sm_supply_rest_rate(const struct sm_supply *supply, double pressure);

/* x at which heat lost equals heat brought by rate r [1]. */
double sm_supply_warmth(const struct sm_supply *supply, double rate);

/* A system for the integrator. user must point to this struct, alive while the system is. */
struct sm_chamber_system {
    const struct sm_chamber *chamber;
    const struct sm_bands *bands;
    struct sm_mode mode;
    struct sm_ros_system ros;
};
void sm_chamber_system_init(struct sm_chamber_system *system, const struct sm_chamber *chamber,
                            const struct sm_bands *bands);

#endif
