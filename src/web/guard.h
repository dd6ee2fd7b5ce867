/* Who may ask: only pages that came from this server, by its secret address. */
#ifndef WEB_GUARD_H
#define WEB_GUARD_H

#include <stdbool.h>

enum { WEB_TOKEN_BYTES = 16, WEB_TOKEN_TEXT = 2 * WEB_TOKEN_BYTES + 1 };

/* 128 random bits as hexadecimal digits. False if the system gives none. */
bool web_token_make(char token[WEB_TOKEN_TEXT]);
/* The path behind "/TOKEN/"; NULL if the address does not begin so. Takes as long wherever the first difference is. */
const char *web_token_path(const char *token, const char *url);
/* Was the server called by a loopback name of its own? What else leads here is another site's name. */
bool web_host_is_ours(const char *host, unsigned port);
/* Does a request come from a page of ours? */
bool web_origin_is_ours(const char *origin, unsigned port);

#endif
