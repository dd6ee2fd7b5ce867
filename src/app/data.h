/* Where the shipped propellants are. */
#ifndef SM_APP_DATA_H
#define SM_APP_DATA_H

#include "base/arena.h"
#include "base/fail.h"
#include "slowmatch/motor.h"

/* Folder of the named propellants: the one asked for, else beside the program (../share/slowmatch/propellants), else
 * where the program was installed or built from. Lives in the arena. Status: SM_E_IO if none is there. */
enum sm_status sm_data_propellants(struct sm_arena *arena, const struct sm_load_options *options,
                                   const char **folder, struct sm_error *err) SM_MUST_CHECK;

/* Names in that folder (files *.json without the ending), sorted; n of them in the arena. */
enum sm_status sm_data_propellant_names(struct sm_arena *arena, const char *folder, char ***names, size_t *n,
                                        struct sm_error *err) SM_MUST_CHECK;

/* "folder/name" + ending, in the arena; NULL if memory is out. */
char *sm_data_path(struct sm_arena *arena, const char *folder, const char *name, const char *ending);

/* A path that a file in the folder names, as seen from where we are: itself if it is absolute; NULL if memory is out. */
const char *sm_data_seen_from(struct sm_arena *arena, const char *folder, const char *path);

/* Folder of a path, "" if it has none, in the arena; NULL if memory is out. */
char *sm_data_folder(struct sm_arena *arena, const char *path);

#endif
