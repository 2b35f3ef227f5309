/* A round of measuring in the order of walking along the machine: what all forms of it have in
 * common, whatever they are written on.
 *
 * A form is of one machine, and asks for what a round of it is made of; or of a machine that
 * nobody has described yet, and asks what the first description of any machine asks.
 */
#ifndef PROVEOUT_ASK_WALK_H
#define PROVEOUT_ASK_WALK_H

#include "machine/file.h"
#include "rules/round.h"

enum { WALK_STOPS = 5 };

struct walk_row {
    struct field_place place;
    const struct round_item *item; /* why it is asked; NULL: of a machine without a file */
    const char *path;              /* as it is typed; NULL: it cannot be typed into a form */
    enum field_when when;          /* without a file: it is asked only then, */
    const char *only;              /* "where the machine homes"; NULL: of every machine */
};

/* One place along the machine, and what is measured there: section by section as a file has
 * them, cutter by cutter. */
struct walk_stop {
    const char *heading;
    unsigned care; /* of all its rows */
    VECTOR(struct walk_row) rows;
};

struct walk {
    struct walk_stop stops[WALK_STOPS]; /* some may have no rows */
    size_t count;                       /* of rows */
};

/* The round of one machine.  What it points to is in `arena`, the file and the plan. */
void walk_round(struct arena *arena, const struct machine_file *file,
                const struct round_plan *plan, struct walk *out);

/* What a first description asks: what `proveout commission` asks before it offers more, and
 * what the format needs on some machines. */
void walk_first(struct arena *arena, struct walk *out);

/* --- what stands in another file, and is not written here --- */

struct stands_elsewhere {
    struct round_item item;
    const char *file;
};

struct walk_elsewhere {
    VECTOR(struct stands_elsewhere) rows;
};

/* Takes out of the plan what stands in another file. */
void walk_set_apart(struct arena *arena, const struct machine_file *file,
                    struct round_plan *plan, struct walk_elsewhere *out);

/* --- the words that are the same on every form --- */

#define WALK_KEPT                                                                              \
    "What is not measured stays empty. Readings take the place of what the file has. The "     \
    "date as 2027-03-31."
#define WALK_AS_ABOVE "As above."
#define WALK_ISOLATED "spindle isolated or unplugged before hands go in"
#define WALK_NOTHING                                                                           \
    "nothing that rules ask for is missing, old, or much to be bettered by measuring it here"
#define WALK_WITH   "with"
#define WALK_OFF_BY "off by at most"

/* What to mind at a stop, one for each bit of its care; NULL behind the last. */
const char *walk_caution(struct arena *arena, unsigned care, size_t index);

/* "In the file: 40 mm."; NULL where it has none. */
const char *walk_in_file(struct arena *arena, const struct machine_file *file,
                         const struct field_place *place);

/* "Not on this form, since it stands in shed.yaml: setter.at.x" */
const char *walk_not_here(struct arena *arena, const struct machine_file *file,
                          const struct stands_elsewhere *row);

/* Boxes for readings. */
size_t walk_boxes(const struct walk_row *row);

#endif
