/*
 * A text file for the table blocks of the Modelica Standard Library.
 *
 * Reference: Modelica Standard Library 4, Modelica.Blocks.Sources.CombiTimeTable and Modelica.Blocks.Tables.CombiTable2Ds
 * (text file format). The file must begin with "#1"; the last two rows of the table are equal, so that the blocks' usual
 * extrapolation through them gives nothing after burn-out.
 */
#include "base/text.h"
#include "export/lines.h"

static enum sm_status write_table(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    enum sm_out places[SM_N_OUT];
    const size_t n = sm_lines_columns(e, places);
    SM_TRY(sm_sink_text(sink, "# columns of motor:\n", err));
    for (size_t c = 0; c < n; c++) {
        const struct sm_out_column *column = &sm_out_columns[places[c]];
        SM_TRY(sm_sink_format(sink, err, "#   %zu %s [%s]: %s\n", c + 1, column->name,
                              sm_dim_unit(column->dim), column->meaning));
    }
    SM_TRY(sm_sink_format(sink, err, "double motor(%zu,%zu)\n", e->n, n));
    for (size_t i = 0; i < e->n; i++)
        SM_TRY(sm_lines_row(e, places, n, i, ",", "\n", sink, err));
    return SM_OK;
}

/* Thrust in two dimensions: times down, pressures across, and zero in the corner. */
static enum sm_status write_by_ambient(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    if (e->n_ambient < 2)
        return SM_OK;
    SM_TRY(sm_sink_text(sink, "# thrust [N] by time [s], down, and ambient pressure [Pa], across\n", err));
    SM_TRY(sm_sink_format(sink, err, "double thrust_by_ambient(%zu,%zu)\n0", e->n + 1, e->n_ambient + 1));
    for (size_t k = 0; k < e->n_ambient; k++)
        SM_TRY(sm_sink_format(sink, err, ",%s", sm_text_double(number, e->ambient[k])));
    for (size_t i = 0; i < e->n; i++) {
        SM_TRY(sm_sink_format(sink, err, "\n%s", sm_text_double(number, e->column[SM_OUT_TIME][i])));
        for (size_t k = 0; k < e->n_ambient; k++)
            SM_TRY(sm_sink_format(sink, err, ",%s", sm_text_double(number, e->thrust[k][i])));
    }
    return sm_sink_text(sink, "\n", err);
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    SM_TRY(sm_sink_text(sink, "#1\n", err));
    SM_TRY(sm_lines_facts(e, "# ", "\n", sink, err));
    SM_TRY(write_table(e, sink, err));
    SM_TRY(write_by_ambient(e, sink, err));
    for (size_t i = 0; i < e->n_facts; i++)
        if (!e->facts[i].text)
            SM_TRY(sm_sink_format(sink, err, "double %s(1,1)   # %s\n%s\n", e->facts[i].key,
                                  sm_dim_unit(e->facts[i].dim), sm_text_double(number, e->facts[i].number)));
    return SM_OK;
}

const struct sm_format sm_format_modelica_table = {
    .name = "modelica",
    .summary = "text table for the table blocks of the Modelica Standard Library",
    .ending = ".txt",
    .write = write,
};
