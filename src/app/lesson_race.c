/* The lesson's first leaf: two grains burn side by side. */
#include "app/lesson_parts.h"
#include "app/page_front.h"
#include "app/report_parts.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FAST = 150,  /* instants while both burn */
    SLOW = 250,  /* and after, while one does */
    LEVELS = 61, /* of a front: one each quarter second of a burn of a quarter minute */
    MOMENTS = 6,
    SENTENCE = 1024
};

struct race {
    struct sm_lesson *lesson;
    size_t shorter, longer; /* places of the two motors */
    double end[2];          /* burn ends [s] */
    double *time;           /* n instants [s] */
    size_t n;
    struct sm_page_front fronts[2];
    struct moment {
        double time; /* [s] */
        char text[SENTENCE];
    } moments[MOMENTS];
};

static double end_of(const struct sm_result *r)
{
    return r->thrust.burn_start + r->thrust.burn_time;
}

static double at(const struct sm_result *r, const double *column, double t)
{
    return column ? sm_curve_at(r->series.time, column, r->series.n, t) : SM_NAN;
}

static double last_of(const struct sm_result *r)
{
    return r->series.time[r->series.n - 1];
}

static enum sm_status make_times(struct race *race, struct sm_error *err)
{
    const struct sm_result *const *r = race->lesson->results;
    race->shorter = end_of(r[0]) <= end_of(r[1]) ? 0 : 1;
    race->longer = 1 - race->shorter;
    for (size_t i = 0; i < 2; i++)
        race->end[i] = end_of(r[i]);
    const double first = last_of(r[race->shorter]), all = fmax(first, last_of(r[race->longer]));
    race->n = FAST + SLOW;
    race->time = sm_arena_alloc(&race->lesson->arena, race->n, sizeof *race->time);
    if (!race->time)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t k = 0; k < FAST; k++)
        race->time[k] = first * (double)k / FAST;
    for (size_t k = 0; k < SLOW; k++)
        race->time[FAST + k] = first + (all - first) * (double)k / (SLOW - 1);
    return SM_OK;
}

/* ---- sentences ---- */

/* The thickest grain of a motor: the one that burns last. */
static size_t thickest(const struct sm_motor *m)
{
    size_t best = 0;
    for (size_t i = 1; i < m->spec.n_grains; i++)
        best = m->geometry[i].web > m->geometry[best].web ? i : best;
    return best;
}

static void say_start(struct race *race, char *text)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *a = l->results[0], *b = l->results[1];
    const bool alike = fabs(a->propellant_mass / b->propellant_mass - 1.0) < 0.01;
    if (alike)
        sm_text_format(
            text, SENTENCE,
            "Both motors hold %s of propellant, and both are lit now. Only the shape of the grain differs.",
            sm_lesson_show(l, a->propellant_mass, SM_DIM_MASS));
    else
        sm_text_format(text, SENTENCE, "%.100s holds %s of propellant, %.100s %s. Both are lit now.",
                       a->motor, sm_lesson_show(l, a->propellant_mass, SM_DIM_MASS), b->motor,
                       sm_lesson_show(l, b->propellant_mass, SM_DIM_MASS));
}

static void say_areas(struct race *race, double t, char *text)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *fast = l->results[race->shorter], *slow = l->results[race->longer];
    if (!fast->series.burn_area || !slow->series.burn_area)
        sm_text_format(text, SENTENCE, "%.100s pushes with %s, %.100s with %s.", fast->motor,
                       sm_lesson_show(l, at(fast, fast->series.thrust, t), SM_DIM_FORCE), slow->motor,
                       sm_lesson_show(l, at(slow, slow->series.thrust, t), SM_DIM_FORCE));
    else
        sm_text_format(text, SENTENCE,
                       "What burns at once makes the thrust: in %.100s %s of surface burn and it pushes with "
                       "%s; in %.100s only %s "
                       "burn, and it pushes with %s.",
                       fast->motor, sm_lesson_show(l, at(fast, fast->series.burn_area, t), SM_DIM_AREA),
                       sm_lesson_show(l, at(fast, fast->series.thrust, t), SM_DIM_FORCE), slow->motor,
                       sm_lesson_show(l, at(slow, slow->series.burn_area, t), SM_DIM_AREA),
                       sm_lesson_show(l, at(slow, slow->series.thrust, t), SM_DIM_FORCE));
}

static void say_rates(struct race *race, char *text)
{
    struct sm_lesson *l = race->lesson;
    char *end = text;
    for (size_t i = 0; i < 2; i++) {
        const struct sm_result *r = l->results[i];
        if (isnan(r->grain.web))
            end += sm_text_format(end, SENTENCE / 2, "%.100s is known by its curve alone. ", r->motor);
        else
            end += sm_text_format(end, SENTENCE / 2, "In %.100s the front has %s to go, at %s on average. ",
                                  r->motor, sm_lesson_show(l, r->grain.web, SM_DIM_LENGTH),
                                  sm_lesson_show(l, r->grain.web / r->thrust.burn_time, SM_DIM_SPEED));
    }
}

