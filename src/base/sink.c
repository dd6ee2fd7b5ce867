#include "base/sink.h"
#include "base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum sm_status sm_sink_bytes(struct sm_sink *sink, const char *bytes, size_t n, struct sm_error *err)
{
    const int code = sink->write(sink->user, bytes, n);
    if (code != 0)
        return sm_fail(err, code == ENOMEM ? SM_E_NOMEM : SM_E_IO, "can't write: %s", strerror(code));
    return SM_OK;
}

enum sm_status sm_sink_text(struct sm_sink *sink, const char *text, struct sm_error *err)
{
    return sm_sink_bytes(sink, text, strlen(text), err);
}

enum sm_status sm_sink_format(struct sm_sink *sink, struct sm_error *err, const char *fmt, ...)
{
    char line[1024];
    va_list args;
    va_start(args, fmt);
    const int n = sm_text_vformat(line, sizeof line, fmt, args);
    va_end(args);
    if (n < 0 || (size_t)n >= sizeof line)
        return sm_fail(err, SM_E_INTERNAL, "a line of %d bytes is too long for sm_sink_format", n);
    return sm_sink_bytes(sink, line, (size_t)n, err);
}

/* ---- files ---- */

struct sm_file_sink_state {
    FILE *stream;
    char *target;    /* what the finished file is called, links resolved */
    char *temporary; /* NULL: written straight to the target */
};

static int write_file(void *user, const char *bytes, size_t n)
{
    struct sm_file_sink_state *state = user;
    errno = 0;
    if (fwrite(bytes, 1, n, state->stream) != n)
        return errno ? errno : EIO;
    return 0;
}

static void free_state(struct sm_file_sink *file)
{
    struct sm_file_sink_state *state = file->state;
    if (state) {
        free(state->target);
        free(state->temporary);
        free(state);
    }
    *file = (struct sm_file_sink){0};
}

/* Returned: is path there and not a regular file, so that it can't be replaced by a rename? */
static int is_special(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode);
}

/* Opens a new file beside the target. The name holds the process number, so runs in one folder do not meet;
 * O_EXCL refuses a name that somebody has put there. */
static FILE *open_temporary(const char *target, char **name)
{
    const size_t size = strlen(target) + 48;
    *name = malloc(size);
    if (!*name)
        return NULL;
    for (unsigned attempt = 0; attempt < 100; attempt++) {
        snprintf(*name, size, "%s.%ld-%u.part", target, (long)getpid(), attempt);
        const int fd = open(*name, O_WRONLY | O_CREAT | O_EXCL, 0666);
        if (fd >= 0) {
            FILE *stream = fdopen(fd, "wb");
            if (!stream) {
                close(fd);
                unlink(*name);
            }
            return stream;
        }
        if (errno != EEXIST)
            break;
    }
    return NULL;
}

/* An existing file that may not be written must not be replaced by way of its folder's permission. */
static int target_refuses(const char *target)
{
    struct stat info;
    if (stat(target, &info) != 0)
        return 0;
    if (S_ISDIR(info.st_mode))
        return EISDIR;
    return access(target, W_OK) == 0 ? 0 : errno;
}

/* The name that a link at path leads to: as it stands, or in the link's folder. NULL if memory is out. */
static char *beside(const char *path, const char *leads_to)
{
    const char *slash = leads_to[0] == '/' ? NULL : strrchr(path, '/');
    const size_t n_folder = slash ? (size_t)(slash - path) + 1 : 0, n = strlen(leads_to);
    char *joined = malloc(n_folder + n + 1);
    if (joined) {
        memcpy(joined, path, n_folder);
        memcpy(joined + n_folder, leads_to, n + 1);
    }
    return joined;
}

/* What path leads to, all links followed, though there may be nothing yet. NULL, with errno, if it leads nowhere. */
static char *resolve(const char *path)
{
    enum { MOST_LINKS = 40 }; /* as many as Linux follows */
    char *at = realpath(path, NULL);
    if (at || errno == ELOOP)
        return at;
    at = strdup(path);
    for (int i = 0; at && i < MOST_LINKS; i++) {
        char leads_to[4096];
        const ssize_t n = readlink(at, leads_to, sizeof leads_to - 1);
        if (n < 0)
            return at;
        leads_to[n] = '\0';
        char *next = beside(at, leads_to);
        free(at);
        at = next;
    }
    errno = at ? ELOOP : ENOMEM;
    free(at);
    return NULL;
}

