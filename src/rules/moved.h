/* What a change of the file moved: the same machine checked before and after. */
#ifndef PROVEOUT_RULES_MOVED_H
#define PROVEOUT_RULES_MOVED_H

#include "base/arena.h"
#include "finding/finding.h"

/* One evaluation that came out otherwise. */
struct move_of_margin {
    const struct finding *before, *after; /* NULL: it was not asked then */
    double change;                        /* of the margin, SI; 0 where one has none */
};

/* Everything that differs between two reports of all instances (SHOW_ALL), each kind in the
 * order of rules and subjects.  Of a rule with so many instances that only some are listed,
 * those that have no counterpart are left out: nobody can tell what became of them. */
struct moved {
    struct move_of_margin *mended; /* failed before, not any more */
    size_t mended_count;
    struct move_of_margin *broken; /* failed now, not before */
    size_t broken_count;
    struct move_of_margin *told; /* not checked before, held now */
    size_t told_count;
    struct move_of_margin *untold; /* held before, not checked any more */
    size_t untold_count;
    struct move_of_margin *margins; /* held or failed both times, with another margin */
    size_t margin_count;
};

void reports_compare(struct arena *arena, const struct file_report *before,
                     const struct file_report *after, struct moved *out);

#endif
