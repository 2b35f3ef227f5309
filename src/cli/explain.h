/* What `proveout explain` tells. */
#ifndef PROVEOUT_CLI_EXPLAIN_H
#define PROVEOUT_CLI_EXPLAIN_H

#include "cli/rule_text.h"
#include "machine/field.h"

enum { EXPLAIN_COLUMN = 15 }; /* where what is told begins */

void explain_rule(struct buffer *out, size_t width, const struct rule_texts *texts,
                  const struct rule_entry_text *rule);

/* `path` as the user gave it; `id` what it stands for. */
void explain_field(struct buffer *out, size_t width, struct view path, enum field_id id);

/* The fields below a section such as `setter` or `axes.x.drive`; false where it is none. */
bool explain_section(struct buffer *out, size_t width, struct view name);

#endif
