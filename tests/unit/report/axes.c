/* Whole plots: well formed to readers that are not ours, in their place, the same bytes each time, and good errors. */
#include <criterion/criterion.h>
#include <errno.h>
#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "../base/comma_locale.h"
#include "samples.h"

static const enum sm_plot_kind kinds[] = {SM_PLOT_SVG, SM_PLOT_PNG, SM_PLOT_PDF};
static const int sizes[][2] = {{0, 0}, {1920, 1080}, {640, 480}, {480, 360}};

/* ---- well formed ---- */

Test(plots, svg_is_well_formed)
{
    need_program("xmllint");
    for (int i = 0; i < N_SAMPLE_PLOTS; i++) {
        struct sm_memory_sink svg = written_plot(&sample_plots()[i].plot, SM_PLOT_SVG);
        char *path = kept_file(&svg, ".svg");
        cr_expect_eq(run("xmllint --nonet --noout %s", path), 0, "%s", sample_plots()[i].name);
        /* SVG 1.1: the outermost element and its size in px, the unit of CSS. */
        cr_expect_not_null(strstr(svg.bytes, "<svg xmlns=\"http://www.w3.org/2000/svg\""));
        cr_expect_not_null(strstr(svg.bytes, "width=\"1200px\""));
        discard(path);
        sm_memory_sink_release(&svg);
    }
}

/* ISO/IEC 15948 (PNG) 5.2: the signature; cairo's reader, which is libpng's, decodes and checks the sums. */
Test(plots, png_reads_back)
{
    static const char signature[] = "\x89PNG\r\n\x1a\n";
    for (int i = 0; i < N_SAMPLE_PLOTS; i++) {
        struct sm_plot plot = sample_plots()[i].plot;
        plot.width = 640;
        plot.height = 520;
        struct sm_memory_sink png = written_plot(&plot, SM_PLOT_PNG);
        cr_assert_gt(png.n, 8);
        cr_expect_eq(memcmp(png.bytes, signature, 8), 0);
        struct pixels image = decoded(&png);
        cr_expect(image.width == 640 && image.height == 520);
        cr_expect(is_colour(&image, 0, 0, 255, 255, 255), "white ground");
        free(image.rgb);
        sm_memory_sink_release(&png);
    }
}

Test(plots, pdf_is_read_by_poppler)
{
    need_program("pdftoppm");
    for (int i = 0; i < N_SAMPLE_PLOTS; i++) {
        struct sm_memory_sink pdf = written_plot(&sample_plots()[i].plot, SM_PLOT_PDF);
        char *path = kept_file(&pdf, ".pdf");
        /* Poppler tells of damage on standard error though it may go on. */
        cr_expect_eq(run("test -z \"$(pdftoppm -r 30 -png %s 2>&1 >/dev/null)\"", path), 0, "%s",
                     sample_plots()[i].name);
        /* 1200 px of 1/96 inch are 900 points of 1/72. */
        cr_expect_eq(run("pdfinfo %s | grep -q 'Page size: *900 x '", path), 0, "%s", sample_plots()[i].name);
        discard(path);
        sm_memory_sink_release(&pdf);
    }
}

/* ---- nothing overlaps, nothing is cut: the boxes of words as poppler finds them ---- */

struct word {
    double x0, y0, x1, y1; /* [pt] */
    char text[64];
};

static size_t read_words(const char *path, struct word *words, size_t room, double *width, double *height)
{
    char command[256], line[1024];
    snprintf(command, sizeof command, "pdftotext -bbox %s - 2>&1", path);
    FILE *pipe = popen(command, "r");
    cr_assert_not_null(pipe);
    size_t n = 0;
    while (fgets(line, sizeof line, pipe)) {
        struct word w;
        if (sscanf(line, " <page width=\"%lf\" height=\"%lf\"", width, height) == 2)
            continue;
        if (sscanf(line, " <word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%63[^<]", &w.x0, &w.y0,
                   &w.x1, &w.y1, w.text) != 5)
            continue;
        cr_assert_lt(n, room);
        words[n++] = w;
    }
    pclose(pipe);
    return n;
}

