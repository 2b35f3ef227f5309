/* What a change of the file moved: the same machine checked before and after. */
#ifndef PROVEOUT_RULES_MOVED_H
#define PROVEOUT_RULES_MOVED_H

#include "base/vector.h"
#include "finding/finding.h"

/* One evaluation that came out otherwise. */
struct move_of_margin {
    const struct finding *before, *after; /* NULL: it was not asked then */
    double change;                        /* of the margin, SI; 0 where one has none */
};

enum moved_kind {
    MOVED_BROKEN,    /* failed now, not before */
    MOVED_MENDED,    /* failed before, not any more */
    MOVED_UNCHECKED, /* held before, not checked any more */
    MOVED_CHECKED,   /* not checked before, held now */
    MOVED_WORSE,     /* held or failed both times, with less margin */
    MOVED_BETTER,    /* and with more */
    MOVED_KINDS
};

/* Everything that differs between two reports of all instances (SHOW_ALL), each kind in the
 * order of rules and subjects.  Of a rule with so many instances that only some are listed,
 * those that have no counterpart are left out: nobody can tell what became of them. */
struct moved {
    const struct file_report *after; /* whose names serve for both */
    VECTOR(struct move_of_margin) kinds[MOVED_KINDS];
};

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out);

#endif
