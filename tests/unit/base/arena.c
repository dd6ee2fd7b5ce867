#include "base/arena.h"

#include <criterion/criterion.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct counting {
    size_t n_live, n_made, fail_at; /* the fail_at-th request fails, from 1; 0: none */
};

static void *take(void *user, size_t bytes)
{
    struct counting *c = user;
    if (++c->n_made == c->fail_at)
        return NULL;
    c->n_live++;
    return malloc(bytes);
}

static void give(void *user, void *memory)
{
    struct counting *c = user;
    c->n_live--;
    free(memory);
}

Test(arena, gives_zeroed_aligned_room_and_returns_all_of_it)
{
    struct counting c = {0};
    const struct sm_allocator allocator = {take, give, &c};
    struct sm_arena arena;
    sm_arena_init(&arena, &allocator);
    for (size_t n = 0; n < 2000; n += 7) {
        unsigned char *room = sm_arena_alloc(&arena, n, 3);
        cr_assert(room != NULL);
        cr_assert((uintptr_t)room % _Alignof(max_align_t) == 0);
        for (size_t i = 0; i < 3 * n; i++)
            cr_assert(room[i] == 0);
        memset(room, 0xA5, 3 * n);
    }
    cr_expect(c.n_live > 0);
    sm_arena_release(&arena);
    cr_expect(c.n_live == 0);
    sm_arena_release(&arena); /* twice is fine */
}

Test(arena, refuses_sizes_that_overflow)
{
    struct sm_arena arena;
    sm_arena_init(&arena, NULL);
    cr_expect(sm_arena_alloc(&arena, SIZE_MAX / 2, 8) == NULL);
    cr_expect(sm_arena_alloc(&arena, SIZE_MAX, 1) == NULL);
    sm_arena_release(&arena);
}

Test(arena, tells_when_memory_is_out)
{
    struct counting c = {.fail_at = 1};
    const struct sm_allocator allocator = {take, give, &c};
    struct sm_arena arena;
    size_t capacity = 0;
    sm_arena_init(&arena, &allocator);
    cr_expect(sm_arena_grow(&arena, NULL, 0, &capacity, 10, 8) == NULL);
    cr_expect(capacity == 0);
    cr_expect(sm_arena_strdup(&arena, "later") != NULL);
    sm_arena_release(&arena);
    cr_expect(c.n_live == 0);
}

Test(arena, grows_and_keeps_what_was_there)
{
    struct sm_arena arena;
    int *list = NULL;
    size_t capacity = 0;
    sm_arena_init(&arena, NULL);
    for (size_t n = 0; n < 5000; n++) {
        list = sm_arena_grow(&arena, list, n, &capacity, n + 1, sizeof *list);
        cr_assert(list != NULL && capacity > n);
        list[n] = (int)n;
    }
    for (size_t n = 0; n < 5000; n++)
        cr_assert(list[n] == (int)n);
    sm_arena_release(&arena);
}
