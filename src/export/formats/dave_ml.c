/*
 * The motor as gridded tables of time in DAVE-ML 2.0, with check cases.
 *
 * Reference: ANSI/AIAA S-119-2011 and its DTD, DAVEfunc.dtd 2.0.2 (2011). Written inside the part that readers take alike:
 * tables by reference, independentVarRef, linear and held, values parted by comma and line end, provenance outside the
 * check cases, every input and output in each of them with internal values and tolerances.
 *
 * Thrust is a table of time and ambient pressure, which holds for separated flow and for a tail below choking too, where
 * vacuum thrust less pressure times exit area does not.
 */
#include "base/text.h"
#include "curve/curve.h"
#include "doc/xml_write.h"
#include "export/lines.h"
#include "export/spelling.h"

#include <math.h>

/* What a value may be off in a check case, over the table's largest [1]: double arithmetic, linear interpolation. */
static const double tolerance = 1e-9;
/* The date of a file that was given none; the header says so. */
static const char no_date[] = "1970-01-01";

/* What stands in a DAVE-ML file as a variable of its own. */
struct variable {
    const char *name, *id, *axis, *sign;
};

static const struct variable variables[SM_N_OUT] = {
    [SM_OUT_TIME] = {"timeSinceIgnition", "t", NULL, NULL},
    [SM_OUT_THRUST] = {"thrustBodyForce_X", "F", "body", "FWD"},
    [SM_OUT_IMPULSE] = {"impulse", "J", NULL, NULL},
    [SM_OUT_MASS_FLOW] = {"massFlow", "mdot", NULL, "OUT"},
    [SM_OUT_PRESSURE] = {"chamberPressure", "p_c", NULL, NULL},
    [SM_OUT_PROPELLANT_MASS] = {"propellantMass", "m_p", NULL, NULL},
    [SM_OUT_CENTER_OF_MASS] = {"propellantCenterOfMass", "x_p", "motor", "AFT"},
    [SM_OUT_INERTIA_AXIAL] = {"propellantInertiaAxial", "Ia_p", NULL, NULL},
    [SM_OUT_INERTIA_TRANSVERSE] = {"propellantInertiaTransverse", "It_p", NULL, NULL},
    [SM_OUT_MOTOR_MASS] = {"motorMass", "m_m", NULL, NULL},
    [SM_OUT_MOTOR_CENTER_OF_MASS] = {"motorCenterOfMass", "x_m", "motor", "AFT"},
    [SM_OUT_MOTOR_INERTIA_AXIAL] = {"motorInertiaAxial", "Ia_m", NULL, NULL},
    [SM_OUT_MOTOR_INERTIA_TRANSVERSE] = {"motorInertiaTransverse", "It_m", NULL, NULL},
};

static int is_by_ambient(const struct sm_export *e)
{
    return e->n_ambient > 1;
}

/* Is the column an output of its own? Vacuum thrust is the first pressure of the thrust table. */
static int is_output(const struct sm_export *e, int c)
{
    return c != SM_OUT_TIME && variables[c].name && e->column[c];
}

/* ---- header ---- */

static const char *date_of(const struct sm_export *e)
{
    return e->options.date ? e->options.date : no_date;
}

static enum sm_status put_author(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    return sm_sink_format(sink, err, "<author name=\"%s\" org=\"%s\"/>\n<creationDate date=\"%s\"/>\n",
                          sm_facts_find(e, "program")->text,
                          e->result->is_curve ? "from a curve as given" : "computed, not measured",
                          date_of(e));
}

static enum sm_status put_description(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(sm_sink_text(
        sink,
        "<description>Performance of one solid rocket motor against time since ignition, SI units. "
        "Thrust acts along the motor's axis, which is taken as the body's X axis. Centres of mass "
        "are measured aft from the head end of the chamber; inertias are about them.\n",
        err));
    if (!e->options.date)
        SM_TRY(sm_sink_format(sink, err, "No date was given: %s stands for none.\n", no_date));
    for (size_t i = 0; i < e->n_facts; i++) {
        char line[SM_FACT_TEXT];
        SM_TRY(sm_xml_text(sink, sm_fact_line(&e->facts[i], line), err));
        SM_TRY(sm_sink_text(sink, "\n", err));
    }
    return sm_sink_text(sink, "</description>\n", err);
}

static enum sm_status put_reference(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(sm_sink_text(sink, "<reference refID=\"ref_motor\" author=\"as given\" title=\"Motor file ", err));
    SM_TRY(sm_xml_text(sink, e->options.input_name ? e->options.input_name : "of unknown name", err));
    return sm_sink_format(sink, err, "\" date=\"%s\"/>\n", date_of(e));
}

