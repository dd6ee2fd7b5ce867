/* The licence of what users generate: theirs to use as they like. */
#ifndef SM_EXPORT_LICENCE_H
#define SM_EXPORT_LICENCE_H

/* Zero-Clause BSD, as plain lines. */
#define SM_LICENCE_0BSD                                                                                      \
    "Permission to use, copy, modify, and/or distribute this software for any purpose with or without\n"     \
    "fee is hereby granted.\n"                                                                               \
    "\n"                                                                                                     \
    "THE SOFTWARE IS PROVIDED \"AS IS\" AND THE AUTHOR DISCLAIMS ALL WARRANTIES WITH REGARD TO THIS "        \
    "SOFTWARE\n"                                                                                             \
    "INCLUDING ALL IMPLIED WARRANTIES OF MERCHANTABILITY AND FITNESS. IN NO EVENT SHALL THE AUTHOR BE "      \
    "LIABLE\n"                                                                                               \
    "FOR ANY SPECIAL, DIRECT, INDIRECT, OR CONSEQUENTIAL DAMAGES OR ANY DAMAGES WHATSOEVER RESULTING FROM\n" \
    "LOSS OF USE, DATA OR PROFITS, WHETHER IN AN ACTION OF CONTRACT, NEGLIGENCE OR OTHER TORTIOUS ACTION,\n" \
    "ARISING OUT OF OR IN CONNECTION WITH THE USE OR PERFORMANCE OF THIS SOFTWARE.\n"

#endif