enum sm_status sm_file_sink_open(struct sm_file_sink *file, const char *path, struct sm_error *err)
{
    *file = (struct sm_file_sink){0};
    struct sm_file_sink_state *state = calloc(1, sizeof *state);
    if (!state)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    file->state = state;
    state->target = resolve(path);
    int code = state->target ? target_refuses(state->target) : errno;
    if (code == 0) {
        errno = 0;
        state->stream = is_special(state->target) ? fopen(state->target, "wb")
                                                  : open_temporary(state->target, &state->temporary);
        code = state->stream ? 0 : errno ? errno : EIO;
    }
    if (code != 0) {
        free_state(file);
        return sm_fail(err, code == ENOMEM ? SM_E_NOMEM : SM_E_IO, "can't write %.120s: %s", path,
                       strerror(code));
    }
    file->sink = (struct sm_sink){write_file, state};
    return SM_OK;
}

enum sm_status sm_file_sink_commit(struct sm_file_sink *file, struct sm_error *err)
{
    struct sm_file_sink_state *state = file->state;
    errno = 0;
    int bad = fflush(state->stream) != 0 || ferror(state->stream);
    /* The data must be down before the name changes, or a crash could leave an empty file under the final
     * name. */
    if (!bad && state->temporary)
        bad = fsync(fileno(state->stream)) != 0;
    int code = bad ? (errno ? errno : EIO) : 0;
    if (fclose(state->stream) != 0 && code == 0)
        code = errno ? errno : EIO;
    state->stream = NULL;
    if (code == 0 && state->temporary && rename(state->temporary, state->target) != 0)
        code = errno;
    enum sm_status status = SM_OK;
    if (code != 0) {
        status = sm_fail(err, SM_E_IO, "can't write %.120s: %s", state->target, strerror(code));
        sm_file_sink_abandon(file);
    }
    free_state(file);
    return status;
}

void sm_file_sink_abandon(struct sm_file_sink *file)
{
    struct sm_file_sink_state *state = file->state;
    if (!state)
        return;
    if (state->stream)
        fclose(state->stream);
    if (state->temporary)
        unlink(state->temporary);
    free_state(file);
}

/* ---- memory ---- */

static void *take(const struct sm_allocator *from, size_t n)
{
    return from ? from->alloc(from->user, n) : malloc(n);
}

static void give_back(const struct sm_allocator *from, void *memory)
{
    if (!memory)
        return;
    if (from)
        from->release(from->user, memory);
    else
        free(memory);
}

static int write_memory(void *user, const char *bytes, size_t n)
{
    struct sm_memory_sink *memory = user;
    if (n >= SIZE_MAX / 4 - memory->n)
        return ENOMEM;
    const size_t need = memory->n + n + 1;
    if (need > memory->capacity) {
        size_t capacity = memory->capacity ? memory->capacity : 4096;
        while (capacity < need)
            capacity *= 2;
        char *wider = take(memory->allocator, capacity);
        if (!wider)
            return ENOMEM;
        if (memory->n > 0)
            memcpy(wider, memory->bytes, memory->n);
        give_back(memory->allocator, memory->bytes);
        memory->bytes = wider;
        memory->capacity = capacity;
    }
    if (n > 0)
        memcpy(memory->bytes + memory->n, bytes, n);
    memory->n += n;
    memory->bytes[memory->n] = '\0';
    return 0;
}

void sm_memory_sink_init(struct sm_memory_sink *memory, const struct sm_allocator *allocator)
{
    *memory = (struct sm_memory_sink){.allocator = allocator};
    memory->sink = (struct sm_sink){write_memory, memory};
}

void sm_memory_sink_release(struct sm_memory_sink *memory)
{
    give_back(memory->allocator, memory->bytes);
    memory->bytes = NULL;
    memory->n = memory->capacity = 0;
}
