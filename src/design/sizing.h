/* What the calls that size share: from a design's end to the sizing that outsiders see. */
#ifndef SM_DESIGN_SIZING_H
#define SM_DESIGN_SIZING_H

#include "design/robust.h"

/* Runs a sizing. Status and *sizing as sm_size_run's. */
enum sm_status sm_design_size(struct sm_design *design, const struct sm_design_maker *maker,
                              const struct sm_size_options *options, struct sm_sizing **sizing,
                              struct sm_error *err) SM_MUST_CHECK;

/* Runs a trade. Status and *trade as sm_trade_run's. */
enum sm_status sm_design_trade(struct sm_design *design, const size_t figure[2], const int sense[2], size_t n,
                               struct sm_trade **trade, struct sm_error *err) SM_MUST_CHECK;

/* A sizing of what was found, without costs and checks: caller frees with sm_sizing_free. */
enum sm_status sm_sizing_make(const struct sm_design *design, const struct sm_optim_result *result,
                              const struct sm_measured *full, double gap, struct sm_sizing **sizing,
                              struct sm_error *err) SM_MUST_CHECK;

#endif
