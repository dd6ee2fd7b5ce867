#include "samples.h"

#include <cairo/cairo.h>
#include <criterion/criterion.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { N = 1500, N_RECORD = 100000, N_MANY = 12, N_BURN = 6 };

/* ---- invented curves ---- */

static double smooth(double u)
{
    u = fmax(0.0, fmin(1.0, u));
    return u * u * (3.0 - 2.0 * u);
}

/* A cored motor, 1.6 s with a spike at ignition, and an end burner, 13.5 s and flat [N at s]. */
static double cored(double t)
{
    const double plateau = smooth(t / 0.04) * (62.0 + 14.0 * sin(2.1 * t)) * (1.0 - smooth((t - 1.42) / 0.2));
    return plateau + 30.0 * exp(-pow((t - 0.05) / 0.03, 2.0));
}

static double flat(double t)
{
    return smooth(t / 0.15) * (13.2 + 0.026 * t) * (1.0 - smooth((t - 13.1) / 0.5)) +
           2.0 * exp(-pow((t - 0.12) / 0.06, 2.0));
}

static struct {
    double short_time[N], cored[N], long_time[N], flat[N]; /* [s], [N] */
    double nominal[N], hot[N], cold[N];                    /* [MPa] */
    double web[N], tube[N], star[N];                       /* [mm], [cm2] */
    double record_time[N_RECORD], record[N_RECORD];        /* [s], [N] */
    double many[N_MANY][N];                                /* [N] */
    double fit_x[7], fit_y[7], fit_law[7];                 /* [MPa], [nm/s] */
    char names[N_MANY][32];
} data;

static void fill_data(void)
{
    for (int i = 0; i < N; i++) {
        const double u = (double)i / (N - 1);
        data.short_time[i] = 1.7 * u;
        data.cored[i] = cored(data.short_time[i]);
        data.long_time[i] = 14.0 * u;
        data.flat[i] = flat(data.long_time[i]);
        data.nominal[i] = 0.23 * data.flat[i];
        data.hot[i] = 0.25 * flat(1.07 * data.long_time[i]);
        data.cold[i] = 0.21 * flat(0.94 * data.long_time[i]);
        data.web[i] = 15.0 * u;
        data.tube[i] = u < 0.75 ? 80.0 + 30.0 * sin(4.0 * u) : 110.0 - 380.0 * (u - 0.75);
        data.star[i] = u < 0.6 || u > 0.8 ? 95.0 - 8.0 * sin(10.0 * u) : SM_NAN;
        for (int k = 0; k < N_MANY; k++)
            data.many[k][i] = (0.4 + 0.05 * k) * cored((0.8 + 0.05 * k) * data.short_time[i]);
    }
    unsigned long long state = 1;
    for (int i = 0; i < N_RECORD; i++) {
        state = state * 6364136223846793005ull + 1442695040888963407ull;
        data.record_time[i] = 1e-4 * i;
        data.record[i] =
            50.0 * smooth(data.record_time[i]) + 4.0 * ((double)(state >> 40) / 16777216.0 - 0.5);
    }
    static const double pressures[] = {0.3, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0};
    for (int i = 0; i < 7; i++) {
        data.fit_x[i] = pressures[i];
        data.fit_law[i] = 4.1e6 * pow(pressures[i], 0.42);
        data.fit_y[i] = data.fit_law[i] * (i % 2 ? 1.03 : 0.98);
    }
    for (int k = 0; k < N_MANY; k++)
        snprintf(data.names[k], sizeof data.names[k], "invented motor %d", k + 1);
}

/* ---- plots ---- */

static const struct sm_plot_series cored_alone[] = {
    {.x = data.short_time, .y = data.cored, .n = N, .label = "thrust"}};
static const struct sm_plot_marker peak[] = {{.x = 0.05, .y = 93.5, .text = "ignition peak 94 N"}};
static const struct sm_plot_span burn[] = {{.x0 = 0.01, .x1 = 1.57, .text = "burn time 1.56 s"}};
static const struct sm_plot_rule average[] = {{.at = 66.4, .text = "average 66.4 N"}};
static const struct sm_plot_panel spike_panel = {.x = {.label = "time (s)"},
                                                 .y = {.label = "thrust (N)"},
                                                 .series = cored_alone,
                                                 .n_series = 1,
                                                 .markers = peak,
                                                 .n_markers = 1,
                                                 .spans = burn,
                                                 .n_spans = 1,
                                                 .rules = average,
                                                 .n_rules = 1};

