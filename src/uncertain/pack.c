/*
 * A shard's samples as bytes, and shards back into one spread.
 *
 * The bytes: a line that names the format, the length of the head's structs as a check that both machines lay numbers out
 * alike, then the head, what all shards share (inputs, instants), the shard's place and its samples, all as they stand in
 * memory. Shards of one spread come from machines of one kind, so nothing is turned round; another byte order or layout is
 * refused by the check.
 */
#include <string.h>

#include "base/sink.h"
#include "slowmatch/limits.h"
#include "uncertain/samples.h"

static const char magic[32] = "slowmatch-part/3 little-endian\n";

/* Sizes and a number that reads otherwise where bytes are turned round. */
struct layout_check {
    uint64_t head, input, number;
};
static const struct layout_check here = {sizeof(struct sm_spread_head), sizeof(struct sm_spread_input),
                                         0x0102030405060708u};

struct place {
    uint64_t shard, first, count;
};

/* ---- out ---- */

static enum sm_status put(struct sm_sink *sink, const void *bytes, size_t n, struct sm_error *err)
{
    return sm_sink_bytes(sink, bytes, n, err);
}

enum sm_status sm_spread_pack(const struct sm_spread *spread, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_spread_samples *s = (const struct sm_spread_samples *)spread;
    const size_t m = (size_t)s->head.n_instants;
    const struct place place = {s->shard, s->first, s->count};
    SM_TRY(put(sink, magic, sizeof magic, err));
    SM_TRY(put(sink, &here, sizeof here, err));
    SM_TRY(put(sink, &s->head, sizeof s->head, err));
    SM_TRY(put(sink, s->inputs, (size_t)s->head.n_inputs * sizeof *s->inputs, err));
    SM_TRY(put(sink, s->time, m * sizeof *s->time, err));
    SM_TRY(put(sink, &place, sizeof place, err));
    SM_TRY(put(sink, spread->reasons, sizeof spread->reasons, err));
    SM_TRY(put(sink, s->state, s->count, err));
    for (size_t q = 0; q < SM_N_Q; q++)
        if (s->quantity[q])
            SM_TRY(put(sink, s->quantity[q], s->count * sizeof(double), err));
    for (size_t c = 0; c < SM_N_C; c++)
        if (s->curve[c])
            SM_TRY(put(sink, s->curve[c], s->count * m * sizeof(double), err));
    return SM_OK;
}

/* ---- in ---- */

/* What is left of a part's bytes. */
struct source {
    const struct sm_spread_part *part;
    size_t at;
};

static enum sm_status broken(const struct sm_spread_part *part, const char *what, struct sm_error *err)
{
    sm_fail(err, SM_E_SYNTAX, "it is no whole part of a spread: %s; 'slowmatch spread --shard' writes them",
            what);
    if (err)
        strncpy(err->at.file, part->name, sizeof err->at.file - 1);
    return SM_E_SYNTAX;
}

static enum sm_status take(struct source *in, void *to, size_t n, struct sm_error *err)
{
    if (n > in->part->n - in->at)
        return broken(in->part, "it ends too early", err);
    memcpy(to, in->part->bytes + in->at, n);
    in->at += n;
    return SM_OK;
}

static enum sm_status refuse(const struct sm_spread_part *part, const char *what, struct sm_error *err)
{
    sm_fail(err, SM_E_RANGE, "%s", what);
    if (err)
        strncpy(err->at.file, part->name, sizeof err->at.file - 1);
    return SM_E_RANGE;
}

/* A flag may hold only 0 or 1, so its byte is looked at before it is read as one. */
static int is_flag(const bool *flag)
{
    unsigned char byte;
    memcpy(&byte, flag, sizeof byte);
    return byte <= 1;
}

