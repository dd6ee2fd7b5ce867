/*
 * Records: what loggers write, as they write it.
 *
 * A row whose wanted fields are all empty is left over from a spreadsheet: it is passed over and counted, and so are titles of
 * one field above a header of several. In a log any row
 * that is no data is, and a clock that goes back starts a new part; its greeting would mislead a guess, so columns stand
 * between commas unless the stand says else. In other records both are faults, told with their line.
 */
#include "input/read_record.h"
#include "base/text.h"
#include "doc/csv.h"
#include "doc/place.h"
#include "input/read_propellant.h"
#include "slowmatch/limits.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TIME, THRUST, PRESSURE, N_COLUMNS, MAX_LABEL = 128 };
enum { HAS_TIME = 1 << TIME, HAS_THRUST = 1 << THRUST, HAS_PRESSURE = 1 << PRESSURE };

struct column {
    const char *asked, *usual, *unit;
    enum sm_dim dim;
    double count; /* what one count stands for; SM_ABSENT [SI unit] */
    int reversed;
    size_t place;
    double factor; /* [SI unit per reading] */
};

struct reading {
    struct column columns[N_COLUMNS];
    unsigned wanted; /* bits of the columns that are read */
    const struct sm_stand *stand;
    struct sm_units *units;
    struct sm_arena *arena;
    struct sm_record *record;
    size_t room[N_COLUMNS], room_line, room_start;
    int is_started;
    unsigned header_line; /* 0: there is none */
    size_t n_fields;      /* of the row that began it */
};

/* ---- columns ---- */

/* The field as text[MAX_LABEL], cut to fit, and its unit "(ms)" or "[ms]" cut out; NULL without. */
static const char *label_of(const struct sm_csv_field *field, char *label)
{
    size_t n = field->n < MAX_LABEL - 1 ? field->n : MAX_LABEL - 1;
    memcpy(label, field->text, n);
    label[n] = '\0';
    n = strcspn(label, "([");
    const char *unit = label[n] ? label + n + 1 : NULL;
    if (unit)
        label[n + 1 + strcspn(unit, ")]")] = '\0';
    label[n] = '\0';
    while (n > 0 && isspace((unsigned char)label[n - 1]))
        label[--n] = '\0';
    return unit;
}

static int same_name(const char *a, const char *b)
{
    for (; *a && *b; a++, b++)
        if (tolower((unsigned char)*a) != tolower((unsigned char)*b))
            return 0;
    return *a == *b;
}

static int is_whole_field(const struct sm_csv_field *field, const char *text)
{
    return field->n == strlen(text) && memcmp(field->text, text, field->n) == 0;
}

static enum sm_status find_column(const struct sm_csv_row *row, int is_header, struct column *c,
                                  const char **unit, char *label, struct sm_error *err)
{
    const char *name = c->asked ? c->asked : c->usual;
    *unit = NULL;
    for (size_t i = 0; is_header && i < row->n_fields; i++) {
        const char *said = label_of(&row->fields[i], label);
        if (same_name(label, name) || is_whole_field(&row->fields[i], name)) {
            c->place = i;
            *unit = said;
            return SM_OK;
        }
    }
    char *end = NULL;
    const unsigned long number =
        c->asked && isdigit((unsigned char)c->asked[0]) ? strtoul(c->asked, &end, 10) : 0;
    if (c->asked && (number < 1 || *end))
        return sm_fail(err, SM_E_FIELD,
                       "there is no column \"%.60s\"; name one of the header's or give its "
                       "number from 1",
                       c->asked);
    if (number > 0)
        c->place = number - 1;
    if (c->place >= row->n_fields)
        return sm_fail(err, SM_E_FIELD, "there is no column %zu for the %s: the row has %zu", c->place + 1,
                       c->usual, row->n_fields);
    if (is_header)
        *unit = label_of(&row->fields[c->place], label);
    return SM_OK;
}

