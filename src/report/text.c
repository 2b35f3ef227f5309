/* Text for people: a block a finding, a summary a file, one line for a clean file.
 *
 * The first line of a block has the form of GNU error messages, so that editors jump to it.
 * Colour only underlines what the words say.  Nothing moves a cursor.
 */
#include "report/internal.h"

#include <stdlib.h>

#include "quantity/number.h"
#include "quantity/quantity.h"
#include "rules/check.h"
#include "text/escape.h"
#include "text/excerpt.h"
#include "text/utf8.h"

enum {
    OTHERS_MAX = 12,      /* named; the rest is counted */
    WANTED_ON_A_LINE = 3, /* missing fields named where one line has to do */
    WANTED_MAX = 24,      /* in a summary; --show all names what each rule wants */
};

/* --- which records are shown together --- */

/* What is shown of one file: failed and waived records in groups, in order; no known ones. */
struct shown_groups {
    struct finding_group *groups;
    size_t count;
    size_t waived;  /* of the groups */
    size_t implied; /* records that follow from what is shown */
};

static bool group_is_waived(const struct finding_group *group)
{
    return group->worst->outcome == OUTCOME_WAIVED;
}

/* Groups and what they point to are in `arena`. */
static void groups_find(struct arena *arena, const struct file_report *file,
                        struct shown_groups *out)
{
    *out = (struct shown_groups){0};
    size_t count;
    out->groups = findings_group(arena, file->findings, file->count, &count);
    for (size_t i = 0; i < count; i++) {
        if (out->groups[i].worst->known)
            continue;
        out->groups[out->count] = out->groups[i];
        out->waived += group_is_waived(&out->groups[out->count]);
        out->implied += out->groups[out->count++].implied;
    }
}

/* --- one finding --- */

/* The first line: place, level, sentence, rule.  Whoever reads it at a terminal wants the
 * sentence first, and whole words at the ends of its lines. */
static void add_headline(const struct layout *layout, const struct finding *finding,
                         const char *level, enum text_color color)
{
    struct buffer *out = layout->out;
    struct wrap wrap = {.width = layout->width, .first = 0, .rest = 2};
    if (layout->options->at_terminal) {
        text_colored(layout, color, level);
        wrap_after(
            out, &wrap, utf8_cells(view_of(level)),
            view_of(arena_format(out->arena, ": %s", text_told(layout, finding->message))));
        const char *spot = text_spot(layout, &finding->at);
        struct wrap below = {.width = layout->width, .first = 1, .rest = 2};
        buffer_text(out, "  ");
        text_colored(layout, COLOR_BOLD, spot);
        wrap_after(out, &below, 2 + utf8_cells(view_of(spot)),
                   view_of(arena_format(out->arena, "[%s]", finding->rule)));
        return;
    }
    text_colored(layout, COLOR_BOLD, text_spot(layout, &finding->at));
    buffer_text(out, ": ");
    text_colored(layout, color, level);
    buffer_text(out, ": ");
    escape_terminal(out, view_of(text_told(layout, finding->message)));
    buffer_text(out, " [");
    escape_terminal(out, view_of(finding->rule));
    buffer_text(out, "]\n");
}

/* Whose file it is, where the place lies in one that others take in. */
static void add_chain(const struct layout *layout, const struct source *source)
{
    struct buffer text;
    struct wrap wrap;
    buffer_init(&text, layout->out->arena);
    if (!source->taker)
        return;
    buffer_format(&text, "%.*s is taken in by", VIEW(source->name));
    for (; source->taker; source = source->taker) {
        const struct finding_spot at = {.source = source->taker, .span = source->taken_at};
        buffer_format(&text, " %s%s", text_spot(layout, &at),
                      source->taker->taker ? ", and that by" : "");
    }
    wrap_add(layout->out, text_indented(layout, &wrap), buffer_view(&text));
}

/* "cutter 2, 8 mm compression" */
static const char *full_name(const struct layout *layout, const char *subject)
{
    const struct finding_names *names = finding_names(layout->file);
    for (size_t i = 0; i < names->count; i++)
        if (strcmp(names->items[i].subject, subject) == 0)
            return names->items[i].full;
    return subject;
}

static bool has_same_subject(const struct finding *a, const struct finding *b)
{
    return a->subject == b->subject ||
           (a->subject && b->subject && strcmp(a->subject, b->subject) == 0);
}

