/* One step of the axial model: the flow from the head end to the nozzle, and the pressure at which both agree. */
#include "ballistics/axial.h"

#include <math.h>
#include <string.h>

/* ---- rates ---- */

/* Where the law steps at a joint, many stations would rest on it at once. Over this share of the pressure the two sides are
 * joined by a straight line, so that each can [1]. */
static const double joint_width = 1e-3;

static double plain_rate(const struct sm_chamber *chamber, double pressure)
{
    const struct sm_burn_law *law = &chamber->law;
    if (law->n == 1)
        return sm_burn_law_rate(law, 0, pressure, NULL);
    const size_t i = sm_burn_law_segment(law, pressure);
    const double rate = sm_burn_law_rate(law, i, pressure, NULL);
    for (size_t k = i > 0 ? i - 1 : 0; k < i + 1 && k + 1 < law->n; k++) {
        const double joint = sm_burn_law_joint(law, k), off = (pressure / joint - 1.0) / joint_width;
        if (fabs(off) < 1.0)
            return 0.5 * ((1.0 - off) * sm_burn_law_rate(law, k, pressure, NULL) +
                          (1.0 + off) * sm_burn_law_rate(law, k + 1, pressure, NULL));
    }
    return rate;
}

/* The same in a cell, from its last value nearby. */
static double cell_rate(const struct sm_chamber *chamber, struct sm_axial_cell *c)
{
    struct sm_power *power = &c->by_pressure;
    double rate;
    if (chamber->law.n == 1 && power->exponent > -1.0 && sm_power_near(power, c->point.pressure, &rate))
        return rate;
    rate = plain_rate(chamber, c->point.pressure);
    *power = (struct sm_power){chamber->law.segments[0].exponent, c->point.pressure, rate};
    return rate;
}

/* What erosive burning adds in a cell. */
static double cell_adds(const struct sm_erosive_law *law, struct sm_axial_cell *c)
{
    const double diameter = 4.0 * c->area / c->wall, crossed_at = c->flux * diameter;
    double crossed;
    if (law->form != SM_EROSIVE_HEAT || !(c->flux > 0.0))
        return sm_erosive_rate(law, c->plain, c->flux, diameter) - c->plain;
    if (!sm_power_near(&c->by_flux, crossed_at, &crossed)) {
        crossed = pow(crossed_at, -0.2);
        c->by_flux = (struct sm_power){-0.2, crossed_at, crossed};
    }
    return sm_erosive_added(law, c->plain, c->flux, sm_erosive_bare(law, c->flux, crossed), c->added);
}

/* Share of a stretch that is lit in the middle of the step. */
static double lit_share(const struct sm_axial *a, double from, double to)
{
    const double middle = a->t + 0.5 * a->dt;
    if (isnan(a->spread_speed))
        return sm_epoch_lit(a->epoch, middle);
    const double fire = a->grid.flame_from + a->spread_speed * middle;
    return to > from ? fmin(fmax((fire - from) / (to - from), 0.0), 1.0) : fire >= from;
}

/* ---- the march ---- */

struct walk {
    struct sm_axial *axial;
    struct sm_port_gas gas;
    struct sm_port_state state;
    double head;    /* [Pa] */
    double filling; /* growth of the gas density, times space [kg m-3 s-1] */
    double made;    /* [kg/s] */
    double stored;  /* [kg/s] */
    double z;       /* where the walk is [m] */
    double guess;   /* burning rate of the cell before [m/s] */
};

static int choke(struct walk *k, const struct sm_port_state *state, double z)
{
    k->axial->choked_at = z;
    k->axial->chokes_backwards = state->flow < 0.0;
    return 0;
}

