/* Reading the small files of the program's own forms: known findings, policies.  Whatever is
 * not as the form has it is a mistake at its place; nothing is passed over.
 */
#ifndef PROVEOUT_RULES_OWN_FILE_H
#define PROVEOUT_RULES_OWN_FILE_H

#include "rules/load.h"
#include "rules/own_keys.h"
#include "tree/tree.h"

struct own_file {
    struct rulebook_mistakes *mistakes;
    struct source *source;
    const char *what; /* "a policy": for messages */
};

/* Reads `bytes`, called `name`, whose first key has to be the first of `keys` with the value 1,
 * and whose other keys are among these; NULL: there are mistakes. */
const struct tree_node *own_file_read(struct own_file *form, struct rulebook_mistakes *mistakes,
                                      const char *name, struct view bytes,
                                      const struct own_map *keys);

void own_file_mistake(struct own_file *form, struct span span, const char *message);

/* Child `key` of a map, of this kind; NULL where it is not, which is a mistake unless it may be
 * left out. */
const struct tree_node *own_file_child(struct own_file *form, const struct tree_node *map,
                                       const char *key, enum tree_kind kind, bool may_lack);

/* The same of a text; without data where it is not there. */
struct view own_file_text(struct own_file *form, const struct tree_node *map, const char *key,
                          bool may_lack);

/* A list of texts, in the arena of the mistakes; where one is no text, that is a mistake. */
struct own_list {
    const struct tree_node **items;
    size_t count;
};
struct own_list own_file_texts(struct own_file *form, const struct tree_node *map,
                               const char *key, bool may_lack);

/* A key that nobody reads was meant for something: each that is not among these is a mistake.
 */
void own_file_refuse_others(struct own_file *form, const struct tree_node *map,
                            const struct own_map *keys);

#endif
