#include "liftreport.h"
#include "terminal.h"

#include <math.h>
#include <string.h>

static const char *const bounds_said[SM_LIFT_BOUNDS] = {"no drag, splay at once", "no drag, reserve kept",
                                                        "drag, splay in its time", "drag, reserve kept"};

/* ---- the answer ---- */

enum { LINE = 600, COLUMN = 11 };

static bool is_warned(const struct sm_lift *lift, const char *code)
{
    for (size_t i = 0; i < lift->n_warnings; i++)
        if (strcmp(lift->warnings[i].code, code) == 0)
            return true;
    return false;
}

/* "1.181 times the weight at 1.324 m/s" */
static const char *say_leaving(char out[LINE / 4], double ratio, double speed, enum sm_unit_system system)
{
    char at[CLI_NUMBER];
    if (isnan(speed))
        snprintf(out, LINE / 4, "%.3f times the weight", ratio);
    else
        snprintf(out, LINE / 4, "%.3f times the weight at %s", ratio, cli_velocity(at, speed, system));
    return out;
}

static void answer_lift(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_lift_figures *f = &lift->figures;
    char leaving[LINE / 4], near[LINE / 4], corner[LINE / 2] = "", mass[CLI_NUMBER], most[CLI_NUMBER],
                                                          line[2 * LINE];
    /* Where the file states no tolerances the corner is the flight as told. */
    if (is_warned(lift, "corner") || f->corner_ratio < f->rail_ratio)
        snprintf(corner, sizeof corner, " In the worst corner %s%s.",
                 !is_warned(lift, "corner") ? "it is "
                 : f->corner_ratio >= 1.0   ? "it is not let go, though thrust could come to "
                                            : "it does not lift off: thrust comes to ",
                 say_leaving(near, f->corner_ratio, f->corner_speed, system));
    snprintf(line, sizeof line,
             "yes: %s thrust is %s, where high-power codes commonly ask for 3 (from memory).%s It has %s at "
             "release; from %s on it never lifts.",
             isnan(f->rail_time) ? "within half a second of lift-off" : "as it leaves the rail",
             say_leaving(leaving, f->rail_ratio, f->rail_speed, system), corner,
             cli_vehicle_mass(mass, f->release_mass, system),
             cli_vehicle_mass(most, f->mass_for_no_lift, system));
    cli_entry("lift", line, 2, COLUMN);
}

static void answer_hover(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_lift_figures *f = &lift->figures;
    char time[CLI_NUMBER], from[CLI_NUMBER], to[CLI_NUMBER], splay[CLI_NUMBER], limit[CLI_NUMBER], line[LINE];
    /* between the first and the last of these times thrust may be too much or too little for it */
    const bool is_broken = f->hover_time < 0.999 * (f->hover_to - f->hover_from);
    snprintf(line, sizeof line, "no: at no time can thrust be made equal to the weight");
    if (f->hover_time > 0.0)
        snprintf(
            line, sizeof line,
            "its weight can be held for %s in all, %s %s %s %s; throughout the burn that takes a splay of up "
            "to %s%s%s",
            cli_measure(time, f->hover_time, SM_DIM_TIME, system), is_broken ? "at times between" : "from",
            cli_measure(from, f->hover_from, SM_DIM_TIME, system), is_broken ? "and" : "to",
            cli_measure(to, f->hover_to, SM_DIM_TIME, system),
            cli_measure(splay, f->least_limit, SM_DIM_ANGLE, system),
            isnan(lift->splay_limit) ? "" : ", and its limit is ",
            isnan(lift->splay_limit) ? "" : cli_measure(limit, lift->splay_limit, SM_DIM_ANGLE, system));
    cli_entry("hover", line, 2, COLUMN);
}

/* From when to when it can touch down, and the highest flight. */
static void say_window(const struct sm_landing_window *w, enum sm_unit_system system, char out[LINE / 2])
{
    char from[CLI_NUMBER], to[CLI_NUMBER], highest[CLI_NUMBER];
    snprintf(out, LINE / 2, "from %s to %s, after flights of up to %s",
             cli_measure(from, w->time[0], SM_DIM_TIME, system),
             cli_measure(to, w->time[w->n - 1], SM_DIM_TIME, system),
             cli_height(highest, w->highest, system));
}

static void answer_land(const struct sm_lift *lift, enum sm_unit_system system)
{
    const struct sm_landing_window *all = &lift->windows[SM_LIFT_DRAG],
                                   *kept = &lift->windows[SM_LIFT_DRAG_RESERVE];
    char window[LINE / 2], reserved[LINE / 2], line[2 * LINE], splay[CLI_NUMBER];
    if (all->n > 0) {
        say_window(all, system, window);
        if (kept->n > 0)
            say_window(kept, system, reserved);
        snprintf(line, sizeof line,
                 "the model finds no obstacle to contact %s; with the reserve for steering kept %s", window,
                 kept->n > 0 ? reserved : "it finds no flight that lands");
    } else if (lift->windows[SM_LIFT_BARE].n_rising > 0)
        snprintf(
            line, sizeof line,
            "no: whenever it touched down, thrust would come to exceed the weight and lift it off again");
    else
        snprintf(
            line, sizeof line,
            "no: the model finds no flight that touches down softly before burnout. A splay limit of %s or "
            "more would keep thrust under the weight.",
            cli_measure(splay, lift->figures.least_limit, SM_DIM_ANGLE, system));
    cli_entry("land", line, 2, COLUMN);
}