static int worse_first(const void *a, const void *b)
{
    const struct finding *x = *(const struct finding *const *)a;
    const struct finding *y = *(const struct finding *const *)b;
    if (x->has_margin && y->has_margin && x->margin != y->margin)
        return x->margin < y->margin ? -1 : 1;
    return x->serial < y->serial ? -1 : x->serial > y->serial;
}

/* What else failed at this place: by the name of the thing, or by its sentence where the thing
 * is the same. */
static void add_others(const struct layout *layout, const struct finding_group *group)
{
    struct buffer names;
    buffer_init(&names, layout->out->arena);
    struct wrap wrap;
    size_t shown = group->other_count < OTHERS_MAX ? group->other_count : OTHERS_MAX;
    const struct finding **others =
        ARENA_ARRAY(layout->out->arena, const struct finding *, group->other_count + 1);
    for (size_t i = 0; i < group->other_count; i++)
        others[i] = group->others[i];
    qsort(others, group->other_count, sizeof(const struct finding *), worse_first);
    for (size_t i = 0; i < shown; i++) {
        const struct finding *other = others[i];
        if (has_same_subject(other, group->worst)) {
            text_paragraph(layout,
                           arena_format(layout->out->arena, "also: %s", other->message));
            continue;
        }
        buffer_format(&names, "%s %s", names.size ? ";" : "also",
                      other->subject ? full_name(layout, other->subject)
                                     : "the machine as a whole");
        if (other->has_margin)
            buffer_format(&names, " (%s)", other->margin_text);
    }
    if (group->other_count > shown)
        buffer_format(&names, "%s%zu more at this place", names.size ? "; and " : "and ",
                      group->other_count - shown);
    if (group->implied)
        buffer_format(&names, "%s of %zu further finding%s",
                      names.size ? "; and the cause" : "this is also the cause", group->implied,
                      group->implied == 1 ? "" : "s");
    wrap_add(layout->out, text_indented(layout, &wrap), buffer_view(&names));
}

static void add_waiver(const struct layout *layout, const struct finding *finding)
{
    struct wrap wrap;
    const char *until = finding->waived_until, *by = finding->waived_by;
    wrap_format(layout->out, text_indented(layout, &wrap), "waived%s%s%s%s: %s",
                by ? " by " : "", by ? by : "", until ? " until " : "", until ? until : "",
                finding->waived_reason);
}

static void add_prose(const struct layout *layout, const char *what, const char *text)
{
    struct wrap wrap;
    if (text && *text)
        wrap_format(layout->out, text_indented(layout, &wrap), "%s: %s", what,
                    text_told(layout, text));
}

/* A waived finding was looked at before: its numbers, and why it stands. */
static void add_waived(const struct layout *layout, const struct finding_group *group)
{
    const struct finding *worst = group->worst;
    const char *level =
        arena_format(layout->out->arena, "waived %s", finding_level_name(worst->level));
    add_headline(layout, worst, level, COLOR_CALM);
    if (worst->at.source)
        add_chain(layout, worst->at.source);
    text_arithmetic(layout, worst);
    add_others(layout, group);
    add_waiver(layout, worst);
    buffer_byte(layout->out, '\n');
}

/* One finding in full, with an empty line after it. */
static void add_block(const struct layout *layout, const struct finding_group *group)
{
    static const enum text_color colors[LEVEL_COUNT] = {COLOR_NOTE, COLOR_WARNING, COLOR_ERROR};
    if (group_is_waived(group)) {
        add_waived(layout, group);
        return;
    }
    const struct finding *worst = group->worst;
    add_headline(layout, worst, finding_level_name(worst->level), colors[worst->level]);
    if (worst->at.source) {
        excerpt_add(layout->out, worst->at.source, worst->at.span, layout->width);
        add_chain(layout, worst->at.source);
    }
    add_prose(layout, "put right", worst->put_right);
    text_fixes(layout, worst);
    add_prose(layout, "why", worst->why);
    add_others(layout, group);
    text_arithmetic(layout, worst);
    text_places(layout, worst);
    if (worst->parting)
        text_paragraph(layout, parting_rests(layout->out->arena, worst->parting));
    buffer_byte(layout->out, '\n');
}

