/* Bare thrust curves: inside a motor file, or as delimited text. */
#ifndef SM_INPUT_READ_CURVE_H
#define SM_INPUT_READ_CURVE_H

#include "input/read_params.h"
#include "motor/motor.h"
#include "slowmatch/catalog.h"

/* What a file tells of the motor besides its thrust; each SM_ABSENT if it doesn't. */
struct sm_curve_masses {
    double propellant;    /* that burns [kg] */
    double loaded;        /* of the whole motor before ignition [kg] */
    double center_loaded; /* of mass of the whole motor, from the head end [m] */
    double center_empty;  /* the same when all is burned [m] */
};

/*
 * Reads a curve from a file into the arena: delimited text with a header or without, W3C metadata beside it (its name and
 * "-metadata.json") giving columns and units; DAVE-ML; or a result as "burn --json" and "export --to json" write it. Which it
 * is its first bytes tell.
 *
 * Given: columns, of which the thrust's name also picks a force in a DAVE-ML file; masses, NULL if they aren't wanted, got from
 *   the first and last values of propellant_mass, motor_mass and motor_center_of_mass: columns of those names, series of a
 *   result, or the variables propellantMass, motorMass and motorCenterOfMass.
 * Status: SM_E_IO, SM_E_SYNTAX with line and column, SM_E_FIELD for a column that is not there, SM_E_UNIT.
 * Reference: RFC 4180; W3C, Metadata Vocabulary for Tabular Data (2015); ANSI/AIAA S-119-2011.
 */
enum sm_status sm_read_curve_file(struct sm_arena *arena, struct sm_units *units, const char *path,
                                  const struct sm_curve_columns *columns, struct sm_curve *curve,
                                  struct sm_curve_masses *masses, struct sm_error *err) SM_MUST_CHECK;

/* Columns of masses, in the order of enum sm_mass_column; their usual names and dimensions. */
enum sm_mass_column { SM_MASS_PROPELLANT, SM_MASS_MOTOR, SM_MASS_CENTER, SM_N_MASS_COLUMNS };
extern const struct sm_mass_name {
    const char *name, *variable; /* of a column, of DAVE-ML's variable */
    enum sm_dim dim;
} sm_mass_names[SM_N_MASS_COLUMNS];

/* First and last value of each, SM_ABSENT if it is not there. */
struct sm_mass_ends {
    double first[SM_N_MASS_COLUMNS]; /* [SI unit of its dim] */
    double last[SM_N_MASS_COLUMNS];  /* [SI unit of its dim] */
};

/* The same for delimited text alone, whatever stands beside it. Given: units of the mass columns, NULL each for those of the
 * header; ends, NULL if they aren't wanted. */
enum sm_status sm_read_delimited_curve(struct sm_arena *arena, struct sm_units *units, const char *path,
                                       const struct sm_curve_columns *columns,
                                       const char *const mass_units[SM_N_MASS_COLUMNS],
                                       struct sm_curve *curve, struct sm_mass_ends *ends,
                                       struct sm_error *err) SM_MUST_CHECK;

/* Does a file hold a curve where a motor file might stand: XML, a name that ends in .csv, a result as JSON? */
int sm_is_curve_file(const char *path);

/* Reads a motor file's "curve" object, at pointer. */
enum sm_status sm_read_bare_curve(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *folder, struct sm_bare_curve *bare) SM_MUST_CHECK;

#endif
