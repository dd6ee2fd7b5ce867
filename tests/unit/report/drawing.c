/* Drawings: to scale in both directions, read by others, the same each time, and good errors. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "samples.h"

#include "slowmatch/grain.h"
#include "slowmatch/motor.h"
#include "slowmatch/plot.h"
#include "slowmatch/simulate.h"

static const enum sm_plot_kind kinds[] = {SM_PLOT_SVG, SM_PLOT_PNG, SM_PLOT_PDF};

Test(drawings, read_by_others)
{
    need_program("xmllint");
    need_program("pdftoppm");
    for (int i = 0; i < N_SAMPLE_DRAWINGS; i++) {
        struct sm_memory_sink svg = written_drawing(&sample_drawings()[i].drawing, SM_PLOT_SVG);
        struct sm_memory_sink pdf = written_drawing(&sample_drawings()[i].drawing, SM_PLOT_PDF);
        char *svg_path = kept_file(&svg, ".svg"), *pdf_path = kept_file(&pdf, ".pdf");
        cr_expect_eq(run("xmllint --nonet --noout %s", svg_path), 0, "%s", sample_drawings()[i].name);
        cr_expect_eq(run("test -z \"$(pdftoppm -r 30 -png %s 2>&1 >/dev/null)\"", pdf_path), 0, "%s",
                     sample_drawings()[i].name);
        discard(svg_path);
        discard(pdf_path);
        sm_memory_sink_release(&svg);
        sm_memory_sink_release(&pdf);
    }
}

Test(drawings, same_bytes_in_another_second)
{
    static struct sm_memory_sink before[N_SAMPLE_DRAWINGS][SM_COUNT(kinds)];
    const time_t start = time(NULL);
    for (int i = 0; i < N_SAMPLE_DRAWINGS; i++)
        for (size_t k = 0; k < SM_COUNT(kinds); k++)
            before[i][k] = written_drawing(&sample_drawings()[i].drawing, kinds[k]);
    while (time(NULL) < start + 2)
        nanosleep(&(struct timespec){0, 50000000}, NULL);
    for (int i = 0; i < N_SAMPLE_DRAWINGS; i++)
        for (size_t k = 0; k < SM_COUNT(kinds); k++) {
            struct sm_memory_sink again = written_drawing(&sample_drawings()[i].drawing, kinds[k]);
            cr_expect(again.n == before[i][k].n && memcmp(again.bytes, before[i][k].bytes, again.n) == 0);
            sm_memory_sink_release(&again);
            sm_memory_sink_release(&before[i][k]);
        }
}

/* ---- to scale ---- */

/* The px of one colour: how many, and the box about them. */
struct patch {
    int n, x0, y0, x1, y1; /* [px] */
};

static struct patch find_patch(const struct pixels *image, int r, int g, int b)
{
    struct patch p = {0, image->width, image->height, -1, -1};
    for (int y = 0; y < image->height; y++)
        for (int x = 0; x < image->width; x++)
            if (is_colour(image, x, y, r, g, b)) {
                p.n++;
                p.x0 = x < p.x0 ? x : p.x0;
                p.x1 = x > p.x1 ? x : p.x1;
                p.y0 = y < p.y0 ? y : p.y0;
                p.y1 = y > p.y1 ? y : p.y1;
            }
    return p;
}

#define TINT 179, 226, 213

/* The part alone, filled and without outline. */
static struct pixels draw_part(const struct sm_draw_path *paths, size_t n_paths, int width, int height)
{
    /* The tint of the third accent, 0.3 of (0, 158, 115) on white, which nothing else on the page has. */
    const struct sm_draw_part part = {
        .paths = paths, .n_paths = n_paths, .fill = SM_FILL_TINT, .colour = 3, .no_outline = true};
    const struct sm_draw_view view = {.parts = &part, .n_parts = 1};
    const struct sm_drawing drawing = {.views = &view, .n_views = 1, .width = width, .height = height};
    struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
    const struct pixels image = decoded(&png);
    sm_memory_sink_release(&png);
    return image;
}

/* A ring of radii 4 : 10 in two directions of drawing, on a wide and on a tall page. Its area over that of the square
 * about it is pi (1 - 0.16) / 4. */
