/* Changing one value in a file and nothing else.
 *
 * Every byte outside the value stays as it is: comments, layout, line ends, byte order mark.  A
 * key that is missing is added in its place among its neighbours, in their style, with the
 * sections on the way to it; so is an item one past the end of its list.  One change at a time:
 * the caller reads the new bytes again before the next.
 */
#ifndef PROVEOUT_TREE_CHANGE_H
#define PROVEOUT_TREE_CHANGE_H

#include "tree/tree.h"

/* Where keys stand among their neighbours: the smaller the rank of a path, the earlier. */
struct change_order {
    uint32_t (*rank)(const void *user, struct view path);
    const void *user;
};

enum change_result {
    CHANGE_DONE,
    CHANGE_SAME,   /* it says so already, to the byte: `*out` is the old bytes */
    CHANGE_REFUSED /* `*why` says why, in a plain sentence */
};

/* What is to be changed. */
struct value_change {
    struct view path; /* as tree_at takes it */
    struct view text;
    bool is_text;  /* a single text, which is quoted where YAML would misread it; else a list or
                      map in brackets, which is written as it is */
    bool over_map; /* a single text may take the place of a map */
};

/* Sets one value.  `*out` and `*why` are in `arena`. */
MUST_USE enum change_result change_value(struct arena *arena, const struct tree *tree,
                                         const struct value_change *change,
                                         const struct change_order *order, struct view *out,
                                         const char **why);

/* `text` as a YAML text: as it is where that reads back the same, else in double quotes.
 * `in_brackets`: inside a list or map in brackets, where commas and brackets mean something. */
const char *change_quoted(struct arena *arena, struct view text, bool in_brackets);

#endif
