/* What the program knows: shapes, propellants, curves. */
#include "slowmatch/catalog.h"
#include "app/data.h"
#include "base/suggest.h"
#include "doc/json.h"
#include "doc/json_write.h"
#include "input/read_curve.h"
#include "input/read_propellant.h"
#include "input/read_record.h"
#include "motor/motor.h"
#include "slowmatch/design.h"
#include "slowmatch/lift.h"

#include <string.h>

const char *sm_version(void)
{
    return SM_VERSION;
}

const char *sm_nearest_name(const char *name, const char *const *names)
{
    return sm_suggest_from(name, names);
}

/* ---- shapes ---- */

size_t sm_shape_count(void)
{
    size_t n = 0;
    while (sm_shape_list[n])
        n++;
    return n;
}

void sm_shape_describe(size_t i, struct sm_shape_info *info)
{
    const struct sm_shape *shape = sm_shape_list[i];
    *info = (struct sm_shape_info){
        .name = shape->name,
        .summary = shape->summary,
        .params = shape->params,
        .n_params = shape->n_params,
        .faces = sm_face_words,
        .has_faces = shape->faces,
        .burning = shape->burning,
        .example = shape->example,
    };
}

size_t sm_shape_place(const char *name, const char **near)
{
    struct sm_suggest suggest = {.word = name};
    size_t i = 0;
    for (; sm_shape_list[i]; i++) {
        if (strcmp(sm_shape_list[i]->name, name) == 0)
            return i;
        sm_suggest_offer(&suggest, sm_shape_list[i]->name);
    }
    if (near)
        *near = suggest.best;
    return i;
}

size_t sm_grain_params(const struct sm_param **params)
{
    *params = sm_grain_common_params;
    return sm_n_grain_common_params;
}

/* ---- sections ---- */

#define TEXT_ROW(key, text)                                                                                  \
    {                                                                                                        \
        .name = key, .kind = SM_TEXT, .fallback = SM_OPTIONAL, .help = text                                  \
    }

/* Read by hand, so these rows are only for people. */
static const struct sm_param sample_params[] = {
    TEXT_ROW("time", "{ \"unit\": \"s\", \"values\": [ ... ] }, with thrust"),
    TEXT_ROW("thrust", "{ \"unit\": \"N\", \"values\": [ ... ] }, one for each time"),
    TEXT_ROW("file", "a delimited text file, its path from this file's folder, in place of time and thrust"),
    TEXT_ROW("time_column", "the file's column of times, by name or number; time or the first if not given"),
    TEXT_ROW("thrust_column", "its column of thrusts; thrust or the second if not given"),
    TEXT_ROW("time_unit", "unit of the times; s if neither this nor the header says"),
    TEXT_ROW("thrust_unit", "unit of the thrusts; N if neither this nor the header says"),
    TEXT_ROW("delay", "of the ejection charge, as \"7 s\", or \"plugged\""),
};

static const struct section {
    const char *name, *summary;
    const struct sm_param *params;
    const size_t *n_params; /* NULL: those of sample_params */
} sections[] = {
    {"propellant", "a name that 'slowmatch propellants' lists, the path of a propellant file, or in place",
     sm_propellant_params, &sm_n_propellant_params},
    {"case", "the case as the gas sees it", sm_case_params, &sm_n_case_params},
    {"grains",
     "a list from the head end to the nozzle; each has its \"shape\", whose own parameters 'slowmatch "
     "shapes' gives, besides these",
     sm_grain_entry_params, &sm_n_grain_entry_params},
    {"grains", "what all shapes have besides", sm_grain_common_params, &sm_n_grain_common_params},
    {"nozzle", "throat and exit cone", sm_nozzle_params, &sm_n_nozzle_params},
    {"hardware", "all that is not propellant, as totals or as parts; may be left out", sm_hardware_params,
     &sm_n_hardware_params},
    {"ignition", "how it starts; may be left out", sm_ignition_params, &sm_n_ignition_params},
    {"conditions", "temperatures and surroundings; may be left out", sm_conditions_params,
     &sm_n_conditions_params},
    {"curve", "a bought motor, in place of propellant, case, grains and nozzle", sm_bare_curve_params,
     &sm_n_bare_curve_params},
    {"curve", "and its thrust against time", sample_params, NULL},
};

size_t sm_section_count(void)
{
    return SM_COUNT(sections);
}

void sm_section_describe(size_t i, struct sm_section_info *info)
{
    const struct section *s = &sections[i];
    *info = (struct sm_section_info){
        .name = s->name,
        .summary = s->summary,
        .params = s->params,
        .n_params = s->n_params ? *s->n_params : SM_COUNT(sample_params),
    };
}

