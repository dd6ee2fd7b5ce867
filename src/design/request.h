/* A request as data: what a slowmatch-request/1 file says, SI. */
#ifndef SM_DESIGN_REQUEST_H
#define SM_DESIGN_REQUEST_H

#include "base/fail.h"
#include "design/measure.h"
#include "num/optim.h"

enum { SM_MAX_TIED = 8, SM_MAX_THRUST_POINTS = 256 };

/* A value that follows a free one: factor times it plus this. */
struct sm_tied {
    const char *of;
    double factor; /* [1] */
    double plus;   /* [unit of its value] */
};

/* A value of the motor that is free within bounds. */
struct sm_free_value {
    const char *of; /* pointer into the motor as loaded */
    enum sm_dim dim;
    int is_whole;
    double from, to; /* [SI unit of dim] */
    struct sm_tied tied[SM_MAX_TIED];
    size_t n_tied;
};

struct sm_limit {
    double least, most; /* absent: no limit [SI unit of the figure] */
};

struct sm_wish {
    double value;  /* absent: none [SI unit of the figure] */
    int aim;       /* place in sm_wish_aims; -1: none */
    double weight; /* [1] */
};
extern const char *const sm_wish_aims[]; /* "least", "greatest", NULL */

/* A point of a band or of a curve of thrust; straight lines between. */
struct sm_thrust_limit {
    double time;        /* after ignition [s] */
    double least, most; /* absent: none [N] */
};
struct sm_thrust_wish {
    double time;   /* after ignition [s] */
    double thrust; /* [N] */
};

struct sm_request_limits {
    struct sm_limit of[SM_N_MEASURES];
    const char *impulse_class; /* at most this; NULL: none */
    struct sm_list thrust;     /* of struct sm_thrust_limit, by rising time */
};

struct sm_request_wishes {
    struct sm_wish of[SM_N_MEASURES];
    const char *under_class; /* total impulse just under the end of this class; NULL: none */
    double class_reserve;    /* share of that limit that stays free [1] */
    bool neutral;            /* neutrality 1 */
    struct sm_list thrust;   /* of struct sm_thrust_wish, by rising time */
};

enum { SM_ACCEPT_BURST_MARGIN = 1u << 0 };

struct sm_request_spec {
    const char *name;
    const char *motor;   /* path */
    double release_time; /* absent: at the top of the ignition rise [s] */
    unsigned accept;     /* SM_ACCEPT_ bits or SM_CHOICES_ABSENT */
    struct sm_request_wishes wanted;
    struct sm_request_limits limits;
    struct sm_free_value *free; /* n_free of them */
    size_t n_free;
};
extern const struct sm_param sm_request_params[];
extern const size_t sm_n_request_params;

/* Upper end of an impulse class by its letter [N s]; absent if there is no such class. */
double sm_class_limit(const char *letter);

/*
 * What rows can't see: something is wanted or limited, no least above its most, times that rise, classes that exist.
 * Status: SM_E_FIELD or SM_E_RANGE with the pointer.
 */
enum sm_status sm_request_check(const struct sm_request_spec *spec, struct sm_error *err) SM_MUST_CHECK;

#endif