static void say_first_end(struct race *race, char *text)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *fast = l->results[race->shorter], *slow = l->results[race->longer];
    const double t = race->end[race->shorter];
    const int n = sm_text_format(text, SENTENCE, "%.100s is through after %s and has given %s. ", fast->motor,
                                 sm_lesson_show(l, fast->thrust.burn_time, SM_DIM_TIME),
                                 sm_lesson_show(l, fast->thrust.total_impulse, SM_DIM_IMPULSE));
    if (slow->series.web)
        sm_text_format(text + n, SENTENCE - (size_t)n, "%.100s burns on: of %s its front has gone %s.",
                       slow->motor, sm_lesson_show(l, slow->grain.web, SM_DIM_LENGTH),
                       sm_lesson_show(l, at(slow, slow->series.web, t), SM_DIM_LENGTH));
    else
        sm_text_format(text + n, SENTENCE - (size_t)n, "%.100s burns on.", slow->motor);
}

static void say_middle(struct race *race, double t, char *text)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *slow = l->results[race->longer];
    sm_text_format(text, SENTENCE,
                   "%.100s still pushes with %s. A front that moves at the same pace through a longer way "
                   "takes longer: burn time is "
                   "the way over the rate.",
                   slow->motor, sm_lesson_show(l, at(slow, slow->series.thrust, t), SM_DIM_FORCE));
}

static void say_end(struct race *race, char *text)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *slow = l->results[race->longer];
    const int n = sm_text_format(text, SENTENCE, "%.100s is through after %s and has given %s. ", slow->motor,
                                 sm_lesson_show(l, slow->thrust.burn_time, SM_DIM_TIME),
                                 sm_lesson_show(l, slow->thrust.total_impulse, SM_DIM_IMPULSE));
    sm_explain_burn_times(l->motors, l->results, 2, text + n, SENTENCE - (size_t)n);
}

static void say_moments(struct race *race)
{
    const double first = race->end[race->shorter], last = race->end[race->longer];
    const double times[MOMENTS] = {0.0, 0.2 * first, 0.6 * first, first, 0.5 * (first + last), last};
    for (size_t i = 0; i < MOMENTS; i++)
        race->moments[i].time = times[i];
    say_start(race, race->moments[0].text);
    say_areas(race, times[1], race->moments[1].text);
    say_rates(race, race->moments[2].text);
    say_first_end(race, race->moments[3].text);
    say_middle(race, times[4], race->moments[4].text);
    say_end(race, race->moments[5].text);
}

/* ---- data ---- */

static void put_column(struct race *race, struct sm_json_writer *w, const char *key,
                       const struct sm_result *r, const double *column, enum sm_dim dim)
{
    struct sm_lesson *l = race->lesson;
    double *y = column ? sm_arena_alloc(&l->arena, race->n, sizeof *y) : NULL;
    for (size_t k = 0; y && k < race->n; k++)
        y[k] = race->time[k] > last_of(r) && dim == SM_DIM_FORCE ? 0.0 : at(r, column, race->time[k]);
    sm_json_member_string(w, key, y ? sm_page_digits(&l->arena, y, race->n, dim, l->system) : NULL);
}

static enum sm_status put_motor(struct race *race, size_t i, struct sm_json_writer *w)
{
    struct sm_lesson *l = race->lesson;
    const struct sm_result *r = l->results[i];
    sm_json_open_object(w);
    sm_json_member_string(w, "name", r->motor);
    sm_json_member_whole(w, "colour", (long long)i + 1);
    put_column(race, w, "thrust", r, r->series.thrust, SM_DIM_FORCE);
    put_column(race, w, "pressure", r, r->series.pressure, SM_DIM_PRESSURE);
    put_column(race, w, "web", r, r->series.web, SM_DIM_LENGTH);
    if (!l->motors[i]->spec.is_curve)
        SM_TRY(sm_page_front_put_levels(&race->fronts[i], w, l->err));
    sm_json_close(w);
    return SM_OK;
}

static enum sm_status put_data(struct race *race)
{
    struct sm_lesson *l = race->lesson;
    struct sm_json_writer w;
    sm_lesson_data(l, "race", &w);
    sm_json_member_doubles(&w, "time", race->time, race->n);
    sm_json_member_string(&w, "shown",
                          sm_page_digits(&l->arena, race->time, race->n, SM_DIM_TIME, l->system));
    sm_json_member_string(&w, "force", sm_show_unit(SM_DIM_FORCE, l->system));
    sm_json_member_string(&w, "pressure", sm_show_unit(SM_DIM_PRESSURE, l->system));
    sm_json_member_string(&w, "length", sm_show_unit(SM_DIM_LENGTH, l->system));
    sm_json_member_array(&w, "motors");
    for (size_t i = 0; i < 2; i++)
        SM_TRY(put_motor(race, i, &w));
    sm_json_close(&w);
    sm_json_member_array(&w, "moments");
    for (size_t i = 0; i < MOMENTS; i++) {
        sm_json_open_object(&w);
        sm_json_member_number(&w, "time", race->moments[i].time);
        sm_json_member_string(&w, "text", race->moments[i].text);
        sm_json_close(&w);
    }
    sm_json_close(&w);
    return sm_lesson_data_end(l, &w);
}

