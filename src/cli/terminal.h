/* What people read: problems, warnings, numbers with units, wrapped text. */
#ifndef CLI_TERMINAL_H
#define CLI_TERMINAL_H

#include <stdio.h>

#include "command.h"

/* "motor.json:3:40: error: unknown unit 'furlong' [/grains/0/bore_diameter]" with the line and a caret. */
void cli_say_error(const struct sm_error *err);
void cli_say_problems(const struct sm_diag *diag);
/* A fault of usage, on one line. */
void cli_say_usage(const struct cli *cli, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

/* Warnings of a result, on standard error, each with what to do. */
void cli_say_warnings(const struct sm_result *result, const char *name);

/* Exit code that goes with a status of reading, or of reckoning. */
enum cli_exit cli_exit_of_input(enum sm_status status);
enum cli_exit cli_exit_of_run(enum sm_status status);

/* Prints text wrapped at width columns, each line after indent blanks. */
void cli_wrap(FILE *out, const char *text, int indent, int width);

/* A number in the unit that people read: "13.5 s", "3.02 MPa", "-" for NaN. buf holds size bytes. */
enum { CLI_NUMBER = 48 };
const char *cli_number(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system);

/* Standard output as a sink, and the end of its use: flushed, with a fault said. */
struct sm_sink cli_stdout(void);
enum cli_exit cli_close_stdout(void);
/* Exit code of a writer that wrote to cli_stdout. */
enum cli_exit cli_end_output(enum sm_status status, const struct sm_error *err);

/* Runs a writer into a named file, replaced only when complete. A fault is said. */
typedef enum sm_status cli_writer(void *user, struct sm_sink *sink, struct sm_error *err);
enum cli_exit cli_write_file(const char *path, cli_writer *writer, void *user);

#endif
