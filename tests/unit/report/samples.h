/* Invented curves, plots and drawings for the tests of the report room, and ways of looking at what is written. */
#ifndef TESTS_REPORT_SAMPLES_H
#define TESTS_REPORT_SAMPLES_H

#include "base/sink.h"
#include "report/axes.h"
#include "report/drawing.h"

/* One of each kind of thing: filled on the first call, which is not safe among threads. */
enum { N_SAMPLE_PLOTS = 8, N_SAMPLE_DRAWINGS = 4 };
struct sample_plot {
    const char *name;
    struct sm_plot plot;
};
struct sample_drawing {
    const char *name;
    struct sm_drawing drawing;
};
const struct sample_plot *sample_plots(void);
const struct sample_drawing *sample_drawings(void);

/* Written into memory; the test fails if that does. Release with sm_memory_sink_release. */
struct sm_memory_sink written_plot(const struct sm_plot *plot, enum sm_plot_kind kind);
struct sm_memory_sink written_drawing(const struct sm_drawing *drawing, enum sm_plot_kind kind);

/* A PNG file as cairo's reader sees it. */
struct pixels {
    int width, height;  /* [px] */
    unsigned char *rgb; /* 3 bytes a px, row by row; free with free */
};
struct pixels decoded(const struct sm_memory_sink *png);
/* Is the px of that colour, to a few parts in 255? */
bool is_colour(const struct pixels *image, int x, int y, int r, int g, int b);

/* Skips the test if the program is not installed. */
void need_program(const char *name);
/* Puts the bytes into a file of that ending in a folder of its own, and returns its path; discard removes both. */
char *kept_file(const struct sm_memory_sink *bytes, const char *ending);
void discard(char *path);
/* Exit code of a shell command. */
int run(const char *format, ...) SM_PRINTF(1, 2);

#endif
