/* The lesson's leaves on the class border, on hot days and on erosive peaks, and its questions. */
#include "app/lesson_parts.h"
#include "base/text.h"

#include <math.h>

enum { POINTS = 60 };

static const struct sm_lesson_design usual = {
    .name = "the end burner", .length = 0.088, .exponent = 0.42, .throat = 0.002};

static void put_slider(struct sm_html *h, const char *id, const char *name, int most, int at)
{
    sm_html_rawf(
        h,
        "<div class=\"sliders\"><label for=\"%s-slider\">%s</label><input type=\"range\" id=\"%s-slider\" "
        "min=\"0\" "
        "max=\"%d\" value=\"%d\"><output id=\"%s-says\"></output></div>\n<p class=\"lead\" id=\"%s-words\" "
        "aria-live=\"polite\"></p>\n",
        id, name, id, most, at, id, id);
}

/* ---- the class border ---- */

enum { STEPS = 9 };

static void put_border_case(struct sm_lesson *l, double length, const struct sm_result *r,
                            struct sm_json_writer *w)
{
    const struct sm_impulse_class *c = &r->impulse_class;
    const double total = r->thrust.total_impulse, sigma = r->one_sigma.figures.total_impulse;
    const double below = c->margin, above = total - c->above;
    sm_json_open_object(w);
    sm_lesson_member(w, "stop", "%s long", sm_lesson_show(l, length, SM_DIM_LENGTH));
    sm_lesson_member(w, "total", "%s", sm_lesson_show(l, total, SM_DIM_IMPULSE));
    /* Its place on a line on which each class is as wide as the one before: doublings, from 80 N s [%]. */
    sm_json_member_number(w, "at", 100.0 * log2(total / 80.0) / 3.0);
    sm_json_member_number(w, "low", 100.0 * log2((total - 2.0 * sigma) / 80.0) / 3.0);
    sm_json_member_number(w, "high", 100.0 * log2((total + 2.0 * sigma) / 80.0) / 3.0);
    sm_lesson_member(w, "words",
                     "%s: class %s, %s above its lower limit and %s below its upper one. One standard "
                     "deviation of such motors is %s, "
                     "so the nearer border is %.1f of them away%s.",
                     sm_lesson_show(l, total, SM_DIM_IMPULSE), c->letter,
                     sm_lesson_show(l, above, SM_DIM_IMPULSE), sm_lesson_show(l, below, SM_DIM_IMPULSE),
                     sm_lesson_show(l, sigma, SM_DIM_IMPULSE), fmin(above, below) / sigma,
                     fmin(above, below) < 2.0 * sigma
                         ? ": the next motor off the same bench may bear another letter"
                         : "");
    sm_json_close(w);
}

static enum sm_status put_border_cases(struct sm_lesson *l, struct sm_json_writer *w)
{
    for (size_t i = 0; i < STEPS; i++) {
        struct sm_burned b = {0};
        struct sm_lesson_design design = usual;
        design.length = 0.072 + 0.003 * (double)i;
        const enum sm_status status = sm_lesson_burn(l, &design, true, &b);
        if (status == SM_OK)
            put_border_case(l, design.length, b.result, w);
        sm_lesson_release(&b);
        SM_TRY(status);
    }
    return SM_OK;
}

enum sm_status sm_lesson_put_border(struct sm_lesson *l)
{
    struct sm_json_writer w;
    struct sm_html *h = &l->html;
    sm_lesson_leaf(l, "border", "The class border");
    sm_html_raw(h, "<p>A motor's letter says only between which two limits its total impulse lies, and each "
                   "class reaches twice as "
                   "far as the one before. A millimetre more of propellant can change the letter, and with "
                   "it which level, which "
                   "storage and which field it needs; its thrust hardly changes.</p>\n");
    put_slider(h, "border", "Length of the end burner", STEPS - 1, 3);
    sm_html_raw(h, "<svg class=\"scale\" viewBox=\"0 0 100 18\" role=\"img\" aria-label=\"classes G, H and I "
                   "by doubling impulse, with this "
                   "motor and two standard deviations to either side\">\n");
    static const char *const letters[] = {"G", "H", "I"};
    for (int i = 0; i < 3; i++)
        sm_html_rawf(h,
                     "<rect class=\"class-%d\" x=\"%.4g\" y=\"7\" width=\"33.33\" height=\"6\"/><text "
                     "x=\"%.4g\" y=\"11.2\">%s</text>"
                     "<text class=\"limit%s\" x=\"%.4g\" y=\"17\">%d N s</text>\n",
                     i, i * 100.0 / 3.0, (i + 0.5) * 100.0 / 3.0, letters[i], i == 0 ? " first" : "",
                     i * 100.0 / 3.0, 80 << i);
    sm_html_raw(h, "<path class=\"reach\" d=\"\"/><path class=\"here\" d=\"\"/></svg>\n");
    sm_lesson_data(l, "border", &w);
    sm_json_member_array(&w, "cases");
    SM_TRY(put_border_cases(l, &w));
    sm_json_close(&w);
    SM_TRY(sm_lesson_data_end(l, &w));
    sm_lesson_leaf_end(l);
    return h->status;
}

