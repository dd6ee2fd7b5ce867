/* Ctrl-C: the first one asks the work to stop where it can, and keeps what was done; a second one kills. */
#include "command.h"

#include <signal.h>
#include <stddef.h>

static volatile sig_atomic_t is_asked; /* the one thing that a signal's handler may set */

static void ask(int number)
{
    (void)number;
    is_asked = 1;
}

void cli_watch_interrupt(void)
{
    struct sigaction before, action = {.sa_handler = ask, .sa_flags = (int)SA_RESETHAND};
    sigemptyset(&action.sa_mask);
    /* Who started it in the background, or under nohup, does not want it stopped. */
    if (sigaction(SIGINT, NULL, &before) == 0 && before.sa_handler != SIG_IGN)
        sigaction(SIGINT, &action, NULL);
}

bool cli_is_stopped(void)
{
    return is_asked != 0;
}

static int step(void *user, double fraction)
{
    (void)user;
    (void)fraction;
    return is_asked;
}

const struct sm_context *cli_context(void)
{
    static const struct sm_context context = {.progress = {.step = step}};
    return &context;
}
