/* Words and signs that several outputs share. */
#include "report/internal.h"

#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

const char *text_levels(struct arena *arena, const size_t by_level[LEVEL_COUNT])
{
    struct buffer text;
    buffer_init(&text, arena);
    for (int level = LEVEL_COUNT; level-- > 0;)
        if (by_level[level])
            buffer_format(&text, "%s%zu %s%s", text.size ? ", " : "", by_level[level],
                          finding_level_name((enum finding_level)level),
                          by_level[level] == 1 ? "" : "s");
    return text.size ? buffer_string(&text) : "nothing found";
}

const char *text_known(struct arena *arena, const size_t by_level[LEVEL_COUNT])
{
    size_t count = 0;
    for (int level = 0; level < LEVEL_COUNT; level++)
        count += by_level[level];
    return count ? arena_format(arena, "%s known and set aside", text_levels(arena, by_level))
                 : NULL;
}

void text_colored(const struct layout *layout, enum text_color color, const char *text)
{
    static const char *const starts[] = {
        [COLOR_BOLD] = "\x1b[1m",       [COLOR_NOTE] = "\x1b[1;36m",
        [COLOR_WARNING] = "\x1b[1;35m", [COLOR_ERROR] = "\x1b[1;31m",
        [COLOR_CALM] = "\x1b[32m",
    };
    if (layout->options->color)
        buffer_text(layout->out, starts[color]);
    escape_terminal(layout->out, view_of(text));
    if (layout->options->color)
        buffer_text(layout->out, "\x1b[0m");
}

/* The unit in which a record shows its margin, for other numbers beside it. */
unit_id margin_unit(const struct finding *finding)
{
    struct view text = view_of(finding->margin_text);
    double value;
    size_t used;
    if (number_read(text, &value, &used) == NUMBER_OK) {
        unit_id unit = unit_read(view_trim(view_skip(text, used)));
        if (unit != UNIT_UNKNOWN && unit_fits(unit, finding->dimension))
            return unit;
    }
    return unit_default(finding->dimension);
}

/* Signs that our own texts use, and what they are called without them. */
static const struct {
    uint32_t point;
    const char *plain;
} signs[] = {
    {0xb1, "+/-"}, {0xb2, "^2"}, {0xb3, "^3"},  {0xb5, "u"},   {0x3bc, "u"},
    {0xb7, "*"},   {0xd7, "x"},  {0xb0, "deg"}, {0x2212, "-"}, {0x2013, "-"},
};

void text_plain(struct buffer *out, struct view text)
{
    while (text.size) {
        uint32_t point;
        size_t size = utf8_read(text, &point);
        if (size == 1 || !size) {
            buffer_byte(out, size ? text.data[0] : '?');
            text = view_skip(text, 1);
            continue;
        }
        text = view_skip(text, size);
        const char *plain = NULL;
        for (size_t i = 0; i < sizeof signs / sizeof *signs && !plain; i++)
            if (signs[i].point == point)
                plain = signs[i].plain;
        if (plain)
            buffer_text(out, plain);
        else
            buffer_fill(out, '?', (size_t)utf8_width(point));
    }
}