/* A unit by the stand and one by the header must be one. */
static enum sm_status find_unit(struct reading *r, struct column *c, const char *in_header,
                                struct sm_error *err)
{
    struct sm_unit_scale scale = {1.0, 0.0}, other;
    if (isnan(c->count)) {
        const char *unit = c->unit ? c->unit : in_header ? in_header : sm_dim_unit(c->dim);
        const enum sm_status status = sm_units_scale(r->units, unit, c->dim, &scale, err);
        SM_TRY(sm_while(err, status, "unit of the %s column", c->usual));
        if (c->unit && in_header && sm_units_scale(r->units, in_header, c->dim, &other, NULL) == SM_OK &&
            fabs(other.scale / scale.scale - 1.0) > 1e-9)
            return sm_fail(err, SM_E_UNIT,
                           "mixed units: the header gives the %s in %.40s, and %.40s is asked for", c->usual,
                           in_header, c->unit);
    } else {
        scale.scale = c->count;
    }
    c->factor = c->reversed ? -scale.scale : scale.scale;
    return SM_OK;
}

static enum sm_status start(struct reading *r, const struct sm_csv_row *row, int is_header,
                            struct sm_error *err)
{
    char label[MAX_LABEL];
    const char *unit;
    for (unsigned i = 0; i < N_COLUMNS; i++) {
        if (!(r->wanted & 1u << i))
            continue;
        SM_TRY(find_column(row, is_header, &r->columns[i], &unit, label, err));
        SM_TRY(find_unit(r, &r->columns[i], unit, err));
        for (unsigned j = 0; j < i; j++)
            if ((r->wanted & 1u << j) && r->columns[i].place == r->columns[j].place)
                return sm_fail(err, SM_E_FIELD, "%s and %s are both taken from column %zu; name both",
                               r->columns[j].usual, r->columns[i].usual, r->columns[i].place + 1);
    }
    r->record->thrust_unit = r->columns[THRUST].factor;
    r->record->pressure_unit = r->columns[PRESSURE].factor;
    r->header_line = is_header ? row->line : 0;
    r->n_fields = row->n_fields;
    r->is_started = 1;
    return SM_OK;
}

/* ---- rows ---- */

static int is_empty(const struct sm_csv_row *row, size_t place)
{
    if (place >= row->n_fields)
        return 1;
    const struct sm_csv_field *f = &row->fields[place];
    for (size_t i = 0; i < f->n; i++)
        if (f->text[i] != ' ' && f->text[i] != '\t')
            return 0;
    return 1;
}

enum finding { DATA, BLANK, FAULT };

/* Reads the wanted fields; *at is the column at fault. */
static enum finding look_at(const struct reading *r, const struct sm_csv_row *row, double *values,
                            unsigned *at)
{
    unsigned n_empty = 0, n_wanted = 0, n_good = 0;
    *at = N_COLUMNS;
    for (unsigned i = 0; i < N_COLUMNS; i++) {
        const struct column *c = &r->columns[i];
        if (!(r->wanted & 1u << i))
            continue;
        n_wanted++;
        if (c->place < row->n_fields && sm_csv_number(row, c->place, &values[i]) && isfinite(values[i])) {
            values[i] *= c->factor;
            n_good++;
            continue;
        }
        n_empty += is_empty(row, c->place) ? 1 : 0;
        if (*at == N_COLUMNS)
            *at = i;
    }
    if (n_good == n_wanted)
        return DATA;
    /* A spreadsheet's left-overs: no time, or nothing at all. */
    const int no_time = (r->wanted & HAS_TIME) && is_empty(row, r->columns[TIME].place);
    return (no_time && row->n_fields > r->columns[TIME].place + 1) || n_empty == n_wanted ? BLANK : FAULT;
}

static void skip(struct reading *r, const struct sm_csv_row *row)
{
    if (r->record->n_skipped++ == 0)
        r->record->first_skipped = row->line;
}