static const struct sm_plot_series two[] = {
    {.x = data.long_time, .y = data.flat, .n = N, .label = "end burner, 13.5 s"},
    {.x = data.short_time, .y = data.cored, .n = N, .label = "cored tube, 1.6 s"}};
static const struct sm_plot_panel two_panel = {
    .x = {.label = "time (s)"}, .y = {.label = "thrust (N)"}, .series = two, .n_series = 2};

static const struct sm_plot_series pressures[] = {
    {.x = data.long_time, .y = data.nominal, .n = N, .label = "nominal, 21 °C", .colour = 1},
    {.x = data.long_time, .y = data.hot, .n = N, .label = "hot, 40 °C", .colour = 2, .width = 2.0},
    {.x = data.long_time, .y = data.cold, .n = N, .label = "cold, −10 °C", .colour = 6, .width = 2.0}};
static const struct sm_plot_band spread[] = {{.x = data.long_time,
                                              .y_low = data.cold,
                                              .y_high = data.hot,
                                              .n = N,
                                              .label = "nine in ten",
                                              .colour = 1}};
static const struct sm_plot_rule limit[] = {{.at = 4.2, .text = "limit of the case 4.2 MPa", .colour = 2}};
static const struct sm_plot_panel band_panel = {.x = {.label = "time (s)"},
                                                .y = {.label = "chamber pressure (MPa)"},
                                                .series = pressures,
                                                .n_series = 3,
                                                .bands = spread,
                                                .n_bands = 1,
                                                .rules = limit,
                                                .n_rules = 1};

static const struct sm_plot_series areas[] = {
    {.x = data.web, .y = data.tube, .n = N, .label = "tube"},
    {.x = data.web, .y = data.star, .n = N, .label = "star, with a gap", .stroke = SM_STROKE_DASHED}};
static const struct sm_plot_panel area_panel = {.x = {.label = "distance burned (mm)"},
                                                .y = {.label = "burning area (cm²)"},
                                                .series = areas,
                                                .n_series = 2};

static const struct sm_plot_series flat_alone[] = {{.x = data.long_time, .y = data.flat, .n = N}};
static const struct sm_plot_series nominal_alone[] = {
    {.x = data.long_time, .y = data.nominal, .n = N, .colour = 2}};
static const struct sm_plot_panel stack_panels[] = {
    {.x = {.label = "time (s)"},
     .y = {.label = "thrust (N)"},
     .series = flat_alone,
     .n_series = 1,
     .weight = 1.6},
    {.y = {.label = "chamber pressure (MPa)"}, .series = nominal_alone, .n_series = 1},
    {.title = "nothing measured", .y = {.label = "temperature (°C)"}}};

static struct sm_plot_series many[N_MANY];
static const struct sm_plot_panel many_panel = {
    .x = {.label = "time (s)"}, .y = {.label = "thrust (N)"}, .series = many, .n_series = N_MANY};

static const struct sm_plot_series record[] = {
    {.x = data.record_time, .y = data.record, .n = N_RECORD, .label = "load cell, 10 kHz", .width = 1.0}};
static const struct sm_plot_panel record_panel = {
    .x = {.label = "time (s)"}, .y = {.label = "thrust (N)"}, .series = record, .n_series = 1};

static const struct sm_plot_series fit[] = {
    {.x = data.fit_x, .y = data.fit_law, .n = 7, .label = "law fitted"},
    {.x = data.fit_x, .y = data.fit_y, .n = 7, .label = "strands", .stroke = SM_STROKE_DISCS}};
static const struct sm_plot_marker close_by[] = {{.x = 1.0, .y = 4.1e6, .text = "reference"},
                                                 {.x = 1.1, .y = 4.27e6, .text = "second close by"},
                                                 {.x = 8.0, .y = 9.8e6, .text = "end of the range"}};
static const struct sm_plot_rule upright[] = {{.at = 2.0, .vertical = true, .text = "separation"},
                                              {.at = 2.2, .vertical = true, .text = "web burned out"}};