/* Poppler's boxes reach from the face's ascent to its descent (1.16 of the letters' size together), a little more than
 * the 1.25 lines apart leave between letters without them; so a quarter is taken off above and an eighth below. */
static bool overlap(const struct word *a, const struct word *b)
{
    const double ha = a->y1 - a->y0, hb = b->y1 - b->y0;
    return a->x0 < b->x1 && b->x0 < a->x1 && a->y0 + 0.25 * ha < b->y1 - 0.125 * hb &&
           b->y0 + 0.25 * hb < a->y1 - 0.125 * ha;
}

static void expect_clear_words(const struct sm_plot *plot, const char *name)
{
    static struct word words[1000];
    double width = 0.0, height = 0.0;
    struct sm_memory_sink pdf = written_plot(plot, SM_PLOT_PDF);
    char *path = kept_file(&pdf, ".pdf");
    const size_t n = read_words(path, words, SM_COUNT(words), &width, &height);
    cr_expect_geq(n, 10, "%s: %zu words", name, n);
    for (size_t i = 0; i < n; i++) {
        cr_expect(words[i].x0 >= 0.0 && words[i].y0 >= 0.0 && words[i].x1 <= width && words[i].y1 <= height,
                  "%s at %d px: '%s' is cut", name, plot->width, words[i].text);
        for (size_t k = 0; k < i; k++)
            cr_expect_not(overlap(&words[i], &words[k]), "%s at %d px: '%s' over '%s'", name, plot->width,
                          words[i].text, words[k].text);
    }
    discard(path);
    sm_memory_sink_release(&pdf);
}

Test(plots, words_neither_overlap_nor_are_cut)
{
    need_program("pdftotext");
    for (int i = 0; i < N_SAMPLE_PLOTS; i++)
        for (size_t k = 0; k < SM_COUNT(sizes); k++) {
            struct sm_plot plot = sample_plots()[i].plot;
            plot.width = sizes[k][0];
            plot.height = sizes[k][1];
            expect_clear_words(&plot, sample_plots()[i].name);
        }
}

static bool has_word(const struct word *words, size_t n, const char *text)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(words[i].text, text) == 0)
            return true;
    return false;
}

/* The words of every label are on the page, beside the curve or in the key. */
Test(plots, labels_are_all_there)
{
    need_program("pdftotext");
    static struct word words[1000];
    static const char *const wanted[][5] = {
        {"ignition", "burn", "average", "thrust", "(N)"},
        {"end", "cored", "time", "(s)", "14"},
        {"nominal,", "hot,", "cold,", "nine", "limit"},
        {"tube", "star,", "distance", "(mm)", "burning"},
        {"nothing", "data", "(°C)", "pressure", "time"},
        {"invented", "12", "7", "time", "thrust"},
        {"load", "cell,", "100", "000", "kHz"},
        {"law", "strands", "reference", "second", "separation"},
    };
    for (int i = 0; i < N_SAMPLE_PLOTS; i++) {
        double width, height;
        struct sm_memory_sink pdf = written_plot(&sample_plots()[i].plot, SM_PLOT_PDF);
        char *path = kept_file(&pdf, ".pdf");
        const size_t n = read_words(path, words, SM_COUNT(words), &width, &height);
        for (size_t k = 0; k < 5; k++)
            cr_expect(has_word(words, n, wanted[i][k]), "%s lacks '%s'", sample_plots()[i].name,
                      wanted[i][k]);
        discard(path);
        sm_memory_sink_release(&pdf);
    }
}

/* A key's rows break where they were measured to break, whatever the lengths of its texts: none is lost in between.
 * Common practice, no source. */
