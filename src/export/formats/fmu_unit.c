/*
 * The motor as a unit for co-simulation, FMI 2.0: a ZIP archive of a description, a library and a table.
 *
 * The library is the same for every motor and built once with the project, so that exporting runs no compiler; it reads its
 * table from resources/. Reference: FMI 2.0.5, section 2.3 and chapter 4.
 */
#include "base/text.h"
#include "doc/xml_write.h"
#include "export/archive.h"
#include "export/fmu_parts.h"
#include "export/licence.h"
#include "export/lines.h"

static const char page_head[] =
    "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Solid "
    "motor</title></head><body>\n"
    "<p>One solid motor against time since ignition. It predicts; it does not certify.</p>\n"
    "<p>Set <code>ignition</code> true to light it: time counts from the start of the first step during "
    "which it is true, and "
    "it can't be put out. Outputs are those at the end of a step, with the <code>ambient_pressure</code> "
    "that held during it. "
    "<code>impulse</code> is exact over steps of any length: with coarse steps take its difference over the "
    "step for the mean "
    "thrust. <code>time_scale</code> stretches time and divides thrust and flow, so that impulse and mass "
    "stay; "
    "<code>thrust_scale</code> acts on thrust and impulse alone. Centres of mass are from the head end of "
    "the chamber aft; "
    "inertias are about them.</p>\n<ul>\n";

struct parts {
    struct sm_memory_sink table, description, page;
    char library_name[96];
};

static enum sm_status put_page(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(sm_sink_text(sink, page_head, err));
    for (size_t i = 0; i < e->n_facts; i++) {
        char line[SM_FACT_TEXT];
        SM_TRY(sm_sink_text(sink, "<li>", err));
        SM_TRY(sm_xml_text(sink, sm_fact_line(&e->facts[i], line), err));
        SM_TRY(sm_sink_text(sink, "</li>\n", err));
    }
    return sm_sink_text(sink, "</ul>\n</body></html>\n", err);
}

static enum sm_status make_parts(const struct sm_export *e, struct parts *p, struct sm_error *err)
{
    char guid[SM_FMU_GUID + 1];
    SM_TRY(sm_fmu_write_table(e, &p->table.sink, guid, err));
    SM_TRY(sm_fmu_describe(e, guid, &p->description.sink, err));
    sm_text_format(p->library_name, sizeof p->library_name, "binaries/%s/" SM_FMU_IDENTIFIER ".so",
                   sm_fmu_platform);
    return put_page(e, &p->page.sink, err);
}

static enum sm_status add_parts(struct sm_archive *a, const struct parts *p, struct sm_error *err)
{
    const struct {
        const char *name;
        const void *bytes;
        size_t n;
        int is_program;
    } rows[] = {
        {"modelDescription.xml", p->description.bytes, p->description.n, 0},
        {p->library_name, sm_fmu_library, sm_fmu_library_size, 1},
        {"sources/motor_fmu.c", sm_fmu_source, sm_fmu_source_size, 0},
        {"resources/motor.tab", p->table.bytes, p->table.n, 0},
        {"documentation/index.html", p->page.bytes, p->page.n, 0},
        {"documentation/licenses/license.txt", SM_LICENCE_0BSD, sizeof SM_LICENCE_0BSD - 1, 0},
    };
    for (size_t i = 0; i < SM_COUNT(rows); i++)
        SM_TRY(sm_archive_add(a, rows[i].name, rows[i].bytes, rows[i].n, rows[i].is_program, err));
    return SM_OK;
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    struct parts p;
    struct sm_archive *archive = NULL;
    sm_memory_sink_init(&p.table, NULL);
    sm_memory_sink_init(&p.description, NULL);
    sm_memory_sink_init(&p.page, NULL);
    enum sm_status status = make_parts(e, &p, err);
    if (status == SM_OK)
        status = sm_archive_begin(&archive, err);
    if (status == SM_OK)
        status = add_parts(archive, &p, err);
    const enum sm_status ended = sm_archive_end(archive, status == SM_OK ? sink : NULL, err);
    sm_memory_sink_release(&p.table);
    sm_memory_sink_release(&p.description);
    sm_memory_sink_release(&p.page);
    return status == SM_OK ? ended : status;
}

const struct sm_format sm_format_fmu_unit = {
    .name = "fmu",
    .summary = "FMI 2.0 co-simulation unit with ignition and ambient pressure, for system simulators",
    .ending = ".fmu",
    .is_binary = 1,
    .write = write,
};
