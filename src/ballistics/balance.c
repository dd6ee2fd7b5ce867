#include "ballistics/balance.h"

#include <float.h>
#include <math.h>

#include "num/bracket.h"

static const double highest = 1e9; /* no motor holds more [Pa] */

static double surplus(const struct sm_supply *supply, const struct sm_bands *bands, size_t band,
                      double pressure)
{
    const double rate = sm_burn_law_rate(&supply->chamber->law, bands->segment[band], pressure, NULL);
    return sm_supply_surplus(supply, pressure, rate);
}

static double lower_edge(const struct sm_supply *supply, const struct sm_bands *bands, size_t band)
{
    const double floor =
        fmax(supply->chamber->jet.ambient, 1.0); /* nothing flows out below the ambient pressure [Pa] */
    return band == 0 ? floor : fmax(floor, bands->edge[band - 1]);
}

static double upper_edge(const struct sm_bands *bands, size_t band)
{
    return band + 1 < bands->n ? bands->edge[band] : highest;
}

struct search {
    const struct sm_supply *supply;
    const struct sm_bands *bands;
    size_t band;
};

static double lack(const void *user, double pressure)
{
    const struct search *s = user;
    return -surplus(s->supply, s->bands, s->band, pressure);
}

/* The root in [low, high], where the surplus is positive at low and not at high. */
static void at_root_within(const struct sm_supply *supply, const struct sm_bands *bands, size_t band,
                           double low, double high, struct sm_balance *out)
{
    const struct search search = {supply, bands, band};
    out->band = band;
    out->is_sliding = 0;
    out->pressure = sm_bracket_root(lack, &search, low, high);
    out->rate = sm_burn_law_rate(&supply->chamber->law, bands->segment[band], out->pressure, NULL);
}

static void at_root(const struct sm_supply *supply, const struct sm_bands *bands, size_t band,
                    struct sm_balance *out)
{
    at_root_within(supply, bands, band, lower_edge(supply, bands, band), upper_edge(bands, band), out);
}

/* From a pressure that is not at rest towards where it goes, by steps that grow: the last pressure of a march is a percent or so
 * away. Returned: is there a root before the band ends? */
static bool find_near(const struct sm_supply *supply, const struct sm_bands *bands, size_t band, double start,
                      bool rises, struct sm_balance *out)
{
    const double edge = rises ? upper_edge(bands, band) : lower_edge(supply, bands, band);
    double factor = rises ? 1.01 : 1.0 / 1.01;
    for (double p = start; rises ? p < edge : p > edge; factor = pow(factor, 4.0)) {
        const double next = rises ? fmin(p * factor, edge) : fmax(p * factor, edge);
        if ((surplus(supply, bands, band, next) > 0.0) != rises) {
            at_root_within(supply, bands, band, fmin(p, next), fmax(p, next), out);
            return true;
        }
        p = next;
    }
    return false;
}

/* The rate between those of the edge's two sides at which the surplus is zero, where the gas's warmth goes with it. */
static double resting_rate(const struct sm_supply *supply, const struct sm_bands *bands, size_t edge)
{
    const struct sm_burn_law *law = &supply->chamber->law;
    const double pressure = bands->edge[edge];
    double high = sm_burn_law_rate(law, bands->segment[edge], pressure, NULL);
    double low = sm_burn_law_rate(law, bands->segment[edge + 1], pressure, NULL);
    for (int i = 0; i < 100 && high - low > 2.0 * DBL_EPSILON * high; i++) {
        const double middle = 0.5 * (low + high);
        if (sm_supply_surplus(supply, pressure, middle) > 0.0)
            high = middle;
        else
            low = middle;
    }
    return 0.5 * (low + high);
}

static void at_edge(const struct sm_supply *supply, const struct sm_bands *bands, size_t edge,
                    struct sm_balance *out)
{
    out->band = edge;
    out->is_sliding = 1;
    out->pressure = bands->edge[edge];
    out->rate = isnan(supply->warmth) ? resting_rate(supply, bands, edge)
                                      : sm_supply_rest_rate(supply, out->pressure);
}

static enum sm_status climb(const struct sm_supply *supply, const struct sm_bands *bands, size_t band,
                            struct sm_balance *out, struct sm_error *err)
{
    for (;; band++) {
        if (surplus(supply, bands, band, upper_edge(bands, band)) <= 0.0) {
            at_root(supply, bands, band, out);
            return SM_OK;
        }
        if (band + 1 >= bands->n)
            return sm_fail(err, SM_E_PHYSICS, "no resting pressure below 1 GPa: the throat is far too small");
        if (surplus(supply, bands, band + 1, bands->edge[band]) < 0.0) {
            at_edge(supply, bands, band, out);
            return SM_OK;
        }
    }
}

static void descend(const struct sm_supply *supply, const struct sm_bands *bands, size_t band,
                    struct sm_balance *out)
{
    for (;; band--) {
        if (surplus(supply, bands, band, lower_edge(supply, bands, band)) >= 0.0 || band == 0) {
            at_root(supply, bands, band, out);
            return;
        }
        if (surplus(supply, bands, band - 1, bands->edge[band - 1]) > 0.0) {
            at_edge(supply, bands, band - 1, out);
            return;
        }
    }
}

enum sm_status sm_balance_find(const struct sm_supply *supply, const struct sm_bands *bands,
                               double start_pressure, struct sm_balance *out, struct sm_error *err)
{
    const size_t band = sm_bands_find(bands, start_pressure);
    const bool rises = surplus(supply, bands, band, start_pressure) > 0.0;
    if (find_near(supply, bands, band, start_pressure, rises, out))
        return SM_OK;
    if (rises)
        return climb(supply, bands, band, out, err);
    descend(supply, bands, band, out);
    return SM_OK;
}

size_t sm_balance_list(const struct sm_supply *supply, const struct sm_bands *bands,
                       struct sm_balance rests[SM_MAX_RESTS])
{
    size_t n = 0;
    for (size_t band = sm_bands_find(bands, lower_edge(supply, bands, 0)); band < bands->n; band++) {
        const double top = surplus(supply, bands, band, upper_edge(bands, band));
        if (surplus(supply, bands, band, lower_edge(supply, bands, band)) >= 0.0 && top <= 0.0)
            at_root(supply, bands, band, &rests[n++]);
        else if (top > 0.0 && band + 1 < bands->n &&
                 surplus(supply, bands, band + 1, bands->edge[band]) < 0.0)
            at_edge(supply, bands, band, &rests[n++]);
    }
    return n;
}
