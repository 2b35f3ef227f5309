/* What one small change would do, below a finding: the change, its reason, its difference. */
#include "report/internal.h"

#include "text/escape.h"
#include "text/excerpt.h"

enum {
    LINES_MOST = 6, /* of a difference that goes, and of one that comes */
    SIGN_CELLS = 6  /* "    - " */
};

/* The next line of a text, with `*rest` behind it. */
static struct view next_line(struct view *rest)
{
    struct view line = view_take(rest, '\n');
    if (line.size && line.data[line.size - 1] == '\r')
        line.size--;
    return line;
}

/* Bytes of `line` that it does not share with `other` at its ends. */
static struct span differing(struct view line, struct view other)
{
    size_t most = line.size < other.size ? line.size : other.size, start = 0, end = 0;
    while (start < most && line.data[start] == other.data[start])
        start++;
    while (end < most - start &&
           line.data[line.size - 1 - end] == other.data[other.size - 1 - end])
        end++;
    return (struct span){(uint32_t)start, (uint32_t)(line.size - end)};
}

static bool has_many_lines(struct view text)
{
    size_t lines = 0;
    for (; text.size; lines++)
        (void)next_line(&text);
    return lines > LINES_MOST;
}

/* The lines of `text`, each marked where it is not as that of `other`. */
static void add_lines(const struct layout *layout, char sign, struct view text,
                      struct view other)
{
    for (size_t i = 0; text.size; i++) {
        struct view line = next_line(&text), beside = next_line(&other);
        if (i == LINES_MOST) {
            buffer_format(layout->out, "    %c ...\n", sign);
            break;
        }
        buffer_format(layout->out, "    %c ", sign);
        excerpt_line(layout->out, line, differing(line, beside),
                     layout->width > 2 * SIGN_CELLS ? layout->width - SIGN_CELLS : SIGN_CELLS);
        buffer_byte(layout->out, '\n');
    }
}

/* The whole lines that the change is about, as they are and as they would be. */
static void add_difference(const struct layout *layout, const struct finding_fix *fix)
{
    struct view bytes = fix->source->bytes;
    size_t start = fix->span.start, end = fix->span.end;
    bool whole_lines = end > start && bytes.data[end - 1] == '\n' && !*fix->text;
    struct buffer now;
    buffer_init(&now, layout->out->arena);
    while (start && bytes.data[start - 1] != '\n')
        start--;
    while (!whole_lines && end < bytes.size && bytes.data[end] != '\n')
        end++;
    buffer_add(&now, (struct view){bytes.data + start, fix->span.start - start});
    buffer_text(&now, fix->text);
    buffer_add(&now, (struct view){bytes.data + fix->span.end, end - fix->span.end});
    struct view before = {bytes.data + start, end - start}, after = buffer_view(&now);
    if (has_many_lines(before) && has_many_lines(after))
        return; /* something moves from here to there, as its title says */
    add_lines(layout, '-', before, after);
    add_lines(layout, '+', after, before);
}

void text_fixes(const struct layout *layout, const struct finding *finding)
{
    for (size_t i = 0; i < finding->fix_count; i++) {
        const struct finding_fix *fix = &finding->fixes[i];
        struct wrap wrap;
        if (!fix->why)
            continue;
        wrap_format(layout->out, text_indented(layout, &wrap), "would do: %s: %s%s%s",
                    text_told(layout, fix->title), fix->why,
                    fix->asks ? "; to be answered first: " : "", fix->asks ? fix->asks : "");
        add_difference(layout, fix);
    }
}
