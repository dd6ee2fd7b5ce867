# Writes a C file with the bytes of FILE as const array NAME, and their number as NAME_size:
#     cmake -DFILE=... -DNAME=... -DOUT=... -P SmEmbed.cmake
file(READ ${FILE} hex HEX)
string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
file(WRITE ${OUT} "/* Generated from ${NAME}. */
#include <stddef.h>
extern const unsigned char ${NAME}[];
extern const size_t ${NAME}_size;
const unsigned char ${NAME}[] = {
${bytes}
};
const size_t ${NAME}_size = sizeof ${NAME};
")