/* ---- propellants ---- */

static void describe(const struct sm_propellant *p, struct sm_propellant_info *info)
{
    struct sm_gas gas;
    struct sm_burn_law law;
    const struct sm_burn_segment *segments = p->burn_rate.items;
    sm_propellant_gas(p, &gas);
    sm_burn_law_init(&law, p, p->reference_temperature);
    const size_t low = sm_burn_law_segment(&law, 1e6), high = sm_burn_law_segment(&law, 5e6);
    *info = (struct sm_propellant_info){
        .name = p->name,
        .source = p->source,
        .standing = sm_standing_words[p->standing],
        .density = p->density,
        .cstar = gas.cstar,
        .gamma = gas.gamma,
        .from = segments[0].from,
        .to = segments[p->burn_rate.n - 1].to,
        .n_segments = p->burn_rate.n,
        .rate_low = sm_burn_law_rate(&law, low, 1e6, NULL),
        .rate_high = sm_burn_law_rate(&law, high, 5e6, NULL),
        .exponent_low = segments[low].exponent,
        .exponent_high = segments[high].exponent,
        .temperature_sensitivity = p->temperature_sensitivity,
    };
}

/* Reads one propellant file into the arena; problems go to diag with their places. */
static enum sm_status read_one(struct sm_arena *arena, struct sm_units *units, const char *path,
                               struct sm_propellant *propellant, struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    const size_t before = diag->n;
    enum sm_status status = sm_json_read_file(path, &doc, &err);
    if (status != SM_OK) {
        sm_diag_add(diag, &err);
        return status;
    }
    struct sm_reader reader = {.arena = arena, .units = units, .diag = diag};
    status = sm_read_propellant(&reader, sm_json_root(doc), "", propellant);
    for (size_t i = before; i < diag->n; i++)
        sm_json_locate(doc, &diag->items[i]);
    sm_json_free(doc);
    return status;
}

struct listing {
    struct sm_arena arena;
    struct sm_units *own, *units;
    const char *folder;
    char **names;
    size_t n;
};

static enum sm_status open_listing(struct listing *l, const struct sm_load_options *options,
                                   struct sm_error *err)
{
    SM_TRY(sm_data_propellants(&l->arena, options, &l->folder, err));
    SM_TRY(sm_data_propellant_names(&l->arena, l->folder, &l->names, &l->n, err));
    l->units = options ? options->units : NULL;
    if (l->units)
        return SM_OK;
    SM_TRY(sm_units_open(&l->own, err));
    l->units = l->own;
    return SM_OK;
}

enum sm_status sm_propellant_each(const struct sm_load_options *options,
                                  void (*each)(void *user, const struct sm_propellant_info *info), void *user,
                                  struct sm_diag *diag)
{
    struct listing l = {0};
    struct sm_error err = {0};
    sm_arena_init(&l.arena, NULL);
    enum sm_status first = open_listing(&l, options, &err);
    if (first != SM_OK)
        sm_diag_add(diag, &err);
    for (size_t i = 0; first != SM_E_NOMEM && i < l.n && l.units; i++) {
        struct sm_propellant propellant;
        struct sm_propellant_info info;
        const char *path = sm_data_path(&l.arena, l.folder, l.names[i], ".json");
        const enum sm_status status =
            path ? read_one(&l.arena, l.units, path, &propellant, diag) : SM_E_NOMEM;
        first = first != SM_OK ? first : status;
        if (status != SM_OK)
            continue;
        describe(&propellant, &info);
        each(user, &info);
    }
    sm_units_free(l.own);
    sm_arena_release(&l.arena);
    return first;
}

static enum sm_status write_named(struct sm_arena *arena, const char *name,
                                  const struct sm_load_options *options, struct sm_sink *sink,
                                  struct sm_error *err)
{
    const char *folder;
    char **names;
    size_t n;
    struct sm_json_doc *doc = NULL;
    struct sm_json_writer w;
    SM_TRY(sm_data_propellants(arena, options, &folder, err));
    SM_TRY(sm_data_propellant_names(arena, folder, &names, &n, err));
    for (size_t i = 0; i < n; i++)
        if (strcmp(names[i], name) == 0) {
            const char *path = sm_data_path(arena, folder, name, ".json");
            if (!path)
                return sm_fail(err, SM_E_NOMEM, "out of memory");
            SM_TRY(sm_json_read_file(path, &doc, err));
            sm_json_write_init(&w, sink);
            sm_json_put_value(&w, sm_json_root(doc));
            sm_json_free(doc);
            return sm_json_write_end(&w, err);
        }
    return sm_fail(err, SM_E_FIELD, "there is no propellant '%.60s' ('slowmatch propellants' lists them)",
                   name);
}

