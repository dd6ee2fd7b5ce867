#include "report/panel.h"

#include <math.h>

/* Past this many series even free places make a web of names: the key reads better. */
enum { MOST_NAMED_SERIES = 8, ANCHORS = 48, SWEEP = 12 };

/* ---- the list ---- */

static void add(struct sm_panel *panel, enum sm_name_of of, size_t index, const char *text, int colour)
{
    if (text && *text)
        panel->names[panel->n_names++] =
            (struct sm_name){.of = of, .index = index, .text = text, .colour = colour};
}

enum sm_status sm_panel_list_names(struct sm_panel *panel, struct sm_error *err)
{
    const struct sm_plot_panel *in = panel->in;
    const size_t most = in->n_spans + in->n_rules + in->n_markers + in->n_series + in->n_bands;
    panel->names = sm_arena_alloc(panel->arena, most, sizeof *panel->names);
    if (!panel->names)
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    for (size_t i = 0; i < in->n_spans; i++)
        add(panel, SM_NAME_SPAN, i, in->spans[i].text, in->spans[i].colour);
    for (size_t i = 0; i < in->n_rules; i++)
        add(panel, SM_NAME_RULE, i, in->rules[i].text, in->rules[i].colour);
    for (size_t i = 0; i < in->n_markers; i++)
        add(panel, SM_NAME_MARKER, i, in->markers[i].text, in->markers[i].colour);
    for (size_t i = 0; i < in->n_series; i++)
        add(panel, SM_NAME_SERIES, i, in->series[i].label, sm_panel_series_colour(panel, i));
    for (size_t i = 0; i < in->n_bands; i++)
        add(panel, SM_NAME_BAND, i, in->bands[i].label, in->bands[i].colour);
    for (size_t i = 0; i < panel->n_names; i++)
        panel->names[i].in_key = panel->names[i].of == SM_NAME_SERIES && in->n_series > MOST_NAMED_SERIES;
    return SM_OK;
}

/* ---- places ---- */

static bool is_inside(const struct sm_box *b, struct sm_spot p)
{
    return p.x >= b->x && p.x <= b->x + b->w && p.y >= b->y && p.y <= b->y + b->h;
}

/* Along a rule: above it at the right end first; beside an upright one, at its top. */
static void offer_rule(const struct sm_panel *panel, const struct sm_label_field *field, struct sm_name *name)
{
    const struct sm_plot_rule *rule = &panel->in->rules[name->index];
    const struct sm_spot p = sm_panel_point(panel, rule->at, rule->at);
    const struct sm_box a = sm_label_inside(field);
    struct sm_label_search *s = &name->place;
    const double off = s->gap + field->cell;
    for (int k = 0; k <= SWEEP; k++) {
        const double t = (double)k / SWEEP, cost = 2.0 * k;
        const double x = rule->vertical ? p.x : a.x + (1.0 - t) * (a.w - s->w);
        const double y = rule->vertical ? a.y + t * (a.h - s->h) : p.y;
        const struct sm_spot anchor = {x, y};
        if (rule->vertical) {
            sm_label_offer(field, s, x + off, y, cost, anchor);
            sm_label_offer(field, s, x - off - s->w, y, cost + 3.0, anchor);
        } else {
            sm_label_offer(field, s, x, y - off - s->h, cost, anchor);
            sm_label_offer(field, s, x, y + off, cost + 3.0, anchor);
        }
    }
}

/* Inside the span, at its top first; a text wider than its span stays about its middle. */
static void offer_span(const struct sm_panel *panel, const struct sm_label_field *field, struct sm_name *name)
{
    const struct sm_plot_span *span = &panel->in->spans[name->index];
    const struct sm_box a = sm_label_inside(field);
    struct sm_label_search *s = &name->place;
    const double middle = 0.5 * (sm_panel_point(panel, fmax(panel->x.lo, span->x0), 0.0).x +
                                 sm_panel_point(panel, fmin(panel->x.hi, span->x1), 0.0).x);
    const double x = fmax(a.x, fmin(a.x + a.w - s->w, middle - 0.5 * s->w));
    for (int k = 0; k <= SWEEP; k++) {
        const double y = a.y + (double)k / SWEEP * (a.h - s->h);
        sm_label_offer(field, s, x, y, 4.0 * k, (struct sm_spot){x, y});
    }
}