/* ---- hot days ---- */

enum { DAYS = 7, USUAL_DAY = 3 };
static const double celsius[DAYS] = {-10.0, 0.0, 10.0, 21.0, 30.0, 40.0, 50.0}; /* [degC] */

static void put_day(struct sm_lesson *l, const struct sm_result *r, const struct sm_result *mild,
                    double kelvin, struct sm_json_writer *w)
{
    char text[SM_SHOW_TEXT];
    sm_json_open_object(w);
    sm_lesson_member(w, "stop", "%s", sm_show_number(text, kelvin, SM_DIM_TEMPERATURE, l->system));
    sm_lesson_member(w, "words",
                     "With its grain at %s the motor burns for %s and its pressure comes to %s, %+.1f %% "
                     "beside 21 degrees; total impulse "
                     "is %s, %+.1f %%. Impulse hardly changes: what is gained in thrust is lost in time, or "
                     "the other way round.",
                     sm_show_number(text, kelvin, SM_DIM_TEMPERATURE, l->system),
                     sm_lesson_show(l, r->thrust.burn_time, SM_DIM_TIME),
                     sm_lesson_show(l, r->chamber.pressure_maximum, SM_DIM_PRESSURE),
                     100.0 * (r->chamber.pressure_maximum / mild->chamber.pressure_maximum - 1.0),
                     sm_lesson_show(l, r->thrust.total_impulse, SM_DIM_IMPULSE),
                     100.0 * (r->thrust.total_impulse / mild->thrust.total_impulse - 1.0));
    sm_json_put_key(w, "thrust");
    sm_lesson_put_curve(l, w, "this day", 2, r, r->series.thrust, SM_DIM_FORCE, POINTS);
    sm_json_put_key(w, "pressure");
    sm_lesson_put_curve(l, w, "this day", 2, r, r->series.pressure, SM_DIM_PRESSURE, POINTS);
    sm_json_close(w);
}

static enum sm_status put_days(struct sm_lesson *l, const struct sm_result *mild, struct sm_json_writer *w)
{
    sm_json_member_array(w, "cases");
    for (size_t i = 0; i < DAYS; i++) {
        struct sm_burned b = {0};
        struct sm_lesson_design design = usual;
        design.temperature = celsius[i] + 273.15;
        const enum sm_status status = sm_lesson_burn(l, &design, false, &b);
        if (status == SM_OK)
            put_day(l, b.result, mild, design.temperature, w);
        sm_lesson_release(&b);
        SM_TRY(status);
    }
    sm_json_close(w);
    return SM_OK;
}

enum sm_status sm_lesson_put_heat(struct sm_lesson *l)
{
    struct sm_json_writer w;
    struct sm_burned mild = {0};
    struct sm_html *h = &l->html;
    sm_lesson_leaf(l, "heat", "Hot days");
    sm_html_raw(
        h,
        "<p>A warm grain burns faster. Faster burning raises the pressure, and pressure makes it burn faster "
        "again, until the "
        "throat lets out as much as the surface gives: so pressure grows by more than the rate did, and by "
        "the more the "
        "nearer the exponent is to one. A case is chosen for the hottest day, not for the usual one.</p>\n");
    put_slider(h, "heat", "Temperature of the grain", DAYS - 1, 5);
    sm_html_raw(h, "<div class=\"pair\">\n");
    sm_lesson_put_place(l, "heat-thrust", "Thrust");
    sm_lesson_put_place(l, "heat-pressure", "Chamber pressure");
    sm_html_raw(h, "</div>\n");
    SM_TRY(sm_lesson_burn(l, &usual, false, &mild));
    sm_lesson_data(l, "heat", &w);
    sm_json_member_string(&w, "force", sm_show_unit(SM_DIM_FORCE, l->system));
    sm_json_member_string(&w, "pressure", sm_show_unit(SM_DIM_PRESSURE, l->system));
    const enum sm_status status = put_days(l, mild.result, &w);
    sm_json_member_object(&w, "usual");
    sm_json_put_key(&w, "thrust");
    sm_lesson_put_curve(l, &w, "at 21 degrees", 1, mild.result, mild.result->series.thrust, SM_DIM_FORCE,
                        POINTS);
    sm_json_put_key(&w, "pressure");
    sm_lesson_put_curve(l, &w, "at 21 degrees", 1, mild.result, mild.result->series.pressure, SM_DIM_PRESSURE,
                        POINTS);
    sm_json_close(&w);
    sm_lesson_release(&mild);
    SM_TRY(status);
    SM_TRY(sm_lesson_data_end(l, &w));
    sm_lesson_leaf_end(l);
    return h->status;
}

