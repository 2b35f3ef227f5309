/* Private to the files that change bytes: what they share.
 *
 *     change.c          quoting, and one value in the place of another
 *     change_add.c      a key added among its neighbours
 *     change_confirm.c  is it really only that which changed?
 */
#ifndef PROVEOUT_TREE_CHANGING_H
#define PROVEOUT_TREE_CHANGING_H

#include "tree/change.h"

/* The change being made. */
struct changing {
    struct arena *arena;
    const struct tree *tree;
    struct view bytes;
    const struct change_order *order;
    const char *line_end; /* the file's own */
};

/* The bytes with `text` in the place of start..end. */
struct view changing_splice(const struct changing *changing, size_t start, size_t end,
                            struct view text);

/* Behind an anchor and a tag, which stay. */
size_t changing_behind_properties(const struct changing *changing, struct span span);

/* Where the line that holds `at` starts, behind a byte order mark. */
size_t changing_line_start(const struct changing *changing, size_t at);

/* The start of the line after the one that holds `at`; the end of the bytes where that is the
 * last. */
size_t changing_next_line(const struct changing *changing, size_t at);

static inline bool changing_is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static inline bool changing_is_break(char c)
{
    return c == '\n' || c == '\r';
}

/* Is anything around the node at `path`, or (`itself`) the node, in brackets? */
bool changing_in_brackets(const struct changing *changing, struct view path, bool itself);

/* Adds the key at the change's path, which is not there.  False: `*why` says why it cannot be.
 */
MUST_USE bool changing_add(const struct changing *changing, const struct value_change *change,
                           struct view *out, const char **why);

/* Reads `bytes` and tells whether they say the same as the tree but for the one change. */
MUST_USE bool changing_confirm(const struct changing *changing, struct view bytes,
                               const struct value_change *change);

#endif