Test(plots, keys_lose_no_text)
{
    enum { CURVES = 9, SHORT = 4, LONG = 44 };
    need_program("pdftotext");
    static struct word words[1000];
    static const double x[] = {0.0, 1.0}, y[] = {1.0, 1.0};
    for (int length = SHORT; length <= LONG; length++) {
        struct sm_plot_series series[CURVES];
        char labels[CURVES][LONG + 2];
        for (int i = 0; i < CURVES; i++) {
            memset(labels[i], 'n', (size_t)length);
            labels[i][length] = (char)('1' + i);
            labels[i][length + 1] = '\0';
            series[i] = (struct sm_plot_series){.x = x, .y = y, .n = 2, .label = labels[i]};
        }
        const struct sm_plot_panel panel = {
            .x = {.label = "x (1)"}, .y = {.label = "y (1)"}, .series = series, .n_series = CURVES};
        const struct sm_plot plot = {.title = "Many names", .panels = &panel, .n_panels = 1};
        double width, height;
        struct sm_memory_sink pdf = written_plot(&plot, SM_PLOT_PDF);
        char *path = kept_file(&pdf, ".pdf");
        const size_t n = read_words(path, words, SM_COUNT(words), &width, &height);
        for (int i = 0; i < CURVES; i++)
            cr_expect(has_word(words, n, labels[i]), "texts of %d letters: '%s' is lost", length + 1,
                      labels[i]);
        discard(path);
        sm_memory_sink_release(&pdf);
    }
}

/* ---- in its place ---- */

/* Where a line of that colour crosses column x [px], the middle of its px; -1 if it does not. */
static double crossing(const struct pixels *image, int x, int r, int g, int b)
{
    double sum = 0.0;
    int n = 0;
    for (int y = 0; y < image->height; y++)
        if (is_colour(image, x, y, r, g, b)) {
            sum += y + 0.5;
            n++;
        }
    return n > 0 ? sum / n : -1.0;
}

/* y = x from (0, 0) to (10, 10) in blue, and a rule at y = 8 in vermillion, on axes from -1 to 11. */
static const double ramp[] = {0.0, 10.0};
static const struct sm_plot_series ramp_series = {.x = ramp, .y = ramp, .n = 2, .colour = 1};
static const struct sm_plot_rule ramp_rule = {.at = 8.0, .colour = 2};
static const struct sm_plot_panel ramp_panel = {.x = {.label = "x (1)", .min = -1.0, .max = 11.0},
                                                .y = {.label = "y (1)", .min = -1.0, .max = 11.0},
                                                .series = &ramp_series,
                                                .n_series = 1,
                                                .rules = &ramp_rule,
                                                .n_rules = 1};
static const struct sm_plot ramp_plot = {.title = "Straight", .panels = &ramp_panel, .n_panels = 1};

/* The straight line through the blue px between their first and last column: y = at_zero + slope x [px]. */
struct straight {
    int first, last;       /* columns [px] */
    double slope, at_zero; /* [1], [px] */
};

static struct straight find_ramp(const struct pixels *image)
{
    struct straight s = {-1, -1, 0.0, 0.0};
    for (int x = 0; x < image->width; x++)
        if (crossing(image, x, 0, 114, 178) >= 0.0) {
            s.first = s.first < 0 ? x : s.first;
            s.last = x;
        }
    cr_assert(s.first > 0 && s.last > s.first + 500);
    const double y0 = crossing(image, s.first, 0, 114, 178), y1 = crossing(image, s.last, 0, 114, 178);
    s.slope = (y1 - y0) / (s.last - s.first);
    s.at_zero = y0 - s.slope * (s.first + 0.5);
    return s;
}

/* The curve is straight, the rule meets it at 8 tenths of its width, and the frame lies a tenth of it outside its
 * start: so curve, rules and frame share one scale. Tolerances: px are whole and edges blended. */
