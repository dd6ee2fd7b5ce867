/*
 * One strict pass over the text (RFC 8259) that builds the library's tree as it goes. The library's own
 * parser is not used: it lets leading zeros, control characters, ill-formed UTF-8 and trailing text pass,
 * cuts numbers at 63 bytes and reads them by the locale.
 */
#include "base/text.h"
#include "doc/json_tree.h"
#include "doc/number.h"
#include "doc/place.h"
#include "slowmatch/limits.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A key seen, for finding repeats. Open addressing; item NULL marks a free slot. */
struct key_slot {
    uint64_t hash;
    const cJSON *object, *item;
};

struct parser {
    struct sm_json_doc *doc;
    const struct sm_json_source *source;
    size_t source_number;
    const char *text; /* of the source */
    size_t n, at;
    int depth;
    char *scratch; /* decoded strings, one behind the other: each is shorter than its quoted text */
    size_t n_scratch;
    struct key_slot *keys;
    size_t n_keys, room_keys; /* room is 0 or a power of two */
    struct sm_error *err;
};

void sm_json_place_error(const struct sm_json_source *source, size_t offset, struct sm_error *err)
{
    sm_place(err, source->name, source->text, source->n, offset);
}

static enum sm_status fail_at(struct parser *p, size_t offset, enum sm_status status, const char *what)
{
    sm_fail(p->err, status, "%s", what);
    sm_json_place_error(p->source, offset, p->err);
    return status;
}

static enum sm_status syntax(struct parser *p, const char *what)
{
    return fail_at(p, p->at, SM_E_SYNTAX, what);
}

static enum sm_status no_memory(struct parser *p)
{
    return sm_fail(p->err, SM_E_NOMEM, "out of memory");
}

/* The next byte, 0 at the end (no NUL stands in a checked text). */
static char peek(const struct parser *p)
{
    return p->at < p->n ? p->text[p->at] : '\0';
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static void skip_blanks(struct parser *p)
{
    while (p->at < p->n && memchr(" \t\r\n", p->text[p->at], 4))
        p->at++;
}

/* ---- repeated keys ---- */

static uint64_t hash_key(const cJSON *object, const char *key)
{
    uint64_t h = 14695981039346656037u ^ (uint64_t)(uintptr_t)object; /* FNV-1a */
    for (const char *c = key; *c; c++)
        h = (h ^ (unsigned char)*c) * 1099511628211u;
    return h ^ h >> 32;
}

/* The slot of a key, taken or free. */
static struct key_slot *key_slot(const struct parser *p, uint64_t hash, const cJSON *object, const char *key)
{
    for (size_t i = (size_t)hash & (p->room_keys - 1);; i = (i + 1) & (p->room_keys - 1)) {
        struct key_slot *slot = &p->keys[i];
        if (!slot->item)
            return slot;
        if (slot->hash == hash && slot->object == object && strcmp(slot->item->string, key) == 0)
            return slot;
    }
}

static bool widen_keys(struct parser *p)
{
    if (p->n_keys * 2 < p->room_keys)
        return true;
    const size_t old_room = p->room_keys;
    struct key_slot *old = p->keys;
    const size_t room = old_room ? old_room * 4 : 64;
    struct key_slot *wider = calloc(room, sizeof *wider);
    if (!wider)
        return false;
    p->keys = wider;
    p->room_keys = room;
    for (size_t i = 0; i < old_room; i++)
        if (old[i].item)
            *key_slot(p, old[i].hash, old[i].object, old[i].item->string) = old[i];
    free(old);
    return true;
}

static enum sm_status repeated_key(struct parser *p, const cJSON *first, size_t key_at)
{
    const size_t before = p->doc->places[first->valueint].key;
    unsigned line = 1;
    for (size_t i = 0; i < before; i++)
        line += p->text[i] == '\n';
    sm_fail(p->err, SM_E_FIELD, "key '%.80s' stands twice in one object, first on line %u", first->string,
            line);
    sm_json_place_error(p->source, key_at, p->err);
    return SM_E_FIELD;
}

/* ---- strings ---- */

static void put(struct parser *p, unsigned char byte)
{
    p->scratch[p->n_scratch++] = (char)byte;
}

static void put_code_point(struct parser *p, unsigned long c)
{
    if (c < 0x80) {
        put(p, (unsigned char)c);
        return;
    }
    if (c < 0x800) {
        put(p, (unsigned char)(0xC0 | c >> 6));
    } else if (c < 0x10000) {
        put(p, (unsigned char)(0xE0 | c >> 12));
        put(p, (unsigned char)(0x80 | (c >> 6 & 0x3F)));
    } else {
        put(p, (unsigned char)(0xF0 | c >> 18));
        put(p, (unsigned char)(0x80 | (c >> 12 & 0x3F)));
        put(p, (unsigned char)(0x80 | (c >> 6 & 0x3F)));
    }
    put(p, (unsigned char)(0x80 | (c & 0x3F)));
}

/* Four hexadecimal digits at text[at]; false if they are not there. */
static bool hex4(const struct parser *p, size_t at, unsigned long *value)
{
    *value = 0;
    for (size_t i = at; i < at + 4; i++) {
        const char c = i < p->n ? p->text[i] : '\0';
        const int digit = is_digit(c)            ? c - '0'
                          : c >= 'a' && c <= 'f' ? c - 'a' + 10
                          : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                                 : -1;
        if (digit < 0)
            return false;
        *value = *value << 4 | (unsigned long)digit;
    }
    return true;
}

/* At the backslash of \uXXXX. */
static enum sm_status unicode_escape(struct parser *p)
{
    unsigned long high, low;
    if (!hex4(p, p->at + 2, &high))
        return syntax(p, "\\u needs four hexadecimal digits");
    if (high == 0)
        return syntax(p, "\\u0000 is not allowed in a string");
    if (high < 0xD800 || high > 0xDFFF) {
        put_code_point(p, high);
        p->at += 6;
        return SM_OK;
    }
    const bool second = p->at + 7 < p->n && p->text[p->at + 6] == '\\' && p->text[p->at + 7] == 'u' &&
                        hex4(p, p->at + 8, &low) && low >= 0xDC00 && low <= 0xDFFF;
    if (high > 0xDBFF || !second)
        return syntax(p, "half of a surrogate pair stands alone; write both halves or the character itself");
    put_code_point(p, 0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00));
    p->at += 12;
    return SM_OK;
}