enum sm_status sm_propellant_write(const char *name, const struct sm_load_options *options,
                                   struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    const enum sm_status status = write_named(&arena, name, options, sink, err);
    sm_arena_release(&arena);
    return status;
}

/* ---- checking files ---- */

static enum sm_status check_propellant(const char *path, const struct sm_load_options *options,
                                       struct sm_diag *diag)
{
    struct sm_arena arena;
    struct sm_units *own = NULL, *units = options ? options->units : NULL;
    struct sm_error err = {0};
    struct sm_propellant propellant;
    enum sm_status status = SM_OK;
    sm_arena_init(&arena, NULL);
    if (!units) {
        status = sm_units_open(&own, &err);
        units = own;
    }
    if (status == SM_OK)
        status = read_one(&arena, units, path, &propellant, diag);
    else
        sm_diag_add(diag, &err);
    sm_units_free(own);
    sm_arena_release(&arena);
    return status;
}

static enum sm_status check_stand(const char *path, const struct sm_load_options *options,
                                  struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_stand_owner *owner;
    struct sm_stand stand;
    struct sm_units *own = NULL, *units = options ? options->units : NULL;
    if (!units && sm_units_open(&own, &err) != SM_OK) {
        sm_diag_add(diag, &err);
        return err.status;
    }
    const enum sm_status status = sm_stand_load(path, units ? units : own, &owner, &stand, diag);
    sm_stand_free(owner);
    sm_units_free(own);
    return status;
}

static enum sm_status check_motor(const char *path, const struct sm_load_options *options,
                                  struct sm_diag *diag)
{
    struct sm_motor *motor;
    const enum sm_status status = sm_motor_load(path, options, NULL, &motor, diag);
    sm_motor_free(motor);
    return status;
}

enum sm_status sm_file_check(const char *path, const struct sm_load_options *options, const char **what,
                             struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    if (sm_is_curve_file(path)) {
        *what = "curve";
        return check_motor(path, options, diag);
    }
    *what = "slowmatch-motor/1";
    if (sm_json_read_file(path, &doc, &err) != SM_OK) {
        sm_diag_add(diag, &err);
        return err.status;
    }
    const char *format = sm_json_string(sm_json_get(sm_json_root(doc), "format"));
    const int is_propellant = format && strcmp(format, SM_PROPELLANT_FORMAT) == 0;
    const int is_stand = format && strcmp(format, SM_STAND_FORMAT) == 0;
    const int is_vehicle = format && strcmp(format, SM_VEHICLE_FORMAT) == 0;
    const int is_request = format && strcmp(format, SM_REQUEST_FORMAT) == 0;
    sm_json_free(doc);
    if (is_request) {
        struct sm_request *request;
        *what = SM_REQUEST_FORMAT;
        const enum sm_status status = sm_request_load(path, options, NULL, &request, diag);
        sm_request_free(request);
        return status;
    }
    if (is_vehicle) {
        struct sm_vehicle *vehicle;
        *what = SM_VEHICLE_FORMAT;
        const enum sm_status status = sm_vehicle_load(path, options, NULL, &vehicle, diag);
        sm_vehicle_free(vehicle);
        return status;
    }
    if (is_stand) {
        *what = SM_STAND_FORMAT;
        return check_stand(path, options, diag);
    }
    if (is_propellant) {
        *what = SM_PROPELLANT_FORMAT;
        return check_propellant(path, options, diag);
    }
    return check_motor(path, options, diag);
}

/* ---- bare curves ---- */

struct sm_curve_owner {
    struct sm_arena arena;
};

enum sm_status sm_curve_load(const char *path, const struct sm_curve_columns *columns, struct sm_units *units,
                             struct sm_curve_owner **owner, struct sm_curve *curve, struct sm_error *err)
{
    static const struct sm_curve_columns usual;
    struct sm_arena arena;
    *owner = NULL;
    sm_arena_init(&arena, NULL);
    struct sm_curve_owner *made = sm_arena_alloc(&arena, 1, sizeof *made);
    const enum sm_status status =
        made ? sm_read_curve_file(&arena, units, path, columns ? columns : &usual, curve, NULL, err)
             : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status != SM_OK) {
        sm_arena_release(&arena);
        return status;
    }
    made->arena = arena;
    *owner = made;
    return SM_OK;
}

void sm_curve_free(struct sm_curve_owner *owner)
{
    if (!owner)
        return;
    struct sm_arena arena = owner->arena; /* the owner lives in its own arena */
    sm_arena_release(&arena);
}
