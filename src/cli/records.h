/* Records of firings, as commands read them: --stand and the options that override it. */
#ifndef CLI_RECORDS_H
#define CLI_RECORDS_H

#include "command.h"

struct cli_records {
    struct sm_stand_owner *owners[SM_MAX_MOTORS];
    struct sm_stand stand;                    /* of the last record */
    struct sm_firing *firings[SM_MAX_MOTORS]; /* n of them */
    size_t n;
};

/* The records from argument `first` on, reduced by their stands: --stand, once for all or once for each, and the options that
 * override it. Needs cli_load_options. Faults are said, notes too. */
enum cli_exit cli_read_records(const struct cli *cli, size_t first, struct cli_records *records);
void cli_free_records(struct cli_records *records);

/* The sentences that whatever comes from records ends with. */
void cli_print_measured(void);

/* Notes of a firing, on standard error. Returned: how many. */
size_t cli_say_notes(const struct sm_firing *firing);

#endif
