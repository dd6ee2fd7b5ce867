/*
 * The stiff stepper against equations with known solutions. The orders are those published for RODAS: 4 for the step, 3
 * for its dense output (E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, 2nd ed., 1996).
 */
#include "num/rosenbrock.h"

#include <criterion/criterion.h>
#include <math.h>

/* y0' = -k (y0 - cos t) - sin t + (y0^2 - cos^2 t) / 10, y0 = cos t; y1' = -y1^2 y0, y1 = 1 / (1 + sin t). */
static enum sm_rhs slope(void *user, double t, const double *y, double *dy)
{
    const double k = *(const double *)user, c = cos(t);
    dy[0] = -k * (y[0] - c) - sin(t) + 0.1 * (y[0] * y[0] - c * c);
    dy[1] = -y[1] * y[1] * y[0];
    return SM_RHS_GOOD;
}

static enum sm_rhs jacobian(void *user, double t, const double *y, double *jac, double *dfdt)
{
    const double k = *(const double *)user;
    jac[0] = -k + 0.2 * y[0];
    jac[1] = 0.0;
    jac[2] = -y[1] * y[1];
    jac[3] = -2.0 * y[1] * y[0];
    dfdt[0] = -k * sin(t) - cos(t) + 0.2 * cos(t) * sin(t);
    dfdt[1] = 0.0;
    return SM_RHS_GOOD;
}

/* Largest errors over [0, 1] in n equal steps: at the end, and of the dense output at 0.4 of each step. */
static void errors(double k, int n, double *end, double *dense)
{
    const struct sm_ros_system system = {.n = 2, .user = &k, .slope = slope, .jacobian = jacobian};
    struct sm_ros_step step;
    double y[2] = {1.0, 1.0};
    const double h = 1.0 / n;
    *dense = 0.0;
    for (int i = 0; i < n; i++) {
        cr_assert(sm_ros_step(&system, i * h, y, h, &step) == SM_RHS_GOOD);
        *dense = fmax(*dense, fabs(sm_ros_dense(&step, 0, 0.4) - cos((i + 0.4) * h)));
        y[0] = step.y1[0];
        y[1] = step.y1[1];
    }
    *end = fabs(y[0] - cos(1.0)) + fabs(y[1] - 1.0 / (1.0 + sin(1.0)));
}

Test(rosenbrock, has_its_published_orders)
{
    double coarse, fine, coarse_dense, fine_dense;
    errors(1.0, 40, &coarse, &coarse_dense);
    errors(1.0, 160, &fine, &fine_dense);
    const double order = log2(coarse / fine) / 2.0, dense_order = log2(coarse_dense / fine_dense) / 2.0;
    cr_expect(order > 3.7, "order %g of the step", order);
    cr_expect(dense_order > 2.9, "order %g of the dense output", dense_order);
}

/* Steps a thousand times longer than the fast time scale still give a sound answer: the method is L-stable. */
Test(rosenbrock, takes_stiff_steps)
{
    double end, dense;
    errors(1e5, 10, &end, &dense);
    cr_expect(end < 1e-6, "error %g", end);
}

static enum sm_rhs refuse(void *user, double t, const double *y, double *dy)
{
    (void)user;
    (void)t;
    (void)y;
    (void)dy;
    return SM_RHS_SMALLER_STEP;
}

Test(rosenbrock, hands_on_what_the_right_hand_side_answers)
{
    double k = 1.0;
    const double y[2] = {1.0, 1.0};
    struct sm_ros_step step;
    const struct sm_ros_system system = {.n = 2, .user = &k, .slope = refuse, .jacobian = jacobian};
    cr_expect(sm_ros_step(&system, 0.0, y, 0.1, &step) == SM_RHS_SMALLER_STEP);
}
