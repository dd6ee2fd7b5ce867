/* What the shape "outline" is drawn by: its parameter block, which a file may fill. */
#ifndef SM_GRAIN_OUTLINE_H
#define SM_GRAIN_OUTLINE_H

#include "slowmatch/param.h"

struct sm_outline_point {
    double x, y;       /* [m] */
    double arc_radius; /* [m] */
    double fillet;     /* [m] */
};

struct sm_outline_loop {
    struct sm_list points; /* of struct sm_outline_point */
    bool open;
};

/* A shape that is_drawn has this block; whoever reads it puts the file's loops in place of none. */
struct sm_outline {
    struct sm_list loops; /* of struct sm_outline_loop */
    int sectors;
    const char *file;      /* NULL: loops are given */
    double file_unit;      /* length of one unit of the file [m]; absent without a file */
    double file_tolerance; /* how far arcs may lie from the curves that they replace [m] */
};

#endif
