/*
 * The axial model in time. Webs go by the midpoint rule: the pressure that is solved for stands in the middle of its step, with
 * the sections of that instant. A straight line through it and the last one goes on to the step's end, and the gas kept is the
 * difference of the ends: on even steps that is the second backward difference formula, which does not ring however long the
 * step. What is burned and what is kept are both differences of states, so the books close.
 */
#include "ballistics/axial.h"

#include <math.h>

enum { MAX_STEPS = 200000, QUARTERS = 3, N_PROFILES = 2 + QUARTERS, N_COLUMNS = 6 };
enum { AT_PEAK, AT_MACH, AT_QUARTER };

struct march {
    const struct sm_motor *motor;
    const struct sm_march_options *options;
    struct sm_arena *arena;
    struct sm_axial axial;
    struct sm_axial_trace *out;
    size_t capacity, epoch;
    double growth, wear;      /* of the throat's radius at the step's start [m], its speed [m/s] */
    double since;             /* from the instant of the last row to the end of its step [s] */
    double head, trend;       /* last head pressure [Pa], and how fast it went [Pa/s] */
    double bend, apart;       /* half its second derivative [Pa/s2]; how far the last two are apart [s] */
    double peak, peak_thrust; /* so far [Pa], [N] */
    double before;            /* propellant at the start [m3] */
    double left;              /* now [m3] */
    struct sm_axial_profile profiles[N_PROFILES];
    double *profile_room; /* [1] for all columns: each in its own SI unit */
};

/* ---- rows ---- */

/* Distance at which an evenly burned grain has this volume [m3] left. */
static double even_distance(const struct sm_geometry *g, double volume, double start)
{
    double w = start, low = 0.0, high = g->web;
    for (int i = 0; i < 60 && high - low > 1e-13 * g->web; i++) {
        double area, left;
        const size_t piece = sm_geometry_find(g, w);
        if (piece >= g->n_pieces) {
            high = w;
            w = 0.5 * (low + high);
            continue;
        }
        sm_piece_area(&g->pieces[piece], w, &area, &left);
        const double miss = left - volume;
        if (fabs(miss) <= 1e-12 * g->envelope)
            break;
        if (miss > 0.0)
            low = w;
        else
            high = w;
        const double next = area > 0.0 ? w + miss / area : high;
        w = next > low && next < high ? next : 0.5 * (low + high);
    }
    return w;
}

/* The propellant in the middle of the step: mass and centre from the cells, the rest from the evenly burned grain. */
static void body_of(struct march *m, struct sm_body *all)
{
    *all = (struct sm_body){0};
    for (size_t i = 0; i < m->axial.grid.n_grains; i++) {
        struct sm_axial_grain *g = &m->axial.grid.grains[i];
        double first[2];
        const double v0 = sm_axial_volume(g, 0, &first[0]), v1 = sm_axial_volume(g, 1, &first[1]);
        const double volume = 0.5 * (v0 + v1), density = m->axial.chamber->density;
        struct sm_geometry_at at;
        struct sm_body one, sum;
        if (!(volume > 1e-12 * g->geometry->envelope))
            continue;
        g->even = even_distance(g->geometry, volume, g->even);
        sm_geometry_eval(g->geometry, g->even, &at);
        sm_propellant_body(density, &at, &one);
        one.mass = density * volume;
        one.center_of_mass = 0.5 * (first[0] + first[1]) / volume;
        sm_body_join(all, &one, &sum);
        *all = sum;
    }
}

static struct sm_axial_row *new_row(struct march *m, struct sm_error *err)
{
    struct sm_axial_trace *o = m->out;
    struct sm_axial_row *room = sm_arena_grow(m->arena, o->rows, o->n, &m->capacity, o->n + 1, sizeof *room);
    if (!room) {
        (void)sm_fail(err, SM_E_NOMEM, "out of memory");
        return NULL;
    }
    o->rows = room;
    room[o->n] = (struct sm_axial_row){0};
    return &room[o->n++];
}

static struct sm_port_gas gas_of(const struct sm_axial *a)
{
    return (struct sm_port_gas){a->gamma, a->chamber->rt * a->heat};
}

