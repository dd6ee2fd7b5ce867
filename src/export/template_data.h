/* What an export has to say, as values of a template. */
#ifndef SM_EXPORT_TEMPLATE_DATA_H
#define SM_EXPORT_TEMPLATE_DATA_H

#include "doc/template.h"
#include "export/export.h"
#include "units/units.h"

enum { SM_MAX_UNITS_USED = 64 };

struct sm_fields {
    const struct sm_export *e;
    struct sm_units *units;
    struct {
        enum sm_dim dim;
        char name[32];
        struct sm_unit_scale scale;
    } used[SM_MAX_UNITS_USED]; /* met so far, n_used of them */
    size_t n_used;
};

/*
 * Values: every fact and every figure of the summary by name; row_count; rows, each with its columns, index from 0, number
 * from 1, first and last. A quantity is its SI number, and inside it are units: thrust.lbf, impulse.lbf_s, mass_flow.g_s,
 * where an underscore is a product, or else a quotient.
 *
 * Given: fields and units, borrowed as long as data.
 */
void sm_fields_init(struct sm_fields *fields, const struct sm_export *e, struct sm_units *units,
                    struct sm_template_data *data);

/* Are the options' number formats sound, and of names that there are? Status: SM_E_SYNTAX, SM_E_FIELD. */
enum sm_status sm_fields_check_numbers(const struct sm_export *e, struct sm_error *err) SM_MUST_CHECK;

#endif
