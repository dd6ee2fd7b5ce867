/* "tolerances", a list that motors, propellants and bought motors' curves may have. */
#ifndef SM_INPUT_READ_TOLERANCES_H
#define SM_INPUT_READ_TOLERANCES_H

#include "doc/json_write.h"
#include "input/read_params.h"
#include "motor/tolerance.h"

/* The number that a pointer leads to, relative to who owns the list, and its row; as sm_motor_value. */
typedef enum sm_status sm_tolerance_look(const void *owner, const char *pointer, double *value,
                                         const struct sm_param **row, struct sm_error *err);

/*
 * Reads the list of an object that has one; there is none if it has not.
 *
 * Given:
 *   object, pointer  the object, and where it stands
 *   prefix           what stands before a pointer of the list to make it one into the motor: "", "/propellant", "/curve"
 *   look, owner      who knows the values; they must have been read
 * Returned: list, of struct sm_tolerance, in the reader's arena. Problems go to the reader's list.
 */
enum sm_status sm_read_tolerances(struct sm_reader *reader, const struct sm_json *object, const char *pointer,
                                  const char *prefix, sm_tolerance_look *look, const void *owner,
                                  struct sm_list *list) SM_MUST_CHECK;

/* Schema of the list, as write of a property. */
void sm_schema_tolerances(struct sm_json_writer *w, const void *user);

#endif
