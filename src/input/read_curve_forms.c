/* A curve in one of several forms: which one, and those that are no delimited text. */
#include "base/text.h"
#include "doc/textfile.h"
#include "input/read_curve.h"
#include "input/read_dave.h"
#include "input/read_propellant.h"
#include "slowmatch/limits.h"

#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define RESULT_FORMAT "slowmatch-result/1"

/* The first byte of a regular file that is neither blank nor part of a byte-order mark; 0 if there is none. */
static int first_letter(const char *path)
{
    struct stat info;
    const int fd = stat(path, &info) == 0 && S_ISREG(info.st_mode) ? open(path, O_RDONLY) : -1;
    unsigned char c = 0;
    /* No stream: the kind of a file must not depend on whether there is memory for one. */
    while (fd >= 0 && read(fd, &c, 1) == 1 && c != '\0' && strchr(" \t\r\n\xEF\xBB\xBF", c))
        c = 0;
    if (fd >= 0)
        close(fd);
    return c;
}

static int is_result(const struct sm_json_doc *doc)
{
    const char *format = sm_json_string(sm_json_get(sm_json_root(doc), "format"));
    return format && strcmp(format, RESULT_FORMAT) == 0;
}

int sm_is_curve_file(const char *path)
{
    static const char *const endings[] = {".csv", ".tsv", ".txt", ".dat"}; /* of delimited text */
    const size_t n = strlen(path);
    const int c = first_letter(path);
    struct sm_json_doc *doc = NULL;
    if (c != '{') {
        int found = c == '<';
        for (size_t i = 0; i < SM_COUNT(endings); i++)
            found = found || (n > 4 && strcasecmp(path + n - 4, endings[i]) == 0);
        return found;
    }
    const int found = sm_json_read_file(path, &doc, NULL) == SM_OK && is_result(doc);
    sm_json_free(doc);
    return found;
}

/* ---- results ---- */

static enum sm_status take_series(const struct sm_json_doc *doc, const char *pointer, struct sm_arena *arena,
                                  double **out, size_t *n, struct sm_error *err)
{
    const struct sm_json *list = sm_json_find(sm_json_root(doc), pointer);
    size_t i = 0;
    *n = sm_json_count(list);
    *out = *n >= 2 && *n <= SM_MAX_CURVE_POINTS ? sm_arena_alloc(arena, *n, sizeof **out) : NULL;
    if (!*out)
        return sm_at(err,
                     sm_fail(err, SM_E_FIELD, "a result to be read as a curve has from 2 to %d values here",
                             SM_MAX_CURVE_POINTS),
                     "%s", pointer);
    for (const struct sm_json *value = sm_json_first(list); value; value = sm_json_next(value), i++) {
        (*out)[i] = sm_json_number(value);
        if (!(fabs((*out)[i]) <= 1e12))
            return sm_at(err, sm_fail(err, SM_E_SYNTAX, "this is no number of a thrust curve"), "%s/%zu",
                         pointer, i);
    }
    return SM_OK;
}

/* First and last number of a series; SM_ABSENT if there are none. */
static void take_ends(const struct sm_json_doc *doc, int i, struct sm_mass_ends *ends)
{
    char pointer[64];
    sm_text_format(pointer, sizeof pointer, "/series/%s", sm_mass_names[i].name);
    const struct sm_json *list = sm_json_find(sm_json_root(doc), pointer);
    ends->first[i] = ends->last[i] = SM_ABSENT;
    for (const struct sm_json *value = sm_json_first(list); value; value = sm_json_next(value)) {
        if (!sm_json_is(value, SM_JSON_NUMBER))
            continue;
        ends->last[i] = sm_json_number(value);
        if (isnan(ends->first[i]))
            ends->first[i] = ends->last[i];
    }
}

