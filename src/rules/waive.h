/* Waivers: findings that somebody has looked at and accepts, with a reason and perhaps a last
 * day.
 *
 * A waiver is tied to a rule and a field, not to a line.  One without a reason, or whose day is
 * past, waives nothing and is a finding itself; so is one that names a finding which is not
 * there, if its rule was asked at all.
 */
#ifndef PROVEOUT_RULES_WAIVE_H
#define PROVEOUT_RULES_WAIVE_H

#include "finding/sink.h"
#include "machine/machine.h"

struct waivers;

/* Reads the waivers of a machine.  `today` in seconds from 1970-01-01.  Reports unreasoned and
 * expired ones, and with `known` (is this the name of a rule or finding?) those that name no
 * rule. */
struct waivers *waivers_read(struct arena *arena, const struct machine *machine,
                             struct finding_sink *sink, double today,
                             bool (*known)(const void *user, struct view rule),
                             const void *user);

/* Marks a failed finding as waived where a waiver covers it.  Errors of the reader cannot be
 * waived: what they are about is not known; nor can what stands for failures of rules.  True
 * where it was. */
bool waivers_apply(struct waivers *waivers, struct finding *finding);

/* Reports those that covered nothing, though `asked` says that their rule was asked and
 * answered. */
void waivers_finish(struct waivers *waivers, struct finding_sink *sink,
                    bool (*asked)(const void *user, struct view rule), const void *user);

#endif
