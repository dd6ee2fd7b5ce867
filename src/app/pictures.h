/* What the calls that draw share. */
#ifndef SM_APP_PICTURES_H
#define SM_APP_PICTURES_H

#include "report/picture.h"
#include "slowmatch/plot.h"

/* The public kind of picture as the report room calls it. */
enum sm_plot_kind sm_picture_plot_kind(enum sm_picture_kind kind);

#endif
