#include "export/archive.h"

#include <stdlib.h>
#include <zip.h>

struct sm_archive {
    zip_source_t *source; /* owned: where the finished bytes are read from */
    zip_t *zip;           /* owned until it is closed */
};

static enum sm_status out_of_memory(struct sm_error *err)
{
    return sm_fail(err, SM_E_NOMEM, "out of memory for the archive");
}

enum sm_status sm_archive_begin(struct sm_archive **archive, struct sm_error *err)
{
    struct sm_archive *a = calloc(1, sizeof *a);
    *archive = NULL;
    if (!a)
        return out_of_memory(err);
    a->source = zip_source_buffer_create(NULL, 0, 0, NULL);
    if (a->source) {
        zip_source_keep(a->source);
        a->zip = zip_open_from_source(a->source, ZIP_TRUNCATE, NULL);
        if (!a->zip)
            zip_source_free(a->source); /* the reference that an open archive would hold */
    }
    *archive = a;
    if (a->zip)
        return SM_OK;
    *archive = NULL;
    zip_source_free(a->source);
    free(a);
    return out_of_memory(err);
}

enum sm_status sm_archive_add(struct sm_archive *a, const char *name, const void *bytes, size_t n,
                              int is_program, struct sm_error *err)
{
    const zip_uint32_t mode = is_program ? 0100755u : 0100644u;
    zip_source_t *part = zip_source_buffer(a->zip, bytes, n, 0);
    const zip_int64_t added = part ? zip_file_add(a->zip, name, part, ZIP_FL_ENC_UTF_8) : -1;
    if (added < 0) {
        zip_source_free(part);
        return out_of_memory(err);
    }
    const zip_uint64_t i = (zip_uint64_t)added;
    /* A fixed day, 1980-01-01, the first that the layout knows: given as it stands in the file, since the other call goes
     * through local time. */
    if (zip_set_file_compression(a->zip, i, ZIP_CM_DEFLATE, 0) != 0 ||
        zip_file_set_dostime(a->zip, i, 0, 0x21, 0) != 0 ||
        zip_file_set_external_attributes(a->zip, i, 0, ZIP_OPSYS_UNIX, mode << 16) != 0)
        return sm_fail(err, SM_E_INTERNAL, "the archive's part %s can't be described", name);
    return SM_OK;
}

static enum sm_status copy(zip_source_t *source, struct sm_sink *sink, struct sm_error *err)
{
    char bytes[16384];
    enum sm_status status = SM_OK;
    zip_int64_t n = 0;
    if (zip_source_open(source) != 0)
        return sm_fail(err, SM_E_INTERNAL, "the finished archive can't be read");
    while (status == SM_OK && (n = zip_source_read(source, bytes, sizeof bytes)) > 0)
        status = sm_sink_bytes(sink, bytes, (size_t)n, err);
    zip_source_close(source);
    return status == SM_OK && n < 0 ? sm_fail(err, SM_E_INTERNAL, "the finished archive can't be read")
                                    : status;
}

enum sm_status sm_archive_end(struct sm_archive *a, struct sm_sink *sink, struct sm_error *err)
{
    enum sm_status status = SM_OK;
    if (!a)
        return SM_OK;
    if (sink && zip_close(a->zip) == 0) {
        status = copy(a->source, sink, err);
    } else {
        zip_discard(a->zip);
        status = sink ? out_of_memory(err) : SM_OK;
    }
    zip_source_free(a->source);
    free(a);
    return status;
}