/* Burning area as if all were lit, and what is largest along the port. */
static void scan(struct march *m, double t, struct sm_axial_row *row)
{
    const struct sm_axial_grid *grid = &m->axial.grid;
    const struct sm_port_gas gas = gas_of(&m->axial);
    struct sm_axial_summary *s = &m->out->summary;
    for (size_t i = 0; i < grid->n_grains; i++) {
        const struct sm_axial_grain *g = &grid->grains[i];
        const struct sm_axial_cell *fore = NULL, *aft = NULL;
        row->web = fmax(row->web, fmin(g->block, g->geometry->web));
        if (g->n_cells == 0 && g->block < g->geometry->web) {
            double area, left;
            sm_piece_area(&g->geometry->pieces[sm_geometry_find(g->geometry, g->block)], g->block, &area,
                          &left);
            row->area += area;
        }
        for (size_t j = 0; j < g->n_cells; j++) {
            const struct sm_axial_cell *c = &g->cells[j];
            const double open = sm_axial_open(g, c, g->end), middle = 0.5 * (c->from + c->to);
            if (!(open > 0.0))
                continue;
            fore = fore ? fore : c;
            aft = c;
            row->area += g->share * c->wall * open;
            row->web = fmax(row->web, fmin(c->w, g->geometry->web));
            const double mach = sm_port_mach(&gas, &c->point);
            row->mach = fmax(row->mach, mach);
            row->flux = fmax(row->flux, c->flux);
            if (c->wall > 0.0 && c->plain > 0.0)
                s->erosive_ratio = fmax(s->erosive_ratio, c->rate / c->plain);
            if (mach > s->mach_maximum) {
                s->mach_maximum = mach;
                s->mach_place = middle;
                s->mach_time = t;
            }
            if (c->flux > s->mass_flux_maximum) {
                s->mass_flux_maximum = c->flux;
                s->mass_flux_place = middle;
            }
        }
        if (fore)
            row->area +=
                g->share * (g->burns[0] * (g->circle - fore->area) + g->burns[1] * (g->circle - aft->area));
    }
}

/* Keeps the flow by station, in the room made for it. */
static void keep_profile(struct march *m, size_t which, double t)
{
    const struct sm_axial_grid *grid = &m->axial.grid;
    const struct sm_port_gas gas = gas_of(&m->axial);
    const size_t all = grid->n_cells;
    double *y = m->profile_room + which * N_COLUMNS * all;
    size_t n = 0;
    for (size_t i = 0; i < grid->n_grains; i++)
        for (size_t j = 0; j < grid->grains[i].n_cells; j++, n++) {
            const struct sm_axial_grain *g = &grid->grains[i];
            const struct sm_axial_cell *c = &g->cells[j];
            const int is_open = sm_axial_open(g, c, g->end) > 0.0;
            y[n] = is_open ? c->point.pressure : SM_ABSENT;
            y[all + n] = is_open ? c->point.speed : SM_ABSENT;
            y[2 * all + n] = is_open ? sm_port_mach(&gas, &c->point) : SM_ABSENT;
            y[3 * all + n] = is_open ? c->flux : SM_ABSENT;
            y[4 * all + n] = is_open && c->wall > 0.0 ? c->rate : 0.0;
            y[5 * all + n] = fmin(c->w, g->geometry->web);
        }
    m->profiles[which] =
        (struct sm_axial_profile){t, y, y + all, y + 2 * all, y + 3 * all, y + 4 * all, y + 5 * all};
}

static void keep_profiles(struct march *m, double t, double mach_before)
{
    const double burned = 1.0 - m->left / m->before;
    if (m->axial.grid.n_cells == 0)
        return;
    if (m->axial.head >= m->peak)
        keep_profile(m, AT_PEAK, t);
    if (m->out->summary.mach_maximum > mach_before)
        keep_profile(m, AT_MACH, t);
    for (size_t i = 0; i < QUARTERS; i++)
        if (burned >= 0.25 * (double)(i + 1) && !m->profiles[AT_QUARTER + i].pressure)
            keep_profile(m, AT_QUARTER + i, t);
}