Test(drawings, circles_are_round)
{
    static const int pages[][2] = {{1200, 800}, {600, 1000}};
    static const double pi = 3.14159265358979323846;
    for (int clockwise = 0; clockwise < 2; clockwise++)
        for (size_t i = 0; i < SM_COUNT(pages); i++) {
            const struct sm_draw_step rim[] = {{SM_DRAW_MOVE, .x = 0.01},
                                               {SM_DRAW_ARC, .x = -0.01, .clockwise = clockwise},
                                               {SM_DRAW_ARC, .x = 0.01, .clockwise = clockwise}};
            const struct sm_draw_step bore[] = {{SM_DRAW_MOVE, .y = 0.004}, {SM_DRAW_ARC, .y = 0.004}};
            const struct sm_draw_path paths[] = {{rim, 3, true}, {bore, 2, true}};
            struct pixels image = draw_part(paths, 2, pages[i][0], pages[i][1]);
            const struct patch p = find_patch(&image, TINT);
            const double w = p.x1 - p.x0 + 1.0, h = p.y1 - p.y0 + 1.0;
            cr_expect_geq(w, 400.0);
            cr_expect_leq(fabs(w - h), 1.0, "%g by %g px", w, h);
            cr_expect_float_eq(p.n / (w * h), pi * (1.0 - 0.16) / 4.0, 0.01); /* a rim of blended px */
            free(image.rgb);
        }
}

/* The four quarters of a pie, each drawn as lines and an arc in either sense, lie where geometry has them. */
Test(drawings, arcs_go_the_way_they_say)
{
    for (int clockwise = 0; clockwise < 2; clockwise++) {
        /* Counter-clockwise from +x to +y is a quarter; clockwise it is the other three. */
        const struct sm_draw_step pie[] = {{.op = SM_DRAW_MOVE},
                                           {SM_DRAW_LINE, .x = 0.01},
                                           {SM_DRAW_ARC, .y = 0.01, .clockwise = clockwise}};
        const struct sm_draw_path path = {pie, 3, true};
        struct pixels image = draw_part(&path, 1, 800, 800);
        const struct patch p = find_patch(&image, TINT);
        const double w = p.x1 - p.x0 + 1.0, h = p.y1 - p.y0 + 1.0;
        cr_expect_leq(fabs(w - h), 1.0);
        /* The quarter fills pi/4 of the square about it, three quarters 3 pi/16. */
        cr_expect_float_eq(p.n / (w * h), clockwise ? 0.589 : 0.785, 0.01);
        /* y runs upwards in the drawing: what is left out, or lies past the bow, is on the upper right. */
        const int right = p.x0 + (int)(0.75 * w), upper = p.y0 + (int)(0.25 * h);
        const int left = p.x0 + (int)(0.25 * w), lower = p.y0 + (int)(0.75 * h);
        cr_expect(is_colour(&image, left, lower, TINT));
        cr_expect(is_colour(&image, left, upper, TINT));
        cr_expect(is_colour(&image, right, lower, TINT));
        cr_expect(is_colour(&image, right, upper, 255, 255, 255));
        free(image.rgb);
    }
}

