/* Private to `report`. */
#ifndef PROVEOUT_REPORT_INTERNAL_H
#define PROVEOUT_REPORT_INTERNAL_H

#include "finding/sink.h"
#include "report/json_writer.h"
#include "report/report.h"
#include "report/wrap.h"

/* What a writer writes to, and how. */
struct layout {
    struct buffer *out;
    const struct report_options *options;
    const char *path; /* of the file */
    const struct file_report
        *file; /* of an output of findings, while it is written; else NULL */
    size_t width;
};

#define OUTPUT(source, word, extension, escaping, writer)                                      \
    extern const struct report_writer writer;
#include "report/outputs.inc"

/* The unit in which a record shows its margin, for other numbers beside it. */
unit_id margin_unit(const struct finding *finding);

/* Adds `text` between a terminal colour and its end, or bare; escaped. */
enum text_color { COLOR_BOLD, COLOR_NOTE, COLOR_WARNING, COLOR_ERROR, COLOR_CALM };
void text_colored(const struct layout *layout, enum text_color color, const char *text);

/* "2 errors known and set aside"; NULL where none is. */
const char *text_known(struct arena *arena, const size_t by_level[LEVEL_COUNT]);

/* Adds what moved between two reports; `layout->file` is the later one. */
struct moved;
void comparison_add(const struct layout *layout, const struct moved *moved);

/* How paragraphs below the first line of a finding are wrapped; returns `wrap`. */
const struct wrap *text_indented(const struct layout *layout, struct wrap *wrap);

/* FILE:LINE:COLUMN, or FILE alone. */
const char *text_spot(const struct layout *layout, const struct finding_spot *spot);

/* Text of a finding as people are told it: things of lists by their numbers or names. */
const char *text_told(const struct layout *layout, const char *text);

/* Adds it as a paragraph; nothing for an empty one. */
void text_paragraph(const struct layout *layout, const char *text);

/* Adds what the margin was worked out of, and what its tolerance is made of. */
void text_arithmetic(const struct layout *layout, const struct finding *finding);

/* Adds the changes that would put it right which its advice does not tell, each with its
 * reason, what it asks and its difference. */
void text_fixes(const struct layout *layout, const struct finding *finding);

/* What rests on a number of which the controller's own file says something else: "3 margins rest on
 * it; ...". */
const char *parting_rests(struct arena *arena, const struct finding_parting *parting);

/* The same with where both stand: "mill.yaml:12 says 4 mm, controller.txt:88 says 3 mm; ...". */
const char *parting_text(struct arena *arena, const struct finding *finding);

/* The next such finding of a file from `*at` on, which is moved behind it; NULL: no more. */
const struct finding *parting_next(const struct file_report *file, size_t *at);

/* The same as an object of JSON. */
void parting_json(struct json *json, const struct finding_parting *parting);

/* Adds the other places of a finding, as far as its arithmetic has not told them. */
void text_places(const struct layout *layout, const struct finding *finding);

#endif
