#include "num/parallel.h"

#ifdef _OPENMP
#include <omp.h>
#endif

void sm_for(size_t n, int threads, void (*round)(void *user, size_t i), void *user)
{
#ifdef _OPENMP
    const int most = threads > 0 ? threads : omp_get_max_threads();
#pragma omp parallel for schedule(dynamic) num_threads(most)
#else
    (void)threads;
#endif
    for (size_t i = 0; i < n; i++)
        round(user, i);
}
