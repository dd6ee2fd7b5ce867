#include "doc/stl.h"

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "doc/number.h"
#include "doc/place.h"
#include "doc/textfile.h"

enum { HEADER = 80, COUNT = 4, RECORD = 50, NORMAL = 12, CORNERS = 9 };
enum { TEXT_FACET = 400 }; /* bytes of a facet in text, generously */

struct reading {
    struct sm_arena *arena;
    const char *path, *text;
    size_t size, at; /* bytes of the file; place reached */
    size_t most, room;
    struct sm_stl *out;
    struct sm_error *err;
};

static enum sm_status too_many(const struct reading *r)
{
    sm_fail(r->err, SM_E_RANGE, "this mesh has more than %zu facets, the limit", r->most);
    sm_place_file(r->err, r->path);
    return SM_E_RANGE;
}

static enum sm_status no_memory(const struct reading *r)
{
    return sm_fail(r->err, SM_E_NOMEM, "out of memory");
}

/* ---- binary ---- */

static uint32_t whole_at(const char *bytes)
{
    uint32_t value = 0;
    for (int i = 3; i >= 0; i--)
        value = value << 8 | (unsigned char)bytes[i];
    return value;
}

/* IEEE 754 single precision, least significant byte first. */
static double single_at(const char *bytes)
{
    const uint32_t bits = whole_at(bytes);
    float value;
    memcpy(&value, &bits, sizeof value);
    return (double)value;
}

static bool has_binary_length(const struct reading *r)
{
    return r->size >= HEADER + COUNT &&
           r->size - HEADER - COUNT == (size_t)whole_at(r->text + HEADER) * RECORD;
}

static enum sm_status read_binary(struct reading *r)
{
    if (r->size < HEADER + COUNT) {
        sm_fail(r->err, SM_E_SYNTAX, "this is no STL file: %zu bytes, not even a header", r->size);
        sm_place_file(r->err, r->path);
        return SM_E_SYNTAX;
    }
    const size_t n = whole_at(r->text + HEADER);
    if (!has_binary_length(r)) {
        sm_fail(r->err, SM_E_SYNTAX,
                "this binary STL file %s: its header says %zu facets, %zu bytes; it has %zu bytes",
                r->size < HEADER + COUNT + n * RECORD ? "is cut short" : "is longer than it says", n,
                HEADER + COUNT + n * RECORD, r->size);
        sm_place_file(r->err, r->path);
        return SM_E_SYNTAX;
    }
    if (n > r->most)
        return too_many(r);
    r->out->corners = sm_arena_alloc(r->arena, CORNERS * n, sizeof *r->out->corners);
    if (!r->out->corners)
        return no_memory(r);
    r->out->n = n;
    for (size_t i = 0; i < CORNERS * n; i++) {
        const char *bytes = r->text + HEADER + COUNT + i / CORNERS * RECORD + NORMAL + i % CORNERS * 4;
        r->out->corners[i] = single_at(bytes);
        if (isfinite(r->out->corners[i]))
            continue;
        sm_fail(r->err, SM_E_RANGE, "facet %zu of this mesh has a corner that is no finite number",
                i / CORNERS + 1);
        sm_place_file(r->err, r->path);
        return SM_E_RANGE;
    }
    return SM_OK;
}

/* ---- text ---- */

static void pass_blanks(struct reading *r)
{
    while (r->at < r->size && isspace((unsigned char)r->text[r->at]))
        r->at++;
}

static enum sm_status place(const struct reading *r, enum sm_status status)
{
    sm_place(r->err, r->path, r->text, r->size, r->at < r->size ? r->at : r->size > 0 ? r->size - 1 : 0);
    return status;
}

/* Is the next word this one, in letters of either case? It is then passed. */
static bool pass_word(struct reading *r, const char *word)
{
    pass_blanks(r);
    size_t i = 0;
    for (; word[i]; i++)
        if (r->at + i >= r->size || tolower((unsigned char)r->text[r->at + i]) != word[i])
            return false;
    if (r->at + i < r->size && !isspace((unsigned char)r->text[r->at + i]))
        return false;
    r->at += i;
    return true;
}

