/* Why one motor burns longer than another, in words, from the numbers reckoned. */
#include "base/text.h"
#include "motor/motor.h"
#include "slowmatch/plot.h"

#include <math.h>
#include <string.h>

/* How far the front goes in a motor, how fast on average, and which way. */
struct way {
    double web, rate; /* [m], [m/s] */
    int is_axial;     /* only end faces burn: the web is the grain's length */
};

static int way_of(const struct sm_motor *motor, const struct sm_result *result, struct way *way)
{
    if (motor->spec.is_curve)
        return 0;
    const unsigned ends = SM_FACE_FORE_END | SM_FACE_AFT_END;
    way->web = motor->stack.web;
    way->rate = way->web / result->thrust.burn_time;
    way->is_axial = 1;
    for (size_t i = 0; i < motor->spec.n_grains; i++)
        if (motor->spec.grains[i].common.burning & ~ends)
            way->is_axial = 0;
    return 1;
}

static int append(char *text, size_t size, int used, const char *sentence)
{
    if (used >= 0 && (size_t)used < size)
        sm_text_format(text + used, size - (size_t)used, "%s%s", used > 0 ? " " : "", sentence);
    return used + (int)strlen(sentence) + (used > 0);
}

static int one_way(const struct sm_result *r, const struct way *w, char *text, size_t size, int used)
{
    char sentence[512];
    sm_text_format(
        sentence, sizeof sentence,
        "In %.100s the front burns %s, through %.3g mm of propellant at %.3g mm/s on average: %.3g s.",
        r->motor,
        w->is_axial ? "along the grain, from end to end" : "outwards, through the wall of the grain",
        1e3 * w->web, 1e3 * w->rate, r->thrust.burn_time);
    return append(text, size, used, sentence);
}

static int ratios(const struct sm_result *const *results, const struct way *a, const struct way *b,
                  size_t long_one, size_t short_one, char *text, size_t size, int used)
{
    char sentence[512];
    const double times = results[long_one]->thrust.burn_time / results[short_one]->thrust.burn_time;
    const double webs = a->web / b->web, rates = b->rate / a->rate;
    sm_text_format(sentence, sizeof sentence,
                   "Burn time is web over burning rate, so %.100s burns %.3g times as long: %.3g for the "
                   "longer way, times "
                   "%.3g for the %s rate at its %s pressure.",
                   results[long_one]->motor, times, webs, rates, rates > 1.0 ? "slower" : "faster",
                   results[long_one]->chamber.pressure_average < results[short_one]->chamber.pressure_average
                       ? "lower"
                       : "higher");
    return append(text, size, used, sentence);
}

int sm_explain_burn_times(const struct sm_motor *const *motors, const struct sm_result *const *results,
                          size_t n, char *text, size_t size)
{
    size_t longest = n, shortest = n;
    struct way way, longest_way = {0}, shortest_way = {0};
    for (size_t i = 0; i < n; i++) {
        if (!way_of(motors[i], results[i], &way))
            continue;
        if (longest == n || results[i]->thrust.burn_time > results[longest]->thrust.burn_time) {
            longest = i;
            longest_way = way;
        }
        if (shortest == n || results[i]->thrust.burn_time < results[shortest]->thrust.burn_time) {
            shortest = i;
            shortest_way = way;
        }
    }
    if (size > 0)
        text[0] = '\0';
    if (longest == shortest || longest == n)
        return 0;
    int used = one_way(results[longest], &longest_way, text, size, 0);
    used = one_way(results[shortest], &shortest_way, text, size, used);
    return ratios(results, &longest_way, &shortest_way, longest, shortest, text, size, used);
}
