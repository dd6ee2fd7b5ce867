/* Loading motors: the calls that outsiders make. */
#include "app/session.h"
#include "app/curve_motor.h"
#include "app/data.h"
#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "doc/json_write.h"
#include "input/read_curve.h"
#include "input/read_motor.h"
#include "input/read_propellant.h"
#include "slowmatch/page.h"

#include <math.h>
#include <string.h>

/* ---- naming a propellant ---- */

/* Is it a path rather than a name? */
static int is_path(const char *text)
{
    const size_t n = strlen(text);
    return strchr(text, '/') || (n > 5 && strcmp(text + n - 5, ".json") == 0);
}

static enum sm_status unknown_propellant(struct sm_arena *arena, const char *folder, const char *name,
                                         struct sm_error *err)
{
    char **names = NULL;
    size_t n = 0;
    char near[SM_SUGGEST_TEXT];
    struct sm_suggest suggest = {.word = name};
    if (sm_data_propellant_names(arena, folder, &names, &n, NULL) == SM_OK)
        for (size_t i = 0; i < n; i++)
            sm_suggest_offer(&suggest, names[i]);
    return sm_fail(err, SM_E_FIELD, "there is no propellant '%.60s'%s ('slowmatch propellants' lists them)",
                   name, sm_suggest_text(near, suggest.best));
}

static enum sm_status read_named(struct sm_session *s, const char *name, struct sm_json_doc **doc,
                                 struct sm_error *err)
{
    const char *folder;
    SM_TRY(sm_data_propellants(s->arena, s->options, &folder, err));
    char **names;
    size_t n;
    SM_TRY(sm_data_propellant_names(s->arena, folder, &names, &n, err));
    for (size_t i = 0; i < n; i++)
        if (strcmp(names[i], name) == 0) {
            const char *path = sm_data_path(s->arena, folder, name, ".json");
            return path ? sm_json_read_file(path, doc, err) : sm_fail(err, SM_E_NOMEM, "out of memory");
        }
    return unknown_propellant(s->arena, folder, name, err);
}

static enum sm_status read_by_path(struct sm_session *s, const char *text, struct sm_json_doc **doc,
                                   struct sm_error *err)
{
    const char *path = sm_data_seen_from(s->arena, s->folder, text);
    return path ? sm_json_read_file(path, doc, err) : sm_fail(err, SM_E_NOMEM, "out of memory");
}

enum sm_status sm_session_place_propellant(struct sm_session *s, struct sm_error *err)
{
    const char *text = sm_json_string(sm_json_find(sm_json_root(s->doc), "/propellant"));
    struct sm_json_doc *propellant = NULL;
    if (!text)
        return SM_OK;
    enum sm_status status =
        is_path(text) ? read_by_path(s, text, &propellant, err) : read_named(s, text, &propellant, err);
    if (status == SM_OK)
        status = sm_json_splice(s->doc, "/propellant", propellant, "", err);
    else if (err && err->at.line == 0) { /* the file's name is wrong, not what is in it */
        err->at.file[0] = '\0';
        status = sm_at(err, status, "/propellant");
    }
    sm_json_free(propellant);
    return status;
}

/* ---- overrides ---- */

/* Sections that a motor file may leave out; an override starts them. */
static const char *const optional_sections[] = {"conditions", "hardware", "ignition"};

/* How many of them this motor may have: a bare curve has conditions alone. */
static size_t count_optional(const struct sm_json *root)
{
    return sm_json_get(root, "curve") ? 1 : SM_COUNT(optional_sections);
}

static enum sm_status start_section(struct sm_session *s, const char *pointer, struct sm_error *err)
{
    char first[SM_TOKEN_MAX];
    const char *rest = sm_pointer_token(pointer, first);
    const struct sm_json *root = sm_json_root(s->doc);
    if (!rest || *rest == '\0' || sm_json_get(root, first))
        return SM_OK;
    for (size_t i = 0; i < count_optional(root); i++)
        if (strcmp(first, optional_sections[i]) == 0) {
            char place[SM_TOKEN_MAX + 1];
            sm_text_format(place, sizeof place, "/%s", first);
            return sm_json_set(s->doc, place, "{}", "--set", err);
        }
    return SM_OK;
}

/* Adds the nearest name to an error if the file has nothing of the pointer's first name. */
static void suggest_section(const struct sm_session *s, const char *pointer, struct sm_error *err)
{
    char first[SM_TOKEN_MAX], near[SM_SUGGEST_TEXT];
    const struct sm_json *root = sm_json_root(s->doc);
    if (!sm_pointer_token(pointer, first) || sm_json_get(root, first))
        return;
    struct sm_suggest suggest = {.word = first};
    for (const struct sm_json *member = sm_json_first(root); member; member = sm_json_next(member))
        sm_suggest_offer(&suggest, sm_json_key(member));
    for (size_t i = 0; i < count_optional(root); i++)
        sm_suggest_offer(&suggest, optional_sections[i]);
    const size_t n = strlen(err->message);
    sm_text_format(err->message + n, sizeof err->message - n, "%s", sm_suggest_text(near, suggest.best));
}

