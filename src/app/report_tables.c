/* The report's chapters of words and tables. */
#include "app/report_parts.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

/* ---- the flight card ---- */

static void put_delay(struct sm_report *r)
{
    const struct sm_motor_spec *spec = &r->motor->spec;
    char text[SM_SHOW_TEXT];
    const double delay = spec->is_curve ? spec->bare.delay : SM_NAN;
    sm_page_put_row(&r->html, "ejection delay",
                    isnan(delay)  ? "not given"
                    : delay < 0.0 ? "plugged"
                                  : sm_show_number(text, delay, SM_DIM_TIME, r->options.system));
}

static void put_installed(struct sm_report *r)
{
    char text[160], a[SM_SHOW_TEXT], b[SM_SHOW_TEXT];
    const enum sm_unit_system system = r->options.system;
    const double each = r->result->thrust.total_impulse, mass = r->result->propellant_mass;
    if (r->count == 1) {
        sm_page_put_row(&r->html, "installed impulse", sm_show_measure(a, each, SM_DIM_IMPULSE, system));
        sm_page_put_row(&r->html, "propellant", sm_show_measure(b, mass, SM_DIM_MASS, system));
        return;
    }
    sm_text_format(text, sizeof text, "%s in %d motors, %s each",
                   sm_show_measure(a, r->count * each, SM_DIM_IMPULSE, system), r->count,
                   sm_show_measure(b, each, SM_DIM_IMPULSE, system));
    sm_page_put_row(&r->html, "installed impulse", text);
    sm_text_format(text, sizeof text, "%s in %d motors, %s each",
                   sm_show_measure(a, r->count * mass, SM_DIM_MASS, system), r->count,
                   sm_show_measure(b, mass, SM_DIM_MASS, system));
    sm_page_put_row(&r->html, "propellant", text);
}

static void put_flight(struct sm_report *r)
{
    const struct sm_lift *lift = r->options.lift;
    const enum sm_unit_system system = r->options.system;
    char text[240], a[SM_SHOW_TEXT], b[SM_SHOW_TEXT], c[SM_SHOW_TEXT];
    if (!lift) {
        sm_page_put_row(&r->html, "vehicle",
                        "none given: with --vehicle FILE the card has thrust to weight, and thrust and speed "
                        "at the rail's end");
        return;
    }
    const struct sm_lift_figures *f = &lift->figures;
    sm_text_format(text, sizeof text, "%.100s, %s as it is let go", lift->vehicle,
                   sm_show_measure(a, f->release_mass, SM_DIM_MASS, system));
    sm_page_put_row(&r->html, "vehicle", text);
    sm_text_format(
        text, sizeof text,
        "%s as it is let go, %s at most; high-power codes commonly ask for 3 at lift-off (from memory)",
        sm_show_measure(a, f->release_ratio, SM_DIM_NONE, system),
        sm_show_measure(b, f->greatest_ratio, SM_DIM_NONE, system));
    sm_page_put_row(&r->html, "thrust to weight", text);
    if (isnan(f->corner_speed))
        sm_text_format(text, sizeof text,
                       "no speed: it has no rail, or does not leave it; thrust to weight %s",
                       sm_show_measure(a, f->corner_ratio, SM_DIM_NONE, system));
    else
        sm_text_format(text, sizeof text, "%s at %s, thrust to weight %s",
                       sm_show_measure(a, f->corner_thrust, SM_DIM_FORCE, system),
                       sm_show_velocity(b, f->corner_speed, system),
                       sm_show_measure(c, f->corner_ratio, SM_DIM_NONE, system));
    sm_page_put_row(&r->html, "rail's end, worst corner", text);
    sm_page_put_row(&r->html, "worst corner", "cold, three deviations weak and heavy, one motor late");
    if (r->options.n_overrides > 0)
        sm_page_put_row(&r->html, "mind",
                        "the vehicle flies the motor as its file has it, without the values set over it");
}

/* "2, told below: long-burn, small-throat" */
static void put_codes(struct sm_report *r, const char *name, const struct sm_warning_found *w, size_t n)
{
    char text[400];
    int used = sm_text_format(text, sizeof text, "%zu, told below:", n);
    for (size_t i = 0; i < n && (size_t)used < sizeof text - 1; i++)
        used += sm_text_format(text + used, sizeof text - (size_t)used, "%s %s", i ? "," : "", w[i].code);
    sm_page_put_row(&r->html, name, n > 0 ? text : "none found, which is no promise");
}

