/* What people read: problems, warnings, numbers with units, wrapped text. */
#ifndef CLI_TERMINAL_H
#define CLI_TERMINAL_H

#include <stdio.h>

#include "command.h"

/* "motor.json:3:40: error: unknown unit 'furlong' [/grains/0/bore_diameter]" with the line and a caret. */
void cli_say_error(const struct sm_error *err);
void cli_say_problems(const struct sm_diag *diag);
/* Says that memory is out. */
enum cli_exit cli_no_memory(void);
/* A fault of usage, on one line. */
void cli_say_usage(const struct cli *cli, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

/* "there is no shape 'stra'; did you mean 'star'?"; near may be NULL. */
void cli_say_unknown(const struct cli *cli, const char *what, const char *name, const char *near);

/* Warnings of a result, or one of them, on standard error, each with what to do. */
void cli_say_warning(const struct sm_warning_found *warning, const char *name);
void cli_say_warnings(const struct sm_result *result, const char *name);

/* Exit code that goes with a status of reading, or of reckoning. */
enum cli_exit cli_exit_of_input(enum sm_status status);
enum cli_exit cli_exit_of_run(enum sm_status status);

/* Text wrapped at CLI_WIDTH columns: the first line behind `indent` blanks, the others behind `hang`. */
enum { CLI_WIDTH = 80 };
void cli_wrap(FILE *out, const char *text, int indent, int hang);
/* A label, then a text in a column of its own; on the next line if the label reaches into it. On standard output. */
void cli_entry(const char *label, const char *text, int indent, int column);

/* What files may hold: a line or more for each row, those of lists and records under theirs. */
void cli_print_parameters(const struct sm_param *rows, size_t n, int indent, enum sm_unit_system system);

enum { CLI_NUMBER = 48 };
/* A number as people write it, in the unit they read: "38 mm", "3.02 MPa", "-" for NaN. */
const char *cli_number(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system);
/* A figure that was reckoned, to four digits whatever they are, so that columns of them line up: "88.00 mm". */
const char *cli_measure(char buf[CLI_NUMBER], double si, enum sm_dim dim, enum sm_unit_system system);
/* The same of gas and vehicles [m/s], which are faster than burning surfaces. */
const char *cli_velocity(char buf[CLI_NUMBER], double si, enum sm_unit_system system);
/* The mass of a vehicle: kilograms from one on, and pounds, to four digits. */
const char *cli_vehicle_mass(char buf[CLI_NUMBER], double si, enum sm_unit_system system);
/* Heights are not the lengths of motors: metres or feet, and below a millimetre just that; "-" for none. */
const char *cli_height(char buf[CLI_NUMBER], double si, enum sm_unit_system system);

/* Standard output as a sink, and the end of its use: flushed, with a fault said. */
struct sm_sink cli_stdout(void);
enum cli_exit cli_close_stdout(void);
/* Exit code of a writer that wrote to cli_stdout. */
enum cli_exit cli_end_output(enum sm_status status, const struct sm_error *err);

/* Runs a writer into a named file, replaced only when complete. A fault is said. */
typedef enum sm_status cli_writer(void *user, struct sm_sink *sink, struct sm_error *err);
enum cli_exit cli_write_file(const char *path, cli_writer *writer, void *user);

#endif
