/* Every route by bytes in and bytes out, without a socket: good ones, wrong ones, and any bytes at all. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "web/bench.h"

static const struct sm_context no_limit;

static struct web_bench *open_bench(const char *file)
{
    static struct web_bench bench;
    struct sm_error err = {0};
    cr_assert_eq(web_bench_init(&bench, file, NULL, &err), SM_OK, "%s", err.message);
    return &bench;
}

/* query: "name=value&name=value". The reply's bytes get a NUL behind them. */
static struct web_reply call(struct web_bench *bench, const char *path, const char *query, const char *body,
                             size_t n)
{
    struct web_request request = {.body = body, .n_body = n, .context = &no_limit};
    struct web_reply reply;
    char copy[400], *rest = copy;
    snprintf(copy, sizeof copy, "%s", query);
    for (char *pair; *rest && (pair = rest);) {
        rest += strcspn(rest, "&");
        if (*rest)
            *rest++ = '\0';
        char *equals = strchr(pair, '=');
        *equals = '\0';
        cr_assert(strlen(pair) < WEB_QUERY_NAME && strlen(equals + 1) < WEB_QUERY_VALUE);
        strcpy(request.query[request.n_query].name, pair);
        strcpy(request.query[request.n_query++].value, equals + 1);
    }
    const struct web_route *route = web_route_find(path);
    cr_assert_not_null(route, "%s", path);
    web_reply_init(&reply);
    route->answer(bench, &request, &reply);
    web_put(&reply, "", 1);
    cr_assert_not(reply.is_full);
    return reply;
}

static char *example(const char *name, size_t *n)
{
    char path[400];
    char *text = calloc(1, 1 << 16);
    snprintf(path, sizeof path, "%s/examples/%s", SM_SOURCE_DIR, name);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    *n = fread(text, 1, (1 << 16) - 1, file);
    fclose(file);
    return text;
}

static void expect(struct web_bench *bench, const char *path, const char *query, const char *body, size_t n,
                   const char *wanted)
{
    struct web_reply reply = call(bench, path, query, body, n);
    cr_assert_not_null(strstr(reply.bytes, wanted), "%s?%s: no %s in %.300s", path, query, wanted,
                       reply.bytes);
    web_reply_release(&reply);
}

Test(routes, answer_a_motor)
{
    struct web_bench *bench = open_bench(NULL);
    size_t n;
    char *motor = example("sandpiper-end-burner.json", &n);
    expect(bench, "trial", "", motor, n, "\"designation\":\"H13\"");
    expect(bench, "trial", "units=us&model=equilibrium", motor, n, "lbf s");
    expect(bench, "section", "", motor, n, "<svg");
    expect(bench, "export", "form=csvw", motor, n, "time,thrust");
    expect(bench, "export", "form=csvw&part=companion", motor, n, "http://www.w3.org/ns/csvw");
    expect(bench, "export", "form=c-header&fixed=yes&points=400", motor, n, "int");
    expect(bench, "export", "form=report", motor, n, "<!DOCTYPE html>");
    expect(bench, "export", "form=plot", motor, n, "<svg");
    expect(bench, "spread", "samples=20&seed=3", motor, n, "20 of 20 burns, seed 3");
    expect(bench, "propellant", "name=knsb", NULL, 0, "slowmatch-propellant/1");
    expect(bench, "rows", "", NULL, 0, "\"throat_diameter\"");
    expect(bench, "file", "", NULL, 0, "Sandpiper end burner");
    free(motor);
    web_bench_release(bench);
}

Test(routes, set_one_motor_beside_another)
{
    struct web_bench *bench = open_bench(NULL);
    size_t n, m;
    char *first = example("sandpiper-end-burner.json", &n), *second = example("sandpiper-cored.json", &m);
    char *both = malloc(n + 1 + m);
    memcpy(both, first, n + 1);
    memcpy(both + n + 1, second, m);
    expect(bench, "trial", "", both, n + 1 + m, "\"besideDesignation\":\"H");
    expect(bench, "trial", "", both, n + 1 + m, "\"why\":\"");
    expect(bench, "trial", "", both, n + 1 + m / 2, "\"problems\"");
    free(first);
    free(second);
    free(both);
    web_bench_release(bench);
}

/* An end burner burns the longer the longer it is: the longest that the limit allows is the answer. */
Test(routes, seek_values)
{
    struct web_bench *bench = open_bench(NULL);
    size_t n;
    char *motor = example("sandpiper-end-burner.json", &n);
    static const char wish[] =
        "{\"format\": \"slowmatch-request/1\", \"name\": \"x\", \"motor\": \"m\", \"free\": [{\"of\": "
        "\"/grains/0/length\", \"from\": \"30 mm\", \"to\": \"90 mm\"}], \"wanted\": {\"burn_time\": "
        "{\"aim\": "
        "\"greatest\"}}, \"limits\": {\"length\": {\"most\": \"50 mm\"}}}";
    char *both = malloc(n + 1 + sizeof wish);
    memcpy(both, motor, n + 1);
    memcpy(both + n + 1, wish, sizeof wish);
    const size_t whole = n + sizeof wish;
    struct web_reply found = call(bench, "size", "", both, whole);
    const char *length = strstr(found.bytes, "\"/grains/0/length\",\"got\":\"");
    cr_assert_not_null(length, "%.300s", found.bytes);
    const double got = strtod(strstr(length, "got") + 6, NULL); /* [mm] */
    cr_assert(got > 49.9 && got <= 50.0, "%g", got);            /* the search keeps a hair off its limits */
    web_reply_release(&found);
    expect(bench, "size", "", both, whole, "active: 1 % more room would bring burn_time");
    expect(bench, "size", "", both, whole, "not a drawing for manufacture");
    expect(bench, "size", "seed=x", both, whole, "whole number from 0");
    expect(bench, "size", "", both, n, "a motor and a request are wanted");
    expect(bench, "size", "", both, whole - 10, "\"problems\"");
    both[0] = '[';
    expect(bench, "size", "", both, whole, "\"problems\"");
    memcpy(both, motor, n + 1);
    *strstr(both + n + 1, "30 mm") = '9'; /* from 90 mm: no room between the bounds */
    expect(bench, "size", "", both, whole, "\"pointer\":\"/free/0");
    free(motor);
    free(both);
    web_bench_release(bench);
}

