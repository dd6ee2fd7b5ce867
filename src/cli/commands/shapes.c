#include "terminal.h"

#include <math.h>
#include <string.h>

static void list(void)
{
    for (size_t i = 0; i < sm_shape_count(); i++) {
        struct sm_shape_info info;
        sm_shape_describe(i, &info);
        cli_entry(info.name, info.summary, 0, 24);
    }
    puts("\n'slowmatch shapes NAME' gives a shape's parameters and an example.");
}

static void print_faces(const struct sm_shape_info *info)
{
    char text[256] = "";
    for (size_t i = 0; info->faces[i]; i++)
        if (info->has_faces & (1u << i))
            snprintf(text + strlen(text), sizeof text - strlen(text), "%s%s%s", text[0] ? ", " : "",
                     info->faces[i], info->burning & (1u << i) ? " (usually)" : "");
    puts("\nfaces that may burn");
    cli_wrap(stdout, text, 2, 2);
}

struct picture {
    size_t shape;
    enum sm_picture_kind kind;
};

static enum sm_status write_picture(void *user, struct sm_sink *sink, struct sm_error *err)
{
    const struct picture *picture = user;
    return sm_shape_draw(picture->shape, picture->kind, sink, err);
}

static enum cli_exit draw(const char *path, size_t shape)
{
    struct picture picture = {.shape = shape};
    struct sm_error err = {0};
    if (sm_picture_kind_of(path, &picture.kind, &err) == SM_OK)
        return cli_write_file(path, write_picture, &picture);
    cli_say_error(&err);
    return CLI_BAD_INPUT;
}

static enum cli_exit describe(struct cli *cli, const char *name)
{
    struct sm_shape_info info;
    const struct sm_param *common;
    const char *near = NULL;
    const size_t i = sm_shape_place(name, &near);
    if (i == sm_shape_count()) {
        cli_say_unknown(cli, "there is no shape", name, near);
        return CLI_BAD_INPUT;
    }
    sm_shape_describe(i, &info);
    printf("%s: %s\n\n", info.name, info.summary);
    const size_t n_common = sm_grain_params(&common);
    cli_print_parameters(common, n_common, 2, cli->system);
    cli_print_parameters(info.params, info.n_params, 2, cli->system);
    print_faces(&info);
    printf("\nexample\n  %s\n", info.example); /* on one line, so that it can be copied */
    const char *plot = cli_value(cli, "plot");
    return plot ? draw(plot, i) : CLI_DONE;
}

static enum cli_exit run(struct cli *cli)
{
    if (!cli_unit_system(cli) || !cli_output_names(cli))
        return CLI_BAD_INPUT;
    if (cli->n_arguments == 0 && cli_value(cli, "plot")) {
        cli_say_usage(cli, "--plot draws one shape: name it");
        return CLI_BAD_INPUT;
    }
    if (cli->n_arguments == 0) {
        list();
        return CLI_DONE;
    }
    return describe(cli, cli->arguments[0]);
}

const struct sm_command sm_command_shapes = {
    .name = "shapes",
    .summary = "list the grain shapes, or describe one",
    .arguments = "[NAME]",
    .detail =
        "--plot draws the shape's example to scale: its lengths and angles by their names, and its burning "
        "surface at equal distances burned.",
    .example = "slowmatch shapes star --plot star.svg",
    .shared = CLI_PLOT | CLI_UNITS,
    .max_arguments = 1,
    .run = run,
};
