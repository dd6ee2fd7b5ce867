/* What libFuzzer calls. SM_FUZZ_TARGET names the target. */
#include "fuzz.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerInitialize(int *argc, char ***argv);
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n);

static const struct fuzz_target *chosen;

int LLVMFuzzerInitialize(int *argc, char ***argv)
{
    (void)argc, (void)argv;
    const char *name = getenv("SM_FUZZ_TARGET");
    for (size_t i = 0; name && fuzz_target_list[i]; i++)
        if (strcmp(fuzz_target_list[i]->name, name) == 0)
            chosen = fuzz_target_list[i];
    if (chosen)
        return 0;
    fputs("SM_FUZZ_TARGET must be one of:", stderr);
    for (size_t i = 0; fuzz_target_list[i]; i++)
        fprintf(stderr, " %s", fuzz_target_list[i]->name);
    fputs("\n", stderr);
    exit(2);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n)
{
    fuzz_run_one(chosen, bytes, n);
    return 0;
}