/* Points evenly along a curve, over what of it is inside the panel's box. */
struct walk {
    double every, left; /* between points, to the next one [px] */
    double x0, x1;      /* from leftmost to rightmost [px] */
};

static double visible_length(const struct sm_box *box, const struct sm_polyline *line, struct walk *walk)
{
    double length = 0.0;
    size_t at = 0, n;
    walk->x0 = SM_INF;
    walk->x1 = -SM_INF;
    for (const struct sm_spot *p; (p = sm_polyline_piece(line, &at, &n));)
        for (size_t k = 0; k < n; k++) {
            struct sm_spot a = p[k > 0 ? k - 1 : 0], b = p[k];
            if (!sm_polyline_clip(box, &a, &b))
                continue;
            length += hypot(b.x - a.x, b.y - a.y);
            walk->x0 = fmin(walk->x0, fmin(a.x, b.x));
            walk->x1 = fmax(walk->x1, fmax(a.x, b.x));
        }
    return length;
}

/* Round a point of a curve; the right-hand part is preferred, where curves have parted. */
static void offer_at(const struct sm_label_field *field, struct sm_name *name, const struct walk *walk,
                     struct sm_spot p, double radius)
{
    const double reach = walk->x1 > walk->x0 ? (p.x - walk->x0) / (walk->x1 - walk->x0) : 1.0;
    const double away = radius + name->place.gap + field->cell;
    sm_label_offer_round(field, &name->place, p, away, 2, 10.0 * (1.0 - reach));
}

static void offer_along(const struct sm_panel *panel, const struct sm_label_field *field,
                        struct sm_name *name)
{
    const struct sm_polyline *line = &panel->series[name->index];
    const struct sm_box *box = &panel->box;
    struct walk walk = {0};
    walk.every = fmax(1.0, visible_length(box, line, &walk) / ANCHORS);
    size_t at = 0, n;
    for (const struct sm_spot *p; (p = sm_polyline_piece(line, &at, &n));)
        for (size_t k = 0; k < n; k++) {
            struct sm_spot a = p[k > 0 ? k - 1 : 0], b = p[k];
            if (!sm_polyline_clip(box, &a, &b))
                continue;
            const double length = hypot(b.x - a.x, b.y - a.y);
            while (walk.left <= length) {
                const double t = length > 0.0 ? walk.left / length : 0.0;
                offer_at(field, name, &walk, (struct sm_spot){a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)},
                         0.0);
                walk.left += walk.every;
            }
            walk.left -= length;
        }
}

/* Samples shown as discs are named beside one of them. */
static void offer_at_discs(const struct sm_panel *panel, const struct sm_label_field *field,
                           struct sm_name *name)
{
    const struct sm_polyline *line = &panel->series[name->index];
    const double radius = sm_panel_disc_radius(panel, name->index);
    const struct walk walk = {.x0 = panel->box.x, .x1 = panel->box.x + panel->box.w};
    const size_t step = line->n / ANCHORS + 1;
    for (size_t k = 0; k < line->n; k += step)
        if (is_inside(&panel->box, line->points[k]))
            offer_at(field, name, &walk, line->points[k], radius);
}

/* Low and high edge at one sample of what is seen of a band, in px; false if nothing is. */
static bool edges_at(const struct sm_panel *panel, const struct sm_plot_band *band, size_t k,
                     struct sm_spot *low, struct sm_spot *high)
{
    const struct sm_box *b = &panel->box;
    const double top = b->y, floor_y = b->y + b->h;
    *low = sm_panel_point(panel, band->x[k], band->y_low[k]);
    *high = sm_panel_point(panel, band->x[k], band->y_high[k]);
    const bool is_there = isfinite(low->y) && isfinite(high->y) && low->x >= b->x && low->x <= b->x + b->w;
    if (!is_there || fmax(low->y, high->y) < top || fmin(low->y, high->y) > floor_y)
        return false;
    low->y = fmax(top, fmin(floor_y, low->y));
    high->y = fmax(top, fmin(floor_y, high->y));
    return true;
}

