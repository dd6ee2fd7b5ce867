/* Numbers to and from text, always with a decimal point: the only room that may know of locales. */
#ifndef SM_BASE_TEXT_H
#define SM_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/fail.h"

enum { SM_DOUBLE_TEXT = 40 }; /* room for any double written by sm_text_double */

/* As vsnprintf and snprintf under the C locale. */
int sm_text_vformat(char *buf, size_t size, const char *fmt, va_list args) SM_PRINTF(3, 0);
int sm_text_format(char *buf, size_t size, const char *fmt, ...) SM_PRINTF(3, 4);

/* Writes the shortest decimal that reads back to the same double into buf[SM_DOUBLE_TEXT]; returns buf.
 * Not for NaN or infinity, which come out as "nan" and "inf". */
const char *sm_text_double(char buf[SM_DOUBLE_TEXT], double value);

/* The same as people read it: so many digits, but from 1000 up to 1e7 whole and without an exponent; never "-0". */
const char *sm_text_figure(char buf[SM_DOUBLE_TEXT], double value, int digits);

/* Reads a decimal number at text[0..n): optional sign, digits, point, exponent; no hexadecimal, no "inf" or
 * "nan". Returned: the number of bytes used, 0 if there is no number. *value may come out infinite (1e999).
 */
size_t sm_text_parse_double(const char *text, size_t n, double *value);

/* Calls work(user) with the calling thread's locale set to "C", for libraries that read the current one. */
void sm_text_in_c_locale(void (*work)(void *user), void *user);

/* Is text[0..n) well-formed UTF-8 without NUL? *bad is then not touched, else the offset of the fault. */
bool sm_text_is_utf8(const char *text, size_t n, size_t *bad);

#endif
