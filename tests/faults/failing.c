/*
 * Loaded before the program (LD_PRELOAD), so that what it asks of the system fails. SM_FAULT says what:
 *
 *     malloc:N        the N-th request for memory answers "none"; SM_FAULT_COUNT, a file, gets how many there were
 *     malloc+:N       that one and all behind it
 *     error:CALL:N    the N-th fsync, rename or fopen fails
 *     kill:CALL:N     the process is killed just before the N-th fsync, rename or unlink
 *     clock           the clock jumps a day back and an hour on with every look at it
 *     locale          the program starts under the locale that LC_ALL names
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <locale.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

extern void *__libc_malloc(size_t n);
extern void *__libc_calloc(size_t n, size_t size);
extern void *__libc_realloc(void *old, size_t n);

static atomic_long n_asked, fail_at;
static int fails_on, jumps;
static char call[16], what;
static long call_at, n_calls;

static void __attribute__((constructor)) begin(void)
{
    const char *fault = getenv("SM_FAULT");
    char way[16] = "";
    if (!fault)
        return;
    if (strcmp(fault, "clock") == 0)
        jumps = 1;
    else if (strcmp(fault, "locale") == 0)
        what = setlocale(LC_ALL, "") ? 'l' : 0;
    else if (sscanf(fault, "%15[a-z]:%15[a-z]:%ld", way, call, &call_at) == 3)
        what = way[0];
    else {
        fails_on = fault[6] == '+';
        atomic_store(&fail_at, strtol(fault + 7 + fails_on, NULL, 10));
    }
    atomic_store(&n_asked, 0);
}

static void __attribute__((destructor)) end(void)
{
    const char *path = getenv("SM_FAULT_COUNT");
    const long n = atomic_load(&n_asked);
    atomic_store(&fail_at, 0);
    FILE *file = path ? fopen(path, "w") : NULL;
    if (file) {
        fprintf(file, "%ld\n", n);
        fclose(file);
    }
}

static atomic_int n_spared;

static int is_refused(void)
{
    if (atomic_load(&n_spared) > 0)
        return 0;
    const long n = atomic_fetch_add(&n_asked, 1) + 1, at = atomic_load(&fail_at);
    const int is = at > 0 && (fails_on ? n >= at : n == at);
    if (is)
        errno = ENOMEM;
    return is;
}

void *malloc(size_t n)
{
    return is_refused() ? NULL : __libc_malloc(n);
}

void *calloc(size_t n, size_t size)
{
    return is_refused() ? NULL : __libc_calloc(n, size);
}

void *realloc(void *old, size_t n)
{
    return is_refused() ? NULL : __libc_realloc(old, n);
}

/* UDUNITS-2 ends the process, or reads what it did not get, when memory is out while it reads its data or a unit: it is
 * spared that. */
void *ut_read_xml(const char *path);
void *ut_parse(const void *system, const char *text, int encoding);

void *ut_read_xml(const char *path)
{
    void *(*real)(const char *) = (void *(*)(const char *))dlsym(RTLD_NEXT, "ut_read_xml");
    atomic_fetch_add(&n_spared, 1);
    void *answer = real(path);
    atomic_fetch_sub(&n_spared, 1);
    return answer;
}

void *ut_parse(const void *system, const char *text, int encoding)
{
    void *(*real)(const void *, const char *, int) =
        (void *(*)(const void *, const char *, int))dlsym(RTLD_NEXT, "ut_parse");
    atomic_fetch_add(&n_spared, 1);
    void *answer = real(system, text, encoding);
    atomic_fetch_sub(&n_spared, 1);
    return answer;
}

/* GSL goes on without the room it did not get, and crashes. */
int gsl_linalg_SV_decomp(void *a, void *v, void *s, void *work);

int gsl_linalg_SV_decomp(void *a, void *v, void *s, void *work)
{
    int (*real)(void *, void *, void *, void *) =
        (int (*)(void *, void *, void *, void *))dlsym(RTLD_NEXT, "gsl_linalg_SV_decomp");
    atomic_fetch_add(&n_spared, 1);
    const int answer = real(a, v, s, work);
    atomic_fetch_sub(&n_spared, 1);
    return answer;
}

/* Returned: must this call fail? It does not come back if the process is to be killed. */
static int is_struck(const char *name)
{
    if (what == 0 || strcmp(call, name) != 0 || ++n_calls != call_at)
        return 0;
    if (what == 'k')
        kill(getpid(), SIGKILL);
    errno = EIO;
    return what == 'e';
}

int fsync(int fd)
{
    int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, "fsync");
    return is_struck("fsync") ? -1 : real(fd);
}

int rename(const char *from, const char *to)
{
    int (*real)(const char *, const char *) = (int (*)(const char *, const char *))dlsym(RTLD_NEXT, "rename");
    return is_struck("rename") ? -1 : real(from, to);
}

int unlink(const char *path)
{
    int (*real)(const char *) = (int (*)(const char *))dlsym(RTLD_NEXT, "unlink");
    return is_struck("unlink") ? -1 : real(path);
}

FILE *fopen(const char *path, const char *mode)
{
    FILE *(*real)(const char *, const char *) =
        (FILE * (*)(const char *, const char *)) dlsym(RTLD_NEXT, "fopen");
    return is_struck("fopen") ? NULL : real(path, mode);
}

int clock_gettime(clockid_t id, struct timespec *now)
{
    static atomic_int n;
    int (*real)(clockid_t, struct timespec *) =
        (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
    const int answer = real(id, now);
    if (jumps)
        now->tv_sec += atomic_fetch_add(&n, 1) % 2 ? 3600 : -86400;
    return answer;
}

time_t time(time_t *out)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    if (out)
        *out = now.tv_sec;
    return now.tv_sec;
}
