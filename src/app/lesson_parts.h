/* The lesson's leaves, each in a function: the inside of lesson_page.c. */
#ifndef SM_APP_LESSON_PARTS_H
#define SM_APP_LESSON_PARTS_H

#include "app/page_shell.h"
#include "base/arena.h"
#include "doc/json_write.h"
#include "motor/motor.h"

/* A burned motor, owned if it is the lesson's own. */
struct sm_burned {
    struct sm_motor *motor;
    struct sm_result *result;
};

struct sm_lesson {
    struct sm_html html;
    struct sm_arena arena;
    struct sm_units *units;
    const struct sm_motor *motors[2]; /* of the race */
    const struct sm_result *results[2];
    struct sm_burned own[2];
    bool is_own;
    enum sm_unit_system system;
    const struct sm_context *context;
    struct sm_error *err;
};

/* The lesson's motors as data. All its values are those of the examples, and invented. */
struct sm_lesson_design {
    const char *name;
    bool cored;
    double length;      /* of an end burner of that mass [m] */
    double bore;        /* of a cored one [m] */
    double exponent;    /* of the burning-rate law [1] */
    double throat;      /* diameter [m] */
    double temperature; /* of the grain; 0: 21 degC [K] */
};
#define SM_LESSON_DIAMETER 0.029 /* of its grains [m] */

/* Loads and burns one; to be released with sm_lesson_release. */
enum sm_status sm_lesson_burn(struct sm_lesson *lesson, const struct sm_lesson_design *design,
                              bool with_warnings, struct sm_burned *burned) SM_MUST_CHECK;
/* The same from the text of a motor file. */
enum sm_status sm_lesson_burn_text(struct sm_lesson *lesson, const char *text, enum sm_model model,
                                   bool with_warnings, struct sm_burned *burned) SM_MUST_CHECK;
void sm_lesson_release(struct sm_burned *burned);

/* Opens and closes a leaf. */
void sm_lesson_leaf(struct sm_lesson *lesson, const char *id, const char *name);
void sm_lesson_leaf_end(struct sm_lesson *lesson);
/* Opens and closes a leaf's data. */
void sm_lesson_data(struct sm_lesson *lesson, const char *id, struct sm_json_writer *w);
enum sm_status sm_lesson_data_end(struct sm_lesson *lesson, struct sm_json_writer *w) SM_MUST_CHECK;
/* A curve as {"label", "colour", "x", "y"}: n points at most, even in time, as digits. */
void sm_lesson_put_curve(struct sm_lesson *lesson, struct sm_json_writer *w, const char *label, int colour,
                         const struct sm_result *result, const double *values, enum sm_dim dim, size_t n);
/* An empty place for a plot. */
void sm_lesson_put_place(struct sm_lesson *lesson, const char *id, const char *name);
/* A member of text made like printf's, to 1023 bytes. */
void sm_lesson_member(struct sm_json_writer *w, const char *key, const char *fmt, ...) SM_PRINTF(3, 4);
/* "12.81 N" in a new piece of the arena; "" if memory is out. */
const char *sm_lesson_show(struct sm_lesson *lesson, double si, enum sm_dim dim);

enum sm_status sm_lesson_put_race(struct sm_lesson *lesson) SM_MUST_CHECK;
enum sm_status sm_lesson_put_cases(struct sm_lesson *lesson) SM_MUST_CHECK;
enum sm_status sm_lesson_put_border(struct sm_lesson *lesson) SM_MUST_CHECK;
enum sm_status sm_lesson_put_heat(struct sm_lesson *lesson) SM_MUST_CHECK;
enum sm_status sm_lesson_put_erosion(struct sm_lesson *lesson) SM_MUST_CHECK;
void sm_lesson_put_questions(struct sm_lesson *lesson);

#endif