/* What a reader of the card alone has to know. */
static void put_card_cautions(struct sm_report *r)
{
    struct sm_html *h = &r->html;
    sm_html_raw(
        h, "<p class=\"mind\">It predicts; it does not certify. Follow national and local law, the codes "
           "that apply and your range's safety officer, and never stand near a test.");
    if (r->options.lift)
        sm_html_textf(h, " %s", sm_lift_caution(0));
    sm_html_raw(h, "</p>\n");
}

static void put_findings(struct sm_report *r)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const struct sm_lift *lift = r->options.lift;
    const struct sm_rule_case c = {
        .impulse_each = r->result->thrust.total_impulse,
        .thrust_average = r->result->thrust.average,
        .propellant_each = r->result->propellant_mass,
        .vehicle_mass = lift ? lift->figures.release_mass : SM_NAN,
        .count = r->count,
        .own_design = !r->result->is_curve,
    };
    const size_t n = sm_rules_judge(&c, found);
    sm_html_raw(&r->html, "<ul>\n");
    for (size_t i = 0; i < n; i++) {
        sm_html_raw(&r->html, "<li>");
        sm_html_text(&r->html, found[i].text);
        if (found[i].brief)
            sm_html_textf(&r->html, " [%s%s%s]", found[i].brief,
                          strcmp(found[i].standing, "published") == 0 ? "" : ", ",
                          strcmp(found[i].standing, "published") == 0 ? "" : found[i].standing);
        sm_html_raw(&r->html, "</li>\n");
    }
    sm_html_raw(&r->html, "</ul>\n");
}

void sm_report_put_card(struct sm_report *r)
{
    struct sm_html *h = &r->html;
    const struct sm_thrust_summary *t = &r->result->thrust;
    const enum sm_unit_system system = r->options.system;
    char text[200], a[SM_SHOW_TEXT], b[SM_SHOW_TEXT];
    sm_page_chapter(h, "card", "Flight card");
    sm_html_rawf(h,
                 "<p class=\"note\">For the range's safety officer. %s; it certifies nothing.</p>\n"
                 "<table class=\"card\">\n<tbody>\n",
                 r->result->is_curve ? "From the curve as given" : "Predicted by slowmatch");
    sm_page_put_row(h, "motor", r->result->motor);
    sm_page_put_row(h, "designation", r->result->designation);
    sm_page_put_row(h, "standing",
                    r->result->is_curve
                        ? "from its curve as given; whether it is certified is for its papers to say"
                        : "own design, predicted; not a certified motor");
    sm_report_class_text(r, text, sizeof text);
    sm_page_put_row(h, "class", text);
    put_installed(r);
    sm_text_format(text, sizeof text, "%s on average, %s at most",
                   sm_show_measure(a, t->average, SM_DIM_FORCE, system),
                   sm_show_measure(b, t->maximum, SM_DIM_FORCE, system));
    sm_page_put_row(h, "thrust of each", text);
    sm_page_put_row(h, "burn time", sm_show_measure(a, t->burn_time, SM_DIM_TIME, system));
    put_delay(r);
    put_flight(r);
    put_codes(r, "warnings", r->result->warnings, r->result->n_warnings);
    if (r->options.lift)
        put_codes(r, "of the vehicle", r->options.lift->warnings, r->options.lift->n_warnings);
    sm_html_raw(h, "</tbody>\n</table>\n<h3>To look up</h3>\n");
    put_findings(r);
    put_card_cautions(r);
    sm_html_raw(h, "<p class=\"on-paper sign\">Seen by, and day:</p>\n");
    sm_page_chapter_end(h);
}

/* ---- figures and warnings ---- */

