#include "doc/place.h"
#include "base/text.h"

#include <string.h>

void sm_place_file(struct sm_error *err, const char *file)
{
    if (err)
        sm_text_format(err->at.file, sizeof err->at.file, "%.*s", (int)sizeof err->at.file - 1, file);
}

static bool is_continuation(char c)
{
    return ((unsigned char)c & 0xC0) == 0x80;
}

/* Bytes of the character at text[i], 1 for a byte that is none. */
static size_t character(const char *text, size_t n, size_t i, bool *whole)
{
    size_t len = 1, bad;
    while (len < 4 && i + len < n && is_continuation(text[i + len]))
        len++;
    *whole = sm_text_is_utf8(text + i, len, &bad);
    return *whole ? len : 1;
}

/* First byte of the part of the line to show, so that the place stands in its second half at worst. */
static size_t cut_start(const char *text, size_t n, size_t at, size_t room)
{
    if (n <= room || at <= room / 2)
        return 0;
    size_t start = at - room / 2;
    if (n - start < room)
        start = n - room;
    while (start < at && is_continuation(text[start]))
        start++;
    return start;
}

void sm_place_in_line(struct sm_error *err, const char *file, unsigned line, const char *text, size_t n,
                      size_t column)
{
    if (!err)
        return;
    sm_place_file(err, file);
    err->at.line = line;
    err->at.column = (unsigned)column;
    const size_t at = column - 1;
    size_t out = 0;
    unsigned shown = 0;
    err->caret = 0;
    const size_t start = cut_start(text, n, at, sizeof err->excerpt - 1);
    for (size_t i = start; i < n;) {
        bool whole;
        const size_t len = character(text, n, i, &whole);
        if (out + len >= sizeof err->excerpt)
            break;
        shown++;
        if (at >= i && at < i + len)
            err->caret = shown;
        if (whole && (unsigned char)text[i] >= 0x20 && text[i] != 0x7F)
            memcpy(err->excerpt + out, text + i, len);
        else
            err->excerpt[out] = whole ? ' ' : '?';
        out += len;
        i += len;
    }
    err->excerpt[out] = '\0';
    if (err->caret == 0)
        err->caret = shown + 1; /* behind the end of the line */
}

void sm_place(struct sm_error *err, const char *file, const char *text, size_t n, size_t offset)
{
    if (!err)
        return;
    unsigned line = 1;
    size_t start = 0;
    for (size_t i = 0; i < offset; i++) {
        if (text[i] != '\n')
            continue;
        line++;
        start = i + 1;
    }
    const char *lf = start < n ? memchr(text + start, '\n', n - start) : NULL;
    size_t length = lf ? (size_t)(lf - (text + start)) : n - start;
    if (length > 0 && text[start + length - 1] == '\r')
        length--;
    sm_place_in_line(err, file, line, text + start, length, offset - start + 1);
}
