/* Making and placing errors. */
#ifndef SM_BASE_FAIL_H
#define SM_BASE_FAIL_H

#include "slowmatch/error.h"

#define SM_PRINTF(fmt, args) __attribute__((format(printf, fmt, args)))

/* Fills err (if not NULL) with status and message and returns status, so that the place that finds a fault is
 * one line. Numbers are written with a decimal point whatever the locale. */
enum sm_status sm_fail(struct sm_error *err, enum sm_status status, const char *fmt, ...) SM_PRINTF(3, 4);

/* Puts a piece such as "/grains/%zu" in front of err's pointer, for a caller that knows one more step of the
 * way. Returns status unchanged. */
enum sm_status sm_at(struct sm_error *err, enum sm_status status, const char *fmt, ...) SM_PRINTF(3, 4);

/* Puts a phrase in front of err's message, as "reading the curve: ...". Returns status unchanged. */
enum sm_status sm_while(struct sm_error *err, enum sm_status status, const char *fmt, ...) SM_PRINTF(3, 4);

/* For callers with nothing to add. */
#define SM_TRY(call)                                                                                         \
    do {                                                                                                     \
        const enum sm_status sm_try_status = (call);                                                         \
        if (sm_try_status != SM_OK)                                                                          \
            return sm_try_status;                                                                            \
    } while (0)

#define SM_COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* NAN is a float in C17; these are doubles. SM_ABSENT marks a value that was not given. */
#define SM_NAN    ((double)__builtin_nan(""))
#define SM_INF    ((double)__builtin_inf())
#define SM_ABSENT SM_NAN

#endif
