#include "input/read_curve.h"

#include "base/pointer.h"
#include "base/text.h"
#include "doc/csv.h"
#include "input/read_tolerances.h"
#include "slowmatch/limits.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

/* ---- delimited files ---- */

enum { TIME, THRUST, N_COLUMNS, MAX_LABEL = 128 };

/* One of the two columns wanted. */
struct column {
    const char *asked; /* name or number; NULL: by its usual name */
    const char *usual; /* "time" */
    const char *unit;  /* asked for, or NULL */
    enum sm_dim dim;
    size_t place;               /* field in each row */
    struct sm_unit_scale scale; /* to SI */
};

const struct sm_mass_name sm_mass_names[SM_N_MASS_COLUMNS] = {
    [SM_MASS_PROPELLANT] = {"propellant_mass", "propellantMass", SM_DIM_MASS},
    [SM_MASS_MOTOR] = {"motor_mass", "motorMass", SM_DIM_MASS},
    [SM_MASS_CENTER] = {"motor_center_of_mass", "motorCenterOfMass", SM_DIM_LENGTH},
};

struct reading {
    struct column columns[N_COLUMNS];
    struct column masses[SM_N_MASS_COLUMNS]; /* those with has_mass */
    bool has_mass[SM_N_MASS_COLUMNS];
    struct sm_mass_ends *ends; /* NULL: masses aren't wanted */
    struct sm_units *units;
    struct sm_arena *arena;
    double *values[N_COLUMNS]; /* n of each [s], [N] */
    size_t n, capacity[N_COLUMNS];
    unsigned header_line; /* 0: there is none */
};

/* More than any motor's, in SI [s], [N]; sums over what goes beyond them would mean nothing. */
static const double largest[N_COLUMNS] = {1e6, 1e12};

/* Copies a field into label[MAX_LABEL], cut to fit. */
static void copy_field(const struct sm_csv_field *field, char *label)
{
    const size_t n = field->n < MAX_LABEL - 1 ? field->n : MAX_LABEL - 1;
    memcpy(label, field->text, n);
    label[n] = '\0';
}

static int same_letters(const char *a, const char *b, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (tolower((unsigned char)a[i]) != tolower((unsigned char)b[i]))
            return 0;
    return 1;
}

/* Splits "Thrust (N)" or "thrust [N]" into the name's length and the unit, which is cut out in place; unit NULL if there
 * is none. */
static size_t split_label(char *label, char **unit)
{
    size_t n = strcspn(label, "([");
    *unit = NULL;
    if (label[n] != '\0') {
        *unit = label + n + 1;
        (*unit)[strcspn(*unit, ")]")] = '\0';
    }
    while (n > 0 && isspace((unsigned char)label[n - 1]))
        n--;
    return n;
}

/* Does a header's label answer to the name asked for: whole, or without its unit? */
static int answers(const char *label, const char *name)
{
    char copy[MAX_LABEL];
    char *unit;
    const size_t n_name = strlen(name);
    if (strlen(label) == n_name && same_letters(label, name, n_name))
        return 1;
    strcpy(copy, label);
    return split_label(copy, &unit) == n_name && same_letters(copy, name, n_name);
}

static enum sm_status by_number(const struct sm_csv_row *row, struct column *c, struct sm_error *err)
{
    char *end;
    const bool is_number = isdigit((unsigned char)c->asked[0]); /* strtoul takes a sign */
    const unsigned long number = strtoul(c->asked, &end, 10);
    if (!is_number || *end != '\0' || number < 1)
        return sm_fail(err, SM_E_FIELD,
                       "there is no column \"%.60s\"; name one of the header's or give its number from 1",
                       c->asked);
    if (number > row->n_fields)
        return sm_fail(err, SM_E_FIELD, "there is no column %lu: the rows have %zu", number, row->n_fields);
    c->place = number - 1;
    return SM_OK;
}

static enum sm_status find_column(const struct sm_csv_row *header, int is_header, struct column *c,
                                  struct sm_error *err)
{
    const char *name = c->asked ? c->asked : c->usual;
    for (size_t i = 0; is_header && i < header->n_fields; i++) {
        char label[MAX_LABEL];
        copy_field(&header->fields[i], label);
        if (answers(label, name)) {
            c->place = i;
            return SM_OK;
        }
    }
    if (c->asked)
        return by_number(header, c, err);
    if (header->n_fields < N_COLUMNS)
        return sm_fail(err, SM_E_FIELD, "a curve needs two columns, time and thrust; the first row has %zu",
                       header->n_fields);
    return SM_OK; /* keeps its usual place */
}

