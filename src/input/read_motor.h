/* Motor files, slowmatch-motor/1. */
#ifndef SM_INPUT_READ_MOTOR_H
#define SM_INPUT_READ_MOTOR_H

#include "input/read_params.h"
#include "motor/motor.h"

#define SM_MOTOR_FORMAT "slowmatch-motor/1"

/*
 * Reads a motor from a document that already has its propellant in place of the propellant's name.
 *
 * Given: folder, that of the motor file, in which a curve's CSV file is sought ("" for the current one).
 * Returned: spec, whose texts and lists live in the reader's arena. Problems go to the reader's list.
 */
enum sm_status sm_read_motor(struct sm_reader *reader, const struct sm_json_doc *doc, const char *folder,
                             struct sm_motor_spec *spec) SM_MUST_CHECK;

#endif
