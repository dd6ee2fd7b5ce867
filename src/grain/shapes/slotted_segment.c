/* Slotted segment: a round bore with radial slots along some of its lengths, and with slots all round it in some places. */
#include "grain/shape.h"
#include "grain/slot.h"

#include <math.h>

/* A length with slots along the axis. */
struct slotted {
    double from, to; /* [m]; absent: the face at that end */
    double width;    /* [m] */
    double diameter; /* [m] */
};

/* A slot all round, square across the axis. */
struct round_slot {
    double position; /* [m] */
    double width;    /* [m] */
    double diameter; /* [m] */
};

struct slotted_segment {
    double bore_diameter;       /* [m] */
    int slots;                  /* in each slotted length */
    struct sm_list slotted;     /* of struct slotted */
    struct sm_list round_slots; /* of struct round_slot */
};

#define LENGTH_ROW(type, field, least, most, absent, words)                                                  \
    {                                                                                                        \
        .name = #field, .kind = SM_QUANTITY, .dim = SM_DIM_LENGTH, .offset = offsetof(struct type, field),   \
        .min = (least), .max = (most), .fallback = (absent), .help = (words)                                 \
    }

static const struct sm_param slotted_rows[] = {
    LENGTH_ROW(slotted, from, 0.0, 100.0, SM_OPTIONAL,
               "where the slots begin, from the fore face; left out: at that face"),
    LENGTH_ROW(slotted, to, 0.0, 100.0, SM_OPTIONAL, "where they end; left out: at the aft face"),
    LENGTH_ROW(slotted, width, 1e-4, 10.0, SM_REQUIRED, "width of a slot"),
    LENGTH_ROW(slotted, diameter, 1e-4, 10.0, SM_REQUIRED,
               "diameter of the circle that the slots reach out to"),
};

static const struct sm_param round_rows[] = {
    LENGTH_ROW(round_slot, position, 0.0, 100.0, SM_REQUIRED, "distance of its middle from the fore face"),
    LENGTH_ROW(round_slot, width, 1e-4, 10.0, SM_REQUIRED, "width of the slot along the grain"),
    LENGTH_ROW(round_slot, diameter, 1e-4, 10.0, SM_REQUIRED, "diameter that the slot reaches out to"),
};

static const struct sm_param params[] = {
    LENGTH_ROW(slotted_segment, bore_diameter, 1e-4, 10.0, SM_REQUIRED, "diameter of the bore"),
    {.name = "slots",
     .kind = SM_WHOLE,
     .offset = offsetof(struct slotted_segment, slots),
     .min = 2,
     .max = 64,
     .fallback = 4,
     .help = "number of slots round the bore in each slotted length"},
    {.name = "slotted",
     .kind = SM_LIST,
     .offset = offsetof(struct slotted_segment, slotted),
     .min = 1,
     .max = 8,
     .fallback = SM_OPTIONAL,
     .rows = slotted_rows,
     .n_rows = SM_COUNT(slotted_rows),
     .row_size = sizeof(struct slotted),
     .help = "lengths with square-ended slots along the bore"},
    {.name = "round_slots",
     .kind = SM_LIST,
     .offset = offsetof(struct slotted_segment, round_slots),
     .min = 1,
     .max = 8,
     .fallback = SM_OPTIONAL,
     .rows = round_rows,
     .n_rows = SM_COUNT(round_rows),
     .row_size = sizeof(struct round_slot),
     .help = "slots that go all round the bore, straight out from it"},
};

/* A length of the port that is more than the bore, from either list. */
struct stretch {
    double z0, z1;          /* [m] */
    double width, diameter; /* [m]; no width: all round */
    const char *list;
    size_t entry;
};

enum { MOST = 16 };

/* All stretches in order along the grain. Returned: how many. */
static size_t find_stretches(const struct sm_grain_common *common, const struct slotted_segment *p,
                             struct stretch out[MOST])
{
    const struct slotted *slotted = p->slotted.items;
    const struct round_slot *rounds = p->round_slots.items;
    size_t n = 0;
    for (size_t i = 0; i < p->slotted.n + p->round_slots.n; i++) {
        struct stretch s = {.list = "slotted", .entry = i};
        if (i < p->slotted.n) {
            s.z0 = isnan(slotted[i].from) ? 0.0 : slotted[i].from;
            s.z1 = isnan(slotted[i].to) ? common->length : slotted[i].to;
            s.width = slotted[i].width;
            s.diameter = slotted[i].diameter;
        } else {
            const struct round_slot *r = &rounds[i - p->slotted.n];
            s = (struct stretch){.list = "round_slots", .entry = i - p->slotted.n};
            s.z0 = r->position - 0.5 * r->width;
            s.z1 = r->position + 0.5 * r->width;
            s.diameter = r->diameter;
        }
        size_t k = n++;
        for (; k > 0 && out[k - 1].z0 > s.z0; k--)
            out[k] = out[k - 1];
        out[k] = s;
    }
    return n;
}

