#include "report/heading.h"

#include <math.h>

enum { TITLE_LINES = 2, SUBTITLE_LINES = 3, NOTE_LINES = 7 };

struct sm_style sm_style_for(int width, int height)
{
    /* Letters follow the smaller side, yet not down to where a thumbnail could not be read. */
    const double s = fmax(0.55, fmin(width / 1200.0, height / 800.0));
    return (struct sm_style){
        .scale = s,
        .title = 30.0 * s,
        .subtitle = 20.0 * s,
        .heading = 22.0 * s,
        .label = 20.0 * s,
        .tick = 19.0 * s,
        .key = 18.0 * s,
        .note = 15.0 * s,
        .margin = 28.0 * s,
        .gap = 8.0 * s,
        .line = 3.0 * s,
        .axis = 1.3 * s,
        .rule = 1.8 * s,
        .tick_length = 7.0 * s,
        .disc = 5.5 * s,
    };
}

enum sm_status sm_heading_make(struct sm_heading *heading, struct sm_canvas *canvas, struct sm_arena *arena,
                               const struct sm_style *style, const struct sm_heading_texts *texts, int width,
                               int height, struct sm_error *err)
{
    const double room = width - 2.0 * style->margin;
    const struct sm_textblock_limits title = {.font = {style->title, true},
                                              .smallest = 0.6 * style->title,
                                              .max_width = room,
                                              .max_lines = TITLE_LINES};
    const struct sm_textblock_limits subtitle = {.font = {style->subtitle, false},
                                                 .smallest = 0.75 * style->subtitle,
                                                 .max_width = room,
                                                 .max_lines = SUBTITLE_LINES};
    const struct sm_textblock_limits note = {.font = {style->note, false},
                                             .smallest = 0.8 * style->note,
                                             .max_width = room,
                                             .max_lines = NOTE_LINES};
    SM_TRY(sm_textblock_make(&heading->title, canvas, arena, texts->title, &title, err));
    SM_TRY(sm_textblock_make(&heading->subtitle, canvas, arena, texts->subtitle, &subtitle, err));
    SM_TRY(sm_textblock_make(&heading->note, canvas, arena, texts->note, &note, err));
    const double head = heading->title.height + heading->subtitle.height;
    heading->top = 0.7 * style->margin + head + (head > 0.0 ? 1.5 * style->gap : 0.0);
    heading->bottom = height - 0.7 * style->margin - heading->note.height;
    if (heading->note.n > 0)
        heading->bottom -= style->gap;
    return SM_OK;
}

void sm_heading_paint(const struct sm_heading *heading, struct sm_canvas *canvas,
                      const struct sm_style *style)
{
    const double top = 0.7 * style->margin;
    sm_canvas_colour(canvas, sm_palette_text, 1.0);
    sm_textblock_draw(canvas, &heading->title, style->margin, top, false);
    sm_canvas_colour(canvas, sm_palette_muted, 1.0);
    sm_textblock_draw(canvas, &heading->subtitle, style->margin, top + heading->title.height, false);
    const double foot = heading->bottom + (heading->note.n > 0 ? style->gap : 0.0);
    sm_textblock_draw(canvas, &heading->note, style->margin, foot, false);
}
