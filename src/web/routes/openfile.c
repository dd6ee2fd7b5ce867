/* The file named at the start, or a motor to begin with. */
#include "../keep.h"

extern const unsigned char web_start_json[];
extern const size_t web_start_json_size;

static void answer(struct web_bench *bench, const struct web_request *request, struct web_reply *reply)
{
    struct web_reply text;
    struct sm_error err = {0};
    char hash[SM_HASH_TEXT] = "";
    (void)request;
    web_reply_init(&text);
    if (!bench->file)
        web_put(&text, (const char *)web_start_json, web_start_json_size);
    else if (web_keep_read(bench->file, &text, &err) != SM_OK ||
             sm_hash_file(bench->file, hash, &err) != SM_OK) {
        web_problem(reply, &err);
        web_reply_release(&text);
        return;
    }
    web_open(reply, '{');
    web_member(reply, "name", bench->file);
    web_member(reply, "hash", hash);
    web_key(reply, "text");
    web_textn(reply, text.bytes ? text.bytes : "", text.n);
    web_close(reply, '}');
    web_reply_release(&text);
}

const struct web_route web_route_openfile = {.path = "file", .answer = answer};
