/* Puts a motor back to the file that was named at the start; what was there is kept beside it. */
#include "../keep.h"

#include <string.h>

static bool say(struct web_reply *reply, const char *text)
{
    struct sm_error err = {.status = SM_E_IO};
    snprintf(err.message, sizeof err.message, "%s", text);
    web_problem(reply, &err);
    return false;
}

/* Is the file still as this page read it, or is that not to matter? */
static bool may_save(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    char now[SM_HASH_TEXT];
    struct sm_error err = {0};
    const char *known = web_query(request, "hash");
    if (!bench->file)
        return say(reply, "no file was named when the workbench was started: save a download");
    if (sm_hash_file(bench->file, now, &err) != SM_OK) {
        web_problem(reply, &err);
        return false;
    }
    if (known && strcmp(known, now) == 0)
        return true;
    return say(
        reply,
        "the file has changed since this page read it, by another tab or program: save a download, or read "
        "the file again");
}

static void save(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    char hash[SM_HASH_TEXT], backup[300];
    struct sm_error err = {0};
    if (!may_save(bench, request, reply))
        return;
    if (web_keep_write(bench->file, request->body, request->n_body, &err) != SM_OK ||
        sm_hash_file(bench->file, hash, &err) != SM_OK) {
        web_problem(reply, &err);
        return;
    }
    snprintf(backup, sizeof backup, "%.250s~", bench->file);
    web_open(reply, '{');
    web_member(reply, "hash", hash);
    web_member(reply, "saved", bench->file);
    web_member(reply, "backup", backup);
    web_close(reply, '}');
}

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    struct sm_motor *motor =
        web_motor(bench, request, 0, reply); /* what can't be read is not put over what can */
    if (!motor)
        return;
    sm_motor_free(motor);
    pthread_mutex_lock(&bench->saving);
    save(bench, request, reply);
    pthread_mutex_unlock(&bench->saving);
}

const struct web_route web_route_savefile = {.path = "save", .is_post = true, .answer = answer};
