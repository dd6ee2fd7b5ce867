/* Writes man pages and shell completions from the same tables as the command's help. Runs at build time only. */
#include "command.h"

#include <stdio.h>
#include <string.h>

/* Text in roff: backslashes, and a point or quote at the start of a line, mean something there. */
static void put_roff(FILE *out, const char *text)
{
    if (*text == '.' || *text == '\'')
        fputs("\\&", out);
    for (; *text; text++) {
        if (*text == '\\')
            fputs("\\e", out);
        else if (*text == '-')
            fputs("\\-", out);
        else
            fputc(*text, out);
    }
}

static void put_line(FILE *out, const char *before, const char *text, const char *after)
{
    fputs(before, out);
    put_roff(out, text);
    fputs(after, out);
}

static void put_head(FILE *out, const char *page, const char *summary)
{
    fprintf(out, ".TH \"%s\" 1 \"" SM_RELEASED "\" \"slowmatch %s\" \"Slowmatch manual\"\n.SH NAME\n", page, sm_version());
    put_roff(out, page);
    put_line(out, " \\- ", summary, "\n");
}

static void put_foot(FILE *out)
{
    static const char *const codes[][2] = {{"0", "done"},
                                           {"1", "could not compute, or output failed"},
                                           {"2", "bad input or usage"},
                                           {"3", "warnings, under --strict"},
                                           {"70", "a bug in slowmatch"},
                                           {"130", "stopped by the user; what was done is kept"}};
    fputs(".SH EXIT STATUS\n", out);
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
        fprintf(out, ".TP\n.B %s\n", codes[i][0]);
        put_line(out, "", codes[i][1], "\n");
    }
    fputs(".SH CAUTION\nIt predicts; it does not certify. Making or altering motors is regulated and "
          "dangerous: follow the "
          "law where you are,\nthe codes that apply and your range's safety officer, and never stand near a "
          "test.\n",
          out);
}

static void put_option(FILE *out, const struct cli_option *option)
{
    fputs(".TP\n.B ", out);
    put_line(out, "\\-\\-", option->name, "");
    if (option->value)
        put_line(out, " ", option->value, "");
    put_line(out, "\n", option->help, "\n");
}

static void write_command_page(FILE *out, const struct sm_command *command)
{
    const struct cli_option *rows[CLI_MAX_OPTIONS];
    const size_t n = cli_options_of(command, rows);
    char page[64];
    snprintf(page, sizeof page, "slowmatch-%s", command->name);
    put_head(out, page, command->summary);
    fputs(".SH SYNOPSIS\n.B slowmatch ", out);
    put_roff(out, command->name);
    put_line(out, "\n[OPTIONS] ", command->arguments, "\n");
    if (command->detail)
        put_line(out, ".SH DESCRIPTION\n", command->detail, "\n");
    fputs(".SH OPTIONS\n", out);
    for (size_t i = 0; i < n; i++)
        put_option(out, rows[i]);
    if (command->example)
        put_line(out, ".SH EXAMPLES\n.nf\n", command->example, "\n.fi\n");
    put_foot(out);
    fputs(".SH SEE ALSO\n.BR slowmatch (1)\n", out);
}

static void write_main_page(FILE *out)
{
    put_head(out, "slowmatch", "what a solid motor's grain will do, before it is lit");
    fputs(".SH SYNOPSIS\n.B slowmatch\nCOMMAND ...\n.SH DESCRIPTION\nReckons thrust, pressure, impulse class "
          "and mass "
          "properties of solid rocket motors from their grain, and judges\nbought or measured thrust curves. "
          "Numbers in files "
          "and options carry their units.\n.SH COMMANDS\n",
          out);
    for (size_t i = 0; sm_command_list[i]; i++) {
        fprintf(out, ".TP\n.BR slowmatch\\-%s (1)\n", sm_command_list[i]->name);
        put_line(out, "", sm_command_list[i]->summary, "\n");
    }
    fputs(".SH FILES\nUnder the folder that holds the program's bin:\n", out);
    static const char *const files[][2] = {
        {"share/slowmatch/examples", "motors, vehicles, requests and records to start from, all invented"},
        {"share/slowmatch/propellants", "the propellants shipped"},
        {"share/slowmatch/docs", "tutorial, how-tos, theory and file formats; README.md says in which order"},
        {"share/slowmatch/docs/schema", "the file formats as JSON Schemas"}};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        fprintf(out, ".TP\n.I %s\n%s\n", files[i][0], files[i][1]);
    put_foot(out);
}