static enum sm_status find_unit(const struct sm_csv_row *header, int is_header, struct reading *r,
                                struct column *c, struct sm_error *err)
{
    char label[MAX_LABEL] = "";
    char *unit = NULL;
    if (!c->unit && is_header) {
        copy_field(&header->fields[c->place], label);
        split_label(label, &unit);
    }
    const char *chosen = c->unit ? c->unit : unit ? unit : sm_dim_unit(c->dim);
    const enum sm_status status = sm_units_scale(r->units, chosen, c->dim, &c->scale, err);
    return sm_while(err, status, "unit of the %s column", c->usual);
}

/* Columns of masses by the header's names alone. */
static enum sm_status start_masses(struct reading *r, const struct sm_csv_row *header, struct sm_error *err)
{
    for (int i = 0; r->ends && i < SM_N_MASS_COLUMNS; i++)
        for (size_t k = 0; k < header->n_fields && !r->has_mass[i]; k++) {
            char label[MAX_LABEL];
            copy_field(&header->fields[k], label);
            if (!answers(label, r->masses[i].usual))
                continue;
            r->masses[i].place = k;
            r->has_mass[i] = true;
            SM_TRY(find_unit(header, 1, r, &r->masses[i], err));
        }
    return SM_OK;
}

static enum sm_status start(struct reading *r, const struct sm_csv_row *row, int is_header,
                            struct sm_error *err)
{
    for (int i = 0; i < N_COLUMNS; i++) {
        SM_TRY(find_column(row, is_header, &r->columns[i], err));
        SM_TRY(find_unit(row, is_header, r, &r->columns[i], err));
    }
    if (r->columns[TIME].place == r->columns[THRUST].place)
        return sm_csv_at(row, r->columns[TIME].place,
                         sm_fail(err, SM_E_FIELD, "time and thrust are both taken from column %zu; name both",
                                 r->columns[TIME].place + 1),
                         err);
    return is_header ? start_masses(r, row, err) : SM_OK;
}

static enum sm_status take_masses(struct reading *r, const struct sm_csv_row *row, struct sm_error *err)
{
    for (int i = 0; i < SM_N_MASS_COLUMNS; i++) {
        const struct column *c = &r->masses[i];
        double value;
        if (!r->has_mass[i] || c->place >= row->n_fields || row->fields[c->place].n == 0)
            continue; /* a motor's last row may have no centre of mass of what is gone */
        if (!sm_csv_number(row, c->place, &value) || !isfinite(value))
            return sm_csv_at(row, c->place, sm_fail(err, SM_E_SYNTAX, "the %s is not a number", c->usual),
                             err);
        r->ends->last[i] = sm_unit_to_si(&c->scale, value);
        if (isnan(r->ends->first[i]))
            r->ends->first[i] = r->ends->last[i];
    }
    return SM_OK;
}

/* A row with more than the first row's fields is likely to be split wrongly, as "0,5,12" is if commas are
 * decimal. Empty fields, of commas at the end, are let pass. */
static enum sm_status check_width(const struct sm_csv_row *row, struct sm_error *err)
{
    for (size_t i = row->n_first; i < row->n_fields; i++)
        if (row->fields[i].n > 0)
            return sm_csv_at(row, i,
                             sm_fail(err, SM_E_SYNTAX, "the row has %zu fields, and the first row has %zu",
                                     row->n_fields, row->n_first),
                             err);
    return SM_OK;
}

