/* The lesson: why an end burner lasts longer. */
#include "app/lesson_parts.h"
#include "app/report_parts.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- the lesson's own motors ---- */

#define PROPELLANT                                                                                           \
    "{\"format\":\"slowmatch-propellant/1\",\"name\":\"demo-slow-composite\",\"density\":\"1680 kg/m3\","    \
    "\"burn_rate\":[{\"from\":\"0.3 MPa\",\"to\":\"12 MPa\",\"rate\":\"4.1 mm/s\",\"at\":\"1 "               \
    "MPa\",\"exponent\":%.9g}],"                                                                             \
    "\"temperature_sensitivity\":\"0.002 1/K\",\"reference_temperature\":\"21 degC\","                       \
    "\"minimum_pressure\":\"0.3 MPa\",\"flame_temperature\":\"2300 K\",\"molar_mass\":\"23.5 g/mol\","       \
    "\"gamma\":1.22,\"cstar_efficiency\":0.95,\"source\":\"invented for the "                                \
    "lesson\",\"standing\":\"invented\"}"

/* What stands behind the grains in every motor of the lesson. */
#define REST                                                                                                 \
    "\"nozzle\":{\"throat_diameter\":\"%.9g m\",\"exit_diameter\":\"%.9g m\",\"half_angle\":\"15 deg\","     \
    "\"thrust_efficiency\":0.95},\"hardware\":{\"mass\":\"140 g\",\"center_of_mass\":\"65 mm\","             \
    "\"inertia_axial\":\"2.4e-5 kg m2\",\"inertia_transverse\":\"3.1e-4 kg m2\"},"                           \
    "\"ignition\":{\"pressure\":\"0.6 MPa\",\"spread_time\":\"20 ms\"},"                                     \
    "\"conditions\":{\"grain_temperature\":\"%.9g K\",\"ambient_pressure\":\"101.325 kPa\"}}"

enum { TUBES = 2, MOTOR_TEXT = 2048 };

enum sm_status sm_lesson_burn_text(struct sm_lesson *l, const char *text, enum sm_model model,
                                   bool with_warnings, struct sm_burned *burned)
{
    const struct sm_load_options load = {.units = l->units};
    const struct sm_run_options run = {.model = model, .without_warnings = !with_warnings};
    struct sm_diag problems = {0};
    enum sm_status status = sm_motor_parse(text, strlen(text), "the lesson's motor", &load, l->context,
                                           &burned->motor, &problems);
    if (status == SM_OK)
        status = sm_simulate(burned->motor, &run, l->context, &burned->result, l->err);
    else if (problems.n > 0 && l->err)
        *l->err = problems.items[0];
    sm_diag_release(&problems);
    return status;
}

enum sm_status sm_lesson_burn(struct sm_lesson *l, const struct sm_lesson_design *d, bool with_warnings,
                              struct sm_burned *burned)
{
    char text[MOTOR_TEXT], grain[256];
    const double D = SM_LESSON_DIAMETER, gap = 0.002,
                 room = 0.02; /* between tubes, and in the case besides [m] */
    /* A cored grain of the same mass is as much longer as its core is wide. */
    const double length = d->cored ? d->length * D * D / (D * D - d->bore * d->bore) : d->length;
    const double exit = (d->cored ? 2.1 : 2.0) * d->throat;
    const double kelvin = d->temperature > 0.0 ? d->temperature : 294.15;
    if (d->cored)
        sm_text_format(grain, sizeof grain,
                       "{\"shape\":\"tube\",\"outer_diameter\":\"%.9g m\",\"bore_diameter\":\"%.9g "
                       "m\",\"length\":\"%.9g m\","
                       "\"count\":%d,\"spacing\":\"%.9g m\",\"burning\":[\"bore\",\"fore-end\",\"aft-end\"]}",
                       D, d->bore, length / TUBES, (int)TUBES, gap);
    else
        sm_text_format(grain, sizeof grain,
                       "{\"shape\":\"end-burner\",\"outer_diameter\":\"%.9g m\",\"length\":\"%.9g m\"}", D,
                       length);
    const int n =
        sm_text_format(text, sizeof text,
                       "{\"format\":\"slowmatch-motor/1\",\"name\":\"%s\",\"propellant\":" PROPELLANT
                       ",\"case\":{\"bore\":\"30 mm\",\"length\":\"%.9g m\"},\"grains\":[%s]," REST,
                       d->name, d->exponent, length + room, grain, d->throat, exit, kelvin);
    if (n < 0 || (size_t)n >= sizeof text)
        return sm_fail(l->err, SM_E_INTERNAL, "the lesson's motor is too long");
    return sm_lesson_burn_text(l, text, SM_MODEL_TRANSIENT, with_warnings, burned);
}

