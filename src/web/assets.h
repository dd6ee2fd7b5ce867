/* The page's own parts, kept in the program; none is read from disk. */
#ifndef WEB_ASSETS_H
#define WEB_ASSETS_H

#include <stddef.h>

struct web_asset {
    const char *path, *type;
    const char *bytes; /* n of them, static */
    size_t n;
};
/* False if there is none by that path. */
int web_asset_find(const char *path, struct web_asset *asset);

#endif