static enum sm_status take_value(struct reading *r, const struct sm_csv_row *row, int i, struct sm_error *err)
{
    const struct column *c = &r->columns[i];
    double value;
    if (c->place >= row->n_fields)
        return sm_fail(err, SM_E_SYNTAX,
                       "the row ends before its %s column: %zu fields, and the first row has %zu", c->usual,
                       row->n_fields, row->n_first);
    if (!sm_csv_number(row, c->place, &value) || !isfinite(value)) {
        if (r->n == 0 && r->header_line > 0)
            sm_fail(err, SM_E_SYNTAX,
                    "the %s is not a number: line %u was taken for the header, and rows of numbers must "
                    "follow it",
                    c->usual, r->header_line);
        else
            sm_fail(err, SM_E_SYNTAX, "the %s is not a number", c->usual);
        return sm_csv_at(row, c->place, SM_E_SYNTAX, err);
    }
    value = sm_unit_to_si(&c->scale, value);
    if (fabs(value) > largest[i])
        return sm_csv_at(row, c->place,
                         sm_fail(err, SM_E_RANGE, "a %s of %.9g %s is beyond %.9g %s", c->usual, value,
                                 sm_dim_unit(c->dim), value < 0.0 ? -largest[i] : largest[i],
                                 sm_dim_unit(c->dim)),
                         err);
    double *room = sm_arena_grow(r->arena, r->values[i], r->n, &r->capacity[i], r->n + 1, sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    r->values[i] = room;
    r->values[i][r->n] = value;
    return SM_OK;
}

static enum sm_status take_row(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    struct reading *r = user;
    if (row->number == 0) {
        const int is_header = sm_csv_is_header(row);
        SM_TRY(start(r, row, is_header, err));
        r->header_line = is_header ? row->line : 0;
        if (is_header)
            return SM_OK;
    }
    if (r->n >= SM_MAX_CURVE_POINTS)
        return sm_fail(err, SM_E_RANGE, "a curve may have %d points at most", SM_MAX_CURVE_POINTS);
    SM_TRY(check_width(row, err));
    for (int i = 0; i < N_COLUMNS; i++)
        SM_TRY(take_value(r, row, i, err));
    SM_TRY(take_masses(r, row, err));
    if (r->n > 0 && r->values[TIME][r->n] < r->values[TIME][r->n - 1])
        return sm_csv_at(row, r->columns[TIME].place,
                         sm_fail(err, SM_E_RANGE, "time goes back, from %.9g s to %.9g s",
                                 r->values[TIME][r->n - 1], r->values[TIME][r->n]),
                         err);
    r->n++;
    return SM_OK;
}

enum sm_status sm_read_delimited_curve(struct sm_arena *arena, struct sm_units *units, const char *path,
                                       const struct sm_curve_columns *columns,
                                       const char *const mass_units[SM_N_MASS_COLUMNS],
                                       struct sm_curve *curve, struct sm_mass_ends *ends,
                                       struct sm_error *err)
{
    struct reading r = {
        .columns = {{.asked = columns->time,
                     .usual = "time",
                     .unit = columns->time_unit,
                     .dim = SM_DIM_TIME,
                     .place = TIME},
                    {.asked = columns->thrust,
                     .usual = "thrust",
                     .unit = columns->thrust_unit,
                     .dim = SM_DIM_FORCE,
                     .place = THRUST}},
        .units = units,
        .arena = arena,
        .ends = ends,
    };
    for (int i = 0; i < SM_N_MASS_COLUMNS; i++) {
        r.masses[i] = (struct column){.usual = sm_mass_names[i].name,
                                      .unit = mass_units ? mass_units[i] : NULL,
                                      .dim = sm_mass_names[i].dim};
        if (ends)
            ends->first[i] = ends->last[i] = SM_ABSENT;
    }
    const struct sm_csv_reader reader = {take_row, &r};
    SM_TRY(sm_csv_read_file(path, NULL, &reader, err));
    if (r.n < 2) {
        sm_fail(err, SM_E_RANGE, "a curve needs at least two rows of numbers; there %s %zu",
                r.n == 1 ? "is" : "are", r.n);
        if (err)
            strncpy(err->at.file, path, sizeof err->at.file - 1);
        return SM_E_RANGE;
    }
    *curve = (struct sm_curve){.time = r.values[TIME], .thrust = r.values[THRUST], .n = r.n};
    return SM_OK;
}

/* ---- inside a motor file ---- */

static enum sm_status not_samples(struct sm_reader *reader, const char *place, const struct sm_json *value,
                                  enum sm_dim dim)
{
    return sm_read_problem(reader, place, value ? SM_E_SYNTAX : SM_E_FIELD,
                           "samples are given as { \"unit\": \"%s\", \"values\": [ ... ] }",
                           sm_dim_unit(dim));
}

/* Is it { "unit": ..., "values": [ ... ] }, and nothing else? */
static enum sm_status check_samples(struct sm_reader *reader, const struct sm_json *object,
                                    const char *pointer, enum sm_dim dim)
{
    static const struct {
        const char *name;
        enum sm_json_type type;
    } keys[] = {{"unit", SM_JSON_STRING}, {"values", SM_JSON_ARRAY}};
    char place[SM_POINTER_MAX], escaped[SM_TOKEN_MAX];
    if (!sm_json_is(object, SM_JSON_OBJECT))
        return not_samples(reader, pointer, object, dim);
    for (const struct sm_json *member = sm_json_first(object); member; member = sm_json_next(member)) {
        const char *key = sm_json_key(member);
        if (strcmp(key, keys[0].name) == 0 || strcmp(key, keys[1].name) == 0 || strcmp(key, "note") == 0)
            continue;
        sm_text_format(place, sizeof place, "%s/%s", pointer,
                       sm_pointer_escape(key, escaped, sizeof escaped));
        return sm_read_problem(reader, place, SM_E_FIELD,
                               "unknown key \"%.60s\": samples have \"unit\" and \"values\"", key);
    }
    for (size_t i = 0; i < SM_COUNT(keys); i++) {
        const struct sm_json *value = sm_json_get(object, keys[i].name);
        sm_text_format(place, sizeof place, "%s/%s", pointer, keys[i].name);
        if (!sm_json_is(value, keys[i].type))
            return not_samples(reader, place, value, dim);
    }
    return SM_OK;
}

static enum sm_status read_column(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  enum sm_dim dim, double limit, double **values, size_t *n)
{
    char place[SM_POINTER_MAX];
    struct sm_unit_scale scale;
    struct sm_error err;
    SM_TRY(check_samples(reader, object, pointer, dim));
    const char *unit = sm_json_string(sm_json_get(object, "unit"));
    const struct sm_json *list = sm_json_get(object, "values");
    sm_text_format(place, sizeof place, "%s/unit", pointer);
    const enum sm_status status = sm_units_scale(reader->units, unit, dim, &scale, &err);
    if (status != SM_OK)
        return sm_read_problem(reader, place, status, "%s", err.message);
    *n = sm_json_count(list);
    if (*n > SM_MAX_CURVE_POINTS)
        return sm_read_problem(reader, pointer, SM_E_RANGE, "a curve may have %d points at most",
                               SM_MAX_CURVE_POINTS);
    *values = sm_arena_alloc(reader->arena, *n, sizeof **values);
    if (!*values)
        return sm_read_problem(reader, pointer, SM_E_NOMEM, "out of memory");
    size_t i = 0;
    for (const struct sm_json *value = sm_json_first(list); value; value = sm_json_next(value), i++) {
        sm_text_format(place, sizeof place, "%s/values/%zu", pointer, i);
        if (!sm_json_is(value, SM_JSON_NUMBER))
            return sm_read_problem(reader, place, SM_E_SYNTAX, "a sample must be a bare number, not %s",
                                   sm_json_type_name(sm_json_type(value)));
        const double si = sm_unit_to_si(&scale, sm_json_number(value));
        if (fabs(si) > limit)
            return sm_read_problem(reader, place, SM_E_RANGE, "a sample of %.9g %s is beyond %.9g %s", si,
                                   sm_dim_unit(dim), si < 0.0 ? -limit : limit, sm_dim_unit(dim));
        (*values)[i] = si;
    }
    return SM_OK;
}

static enum sm_status read_inline(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  struct sm_curve *curve)
{
    static const struct {
        const char *name;
        enum sm_dim dim;
    } keys[N_COLUMNS] = {{"time", SM_DIM_TIME}, {"thrust", SM_DIM_FORCE}};
    double *values[N_COLUMNS] = {NULL};
    size_t n[N_COLUMNS] = {0};
    for (int i = 0; i < N_COLUMNS; i++) {
        char place[SM_POINTER_MAX];
        sm_text_format(place, sizeof place, "%s/%s", pointer, keys[i].name);
        SM_TRY(read_column(reader, sm_json_get(object, keys[i].name), place, keys[i].dim, largest[i],
                           &values[i], &n[i]));
    }
    if (n[TIME] != n[THRUST])
        return sm_read_problem(reader, pointer, SM_E_RANGE, "there are %zu times but %zu thrusts", n[TIME],
                               n[THRUST]);
    *curve = (struct sm_curve){.time = values[TIME], .thrust = values[THRUST], .n = n[TIME]};
    return SM_OK;
}

static enum sm_status read_optional(struct sm_reader *reader, const struct sm_json *object,
                                    const char *pointer, const char *key, const char **text)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *value = sm_json_get(object, key);
    sm_text_format(place, sizeof place, "%s/%s", pointer, key);
    return value ? sm_read_text(reader, value, place, text) : SM_OK;
}