static const struct sm_plot_panel fit_panel = {.x = {.label = "pressure (MPa)"},
                                               .y = {.label = "burn rate in an odd unit (nm/s)"},
                                               .series = fit,
                                               .n_series = 2,
                                               .markers = close_by,
                                               .n_markers = 3,
                                               .rules = upright,
                                               .n_rules = 2};

const struct sample_plot *sample_plots(void)
{
    static const struct sample_plot plots[] = {
        {"spike",
         {.title = "Invented cored motor, predicted thrust",
          .subtitle = "total impulse 104 N s",
          .note = "Prediction from invented data.",
          .panels = &spike_panel,
          .n_panels = 1}},
        {"two", {.title = "Same impulse, two burns", .panels = &two_panel, .n_panels = 1}},
        {"band", {.title = "Chamber pressure, hot to cold", .panels = &band_panel, .n_panels = 1}},
        {"area",
         {.title =
              "A long title that has to be wrapped because it says more than fits into the one line that a "
              "slide gives it, and then goes on for a while",
          .panels = &area_panel,
          .n_panels = 1}},
        {"stack", {.title = "End burner", .panels = stack_panels, .n_panels = 3}},
        {"many", {.title = "Twelve motors", .panels = &many_panel, .n_panels = 1}},
        {"record", {.title = "100 000 samples", .panels = &record_panel, .n_panels = 1}},
        {"fit", {.title = "Fit", .panels = &fit_panel, .n_panels = 1}},
    };
    _Static_assert(SM_COUNT(plots) == N_SAMPLE_PLOTS, "as the header says");
    if (data.short_time[1] == 0.0) {
        fill_data();
        for (int k = 0; k < N_MANY; k++)
            many[k] = (struct sm_plot_series){
                .x = data.short_time, .y = data.many[k], .n = N, .label = data.names[k]};
    }
    return plots;
}

/* ---- drawings ---- */

#define CIRCLE(r)                                                                                            \
    {                                                                                                        \
        {SM_DRAW_MOVE, .x = (r)},                                                                            \
        {                                                                                                    \
            SM_DRAW_ARC, .x = (r)                                                                            \
        }                                                                                                    \
    }
static const struct sm_draw_step case_out[] = CIRCLE(0.027), case_in[] = CIRCLE(0.025),
                                 rim[] = CIRCLE(0.0245);
static const struct sm_draw_step bores[N_BURN][2] = {CIRCLE(0.008),  CIRCLE(0.0113), CIRCLE(0.0146),
                                                     CIRCLE(0.0179), CIRCLE(0.0212), CIRCLE(0.024)};
static const struct sm_draw_path case_rings[] = {{case_out, 2, true}, {case_in, 2, true}};
/* A slot with round ends, of lines and arcs. */
static const struct sm_draw_step slot[] = {{SM_DRAW_MOVE, .x = -0.012, .y = -0.004},
                                           {SM_DRAW_LINE, .x = 0.012, .y = -0.004},
                                           {SM_DRAW_ARC, .x = 0.012, .y = 0.004, .cx = 0.012},
                                           {SM_DRAW_LINE, .x = -0.012, .y = 0.004},
                                           {SM_DRAW_ARC, .x = -0.012, .y = -0.004, .cx = -0.012}};
static const struct sm_draw_path slotted[] = {{rim, 2, true}, {slot, 5, true}};
static const struct sm_draw_part section_parts[] = {
    {.paths = case_rings, .n_paths = 2, .fill = SM_FILL_CASE},
    {.paths = slotted, .n_paths = 2, .fill = SM_FILL_PROPELLANT, .hatched = true}};
static const struct sm_draw_note section_notes[] = {{.x = 0.026, .y = 0.001, .text = "case"},
                                                    {.text = "port"},
                                                    {.x = -0.010, .y = 0.0185, .text = "propellant"},
                                                    {.x = 0.012, .y = -0.004, .text = "joint", .colour = 1}};
