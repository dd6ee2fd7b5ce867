#include "doc/csv.h"
#include "doc/number.h"
#include "doc/place.h"
#include "doc/textfile.h"
#include "slowmatch/limits.h"

#include <errno.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    CHUNK = 256 << 10, /* read from a file at a time [bytes] */
    MAX_ROW = 1 << 20, /* of one row [bytes]: a quote left open must not swallow a whole record */
    MAX_FIELDS = 4096  /* of one row */
};

struct csv {
    const char *name;
    struct sm_csv_options options;
    const struct sm_csv_reader *reader;
    struct sm_error *err;
    FILE *file;       /* NULL: all is in memory */
    char *owned;      /* the window, if it is ours */
    size_t room;      /* of owned */
    const char *text; /* the window: text[at..end) is still to be read */
    size_t at, end;
    size_t n_taken; /* bytes read from the file in all */
    bool at_end;    /* nothing follows the window */
    unsigned line;  /* of text[at] */
    struct sm_csv_field *fields;
    char *unquoted; /* room for a row's quoted fields */
    size_t room_unquoted;
    size_t n_rows, n_first;
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* ---- errors ---- */

/* err about byte column (from 1) of the row text[0..n), whose first line counts. */
static void place(const struct csv *c, const char *text, size_t n, size_t column)
{
    const char *end = n > 0 ? memchr(text, '\n', n) : NULL;
    size_t length = end ? (size_t)(end - text) : n;
    if (length > 0 && text[length - 1] == '\r')
        length--;
    if (column > length + 1)
        column = 1;
    sm_place_in_line(c->err, c->name, c->line, text, length, column);
}

static enum sm_status bad_row(const struct csv *c, const char *text, size_t n, size_t offset,
                              enum sm_status status, const char *what)
{
    sm_fail(c->err, status, "%s", what);
    place(c, text, n, offset + 1);
    return status;
}

static enum sm_status no_memory(const struct csv *c)
{
    return sm_fail(c->err, SM_E_NOMEM, "out of memory reading %.160s", c->name);
}

/* ---- the window ---- */

/* Reads more of the file behind the window, whose used head is dropped. */
static enum sm_status fill(struct csv *c)
{
    const size_t left = c->end - c->at;
    if (c->at > 0 && left > 0)
        memmove(c->owned, c->owned + c->at, left);
    c->at = 0;
    c->end = left;
    if (c->room - left < CHUNK) {
        char *wider = realloc(c->owned, left + CHUNK);
        if (!wider)
            return no_memory(c);
        c->owned = wider;
        c->room = left + CHUNK;
    }
    errno = 0;
    const size_t got = fread(c->owned + left, 1, CHUNK, c->file);
    if (got < CHUNK && ferror(c->file))
        return sm_textfile_fail(c->name, errno, c->err);
    c->text = c->owned;
    c->end += got;
    c->n_taken += got;
    c->at_end = got < CHUNK;
    if (c->n_taken <= c->options.max_bytes)
        return SM_OK;
    sm_fail(c->err, SM_E_RANGE, "%.160s has more than %zu bytes, the limit", c->name, c->options.max_bytes);
    sm_place_file(c->err, c->name);
    return SM_E_RANGE;
}

/* Bytes up to and with the first line end at or behind from in the window; 0 if the window must grow first.
 */
static size_t line_length(const struct csv *c, size_t from)
{
    const size_t start = c->at + from;
    const char *lf = start < c->end ? memchr(c->text + start, '\n', c->end - start) : NULL;
    if (lf)
        return (size_t)(lf - (c->text + c->at)) + 1;
    return c->at_end ? c->end - c->at : 0;
}

static bool is_comment(const struct csv *c, const char *row, size_t n)
{
    const char *prefix = c->options.comment;
    const size_t n_prefix = prefix ? strlen(prefix) : 0;
    size_t i = 0;
    while (i < n && is_blank(row[i]))
        i++;
    return n_prefix > 0 && n - i >= n_prefix && memcmp(row + i, prefix, n_prefix) == 0;
}

static size_t count_quotes(const char *text, size_t n)
{
    size_t count = 0;
    for (const char *p = text, *end = text + n; p < end; p++) {
        p = memchr(p, '"', (size_t)(end - p));
        if (!p)
            break;
        count++;
    }
    return count;
}

static enum sm_status row_too_long(const struct csv *c)
{
    return bad_row(c, c->text + c->at, c->end - c->at, 0, SM_E_RANGE,
                   "this row is longer than 1 MiB; is this a text file, and is a quote left open?");
}

/*
 * The next row with its line end, in the window. A line end stands within quotes as long as the number of
 * quotes before it is odd. Returned: *n, 0 at the end of the text.
 */
static enum sm_status next_row(struct csv *c, size_t *n)
{
    size_t length = 0;
    bool is_open = false;
    do {
        size_t longer;
        while ((longer = line_length(c, length)) == 0 && !c->at_end) {
            if (c->end - c->at > MAX_ROW)
                return row_too_long(c);
            SM_TRY(fill(c));
        }
        if (longer == length) /* the end; if a quote is open, the split will tell */
            break;
        const size_t quotes = count_quotes(c->text + c->at + length, longer - length);
        if (length > 0 || !is_comment(c, c->text + c->at, longer))
            is_open ^= quotes % 2 != 0;
        length = longer;
        if (length > MAX_ROW)
            return row_too_long(c);
    } while (is_open);
    *n = length;
    return SM_OK;
}

/* ---- fields ---- */

static bool is_delimiter(char delimiter, char c)
{
    return c == delimiter || (delimiter == ' ' && c == '\t');
}

/* A row being split. */
struct split {
    const char *row;
    size_t n, at;
    char *free_room; /* for the next quoted field */
    size_t n_fields;
};

static enum sm_status bad_byte(const struct csv *c, const struct split *s)
{
    const char byte = s->row[s->at];
    if (byte == '\0' && s->row == c->text && s->n >= 2 &&
        (memcmp(c->text, "\xFF\xFE", 2) == 0 || memcmp(c->text, "\xFE\xFF", 2) == 0))
        return bad_row(c, s->row, s->n, s->at, SM_E_SYNTAX, "this text is UTF-16; save it as UTF-8");
    return bad_row(c, s->row, s->n, s->at, SM_E_SYNTAX,
                   byte == '\0'   ? "a NUL byte stands here; is this a text file?"
                   : byte == '\r' ? "a carriage return stands alone; lines must end in LF or CR LF"
                   : byte == '"' ? "a quote stands inside a field; quote the whole field and double the quote"
                                 : "a control character stands here; is this a text file?");
}

/* At the first byte of an unquoted field; up to the delimiter behind it. */
static enum sm_status take_plain(const struct csv *c, struct split *s, struct sm_csv_field *field)
{
    const char delimiter = c->options.delimiter;
    const size_t start = s->at;
    for (; s->at < s->n && !is_delimiter(delimiter, s->row[s->at]); s->at++) {
        const char byte = s->row[s->at];
        if (byte == '"' || ((unsigned char)byte < ' ' && byte != '\t'))
            return bad_byte(c, s);
    }
    *field = (struct sm_csv_field){s->row + start, s->at - start, start + 1, false};
    return SM_OK;
}

/* At the opening quote; over the closing one and the blanks behind it. */
static enum sm_status take_quoted(const struct csv *c, struct split *s, struct sm_csv_field *field)
{
    const size_t opened = s->at++;
    char *out = s->free_room;
    for (;; s->at++) {
        if (s->at >= s->n)
            return bad_row(c, s->row, s->n, opened, SM_E_SYNTAX, "this quote is never closed");
        const char byte = s->row[s->at];
        if (byte == '"' && (s->at + 1 >= s->n || s->row[s->at + 1] != '"'))
            break;
        if ((unsigned char)byte < ' ' && !strchr("\t\r\n", byte ? byte : 1))
            return bad_byte(c, s);
        s->at += byte == '"';
        *out++ = byte;
    }
    s->at++;
    *field = (struct sm_csv_field){s->free_room, (size_t)(out - s->free_room), opened + 2, true};
    s->free_room = out;
    while (s->at < s->n && is_blank(s->row[s->at]) && !is_delimiter(c->options.delimiter, s->row[s->at]))
        s->at++;
    if (s->at < s->n && !is_delimiter(c->options.delimiter, s->row[s->at]))
        return bad_row(c, s->row, s->n, s->at, SM_E_SYNTAX,
                       "text follows a closing quote; a quote in text is doubled");
    return SM_OK;
}

static enum sm_status take_field(struct csv *c, struct split *s)
{
    if (s->n_fields == MAX_FIELDS)
        return bad_row(c, s->row, s->n, s->at, SM_E_RANGE, "a row has more than 4096 fields");
    struct sm_csv_field *field = &c->fields[s->n_fields++];
    size_t first = s->at;
    while (first < s->n && is_blank(s->row[first]) && !is_delimiter(c->options.delimiter, s->row[first]))
        first++;
    if (first >= s->n || s->row[first] != '"')
        return take_plain(c, s, field);
    s->at = first;
    return take_quoted(c, s, field);
}

static void skip_blanks(struct split *s)
{
    while (s->at < s->n && is_blank(s->row[s->at]))
        s->at++;
}

/* Splits row[0..n), without its line end, into the fields. */
static enum sm_status split_row(struct csv *c, const char *row, size_t n, size_t *n_fields)
{
    struct split s = {.row = row, .n = n, .free_room = c->unquoted};
    const bool by_blanks = c->options.delimiter == ' ';
    if (by_blanks)
        skip_blanks(&s);
    for (;;) {
        SM_TRY(take_field(c, &s));
        if (by_blanks)
            skip_blanks(&s);
        if (s.at >= n)
            break;
        s.at += by_blanks ? 0 : 1;
    }
    *n_fields = s.n_fields;
    return SM_OK;
}

/* ---- rows ---- */

static bool is_blank_line(const char *row, size_t n)
{
    for (size_t i = 0; i < n; i++)
        if (!is_blank(row[i]))
            return false;
    return true;
}

static enum sm_status hand_over(struct csv *c, const char *text, size_t n)
{
    size_t n_fields = 0;
    if (c->n_rows == c->options.max_rows)
        return bad_row(c, text, n, 0, SM_E_RANGE, "there are more rows than the limit");
    SM_TRY(split_row(c, text, n, &n_fields));
    if (c->n_rows == 0)
        c->n_first = n_fields;
    const struct sm_csv_row row = {
        c->fields, n_fields, c->n_first, c->line, c->n_rows++, c->options.delimiter, c->options.decimal};
    struct sm_error err = {0};
    const enum sm_status status = c->reader->row(c->reader->user, &row, c->err ? &err : NULL);
    if (status == SM_OK || !c->err)
        return status;
    const size_t column = err.at.column;
    *c->err = err;
    place(c, text, n, column > 0 ? column : 1);
    return status;
}

/* Room for the quoted fields of the longest row so far: they are never longer than the row. */
static enum sm_status make_room(struct csv *c, size_t n)
{
    if (n <= c->room_unquoted)
        return SM_OK;
    free(c->unquoted);
    c->room_unquoted = 2 * n;
    c->unquoted = malloc(c->room_unquoted);
    if (c->unquoted)
        return SM_OK;
    c->room_unquoted = 0;
    return no_memory(c);
}

static enum sm_status read_rows(struct csv *c)
{
    for (;;) {
        size_t length = 0;
        SM_TRY(next_row(c, &length));
        if (length == 0)
            return SM_OK;
        const char *text = c->text + c->at;
        size_t n = length;
        if (text[n - 1] == '\n')
            n--;
        if (n > 0 && n < length && text[n - 1] == '\r')
            n--;
        if (!is_blank_line(text, n) && !is_comment(c, text, n)) {
            SM_TRY(make_room(c, n));
            SM_TRY(hand_over(c, text, n));
        }
        for (const char *p = text; (p = memchr(p, '\n', length - (size_t)(p - text))); p++)
            c->line++;
        c->at += length;
    }
}

/* With the head of the text in the window: what must be known before the first row. */
static enum sm_status begin(struct csv *c)
{
    static const char mark[] = "\xEF\xBB\xBF";
    if (c->end - c->at >= 3 && memcmp(c->text + c->at, mark, 3) == 0)
        c->at += 3;
    const size_t head = c->end - c->at;
    sm_csv_guess(c->text + c->at, head < CHUNK ? head : CHUNK, &c->options);
    c->fields = malloc(MAX_FIELDS * sizeof *c->fields);
    return c->fields ? SM_OK : no_memory(c);
}

static struct csv started(const char *name, const struct sm_csv_options *options,
                          const struct sm_csv_reader *reader, struct sm_error *err)
{
    struct csv c = {.name = name, .reader = reader, .err = err, .line = 1, .text = ""};
    if (options)
        c.options = *options;
    if (c.options.max_bytes == 0)
        c.options.max_bytes = SM_MAX_CSV_BYTES;
    if (c.options.max_rows == 0)
        c.options.max_rows = SM_MAX_CSV_ROWS;
    return c;
}

static enum sm_status run(struct csv *c)
{
    enum sm_status status = c->file ? fill(c) : SM_OK;
    if (status == SM_OK)
        status = begin(c);
    if (status == SM_OK)
        status = read_rows(c);
    free(c->fields);
    free(c->unquoted);
    free(c->owned);
    return status;
}

enum sm_status sm_csv_read(const char *text, size_t n, const char *name, const struct sm_csv_options *options,
                           const struct sm_csv_reader *reader, struct sm_error *err)
{
    struct csv c = started(name, options, reader, err);
    if (n > c.options.max_bytes) {
        sm_fail(err, SM_E_RANGE, "%.160s has more than %zu bytes, the limit", name, c.options.max_bytes);
        sm_place_file(err, name);
        return SM_E_RANGE;
    }
    c.text = n > 0 ? text : "";
    c.end = n;
    c.at_end = true;
    return run(&c);
}

enum sm_status sm_csv_read_file(const char *path, const struct sm_csv_options *options,
                                const struct sm_csv_reader *reader, struct sm_error *err)
{
    struct csv c = started(path, options, reader, err);
    errno = 0;
    c.file = fopen(path, "rb");
    if (!c.file)
        return sm_textfile_fail(path, errno, err);
    const enum sm_status status = run(&c);
    fclose(c.file);
    return status;
}

/* ---- fields for callers ---- */

static bool is_number(const char *text, size_t n, char decimal, double *value)
{
    while (n > 0 && is_blank(text[0]))
        text++, n--;
    while (n > 0 && is_blank(text[n - 1]))
        n--;
    return n > 0 && sm_number_parse(text, n, decimal, value) == n;
}

bool sm_csv_number(const struct sm_csv_row *row, size_t field, double *value)
{
    if (field >= row->n_fields)
        return false;
    double number;
    const struct sm_csv_field *f = &row->fields[field];
    if (!is_number(f->text, f->n, row->decimal, &number))
        return false;
    *value = number;
    return true;
}

bool sm_csv_is_header(const struct sm_csv_row *row)
{
    double number;
    for (size_t i = 0; i < row->n_fields; i++)
        if (!is_blank_line(row->fields[i].text, row->fields[i].n) && !sm_csv_number(row, i, &number))
            return true;
    return false;
}

enum sm_status sm_csv_at(const struct sm_csv_row *row, size_t field, enum sm_status status,
                         struct sm_error *err)
{
    if (err && field < row->n_fields)
        err->at.column = (unsigned)row->fields[field].column;
    return status;
}