/* ---- erosive peaks ---- */

/* A long thin core; its erosive constants are invented too. */
static const char long_core[] =
    "{\"format\":\"slowmatch-motor/1\",\"name\":\"Sandpiper long "
    "core\",\"propellant\":{\"format\":\"slowmatch-propellant/1\","
    "\"name\":\"invented erosive composite\",\"density\":\"1680 kg/m3\",\"burn_rate\":[{\"from\":\"0.3 "
    "MPa\",\"to\":\"12 MPa\","
    "\"rate\":\"4.1 mm/s\",\"at\":\"1 MPa\",\"exponent\":0.42}],\"temperature_sensitivity\":\"0.002 1/K\","
    "\"reference_temperature\":\"21 degC\",\"minimum_pressure\":\"0.3 MPa\",\"flame_temperature\":\"2300 K\","
    "\"molar_mass\":\"23.5 g/mol\",\"gamma\":1.22,\"cstar_efficiency\":0.95,\"erosive\":{\"rate\":\"5 mm/s\","
    "\"flux\":\"1000 kg m-2 s-1\",\"diameter\":\"10 mm\"},\"source\":\"invented for the "
    "lesson\",\"standing\":\"invented\"},"
    "\"case\":{\"bore\":\"30 mm\",\"length\":\"300 "
    "mm\"},\"grains\":[{\"shape\":\"tube\",\"outer_diameter\":\"29 mm\","
    "\"bore_diameter\":\"11 mm\",\"length\":\"71 mm\",\"count\":4,\"spacing\":\"1 mm\","
    "\"burning\":[\"bore\",\"fore-end\",\"aft-end\"]}],\"nozzle\":{\"throat_diameter\":\"9.2 "
    "mm\",\"exit_diameter\":\"18 mm\","
    "\"half_angle\":\"15 deg\",\"thrust_efficiency\":0.95},\"ignition\":{\"pressure\":\"0.6 "
    "MPa\",\"spread_time\":\"10 ms\"},"
    "\"conditions\":{\"grain_temperature\":\"21 degC\",\"ambient_pressure\":\"101.325 kPa\"}}";

static void say_erosion(struct sm_lesson *l, const struct sm_result *axial, const struct sm_result *lumped)
{
    const struct sm_axial_summary *a = &axial->axial;
    char b[SM_SHOW_TEXT];
    sm_html_raw(&l->html, "<p class=\"lead\">");
    sm_html_textf(&l->html,
                  "Reckoned along the port, gas comes to %.2f of the speed of sound at %s from the head end, "
                  "and the grain there burns "
                  "%.2f times as fast as by pressure alone. With as much burned, the head end sees up to "
                  "%.2f times what one pressure for "
                  "all of the chamber would say; the highest of all is %s against %s.",
                  a->mach_maximum, sm_show_measure(b, a->mach_place, SM_DIM_LENGTH, l->system),
                  a->erosive_ratio, a->erosive_peak, sm_lesson_show(l, a->head_maximum, SM_DIM_PRESSURE),
                  sm_lesson_show(l, lumped->chamber.pressure_maximum, SM_DIM_PRESSURE));
    sm_html_raw(&l->html, "</p>\n");
}