static enum sm_status put_row(struct march *m, double t, struct sm_error *err)
{
    struct sm_axial *a = &m->axial;
    struct sm_axial_summary *s = &m->out->summary;
    struct sm_jet room;
    const struct sm_jet *jet = sm_chamber_jet(a->chamber, a->growth, &room);
    const double mach_before = s->mach_maximum;
    struct sm_axial_row *row = new_row(m, err);
    if (!row)
        return SM_E_NOMEM;
    row->t = t;
    row->head = a->head;
    row->aft = a->aft;
    row->total = a->total;
    row->flow = a->mass_flow;
    row->thrust = a->is_closed ? 0.0 : sm_jet_thrust(jet, a->total, NULL, NULL);
    row->throat = 2.0 * (a->chamber->throat_radius + a->growth);
    row->ratio = jet->exit_area / (0.25 * M_PI * row->throat * row->throat);
    scan(m, t, row);
    body_of(m, &row->propellant);
    s->head_maximum = fmax(s->head_maximum, row->head);
    s->aft_maximum = fmax(s->aft_maximum, row->aft);
    s->drop = fmax(s->drop, row->head / row->aft - 1.0);
    keep_profiles(m, t, mach_before);
    m->peak = fmax(m->peak, row->head);
    m->peak_thrust = fmax(m->peak_thrust, row->thrust);
    return SM_OK;
}

/* ---- steps ---- */

/* The state before anything flows. */
static enum sm_status start(struct march *m, struct sm_error *err)
{
    struct sm_axial *a = &m->axial;
    a->head = a->aft = a->total = m->head = m->motor->start_pressure;
    a->mass_flow = 0.0;
    for (size_t i = 0; i < a->grid.n_grains; i++) {
        struct sm_axial_grain *g = &a->grid.grains[i];
        m->before += sm_axial_volume(g, 0, NULL);
        for (size_t j = 0; j < g->n_cells; j++) {
            struct sm_axial_cell *c = &g->cells[j];
            c->point.pressure = a->head;
            c->area = sm_axial_section(&c->table, 0.0, &c->level, &c->wall);
        }
    }
    m->left = m->before;
    if (!a->is_closed) {
        struct sm_jet room;
        a->mass_flow = sm_jet_mass_flow(sm_chamber_jet(a->chamber, 0.0, &room), a->total, NULL);
    }
    return put_row(m, 0.0, err);
}

static double fastest(const struct sm_axial_grid *grid)
{
    double rate = 0.0;
    for (size_t i = 0; i < grid->n_grains; i++)
        for (size_t j = 0; j < grid->grains[i].n_cells; j++)
            if (grid->grains[i].cells[j].wall > 0.0)
                rate = fmax(rate, grid->grains[i].cells[j].rate);
    return rate;
}

/* Takes the step's end as the next one's start. */
static void advance(struct march *m)
{
    struct sm_axial *a = &m->axial;
    m->left = 0.0;
    for (size_t i = 0; i < a->grid.n_grains; i++) {
        struct sm_axial_grain *g = &a->grid.grains[i];
        for (size_t j = 0; j < g->n_cells; j++) {
            struct sm_axial_cell *c = &g->cells[j];
            double growth;
            c->w = c->next;
            c->was = sm_axial_section(&c->table, c->w, &c->level, &growth);
        }
        g->end[0] = g->next[0];
        g->end[1] = g->next[1];
        g->block = g->unblock;
        m->left += sm_axial_volume(g, 0, NULL);
    }
    m->wear = sm_chamber_wear(a->chamber, a->epoch, a->total, NULL);
    m->growth += m->wear * a->dt;
    a->gas_space = a->space;
    a->gas_density = a->density;
    a->warmth = a->heat;
    a->t += a->dt;
}

/* Straight lines between rows miss a curve by an eighth of what its trend misses over a step as long as the last. */
static double trend_allowed(const struct march *m)
{
    return 8.0 * m->options->accuracy * m->peak;
}

