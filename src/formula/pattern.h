/* Patterns (PCRE2) under a budget.
 *
 * The library's own match limit starts again at every offset of a search, so an
 * innocent-looking pattern over a long text can take minutes.  Here the budget is counted over
 * the whole search, and a pattern that runs away is stopped and said to be so.
 */
#ifndef PROVEOUT_FORMULA_PATTERN_H
#define PROVEOUT_FORMULA_PATTERN_H

#include "base/arena.h"
#include "base/bug.h"
#include "base/view.h"

#include <stdbool.h>
#include <stdint.h>

struct pattern;

enum { PATTERN_SIZE_MAX = 4096, PATTERN_BUDGET = 2000000 };

/* Compiles `text`, UTF-8.  On failure returns NULL, with a plain sentence in `*message` (in
 * `arena`) and the byte offset in `*offset`.  Must be closed. */
struct pattern *pattern_open(struct arena *arena, struct view text, const char **message,
                             size_t *offset);
void pattern_close(struct pattern *pattern);

enum pattern_result { PATTERN_MATCH, PATTERN_NO_MATCH, PATTERN_COSTLY };

/* Searches `subject` from byte `from`; on a match sets the whole match and the group called
 * `value` (the whole match where it has no such group) as offsets.  `*budget` is what is left
 * for this search and all that follow. */
enum pattern_result pattern_search(struct pattern *pattern, struct view subject, size_t from,
                                   uint64_t *budget, size_t match[2], size_t value[2]);

/* Has the pattern exactly one named group, `value`? */
bool pattern_has_value(const struct pattern *pattern);

#endif
