/*
 * A spread over many processes: each rank burns a shard, and the first puts them together and shows them, to the same bits as
 * one process. A program of its own, so that the command needs no MPI.
 *
 *     mpirun -n 8 slowmatch-ranks MOTOR [options of slowmatch spread]
 */
#include <mpi.h>
#include <stdlib.h>
#include <string.h>

#include "spreading.h"
#include "terminal.h"

/* A shard on its way. */
struct bytes {
    char *at;
    size_t n, capacity;
};

static int take(void *user, const char *bytes, size_t n)
{
    struct bytes *b = user;
    if (b->n + n > b->capacity) {
        const size_t capacity = 2 * (b->n + n);
        char *wider = realloc(b->at, capacity);
        if (!wider)
            return 1;
        b->at = wider;
        b->capacity = capacity;
    }
    memcpy(b->at + b->n, bytes, n);
    b->n += n;
    return 0;
}

/* MPI counts in int, so a long message goes in pieces. */
enum { PIECE = 1 << 28 };

static void send(const struct bytes *b)
{
    const unsigned long long n = b->n;
    MPI_Send(&n, 1, MPI_UNSIGNED_LONG_LONG, 0, 0, MPI_COMM_WORLD);
    for (size_t at = 0; at < b->n; at += PIECE)
        MPI_Send(b->at + at, (int)(b->n - at < PIECE ? b->n - at : PIECE), MPI_BYTE, 0, 1, MPI_COMM_WORLD);
}

/* False if memory is out. */
static bool receive(int from, struct bytes *b)
{
    unsigned long long n;
    MPI_Recv(&n, 1, MPI_UNSIGNED_LONG_LONG, from, 0, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
    b->n = (size_t)n;
    b->at = malloc(b->n);
    for (size_t at = 0; b->at && at < b->n; at += PIECE)
        MPI_Recv(b->at + at, (int)(b->n - at < PIECE ? b->n - at : PIECE), MPI_BYTE, from, 1, MPI_COMM_WORLD,
                 MPI_STATUS_IGNORE);
    return b->at != NULL;
}

/* Gathers all shards, merges and shows them; the first rank's part. */
static enum cli_exit show(const struct cli *cli, struct bytes *own, int size)
{
    struct bytes *shards = calloc((size_t)size, sizeof *shards);
    struct sm_spread_part *parts = calloc((size_t)size, sizeof *parts);
    struct sm_spread *merged = NULL;
    struct sm_error err = {0};
    bool is_whole = shards && parts;
    for (int i = 0; i < size && is_whole; i++) {
        if (i > 0)
            is_whole = receive(i, &shards[i]);
        const struct bytes *b = i > 0 ? &shards[i] : own;
        parts[i] = (struct sm_spread_part){b->at, b->n, "a rank's shard"};
    }
    enum cli_exit code = CLI_FAILED;
    if (!is_whole) {
        fputs("slowmatch-ranks: error: out of memory\n", stderr);
        MPI_Abort(MPI_COMM_WORLD, CLI_FAILED);
    } else if (sm_spread_merge(parts, (size_t)size, &merged, &err) == SM_OK)
        code = cli_spread_show(cli, merged);
    else {
        cli_say_error(&err);
        code = cli_exit_of_run(err.status);
    }
    sm_spread_free(merged);
    for (int i = 1; i < size && shards; i++)
        free(shards[i].at);
    free(shards);
    free(parts);
    return code;
}

/* The worst of all ranks' codes, the same on all. */
static enum cli_exit agree(enum cli_exit code)
{
    int own = (int)code, worst = 0;
    MPI_Allreduce(&own, &worst, 1, MPI_INT, MPI_MAX, MPI_COMM_WORLD);
    return (enum cli_exit)worst;
}

static bool options_of(struct cli *cli, int rank, int size, struct sm_spread_options *options)
{
    if (!cli_load_options(cli) || !cli_output_names(cli) || !cli_spread_options(cli, options))
        return false;
    if (options->of > 0 || options->sensitivity) {
        cli_say_usage(cli, "the ranks are the shards: neither --shard nor --sensitivity with them");
        return false;
    }
    if ((size_t)size > options->n) {
        cli_say_usage(cli, "there are more ranks than samples");
        return false;
    }
    options->shard = (size_t)rank + 1;
    options->of = (size_t)size;
    if (options->threads == 0)
        options->threads = 1; /* the ranks share the machine */
    return true;
}

static enum cli_exit run(struct cli *cli, int rank, int size)
{
    struct sm_spread_options options;
    struct sm_spread *shard = NULL;
    struct bytes bytes = {0};
    struct sm_sink sink = {take, &bytes};
    enum cli_exit code = options_of(cli, rank, size, &options) ? CLI_DONE : CLI_BAD_INPUT;
    if (code == CLI_DONE)
        code = cli_spread_run(cli, &options, rank > 0, &shard);
    if (code == CLI_DONE && sm_spread_pack(shard, &sink, NULL) != SM_OK)
        code = CLI_FAILED;
    sm_spread_free(shard);
    code = agree(code);
    if (code == CLI_DONE && rank > 0)
        send(&bytes);
    else if (code == CLI_DONE)
        code = show(cli, &bytes, size);
    free(bytes.at);
    return code;
}

int main(int argc, char **argv)
{
    int rank, size;
    enum cli_exit code = CLI_BAD_INPUT;
    MPI_Init(&argc, &argv);
    MPI_Comm_rank(MPI_COMM_WORLD, &rank);
    MPI_Comm_size(MPI_COMM_WORLD, &size);
    struct cli *cli = calloc(1, sizeof *cli);
    if (cli) {
        /* Faults of usage are said once. */
        if (rank > 0 && !freopen("/dev/null", "w", stderr))
            MPI_Abort(MPI_COMM_WORLD, CLI_FAILED);
        cli->program = "/proc/self/exe";
        cli->command = cli_find_command("spread");
        if (!cli_parse(cli, argc - 1, argv + 1))
            code = CLI_BAD_INPUT;
        else if (!cli_flag(cli, "help"))
            code = run(cli, rank, size);
        else {
            if (rank == 0)
                cli_print_help(cli->command);
            code = CLI_DONE;
        }
        cli_release(cli);
        free(cli);
    }
    const enum cli_exit closed = cli_close_stdout();
    MPI_Finalize();
    return (int)(code == CLI_DONE ? closed : code);
}