static enum sm_status fault(const struct reading *r, const struct sm_csv_row *row, unsigned at,
                            struct sm_error *err)
{
    const struct column *c = &r->columns[at];
    if (c->place >= row->n_fields)
        return sm_fail(err, SM_E_SYNTAX, "the row ends before its %s: it is cut short (%zu of %zu fields)",
                       c->usual, row->n_fields, r->n_fields);
    if (r->record->n == 0 && r->header_line > 0)
        return sm_csv_at(row, c->place,
                         sm_fail(err, SM_E_SYNTAX,
                                 "the %s is not a number: line %u was taken for the header, and rows of "
                                 "numbers must follow it (a log with other lines in it: --log)",
                                 c->usual, r->header_line),
                         err);
    return sm_csv_at(
        row, c->place,
        sm_fail(err, SM_E_SYNTAX, "the %s is not a number (a log with other lines in it: --log)", c->usual),
        err);
}

static enum sm_status keep(struct reading *r, const struct sm_csv_row *row, const double *values,
                           struct sm_error *err)
{
    struct sm_record *rec = r->record;
    double **columns[N_COLUMNS] = {&rec->time, &rec->thrust, &rec->pressure};
    for (unsigned i = 0; i < N_COLUMNS; i++) {
        if (i == PRESSURE && !(r->wanted & HAS_PRESSURE))
            continue;
        if (rec->n >= r->room[i]) {
            double *room =
                sm_arena_grow(r->arena, *columns[i], rec->n, &r->room[i], rec->n + 1, sizeof *room);
            if (!room)
                return sm_fail(err, SM_E_NOMEM, "out of memory");
            *columns[i] = room;
        }
        (*columns[i])[rec->n] = values[i];
    }
    if (rec->n >= r->room_line) {
        unsigned *lines =
            sm_arena_grow(r->arena, rec->line, rec->n, &r->room_line, rec->n + 1, sizeof *lines);
        if (!lines)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        rec->line = lines;
    }
    rec->line[rec->n++] = row->line;
    return SM_OK;
}

static enum sm_status begin_part(struct reading *r, struct sm_error *err)
{
    struct sm_record *rec = r->record;
    size_t *starts =
        sm_arena_grow(r->arena, rec->start, rec->n_starts, &r->room_start, rec->n_starts + 1, sizeof *starts);
    if (!starts)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    rec->start = starts;
    starts[rec->n_starts++] = rec->n;
    return SM_OK;
}

static enum sm_status take_row(void *user, const struct sm_csv_row *row, struct sm_error *err)
{
    struct reading *r = user;
    struct sm_record *rec = r->record;
    double values[N_COLUMNS] = {0.0, 0.0, 0.0};
    unsigned at;
    if (!r->is_started) {
        const int is_header = sm_csv_is_header(row);
        if (r->stand->log && (is_header || row->n_fields < 2)) { /* a terminal's greeting */
            skip(r, row);
            return SM_OK;
        }
        if (row->fields[0].n > 0 && (row->fields[0].text[0] == '{' || row->fields[0].text[0] == '<'))
            return sm_fail(err, SM_E_SYNTAX,
                           "a record is delimited text, rows of time and thrust; this looks like %s",
                           row->fields[0].text[0] == '{' ? "JSON" : "XML");
        if (is_header && row->n_fields == 1 &&
            (r->wanted & (r->wanted - 1u))) { /* a title above the header */
            skip(r, row);
            return SM_OK;
        }
        SM_TRY(start(r, row, is_header, err));
        if (is_header)
            return SM_OK;
    }
    const enum finding found = look_at(r, row, values, &at);
    if (found == BLANK || (found == FAULT && r->stand->log)) {
        skip(r, row);
        return SM_OK;
    }
    if (found == FAULT)
        return fault(r, row, at, err);
    if (!(r->wanted & HAS_TIME))
        values[TIME] = (double)rec->n / r->stand->sample_rate;
    const int goes_back = rec->n > 0 && values[TIME] < rec->time[rec->n - 1];
    if (goes_back && !r->stand->log)
        return sm_fail(err, SM_E_RANGE,
                       "time goes back, from %.9g s to %.9g s (a log whose clock may start "
                       "again: --log)",
                       rec->time[rec->n - 1], values[TIME]);
    if (rec->n == 0 || goes_back)
        SM_TRY(begin_part(r, err));
    return keep(r, row, values, err);
}

