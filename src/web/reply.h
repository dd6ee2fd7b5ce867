/* What goes back to the page: bytes that grow, and JSON written into them. */
#ifndef WEB_REPLY_H
#define WEB_REPLY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "slowmatch/slowmatch.h"

struct web_reply {
    unsigned status;  /* of HTTP; 200 to begin with */
    const char *type; /* media type, static */
    char name[96];    /* of the file that the browser is to keep it as; empty: none */
    char *bytes;      /* n of them, owned */
    size_t n, room;
    bool is_full;  /* memory ran out: what stands here is cut off */
    bool is_later; /* the next member or element has a comma before it */
};

void web_reply_init(struct web_reply *reply);
void web_reply_release(struct web_reply *reply);

void web_put(struct web_reply *reply, const char *bytes, size_t n);
/* As a sink, for the library's own writers; borrowed from the reply. */
struct sm_sink web_sink(struct web_reply *reply);

/* A plain text in place of all that was put so far. */
void web_refuse(struct web_reply *reply, unsigned status, const char *text);

/* ---- JSON ---- */

void web_open(struct web_reply *reply, char bracket);
void web_close(struct web_reply *reply, char bracket);
void web_key(struct web_reply *reply, const char *key);
/* Text of any bytes: what is no UTF-8 becomes U+FFFD; NULL is null. */
void web_text(struct web_reply *reply, const char *text);
void web_textn(struct web_reply *reply, const char *text, size_t n);
void web_whole(struct web_reply *reply, long long number);
void web_double(struct web_reply *reply, double number); /* to all its digits; null if it is none */
void web_flag(struct web_reply *reply, bool flag);
/* A key and its value. */
void web_member(struct web_reply *reply, const char *key, const char *text);

#endif
