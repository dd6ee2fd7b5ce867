/* What a wished flight needs, as slowmatch-needs/1 JSON. */
#include "doc/json_write.h"
#include "slowmatch/needs.h"

enum sm_status sm_needs_write_json(const struct sm_needs *needs, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-needs/1");
    sm_json_member_string(&w, "vehicle", needs->vehicle);
    sm_json_member_string(&w, "base", needs->base);
    sm_json_member_whole(&w, "group", (long long)needs->group);
    sm_json_member_string(&w, "group_name", needs->group_name);
    sm_json_member_whole(&w, "count", needs->count);
    sm_json_member_number(&w, "hover_height", needs->wish.hover_height);
    sm_json_member_number(&w, "hover_time", needs->wish.hover_time);
    sm_json_member_number(&w, "reserve", needs->wish.reserve);
    sm_json_member_number(&w, "lift_ratio", needs->wish.lift_ratio);
    sm_json_member_number(&w, "burn_time", needs->wish.burn_time);
    sm_json_member_bool(&w, "robust", needs->wish.is_robust);
    sm_json_member_number(&w, "acceleration", needs->acceleration);
    sm_json_member_number(&w, "turn_time", needs->turn_time);
    sm_json_member_number(&w, "ease_time", needs->ease_time);
    sm_json_member_number(&w, "specific_impulse", needs->specific_impulse);
    sm_json_member_doubles(&w, "legs", needs->begin, SM_NEEDS_LEGS + 1);
    sm_json_member_number(&w, "thrust", needs->thrust);
    sm_json_member_number(&w, "thrust_least", needs->thrust_least);
    sm_json_member_number(&w, "thrust_most", needs->thrust_most);
    sm_json_member_number(&w, "propellant_mass", needs->propellant_mass);
    sm_json_member_number(&w, "release_mass", needs->release_mass);
    sm_json_member_number(&w, "splay_limit", needs->splay_limit);
    sm_json_member_number(&w, "least_splay_limit", needs->least_splay_limit);
    sm_json_member_number(&w, "longest_hover", needs->longest_hover);
    sm_json_member_array(&w, "cautions");
    for (size_t i = 0; sm_lift_caution(i); i++)
        sm_json_put_string(&w, sm_lift_caution(i));
    sm_json_close(&w);
    sm_json_member_object(&w, "band");
    sm_json_member_doubles(&w, "time", needs->time, needs->n);
    sm_json_member_doubles(&w, "least", needs->least, needs->n);
    sm_json_member_doubles(&w, "most", needs->most, needs->n);
    sm_json_member_doubles(&w, "height", needs->height, needs->n);
    sm_json_member_doubles(&w, "speed", needs->speed, needs->n);
    sm_json_member_doubles(&w, "mass", needs->mass, needs->n);
    sm_json_close(&w);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}