void sm_lesson_release(struct sm_burned *burned)
{
    sm_result_free(burned->result);
    sm_motor_free(burned->motor);
    *burned = (struct sm_burned){0};
}

/* ---- what leaves share ---- */

void sm_lesson_leaf(struct sm_lesson *l, const char *id, const char *name)
{
    sm_html_rawf(
        &l->html,
        "<section class=\"leaf\" id=\"%s\" aria-labelledby=\"%s-name\">\n<h2 id=\"%s-name\" tabindex=\"-1\">",
        id, id, id);
    sm_html_text(&l->html, name);
    sm_html_raw(&l->html, "</h2>\n");
}

void sm_lesson_leaf_end(struct sm_lesson *l)
{
    sm_html_raw(&l->html, "</section>\n");
}

void sm_lesson_data(struct sm_lesson *l, const char *id, struct sm_json_writer *w)
{
    sm_html_rawf(&l->html, "<script type=\"application/json\" id=\"%s-data\">", id);
    sm_json_write_init(w, l->html.sink);
    w->for_script = true;
    sm_json_open_object(w);
}

enum sm_status sm_lesson_data_end(struct sm_lesson *l, struct sm_json_writer *w)
{
    sm_json_close(w);
    SM_TRY(sm_json_write_end(w, l->err));
    sm_html_raw(&l->html, "</script>\n");
    return l->html.status;
}

void sm_lesson_put_curve(struct sm_lesson *l, struct sm_json_writer *w, const char *label, int colour,
                         const struct sm_result *result, const double *values, enum sm_dim dim, size_t n)
{
    const struct sm_series *s = &result->series;
    double *t = sm_arena_alloc(&l->arena, n, sizeof *t), *y = sm_arena_alloc(&l->arena, n, sizeof *y);
    for (size_t i = 0; t && y && i < n; i++) {
        t[i] = s->time[s->n - 1] * (double)i / (double)(n - 1);
        y[i] = sm_curve_at(s->time, values, s->n, t[i]);
    }
    sm_json_open_object_row(w);
    sm_json_member_string(w, "label", label);
    sm_json_member_whole(w, "colour", colour);
    sm_json_member_string(w, "x", t && y ? sm_page_digits(&l->arena, t, n, SM_DIM_TIME, l->system) : NULL);
    sm_json_member_string(w, "y", t && y ? sm_page_digits(&l->arena, y, n, dim, l->system) : NULL);
    sm_json_close(w);
}

void sm_lesson_put_place(struct sm_lesson *l, const char *id, const char *name)
{
    sm_html_rawf(&l->html, "<div class=\"plot\" id=\"%s\">", id);
    sm_html_element(&l->html, "h3", name);
    sm_html_raw(&l->html, "<div class=\"place low\"></div></div>\n");
}

void sm_lesson_member(struct sm_json_writer *w, const char *key, const char *fmt, ...)
{
    char text[1024];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(text, sizeof text, fmt, args);
    va_end(args);
    sm_json_member_string(w, key, text);
}

const char *sm_lesson_show(struct sm_lesson *l, double si, enum sm_dim dim)
{
    char *text = sm_arena_alloc(&l->arena, SM_SHOW_TEXT, 1);
    return text ? sm_show_measure(text, si, dim, l->system) : "";
}

/* ---- the page ---- */