Test(plots, curves_lie_where_rules_and_frame_say)
{
    struct sm_memory_sink png = written_plot(&ramp_plot, SM_PLOT_PNG);
    struct pixels image = decoded(&png);
    const struct straight s = find_ramp(&image);
    const double unit = (s.last - s.first) / 10.0; /* px of one unit in x */
    for (int x = s.first; x <= s.last; x++) {
        const double y = crossing(&image, x, 0, 114, 178), rule = crossing(&image, x, 213, 94, 0);
        if (y >= 0.0 && fabs(y - rule) > 5.0)
            cr_assert_float_eq(y, s.at_zero + s.slope * (x + 0.5), 1.5, "column %d", x);
    }
    const double rule = crossing(&image, s.last + 20, 213, 94, 0);
    cr_expect_float_eq((rule - s.at_zero) / s.slope, s.first + 8.0 * unit, 2.0);
    /* The foot of the frame: the lowest dark px in a column without ticks or curve (zero has a line too). */
    const int beside = s.first - (int)(0.5 * unit);
    int foot = image.height - 1;
    while (foot > 0 && !is_colour(&image, beside, foot, 51, 51, 51))
        foot--;
    cr_expect_float_eq((foot - s.at_zero) / s.slope, s.first - unit, 2.5);
    free(image.rgb);
    sm_memory_sink_release(&png);
}

/* The numbers at the axes, as poppler finds them in the PDF, stand at the values they tell. */
Test(plots, numbers_stand_where_their_values_are)
{
    need_program("pdftotext");
    static struct word words[200];
    struct sm_memory_sink png = written_plot(&ramp_plot, SM_PLOT_PNG),
                          pdf = written_plot(&ramp_plot, SM_PLOT_PDF);
    struct pixels image = decoded(&png);
    const struct straight s = find_ramp(&image);
    char *path = kept_file(&pdf, ".pdf");
    double width, height;
    const size_t n = read_words(path, words, SM_COUNT(words), &width, &height);
    int n_x = 0, n_y = 0;
    for (size_t i = 0; i < n; i++) {
        char *end;
        const double value = strtod(words[i].text, &end);
        if (*end)
            continue;
        const double x = 0.5 * (words[i].x0 + words[i].x1) / 0.75,
                     y = 0.5 * (words[i].y0 + words[i].y1) / 0.75;
        const double at = s.first + value * (s.last - s.first) / 10.0; /* px of the value in x */
        if (y > 0.85 * image.height) {
            cr_expect_float_eq(x, at, 2.0, "x axis: %s at %g px, not %g", words[i].text, x, at);
            n_x++;
        } else {
            const double level = s.at_zero + s.slope * at;
            cr_expect_float_eq(y, level, 2.5, "y axis: %s at %g px, not %g", words[i].text, y, level);
            n_y++;
        }
    }
    cr_expect(n_x >= 5 && n_y >= 5, "%d and %d numbers", n_x, n_y);
    discard(path);
    free(image.rgb);
    sm_memory_sink_release(&png);
    sm_memory_sink_release(&pdf);
}

/* Outside a given range nothing is drawn, and a curve that leaves and returns goes over the edge at the right place. */
Test(plots, given_ranges_cut_curves)
{
    static const double x[] = {-1e9, 0.0, 5.0, 10.0, 1e9}, y[] = {-1e9, 0.0, 1e12, 0.0, -1e9};
    const struct sm_plot_series line = {.x = x, .y = y, .n = 5, .colour = 1};
    const struct sm_plot_panel panel = {.x = {.label = "x (1)", .min = 2.0, .max = 8.0},
                                        .y = {.label = "y (1)", .min = 0.0, .max = 1.0},
                                        .series = &line,
                                        .n_series = 1};
    const struct sm_plot plot = {.title = "Cut", .panels = &panel, .n_panels = 1};
    struct sm_memory_sink png = written_plot(&plot, SM_PLOT_PNG);
    struct pixels image = decoded(&png);
    for (int px = 0; px < image.width; px++)
        cr_assert_lt(crossing(&image, px, 0, 114, 178), 0.0, "the curve is far above this range");
    free(image.rgb);
    sm_memory_sink_release(&png);
}

/* ---- the same each time ---- */

