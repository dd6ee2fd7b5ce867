/* Slowmatch inside another program: burns a motor and prints its thrust each second.
 *
 *     cc embed.c $(pkg-config --cflags --libs slowmatch) -o embed && ./embed MOTOR.json
 */
#include <slowmatch/slowmatch.h>

#include <stdio.h>

/* Thrust at t by a straight line between the rows beside it. */
static double thrust_at(const struct sm_series *s, double t)
{
    size_t i = 1;
    while (i + 1 < s->n && s->time[i] < t)
        i++;
    const double share = (t - s->time[i - 1]) / (s->time[i] - s->time[i - 1]);
    return s->thrust[i - 1] + share * (s->thrust[i] - s->thrust[i - 1]);
}

static int show(const struct sm_motor *motor)
{
    struct sm_error err = {0};
    struct sm_result *result;
    if (sm_simulate(motor, NULL, NULL, &result, &err) != SM_OK) {
        fprintf(stderr, "%s\n", err.message);
        return 1;
    }
    printf("%s, predicted: %s, %.6g N s\n", result->motor, result->designation, result->thrust.total_impulse);
    for (double t = 1.0; t < result->series.time[result->series.n - 1]; t += 1.0)
        printf("%4.0f s %8.3f N\n", t, thrust_at(&result->series, t));
    sm_result_free(result);
    return 0;
}

int main(int argc, char **argv)
{
    struct sm_diag problems = {0};
    struct sm_motor *motor;
    if (argc != 2) {
        fprintf(stderr, "usage: embed MOTOR.json\n");
        return 2;
    }
    const int failed = sm_motor_load(argv[1], NULL, NULL, &motor, &problems) != SM_OK;
    for (size_t i = 0; i < problems.n; i++)
        fprintf(stderr, "%s:%u: %s\n", problems.items[i].at.file, problems.items[i].at.line,
                problems.items[i].message);
    sm_diag_release(&problems);
    if (failed)
        return 2;
    const int status = show(motor);
    sm_motor_free(motor);
    return status;
}
