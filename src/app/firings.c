/* Records from a test stand: the calls that outsiders make. */
#include "base/text.h"
#include "doc/json_write.h"
#include "input/read_record.h"
#include "slowmatch/firing.h"

#include <string.h>

struct sm_stand_owner {
    struct sm_arena arena;
};

void sm_stand_init(struct sm_stand *stand)
{
    memset(stand, 0, sizeof *stand);
    sm_params_default(sm_stand_params, sm_n_stand_params, stand);
}

enum sm_status sm_stand_load(const char *path, struct sm_units *units, struct sm_stand_owner **owner,
                             struct sm_stand *stand, struct sm_diag *diag)
{
    struct sm_error err = {0};
    struct sm_json_doc *doc = NULL;
    struct sm_arena arena;
    *owner = NULL;
    sm_arena_init(&arena, NULL);
    struct sm_stand_owner *made = sm_arena_alloc(&arena, 1, sizeof *made);
    enum sm_status status =
        made ? sm_json_read_file(path, &doc, &err) : sm_fail(&err, SM_E_NOMEM, "out of memory");
    if (status != SM_OK) {
        sm_diag_add(diag, &err);
        sm_arena_release(&arena);
        return status;
    }
    const size_t before = diag->n;
    struct sm_reader reader = {.arena = &arena, .units = units, .diag = diag};
    status = sm_read_stand(&reader, sm_json_root(doc), stand);
    for (size_t i = before; i < diag->n; i++)
        sm_json_locate(doc, &diag->items[i]);
    sm_json_free(doc);
    made->arena = arena;
    *owner = made;
    if (status != SM_OK) {
        sm_stand_free(made);
        *owner = NULL;
    }
    return status;
}

void sm_stand_free(struct sm_stand_owner *owner)
{
    if (!owner)
        return;
    struct sm_arena arena = owner->arena; /* the owner lives in its own arena */
    sm_arena_release(&arena);
}

/* A firing with the arena that it lives in behind it. */
struct owned {
    struct sm_firing firing; /* first, so that a pointer to it is one to the whole */
    struct sm_arena arena;
};

enum sm_status sm_firing_load(const char *path, const struct sm_stand *stand, struct sm_units *units,
                              enum sm_burn_end burn_end, struct sm_firing **firing, struct sm_error *err)
{
    struct sm_arena arena;
    struct sm_record record;
    *firing = NULL;
    sm_arena_init(&arena, NULL);
    struct owned *owned = sm_arena_alloc(&arena, 1, sizeof *owned);
    enum sm_status status = owned ? sm_read_record(&arena, units, path, stand, &record, err)
                                  : sm_fail(err, SM_E_NOMEM, "out of memory");
    if (status == SM_OK)
        status = sm_reduce(&record, stand, burn_end, &arena, &owned->firing, err);
    if (status != SM_OK) {
        if (err && err->at.file[0] == '\0')
            strncpy(err->at.file, path, sizeof err->at.file - 1);
        sm_arena_release(&arena);
        return status;
    }
    owned->arena = arena;
    *firing = &owned->firing;
    return SM_OK;
}

void sm_firing_free(struct sm_firing *firing)
{
    if (!firing)
        return;
    struct sm_arena arena = ((struct owned *)firing)->arena; /* it lives in its own arena */
    sm_arena_release(&arena);
}
