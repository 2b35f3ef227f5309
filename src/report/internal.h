/* Private to `report`. */
#ifndef PROVEOUT_REPORT_INTERNAL_H
#define PROVEOUT_REPORT_INTERNAL_H

#include "finding/sink.h"
#include "report/report.h"
#include "report/wrap.h"

extern const struct report_format report_text, report_json;

/* What is shown of one file: failed and waived records in groups, in order. */
struct shown_groups {
    struct finding_group *groups;
    size_t count;
    size_t waived; /* of the groups */
};

/* Groups failed records and waived ones alike; a waived one explains others as a failed one
 * does. Groups and what they point to are in `arena`. */
void groups_find(struct arena *arena, const struct file_report *file, struct shown_groups *out);

/* Is this group a waived one? */
bool group_is_waived(const struct finding_group *group);

/* The unit in which a record shows its margin, for other numbers beside it. */
unit_id margin_unit(const struct finding *finding);

/* How texts for people are laid out in one run. */
struct layout {
    struct buffer *out;
    const struct report_options *options;
    const char *path; /* of the file */
    size_t width;
};

/* One finding in full, with an empty line after it. */
void text_block(const struct layout *layout, const struct finding_group *group);

/* A record in one line, whatever came out. */
void text_line(const struct layout *layout, const struct finding *finding);

/* What stands at the end of a file. */
void text_summary(const struct layout *layout, const struct file_report *file,
                  const struct shown_groups *shown);

/* The one line of a file in which nothing was found. */
void text_clean(const struct layout *layout, const struct file_report *file);

/* Adds `text` between a terminal colour and its end, or bare; escaped. */
enum text_color { COLOR_BOLD, COLOR_NOTE, COLOR_WARNING, COLOR_ERROR, COLOR_CALM };
void text_colored(const struct layout *layout, enum text_color color, const char *text);

#endif
