/*
 * The workbench: a page on this machine over the live engine. A program of its own, so that the command stays quick to load;
 * 'slowmatch workbench' starts it:
 *
 *     slowmatch-workbench PORT [FILE]
 */
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "keep.h"
#include "server.h"

enum { DONE = 0, FAILED = 1, BAD_INPUT = 2 };

static int fail(int code, const char *what, const char *why)
{
    fprintf(stderr, "slowmatch workbench: error: %s%s%s\n", what, why ? ": " : "", why ? why : "");
    return code;
}

/* Goes to the file's folder, so that what it names is found as by 'slowmatch burn'. NULL, said, if there is no such file. */
static const char *enter_folder(char *file)
{
    char *slash = strrchr(file, '/');
    if (access(file, R_OK) != 0) {
        fail(BAD_INPUT, file, strerror(errno));
        return NULL;
    }
    if (!slash)
        return file;
    *slash = '\0';
    if (chdir(slash == file ? "/" : file) == 0)
        return slash + 1;
    fail(BAD_INPUT, file, strerror(errno));
    return NULL;
}

/* Faults of a motor are for the page to show, where they can be mended; what is no JSON it can't show. */
static bool is_json(const struct web_bench *bench, const char *file, const char *text, size_t n)
{
    struct sm_diag diag = {0};
    struct sm_motor *motor = NULL;
    const bool is_good =
        sm_motor_parse(text, n, file, &bench->load, NULL, &motor, &diag) != SM_E_SYNTAX || diag.n == 0;
    if (!is_good)
        fprintf(stderr, "%s:%u:%u: error: %s\n", file, diag.items[0].at.line, diag.items[0].at.column,
                diag.items[0].message);
    sm_motor_free(motor);
    sm_diag_release(&diag);
    return is_good;
}

/* Can the page open it? If not, what is wrong is said. */
static bool is_openable(const struct web_bench *bench, const char *file)
{
    struct web_reply text;
    struct sm_error err = {0};
    size_t blank = 0;
    web_reply_init(&text);
    bool is_good = web_keep_read(file, &text, &err) == SM_OK;
    while (is_good && blank < text.n && strchr(" \t\r\n", text.bytes[blank]))
        blank++;
    if (!is_good) {
        fail(BAD_INPUT, err.message, NULL);
    } else if (blank < text.n && text.bytes[blank] != '{') {
        fail(BAD_INPUT, file,
             "a motor file is JSON and begins with {; one that is known by its curve names that as its "
             "\"curve\"");
        is_good = false;
    } else {
        is_good = is_json(bench, file, text.bytes ? text.bytes : "", text.n);
    }
    web_reply_release(&text);
    return is_good;
}

/* Serves until it is asked to stop. The signals were blocked before the first thread. */
static void serve(const struct web_server *server, const sigset_t *ends)
{
    int number;
    printf("http://127.0.0.1:%u/%s/\n", server->port, server->token);
    fflush(stdout);
    fputs("open this address in a browser on this machine; Ctrl-C stops the workbench\n", stderr);
    while (sigwait(ends, &number) != 0)
        continue;
}

int main(int argc, char **argv)
{
    struct web_bench bench;
    struct web_server server;
    struct sm_error err = {0};
    sigset_t ends;
    char *rest;
    const char *file = NULL;
    const long port = argc > 1 ? strtol(argv[1], &rest, 10) : -1;
    if (argc < 2 || argc > 3 || *rest != '\0' || port < 0 || port > 65535)
        return fail(BAD_INPUT, "it is started by 'slowmatch workbench [--port N] [FILE]'", NULL);
    if (argc > 2 && !(file = enter_folder(argv[2])))
        return BAD_INPUT;
    if (web_bench_init(&bench, file, "/proc/self/exe", &err) != SM_OK) {
        web_bench_release(&bench);
        return fail(FAILED, err.message, NULL);
    }
    if (file && !is_openable(&bench, file)) {
        web_bench_release(&bench);
        return BAD_INPUT;
    }
    sigemptyset(&ends);
    sigaddset(&ends, SIGINT);
    sigaddset(&ends, SIGTERM);
    sigaddset(&ends, SIGHUP);
    pthread_sigmask(SIG_BLOCK, &ends, NULL);
    signal(SIGPIPE, SIG_IGN);
    if (!web_server_start(&server, &bench, (unsigned)port)) {
        web_bench_release(&bench);
        return fail(FAILED, "can't listen on this machine's own address",
                    port > 0 ? "is the port taken?" : NULL);
    }
    serve(&server, &ends);
    web_server_stop(&server);
    web_bench_release(&bench);
    return DONE;
}
