#include "base/pool.h"

static void *take(void *user, size_t bytes)
{
    struct sm_pool *pool = user;
    return sm_arena_alloc(&pool->arena, 1, bytes);
}

static void give_back(void *user, void *memory)
{
    (void)user;
    (void)memory;
}

void sm_pool_init(struct sm_pool *pool, const struct sm_allocator *allocator)
{
    *pool = (struct sm_pool){.allocator = {take, give_back, pool}};
    sm_arena_init(&pool->arena, allocator);
}

void sm_pool_reset(struct sm_pool *pool)
{
    sm_arena_rewind(&pool->arena);
}

void sm_pool_release(struct sm_pool *pool)
{
    sm_arena_release(&pool->arena);
}
