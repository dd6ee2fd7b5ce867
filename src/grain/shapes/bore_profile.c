/* Bore profile: a round port whose diameter changes along the grain: steps, cones, chamfers, recesses. */
#include "grain/shape.h"

#include <math.h>

struct place {
    double z;        /* [m]; absent: the face at that end */
    double diameter; /* [m] */
};

struct bore_profile {
    struct sm_list profile; /* of struct place */
    struct sm_list sleeves; /* of struct sm_sleeve */
};

static const struct sm_param rows[] = {
    {.name = "z",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct place, z),
     .min = 0.0,
     .max = 100.0,
     .fallback = SM_OPTIONAL,
     .help = "distance from the fore face; left out for the first or last place: at the fore or aft face"},
    {.name = "diameter",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct place, diameter),
     .min = 0.0,
     .max = 10.0,
     .fallback = SM_REQUIRED,
     .help = "diameter of the bore there; 0 only where the bore ends within the grain"},
};

static const struct sm_param sleeve_rows[] = {
    {.name = "from",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_sleeve, from),
     .min = 0.0,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "distance of its one end from the fore face"},
    {.name = "to",
     .kind = SM_QUANTITY,
     .dim = SM_DIM_LENGTH,
     .offset = offsetof(struct sm_sleeve, to),
     .min = 0.0,
     .max = 100.0,
     .fallback = SM_REQUIRED,
     .help = "distance of its other end, which is farther"},
};

static const struct sm_param params[] = {
    {.name = "profile",
     .kind = SM_LIST,
     .offset = offsetof(struct bore_profile, profile),
     .min = 2,
     .max = 200,
     .fallback = SM_REQUIRED,
     .rows = rows,
     .n_rows = SM_COUNT(rows),
     .row_size = sizeof(struct place),
     .help = "places along the bore from the fore end to the aft end, joined by straight lines; two at one z "
             "make a step"},
    {.name = "sleeves",
     .kind = SM_LIST,
     .offset = offsetof(struct bore_profile, sleeves),
     .min = 1,
     .max = 64,
     .fallback = SM_OPTIONAL,
     .rows = sleeve_rows,
     .n_rows = SM_COUNT(sleeve_rows),
     .row_size = sizeof(struct sm_sleeve),
     .help = "stretches of the bore that an inhibitor covers, steps at their ends included; fronts go round "
             "their edges, which asks for \"burnback\": \"geodesic\""},
};

static double find_z(const struct sm_list *profile, size_t i, double length)
{
    const struct place *list = profile->items;
    if (!isnan(list[i].z))
        return list[i].z;
    return i == 0 ? 0.0 : length;
}

/* An end of the bore: at a face, or on the axis. */
static enum sm_status check_end(const struct sm_grain_common *common, const struct sm_list *profile, size_t i,
                                struct sm_error *err)
{
    const struct place *list = profile->items;
    const double face = i == 0 ? 0.0 : common->length, z = find_z(profile, i, common->length);
    if (list[i].diameter == 0.0 || z == face)
        return SM_OK;
    return sm_at(err,
                 sm_fail(err, SM_E_GEOMETRY,
                         "the bore ends at z = %g mm: it must go on to the face, or down to the axis",
                         1e3 * z),
                 "/profile/%zu", i);
}

/* Two places at one z make a step, within the grain; a third would lie upon it, or say nothing. */
static enum sm_status check_step(const struct sm_grain_common *common, const struct sm_list *profile,
                                 size_t i, struct sm_error *err)
{
    const double z = find_z(profile, i, common->length);
    if (i == 0 || z > find_z(profile, i - 1, common->length))
        return SM_OK;
    if (i > 1 && z == find_z(profile, i - 2, common->length))
        return sm_fail(err, SM_E_GEOMETRY, "three places stand at z = %g mm; a step has two", 1e3 * z);
    if (z == 0.0 || z == common->length)
        return sm_fail(err, SM_E_GEOMETRY,
                       "a step stands at the face at z = %g mm: leave one of its places out", 1e3 * z);
    return SM_OK;
}

static enum sm_status check_sleeves(const struct sm_grain_common *common, const struct sm_list *sleeves,
                                    struct sm_error *err)
{
    const struct sm_sleeve *list = sleeves->items;
    for (size_t i = 0; i < sleeves->n; i++)
        if (!(list[i].from < list[i].to && list[i].to <= common->length))
            return sm_at(
                err,
                sm_fail(err, SM_E_GEOMETRY,
                        "a sleeve from %g mm to %g mm: it must end behind where it begins, within the "
                        "length of %g mm",
                        1e3 * list[i].from, 1e3 * list[i].to, 1e3 * common->length),
                "/sleeves/%zu", i);
    return SM_OK;
}

