/* The lesson's sliders: every case that they can reach, burned beforehand. */
#include "app/lesson_parts.h"
#include "base/text.h"

#include <math.h>

enum { BORES = 5, LENGTHS = 4, EXPONENTS = 4, THROATS = 4, POINTS = 40 };

static const double bores[BORES] = {0.006, 0.008, 0.010, 0.012, 0.014}; /* [m] */
static const double lengths[LENGTHS] = {0.060, 0.074, 0.088, 0.102};    /* of the end burner [m] */
static const double exponents[EXPONENTS] = {0.20, 0.30, 0.42, 0.55};    /* [1] */
static const double throats[THROATS] = {0.9, 1.0, 1.1, 1.2};            /* times the usual [1] */
static const double usual_throat[2] = {0.0020, 0.0062}; /* of the end burner, of the cored one [m] */
static const int start[4] = {2, 2, 2, 1};               /* where the sliders stand first */

struct place {
    size_t bore, length, exponent, throat;
};

static size_t number_of(const struct place *p)
{
    return ((p->bore * LENGTHS + p->length) * EXPONENTS + p->exponent) * THROATS + p->throat;
}

static enum sm_status burn(struct sm_lesson *l, const struct place *p, bool cored, struct sm_burned *burned)
{
    const struct sm_lesson_design design = {
        .name = cored ? "the cored motor" : "the end burner",
        .cored = cored,
        .length = lengths[p->length],
        .bore = bores[p->bore],
        .exponent = exponents[p->exponent],
        .throat = throats[p->throat] * usual_throat[cored],
    };
    return sm_lesson_burn(l, &design, false, burned);
}

/* What stands in a case's column of the table: the order is that of the rows below. */
static const char *const rows[] = {"the front's way",
                                   "its rate, on average",
                                   "burn time: way over rate",
                                   "average thrust",
                                   "largest pressure",
                                   "total impulse",
                                   "class"};

static void put_case(struct sm_lesson *l, const struct sm_burned *b, int colour, struct sm_json_writer *w)
{
    const struct sm_result *r = b->result;
    const struct sm_thrust_summary *t = &r->thrust;
    sm_json_open_object(w);
    sm_json_member_array(w, "rows");
    sm_json_put_string(w, sm_lesson_show(l, r->grain.web, SM_DIM_LENGTH));
    sm_json_put_string(w, sm_lesson_show(l, r->grain.web / t->burn_time, SM_DIM_SPEED));
    sm_json_put_string(w, sm_lesson_show(l, t->burn_time, SM_DIM_TIME));
    sm_json_put_string(w, sm_lesson_show(l, t->average, SM_DIM_FORCE));
    sm_json_put_string(w, sm_lesson_show(l, r->chamber.pressure_maximum, SM_DIM_PRESSURE));
    sm_json_put_string(w, sm_lesson_show(l, t->total_impulse, SM_DIM_IMPULSE));
    sm_json_put_string(w, r->designation);
    sm_json_close(w);
    sm_json_put_key(w, "thrust");
    sm_lesson_put_curve(l, w, colour == 1 ? "end burner" : "cored", colour, r, r->series.thrust, SM_DIM_FORCE,
                        POINTS);
    sm_json_put_key(w, "pressure");
    sm_lesson_put_curve(l, w, colour == 1 ? "end burner" : "cored", colour, r, r->series.pressure,
                        SM_DIM_PRESSURE, POINTS);
    sm_json_close(w);
}

/* ---- all of them ---- */

struct table {
    struct sm_burned ends[LENGTHS * EXPONENTS * THROATS];
    char (*words)[1024]; /* of each pair */
};

static void next(struct place *p)
{
    if (++p->throat < THROATS)
        return;
    p->throat = 0;
    if (++p->exponent < EXPONENTS)
        return;
    p->exponent = 0;
    if (++p->length < LENGTHS)
        return;
    p->length = 0;
    p->bore++;
}

static enum sm_status put_ends(struct sm_lesson *l, struct table *table, struct sm_json_writer *w)
{
    sm_json_member_array(w, "ends");
    for (struct place p = {0}; p.bore == 0; next(&p)) {
        struct sm_burned *b = &table->ends[number_of(&p)];
        SM_TRY(burn(l, &p, false, b));
        put_case(l, b, 1, w);
    }
    sm_json_close(w);
    return SM_OK;
}

static enum sm_status put_cored(struct sm_lesson *l, const struct table *table, struct sm_json_writer *w)
{
    sm_json_member_array(w, "cored");
    for (struct place p = {0}; p.bore < BORES; next(&p)) {
        struct sm_burned b = {0};
        struct place end = p;
        end.bore = 0;
        const struct sm_burned *e = &table->ends[number_of(&end)];
        enum sm_status status = burn(l, &p, true, &b);
        if (status == SM_OK) {
            const struct sm_motor *const motors[] = {e->motor, b.motor};
            const struct sm_result *const results[] = {e->result, b.result};
            sm_explain_burn_times(motors, results, 2, table->words[number_of(&p)], sizeof table->words[0]);
            put_case(l, &b, 2, w);
        }
        sm_lesson_release(&b);
        SM_TRY(status);
    }
    sm_json_close(w);
    return SM_OK;
}

