/* What stands around a place in the file, and what was open when the reading got there. */
#include "tree/internal_syntax.h"

#include "text/escape.h"

enum {
    SHOWN_CELLS = 28, /* of a text from the file, in a message */
};

char byte_at(const struct trouble *trouble, uint32_t at)
{
    return at < trouble->bytes.size ? trouble->bytes.data[at] : '\n';
}

struct span one_character(const struct trouble *trouble, uint32_t at)
{
    struct span span = {at, at};
    if (at < trouble->bytes.size)
        span.end++;
    while (span.end < trouble->bytes.size &&
           ((unsigned char)trouble->bytes.data[span.end] & 0xc0) == 0x80)
        span.end++;
    return span;
}

struct span rest_of_line(const struct trouble *trouble, uint32_t at)
{
    uint32_t end = at;
    for (uint32_t i = at; i < trouble->bytes.size; i++) {
        char c = trouble->bytes.data[i];
        if (c == '\n' || c == '\r' ||
            (c == '#' && i > at && is_blank(trouble->bytes.data[i - 1])))
            break;
        if (!is_blank(c))
            end = i + 1;
    }
    return end > at ? (struct span){at, end} : one_character(trouble, at);
}

uint32_t line_content(const struct trouble *trouble, uint32_t at)
{
    uint32_t first = line_around(trouble->bytes, at).start;
    while (is_blank(byte_at(trouble, first)))
        first++;
    return first;
}

bool is_same_line(const struct trouble *trouble, uint32_t a, uint32_t b)
{
    return line_around(trouble->bytes, a).start == line_around(trouble->bytes, b).start;
}

const char *shown(const struct trouble *trouble, struct span span)
{
    return escape_short(trouble->reader->arena, source_slice(trouble->reader->source, span),
                        SHOWN_CELLS);
}

const struct tree_node *value_before(const struct trouble *trouble, uint32_t at)
{
    const struct reader *reader = trouble->reader;
    const struct tree_node *node = NULL;
    if (reader->depth)
        node = reader->frames[reader->depth - 1].last;
    if (!node || node->span.end > at || !is_same_line(trouble, node->span.end, at))
        return NULL;
    return node;
}

const struct tree_node *open_bracket(const struct trouble *trouble)
{
    const struct reader *reader = trouble->reader;
    const struct tree_node *node = NULL;
    if (reader->depth)
        node = reader->frames[reader->depth - 1].node;
    if (!node || node->style != STYLE_FLOW)
        return NULL;
    char c = byte_at(trouble, node->span.start);
    return c == '[' || c == '{' ? node : NULL;
}

static uint32_t column_of_line(const struct trouble *trouble, uint32_t at)
{
    return line_content(trouble, at) - line_around(trouble->bytes, at).start;
}

bool is_beyond_bracket(const struct trouble *trouble, const struct tree_node *bracket)
{
    if (trouble->at >= trouble->bytes.size)
        return true;
    char c = byte_at(trouble, trouble->at);
    bool is_root = trouble->reader->frames[0].node == bracket;
    bool is_own = c == ',' || c == ']' || c == '}';
    return !is_root && !is_own && !is_same_line(trouble, bracket->span.start, trouble->at) &&
           column_of_line(trouble, trouble->at) <= column_of_line(trouble, bracket->span.start);
}
