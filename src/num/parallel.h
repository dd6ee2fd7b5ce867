/* Loops whose rounds have nothing to do with one another, on several threads. */
#ifndef SM_NUM_PARALLEL_H
#define SM_NUM_PARALLEL_H

#include <stddef.h>

#include "slowmatch/context.h"

/* How many threads there would be: asked, or for 0 as OpenMP thinks fit; 1 where OpenMP was not built in. */
int sm_parallel_threads(int asked);

/*
 * Calls round(user, worker, i) for every i below n, each once, in any order and on any of the threads.
 *
 * Given:
 *   threads   as sm_parallel_threads takes it, 1: the calling thread alone; worker runs from 0 to
 *             sm_parallel_threads(threads) - 1, and rounds of one worker don't overlap
 *   progress  NULL for none; called from the calling thread only
 * Returned: how many rounds were done: fewer than n if progress asked to stop. A round that was begun is ended.
 * Notes:
 *   1) A round writes only what belongs to its i or is room of its worker, so the result is the same for any number of
 *      threads.
 */
size_t sm_parallel_for(size_t n, int threads, void (*round)(void *user, int worker, size_t i), void *user,
                       const struct sm_progress *progress);

#endif
