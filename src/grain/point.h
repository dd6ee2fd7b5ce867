/* Points of a plane, which serve as vectors too. */
#ifndef SM_GRAIN_POINT_H
#define SM_GRAIN_POINT_H

struct sm_point {
    double x, y; /* [m] */
};

static inline double sm_point_dot(struct sm_point a, struct sm_point b)
{
    return a.x * b.x + a.y * b.y;
}

/* Above nothing if b lies anticlockwise of a. */
static inline double sm_point_cross(struct sm_point a, struct sm_point b)
{
    return a.x * b.y - a.y * b.x;
}

static inline struct sm_point sm_point_minus(struct sm_point a, struct sm_point b)
{
    return (struct sm_point){a.x - b.x, a.y - b.y};
}

/* From a by t times u. */
static inline struct sm_point sm_point_along(struct sm_point a, double t, struct sm_point u)
{
    return (struct sm_point){a.x + t * u.x, a.y + t * u.y};
}

#endif