/* A record in one line, whatever came out. */
static void add_line(const struct layout *layout, const struct finding *finding)
{
    struct buffer *out = layout->out;
    const char *subject = finding->subject;
    escape_terminal(out, view_of(text_spot(layout, &finding->at)));
    buffer_text(out, ": ");
    if (finding->outcome == OUTCOME_HELD)
        buffer_format(out, "held%s%s", finding->has_margin ? ", to spare " : "",
                      finding->has_margin ? finding->margin_text : "");
    else if (finding->outcome == OUTCOME_FAILED)
        buffer_format(out, "follows from %s: ", finding->implied_by);
    if (finding->outcome != OUTCOME_HELD)
        escape_terminal(out, view_of(text_told(layout, finding->message)));
    if (subject) {
        buffer_text(out, " (");
        escape_terminal(out, view_of(subject));
        buffer_byte(out, ')');
    }
    buffer_text(out, " [");
    escape_terminal(out, view_of(finding->rule));
    buffer_text(out, "]\n");
}

/* --- the end of a file --- */

/* "61 rules held, 2 failed, 22 do not apply, 5 not checked"; what is none is left out, except
 * what held.  What is not checked comes last, so that the reason can follow. */
static const char *rules_text(struct arena *arena, const struct file_report *file)
{
    size_t held = file->rules[OUTCOME_HELD], failed = file->rules[OUTCOME_FAILED],
           waived = file->rules[OUTCOME_WAIVED], unchecked = file->rules[OUTCOME_UNCHECKED];
    struct buffer text;
    buffer_init(&text, arena);
    buffer_format(&text, "%zu rule%s held", held, held == 1 ? "" : "s");
    if (failed)
        buffer_format(&text, ", %zu failed", failed);
    if (waived)
        buffer_format(&text, ", %zu waived", waived);
    if (file->inapplicable)
        buffer_format(&text, ", %zu %s not apply", file->inapplicable,
                      file->inapplicable == 1 ? "does" : "do");
    if (unchecked)
        buffer_format(&text, ", %zu not checked", unchecked);
    return buffer_string(&text);
}

/* "0.5 mm in park-near-limit (axis x)" */
static void add_margin(struct buffer *text, const struct finding_margin *margin)
{
    buffer_format(text, "%s in %s",
                  quantity_text(text->arena, margin->margin, margin->dimension, margin->unit),
                  margin->rule);
    if (margin->subject)
        buffer_format(text, " (%s)", margin->subject);
}

/* At most `most` missing fields by name. */
static void add_wanted(const struct layout *layout, struct buffer *text,
                       const struct file_report *file, size_t most)
{
    for (size_t i = 0; i < file->wanted_count && i < most; i++)
        buffer_format(text, "%s %s", i ? "," : "", text_told(layout, file->wanted[i]));
    if (file->wanted_count > most)
        buffer_format(text, " and %zu more", file->wanted_count - most);
}

static const char *status_text(const struct file_report *file)
{
    if (file->status == FILE_PARTIAL && file->lacks_parts)
        return ". Not all that it takes in could be read; only the rest was looked at";
    if (file->status == FILE_PARTIAL)
        return ". The file breaks off; only what stands before that was looked at";
    return file->status == FILE_UNREADABLE ? ". No rule could be asked" : "";
}

static void add_more(const struct layout *layout, const struct wrap *wrap,
                     const struct file_report *file)
{
    for (size_t i = 0; i < file->more_count; i++)
        wrap_format(layout->out, wrap, "%zu more of %s %s %snot listed.", file->more[i].failed,
                    file->more[i].rule, file->more[i].failed == 1 ? "is" : "are",
                    file->more[i].waived ? "waived and " : "");
}

static void add_tightest(const struct layout *layout, const struct wrap *wrap,
                         const struct file_report *file)
{
    if (!file->tightest_count)
        return;
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    buffer_text(&text, "Tightest margins of what held:");
    for (size_t i = 0; i < file->tightest_count; i++) {
        buffer_text(&text, i ? "; " : " ");
        add_margin(&text, &file->tightest[i]);
    }
    buffer_byte(&text, '.');
    wrap_add(layout->out, wrap, buffer_view(&text));
}