void cli_print_lift_answer(const struct sm_lift *lift, enum sm_unit_system system)
{
    char line[LINE];
    printf("%s: can it lift, hover and land on this curve?\n\n", lift->vehicle);
    answer_lift(lift, system);
    if (lift->has_throttle) {
        answer_hover(lift, system);
        answer_land(lift, system);
    } else
        cli_entry("land", lift->no_throttle, 2, COLUMN);
    if (lift->n_off_by > 1) {
        snprintf(
            line, sizeof line,
            "of %zu flights that are one deviation off, so many touch within the legs' limit: as a fixed "
            "program %zu, planned anew on the curve as told %zu, planned anew knowing the true curve %zu",
            lift->n_off_by - 1, sm_lift_touch_within(lift, SM_LIFT_FIXED),
            sm_lift_touch_within(lift, SM_LIFT_REPLANNED_AS_TOLD),
            sm_lift_touch_within(lift, SM_LIFT_REPLANNED));
        cli_entry("off by", line, 2, COLUMN);
    }
    cli_wrap(stdout, sm_lift_caution(0), 2, 2);
}

/* ---- landings ---- */

/* Why a window is empty. */
static const char *nothing(const struct sm_landing_window *w)
{
    return w->n_rising > 0 ? "none that lasts: touched down it would lift off again" : "none before burnout";
}

static void print_bounds(const struct sm_lift *lift, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER];
    puts("\nlanding: contact times to which the model finds no obstacle");
    printf("  %-25s %-10s %-10s %-11s %s\n", "", "from", "to", "highest", "lands at");
    for (size_t i = 0; i < SM_LIFT_BOUNDS; i++) {
        const struct sm_landing_window *w = &lift->windows[i];
        if (w->n == 0)
            printf("  %-25s %s\n", bounds_said[i], nothing(w));
        else
            printf("  %-25s %-10s %-10s %-11s %s\n", bounds_said[i],
                   cli_measure(a, w->time[0], SM_DIM_TIME, system),
                   cli_measure(b, w->time[w->n - 1], SM_DIM_TIME, system), cli_height(c, w->highest, system),
                   cli_measure(d, w->highest_time, SM_DIM_TIME, system));
        if (w->n > 0 && w->n_rising > 0)
            printf("    left out: %zu contacts after which it would lift off again\n", w->n_rising);
    }
}

/* First and last contact and the highest flight of those that arrive with thrust equal to the weight. */
static void print_eased(const struct sm_landing_window *window, const struct sm_lift_touchdown *down,
                        enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], line[LINE];
    size_t n = 0, first = 0, last = 0, best = 0;
    for (size_t i = 0; i < window->n; i++) {
        if (isnan(down->eased_apogee[i]))
            continue;
        first = n++ == 0 ? i : first;
        best = n == 1 || down->eased_apogee[i] > down->eased_apogee[best] ? i : best;
        last = i;
    }
    if (n == 0)
        snprintf(line, sizeof line,
                 "No flight that lands arrives with thrust equal to the weight, so as not to hop.");
    else
        snprintf(
            line, sizeof line,
            "It does not hop if its splay grows again before contact, so that thrust is the weight then: so "
            "to %zu of these %zu contacts, from %s to %s, after flights of up to %s.",
            n, window->n, cli_measure(a, window->time[first], SM_DIM_TIME, system),
            cli_measure(b, window->time[last], SM_DIM_TIME, system),
            cli_height(c, down->eased_apogee[best], system));
    cli_wrap(stdout, line, 2, 2);
}

static void print_contact(const struct sm_landing_window *w, const struct sm_lift_touchdown *down, size_t i,
                          enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER], f[CLI_NUMBER],
        g[CLI_NUMBER], splay[2 * CLI_NUMBER + 8];
    snprintf(splay, sizeof splay, "%s, %s", cli_measure(d, w->splay_from[i], SM_DIM_TIME, system),
             cli_measure(e, w->splay_to[i], SM_DIM_TIME, system));
    printf("  %-10s %-11s %-10s %-20s ", cli_measure(a, w->time[i], SM_DIM_TIME, system),
           cli_velocity(b, w->contact_speed[i], system), cli_height(c, w->apogee[i], system), splay);
    if (down->rise[i] > 0.0)
        printf("%-10s %s\n", cli_height(f, down->rise[i], system),
               cli_velocity(g, down->rise_speed[i], system));
    else
        puts("no hop");
}

