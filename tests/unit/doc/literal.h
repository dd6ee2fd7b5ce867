/* Texts of test cases with their lengths, for some hold a NUL. */
#ifndef SM_TEST_LITERAL_H
#define SM_TEST_LITERAL_H

#include <stddef.h>

struct text {
    const char *bytes;
    size_t n;
};
#define TEXT(literal)                                                                                        \
    {                                                                                                        \
        literal, sizeof(literal) - 1                                                                         \
    }

#endif