Test(plots, same_bytes_in_another_second)
{
    static struct sm_memory_sink before[N_SAMPLE_PLOTS][SM_COUNT(kinds)];
    const time_t start = time(NULL);
    for (int i = 0; i < N_SAMPLE_PLOTS; i++)
        for (size_t k = 0; k < SM_COUNT(kinds); k++)
            before[i][k] = written_plot(&sample_plots()[i].plot, kinds[k]);
    while (time(NULL) < start + 2)
        nanosleep(&(struct timespec){0, 50000000}, NULL);
    for (int i = 0; i < N_SAMPLE_PLOTS; i++)
        for (size_t k = 0; k < SM_COUNT(kinds); k++) {
            struct sm_memory_sink again = written_plot(&sample_plots()[i].plot, kinds[k]);
            cr_expect(again.n == before[i][k].n && memcmp(again.bytes, before[i][k].bytes, again.n) == 0,
                      "%s as %s", sample_plots()[i].name, sm_plot_kind_name(kinds[k]));
            sm_memory_sink_release(&again);
            sm_memory_sink_release(&before[i][k]);
        }
}

Test(plots, same_bytes_under_a_comma_locale)
{
    struct sm_memory_sink before[SM_COUNT(kinds)];
    for (size_t k = 0; k < SM_COUNT(kinds); k++)
        before[k] = written_plot(&sample_plots()[0].plot, kinds[k]);
    enter_comma_locale();
    for (size_t k = 0; k < SM_COUNT(kinds); k++) {
        struct sm_memory_sink again = written_plot(&sample_plots()[0].plot, kinds[k]);
        cr_expect(again.n == before[k].n && memcmp(again.bytes, before[k].bytes, again.n) == 0, "%s",
                  sm_plot_kind_name(kinds[k]));
        sm_memory_sink_release(&again);
        sm_memory_sink_release(&before[k]);
    }
}

struct job {
    const struct sm_plot *plot;
    enum sm_plot_kind kind;
    struct sm_memory_sink sink;
    enum sm_status status;
};

static void *work(void *user)
{
    struct job *job = user;
    sm_memory_sink_init(&job->sink, NULL);
    job->status = sm_plot_write(job->plot, job->kind, &job->sink.sink, NULL);
    return NULL;
}

Test(plots, same_bytes_in_threads)
{
    struct job jobs[6];
    pthread_t threads[SM_COUNT(jobs)];
    for (size_t i = 0; i < SM_COUNT(jobs); i++) {
        jobs[i] = (struct job){.plot = &sample_plots()[i % 2].plot, .kind = kinds[i / 2]};
        cr_assert_eq(pthread_create(&threads[i], NULL, work, &jobs[i]), 0);
    }
    for (size_t i = 0; i < SM_COUNT(jobs); i++) {
        pthread_join(threads[i], NULL);
        cr_assert_eq(jobs[i].status, SM_OK);
        struct sm_memory_sink alone = written_plot(jobs[i].plot, jobs[i].kind);
        cr_expect(alone.n == jobs[i].sink.n && memcmp(alone.bytes, jobs[i].sink.bytes, alone.n) == 0,
                  "job %zu", i);
        sm_memory_sink_release(&alone);
        sm_memory_sink_release(&jobs[i].sink);
    }
}

/* 100 000 samples of noise come out no larger than the columns need: 4 points of some 20 bytes each for 1100 columns,
 * and letters. */
Test(plots, long_records_stay_small)
{
    struct sm_memory_sink svg = written_plot(&sample_plots()[6].plot, SM_PLOT_SVG);
    cr_expect_leq(svg.n, 180000, "%zu bytes", svg.n);
    sm_memory_sink_release(&svg);
}

/* ---- odd input ---- */