static enum sm_status read_from_file(struct sm_reader *reader, const struct sm_json *object,
                                     const char *pointer, const char *folder, struct sm_curve *curve)
{
    const char *file = NULL;
    struct sm_curve_columns columns = {0};
    char place[SM_POINTER_MAX];
    sm_text_format(place, sizeof place, "%s/file", pointer);
    SM_TRY(sm_read_text(reader, sm_json_get(object, "file"), place, &file));
    SM_TRY(read_optional(reader, object, pointer, "time_column", &columns.time));
    SM_TRY(read_optional(reader, object, pointer, "thrust_column", &columns.thrust));
    SM_TRY(read_optional(reader, object, pointer, "time_unit", &columns.time_unit));
    SM_TRY(read_optional(reader, object, pointer, "thrust_unit", &columns.thrust_unit));
    const size_t size = strlen(folder) + strlen(file) + 2;
    char *path = sm_arena_alloc(reader->arena, size, 1);
    if (!path)
        return sm_read_problem(reader, pointer, SM_E_NOMEM, "out of memory");
    if (file[0] == '/' || folder[0] == '\0')
        strcpy(path, file);
    else
        sm_text_format(path, size, "%s/%s", folder, file);
    struct sm_error err;
    const enum sm_status status =
        sm_read_curve_file(reader->arena, reader->units, path, &columns, curve, NULL, &err);
    if (status != SM_OK && err.at.file[0] == '\0')
        sm_at(&err, status, "%s/file", pointer);
    if (status != SM_OK)
        sm_diag_add(reader->diag, &err);
    return status;
}