static enum sm_status check(const struct sm_grain_common *common, const void *block, struct sm_error *err)
{
    const struct bore_profile *p = block;
    const struct place *list = p->profile.items;
    const size_t n = p->profile.n;
    double before = 0.0;
    for (size_t i = 0; i < n; i++) {
        enum sm_status status = SM_OK;
        const double z = find_z(&p->profile, i, common->length);
        if (isnan(list[i].z) && i > 0 && i + 1 < n)
            status = sm_fail(err, SM_E_GEOMETRY, "z may be left out of the first and last places only");
        else if (z > common->length)
            status = sm_fail(err, SM_E_GEOMETRY, "z is %g mm, beyond the length of %g mm", 1e3 * z,
                             1e3 * common->length);
        else if (z < before)
            status =
                sm_fail(err, SM_E_GEOMETRY, "z must not go back: %g mm after %g mm", 1e3 * z, 1e3 * before);
        else if (list[i].diameter == 0.0 && i > 0 && i + 1 < n)
            status = sm_fail(err, SM_E_GEOMETRY, "only the first or last place can lie on the axis");
        else
            status = check_step(common, &p->profile, i, err);
        if (status == SM_OK)
            status =
                sm_shape_below("diameter", list[i].diameter, "outer_diameter", common->outer_diameter, err);
        if (status != SM_OK)
            return sm_at(err, status, "/profile/%zu", i);
        before = z;
    }
    SM_TRY(check_end(common, &p->profile, 0, err));
    SM_TRY(check_end(common, &p->profile, n - 1, err));
    if (list[0].diameter == 0.0 && list[n - 1].diameter == 0.0)
        return sm_at(err, sm_fail(err, SM_E_GEOMETRY, "the bore is closed at both ends"), "/profile");
    return check_sleeves(common, &p->sleeves, err);
}

static enum sm_status meridian(struct sm_arena *arena, const struct sm_grain_common *common,
                               const void *block, struct sm_meridian *out, struct sm_error *err)
{
    (void)arena, (void)err;
    const struct bore_profile *p = block;
    const struct place *list = p->profile.items;
    const size_t n = p->profile.n;
    out->sleeves = p->sleeves.items;
    out->n_sleeves = p->sleeves.n;
    sm_contour_start(&out->bore, find_z(&p->profile, n - 1, common->length), 0.5 * list[n - 1].diameter);
    for (size_t i = n - 1; i-- > 0;)
        sm_contour_line(&out->bore, find_z(&p->profile, i, common->length), 0.5 * list[i].diameter);
    return SM_OK;
}

/* Diameters a little off the ends and off steps, so that both of a step's are seen. */
static void gauges(const struct sm_grain_common *common, const void *block, struct sm_gauges *out)
{
    const struct bore_profile *p = block;
    const struct place *list = p->profile.items;
    const struct sm_sleeve *sleeves = p->sleeves.items;
    const double length = common->length, off = 0.02 * length, radius = 0.5 * common->outer_diameter;
    const size_t n = p->profile.n;
    char name[SM_GAUGE_NAME];
    for (size_t i = 0; i < n; i++) {
        const double z = find_z(&p->profile, i, length), r = 0.5 * list[i].diameter;
        const bool ends = i + 1 == n || find_z(&p->profile, i + 1, length) == z;
        const bool begins = i == 0 || find_z(&p->profile, i - 1, length) == z;
        const double at = ends ? z - off : begins ? z + off : z;
        if (r > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "profile", i, "diameter"), (struct sm_point){at, -r},
                            (struct sm_point){at, r}, SM_GAUGE_HERE);
        if (!isnan(list[i].z) && z > 0.0 && !(begins && i > 0))
            sm_gauge_length(out, sm_gauge_entry(name, "profile", i, "z"), (struct sm_point){0.0, -radius},
                            (struct sm_point){z, -r}, SM_GAUGE_BELOW);
    }
    for (size_t i = 0; i < p->sleeves.n; i++) {
        const struct sm_point face = {0.0, radius};
        if (sleeves[i].from > 0.0)
            sm_gauge_length(out, sm_gauge_entry(name, "sleeves", i, "from"), face,
                            (struct sm_point){sleeves[i].from, radius}, SM_GAUGE_ABOVE);
        sm_gauge_length(out, sm_gauge_entry(name, "sleeves", i, "to"), face,
                        (struct sm_point){sleeves[i].to, radius}, SM_GAUGE_ABOVE);
    }
}

const struct sm_shape sm_shape_bore_profile = {
    .name = "bore-profile",
    .summary = "round port of changing diameter: steps, cones, chamfers, recesses",
    .size = sizeof(struct bore_profile),
    .params = params,
    .n_params = SM_COUNT(params),
    .faces = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END | SM_FACE_OUTER,
    .burning = SM_FACE_BORE | SM_FACE_FORE_END | SM_FACE_AFT_END,
    .example =
        "{ \"shape\": \"bore-profile\", \"outer_diameter\": \"60 mm\", \"length\": \"120 mm\", \"profile\": ["
        " { \"diameter\": \"16 mm\" }, { \"z\": \"60 mm\", \"diameter\": \"16 mm\" },"
        " { \"z\": \"60 mm\", \"diameter\": \"24 mm\" }, { \"z\": \"114 mm\", \"diameter\": \"24 mm\" },"
        " { \"diameter\": \"36 mm\" } ] }",
    .check = check,
    .meridian = meridian,
    .gauges = gauges,
};
