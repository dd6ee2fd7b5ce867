/*
 * Memory for work that is done over and over: an allocator whose room is kept from one time to the next, so that after the
 * first few times nothing is asked of the system.
 */
#ifndef SM_BASE_POOL_H
#define SM_BASE_POOL_H

#include "base/arena.h"

struct sm_pool {
    struct sm_allocator allocator; /* hand out its address; releasing one piece does nothing */
    struct sm_arena arena;
};

/* pool must stay where it is while it is in use. One thread at a time. */
void sm_pool_init(struct sm_pool *pool, const struct sm_allocator *allocator);

/* Everything handed out is void from here on; its room is used again. */
void sm_pool_reset(struct sm_pool *pool);
void sm_pool_release(struct sm_pool *pool);

#endif
