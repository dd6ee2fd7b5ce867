#include "report/panel.h"

#include <math.h>

#include "base/text.h"

/* Sizes in letters of the key. */
static const double sample_width = 2.0, sample_gap = 0.5, between = 1.5, row_height = 1.35;

struct cursor {
    double x, y; /* of the next entry, from the key's corner [px] */
};

/* Moves to where an entry of that width goes: on, or to the next row. */
static void place_entry(struct cursor *at, double width, double full, double size)
{
    if (at->x > 0.0 && at->x + width > full) {
        at->x = 0.0;
        at->y += row_height * size;
    }
}

static double entry_width(const struct sm_panel *panel, const struct sm_name *name)
{
    return (sample_width + sample_gap) * panel->style->key + name->block.width;
}

enum sm_status sm_panel_measure_key(struct sm_panel *panel, double width, double most, struct sm_error *err)
{
    const double size = panel->style->key;
    const struct sm_textblock_limits limits = {
        .font = {size, false}, .max_width = width - (sample_width + sample_gap) * size, .max_lines = 1};
    struct cursor at = {0};
    panel->key_width = width;
    panel->key_height = 0.0;
    panel->key_left_out = 0;
    for (size_t i = 0; i < panel->n_names; i++) {
        struct sm_name *name = &panel->names[i];
        if (!name->in_key)
            continue;
        SM_TRY(sm_textblock_make(&name->block, panel->canvas, panel->arena, name->text, &limits, err));
        place_entry(&at, entry_width(panel, name), width, size);
        /* One more row stays for the words that tell how many were left out. */
        if (at.y + 2.0 * row_height * size > fmax(most, 2.0 * row_height * size)) {
            panel->key_left_out++;
            continue;
        }
        at.x += entry_width(panel, name) + between * size;
        panel->key_height = at.y + row_height * size;
    }
    if (panel->key_left_out > 0)
        panel->key_height += row_height * size;
    return SM_OK;
}

static void paint_sample(const struct sm_panel *panel, const struct sm_name *name, double x, double y)
{
    struct sm_canvas *c = panel->canvas;
    const double size = panel->style->key, width = sample_width * size;
    const struct sm_colour colour = sm_palette_accent(name->colour);
    switch (name->of) {
    case SM_NAME_SERIES:
        sm_panel_paint_sample(panel, name->index, x, x + width, y);
        break;
    case SM_NAME_MARKER:
        sm_canvas_colour(c, colour, 1.0);
        sm_canvas_disc(c, x + 0.5 * width, y, panel->style->disc);
        sm_canvas_fill(c);
        break;
    case SM_NAME_RULE:
        sm_canvas_colour(c, colour, 1.0);
        sm_canvas_hairline(c, x, y, x + width, y, panel->style->rule);
        break;
    case SM_NAME_SPAN:
    case SM_NAME_BAND:
        sm_canvas_colour(c, sm_palette_mix(colour, sm_palette_paper, 0.25), 1.0);
        sm_canvas_rectangle(c, x, y - 0.4 * size, width, 0.8 * size);
        sm_canvas_fill(c);
        break;
    }
}

void sm_panel_paint_key(const struct sm_panel *panel, double x, double y)
{
    struct sm_canvas *c = panel->canvas;
    const double size = panel->style->key;
    const double last_row = panel->key_height - (panel->key_left_out > 0 ? 2.0 : 1.0) * row_height * size;
    struct cursor at = {0};
    for (size_t i = 0; i < panel->n_names; i++) {
        const struct sm_name *name = &panel->names[i];
        if (!name->in_key)
            continue;
        place_entry(&at, entry_width(panel, name), panel->key_width, size);
        if (at.y > last_row + 0.5 * size)
            break;
        paint_sample(panel, name, x + at.x, y + at.y + 0.5 * row_height * size);
        sm_canvas_colour(c, sm_palette_text, 1.0);
        sm_textblock_draw(c, &name->block, x + at.x + (sample_width + sample_gap) * size, y + at.y, false);
        at.x += entry_width(panel, name) + between * size;
    }
    if (panel->key_left_out > 0) {
        char text[64];
        sm_text_format(text, sizeof text, "and %zu more", panel->key_left_out);
        sm_canvas_colour(c, sm_palette_muted, 1.0);
        sm_canvas_text(c, x, y + last_row + (row_height + 0.95) * size, (struct sm_font){size, false}, text);
    }
}