static enum sm_status take_result(const struct sm_json_doc *doc, struct sm_arena *arena,
                                  struct sm_curve *curve, struct sm_error *err)
{
    double *time, *thrust;
    size_t n_time, n_thrust;
    if (!is_result(doc)) {
        const char *given = sm_json_string(sm_json_get(sm_json_root(doc), "format"));
        char hint[SM_FORMAT_HINT] = "";
        if (!given)
            return sm_fail(err, SM_E_FIELD, "a curve in JSON is a result, with \"format\": \"%s\"",
                           RESULT_FORMAT);
        sm_format_reader(given, RESULT_FORMAT, hint);
        return sm_at(err,
                     sm_fail(err, SM_E_RANGE, "the format is \"%.60s\", and a curve in JSON is a \"%s\"%s",
                             given, RESULT_FORMAT, hint),
                     "/format");
    }
    SM_TRY(take_series(doc, "/series/time", arena, &time, &n_time, err));
    SM_TRY(take_series(doc, "/series/thrust", arena, &thrust, &n_thrust, err));
    if (n_time != n_thrust)
        return sm_at(err, sm_fail(err, SM_E_RANGE, "there are %zu times but %zu thrusts", n_time, n_thrust),
                     "/series");
    for (size_t i = 1; i < n_time; i++)
        if (time[i] < time[i - 1])
            return sm_at(err, sm_fail(err, SM_E_RANGE, "time goes back"), "/series/time/%zu", i);
    *curve = (struct sm_curve){.time = time, .thrust = thrust, .n = n_time};
    return SM_OK;
}

static enum sm_status read_result(struct sm_arena *arena, const char *path, struct sm_curve *curve,
                                  struct sm_mass_ends *ends, struct sm_error *err)
{
    struct sm_json_doc *doc;
    SM_TRY(sm_json_read_file(path, &doc, err));
    const enum sm_status status = take_result(doc, arena, curve, err);
    if (status != SM_OK && err)
        sm_json_locate(doc, err);
    for (int i = 0; ends && status == SM_OK && i < SM_N_MASS_COLUMNS; i++)
        take_ends(doc, i, ends);
    sm_json_free(doc);
    return status;
}

/* ---- DAVE-ML ---- */

static enum sm_status read_xml(struct sm_arena *arena, struct sm_units *units, const char *path,
                               const char *wanted, struct sm_curve *curve, struct sm_mass_ends *ends,
                               struct sm_error *err)
{
    char *text;
    size_t n;
    SM_TRY(sm_textfile_read(path, SM_MAX_XML_BYTES, &text, &n, err));
    const enum sm_status status = sm_read_dave(arena, units, text, n, path, wanted, curve, ends, err);
    free(text);
    return status;
}

/* ---- CSV on the Web ---- */

/* Codes of UCUM that UDUNITS spells otherwise. */
static const char *from_ucum(const char *code)
{
    static const char *const pairs[][2] = {
        {"[lbf_av]", "lbf"}, {"gf", "gram_force"}, {"kgf", "kilogram_force"}};
    for (size_t i = 0; i < SM_COUNT(pairs); i++)
        if (strcmp(code, pairs[i][0]) == 0)
            return pairs[i][1];
    return code;
}

/* The place of the column of that name, from 1; 0 if the metadata has none. *unit as it gives it, or NULL. */
static size_t find_described(const struct sm_json_doc *doc, const char *name, const char **unit)
{
    const struct sm_json *columns = sm_json_find(sm_json_root(doc), "/tableSchema/columns");
    size_t place = 1;
    for (const struct sm_json *c = sm_json_first(columns); c; c = sm_json_next(c), place++) {
        const char *own = sm_json_string(sm_json_get(c, "name"));
        if (!own || strcasecmp(own, name) != 0)
            continue;
        const char *code = sm_json_string(sm_json_get(c, "http://qudt.org/schema/qudt/ucumCode"));
        *unit = code ? from_ucum(code) : NULL;
        return place;
    }
    return 0;
}

/* What is not asked for by the caller is taken from the metadata. */
static enum sm_status describe(const struct sm_json_doc *doc, struct sm_arena *arena, const char *usual,
                               const char **column, const char **unit, struct sm_error *err)
{
    const char *found = NULL;
    const size_t place = find_described(doc, *column ? *column : usual, &found);
    if (place == 0)
        return SM_OK;
    char *number = sm_arena_alloc(arena, 24, 1);
    if (!number)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_text_format(number, 24, "%zu", place);
    *column = number;
    if (!*unit && found)
        *unit = sm_arena_strdup(arena, found);
    return SM_OK;
}

