/* The named file: reading it whole, and putting a text back with what was there kept. */
#ifndef WEB_KEEP_H
#define WEB_KEEP_H

#include "bench.h"

/* The file's bytes into the reply as they stand. */
enum sm_status web_keep_read(const char *path, struct web_reply *out, struct sm_error *err) SM_MUST_CHECK;
/* Puts text[0..n) in the file's place; what was there goes to the same name with ~ behind it first. */
enum sm_status web_keep_write(const char *path, const char *text, size_t n,
                              struct sm_error *err) SM_MUST_CHECK;

#endif
