/* A step up of the burning-rate law that lets the chamber rest at more than one pressure. */
#include "ballistics/balance.h"
#include "ballistics/warning.h"
#include "base/text.h"

#include <math.h>

/* Does the law step up at a joint? With exponents below 1 there is one resting pressure if not. */
static bool steps_up(const struct sm_burn_law *law)
{
    for (size_t i = 0; i + 1 < law->n; i++) {
        const double joint = sm_burn_law_joint(law, i);
        if (sm_burn_law_rate(law, i + 1, joint, NULL) > sm_burn_law_rate(law, i, joint, NULL))
            return true;
    }
    return false;
}

/* Where the chamber could rest with the surface and the throat of a row of the series. */
static size_t rests_at(const struct sm_warning_case *c, const struct sm_bands *bands, size_t row,
                       struct sm_balance rests[SM_MAX_RESTS])
{
    const struct sm_series *s = &c->result->series;
    const struct sm_chamber *chamber = c->chamber;
    struct sm_jet room;
    const struct sm_supply supply = {
        .chamber = chamber,
        .jet = sm_chamber_jet(chamber, 0.5 * s->throat_diameter[row] - chamber->throat_radius, &room),
        .lit_area = s->burn_area[row],
        .heat =
            chamber->cools ? chamber->cooling * sm_bare_wall_area(&chamber->wall, s->web[row], NULL) : 0.0,
        .warmth = chamber->cools ? SM_ABSENT : 1.0,
    };
    return s->burn_area[row] > 0.0 ? sm_balance_list(&supply, bands, rests) : 0;
}

static const struct sm_balance *nearest(const struct sm_balance *rests, size_t n, double pressure)
{
    const struct sm_balance *found = rests;
    for (size_t i = 1; i < n; i++)
        if (fabs(rests[i].pressure - pressure) < fabs(found->pressure - pressure))
            found = &rests[i];
    return found;
}

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_series *s = &c->result->series;
    struct sm_bands bands;
    struct sm_balance rests[SM_MAX_RESTS], shown[SM_MAX_RESTS];
    size_t n_shown = 0, at = 0;
    double held = 0.0;
    if (!steps_up(&c->chamber->law))
        return 0;
    sm_bands_init(&bands, c->chamber);
    for (size_t i = c->first; i < c->last; i++) {
        const size_t n = rests_at(c, &bands, i, rests);
        if (n < 2)
            continue;
        held += s->time[i + 1] - s->time[i];
        if (n_shown == 0) {
            at = i;
            n_shown = n;
            for (size_t j = 0; j < n; j++)
                shown[j] = rests[j];
        }
    }
    if (!(held > sm_warning_share * (s->time[c->last] - s->time[c->first])))
        return 0;
    sm_text_format(
        text, size,
        "the burning-rate law steps up, so that for %.3g s the chamber could rest at %zu pressures, as at "
        "%.3g s at %.3g or %.3g MPa%s; the run is near %.3g MPa, which continues its past. A stronger "
        "igniter, or a knock, may bring the other: design for the highest",
        held, n_shown, s->time[at], shown[0].pressure * 1e-6, shown[n_shown - 1].pressure * 1e-6,
        c->result->model == SM_MODEL_AXIAL ? ", the flow along the port left out" : "",
        nearest(shown, n_shown, s->pressure[at])->pressure * 1e-6);
    return 1;
}

const struct sm_warning sm_warning_several_pressures = {
    .code = "several-pressures",
    .summary = "a step up of the burning-rate law lets the chamber rest at more than one pressure",
    .pointer = "/propellant/burn_rate",
    .judge = judge,
};