static void put_figure(struct sm_report *r, const struct sm_shown_figure *f, double value)
{
    char text[SM_SHOW_TEXT];
    struct sm_html *h = &r->html;
    sm_html_raw(h, "<tr>");
    sm_html_element(h, "th scope=\"row\"", f->label);
    sm_html_rawf(h, "<td class=\"number\" data-at=\"%zu\">", f->offset);
    sm_html_text(h, sm_shown_text(text, f, value, r->options.system));
    sm_html_raw(h, "</td><td class=\"number\">");
    const double sigma = sm_shown_sigma(f, r->result);
    if (!isnan(sigma))
        sm_html_textf(h, "+-%.2g %%", 100.0 * sigma / value);
    sm_html_raw(h, "</td>");
    sm_html_element(h, "td class=\"muted\"", f->note);
    sm_html_raw(h, "</tr>\n");
}

void sm_report_put_figures(struct sm_report *r)
{
    const struct sm_shown_figure *list;
    const size_t n = sm_shown_list(&list);
    const char *group = NULL; /* waits until one of its figures is there */
    bool has_body = false;
    struct sm_html *h = &r->html;
    sm_page_chapter(h, "figures", "Figures");
    sm_html_raw(h, "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"figures\"><table "
                   "class=\"figures\">\n");
    for (size_t i = 0; i < n; i++) {
        const double value = sm_shown_value(&list[i], r->result);
        group = list[i].group ? list[i].group : group;
        if (isnan(value))
            continue;
        if (group) { /* a body of its own, which a printed page keeps together */
            sm_html_raw(h, has_body ? "</tbody>\n<tbody>\n" : "<tbody>\n");
            has_body = true;
            sm_html_raw(h, "<tr class=\"group\">");
            sm_html_element(h, "th scope=\"rowgroup\" colspan=\"4\"", group);
            sm_html_raw(h, "</tr>\n");
        }
        group = NULL;
        put_figure(r, &list[i], value);
    }
    sm_html_raw(h, "</tbody>\n</table></div>\n");
    if (r->result->is_curve)
        sm_html_element(h, "p class=\"note\"",
                        r->result->altitude_corrected ? "Thrust was brought to the ambient pressure by the "
                                                        "nozzle's exit area. Mass flow is taken in "
                                                        "proportion to thrust, an assumption."
                                                      : "Thrust is not corrected for altitude, since no exit "
                                                        "diameter is given. Mass flow is taken in "
                                                        "proportion to thrust, an assumption.");
    sm_page_chapter_end(h);
}

static void put_found(struct sm_html *h, const struct sm_warning_found *w, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        sm_html_raw(h, "<p class=\"warning\">");
        sm_html_text(h, w[i].text);
        sm_html_raw(h, ". <code>");
        sm_html_textf(h, "%s%s%s", w[i].code, w[i].pointer[0] ? ": best changed at " : "", w[i].pointer);
        sm_html_raw(h, "</code></p>\n");
    }
}

void sm_report_put_warnings(struct sm_report *r)
{
    struct sm_html *h = &r->html;
    const struct sm_lift *lift = r->options.lift;
    sm_page_chapter(h, "warnings", "Warnings");
    put_found(h, r->result->warnings, r->result->n_warnings);
    if (r->result->n_warnings == 0)
        sm_html_raw(h, "<p>None was found. That is no promise: the models see only what they model.</p>\n");
    if (lift && lift->n_warnings > 0) {
        sm_html_raw(h, "<h3>Of the vehicle</h3>\n");
        put_found(h, lift->warnings, lift->n_warnings);
    }
    sm_page_chapter_end(h);
}

/* ---- masses ---- */

static void put_head(struct sm_html *h, const char *const *names, size_t n)
{
    sm_html_raw(h, "<thead><tr>");
    for (size_t i = 0; i < n; i++)
        sm_html_element(h, "th scope=\"col\"", names[i]);
    sm_html_raw(h, "</tr></thead>\n");
}

