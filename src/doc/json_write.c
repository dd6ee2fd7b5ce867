#include "doc/json_write.h"
#include "base/sink.h"
#include "base/text.h"

#include <math.h>
#include <string.h>

void sm_json_write_init(struct sm_json_writer *w, struct sm_sink *sink)
{
    *w = (struct sm_json_writer){.sink = sink};
}

static void flush(struct sm_json_writer *w)
{
    if (w->status == SM_OK && w->n > 0)
        w->status = sm_sink_bytes(w->sink, w->buffer, w->n, &w->error);
    w->n = 0;
}

static void put(struct sm_json_writer *w, const char *bytes, size_t n)
{
    while (n > 0 && w->status == SM_OK) {
        if (w->n == sizeof w->buffer)
            flush(w);
        const size_t room = sizeof w->buffer - w->n, part = n < room ? n : room;
        memcpy(w->buffer + w->n, bytes, part);
        w->n += part;
        bytes += part;
        n -= part;
    }
}

static void put_text(struct sm_json_writer *w, const char *text)
{
    put(w, text, strlen(text));
}

static void misuse(struct sm_json_writer *w, const char *what)
{
    if (w->status == SM_OK)
        w->status = sm_fail(&w->error, SM_E_INTERNAL, "writing JSON: %s", what);
}

static struct sm_json_level *innermost(struct sm_json_writer *w)
{
    return w->depth > 0 ? &w->levels[w->depth - 1] : NULL;
}

static void new_line(struct sm_json_writer *w)
{
    put(w, "\n", 1);
    for (size_t i = 0; i < w->depth; i++)
        put(w, "  ", 2);
}

/* What must stand before the next member or element. */
static void separate(struct sm_json_writer *w, struct sm_json_level *level)
{
    if (level->is_used)
        put(w, ",", 1);
    if (!level->is_row)
        new_line(w);
    else if (level->is_used)
        put(w, " ", 1);
    level->is_used = true;
}

/* Before any value. */
static void begin_value(struct sm_json_writer *w)
{
    struct sm_json_level *level = innermost(w);
    if (!level) {
        if (w->is_done)
            misuse(w, "a second value at the top");
        w->is_done = true;
    } else if (level->close == ']') {
        separate(w, level);
    } else if (!w->has_key) {
        misuse(w, "a value without a key");
    }
    w->has_key = false;
}

static void open_level(struct sm_json_writer *w, char open, char close, bool is_row)
{
    const struct sm_json_level *outer = innermost(w);
    const bool inherited = outer && outer->is_row;
    begin_value(w);
    if (w->depth == SM_JSON_WRITE_DEPTH) {
        misuse(w, "nested too deeply");
        return;
    }
    put(w, &open, 1);
    w->levels[w->depth++] = (struct sm_json_level){.close = close, .is_row = is_row || inherited};
}

void sm_json_open_object(struct sm_json_writer *w)
{
    open_level(w, '{', '}', false);
}

void sm_json_open_array(struct sm_json_writer *w)
{
    open_level(w, '[', ']', false);
}

void sm_json_open_row(struct sm_json_writer *w)
{
    open_level(w, '[', ']', true);
}

void sm_json_open_object_row(struct sm_json_writer *w)
{
    open_level(w, '{', '}', true);
}

void sm_json_close(struct sm_json_writer *w)
{
    if (w->depth == 0 || w->has_key) {
        misuse(w, w->has_key ? "a key without a value" : "nothing is open");
        return;
    }
    const struct sm_json_level level = w->levels[--w->depth];
    if (level.is_used && !level.is_row)
        new_line(w);
    put(w, &level.close, 1);
}

/* Bytes of the well-formed UTF-8 character at text, 0 if there is none. */
static size_t character(const char *text)
{
    size_t bad;
    for (size_t n = 1; n <= 4 && text[n - 1]; n++)
        if (sm_text_is_utf8(text, n, &bad))
            return n;
    return 0;
}

static void put_escaped(struct sm_json_writer *w, char c)
{
    static const char names[] = "\"\\bfnrt", bytes[] = "\"\\\b\f\n\r\t";
    char text[8];
    const char *known = strchr(bytes, c);
    if (known)
        sm_text_format(text, sizeof text, "\\%c", names[known - bytes]);
    else
        sm_text_format(text, sizeof text, "\\u%04x", (unsigned)(unsigned char)c);
    put_text(w, text);
}

static bool is_plain(const struct sm_json_writer *w, char c)
{
    return (unsigned char)c >= 0x20 && (unsigned char)c < 0x80 && c != '"' && c != '\\' &&
           (c != '<' || !w->for_script);
}

