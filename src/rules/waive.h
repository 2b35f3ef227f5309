/* Waivers: findings that somebody has looked at and accepts, with a reason and perhaps a last
 * day.
 *
 * A waiver is tied to a rule and a field, not to a line.  One without a reason, or whose day is
 * past, waives nothing and is a finding itself; so is one that names a finding which is not
 * there, if its rule was asked at all; and one of what can hurt a person, if it does not name
 * who decided so and a last day within a year.
 */
#ifndef PROVEOUT_RULES_WAIVE_H
#define PROVEOUT_RULES_WAIVE_H

#include "finding/sink.h"
#include "rules/describe.h"
#include "rules/search.h"

struct policy; /* rules/policy.h */
struct waivers;

/* Reads the waivers of the machine that `describer` is about, and has its runner settle
 * failures by them from its next run on, until it is told otherwise.  `today` in seconds from
 * 1970-01-01.  Reports those that cannot hold, or that `policy` (NULL: there is none) does not
 * allow. */
struct waivers *waivers_read(const struct describer *describer, struct finding_sink *sink,
                             double today, const struct policy *policy);

/* Marks a failed finding as waived where a waiver covers it.  Errors of the reader cannot be
 * waived: what they are about is not known; nor can what stands for failures of rules.  True
 * where it was. */
bool waivers_apply(struct waivers *waivers, struct finding *finding);

/* The failures that the machine waives on the day `today`, so that they bound no window.  The
 * runner's results are those of the machine afterwards. */
void waived_failures(struct runner *runner, struct arena *arena, const struct machine *machine,
                     struct source *source, double today, struct instance_list *out);

/* Reports those that covered nothing, though their rule was asked in the runner's last run, and
 * answered. */
void waivers_finish(struct waivers *waivers, struct finding_sink *sink);

#endif