void sm_report_put_masses(struct sm_report *r)
{
    enum { ROWS = 6 };
    const struct sm_series *s = &r->result->series;
    const bool whole = s->motor_mass != NULL;
    const double *columns[] = {whole ? s->motor_mass : s->propellant_mass,
                               whole ? s->motor_center_of_mass : s->center_of_mass,
                               whole ? s->motor_inertia_axial : s->inertia_axial,
                               whole ? s->motor_inertia_transverse : s->inertia_transverse};
    static const enum sm_dim dims[] = {SM_DIM_MASS, SM_DIM_LENGTH, SM_DIM_INERTIA, SM_DIM_INERTIA};
    static const char *const names[] = {"time", "mass", "balance", "inertia, roll", "inertia, pitch"};
    struct sm_html *h = &r->html;
    char text[SM_SHOW_TEXT];
    const double end = s->time[s->n - 1];
    sm_page_chapter(h, "masses", "Mass and balance");
    sm_html_rawf(
        h,
        "<p>Of %s. Balance is the centre of mass, from the head end of the chamber; inertia about it.</p>\n",
        whole ? "the whole motor" : "the propellant alone");
    sm_html_raw(
        h, "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"mass and balance\"><table>\n");
    put_head(h, names, SM_COUNT(names));
    sm_html_raw(h, "<tbody>\n");
    for (size_t k = 0; k < ROWS; k++) {
        const double t = end * (double)k / (ROWS - 1);
        sm_html_raw(h, "<tr>");
        sm_html_element(h, "th scope=\"row\" class=\"number\"",
                        sm_show_measure(text, t, SM_DIM_TIME, r->options.system));
        for (size_t j = 0; j < SM_COUNT(columns); j++)
            sm_html_element(h, "td class=\"number\"",
                            sm_show_measure(text,
                                            columns[j] ? sm_curve_at(s->time, columns[j], s->n, t) : SM_NAN,
                                            dims[j], r->options.system));
        sm_html_raw(h, "</tr>\n");
    }
    sm_html_raw(h, "</tbody>\n</table></div>\n");
    sm_page_chapter_end(h);
}

/* ---- losses ---- */

void sm_report_put_losses(struct sm_report *r)
{
    static const char *const names[] = {"step", "change", "left", "what it is"};
    struct sm_html *h = &r->html;
    if (r->result->n_losses == 0)
        return;
    sm_page_chapter(h, "losses", "From ideal to delivered");
    sm_html_raw(h,
                "<p>Specific impulse, loss by loss.</p>\n<div class=\"wide\" tabindex=\"0\" role=\"region\" "
                "aria-label=\"losses\"><table>\n");
    put_head(h, names, SM_COUNT(names));
    sm_html_raw(h, "<tbody>\n");
    for (size_t i = 0; i < r->result->n_losses; i++) {
        const struct sm_loss *line = &r->result->losses[i];
        sm_html_raw(h, "<tr>");
        sm_html_element(h, "th scope=\"row\"", line->name);
        sm_html_raw(h, "<td class=\"number\">");
        if (i > 0)
            sm_html_textf(h, "%+.2f s", 0.01 * round(-100.0 * line->loss) + 0.0); /* -0 + 0 is 0 */
        sm_html_raw(h, "</td><td class=\"number\">");
        sm_html_textf(h, "%.1f s", line->specific_impulse);
        sm_html_raw(h, "</td>");
        sm_html_element(h, "td class=\"muted\"", line->note);
        sm_html_raw(h, "</tr>\n");
    }
    sm_html_raw(h, "</tbody>\n</table></div>\n");
    sm_page_chapter_end(h);
}

/* ---- how far it strays ---- */

static void put_effect(struct sm_html *h, double effect, double of)
{
    sm_html_raw(h, "<td class=\"number\">");
    if (isnan(effect) || isnan(of) || of == 0.0)
        sm_html_text(h, "-");
    else
        sm_html_textf(h, "%+.2f %%", 0.01 * round(1e4 * effect / of) + 0.0); /* -0 + 0 is 0 */
    sm_html_raw(h, "</td>");
}

static void put_influence(struct sm_report *r, const struct sm_influence *in)
{
    struct sm_html *h = &r->html;
    const struct sm_result *x = r->result;
    char a[SM_SHOW_TEXT], b[SM_SHOW_TEXT];
    const enum sm_dim spread = in->dim == SM_DIM_TEMPERATURE ? SM_DIM_TEMPERATURE_DIFFERENCE : in->dim;
    sm_html_raw(h, "<tr>");
    sm_html_element(h, "th scope=\"row\"", in->of);
    sm_html_element(h, "td class=\"number\"", sm_show_number(a, in->middle, in->dim, r->options.system));
    sm_html_element(h, "td class=\"number\"", sm_show_number(b, in->sigma, spread, r->options.system));
    put_effect(h, in->effect.total_impulse, x->thrust.total_impulse);
    put_effect(h, in->effect.burn_time, x->thrust.burn_time);
    put_effect(h, in->effect.maximum, x->thrust.maximum);
    put_effect(h, in->effect.pressure_maximum, x->chamber.pressure_maximum);
    sm_html_raw(h, "</tr>\n");
}

