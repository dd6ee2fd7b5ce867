/* A vehicle's lift and landing as slowmatch-lift/1 JSON. */
#include "doc/json_write.h"
#include "export/result_json.h"
#include "slowmatch/lift.h"

#include <math.h>
#include <stddef.h>

static void put_figures(struct sm_json_writer *w, const struct sm_lift_figures *f)
{
    const struct sm_lift_figure *list;
    const size_t n = sm_lift_figure_list(&list);
    sm_json_member_object(w, "figures");
    for (size_t i = 0; i < n; i++)
        sm_json_member_number(w, list[i].key,
                              *(const double *)(const void *)((const char *)f + list[i].offset));
    sm_json_close(w);
}

static void put_ignitions(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_object(w, "at_heights");
    sm_json_member_string(w, "steering", lift->steering);
    sm_json_member_number(w, "highest_before", lift->ignition_highest);
    sm_json_member_array(w, "ignitions");
    for (size_t i = 0; i < lift->n_ignitions; i++) {
        const struct sm_lift_ignition *g = &lift->ignitions[i];
        sm_json_open_object(w);
        sm_json_member_number(w, "group", (double)g->group);
        sm_json_member_number(w, "height", g->height);
        sm_json_member_number(w, "time", g->time);
        sm_json_member_number(w, "speed", g->speed);
        sm_json_member_number(w, "burns_from", g->burns_from);
        sm_json_close(w);
    }
    sm_json_close(w);
    sm_json_close(w);
}