static int is_sane(const struct sm_spread_head *h)
{
    return h->n >= 2 && h->n <= SM_MAX_SAMPLES && h->n_inputs >= 1 &&
           h->n_inputs <= 2 * SM_MAX_TOLERANCES + 2 && h->n_instants >= 2 && h->n_instants <= 10000 &&
           h->shards >= 1 && h->shards <= h->n && h->is_curve <= 1 && h->is_pair <= 1 &&
           is_flag(&h->pair.is_pair) && h->pair.is_pair == (h->is_pair == 1) &&
           memchr(h->motor, '\0', sizeof h->motor);
}

static enum sm_status take_head(struct source *in, struct sm_spread_head *head, struct sm_error *err)
{
    char name[sizeof magic];
    struct layout_check there;
    SM_TRY(take(in, name, sizeof name, err));
    if (memcmp(name, magic, sizeof name) != 0)
        return broken(in->part, "it does not begin as one", err);
    SM_TRY(take(in, &there, sizeof there, err));
    if (memcmp(&there, &here, sizeof here) != 0)
        return broken(in->part, "it was written by another version, or on another kind of machine", err);
    SM_TRY(take(in, head, sizeof *head, err));
    return is_sane(head) ? SM_OK : broken(in->part, "its head holds numbers of no sense", err);
}

/* The first part gives what all share; those of the others must be the same bytes. */
static enum sm_status take_shared(struct source *in, struct sm_spread_samples *s, int is_first,
                                  struct sm_error *err)
{
    const size_t inputs = (size_t)s->head.n_inputs * sizeof *s->inputs;
    const size_t times = (size_t)s->head.n_instants * sizeof(double);
    if (!is_first) {
        const size_t all = inputs + times;
        if (all > in->part->n - in->at)
            return broken(in->part, "it ends too early", err);
        in->at += all;
        return SM_OK;
    }
    s->inputs = sm_arena_alloc(&s->arena, 1, inputs);
    s->time = sm_arena_alloc(&s->arena, 1, times);
    if (!s->inputs || !s->time)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(take(in, s->inputs, inputs, err));
    for (size_t i = 0; i < s->head.n_inputs; i++) {
        if (!is_flag(&s->inputs[i].is_latin))
            return broken(in->part, "an input's kind makes no sense", err);
        s->inputs[i].of[sizeof s->inputs[i].of - 1] = '\0';
    }
    return take(in, s->time, times, err);
}

static enum sm_status take_place(struct source *in, const struct sm_spread_head *h, struct place *p,
                                 struct sm_error *err)
{
    SM_TRY(take(in, p, sizeof *p, err));
    if (p->shard >= h->shards || p->first != h->n * p->shard / h->shards ||
        p->first + p->count != h->n * (p->shard + 1) / h->shards)
        return broken(in->part, "its place among the samples makes no sense", err);
    return SM_OK;
}

/* Reasons are told in the order of the samples, so those of a later shard stand after those of an earlier one. */
struct reasons {
    char text[SM_SPREAD_MAX_REASONS][256];
};

/* A part that was looked at: its samples are still to be taken. */
struct entry {
    struct source in;
    struct place place;
};

/* Everything before the samples, and whether those are all there: room for them is made only then. */
static enum sm_status look_at(const struct sm_spread_part *part, int is_first, struct sm_spread_samples *s,
                              struct entry *entry, struct sm_error *err)
{
    struct source in = {part, 0};
    struct sm_spread_head head;
    SM_TRY(take_head(&in, &head, err));
    if (is_first)
        s->head = head;
    else if (memcmp(&head, &s->head, sizeof head) != 0)
        return refuse(
            part,
            "it is a shard of another spread than the first file: other motor, samples, seed or options",
            err);
    SM_TRY(take_shared(&in, s, is_first, err));
    SM_TRY(take_place(&in, &head, &entry->place, err));
    const size_t left = part->n - in.at;
    const size_t wanted = sizeof(struct reasons) + (size_t)entry->place.count * sm_samples_bytes(&head);
    if (left != wanted)
        return broken(part, left < wanted ? "it ends too early" : "there is more behind its end", err);
    entry->in = in;
    return SM_OK;
}

