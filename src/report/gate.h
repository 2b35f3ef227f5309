/* What the outputs for programs that gate changes have in common: SARIF, JUnit, and the forms of
 * two forges.  All of them tell the same list, that which people are shown: what failed or is
 * waived, one a rule and place.
 */
#ifndef PROVEOUT_REPORT_GATE_H
#define PROVEOUT_REPORT_GATE_H

#include "report/internal.h"

struct gate_item {
    const struct finding_group *group;
    const struct finding *worst; /* of the group */

    /* The same until the rule, or the thing that it is about, has another name, whichever
     * cutters are concerned: 16 hexadecimal digits, from text/fingerprint.h. */
    const char *fingerprint;
};

struct gate_list {
    struct gate_item *items; /* in order */
    size_t count;
};

/* In the arena of the output; `layout->file` is set. */
void gate_list(const struct layout *layout, struct gate_list *out);

/* What is told of one: its sentence, what else failed there, what to do, or why it is waived.
 * Raw: it may hold hostile bytes. */
const char *gate_text(const struct layout *layout, const struct gate_item *item);

/* The file of an item, as the user gave it or taken from the folder of the run where it lies in
 * there.  Of one without a place, the file that was checked. */
struct view gate_path(const struct layout *layout, const struct finding_spot *spot);
struct view gate_path_of(const struct layout *layout, struct view path);

/* A path as a reference by RFC 3986: relative, or `file:` where it is absolute. */
const char *gate_uri(struct arena *arena, struct view path);

/* From where to where, columns in code points; lines 0 where it is nowhere. */
struct gate_region {
    struct place start, end;
};
struct gate_region gate_region(const struct finding_spot *spot);

/* Why not all of the file was looked at, in words; NULL: it was. */
const char *gate_trouble(const struct file_report *file);

/* "rules: 44 not checked for want of setter.x, table.z and 7 more"; NULL where all were. */
const char *gate_unchecked(const struct layout *layout);

/* "2 errors known and set aside", of the file; NULL where none is. */
const char *gate_known(const struct layout *layout);

/* A waived one is told as a note whatever its level; else its level. */
bool gate_is_waived(const struct gate_item *item);

/* Does it count against the file, as --stop-at has it? */
bool gate_stops(const struct layout *layout, const struct gate_item *item);

#endif
