/* Loops whose rounds have nothing to do with one another, on several threads. */
#ifndef SM_NUM_PARALLEL_H
#define SM_NUM_PARALLEL_H

#include <stddef.h>

/*
 * Calls round(user, i) for every i below n, each once, in any order and on any of the threads.
 *
 * Given:
 *   threads  0: as many as OpenMP thinks fit, which OMP_NUM_THREADS says; 1: the calling thread alone
 * Notes:
 *   1) A round writes only what belongs to its i, so the result is the same for any number of threads.
 */
void sm_for(size_t n, int threads, void (*round)(void *user, size_t i), void *user);

#endif
