/* One owner per byte: a run, a motor or a result lives in one arena and is released whole. */
#ifndef SM_BASE_ARENA_H
#define SM_BASE_ARENA_H

#include <stddef.h>

#include "slowmatch/context.h"

struct sm_arena_block;
struct sm_arena {
    const struct sm_allocator *allocator; /* NULL: malloc and free */
    struct sm_arena_block *blocks;        /* newest first */
    int is_starved; /* was a request refused since it was made? For readers that go on without the piece */
};

void sm_arena_init(struct sm_arena *arena, const struct sm_allocator *allocator);
void sm_arena_release(struct sm_arena *arena);

/* Everything in the arena is void, but its largest block is kept, so that the same work done again finds its room in blocks
 * that double until one holds it all. */
void sm_arena_rewind(struct sm_arena *arena);

/* Zeroed room for n items of the given size, aligned for any type; NULL if memory is out or n * size
 * overflows. n * size = 0 gives a valid pointer. */
void *sm_arena_alloc(struct sm_arena *arena, size_t n, size_t size);

/* The same not zeroed, for much that is written all over soon, and best by the threads that it is for. */
void *sm_arena_room(struct sm_arena *arena, size_t n, size_t size);

/* A copy of text[0..n) with a NUL behind it; NULL if memory is out. */
char *sm_arena_strndup(struct sm_arena *arena, const char *text, size_t n);
char *sm_arena_strdup(struct sm_arena *arena, const char *text);

/* Room for at least want items in the place of old (n_old items in use), doubling *capacity as needed; NULL
 * if memory is out. The old room stays in the arena until it is released. */
void *sm_arena_grow(struct sm_arena *arena, void *old, size_t n_old, size_t *capacity, size_t want,
                    size_t size);

#endif