static const struct sm_draw_step halves[] = {{SM_DRAW_MOVE, .y = -0.0245},
                                             {SM_DRAW_LINE, .x = 0.085, .y = -0.0245},
                                             {SM_DRAW_LINE, .x = 0.085, .y = -0.01},
                                             {SM_DRAW_LINE, .y = -0.01},
                                             {SM_DRAW_MOVE, .y = 0.0245},
                                             {SM_DRAW_LINE, .x = 0.085, .y = 0.0245},
                                             {SM_DRAW_LINE, .x = 0.085, .y = 0.01},
                                             {SM_DRAW_LINE, .y = 0.01}};
static const struct sm_draw_path side_path[] = {{halves, 8, true}};
static const struct sm_draw_part side_parts[] = {
    {.paths = side_path, .n_paths = 1, .fill = SM_FILL_PROPELLANT}};
static const struct sm_draw_note side_notes[] = {{.x = 0.085, .y = 0.016, .text = "aft end, burning"}};
static const struct sm_draw_view views[] = {
    {.title = "from the aft end", .parts = section_parts, .n_parts = 2, .notes = section_notes, .n_notes = 4},
    {.title = "from the side", .parts = side_parts, .n_parts = 1, .notes = side_notes, .n_notes = 1}};

static struct sm_draw_path burning_paths[N_BURN][2];
static struct sm_draw_part burning_parts[N_BURN][3];
static struct sm_draw_view burning[N_BURN];

static const struct sm_draw_dimension dimensions[] = {
    {SM_MEASURE_LENGTH, SM_SIDE_BELOW, .ax = -0.02, .bx = 0.02, .text = "outer diameter 40 mm"},
    {SM_MEASURE_LENGTH, SM_SIDE_BELOW, .ax = 0.0, .bx = 0.001, .text = "short"},
    {SM_MEASURE_LENGTH, SM_SIDE_ABOVE, .ax = 0.0, .bx = 0.02, .text = "radius 20 mm"},
    {SM_MEASURE_LENGTH, SM_SIDE_LEFT, .ay = -0.02, .by = 0.02, .text = "height 40 mm"},
    {SM_MEASURE_LENGTH, SM_SIDE_HERE, .ax = 0.012, .bx = 0.02, .text = "web 8 mm"},
    {SM_MEASURE_RADIUS, .ax = 0.0, .ay = 0.015, .bx = 0.0, .by = 0.0155, .text = "fillet 0.5 mm"},
    {SM_MEASURE_RADIUS, .ax = 0.0, .ay = -0.01, .bx = 0.006, .by = -0.01, .text = "rounding 6 mm"},
    {SM_MEASURE_CIRCLE, .ax = -0.006, .ay = -0.008, .bx = 0.006, .by = 0.008, .is_traced = true,
     .text = "core 20 mm"},
    {SM_MEASURE_ANGLE, .ax = 0.015, .ay = 0.0, .bx = 0.012, .by = 0.009, .text = "angle 37 deg"},
    {SM_MEASURE_ANGLE, .ax = -0.001, .ay = 0.0, .bx = -0.0009, .by = -0.0004, .text = "small angle"},
};
static const struct sm_draw_view measured = {.title = "dimensions",
                                             .parts = section_parts,
                                             .n_parts = 1,
                                             .dimensions = dimensions,
                                             .n_dimensions = SM_COUNT(dimensions)};

const struct sample_drawing *sample_drawings(void)
{
    static const struct sample_drawing drawings[] = {
        {"section",
         {.title = "Slotted, to scale", .note = "No drawing for manufacture.", .views = views, .n_views = 1}},
        {"views", {.title = "Two views", .views = views, .n_views = 2, .separate_scales = true}},
        {"measured", {.title = "All kinds of dimensions", .views = &measured, .n_views = 1}},
        {"burning", {.title = "A tube as it burns", .views = burning, .n_views = N_BURN}},
    };
    _Static_assert(SM_COUNT(drawings) == N_SAMPLE_DRAWINGS, "as the header says");
    for (int i = 0; i < N_BURN; i++) {
        burning_paths[i][0] = (struct sm_draw_path){rim, 2, true};
        burning_paths[i][1] = (struct sm_draw_path){bores[i], 2, true};
        burning_parts[i][0] = section_parts[0];
        burning_parts[i][1] =
            (struct sm_draw_part){.paths = burning_paths[i], .n_paths = 2, .fill = SM_FILL_PROPELLANT};
        burning_parts[i][2] = (struct sm_draw_part){
            .paths = &burning_paths[0][1], .n_paths = 1, .fade = 0.6, .stroke = SM_STROKE_DASHED};
        burning[i] = (struct sm_draw_view){.title = "burned so far", .parts = burning_parts[i], .n_parts = 3};
    }
    return drawings;
}

