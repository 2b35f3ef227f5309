/* Text for people: a block a finding, a summary a file, one line for a clean file.
 *
 * The first line of a block has the form of GNU error messages, so that editors jump to it.
 * Colour only underlines what the words say.  Nothing moves a cursor.
 */
#include "report/internal.h"

#include "rules/check.h"
#include "text/escape.h"
#include "text/utf8.h"

static void add_nothing(struct buffer *out, const struct report_options *options)
{
    (void)out;
    (void)options;
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

/* Every held and unchecked instance and every follow-on, one a line. */
static void add_rest(const struct layout *layout, const struct file_report *file)
{
    size_t count = 0;
    for (size_t i = 0; i < file->count; i++) {
        const struct finding *finding = &file->findings[i];
        bool shown = finding->outcome == OUTCOME_WAIVED ||
                     (finding->outcome == OUTCOME_FAILED && !finding->implied_by);
        if (shown)
            continue;
        text_line(layout, finding);
        count++;
    }
    if (count)
        buffer_byte(layout->out, '\n');
}

/* Each block is put together in memory of its own, which the next one uses again: what it takes
 * to lay out thousands of them does not add up. */
static void add_blocks(const struct layout *layout, const struct shown_groups *shown)
{
    struct arena scratch;
    arena_init(&scratch, layout->out->arena->host);
    for (size_t i = 0; i < shown->count; i++) {
        struct buffer block;
        buffer_init(&block, &scratch);
        struct layout apart = *layout;
        apart.out = &block;
        text_block(&apart, &shown->groups[i]);
        buffer_add(layout->out, buffer_view(&block));
        arena_reset(&scratch);
    }
    arena_free(&scratch);
}

static void add_groups(const struct layout *layout, const struct file_report *file)
{
    struct shown_groups shown;
    groups_find(layout->out->arena, file, &shown);
    add_blocks(layout, &shown);
    if (layout->options->show == SHOW_ALL)
        add_rest(layout, file);
    if (shown.count || file->more_count || file->status != FILE_CHECKED)
        text_summary(layout, file, &shown);
    else if (!layout->options->quiet)
        text_clean(layout, file);
}

static void add_file(struct buffer *out, const struct report_options *options,
                     const struct file_report *file)
{
    if (!file->source)
        return; /* could not be opened: that is said elsewhere */
    struct buffer text;
    buffer_init(&text, out->arena);
    const struct layout layout = {options->unicode ? out : &text, options, file->path,
                                  wrap_width(options->width)};
    add_groups(&layout, file);
    if (!options->unicode)
        text_plain(out, buffer_view(&text));
}

static void add_end(struct buffer *out, const struct report_options *options,
                    const struct run_totals *totals)
{
    size_t found = totals->by_level[LEVEL_ERROR] + totals->by_level[LEVEL_WARNING] +
                   totals->by_level[LEVEL_NOTE] + totals->unreadable;
    bool alone = totals->files <= 1 && !totals->passed_over;
    if (alone || (options->quiet && !found))
        return;
    buffer_format(out, "%zu file%s: %s", totals->files, totals->files == 1 ? "" : "s",
                  text_levels(out->arena, totals->by_level));
    if (totals->unreadable)
        buffer_format(out, "; %zu could not be read", totals->unreadable);
    if (totals->passed_over)
        buffer_format(out, "; %zu passed over, being no machine file%s", totals->passed_over,
                      totals->passed_over == 1 ? "" : "s");
    buffer_byte(out, '\n');
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

const struct report_format report_text = {
    .name = "text",
    .between = "",
    .begin = add_nothing,
    .file = add_file,
    .end = add_end,
};
