#include "turntable.h"
#include "terminal.h"

#include <math.h>

static const double degree = 0.0174532925199432958; /* [rad] */
enum { STEP = 4 };                                  /* of the study's instants each fourth is shown */

/* Three numbers in columns, "-" where there is none. */
static void print_three(const double value[SM_LIFT_AXES], int is_last)
{
    char text[CLI_NUMBER];
    fputs("  ", stdout);
    for (size_t i = 0; i < SM_LIFT_AXES; i++) {
        if (isnan(value[i]))
            snprintf(text, sizeof text, "-");
        else
            snprintf(text, sizeof text, "%.*f", value[i] < 9.995 ? 2 : value[i] < 99.95 ? 1 : 0, value[i]);
        printf("%-*s", is_last && i + 1 == SM_LIFT_AXES ? 0 : 7, text);
    }
}

/* To a hundredth: at lift-off next to none is asked for. */
static const char *in_degrees(char buf[CLI_NUMBER], double angle)
{
    snprintf(buf, CLI_NUMBER, "%.2f deg", angle / degree);
    return buf;
}

static void print_through(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_lift_turning *t = &lift->turning;
    static const double least = 1e-6;        /* below it there is none to speak of [N/rad] */
    static const double enough = 1.0 - 1e-9; /* thrust to weight to hover [1] */
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER], f[CLI_NUMBER];
    puts("\nthrough the burn");
    printf("  %-10s %-10s %-11s %-11s %-12s %s\n", "at", "thrust", "splay for", "mass", "centre of",
           "thrust lost");
    printf("  %-10s %-10s %-11s %-11s %-12s %s\n", "", "to weight", "hover", "", "mass", "by a degree more");
    for (size_t i = 0; i < t->n; i += STEP)
        printf("  %-10s %-10s %-11s %-11s %-12s %s\n", cli_measure(a, t->time[i], SM_DIM_TIME, system),
               cli_measure(b, t->ratio[i], SM_DIM_NONE, system),
               lift->has_throttle && t->ratio[i] >= enough ? in_degrees(c, t->splay[i]) : "-",
               cli_vehicle_mass(d, t->mass[i], system),
               cli_measure(e, t->center_of_mass[i], SM_DIM_LENGTH, system),
               lift->has_throttle ? cli_measure(f, fabs(t->axial[i]) > least ? -t->axial[i] * degree : 0.0,
                                                SM_DIM_FORCE, system)
                                  : "-");
}

/* Does any error that the file states ask for trim? */
static bool has_trim(const struct sm_lift_turning *t)
{
    for (size_t k = 0; k < SM_LIFT_AXES; k++)
        for (size_t i = 0; i < t->n; i++)
            if (t->axes[k].trim[i] > 0.0)
                return true;
    return false;
}

void cli_print_turning(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_lift_turning *t = &lift->turning;
    char a[CLI_NUMBER], line[600];
    print_through(lift, system);
    if (lift->has_throttle)
        cli_wrap(stdout,
                 t->least_splay > 0.0 ? "The last column is none at no splay; plans keep landing.least_splay."
                                      : "The last column is none at no splay: landing.least_splay keeps "
                                        "plans off it, and is 0 here.",
                 2, 2);
    printf("\nturning%s\n", lift->has_throttle ? ", beside that splay" : "");
    if (t->missing) {
        snprintf(line, sizeof line, "For all of it the file would have to tell %s.", t->missing);
        cli_wrap(stdout, line, 2, 2);
    }
    if (!t->missing && !has_trim(t))
        puts("  No mismatch and no mount errors are stated, so that none ask for trim.");
    printf("  %-9s  %-21s  %-21s  %s\n", "at", "tilt left, deg", "turned by it, deg/s2",
           "trim for errors, deg");
    printf("  %-9s  %-21s  %-21s  %s\n", "", "pitch  yaw    roll", "pitch  yaw    roll",
           "pitch  yaw    roll");
    for (size_t i = 0; i < t->n; i += STEP) {
        double tilt[SM_LIFT_AXES], acceleration[SM_LIFT_AXES],
            trim[SM_LIFT_AXES]; /* [deg], [deg/s2], [deg] */
        for (size_t k = 0; k < SM_LIFT_AXES; k++) {
            tilt[k] = t->axes[k].tilt[i] / degree;
            acceleration[k] = t->axes[k].acceleration[i] / degree;
            trim[k] = t->axes[k].trim[i] / degree;
        }
        printf("  %-9s", cli_measure(a, t->time[i], SM_DIM_TIME, system));
        print_three(tilt, 0);
        print_three(acceleration, 0);
        print_three(trim, 1);
        putchar('\n');
    }
}
