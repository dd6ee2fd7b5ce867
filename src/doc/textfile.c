#include "doc/textfile.h"
#include "doc/place.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FIRST_ROOM = 64 << 10 };

enum sm_status sm_textfile_fail(const char *path, int code, struct sm_error *err)
{
    const char *why = code == ENOENT    ? "there is no such file"
                      : code == ENOTDIR ? "there is no such file"
                      : code == EISDIR  ? "it is a folder, not a file"
                      : code == EACCES  ? "no permission to read it"
                      : code != 0       ? strerror(code)
                                        : "reading failed";
    if (code == ENOMEM) /* the stream's own room */
        return sm_fail(err, SM_E_NOMEM, "out of memory reading %.160s", path);
    sm_fail(err, SM_E_IO, "can't read %.160s: %s", path, why);
    sm_place_file(err, path);
    return SM_E_IO;
}

static enum sm_status too_long(const char *path, size_t limit, struct sm_error *err)
{
    sm_fail(err, SM_E_RANGE, "%.160s has more than %zu bytes, the limit for such a file", path, limit);
    sm_place_file(err, path);
    return SM_E_RANGE;
}

/* Reads stream to its end into a buffer that grows, one byte past the limit at most. */
static enum sm_status read_all(FILE *stream, const char *path, size_t limit, char **text, size_t *n,
                               struct sm_error *err)
{
    size_t used = 0, room = 0;
    char *buf = NULL;
    for (;;) {
        if (used + 1 >= room) {
            room = room ? room * 2 : FIRST_ROOM;
            char *wider = realloc(buf, room);
            if (!wider) {
                free(buf);
                return sm_fail(err, SM_E_NOMEM, "out of memory reading %.160s", path);
            }
            buf = wider;
        }
        errno = 0;
        const size_t got = fread(buf + used, 1, room - used - 1, stream);
        used += got;
        if (used > limit || got == 0)
            break;
    }
    if (ferror(stream) || used > limit) {
        const int code = errno;
        free(buf);
        return used > limit ? too_long(path, limit, err) : sm_textfile_fail(path, code, err);
    }
    buf[used] = '\0';
    *text = buf;
    *n = used;
    return SM_OK;
}

enum sm_status sm_textfile_read(const char *path, size_t limit, char **text, size_t *n, struct sm_error *err)
{
    *text = NULL;
    *n = 0;
    errno = 0;
    FILE *stream = fopen(path, "rb");
    if (!stream)
        return sm_textfile_fail(path, errno, err);
    const enum sm_status status = read_all(stream, path, limit, text, n, err);
    fclose(stream);
    return status;
}
