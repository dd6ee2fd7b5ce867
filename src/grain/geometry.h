/*
 * What a grain is to the rest of the program: its geometry against the distance burned.
 *
 * Frame of one grain: z from its fore (head-end) face towards the nozzle, x and y across, origin on the case
 * axis. All integrals are of volume, without density.
 */
#ifndef SM_GRAIN_GEOMETRY_H
#define SM_GRAIN_GEOMETRY_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/fail.h"

/* The integrals kept for every grain. Each X(w) is that over the propellant left at distance burned w; -dX/dw
 * is then the same integral over the burning front, so the burning area is -d(volume)/dw. */
enum sm_integral {
    SM_VOLUME, /* integral of 1 dV     [m3] */
    SM_X,      /* integral of x dV     [m4] */
    SM_Y,      /* integral of y dV     [m4] */
    SM_Z,      /* integral of z dV     [m4] */
    SM_XX,     /* integral of x^2 dV   [m5] */
    SM_YY,     /* integral of y^2 dV   [m5] */
    SM_ZZ,     /* integral of z^2 dV   [m5] */
    SM_XY,     /* integral of x y dV   [m5] */
    SM_XZ,     /* integral of x z dV   [m5] */
    SM_YZ,     /* integral of y z dV   [m5] */
    SM_N_INTEGRALS
};

/* How u runs over a piece. Next to a tangency (a front reaches the case or another front at a point) the area
 * goes like the root of the distance burned from there; against that root it is smooth. */
enum sm_pace {
    SM_EVEN,        /* u = (w - w0) / (w1 - w0) */
    SM_ROOT_BEFORE, /* u = (s - near) / (far - near), s = sqrt(w - root), root <= w0 */
    SM_ROOT_BEHIND  /* the same with s = sqrt(root - w), root >= w1; u runs from 1 at w0 to 0 at w1 */
};

/* One smooth stretch of the burn: on [w0, w1] every integral is the quintic sum c[i] u^i. Six coefficients
 * carry value, slope and curvature at both ends; a tube's and an end burner's integrals are polynomials of
 * degree five at most, so one piece holds them exactly. A jump of the area stands between two pieces. Read
 * pieces through sm_piece_area and sm_piece_eval, which know the paces. */
struct sm_piece {
    double w0, w1; /* distance burned [m], w0 < w1 */
    enum sm_pace pace;
    double root;      /* distance burned at the tangency, where the pace is not even [m] */
    double near, far; /* s at the end next to the root and at the other [m1/2]; if near = 0, c[1] = 0 */
    double c[SM_N_INTEGRALS][6]; /* [m3], [m4] or [m5] */
};

/* Immutable once made. Pieces join end to end from w = 0 to the web. */
struct sm_geometry {
    struct sm_piece *pieces; /* in the owner's arena */
    size_t n_pieces;
    double web;      /* distance burned at which nothing is left [m] */
    double web_main; /* distance burned at which the burning area first falls for good below half its mean,
                        where slivers begin; the web itself where there are none [m] */
    double length;   /* from the fore face to the aft face, before burning [m] */
    double outer_radius; /* of the cylinder it was cast in [m] */
    double envelope;     /* volume of that cylinder over the length, less what domed ends cut off [m3] */
    double port_area;    /* free section at the aft face before burning, for the mass flux; 0 for none [m2] */
    double accuracy; /* largest error of the area met when the pieces were checked against the geometry, as a
                        share of the largest area; 0 where they are exact [1] */
};

struct sm_geometry_at {
    double value[SM_N_INTEGRALS]; /* [m3], [m4], [m5] */
    double slope[SM_N_INTEGRALS]; /* d/dw: [m2], [m3], [m4]; slope[SM_VOLUME] is minus the burning area */
};

/*
 * The geometry at distance burned w [m] and its first derivatives; w outside [0, web] is taken at the nearer
 * end, and past the web everything is zero. At a jump the value after it.
 */
void sm_geometry_eval(const struct sm_geometry *g, double w, struct sm_geometry_at *out);

/* The same from a known piece, whose ends may be overstepped by a rounding. */
void sm_piece_eval(const struct sm_piece *piece, double w, struct sm_geometry_at *out);

