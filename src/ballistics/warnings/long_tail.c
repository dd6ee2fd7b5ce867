/* A long tail drags the average thrust down, and with it the motor's name. */
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

static const double limit = 0.1; /* of the burn time [1] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_series *s = &c->result->series;
    const struct sm_thrust_summary *thrust = &c->result->thrust;
    const double main_web = c->motor->stack.web_main * (1.0 - 1e-9);
    const double end = thrust->burn_start + thrust->burn_time;
    size_t i = 0;
    while (i + 1 < s->n && s->web[i] < main_web)
        i++;
    const double tail = end - s->time[i];
    if (tail <= limit * thrust->burn_time)
        return 0;
    const double average = sm_curve_integral(s->time, s->thrust, s->n, thrust->burn_start, s->time[i]) /
                           (s->time[i] - thrust->burn_start);
    sm_text_format(
        text, size,
        "thrust tails off for %.2f s after the web is burned, %.0f %% of the burn time: the average thrust "
        "that "
        "names the motor is %.3g N, while it burns it is %.3g N. Less gas space or fewer slivers would help",
        tail, 100.0 * tail / thrust->burn_time, thrust->average, average);
    return 1;
}

const struct sm_warning sm_warning_long_tail = {
    .code = "long-tail",
    .summary = "a tail longer than a tenth of the burn",
    .pointer = "/case/length",
    .judge = judge,
};
