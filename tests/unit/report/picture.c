#include <criterion/criterion.h>
#include <string.h>

#include "report/picture.h"

/* Media types as registered: image/svg+xml with W3C, image/png in RFC 2083, application/pdf in RFC 8118. */
Test(picture, kinds_by_path)
{
    static const struct {
        const char *path;
        enum sm_plot_kind kind;
        const char *media_type;
    } good[] = {
        {"x.svg", SM_PLOT_SVG, "image/svg+xml"},
        {"a.b/c.d.PNG", SM_PLOT_PNG, "image/png"},
        {"/tmp/x y.Pdf", SM_PLOT_PDF, "application/pdf"},
        {".svg", SM_PLOT_SVG, "image/svg+xml"},
    };
    for (size_t i = 0; i < SM_COUNT(good); i++) {
        enum sm_plot_kind kind = (enum sm_plot_kind)99;
        cr_assert_eq(sm_plot_kind_from_path(good[i].path, &kind, NULL), SM_OK, "%s", good[i].path);
        cr_expect_eq(kind, good[i].kind);
        cr_expect_str_eq(sm_plot_kind_media_type(kind), good[i].media_type);
    }
    static const char *const bad[] = {"", "x", "svg", "x.gif", "x.svg.gz", "a.svg/x", "x.svgz", "x."};
    for (size_t i = 0; i < SM_COUNT(bad); i++) {
        struct sm_error err = {0};
        enum sm_plot_kind kind = (enum sm_plot_kind)99;
        cr_expect_eq(sm_plot_kind_from_path(bad[i], &kind, &err), SM_E_FIELD, "%s", bad[i]);
        cr_expect_eq((int)kind, 99);
        cr_expect_not_null(strstr(err.message, ".svg, .png or .pdf"));
    }
}