static enum sm_status put_erosion_data(struct sm_lesson *l, const struct sm_result *axial,
                                       const struct sm_result *lumped)
{
    enum { MANY = 200 };
    struct sm_json_writer w;
    sm_lesson_data(l, "erosion", &w);
    sm_json_member_string(&w, "pressure", sm_show_unit(SM_DIM_PRESSURE, l->system));
    sm_json_member_array(&w, "curves");
    sm_lesson_put_curve(l, &w, "one pressure for all", 1, lumped, lumped->series.pressure, SM_DIM_PRESSURE,
                        MANY);
    sm_lesson_put_curve(l, &w, "head end", 2, axial, axial->series.pressure, SM_DIM_PRESSURE, MANY);
    sm_lesson_put_curve(l, &w, "aft end", 3, axial, axial->series.pressure_aft, SM_DIM_PRESSURE, MANY);
    sm_json_close(&w);
    return sm_lesson_data_end(l, &w);
}

enum sm_status sm_lesson_put_erosion(struct sm_lesson *l)
{
    struct sm_burned axial = {0}, lumped = {0};
    struct sm_html *h = &l->html;
    sm_lesson_leaf(l, "erosion", "Erosive peaks");
    sm_html_raw(h, "<p>A long thin core has a price at the start. All the gas made along it has to pass its "
                   "aft end, and gas that rushes "
                   "past a burning surface makes it burn faster: more gas, more pressure. The peak is over "
                   "as soon as the port has "
                   "burned wider; the case must stand it all the same. An end burner has no port and no such "
                   "peak.</p>\n");
    enum sm_status status = sm_lesson_burn_text(l, long_core, SM_MODEL_AXIAL, true, &axial);
    if (status == SM_OK)
        status = sm_lesson_burn_text(l, long_core, SM_MODEL_TRANSIENT, false, &lumped);
    if (status == SM_OK) {
        say_erosion(l, axial.result, lumped.result);
        sm_lesson_put_place(l, "erosion-pressure", "Pressure in a long core");
        status = put_erosion_data(l, axial.result, lumped.result);
    }
    sm_lesson_release(&axial);
    sm_lesson_release(&lumped);
    SM_TRY(status);
    sm_lesson_leaf_end(l);
    return h->status;
}

/* ---- questions ---- */

void sm_lesson_put_questions(struct sm_lesson *l)
{
    static const struct {
        const char *question, *answer;
    } list[] = {
        {"An end burner is made twice as long. What happens to its burn time, and what to its thrust?",
         "The front has twice the way at the same rate, so it burns twice as long. The burning face is as "
         "large as before, so pressure and "
         "thrust stay as they were, and total impulse doubles: one class further."},
        {"A cored grain is made twice as long, its core and throat as they were. What now?",
         "The way from core to wall is the same, but twice the surface burns at once. Pressure rises by more "
         "than twice, for the rate rises "
         "with it, and the burn becomes shorter. The throat would have to grow with the surface."},
        {"Two motors have the same total impulse. Must they have the same letter? The same number?",
         "The same letter, since the letter is the class of total impulse. Not the same number, which is the "
         "average thrust: one pushes hard "
         "for a short time, the other gently for a long one."},
        {"Why does pressure rise by more than the burning rate on a hot day?",
         "The throat lets gas out in proportion to pressure, while the surface gives gas by a power of "
         "pressure. With exponent n a rate that is "
         "1 % higher lifts the resting pressure by 1/(1 - n) %: at n = 0.42 by 1.7 %, at n = 0.8 by 5 %."},
        {"Why is the throat of an end burner so small, and what follows?",
         "Little surface burns, so little gas comes, and only a narrow throat keeps it at pressure. On a 2 "
         "mm throat a drill that is 0.02 mm off "
         "counts ten times as much as on a 20 mm one."},
        {"Which of the two heats its case more?",
         "The end burner bares its wall from the first second on and for all of the burn; a cored grain "
         "shields its case until it is nearly "
         "through. Case heating is not reckoned here: a burst pressure for a long burn must be that of the "
         "hot case."},
    };
    struct sm_html *h = &l->html;
    sm_lesson_leaf(l, "questions", "Questions");
    sm_html_raw(h, "<p>Think first, then open.</p>\n");
    for (size_t i = 0; i < SM_COUNT(list); i++) {
        sm_html_raw(h, "<details>");
        sm_html_element(h, "summary", list[i].question);
        sm_html_element(h, "p", list[i].answer);
        sm_html_raw(h, "</details>\n");
    }
    sm_lesson_leaf_end(l);
}