/* A square of 37 mm; the bar under it and the length written by it must give the same px per mm. */
Test(drawings, scale_bar_tells_the_scale)
{
    need_program("pdftotext");
    static const double sides[] = {0.037, 0.0021, 0.00006, 0.4, 3.0}; /* [m] */
    for (size_t i = 0; i < SM_COUNT(sides); i++) {
        const double a = sides[i];
        const struct sm_draw_step square[] = {{.op = SM_DRAW_MOVE},
                                              {SM_DRAW_LINE, .x = a},
                                              {SM_DRAW_LINE, .x = a, .y = a},
                                              {SM_DRAW_LINE, .y = a}};
        const struct sm_draw_path path = {square, 4, true};
        struct pixels image = draw_part(&path, 1, 0, 0);
        const struct patch p = find_patch(&image, TINT);
        const double scale = (p.x1 - p.x0 + 1.0) / a; /* [px/m] */

        /* The bar is the longest dark row left of and below the square. */
        int longest = 0;
        for (int y = 600; y < image.height; y++)
            for (int x = 0, n = 0; x < p.x0; x++) {
                const unsigned char *px = image.rgb + 3 * ((size_t)y * (size_t)image.width + (size_t)x);
                n = px[0] < 160 ? n + 1 : 0;
                longest = n > longest ? n : longest;
            }
        free(image.rgb);

        const struct sm_draw_part part = {.paths = &path, .n_paths = 1};
        const struct sm_draw_view view = {.parts = &part, .n_parts = 1};
        const struct sm_drawing drawing = {.views = &view, .n_views = 1};
        struct sm_memory_sink pdf = written_drawing(&drawing, SM_PLOT_PDF);
        char *file = kept_file(&pdf, ".pdf"), command[256], unit[16] = "";
        double number = 0.0;
        snprintf(command, sizeof command, "pdftotext %s - | tr '\\302\\240' '  '", file);
        FILE *pipe = popen(command, "r");
        cr_assert_eq(fscanf(pipe, "%lf %15s", &number, unit), 2);
        pclose(pipe);
        const double metre = strcmp(unit, "m") == 0 ? 1.0 : strcmp(unit, "mm") == 0 ? 1e-3 : 1e-6;
        /* Ends are blended, so a px or two of some 150. */
        cr_expect_float_eq(longest / scale, number * metre, 3.0 / scale, "%g %s against %g m", number, unit,
                           longest / scale);
        cr_expect(longest >= 90 && longest <= 250, "%d px", longest);
        discard(file);
        sm_memory_sink_release(&pdf);
    }
}

/* One scale for all views unless asked otherwise: squares of 10 and 20 mm differ by two, or not at all. */
Test(drawings, views_share_a_scale)
{
    const struct sm_draw_step small[] = {{.op = SM_DRAW_MOVE},
                                         {SM_DRAW_LINE, .x = 0.01},
                                         {SM_DRAW_LINE, .x = 0.01, .y = 0.01},
                                         {SM_DRAW_LINE, .y = 0.01}};
    const struct sm_draw_step large[] = {{.op = SM_DRAW_MOVE},
                                         {SM_DRAW_LINE, .x = 0.02},
                                         {SM_DRAW_LINE, .x = 0.02, .y = 0.02},
                                         {SM_DRAW_LINE, .y = 0.02}};
    const struct sm_draw_path paths[] = {{small, 4, true}, {large, 4, true}};
    /* Tints of blue and vermillion. */
    const struct sm_draw_part parts[] = {
        {.paths = &paths[0], .n_paths = 1, .fill = SM_FILL_TINT, .colour = 1, .no_outline = true},
        {.paths = &paths[1], .n_paths = 1, .fill = SM_FILL_TINT, .colour = 2, .no_outline = true}};
    const struct sm_draw_view views[] = {{.parts = &parts[0], .n_parts = 1},
                                         {.parts = &parts[1], .n_parts = 1}};
    for (int separate = 0; separate < 2; separate++) {
        const struct sm_drawing drawing = {.views = views, .n_views = 2, .separate_scales = separate};
        struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
        struct pixels image = decoded(&png);
        const struct patch a = find_patch(&image, 179, 213, 232), b = find_patch(&image, 242, 207, 179);
        cr_assert(a.n > 0 && b.n > 0);
        cr_expect_float_eq((double)(b.x1 - b.x0 + 1) / (a.x1 - a.x0 + 1), separate ? 1.0 : 2.0, 0.02);
        free(image.rgb);
        sm_memory_sink_release(&png);
    }
}

