/* Pictures of results, in the units people read. */
#include "app/pictures.h"
#include "base/arena.h"
#include "base/text.h"
#include "report/axes.h"
#include "slowmatch/plot.h"

#include <math.h>
#include <string.h>

/* A unit that people read: the SI value over factor. */
struct display {
    const char *label, *name;
    double factor; /* [SI unit per unit shown] */
};

static const struct display force[] = {{"thrust (N)", "N", 1.0}, {"thrust (lbf)", "lbf", 4.4482216152605}};
static const struct display pressure[] = {{"chamber pressure (MPa)", "MPa", 1e6},
                                          {"chamber pressure (psi)", "psi", 6894.757293168361}};

enum sm_status sm_picture_kind_of(const char *path, enum sm_picture_kind *kind, struct sm_error *err)
{
    static const struct {
        const char *ending;
        enum sm_picture_kind kind;
    } kinds[] = {{".svg", SM_PICTURE_SVG}, {".png", SM_PICTURE_PNG}, {".pdf", SM_PICTURE_PDF}};
    const char *dot = strrchr(path, '.');
    for (size_t i = 0; dot && i < SM_COUNT(kinds); i++)
        if (strcmp(dot, kinds[i].ending) == 0) {
            *kind = kinds[i].kind;
            return SM_OK;
        }
    return sm_fail(err, SM_E_RANGE, "a plot's name must end in .svg, .png or .pdf, not as %.100s", path);
}

enum sm_plot_kind sm_picture_plot_kind(enum sm_picture_kind kind)
{
    return kind == SM_PICTURE_PNG ? SM_PLOT_PNG : kind == SM_PICTURE_PDF ? SM_PLOT_PDF : SM_PLOT_SVG;
}

/* ---- one panel of one column of every result ---- */

enum column { THRUST, PRESSURE, AFT };

static const double *column_of(const struct sm_result *result, enum column column)
{
    return column == THRUST     ? result->series.thrust
           : column == PRESSURE ? result->series.pressure
                                : result->series.pressure_aft;
}

static double *scaled(struct sm_arena *arena, const double *y, size_t n, double factor)
{
    double *out = sm_arena_alloc(arena, n, sizeof *out);
    for (size_t i = 0; out && i < n; i++)
        out[i] = y[i] / factor;
    return out;
}

/* Several results of one motor are told apart by their grain's temperature. */
static bool is_one_motor(const struct sm_result *const *results, size_t n)
{
    bool same = n > 1;
    for (size_t i = 1; i < n; i++)
        same = same && strcmp(results[i]->motor, results[0]->motor) == 0 &&
               !isnan(results[i]->grain_temperature);
    return same;
}

static const char *label_of(struct sm_arena *arena, const struct sm_result *const *results, size_t n,
                            size_t i, bool is_us)
{
    enum { LABEL = 32 };
    if (n == 1 || !is_one_motor(results, n))
        return n > 1 ? results[i]->motor : NULL;
    const double celsius = results[i]->grain_temperature - 273.15;
    char *label = sm_arena_alloc(arena, LABEL, 1);
    if (label)
        sm_text_format(label, LABEL, is_us ? "%.4g degF" : "%.4g degC",
                       is_us ? 1.8 * celsius + 32.0 : celsius);
    return label;
}

static enum sm_status add_series(struct sm_arena *arena, const struct sm_result *const *results, size_t n,
                                 enum column column, const struct display *unit, struct sm_plot_panel *panel,
                                 struct sm_error *err)
{
    struct sm_plot_series *series = sm_arena_alloc(arena, n, sizeof *series);
    if (!series)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < n; i++) {
        const double *y = column_of(results[i], column);
        if (!y)
            continue;
        struct sm_plot_series *s = &series[panel->n_series++];
        *s = (struct sm_plot_series){
            .x = results[i]->series.time,
            .y = scaled(arena, y, results[i]->series.n, unit->factor),
            .n = results[i]->series.n,
            .label =
                label_of(arena, results, n, i, unit == &force[SM_UNITS_US] || unit == &pressure[SM_UNITS_US]),
            .colour = (int)i + 1, /* its own in both panels; past the last accent its dashes tell it apart */
        };
        if (!s->y || (n > 1 && !s->label))
            return sm_fail(err, SM_E_NOMEM, "out of memory");
    }
    panel->series = series;
    return SM_OK;
}

