#include "num/rosenbrock.h"

#include <math.h>
#include <string.h>

/* Coefficients of the book's RODAS in the form that needs no matrix products: stage u_i solves
 * (I/(gamma h) - J) u_i = f(t + alpha_i h, y + sum a_ij u_j) + sum (c_ij / h) u_j + gamma_i h df/dt. */
enum { STAGES = 6 };
static const double gamma0 = 0.25;
static const double alpha[STAGES] = {0.0, 0.386, 0.21, 0.63, 1.0, 1.0};
static const double gammas[STAGES] = {0.25, -0.1043, 0.1035, -0.3620000000000023e-1, 0.0, 0.0};
static const double a[STAGES][STAGES] = {
    {0.0},
    {0.1544000000000000e1},
    {0.9466785280815826, 0.2557011698983284},
    {0.3314825187068521e1, 0.2896124015972201e1, 0.9986419139977817},
    {0.1221224509226641e1, 0.6019134481288629e1, 0.1253708332932087e2, -0.6878860361058950},
    {0.1221224509226641e1, 0.6019134481288629e1, 0.1253708332932087e2, -0.6878860361058950, 1.0},
};
static const double c[STAGES][STAGES] = {
    {0.0},
    {-0.5668800000000000e1},
    {-0.2430093356833875e1, -0.2063599157091915},
    {-0.1073529058151375, -0.9594562251023355e1, -0.2047028614809616e2},
    {0.7496443313967647e1, -0.1024680431464352e2, -0.3399990352819905e2, 0.1170890893206160e2},
    {0.8083246795921522e1, -0.7981132988064893e1, -0.3152159432874371e2, 0.1631930543123136e2,
     -0.6058818238834054e1},
};
static const double dense3[STAGES] = {0.1012623508344586e2,  -0.7487995877610167e1, -0.3480091861555747e2,
                                      -0.7992771707568823e1, 0.1025137723295662e1,  0.0};
static const double dense4[STAGES] = {-0.6762803392301253,  0.6087714651680015e1,  0.1643084320892478e2,
                                      0.2476722511418386e2, -0.6594389125716872e1, 0.0};

/* LU decomposition in place with row exchanges; false if singular. */
static inline int decompose(double *m, const int n, int *rows)
{
    for (int k = 0; k < n; k++) {
        int best = k;
        for (int i = k + 1; i < n; i++)
            if (fabs(m[i * n + k]) > fabs(m[best * n + k]))
                best = i;
        rows[k] = best;
        if (!(fabs(m[best * n + k]) > 0.0))
            return 0;
        for (int j = 0; best != k && j < n; j++) {
            const double swap = m[k * n + j];
            m[k * n + j] = m[best * n + j];
            m[best * n + j] = swap;
        }
        for (int i = k + 1; i < n; i++) {
            const double factor = m[i * n + k] /= m[k * n + k];
            if (factor == 0.0) /* exact zeros are common: impulse and mass feed nothing back */
                continue;
            for (int j = k + 1; j < n; j++)
                m[i * n + j] -= factor * m[k * n + j];
        }
    }
    return 1;
}

static inline void solve(const double *lu, const int n, const int *rows, double *b)
{
    for (int k = 0; k < n; k++) { /* exchanges were made on whole rows, so they all come first */
        const double swap = b[k];
        b[k] = b[rows[k]];
        b[rows[k]] = swap;
    }
    for (int i = 1; i < n; i++)
        for (int j = 0; j < i; j++)
            b[i] -= lu[i * n + j] * b[j];
    for (int i = n - 1; i >= 0; i--) {
        for (int j = i + 1; j < n; j++)
            b[i] -= lu[i * n + j] * b[j];
        b[i] /= lu[i * n + i];
    }
}

struct work {
    double lu[SM_ROS_MAX * SM_ROS_MAX]; /* [1/s and others] */
    int rows[SM_ROS_MAX];
    double dfdt[SM_ROS_MAX];      /* [unit of y per s2] */
    double u[STAGES][SM_ROS_MAX]; /* [unit of y] */
};

static inline enum sm_rhs prepare(const struct sm_ros_system *system, const int n, double t, const double *y,
                                  double h, struct work *w)
{
    double jac[SM_ROS_MAX * SM_ROS_MAX];
    const enum sm_rhs answer = system->jacobian(system->user, t, y, jac, w->dfdt);
    if (answer != SM_RHS_GOOD)
        return answer;
    for (int i = 0; i < n * n; i++)
        w->lu[i] = -jac[i];
    for (int i = 0; i < n; i++)
        w->lu[i * n + i] += 1.0 / (gamma0 * h);
    return decompose(w->lu, n, w->rows) ? SM_RHS_GOOD : SM_RHS_SMALLER_STEP;
}

/* Stage s: its argument goes to at, its increment to w->u[s]. */
static inline enum sm_rhs stage(const struct sm_ros_system *system, const int n, double t, const double *y,
                                double h, int s, struct work *w, double *at)
{
    for (int i = 0; i < n; i++) {
        at[i] = y[i];
        for (int j = 0; j < s; j++)
            at[i] += a[s][j] * w->u[j][i];
    }
    double *u = w->u[s];
    const enum sm_rhs answer = system->slope(system->user, t + alpha[s] * h, at, u);
    if (answer != SM_RHS_GOOD)
        return answer;
    const double per_h = 1.0 / h;
    for (int i = 0; i < n; i++) {
        u[i] += gammas[s] * h * w->dfdt[i];
        for (int j = 0; j < s; j++)
            u[i] += c[s][j] * per_h * w->u[j][i];
    }
    solve(w->lu, n, w->rows, u);
    return SM_RHS_GOOD;
}

static inline enum sm_rhs step_of(const struct sm_ros_system *system, const int n, double t, const double *y,
                                  double h, struct sm_ros_step *step)
{
    struct work w;
    enum sm_rhs answer = prepare(system, n, t, y, h, &w);
    double at[SM_ROS_MAX];
    for (int s = 0; s < STAGES && answer == SM_RHS_GOOD; s++)
        answer = stage(system, n, t, y, h, s, &w, at);
    if (answer != SM_RHS_GOOD)
        return answer;
    step->t = t;
    step->h = h;
    for (int i = 0; i < n; i++) {
        step->y0[i] = y[i];
        step->error[i] = w.u[STAGES - 1][i];
        step->y1[i] = at[i] + step->error[i];
        step->c3[i] = step->c4[i] = 0.0;
        for (int s = 0; s < STAGES - 1; s++) {
            step->c3[i] += dense3[s] * w.u[s][i];
            step->c4[i] += dense4[s] * w.u[s][i];
        }
        if (!isfinite(step->y1[i]))
            return SM_RHS_SMALLER_STEP;
    }
    return SM_RHS_GOOD;
}

enum sm_rhs sm_ros_step(const struct sm_ros_system *system, double t, const double *y, double h,
                        struct sm_ros_step *step)
{
    /* The chamber has three unknowns as a rule; with their number known the loops unroll. */
    if (system->n == 3)
        return step_of(system, 3, t, y, h, step);
    return step_of(system, system->n, t, y, h, step);
}

double sm_ros_dense(const struct sm_ros_step *step, int i, double theta)
{
    /* In this order what does not change comes out unchanged, to the last bit. */
    const double bend = step->c3[i] + theta * step->c4[i];
    return step->y0[i] + theta * (step->y1[i] - step->y0[i] + (1.0 - theta) * bend);
}