static void put_quoted(struct sm_json_writer *w, const char *text)
{
    put(w, "\"", 1);
    for (const char *p = text; *p;) {
        size_t n = 0;
        while (is_plain(w, p[n]))
            n++;
        put(w, p, n);
        p += n;
        if (*p == '\0')
            break;
        if ((unsigned char)*p < 0x80) {
            put_escaped(w, *p++);
            continue;
        }
        n = character(p);
        put(w, n > 0 ? p : "\xEF\xBF\xBD", n > 0 ? n : 3);
        p += n > 0 ? n : 1;
    }
    put(w, "\"", 1);
}

void sm_json_put_key(struct sm_json_writer *w, const char *key)
{
    struct sm_json_level *level = innermost(w);
    if (!level || level->close != '}' || w->has_key) {
        misuse(w, "a key where none can be");
        return;
    }
    separate(w, level);
    put_quoted(w, key);
    put(w, ": ", 2);
    w->has_key = true;
}

void sm_json_put_string(struct sm_json_writer *w, const char *text)
{
    if (!text) {
        sm_json_put_null(w);
        return;
    }
    begin_value(w);
    put_quoted(w, text);
}

static void put_double(struct sm_json_writer *w, double value)
{
    char text[SM_DOUBLE_TEXT];
    put_text(w, isfinite(value) ? sm_text_double(text, value) : "null");
}

void sm_json_put_number(struct sm_json_writer *w, double value)
{
    begin_value(w);
    put_double(w, value);
}

void sm_json_put_whole(struct sm_json_writer *w, long long value)
{
    char text[32];
    sm_text_format(text, sizeof text, "%lld", value);
    begin_value(w);
    put_text(w, text);
}

void sm_json_put_bool(struct sm_json_writer *w, bool value)
{
    begin_value(w);
    put_text(w, value ? "true" : "false");
}

void sm_json_put_null(struct sm_json_writer *w)
{
    begin_value(w);
    put_text(w, "null");
}

void sm_json_put_doubles(struct sm_json_writer *w, const double *values, size_t n)
{
    begin_value(w);
    put(w, "[", 1);
    for (size_t i = 0; i < n && w->status == SM_OK; i++) {
        if (i > 0)
            put(w, ", ", 2);
        put_double(w, values[i]);
    }
    put(w, "]", 1);
}

/* The depth of what was read is bounded by SM_MAX_JSON_DEPTH, hence this recursion too. */
void sm_json_put_value(struct sm_json_writer *w, const struct sm_json *value)
{
    switch (sm_json_type(value)) {
    case SM_JSON_NULL:
        sm_json_put_null(w);
        return;
    case SM_JSON_BOOL:
        sm_json_put_bool(w, sm_json_bool(value));
        return;
    case SM_JSON_NUMBER:
        sm_json_put_number(w, sm_json_number(value));
        return;
    case SM_JSON_STRING:
        sm_json_put_string(w, sm_json_string(value));
        return;
    case SM_JSON_ARRAY:
        sm_json_open_array(w);
        break;
    case SM_JSON_OBJECT:
        sm_json_open_object(w);
        break;
    }
    for (const struct sm_json *item = sm_json_first(value); item; item = sm_json_next(item)) {
        if (sm_json_key(item))
            sm_json_put_key(w, sm_json_key(item));
        sm_json_put_value(w, item);
    }
    sm_json_close(w);
}

void sm_json_member_object(struct sm_json_writer *w, const char *key)
{
    sm_json_put_key(w, key);
    sm_json_open_object(w);
}

void sm_json_member_array(struct sm_json_writer *w, const char *key)
{
    sm_json_put_key(w, key);
    sm_json_open_array(w);
}

void sm_json_member_string(struct sm_json_writer *w, const char *key, const char *text)
{
    sm_json_put_key(w, key);
    sm_json_put_string(w, text);
}

void sm_json_member_number(struct sm_json_writer *w, const char *key, double value)
{
    sm_json_put_key(w, key);
    sm_json_put_number(w, value);
}

void sm_json_member_whole(struct sm_json_writer *w, const char *key, long long value)
{
    sm_json_put_key(w, key);
    sm_json_put_whole(w, value);
}

void sm_json_member_bool(struct sm_json_writer *w, const char *key, bool value)
{
    sm_json_put_key(w, key);
    sm_json_put_bool(w, value);
}

void sm_json_member_null(struct sm_json_writer *w, const char *key)
{
    sm_json_put_key(w, key);
    sm_json_put_null(w);
}

void sm_json_member_doubles(struct sm_json_writer *w, const char *key, const double *values, size_t n)
{
    sm_json_put_key(w, key);
    sm_json_put_doubles(w, values, n);
}

enum sm_status sm_json_write_end(struct sm_json_writer *w, struct sm_error *err)
{
    if (w->depth > 0)
        misuse(w, "something is left open");
    if (!w->is_done)
        misuse(w, "nothing was written");
    put(w, "\n", 1);
    flush(w);
    if (w->status != SM_OK && err)
        *err = w->error;
    return w->status;
}