static void put_turning(struct sm_json_writer *w, const struct sm_lift_turning *t)
{
    sm_json_member_object(w, "turning");
    sm_json_member_string(w, "missing", t->missing);
    sm_json_member_number(w, "least_splay", t->least_splay);
    sm_json_member_doubles(w, "time", t->time, t->n);
    sm_json_member_doubles(w, "ratio", t->ratio, t->n);
    sm_json_member_doubles(w, "splay", t->splay, t->n);
    sm_json_member_doubles(w, "mass", t->mass, t->n);
    sm_json_member_doubles(w, "center_of_mass", t->center_of_mass, t->n);
    sm_json_member_doubles(w, "axial", t->axial, t->n);
    for (size_t i = 0; i < SM_LIFT_AXES; i++) {
        const struct sm_lift_axis *a = &t->axes[i];
        sm_json_member_object(w, sm_lift_axis_name(i));
        sm_json_member_doubles(w, "inertia", a->inertia, t->n);
        sm_json_member_doubles(w, "tilt", a->tilt, t->n);
        sm_json_member_doubles(w, "moment", a->moment, t->n);
        sm_json_member_doubles(w, "acceleration", a->acceleration, t->n);
        sm_json_member_doubles(w, "trim", a->trim, t->n);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_windows(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_array(w, "windows");
    for (size_t i = 0; i < SM_LIFT_BOUNDS && lift->has_throttle; i++) {
        const struct sm_landing_window *window = &lift->windows[i];
        sm_json_open_object(w);
        sm_json_member_string(w, "bounds", sm_lift_bounds_name((enum sm_lift_bounds)i));
        sm_json_member_number(w, "highest", window->highest);
        sm_json_member_number(w, "highest_time", window->highest_time);
        sm_json_member_number(w, "settled", window->settled);
        sm_json_member_number(w, "left_out", (double)window->n_rising);
        sm_json_member_doubles(w, "time", window->time, window->n);
        sm_json_member_doubles(w, "contact_speed", window->contact_speed, window->n);
        sm_json_member_doubles(w, "apogee", window->apogee, window->n);
        sm_json_member_doubles(w, "splay_from", window->splay_from, window->n);
        sm_json_member_doubles(w, "splay_to", window->splay_to, window->n);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_touchdown(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_array(w, "touchdown");
    for (size_t i = SM_LIFT_DRAG; i < SM_LIFT_BOUNDS && lift->has_throttle; i++) {
        const struct sm_lift_touchdown *t = &lift->touchdown[i - SM_LIFT_DRAG];
        const size_t n = lift->windows[i].n;
        sm_json_open_object(w);
        sm_json_member_string(w, "bounds", sm_lift_bounds_name((enum sm_lift_bounds)i));
        sm_json_member_doubles(w, "time", lift->windows[i].time, n);
        sm_json_member_doubles(w, "ratio", t->ratio, n);
        sm_json_member_doubles(w, "ratio_time", t->ratio_time, n);
        sm_json_member_doubles(w, "rise", t->rise, n);
        sm_json_member_doubles(w, "rise_speed", t->rise_speed, n);
        sm_json_member_doubles(w, "rise_time", t->rise_time, n);
        sm_json_member_doubles(w, "eased_from", t->eased_from, n);
        sm_json_member_doubles(w, "eased_speed", t->eased_speed, n);
        sm_json_member_doubles(w, "eased_apogee", t->eased_apogee, n);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_path(struct sm_json_writer *w, const struct sm_lift_path *path)
{
    sm_json_member_object(w, "path");
    sm_json_member_doubles(w, "time", path->time, path->n);
    sm_json_member_doubles(w, "height", path->height, path->n);
    sm_json_member_doubles(w, "speed", path->speed, path->n);
    sm_json_member_doubles(w, "throttle", path->throttle, path->n);
    sm_json_close(w);
}

static void put_end(struct sm_json_writer *w, const char *way, const struct sm_lift_end *end,
                    const struct sm_lift_path *path)
{
    const struct {
        const char *key;
        double value; /* [SI] */
    } members[] = {{"contact_time", end->contact_time},   {"contact_speed", end->contact_speed},
                   {"height_left", end->height_left},     {"speed_left", end->speed_left},
                   {"margin_height", end->margin_height}, {"margin_height_time", end->margin_height_time},
                   {"margin_speed", end->margin_speed},   {"margin_speed_time", end->margin_speed_time},
                   {"margin_thrust", end->margin_thrust}, {"margin_thrust_time", end->margin_thrust_time}};
    sm_json_member_object(w, way);
    for (size_t i = 0; i < SM_COUNT(members); i++)
        sm_json_member_number(w, members[i].key, members[i].value);
    put_path(w, path);
    sm_json_close(w);
}

static void put_off_by(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_string(w, "off_by_from", lift->off_by_from);
    sm_json_member_object(w, "off_by_within");
    for (size_t k = 0; k < SM_LIFT_WAYS; k++)
        sm_json_member_whole(w, sm_lift_way_name((enum sm_lift_way)k),
                             (long long)sm_lift_touch_within(lift, (enum sm_lift_way)k));
    sm_json_close(w);
    sm_json_member_array(w, "off_by");
    for (size_t i = 0; i < lift->n_off_by; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "what", lift->off_by[i].what);
        for (size_t k = 0; k < SM_LIFT_WAYS; k++)
            put_end(w, sm_lift_way_name((enum sm_lift_way)k), &lift->off_by[i].ways[k],
                    &lift->off_by[i].paths[k]);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_plan(struct sm_json_writer *w, const struct sm_lift *lift)
{
    const struct sm_lift_flight *f = &lift->plan;
    sm_json_member_object(w, "plan");
    sm_json_member_bool(w, "keeps_reserve", lift->plan_keeps_reserve);
    sm_json_member_number(w, "contact", lift->plan_contact);
    sm_json_member_number(w, "contact_speed", lift->plan_speed);
    sm_json_member_number(w, "splay_from", lift->plan_splay_from);
    sm_json_member_number(w, "splay_to", lift->plan_splay_to);
    sm_json_member_number(w, "replan_every", lift->replan_every);
    sm_json_member_array(w, "phase");
    for (size_t i = 0; i < f->n; i++)
        sm_json_put_string(w, sm_lift_phase_name(f->phase[i]));
    sm_json_close(w);
    sm_json_member_doubles(w, "time", f->time, f->n);
    sm_json_member_doubles(w, "height", f->height, f->n);
    sm_json_member_doubles(w, "speed", f->speed, f->n);
    sm_json_member_doubles(w, "tube_height_low", f->height_low, f->n);
    sm_json_member_doubles(w, "tube_height_high", f->height_high, f->n);
    sm_json_member_doubles(w, "tube_speed_low", f->speed_low, f->n);
    sm_json_member_doubles(w, "tube_speed_high", f->speed_high, f->n);
    sm_json_close(w);
}

static void put_outlines(struct sm_json_writer *w, const char *name,
                         const struct sm_lift_set (*sets)[SM_LIFT_SETS], size_t n, const char *const keys[3])
{
    sm_json_member_object(w, name);
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        sm_json_member_array(w, sm_lift_bounds_name((enum sm_lift_bounds)k));
        for (size_t i = 0; i < n; i++) {
            const struct sm_lift_set *set = &sets[k][i];
            sm_json_open_object(w);
            sm_json_member_number(w, "time", set->time);
            sm_json_member_doubles(w, keys[0], set->at, set->n);
            sm_json_member_doubles(w, keys[1], set->low, set->n);
            sm_json_member_doubles(w, keys[2], set->high, set->n);
            sm_json_close(w);
        }
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_hover(struct sm_json_writer *w, const struct sm_lift *lift)
{
    const size_t n = lift->has_throttle ? SM_LIFT_HOVERS : 0;
    sm_json_member_object(w, "hover");
    sm_json_member_doubles(w, "time", lift->hover.time, n);
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        sm_json_member_object(w, sm_lift_bounds_name((enum sm_lift_bounds)k));
        sm_json_member_doubles(w, "low", lift->hover.low[k], n);
        sm_json_member_doubles(w, "high", lift->hover.high[k], n);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_hover_at(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_object(w, "hover_at");
    sm_json_member_number(w, "height", lift->hover_at.height);
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        sm_json_member_object(w, sm_lift_bounds_name((enum sm_lift_bounds)k));
        sm_json_member_number(w, "from", lift->hover_at.from[k]);
        sm_json_member_number(w, "to", lift->hover_at.to[k]);
        sm_json_close(w);
    }
    sm_json_close(w);
}

/* Columns of rows: key, then its twins with the reserve kept, with drag, and with both. */
static void put_rows(struct sm_json_writer *w, const struct sm_lift_row *rows, size_t n)
{
    static const struct {
        const char *keys[SM_LIFT_BOUNDS];
        size_t offset; /* [bytes] */
    } columns[] = {
        {{"hover_time", "hover_time_reserve"}, offsetof(struct sm_lift_row, hover)},
        {{"first", "first_reserve", "first_drag", "first_drag_reserve"}, offsetof(struct sm_lift_row, first)},
        {{"last", "last_reserve", "last_drag", "last_drag_reserve"}, offsetof(struct sm_lift_row, last)},
        {{"highest", "highest_reserve", "highest_drag", "highest_drag_reserve"},
         offsetof(struct sm_lift_row, highest)}};
    for (size_t c = 0; c < SM_COUNT(columns); c++)
        for (size_t k = 0; k < SM_LIFT_BOUNDS && columns[c].keys[k]; k++) {
            double value[SM_LIFT_LIMITS + SM_LIFT_MASSES]; /* [SI] */
            for (size_t i = 0; i < n; i++)
                value[i] = ((const double *)(const void *)((const char *)&rows[i] + columns[c].offset))[k];
            sm_json_member_doubles(w, columns[c].keys[k], value, n);
        }
    double down_from[SM_LIFT_LIMITS + SM_LIFT_MASSES]; /* [s] */
    for (size_t i = 0; i < n; i++)
        down_from[i] = rows[i].down_from;
    sm_json_member_doubles(w, "down_from", down_from, n);
}

static void put_tables(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_json_member_object(w, "by_mass");
    sm_json_member_doubles(w, "release_mass", lift->masses, SM_LIFT_MASSES);
    put_rows(w, lift->by_mass, SM_LIFT_MASSES);
    sm_json_close(w);
    sm_json_member_object(w, "by_splay_limit");
    sm_json_member_doubles(w, "splay_limit", lift->limits, SM_LIFT_LIMITS);
    put_rows(w, lift->by_limit, SM_LIFT_LIMITS);
    sm_json_close(w);
}

static void put_sampled(struct sm_json_writer *w, const struct sm_lift_sampled *s)
{
    static const char *const within[SM_LIFT_WAYS] = {"plan_within", "replanned_within",
                                                     "replanned_as_told_within"};
    sm_json_member_object(w, "sampled");
    sm_json_member_number(w, "samples", (double)s->n);
    sm_json_member_number(w, "seed", (double)s->seed);
    sm_json_member_string(w, "curves", s->curves);
    sm_json_member_number(w, "flown", (double)s->n_flown);
    for (size_t k = 0; k < SM_LIFT_WAYS; k++)
        sm_json_member_number(w, within[k], s->n_flown > 0 ? s->plan_within[k] : SM_ABSENT);
    for (size_t k = 0; k < SM_LIFT_BOUNDS; k++) {
        const size_t n = s->n > 0 ? SM_LIFT_PERCENTILES : 0;
        sm_json_member_object(w, sm_lift_bounds_name((enum sm_lift_bounds)k));
        sm_json_member_number(w, "lands", s->n > 0 ? s->lands[k] : SM_ABSENT);
        sm_json_member_doubles(w, "first", s->first[k], n);
        sm_json_member_doubles(w, "last", s->last[k], n);
        sm_json_member_doubles(w, "highest", s->highest[k], n);
        sm_json_close(w);
    }
    sm_json_close(w);
}

static void put_warnings(struct sm_json_writer *w, const struct sm_lift *lift)
{
    sm_warnings_put_json(w, lift->warnings, lift->n_warnings);
    sm_json_member_array(w, "cautions");
    for (size_t i = 0; sm_lift_caution(i); i++)
        sm_json_put_string(w, sm_lift_caution(i));
    sm_json_close(w);
}

static void put_series(struct sm_json_writer *w, const struct sm_lift_series *s)
{
    sm_json_member_object(w, "series");
    sm_json_member_doubles(w, "time", s->time, s->n);
    sm_json_member_doubles(w, "thrust", s->thrust, s->n);
    sm_json_member_doubles(w, "full", s->full, s->n);
    sm_json_member_doubles(w, "least", s->least, s->n);
    sm_json_member_doubles(w, "mass", s->mass, s->n);
    sm_json_member_doubles(w, "weight", s->weight, s->n);
    sm_json_member_doubles(w, "ratio", s->ratio, s->n);
    sm_json_member_doubles(w, "hover_tilt", s->hover_tilt, s->n);
    sm_json_member_doubles(w, "hover_low", s->hover_low, s->n);
    sm_json_member_doubles(w, "hover_high", s->hover_high, s->n);
    sm_json_close(w);
}

enum sm_status sm_lift_write_json(const struct sm_lift *lift, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-lift/1");
    sm_json_member_string(&w, "vehicle", lift->vehicle);
    sm_json_member_bool(&w, "has_throttle", lift->has_throttle);
    sm_json_member_string(&w, "no_throttle", lift->no_throttle);
    sm_json_member_number(&w, "speed_limit", lift->speed_limit);
    sm_json_member_number(&w, "reserve", lift->reserve);
    sm_json_member_number(&w, "splay_limit", lift->splay_limit);
    put_figures(&w, &lift->figures);
    sm_json_member_string(&w, "corner", lift->corner);
    sm_json_member_string(&w, "ejection", lift->ejection);
    put_ignitions(&w, lift);
    put_turning(&w, &lift->turning);
    put_windows(&w, lift);
    put_touchdown(&w, lift);
    put_plan(&w, lift);
    put_off_by(&w, lift);
    put_tables(&w, lift);
    put_sampled(&w, &lift->sampled);
    put_warnings(&w, lift);
    put_series(&w, &lift->series);
    static const char *const by_speed[] = {"speed", "height_low", "height_high"};
    static const char *const by_height[] = {"height", "speed_low", "speed_high"};
    put_hover(&w, lift);
    put_hover_at(&w, lift);
    put_outlines(&w, "reachable", lift->reachable, lift->n_sets, by_speed);
    put_outlines(&w, "tube", lift->tube, lift->n_sets, by_height);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}