/* Puts the step on record. */
static enum sm_status accept(struct march *m, double spacing, struct sm_error *err)
{
    struct sm_axial *a = &m->axial;
    const double trend = (a->head - m->head) / spacing;
    m->bend = m->apart > 0.0 ? (trend - m->trend) / (spacing + m->apart) : 0.0;
    m->apart = spacing;
    m->trend = trend;
    m->head = a->head;
    m->since = 0.5 * a->dt;
    SM_TRY(put_row(m, a->t + 0.5 * a->dt, err));
    const struct sm_axial_row *row = &m->out->rows[m->out->n - 1];
    m->out->books.impulse += row->thrust * a->dt;
    m->out->books.expelled += row->flow * a->dt;
    advance(m);
    return SM_OK;
}

/* One step of at most dt, or less if the pressure bends too much; *dt becomes what is to be tried next. */
static enum sm_status step(struct march *m, double *dt, struct sm_error *err)
{
    static const double least = 1e-9; /* s; below any time in a motor */
    struct sm_axial *a = &m->axial;
    const struct sm_chamber *chamber = a->chamber;
    for (;;) {
        const double spacing = m->since + 0.5 * *dt;
        const double foretold = m->head + m->trend * spacing;
        a->igniter = (sm_epochs_delivered(chamber->epochs, chamber->n_epochs, a->t + *dt) -
                      sm_epochs_delivered(chamber->epochs, chamber->n_epochs, a->t)) /
                     *dt;
        a->last = m->head;
        a->reach = 0.5 * *dt / spacing;
        a->growth = m->growth + 0.5 * *dt * m->wear;
        SM_TRY(sm_chamber_check_throat(chamber, a->growth, a->t, err));
        const double bent = m->bend * spacing * (spacing + m->apart), most = trend_allowed(m);
        const double guess = foretold + fmin(fmax(bent, -most), most); /* a parabola, but not over a kink */
        a->foretold = foretold;
        a->allowed = *dt > least ? most : SM_INF;
        SM_TRY(sm_axial_solve(a, *dt, fmax(guess, 0.5 * m->head), err));
        const double miss = fabs(a->head - foretold) / most;
        const double burst = a->is_closed ? a->head / chamber->closure_pressure - 1.0 : -1.0;
        const int is_void = !(a->density > 0.0); /* the line to the step's end passes below nothing */
        if (*dt > least && (miss > 1.0 || burst > 1e-3 || is_void)) {
            *dt *= miss > 1.0 ? fmax(0.2, 0.9 / sqrt(miss)) : 0.5;
            m->out->books.rejected++;
            continue;
        }
        SM_TRY(accept(m, spacing, err));
        if (burst >= 0.0)
            a->is_closed = 0;
        *dt *= burst >= 0.0 ? 1e-3 : fmin(2.0, 0.9 / sqrt(fmax(miss, 1e-4)));
        return SM_OK;
    }
}

/* Not past the epoch's end, nor burning more of the web than the midpoint rule follows. */
static double limited(struct march *m, double dt)
{
    struct sm_axial *a = &m->axial;
    const double share = fmin(0.02, 2.0 * sqrt(m->options->accuracy)); /* of the web a step */
    while (a->t >= a->chamber->epochs[m->epoch].until)
        m->epoch++;
    a->epoch = &a->chamber->epochs[m->epoch];
    const double rate = fastest(&a->grid), rest = a->epoch->until - a->t;
    if (rate > 0.0 && m->left > 0.0)
        dt = fmin(dt, share * a->grid.web / rate);
    return dt < rest ? (dt > 0.5 * rest ? 0.5 * rest : dt) : rest;
}

