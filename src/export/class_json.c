/* Class, border and findings of a case as slowmatch-class/1 JSON. */
#include "curve/rules.h"
#include "doc/json_write.h"
#include "slowmatch/simulate.h"

#include <math.h>

static void put_findings(struct sm_json_writer *w, const struct sm_rule_case *c)
{
    struct sm_rule_finding found[SM_MAX_FINDINGS];
    const size_t n = sm_rules_judge(c, found);
    sm_json_member_array(w, "findings");
    for (size_t i = 0; i < n; i++) {
        sm_json_open_object(w);
        sm_json_member_string(w, "code", found[i].code);
        sm_json_member_string(w, "text", found[i].text);
        sm_json_member_string(w, "source", found[i].source);
        sm_json_member_string(w, "standing", found[i].standing);
        sm_json_close(w);
    }
    sm_json_close(w);
}

enum sm_status sm_class_write_json(const struct sm_rule_case *c, struct sm_sink *sink, struct sm_error *err)
{
    struct sm_json_writer w;
    struct sm_impulse_class k;
    char designation[32];
    sm_impulse_class_of(c->impulse_each, &k);
    sm_json_write_init(&w, sink);
    sm_json_open_object(&w);
    sm_json_member_string(&w, "format", "slowmatch-class/1");
    sm_json_member_number(&w, "total_impulse", c->impulse_each);
    sm_json_member_number(&w, "average_thrust", c->thrust_average);
    sm_json_member_whole(&w, "count", c->count);
    sm_json_member_number(&w, "installed_impulse",
                          c->installed_impulse > 0.0 ? c->installed_impulse : c->count * c->impulse_each);
    sm_json_member_string(&w, "letter", k.letter);
    sm_json_member_number(&w, "lower_limit", k.above);
    sm_json_member_number(&w, "upper_limit", k.to);
    sm_json_member_number(&w, "margin", k.margin);
    if (isnan(c->thrust_average))
        sm_json_member_null(&w, "designation");
    else {
        sm_impulse_designation(&k, c->thrust_average, SM_ABSENT, designation, sizeof designation);
        sm_json_member_string(&w, "designation", designation);
    }
    put_findings(&w, c);
    sm_json_close(&w);
    return sm_json_write_end(&w, err);
}
