/*
 * One step of a stiff ordinary differential equation with dense output.
 *
 * Method: RODAS, a stiffly accurate Rosenbrock method of order 4(3) with six stages, L-stable; dense output of order 3.
 * Reference: E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, 2nd ed., Springer 1996, sec. IV.7 and VI.4.
 * GSL has no stiff method with dense output, and events need one.
 */
#ifndef SM_NUM_ROSENBROCK_H
#define SM_NUM_ROSENBROCK_H

#include "base/fail.h"

enum { SM_ROS_MAX = 6 }; /* equations at most */

/* A right-hand side answers three ways. */
enum sm_rhs { SM_RHS_GOOD, SM_RHS_SMALLER_STEP, SM_RHS_STOP };

struct sm_ros_system {
    int n; /* equations, 1 to SM_ROS_MAX */
    void *user;
    /* dy[n] = f(t, y[n]) */
    enum sm_rhs (*slope)(void *user, double t, const double *y, double *dy);
    /* jac[i * n + j] = df_i/dy_j and dfdt[n] = df/dt, at (t, y) */
    enum sm_rhs (*jacobian)(void *user, double t, const double *y, double *jac, double *dfdt);
};

/* A step from t to t + h. Component i at t + theta h is
 * y0 (1 - theta) + theta (y1 + (1 - theta) (c3 + theta c4)). */
struct sm_ros_step {
    double t, h;                                                           /* [s] */
    double y0[SM_ROS_MAX], y1[SM_ROS_MAX], c3[SM_ROS_MAX], c4[SM_ROS_MAX]; /* [unit of y] */
    double error[SM_ROS_MAX]; /* estimate of y1's error [unit of y] */
};

/* Fills step but for error control, which is the caller's. Answers SM_RHS_SMALLER_STEP where a stage failed or the
 * matrix is singular. */
enum sm_rhs sm_ros_step(const struct sm_ros_system *system, double t, const double *y, double h,
                        struct sm_ros_step *step);

/* Component i at theta in [0, 1]. */
double sm_ros_dense(const struct sm_ros_step *step, int i, double theta);

#endif
