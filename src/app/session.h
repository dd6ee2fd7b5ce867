/* What the steps of one loading share. */
#ifndef SM_APP_SESSION_H
#define SM_APP_SESSION_H

#include "doc/json.h"
#include "motor/motor.h"

struct sm_session {
    struct sm_json_doc *doc;
    const struct sm_load_options *options; /* may be NULL */
    struct sm_arena *arena;
    const char *folder; /* of the file, "" for the current one */
};

/* Puts the propellant's object in the place of its name, if it is one. */
enum sm_status sm_session_place_propellant(struct sm_session *session, struct sm_error *err) SM_MUST_CHECK;

#endif