static enum sm_status escape(struct parser *p)
{
    static const char names[] = "\"\\/bfnrt", bytes[] = "\"\\/\b\f\n\r\t";
    const char c = p->at + 1 < p->n ? p->text[p->at + 1] : '\0';
    if (c == 'u')
        return unicode_escape(p);
    const char *name = c ? strchr(names, c) : NULL;
    if (!name)
        return syntax(
            p, "unknown escape: after '\\' comes one of \" \\ / b f n r t u; a backslash itself is \\\\");
    put(p, (unsigned char)bytes[name - names]);
    p->at += 2;
    return SM_OK;
}

/* At the opening quote. Returned: *decoded in the scratch, where it stays until the caller resets n_scratch. */
static enum sm_status parse_string(struct parser *p, const char **decoded)
{
    const size_t opened = p->at++, start = p->n_scratch;
    for (;;) {
        if (p->at >= p->n)
            return fail_at(p, opened, SM_E_SYNTAX, "this string has no closing quote");
        const char c = p->text[p->at];
        if (c == '"')
            break;
        if (c == '\n' || c == '\r')
            return fail_at(p, opened, SM_E_SYNTAX,
                           "this string has no closing quote on its line; a line end is \\n");
        if ((unsigned char)c < 0x20)
            return syntax(p, "a control character stands in a string; write it as an escape such as \\t");
        if (c == '\\') {
            SM_TRY(escape(p));
        } else {
            put(p, (unsigned char)c);
            p->at++;
        }
    }
    p->at++;
    put(p, '\0');
    *decoded = p->scratch + start;
    return SM_OK;
}

/* ---- numbers and words ---- */

static size_t skip_digits(struct parser *p)
{
    const size_t start = p->at;
    while (is_digit(peek(p)))
        p->at++;
    return p->at - start;
}

static enum sm_status number_grammar(struct parser *p)
{
    if (peek(p) == '-')
        p->at++;
    if (peek(p) == '0') {
        p->at++;
        if (is_digit(peek(p)))
            return syntax(p, "a number must not start with 0 but before a point");
        if (peek(p) == 'x' || peek(p) == 'X')
            return syntax(p, "numbers are decimal; hexadecimal is not allowed");
    } else if (skip_digits(p) == 0) {
        return syntax(p, "a digit must follow the minus sign");
    }
    if (peek(p) == '.') {
        p->at++;
        if (skip_digits(p) == 0)
            return syntax(p, "a digit must follow the decimal point");
    }
    if (peek(p) == 'e' || peek(p) == 'E') {
        p->at++;
        if (peek(p) == '-' || peek(p) == '+')
            p->at++;
        if (skip_digits(p) == 0)
            return syntax(p, "the exponent has no digits");
    }
    return SM_OK;
}