/* The slopes alone [m2], [m3], [m4]. */
void sm_piece_slopes(const struct sm_piece *piece, double w, double slope[SM_N_INTEGRALS]);

/* Burning area [m2] and propellant volume [m3] alone, for the inner loop. */
void sm_piece_area(const struct sm_piece *piece, double w, double *area, double *volume);

/* The same with the area's slope dA/dw [m2/m] for the integrator's Jacobian. Next to a root, where the slope grows without
 * bound, it is that a little way off, so always finite. */
struct sm_surface {
    double volume, area, slope; /* [m3], [m2], [m2/m] */
};
void sm_piece_surface(const struct sm_piece *piece, double w, struct sm_surface *out);

/* Place of the piece that holds w (the later one at a joint); n_pieces if w >= web. */
size_t sm_geometry_find(const struct sm_geometry *g, double w);

/* Value, first and second derivative of every integral at one distance burned: what a table is made from. */
struct sm_geometry_knot {
    double w;                     /* [m] */
    double value[SM_N_INTEGRALS]; /* [m3], [m4], [m5] */
    double slope[SM_N_INTEGRALS]; /* [m2], [m3], [m4] */
    double bend[SM_N_INTEGRALS];  /* [m], [m2], [m3] */
};

/* The quintic through two knots, a taken just after its w and b just before. Requires a->w < b->w; root is of no account
 * to the even pace. At the root itself the curvature is not used and may be infinite. Where both knots' values differ by
 * what their slopes make of it to within noise (of each integral, or NULL for none), the slopes have it: on a short piece
 * a rounding of the volume would else show in the area. */
void sm_piece_from_knots(const struct sm_geometry_knot *a, const struct sm_geometry_knot *b,
                         enum sm_pace pace, double root, const double noise[SM_N_INTEGRALS],
                         struct sm_piece *out);

/* The quintic through three knots' values and slopes, middle being halfway between a and b in u; their curvatures are not
 * used. */
void sm_piece_from_three(const struct sm_geometry_knot *a, const struct sm_geometry_knot *middle,
                         const struct sm_geometry_knot *b, enum sm_pace pace, double root,
                         struct sm_piece *out);

/* Value, slope and curvature at w in [w0, w1]. */
void sm_piece_knot(const struct sm_piece *piece, double w, struct sm_geometry_knot *out);

/* Fills web and web_main from the pieces. */
void sm_geometry_finish(struct sm_geometry *g);

/* What a table comes to. */
struct sm_geometry_figures {
    double area_initial;    /* [m2] */
    double area_maximum;    /* [m2] */
    double area_mean;       /* the volume over the web [m2] */
    double area_minimum;    /* while the web proper burns, slivers left out [m2] */
    double sliver_fraction; /* of the volume, left at web_main [1] */
    double neutrality;      /* largest over mean area [1] */
    double loading;         /* volume over the envelope, the volumetric loading fraction [1] */
};
void sm_geometry_figures(const struct sm_geometry *g, struct sm_geometry_figures *out);

/*
 * The geometry of the same grain k times as large, without cutting it again: distances by k, areas by k^2, volumes by k^3,
 * first moments by k^4, second ones by k^5.
 *
 * Given: g, which lives elsewhere; k > 0 [1].
 * Returned: *out, in the arena. Status: SM_E_NOMEM; SM_E_INTERNAL for k.
 */
enum sm_status sm_geometry_scale(struct sm_arena *arena, const struct sm_geometry *g, double k,
                                 struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

/* The same k times as long alone. Right where the burning front moves across the axis everywhere and the grain looks the same
 * all along it: a prism whose ends don't burn. */
enum sm_status sm_geometry_stretch(struct sm_arena *arena, const struct sm_geometry *g, double k,
                                   struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

/* The sum of n geometries, each moved by shift[i] along z and repeated count[i] times at spacing pitch[i]
 * [m], as one geometry of a whole stack whose w is common to all. The result lives in the arena. */
struct sm_stack_item {
    const struct sm_geometry *geometry;
    double shift, pitch; /* [m] */
    int count;           /* >= 1 */
};
enum sm_status sm_geometry_stack(struct sm_arena *arena, const struct sm_stack_item *items, size_t n,
                                 struct sm_geometry *out, struct sm_error *err) SM_MUST_CHECK;

#endif
