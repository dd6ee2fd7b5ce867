#include "input/read_motor.h"
#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "input/read_curve.h"
#include "input/read_mesh.h"
#include "input/read_outline.h"
#include "input/read_propellant.h"
#include "input/read_tolerances.h"
#include "slowmatch/limits.h"

#include <string.h>

/* ---- grains ---- */

static enum sm_status no_such_shape(struct sm_reader *reader, const char *pointer, const char *given)
{
    char near[SM_SUGGEST_TEXT];
    struct sm_suggest suggest = {.word = given};
    for (const struct sm_shape *const *shape = sm_shape_list; *shape; shape++)
        sm_suggest_offer(&suggest, (*shape)->name);
    return sm_read_problem(reader, pointer, SM_E_RANGE,
                           "there is no shape '%.60s'%s ('slowmatch shapes' lists them)", given,
                           sm_suggest_text(near, suggest.best));
}

/* Names a key of the grain that may be meant for "shape". */
static enum sm_status shape_is_missing(struct sm_reader *reader, const struct sm_json *grain,
                                       const char *place)
{
    struct sm_suggest suggest = {.word = "shape"};
    for (const struct sm_json *member = sm_json_first(grain); member; member = sm_json_next(member))
        sm_suggest_offer(&suggest, sm_json_key(member));
    if (suggest.best)
        return sm_read_problem(reader, place, SM_E_FIELD, "\"shape\" is missing; is \"%.60s\" meant for it?",
                               suggest.best);
    return sm_read_problem(reader, place, SM_E_FIELD, "\"shape\" is missing, as \"shape\": \"tube\"");
}

static enum sm_status find_shape(struct sm_reader *reader, const struct sm_json *grain, const char *pointer,
                                 const struct sm_shape **shape)
{
    char place[SM_POINTER_MAX];
    sm_text_format(place, sizeof place, "%s/shape", pointer);
    const struct sm_json *value = sm_json_get(grain, "shape");
    const char *name = sm_json_string(value);
    if (!sm_json_is(grain, SM_JSON_OBJECT))
        return sm_read_problem(reader, pointer, SM_E_SYNTAX, "a grain must be an object, not %s",
                               sm_json_type_name(sm_json_type(grain)));
    if (!value)
        return shape_is_missing(reader, grain, place);
    if (!name)
        return sm_read_problem(reader, place, SM_E_SYNTAX, "a shape must be a string, not %s",
                               sm_json_type_name(sm_json_type(value)));
    *shape = sm_shape_find(name);
    return *shape ? SM_OK : no_such_shape(reader, place, name);
}

static enum sm_status read_grain(struct sm_reader *reader, const struct sm_json *grain, const char *pointer,
                                 const char *folder, struct sm_grain_entry *entry)
{
    static const char *const handled[] = {"shape", NULL};
    SM_TRY(find_shape(reader, grain, pointer, &entry->shape));
    void *params = sm_arena_alloc(reader->arena, 1, entry->shape->size);
    if (!params)
        return sm_read_problem(reader, pointer, SM_E_NOMEM, "out of memory");
    const struct sm_param_table tables[] = {
        {sm_grain_common_params, sm_n_grain_common_params, &entry->common},
        {sm_grain_entry_params, sm_n_grain_entry_params, entry},
        {entry->shape->params, entry->shape->n_params, params},
    };
    entry->params = params;
    SM_TRY(sm_read_params(reader, grain, pointer, tables, SM_COUNT(tables), handled));
    if (entry->common.burning == SM_CHOICES_ABSENT)
        entry->common.burning = entry->shape->burning;
    if (entry->shape->is_drawn)
        return sm_read_outline(reader, pointer, folder, params);
    if (entry->shape->is_meshed)
        return sm_read_mesh(reader, pointer, folder, params);
    return SM_OK;
}

/* ---- sections ---- */

struct section {
    const char *name;
    int is_required;
    struct sm_param_table table;
};

static const char *const grain_keys[] = {"format",     "name",       "propellant", "case",
                                         "grains",     "nozzle",     "hardware",   "ignition",
                                         "conditions", "tolerances", NULL};
static const char *const curve_keys[] = {"format", "name", "curve", "conditions", "tolerances", NULL};

/* A motor of neither kind says so once, rather than once for each part of a motor with grains. */
static int is_neither(const struct sm_json *root)
{
    static const char *const parts[] = {"propellant", "case", "grains", "nozzle", "curve"};
    for (size_t i = 0; i < SM_COUNT(parts); i++)
        if (sm_json_get(root, parts[i]))
            return 0;
    return 1;
}