static enum sm_status look_at_all(const struct sm_spread_part *parts, size_t n, struct sm_spread_samples *s,
                                  struct entry *entries, struct sm_error *err)
{
    char *seen = NULL;
    for (size_t i = 0; i < n; i++) {
        SM_TRY(look_at(&parts[i], i == 0, s, &entries[i], err));
        if (i == 0)
            seen = sm_arena_alloc(&s->arena, (size_t)s->head.shards, 1);
        if (!seen)
            return sm_fail(err, SM_E_NOMEM, "out of memory");
        if (seen[entries[i].place.shard])
            return refuse(&parts[i], "this shard was given twice", err);
        seen[entries[i].place.shard] = 1;
    }
    for (size_t k = 0; k < s->head.shards; k++)
        if (!seen[k])
            return sm_fail(err, SM_E_RANGE, "shard %zu/%zu is missing", k + 1, (size_t)s->head.shards);
    return SM_OK;
}

static enum sm_status take_samples(struct entry *entry, struct sm_spread_samples *s, struct reasons *reasons,
                                   struct sm_error *err)
{
    const size_t first = (size_t)entry->place.first, count = (size_t)entry->place.count;
    struct source *in = &entry->in;
    SM_TRY(take(in, reasons, sizeof *reasons, err));
    for (size_t i = 0; i < SM_SPREAD_MAX_REASONS; i++)
        reasons->text[i][sizeof reasons->text[i] - 1] = '\0';
    SM_TRY(take(in, s->state + first, count, err));
    for (size_t i = 0; i < count; i++)
        if (s->state[first + i] < SM_SAMPLE_OPEN || s->state[first + i] > SM_SAMPLE_IMPOSSIBLE)
            return broken(in->part, "a sample is neither done nor to be done", err);
    for (size_t q = 0; q < SM_N_Q; q++)
        if (s->quantity[q])
            SM_TRY(take(in, s->quantity[q] + first, count * sizeof(double), err));
    for (size_t c = 0; c < SM_N_C; c++)
        for (size_t k = 0; k < s->head.n_instants && s->curve[c]; k++)
            SM_TRY(take(in, s->curve[c] + k * s->count + first, count * sizeof(double), err));
    return SM_OK;
}

static enum sm_status merge(const struct sm_spread_part *parts, size_t n, struct sm_spread_samples *s,
                            struct sm_error *err)
{
    size_t n_reasons = 0;
    struct entry *entries = sm_arena_alloc(&s->arena, n, sizeof *entries);
    struct reasons *reasons = sm_arena_alloc(&s->arena, n, sizeof *reasons);
    if (!entries || !reasons)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    SM_TRY(look_at_all(parts, n, s, entries, err)); /* so there are as many parts as shards */
    s->count = (size_t)s->head.n;
    SM_TRY(sm_samples_room(s, err));
    for (size_t i = 0; i < n; i++)
        SM_TRY(take_samples(&entries[i], s, &reasons[entries[i].place.shard], err));
    for (size_t k = 0; k < n; k++)
        for (size_t i = 0; i < SM_SPREAD_MAX_REASONS; i++)
            if (reasons[k].text[i][0] && n_reasons < SM_SPREAD_MAX_REASONS)
                memcpy(s->spread.reasons[n_reasons++], reasons[k].text[i], sizeof reasons[k].text[i]);
    s->head.shards = 1;
    return sm_samples_reckon(s, 0, err);
}

enum sm_status sm_spread_merge(const struct sm_spread_part *parts, size_t n, struct sm_spread **spread,
                               struct sm_error *err)
{
    struct sm_arena arena;
    *spread = NULL;
    if (n == 0)
        return sm_fail(err, SM_E_RANGE, "there are no shards to merge");
    sm_arena_init(&arena, NULL);
    struct sm_spread_samples *s = sm_arena_alloc(&arena, 1, sizeof *s);
    if (!s)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    s->arena = arena;
    const enum sm_status status = merge(parts, n, s, err);
    if (status == SM_OK)
        *spread = &s->spread;
    else
        sm_spread_free(&s->spread);
    return status;
}
