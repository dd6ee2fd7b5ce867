/* Why one motor burns longer than another, in words, from the numbers reckoned. */
#include "base/text.h"
#include "motor/motor.h"
#include "slowmatch/plot.h"

#include <math.h>
#include <string.h>

/* How far the front goes in a motor, how fast on average, and which way. */
struct way {
    double web, rate; /* [m], [m/s] */
    int is_axial;     /* only end faces of that grain burn: the web is its length */
    const char *propellant;
};

/* The grain with the thickest web burns last. */
static int way_of(const struct sm_motor *motor, const struct sm_result *result, struct way *way)
{
    const unsigned ends = SM_FACE_FORE_END | SM_FACE_AFT_END;
    size_t last = 0;
    if (motor->spec.is_curve)
        return 0;
    for (size_t i = 1; i < motor->spec.n_grains; i++)
        if (motor->geometry[i].web > motor->geometry[last].web)
            last = i;
    way->web = motor->geometry[last].web;
    way->rate = way->web / result->thrust.burn_time;
    way->is_axial = (motor->spec.grains[last].common.burning & ~ends) == 0;
    way->propellant = motor->spec.propellant.name;
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
    sm_text_format(sentence, sizeof sentence,
                   "In %.100s the front burns %s: %.4g mm of propellant at %.3g mm/s on average take %.4g s.",
                   r->motor,
                   w->is_axial ? "along the grain, from end to end" : "across the grain, through its wall",
                   1e3 * w->web, 1e3 * w->rate, r->thrust.burn_time);
    return append(text, size, used, sentence);
}

/* What makes one motor's rate differ from another's. */
static const char *reason(const struct way *a, const struct way *b, double pressure_a, double pressure_b)
{
    if (strcmp(a->propellant, b->propellant) != 0)
        return "its own propellant and pressure";
    if ((a->rate < b->rate) != (pressure_a < pressure_b))
        return "its course of pressure"; /* the averages alone would say the contrary */
    return pressure_a < pressure_b ? "its lower pressure" : "its higher pressure";
}

static int ratios(const struct sm_result *a, const struct way *way_a, const struct sm_result *b,
                  const struct way *way_b, char *text, size_t size, int used)
{
    char sentence[512];
    const double webs = way_a->web / way_b->web, rates = way_b->rate / way_a->rate;
    sm_text_format(sentence, sizeof sentence,
                   "Burn time is web over burning rate, so %.100s burns %.3g times as long: %.3g for the %s "
                   "way, times %.3g for the %s rate at %s.",
                   a->motor, a->thrust.burn_time / b->thrust.burn_time, webs,
                   webs < 1.0 ? "shorter" : "longer", rates, rates < 1.0 ? "faster" : "slower",
                   reason(way_a, way_b, a->chamber.pressure_average, b->chamber.pressure_average));
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
    return ratios(results[longest], &longest_way, results[shortest], &shortest_way, text, size, used);
}
