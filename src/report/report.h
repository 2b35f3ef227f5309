/* Outputs: finding records in, text out.  Each output is one file here; none decides anything.
 *
 * Texts are collected in a buffer per file and joined in order by whoever calls, so that workers may fill them in any
 * order.  Whatever came from a file is escaped here, in the way of the format.
 */
#ifndef PROVEOUT_REPORT_REPORT_H
#define PROVEOUT_REPORT_REPORT_H

#include "base/buffer.h"
#include "finding/finding.h"

/* What one whole run found; summed in the order of the files. */
struct run_totals {
    size_t by_level[LEVEL_COUNT];
    size_t files, unreadable, passed_over;
};

struct report_options {
    size_t width;      /* cells to keep within: the terminal's, else 80 */
    bool color;        /* terminal colour allowed */
    bool unicode;      /* the terminal takes UTF-8 */
    bool quiet;        /* nothing for clean files */
    int show;          /* enum check_show */
};

/* One output form.  For each run: begin, then for each file in order file (with `first` on the first), then end. */
struct report_format {
    const char *name; /* "text", "json" */
    void (*begin)(struct buffer *out, const struct report_options *options);
    void (*file)(struct buffer *out, const struct report_options *options,
                 const struct file_report *file, bool first);
    void (*end)(struct buffer *out, const struct report_options *options,
                const struct run_totals *totals);
};

extern const struct report_format *const report_formats[];
extern const size_t report_format_count;

void totals_add(struct run_totals *totals, const struct file_report *file);

#endif
