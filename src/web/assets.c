#include "assets.h"

#include <string.h>

#include "slowmatch/slowmatch.h"

extern const unsigned char web_bench_html[], web_bench_css[], web_bench_js[], web_form_js[], web_seek_js[];
extern const size_t web_bench_html_size, web_bench_css_size, web_bench_js_size, web_form_js_size,
    web_seek_js_size;

static const char html[] = "text/html; charset=utf-8", css[] = "text/css; charset=utf-8",
                  script[] = "text/javascript; charset=utf-8";

static const struct own {
    const char *path, *type;
    const unsigned char *bytes;
    const size_t *n;
} owns[] = {
    {"", html, web_bench_html, &web_bench_html_size},
    {"bench.css", css, web_bench_css, &web_bench_css_size},
    {"bench.js", script, web_bench_js, &web_bench_js_size},
    {"form.js", script, web_form_js, &web_form_js_size},
    {"seek.js", script, web_seek_js, &web_seek_js_size},
};

static const struct shared {
    const char *path, *type;
    enum sm_page_part part;
} shared[] = {
    {"common.css", css, SM_PAGE_COMMON_SHEET},
    {"uplot.css", css, SM_PAGE_PLOT_SHEET},
    {"uplot.js", script, SM_PAGE_PLOT_LIBRARY},
    {"plot.js", script, SM_PAGE_PLOT_CODE},
};

int web_asset_find(const char *path, struct web_asset *asset)
{
    for (size_t i = 0; i < sizeof owns / sizeof owns[0]; i++)
        if (strcmp(path, owns[i].path) == 0) {
            *asset = (struct web_asset){owns[i].path, owns[i].type, (const char *)owns[i].bytes, *owns[i].n};
            return 1;
        }
    for (size_t i = 0; i < sizeof shared / sizeof shared[0]; i++)
        if (strcmp(path, shared[i].path) == 0) {
            *asset = (struct web_asset){.path = shared[i].path, .type = shared[i].type};
            asset->bytes = sm_page_part(shared[i].part, &asset->n);
            return asset->bytes != NULL;
        }
    return 0;
}
