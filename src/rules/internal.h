/* What the files of the loader share. */
#ifndef PROVEOUT_RULES_INTERNAL_H
#define PROVEOUT_RULES_INTERNAL_H

#include "base/printf.h"
#include "rules/form.h"
#include "rules/load.h"
#include "tree/tree.h"

/* Where a formula's text came from: its offsets are turned into places by this. */
struct origin {
    struct source *source;
    const struct tree_node *node;
    size_t skip; /* where the formula starts in the node's text */
};

struct loader {
    struct rulebook_mistakes *mistakes;
    struct formula_builder *builder;
    struct source *source; /* of the file being read */
    bool broken_off;       /* the file could not be read to the end of what is being loaded */
    VECTOR(struct view) mistyped; /* keys that the unknown ones of the map at hand stand for */
    VECTOR(struct origin) origins;
    VECTOR(struct rule) rules;
    VECTOR(struct requirement) requirements;
    VECTOR(struct message) messages;
    VECTOR(struct message_piece) pieces;
};

/* Notes a mistake at `span` of the file being read; a printf format without a full stop. */
void loader_mistake(struct loader *loader, struct span span, const char *format, ...)
    PRINTF(3, 4);

/* Complains of keys that such a map does not have, naming the nearest, which is then not missing.
 */
void loader_check_keys(struct loader *loader, const struct tree_node *map, enum book_map form);

/* Is it worth saying that `key` is missing in the map at hand?  Not where it was mistyped, nor
 * where the file could not be read so far. */
MUST_USE bool loader_misses(const struct loader *loader, const char *key);

/* The smallest span that stands for a node: itself, or its key where it is empty or long. */
struct span loader_span(const struct tree_node *node);

/* The child of a map with this key, aliases resolved; NULL where there is none, or no map. */
static inline const struct tree_node *loader_child(const struct tree_node *map, const char *key)
{
    const struct tree_node *child = map ? tree_child(map, view_of(key)) : NULL;
    return child ? tree_resolve(child) : NULL;
}

/* Refuses a rule without the examples it must carry, and examples whose values are none. */
void load_examples(struct loader *loader, const struct tree_node *node,
                   const struct rule *rule);

/* The text of a node as a terminated string in the arena of the mistakes, white space at its
 * end removed. */
const char *loader_string(struct loader *loader, const struct tree_node *node);

#endif