/* ---- writing and looking ---- */

struct sm_memory_sink written_plot(const struct sm_plot *plot, enum sm_plot_kind kind)
{
    struct sm_memory_sink sink;
    struct sm_error err = {0};
    sm_memory_sink_init(&sink, NULL);
    cr_assert_eq(sm_plot_write(plot, kind, &sink.sink, &err), SM_OK, "%s [%s]", err.message, err.at.path);
    return sink;
}

struct sm_memory_sink written_drawing(const struct sm_drawing *drawing, enum sm_plot_kind kind)
{
    struct sm_memory_sink sink;
    struct sm_error err = {0};
    sm_memory_sink_init(&sink, NULL);
    cr_assert_eq(sm_drawing_write(drawing, kind, &sink.sink, &err), SM_OK, "%s [%s]", err.message,
                 err.at.path);
    return sink;
}

struct reading {
    const struct sm_memory_sink *from;
    size_t at;
};

static cairo_status_t give_bytes(void *user, unsigned char *bytes, unsigned n)
{
    struct reading *reading = user;
    if (reading->from->n - reading->at < n)
        return CAIRO_STATUS_READ_ERROR;
    memcpy(bytes, reading->from->bytes + reading->at, n);
    reading->at += n;
    return CAIRO_STATUS_SUCCESS;
}

struct pixels decoded(const struct sm_memory_sink *png)
{
    struct reading reading = {png, 0};
    cairo_surface_t *surface = cairo_image_surface_create_from_png_stream(give_bytes, &reading);
    cr_assert_eq(cairo_surface_status(surface), CAIRO_STATUS_SUCCESS, "the PNG does not read back");
    struct pixels image = {cairo_image_surface_get_width(surface), cairo_image_surface_get_height(surface),
                           NULL};
    image.rgb = malloc((size_t)image.width * (size_t)image.height * 3);
    cr_assert_not_null(image.rgb);
    const unsigned char *from = cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    for (int y = 0; y < image.height; y++)
        for (int x = 0; x < image.width; x++) {
            unsigned word; /* 0x00RRGGBB in the machine's order of bytes */
            memcpy(&word, from + (ptrdiff_t)y * stride + (ptrdiff_t)x * 4, sizeof word);
            unsigned char *to = image.rgb + 3 * ((size_t)y * (size_t)image.width + (size_t)x);
            to[0] = (unsigned char)(word >> 16 & 255);
            to[1] = (unsigned char)(word >> 8 & 255);
            to[2] = (unsigned char)(word & 255);
        }
    cairo_surface_destroy(surface);
    return image;
}

bool is_colour(const struct pixels *image, int x, int y, int r, int g, int b)
{
    const unsigned char *p = image->rgb + 3 * ((size_t)y * (size_t)image->width + (size_t)x);
    return abs(p[0] - r) <= 3 && abs(p[1] - g) <= 3 && abs(p[2] - b) <= 3;
}

void need_program(const char *name)
{
    if (run("command -v %s >/dev/null 2>&1", name) != 0)
        cr_skip_test("%s is not installed", name);
}

char *kept_file(const struct sm_memory_sink *bytes, const char *ending)
{
    char folder[] = "/tmp/sm-picture-XXXXXX", path[64];
    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/picture%s", folder, ending);
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    cr_assert_eq(fwrite(bytes->bytes, 1, bytes->n, file), bytes->n);
    cr_assert_eq(fclose(file), 0);
    return strdup(path);
}

void discard(char *path)
{
    unlink(path);
    *strrchr(path, '/') = '\0';
    rmdir(path);
    free(path);
}

int run(const char *format, ...)
{
    char command[512];
    va_list args;
    va_start(args, format);
    vsnprintf(command, sizeof command, format, args);
    va_end(args);
    const int status = system(command);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}
