/* One grain with its fire front by time, as SVG for pages: to scale, with a bar. */
#ifndef SM_APP_PAGE_FRONT_H
#define SM_APP_PAGE_FRONT_H

#include "app/page_shell.h"
#include "app/sketch.h"
#include "doc/json_write.h"

enum { SM_PAGE_MAX_LEVELS = 61 };

struct sm_page_front {
    const struct sm_grain_entry *entry;
    struct sm_arena *arena;
    enum sm_unit_system system;
    struct sm_sketch sketch;
    size_t n;                     /* levels, the last one burned through */
    double w[SM_PAGE_MAX_LEVELS]; /* distance burned [m] */
    double t[SM_PAGE_MAX_LEVELS]; /* equal steps of time [s] */
    double x, y, width, height;   /* of the drawing, y downwards [mm] */
    double room_x, room_y;        /* of the picture about the drawing's middle [mm] */
    bool is_shared;               /* at one scale with another */
    bool is_headed;               /* its name stands over it, so its caption goes without */
    double bar;                   /* [mm] */
};

/* Entry i of a motor's grains at n equal steps of time. All in the arena. */
enum sm_status sm_page_front_make(struct sm_page_front *front, const struct sm_motor *motor,
                                  const struct sm_result *result, size_t i, size_t n,
                                  enum sm_unit_system system, struct sm_arena *arena,
                                  struct sm_error *err) SM_MUST_CHECK;
/* Gives two pictures one scale, so that an audience may compare them by eye; unless the smaller would then be too small
 * to see its front move. */
void sm_page_front_share(struct sm_page_front *a, struct sm_page_front *b);
/* The picture, at the start; its paths have the classes "left" and "front". */
enum sm_status sm_page_front_put(const struct sm_page_front *front, const char *name, struct sm_html *html,
                                 struct sm_error *err) SM_MUST_CHECK;
/* An array of {"text", "left", "front"}, one a level, as the value of the key "levels". */
enum sm_status sm_page_front_put_levels(const struct sm_page_front *front, struct sm_json_writer *w,
                                        struct sm_error *err) SM_MUST_CHECK;

#endif
