/* Patterns (PCRE2) under a budget.
 *
 * The library's own match limit starts again at every offset of a search, so an
 * innocent-looking pattern over a long text can take minutes.  Here the budget is counted over
 * all that is done with patterns, compiling included, and one that runs away is stopped and
 * said to be so.
 */
#ifndef PROVEOUT_FORMULA_PATTERN_H
#define PROVEOUT_FORMULA_PATTERN_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

#include <stdbool.h>
#include <stdint.h>

struct pattern;

enum { PATTERN_SIZE_MAX = 4096 };

/* What patterns may still use, for one search or for all of a file together. */
struct pattern_budget {
    uint64_t steps;
    size_t memory; /* bytes, compiled patterns included */
};

/* Steps take about 25 ns each on an ordinary PC: a tenth of a second. */
#define PATTERN_BUDGET ((struct pattern_budget){4000000, 64 * 1024 * 1024})

/* A text to be searched: UTF-8 throughout, with offsets as in the bytes that it stands for. */
struct pattern_text {
    struct view bytes;
};

/* `bytes` themselves where they are UTF-8, else a copy in `arena` in which the control
 * character SUBSTITUTE (ECMA-48) stands for each byte that is not. */
struct pattern_text pattern_text(struct arena *arena, struct view bytes);

/* Compiles `text`, UTF-8.  On failure returns NULL, with a plain sentence in `*message` (in
 * `arena`) and the byte offset in `*offset`; where the budget does not suffice `*message` is
 * NULL.  All memory is the arena's, and nothing needs to be closed. */
struct pattern *pattern_open(struct arena *arena, struct view text,
                             struct pattern_budget *budget, const char **message,
                             size_t *offset);

/* A pattern of names, as shells have them: `*` and `?` stand for anything but a `/`, brackets for
 * one of what is in them.  Matches a whole name.  NULL: a bracket is not closed, or it is longer
 * than a pattern may be. */
struct pattern *pattern_of_names(struct arena *arena, struct view names);

enum pattern_result { PATTERN_MATCH, PATTERN_NO_MATCH, PATTERN_COSTLY };

/* Searches `subject` from byte `from`, where a character begins; on a match sets the whole
 * match and the group called `value` (the whole match where it has no such group) as offsets.
 * `*budget` is what is left for this search and all that follow. */
enum pattern_result pattern_search(struct pattern *pattern, struct pattern_text subject,
                                   size_t from, struct pattern_budget *budget, size_t match[2],
                                   size_t value[2]);

/* Where to search on after a match: behind it, and behind one character more where it was
 * empty. */
size_t pattern_after(struct pattern_text subject, const size_t match[2]);

/* Has the pattern exactly one named group, `value`? */
bool pattern_has_value(const struct pattern *pattern);

#endif
