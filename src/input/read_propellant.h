/* Propellant files, slowmatch-propellant/1. */
#ifndef SM_INPUT_READ_PROPELLANT_H
#define SM_INPUT_READ_PROPELLANT_H

#include "input/read_params.h"
#include "propellant/propellant.h"

#define SM_PROPELLANT_FORMAT "slowmatch-propellant/1"

/* Reads a propellant object that stands at pointer and checks it. Problems go to the reader's list. */
enum sm_status sm_read_propellant(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  struct sm_propellant *propellant) SM_MUST_CHECK;

enum { SM_FORMAT_HINT = 80 };
/* Where a file of the format given is read, as "; 'slowmatch size' reads requests"; empty for one unknown, or of the kind
 * wanted. */
void sm_format_reader(const char *given, const char *wanted, char hint[SM_FORMAT_HINT]);

/* Reads "format" and sees that it is the one wanted; a missing one is a problem too. */
enum sm_status sm_read_format(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                              const char *wanted) SM_MUST_CHECK;

#endif
