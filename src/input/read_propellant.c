#include "input/read_propellant.h"

#include "base/pointer.h"
#include "base/suggest.h"
#include "base/text.h"
#include "input/read_tolerances.h"

#include <string.h>

/* Is there a key that was meant to be "format"? It is told as unknown by who reads the keys. */
static int is_misspelt(const struct sm_json *object)
{
    static const char *const names[] = {"format", NULL};
    for (const struct sm_json *member = sm_json_first(object); member; member = sm_json_next(member))
        if (sm_suggest_from(sm_json_key(member), names))
            return 1;
    return 0;
}

void sm_format_reader(const char *given, const char *wanted, char hint[SM_FORMAT_HINT])
{
    static const struct {
        const char *kind, *place;
    } rows[] = {
        {"slowmatch-motor/", "'slowmatch burn' reads motors"},
        {"slowmatch-propellant/", "a motor names such a file as its \"propellant\""},
        {"slowmatch-request/", "'slowmatch size' reads requests"},
        {"slowmatch-vehicle/", "'slowmatch lift' reads vehicles"},
        {"slowmatch-stand/", "'slowmatch firing' reads stands, by --stand"},
        {"slowmatch-result/", "'slowmatch compare' reads results"},
    };
    hint[0] = '\0';
    for (size_t i = 0; i < SM_COUNT(rows); i++) {
        const size_t n = strlen(rows[i].kind);
        if (strncmp(given, rows[i].kind, n) == 0 && strncmp(wanted, rows[i].kind, n) != 0)
            sm_text_format(hint, SM_FORMAT_HINT, "; %s", rows[i].place);
    }
}

enum sm_status sm_read_format(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                              const char *wanted)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *value = sm_json_get(object, "format");
    const char *given = sm_json_string(value);
    sm_text_format(place, sizeof place, "%s/format", pointer);
    if (!sm_json_is(object, SM_JSON_OBJECT))
        return sm_read_problem(reader, pointer, SM_E_SYNTAX, "the file must hold an object, not %s",
                               sm_json_type_name(sm_json_type(object)));
    if (!value && is_misspelt(object))
        return SM_E_FIELD;
    if (!value)
        return sm_read_problem(reader, place, SM_E_FIELD, "\"format\": \"%s\" is missing", wanted);
    if (!given)
        return sm_read_problem(reader, place, SM_E_SYNTAX, "the format must be \"%s\", not %s", wanted,
                               sm_json_type_name(sm_json_type(value)));
    if (strcmp(given, wanted) != 0) {
        char hint[SM_FORMAT_HINT];
        sm_format_reader(given, wanted, hint);
        return sm_read_problem(reader, place, SM_E_RANGE,
                               "the format is \"%.60s\", and \"%s\" is wanted here%s", given, wanted, hint);
    }
    return SM_OK;
}

/* Values of the propellant are found as those of a motor that has nothing else. */
static enum sm_status look(const void *owner, const char *pointer, double *value, const struct sm_param **row,
                           struct sm_error *err)
{
    char whole[SM_POINTER_MAX + 16];
    const struct sm_motor motor = {.spec = {.propellant = *(const struct sm_propellant *)owner}};
    sm_text_format(whole, sizeof whole, "/propellant%s", pointer);
    return sm_motor_value(&motor, whole, value, row, err);
}

enum sm_status sm_read_propellant(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  struct sm_propellant *propellant)
{
    static const char *const handled[] = {"format", "tolerances", NULL};
    const struct sm_param_table table = {sm_propellant_params, sm_n_propellant_params, propellant};
    if (!sm_json_is(object, SM_JSON_OBJECT))
        return sm_read_problem(reader, pointer, SM_E_SYNTAX,
                               "a propellant is a name, a path or an object, not %s",
                               sm_json_type_name(sm_json_type(object)));
    const enum sm_status format = sm_read_format(reader, object, pointer, SM_PROPELLANT_FORMAT);
    SM_TRY(sm_read_params(reader, object, pointer, &table, 1, handled));
    SM_TRY(format);
    struct sm_error err;
    const enum sm_status status = sm_propellant_check(propellant, &err);
    if (status != SM_OK) {
        sm_at(&err, status, "%s", pointer);
        sm_diag_add(reader->diag, &err);
        return status;
    }
    return sm_read_tolerances(reader, object, pointer, "/propellant", look, propellant,
                              &propellant->tolerances);
}