/* A grain cut along its axis is of one colour from rim to rim: its two halves leave no seam. */
Test(drawings, halves_of_a_grain_leave_no_seam)
{
    static const char text[] =
        "{\"format\":\"slowmatch-motor/1\",\"name\":\"m\",\"propellant\":\"demo-slow-composite\","
        "\"case\":{\"bore\":\"54 mm\",\"length\":\"210 "
        "mm\"},\"grains\":[{\"shape\":\"end-burner\",\"outer_diameter\":"
        "\"50 mm\",\"length\":\"180 mm\",\"recess_diameter\":\"12 mm\",\"recess_depth\":\"10 mm\"}],"
        "\"nozzle\":{\"throat_diameter\":\"4 mm\",\"exit_diameter\":\"9 mm\"}}";
    struct sm_motor *motor;
    struct sm_result *result;
    struct sm_diag problems = {0};
    struct sm_error err = {0};
    struct sm_memory_sink png;
    sm_memory_sink_init(&png, NULL);
    cr_assert_eq(sm_motor_parse(text, strlen(text), "m", NULL, NULL, &motor, &problems), SM_OK);
    cr_assert_eq(sm_simulate(motor, NULL, NULL, &result, &err), SM_OK, "%s", err.message);
    cr_assert_eq(sm_draw_grains(motor, result, SM_PICTURE_PNG, &png.sink, &err), SM_OK, "%s", err.message);
    struct pixels image = decoded(&png);
    const struct patch fill = find_patch(&image, 245, 217, 153);
    cr_assert(fill.n > 10000, "%d px of propellant", fill.n);
    int paler = 0; /* than propellant, and still of its hue: paper that shines through */
    for (int y = fill.y0; y <= fill.y1; y++)
        for (int x = fill.x0; x <= fill.x1; x++) {
            const unsigned char *px = image.rgb + 3 * ((size_t)y * (size_t)image.width + (size_t)x);
            paler += px[0] >= 245 && px[1] > 219 && px[2] > 158 && px[0] - px[2] > 5;
        }
    cr_expect_lt(paler, 20, "%d px of a seam", paler);
    free(image.rgb);
    sm_memory_sink_release(&png);
    sm_diag_release(&problems);
    sm_result_free(result);
    sm_motor_free(motor);
}

/* Beside a length on the left, a text that finds no room within takes it on the right alone: the part keeps over half of the width. */
Test(drawings, few_texts_leave_room_for_the_part)
{
    const struct sm_draw_step box[] = {{.op = SM_DRAW_MOVE},
                                       {SM_DRAW_LINE, .x = 0.18},
                                       {SM_DRAW_LINE, .x = 0.18, .y = 0.05},
                                       {SM_DRAW_LINE, .y = 0.05}};
    const struct sm_draw_path path = {box, 4, true};
    const struct sm_draw_part part = {
        .paths = &path, .n_paths = 1, .fill = SM_FILL_TINT, .colour = 3, .no_outline = true};
    const struct sm_draw_dimension d[] = {{.side = SM_SIDE_LEFT, .by = 0.05, .text = "outer_diameter 50 mm"},
                                          {.side = SM_SIDE_BELOW, .bx = 0.18, .text = "length 180 mm"},
                                          {.side = SM_SIDE_HERE,
                                           .ax = 0.175,
                                           .ay = 0.019,
                                           .bx = 0.175,
                                           .by = 0.031,
                                           .text = "recess_diameter 12 mm"}};
    const struct sm_draw_view view = {
        .parts = &part, .n_parts = 1, .dimensions = d, .n_dimensions = SM_COUNT(d)};
    const struct sm_drawing drawing = {.views = &view, .n_views = 1, .width = 1600, .height = 1200};
    struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
    struct pixels image = decoded(&png);
    const struct patch whole = find_patch(&image, TINT), ink = find_patch(&image, 0, 114, 178);
    cr_assert(whole.n > 0 && ink.n > 0);
    cr_expect_gt(whole.x1 - whole.x0, 800);
    cr_expect(ink.x0 > 0 && ink.x1 < 1599, "texts from %d to %d px", ink.x0, ink.x1);
    free(image.rgb);
    sm_memory_sink_release(&png);
}

/* A note without text is a dot. */
Test(drawings, notes_without_text)
{
    const struct sm_draw_step line[] = {{.op = SM_DRAW_MOVE}, {SM_DRAW_LINE, .x = 0.01, .y = 0.01}};
    const struct sm_draw_path path = {line, 2, false};
    const struct sm_draw_part part = {.paths = &path, .n_paths = 1};
    const struct sm_draw_note notes[] = {{.x = 0.005, .colour = 3}, {.y = 0.01, .text = " ", .colour = 3}};
    const struct sm_draw_view view = {.parts = &part, .n_parts = 1, .notes = notes, .n_notes = 2};
    const struct sm_drawing drawing = {.views = &view, .n_views = 1, .width = 400, .height = 300};
    struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
    struct pixels image = decoded(&png);
    /* The ink of the third accent: (0, 158, 115) darkened by 0.95 four times, to a contrast of 4.5. */
    cr_expect_geq(find_patch(&image, 0, 129, 94).n, 10);
    free(image.rgb);
    sm_memory_sink_release(&png);
}

