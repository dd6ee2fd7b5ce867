/* The parts of a Functional Mock-up Unit that differ from motor to motor, and those built once with the project. */
#ifndef SM_EXPORT_FMU_PARTS_H
#define SM_EXPORT_FMU_PARTS_H

#include "export/export.h"

/* The unit's own names, the same for every motor: its library is. */
#define SM_FMU_IDENTIFIER "slowmatch_motor"
enum { SM_FMU_GUID = 38 };

/* The table as the unit's library reads it (layout: export/fmu/motor_fmu.c), and the guid that stands in it: a hash of the
 * rest, of the program's version and of the facts. */
enum sm_status sm_fmu_write_table(const struct sm_export *e, struct sm_sink *sink, char guid[SM_FMU_GUID + 1],
                                  struct sm_error *err) SM_MUST_CHECK;

/* modelDescription.xml. Reference: FMI 2.0.5, sections 2.2 and 4.3. */
enum sm_status sm_fmu_describe(const struct sm_export *e, const char *guid, struct sm_sink *sink,
                               struct sm_error *err) SM_MUST_CHECK;

/* Built once with the project and kept in it: the library, the folder that it stands in, such as "linux64", and its C
 * source. */
extern const unsigned char sm_fmu_library[];
extern const size_t sm_fmu_library_size;
extern const char sm_fmu_platform[];
extern const unsigned char sm_fmu_source[];
extern const size_t sm_fmu_source_size;

#endif
