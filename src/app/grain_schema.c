#include "app/grain_schema.h"

#include "input/schema.h"

static void column(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"value", true, sm_schema_number, NULL};
    sm_schema_array(w, user, 2, 0, &item);
}

static void figures(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"web", true, sm_schema_number, "distance burned at which nothing is left, in m"},
        {"web_main", true, sm_schema_number, "where slivers begin, in m"},
        {"sliver_fraction", true, sm_schema_number, "of the volume, left there"},
        {"burn_area_initial", true, sm_schema_number, "in m2"},
        {"burn_area_maximum", true, sm_schema_number, "in m2"},
        {"burn_area_mean", true, sm_schema_number, "volume over web, in m2"},
        {"burn_area_minimum", true, sm_schema_number, "before slivers, in m2"},
        {"neutrality", true, sm_schema_number, "largest over mean burning area"},
        {"loading", true, sm_schema_number,
         "volumetric loading: volume over that of the grain's cylinder; of the stack, over that of the "
         "case's bore and length"},
        {"port_area", true, sm_schema_number_or_null, "free section at the aft face before burning, in m2"},
        {"port_perimeter", true, sm_schema_number_or_null,
         "wetted perimeter there, in m; null where there is no such column"},
        {"port_to_throat", true, sm_schema_number_or_null, "that over the area of the throat"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void moments(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"x", true, column, "in m4"},  {"y", true, column, "in m4"},  {"z", true, column, "in m4"},
        {"xx", true, column, "in m5"}, {"yy", true, column, "in m5"}, {"zz", true, column, "in m5"},
        {"xy", true, column, "in m5"}, {"xz", true, column, "in m5"}, {"yz", true, column, "in m5"}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void table(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"name", true, sm_schema_text, "number and shape, or all"},
        {"count", true, sm_schema_whole, "of such grains; the table is that of one"},
        {"accuracy", true, sm_schema_number, "of the area, as a share of the largest; 0 where exact"},
        {"figures", true, figures, "What the table comes to."},
        {"web", true, column, "distance burned, in m, rising; twice the same where the area jumps"},
        {"burn_area", true, column, "in m2"},
        {"volume", true, column, "of propellant left, in m3"},
        {"mass", true, column, "of propellant left, in kg"},
        {"center_of_mass", true, column, "from the head end of the chamber, in m"},
        {"inertia_axial", true, column, "about the motor's axis, in kg m2"},
        {"inertia_transverse", true, column, "about its own centre of mass, in kg m2"},
        {"burn_area_slope", true, column, "of the burning area by the distance burned, in m"},
        {"center_x", true, column, "how far the centre of mass lies off the axis, in m"},
        {"center_y", true, column, "likewise, in m"},
        {"port_area", false, column,
         "free section at the aft end of what is left, in m2; of a prism all along, and exact; of solids and "
         "meshes to 5e-5 of the circle; of the stack, of its last grain with a port; left out without a "
         "port"},
        {"perimeter", false, column,
         "burning, wetted perimeter of its wall there, in m, without what is inhibited; of solids and meshes "
         "to 3e-4 of "
         "the circumference"},
        {"moments", true, moments,
         "First and second moments: integrals of x, y, ... over the propellant left; z from the grain's fore "
         "face, of the stack from the head end."}};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void tables(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"grain", true, table, "One grain of an entry."};
    sm_schema_array(w, user, 1, 0, &item);
}

void sm_schema_grain_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-grain/1"},
        {"motor", true, sm_schema_text, "name of the motor"},
        {"grains", true, tables, "one table for each entry of \"grains\""},
        {"all", true, table, "The whole stack."}};
    sm_schema_document(w, id, "Slowmatch grain", "What grain --json writes: burnback tables, all numbers SI.",
                       NULL, 0, properties, SM_COUNT(properties));
}