/* The nearest of the keys of both kinds of motor, or of a curve's alone. */
static const char *near_key(const char *key, int is_curve)
{
    struct sm_suggest suggest = {.word = key};
    for (const char *const *known = curve_keys; *known; known++)
        sm_suggest_offer(&suggest, *known);
    for (const char *const *known = grain_keys; *known && !is_curve; known++)
        sm_suggest_offer(&suggest, *known);
    return suggest.best;
}

/* "note" and "$schema" say nothing to the program. */
static int is_known(const char *key, const char *const *keys)
{
    if (strcmp(key, "note") == 0 || strcmp(key, "$schema") == 0)
        return 1;
    for (; *keys; keys++)
        if (strcmp(key, *keys) == 0)
            return 1;
    return 0;
}

/* Was a name meant by a key that is told as unknown? It is then not told as missing too. */
static int is_misspelt(const struct sm_json *root, const char *name, const char *const *keys)
{
    for (const struct sm_json *member = sm_json_first(root); member; member = sm_json_next(member)) {
        const char *key = sm_json_key(member);
        const char *near = is_known(key, keys) ? NULL : near_key(key, keys == curve_keys);
        if (near && strcmp(near, name) == 0)
            return 1;
    }
    return 0;
}

/* Tells that a key is missing, with a hint. */
static enum sm_status absent(struct sm_reader *reader, const struct sm_json *root, const char *name,
                             const char *const *keys, const char *hint)
{
    char pointer[64];
    if (is_misspelt(root, name, keys))
        return SM_E_FIELD;
    sm_text_format(pointer, sizeof pointer, "/%s", name);
    return sm_read_problem(reader, pointer, SM_E_FIELD, "\"%s\" is missing%s", name, hint);
}

/* Reads one section, or sets its defaults if it is left out. */
static enum sm_status read_section(struct sm_reader *reader, const struct sm_json *root,
                                   const struct section *section)
{
    char pointer[64];
    const struct sm_json *object = sm_json_get(root, section->name);
    sm_text_format(pointer, sizeof pointer, "/%s", section->name);
    if (object)
        return sm_read_params(reader, object, pointer, &section->table, 1, NULL);
    sm_params_default(section->table.rows, section->table.n_rows, section->table.block);
    return section->is_required ? absent(reader, root, section->name, grain_keys, "") : SM_OK;
}

static enum sm_status check_keys(struct sm_reader *reader, const struct sm_json *root, int is_curve)
{
    enum sm_status first = SM_OK;
    const char *const *keys = is_curve ? curve_keys : grain_keys;
    for (const struct sm_json *member = sm_json_first(root); member; member = sm_json_next(member)) {
        char pointer[SM_POINTER_MAX], escaped[SM_TOKEN_MAX], near[SM_SUGGEST_TEXT];
        const char *key = sm_json_key(member);
        if (is_known(key, keys))
            continue;
        sm_text_format(pointer, sizeof pointer, "/%s", sm_pointer_escape(key, escaped, sizeof escaped));
        const enum sm_status status =
            is_curve && is_known(key, grain_keys)
                ? sm_read_problem(reader, pointer, SM_E_FIELD, "a motor given by its \"curve\" has no \"%s\"",
                                  key)
                : sm_read_problem(reader, pointer, SM_E_FIELD, "unknown key '%.60s'%s", key,
                                  sm_suggest_text(near, near_key(key, is_curve)));
        first = first != SM_OK ? first : status;
    }
    return first;
}

static enum sm_status read_name(struct sm_reader *reader, const struct sm_json *root,
                                struct sm_motor_spec *spec)
{
    const struct sm_json *value = sm_json_get(root, "name");
    spec->name = "";
    if (!value)
        return absent(reader, root, "name", spec->is_curve ? curve_keys : grain_keys,
                      ", what the motor is called");
    SM_TRY(sm_read_text(reader, value, "/name", &spec->name));
    return spec->name[0] ? SM_OK : sm_read_problem(reader, "/name", SM_E_RANGE, "\"name\" must not be empty");
}

