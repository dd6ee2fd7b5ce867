/* JSON text, and values set in it as --set does. */
#include "fuzz.h"

#include <string.h>

#include "doc/json.h"

/* Walks everything, so that a sanitizer sees what is no longer there. */
static size_t walk(const struct sm_json_doc *doc, const struct sm_json *value)
{
    size_t n = 1 + sm_json_line(doc, value);
    const char *key = sm_json_key(value), *text = sm_json_string(value);
    n += (key ? strlen(key) : 0) + (text ? strlen(text) : 0);
    for (const struct sm_json *child = sm_json_first(value); child; child = sm_json_next(child))
        n += walk(doc, child);
    return n;
}

static void run(const uint8_t *bytes, size_t n)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    const uint8_t *end = n > 0 ? memchr(bytes, '\0', n) : NULL;
    const size_t n_text = end ? (size_t)(end - bytes) : n;
    const enum sm_status status = sm_json_parse((const char *)bytes, n_text, "input", &doc, &err);
    fuzz_expect((status == SM_OK) == (doc != NULL), "a document comes with success alone");
    fuzz_expect(status == SM_OK || err.message[0] != '\0', "a refusal says why");
    if (!doc)
        return;
    fuzz_expect(walk(doc, sm_json_root(doc)) > 0, "a document has a root");
    /* behind a NUL: a place and a value, each ended by a NUL or the input's end */
    if (end) {
        char where[256], value[256];
        const char *rest = (const char *)end + 1;
        const size_t left = n - n_text - 1, n_where = strnlen(rest, left);
        const size_t n_value = n_where < left ? strnlen(rest + n_where + 1, left - n_where - 1) : 0;
        if (n_where < sizeof where && n_value < sizeof value) {
            memcpy(where, rest, n_where);
            where[n_where] = '\0';
            memcpy(value, n_value > 0 ? rest + n_where + 1 : "", n_value);
            value[n_value] = '\0';
            if (sm_json_set(doc, where, value, "--set", &err) != SM_OK)
                sm_json_locate(doc, &err);
            walk(doc, sm_json_root(doc));
            sm_json_remove(doc, where);
            walk(doc, sm_json_root(doc));
        }
    }
    sm_json_free(doc);
}

const struct fuzz_target fuzz_target_json = {"json", run};
