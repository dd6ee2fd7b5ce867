#include "base/arena.h"

#include <stdalign.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct sm_arena_block {
    struct sm_arena_block *older;
    size_t used, size; /* of the bytes behind this header [bytes] */
};

enum { FIRST_BLOCK = 16 << 10, ALIGN = alignof(max_align_t) };

/* With SM_ARENA_DEBUG every request is a block of its own, so that sanitizers see an overrun of each. */
#ifdef SM_ARENA_DEBUG
static const int one_request_per_block = 1;
#else
static const int one_request_per_block = 0;
#endif

static size_t round_up(size_t n)
{
    return (n + ALIGN - 1) / ALIGN * ALIGN;
}

static unsigned char *bytes_of(struct sm_arena_block *block)
{
    return (unsigned char *)block + round_up(sizeof *block);
}

void sm_arena_init(struct sm_arena *arena, const struct sm_allocator *allocator)
{
    *arena = (struct sm_arena){.allocator = allocator};
}

void sm_arena_release(struct sm_arena *arena)
{
    const struct sm_allocator *from = arena->allocator;
    for (struct sm_arena_block *block = arena->blocks, *older; block; block = older) {
        older = block->older;
        if (from)
            from->release(from->user, block);
        else
            free(block);
    }
    arena->blocks = NULL;
}

void sm_arena_rewind(struct sm_arena *arena)
{
    /* Blocks double, so the newest is the largest but for one outsized request. */
    struct sm_arena_block *kept = one_request_per_block ? NULL : arena->blocks;
    if (kept) {
        arena->blocks = kept->older;
        sm_arena_release(arena);
        kept->older = NULL;
        kept->used = 0;
        arena->blocks = kept;
    } else {
        sm_arena_release(arena);
    }
}

static struct sm_arena_block *new_block(struct sm_arena *arena, size_t size)
{
    const struct sm_allocator *from = arena->allocator;
    const size_t total = round_up(sizeof(struct sm_arena_block)) + size;
    if (total < size)
        return NULL;
    struct sm_arena_block *block = from ? from->alloc(from->user, total) : malloc(total);
    if (!block) {
        arena->is_starved = 1;
        return NULL;
    }
    *block = (struct sm_arena_block){.older = arena->blocks, .size = size};
    arena->blocks = block;
    return block;
}

static size_t next_block_size(const struct sm_arena *arena, size_t need)
{
    if (one_request_per_block)
        return need;
    const size_t doubled = arena->blocks ? arena->blocks->size * 2 : FIRST_BLOCK;
    return doubled > need ? doubled : need;
}

void *sm_arena_room(struct sm_arena *arena, size_t n, size_t size)
{
    if (size != 0 && n > (SIZE_MAX / 2) / size)
        return NULL;
    const size_t exact = n * size > 0 ? n * size : 1;
    const size_t need = one_request_per_block ? exact : round_up(exact);
    struct sm_arena_block *block = arena->blocks;
    if (!block || block->size - block->used < need || one_request_per_block)
        block = new_block(arena, next_block_size(arena, need));
    if (!block)
        return NULL;
    void *memory = bytes_of(block) + block->used;
    block->used += need;
    return memory;
}

void *sm_arena_alloc(struct sm_arena *arena, size_t n, size_t size)
{
    void *memory = sm_arena_room(arena, n, size);
    return memory && n * size > 0 ? memset(memory, 0, n * size) : memory;
}

char *sm_arena_strndup(struct sm_arena *arena, const char *text, size_t n)
{
    char *copy = sm_arena_alloc(arena, n + 1, 1);
    if (copy && n > 0)
        memcpy(copy, text, n);
    return copy;
}

char *sm_arena_strdup(struct sm_arena *arena, const char *text)
{
    return sm_arena_strndup(arena, text, strlen(text));
}

void *sm_arena_grow(struct sm_arena *arena, void *old, size_t n_old, size_t *capacity, size_t want,
                    size_t size)
{
    if (old && want <= *capacity)
        return old;
    size_t room = *capacity > 0 ? *capacity : 16;
    while (room < want)
        room *= 2;
    void *wider = sm_arena_alloc(arena, room, size);
    if (!wider)
        return NULL;
    if (n_old > 0)
        memcpy(wider, old, n_old * size);
    *capacity = room;
    return wider;
}