static void add_summary(const struct layout *layout, const struct file_report *file,
                        const struct shown_groups *shown)
{
    struct arena *arena = layout->out->arena;
    const struct wrap top = {.width = layout->width, .first = 0, .rest = 2};
    const struct wrap below = {.width = layout->width, .first = 2, .rest = 4};
    bool asked = file->status != FILE_UNREADABLE;
    const char *waived = shown->waived ? arena_format(arena, ", %s waived",
                                                      text_levels(arena, file->waived_by_level))
                                       : "";
    const char *further =
        shown->implied
            ? arena_format(arena, ", %zu further finding%s follow%s", shown->implied,
                           shown->implied == 1 ? "" : "s", shown->implied == 1 ? "s" : "")
            : "";
    const char *known = text_known(arena, file->known_by_level);
    wrap_format(layout->out, &top, "%s: %s%s%s%s%s%s%s%s.", file->path,
                text_levels(arena, file->findings_by_level), further, waived, known ? ", " : "",
                known ? known : "", asked ? "; " : "", asked ? rules_text(arena, file) : "",
                status_text(file));
    add_more(layout, &below, file);
    if (file->wanted_count) {
        struct buffer wanted;
        buffer_init(&wanted, arena);
        buffer_text(&wanted, "Not checked for want of");
        add_wanted(layout, &wanted, file, WANTED_MAX);
        buffer_byte(&wanted, '.');
        wrap_add(layout->out, &below, buffer_view(&wanted));
    }
    add_tightest(layout, &below, file);
    wrap_add(
        layout->out, &below,
        view_of(
            "Numbers on paper: the first run is still made in air, with a hand on the stop."));
    buffer_byte(layout->out, '\n');
}

/* The one line of a file in which nothing was found. */
static void add_clean(const struct layout *layout, const struct file_report *file)
{
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    const char *known = text_known(text.arena, file->known_by_level);
    buffer_format(&text, "%s: nothing %sfound; ", file->path, known ? "new " : "");
    if (known)
        buffer_format(&text, "%s; ", known);
    buffer_text(&text, rules_text(text.arena, file));
    if (file->wanted_count) {
        buffer_text(&text, " for want of");
        add_wanted(layout, &text, file, WANTED_ON_A_LINE);
    }
    if (file->tightest_count) {
        buffer_text(&text, "; tightest margin ");
        add_margin(&text, &file->tightest[0]);
    }
    /* One line for whoever filters lines; a terminal would break it in the middle of a word. */
    if (layout->options->at_terminal) {
        const struct wrap wrap = {.width = layout->width, .first = 0, .rest = 2};
        wrap_add(layout->out, &wrap, buffer_view(&text));
        return;
    }
    escape_terminal(layout->out, buffer_view(&text));
    buffer_byte(layout->out, '\n');
}

/* --- a file, and a run --- */

/* Every held and unchecked instance and every follow-on, one a line. */
static void add_rest(const struct layout *layout, const struct file_report *file)
{
    size_t count = 0;
    for (size_t i = 0; i < file->count; i++) {
        const struct finding *finding = &file->findings[i];
        bool shown = finding->outcome == OUTCOME_WAIVED || finding->known ||
                     (finding->outcome == OUTCOME_FAILED && !finding->implied_by);
        if (shown)
            continue;
        add_line(layout, finding);
        count++;
    }
    if (count)
        buffer_byte(layout->out, '\n');
}

/* Each block is put together in memory of its own, which the next one uses again: what it takes
 * to lay out thousands of them does not add up. */
static void add_blocks(const struct layout *layout, const struct shown_groups *shown)
{
    struct arena *scratch = arena_new_within(layout->out->arena);
    for (size_t i = 0; i < shown->count; i++) {
        if (layout->options->show == SHOW_WAIVED && !group_is_waived(&shown->groups[i]))
            continue;
        struct buffer block;
        buffer_init(&block, scratch);
        struct layout apart = *layout;
        apart.out = &block;
        add_block(&apart, &shown->groups[i]);
        buffer_add(layout->out, buffer_view(&block));
        arena_reset(scratch);
    }
    arena_guest_end(layout->out->arena, scratch);
}

/* The one line of a file that only others make a machine of. */
static void add_shared(const struct layout *layout, const struct file_report *file)
{
    const char *text =
        arena_format(layout->out->arena, "%s: no machine by itself; checked with %s",
                     file->path, file->shared_by);
    escape_terminal(layout->out, view_of(text));
    buffer_byte(layout->out, '\n');
}

static void add_file(const struct layout *whole, const struct report *report)
{
    const struct file_report *file = report->findings;
    struct layout of_file = *whole;
    of_file.file = file;
    const struct layout *layout = &of_file;
    struct shown_groups shown;
    if (file->status == FILE_SHARED && !layout->options->quiet)
        add_shared(layout, file);
    if (!file->source)
        return; /* could not be opened: that is said elsewhere */
    groups_find(layout->out->arena, file, &shown);
    add_blocks(layout, &shown);
    if (layout->options->show == SHOW_ALL)
        add_rest(layout, file);
    if (shown.count || file->more_count || file->status != FILE_CHECKED)
        add_summary(layout, file, &shown);
    else if (!layout->options->quiet)
        add_clean(layout, file);
}

