/* The grain of several benchmarks: a finocyl of radius 1, six square-tipped fins in 45 % of its length, both ends burning; its area at
 * many distances burned by slices and by patches. */
#ifndef SM_TESTS_BENCH_FINNED_H
#define SM_TESTS_BENCH_FINNED_H

#include "grain/patches.h"
#include "grain/slices.h"

enum { FINNED_LEVELS = 200, FINNED_FINS = 6 };

/* Of the grain, and how far the levels reach [m]. */
extern const double finned_length, finned_web;

struct finned {
    struct sm_spliced grain;
    struct sm_splice items[2];
    struct sm_void voids[2];
    struct sm_voids port;
    struct sm_patcher patcher;
    int threads;
    double area[FINNED_LEVELS]; /* [m2] */
};

/* Distance burned [m] at a level from 0 to FINNED_LEVELS - 1. */
double finned_level(int i);

/* Grain and voids; the patches want finned_set_cells too. What they need is in the arena, and *out must stay where it is. */
void finned_make(struct sm_arena *arena, struct finned *out);
void finned_set_cells(struct sm_arena *arena, struct finned *f, int cells);

/* Each fills all levels; median time of some runs [s]. */
void finned_by_slices(struct finned *f);
void finned_by_few_points(
    struct finned *f); /* slices, with no more points along the axis than four a piece */
void finned_by_slices_alone(struct finned *f); /* each level for itself */
void finned_by_patches(struct finned *f);
double finned_median(struct finned *f, void (*run)(struct finned *f));

#endif