static struct sm_slot slot_of(const struct slotted_segment *p, const struct stretch *s)
{
    return (struct sm_slot){
        .bore = 0.5 * p->bore_diameter, .half_width = 0.5 * s->width, .reach = 0.5 * s->diameter};
}

static enum sm_status check_stretch(const struct sm_grain_common *common, const struct slotted_segment *p,
                                    const struct stretch *s, struct sm_error *err)
{
    const double slack = 1e-9 * common->length;
    SM_TRY(sm_shape_below("diameter", s->diameter, "outer_diameter", common->outer_diameter, err));
    SM_TRY(sm_shape_above("diameter", s->diameter, "bore_diameter", p->bore_diameter, err));
    if (s->z0 < -slack || s->z1 > common->length + slack || !(s->z1 - s->z0 > slack))
        return sm_fail(
            err, SM_E_GEOMETRY,
            "the slot runs from %.4g to %.4g mm; it must run forwards, and lie within the grain's %.4g mm",
            1e3 * s->z0, 1e3 * s->z1, 1e3 * common->length);
    if (s->width > 0.0) {
        const struct sm_slot slot = slot_of(p, s);
        return sm_slot_check(&slot, "width", M_PI / p->slots, err);
    }
    return SM_OK;
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct slotted_segment *p = block;
    struct stretch s[MOST];
    const size_t n = find_stretches(common, p, s);
    if (n == 0)
        return sm_fail(err, SM_E_GEOMETRY,
                       "there are neither slotted lengths nor round_slots: use shape tube");
    for (size_t i = 0; i < n; i++) {
        enum sm_status status = check_stretch(common, p, &s[i], err);
        if (status == SM_OK && i > 0 && s[i].z0 < s[i - 1].z1)
            status = sm_fail(err, SM_E_GEOMETRY,
                             "the slot begins at %.4g mm, before that at /%s/%zu ends, at %.4g mm",
                             1e3 * s[i].z0, s[i - 1].list, s[i - 1].entry, 1e3 * s[i - 1].z1);
        if (status != SM_OK)
            return sm_at(err, status, "/%s/%zu", s[i].list, s[i].entry);
    }
    return SM_OK;
}

static void draw_circle(struct sm_contour *c, double r, double ray)
{
    sm_contour_start(c, r, 0.0);
    sm_contour_arc(c, r * cos(ray), r * sin(ray), 0.0, 0.0, 1);
}

static void draw(const struct slotted_segment *p, const struct stretch *s, struct sm_contour *c)
{
    const double ray = M_PI / p->slots;
    if (s->width > 0.0) {
        const struct sm_slot slot = slot_of(p, s);
        sm_slot_add_tip(&slot, c);
        sm_slot_add_side(&slot, ray, c);
    } else {
        draw_circle(c, 0.5 * s->diameter, ray);
    }
}

static enum sm_status add(struct sm_arena *arena, struct sm_splice *items, size_t *n, double z0, double z1,
                          const struct slotted_segment *p, const struct stretch *s, struct sm_error *err)
{
    struct sm_splice *item = &items[(*n)++];
    *item = (struct sm_splice){.z0 = z0, .z1 = z1};
    sm_contour_init(&item->contour, arena);
    draw(p, s, &item->contour);
    return sm_contour_check_memory(&item->contour, err);
}