enum sm_status sm_read_record(struct sm_arena *arena, struct sm_units *units, const char *path,
                              const struct sm_stand *stand, struct sm_record *record, struct sm_error *err)
{
    static const char delimiters[] = ",;\t ", decimals[] = ".,";
    const struct sm_stand_channel *f = &stand->thrust, *p = &stand->pressure;
    const int has_time = isnan(stand->sample_rate);
    const int has_pressure = p->column != NULL;
    struct reading r = {
        .columns = {{stand->time_column, "time", stand->time_unit, SM_DIM_TIME, SM_ABSENT, 0, 0, 1.0},
                    {f->column, "thrust", f->unit, SM_DIM_FORCE, f->scale, f->reversed, has_time ? 1 : 0,
                     1.0},
                    {p->column, "pressure", p->unit, SM_DIM_PRESSURE, p->scale, p->reversed, 2, 1.0}},
        .wanted = (has_time ? HAS_TIME : 0u) | HAS_THRUST | (has_pressure ? HAS_PRESSURE : 0u),
        .stand = stand,
        .units = units,
        .arena = arena,
        .record = record,
    };
    const struct sm_csv_options options = {
        .delimiter = stand->delimiter >= 0 ? delimiters[stand->delimiter]
                     : stand->log          ? ','
                                           : '\0',
        .decimal = stand->decimal >= 0 ? decimals[stand->decimal]
                   : stand->log        ? '.'
                                       : '\0',
        .comment = stand->comment,
    };
    const struct sm_csv_reader reader = {take_row, &r};
    *record = (struct sm_record){.name = sm_arena_strdup(arena, path)};
    if (!record->name)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(sm_csv_read_file(path, &options, &reader, err));
    if (!r.is_started && record->n_skipped > 0 && !stand->log) { /* titles alone: nothing was split */
        static const char *const names[] = {"a comma", "a semicolon", "a tab", "a blank"};
        sm_fail(err, SM_E_SYNTAX,
                "no row has several columns%s%s%s (the stand's \"delimiter\" says what is between them)",
                stand->delimiter >= 0 ? ": is it " : "", stand->delimiter >= 0 ? names[stand->delimiter] : "",
                stand->delimiter >= 0 ? " that parts them?" : "");
        if (err)
            sm_text_format(err->at.file, sizeof err->at.file, "%s", path);
        return SM_E_SYNTAX;
    }
    return SM_OK;
}

enum sm_status sm_read_stand(struct sm_reader *reader, const struct sm_json *object, struct sm_stand *stand)
{
    static const char *const handled[] = {"format", NULL};
    const struct sm_param_table table = {sm_stand_params, sm_n_stand_params, stand};
    const enum sm_status format = sm_read_format(reader, object, "", SM_STAND_FORMAT);
    SM_TRY(sm_read_params(reader, object, "", &table, 1, handled));
    if (stand->thrust.unit && !isnan(stand->thrust.scale))
        return sm_read_problem(reader, "/thrust/unit", SM_E_FIELD,
                               "give either \"scale\" or \"unit\", not both");
    if (stand->pressure.unit && !isnan(stand->pressure.scale))
        return sm_read_problem(reader, "/pressure/unit", SM_E_FIELD,
                               "give either \"scale\" or \"unit\", not both");
    if (stand->time_column && !isnan(stand->sample_rate))
        return sm_read_problem(reader, "/sample_rate", SM_E_FIELD,
                               "give either \"time_column\" or \"sample_rate\", not both");
    return format;
}
