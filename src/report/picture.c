#include "report/picture.h"

#include <string.h>
#include <strings.h>

static const struct {
    const char *name, *media_type;
} kinds[] = {
    [SM_PLOT_SVG] = {"svg", "image/svg+xml"},
    [SM_PLOT_PNG] = {"png", "image/png"},
    [SM_PLOT_PDF] = {"pdf", "application/pdf"},
};

enum sm_status sm_plot_kind_from_path(const char *path, enum sm_plot_kind *kind, struct sm_error *err)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    for (size_t i = 0; dot && i < SM_COUNT(kinds); i++)
        if (strcasecmp(dot + 1, kinds[i].name) == 0) {
            *kind = (enum sm_plot_kind)i;
            return SM_OK;
        }
    return sm_fail(err, SM_E_FIELD,
                   "'%s' must end in .svg, .png or .pdf to say what kind of picture to write", name);
}

const char *sm_plot_kind_name(enum sm_plot_kind kind)
{
    return kinds[kind].name;
}

const char *sm_plot_kind_media_type(enum sm_plot_kind kind)
{
    return kinds[kind].media_type;
}
