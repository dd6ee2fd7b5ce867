#include "guard.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

bool web_token_make(char token[WEB_TOKEN_TEXT])
{
    unsigned char bytes[WEB_TOKEN_BYTES];
    FILE *source = fopen("/dev/urandom", "rb");
    if (!source)
        return false;
    const size_t n = fread(bytes, 1, sizeof bytes, source);
    fclose(source);
    for (size_t i = 0; i < sizeof bytes; i++)
        snprintf(token + 2 * i, 3, "%02x", bytes[i]);
    return n == sizeof bytes;
}

const char *web_token_path(const char *token, const char *url)
{
    const size_t n = strlen(token);
    unsigned difference = 0;
    if (url[0] != '/' || strlen(url) < n + 2 || url[n + 1] != '/')
        return NULL;
    for (size_t i = 0; i < n; i++)
        difference |= (unsigned)(unsigned char)token[i] ^ (unsigned)(unsigned char)url[i + 1];
    return difference == 0 ? url + n + 2 : NULL;
}

bool web_host_is_ours(const char *host, unsigned port)
{
    static const char *const names[] = {"127.0.0.1", "localhost"};
    char ours[64];
    for (size_t i = 0; host && i < sizeof names / sizeof names[0]; i++) {
        snprintf(ours, sizeof ours, "%s:%u", names[i], port);
        if (strcasecmp(host, ours) == 0)
            return true;
    }
    return false;
}

bool web_origin_is_ours(const char *origin, unsigned port)
{
    static const char scheme[] = "http://";
    return origin && strncmp(origin, scheme, sizeof scheme - 1) == 0 &&
           web_host_is_ours(origin + sizeof scheme - 1, port);
}
