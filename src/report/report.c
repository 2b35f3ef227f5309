/* The table of outputs, and what all of them have in common. */
#include "report/internal.h"

#include "base/bug.h"
#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

static const struct report_output outputs[] = {
#define OUTPUT(source, word, extension, escaping, writer)                                      \
    {REPORT_##source, word, extension, REPORT_FOR_##escaping, &writer},
#include "report/outputs.inc"
};

const struct report_output *report_output(enum report_source source, size_t index)
{
    for (size_t i = 0; i < sizeof outputs / sizeof *outputs; i++)
        if (outputs[i].source == source && !index--)
            return &outputs[i];
    return NULL;
}

/* One part of an output: a file, else the end, else the beginning.  Where a terminal takes
 * ASCII alone, it is written beside first. */
static void add_part(const struct report_output *output, const struct report_options *options,
                     const struct report *report, const struct run_totals *totals,
                     struct buffer *out)
{
    const struct report_writer *writer = output->writer;
    bool plain = output->escaping == REPORT_FOR_TERMINAL && !options->unicode;
    struct buffer text;
    buffer_init(&text, out->arena);
    const struct layout layout = {plain ? &text : out, options, report ? report->path : NULL,
                                  wrap_width(options->width)};
    if (report)
        writer->file(&layout, report);
    else if (totals && writer->end)
        writer->end(&layout, totals);
    else if (!totals && writer->begin)
        writer->begin(&layout);
    if (plain)
        text_plain(out, buffer_view(&text));
}

void report_begin(const struct report_output *output, const struct report_options *options,
                  struct buffer *out)
{
    add_part(output, options, NULL, NULL, out);
}

void report_file(const struct report_output *output, const struct report_options *options,
                 const struct report *report, struct buffer *out)
{
    BUG_UNLESS(report->source == output->source);
    add_part(output, options, report, NULL, out);
}

void report_end(const struct report_output *output, const struct report_options *options,
                const struct run_totals *totals, struct buffer *out)
{
    add_part(output, options, NULL, totals, out);
}

void totals_add(struct run_totals *totals, const struct file_report *file)
{
    totals->files++;
    totals->unreadable += file->status == FILE_UNREADABLE;
    for (int level = 0; level < LEVEL_COUNT; level++)
        totals->by_level[level] += file->findings_by_level[level];
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
