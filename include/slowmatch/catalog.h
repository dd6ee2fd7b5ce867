/*
 * What the program knows: shapes, propellants, file formats.
 */
#ifndef SLOWMATCH_CATALOG_H
#define SLOWMATCH_CATALOG_H

#include "slowmatch/curve.h"
#include "slowmatch/motor.h"
#include "slowmatch/param.h"
#include "slowmatch/plot.h"
#include "slowmatch/sink.h"

#ifdef __cplusplus
extern "C" {
#endif

SM_API const char *sm_version(void); /* "0.1.0" */

/* ---- grain shapes ---- */

struct sm_shape_info {
    const char *name, *summary;
    const struct sm_param *params; /* of this shape, n_params of them */
    size_t n_params;
    const char *const *faces; /* words for all faces, NULL-terminated; bit i below is faces[i] */
    unsigned has_faces;       /* that the shape has */
    unsigned burning;         /* that burn unless the file says otherwise */
    const char *example;      /* one grain as JSON */
};
SM_API size_t sm_shape_count(void);
SM_API void sm_shape_describe(size_t i, struct sm_shape_info *info);
/* Place of a shape by name; on failure sm_shape_count(), and *near the nearest name or NULL. near may be NULL. */
SM_API size_t sm_shape_place(const char *name, const char **near);
/* Draws the example of shape i to scale: its lengths and angles by name, and its burning surface at equal distances burned. */
SM_API enum sm_status sm_shape_draw(size_t i, enum sm_picture_kind kind, struct sm_sink *sink,
                                    struct sm_error *err) SM_MUST_CHECK;
/* What every grain says: the rows common to all shapes. Returned: how many. */
SM_API size_t sm_grain_params(const struct sm_param **params);

/* ---- propellants ---- */

struct sm_propellant_info {
    const char *name, *source, *standing;
    double density;                 /* [kg/m3] */
    double cstar;                   /* delivered [m/s] */
    double gamma;                   /* [1] */
    double from, to;                /* range of the burning-rate law [Pa] */
    size_t n_segments;              /* of the law */
    double rate_low;                /* at 1 MPa and the reference temperature [m/s] */
    double rate_high;               /* at 5 MPa [m/s] */
    double exponent_low;            /* at 1 MPa [1] */
    double exponent_high;           /* at 5 MPa [1] */
    double temperature_sensitivity; /* [1/K] */
};
/* Calls each with every propellant of the folder that options name, in order of name; strings are borrowed for the
 * length of the call. Problems of a file go to diag, and reading goes on. */
SM_API enum sm_status sm_propellant_each(const struct sm_load_options *options,
                                         void (*each)(void *user, const struct sm_propellant_info *info),
                                         void *user, struct sm_diag *diag) SM_MUST_CHECK;
/* The file of a propellant by its name, as JSON. Status: SM_E_FIELD for a name that is not there. */
SM_API enum sm_status sm_propellant_write(const char *name, const struct sm_load_options *options,
                                          struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

/* ---- file formats ---- */

/* Rows of one object of a motor or propellant file; some objects have several such sections, one after the other. */
struct sm_section_info {
    const char *name;              /* "case"; "propellant" is that of a propellant file too */
    const char *summary;           /* what it holds, and whether it may be left out */
    const struct sm_param *params; /* n_params of them */
    size_t n_params;
};
SM_API size_t sm_section_count(void);
SM_API void sm_section_describe(size_t i, struct sm_section_info *info);

/* Reads any file of ours by its "format", or one that holds a curve, and checks it; *what is its format or "curve", a static
 * string. A motor is assembled too. Problems are in diag. */
SM_API enum sm_status sm_file_check(const char *path, const struct sm_load_options *options,
                                    const char **what, struct sm_diag *diag) SM_MUST_CHECK;

/* Names of formats that have a schema, NULL-terminated: "slowmatch-motor", ... */
SM_API const char *const *sm_schema_names(void);
/* Writes the JSON Schema (2020-12) of one, from the program's own rows. Status: SM_E_FIELD for an unknown name. */
SM_API enum sm_status sm_schema_write(const char *name, struct sm_sink *sink,
                                      struct sm_error *err) SM_MUST_CHECK;

/* ---- bare curves ---- */

/* Where time and thrust stand in a delimited file, and in what units. All NULL: by the header's names "time" and
 * "thrust", else the first and second column; units from the header as "time (s)", else s and N. */
struct sm_curve_columns {
    const char *time, *thrust; /* a column by its header's name, or its number from 1 */
    const char *time_unit, *thrust_unit;
};
/* Reads a curve. *curve points into *owner, which is freed with sm_curve_free. */
struct sm_curve_owner;
SM_API enum sm_status sm_curve_load(const char *path, const struct sm_curve_columns *columns,
                                    struct sm_units *units, struct sm_curve_owner **owner,
                                    struct sm_curve *curve, struct sm_error *err) SM_MUST_CHECK;
SM_API void sm_curve_free(struct sm_curve_owner *owner);

#ifdef __cplusplus
}
#endif
#endif
