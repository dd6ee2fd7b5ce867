#include "base/fail.h"
#include "base/text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

const char *sm_status_text(enum sm_status status)
{
#define SM_STATUS_TEXT(code, text) text,
    static const char *const texts[] = {SM_STATUS_LIST(SM_STATUS_TEXT)};
#undef SM_STATUS_TEXT
    if ((size_t)status >= SM_COUNT(texts))
        return "unknown status";
    return texts[status];
}

void sm_diag_add(struct sm_diag *diag, const struct sm_error *problem)
{
    if (!diag)
        return;
    diag->n_found++;
    if (!diag->items)
        diag->items = calloc(SM_DIAG_MAX, sizeof *diag->items);
    if (!diag->items || diag->n >= SM_DIAG_MAX)
        return;
    diag->items[diag->n++] = *problem;
}

void sm_diag_release(struct sm_diag *diag)
{
    if (!diag)
        return;
    free(diag->items);
    *diag = (struct sm_diag){0};
}

enum sm_status sm_fail(struct sm_error *err, enum sm_status status, const char *fmt, ...)
{
    if (!err)
        return status;
    memset(err, 0, offsetof(struct sm_error, message));
    err->excerpt[0] = '\0';
    err->caret = 0;
    err->status = status;
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(err->message, sizeof err->message, fmt, args);
    va_end(args);
    return status;
}

/* Joins head and tail in tail's place. What does not fit is cut from the middle and shown as "...". */
static void prepend(char *tail, size_t size, const char *head)
{
    const size_t n_head = strlen(head), n_tail = strlen(tail);
    if (n_head + n_tail < size) {
        memmove(tail + n_head, tail, n_tail + 1);
        memcpy(tail, head, n_head);
        return;
    }
    static const char cut[] = "...";
    const size_t room = size - sizeof cut;
    const size_t keep_head = n_head < room / 2 ? n_head : room / 2;
    const size_t keep_tail = room - keep_head < n_tail ? room - keep_head : n_tail;
    memmove(tail + keep_head + sizeof cut - 1, tail + (n_tail - keep_tail), keep_tail + 1);
    memcpy(tail, head, keep_head);
    memcpy(tail + keep_head, cut, sizeof cut - 1);
}

enum sm_status sm_at(struct sm_error *err, enum sm_status status, const char *fmt, ...)
{
    if (!err || status == SM_OK)
        return status;
    char piece[sizeof err->at.path];
    va_list args;
    va_start(args, fmt);
    sm_text_vformat(piece, sizeof piece, fmt, args);
    va_end(args);
    prepend(err->at.path, sizeof err->at.path, piece);
    return status;
}

enum sm_status sm_while(struct sm_error *err, enum sm_status status, const char *fmt, ...)
{
    if (!err || status == SM_OK)
        return status;
    char phrase[sizeof err->message];
    va_list args;
    va_start(args, fmt);
    const int n = sm_text_vformat(phrase, sizeof phrase, fmt, args);
    va_end(args);
    if (n >= 0 && (size_t)n + 3 < sizeof phrase) {
        memcpy(phrase + n, ": ", 3);
        prepend(err->message, sizeof err->message, phrase);
    }
    return status;
}
