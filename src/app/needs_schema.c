#include "app/needs_schema.h"

#include "input/schema.h"
#include "slowmatch/needs.h"

static void column(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"value", true, sm_schema_number_or_null, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void legs(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"time", true, sm_schema_number, NULL};
    sm_schema_array(w, user, SM_NEEDS_LEGS + 1, SM_NEEDS_LEGS + 1, &item);
}

static void cautions(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"caution", true, sm_schema_text, "a sentence"};
    sm_schema_array(w, user, 1, 0, &item);
}

static void band(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"time", true, column, "after these motors' ignition, s; below 0 where others lift it off before"},
        {"least", true, column, "thrust of one motor, N; null: no limit"},
        {"most", true, column, "N; null: before its ignition"},
        {"height", true, column, "of the flight, m"},
        {"speed", true, column, "upwards, m/s"},
        {"mass", true, column, "of the vehicle at the steady thrust, kg"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

void sm_schema_needs_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-needs/1"},
        {"vehicle", true, sm_schema_text, "its name"},
        {"base", true, sm_schema_text, "name of the motor that the request starts from"},
        {"group", true, sm_schema_whole, "place of the group of motors that is to be designed, from 0"},
        {"group_name", true, sm_schema_text_or_null, "its name"},
        {"count", true, sm_schema_whole, "motors of that group"},
        {"hover_height", true, sm_schema_number, "wished, m"},
        {"hover_time", true, sm_schema_number, "wished, s"},
        {"reserve", true, sm_schema_number, "share of the range of throttle kept at both its ends"},
        {"lift_ratio", true, sm_schema_number, "thrust along the axis over weight as it lifts off"},
        {"burn_time", true, sm_schema_number, "of these motors, s"},
        {"robust", true, sm_schema_flag, "whether the request is for sizing motors that stray"},
        {"acceleration", true, sm_schema_number, "up or down, of all legs but hover, m/s2"},
        {"turn_time", true, sm_schema_number, "that splay takes from speeding up to slowing down, s"},
        {"ease_time", true, sm_schema_number, "that splay takes from slowing down to hover, and back, s"},
        {"specific_impulse", true, sm_schema_number, "of the base, by which mass falls, s"},
        {"legs", true, legs, "begin of up, slower, hover, down, slower, and contact, after ignition, s"},
        {"thrust", true, sm_schema_number, "of one motor, steady, in the middle of what will do, N"},
        {"thrust_least", true, sm_schema_number, "a steady thrust may be from this, N"},
        {"thrust_most", true, sm_schema_number, "to this, N"},
        {"propellant_mass", true, sm_schema_number, "of one motor at that thrust for its burn time, kg"},
        {"release_mass", true, sm_schema_number, "of the vehicle, kg"},
        {"splay_limit", true, sm_schema_number_or_null, "of the group, rad; null: it is no throttle"},
        {"least_splay_limit", true, sm_schema_number_or_null, "with which it could still be flown, rad"},
        {"longest_hover", true, sm_schema_number, "at that height with the vehicle's splay limit, s"},
        {"cautions", true, cautions, "What every output says."},
        {"band", true, band, "Columns of one length."},
    };
    sm_schema_document(w, id, "Slowmatch needs",
                       "What thrust a wished flight needs: what lift --needs writes, SI.", NULL, 0,
                       properties, SM_COUNT(properties));
}
