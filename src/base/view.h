/* Views: a piece of text that somebody else owns.
 *
 * Not terminated, may hold any byte, never NULL unless size is 0.  A view lives
 * as long as the bytes it looks at.
 */
#ifndef PROVEOUT_BASE_VIEW_H
#define PROVEOUT_BASE_VIEW_H

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

struct view {
    const char *data;
    size_t size;
};

/* printf("%.*s", VIEW(v)) */
#define VIEW(v) (int)(v).size, (v).data

/* A view of a string literal, usable in static tables. */
#define VIEW_LITERAL(s) {(s), sizeof(s) - 1}

/* A view of a terminated string; NULL gives the empty view. */
static inline struct view view_of(const char *text)
{
    return (struct view){text, text ? strlen(text) : 0};
}

static inline bool view_equal(struct view a, struct view b)
{
    return a.size == b.size && (a.size == 0 || memcmp(a.data, b.data, a.size) == 0);
}

/* Is `a` the terminated string `text`? */
static inline bool view_is(struct view a, const char *text)
{
    size_t size = strlen(text);
    return a.size == size && (size == 0 || memcmp(a.data, text, size) == 0);
}

static inline bool view_starts(struct view a, const char *prefix)
{
    size_t size = strlen(prefix);
    return a.size >= size && memcmp(a.data, prefix, size) == 0;
}

/* Letters of ASCII small and large, whatever the locale; all else as it is. */
static inline char letter_lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static inline char letter_upper(char c)
{
    return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

/* `a` without its first `count` bytes (all of it where it has fewer). */
static inline struct view view_skip(struct view a, size_t count)
{
    if (count > a.size)
        count = a.size;
    return (struct view){count ? a.data + count : a.data, a.size - count};
}

/* What stands before the next `stop`, or all there is; `*rest` goes on behind it. */
static inline struct view view_take(struct view *rest, char stop)
{
    const char *end = rest->size ? (const char *)memchr(rest->data, stop, rest->size) : NULL;
    struct view part = {rest->data, end ? (size_t)(end - rest->data) : rest->size};
    *rest = view_skip(*rest, part.size + 1);
    return part;
}

/* `a` without blanks and tabs at both ends. */
static inline struct view view_trim(struct view a)
{
    while (a.size && (a.data[0] == ' ' || a.data[0] == '\t'))
        a.data++, a.size--;
    while (a.size && (a.data[a.size - 1] == ' ' || a.data[a.size - 1] == '\t'))
        a.size--;
    return a;
}

/* Order by bytes, as strcmp would. */
static inline int view_compare(struct view a, struct view b)
{
    size_t common = a.size < b.size ? a.size : b.size;
    int order = common ? memcmp(a.data, b.data, common) : 0;
    return order ? order : (a.size > b.size) - (a.size < b.size);
}

#endif