/* A stretch of the case without grain, with what the ends that face it give off [m3/s]. */
static int pass_gap(struct walk *k, double to, double given)
{
    struct sm_axial *a = k->axial;
    struct sm_port_point point;
    const double length = to - k->z;
    if (!(length > 1e-9 * a->grid.case_length) && !(given > 0.0))
        return 1;
    if (!sm_port_turn(&k->gas, &k->state, a->grid.case_area))
        return choke(k, &k->state, k->z);
    const double mass = given * a->chamber->density, keep = k->filling * length * a->grid.case_area;
    if (!sm_port_at(&k->gas, &k->state, &point))
        return choke(k, &k->state, k->z);
    const double drag = sm_port_drag(&k->state, &point, a->friction, a->grid.around * length);
    sm_port_feed(&k->state, mass - given * a->gas_density - keep, drag);
    k->made += mass;
    k->stored += keep + given * a->gas_density;
    k->z = to;
    return 1;
}

/* Wetted perimeter [m]: the burning one, or once nothing burns that of a round port. */
static double around_of(const struct sm_axial_cell *c)
{
    return c->wall > 0.0 ? c->wall : 2.0 * sqrt(M_PI * c->area);
}

/* The rate in a cell at the flow in its middle, and where it comes to by the end of the step. */
static int burn_cell(struct walk *k, struct sm_axial_cell *c, double open)
{
    struct sm_axial *a = k->axial;
    struct sm_port_state middle = k->state;
    const double density = a->chamber->density - a->gas_density, lit = lit_share(a, c->from, c->to);
    const double guess = 0.5 * (density * c->wall * lit * k->guess - k->filling * c->area) * open;
    sm_port_feed(&middle, guess, 0.0);
    if (a->friction > 0.0) {
        struct sm_port_point point;
        if (!sm_port_at(&k->gas, &k->state, &point))
            return choke(k, &k->state, c->from);
        middle.push -= sm_port_drag(&k->state, &point, a->friction, 0.5 * around_of(c) * open);
    }
    if (!sm_port_at(&k->gas, &middle, &c->point))
        return choke(k, &middle, 0.5 * (c->from + c->to));
    c->flux = fabs(middle.flow) / c->area;
    c->plain = cell_rate(a->chamber, c);
    c->added = a->erosive.form != SM_EROSIVE_NONE && c->wall > 0.0 ? cell_adds(&a->erosive, c) : 0.0;
    c->rate = c->plain + c->added;
    k->guess = c->rate;
    c->next = c->w + a->dt * lit * c->rate;
    return 1;
}

static int pass_cell(struct walk *k, const struct sm_axial_grain *g, struct sm_axial_cell *c)
{
    struct sm_axial *a = k->axial;
    const double before = sm_axial_open(g, c, g->end), after = sm_axial_open(g, c, g->next);
    double growth;
    if (!(before > 0.0)) {
        c->next = c->w;
        return 1;
    }
    if (!sm_port_turn(&k->gas, &k->state, c->area))
        return choke(k, &k->state, c->from);
    if (!burn_cell(k, c, before))
        return 0;
    const double now = sm_axial_section(&c->table, c->next, &c->level, &growth);
    /* All that the cell lost, less what its ends give off elsewhere. */
    const double lost = g->share * ((g->circle - c->was) * before - (g->circle - now) * after) / a->dt;
    const double ends = g->share * (g->circle - c->area) * (before - after) / a->dt;
    const double wall = lost - ends, keep = k->filling * before * c->area;
    struct sm_port_state middle = k->state;
    middle.flow += 0.5 * (wall * (a->chamber->density - a->gas_density) - keep);
    const double drag =
        a->friction > 0.0 ? sm_port_drag(&middle, &c->point, a->friction, around_of(c) * before) : 0.0;
    sm_port_feed(&k->state, wall * (a->chamber->density - a->gas_density) - keep, drag);
    k->made += wall * a->chamber->density;
    k->stored += keep + wall * a->gas_density;
    return 1;
}

/* How far the ends go, at their own pressures; both are as near to the head's as in the last step. */
static void burn_ends(struct walk *k, struct sm_axial_grain *g)
{
    const struct sm_axial *a = k->axial;
    const double length = g->to - g->from;
    for (int i = 0; i < 2; i++) {
        const double z = i ? g->to : g->from;
        const double rate = g->burns[i] ? plain_rate(a->chamber, k->head * g->face[i]) : 0.0;
        g->next[i] = fmin(g->end[i] + a->dt * lit_share(a, z, z) * rate, length);
    }
}

