#include "slowmatch/param.h"
#include "base/fail.h"

struct dim_row {
    const char *name, *si, *example;
};

#define DIM_ROW(code, name, si, example) [code] = {name, si, example},
static const struct dim_row dims[] = {SM_DIM_LIST(DIM_ROW)};
#undef DIM_ROW

const char *sm_dim_name(enum sm_dim dim)
{
    return (size_t)dim < SM_COUNT(dims) ? dims[dim].name : "unknown";
}

const char *sm_dim_unit(enum sm_dim dim)
{
    return (size_t)dim < SM_COUNT(dims) ? dims[dim].si : "?";
}

const char *sm_dim_example(enum sm_dim dim)
{
    return (size_t)dim < SM_COUNT(dims) ? dims[dim].example : "?";
}
