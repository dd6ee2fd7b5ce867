/*
 * The chamber's equations written a second time, plainly and without the library's code, for GSL to integrate: closed-form
 * grains, a burning-rate law of segments, the nozzle with separation and unchoked flow, the tail as an integral over
 * pressure.
 */
#ifndef TESTS_PLAINCHAMBER_H
#define TESTS_PLAINCHAMBER_H

#include <stddef.h>

enum { PLAIN_MAX_SEGMENTS = 8 };

struct plain_segment {
    double to;       /* [Pa] */
    double rate;     /* at 1 MPa [m/s] */
    double exponent; /* [1] */
};

struct plain_chamber {
    double outer, bore, length; /* radii and length of one grain [m]; bore 0: an end burner */
    int count;                  /* of tubes */
    int ends;                   /* do the tubes' ends burn too? */
    double density;             /* [kg/m3] */
    struct plain_segment law[PLAIN_MAX_SEGMENTS];
    int n_segments;
    double smear; /* width over which a step of the law is spread, of its pressure; 0: none [1] */
    double gamma, flame, molar, efficiency; /* [1], [K], [kg/mol], of c* [1] */
    double throat, exit, angle, zeta; /* diameters [m], half angle of the cone [rad], thrust efficiency [1] */
    double ambient, start, spread, free; /* [Pa], [Pa], [s], gas space before burning [m3] */
};

struct plain_totals {
    double impulse;        /* to where thrust is a thousandth of its peak [N s] */
    double peak;           /* pressure [Pa] */
    double burned;         /* time at which nothing is left [s] */
    double impulse_burned; /* up to then [N s] */
};

double plain_rt(const struct plain_chamber *c);
double plain_cstar(const struct plain_chamber *c);
double plain_rate(const struct plain_chamber *c, double pressure);
double plain_area(const struct plain_chamber *c, double w);
double plain_mass(const struct plain_chamber *c);
double plain_web(const struct plain_chamber *c);
double plain_mass_flow(const struct plain_chamber *c, double pressure);
double plain_thrust(const struct plain_chamber *c, double pressure);

/* The same motor as a file, with the propellant of that name, or with its own numbers in place if name is NULL. */
void plain_write(const struct plain_chamber *c, const char *name, char *text, size_t size);

/* By GSL's order-8 stepper at 1e-12, first in time while the flame spreads, then in the distance burned, so that the end of
 * burning is met exactly; then the tail by quadrature over pressure, split where the flow changes. */
void plain_march(const struct plain_chamber *c, struct plain_totals *totals);

#endif