static void put_stops(struct sm_lesson *l, struct sm_json_writer *w)
{
    sm_json_member_array(w, "stops");
    sm_json_open_row(w);
    for (size_t i = 0; i < BORES; i++)
        sm_json_put_string(w, sm_lesson_show(l, bores[i], SM_DIM_LENGTH));
    sm_json_close(w);
    sm_json_open_row(w);
    for (size_t i = 0; i < LENGTHS; i++)
        sm_json_put_string(w, sm_lesson_show(l, lengths[i], SM_DIM_LENGTH));
    sm_json_close(w);
    sm_json_open_row(w);
    for (size_t i = 0; i < EXPONENTS; i++)
        sm_json_put_string(w, sm_lesson_show(l, exponents[i], SM_DIM_NONE));
    sm_json_close(w);
    sm_json_open_row(w);
    for (size_t i = 0; i < THROATS; i++) {
        char text[128];
        sm_text_format(text, sizeof text, "%s and %s",
                       sm_lesson_show(l, throats[i] * usual_throat[0], SM_DIM_LENGTH),
                       sm_lesson_show(l, throats[i] * usual_throat[1], SM_DIM_LENGTH));
        sm_json_put_string(w, text);
    }
    sm_json_close(w);
    sm_json_close(w);
}

static enum sm_status put_data(struct sm_lesson *l, struct table *table)
{
    struct sm_json_writer w;
    sm_lesson_data(l, "try", &w);
    put_stops(l, &w);
    sm_json_member_string(&w, "force", sm_show_unit(SM_DIM_FORCE, l->system));
    sm_json_member_string(&w, "pressure", sm_show_unit(SM_DIM_PRESSURE, l->system));
    SM_TRY(put_ends(l, table, &w));
    SM_TRY(put_cored(l, table, &w));
    sm_json_member_array(&w, "words");
    for (size_t i = 0; i < BORES * LENGTHS * EXPONENTS * THROATS; i++)
        sm_json_put_string(&w, table->words[i]);
    sm_json_close(&w);
    return sm_lesson_data_end(l, &w);
}

/* ---- the leaf ---- */

static void put_slider(struct sm_html *h, size_t i, const char *name, int most)
{
    sm_html_rawf(h,
                 "<label for=\"try-%zu\">%s</label><input type=\"range\" id=\"try-%zu\" min=\"0\" max=\"%d\" "
                 "value=\"%d\">"
                 "<output id=\"try-%zu-says\"></output>\n",
                 i, name, i, most, start[i], i);
}

static void put_leaf(struct sm_lesson *l)
{
    struct sm_html *h = &l->html;
    sm_html_raw(h, "<p>Both motors are of one propellant, one mass and one diameter, whatever you set. Each "
                   "stop of a slider is a "
                   "motor that was burned beforehand.</p>\n<div class=\"sliders\">\n");
    put_slider(h, 0, "Core diameter of the cored grain", BORES - 1);
    put_slider(h, 1, "Length of the end burner; the cored grain keeps its mass", LENGTHS - 1);
    put_slider(h, 2, "Pressure exponent of the propellant", EXPONENTS - 1);
    put_slider(h, 3, "Throats, of the end burner and of the cored motor", THROATS - 1);
    sm_html_raw(h, "</div>\n<p class=\"lead\" id=\"try-words\" aria-live=\"polite\"></p>\n<div "
                   "class=\"wide\" tabindex=\"0\" role=\"region\" "
                   "aria-label=\"both motors\"><table id=\"try-table\"><thead><tr><td></td><th scope=\"col\" "
                   "class=\"ink-1\">End burner"
                   "</th><th scope=\"col\" class=\"ink-2\">Cored</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        sm_html_raw(h, "<tr>");
        sm_html_element(h, "th scope=\"row\"", rows[i]);
        sm_html_raw(h, "<td class=\"number\"></td><td class=\"number\"></td></tr>\n");
    }
    sm_html_raw(h, "</tbody></table></div>\n<div class=\"pair\">\n");
    sm_lesson_put_place(l, "try-thrust", "Thrust");
    sm_lesson_put_place(l, "try-pressure", "Chamber pressure");
    sm_html_raw(h, "</div>\n");
}

enum sm_status sm_lesson_put_cases(struct sm_lesson *l)
{
    struct table *table = sm_arena_alloc(&l->arena, 1, sizeof *table);
    if (table)
        table->words = sm_arena_alloc(&l->arena, BORES * LENGTHS * EXPONENTS * THROATS, sizeof *table->words);
    if (!table || !table->words)
        return sm_fail(l->err, SM_E_NOMEM, "out of memory");
    sm_lesson_leaf(l, "try", "Change them");
    put_leaf(l);
    const enum sm_status status = put_data(l, table);
    for (size_t i = 0; i < SM_COUNT(table->ends); i++)
        sm_lesson_release(&table->ends[i]);
    SM_TRY(status);
    sm_lesson_leaf_end(l);
    return l->html.status;
}