static enum sm_status read_grains(struct sm_reader *reader, const struct sm_json *root, const char *folder,
                                  struct sm_motor_spec *spec)
{
    const struct sm_json *list = sm_json_get(root, "grains");
    if (!list)
        return absent(reader, root, "grains", grain_keys, " (or \"curve\", for a bought motor)");
    const size_t n = sm_json_count(list);
    if (!sm_json_is(list, SM_JSON_ARRAY))
        return sm_read_problem(reader, "/grains", SM_E_SYNTAX, "\"grains\" must be a list, not %s",
                               sm_json_type_name(sm_json_type(list)));
    if (n < 1 || n > SM_MAX_GRAINS)
        return sm_read_problem(reader, "/grains", SM_E_RANGE,
                               "\"grains\" has %zu entries; 1 to %d are allowed", n, SM_MAX_GRAINS);
    spec->grains = sm_arena_alloc(reader->arena, n, sizeof *spec->grains);
    if (!spec->grains)
        return sm_read_problem(reader, "/grains", SM_E_NOMEM, "out of memory");
    spec->n_grains = n;
    enum sm_status first = SM_OK;
    size_t i = 0;
    for (const struct sm_json *grain = sm_json_first(list); grain; grain = sm_json_next(grain), i++) {
        char pointer[64];
        sm_text_format(pointer, sizeof pointer, "/grains/%zu", i);
        const enum sm_status status = read_grain(reader, grain, pointer, folder, &spec->grains[i]);
        first = first != SM_OK ? first : status;
    }
    return first;
}

static enum sm_status read_grain_motor(struct sm_reader *reader, const struct sm_json *root,
                                       const char *folder, struct sm_motor_spec *spec)
{
    const struct section sections[] = {
        {"case", 1, {sm_case_params, sm_n_case_params, &spec->chamber}},
        {"nozzle", 1, {sm_nozzle_params, sm_n_nozzle_params, &spec->nozzle}},
        {"hardware", 0, {sm_hardware_params, sm_n_hardware_params, &spec->hardware}},
        {"ignition", 0, {sm_ignition_params, sm_n_ignition_params, &spec->ignition}},
    };
    enum sm_status first = SM_OK;
    for (size_t i = 0; i < SM_COUNT(sections); i++) {
        const enum sm_status status = read_section(reader, root, &sections[i]);
        first = first != SM_OK ? first : status;
    }
    const struct sm_json *propellant = sm_json_get(root, "propellant");
    enum sm_status status;
    if (sm_json_is(propellant, SM_JSON_STRING))
        status = SM_E_FIELD; /* not found: told by the caller, who knows where it was sought */
    else if (propellant)
        status = sm_read_propellant(reader, propellant, "/propellant", &spec->propellant);
    else
        status = absent(reader, root, "propellant", grain_keys, ": a name, a path or an object");
    first = first != SM_OK ? first : status;
    status = read_grains(reader, root, folder, spec);
    return first != SM_OK ? first : status;
}

static enum sm_status look(const void *owner, const char *pointer, double *value, const struct sm_param **row,
                           struct sm_error *err)
{
    const struct sm_motor motor = {.spec = *(const struct sm_motor_spec *)owner};
    return sm_motor_value(&motor, pointer, value, row, err);
}

enum sm_status sm_read_motor(struct sm_reader *reader, const struct sm_json_doc *doc, const char *folder,
                             struct sm_motor_spec *spec)
{
    const struct sm_json *root = sm_json_root(doc);
    const enum sm_status format = sm_read_format(reader, root, "", SM_MOTOR_FORMAT);
    if (format != SM_OK && (!sm_json_is(root, SM_JSON_OBJECT) || sm_json_get(root, "format")))
        return format; /* something else altogether: its other faults would mislead */
    const struct sm_json *curve = sm_json_get(root, "curve");
    spec->is_curve = curve != NULL;
    enum sm_status first = format, status = check_keys(reader, root, spec->is_curve);
    first = first != SM_OK ? first : status;
    status = read_name(reader, root, spec);
    first = first != SM_OK ? first : status;
    const struct section conditions = {
        "conditions", 0, {sm_conditions_params, sm_n_conditions_params, &spec->conditions}};
    status = read_section(reader, root, &conditions);
    first = first != SM_OK ? first : status;
    if (curve)
        status = sm_read_bare_curve(reader, curve, "/curve", folder, &spec->bare);
    else if (is_neither(root))
        status = is_misspelt(root, "curve", grain_keys)
                     ? SM_E_FIELD
                     : sm_read_problem(reader, "/grains", SM_E_FIELD,
                                       "a motor has \"propellant\", \"case\", \"grains\" and \"nozzle\", or "
                                       "\"curve\" if it is bought");
    else
        status = read_grain_motor(reader, root, folder, spec);
    first = first != SM_OK ? first : status;
    /* Where values are missing it would be told again that there are none to stray. */
    return first != SM_OK ? first : sm_read_tolerances(reader, root, "", "", look, spec, &spec->tolerances);
}