enum { ROW_ERRORS = 1, ROW_WARNINGS, ROW_MARGIN, ROW_CELLS }; /* after the name */

void report_row(const struct file_report *file, struct buffer *out)
{
    struct buffer margin;
    buffer_init(&margin, out->arena);
    escape_terminal(out, view_of(file->path));
    if (file->tightest_count)
        add_margin(&margin, &file->tightest[0]);
    if (file->status == FILE_UNREADABLE)
        buffer_text(out, "\t-\t-\tit could not be read");
    else
        buffer_format(out, "\t%zu\t%zu\t%s", file->findings_by_level[LEVEL_ERROR],
                      file->findings_by_level[LEVEL_WARNING],
                      file->status == FILE_PARTIAL ? "it breaks off" : buffer_string(&margin));
    buffer_byte(out, '\n');
}

/* The cells of a row, which is taken off `rows`. */
static void take_row(struct view *rows, struct view cells[ROW_CELLS])
{
    struct view row = view_take(rows, '\n');
    for (int i = 0; i < ROW_CELLS; i++)
        cells[i] = view_take(&row, '\t');
}

/* Which of the files it is that counts. */
static void add_table(const struct layout *layout, const struct report_table *table)
{
    enum { NAME_MAX_CELLS = 48 };
    struct buffer *out = layout->out;
    struct view cells[ROW_CELLS];
    size_t width = 4;
    for (struct view rows = table->rows; rows.size;) {
        take_row(&rows, cells);
        size_t name = utf8_cells(cells[0]);
        if (name > width && name <= NAME_MAX_CELLS)
            width = name;
    }
    if (!table->rows.size)
        return;
    buffer_text(out, "\nfile");
    buffer_fill(out, ' ', width - 4);
    buffer_text(out, "  errors  warnings  tightest margin\n");
    for (struct view rows = table->rows; rows.size;) {
        take_row(&rows, cells);
        size_t name = utf8_cells(cells[0]);
        buffer_add(out, cells[0]);
        buffer_fill(out, ' ', name < width ? width - name : 0);
        buffer_format(out, "  %6.*s  %8.*s", VIEW(cells[ROW_ERRORS]),
                      VIEW(cells[ROW_WARNINGS]));
        if (cells[ROW_MARGIN].size)
            buffer_format(out, "  %.*s", VIEW(cells[ROW_MARGIN]));
        buffer_byte(out, '\n');
    }
    if (table->left_out)
        buffer_format(out, "and %zu more\n", table->left_out);
    buffer_byte(out, '\n');
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    struct buffer *out = layout->out;
    size_t found = totals->by_level[LEVEL_ERROR] + totals->by_level[LEVEL_WARNING] +
                   totals->by_level[LEVEL_NOTE] + totals->unreadable;
    size_t waived = totals->waived_by_level[LEVEL_ERROR] +
                    totals->waived_by_level[LEVEL_WARNING] +
                    totals->waived_by_level[LEVEL_NOTE];
    const char *known = text_known(out->arena, totals->known_by_level);
    bool quiet = layout->options->quiet;
    bool alone =
        totals->files <= 1 && !totals->passed_over && !totals->ignored && !(known && quiet);
    if (alone || (quiet && !found && !waived && !known && !totals->ignored))
        return;
    if (layout->options->table)
        add_table(layout, layout->options->table);
    buffer_format(out, "%zu file%s: %s", totals->files, totals->files == 1 ? "" : "s",
                  text_levels(out->arena, totals->by_level));
    if (waived)
        buffer_format(out, ", %s waived", text_levels(out->arena, totals->waived_by_level));
    if (known)
        buffer_format(out, ", %s", known);
    if (totals->unreadable)
        buffer_format(out, "; %zu could not be read", totals->unreadable);
    if (totals->shared)
        buffer_format(out, "; %zu of them no machine by itself", totals->shared);
    if (totals->passed_over)
        buffer_format(out, "; %zu passed over, being no machine file%s", totals->passed_over,
                      totals->passed_over == 1 ? "" : "s");
    if (totals->ignored)
        buffer_format(out, "; %zu left out by proveout.ignore", totals->ignored);
    buffer_byte(out, '\n');
}

const struct report_writer findings_text = {
    .takes_reviews = true, .takes_table = true, .file = add_file, .end = add_end};
