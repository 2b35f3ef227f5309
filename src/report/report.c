/* The table of outputs, and the parts of a run. */
#include "report/internal.h"

#include "base/bug.h"

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

const struct report_output *report_output_named(enum report_source source, const char *word)
{
    const struct report_output *output;
    for (size_t i = 0; (output = report_output(source, i)); i++)
        if (strcmp(output->word, word) == 0)
            return output;
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
                                  NULL, wrap_width(options->width)};
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

void report_alone(const struct report_output *output, const struct report_options *options,
                  const struct report *report, const struct run_totals *totals,
                  struct buffer *out)
{
    struct report_options alone = *options;
    struct buffer file;
    buffer_init(&file, out->arena);
    alone.held = report_held_new(out->arena, output);
    report_begin(output, &alone, out);
    report_file(output, &alone, report, &file);
    if (alone.held)
        report_hold(alone.held, buffer_view(&file));
    else
        buffer_add(out, buffer_view(&file));
    report_end(output, &alone, totals, out);
}

void totals_add(struct run_totals *totals, const struct file_report *file)
{
    totals->files++;
    totals->unreadable += file->status == FILE_UNREADABLE;
    totals->partial += file->status == FILE_PARTIAL;
    totals->shared += file->status == FILE_SHARED;
    for (int level = 0; level < LEVEL_COUNT; level++) {
        totals->by_level[level] += file->findings_by_level[level];
        totals->waived_by_level[level] += file->waived_by_level[level];
        totals->known_by_level[level] += file->known_by_level[level];
    }
}

void totals_join(struct run_totals *totals, const struct run_totals *part)
{
    for (int level = 0; level < LEVEL_COUNT; level++) {
        totals->by_level[level] += part->by_level[level];
        totals->waived_by_level[level] += part->waived_by_level[level];
        totals->known_by_level[level] += part->known_by_level[level];
    }
    totals->files += part->files;
    totals->unreadable += part->unreadable;
    totals->partial += part->partial;
    totals->shared += part->shared;
    totals->passed_over += part->passed_over;
}
