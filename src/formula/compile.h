/* Formulas from text to program: lexing, parsing, names, dimensions.
 *
 * A builder takes definitions first, in any order, then formulas.  Everything it keeps is in
 * its arena, and so is the program.  Each error names the part of the text that is wrong and
 * what was expected; a formula with an error gives NODE_NONE, and the builder goes on with the
 * next.
 */
#ifndef PROVEOUT_FORMULA_COMPILE_H
#define PROVEOUT_FORMULA_COMPILE_H

#include "base/bug.h"
#include "formula/program.h"

enum {
    FORMULA_DEPTH_MAX = 64,     /* nesting in one formula */
    FORMULA_CALLS_MAX = 32,     /* definitions within definitions */
    FORMULA_NODES_MAX = 200000, /* of one program */
};

struct formula_builder;

/* Told of each error.  `origin` is what the caller gave with the text; start and end are bytes
 * in it. */
typedef void formula_report(void *user, uint32_t origin, uint32_t start, uint32_t end,
                            const char *message);

struct formula_builder *formula_begin(struct arena *arena,
                                      const struct environment *environment,
                                      formula_report *report, void *user);

/* A definition `head`, such as "gap(c)" or "height_error", with its body.  A name may be
 * defined once.  Bodies are checked when called, and once more for those never called, as far
 * as that goes without arguments. */
void formula_define(struct formula_builder *builder, struct view head, uint32_t head_origin,
                    struct view body, uint32_t body_origin);

/* What is defined so far was written by others, for whoever writes the rest: a value that does
 * not suit such a definition is told where it was given to it. */
void formula_lend(struct formula_builder *builder);

/* The names in scope of a formula. */
struct formula_scope {
    struct view name; /* the bound name of `each: c in cutters`; empty: none */
    uint32_t slot;
    struct env_place domain; /* TYPE_LIST or indexed section */
};

/* Reads "c in cutters" into a scope; false (reported) where it is wrong. */
MUST_USE bool formula_each(struct formula_builder *builder, struct view text, uint32_t origin,
                           struct formula_scope *scope);

/* A requirement or condition: a truth.  Conditions look at nominal values. */
uint32_t formula_requirement(struct formula_builder *builder, const struct formula_scope *scope,
                             struct view text, uint32_t origin);
uint32_t formula_condition(struct formula_builder *builder, const struct formula_scope *scope,
                           struct view text, uint32_t origin);

/* The path of a field (for `blame`).  May use the names that `every`, `any`, `distinct`,
 * `largest` ... bind in `requirement`: after evaluation they stand at the deciding element. */
uint32_t formula_field(struct formula_builder *builder, const struct formula_scope *scope,
                       uint32_t requirement, struct view text, uint32_t origin);

/* Any value, to be shown in a message; the names as for formula_field, and `shortfall` and
 * `margin`, the failing comparison's.  Where `if` chooses between words here, its condition is
 * a requirement: it holds only where it does in the worst case. */
uint32_t formula_shown(struct formula_builder *builder, const struct formula_scope *scope,
                       uint32_t requirement, struct view text, uint32_t origin);

/* Whether and with which dimension a requirement has a margin.  False with nothing written:
 * none. */
bool formula_margin(const struct formula_builder *builder, uint32_t requirement,
                    struct dimension *dimension);

/* The first leaf the requirement reads, definitions expanded, in the order of its text, as a
 * node that blames it; NODE_NONE where it reads none. */
uint32_t formula_first_field(struct formula_builder *builder, uint32_t requirement);

/* Does evaluating this node read the bound name of the scope?  If not, once a file is enough.
 */
bool formula_uses(const struct formula_builder *builder, uint32_t node, uint32_t slot);

/* Which calls can come out differently when the leaves marked in `leaves`, by their numbers,
 * have other values.  For windows: what depends on a field.  Lives in `arena`; `leaves` must
 * outlive it. */
void formula_change_find(struct formula_change *out, struct arena *arena,
                         const struct program *program, const bool *leaves);

/* Can this node come out differently then?  NODE_NONE cannot. */
bool formula_changes(struct formula_change *change, uint32_t node);

/* What is known of leaves, by their numbers. */
struct formula_leaves {
    const bool *wide; /* it may have a tolerance */
    const bool *bent; /* where others change it, it is not as one of them */
};

/* Is the margin of this requirement straight in the leaves of `change`, or the least of several
 * that are?  Then none of these is above what continues it.  Only yes is certain. */
bool formula_is_straight(struct arena *arena, struct formula_change *change,
                         const struct formula_leaves *leaves, uint32_t requirement);

/* Ends building.  The program lives in the builder's arena. */
void formula_finish(struct formula_builder *builder, struct program *out);

/* The words of the language, from 0; false past the last. */
bool formula_word(size_t index, struct view *out);

#endif