static enum sm_status put_header(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    const struct sm_fact *standing = sm_facts_find(e, "standing");
    SM_TRY(sm_sink_text(
        sink,
        "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"no\"?>\n"
        "<!DOCTYPE DAVEfunc PUBLIC \"-//AIAA//DTD for Flight Dynamic Models - Functions 2.0//EN\"\n"
        "    \"http://daveml.org/DTDs/2p0/DAVEfunc.dtd\">\n"
        "<DAVEfunc xmlns=\"http://daveml.org/2010/DAVEML\">\n<fileHeader name=\"",
        err));
    SM_TRY(sm_xml_text(sink, e->name, err));
    SM_TRY(sm_sink_text(sink, "\">\n", err));
    SM_TRY(put_author(e, sink, err));
    SM_TRY(put_description(e, sink, err));
    SM_TRY(put_reference(e, sink, err));
    SM_TRY(sm_sink_text(sink, "<provenance provID=\"pv_run\">\n", err));
    SM_TRY(put_author(e, sink, err));
    SM_TRY(sm_sink_text(sink, "<documentRef refID=\"ref_motor\"/>\n<description>", err));
    SM_TRY(sm_xml_text(sink, standing->text, err));
    return sm_sink_text(sink, "</description>\n</provenance>\n</fileHeader>\n\n", err);
}

/* ---- variables ---- */

static enum sm_status put_inputs(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    SM_TRY(
        sm_sink_text(sink,
                     "<variableDef name=\"timeSinceIgnition\" varID=\"t\" units=\"s\" initialValue=\"0\">\n"
                     "<isInput/>\n</variableDef>\n",
                     err));
    if (!is_by_ambient(e))
        return SM_OK;
    return sm_sink_format(
        sink, err,
        "<variableDef name=\"ambientPressure\" varID=\"p_a\" units=\"Pa\" initialValue=\"%s\">\n"
        "<isInput/>\n</variableDef>\n",
        sm_text_double(number, e->ambient[e->own]));
}

/* The table's value is a variable inside, held above zero whatever a reader does beyond the table's ends. */
static enum sm_status put_thrust(struct sm_sink *sink, struct sm_error *err)
{
    return sm_sink_text(
        sink,
        "<variableDef name=\"tabulatedThrust\" varID=\"F_tab\" units=\"N\"/>\n"
        "<variableDef name=\"thrustBodyForce_X\" varID=\"F\" units=\"N\" axisSystem=\"body\" sign=\"FWD\">\n"
        "<description>Thrust along the motor's axis, never below zero.</description>\n"
        "<calculation>\n<math xmlns=\"http://www.w3.org/1998/Math/MathML\">"
        "<apply><max/><ci>F_tab</ci><cn>0</cn></apply></math>\n</calculation>\n"
        "<isOutput/>\n<isStdAIAA/>\n</variableDef>\n",
        err);
}

static enum sm_status put_variable(int c, struct sm_sink *sink, struct sm_error *err)
{
    const struct variable *v = &variables[c];
    const struct sm_out_column *column = &sm_out_columns[c];
    SM_TRY(sm_sink_format(sink, err, "<variableDef name=\"%s\" varID=\"%s\" units=\"%s\"", v->name, v->id,
                          sm_spelling_of(column->dim)->dave));
    if (v->axis)
        SM_TRY(sm_sink_format(sink, err, " axisSystem=\"%s\"", v->axis));
    if (v->sign)
        SM_TRY(sm_sink_format(sink, err, " sign=\"%s\"", v->sign));
    return sm_sink_format(sink, err, ">\n<description>%s.</description>\n<isOutput/>\n</variableDef>\n",
                          column->meaning);
}

static enum sm_status put_variables(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(put_inputs(e, sink, err));
    SM_TRY(put_thrust(sink, err));
    for (int c = 0; c < SM_N_OUT; c++)
        if (c != SM_OUT_THRUST && is_output(e, c))
            SM_TRY(put_variable(c, sink, err));
    return sm_sink_text(sink, "\n", err);
}

/* ---- tables ---- */

static enum sm_status put_value(double value, int is_last, struct sm_sink *sink, struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    SM_TRY(sm_sink_text(sink, sm_text_double(number, value), err));
    return is_last ? SM_OK : sm_sink_text(sink, ",\n", err);
}

static enum sm_status put_values(const double *values, size_t n, struct sm_sink *sink, struct sm_error *err)
{
    for (size_t i = 0; i < n; i++)
        SM_TRY(put_value(values[i], i + 1 == n, sink, err));
    return SM_OK;
}

