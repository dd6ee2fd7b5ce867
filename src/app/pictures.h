/* What the calls that draw share. */
#ifndef SM_APP_PICTURES_H
#define SM_APP_PICTURES_H

#include "base/arena.h"
#include "report/picture.h"
#include "slowmatch/plot.h"

/* The public kind of picture as the report room calls it. */
enum sm_plot_kind sm_picture_plot_kind(enum sm_picture_kind kind);

/* All that every output about flights says, as one note. NULL if memory is out. */
const char *sm_picture_cautions(struct sm_arena *arena);

#endif