static void write_bash(FILE *out)
{
    fputs("# bash completion for slowmatch, written from the command's own tables\n_slowmatch()\n{\n"
          "    local word=${COMP_WORDS[COMP_CWORD]} options=\n    COMPREPLY=()\n    if [ \"$COMP_CWORD\" -eq "
          "1 ]; then\n"
          "        mapfile -t COMPREPLY < <(compgen -W '",
          out);
    for (size_t i = 0; sm_command_list[i]; i++)
        fprintf(out, "%s%s", i > 0 ? " " : "", sm_command_list[i]->name);
    fputs("' -- \"$word\")\n        return\n    fi\n    case ${COMP_WORDS[1]} in\n", out);
    for (size_t i = 0; sm_command_list[i]; i++) {
        const struct cli_option *rows[CLI_MAX_OPTIONS];
        const size_t n = cli_options_of(sm_command_list[i], rows);
        fprintf(out, "    %s) options='", sm_command_list[i]->name);
        for (size_t j = 0; j < n; j++)
            fprintf(out, "%s--%s", j > 0 ? " " : "", rows[j]->name);
        fputs("' ;;\n", out);
    }
    fputs("    esac\n    if [[ $word == -* ]]; then\n        mapfile -t COMPREPLY < <(compgen -W "
          "\"$options\" -- \"$word\")\n"
          "    else\n        mapfile -t COMPREPLY < <(compgen -f -- \"$word\")\n    fi\n}\ncomplete -o "
          "filenames -F _slowmatch "
          "slowmatch\n",
          out);
}

/* Text between single quotes of a shell. */
static void put_quoted(FILE *out, const char *text)
{
    fputc('\'', out);
    for (; *text; text++) {
        if (*text == '\'')
            fputs("'\\''", out);
        else
            fputc(*text, out);
    }
    fputc('\'', out);
}

static void write_fish(FILE *out)
{
    fputs("# fish completion for slowmatch, written from the command's own tables\n", out);
    for (size_t i = 0; sm_command_list[i]; i++) {
        const struct sm_command *command = sm_command_list[i];
        const struct cli_option *rows[CLI_MAX_OPTIONS];
        const size_t n = cli_options_of(command, rows);
        fprintf(out, "complete -c slowmatch -n __fish_use_subcommand -f -a %s -d ", command->name);
        put_quoted(out, command->summary);
        fputc('\n', out);
        for (size_t j = 0; j < n; j++) {
            fprintf(out, "complete -c slowmatch -n '__fish_seen_subcommand_from %s' -l %s%s -d ",
                    command->name, rows[j]->name, rows[j]->value ? " -r" : "");
            put_quoted(out, rows[j]->help);
            fputc('\n', out);
        }
    }
}

static void put_zsh_option(FILE *out, const struct cli_option *option)
{
    char help[256];
    size_t n = 0;
    for (const char *c = option->help; *c && n + 1 < sizeof help; c++)
        help[n++] =
            *c == '[' || *c == ']' || *c == ':' ? ' ' : *c; /* these mean something in a specification */
    help[n] = '\0';
    char text[512];
    snprintf(text, sizeof text, "*--%s%s[%s]%s%s%s", option->name, option->value ? "=" : "", help,
             option->value ? ":" : "", option->value ? option->value : "", option->value ? ":_files" : "");
    fputs(" \\\n            ", out);
    put_quoted(out, text);
}

static void write_zsh(FILE *out)
{
    fputs("#compdef slowmatch\n# zsh completion for slowmatch, written from the command's own "
          "tables\n_slowmatch() {\n"
          "    local -a commands=(\n",
          out);
    for (size_t i = 0; sm_command_list[i]; i++) {
        char text[256];
        snprintf(text, sizeof text, "%s:%s", sm_command_list[i]->name, sm_command_list[i]->summary);
        fputs("        ", out);
        put_quoted(out, text);
        fputc('\n', out);
    }
    fputs(
        "    )\n    if (( CURRENT == 2 )); then\n        _describe command commands\n        return\n    fi\n"
        "    case $words[2] in\n",
        out);
    for (size_t i = 0; sm_command_list[i]; i++) {
        const struct cli_option *rows[CLI_MAX_OPTIONS];
        const size_t n = cli_options_of(sm_command_list[i], rows);
        fprintf(out, "    %s)\n        _arguments", sm_command_list[i]->name);
        for (size_t j = 0; j < n; j++)
            put_zsh_option(out, rows[j]);
        fputs(" \\\n            '*:file:_files' ;;\n", out);
    }
    fputs("    esac\n}\n_slowmatch \"$@\"\n", out);
}

static FILE *start(const char *folder, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *out = fopen(path, "w");
    if (!out)
        perror(path);
    return out;
}

static int finish(FILE *out)
{
    return fclose(out) == 0 ? 0 : 1;
}

static int write_page(const char *folder, const char *name, void (*write)(FILE *out))
{
    FILE *out = start(folder, name);
    if (!out)
        return 1;
    write(out);
    return finish(out);
}

/* One argument: the folder to write to. */
int main(int argc, char **argv)
{
    if (argc != 2) {
        fputs("usage: slowmatch_pages FOLDER\n", stderr);
        return 2;
    }
    int failed = write_page(argv[1], "slowmatch.1", write_main_page) |
                 write_page(argv[1], "slowmatch.bash", write_bash) |
                 write_page(argv[1], "slowmatch.fish", write_fish) |
                 write_page(argv[1], "_slowmatch", write_zsh);
    for (size_t i = 0; sm_command_list[i]; i++) {
        char name[64];
        snprintf(name, sizeof name, "slowmatch-%s.1", sm_command_list[i]->name);
        FILE *out = start(argv[1], name);
        if (!out)
            return 1;
        write_command_page(out, sm_command_list[i]);
        failed |= finish(out);
    }
    return failed;
}