/* An error in the place of an override, not in its value, stands at the override's start. */
static void place_at_override(const struct sm_override *o, struct sm_error *err)
{
    strcpy(err->at.file, "--set");
    if (err->at.line > 0)
        return;
    err->at.line = err->at.column = err->caret = 1;
    sm_text_format(err->excerpt, sizeof err->excerpt, "%s=%s", o->place, o->value);
}

static enum sm_status apply_override(struct sm_session *s, const struct sm_override *o, struct sm_error *err)
{
    char pointer[SM_POINTER_MAX] = "";
    enum sm_status status = sm_pointer_from_text(o->place, pointer, err);
    if (status == SM_OK)
        status = start_section(s, pointer, err);
    if (status == SM_OK)
        status = sm_json_set(s->doc, o->place, o->value, "--set", err);
    if (status == SM_OK)
        return SM_OK;
    if (status == SM_E_FIELD)
        suggest_section(s, pointer, err);
    place_at_override(o, err);
    return status;
}

static int is_in_propellant(const char *place)
{
    return strncmp(place, "/propellant/", 12) == 0 || strncmp(place, "propellant.", 11) == 0;
}

/* Sets the overrides. Status: that of the first that can't be; *unplaced, zeroed by the caller, is why the propellant is
 * still a name at the end, if it is. */
static enum sm_status apply_overrides(struct sm_session *s, struct sm_error *unplaced, struct sm_error *err)
{
    const struct sm_load_options *options = s->options;
    enum sm_status placed = sm_session_place_propellant(s, unplaced);
    for (size_t i = 0; options && i < options->n_overrides; i++) {
        const struct sm_override *o = &options->overrides[i];
        if (placed != SM_OK && is_in_propellant(o->place))
            continue; /* there is no such place as long as the propellant is not found */
        SM_TRY(apply_override(s, o, err));
        placed = sm_session_place_propellant(s, unplaced);
    }
    if (placed == SM_OK)
        *unplaced = (struct sm_error){0};
    return SM_OK;
}

/* ---- loading ---- */

/* Adds a problem, located in the document if it has a pointer into it. */
static enum sm_status report(const struct sm_json_doc *doc, const struct sm_error *problem,
                             struct sm_diag *diag)
{
    struct sm_error located = *problem;
    if (doc)
        sm_json_locate(doc, &located);
    sm_diag_add(diag, &located);
    return problem->status;
}

/* Does a come before b for a reader: the file at hand first, others by name, each from its top? */
static int is_before(const struct sm_error *a, const struct sm_error *b, const char *first)
{
    const int file = strcmp(a->at.file, b->at.file);
    if (file != 0 && (strcmp(a->at.file, first) == 0 || strcmp(b->at.file, first) == 0))
        return strcmp(a->at.file, first) == 0;
    if (file != 0)
        return file < 0;
    return a->at.line != b->at.line ? a->at.line < b->at.line : a->at.column < b->at.column;
}

/* Locates the problems from a place in the list on, and puts them in the order of the file. */
static void order_problems(const struct sm_json_doc *doc, struct sm_diag *diag, size_t from)
{
    for (size_t i = from; i < diag->n; i++) {
        sm_json_locate(doc, &diag->items[i]);
        const struct sm_error problem = diag->items[i];
        size_t j = i;
        for (; j > from && is_before(&problem, &diag->items[j - 1], sm_json_name(doc)); j--)
            diag->items[j] = diag->items[j - 1];
        diag->items[j] = problem;
    }
}

static enum sm_status read_and_assemble(struct sm_session *s, struct sm_units *units, struct sm_motor *motor,
                                        struct sm_diag *diag)
{
    struct sm_error err = {0}, unplaced = {0};
    const size_t before = diag->n;
    enum sm_status status = apply_overrides(s, &unplaced, &err);
    if (unplaced.status != SM_OK)
        report(s->doc, &unplaced, diag);
    if (status != SM_OK)
        return report(s->doc, &err, diag);
    struct sm_reader reader = {.arena = &motor->arena, .units = units, .diag = diag};
    status = sm_read_motor(&reader, s->doc, s->folder, &motor->spec);
    order_problems(s->doc, diag, before);
    if (unplaced.status != SM_OK)
        return unplaced.status;
    if (status != SM_OK)
        return status;
    status = sm_motor_assemble(motor, &err);
    return status == SM_OK ? SM_OK : report(s->doc, &err, diag);
}

