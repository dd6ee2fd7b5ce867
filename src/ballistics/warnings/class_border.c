/* So near to a class border that scatter alone may cross it. */
#include "ballistics/warning.h"
#include "base/text.h"

static const double near = 0.05; /* of the border's impulse [1] */

static int judge(const struct sm_warning_case *c, char *text, size_t size)
{
    const struct sm_impulse_class *k = &c->result->impulse_class;
    const double total = c->result->thrust.total_impulse;
    const int upper = k->margin < near * k->to, lower = total - k->above < near * k->above;
    if (!upper && !lower)
        return 0;
    const double border = upper ? k->to : k->above;
    char a[SM_DOUBLE_TEXT], b[SM_DOUBLE_TEXT];
    sm_text_format(text, size,
                   "total impulse is %s N s, only %.1f %% %s the class border at %s N s: motors differ by "
                   "more than that, "
                   "so the class may come out as the neighbouring one",
                   sm_text_figure(a, total, 4), 100.0 * (upper ? border - total : total - border) / border,
                   upper ? "below" : "above", sm_text_figure(b, border, 6));
    return 1;
}

const struct sm_warning sm_warning_class_border = {
    .code = "class-border",
    .summary = "total impulse within 5 % of a class border",
    .pointer = "/grains",
    .of = SM_OF_ALL,
    .judge = judge,
};
