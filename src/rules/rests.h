/* What rests on a number that the controller's own file has otherwise.
 *
 * All rules are asked once more with the controller's number in the machine file's place: a
 * margin that comes out otherwise rests on it.
 */
#ifndef PROVEOUT_RULES_RESTS_H
#define PROVEOUT_RULES_RESTS_H

#include "rules/check.h"

enum { RESTS_MAX = 20 }; /* numbers of one file that this is told of; each is one more check */

/* Tells it of the lost agreements among `list`, whose findings are in `sink`, by the rules that
 * `options` asks. */
void rests_tell(struct arena *arena, const struct check_options *options,
                const struct machine *machine, struct finding_sink *sink,
                const struct agreement_list *list);

#endif