/* Between two stretches, and before and after them, the bore alone. */
static enum sm_status spliced(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_spliced *out, struct sm_error *err)
{
    const struct slotted_segment *p = block;
    const struct stretch plain = {.diameter = p->bore_diameter};
    struct stretch s[MOST];
    const size_t n = find_stretches(common, p, s);
    struct sm_splice *items = sm_arena_alloc(arena, 2 * n + 1, sizeof *items);
    const double slack = 1e-9 * common->length;
    double z = 0.0;
    if (!items)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    out->n = 0;
    for (size_t i = 0; i < n; i++) {
        if (s[i].z0 - z > slack)
            SM_TRY(add(arena, items, &out->n, z, s[i].z0, p, &plain, err));
        const double begin = s[i].z0 - z > slack ? s[i].z0 : z;
        z = common->length - s[i].z1 > slack ? s[i].z1 : common->length;
        SM_TRY(add(arena, items, &out->n, begin, z, p, &s[i], err));
    }
    if (common->length - z > slack)
        SM_TRY(add(arena, items, &out->n, z, common->length, p, &plain, err));
    out->items = items;
    out->sectors = p->slots;
    return SM_OK;
}

/* Worth drawing: the first slotted length, else the widest slot. */
static enum sm_status section(struct sm_arena *arena, const struct sm_grain_common *common, const void *block,
                              struct sm_section *out, struct sm_error *err)
{
    (void)arena, (void)err;
    const struct slotted_segment *p = block;
    struct stretch s[MOST];
    const size_t n = find_stretches(common, p, s);
    size_t shown = 0;
    for (size_t i = n; i-- > 0;)
        shown = s[i].width > 0.0 || (s[shown].width == 0.0 && s[i].diameter >= s[shown].diameter) ? i : shown;
    out->sectors = p->slots;
    draw(p, &s[shown], &out->contour);
    return SM_OK;
}

static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct slotted_segment *p = block;
    const struct slotted *slotted = p->slotted.items;
    const struct round_slot *rounds = p->round_slots.items;
    const struct sm_point axis = {0.0, 0.0};
    const double radius = 0.5 * common->outer_diameter;
    char name[SM_GAUGE_NAME];
    sm_gauge_circle(out, "bore_diameter", axis, 0.5 * p->bore_diameter, M_PI / p->slots, true);
    if (p->slotted.n > 0) {
        const struct stretch s = {.width = slotted[0].width, .diameter = slotted[0].diameter};
        const struct sm_slot slot = slot_of(p, &s);
        sm_gauge_circle(out, "slotted.0.diameter", axis, slot.reach, 0.0, true);
        out->turn = 2.0 * M_PI / p->slots;
        sm_slot_gauges(&slot, "slotted.0.width", NULL, out);
        out->turn = 0.0;
    }
    out->is_along = true;
    for (size_t i = 0; i < p->slotted.n; i++) {
        const struct sm_point fore = {0.0, -radius};
        if (!isnan(slotted[i].from) && slotted[i].from > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "slotted", i, "from"), fore,
                            (struct sm_point){slotted[i].from, -radius}, SM_GAUGE_BELOW);
        if (!isnan(slotted[i].to) && slotted[i].to > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "slotted", i, "to"), fore,
                            (struct sm_point){slotted[i].to, -radius}, SM_GAUGE_BELOW);
    }
    for (size_t i = 0; i < p->round_slots.n; i++) {
        const double z = rounds[i].position, half = 0.5 * rounds[i].width, r = 0.5 * rounds[i].diameter;
        sm_gauge_length(out, sm_gauge_entry(name, "round_slots", i, "position"),
                        (struct sm_point){0.0, -radius}, (struct sm_point){z, -r}, SM_GAUGE_BELOW);
        sm_gauge_length(out, sm_gauge_entry(name, "round_slots", i, "width"), (struct sm_point){z - half, r},
                        (struct sm_point){z + half, r}, SM_GAUGE_ABOVE);
        sm_gauge_length(out, sm_gauge_entry(name, "round_slots", i, "diameter"), (struct sm_point){z, -r},
                        (struct sm_point){z, r}, SM_GAUGE_HERE);
    }
}

const struct sm_shape sm_shape_slotted_segment = {
    .name = "slotted-segment",
    .summary = "round bore with slots along parts of it, or all round it",
    .size = sizeof(struct slotted_segment),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .burning = SM_FACE_BORE,
    .example =
        "{ \"shape\": \"slotted-segment\", \"outer_diameter\": \"100 mm\", \"length\": \"240 mm\","
        " \"bore_diameter\": \"36 mm\", \"slots\": 6,"
        " \"round_slots\": [ { \"position\": \"50 mm\", \"width\": \"8 mm\", \"diameter\": \"70 mm\" } ],"
        " \"slotted\": [ { \"from\": \"150 mm\", \"width\": \"6 mm\", \"diameter\": \"80 mm\" } ] }",
    .check = check,
    .section = section,
    .spliced = spliced,
    .gauges = gauges,
};