/* Of a part of 20 mm by 10 mm its width, shown below and in place, and a short one whose arrows come from without. Heads are
 * 10 px long with their points at the ends, so columns of ink tell where those are: at the same scale as the part. */
Test(drawings, arrows_stand_where_they_measure)
{
    const struct sm_draw_step box[] = {{.op = SM_DRAW_MOVE},
                                       {SM_DRAW_LINE, .x = 0.02},
                                       {SM_DRAW_LINE, .x = 0.02, .y = 0.01},
                                       {SM_DRAW_LINE, .y = 0.01}};
    const struct sm_draw_path path = {box, 4, true};
    const struct sm_draw_part part = {
        .paths = &path, .n_paths = 1, .fill = SM_FILL_TINT, .colour = 3, .no_outline = true};
    const struct {
        enum sm_draw_side side;
        double a, b;  /* [m] */
        bool outside; /* ink goes beyond the ends */
    } cases[] = {{SM_SIDE_HERE, 0.004, 0.016, false},
                 {SM_SIDE_BELOW, 0.004, 0.016, false},
                 {SM_SIDE_ABOVE, 0.0, 0.02, false},
                 {SM_SIDE_HERE, 0.0099, 0.0101, true}};
    for (size_t i = 0; i < SM_COUNT(cases); i++) {
        const struct sm_draw_dimension d = {
            .side = cases[i].side, .ax = cases[i].a, .ay = 0.005, .bx = cases[i].b, .by = 0.005};
        const struct sm_draw_view view = {.parts = &part, .n_parts = 1, .dimensions = &d, .n_dimensions = 1};
        const struct sm_drawing drawing = {.views = &view, .n_views = 1};
        struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
        struct pixels image = decoded(&png);
        const struct patch whole = find_patch(&image, TINT), ink = find_patch(&image, 0, 114, 178);
        const double scale = (whole.x1 - whole.x0 + 1.0) / 0.02; /* [px/m] */
        cr_assert(ink.n > 20, "%d px of ink", ink.n);
        if (cases[i].outside)
            cr_expect_gt(ink.x1 - ink.x0, (cases[i].b - cases[i].a) * scale + 12.0);
        else
            cr_expect_float_eq(ink.x1 - ink.x0 + 1.0, (cases[i].b - cases[i].a) * scale, 5.0, "case %zu", i);
        free(image.rgb);
        sm_memory_sink_release(&png);
    }
}

/* A text that has room neither on its line nor beside it stays on the page, whatever the page's width. */
Test(drawings, long_texts_stay_on_the_page)
{
    const struct sm_draw_step box[] = {{.op = SM_DRAW_MOVE},
                                       {SM_DRAW_LINE, .x = 0.02},
                                       {SM_DRAW_LINE, .x = 0.02, .y = 0.04},
                                       {SM_DRAW_LINE, .y = 0.04}};
    const struct sm_draw_path path = {box, 4, true};
    const struct sm_draw_part part = {.paths = &path, .n_paths = 1, .fill = SM_FILL_PROPELLANT};
    const struct sm_draw_dimension d = {
        .side = SM_SIDE_BELOW, .bx = 0.02, .text = "a name of some length, 100 mm"};
    const struct sm_draw_view view = {.parts = &part, .n_parts = 1, .dimensions = &d, .n_dimensions = 1};
    for (int width = 820; width <= 960; width += 70) {
        const struct sm_draw_view views[2] = {view, view};
        const struct sm_drawing drawing = {
            .views = views, .n_views = 2, .columns = 2, .width = width, .height = 400};
        struct sm_memory_sink png = written_drawing(&drawing, SM_PLOT_PNG);
        struct pixels image = decoded(&png);
        int n_dark = 0;
        for (int y = 0; y < image.height; y++)
            for (int x = 0; x < image.width; x += x == 2 ? image.width - 5 : 1)
                n_dark += image.rgb[3 * (y * image.width + x)] < 250;
        cr_expect_eq(n_dark, 0, "%d px wide: %d px of ink on the page's edges", width, n_dark);
        free(image.rgb);
        sm_memory_sink_release(&png);
    }
}

