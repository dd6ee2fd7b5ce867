#include "num/gauss.h"

#include <gsl/gsl_integration.h>

enum sm_status sm_gauss_make(int n, struct sm_gauss *out)
{
    gsl_integration_glfixed_table *table = gsl_integration_glfixed_table_alloc((size_t)n);
    if (!table)
        return SM_E_NOMEM;
    out->n = n;
    for (int i = 0; i < n; i++)
        gsl_integration_glfixed_point(0.0, 1.0, (size_t)i, &out->place[i], &out->share[i], table);
    gsl_integration_glfixed_table_free(table);
    return SM_OK;
}
