/* Outputs: finding records in, text out.  Each output is one file here; none decides anything.
 *
 * Texts are collected in a buffer per file and joined in order by whoever calls, so that
 * workers may fill them in any order.  Whatever came from a file is escaped here, in the way of
 * the format.
 *
 * To add an output: one file here that defines a struct report_format, and its row in
 * formats.c.
 */
#ifndef PROVEOUT_REPORT_REPORT_H
#define PROVEOUT_REPORT_REPORT_H

#include "base/buffer.h"
#include "finding/finding.h"

/* What one whole run found; summed in the order of the files. */
struct run_totals {
    size_t by_level[LEVEL_COUNT];
    size_t files, unreadable;
    size_t passed_over; /* files of a folder that are no machine files */
};

struct report_options {
    size_t width; /* cells to keep within: the terminal's, else 80; taken as 40 to 100 */
    bool color;   /* terminal colour allowed */
    bool unicode; /* whoever reads it takes UTF-8 */
    bool quiet;   /* nothing for clean files */
    int show;     /* enum check_show */
};

/* One output form.  For each run: begin, then for each file in order file, `between` standing
 * between any two, then end. */
struct report_format {
    const char *name;    /* "text", "json" */
    const char *between; /* never NULL */
    void (*begin)(struct buffer *out, const struct report_options *options);
    void (*file)(struct buffer *out, const struct report_options *options,
                 const struct file_report *file);
    void (*end)(struct buffer *out, const struct report_options *options,
                const struct run_totals *totals);
};

extern const struct report_format *const report_formats[];
extern const size_t report_format_count;

/* The format called so; NULL where there is none. */
const struct report_format *report_format_find(struct view name);

void totals_add(struct run_totals *totals, const struct file_report *file);

/* "2 errors, 1 warning"; "nothing found" where all are 0. */
const char *text_levels(struct arena *arena, const size_t by_level[LEVEL_COUNT]);

/* The same text with nothing but ASCII in it, for terminals that take no more: signs of ours in
 * words, anything else as `?` of the same width. */
void text_plain(struct buffer *out, struct view text);

#endif