/* Swept by one end over the step, at the sections of the middle of it [m3/s]. */
static double swept(const struct sm_axial *a, const struct sm_axial_grain *g, int aft)
{
    double ends[2] = {g->end[0], g->end[1]}, sum = 0.0;
    if (!g->burns[aft])
        return 0.0;
    /* The fore end goes first, the aft end from where that left off, as both together are what a cell loses. */
    if (aft)
        ends[0] = g->next[0];
    double to[2] = {ends[0], ends[1]};
    to[aft] = g->next[aft];
    for (size_t i = 0; i < g->n_cells; i++) {
        const struct sm_axial_cell *c = &g->cells[i];
        const double cut = sm_axial_open(g, c, ends) - sm_axial_open(g, c, to);
        sum += cut > 0.0 ? g->share * (g->circle - c->area) * cut : 0.0;
    }
    return sum / a->dt;
}

/* From the section in the middle of the last open cell to that at its end, by a straight line through the cell before. */
static int leave_grain(struct walk *k, const struct sm_axial_grain *g)
{
    size_t i = g->n_cells;
    while (i > 0 && !(sm_axial_open(g, &g->cells[i - 1], g->end) > 0.0))
        i--;
    if (i < 2)
        return 1;
    const double last = g->cells[i - 1].area, change = last - g->cells[i - 2].area;
    return fabs(change) > 0.1 * last || sm_port_turn(&k->gas, &k->state, last + 0.5 * change);
}

static int pass_grain(struct walk *k, struct sm_axial_grain *g, double *behind)
{
    struct sm_axial *a = k->axial;
    struct sm_port_point point;
    burn_ends(k, g);
    if (!pass_gap(k, g->from + g->end[0], *behind + swept(a, g, 0)))
        return 0;
    if (!sm_port_at(&k->gas, &k->state, &point))
        return choke(k, &k->state, g->from);
    g->now[0] = point.pressure / k->head;
    for (size_t i = 0; i < g->n_cells; i++)
        if (!pass_cell(k, g, &g->cells[i]))
            return 0;
    if (!leave_grain(k, g))
        return choke(k, &k->state, g->to);
    if (!sm_port_at(&k->gas, &k->state, &point))
        return choke(k, &k->state, g->to);
    g->now[1] = point.pressure / k->head;
    k->z = fmax(g->to - g->end[1], g->from + g->end[0]);
    *behind = swept(a, g, 1);
    return 1;
}

/* A grain without port burns by its own geometry at the pressure behind it. Only the first one may be such. */
static void pass_block(struct walk *k, struct sm_axial_grain *g, double *behind)
{
    struct sm_axial *a = k->axial;
    const double rate = plain_rate(a->chamber, k->head);
    g->unblock = fmin(g->block + a->dt * lit_share(a, g->to, g->to) * rate, g->geometry->web);
    *behind = (sm_axial_volume(g, 0, NULL) - sm_axial_volume(g, 1, NULL)) / a->dt;
    k->z = g->to - fmin(g->block, g->to - g->from);
}

/* x after the step: implicit, the gas being that of the step before. */
static double find_warmth(const struct sm_axial *a, double made)
{
    const struct sm_chamber *chamber = a->chamber;
    double bare = a->grid.case_length;
    if (!chamber->cools)
        return 1.0;
    for (size_t i = 0; i < a->grid.n_grains; i++) {
        const struct sm_axial_grain *g = &a->grid.grains[i];
        double speed;
        if (g->cover.count == 0)
            continue;
        bare -= g->n_cells == 0 ? sm_cover_left(&g->cover, g->block, &speed)
                                : fmax(0.0, g->to - g->from - g->end[0] - g->end[1]);
    }
    const double b = chamber->cooling * a->grid.around * bare, m = a->gas_density * a->gas_space / a->dt;
    return (m * a->warmth + made + a->igniter + b * chamber->wall_warmth) / (m + made + a->igniter + b);
}

