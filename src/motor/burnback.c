#include "motor/burnback.h"

#include <math.h>

static const double jump = 1e-9; /* relative step of the area that counts as one [1] */

struct rows {
    struct sm_arena *arena;
    struct sm_burnback_row *items;
    size_t n, room;
};

static enum sm_status put(struct rows *rows, const struct sm_piece *piece, double w, struct sm_error *err)
{
    struct sm_burnback_row *room =
        sm_arena_grow(rows->arena, rows->items, rows->n, &rows->room, rows->n + 1, sizeof *room);
    if (!room)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    rows->items = room;
    room[rows->n].w = w;
    struct sm_surface surface;
    sm_piece_eval(piece, w, &room[rows->n].at);
    sm_piece_surface(piece, w, &surface);
    room[rows->n].area_slope = surface.slope;
    rows->n++;
    return SM_OK;
}

/* By how much two pieces may miss each other where nothing jumps: each is as far off as the table says [m2]. */
static double slack_of(const struct sm_geometry *g)
{
    double largest = 0.0, area, volume;
    for (size_t i = 0; i < g->n_pieces; i++) {
        sm_piece_area(&g->pieces[i], g->pieces[i].w0, &area, &volume);
        largest = fmax(largest, area);
        sm_piece_area(&g->pieces[i], g->pieces[i].w1, &area, &volume);
        largest = fmax(largest, area);
    }
    return 2.0 * g->accuracy * largest;
}

static int jumps(const struct sm_piece *before, const struct sm_piece *after, double slack)
{
    double a, b, volume;
    sm_piece_area(before, before->w1, &a, &volume);
    sm_piece_area(after, after->w0, &b, &volume);
    return fabs(a - b) > fmax(jump * fmax(fabs(a), fabs(b)), slack);
}

enum sm_status sm_burnback_rows(const struct sm_geometry *g, size_t steps, struct sm_arena *arena,
                                struct sm_burnback_row **out, size_t *n, struct sm_error *err)
{
    const double slack = slack_of(g);
    struct rows rows = {.arena = arena};
    size_t step = 0;
    for (size_t i = 0; i < g->n_pieces; i++) {
        const struct sm_piece *piece = &g->pieces[i];
        const int is_last = i + 1 == g->n_pieces;
        for (; step <= steps; step++) {
            const double w = step == steps ? g->web : g->web * (double)step / (double)steps;
            if (is_last ? w > piece->w1 : w >= piece->w1)
                break;
            SM_TRY(put(&rows, piece, w, err));
        }
        if (!is_last && jumps(piece, piece + 1, slack)) {
            SM_TRY(put(&rows, piece, piece->w1, err));
            SM_TRY(put(&rows, piece + 1, piece->w1, err));
            while (step <= steps && g->web * (double)step / (double)steps <= piece->w1)
                step++;
        }
    }
    /* At the web nothing is left, by definition; the polynomial leaves a rounding of it. */
    for (int q = 0; rows.n > 0 && q < SM_N_INTEGRALS; q++)
        rows.items[rows.n - 1].at.value[q] = 0.0;
    *out = rows.items;
    *n = rows.n;
    return SM_OK;
}
