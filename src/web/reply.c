#include "reply.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void web_reply_init(struct web_reply *reply)
{
    *reply = (struct web_reply){.status = 200, .type = "application/json"};
}

void web_reply_release(struct web_reply *reply)
{
    free(reply->bytes);
    reply->bytes = NULL;
    reply->n = reply->room = 0;
}

void web_put(struct web_reply *reply, const char *bytes, size_t n)
{
    if (reply->is_full)
        return;
    if (n > reply->room - reply->n) {
        const size_t room = 2 * (reply->n + n) + 1024;
        char *wider = realloc(reply->bytes, room);
        if (!wider) {
            reply->is_full = true;
            return;
        }
        reply->bytes = wider;
        reply->room = room;
    }
    memcpy(reply->bytes + reply->n, bytes, n);
    reply->n += n;
}

static int take(void *user, const char *bytes, size_t n)
{
    struct web_reply *reply = user;
    web_put(reply, bytes, n);
    return reply->is_full ? ENOMEM : 0;
}

struct sm_sink web_sink(struct web_reply *reply)
{
    return (struct sm_sink){take, reply};
}

void web_refuse(struct web_reply *reply, unsigned status, const char *text)
{
    reply->status = status;
    reply->type = "text/plain; charset=utf-8";
    reply->name[0] = '\0';
    reply->n = 0;
    web_put(reply, text, strlen(text));
    web_put(reply, "\n", 1);
}

/* ---- JSON ---- */

static void begin(struct web_reply *reply)
{
    if (reply->is_later)
        web_put(reply, ",", 1);
}

void web_open(struct web_reply *reply, char bracket)
{
    begin(reply);
    web_put(reply, &bracket, 1);
    reply->is_later = false;
}

void web_close(struct web_reply *reply, char bracket)
{
    web_put(reply, &bracket, 1);
    reply->is_later = true;
}

/* Bytes of the UTF-8 sequence (RFC 3629) that starts here; 0 if it is none. */
static size_t sequence(const unsigned char *s, size_t n)
{
    const size_t length = s[0] < 0x80   ? 1
                          : s[0] < 0xC2 ? 0
                          : s[0] < 0xE0 ? 2
                          : s[0] < 0xF0 ? 3
                          : s[0] < 0xF5 ? 4
                                        : 0;
    if (length == 0 || length > n)
        return 0;
    for (size_t i = 1; i < length; i++)
        if ((s[i] & 0xC0) != 0x80)
            return 0;
    if (length > 2 && ((s[0] == 0xE0 && s[1] < 0xA0) || (s[0] == 0xED && s[1] > 0x9F) ||
                       (s[0] == 0xF0 && s[1] < 0x90) || (s[0] == 0xF4 && s[1] > 0x8F)))
        return 0; /* too long a form, a surrogate, or past U+10FFFF */
    return length;
}

void web_textn(struct web_reply *reply, const char *text, size_t n)
{
    begin(reply);
    web_put(reply, "\"", 1);
    for (size_t i = 0; i < n;) {
        const unsigned char *at = (const unsigned char *)text + i;
        const size_t length = sequence(at, n - i);
        if (length == 0)
            web_put(reply, "\xEF\xBF\xBD", 3);
        else if (*at == '"' || *at == '\\') {
            const char pair[] = {'\\', (char)*at};
            web_put(reply, pair, 2);
        } else if (*at < 0x20 || *at == 0x7F) {
            char code[8];
            web_put(reply, code, (size_t)snprintf(code, sizeof code, "\\u%04x", *at));
        } else
            web_put(reply, text + i, length);
        i += length > 0 ? length : 1;
    }
    web_put(reply, "\"", 1);
    reply->is_later = true;
}

void web_text(struct web_reply *reply, const char *text)
{
    if (text) {
        web_textn(reply, text, strlen(text));
        return;
    }
    begin(reply);
    web_put(reply, "null", 4);
    reply->is_later = true;
}

void web_key(struct web_reply *reply, const char *key)
{
    web_text(reply, key);
    web_put(reply, ":", 1);
    reply->is_later = false;
}

void web_whole(struct web_reply *reply, long long number)
{
    char text[32];
    begin(reply);
    web_put(reply, text, (size_t)snprintf(text, sizeof text, "%lld", number));
    reply->is_later = true;
}

void web_double(struct web_reply *reply, double number)
{
    char text[40];
    begin(reply);
    web_put(reply, text,
            (size_t)(isfinite(number) ? snprintf(text, sizeof text, "%.17g", number)
                                      : snprintf(text, sizeof text, "null")));
    reply->is_later = true;
}

void web_flag(struct web_reply *reply, bool flag)
{
    begin(reply);
    web_put(reply, flag ? "true" : "false", flag ? 4 : 5);
    reply->is_later = true;
}

void web_member(struct web_reply *reply, const char *key, const char *text)
{
    web_key(reply, key);
    web_text(reply, text);
}
