/*
 * The least-squares search against certified answers, from both published starts of each set. The same call fits burning
 * laws.
 */
#include <criterion/criterion.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "num/lsq.h"
#include "reference/reference.h"

enum { MOST = 64, PARAMETERS = 7 };

struct set {
    const char *name;
    double (*model)(const double *b, double x);
    double x[MOST], y[MOST];
    size_t n;
};

static double rise(const double *b, double x)
{
    return b[0] * (1.0 - exp(-b[1] * x));
}

static double power(const double *b, double x)
{
    return b[0] * pow(x, b[1]);
}

static double quantum_defect(const double *b, double x)
{
    return b[0] - b[1] * x - atan(b[2] / (x - b[3])) / 3.14159265358979323846;
}

static double cubic_over_cubic(const double *b, double x)
{
    return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1.0 + x * (b[4] + x * (b[5] + x * b[6])));
}

static double linear_over_quadratic(const double *b, double x)
{
    return b[0] * x * (x + b[1]) / (x * x + x * b[2] + b[3]);
}

static double meyer(const double *b, double x)
{
    return b[0] * exp(b[1] / (x + b[2]));
}

static double sigmoid(const double *b, double x)
{
    return b[0] / pow(1.0 + exp(b[1] - b[2] * x), 1.0 / b[3]);
}

static double bell(const double *b, double x)
{
    const double z = (x - b[2]) / b[1];
    return b[0] / b[1] * exp(-0.5 * z * z);
}

static struct set sets[] = {
    {.name = "Misra1a", .model = rise},
    {.name = "DanWood", .model = power},
    {.name = "Roszman1", .model = quantum_defect},
    {.name = "Thurber", .model = cubic_over_cubic},
    {.name = "MGH09", .model = linear_over_quadratic},
    {.name = "MGH10", .model = meyer},
    {.name = "Rat43", .model = sigmoid},
    {.name = "BoxBOD", .model = rise},
    {.name = "Eckerle4", .model = bell},
};

static int residuals(void *user, const double *b, double *r)
{
    const struct set *s = user;
    for (size_t i = 0; i < s->n; i++)
        r[i] = s->model(b, s->x[i]) - s->y[i];
    return 1;
}

static void read_data(struct set *s)
{
    struct ref_table *t = ref_read("nist-nonlinear-data.csv");
    for (size_t i = 0; i < t->n_rows; i++)
        if (strcmp(ref_text(t, i, "set"), s->name) == 0) {
            s->x[s->n] = ref_number(t, i, "x");
            s->y[s->n++] = ref_number(t, i, "y");
        }
    free(t);
}

/* Fits a set from one of its starts and holds parameters, deviations and sum against the table's rows from `row` on. */
static void try_start(const struct ref_table *t, size_t row, size_t m, struct set *s, const char *start_name)
{
    struct sm_arena arena;
    struct sm_lsq_fit fit;
    struct sm_error err = {0};
    double start[PARAMETERS], inverse[PARAMETERS * PARAMETERS], worst[PARAMETERS], condition;
    sm_arena_init(&arena, NULL);
    for (size_t j = 0; j < m; j++)
        start[j] = ref_number(t, row + j, start_name);
    const struct sm_lsq_problem problem = {
        .n_params = m, .n_residuals = s->n, .user = s, .residuals = residuals, .max_iterations = 5000};
    cr_assert_eq(sm_lsq_fit(&problem, start, &arena, &fit, &err), SM_OK, "%s, %s: %s", s->name, start_name,
                 err.message);
    cr_assert_eq(sm_lsq_covariance(fit.jacobian, s->n, m, &arena, inverse, &condition, worst, &err), SM_OK);
    cr_log_info("%s, %s: %zu iterations, %zu evaluations, end %d", s->name, start_name, fit.iterations,
                fit.evaluations, (int)fit.end);
    const double deviation = sqrt(fit.sum / (double)(s->n - m));
    ref_expect(t, row, "sum", fit.sum);
    ref_expect(t, row, "residual", deviation);
    for (size_t j = 0; j < m; j++) {
        ref_expect(t, row + j, "value", fit.x[j]);
        ref_expect(t, row + j, "deviation", deviation * sqrt(inverse[j * m + j]));
    }
    sm_arena_release(&arena);
}

Test(nist, certified)
{
    struct ref_table *t = ref_read("nist-nonlinear-certified.csv");
    size_t n_tried = 0;
    for (size_t k = 0; k < SM_COUNT(sets); k++) {
        size_t row = 0, m = 0;
        while (strcmp(ref_text(t, row, "set"), sets[k].name) != 0)
            row++;
        while (row + m < t->n_rows && strcmp(ref_text(t, row + m, "set"), sets[k].name) == 0)
            m++;
        read_data(&sets[k]);
        try_start(t, row, m, &sets[k], "start1");
        try_start(t, row, m, &sets[k], "start2");
        n_tried += m;
    }
    cr_expect_eq(n_tried, t->n_rows, "rows of %s are not tested", t->file);
    free(t);
}
