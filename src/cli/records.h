/* Records of firings, as commands read them: --stand and the options that override it. */
#ifndef CLI_RECORDS_H
#define CLI_RECORDS_H

#include "command.h"

struct cli_records {
    struct sm_stand_owner *owner;
    struct sm_stand stand;
    struct sm_firing *firings[SM_MAX_MOTORS]; /* n of them */
    size_t n;
};

/* The stand, from --stand and the rest. Needs cli_load_options. A fault is said. */
enum cli_exit cli_read_stand(const struct cli *cli, struct cli_records *records);
/* The stand, and the records from argument `first` on, reduced. Faults are said, notes too. */
enum cli_exit cli_read_records(const struct cli *cli, size_t first, struct cli_records *records);
void cli_free_records(struct cli_records *records);

/* Notes of a firing, on standard error. Returned: how many. */
size_t cli_say_notes(const struct sm_firing *firing);

#endif