static int finish(struct walk *k, double behind, double *excess)
{
    struct sm_axial *a = k->axial;
    struct sm_port_point point;
    struct sm_jet room;
    if (!pass_gap(k, a->grid.case_length, behind) || !sm_port_at(&k->gas, &k->state, &point))
        return choke(k, &k->state, a->grid.case_length);
    a->head = k->head;
    a->made = k->made;
    a->aft = point.pressure;
    a->total = sm_port_total(&k->gas, &point);
    /* The convergent keeps what the stretches before it did not: the books of the gas space hold as a whole. */
    a->space = a->gas_space + a->dt * k->made / a->chamber->density;
    a->stored = (a->density * a->space - a->gas_density * a->gas_space) / a->dt;
    const double arriving = k->made + a->igniter - a->stored;
    const struct sm_jet *jet = sm_chamber_jet(a->chamber, a->growth, &room);
    a->mass_flow = a->is_closed ? 0.0 : sm_jet_mass_flow(jet, a->total, NULL) / sqrt(a->heat);
    *excess = arriving - a->mass_flow;
    return 1;
}

int sm_axial_march(struct sm_axial *a, double head, double *excess)
{
    a->heat = find_warmth(a, a->made);
    const double rt = a->chamber->rt * a->heat;
    a->density = (head + a->reach * (head - a->last)) / rt;
    struct walk k = {
        .axial = a,
        .gas = {a->gamma, rt},
        .state = {.flow = a->igniter, .push = head * a->grid.case_area, .area = a->grid.case_area},
        .head = head,
        .filling = (a->density - a->gas_density) / a->dt,
        .guess = plain_rate(a->chamber, head),
    };
    double behind = 0.0;
    for (size_t i = 0; i < a->grid.n_grains; i++) {
        struct sm_axial_grain *g = &a->grid.grains[i];
        if (g->n_cells == 0)
            pass_block(&k, g, &behind);
        else if (!pass_grain(&k, g, &behind))
            return 0;
    }
    return finish(&k, behind, excess);
}

/* ---- the pressure ---- */

/* Sections of the middle of the step, by the rates of the last one. */
static void ready(struct sm_axial *a, double dt)
{
    a->dt = dt;
    for (size_t i = 0; i < a->grid.n_grains; i++) {
        memcpy(a->grid.grains[i].face, a->grid.grains[i].now, sizeof a->grid.grains[i].now);
        for (size_t j = 0; j < a->grid.grains[i].n_cells; j++) {
            struct sm_axial_cell *c = &a->grid.grains[i].cells[j];
            const double lit = lit_share(a, c->from, c->to);
            c->area = sm_axial_section(&c->table, c->w + 0.5 * dt * lit * c->rate, &c->level, &c->wall);
        }
    }
}

/* What is made and not kept is what goes out, so that the books close whatever is left of the search. */
static enum sm_status take(struct sm_axial *a, double excess)
{
    if (!a->is_closed)
        a->mass_flow += excess;
    return SM_OK;
}

/* Where the pressure of a step is sought. */
struct search {
    double low, high; /* it lies between these [Pa] */
    double stride;    /* up from a choked port, wider from try to try [1] */
    double choked_at; /* place where the gas last choked on its way out; SM_ABSENT: never [m] */
};

/* The next pressure after one at which the flow chokes. Gas that runs back to the head end is what a pressure too high stores
 * ahead of it. */
static double pass_choke(struct search *s, const struct sm_axial *a, double head)
{
    if (a->chokes_backwards)
        s->high = fmin(s->high, head);
    else {
        s->low = fmax(s->low, head);
        s->choked_at = a->choked_at;
    }
    const double next = isinf(s->high) ? s->stride * head : 0.5 * (s->low + s->high);
    s->stride = fmin(1.1 * s->stride, 2.0);
    return next;
}