static enum sm_status parse_number(struct parser *p, cJSON **node)
{
    const size_t start = p->at;
    SM_TRY(number_grammar(p));
    double value = 0.0;
    if (sm_number_parse(p->text + start, p->at - start, '.', &value) != p->at - start)
        return no_memory(p);
    if (!isfinite(value))
        return fail_at(p, start, SM_E_RANGE, "this number is too large (beyond 1.8e308)");
    *node = cJSON_CreateNumber(value);
    return *node ? SM_OK : no_memory(p);
}

static bool take_word(struct parser *p, const char *word)
{
    const size_t n = strlen(word);
    if (p->n - p->at < n || memcmp(p->text + p->at, word, n) != 0)
        return false;
    p->at += n;
    return true;
}

/* No value begins here: says why, for the usual slips. */
static enum sm_status no_value(struct parser *p)
{
    const char c = peek(p);
    if (p->at >= p->n)
        return syntax(p, "the text ends where a value is expected");
    if (c == ']' || c == '}')
        return syntax(p, "a value is expected here; is there a comma too many before it?");
    if (c == '\'')
        return syntax(p, "strings take double quotes");
    if (c == '/' || c == '#')
        return syntax(p, "comments are not allowed; write a \"note\"");
    if (c == '+' || c == '.')
        return syntax(p, "a number starts with a digit or a minus sign");
    return syntax(p, "a value is expected here: an object, array, string, number, true, false or null");
}

/* ---- values ---- */

static enum sm_status parse_value(struct parser *p, size_t key_at, cJSON **node);

static enum sm_status enter(struct parser *p)
{
    if (++p->depth > SM_MAX_JSON_DEPTH) {
        sm_fail(p->err, SM_E_RANGE, "nested more than %d deep", SM_MAX_JSON_DEPTH);
        sm_json_place_error(p->source, p->at, p->err);
        return SM_E_RANGE;
    }
    p->at++;
    skip_blanks(p);
    return SM_OK;
}

/* After an element: over a comma to the next one, or over the closing bracket. */
static enum sm_status next_or_close(struct parser *p, char close, bool *closed)
{
    skip_blanks(p);
    *closed = peek(p) == close;
    if (!*closed && peek(p) != ',') {
        if (p->at >= p->n)
            return syntax(p,
                          close == '}' ? "the text ends inside an object" : "the text ends inside an array");
        return syntax(p, close == '}' ? "',' or '}' is expected here" : "',' or ']' is expected here");
    }
    p->at++;
    skip_blanks(p);
    return SM_OK;
}

static enum sm_status parse_array(struct parser *p, cJSON *array)
{
    SM_TRY(enter(p));
    bool closed = peek(p) == ']';
    if (closed)
        p->at++;
    while (!closed) {
        cJSON *item = NULL;
        SM_TRY(parse_value(p, SM_JSON_NO_KEY, &item));
        if (!cJSON_AddItemToArray(array, item)) {
            cJSON_Delete(item);
            return no_memory(p);
        }
        SM_TRY(next_or_close(p, ']', &closed));
    }
    p->depth--;
    return SM_OK;
}

static enum sm_status add_member(struct parser *p, cJSON *object, const char *key, size_t key_at, cJSON *item)
{
    if (!widen_keys(p)) {
        cJSON_Delete(item);
        return no_memory(p);
    }
    const uint64_t hash = hash_key(object, key);
    struct key_slot *slot = key_slot(p, hash, object, key);
    if (slot->item) {
        cJSON_Delete(item);
        return repeated_key(p, slot->item, key_at);
    }
    if (!cJSON_AddItemToObject(object, key, item)) {
        cJSON_Delete(item);
        return no_memory(p);
    }
    *slot = (struct key_slot){hash, object, item};
    p->n_keys++;
    return SM_OK;
}

static enum sm_status parse_member(struct parser *p, cJSON *object)
{
    const size_t key_at = p->at, scratch = p->n_scratch;
    if (peek(p) == '}')
        return syntax(p, "a key is expected here; is there a comma too many before it?");
    if (peek(p) == '/' || peek(p) == '#')
        return syntax(p, "comments are not allowed; write a \"note\"");
    if (peek(p) != '"')
        return syntax(p, p->at < p->n ? "a key in double quotes is expected here"
                                      : "the text ends inside an object");
    const char *key = NULL;
    SM_TRY(parse_string(p, &key));
    skip_blanks(p);
    if (peek(p) != ':')
        return syntax(p, "':' is expected after the key");
    p->at++;
    skip_blanks(p);
    cJSON *item = NULL;
    SM_TRY(parse_value(p, key_at, &item));
    SM_TRY(add_member(p, object, key, key_at, item));
    p->n_scratch = scratch;
    return SM_OK;
}

