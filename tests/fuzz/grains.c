#include "grains.h"

#include <math.h>

#include "fuzz.h"

/* What a table promises of its area, as a share of the largest: 2e-3 by patches, 2e-5 by slices, else 1e-8. */
static double promised(const struct sm_shape *shape)
{
    if (shape->voids)
        return 2e-3;
    return shape->spliced ? 2e-5 : 1e-8;
}

/* Of its volume, as a share of the cylinder's: exact ones are summed up by fluxes, to some thousand roundings. */
static double promised_volume(const struct sm_shape *shape)
{
    return shape->voids || shape->is_meshed || shape->spliced ? 1e-6 : 1e-9;
}

static void expect_laws(const struct sm_shape *shape, const struct sm_geometry *g)
{
    const double slack = promised_volume(shape) * g->envelope;
    double largest = 0.0, least = 0.0, before = HUGE_VAL;
    fuzz_expect(g->n_pieces > 0 && isfinite(g->web) && g->web > 0.0, "there is a web");
    for (size_t i = 0; i < g->n_pieces; i++)
        for (int k = 0; k <= 8; k++) {
            const struct sm_piece *p = &g->pieces[i];
            struct sm_geometry_at at;
            double area = 0.0, volume = 0.0;
            const double w = p->w0 + (p->w1 - p->w0) * k / 8.0;
            fuzz_expect(p->w1 > p->w0, "pieces have a length");
            sm_piece_area(p, w, &area, &volume);
            sm_piece_eval(p, w, &at);
            fuzz_expect_finite(at.value, SM_N_INTEGRALS, "integrals");
            fuzz_expect(isfinite(area) && isfinite(volume), "area and volume are numbers");
            fuzz_expect(volume <= before + slack, "propellant does not grow");
            fuzz_expect(volume >= -slack, "no less than nothing is left");
            before = volume;
            largest = fmax(largest, area);
            least = fmin(least, area);
        }
    fuzz_expect(least >= -promised(shape) * largest, "no area is negative");
    fuzz_expect(fabs(before) <= slack, "nothing is left at the web");
}

void fuzz_burn_back(struct sm_arena *arena, const struct sm_shape *shape,
                    const struct sm_grain_common *common, const void *params)
{
    struct sm_geometry g = {0};
    struct sm_error err = {0};
    const enum sm_status status = sm_shape_geometry(shape, arena, common, params, &g, &err);
    if (status == SM_OK)
        expect_laws(shape, &g);
    else
        fuzz_expect((status == SM_E_GEOMETRY || status == SM_E_RANGE || status == SM_E_FIELD) &&
                        err.message[0] != '\0',
                    err.message);
}
