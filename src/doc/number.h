/* Decimal numbers in bulk. */
#ifndef SM_DOC_NUMBER_H
#define SM_DOC_NUMBER_H

#include <stddef.h>

/*
 * As sm_text_parse_double (base/text.h), to the same bits, but several times quicker for numbers of up to 15
 * digits.
 *
 * Given: text[n]; point, the decimal sign ('.' or ',').
 * Returned: the bytes used, 0 if there is no number at text; *value, which may be infinite.
 * Reference: Clinger, "How to read floating point numbers accurately", PLDI 1990: a whole number below 2^53
 * times or over a power of ten up to 10^22 rounds once.
 */
size_t sm_number_parse(const char *text, size_t n, char point, double *value);

#endif
