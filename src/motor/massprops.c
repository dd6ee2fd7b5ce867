#include "motor/motor.h"

#include <math.h>

void sm_propellant_body(double density, const struct sm_geometry_at *at, struct sm_body *body)
{
    const double *v = at->value;
    *body = (struct sm_body){0};
    if (!(v[SM_VOLUME] > 0.0))
        return;
    const double zc = v[SM_Z] / v[SM_VOLUME], xc = v[SM_X] / v[SM_VOLUME], yc = v[SM_Y] / v[SM_VOLUME];
    const double across = v[SM_XX] + v[SM_YY];
    body->mass = density * v[SM_VOLUME];
    body->center_of_mass = zc;
    body->inertia_axial = density * across;
    /* The mean over the two transverse axes through the centre of mass, by the parallel-axis theorem. */
    const double along = v[SM_ZZ] - zc * zc * v[SM_VOLUME];
    const double side = 0.5 * (across - (xc * xc + yc * yc) * v[SM_VOLUME]);
    body->inertia_transverse = density * fmax(0.0, along + side);
}

void sm_body_join(const struct sm_body *a, const struct sm_body *b, struct sm_body *out)
{
    const double mass = a->mass + b->mass;
    const double apart = a->center_of_mass - b->center_of_mass;
    struct sm_body sum = {
        .mass = mass,
        .center_of_mass = a->center_of_mass,
        .inertia_axial = a->inertia_axial + b->inertia_axial,
        .inertia_transverse = a->inertia_transverse + b->inertia_transverse,
    };
    if (mass > 0.0) {
        sum.center_of_mass = (a->mass * a->center_of_mass + b->mass * b->center_of_mass) / mass;
        sum.inertia_transverse += a->mass * b->mass / mass * apart * apart;
    }
    *out = sum;
}