Test(plots, odd_data_are_drawn)
{
    static const double x[] = {0.0, 1.0, SM_NAN, 2.0, 3.0, SM_INF, 4.0},
                        y[] = {1.0, SM_NAN, 2.0, 1e308, 0.0, 1.0, -1e-310};
    const struct sm_plot_series series[] = {
        {.x = x, .y = y, .n = 7, .label = "gaps"},
        {.label = "empty"},
        {.x = x, .y = y, .n = 1, .label = "one"},
        {.x = x, .y = x, .n = 7, .label = "discs", .stroke = SM_STROKE_DISCS}};
    const struct sm_plot_band band = {.x = x, .y_low = y, .y_high = x, .n = 7, .label = "band"};
    const struct sm_plot_rule rules[] = {{.at = SM_NAN, .text = "nowhere"}, {.at = SM_INF, .vertical = true}};
    const struct sm_plot_marker markers[] = {{.x = SM_NAN, .y = 1.0, .text = "nowhere"},
                                             {.x = 2.0, .y = 1.0}};
    const struct sm_plot_span spans[] = {{.x0 = SM_NAN, .x1 = 1.0, .text = "nowhere"},
                                         {.x0 = 2.0, .x1 = 1.0}};
    const struct sm_plot_panel panels[] = {{.series = series,
                                            .n_series = 4,
                                            .bands = &band,
                                            .n_bands = 1,
                                            .rules = rules,
                                            .n_rules = 2,
                                            .markers = markers,
                                            .n_markers = 2,
                                            .spans = spans,
                                            .n_spans = 2},
                                           {.series = series, .n_series = 0},
                                           {.x = {.min = 1e-280, .max = 3e-280},
                                            .y = {.min = -1e300, .max = 1e300},
                                            .series = series,
                                            .n_series = 4}};
    for (int separate = 0; separate < 2; separate++) {
        const struct sm_plot plot = {.panels = panels, .n_panels = 3, .separate_x = separate};
        for (size_t k = 0; k < SM_COUNT(kinds); k++) {
            struct sm_memory_sink sink = written_plot(&plot, kinds[k]);
            cr_expect_gt(sink.n, 500);
            sm_memory_sink_release(&sink);
        }
    }
}

Test(plots, control_characters_in_texts_do_no_harm)
{
    struct sm_plot plot = sample_plots()[0].plot;
    plot.title = "two\nlines\tand \x01 more <&>\"' \x7f";
    struct sm_memory_sink svg = written_plot(&plot, SM_PLOT_SVG), pdf = written_plot(&plot, SM_PLOT_PDF);
    need_program("xmllint");
    char *path = kept_file(&svg, ".svg");
    cr_expect_eq(run("xmllint --nonet --noout %s", path), 0);
    discard(path);
    sm_memory_sink_release(&svg);
    sm_memory_sink_release(&pdf);
}

static void expect_refused(const struct sm_plot *plot, enum sm_status status, const char *pointer,
                           const char *part)
{
    for (size_t k = 0; k < SM_COUNT(kinds); k++) {
        struct sm_memory_sink sink;
        struct sm_error err = {0};
        sm_memory_sink_init(&sink, NULL);
        cr_expect_eq(sm_plot_write(plot, kinds[k], &sink.sink, &err), status, "%s", part);
        cr_expect_str_eq(err.at.path, pointer);
        cr_expect_not_null(strstr(err.message, part), "'%s' lacks '%s'", err.message, part);
        sm_memory_sink_release(&sink);
    }
}

Test(plots, refusals)
{
    const struct sm_plot good = sample_plots()[1].plot;
    const struct sm_plot_panel panel = good.panels[0];
    struct sm_plot plot = good;
    plot.n_panels = 0;
    expect_refused(&plot, SM_E_RANGE, "", "0 panels");
    plot.n_panels = SM_PLOT_MAX_PANELS + 1;
    expect_refused(&plot, SM_E_RANGE, "", "11 panels");
    plot = good;
    plot.width = 100;
    expect_refused(&plot, SM_E_RANGE, "", "100 by 800");
    plot.width = 100000;
    expect_refused(&plot, SM_E_RANGE, "", "100000 by 800");
    plot.width = -1;
    expect_refused(&plot, SM_E_RANGE, "", "-1 by 800");
    plot.width = 160;
    plot.height = 160;
    expect_refused(&plot, SM_E_RANGE, "", "too small");
    plot.height = 800;
    struct sm_plot_panel wide = panel;
    wide.y.min = -9.8765e-200; /* numbers of many digits */
    wide.y.max = -9.6e-200;
    plot.panels = &wide;
    plot.title = plot.subtitle = plot.note = NULL;
    expect_refused(&plot, SM_E_RANGE, "", "too narrow for the numbers at its axis");
    plot = good;
    plot.title = "\xff";
    expect_refused(&plot, SM_E_SYNTAX, "", "UTF-8");

    struct sm_plot_panel bad = panel;
    plot = good;
    plot.panels = &bad;
    bad.y.min = 2.0;
    bad.y.max = 1.0;
    expect_refused(&plot, SM_E_RANGE, "/panels/0/y", "from 2 to 1");
    bad = panel;
    bad.x.max = SM_NAN;
    expect_refused(&plot, SM_E_RANGE, "/panels/0/x", "finite");
    bad = panel;
    bad.x.min = 1e6;
    bad.x.max = nextafter(1e6, 2e6);
    expect_refused(&plot, SM_E_RANGE, "/panels/0/x", "grow");
    bad = panel;
    bad.weight = -1.0;
    expect_refused(&plot, SM_E_RANGE, "/panels/0", "weight");
    struct sm_plot_series series[2] = {panel.series[0], panel.series[1]};
    bad = panel;
    bad.series = series;
    series[1].colour = -3;
    expect_refused(&plot, SM_E_RANGE, "/panels/0/series/1", "colour -3");
    series[1] = panel.series[1];
    series[1].width = SM_NAN;
    expect_refused(&plot, SM_E_RANGE, "/panels/0/series/1", "width");
    series[1].width = 0.0;
    series[1].label = "\xc3";
    expect_refused(&plot, SM_E_SYNTAX, "/panels/0/series/1", "UTF-8");
}

