#include "motor/hardware.h"

#include <math.h>

static enum sm_status check_part(const struct sm_hardware_part *part, struct sm_error *err)
{
    if (part->form == SM_PART_POINT)
        return SM_OK;
    if (!(part->outer_diameter > 0.0))
        return sm_at(err, sm_fail(err, SM_E_FIELD, "a tube or disc needs its outer_diameter, as \"32 mm\""),
                     "/outer_diameter");
    if (part->inner_diameter >= part->outer_diameter)
        return sm_at(err,
                     sm_fail(err, SM_E_GEOMETRY,
                             "inner_diameter %.6g mm is not smaller than outer_diameter %.6g mm",
                             1e3 * part->inner_diameter, 1e3 * part->outer_diameter),
                     "/inner_diameter");
    return SM_OK;
}

/* Inertia of a homogeneous hollow cylinder, of which a disc is a short one (any mechanics text). */
static void part_body(const struct sm_hardware_part *part, struct sm_body *body)
{
    *body = (struct sm_body){.mass = part->mass, .center_of_mass = part->at};
    if (part->form == SM_PART_POINT)
        return;
    const double ro = 0.5 * part->outer_diameter, ri = 0.5 * part->inner_diameter;
    const double square = ro * ro + ri * ri;
    body->inertia_axial = 0.5 * part->mass * square;
    body->inertia_transverse = part->mass * (0.25 * square + part->length * part->length / 12.0);
}

static enum sm_status add_parts(const struct sm_list *parts, struct sm_body *body, struct sm_error *err)
{
    const struct sm_hardware_part *part = parts->items;
    *body = (struct sm_body){0};
    for (size_t i = 0; i < parts->n; i++) {
        struct sm_body one, sum;
        const enum sm_status status = check_part(&part[i], err);
        if (status != SM_OK)
            return sm_at(err, status, "/parts/%zu", i);
        part_body(&part[i], &one);
        sm_body_join(body, &one, &sum);
        *body = sum;
    }
    return SM_OK;
}

enum sm_status sm_hardware_body(const struct sm_hardware *hardware, int *has, struct sm_body *body,
                                struct sm_error *err)
{
    const int totals = !isnan(hardware->mass);
    const int some = totals || !isnan(hardware->center_of_mass) || !isnan(hardware->inertia_axial) ||
                     !isnan(hardware->inertia_transverse);
    *has = some || hardware->parts.n > 0;
    *body = (struct sm_body){0};
    if (some && hardware->parts.n > 0)
        return sm_at(err, sm_fail(err, SM_E_FIELD, "give either the totals or \"parts\", not both"),
                     "/parts");
    if (hardware->parts.n > 0)
        return add_parts(&hardware->parts, body, err);
    if (!some)
        return SM_OK;
    if (!totals || isnan(hardware->center_of_mass))
        return sm_fail(err, SM_E_FIELD,
                       "hardware needs at least \"mass\" and \"center_of_mass\", or a list of \"parts\"");
    *body = (struct sm_body){
        .mass = hardware->mass,
        .center_of_mass = hardware->center_of_mass,
        .inertia_axial = isnan(hardware->inertia_axial) ? 0.0 : hardware->inertia_axial,
        .inertia_transverse = isnan(hardware->inertia_transverse) ? 0.0 : hardware->inertia_transverse,
    };
    return SM_OK;
}
