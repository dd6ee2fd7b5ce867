/*
 * Feeds every file of some folders to a target, once each: the ordinary test.
 *
 *     fuzz_replay TARGET FOLDER...
 */
#include "fuzz.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static uint8_t *read_whole(const char *path, size_t *n)
{
    struct stat info;
    FILE *file = fopen(path, "rb");
    if (!file || fstat(fileno(file), &info) != 0 || !S_ISREG(info.st_mode)) {
        if (file)
            fclose(file);
        return NULL;
    }
    /* exactly as long as the file, so that a sanitizer sees a step beyond */
    uint8_t *bytes = malloc(info.st_size > 0 ? (size_t)info.st_size : 1);
    *n = bytes ? fread(bytes, 1, (size_t)info.st_size, file) : 0;
    fclose(file);
    return bytes;
}

static size_t replay(const struct fuzz_target *target, const char *folder)
{
    size_t n_inputs = 0;
    DIR *list = opendir(folder);
    for (struct dirent *entry; list && (entry = readdir(list));) {
        char path[4096];
        size_t n = 0;
        snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        uint8_t *bytes = read_whole(path, &n);
        if (!bytes)
            continue;
        fprintf(stderr, "%s\n", path); /* the last line is the one that failed */
        fuzz_run_one(target, bytes, n);
        free(bytes);
        n_inputs++;
    }
    if (list)
        closedir(list);
    return n_inputs;
}

int main(int argc, char **argv)
{
    size_t n = 0;
    for (size_t i = 0; argc > 2 && fuzz_target_list[i]; i++)
        if (strcmp(fuzz_target_list[i]->name, argv[1]) == 0) {
            fuzz_run_one(fuzz_target_list[i], (const uint8_t *)"", 0);
            for (int k = 2; k < argc; k++)
                n += replay(fuzz_target_list[i], argv[k]);
        }
    printf("%zu inputs\n", n);
    sm_units_free(fuzz_units());
    return n > 0 ? 0 : 1;
}
