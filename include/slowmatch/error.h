/*
 * Status codes, located errors and lists of problems.
 *
 * Every call that can fail returns an enum sm_status and takes, last, a struct sm_error that the caller owns
 * (NULL if the caller does not want to know why). On success the error is not touched.
 */
#ifndef SLOWMATCH_ERROR_H
#define SLOWMATCH_ERROR_H

#include <stddef.h>

#if defined(__GNUC__)
#define SM_API        __attribute__((visibility("default")))
#define SM_MUST_CHECK __attribute__((warn_unused_result))
#else
#define SM_API
#define SM_MUST_CHECK
#endif

#ifdef __cplusplus
extern "C" {
#endif

#define SM_STATUS_LIST(ROW)                                                                                  \
    ROW(SM_OK, "success")                                                                                    \
    ROW(SM_E_NOMEM, "out of memory")                                                                         \
    ROW(SM_E_IO, "input or output failed")                                                                   \
    ROW(SM_E_SYNTAX, "input is not well formed")                                                             \
    ROW(SM_E_FIELD, "unknown, missing or duplicate field")                                                   \
    ROW(SM_E_UNIT, "unknown unit or wrong dimension")                                                        \
    ROW(SM_E_RANGE, "value outside the model's valid range")                                                 \
    ROW(SM_E_GEOMETRY, "geometry is inconsistent")                                                           \
    ROW(SM_E_PHYSICS, "the model has no answer for this motor")                                              \
    ROW(SM_E_NUMERIC, "a numerical method did not converge")                                                 \
    ROW(SM_E_CANCELLED, "stopped on request")                                                                \
    ROW(SM_E_INTERNAL, "bug in this library")

#define SM_STATUS_ENUM(code, text) code,
enum sm_status { SM_STATUS_LIST(SM_STATUS_ENUM) SM_STATUS_COUNT };
#undef SM_STATUS_ENUM

/* A place in the user's input; empty strings and zeros where unknown. */
struct sm_loc {
    char file[4096];       /* path as the user gave it, or a name such as "--set" */
    char path[256];        /* JSON pointer (RFC 6901), e.g. /grains/0/bore_diameter; cut visibly if longer */
    unsigned line, column; /* 1-based; column counts bytes */
};

struct sm_error {
    enum sm_status status;
    struct sm_loc at;
    char message[256]; /* one line: what is wrong and what would be right */
    char excerpt[128]; /* the offending source line, cut round the column */
    unsigned caret;    /* 1-based column of the caret within the excerpt, 0 for none */
};

/* Up to SM_DIAG_MAX problems found in one reading, so that a file can be mended in one go. */
enum { SM_DIAG_MAX = 20 };
struct sm_diag {
    struct sm_error *items; /* SM_DIAG_MAX of them, owned by the diag */
    size_t n;               /* kept */
    size_t n_found;         /* met, kept or not */
};

/* Returned: one plain phrase for a status; never NULL. */
SM_API const char *sm_status_text(enum sm_status status);

/* The nearest of a NULL-terminated list of names to one that is not among them, NULL if none is near. */
SM_API const char *sm_nearest_name(const char *name, const char *const *names);

/* A diag starts as all zeros; the first problem allocates its list (silently dropped if memory is out,
 * n_found still counts). Release is safe on an empty or released one. */
SM_API void sm_diag_add(struct sm_diag *diag, const struct sm_error *problem);
SM_API void sm_diag_release(struct sm_diag *diag);

#ifdef __cplusplus
}
#endif
#endif
