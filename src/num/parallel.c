#include "num/parallel.h"

#include <stdatomic.h>

#ifdef _OPENMP
#include <omp.h>
#endif

int sm_parallel_threads(int asked)
{
#ifdef _OPENMP
    return asked > 0 ? asked : omp_get_max_threads();
#else
    (void)asked;
    return 1;
#endif
}

/* What the workers share: the next round, how many are done, and whether to stop. */
struct share {
    atomic_size_t next, done;
    atomic_int is_stopped;
};

static void labour(struct share *share, size_t n, void (*round)(void *user, int worker, size_t i), void *user,
                   int worker, const struct sm_progress *progress)
{
    for (;;) {
        const size_t i = atomic_fetch_add(&share->next, 1);
        if (i >= n || atomic_load(&share->is_stopped))
            return;
        round(user, worker, i);
        const size_t done = atomic_fetch_add(&share->done, 1) + 1;
        if (worker == 0 && progress && progress->step &&
            progress->step(progress->user, (double)done / (double)n) != 0)
            atomic_store(&share->is_stopped, 1);
    }
}

size_t sm_parallel_for(size_t n, int threads, void (*round)(void *user, int worker, size_t i), void *user,
                       const struct sm_progress *progress)
{
    struct share share;
    atomic_init(&share.next, 0);
    atomic_init(&share.done, 0);
    atomic_init(&share.is_stopped, 0);
#ifdef _OPENMP
#pragma omp parallel num_threads(sm_parallel_threads(threads))
    labour(&share, n, round, user, omp_get_thread_num(), progress);
#else
    (void)threads;
    labour(&share, n, round, user, 0, progress);
#endif
    return atomic_load(&share.done);
}