/* "7 s", or "plugged"; left absent if not given. */
static enum sm_status read_delay(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                 double *delay)
{
    char place[SM_POINTER_MAX];
    const struct sm_json *value = sm_json_get(object, "delay");
    *delay = SM_ABSENT;
    if (!value)
        return SM_OK;
    sm_text_format(place, sizeof place, "%s/delay", pointer);
    const char *text = sm_json_string(value);
    if (text && strcmp(text, "plugged") == 0) {
        *delay = -1.0;
        return SM_OK;
    }
    SM_TRY(sm_read_quantity(reader, value, place, SM_DIM_TIME, delay));
    if (*delay >= 0.0 && *delay <= 100.0)
        return SM_OK;
    return sm_read_problem(reader, place, SM_E_RANGE,
                           "a delay of %.6g s is outside 0 to 100 s; it may also be \"plugged\"", *delay);
}

static enum sm_status look(const void *owner, const char *pointer, double *value, const struct sm_param **row,
                           struct sm_error *err)
{
    char whole[SM_POINTER_MAX + 8];
    const struct sm_motor motor = {.spec = {.is_curve = 1, .bare = *(const struct sm_bare_curve *)owner}};
    sm_text_format(whole, sizeof whole, "/curve%s", pointer);
    return sm_motor_value(&motor, whole, value, row, err);
}

enum sm_status sm_read_bare_curve(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *folder, struct sm_bare_curve *bare)
{
    static const char *const handled[] = {"time",      "thrust",      "file",  "time_column", "thrust_column",
                                          "time_unit", "thrust_unit", "delay", "tolerances",  NULL};
    const struct sm_param_table table = {sm_bare_curve_params, sm_n_bare_curve_params, bare};
    SM_TRY(sm_read_params(reader, object, pointer, &table, 1, handled));
    SM_TRY(read_delay(reader, object, pointer, &bare->delay));
    const int has_file = sm_json_get(object, "file") != NULL;
    const int has_inline = sm_json_get(object, "time") || sm_json_get(object, "thrust");
    if (has_file == has_inline)
        return sm_read_problem(reader, pointer, SM_E_FIELD,
                               "give the curve either as \"time\" and \"thrust\", or as a \"file\"%s",
                               has_file ? ", not both" : "");
    SM_TRY(has_file ? read_from_file(reader, object, pointer, folder, &bare->curve)
                    : read_inline(reader, object, pointer, &bare->curve));
    return sm_read_tolerances(reader, object, pointer, "/curve", look, bare, &bare->tolerances);
}