static enum sm_status march(struct march *m, struct sm_error *err)
{
    struct sm_axial *a = &m->axial;
    const struct sm_progress *progress = m->options->progress;
    struct sm_trace *books = &m->out->books;
    const double filling = a->gas_space * m->motor->gas.cstar / (a->chamber->rt * a->chamber->throat_area);
    double dt = 1e-3 * filling;
    SM_TRY(start(m, err));
    for (int i = 0; i < MAX_STEPS; i++) {
        dt = limited(m, dt);
        SM_TRY(step(m, &dt, err));
        books->steps++;
        const double thrust = m->out->rows[m->out->n - 1].thrust;
        if (m->left < 0.5 * m->before && !a->is_closed && thrust <= 1e-3 * m->peak_thrust) {
            books->end = m->left > 1e-9 * m->before ? SM_RUN_FADED : SM_RUN_BURNED_OUT;
            return SM_OK;
        }
        if (progress && progress->step && progress->step(progress->user, 1.0 - m->left / m->before)) {
            books->end = SM_RUN_CANCELLED;
            return SM_OK;
        }
    }
    return sm_fail(
        err, SM_E_NUMERIC,
        "the axial march is at %.6g s after %d steps, with %.3g of the propellant left; ask for less "
        "accuracy",
        a->t, (int)MAX_STEPS, m->left / m->before);
}

/* ---- a run ---- */

static enum sm_status put_summary(struct march *m, struct sm_error *err)
{
    struct sm_axial_summary *s = &m->out->summary;
    const struct sm_axial_grid *grid = &m->axial.grid;
    double *place = sm_arena_alloc(m->arena, grid->n_cells, sizeof *place);
    struct sm_axial_profile *profiles = sm_arena_alloc(m->arena, N_PROFILES, sizeof *profiles);
    if (!place || !profiles)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    for (size_t i = 0; i < grid->n_grains; i++)
        for (size_t j = 0; j < grid->grains[i].n_cells; j++)
            place[s->n++] = 0.5 * (grid->grains[i].cells[j].from + grid->grains[i].cells[j].to);
    for (size_t i = 0; i < N_PROFILES; i++)
        if (m->profiles[i].pressure)
            profiles[s->n_profiles++] = m->profiles[i];
    s->place = place;
    s->profiles = profiles;
    s->peak_ratio = s->erosive_peak = SM_ABSENT;
    s->volume_correction = grid->correction;
    return SM_OK;
}

enum sm_status sm_march_axial(const struct sm_motor *motor, const struct sm_chamber *chamber,
                              const struct sm_march_options *options, size_t stations, double temperature,
                              struct sm_arena *arena, struct sm_axial_trace *trace, struct sm_error *err)
{
    struct march m = {.motor = motor, .options = options, .arena = arena, .out = trace};
    const struct sm_propellant *propellant = &motor->spec.propellant;
    *trace = (struct sm_axial_trace){.summary.erosive_ratio = 1.0};
    m.axial = (struct sm_axial){.chamber = chamber,
                                .slack = fmin(1e-6, 1e-2 * options->accuracy),
                                .gamma = motor->gas.gamma,
                                .friction = motor->spec.chamber.friction_factor,
                                .spread_speed = motor->spec.ignition.spread_speed,
                                .gas_density = chamber->start_pressure / chamber->rt,
                                .gas_space = motor->free_volume,
                                .warmth = 1.0,
                                .heat = 1.0,
                                .give = 0.6,
                                .is_closed = chamber->start_pressure < chamber->closure_pressure};
    sm_erosive_init(&m.axial.erosive, &propellant->erosive, propellant->density, temperature,
                    propellant->flame_temperature);
    SM_TRY(sm_axial_grid_init(&m.axial.grid, motor, stations, arena, err));
    m.profile_room =
        sm_arena_alloc(arena, N_PROFILES * N_COLUMNS * (m.axial.grid.n_cells + 1), sizeof(double));
    if (!m.profile_room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(march(&m, err));
    if (!(m.peak_thrust > 0.0))
        return sm_fail(
            err, SM_E_PHYSICS,
            "the motor makes no thrust: its pressure falls to the ambient pressure; a smaller throat or "
            "more burning area would help");
    trace->books.volume_left = m.left;
    trace->books.gas_left = m.axial.gas_density * m.axial.gas_space;
    trace->books.delivered = sm_epochs_delivered(chamber->epochs, chamber->n_epochs, m.axial.t);
    return put_summary(&m, err);
}
