/* Drawings of grains, whoever asks. */
#ifndef SM_APP_DRAWINGS_H
#define SM_APP_DRAWINGS_H

#include "motor/motor.h"
#include "slowmatch/grain.h"

struct sm_draw_texts {
    const char *subtitle;
    bool has_dimensions; /* first each grain before it burns, with its lengths and angles */
};

/* As sm_draw_grains, under a subtitle of the caller's. Of the motor only name, entries and their geometry are used. */
enum sm_status sm_draw_entries(const struct sm_motor *motor, const struct sm_result *result,
                               const struct sm_draw_texts *texts, enum sm_picture_kind kind,
                               struct sm_sink *sink, struct sm_error *err) SM_MUST_CHECK;

#endif