static enum sm_status put_breakpoints(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(sm_sink_text(sink, "<breakpointDef name=\"time\" bpID=\"bp_t\" units=\"s\">\n<bpVals>", err));
    SM_TRY(put_values(e->column[SM_OUT_TIME], e->n, sink, err));
    SM_TRY(sm_sink_text(sink, "</bpVals>\n</breakpointDef>\n", err));
    if (!is_by_ambient(e))
        return SM_OK;
    SM_TRY(sm_sink_text(
        sink, "<breakpointDef name=\"ambient pressure\" bpID=\"bp_p\" units=\"Pa\">\n<bpVals>", err));
    SM_TRY(put_values(e->ambient, e->n_ambient, sink, err));
    return sm_sink_text(sink, "</bpVals>\n</breakpointDef>\n", err);
}

static enum sm_status put_table(const struct sm_export *e, int c, struct sm_sink *sink, struct sm_error *err)
{
    const int by_ambient = c == SM_OUT_THRUST && is_by_ambient(e);
    SM_TRY(sm_sink_format(
        sink, err,
        "<griddedTableDef name=\"%s\" gtID=\"gt_%s\" units=\"%s\">\n"
        "<provenanceRef provID=\"pv_run\"/>\n<breakpointRefs><bpRef bpID=\"bp_t\"/>%s</breakpointRefs>\n"
        "<dataTable>",
        sm_out_columns[c].name, variables[c].id, sm_spelling_of(sm_out_columns[c].dim)->dave,
        by_ambient ? "<bpRef bpID=\"bp_p\"/>" : ""));
    if (!by_ambient)
        SM_TRY(put_values(e->column[c], e->n, sink, err));
    for (size_t i = 0; by_ambient && i < e->n; i++) /* the last breakpoint varies fastest */
        for (size_t k = 0; k < e->n_ambient; k++)
            SM_TRY(put_value(e->thrust[k][i], i + 1 == e->n && k + 1 == e->n_ambient, sink, err));
    return sm_sink_text(sink, "</dataTable>\n</griddedTableDef>\n", err);
}

static enum sm_status put_function(const struct sm_export *e, int c, struct sm_sink *sink,
                                   struct sm_error *err)
{
    static const char by_pressure[] =
        "<independentVarRef varID=\"p_a\" extrapolate=\"neither\" interpolate=\"linear\"/>\n";
    const char *name = sm_out_columns[c].name, *id = variables[c].id;
    return sm_sink_format(
        sink, err,
        "<function name=\"%s\">\n<provenanceRef provID=\"pv_run\"/>\n"
        "<independentVarRef varID=\"t\" extrapolate=\"neither\" interpolate=\"linear\"/>\n%s"
        "<dependentVarRef varID=\"%s\"/>\n"
        "<functionDefn name=\"%s of time\"><griddedTableRef gtID=\"gt_%s\"/></functionDefn>\n</function>\n",
        name, c == SM_OUT_THRUST && is_by_ambient(e) ? by_pressure : "", c == SM_OUT_THRUST ? "F_tab" : id,
        name, id);
}

static enum sm_status put_functions(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(put_breakpoints(e, sink, err));
    for (int c = 0; c < SM_N_OUT; c++)
        if (is_output(e, c))
            SM_TRY(put_table(e, c, sink, err));
    for (int c = 0; c < SM_N_OUT; c++)
        if (is_output(e, c))
            SM_TRY(put_function(e, c, sink, err));
    return SM_OK;
}

/* ---- check cases ---- */

static double largest_of(const double *y, size_t n)
{
    double largest = 0.0;
    for (size_t i = 0; i < n; i++)
        largest = fmax(largest, fabs(y[i]));
    return largest;
}

/* On the lines between times and between pressures, both held at their ends. */
static double thrust_at(const struct sm_export *e, double t, double ambient)
{
    const double *p = e->ambient, *time = e->column[SM_OUT_TIME];
    size_t k = 0;
    if (ambient <= p[0] || e->n_ambient == 1)
        return sm_curve_at(time, e->thrust[0], e->n, t);
    if (ambient >= p[e->n_ambient - 1])
        return sm_curve_at(time, e->thrust[e->n_ambient - 1], e->n, t);
    while (p[k + 1] < ambient)
        k++;
    const double low = sm_curve_at(time, e->thrust[k], e->n, t);
    const double high = sm_curve_at(time, e->thrust[k + 1], e->n, t);
    return low + (ambient - p[k]) / (p[k + 1] - p[k]) * (high - low);
}

