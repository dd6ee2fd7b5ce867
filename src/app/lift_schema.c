/* JSON Schema of what lift writes. */
#include "app/lift_schema.h"

#include "base/text.h"
#include "input/schema.h"
#include "slowmatch/lift.h"

static void column(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"value", true, sm_schema_number_or_null, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

#define NUMBER(name, help)                                                                                   \
    {                                                                                                        \
        name, true, sm_schema_number_or_null, help                                                           \
    }
#define COLUMN(name, help)                                                                                   \
    {                                                                                                        \
        name, true, column, help                                                                             \
    }

static const char *unit_of(const struct sm_lift_figure *f)
{
    switch (f->dim) {
    case SM_DIM_TIME:
        return ", s";
    case SM_DIM_MASS:
        return ", kg";
    case SM_DIM_LENGTH:
        return ", m";
    case SM_DIM_SPEED:
        return ", m/s";
    case SM_DIM_FORCE:
        return ", N";
    case SM_DIM_ANGLE:
        return ", rad";
    default:
        return "";
    }
}

/* As they are shown: the group that they stand in, the label, and what it means. */
static void figures(struct sm_json_writer *w, const void *user)
{
    enum { MOST = 64, TEXT = 200 };
    struct sm_schema_property properties[MOST];
    char texts[MOST][TEXT];
    const char *group = "";
    const struct sm_lift_figure *list;
    const size_t all = sm_lift_figure_list(&list), n = all < MOST ? all : MOST;
    for (size_t i = 0; i < n; i++) {
        const char *note = list[i].note;
        group = list[i].group ? list[i].group : group;
        sm_text_format(texts[i], TEXT, "%s: %s%s%s%s", group, list[i].label, note ? ", " : "",
                       note ? note : "", unit_of(&list[i]));
        properties[i] = (struct sm_schema_property){list[i].key, true, sm_schema_number_or_null, texts[i]};
    }
    sm_schema_object(w, user, NULL, 0, properties, n);
}

static void axis(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        COLUMN("inertia", "about the centre of mass, kg m2"),
        COLUMN("tilt", "that the stops leave beside the splay, rad"),
        COLUMN("moment", "that it gives, N m"),
        COLUMN("acceleration", "rad/s2"),
        COLUMN("trim",
               "tilt that three deviations of mismatch and mount errors ask for, rad; null: there is none"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void turning(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"missing", true, sm_schema_text_or_null, "what the file would have to tell for all of this"},
        NUMBER("least_splay", "that plans keep, rad"),
        COLUMN("time", "s"),
        COLUMN("ratio", "thrust to weight"),
        COLUMN("splay", "nearest to that which holds the weight, rad"),
        COLUMN("mass", "kg"),
        COLUMN("center_of_mass", "from the nose, m"),
        COLUMN("axial", "change of thrust along the axis with splay, N/rad"),
        {"pitch", true, axis, "towards azimuth 0"},
        {"yaw", true, axis, "towards azimuth 90 deg"},
        {"roll", true, axis, "about the vehicle's axis"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void ignition(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("group", "its place in the file's motors"),   NUMBER("height", "over the ground, m"),
        NUMBER("time", "when it fell through it, s"),        NUMBER("speed", "then, upwards, m/s"),
        NUMBER("burns_from", "after its ignition delay, s"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void ignitions(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"ignition", true, ignition, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void at_heights(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"steering", true, sm_schema_text_or_null,
         "how it flies until the last of them; null: there are none"},
        NUMBER("highest_before", "of that flight, m"),
        {"ignitions", true, ignitions, "in turn"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void window(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"bounds", true, sm_schema_text, "bare, reserve, drag or drag_reserve"},
        NUMBER("highest", "of all flights that land, m"),
        NUMBER("highest_time", "its contact, s"),
        NUMBER("settled", "contact from which thrust at most splay stays under the weight, s"),
        NUMBER("left_out", "contacts left out because it would rise again after them"),
        COLUMN("time", "of contact, s"),
        COLUMN("contact_speed", "the softest, downwards, m/s"),
        COLUMN("apogee", "of the highest flight to that contact, m"),
        COLUMN("splay_from", "that flight's splay is most from then, s"),
        COLUMN("splay_to", "to then, s"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void windows(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"window", true, window, NULL};
    sm_schema_array(w, user, 0, SM_LIFT_BOUNDS, &item);
}

static void touchdown(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"bounds", true, sm_schema_text, "drag or drag_reserve"},
        COLUMN("time", "of contact, s"),
        COLUMN("ratio", "thrust at most splay over weight, the greatest from contact to burnout"),
        COLUMN("ratio_time", "when, s"),
        COLUMN("rise", "of the hop while splay grows to its most, m"),
        COLUMN("rise_speed", "downwards, as it comes down again, m/s"),
        COLUMN("rise_time", "when it is down again, s; null without a hop"),
        COLUMN("eased_from", "of the flight that arrives with thrust equal to the weight: splay grows again "
                             "from then, s; null: none"),
        COLUMN("eased_speed", "its speed of contact, downwards, m/s"),
        COLUMN("eased_apogee", "how high it goes, m"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void touchdowns(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"touchdown", true, touchdown, NULL};
    sm_schema_array(w, user, 0, SM_LIFT_BOUNDS - SM_LIFT_DRAG, &item);
}

static void phases(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"phase", true, sm_schema_text,
                                            "held, to ignition, flight or after contact"};
    sm_schema_array(w, user, 0, 0, &item);
}

static void plan(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"keeps_reserve", true, sm_schema_flag, "planned with the reserve kept"},
        NUMBER("contact", "s; null if nothing lands"),
        NUMBER("contact_speed", "downwards, m/s"),
        NUMBER("splay_from", "splay is most from then, s"),
        NUMBER("splay_to", "to then, s"),
        NUMBER("replan_every", "time between the instants at which it is planned anew, s"),
        {"phase", true, phases, "of each point"},
        COLUMN("time", "s"),
        COLUMN("height", "m"),
        COLUMN("speed", "upwards, m/s"),
        COLUMN("tube_height_low", "heights from which a landing exists at that speed, m"),
        COLUMN("tube_height_high", "m"),
        COLUMN("tube_speed_low", "speeds from which a landing exists at that height, m/s"),
        COLUMN("tube_speed_high", "m/s"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void path(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        COLUMN("time", "from lift-off, or the last ignition at a height, to contact or burnout, s"),
        COLUMN("height", "m"),
        COLUMN("speed", "upwards, m/s"),
        COLUMN("throttle", "thrust along the axis over that without any tilt; null where no motor burns"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void end(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("contact_time", "s; null if it is still up at burnout"),
        NUMBER("contact_speed", "downwards, m/s"),
        NUMBER("height_left", "at burnout, m; null if it touched down"),
        NUMBER("speed_left", "upwards, m/s"),
        NUMBER("margin_height",
               "least distance to the tube's edge at the same speed, m; 0 once it has left it"),
        NUMBER("margin_height_time", "when, s"),
        NUMBER("margin_speed", "the same at the same height, m/s"),
        NUMBER("margin_speed_time", "when, s"),
        NUMBER("margin_thrust",
               "the same as a share of thrust, more or less from then on; 0.5 is the most looked at"),
        NUMBER("margin_thrust_time", "when, s"),
        {"path", true, path, "the flight; empty if the motors were never lit"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void case_of(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"what", true, sm_schema_text, "what is not as told"},
        {"fixed", true, end, "splay as a fixed program of time"},
        {"replanned", true, end, "planned anew at instants, knowing the true remaining curve"},
        {"replanned_as_told", true, end, "planned anew at instants, on the curve as told"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void cases(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"case", true, case_of, NULL};
    sm_schema_array(w, user, 0, SM_LIFT_CASES, &item);
}

#define ROWS                                                                                                 \
    COLUMN("hover_time", "for which the weight can be held, s"), COLUMN("hover_time_reserve", "s"),          \
        COLUMN("first", "contact, s; null: nothing lands"), COLUMN("first_reserve", "s"),                    \
        COLUMN("first_drag", "with drag and the time that splay takes, s"),                                  \
        COLUMN("first_drag_reserve", "s"), COLUMN("last", "contact, s"), COLUMN("last_reserve", "s"),        \
        COLUMN("last_drag", "s"), COLUMN("last_drag_reserve", "s"),                                          \
        COLUMN("highest", "flight that lands, m"), COLUMN("highest_reserve", "with the reserve kept, m"),    \
        COLUMN("highest_drag", "with drag and the time that splay takes, m"),                                \
        COLUMN("highest_drag_reserve", "m"),                                                                 \
        COLUMN("down_from", "touched down before, it lifts off again, s; null: never")

static void by_mass(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {COLUMN("release_mass", "kg"), ROWS};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void by_limit(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {COLUMN("splay_limit", "rad"), ROWS};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void sampled_window(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("lands", "share for which a landing exists"),
        COLUMN("first", "contact: 5, 50 and 95 percent of those that land, s"),
        COLUMN("last", "contact, likewise, s"),
        COLUMN("highest", "flight that lands, likewise, m"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void sampled(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("samples", "vehicles drawn; 0 if none were asked for"),
        NUMBER("seed", "that they were drawn with"),
        {"curves", true, sm_schema_text_or_null, "whose tolerances thrust strays by; null: none drawn"},
        NUMBER("flown", "the first vehicles, flown three ways"),
        NUMBER("plan_within", "share of those flown that touch within the legs' limit: a fixed program"),
        NUMBER("replanned_within", "planned anew, knowing the true remaining curve"),
        NUMBER("replanned_as_told_within", "planned anew on the curve as told"),
        {"bare", true, sampled_window, "all of the range of throttle"},
        {"reserve", true, sampled_window, "with the reserve kept"},
        {"drag", true, sampled_window, "of those flown: with drag and the time that splay takes"},
        {"drag_reserve", true, sampled_window, "of those flown: with the reserve kept besides"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void warning(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"code", true, sm_schema_text, "stays the same from version to version"},
        {"text", true, sm_schema_text, "for people"},
        {"pointer", true, sm_schema_text, "into the vehicle file"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void warnings(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"warning", true, warning, NULL};
    sm_schema_array(w, user, 0, 0, &item);
}

static void cautions(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"caution", true, sm_schema_text, "a sentence"};
    sm_schema_array(w, user, 1, 0, &item);
}

static void series(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        COLUMN("time", "since the first ignition command, s"),
        COLUMN("thrust", "of all motors, untilted, N"),
        COLUMN("full", "along the axis at least splay, N"),
        COLUMN("least", "at most splay, N"),
        COLUMN("mass", "kg"),
        COLUMN("weight", "N"),
        COLUMN("ratio", "full over weight"),
        COLUMN("hover_tilt", "splay that hover needs, rad; null: none"),
        COLUMN("hover_low", "heights at which it can stand still then, m; null: none"),
        COLUMN("hover_high", "m"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void reachable_set(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("time", "s"),
        COLUMN("speed", "upwards, m/s"),
        COLUMN("height_low", "m"),
        COLUMN("height_high", "m"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void tube_set(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("time", "s"),
        COLUMN("height", "m"),
        COLUMN("speed_low", "upwards, m/s"),
        COLUMN("speed_high", "m/s"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void reachable_sets(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"set", true, reachable_set, NULL};
    sm_schema_array(w, user, 0, SM_LIFT_SETS, &item);
}

static void tube_sets(struct sm_json_writer *w, const void *user)
{
    const struct sm_schema_property item = {"set", true, tube_set, NULL};
    sm_schema_array(w, user, 0, SM_LIFT_SETS, &item);
}

#define BY_BOUNDS(kind)                                                                                      \
    {"bare", true, kind, "without drag, splay at once"}, {"reserve", true, kind, "with the reserve kept"},   \
        {"drag", true, kind, "with drag and the time that splay takes"},                                     \
    {                                                                                                        \
        "drag_reserve", true, kind, "with the reserve kept besides"                                          \
    }

static void reachable(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {BY_BOUNDS(reachable_sets)};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void tube(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {BY_BOUNDS(tube_sets)};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void hover_set(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        COLUMN("low", "m; null: none"),
        COLUMN("high", "m"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void hover(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {COLUMN("time", "s"), BY_BOUNDS(hover_set)};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void hover_span(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("from", "it stands there from then, s; null: it can't"),
        NUMBER("to", "and could still land then, s"),
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void hover_at(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        NUMBER("height", "that was asked for, m; null: none"), BY_BOUNDS(hover_span)};
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

static void within(struct sm_json_writer *w, const void *user)
{
    static const struct sm_schema_property properties[] = {
        {"fixed", true, sm_schema_whole, "as a fixed program of time"},
        {"replanned", true, sm_schema_whole, "planned anew knowing the true remaining curve"},
        {"replanned_as_told", true, sm_schema_whole, "planned anew on the curve as told"},
    };
    sm_schema_object(w, user, NULL, 0, properties, SM_COUNT(properties));
}

void sm_schema_lift_document(struct sm_json_writer *w, const char *id)
{
    static const struct sm_schema_property properties[] = {
        {"format", true, sm_schema_const, "slowmatch-lift/1"},
        {"vehicle", true, sm_schema_text, "its name"},
        {"has_throttle", true, sm_schema_flag, "motors that can be splayed"},
        {"no_throttle", true, sm_schema_text_or_null, "why not; null if it has"},
        {"speed_limit", true, sm_schema_number, "Of the legs at contact, m/s."},
        {"reserve", true, sm_schema_number, "Share of the range of throttle kept at both its ends."},
        {"splay_limit", true, sm_schema_number_or_null,
         "Of the groups that are throttles, rad; null if they differ, or there are none."},
        {"figures", true, figures, "One number each, SI; null where there is no such thing."},
        {"corner", true, sm_schema_text,
         "What the worst corner is made of, and what the file does not state."},
        {"ejection", true, sm_schema_text, "The delay wanted, or that it is to be plugged."},
        {"at_heights", true, at_heights, "Motors lit at a height on the way down."},
        {"turning", true, turning, "What the motors' tilt can turn, from lift-off to burnout."},
        {"windows", true, windows, "Times at which it can touch down and stay down."},
        {"touchdown", true, touchdowns, "What comes after those contacts."},
        {"plan", true, plan, "The flight whose margins are told, on the vehicle as told."},
        {"off_by_from", true, sm_schema_text_or_null,
         "Where the deviations of thrust and burn time come from; null if nothing lands."},
        {"off_by_within", true, within, "Of the flights that are off, so many touch within the legs' limit."},
        {"off_by", true, cases, "The plan on a vehicle that is not as told, three ways."},
        {"by_mass", true, by_mass, "How much may it weigh."},
        {"by_splay_limit", true, by_limit, "How far must it tilt."},
        {"sampled", true, sampled, "Vehicles drawn from the tolerances."},
        {"warnings", true, warnings, "What this vehicle is warned of."},
        {"cautions", true, cautions, "What every output says."},
        {"series", true, series, "Columns of one length."},
        {"hover", true, hover, "Heights at which it can stand still."},
        {"hover_at", true, hover_at, "The longest hover at one height."},
        {"reachable", true, reachable, "Heights and speeds that can be reached."},
        {"tube", true, tube, "Heights and speeds from which a landing exists."},
    };
    sm_schema_document(w, id, "Slowmatch lift", "Can a vehicle lift, hover and land: what lift writes, SI.",
                       NULL, 0, properties, SM_COUNT(properties));
}
