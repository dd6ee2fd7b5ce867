#include "export/fmu_parts.h"
#include "base/text.h"
#include "doc/xml_write.h"
#include "export/lines.h"
#include "export/sha256.h"
#include "export/spelling.h"
#include "slowmatch/catalog.h"

#include <stdint.h>
#include <string.h>

/* Columns behind thrust, in the order of the table's file and of the unit's value references. */
static const enum sm_out further[] = {SM_OUT_MASS_FLOW,           SM_OUT_PRESSURE,
                                      SM_OUT_PROPELLANT_MASS,     SM_OUT_CENTER_OF_MASS,
                                      SM_OUT_INERTIA_AXIAL,       SM_OUT_INERTIA_TRANSVERSE,
                                      SM_OUT_MOTOR_MASS,          SM_OUT_MOTOR_CENTER_OF_MASS,
                                      SM_OUT_MOTOR_INERTIA_AXIAL, SM_OUT_MOTOR_INERTIA_TRANSVERSE};

/* ---- the table ---- */

static void put_whole(unsigned char *to, uint32_t value)
{
    for (int i = 0; i < 4; i++)
        to[i] = (unsigned char)(value >> (8 * i));
}

static enum sm_status put_doubles(struct sm_sink *sink, const double *values, size_t n, struct sm_error *err)
{
    for (size_t i = 0; i < n; i++) {
        unsigned char bytes[8];
        uint64_t bits;
        memcpy(&bits, &values[i], sizeof bits);
        put_whole(bytes, (uint32_t)bits);
        put_whole(bytes + 4, (uint32_t)(bits >> 32));
        SM_TRY(sm_sink_bytes(sink, (const char *)bytes, sizeof bytes, err));
    }
    return SM_OK;
}

/* Rows, pressures, which columns, and all numbers. */
static enum sm_status put_numbers(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    unsigned char counts[12];
    uint32_t columns = 0;
    for (size_t i = 0; i < SM_COUNT(further); i++)
        columns |= e->column[further[i]] ? 1u << i : 0u;
    put_whole(counts, (uint32_t)e->n);
    put_whole(counts + 4, (uint32_t)e->n_ambient);
    put_whole(counts + 8, columns);
    SM_TRY(sm_sink_bytes(sink, (const char *)counts, sizeof counts, err));
    SM_TRY(put_doubles(sink, e->ambient, e->n_ambient, err));
    SM_TRY(put_doubles(sink, e->column[SM_OUT_TIME], e->n, err));
    for (size_t k = 0; k < e->n_ambient; k++)
        SM_TRY(put_doubles(sink, e->thrust[k], e->n, err));
    for (size_t i = 0; i < SM_COUNT(further); i++)
        if (e->column[further[i]])
            SM_TRY(put_doubles(sink, e->column[further[i]], e->n, err));
    return SM_OK;
}

static void make_guid(const struct sm_export *e, const struct sm_memory_sink *numbers,
                      char guid[SM_FMU_GUID + 1])
{
    static const int ends[] = {8, 12, 16, 20, 32}; /* of the groups, in digits */
    struct sm_sha256 hash;
    unsigned char digest[SM_SHA256_BYTES];
    char hex[2 * SM_SHA256_BYTES + 1], line[SM_FACT_TEXT];
    size_t n = 0;
    sm_sha256_init(&hash);
    sm_sha256_add(&hash, numbers->bytes, numbers->n);
    for (size_t i = 0; i < e->n_facts; i++) {
        sm_fact_line(&e->facts[i], line);
        sm_sha256_add(&hash, line, strlen(line) + 1);
    }
    sm_sha256_end(&hash, digest);
    sm_sha256_hex(digest, hex);
    guid[n++] = '{';
    for (int i = 0, group = 0; i < 32; i++) {
        guid[n++] = hex[i];
        if (i + 1 == ends[group]) {
            guid[n++] = i + 1 < 32 ? '-' : '}';
            group++;
        }
    }
    guid[n] = '\0';
}

enum sm_status sm_fmu_write_table(const struct sm_export *e, struct sm_sink *sink, char guid[SM_FMU_GUID + 1],
                                  struct sm_error *err)
{
    struct sm_memory_sink numbers;
    sm_memory_sink_init(&numbers, NULL);
    enum sm_status status = put_numbers(e, &numbers.sink, err);
    if (status == SM_OK) {
        make_guid(e, &numbers, guid);
        status = sm_sink_text(sink, "SMMOTOR1", err);
    }
    if (status == SM_OK)
        status = sm_sink_bytes(sink, guid, SM_FMU_GUID, err);
    if (status == SM_OK)
        status = sm_sink_bytes(sink, "\0\0", 2, err);
    if (status == SM_OK)
        status = sm_sink_bytes(sink, numbers.bytes, numbers.n, err);
    sm_memory_sink_release(&numbers);
    return status;
}

