/* What a rule asks and why, what a field means, and the list of rules, for people.
 *
 * Rules are told of as their files write them, not from what they were compiled to: so a user's
 * own rulebook is told of in the same way as the built-in ones, and so are the reader's own
 * findings, which have no formula.
 */
#ifndef PROVEOUT_REPORT_EXPLAIN_H
#define PROVEOUT_REPORT_EXPLAIN_H

#include "base/buffer.h"
#include "machine/field.h"
#include "rules/rulebook.h"
#include "rules/round.h"

/* The rules and definitions of rulebooks, by name. */
struct rule_texts;

/* Those built in, those of the reader's own findings, and `own` of a user, which were loaded
 * without a mistake.  In `arena`, as long as which `own` must last. */
const struct rule_texts *rule_texts_read(struct arena *arena, const struct rulebook_text *own,
                                         size_t count);

/* One of them in short. */
struct rule_summary {
    struct view name, hurts; /* hurts empty: it does not say */
    const char *level;       /* "error", "error or warning" */
    const char *says;        /* on one line: what it says when it fails, else why it is there */
    const char *why, *put_right; /* on one line; empty where it does not say */
};

/* Rule `index` of them, from 0, in `arena`; false past the last. */
bool rule_summary(struct arena *arena, const struct rule_texts *texts, size_t index,
                  struct rule_summary *out);

/* A definition by its name, without what it speaks of: how it is called and what it says; false
 * where there is none.  And the index-th of them; false past the last. */
bool rule_definition(const struct rule_texts *texts, struct view name, struct view *head,
                     struct view *body);
bool rule_definition_at(const struct rule_texts *texts, size_t index, struct view *head,
                        struct view *body);

/* A name or a word in front, and what is told of it. */
struct explain_row {
    const char *what, *text;
};

enum { EXPLAIN_ROWS_MAX = 12 };

/* What there is to tell of a field besides its path and its meaning, a row each; one without a
 * word goes on where the row before it ends.  Returns how many there are. */
size_t explain_field_rows(struct arena *arena, enum field_id id,
                          struct explain_row rows[EXPLAIN_ROWS_MAX]);

/* A key that stands for no field, by which a file takes in another; false past the last. */
bool explain_taking_row(size_t index, struct explain_row *out);

/* Adds what there is to tell of a rule, of a field such as `setter.nose_contact`, or of a
 * section such as `setter` or `axes.x.drive`, in lines of at most `width` cells; the examples
 * of a rule where `examples` is set.  False where there is nothing of this name; then nothing
 * is added. */
bool explain_name(struct buffer *out, size_t width, const struct rule_texts *texts,
                  struct view name, bool examples);

/* Adds what further readings of a value are worth, below what explain_name() added of its
 * field; `worth` NULL: it was not read several times. */
void explain_worth(struct buffer *out, size_t width, const struct machine *machine,
                   const struct field_place *place, const struct worth *worth);

/* The rule or field nearest to a name that is neither; NULL: none is near. */
const char *explain_nearest(struct arena *arena, const struct rule_texts *texts,
                            struct view name);

/* Adds a heading of `width` cells for each rulebook and a line for each of its rules, of at
 * most `line` cells: its name, level, what it saves from harm, and what it says. */
void explain_list(struct buffer *out, size_t width, size_t line,
                  const struct rule_texts *texts);

#endif