static enum sm_status parse_object(struct parser *p, cJSON *object)
{
    SM_TRY(enter(p));
    bool closed = peek(p) == '}';
    if (closed)
        p->at++;
    while (!closed) {
        SM_TRY(parse_member(p, object));
        SM_TRY(next_or_close(p, '}', &closed));
    }
    p->depth--;
    return SM_OK;
}

static enum sm_status parse_container(struct parser *p, cJSON **node)
{
    const bool is_object = peek(p) == '{';
    cJSON *made = is_object ? cJSON_CreateObject() : cJSON_CreateArray();
    if (!made)
        return no_memory(p);
    const enum sm_status status = is_object ? parse_object(p, made) : parse_array(p, made);
    if (status != SM_OK) {
        cJSON_Delete(made);
        return status;
    }
    *node = made;
    return SM_OK;
}

static enum sm_status parse_text(struct parser *p, cJSON **node)
{
    const size_t scratch = p->n_scratch;
    const char *decoded = NULL;
    SM_TRY(parse_string(p, &decoded));
    *node = cJSON_CreateString(decoded);
    p->n_scratch = scratch;
    return *node ? SM_OK : no_memory(p);
}

static enum sm_status parse_scalar(struct parser *p, cJSON **node)
{
    if (peek(p) == '"')
        return parse_text(p, node);
    if (peek(p) == '-' || is_digit(peek(p)))
        return parse_number(p, node);
    if (take_word(p, "true"))
        *node = cJSON_CreateTrue();
    else if (take_word(p, "false"))
        *node = cJSON_CreateFalse();
    else if (take_word(p, "null"))
        *node = cJSON_CreateNull();
    else
        return no_value(p);
    return *node ? SM_OK : no_memory(p);
}

/* On failure *node is not set and nothing is left behind. */
static enum sm_status parse_value(struct parser *p, size_t key_at, cJSON **node)
{
    const struct sm_json_place place = {p->source_number, key_at, p->at};
    cJSON *made = NULL;
    SM_TRY(peek(p) == '{' || peek(p) == '[' ? parse_container(p, &made) : parse_scalar(p, &made));
    if (!sm_json_add_place(p->doc, made, place)) {
        cJSON_Delete(made);
        return no_memory(p);
    }
    *node = made;
    return SM_OK;
}

/* What the bytes must be before any grammar. */
static enum sm_status check_bytes(struct parser *p)
{
    static const char mark[] = "\xEF\xBB\xBF";
    if (p->n - p->at >= 3 && memcmp(p->text + p->at, mark, 3) == 0)
        return syntax(p, "the text starts with a byte-order mark; save it as UTF-8 without one");
    size_t bad = 0;
    if (!sm_text_is_utf8(p->text + p->at, p->n - p->at, &bad)) {
        p->at += bad;
        return syntax(p, p->text[p->at] == '\0' ? "a NUL byte stands here; is this a text file?"
                                                : "this byte is not UTF-8; save the file as UTF-8");
    }
    return SM_OK;
}

static enum sm_status parse_whole(struct parser *p, cJSON **tree)
{
    SM_TRY(check_bytes(p));
    skip_blanks(p);
    if (p->at >= p->n)
        return syntax(p, "there is nothing here; a JSON value is expected");
    cJSON *node = NULL;
    SM_TRY(parse_value(p, SM_JSON_NO_KEY, &node));
    skip_blanks(p);
    if (p->at < p->n) {
        cJSON_Delete(node);
        return syntax(p, "more text follows the end of the JSON value");
    }
    *tree = node;
    return SM_OK;
}

enum sm_status sm_json_parse_source(struct sm_json_doc *doc, size_t source, size_t from, cJSON **tree,
                                    struct sm_error *err)
{
    const struct sm_json_source *s = &doc->sources[source];
    struct parser p = {
        .doc = doc, .source = s, .source_number = source, .text = s->text, .n = s->n, .at = from, .err = err};
    p.scratch = malloc(s->n - from + 1);
    enum sm_status status = p.scratch ? parse_whole(&p, tree) : no_memory(&p);
    free(p.scratch);
    free(p.keys);
    return status;
}
