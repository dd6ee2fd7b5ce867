/*
 * The zero-dimensional chamber: one pressure, one distance burned.
 *
 *   V/(RT) dP/dt = s (rho_p - P/(RT)) A_b r - mdot        dw/dt = s r        dV/dt = s A_b r
 *
 * s(t) is the lit share of the surface, rising in a straight line over the spread time. The gas is held
 * isothermal, so filling and tail times come out long by up to a factor gamma. Reference: mass balance of the
 * chamber as every text on solid rockets has it, e.g. Sutton and Biblarz, Rocket Propulsion Elements, ch. 11;
 * isothermal filling time L* / (c* Gamma^2).
 */
#ifndef SM_BALLISTICS_CHAMBER_H
#define SM_BALLISTICS_CHAMBER_H

#include "motor/motor.h"
#include "num/rosenbrock.h"

/* What stays the same through one run. */
struct sm_chamber {
    const struct sm_geometry *stack; /* borrowed from the motor */
    const size_t *run_end; /* one a piece: the last of the pieces that join it without jump or kink */
    struct sm_burn_law law;
    struct sm_jet jet;
    double density;        /* of the propellant [kg/m3] */
    double rt;             /* [J/kg] */
    double volume_empty;   /* gas space when all propellant is gone [m3] */
    double spread_time;    /* [s] */
    double start_pressure; /* [Pa] */
    double loaded;         /* propellant and igniter gas at time zero [kg] */
};

/* The unknowns, in the order of the integrator's vector. */
enum sm_unknown { SM_P, SM_W, SM_IMPULSE, SM_EXPELLED, SM_N_UNKNOWNS };

/* Which formulas hold now. A band is a stretch of pressure over which one burning-rate segment and one flow
 * regime hold; bands are numbered in rising pressure. */
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
    int is_sliding; /* pressure rests on edge[band], between the rates on its two sides */
    int is_spreading;
};

/* What a chamber does at one instant. */
struct sm_instant {
    double area, volume_left; /* burning area of the whole surface [m2], propellant left [m3] */
    double lit;               /* share of it that burns [1] */
    double rate;              /* burning rate [m/s] */
    double mass_flow;         /* out [kg/s] */
    double thrust;            /* [N] */
};

/* At grain temperature [K]; what it allocates lives in the arena. */
enum sm_status sm_chamber_init(struct sm_chamber *chamber, const struct sm_motor *motor, double temperature,
                               struct sm_arena *arena, struct sm_error *err) SM_MUST_CHECK;
void sm_bands_init(struct sm_bands *bands, const struct sm_chamber *chamber);

/* The piece that holds distance burned w [m] in a mode, within the mode's run. */
size_t sm_chamber_piece(const struct sm_chamber *chamber, const struct sm_mode *mode, double w);

/* Does the burning area jump where the run of the piece before ends and the next begins? */
int sm_chamber_jumps(const struct sm_chamber *chamber, size_t before, size_t after);

/* At time t [s], pressure P [Pa] and distance burned w [m] in a given mode. */
void sm_chamber_instant(const struct sm_chamber *chamber, const struct sm_bands *bands,
                        const struct sm_mode *mode, double t, double pressure, double w,
                        struct sm_instant *now);

/* The rate at which the gas made equals the gas let out, at pressure P and lit burning area A [m2]; what a
 * sliding chamber burns at [m/s]. */
double sm_chamber_rest_rate(const struct sm_chamber *chamber, double pressure, double lit_area);

/* Gas made at rate r less gas let out [kg/s]: its sign is that of dP/dt. */
double sm_chamber_surplus(const struct sm_chamber *chamber, double pressure, double lit_area, double rate);

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
