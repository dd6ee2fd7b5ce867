/* Grains of every shape, their values drawn anywhere within the rows' bounds. The first byte is the shape. */
#include "grains.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>

#include "fuzz.h"

static void draw_block(struct fuzz_draw *d, struct sm_arena *arena, double size, const struct sm_param *rows,
                       size_t n, void *block);

static double draw_quantity(struct fuzz_draw *d, double size, const struct sm_param *row)
{
    const unsigned how = fuzz_byte(d);
    double value = row->dim == SM_DIM_LENGTH  ? size * (double)fuzz_byte(d) / 128.0
                   : row->dim == SM_DIM_ANGLE ? fuzz_between(d, -3.2, 3.2)
                                              : fuzz_between(d, 0.0, 4.0);
    if (how % 16 == 1)
        value = -value;
    if (how % 16 == 2)
        value *= 1.0 + 1e-13 * (double)fuzz_byte(d);
    if (how % 16 == 3 && !isinf(row->fallback))
        return row->fallback;
    if (how % 16 == 4)
        value *= 1e-6;
    return row->min == 0.0 && row->max == 0.0 ? value : fmin(fmax(value, row->min), row->max);
}

static void draw_list(struct fuzz_draw *d, struct sm_arena *arena, double size, const struct sm_param *row,
                      struct sm_list *list)
{
    const double most = fmin(row->max, row->min + 12.0);
    list->n = (size_t)row->min + fuzz_below(d, (unsigned)(most - row->min) + 1u);
    list->items = sm_arena_alloc(arena, list->n, row->row_size);
    for (size_t i = 0; list->items && i < list->n; i++)
        draw_block(d, arena, size, row->rows, row->n_rows, (char *)list->items + i * row->row_size);
}

static unsigned count_words(const char *const *words)
{
    unsigned n = 0;
    while (words[n])
        n++;
    return n;
}

static void draw_value(struct fuzz_draw *d, struct sm_arena *arena, double size, const struct sm_param *row,
                       void *at)
{
    switch (row->kind) {
    case SM_QUANTITY:
        *(double *)at = draw_quantity(d, size, row);
        break;
    case SM_WHOLE:
        *(int *)at = (int)row->min + (int)fuzz_below(d, 1u + (unsigned)fmin(row->max - row->min, 40.0));
        break;
    case SM_FLAG:
        *(bool *)at = fuzz_below(d, 2) == 1;
        break;
    case SM_CHOICE:
        *(int *)at = (int)fuzz_below(d, count_words(row->words));
        break;
    case SM_CHOICES:
        *(unsigned *)at = fuzz_byte(d) & ((1u << count_words(row->words)) - 1u);
        break;
    case SM_LIST:
        draw_list(d, arena, size, row, at);
        break;
    case SM_RECORD:
        draw_block(d, arena, size, row->rows, row->n_rows, at);
        break;
    case SM_TEXT:
    default:
        break;
    }
}

static void show_value(const struct sm_param *row, const void *at)
{
    char text[120] = "";
    if (row->kind == SM_QUANTITY)
        snprintf(text, sizeof text, "%s %.17g", row->name, *(const double *)at);
    else if (row->kind == SM_WHOLE || row->kind == SM_CHOICE)
        snprintf(text, sizeof text, "%s %d", row->name, *(const int *)at);
    if (text[0])
        fuzz_show(text);
}

static void draw_block(struct fuzz_draw *d, struct sm_arena *arena, double size, const struct sm_param *rows,
                       size_t n, void *block)
{
    for (size_t i = 0; block && i < n; i++) {
        draw_value(d, arena, size, &rows[i], (char *)block + rows[i].offset);
        show_value(&rows[i], (char *)block + rows[i].offset);
    }
}

static void run(const uint8_t *bytes, size_t n)
{
    struct fuzz_draw d = {bytes, n};
    struct sm_arena arena;
    size_t n_shapes = 0;
    char line[120];
    while (sm_shape_list[n_shapes])
        n_shapes++;
    const struct sm_shape *shape = sm_shape_list[fuzz_below(&d, (unsigned)n_shapes)];
    sm_arena_init(&arena, NULL);
    fuzz_show(shape->name);
    struct sm_grain_common common = {.outer_diameter = 0.06, .burning = fuzz_byte(&d) & shape->faces};
    common.length = 0.06 * exp(fuzz_between(&d, -4.0, 4.0));
    if (fuzz_below(&d, 2) == 0)
        common.burning = shape->burning;
    snprintf(line, sizeof line, "length %.17g, burning faces %#x", common.length, common.burning);
    fuzz_show(line);
    void *params = sm_arena_alloc(&arena, 1, shape->size > 0 ? shape->size : 1);
    draw_block(&d, &arena, common.outer_diameter, shape->params, shape->n_params, params);
    fuzz_burn_back(&arena, shape, &common, params);
    sm_arena_release(&arena);
}

const struct fuzz_target fuzz_target_geometry = {"geometry", run};