/* ---- refusals ---- */

static void expect_refused(const struct sm_drawing *drawing, enum sm_status status, const char *pointer,
                           const char *part)
{
    struct sm_memory_sink sink;
    struct sm_error err = {0};
    sm_memory_sink_init(&sink, NULL);
    cr_expect_eq(sm_drawing_write(drawing, SM_PLOT_SVG, &sink.sink, &err), status, "%s", part);
    cr_expect_str_eq(err.at.path, pointer);
    cr_expect_not_null(strstr(err.message, part), "'%s' lacks '%s'", err.message, part);
    sm_memory_sink_release(&sink);
}

Test(drawings, refusals)
{
    struct sm_draw_step steps[] = {{.op = SM_DRAW_MOVE}, {SM_DRAW_LINE, .x = 0.01}};
    const struct sm_draw_path path = {steps, 2, false};
    struct sm_draw_part part = {.paths = &path, .n_paths = 1};
    struct sm_draw_note note = {.x = 0.005, .text = "note"};
    const struct sm_draw_view view = {.parts = &part, .n_parts = 1, .notes = &note, .n_notes = 1},
                              empty = {0};
    struct sm_drawing drawing = {.views = &view, .n_views = 1};
    struct sm_memory_sink good = written_drawing(&drawing, SM_PLOT_SVG);
    sm_memory_sink_release(&good);

    drawing.n_views = 0;
    expect_refused(&drawing, SM_E_RANGE, "", "0 views");
    drawing.n_views = 1;
    drawing.width = 20;
    expect_refused(&drawing, SM_E_RANGE, "", "20 by 800");
    drawing.width = drawing.height = 170;
    const struct sm_draw_view many[] = {view, view, view, view, view, view,
                                        view, view, view, view, view, view};
    drawing.views = many;
    drawing.n_views = 12;
    expect_refused(&drawing, SM_E_RANGE, "", "too small for 12 views and their texts");
    drawing.n_views = 1;
    drawing.views = &view;
    struct sm_draw_note crowd[40];
    for (size_t i = 0; i < SM_COUNT(crowd); i++)
        crowd[i] = (struct sm_draw_note){.x = 0.005, .text = "one note of very many at one place"};
    const struct sm_draw_view crowded = {
        .parts = &part, .n_parts = 1, .notes = crowd, .n_notes = SM_COUNT(crowd)};
    drawing.views = &crowded;
    expect_refused(&drawing, SM_E_RANGE, "/views/0", "no room for the note 'one note of very many");
    drawing.width = drawing.height = 0;
    drawing.views = &empty;
    expect_refused(&drawing, SM_E_RANGE, "/views/0", "1e-6");
    drawing.views = &view;
    steps[1].x = SM_NAN;
    expect_refused(&drawing, SM_E_RANGE, "/views/0/parts/0/paths/0", "finite");
    steps[1].x = 1e-8;
    note.x = 0.0;
    expect_refused(&drawing, SM_E_RANGE, "/views/0", "1e-6");
    steps[1].x = 0.01;
    steps[0].op = SM_DRAW_LINE;
    expect_refused(&drawing, SM_E_RANGE, "/views/0/parts/0/paths/0", "move");
    steps[0].op = SM_DRAW_MOVE;
    part.fade = 1.5;
    expect_refused(&drawing, SM_E_RANGE, "/views/0/parts/0", "fade 1.5");
    part.fade = 0.0;
    note.x = SM_INF;
    expect_refused(&drawing, SM_E_RANGE, "/views/0/notes/0", "finite");
    note.x = 0.0;
    note.text = "\x80";
    expect_refused(&drawing, SM_E_SYNTAX, "/views/0/notes/0", "UTF-8");
    struct sm_draw_dimension dimension = {.bx = SM_INF};
    const struct sm_draw_view measured = {
        .parts = &part, .n_parts = 1, .dimensions = &dimension, .n_dimensions = 1};
    drawing.views = &measured;
    expect_refused(&drawing, SM_E_RANGE, "/views/0/dimensions/0", "dimension at inf");
    dimension = (struct sm_draw_dimension){.bx = 0.01, .text = "\x80"};
    expect_refused(&drawing, SM_E_SYNTAX, "/views/0/dimensions/0", "UTF-8");
}
