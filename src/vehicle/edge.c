#include "vehicle/edge.h"

#include "base/fail.h"

void sm_edge_add(struct sm_edge *e, double x, double y)
{
    static const double apart = 1e-9; /* [m] or [m/s] */
    if (e->n > 0 && !(x - e->x[e->n - 1] >= apart))
        return;
    e->x[e->n] = x;
    e->y[e->n++] = y;
}

double sm_edge_at(const struct sm_edge *e, double x)
{
    size_t first = 0;
    while (first + 4 < e->n && e->x[first + 2] < x)
        first++;
    const size_t past = e->n < first + 4 ? e->n : first + 4;
    double sum = e->n > 0 ? 0.0 : SM_ABSENT;
    for (size_t i = first; i < past; i++) {
        double weight = 1.0;
        for (size_t k = first; k < past; k++)
            if (k != i)
                weight *= (x - e->x[k]) / (e->x[i] - e->x[k]);
        sum += weight * e->y[i];
    }
    return sum;
}
