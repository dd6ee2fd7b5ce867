#define _GNU_SOURCE /* dladdr */
#include "app/data.h"
#include "base/text.h"

#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/auxv.h>
#include <sys/stat.h>

char *sm_data_path(struct sm_arena *arena, const char *folder, const char *name, const char *ending)
{
    const size_t size = strlen(folder) + strlen(name) + strlen(ending) + 2;
    char *path = sm_arena_alloc(arena, size, 1);
    if (path)
        sm_text_format(path, size, "%s%s%s%s", folder, folder[0] ? "/" : "", name, ending);
    return path;
}

const char *sm_data_seen_from(struct sm_arena *arena, const char *folder, const char *path)
{
    return path[0] == '/' ? path : sm_data_path(arena, folder, path, "");
}

char *sm_data_folder(struct sm_arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (!slash)
        return sm_arena_strdup(arena, "");
    return slash == path ? sm_arena_strdup(arena, "/")
                         : sm_arena_strndup(arena, path, (size_t)(slash - path));
}

static int is_folder(const char *path)
{
    struct stat info;
    return path && stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

/* PREFIX/share/slowmatch seen from a file in PREFIX/bin, PREFIX/lib or PREFIX/lib/TRIPLET, wherever PREFIX went. */
static char *beside(struct sm_arena *arena, const char *file)
{
    static const char *const ways[] = {"../share/slowmatch/propellants", "../../share/slowmatch/propellants"};
    char *real = file && strchr(file, '/') ? realpath(file, NULL) : NULL;
    char *folder = real ? sm_data_folder(arena, real) : NULL;
    free(real);
    for (size_t i = 0; folder && i < SM_COUNT(ways); i++) {
        char *path = sm_data_path(arena, folder, ways[i], "");
        if (is_folder(path))
            return path;
    }
    return NULL;
}

/* The file that this code was loaded from: the shared library, or the program if it is linked into that. */
static const char *own_file(void)
{
    static const char here;
    Dl_info self;
    if (dladdr(&here, &self) && self.dli_fname && strchr(self.dli_fname, '/'))
        return self.dli_fname;
    return (const char *)getauxval(AT_EXECFN); /* a program found by PATH knows itself without a folder */
}

enum sm_status sm_data_propellants(struct sm_arena *arena, const struct sm_load_options *options,
                                   const char **folder, struct sm_error *err)
{
    if (options && options->propellant_folder) {
        *folder = options->propellant_folder;
        return is_folder(*folder)
                   ? SM_OK
                   : sm_fail(err, SM_E_IO, "there is no folder of propellants at %.150s", *folder);
    }
    const char *places[] = {beside(arena, options ? options->program : NULL), beside(arena, own_file()),
                            SM_INSTALLED_PROPELLANTS, SM_SOURCE_PROPELLANTS};
    for (size_t i = 0; i < SM_COUNT(places); i++)
        if (is_folder(places[i])) {
            *folder = places[i];
            return SM_OK;
        }
    return sm_fail(err, SM_E_IO, "the folder of propellants was not found; name one");
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

enum sm_status sm_data_propellant_names(struct sm_arena *arena, const char *folder, char ***names, size_t *n,
                                        struct sm_error *err)
{
    size_t capacity = 0;
    *names = NULL;
    *n = 0;
    DIR *dir = opendir(folder);
    if (!dir)
        return sm_fail(err, errno == ENOMEM ? SM_E_NOMEM : SM_E_IO, "can't read the folder %.150s: %s",
                       folder, strerror(errno));
    enum sm_status status = SM_OK;
    for (struct dirent *entry = readdir(dir); entry && status == SM_OK; entry = readdir(dir)) {
        const size_t length = strlen(entry->d_name);
        if (length <= 5 || strcmp(entry->d_name + length - 5, ".json") != 0)
            continue;
        char **room = sm_arena_grow(arena, *names, *n, &capacity, *n + 1, sizeof *room);
        char *name = sm_arena_strndup(arena, entry->d_name, length - 5);
        if (!room || !name)
            status = sm_fail(err, SM_E_NOMEM, "out of memory");
        else {
            *names = room;
            room[(*n)++] = name;
        }
    }
    closedir(dir);
    if (*n > 1)
        qsort(*names, *n, sizeof **names, by_name);
    return status;
}