/* ---- the description ---- */

/* An output: a column, with the unit's value reference; last of all comes "burning". */
struct output {
    enum sm_out column;
    unsigned reference;
};

enum { FIRST_OUTPUT = 6, MAX_OUTPUTS = 16 }; /* index in ModelVariables, from 1 */

static size_t list_outputs(const struct sm_export *e, struct output outputs[MAX_OUTPUTS])
{
    size_t n = 0;
    outputs[n++] = (struct output){SM_OUT_THRUST, 10};
    outputs[n++] = (struct output){SM_OUT_IMPULSE, 11};
    for (size_t i = 0; i < SM_COUNT(further); i++)
        if (e->column[further[i]])
            outputs[n++] = (struct output){further[i], 12 + (unsigned)i};
    return n;
}

static enum sm_status put_units(struct sm_sink *sink, struct sm_error *err)
{
    static const enum sm_dim dims[] = {SM_DIM_NONE,    SM_DIM_TIME,      SM_DIM_FORCE,
                                       SM_DIM_IMPULSE, SM_DIM_MASS_FLOW, SM_DIM_PRESSURE,
                                       SM_DIM_MASS,    SM_DIM_LENGTH,    SM_DIM_INERTIA};
    SM_TRY(sm_sink_text(sink, "  <UnitDefinitions>\n", err));
    for (size_t i = 0; i < SM_COUNT(dims); i++) {
        const struct sm_spelling *s = sm_spelling_of(dims[i]);
        const char *display =
            dims[i] == SM_DIM_PRESSURE
                ? "<DisplayUnit name=\"kPa\" factor=\"0.001\"/><DisplayUnit name=\"MPa\" factor=\"1e-06\"/>"
                : "";
        SM_TRY(sm_sink_format(sink, err, "    <Unit name=\"%s\"><BaseUnit%s/>%s</Unit>\n", s->fmi,
                              s->fmi_base, display));
    }
    return sm_sink_text(sink, "  </UnitDefinitions>\n", err);
}

static enum sm_status put_head(const struct sm_export *e, const char *guid, struct sm_sink *sink,
                               struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    SM_TRY(sm_sink_text(sink,
                        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                        "<fmiModelDescription fmiVersion=\"2.0\" modelName=\"",
                        err));
    SM_TRY(sm_xml_text(sink, e->name, err));
    SM_TRY(sm_sink_format(sink, err, "\" guid=\"%s\"\n    description=\"Solid motor ", guid));
    SM_TRY(sm_xml_text(sink, e->result->designation, err));
    SM_TRY(sm_sink_format(sink, err, ", class %s, total impulse %s N s: ", e->result->impulse_class.letter,
                          sm_text_double(number, sm_export_round(e->result->thrust.total_impulse))));
    SM_TRY(sm_xml_text(sink, sm_facts_find(e, "standing")->text, err));
    SM_TRY(sm_sink_format(
        sink, err,
        "\"\n    generationTool=\"slowmatch %s\" variableNamingConvention=\"structured\">\n"
        "  <CoSimulation modelIdentifier=\"" SM_FMU_IDENTIFIER "\"\n"
        "      canHandleVariableCommunicationStepSize=\"true\" canNotUseMemoryManagementFunctions=\"true\"\n"
        "      canGetAndSetFMUstate=\"true\" canSerializeFMUstate=\"true\">\n"
        "    <SourceFiles><File name=\"motor_fmu.c\"/></SourceFiles>\n  </CoSimulation>\n",
        sm_version()));
    SM_TRY(put_units(sink, err));
    return sm_sink_format(
        sink, err,
        "  <LogCategories><Category name=\"logStatusError\" description=\"Errors\"/></LogCategories>\n"
        "  <DefaultExperiment startTime=\"0\" stopTime=\"%s\" stepSize=\"0.01\"/>\n",
        sm_text_double(number, sm_export_round(1.2 * e->column[SM_OUT_TIME][e->n - 1])));
}