/* What one motor's plot says besides its curve: the burn time as a span, the average as a line. */
struct notes {
    struct sm_plot_span span;
    struct sm_plot_rule rule;
    char span_text[64], rule_text[64], subtitle[256];
};

static void annotate(const struct sm_result *r, const struct display *unit, struct notes *notes,
                     struct sm_plot_panel *panel)
{
    const struct sm_thrust_summary *t = &r->thrust;
    sm_text_format(notes->span_text, sizeof notes->span_text, "burn time %.4g s", t->burn_time);
    sm_text_format(notes->rule_text, sizeof notes->rule_text, "average %.4g %s", t->average / unit->factor,
                   unit->name);
    sm_text_format(notes->subtitle, sizeof notes->subtitle,
                   "%s, %s: %.4g N s, class %s (to %g N s), burns %.4g s", r->designation,
                   r->is_curve ? "from its curve as given" : "predicted", t->total_impulse,
                   r->impulse_class.letter, r->impulse_class.to, t->burn_time);
    notes->span = (struct sm_plot_span){t->burn_start, t->burn_start + t->burn_time, notes->span_text, 0};
    notes->rule = (struct sm_plot_rule){t->average / unit->factor, false, notes->rule_text, 0};
    panel->spans = &notes->span;
    panel->n_spans = 1;
    panel->rules = &notes->rule;
    panel->n_rules = 1;
}

#define CHECK "Check the current rules and your range's safety officer."

static size_t count_curves(const struct sm_result *const *results, size_t n)
{
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        count += results[i]->is_curve;
    return count;
}

/* One motor of the axial model shows its aft pressure under that of its head end. */
static enum sm_status add_aft(struct sm_arena *arena, const struct sm_result *result,
                              const struct display *unit, struct sm_plot_panel *panel, struct sm_error *err)
{
    struct sm_plot_panel aft = {0};
    SM_TRY(add_series(arena, &result, 1, AFT, unit, &aft, err));
    struct sm_plot_series *both = sm_arena_alloc(arena, 2, sizeof *both);
    if (!both)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    both[0] = panel->series[0];
    both[1] = aft.series[0];
    both[0].label = "head end";
    both[1].label = "aft end";
    both[1].colour = 2;
    panel->series = both;
    panel->n_series = 2;
    return SM_OK;
}

enum sm_status sm_plot_results(const struct sm_result *const *results, size_t n, enum sm_unit_system system,
                               enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_plot_panel panels[2] = {
        {.x = {.label = "time since ignition (s)"}, .y = {.label = force[system].label}, .weight = 1.4},
        {.x = {.label = "time since ignition (s)"}, .y = {.label = pressure[system].label}},
    };
    const size_t n_given = count_curves(results, n);
    struct notes notes = {.subtitle = ""};
    struct sm_plot plot = {
        .title = n == 1 || is_one_motor(results, n) ? results[0]->motor : "Thrust and pressure side by side",
        .subtitle = notes.subtitle,
        .note = n_given == n ? "From the curve as given; not a certification. " CHECK
                : n_given == 0
                    ? "Predicted by slowmatch, not measured and not a certification. " CHECK
                    : "Predicted by slowmatch or from curves as given; not a certification. " CHECK,
        .panels = panels,
        .n_panels = 1,
    };
    sm_arena_init(&arena, NULL);
    enum sm_status status = add_series(&arena, results, n, THRUST, &force[system], &panels[0], err);
    if (status == SM_OK)
        status = add_series(&arena, results, n, PRESSURE, &pressure[system], &panels[1], err);
    if (status == SM_OK && n == 1 && results[0]->series.pressure_aft)
        status = add_aft(&arena, results[0], &pressure[system], &panels[1], err);
    if (is_one_motor(results, n))
        sm_text_format(notes.subtitle, sizeof notes.subtitle, "its grain at %zu temperatures", n);
    if (n == 1)
        annotate(results[0], &force[system], &notes, &panels[0]);
    if (panels[1].n_series > 0)
        plot.n_panels = 2;
    if (status == SM_OK)
        status = sm_plot_write(&plot, sm_picture_plot_kind(kind), sink, err);
    sm_arena_release(&arena);
    return status;
}