static enum sm_status put_input(const char *name, const char *unit, double value, struct sm_sink *sink,
                                struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT];
    return sm_sink_format(sink, err,
                          "<signal><signalName>%s</signalName><signalUnits>%s</signalUnits>"
                          "<signalValue>%s</signalValue></signal>\n",
                          name, unit, sm_text_double(number, value));
}

static enum sm_status put_output(const struct sm_export *e, int c, double value, struct sm_sink *sink,
                                 struct sm_error *err)
{
    char number[SM_DOUBLE_TEXT], most[SM_DOUBLE_TEXT];
    const double largest =
        fmax(largest_of(e->column[c], e->n), c == SM_OUT_THRUST ? largest_of(e->thrust[0], e->n) : 0.0);
    const double off = largest > 0.0 ? tolerance * largest : tolerance;
    return sm_sink_format(sink, err,
                          "<signal><signalName>%s</signalName><signalUnits>%s</signalUnits>"
                          "<signalValue>%s</signalValue><tol>%s</tol></signal>\n",
                          variables[c].name, sm_spelling_of(sm_out_columns[c].dim)->dave,
                          sm_text_double(number, value), sm_text_double(most, sm_export_round(off)));
}

static enum sm_status put_shot(const struct sm_export *e, int number, double t, double ambient,
                               struct sm_sink *sink, struct sm_error *err)
{
    char text[SM_DOUBLE_TEXT], most[SM_DOUBLE_TEXT];
    const double thrust = thrust_at(e, t, ambient);
    SM_TRY(sm_sink_format(sink, err, "<staticShot name=\"case %d\">\n<checkInputs>\n", number));
    SM_TRY(put_input("timeSinceIgnition", "s", t, sink, err));
    if (is_by_ambient(e))
        SM_TRY(put_input("ambientPressure", "Pa", ambient, sink, err));
    SM_TRY(sm_sink_format(
        sink, err,
        "</checkInputs>\n<internalValues>\n<signal><varID>F_tab</varID><signalValue>%s</signalValue>"
        "<tol>%s</tol></signal>\n</internalValues>\n<checkOutputs>\n",
        sm_text_double(text, thrust),
        sm_text_double(most, sm_export_round(tolerance * largest_of(e->thrust[0], e->n)))));
    SM_TRY(put_output(e, SM_OUT_THRUST, fmax(0.0, thrust), sink, err));
    for (int c = 0; c < SM_N_OUT; c++)
        if (c != SM_OUT_THRUST && is_output(e, c))
            SM_TRY(put_output(e, c, sm_curve_at(e->column[SM_OUT_TIME], e->column[c], e->n, t), sink, err));
    return sm_sink_text(sink, "</checkOutputs>\n</staticShot>\n", err);
}

/* Before ignition, at knots and between them, at the peak and after the end, at three pressures in turn. */
static enum sm_status put_check_data(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    enum { SPREAD = 4 };
    const double *t = e->column[SM_OUT_TIME], *f = e->column[SM_OUT_THRUST];
    const size_t last = e->n - 1;
    const double end = t[last];
    size_t peak = 0;
    for (size_t i = 1; i < e->n; i++)
        peak = f[i] > f[peak] ? i : peak;
    const double pressures[] = {e->ambient[e->own], e->ambient[0], 0.37 * e->ambient[e->n_ambient - 1]};
    double times[5 + 2 * SPREAD] = {-0.1 * end, 0.0, t[peak], end, 1.5 * end};
    for (size_t i = 0; i < SPREAD; i++) {
        const size_t knot = (i + 1) * last / (SPREAD + 1);
        times[5 + 2 * i] = t[knot];
        times[6 + 2 * i] = sm_export_round(0.3 * t[knot] + 0.7 * t[knot + 1]);
    }
    SM_TRY(sm_sink_text(sink, "\n<checkData>\n<provenanceRef provID=\"pv_run\"/>\n", err));
    for (size_t i = 0; i < SM_COUNT(times); i++)
        SM_TRY(put_shot(e, (int)i + 1, times[i], pressures[i % SM_COUNT(pressures)], sink, err));
    return sm_sink_text(sink, "</checkData>\n</DAVEfunc>\n", err);
}

static enum sm_status write(const struct sm_export *e, struct sm_sink *sink, struct sm_error *err)
{
    SM_TRY(put_header(e, sink, err));
    SM_TRY(put_variables(e, sink, err));
    SM_TRY(put_functions(e, sink, err));
    return put_check_data(e, sink, err);
}

const struct sm_format sm_format_dave_ml = {
    .name = "dave-ml",
    .summary = "DAVE-ML 2.0 (ANSI/AIAA S-119) tables with check cases, for flight simulators",
    .ending = ".dml",
    .write = write,
};
