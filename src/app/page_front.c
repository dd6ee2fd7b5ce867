#include "app/page_front.h"
#include "base/text.h"

#include <math.h>

enum { SQUARES = 40 /* to the radius, of a net that is cut at every level */ };

static enum sm_status out_of_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory");
}

/* The largest of 1, 2, 5, 10, ... mm that is at most a third of the width. */
static double bar_length(double width)
{
    static const double round_ones[] = {1.0, 2.0, 5.0};
    double best = 1.0;
    for (double step = 1.0; step <= width / 3.0; step *= 10.0)
        for (size_t k = 0; k < SM_COUNT(round_ones); k++)
            best = step * round_ones[k] <= width / 3.0 ? step * round_ones[k] : best;
    return best;
}

enum sm_status sm_page_front_make(struct sm_page_front *f, const struct sm_motor *motor,
                                  const struct sm_result *result, size_t i, size_t n,
                                  enum sm_unit_system system, struct sm_arena *arena, struct sm_error *err)
{
    const struct sm_grain_entry *entry = &motor->spec.grains[i];
    const double web = motor->geometry[i].web, end = sm_sketch_end(result, web);
    const double radius = 500.0 * entry->common.outer_diameter; /* [mm] */
    const bool across = sm_sketch_is_across(entry->shape);
    *f = (struct sm_page_front){.entry = entry, .arena = arena, .system = system, .n = n};
    f->sketch = (struct sm_sketch){.arena = arena, .err = err, .wants_left = true, .squares = SQUARES};
    for (size_t k = 0; k < n; k++) {
        f->t[k] = end * (double)k / (double)(n - 1);
        f->w[k] = k + 1 == n ? web : sm_sketch_web_at(result, f->t[k]);
    }
    f->width = across ? 2.0 * radius : 1e3 * entry->common.length;
    f->x = across ? -radius : 0.0;
    f->y = -radius;
    f->height = 2.0 * radius;
    f->room_x = f->width;
    f->room_y = f->height;
    f->bar = bar_length(f->width);
    return sm_sketch_grain(&f->sketch, entry, web, f->w, n);
}

void sm_page_front_share(struct sm_page_front *a, struct sm_page_front *b)
{
    static const double smallest = 0.2; /* of the room, by eye [1] */
    const double x = fmax(a->width, b->width), y = fmax(a->height, b->height);
    const double small_x = fmin(a->width, b->width), small_y = fmin(a->height, b->height);
    if (small_x < smallest * x || small_y < smallest * y)
        return;
    a->room_x = b->room_x = x;
    a->room_y = b->room_y = y;
    a->bar = b->bar = bar_length(x);
    a->is_shared = b->is_shared = true;
}

static const char *level_text(const struct sm_page_front *f, size_t k)
{
    enum { TEXT = 128 };
    char a[SM_SHOW_TEXT], b[SM_SHOW_TEXT], *text = sm_arena_alloc(f->arena, TEXT, 1);
    if (text)
        sm_text_format(text, TEXT, "at %s the fire is %s into the grain%s",
                       sm_show_measure(a, f->t[k], SM_DIM_TIME, f->system),
                       sm_show_measure(b, f->w[k], SM_DIM_LENGTH, f->system),
                       k + 1 == f->n ? ", and through" : "");
    return text;
}

enum sm_status sm_page_front_put_levels(const struct sm_page_front *f, struct sm_json_writer *w,
                                        struct sm_error *err)
{
    sm_json_member_array(w, "levels");
    for (size_t k = 0; k < f->n; k++) {
        const char *text = level_text(f, k), *left = sm_page_path(f->arena, &f->sketch.left[k]),
                   *front = sm_page_path(f->arena, &f->sketch.fronts[k]);
        if (!text || !left || !front)
            return out_of_memory(err);
        sm_json_open_object_row(w);
        sm_json_member_number(w, "time", f->t[k]);
        sm_json_member_string(w, "text", text);
        sm_json_member_string(w, "left", left);
        sm_json_member_string(w, "front", front);
        sm_json_close(w);
    }
    sm_json_close(w);
    return SM_OK;
}

static void put_caption(const struct sm_page_front *f, const char *name, struct sm_html *h)
{
    sm_html_raw(h, "<figcaption>");
    sm_html_textf(h, "%s%s%s, %s", f->is_headed ? "" : name, f->is_headed ? "" : ": ", f->entry->shape->name,
                  sm_sketch_is_across(f->entry->shape) ? "seen along the axis"
                                                       : "cut along the axis, nozzle to the right");
    if (f->entry->count > 1)
        sm_html_textf(h, ", one of %d", f->entry->count);
    sm_html_raw(h, "</figcaption>\n");
}

enum sm_status sm_page_front_put(const struct sm_page_front *f, const char *name, struct sm_html *h,
                                 struct sm_error *err)
{
    const double edge = 0.04 * fmax(f->room_x, f->room_y); /* room about it [mm] */
    const double x = f->x - 0.5 * (f->room_x - f->width), y = f->y - 0.5 * (f->room_y - f->height);
    char text[SM_SHOW_TEXT];
    const struct sm_draw_part *whole = &f->sketch.parts[f->sketch.n_whole - 1];
    const char *left = sm_page_path(f->arena, &f->sketch.left[0]),
               *front = sm_page_path(f->arena, &f->sketch.fronts[0]),
               *outline = sm_page_path(f->arena, &whole->paths[0]);
    if (!left || !front || !outline)
        return out_of_memory(err);
    put_caption(f, name, h);
    sm_html_raw(h, "<svg class=\"grain\" role=\"img\" aria-label=\"");
    sm_html_textf(h, "%s: what is left of the grain", name);
    sm_html_rawf(h, "\" viewBox=\"%.6g %.6g %.6g %.6g\"><path class=\"left\" d=\"", x - edge, y - edge,
                 f->room_x + 2.0 * edge, f->room_y + 4.0 * edge);
    sm_html_raw(h, left);
    sm_html_raw(h, "\"/><path class=\"whole\" d=\"");
    sm_html_raw(h, outline);
    sm_html_raw(h, "\"/><path class=\"front\" d=\"");
    sm_html_raw(h, front);
    sm_html_rawf(h,
                 "\"/><path class=\"bar\" d=\"M%.6g %.6gh%.6g\"/></svg>\n<p class=\"note\">%s; the bar is ",
                 f->x, y + f->room_y + 2.0 * edge, f->bar, f->is_shared ? "Both to one scale" : "To scale");
    sm_html_text(h, sm_show_number(text, 1e-3 * f->bar, SM_DIM_LENGTH, f->system));
    sm_html_raw(h, " long.</p>\n");
    return h->status;
}