/* ---- the leaf ---- */

static enum sm_status make_fronts(struct race *race)
{
    struct sm_lesson *l = race->lesson;
    for (size_t i = 0; i < 2; i++) {
        if (l->motors[i]->spec.is_curve)
            continue;
        SM_TRY(sm_page_front_make(&race->fronts[i], l->motors[i], l->results[i], thickest(l->motors[i]),
                                  LEVELS, l->system, &l->arena, l->err));
        race->fronts[i].is_headed = true;
    }
    if (!l->motors[0]->spec.is_curve && !l->motors[1]->spec.is_curve)
        sm_page_front_share(&race->fronts[0], &race->fronts[1]);
    return SM_OK;
}

static enum sm_status put_grains(struct race *race)
{
    struct sm_lesson *l = race->lesson;
    struct sm_html *h = &l->html;
    SM_TRY(make_fronts(race));
    sm_html_raw(h, "<div class=\"grains\">\n");
    for (size_t i = 0; i < 2; i++) {
        sm_html_rawf(h, "<figure id=\"racer-%zu\" class=\"racer\"><h3 class=\"ink-%zu\">", i + 1, i + 1);
        sm_html_text(h, l->results[i]->motor);
        sm_html_raw(h, "</h3>\n");
        if (l->motors[i]->spec.is_curve)
            sm_html_raw(h, "<p class=\"muted\">Known by its curve alone: there is no grain to draw.</p>\n");
        else
            SM_TRY(sm_page_front_put(&race->fronts[i], l->results[i]->motor, h, l->err));
        sm_html_raw(h, "<p class=\"now\"></p></figure>\n");
    }
    sm_html_raw(h, "</div>\n");
    return h->status;
}

static void put_controls(struct race *race)
{
    sm_html_rawf(&race->lesson->html,
                 "<div class=\"controls\"><button id=\"play\">Play</button> <button id=\"next-moment\">Next "
                 "moment</button> "
                 "<label>Pace <select id=\"pace\"><option value=\"1\">real time</option><option "
                 "value=\"0.5\">half as fast</option>"
                 "<option value=\"0.2\">a fifth as fast</option><option value=\"3\">three times as "
                 "fast</option></select></label>\n"
                 "<label class=\"time\">Time <input type=\"range\" id=\"race-time\" min=\"0\" max=\"%zu\" "
                 "value=\"0\"></label>"
                 "<output id=\"race-clock\"></output></div>\n<p class=\"lead saying\" id=\"saying\" "
                 "aria-live=\"polite\"></p>\n",
                 race->n - 1);
}

/* Motors of one's own may be of two propellants, or known by their curves alone. */
static const char *heading_of(const struct sm_lesson *l)
{
    const struct sm_motor_spec *a = &l->motors[0]->spec, *b = &l->motors[1]->spec;
    if (a->is_curve || b->is_curve)
        return "Two motors";
    return strcmp(a->propellant.name, b->propellant.name) == 0 ? "Two grains, one propellant"
                                                               : "Two grains, two propellants";
}

enum sm_status sm_lesson_put_race(struct sm_lesson *l)
{
    struct race *race = sm_arena_alloc(&l->arena, 1, sizeof *race);
    if (!race)
        return sm_fail(l->err, SM_E_NOMEM, "out of memory");
    race->lesson = l;
    SM_TRY(make_times(race, l->err));
    say_moments(race);
    sm_lesson_leaf(l, "race", heading_of(l));
    put_controls(race);
    SM_TRY(put_grains(race));
    sm_html_raw(&l->html, "<div class=\"pair\">\n");
    sm_lesson_put_place(l, "race-thrust", "Thrust");
    sm_lesson_put_place(l, "race-pressure", "Chamber pressure");
    sm_html_raw(&l->html, "</div>\n<h3>The moments in words</h3>\n<ol class=\"moments\">\n");
    for (size_t i = 0; i < MOMENTS; i++) {
        sm_html_raw(&l->html, "<li>");
        sm_html_textf(&l->html, "%s: %s", sm_lesson_show(l, race->moments[i].time, SM_DIM_TIME),
                      race->moments[i].text);
        sm_html_raw(&l->html, "</li>\n");
    }
    sm_html_raw(&l->html, "</ol>\n");
    SM_TRY(put_data(race));
    sm_lesson_leaf_end(l);
    return l->html.status;
}