static void put_head(struct sm_lesson *l)
{
    static const struct {
        const char *id, *name;
    } leaves[] = {{"race", "Two grains"},  {"try", "Change them"},       {"border", "The class border"},
                  {"heat", "Hot days"},    {"erosion", "Erosive peaks"}, {"questions", "Questions"},
                  {"cautions", "Cautions"}};
    struct sm_html *h = &l->html;
    sm_html_raw(h, "<header class=\"lesson\">\n<h1>Why an end burner lasts longer</h1>\n<nav "
                   "aria-label=\"leaves\"><ol>\n");
    for (size_t i = 0; i < SM_COUNT(leaves); i++)
        sm_html_rawf(h, "<li><a href=\"#%s\">%s</a></li>\n", leaves[i].id, leaves[i].name);
    sm_html_raw(h, "</ol></nav>\n</header>\n");
}

static enum sm_status put_leaves(struct sm_lesson *l)
{
    struct sm_html *h = &l->html;
    SM_TRY(sm_page_open(h, "Why an end burner lasts longer, a lesson by slowmatch", SM_PAGE_LESSON, l->err));
    put_head(l);
    sm_html_raw(
        h, "<main>\n<noscript><p>The moving pictures are drawn by the page's own script, which does not run "
           "here.</p></noscript>\n");
    SM_TRY(sm_lesson_put_race(l));
    SM_TRY(sm_lesson_put_cases(l));
    SM_TRY(sm_lesson_put_border(l));
    SM_TRY(sm_lesson_put_heat(l));
    SM_TRY(sm_lesson_put_erosion(l));
    sm_lesson_put_questions(l);
    sm_lesson_leaf(l, "cautions", "Cautions");
    sm_page_put_cautions(h);
    sm_lesson_leaf_end(l);
    sm_html_raw(h, "</main>\n<p class=\"turn\"><button id=\"back\">Leaf before</button> <button "
                   "id=\"on\">Next leaf</button></p>\n"
                   "<p class=\"note\">All numbers were reckoned beforehand by slowmatch; the page only shows "
                   "them. The motors "
                   "are invented unless you gave your own.</p>\n");
    sm_page_close(h, SM_PAGE_LESSON);
    return sm_html_end(h, l->err);
}

/* The two that the lesson is about, unless others are given: of one mass, diameter and propellant. */
static enum sm_status prepare(struct sm_lesson *l)
{
    static const struct sm_lesson_design designs[2] = {
        {.name = "Sandpiper end burner", .length = 0.088, .exponent = 0.42, .throat = 0.002},
        {.name = "Sandpiper cored",
         .cored = true,
         .length = 0.088,
         .bore = 0.010,
         .exponent = 0.42,
         .throat = 0.0062},
    };
    SM_TRY(sm_units_open(&l->units, l->err));
    for (size_t i = 0; l->is_own && i < 2; i++) {
        SM_TRY(sm_lesson_burn(l, &designs[i], true, &l->own[i]));
        l->motors[i] = l->own[i].motor;
        l->results[i] = l->own[i].result;
    }
    return SM_OK;
}

enum sm_status sm_lesson_write(const struct sm_lesson_options *options, struct sm_sink *sink,
                               struct sm_error *err)
{
    struct sm_error own = {0};
    struct sm_lesson l = {.is_own = true, .err = err ? err : &own};
    if (options) {
        l.system = options->system;
        l.context = options->context;
        l.is_own = !options->motors[0];
        for (size_t i = 0; i < 2; i++) {
            l.motors[i] = options->motors[i];
            l.results[i] = options->results[i];
        }
    }
    sm_arena_init(&l.arena, NULL);
    sm_html_init(&l.html, sink);
    enum sm_status status = prepare(&l);
    if (status == SM_OK)
        status = put_leaves(&l);
    if (l.html.status != SM_OK) /* what failed first, wherever the page noticed */
        status = sm_html_end(&l.html, err);
    for (size_t i = 0; i < 2; i++)
        sm_lesson_release(&l.own[i]);
    sm_units_free(l.units);
    sm_arena_release(&l.arena);
    return status;
}
