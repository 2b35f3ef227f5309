/* Rules as their files write them, for telling people about them.
 *
 * Read from the texts, not from what they were compiled to: so a user's own rulebook is told of
 * in the same way as the built-in ones, and so are the reader's own findings, which have no
 * formula.
 */
#ifndef PROVEOUT_CLI_RULE_TEXT_H
#define PROVEOUT_CLI_RULE_TEXT_H

#include "base/vector.h"
#include "rules/rulebook.h"
#include "tree/tree.h"

struct rule_book {
    struct source source;
    struct tree tree;
    struct view title;
};

/* A rule or a definition. */
struct rule_entry_text {
    struct view name;             /* without the arguments of a definition */
    const struct tree_node *node; /* its value; its key is in it */
    struct rule_book *book;
};

struct rule_texts {
    VECTOR(struct rule_entry_text) rules, definitions; /* in the order of the files */
};

void rule_texts_add(struct rule_texts *out, struct arena *arena,
                    const struct rulebook_text *texts, size_t count);

/* NULL where there is none. */
const struct rule_entry_text *rule_text_find(const struct rule_texts *texts, struct view name);

/* Text `key` of a rule, its first where it is a list; empty where there is none. */
struct view rule_text_value(const struct rule_entry_text *rule, const char *key);

/* The definitions that a formula uses, and those that these use, each once, in the order of
 * their first use. */
struct definition_list {
    VECTOR(const struct rule_entry_text *) items;
};
void rule_text_definitions(const struct rule_texts *texts, struct arena *arena,
                           struct view formula, struct definition_list *out);

/* Adds a value as one would write it on one line: a text as it is, maps without their braces.
 */
void rule_text_inline(struct buffer *out, const struct tree_node *node);

#endif
