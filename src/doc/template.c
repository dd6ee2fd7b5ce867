#include "doc/template.h"
#include "base/suggest.h"
#include "doc/place.h"
#include "doc/xml_write.h"

#include <string.h>

enum kind { PLAIN, ESCAPED, RAW, SECTION, INVERTED, END };

/* A piece of the text, or the name in a tag. */
struct token {
    enum kind kind;
    size_t from, n; /* in the text [bytes] */
    size_t end;     /* of a section: place of its END among the tokens */
};

struct sm_template {
    const char *text, *name;
    size_t n_text;
    struct token *tokens;
    size_t n_tokens, capacity;
};

/* ---- taking apart ---- */

struct marks {
    char open[16], close[16];
};

struct parser {
    struct sm_template *t;
    struct sm_arena *arena;
    struct marks marks;
    size_t at;                      /* what is before it is done [bytes] */
    size_t open[SM_TEMPLATE_DEPTH]; /* tokens of sections that are open */
    size_t depth;
};

/* A tag as it stands in the text. */
struct tag {
    size_t from, to; /* with its delimiters [bytes] */
    char mark;       /* '#', '^', '/', '!', '=', '>', '&', '{', or 0 */
    size_t name, n;  /* what is inside, blanks taken off [bytes] */
};

static enum sm_status at_place(const struct sm_template *t, size_t offset, enum sm_status status,
                               struct sm_error *err)
{
    if (err)
        sm_place(err, t->name, t->text, t->n_text, offset);
    return status;
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static bool is_space(char c)
{
    return is_blank(c) || c == '\n' || c == '\r';
}

/* Where what begins at or behind from; n_text if nowhere. */
static size_t find(const struct sm_template *t, size_t from, const char *what)
{
    const size_t n = strlen(what);
    for (size_t i = from; i + n <= t->n_text; i++)
        if (memcmp(t->text + i, what, n) == 0)
            return i;
    return t->n_text;
}

static enum sm_status add(struct parser *p, enum kind kind, size_t from, size_t n, struct sm_error *err)
{
    struct sm_template *t = p->t;
    struct token *tokens =
        sm_arena_grow(p->arena, t->tokens, t->n_tokens, &t->capacity, t->n_tokens + 1, sizeof *tokens);
    if (!tokens)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    t->tokens = tokens;
    tokens[t->n_tokens++] = (struct token){kind, from, n, 0};
    return SM_OK;
}

static void trim(const struct sm_template *t, struct tag *tag)
{
    while (tag->n > 0 && is_space(t->text[tag->name]))
        tag->name++, tag->n--;
    while (tag->n > 0 && is_space(t->text[tag->name + tag->n - 1]))
        tag->n--;
}

/* Reads the tag that begins at from. */
static enum sm_status read_tag(struct parser *p, size_t from, struct tag *tag, struct sm_error *err)
{
    const struct sm_template *t = p->t;
    size_t inside = from + strlen(p->marks.open);
    char close[sizeof p->marks.close + 1] = "";
    *tag = (struct tag){.from = from};
    if (inside < t->n_text && t->text[inside] != '\0' && strchr("#^/!=>&{", t->text[inside]))
        tag->mark = t->text[inside++];
    if (tag->mark == '{' || tag->mark == '=')
        close[0] = tag->mark == '{' ? '}' : '=';
    strcat(close, p->marks.close);
    const size_t end = find(t, inside, close);
    if (end == t->n_text)
        return at_place(t, from, sm_fail(err, SM_E_SYNTAX, "this tag is never closed: it wants %s", close),
                        err);
    tag->to = end + strlen(close);
    tag->name = inside;
    tag->n = end - inside;
    trim(t, tag);
    return SM_OK;
}

/* A tag that is alone on its line takes the whole line away: widens it to that. What counts is the text itself, so that two
 * tags on a line are never alone. */
static void widen(const struct sm_template *t, struct tag *tag)
{
    size_t from = tag->from, to = tag->to;
    if (tag->mark == 0 || tag->mark == '&' || tag->mark == '{')
        return;
    while (from > 0 && is_blank(t->text[from - 1]))
        from--;
    while (to < t->n_text && is_blank(t->text[to]))
        to++;
    if (from > 0 && t->text[from - 1] != '\n')
        return;
    if (to < t->n_text && t->text[to] == '\r')
        to++;
    if (to < t->n_text && t->text[to] != '\n')
        return;
    tag->from = from;
    tag->to = to < t->n_text ? to + 1 : to;
}

/* "<% %>" between the equals signs. */
static enum sm_status set_marks(struct parser *p, const struct tag *tag, struct sm_error *err)
{
    const char *text = p->t->text + tag->name;
    size_t n = 0, next;
    while (n < tag->n && !is_space(text[n]))
        n++;
    for (next = n; next < tag->n && is_space(text[next]);)
        next++;
    const size_t n_close = tag->n - next;
    bool sound = n > 0 && n_close > 0 && n < sizeof p->marks.open && n_close < sizeof p->marks.close - 1;
    for (size_t i = 0; i < tag->n; i++)
        sound = sound && text[i] != '=' && text[i] != '\0' && (i < n || i >= next || is_space(text[i]));
    for (size_t i = next; i < tag->n; i++)
        sound = sound && !is_space(text[i]);
    if (!sound)
        return at_place(
            p->t, tag->name,
            sm_fail(err, SM_E_SYNTAX, "delimiters are set as {{=<%% %%>=}}: two, with a blank between"), err);
    memcpy(p->marks.open, text, n);
    p->marks.open[n] = '\0';
    memcpy(p->marks.close, text + next, n_close);
    p->marks.close[n_close] = '\0';
    return SM_OK;
}

static enum sm_status begin_section(struct parser *p, const struct tag *tag, struct sm_error *err)
{
    if (p->depth == SM_TEMPLATE_DEPTH)
        return at_place(p->t, tag->name,
                        sm_fail(err, SM_E_RANGE, "sections are nested deeper than %d", SM_TEMPLATE_DEPTH),
                        err);
    p->open[p->depth++] = p->t->n_tokens;
    return add(p, tag->mark == '#' ? SECTION : INVERTED, tag->name, tag->n, err);
}

static enum sm_status end_section(struct parser *p, const struct tag *tag, struct sm_error *err)
{
    struct sm_template *t = p->t;
    if (p->depth == 0)
        return at_place(t, tag->name, sm_fail(err, SM_E_SYNTAX, "this ends a section that has not begun"),
                        err);
    struct token *begun = &t->tokens[p->open[--p->depth]];
    if (begun->n != tag->n || memcmp(t->text + begun->from, t->text + tag->name, tag->n) != 0)
        return at_place(t, tag->name,
                        sm_fail(err, SM_E_SYNTAX, "the section that is open here is \"%.*s\"",
                                begun->n < 60 ? (int)begun->n : 60, t->text + begun->from),
                        err);
    begun->end = t->n_tokens;
    return add(p, END, tag->name, tag->n, err);
}

/* A name has no blanks, and no empty part but for "." alone. */
static enum sm_status check_name(const struct parser *p, const struct tag *tag, struct sm_error *err)
{
    const char *name = p->t->text + tag->name;
    bool sound = tag->n > 0;
    for (size_t i = 0; i < tag->n; i++)
        sound = sound && name[i] != '\0' && !is_space(name[i]) &&
                (name[i] != '.' || tag->n == 1 || (i > 0 && i + 1 < tag->n && name[i - 1] != '.'));
    return sound ? SM_OK
                 : at_place(p->t, tag->name,
                            sm_fail(err, SM_E_SYNTAX, "a tag holds one name, or names joined by single dots"),
                            err);
}

static enum sm_status take_tag(struct parser *p, const struct tag *tag, struct sm_error *err)
{
    if (tag->mark == '!')
        return SM_OK;
    if (tag->mark == '=')
        return set_marks(p, tag, err);
    if (tag->mark == '>')
        return at_place(p->t, tag->name,
                        sm_fail(err, SM_E_SYNTAX, "partials are not taken: put the text here itself"), err);
    SM_TRY(check_name(p, tag, err));
    switch (tag->mark) {
    case '#':
    case '^':
        return begin_section(p, tag, err);
    case '/':
        return end_section(p, tag, err);
    default:
        return add(p, tag->mark == 0 ? ESCAPED : RAW, tag->name, tag->n, err);
    }
}

static enum sm_status parse(struct parser *p, struct sm_error *err)
{
    struct sm_template *t = p->t;
    while (p->at < t->n_text) {
        struct tag tag;
        const size_t from = find(t, p->at, p->marks.open);
        if (from == t->n_text)
            break;
        SM_TRY(read_tag(p, from, &tag, err));
        widen(t, &tag);
        if (tag.from > p->at)
            SM_TRY(add(p, PLAIN, p->at, tag.from - p->at, err));
        SM_TRY(take_tag(p, &tag, err));
        p->at = tag.to;
    }
    if (p->depth > 0)
        return at_place(t, t->tokens[p->open[p->depth - 1]].from,
                        sm_fail(err, SM_E_SYNTAX, "this section is never ended"), err);
    return p->at < t->n_text ? add(p, PLAIN, p->at, t->n_text - p->at, err) : SM_OK;
}

enum sm_status sm_template_parse(const char *text, size_t n, const char *name, struct sm_arena *arena,
                                 struct sm_template **out, struct sm_error *err)
{
    struct sm_template *t = sm_arena_alloc(arena, 1, sizeof *t);
    if (!t)
        return sm_fail(err, SM_E_NOMEM, "out of memory");
    *t = (struct sm_template){.text = text, .n_text = n, .name = name};
    struct parser p = {.t = t, .arena = arena, .marks = {"{{", "}}"}};
    *out = t;
    return parse(&p, err);
}

/* ---- putting together ---- */

struct rendering {
    const struct sm_template *t;
    const struct sm_template_data *data;
    const struct sm_template_options *options;
    struct sm_sink *sink;
    struct sm_template_value stack[SM_TEMPLATE_DEPTH + 1];
    size_t depth; /* of the innermost context */
};

static enum sm_status unknown(const struct rendering *r, size_t from, size_t n, bool inner,
                              const struct sm_template_value *of, struct sm_error *err)
{
    char word[64], near[SM_SUGGEST_TEXT];
    struct sm_suggest suggest = {.word = word};
    const size_t length = n < sizeof word - 1 ? n : sizeof word - 1;
    memcpy(word, r->t->text + from, length);
    word[length] = '\0';
    for (size_t d = inner ? 0 : r->depth + 1; d > 0; d--)
        for (size_t i = 0; r->data->name(r->data->user, &r->stack[d - 1], i); i++)
            sm_suggest_offer(&suggest, r->data->name(r->data->user, &r->stack[d - 1], i));
    for (size_t i = 0; inner && r->data->name(r->data->user, of, i); i++)
        sm_suggest_offer(&suggest, r->data->name(r->data->user, of, i));
    return at_place(
        r->t, from,
        sm_fail(err, SM_E_FIELD, "there is no \"%s\" here%s", word, sm_suggest_text(near, suggest.best)),
        err);
}

/* The first part of a name is sought from the innermost context outwards, the rest inside what is found. */
static enum sm_status look_up(const struct rendering *r, const struct token *token,
                              struct sm_template_value *out, struct sm_error *err)
{
    const struct sm_template_data *data = r->data;
    const char *text = r->t->text;
    const size_t end = token->from + token->n;
    *out = r->stack[r->depth];
    if (token->n == 1 && text[token->from] == '.')
        return SM_OK;
    for (size_t from = token->from; from < end;) {
        const char *dot = memchr(text + from, '.', end - from);
        const size_t n = dot ? (size_t)(dot - (text + from)) : end - from;
        const bool inner = from > token->from;
        const struct sm_template_value of = *out;
        enum sm_status status = SM_OK;
        out->kind = SM_TEMPLATE_UNKNOWN;
        if (inner)
            status = data->member(data->user, &of, text + from, n, out, err);
        for (size_t d = r->depth + 1; !inner && status == SM_OK && d > 0 && out->kind == SM_TEMPLATE_UNKNOWN;
             d--)
            status = data->member(data->user, &r->stack[d - 1], text + from, n, out, err);
        if (status != SM_OK)
            return at_place(r->t, from, status, err);
        if (out->kind == SM_TEMPLATE_UNKNOWN)
            return r->options->unknown_is_empty ? SM_OK : unknown(r, from, n, inner, &of, err);
        if (out->kind == SM_TEMPLATE_NOTHING)
            return SM_OK;
        from += n + 1;
    }
    return SM_OK;
}

static enum sm_status put_value(const struct rendering *r, const struct token *token, struct sm_error *err)
{
    char buf[SM_TEMPLATE_TEXT];
    struct sm_template_value value;
    SM_TRY(look_up(r, token, &value, err));
    if (value.kind == SM_TEMPLATE_NOTHING && !r->options->unknown_is_empty)
        return at_place(r->t, token->from,
                        sm_fail(err, SM_E_FIELD,
                                "this motor has no \"%.*s\": put it in a section {{#...}} of that name",
                                token->n < 60 ? (int)token->n : 60, r->t->text + token->from),
                        err);
    if (value.kind != SM_TEMPLATE_THING)
        return SM_OK;
    const char *text = r->data->text(r->data->user, &value, buf);
    return token->kind == ESCAPED && r->options->escapes ? sm_xml_text(r->sink, text, err)
                                                         : sm_sink_text(r->sink, text, err);
}

static enum sm_status render(struct rendering *r, size_t from, size_t to, struct sm_error *err);

static enum sm_status render_within(struct rendering *r, const struct sm_template_value *context, size_t from,
                                    size_t to, struct sm_error *err)
{
    r->stack[++r->depth] = *context;
    const enum sm_status status = render(r, from, to, err);
    r->depth--;
    return status;
}

static enum sm_status render_section(struct rendering *r, size_t at, struct sm_error *err)
{
    const struct token *token = &r->t->tokens[at];
    struct sm_template_value value;
    SM_TRY(look_up(r, token, &value, err));
    const bool is_list = value.kind == SM_TEMPLATE_LIST;
    const bool holds = value.kind == SM_TEMPLATE_THING || (is_list && value.n > 0);
    if (token->kind == INVERTED)
        return holds ? SM_OK : render(r, at + 1, token->end, err);
    if (!is_list)
        return holds ? render_within(r, &value, at + 1, token->end, err) : SM_OK;
    for (size_t i = 0; i < value.n; i++) {
        struct sm_template_value element;
        r->data->element(r->data->user, &value, i, &element);
        SM_TRY(render_within(r, &element, at + 1, token->end, err));
    }
    return SM_OK;
}

static enum sm_status render(struct rendering *r, size_t from, size_t to, struct sm_error *err)
{
    for (size_t i = from; i < to; i++) {
        const struct token *token = &r->t->tokens[i];
        switch (token->kind) {
        case PLAIN:
            SM_TRY(sm_sink_bytes(r->sink, r->t->text + token->from, token->n, err));
            break;
        case ESCAPED:
        case RAW:
            SM_TRY(put_value(r, token, err));
            break;
        case SECTION:
        case INVERTED:
            SM_TRY(render_section(r, i, err));
            i = token->end;
            break;
        case END:
            break;
        }
    }
    return SM_OK;
}

enum sm_status sm_template_render(const struct sm_template *t, const struct sm_template_data *data,
                                  const struct sm_template_options *options, struct sm_sink *sink,
                                  struct sm_error *err)
{
    struct rendering r = {.t = t, .data = data, .options = options, .sink = sink, .stack = {data->root}};
    return render(&r, 0, t->n_tokens, err);
}
