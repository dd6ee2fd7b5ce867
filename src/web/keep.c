#include "keep.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

static enum sm_status fault(struct sm_error *err, const char *path)
{
    if (err) {
        *err = (struct sm_error){.status = SM_E_IO};
        snprintf(err->message, sizeof err->message, "can't read %.120s: %.80s", path, strerror(errno));
    }
    return SM_E_IO;
}

enum sm_status web_keep_read(const char *path, struct web_reply *out, struct sm_error *err)
{
    char bytes[1 << 14];
    size_t n;
    FILE *file = fopen(path, "rb");
    if (!file)
        return fault(err, path);
    while ((n = fread(bytes, 1, sizeof bytes, file)) > 0 && out->n <= WEB_MAX_BODY)
        web_put(out, bytes, n);
    const bool is_bad = ferror(file) || out->is_full;
    fclose(file);
    if (out->n > WEB_MAX_BODY)
        errno = EFBIG;
    return is_bad || out->n > WEB_MAX_BODY ? fault(err, path) : SM_OK;
}

static enum sm_status write_whole(const char *path, const char *text, size_t n, struct sm_error *err)
{
    struct sm_file_sink file;
    const enum sm_status status = sm_file_sink_open(&file, path, err);
    if (status != SM_OK)
        return status;
    errno = file.sink.write(file.sink.user, text, n);
    if (errno == 0)
        return sm_file_sink_commit(&file, err);
    sm_file_sink_abandon(&file);
    return fault(err, path);
}

enum sm_status web_keep_write(const char *path, const char *text, size_t n, struct sm_error *err)
{
    struct web_reply before;
    char backup[4200];
    web_reply_init(&before);
    snprintf(backup, sizeof backup, "%.4096s~", path);
    enum sm_status status = web_keep_read(path, &before, err);
    if (status == SM_OK)
        status = write_whole(backup, before.bytes ? before.bytes : "", before.n, err);
    web_reply_release(&before);
    return status == SM_OK ? write_whole(path, text, n, err) : status;
}