void sm_report_put_straying(struct sm_report *r)
{
    static const char *const names[] = {"value",     "middle", "one deviation", "impulse",
                                        "burn time", "thrust", "pressure"};
    const struct sm_one_sigma *s = &r->result->one_sigma;
    struct sm_html *h = &r->html;
    if (s->n_influences == 0)
        return;
    sm_page_chapter(h, "straying", "How far it strays");
    sm_html_element(
        h, "p",
        s->is_usual
            ? "By what is usual for such motors, for the file gives no tolerances. Behind the figures "
              "above, +- is one standard deviation; here is what one deviation of each value makes of them."
            : "By the file's tolerances. Behind the figures above, +- is one standard deviation; here is "
              "what one deviation of each value makes of them.");
    if (r->options.spread) {
        sm_html_raw(h, "<p class=\"on-screen\">"); /* paper has no band */
        sm_html_textf(h,
                      "The band about the thrust curve holds 95 of 100 motors, by %zu burns drawn at random "
                      "(seed %llu).",
                      r->options.spread->n_done - r->options.spread->n_impossible,
                      (unsigned long long)r->options.spread->seed);
        sm_html_raw(h, "</p>\n");
    }
    sm_html_raw(h, "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"what strays\"><table>\n");
    put_head(h, names, SM_COUNT(names));
    sm_html_raw(h, "<tbody>\n");
    for (size_t i = 0; i < s->n_influences; i++)
        put_influence(r, &s->influences[i]);
    sm_html_raw(h, "</tbody>\n</table></div>\n");
    sm_page_chapter_end(h);
}

/* ---- inputs ---- */

void sm_report_put_inputs(struct sm_report *r)
{
    struct sm_html *h = &r->html;
    struct sm_motor_facts facts;
    char a[SM_SHOW_TEXT], text[64];
    static const char *const models[] = {"transient", "equilibrium", "axial"};
    sm_motor_describe(r->motor, &facts);
    sm_page_chapter(h, "inputs", "Inputs");
    sm_html_raw(h, "<table>\n<tbody>\n");
    sm_page_put_row(h, "file", r->options.input_name);
    sm_page_put_row(h, "its SHA-256", r->options.input_hash);
    sm_text_format(text, sizeof text, "slowmatch %s", sm_version());
    sm_page_put_row(h, "reckoned by", text);
    sm_page_put_row(h, "model", r->result->is_curve ? "none: the curve as given" : models[r->result->model]);
    sm_page_put_row(h, "burn ends at",
                    r->result->burn_end == SM_BURN_END_CONTIGUOUS
                        ? "the end of the stretch above 5 % about the maximum"
                        : "the last fall through 5 % of maximum thrust");
    sm_page_put_row(h, "grain at",
                    sm_show_number(a, facts.grain_temperature, SM_DIM_TEMPERATURE, r->options.system));
    sm_page_put_row(h, "ambient pressure",
                    sm_show_number(a, facts.ambient_pressure, SM_DIM_PRESSURE, r->options.system));
    sm_page_put_row(h, "propellant", facts.propellant);
    sm_page_put_row(h, "its numbers are", facts.standing);
    sm_page_put_row(h, "source", facts.source);
    sm_html_raw(h, "</tbody>\n</table>\n");
    for (size_t i = 0; i < r->options.n_overrides; i++) {
        sm_html_raw(h, i == 0 ? "<h3>Set over the file</h3>\n<pre>" : "");
        sm_html_textf(h, "%s = %s\n", r->options.overrides[i].place, r->options.overrides[i].value);
        sm_html_raw(h, i + 1 == r->options.n_overrides ? "</pre>\n" : "");
    }
    if (r->options.input_text) {
        sm_html_raw(h,
                    "<h3>In full</h3>\n<p class=\"note\">Saved as a file this burns again to the same figures"
                    ".</p>\n");
        sm_html_element(h, "pre id=\"motor-file\"", r->options.input_text);
        sm_html_raw(h, "\n");
    }
    sm_page_chapter_end(h);
}
