/* Does one grain differ from another in size alone? */
#include <math.h>

#include "grain/shape.h"

/* A length that was multiplied and rounded is still that length, relative. */
static const double ROUNDING = 4e-16;

static bool is_times(double a, double b, double k)
{
    return (isnan(a) && isnan(b)) || fabs(b - k * a) <= ROUNDING * fabs(b);
}

static bool blocks_scale(const struct sm_param *rows, size_t n, const char *a, const char *b, double k);

static bool lists_scale(const struct sm_param *row, const struct sm_list *a, const struct sm_list *b,
                        double k)
{
    bool all = a->n == b->n;
    for (size_t i = 0; i < a->n && all; i++) {
        const size_t at = i * row->row_size;
        all =
            blocks_scale(row->rows, row->n_rows, (const char *)a->items + at, (const char *)b->items + at, k);
    }
    return all;
}

/* Is the value in b that in a, or k times it if it is a length? */
static bool value_scales(const struct sm_param *row, const void *a, const void *b, double k)
{
    const double *x = a, *y = b;
    const int *m = a, *n = b;
    switch (row->kind) {
    case SM_QUANTITY:
        if (row->dim == SM_DIM_LENGTH)
            return is_times(*x, *y, k);
        return (row->dim == SM_DIM_ANGLE || row->dim == SM_DIM_NONE) && is_times(*x, *y, 1.0);
    case SM_RECORD:
        return blocks_scale(row->rows, row->n_rows, a, b, k);
    case SM_LIST:
        return lists_scale(row, a, b, k);
    case SM_WHOLE:
    case SM_CHOICE:
        return *m == *n;
    case SM_FLAG:
        return *(const bool *)a == *(const bool *)b;
    case SM_CHOICES:
        return *(const unsigned *)a == *(const unsigned *)b;
    case SM_TEXT: /* names a file: the grain is as large as the file says */
    default:
        return !*(const char *const *)a && !*(const char *const *)b;
    }
}

static bool blocks_scale(const struct sm_param *rows, size_t n, const char *a, const char *b, double k)
{
    bool all = true;
    for (size_t i = 0; i < n && all; i++)
        all = value_scales(&rows[i], a + rows[i].offset, b + rows[i].offset, k);
    return all;
}

static bool is_long_prism(const struct sm_shape *shape, const struct sm_grain_common *common)
{
    const unsigned burning = common->burning == SM_CHOICES_ABSENT ? shape->burning : common->burning;
    return shape->section && !shape->spliced && !shape->voids &&
           !(burning & (SM_FACE_FORE_END | SM_FACE_AFT_END));
}

enum sm_status sm_shape_rescale(const struct sm_shape *shape, struct sm_arena *arena,
                                const struct sm_grain_common *base, const void *base_params,
                                const struct sm_geometry *base_geometry, const struct sm_grain_common *common,
                                const void *params, struct sm_geometry *out, struct sm_error *err)
{
    const double k = common->outer_diameter / base->outer_diameter, kz = common->length / base->length;
    *out = (struct sm_geometry){0};
    if (common->burning != base->burning || common->burnback != base->burnback ||
        !blocks_scale(shape->params, shape->n_params, base_params, params, k) ||
        sm_shape_check(shape, common, params, NULL) != SM_OK)
        return SM_OK;
    if (is_times(base->length, common->length, k))
        return sm_geometry_scale(arena, base_geometry, k, out, err);
    if (is_times(base->outer_diameter, common->outer_diameter, 1.0) && is_long_prism(shape, common))
        return sm_geometry_stretch(arena, base_geometry, kz, out, err);
    return SM_OK;
}
