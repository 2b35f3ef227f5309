/* Private to `tree`: how an objection of libyaml is looked into.
 *
 *     around.c  what stands around a place     judge.c  what each objection is a symptom of
 *     syntax.c  which of it is reported
 */
#ifndef PROVEOUT_TREE_INTERNAL_SYNTAX_H
#define PROVEOUT_TREE_INTERNAL_SYNTAX_H

#include "tree/internal.h"

/* One objection. */
struct trouble {
    struct reader *reader;
    struct view bytes;
    uint32_t at;      /* where libyaml noticed */
    uint32_t context; /* where that began which it was reading */
};

/* What to say, and where.  `words` may hold one `%s`, for `shown`. */
struct verdict {
    struct span span;
    const char *words, *shown, *put_right;
    struct span related; /* empty: none */
    const char *related_text;
};

static inline bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static inline bool ends_word(char c)
{
    return is_blank(c) || c == '\n' || c == '\r';
}

/* The byte at a place; a line end at the end of the file. */
char byte_at(const struct trouble *trouble, uint32_t at);
/* The bytes of one character, or none at the end of the file. */
struct span one_character(const struct trouble *trouble, uint32_t at);
/* From `at` to the last thing in its line that is neither blank nor comment. */
struct span rest_of_line(const struct trouble *trouble, uint32_t at);
/* The first thing in the line of `at` that is no blank. */
uint32_t line_content(const struct trouble *trouble, uint32_t at);
bool is_same_line(const struct trouble *trouble, uint32_t a, uint32_t b);
/* A part of the file as a message may show it. */
const char *shown(const struct trouble *trouble, struct span span);

/* The value read last, where it reaches to the line of `at`; NULL where none does. */
const struct tree_node *value_before(const struct trouble *trouble, uint32_t at);
/* The innermost bracket that is open, or NULL. */
const struct tree_node *open_bracket(const struct trouble *trouble);
/* Does the trouble lie where a bracket should have been closed: at the end of the file, or in a
 * line that stands beside or left of the one that opened it, as the next key or item would? */
bool is_beyond_bracket(const struct trouble *trouble, const struct tree_node *bracket);

/* What an objection comes to, by libyaml's words for it (`context` may be NULL). */
void judge(const struct trouble *trouble, const char *problem, const char *context,
           struct verdict *out);
/* A text that should have been a key, at `context`. */
void judge_no_colon(const struct trouble *trouble, struct verdict *out);
/* A line with `%` where none may be. */
void judge_directive(const struct trouble *trouble, struct verdict *out);

#endif