/* ---- faults from outside ---- */

struct stubborn {
    size_t left; /* calls that are taken before it refuses */
    int code;
    size_t calls_after;
    bool has_refused;
};

static int refuse(void *user, const char *bytes, size_t n)
{
    struct stubborn *s = user;
    (void)bytes;
    (void)n;
    s->calls_after += s->has_refused;
    if (s->left-- > 0)
        return 0;
    s->left = 0;
    s->has_refused = true;
    return s->code;
}

Test(plots, a_sink_that_refuses)
{
    for (size_t k = 0; k < SM_COUNT(kinds); k++) {
        size_t n = 0;
        for (;; n += 1 + n / 4) {
            struct stubborn s = {.left = n, .code = n % 2 ? ENOSPC : ENOMEM};
            struct sm_sink sink = {refuse, &s};
            struct sm_error err = {0};
            const enum sm_status status = sm_plot_write(&sample_plots()[1].plot, kinds[k], &sink, &err);
            if (!s.has_refused) {
                cr_expect_eq(status, SM_OK);
                break;
            }
            cr_assert_eq(status, n % 2 ? SM_E_IO : SM_E_NOMEM, "%s, call %zu: %s",
                         sm_plot_kind_name(kinds[k]), n, err.message);
            cr_expect_eq(s.calls_after, 0, "it is not asked again");
        }
        cr_expect_gt(n, 0, "%s", sm_plot_kind_name(kinds[k]));
    }
}

struct miser {
    long left; /* requests granted before it refuses */
    long out;  /* blocks not yet given back */
};

static void *grant(void *user, size_t bytes)
{
    struct miser *m = user;
    if (m->left-- <= 0)
        return NULL;
    m->out++;
    return malloc(bytes);
}

static void take_back(void *user, void *memory)
{
    struct miser *m = user;
    m->out--;
    free(memory);
}

Test(plots, memory_that_runs_out)
{
    long n = 0;
    for (;; n += 1 + n / 3) {
        struct miser miser = {n, 0};
        const struct sm_allocator allocator = {grant, take_back, &miser};
        struct sm_plot plot = sample_plots()[2].plot;
        plot.allocator = &allocator;
        struct sm_memory_sink sink;
        struct sm_error err = {0};
        sm_memory_sink_init(&sink, NULL);
        const enum sm_status status = sm_plot_write(&plot, SM_PLOT_PNG, &sink.sink, &err);
        sm_memory_sink_release(&sink);
        cr_assert_eq(miser.out, 0, "%ld blocks are not given back", miser.out);
        if (status == SM_OK)
            break;
        cr_assert_eq(status, SM_E_NOMEM, "request %ld: %s", n, err.message);
    }
    cr_expect_gt(n, 2);
}