static struct sm_motor *new_motor(const struct sm_context *context)
{
    struct sm_arena arena;
    sm_arena_init(&arena, context ? context->allocator : NULL);
    struct sm_motor *motor = sm_arena_alloc(&arena, 1, sizeof *motor);
    if (motor)
        motor->arena = arena;
    else
        sm_arena_release(&arena);
    return motor;
}

static enum sm_status out_of_memory(struct sm_diag *diag)
{
    struct sm_error err = {0};
    sm_fail(&err, SM_E_NOMEM, "out of memory");
    return report(NULL, &err, diag);
}

static enum sm_status fill_from_curve(struct sm_motor *motor, const char *path,
                                      const struct sm_load_options *options, struct sm_units *units,
                                      struct sm_diag *diag)
{
    struct sm_error err = {0};
    const enum sm_status status = sm_curve_motor_fill(motor, path, options, units, &err);
    if (status == SM_OK)
        return SM_OK;
    if (err.at.file[0] == '\0')
        strncpy(err.at.file, path, sizeof err.at.file - 1);
    return report(NULL, &err, diag);
}

/* doc NULL: the file at path is a curve. */
static enum sm_status load(struct sm_json_doc *doc, const char *path, const struct sm_load_options *options,
                           const struct sm_context *context, struct sm_motor **out, struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_units *own = NULL, *units = options ? options->units : NULL;
    struct sm_motor *motor = new_motor(context);
    if (!motor)
        return out_of_memory(diag);
    struct sm_session s = {.doc = doc,
                           .options = options,
                           .arena = &motor->arena,
                           .folder = sm_data_folder(&motor->arena, path)};
    enum sm_status status = s.folder ? SM_OK : out_of_memory(diag);
    if (status == SM_OK && !units) {
        status = sm_units_open(&own, &err);
        units = own;
        if (status != SM_OK)
            report(NULL, &err, diag);
    }
    if (status == SM_OK && doc)
        status = read_and_assemble(&s, units, motor, diag);
    else if (status == SM_OK)
        status = fill_from_curve(motor, path, options, units, diag);
    sm_units_free(own);
    if (status == SM_OK)
        *out = motor;
    else
        sm_motor_free(motor);
    return status;
}

enum sm_status sm_motor_load(const char *path, const struct sm_load_options *options,
                             const struct sm_context *context, struct sm_motor **motor, struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    *motor = NULL;
    if (sm_is_curve_file(path))
        return load(NULL, path, options, context, motor, diag);
    if (sm_json_read_file(path, &doc, &err) != SM_OK)
        return report(NULL, &err, diag);
    const enum sm_status status = load(doc, path, options, context, motor, diag);
    sm_json_free(doc);
    return status;
}

enum sm_status sm_motor_parse(const char *text, size_t n, const char *name,
                              const struct sm_load_options *options, const struct sm_context *context,
                              struct sm_motor **motor, struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    *motor = NULL;
    if (sm_json_parse(text, n, name, &doc, &err) != SM_OK)
        return report(NULL, &err, diag);
    const enum sm_status status = load(doc, "", options, context, motor, diag);
    sm_json_free(doc);
    return status;
}

void sm_motor_free(struct sm_motor *motor)
{
    if (!motor)
        return;
    struct sm_arena arena = motor->arena; /* the motor lives in its own arena */
    sm_arena_release(&arena);
}

/* ---- the file as it is loaded ---- */

static enum sm_status write_inputs(struct sm_session *s, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_error unplaced = {0};
    struct sm_json_writer w;
    SM_TRY(apply_overrides(s, &unplaced, err));
    if (unplaced.status != SM_OK) {
        *err = unplaced;
        return err->status;
    }
    sm_json_write_init(&w, sink);
    sm_json_put_value(&w, sm_json_root(s->doc));
    return sm_json_write_end(&w, err);
}

enum sm_status sm_motor_write_inputs(const char *path, const struct sm_load_options *options,
                                     struct sm_sink *sink, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_json_doc *doc = NULL;
    struct sm_error own = {0};
    if (sm_is_curve_file(path))
        return sm_fail(err, SM_E_FIELD, "a curve's file is no motor file: it stands for itself");
    SM_TRY(sm_json_read_file(path, &doc, err));
    sm_arena_init(&arena, NULL);
    struct sm_session s = {
        .doc = doc, .options = options, .arena = &arena, .folder = sm_data_folder(&arena, path)};
    const enum sm_status status =
        s.folder ? write_inputs(&s, sink, &own) : sm_fail(&own, SM_E_NOMEM, "out of memory");
    if (status != SM_OK) {
        sm_json_locate(doc, &own);
        if (err)
            *err = own;
    }
    sm_arena_release(&arena);
    sm_json_free(doc);
    return status;
}
