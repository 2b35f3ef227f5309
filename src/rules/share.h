/* Cutters that several machines of one shop go by. */
#ifndef PROVEOUT_RULES_SHARE_H
#define PROVEOUT_RULES_SHARE_H

#include "base/vector.h"
#include "finding/sink.h"
#include "machine/machine.h"

/* What one machine says of a cutter. */
struct shared_cutter {
    double number;
    enum field_id field; /* FIELD_CUTTER_STICKOUT or FIELD_CUTTER_SHANK */
    double si;
    const char *text;  /* "42 mm" */
    const char *where; /* "mill.yaml:7:15" */
};

struct shared_cutters {
    VECTOR(struct shared_cutter) items;
};

/* Adds what a machine says of its cutters and none before it said; texts are made in `arena`.
 */
void share_gather(struct arena *arena, const struct machine *machine, struct source *source,
                  struct shared_cutters *out);

/* Adds, of what `others` say, what is something else than the machine says: of each of its numbers
 * the first. */
void share_differing(struct arena *arena, const struct machine *machine,
                     const struct shared_cutters *others, struct shared_cutters *out);

/* Reports shared-cutter-differs where the machine says otherwise of a cutter than `others`, of
 * whom the first that does is named. */
void share_check(struct arena *arena, const struct machine *machine, struct finding_sink *sink,
                 const struct shared_cutters *others);

#endif