static enum sm_status no_pressure(const struct search *s, const struct sm_axial *a, double head,
                                  double excess, struct sm_error *err)
{
    if (!isnan(s->choked_at))
        return sm_fail(
            err, SM_E_PHYSICS,
            "at %.4g s the flow chokes in the grain's port, %.4g m from the head end: the port is too "
            "narrow for its throat; widen it there",
            a->t, s->choked_at);
    return sm_fail(err, SM_E_NUMERIC,
                   "no head-end pressure found at %.6g s: %.3g kg/s too much at the nozzle with %.6g Pa",
                   a->t, excess, head);
}

enum sm_status sm_axial_solve(struct sm_axial *a, double dt, double guess, struct sm_error *err)
{
    static const double highest = 1e9;                    /* no motor holds more [Pa] */
    const double slack = a->is_closed ? 1e-12 : a->slack; /* what is not let out must all be kept */
    static const double flow_slack = 1e-10;               /* [1] */
    struct search s = {0.0, SM_INF, 1.02, SM_ABSENT};
    double head = guess, last = SM_NAN, last_excess = SM_NAN, excess = SM_NAN;
    double width = SM_INF; /* of the bracket, three marches ago [Pa] */
    const double noise = 1e-15 * a->gas_density * a->gas_space / dt; /* rounding of the gas stored [kg/s] */
    ready(a, dt);
    for (int i = 0; i < 100; i++) {
        if (!sm_axial_march(a, head, &excess)) {
            head = pass_choke(&s, a, head);
            excess = SM_NAN;
            last = SM_NAN;
        } else {
            const double fill = (1.0 + a->reach) * a->gas_space / (a->chamber->rt * dt);
            double slope = -(a->give * a->mass_flow / head + fill);
            if (excess > 0.0)
                s.low = fmax(s.low, head);
            else
                s.high = fmin(s.high, head);
            if (!isnan(last) && head != last && (excess - last_excess) / (head - last) < 0.0)
                slope = (excess - last_excess) / (head - last);
            /* For the next step's first try: 1 - n where all is even, more where filling also takes from the drop of
             * pressure along the port. */
            if (!isnan(last) && a->mass_flow > 0.0)
                a->give = fmin(fmax((-slope - fill) * head / a->mass_flow, 0.1),
                               2.0 + 2.0 * fill * head / a->mass_flow);
            last = head;
            last_excess = excess;
            const double step = -excess / slope;
            if (fabs(step) <= slack * head || fabs(excess) <= flow_slack * (a->made + a->mass_flow) + noise)
                return take(a, excess);
            /* What is left of the search would move the pressure by less than this step. */
            if (i > 0 && fabs(head + step - a->foretold) > a->allowed + 2.0 * fabs(step)) {
                a->head = head + step;
                return SM_OK;
            }
            head = fmin(fmax(head + step, 0.5 * head), 2.0 * head);
        }
        /* The faces' pressures lag a march, so a bracket may be off by a hair. And where the nozzle stops, flow goes by the
         * root of what is left: straight lines then creep up on one side. */
        const int creeps = i % 3 == 2 && isfinite(s.high) && s.high - s.low > 0.5 * width;
        if (i % 3 == 2)
            width = s.high - s.low;
        if (creeps || !(head > s.low && head < s.high))
            head = isinf(s.high) ? 1.1 * s.low : 0.5 * (s.low + s.high);
        if (isfinite(s.high) && s.high - s.low <= 1e-12 * s.high) {
            if (!isnan(s.choked_at))
                break;
            s.low = 0.0; /* the faces' pressures, which lag a march, have moved the root: look anew */
            s.high = SM_INF;
        }
        if (head > highest && isnan(excess))
            break; /* choked even there */
        if (head > highest)
            return sm_fail(err, SM_E_PHYSICS,
                           "the pressure passes 1 GPa at %.4g s: the throat is far too small", a->t);
    }
    if (fabs(excess) <= 1e-9 * (a->made + a->mass_flow))
        return take(a, excess);
    return no_pressure(&s, a, head, excess, err);
}