/* A slider's ends are half and twice of the value, in its own unit, and within its limits; 40 degC is by SI's definition
 * 40 K above and below, whatever the origin. */
Test(routes, say_how_far_values_can_be_dragged)
{
    struct web_bench *bench = open_bench(NULL);
    static const char lines[] =
        "1\t0.001\t5\t2.0 mm\n7\t200\t330\t21 degC\n0\t0\t1\t0.8\nw0\t1\t1000\t3\n1\t0\t1\tnothing\nx\n";
    expect(bench, "sliders", "", lines, sizeof lines - 1,
           "[{\"unit\":\"mm\",\"low\":\"1.00\",\"high\":\"4.00\",\"step\":\"0.01\",\"at\":\"2.00\"},"
           "{\"unit\":\"degC\",\"low\":\"-19.0\",\"high\":\"56.8\",\"step\":\"0.2\",\"at\":\"21.0\"},"
           "{\"unit\":\"\",\"low\":\"0.400\",\"high\":\"1.000\",\"step\":\"0.002\",\"at\":\"0.800\"},"
           "{\"unit\":\"\",\"low\":\"2\",\"high\":\"6\",\"step\":\"1\",\"at\":\"3\"},null,null]");
    web_bench_release(bench);
}

Test(routes, say_what_is_wrong_and_where)
{
    struct web_bench *bench = open_bench(NULL);
    static const char bad[] =
        "{\"format\": \"slowmatch-motor/1\", \"name\": \"x\", \"nozzle\": {\"throat_diameter\": \"2 kg\"}}";
    expect(bench, "trial", "", bad, sizeof bad - 1, "\"pointer\":\"/nozzle/throat_diameter\"");
    expect(bench, "trial", "", "", 0, "\"problems\"");
    expect(bench, "trial", "model=magic", bad, sizeof bad - 1, "model is transient");
    expect(bench, "trial", "", NULL, 0, "a motor is wanted");
    expect(bench, "spread", "samples=1", bad, sizeof bad - 1, "whole number from 2");
    expect(bench, "spread", "samples=1e3", bad, sizeof bad - 1, "whole number from 2");
    expect(bench, "export", "form=nothing", bad, sizeof bad - 1, "no such form");
    expect(bench, "propellant", "name=../../etc/passwd", NULL, 0, "\"problems\"");
    expect(bench, "save", "", bad, sizeof bad - 1, "\"problems\"");
    web_bench_release(bench);
}

static void write_text(const char *path, const char *text, size_t n)
{
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    cr_assert_eq(fwrite(text, 1, n, file), n);
    fclose(file);
}

Test(routes, save_with_a_backup_and_not_over_another_s_work)
{
    char folder[] = "/tmp/slowmatch-web-XXXXXX", query[120], hash[SM_HASH_TEXT];
    size_t n, m;
    char *motor = example("sandpiper-end-burner.json", &n), *other = example("sandpiper-cored.json", &m);
    cr_assert_not_null(mkdtemp(folder));
    cr_assert_eq(chdir(folder), 0);
    write_text("motor.json", motor, n);
    struct web_bench *bench = open_bench("motor.json");
    cr_assert_eq(sm_hash_file("motor.json", hash, NULL), SM_OK);
    snprintf(query, sizeof query, "hash=%s", hash);
    expect(bench, "save", query, other, m, "\"backup\":\"motor.json~\"");
    expect(bench, "save", query, motor, n, "changed since");
    cr_assert_eq(access("motor.json~", R_OK), 0);
    expect(bench, "file", "", NULL, 0, "Sandpiper");
    unlink("motor.json");
    unlink("motor.json~");
    rmdir(folder);
    free(motor);
    free(other);
    web_bench_release(bench);
}

/* Bytes changed at places that a generator with a fixed start picks: an answer always comes. */
Test(routes, survive_any_bytes)
{
    struct web_bench *bench = open_bench(NULL);
    size_t n;
    unsigned seed = 20261125;
    char *motor = example("sandpiper-cored.json", &n);
    static const char *const paths[] = {"trial", "sliders", "section", "save"};
    for (int round = 0; round < 200; round++) {
        char *copy = malloc(n);
        memcpy(copy, motor, n);
        for (int k = 0; k < 1 + round % 5; k++) {
            seed = seed * 1664525u + 1013904223u; /* Numerical Recipes' quick generator */
            copy[(seed >> 8) % n] = (char)(seed >> 24);
        }
        struct web_reply reply = call(bench, paths[round % 4], "", copy, n - (size_t)(round % 7) * (n / 8));
        cr_assert_gt(reply.n, 1);
        web_reply_release(&reply);
        free(copy);
    }
    free(motor);
    web_bench_release(bench);
}
