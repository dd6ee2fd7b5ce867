/*
 * A test: sections burned by the trimmer and by GEOS's buffers must agree to within GEOS's own polygon error, which shows
 * as the difference between 64 and 256 straight pieces to a quarter circle. Random sharp outlines, seed printed with every
 * failure. Their sides are straight: GEOS smooths a side of many small pieces by up to a hundredth of the distance before it
 * offsets it.
 */
#include <math.h>
#include <stdio.h>

#include "draw.h"
#include "geometry_geos.h"

enum { OUTLINES = 60, LEVELS = 9, MOST_CORNERS = 11 };

/* A port round the axis with corners at rising angles, as many of them pointing inwards as outwards. */
static void draw_port(struct sm_section *section, uint64_t *state)
{
    const int n = 3 + (int)draw_uniform(state, 0.0, MOST_CORNERS - 2);
    double x0 = 0.0, y0 = 0.0;
    for (int i = 0; i < n; i++) {
        const double angle = 2.0 * M_PI * (i + draw_uniform(state, 0.1, 0.9)) / n,
                     r = draw_uniform(state, 0.15, 0.7);
        const double x = r * cos(angle), y = r * sin(angle);
        if (i == 0) {
            sm_contour_start(&section->contour, x, y);
            x0 = x;
            y0 = y;
        } else {
            sm_contour_line(&section->contour, x, y);
        }
    }
    sm_contour_line(&section->contour, x0, y0);
}

static int compare(const struct sm_section *section, const struct sm_burning_section *ours, uint64_t seed)
{
    int n_bad = 0;
    struct geos_section *coarse = geos_section_new(section, 64), *fine = geos_section_new(section, 256);
    for (int k = 0; k < LEVELS; k++) {
        const double w = ours->stages.web * (k + 0.37) / LEVELS;
        double area, perimeter, area64, perimeter64, area256, perimeter256;
        sm_section_table(ours, &w, 1, &area, &perimeter);
        geos_section_burn(coarse, w, &area64, &perimeter64);
        geos_section_burn(fine, w, &area256, &perimeter256);
        /* A polygon's error falls with the square of the number of its pieces, or with the number where a front is about to
         * touch the wall: the fine one's is a third of the difference at most, or hidden by chance where the coarse one's
         * changes sign. So all of it is allowed, and 1e-5 of the circle and of its circumference. */
        const double d_area = fabs(area64 - area256) + 1e-5 * M_PI;
        const double d_perimeter = fabs(perimeter64 - perimeter256) + 2e-5 * M_PI;
        if (fabs(area - area256) <= d_area && fabs(perimeter - perimeter256) <= d_perimeter)
            continue;
        fprintf(stderr,
                "seed %llu, w %.6f: area %.9f, GEOS %.9f and %.9f; perimeter %.9f, GEOS %.9f and %.9f\n",
                (unsigned long long)seed, w, area, area64, area256, perimeter, perimeter64, perimeter256);
        n_bad++;
    }
    geos_section_free(coarse);
    geos_section_free(fine);
    return n_bad;
}

int main(void)
{
    int n_bad = 0, n_done = 0;
    for (uint64_t seed = 1; n_done < OUTLINES; seed++) {
        struct sm_arena arena;
        sm_arena_init(&arena, NULL);
        uint64_t state = seed;
        struct sm_section section = {.radius = 1.0};
        sm_contour_init(&section.contour, &arena);
        draw_port(&section, &state);
        struct sm_burning_section ours;
        if (sm_section_burn(&arena, &section, &ours, NULL) == SM_OK) { /* some bulges cross each other */
            n_bad += compare(&section, &ours, seed);
            n_done++;
        }
        sm_arena_release(&arena);
    }
    printf("%d outlines at %d levels, %d disagree\n", n_done, LEVELS, n_bad);
    return n_bad == 0 ? 0 : 1;
}
