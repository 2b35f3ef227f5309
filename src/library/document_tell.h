/* What a field, a section or a rule is, in Markdown. */
#ifndef PROVEOUT_LIBRARY_DOCUMENT_TELL_H
#define PROVEOUT_LIBRARY_DOCUMENT_TELL_H

#include "library/document.h"
#include "report/explain.h"

/* What is told of a field wherever it stands: its path, its meaning, how to get it, its range.
 */
void tell_field(struct buffer *out, enum field_id id);

/* The same in a few words, for a list of what may be written. */
const char *tell_field_short(struct arena *arena, enum field_id id);

/* The rules and definitions of all books, read when they are first asked for. */
const struct rule_texts *tell_rule_texts(struct proveout_document *document);

/* A rule of any book, or a finding of the reader's; false where there is none of this name. */
bool tell_rule(struct proveout_document *document, struct buffer *out, struct view name);

/* The names of all of them, as waivers may give them; in the order of the books. */
struct told_rule {
    const char *name, *why; /* the latter NULL: not known here */
    enum finding_level level;
    enum finding_hurts hurts;
};

struct told_rules {
    VECTOR(struct told_rule) items;
};

void tell_rules(struct proveout_document *document, struct told_rules *out);

#endif