static enum sm_status put_inputs(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(
        sm_sink_text(sink,
                     "    <ScalarVariable name=\"time\" valueReference=\"0\" causality=\"independent\" "
                     "variability=\"continuous\">\n"
                     "      <Real quantity=\"Time\" unit=\"s\"/></ScalarVariable>\n"
                     "    <ScalarVariable name=\"ignition\" valueReference=\"2\" causality=\"input\" "
                     "variability=\"discrete\"\n"
                     "        description=\"Ignition command; latched at the start of the first step during "
                     "which it is true\">\n"
                     "      <Boolean start=\"false\"/></ScalarVariable>\n"
                     "    <ScalarVariable name=\"ambient_pressure\" valueReference=\"1\" causality=\"input\" "
                     "variability=\"continuous\"\n"
                     "        description=\"Static pressure around the nozzle",
                     err));
    if (e->n_ambient == 1)
        SM_TRY(sm_sink_text(sink, "; thrust does not change with it, since no exit diameter is given", err));
    return sm_sink_text(sink,
                        "\">\n"
                        "      <Real quantity=\"Pressure\" unit=\"Pa\" min=\"0\" nominal=\"100000\" "
                        "start=\"101325\"/></ScalarVariable>\n"
                        "    <ScalarVariable name=\"thrust_scale\" valueReference=\"40\" "
                        "causality=\"parameter\" variability=\"fixed\" "
                        "initial=\"exact\"\n        description=\"Factor on thrust and impulse\">\n"
                        "      <Real unit=\"1\" min=\"0\" start=\"1\"/></ScalarVariable>\n"
                        "    <ScalarVariable name=\"time_scale\" valueReference=\"41\" "
                        "causality=\"parameter\" variability=\"fixed\" "
                        "initial=\"exact\"\n        description=\"Factor on time, above 0; thrust and flow "
                        "are divided by it\">\n"
                        "      <Real unit=\"1\" min=\"0\" start=\"1\"/></ScalarVariable>\n",
                        err);
}

static enum sm_status put_output(const struct output *o, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_out_column *c = &sm_out_columns[o->column];
    const struct sm_spelling *s = sm_spelling_of(c->dim);
    const char *meaning =
        o->column == SM_OUT_THRUST    ? "Thrust along the motor's axis, forwards, at ambient_pressure"
        : o->column == SM_OUT_IMPULSE ? "Impulse delivered since ignition at ambient_pressure"
                                      : c->meaning;
    return sm_sink_format(sink, err,
                          "    <ScalarVariable name=\"%s\" valueReference=\"%u\" causality=\"output\" "
                          "variability=\"continuous\" initial=\"calculated\"\n        description=\"%s\">\n"
                          "      <Real quantity=\"%s\" unit=\"%s\"/></ScalarVariable>\n",
                          c->name, o->reference, meaning, s->quantity, s->fmi);
}

/* No output answers to an input at once but chamber pressure before ignition, which is the ambient pressure, variable 3. */
static enum sm_status put_structure(const struct output *outputs, size_t n, struct sm_sink *sink,
                                    struct sm_error *err)
{
    SM_TRY(sm_sink_text(sink, "  <ModelStructure>\n    <Outputs>\n", err));
    for (size_t i = 0; i <= n; i++)
        SM_TRY(sm_sink_format(sink, err, "      <Unknown index=\"%zu\" dependencies=\"\"/>\n",
                              FIRST_OUTPUT + i));
    SM_TRY(sm_sink_text(sink, "    </Outputs>\n    <InitialUnknowns>\n", err));
    for (size_t i = 0; i <= n; i++)
        SM_TRY(sm_sink_format(sink, err, "      <Unknown index=\"%zu\" dependencies=\"%s\"/>\n",
                              FIRST_OUTPUT + i, i < n && outputs[i].column == SM_OUT_PRESSURE ? "3" : ""));
    return sm_sink_text(sink, "    </InitialUnknowns>\n  </ModelStructure>\n", err);
}

enum sm_status sm_fmu_describe(const struct sm_export *e, const char *guid, struct sm_sink *sink,
                               struct sm_error *err)
{
    struct output outputs[MAX_OUTPUTS];
    const size_t n = list_outputs(e, outputs);
    SM_TRY(put_head(e, guid, sink, err));
    SM_TRY(sm_sink_text(sink, "  <ModelVariables>\n", err));
    SM_TRY(put_inputs(e, sink, err));
    for (size_t i = 0; i < n; i++)
        SM_TRY(put_output(&outputs[i], sink, err));
    SM_TRY(sm_sink_text(sink,
                        "    <ScalarVariable name=\"burning\" valueReference=\"30\" causality=\"output\" "
                        "variability=\"discrete\" initial=\"calculated\"\n"
                        "        description=\"True from ignition to the end of the table\">\n"
                        "      <Boolean/></ScalarVariable>\n  </ModelVariables>\n",
                        err));
    SM_TRY(put_structure(outputs, n, sink, err));
    return sm_sink_text(sink, "</fmiModelDescription>\n", err);
}