static enum sm_status want_word(struct reading *r, const char *word)
{
    if (pass_word(r, word))
        return SM_OK;
    return place(r, r->at >= r->size
                        ? sm_fail(r->err, SM_E_SYNTAX, "the file ends where '%s' is wanted", word)
                        : sm_fail(r->err, SM_E_SYNTAX, "'%s' is wanted here", word));
}

static enum sm_status want_number(struct reading *r, double *value)
{
    pass_blanks(r);
    const size_t used = sm_number_parse(r->text + r->at, r->size - r->at, '.', value);
    const size_t end = r->at + used;
    if (used == 0 || (end < r->size && !isspace((unsigned char)r->text[end])))
        return place(r, sm_fail(r->err, SM_E_SYNTAX, "a number is wanted here"));
    if (!isfinite(*value))
        return place(r, sm_fail(r->err, SM_E_RANGE, "this number is too large"));
    r->at = end;
    return SM_OK;
}

/* A normal may be anything, for it is not used. */
static void pass_normal(struct reading *r)
{
    for (int k = 0; k < 3; k++) {
        pass_blanks(r);
        while (r->at < r->size && !isspace((unsigned char)r->text[r->at]))
            r->at++;
    }
}

/* What is behind "facet". */
static enum sm_status read_facet(struct reading *r)
{
    struct sm_stl *out = r->out;
    if (out->n >= r->most)
        return too_many(r);
    double *corners = sm_arena_grow(r->arena, out->corners, CORNERS * out->n, &r->room,
                                    CORNERS * (out->n + 1), sizeof *corners);
    if (!corners)
        return no_memory(r);
    out->corners = corners;
    SM_TRY(want_word(r, "normal"));
    pass_normal(r);
    SM_TRY(want_word(r, "outer"));
    SM_TRY(want_word(r, "loop"));
    for (size_t i = 0; i < CORNERS; i++) {
        if (i % 3 == 0)
            SM_TRY(want_word(r, "vertex"));
        SM_TRY(want_number(r, &corners[CORNERS * out->n + i]));
    }
    out->n++;
    SM_TRY(want_word(r, "endloop"));
    return want_word(r, "endfacet");
}

static void pass_line(struct reading *r)
{
    while (r->at < r->size && r->text[r->at] != '\n')
        r->at++;
}

/* Solids one behind the other, each with a name to the end of its line. */
static enum sm_status read_text(struct reading *r)
{
    do {
        SM_TRY(want_word(r, "solid"));
        pass_line(r);
        while (pass_word(r, "facet"))
            SM_TRY(read_facet(r));
        SM_TRY(want_word(r, "endsolid"));
        pass_line(r);
        pass_blanks(r);
    } while (r->at < r->size);
    return SM_OK;
}

static bool is_text(const struct reading *r)
{
    static const char word[] = "solid";
    size_t at = 0;
    while (at < r->size && isspace((unsigned char)r->text[at]))
        at++;
    for (size_t i = 0; word[i]; i++)
        if (at + i >= r->size || tolower((unsigned char)r->text[at + i]) != word[i])
            return false;
    return !memchr(r->text, '\0', r->size);
}

enum sm_status sm_stl_read_file(struct sm_arena *arena, const char *path, size_t most, struct sm_stl *out,
                                struct sm_error *err)
{
    char *text;
    size_t n;
    *out = (struct sm_stl){0};
    SM_TRY(sm_textfile_read(path, most * TEXT_FACET, &text, &n, err));
    struct reading r = {
        .arena = arena, .path = path, .text = text, .size = n, .most = most, .out = out, .err = err};
    const enum sm_status status = !has_binary_length(&r) && is_text(&r) ? read_text(&r) : read_binary(&r);
    free(text);
    return status;
}
