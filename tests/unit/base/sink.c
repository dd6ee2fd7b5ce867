#include "base/sink.h"

#include <criterion/criterion.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];

static void enter(void)
{
    strcpy(folder, "/tmp/slowmatch-sink-XXXXXX");
    cr_assert(mkdtemp(folder) != NULL);
    cr_assert(chdir(folder) == 0);
}

static void leave(void)
{
    DIR *dir = opendir(".");
    for (struct dirent *entry = readdir(dir); entry; entry = readdir(dir))
        unlink(entry->d_name);
    closedir(dir);
    cr_assert(chdir("/") == 0);
    rmdir(folder);
}

static size_t files_here(void)
{
    size_t n = 0;
    DIR *dir = opendir(".");
    for (struct dirent *entry = readdir(dir); entry; entry = readdir(dir))
        n += entry->d_name[0] != '.';
    closedir(dir);
    return n;
}

static void expect_text(const char *path, const char *text)
{
    char buf[64] = "";
    FILE *f = fopen(path, "rb");
    cr_assert(f != NULL);
    buf[fread(buf, 1, sizeof buf - 1, f)] = '\0';
    fclose(f);
    cr_expect_str_eq(buf, text);
}

TestSuite(sink, .init = enter, .fini = leave);

Test(sink, a_file_appears_only_when_committed)
{
    struct sm_file_sink file;
    struct sm_error err = {0};
    cr_assert(sm_file_sink_open(&file, "out.txt", &err) == SM_OK);
    cr_assert(sm_sink_text(&file.sink, "hello", &err) == SM_OK);
    cr_expect(access("out.txt", F_OK) != 0);
    cr_assert(sm_file_sink_commit(&file, &err) == SM_OK);
    expect_text("out.txt", "hello");
    cr_expect(files_here() == 1, "no temporary is left");
}

Test(sink, an_abandoned_file_leaves_what_was_there)
{
    struct sm_file_sink file;
    FILE *old = fopen("out.txt", "w");
    fputs("old", old);
    fclose(old);
    cr_assert(sm_file_sink_open(&file, "out.txt", NULL) == SM_OK);
    cr_assert(sm_sink_text(&file.sink, "new", NULL) == SM_OK);
    sm_file_sink_abandon(&file);
    expect_text("out.txt", "old");
    cr_expect(files_here() == 1);
}

Test(sink, a_link_is_written_through)
{
    struct sm_file_sink file;
    struct stat info;
    FILE *old = fopen("real.txt", "w");
    fclose(old);
    cr_assert(symlink("real.txt", "link.txt") == 0);
    cr_assert(sm_file_sink_open(&file, "link.txt", NULL) == SM_OK);
    cr_assert(sm_sink_text(&file.sink, "new", NULL) == SM_OK);
    cr_assert(sm_file_sink_commit(&file, NULL) == SM_OK);
    expect_text("real.txt", "new");
    cr_assert(lstat("link.txt", &info) == 0);
    cr_expect(S_ISLNK(info.st_mode));
}

Test(sink, a_full_device_is_an_error_of_output)
{
    struct sm_file_sink file;
    struct sm_error err = {0};
    cr_assert(sm_file_sink_open(&file, "/dev/full", &err) == SM_OK);
    enum sm_status status = sm_sink_text(&file.sink, "hello", &err);
    status = sm_file_sink_commit(&file, &err);
    cr_expect(status == SM_E_IO);
    cr_expect(strstr(err.message, "No space") != NULL, "%s", err.message);
}

Test(sink, a_folder_or_a_missing_one_is_refused)
{
    struct sm_file_sink file;
    struct sm_error err = {0};
    cr_expect(sm_file_sink_open(&file, "/tmp", &err) == SM_E_IO);
    cr_expect(sm_file_sink_open(&file, "none/out.txt", &err) == SM_E_IO);
    cr_expect(strstr(err.message, "none/out.txt") != NULL, "%s", err.message);
}

Test(sink, memory_keeps_a_nul_behind_its_bytes)
{
    struct sm_memory_sink memory;
    sm_memory_sink_init(&memory, NULL);
    for (int i = 0; i < 3000; i++)
        cr_assert(sm_sink_format(&memory.sink, NULL, "%04d", i) == SM_OK);
    cr_expect(memory.n == 12000);
    cr_expect(strlen(memory.bytes) == memory.n);
    cr_expect(strncmp(memory.bytes + 4 * 2999, "2999", 4) == 0);
    sm_memory_sink_release(&memory);
}
