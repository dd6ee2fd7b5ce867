/*
 * A motor's burnback: burning area, volume and mass properties against the distance burned, and drawings of it.
 */
#ifndef SLOWMATCH_GRAIN_H
#define SLOWMATCH_GRAIN_H

#include "slowmatch/plot.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What a table comes to. */
struct sm_grain_figures {
    double web;               /* distance burned at which nothing is left [m] */
    double web_main;          /* at which slivers begin, the area falling for good below half its mean [m] */
    double sliver_fraction;   /* of the volume, left at web_main [1] */
    double burn_area_initial; /* [m2] */
    double burn_area_maximum; /* [m2] */
    double burn_area_mean;    /* volume over web [m2] */
    double burn_area_minimum; /* until web_main [m2] */
    double neutrality;        /* largest over mean area [1] */
    double
        loading; /* volumetric loading: volume over that of the cylinder it was cast in; of the whole stack, over
                       that of the case's bore and length [1] */
    double
        port_area; /* free section at the aft face before burning; of the stack, at its last cored grain; SM_ABSENT
                         where there is none [m2] */
    double port_perimeter; /* wetted perimeter there; SM_ABSENT where the table has no such column [m] */
    double port_to_throat; /* that area over the area of the throat as given; SM_ABSENT likewise [1] */
};

enum { SM_N_MOMENTS = 9 };

/* Columns of n rows each, in rising distance burned; two rows share one where the area jumps. */
struct sm_grain_table {
    const char *name; /* "1: star", or "all" for the whole stack */
    size_t n;
    double *web;                 /* distance burned [m] */
    double *area;                /* burning area [m2] */
    double *area_slope;          /* its derivative by the distance burned [m] */
    double *volume;              /* of propellant left [m3] */
    double *mass;                /* of propellant left [kg] */
    double *center_of_mass;      /* from the head end of the chamber [m] */
    double *inertia_axial;       /* about the motor's axis [kg m2] */
    double *center_x, *center_y; /* how far the centre of mass lies off the axis [m] */
    double *inertia_transverse;  /* about its own centre of mass [kg m2] */
    /* Integrals over the propellant left, z from the grain's fore face, of the stack from the head end: x, y and z [m4], then xx,
     * yy, zz, xy, xz and yz [m5]. */
    double *moments[SM_N_MOMENTS];
    /* Free section at the aft end of what is left [m2] and the burning, wetted perimeter of its wall there [m]; of a prism they
     * hold all along, and exactly; of ports of solids and meshes to 5e-5 of the circle and 3e-4 of its circumference. Where a
     * wall is inhibited it does not count as burning. Of the stack, those of its last grain with a port. NULL without one. */
    double *port_area, *perimeter;
    double accuracy; /* of the area, as a share of the largest; 0 where exact [1] */
    struct sm_grain_figures figures;
};

/* Tables of every entry of "grains" (one grain of each, repeats left out) and, last, of the whole stack. */
struct sm_grain_tables {
    const struct sm_grain_table *tables;
    size_t n;
};

/*
 * Given: rows, 2 to 100000: as many equal steps less one, besides the rows at jumps.
 * Returned: *tables, to be freed with sm_grain_tables_free before the motor.
 * Status: SM_E_FIELD for a motor given by its bare curve; SM_E_RANGE for rows.
 */
SM_API enum sm_status sm_grain_tables_make(const struct sm_motor *motor, size_t rows,
                                           struct sm_grain_tables **tables,
                                           struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_grain_tables_free(struct sm_grain_tables *tables);

/* As slowmatch-grain/1 JSON; as CSV of the whole stack; burning area against distance burned as a plot. */
SM_API enum sm_status sm_grain_tables_write_json(const struct sm_motor *motor,
                                                 const struct sm_grain_tables *tables, struct sm_sink *sink,
                                                 struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_grain_tables_write_csv(const struct sm_grain_tables *tables, struct sm_sink *sink,
                                                struct sm_error *err) SM_MUST_CHECK;
SM_API enum sm_status sm_grain_tables_plot(const struct sm_motor *motor, const struct sm_grain_tables *tables,
                                           enum sm_unit_system system, enum sm_picture_kind kind,
                                           struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

/* Each entry of "grains" to scale, with its burning surface at equal times of a run (result), or at equal distances burned
 * (result NULL); of a motor with one entry its lengths and angles too, by name. Status: SM_E_FIELD for a bare curve. */
SM_API enum sm_status sm_draw_grains(const struct sm_motor *motor, const struct sm_result *result,
                                     enum sm_picture_kind kind, struct sm_sink *sink,
                                     struct sm_error *err) SM_MUST_CHECK;

#ifdef __cplusplus
}
#endif
#endif