/* The last contact is always shown. */
static void print_contacts(const char *title, const struct sm_landing_window *w,
                           const struct sm_lift_touchdown *down, enum sm_unit_system system)
{
    enum { ROWS = 8 };
    char at[CLI_NUMBER];
    size_t hops = 0, worst = 0;
    if (w->n == 0)
        return;
    printf("\n%s\n", title);
    printf("  %-10s %-11s %-10s %-20s %-10s %s\n", "contact", "with", "highest", "most splay from, to",
           "then hops", "back with");
    const size_t step = w->n > ROWS ? (w->n + ROWS - 1) / ROWS : 1;
    for (size_t k = 0; k < w->n; k += step)
        print_contact(w, down, w->n - 1 - k, system);
    for (size_t i = 0; i < w->n; i++) {
        hops += down->rise[i] > 0.0;
        worst = down->ratio[i] > down->ratio[worst] ? i : worst;
    }
    printf("  After contact thrust at most splay is at most %.4g of the weight, at %s.\n", down->ratio[worst],
           cli_measure(at, down->ratio_time[worst], SM_DIM_TIME, system));
    if (hops > 0)
        print_eased(w, down, system);
}

void cli_print_landings(const struct sm_lift *lift, enum sm_unit_system system)
{
    print_bounds(lift, system);
    print_contacts("landing with drag and the time that splay takes", &lift->windows[SM_LIFT_DRAG],
                   &lift->touchdown[0], system);
    print_contacts("the same with the reserve for steering kept", &lift->windows[SM_LIFT_DRAG_RESERVE],
                   &lift->touchdown[1], system);
}

/* ---- how far off it may be ---- */

static void print_end(const char *way, const struct sm_lift_end *end, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], how[80];
    if (!isnan(end->contact_time))
        snprintf(how, sizeof how, "touches at %s with %s",
                 cli_measure(a, end->contact_time, SM_DIM_TIME, system),
                 cli_velocity(b, end->contact_speed, system));
    else
        snprintf(how, sizeof how, "is %s up at burnout", cli_height(a, end->height_left, system));
    if (end->margin_speed > 0.0)
        printf("    %-15s %-34s %s, %s, %.2g %%\n", way, how, cli_height(a, end->margin_height, system),
               cli_velocity(b, end->margin_speed, system), 100.0 * end->margin_thrust);
    else
        printf("    %-15s %-34s none from %s on\n", way, how,
               cli_measure(c, end->margin_speed_time, SM_DIM_TIME, system));
}

static void print_plan(const struct sm_lift *lift, enum sm_unit_system system)
{
    char a[CLI_NUMBER], b[CLI_NUMBER], c[CLI_NUMBER], d[CLI_NUMBER], e[CLI_NUMBER], line[LINE];
    double highest = 0.0;
    for (size_t i = 0; i < lift->plan.n; i++)
        highest = fmax(highest, lift->plan.height[i]);
    puts("\nthe plan, of the many flights that land");
    snprintf(line, sizeof line,
             "Up to %s, and touching at %s with %s, in the middle of the window %s: least splay from "
             "%s, most from %s to %s, then least again.",
             cli_height(a, highest, system), cli_measure(b, lift->plan_contact, SM_DIM_TIME, system),
             cli_velocity(c, lift->plan_speed, system),
             lift->plan_keeps_reserve ? "with the reserve kept" : "without a reserve, for there is none",
             lift->n_ignitions > 0 ? "the ignition at a height" : "lift-off",
             cli_measure(d, lift->plan_splay_from, SM_DIM_TIME, system),
             cli_measure(e, lift->plan_splay_to, SM_DIM_TIME, system));
    cli_wrap(stdout, line, 2, 2);
}

void cli_print_off_by(const struct sm_lift *lift, enum sm_unit_system system)
{
    static const char *const ways[SM_LIFT_WAYS] = {"fixed program", "planned anew", "anew, as told"};
    const double ratio = lift->figures.rail_ratio;
    char line[2 * LINE];
    if (lift->n_off_by == 0)
        return;
    print_plan(lift, system);
    puts("\nhow far off it may be");
    snprintf(
        line, sizeof line,
        "The plan flown as a fixed program of time%s; planned anew every %.3g s knowing the true remaining "
        "curve; and planned anew on the curve as told. Least margins to the edge of the tube from which a "
        "landing exists: in height, in speed, and in thrust from then on (50 %% is the most looked at). "
        "Deviations of thrust and burn time are from %s.",
        lift->n_ignitions > 0 ? " since the ignition at a height, that each flight finds for itself" : "",
        lift->replan_every, lift->off_by_from);
    cli_wrap(stdout, line, 2, 2);
    for (size_t i = 0; i < lift->n_off_by; i++) {
        printf("  %s\n", lift->off_by[i].what);
        for (size_t k = 0; k < SM_LIFT_WAYS; k++)
            print_end(ways[k], &lift->off_by[i].ways[k], system);
    }
    if (!(ratio > 1.0))
        return;
    snprintf(
        line, sizeof line,
        "At a thrust to weight of %.3f one percent of thrust is %.3g percent of the net acceleration: a "
        "fixed program misses badly. Planning anew takes up what is off while margin is left; on the curve "
        "as told each plan is wrong in the same way, and uses it up.",
        ratio, ratio / (ratio - 1.0));
    cli_wrap(stdout, line, 2, 2);
}