/* Does a narrower band lie over this one there? A name that leads into it would seem to be the narrower one's. */
static bool is_under_another(const struct sm_panel *panel, size_t index, size_t k, struct sm_spot p,
                             double thickness)
{
    const struct sm_plot_band *own = &panel->in->bands[index];
    struct sm_spot low, high;
    for (size_t i = 0; i < panel->in->n_bands; i++) {
        const struct sm_plot_band *other = &panel->in->bands[i];
        if (i == index || k >= other->n || other->x[k] != own->x[k] ||
            !edges_at(panel, other, k, &low, &high))
            continue;
        if (fabs(low.y - high.y) < thickness && p.y >= fmin(low.y, high.y) && p.y <= fmax(low.y, high.y))
            return true;
    }
    return false;
}

static void offer_band_at(const struct sm_panel *panel, const struct sm_label_field *field,
                          struct sm_name *name, size_t k, struct sm_spot p, double thickness, bool has_room)
{
    struct sm_label_search *s = &name->place;
    const double cost = is_under_another(panel, name->index, k, p, thickness) ? 60.0 : 0.0;
    if (has_room)
        sm_label_offer(field, s, p.x - 0.5 * s->w, p.y - 0.5 * s->h, cost, p);
    sm_label_offer_round(field, s, p, 2.0 * panel->style->gap, 4, 40.0 + cost);
}

/* In the tint where that is high enough; else about a point in it, to which a thin line will lead. */
static void offer_band(const struct sm_panel *panel, const struct sm_label_field *field, struct sm_name *name)
{
    static const double shares[] = {0.5, 0.3, 0.7, 0.1, 0.9};
    const struct sm_plot_band *band = &panel->in->bands[name->index];
    const size_t step = band->n / ANCHORS + 1;
    const double enough = name->place.h + 2.0 * name->place.gap;
    struct sm_spot low, high;
    double thickest = 0.0;
    for (size_t k = 0; k < band->n; k += step)
        if (edges_at(panel, band, k, &low, &high))
            thickest = fmax(thickest, fabs(low.y - high.y));
    for (size_t k = 0; k < band->n; k += step) {
        if (!edges_at(panel, band, k, &low, &high) || fabs(low.y - high.y) < 0.5 * thickest)
            continue;
        for (size_t i = 0; i < SM_COUNT(shares); i++) {
            const struct sm_spot p = {high.x, high.y + shares[i] * (low.y - high.y)};
            offer_band_at(panel, field, name, k, p, fabs(low.y - high.y), thickest > enough);
        }
    }
}

static void offer_marker(const struct sm_panel *panel, const struct sm_label_field *field,
                         struct sm_name *name)
{
    const struct sm_plot_marker *marker = &panel->in->markers[name->index];
    const double away = panel->style->disc + name->place.gap + field->cell;
    sm_label_offer_round(field, &name->place, sm_panel_point(panel, marker->x, marker->y), away, 4, 0.0);
}

/* Is there anything of it in the panel? What lies outside a given range has no name either. */
static bool is_shown(const struct sm_panel *panel, const struct sm_name *name)
{
    const struct sm_plot_panel *in = panel->in;
    switch (name->of) {
    case SM_NAME_SPAN:
        return sm_panel_shows_span(panel, &in->spans[name->index]);
    case SM_NAME_RULE:
        return sm_panel_shows_rule(panel, &in->rules[name->index]);
    case SM_NAME_MARKER:
        return sm_panel_shows_marker(panel, &in->markers[name->index]);
    case SM_NAME_SERIES:
    case SM_NAME_BAND:
    default:
        return true;
    }
}

static void offer(const struct sm_panel *panel, const struct sm_label_field *field, struct sm_name *name)
{
    switch (name->of) {
    case SM_NAME_SPAN:
        offer_span(panel, field, name);
        break;
    case SM_NAME_RULE:
        offer_rule(panel, field, name);
        break;
    case SM_NAME_MARKER:
        offer_marker(panel, field, name);
        break;
    case SM_NAME_SERIES:
        if (sm_panel_series_stroke(panel, name->index) == SM_STROKE_DISCS)
            offer_at_discs(panel, field, name);
        else
            offer_along(panel, field, name);
        break;
    case SM_NAME_BAND:
        offer_band(panel, field, name);
        break;
    }
}

static bool is_of_curve(const struct sm_name *name)
{
    return name->of == SM_NAME_SERIES || name->of == SM_NAME_BAND;
}