/* Units of columns of masses. */
static void describe_masses(const struct sm_json_doc *doc, struct sm_arena *arena,
                            const char *units[SM_N_MASS_COLUMNS])
{
    for (int i = 0; i < SM_N_MASS_COLUMNS; i++) {
        const char *found = NULL;
        if (find_described(doc, sm_mass_names[i].name, &found) > 0 && found)
            units[i] = sm_arena_strdup(arena, found);
    }
}

static enum sm_status read_table(struct sm_arena *arena, struct sm_units *units, const char *path,
                                 const struct sm_curve_columns *columns, struct sm_curve *curve,
                                 struct sm_mass_ends *ends, struct sm_error *err)
{
    const char *mass_units[SM_N_MASS_COLUMNS] = {NULL};
    static const char ending[] = "-metadata.json";
    struct sm_curve_columns asked = *columns;
    struct sm_json_doc *doc = NULL;
    const size_t size = strlen(path) + sizeof ending;
    char *beside = sm_arena_alloc(arena, size, 1);
    if (!beside)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    sm_text_format(beside, size, "%s%s", path, ending);
    if (first_letter(beside) != 0) {
        SM_TRY(sm_json_read_file(beside, &doc, err));
        enum sm_status status = describe(doc, arena, "time", &asked.time, &asked.time_unit, err);
        if (status == SM_OK)
            status = describe(doc, arena, "thrust", &asked.thrust, &asked.thrust_unit, err);
        describe_masses(doc, arena, mass_units);
        sm_json_free(doc);
        SM_TRY(status);
    }
    return sm_read_delimited_curve(arena, units, path, &asked, mass_units, curve, ends, err);
}

static enum sm_status read_any(struct sm_arena *arena, struct sm_units *units, const char *path,
                               const struct sm_curve_columns *columns, struct sm_curve *curve,
                               struct sm_mass_ends *ends, struct sm_error *err)
{
    const int c = first_letter(path);
    const int is_asked = columns->time || columns->time_unit || columns->thrust_unit;
    if ((c == '<' || c == '{') && (is_asked || (c == '{' && columns->thrust)))
        return sm_fail(err, SM_E_FIELD, "this file tells its own columns and units%s",
                       c == '<' ? "; of DAVE-ML a force may be named in place of a thrust column" : "");
    switch (c) {
    case '<':
        return read_xml(arena, units, path, columns->thrust, curve, ends, err);
    case '{':
        return read_result(arena, path, curve, ends, err);
    default:
        return read_table(arena, units, path, columns, curve, ends, err);
    }
}

/* Masses that can't be a motor's are refused: they would make a vehicle's mass wrong in silence. */
static enum sm_status weigh(const struct sm_mass_ends *ends, struct sm_curve_masses *masses,
                            struct sm_error *err)
{
    const double first = ends->first[SM_MASS_PROPELLANT], left = ends->last[SM_MASS_PROPELLANT];
    masses->propellant = first - left;
    masses->loaded = ends->first[SM_MASS_MOTOR];
    masses->center_loaded = ends->first[SM_MASS_CENTER];
    masses->center_empty = ends->last[SM_MASS_CENTER];
    if (isnan(first))
        return SM_OK;
    if (!(masses->propellant > 0.0 && left >= 0.0))
        return sm_fail(err, SM_E_RANGE,
                       "propellant_mass goes from %.6g kg to %.6g kg; it must fall, and not below 0", first,
                       left);
    if (masses->loaded <= masses->propellant)
        return sm_fail(err, SM_E_RANGE,
                       "motor_mass begins at %.6g kg, which is not more than the propellant's %.6g kg",
                       masses->loaded, masses->propellant);
    return SM_OK;
}

enum sm_status sm_read_curve_file(struct sm_arena *arena, struct sm_units *units, const char *path,
                                  const struct sm_curve_columns *columns, struct sm_curve *curve,
                                  struct sm_curve_masses *masses, struct sm_error *err)
{
    struct sm_mass_ends ends;
    SM_TRY(read_any(arena, units, path, columns, curve, masses ? &ends : NULL, err));
    return masses ? weigh(&ends, masses, err) : SM_OK;
}
