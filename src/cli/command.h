/*
 * A subcommand is one file in cli/commands/ that defines one row, struct sm_command sm_command_<file>.
 *
 * Main finds it; help lists it. Data goes to standard output, all else to standard error.
 */
#ifndef CLI_COMMAND_H
#define CLI_COMMAND_H

#include <stdbool.h>
#include <stddef.h>

#include "slowmatch/slowmatch.h"

enum cli_exit {
    CLI_DONE = 0,
    CLI_FAILED = 1,    /* could not compute, or output failed */
    CLI_BAD_INPUT = 2, /* or usage */
    CLI_WARNED = 3,    /* warnings under --strict */
    CLI_BUG = 70,
    CLI_STOPPED = 130
};

struct cli_option {
    const char *name;  /* without the dashes */
    const char *value; /* what its value is called in help; NULL for a flag */
    const char *help;
};

/* Options that several commands share. A command names those it takes by these bits. */
enum cli_shared {
    CLI_SET = 1u << 0,
    CLI_JSON = 1u << 1,
    CLI_CSV = 1u << 2,
    CLI_PLOT = 1u << 3,
    CLI_UNITS = 1u << 4,
    CLI_STRICT = 1u << 5,
    CLI_RUN = 1u << 6, /* --model, --stations, --accuracy */
    CLI_COUNT = 1u << 7,
    CLI_BURN_END = 1u << 8,
    CLI_RECORD = 1u << 20 /* --stand and what overrides it */
};

enum { CLI_MAX_GIVEN = 256 };

/* A command line taken apart; all strings borrowed from argv. */
struct cli {
    const struct sm_command *command;
    const char *program;
    const char *arguments[CLI_MAX_GIVEN];
    size_t n_arguments;
    struct {
        const struct cli_option *option;
        const char *value;
    } given[CLI_MAX_GIVEN];
    size_t n_given;
    struct sm_override overrides[CLI_MAX_GIVEN];
    char *places[CLI_MAX_GIVEN]; /* of the overrides, owned */
    struct sm_units *units;      /* opened by cli_load_options */
    struct sm_load_options load; /* filled by cli_load_options */
    enum sm_unit_system system;
    bool is_out_of_memory; /* what was refused while preparing is no fault of the user's */
};

struct sm_command {
    const char *name, *summary;
    const char *arguments; /* as in usage: "MOTOR" */
    const char *detail;    /* a paragraph for help; may be NULL */
    const char *example;   /* one command line; may be NULL */
    unsigned shared;       /* enum cli_shared bits */
    const struct cli_option *options;
    size_t n_options;
    size_t min_arguments, max_arguments;
    enum cli_exit (*run)(struct cli *cli);
};

extern const struct sm_command *const sm_command_list[];

/* Fills the table's rows for a command: shared ones first. Returned: how many; at most CLI_MAX_OPTIONS. */
enum { CLI_MAX_OPTIONS = 32 };
size_t cli_options_of(const struct sm_command *command, const struct cli_option **rows);

/* Takes a command's own part of argv apart. False, with the fault said on standard error, for wrong usage. */
bool cli_parse(struct cli *cli, int argc, char **argv);

/* Last value given for an option, NULL if none; was a flag given? */
const char *cli_value(const struct cli *cli, const char *name);
bool cli_flag(const struct cli *cli, const char *name);

/* Opens units and prepares overrides, data folder and the unit system. False, said, on a fault. */
bool cli_load_options(struct cli *cli);
/* Sets the unit system from --units alone, without loading any unit data. False, said, on a fault. */
bool cli_unit_system(struct cli *cli);
/* --burn-end. False, said, on a fault. */
bool cli_burn_end(const struct cli *cli, enum sm_burn_end *end);
/* Fills run options from --model, --accuracy and --burn-end. False, said, on a fault. */
bool cli_run_options(const struct cli *cli, struct sm_run_options *options);
/* Can --csv, --output, --plot and --section be written as they are named: pictures of a kind that is known, each to a file
 * of its own, and none over a file that is read? False, said, if not: before any work is done. */
bool cli_output_names(const struct cli *cli);
/* --count, 1 if not given. False, said, on a fault. */
bool cli_count(const struct cli *cli, int *count);

/* Loads a motor; problems are said. */
enum cli_exit cli_load_motor(const struct cli *cli, const char *path, struct sm_motor **motor);
/* Loads and burns; problems are said. Both NULL on failure. A result may be incomplete, if the user stopped it. */
enum cli_exit cli_burn(struct cli *cli, const char *path, struct sm_motor **motor, struct sm_result **result);

/* Frees what cli_load_options opened. */
void cli_release(struct cli *cli);

/* From the first call on, Ctrl-C is kept in mind instead of ending the program: was there one? What is handed to long
 * work so that it stops. */
void cli_watch_interrupt(void);
bool cli_is_stopped(void);
const struct sm_context *cli_context(void);

/* NULL, said with the nearest name, if there is none. */
const struct sm_command *cli_find_command(const char *name);

void cli_print_help(const struct sm_command *command);
void cli_print_overview(void);
/* Help on what is no command. False, nothing printed, if there is no such topic. */
bool cli_print_topic(const char *name);
void cli_print_topics(void);

#endif