static enum sm_status start_search(struct sm_panel *panel, struct sm_name *name, double size,
                                   struct sm_error *err)
{
    const struct sm_textblock_limits limits = {.font = {size, false},
                                               .smallest = 0.8 * size,
                                               .max_width = 0.4 * panel->box.w,
                                               .max_lines = 2,
                                               .even = true};
    SM_TRY(sm_textblock_make(&name->block, panel->canvas, panel->arena, name->text, &limits, err));
    const uint32_t own = name->of == SM_NAME_SERIES ? sm_label_curve(name->index) : SM_LABEL_ANY;
    name->place = (struct sm_label_search){.w = name->block.width,
                                           .h = name->block.height,
                                           .gap = 0.5 * panel->style->gap,
                                           .own = own,
                                           .may_cross = !is_of_curve(name),
                                           .has_leader = name->of == SM_NAME_BAND};
    return SM_OK;
}

bool sm_panel_name_leader(const struct sm_panel *panel, const struct sm_name *name, struct sm_spot *from,
                          struct sm_spot *to)
{
    const struct sm_box *b = &name->place.box;
    const struct sm_spot p = name->place.anchor;
    const bool is_marker = name->of == SM_NAME_MARKER;
    const double near = is_marker ? 4.0 * panel->style->disc : 0.0; /* a marker's text close by needs none */
    const double start = is_marker ? panel->style->disc + 2.0 * panel->style->scale : 0.0;
    *to = (struct sm_spot){fmax(b->x, fmin(b->x + b->w, p.x)), fmax(b->y, fmin(b->y + b->h, p.y))};
    const double distance = hypot(to->x - p.x, to->y - p.y);
    if ((!is_marker && name->of != SM_NAME_BAND) || distance <= near)
        return false;
    *from = (struct sm_spot){p.x + start / distance * (to->x - p.x), p.y + start / distance * (to->y - p.y)};
    return true;
}

static enum sm_status place_name(struct sm_panel *panel, struct sm_label_field *field, struct sm_name *name,
                                 double size, struct sm_error *err)
{
    SM_TRY(start_search(panel, name, size, err));
    offer(panel, field, name);
    if (!name->place.found)
        return SM_OK;
    sm_label_take(field, &name->place);
    struct sm_spot from, to;
    if (sm_panel_name_leader(panel, name, &from, &to))
        sm_label_mark_segment(field, SM_LABEL_TAKEN, from, to);
    return SM_OK;
}

/* The cells that labels share, with the curves in them. */
static enum sm_status start_field(struct sm_panel *panel, struct sm_label_field *field, struct sm_error *err)
{
    const double cell = fmax(2.0, 3.0 * panel->style->scale);
    if (!sm_label_field_init(field, panel->arena, panel->box, 0.5 * panel->style->gap, cell))
        return sm_fail(err, SM_E_NOMEM, "out of memory while drawing");
    sm_panel_mark_curves(panel, field);
    return SM_OK;
}

/* Tries all texts that are not in the key, those of curves at that size. *missing: a curve found no place. */
static enum sm_status try_names(struct sm_panel *panel, double size, bool *missing, struct sm_error *err)
{
    struct sm_label_field field;
    SM_TRY(start_field(panel, &field, err));
    *missing = false;
    for (size_t i = 0; i < panel->n_names; i++) {
        struct sm_name *name = &panel->names[i];
        name->place = (struct sm_label_search){0};
        if (name->in_key || !is_shown(panel, name))
            continue;
        SM_TRY(place_name(panel, &field, name, is_of_curve(name) ? size : panel->style->label, err));
        *missing = *missing || (is_of_curve(name) && !name->place.found);
    }
    return SM_OK;
}

enum sm_status sm_panel_place_names(struct sm_panel *panel, bool *changed, struct sm_error *err)
{
    bool missing;
    SM_TRY(try_names(panel, panel->style->label, &missing, err));
    if (missing)
        SM_TRY(try_names(panel, 0.85 * panel->style->label, &missing, err));
    for (size_t i = 0; i < panel->n_names; i++) {
        struct sm_name *name = &panel->names[i];
        if (name->in_key || !is_shown(panel, name))
            continue;
        /* One curve without a place sends all to the key: half a key would mislead. */
        name->in_key = is_of_curve(name) ? missing : !name->place.found;
        *changed = *changed || name->in_key;
    }
    return SM_OK;
}
