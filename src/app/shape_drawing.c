/* A grain shape drawn by its own example. */
#include "app/drawings.h"
#include "app/sketch.h"
#include "base/text.h"
#include "doc/json.h"
#include "input/read_params.h"
#include "motor/motor.h"
#include "slowmatch/catalog.h"
#include "slowmatch/units.h"

#include <string.h>

enum { LABEL = 512 };

static bool is_gauged(const struct sm_gauges *gauges, const char *name)
{
    for (size_t i = 0; i < gauges->n; i++)
        if (strcmp(gauges->items[i].name, name) == 0)
            return true;
    return false;
}

/* Adds what the example says of each row that no dimension shows: "length 150 mm, points 6, ...". Lists are left out. */
static void label(const struct sm_json *example, const struct sm_gauges *gauges, const struct sm_param *rows,
                  size_t n, char text[LABEL])
{
    for (size_t i = 0; i < n; i++) {
        if (is_gauged(gauges, rows[i].name))
            continue;
        const struct sm_json *value = sm_json_get(example, rows[i].name);
        const size_t used = strlen(text);
        const char *gap = used > 0 ? ", " : "";
        if (sm_json_is(value, SM_JSON_STRING))
            sm_text_format(text + used, LABEL - used, "%s%s %s", gap, rows[i].name, sm_json_string(value));
        else if (sm_json_is(value, SM_JSON_NUMBER))
            sm_text_format(text + used, LABEL - used, "%s%s %.6g", gap, rows[i].name, sm_json_number(value));
    }
}

/* The example as a motor of one grain, and the label of its numbers. */
static enum sm_status read_example(const struct sm_shape *shape, const struct sm_json *example,
                                   struct sm_reader *reader, struct sm_motor *motor, char text[LABEL],
                                   struct sm_error *err)
{
    static const char *const handled[] = {"shape", NULL};
    struct sm_grain_entry *entry = sm_arena_alloc(reader->arena, 1, sizeof *entry);
    struct sm_geometry *geometry = sm_arena_alloc(reader->arena, 1, sizeof *geometry);
    struct sm_gauges *gauges = sm_arena_alloc(reader->arena, 1, sizeof *gauges);
    void *params = sm_arena_alloc(reader->arena, 1, shape->size);
    if (!entry || !geometry || !gauges || !params)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    const struct sm_param_table tables[] = {
        {sm_grain_common_params, sm_n_grain_common_params, &entry->common},
        {sm_grain_entry_params, sm_n_grain_entry_params, entry},
        {shape->params, shape->n_params, params}};
    SM_TRY(sm_read_params(reader, example, "", tables, SM_COUNT(tables), handled));
    if (entry->common.burning == SM_CHOICES_ABSENT)
        entry->common.burning = shape->burning;
    entry->shape = shape;
    entry->params = params;
    motor->spec.name = shape->name;
    motor->spec.grains = entry;
    motor->spec.n_grains = 1;
    motor->geometry = geometry;
    SM_TRY(sm_shape_geometry(shape, reader->arena, &entry->common, params, geometry, err));
    sm_shape_gauges(shape, &entry->common, params, sm_sketch_is_across(shape), gauges);
    label(example, gauges, sm_grain_common_params, sm_n_grain_common_params, text);
    label(example, gauges, shape->params, shape->n_params, text);
    return SM_OK;
}

enum sm_status sm_shape_draw(size_t i, enum sm_picture_kind kind, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_shape *shape = sm_shape_list[i];
    struct sm_motor motor = {.spec = {.name = shape->name}};
    struct sm_diag diag = {0};
    struct sm_units *units = NULL;
    struct sm_json_doc *doc = NULL;
    struct sm_arena arena;
    char text[LABEL] = "";
    sm_arena_init(&arena, NULL);
    struct sm_reader reader = {.arena = &arena, .diag = &diag};
    enum sm_status status = sm_units_open(&units, err);
    reader.units = units;
    if (status == SM_OK)
        status = sm_json_parse(shape->example, strlen(shape->example), shape->name, &doc, err);
    if (status == SM_OK)
        status = read_example(shape, sm_json_root(doc), &reader, &motor, text, err);
    const struct sm_draw_texts texts = {.subtitle = text, .has_dimensions = true};
    if (status == SM_OK)
        status = sm_draw_entries(&motor, NULL, &texts, kind, sink, err);
    sm_json_free(doc);
    sm_units_free(units);
    sm_diag_release(&diag);
    sm_arena_release(&arena);
    return status;
}
