/* Limits on what the readers accept. Each is checked where it applies and named in the message. */
#ifndef SLOWMATCH_LIMITS_H
#define SLOWMATCH_LIMITS_H

enum {
    SM_MAX_JSON_BYTES = 16 << 20, /* of one motor, propellant or vehicle file */
    SM_MAX_JSON_DEPTH = 64,       /* nested arrays and objects */
    SM_MAX_XML_BYTES = 64 << 20,  /* of one DAVE-ML file */
    SM_MAX_CSV_BYTES = 1 << 30,   /* of one record */
    SM_MAX_CSV_ROWS = 20 * 1000 * 1000,
    SM_MAX_FACETS = 1000 * 1000, /* of one mesh */
    SM_MAX_TEXT = 4096,          /* bytes of one name, note or citation */
    SM_MAX_GRAINS = 64,          /* entries of "grains" */
    SM_MAX_GRAIN_COUNT = 1000,   /* repeats of one entry */
    SM_MAX_BURN_SEGMENTS = 64,
    SM_MAX_PARTS = 64,
    SM_MAX_CURVE_POINTS = 1000 * 1000,
    SM_MAX_IGNITER_POINTS = 256,
    SM_MAX_MOTORS = 64,           /* compared at once */
    SM_MAX_SAMPLES = 1000 * 1000, /* of one spread */
    SM_MAX_SHARDS = 10000,
    SM_MAX_TOLERANCES = 64, /* values of one motor that stray */
    SM_STATIONS_MIN = 2,    /* of the axial model */
    SM_STATIONS_MAX = 2000,
};

#endif
