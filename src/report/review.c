/* A review of changed machines: as text, as JSON, and as a comment in Markdown. */
#include "report/review.h"

#include "report/internal.h"
#include "report/json_writer.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum { ROWS_MAX = 60 }; /* of a file in a comment; the rest is counted */

static const char *const kind_names[] = {"changed", "added", "removed", "unreadable"};

/* In the order of enum moved_kind. */
static const char *const move_names[] = {"new",     "gone",  "unchecked",
                                         "checked", "worse", "better"};

static const char *levels_then(struct arena *arena, const struct review *review)
{
    if (review->kind == REVIEW_ADDED)
        return "it was not there before";
    return arena_format(arena, "before: %s",
                        text_levels(arena, review->before->findings_by_level));
}

/* What there is to say of a file as a whole. */
static const char *summary(struct arena *arena, const struct review *review)
{
    if (review->kind == REVIEW_REMOVED)
        return arena_format(arena, "it is not there any more; it was in %s", review->was);
    if (review->kind == REVIEW_UNREADABLE)
        return review->trouble;
    return arena_format(arena, "%s; %s", text_levels(arena, review->after->findings_by_level),
                        levels_then(arena, review));
}

static const char *change_text(struct arena *arena, const struct move_of_margin *move)
{
    if (!move->before || !move->after || !move->before->has_margin || !move->after->has_margin)
        return "";
    return quantity_text_signed(arena, move->after->margin - move->before->margin,
                                move->after->dimension, margin_unit(move->after));
}

static const struct finding *told_of(const struct move_of_margin *move)
{
    return move->after ? move->after : move->before;
}

static bool has_moves(const struct moved *moved)
{
    size_t count = 0;
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        count += moved->kinds[kind].count;
    return count > 0;
}

/* --- text --- */

static void add_text(const struct layout *layout, const struct report *report)
{
    const struct review *review = report->review;
    const struct wrap wrap = {layout->width, 0, 2};
    struct buffer *out = layout->out;
    wrap_format(out, &wrap, "%s, against %s: %s.", report->path, review->was,
                summary(out->arena, review));
    if (review->moved && (review->kind == REVIEW_CHANGED || has_moves(review->moved))) {
        struct layout named = *layout;
        named.file = review->after;
        comparison_add(&named, review->moved);
    }
    const struct finding *parting;
    for (size_t at = 0; review->moved && (parting = parting_next(review->after, &at));)
        wrap_format(out, &wrap, "%s.", parting_text(out->arena, parting));
    if (review->moved)
        wrap_add(out, &wrap,
                 view_of("Numbers on paper: the first run after a change is still made in air, "
                         "with a hand on the stop."));
    buffer_byte(out, '\n');
}

const struct report_writer reviews_text = {.file = add_text};

/* --- JSON: keys are only ever added --- */

static void add_side(struct json *json, const char *key, const struct finding *finding)
{
    json_key(json, key);
    if (!finding) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "outcome"), json_text(json, finding_outcome_name(finding->outcome));
    json_key(json, "margin");
    if (finding->has_margin) {
        json_open(json, '{');
        json_key(json, "si"), json_number(json, finding->margin);
        json_key(json, "text"), json_text(json, finding->margin_text);
        json_close(json, '}');
    } else {
        json_nothing(json);
    }
    json_close(json, '}');
}

static void add_move(struct json *json, const struct layout *layout, int kind,
                     const struct move_of_margin *move)
{
    const struct finding *finding = told_of(move);
    json_line(json, 8);
    json_open(json, '{');
    json_key(json, "what"), json_text(json, move_names[kind]);
    json_key(json, "rule"), json_text(json, finding->rule);
    json_key(json, "subject"), json_text(json, finding->subject);
    json_key(json, "level"), json_text(json, finding_level_name(finding->level));
    json_key(json, "hurts"), json_text(json, finding_hurts_name(finding->hurts));
    add_side(json, "before", move->before);
    add_side(json, "after", move->after);
    json_key(json, "change");
    if (*change_text(layout->out->arena, move))
        json_text(json, change_text(layout->out->arena, move));
    else
        json_nothing(json);
    json_key(json, "message"), json_text(json, finding->message);
    json_key(json, "implied_by"), json_text(json, finding->implied_by);
    json_close(json, '}');
}

static void add_counts(struct json *json, const char *key, const struct file_report *file)
{
    json_key(json, key), json_open(json, '{');
    for (int level = LEVEL_COUNT; level-- > 0;) {
        json_key(json, finding_level_name((enum finding_level)level));
        json_count(json, file->findings_by_level[level]);
    }
    json_close(json, '}');
}

static void add_place(struct json *json, const char *key, const struct finding_spot *spot)
{
    struct place place = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
    json_key(json, key), json_open(json, '{');
    json_key(json, "path"), json_view(json, spot->source->name);
    json_key(json, "line"), json_count(json, place.line);
    json_key(json, "column"), json_count(json, place.column);
    json_close(json, '}');
}

/* What the controller's own files have otherwise, whether it has moved or not. */
static void add_partings(struct json *json, const struct file_report *file)
{
    const struct finding *finding;
    json_line(json, 6);
    json_key(json, "partings"), json_open(json, '[');
    for (size_t at = 0; (finding = parting_next(file, &at));) {
        json_line(json, 8);
        json_open(json, '{');
        json_key(json, "field"), json_text(json, finding->at.field);
        add_place(json, "at", &finding->at);
        add_place(json, "controller", &finding->related[0]);
        json_key(json, "parting"), parting_json(json, finding->parting);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_json(const struct layout *layout, const struct report *report)
{
    const struct review *review = report->review;
    struct json json = {.out = layout->out};
    buffer_fill(layout->out, ' ', 4);
    json_open(&json, '{');
    json_key(&json, "path"), json_text(&json, report->path);
    json_key(&json, "against"), json_text(&json, review->was);
    json_key(&json, "status"), json_text(&json, kind_names[review->kind]);
    json_key(&json, "trouble"), json_text(&json, review->trouble);
    if (review->moved) {
        add_counts(&json, "before", review->before);
        add_counts(&json, "after", review->after);
        json_line(&json, 6);
        json_key(&json, "moves"), json_open(&json, '[');
        for (int kind = 0; kind < MOVED_KINDS; kind++)
            for (size_t i = 0; i < review->moved->kinds[kind].count; i++)
                add_move(&json, layout, kind, &review->moved->kinds[kind].items[i]);
        json_close(&json, ']');
        add_partings(&json, review->after);
    }
    json_close(&json, '}');
}

static void begin_json(const struct layout *layout)
{
    buffer_text(layout->out, "{\"format\": \"proveout-comparison\", \"version\": 1,\n"
                             "  \"files\": [\n");
}

static void end_json(const struct layout *layout, const struct run_totals *totals)
{
    (void)totals;
    buffer_text(layout->out, "]}\n");
}

const struct report_writer reviews_json = {
    .between = ",\n", .begin = begin_json, .file = add_json, .end = end_json};

/* --- Markdown --- */

/* As code, in which nothing means anything: within one more backtick than it has in a row.  In
 * a table a bar would end the cell. */
static void add_code(struct buffer *out, const char *text)
{
    struct buffer shown;
    size_t longest = 0, now = 0;
    buffer_init(&shown, out->arena);
    escape_terminal(&shown, view_of(text));
    for (size_t i = 0; i < shown.size; i++) {
        now = shown.data[i] == '`' ? now + 1 : 0;
        longest = now > longest ? now : longest;
    }
    bool pads = longest && (shown.data[0] == '`' || shown.data[shown.size - 1] == '`');
    buffer_fill(out, '`', longest + 1);
    buffer_text(out, pads ? " " : "");
    for (size_t i = 0; i < shown.size; i++)
        buffer_format(out, shown.data[i] == '|' ? "\\%c" : "%c", shown.data[i]);
    buffer_text(out, pads ? " " : "");
    buffer_fill(out, '`', longest + 1);
}

static const char *side_text(const struct finding *finding)
{
    if (!finding)
        return "not asked";
    if (finding->has_margin && finding->margin_text)
        return finding->margin_text;
    return finding_outcome_name(finding->outcome);
}

static void add_row(const struct layout *layout, int kind, const struct move_of_margin *move)
{
    struct buffer *out = layout->out;
    const struct finding *finding = told_of(move);
    buffer_format(out, "| %s%s | ", move_names[kind],
                  kind == MOVED_BROKEN
                      ? arena_format(out->arena, " %s", finding_level_name(finding->level))
                      : "");
    add_code(out, finding->rule);
    buffer_text(out, " | ");
    if (finding->subject)
        add_code(out, finding->subject);
    buffer_format(out, " | %s | %s | %s |\n", side_text(move->before), side_text(move->after),
                  change_text(out->arena, move));
}

/* What matters most comes first: a comment is read from its top. */
static void add_rows(const struct layout *layout, const struct moved *moved, bool is_changed)
{
    static const enum moved_kind order[] = {MOVED_BROKEN, MOVED_UNCHECKED, MOVED_WORSE,
                                            MOVED_MENDED, MOVED_BETTER};
    size_t rows = 0, left = 0;
    for (size_t k = 0; k < sizeof order / sizeof *order; k++)
        for (size_t i = 0; i < moved->kinds[order[k]].count; i++) {
            if (rows == ROWS_MAX) {
                left++;
                continue;
            }
            if (!rows++)
                buffer_text(layout->out, "| what | rule | of | before | now | change |\n"
                                         "|---|---|---|---|---|---|\n");
            add_row(layout, (int)order[k], &moved->kinds[order[k]].items[i]);
        }
    if (left)
        buffer_format(layout->out, "\nand %zu more\n", left);
    if (!rows && is_changed)
        buffer_text(layout->out, "No margin moves.\n");
    if (moved->kinds[MOVED_CHECKED].count)
        buffer_format(layout->out, "\n%zu times something is checked that was not before.\n",
                      moved->kinds[MOVED_CHECKED].count);
}

static void add_new(const struct layout *layout, const struct moved *moved)
{
    size_t count = moved->kinds[MOVED_BROKEN].count, told = 0;
    for (size_t i = 0; i < count && told < ROWS_MAX; i++) {
        const struct finding *finding = moved->kinds[MOVED_BROKEN].items[i].after;
        if (finding->implied_by)
            continue;
        buffer_text(layout->out, told++ ? "- " : "\n- ");
        add_code(layout->out, text_told(layout, finding->message));
        buffer_byte(layout->out, '\n');
    }
}

static void add_parted(const struct layout *layout, const struct file_report *file)
{
    const struct finding *finding;
    size_t told = 0;
    for (size_t at = 0; told < ROWS_MAX && (finding = parting_next(file, &at));) {
        buffer_text(layout->out, told++ ? "- " : "\n- ");
        add_code(layout->out, parting_text(layout->out->arena, finding));
        buffer_byte(layout->out, '\n');
    }
}

static void add_markdown(const struct layout *layout, const struct report *report)
{
    const struct review *review = report->review;
    struct layout named = *layout;
    named.file = review->after;
    buffer_text(layout->out, "### ");
    add_code(layout->out, report->path);
    buffer_text(layout->out, "\n\n");
    add_code(layout->out, summary(layout->out->arena, review));
    buffer_text(layout->out, "\n\n");
    if (!review->moved)
        return;
    add_rows(&named, review->moved, review->kind == REVIEW_CHANGED);
    add_new(&named, review->moved);
    add_parted(&named, review->after);
    buffer_byte(layout->out, '\n');
}

static void end_markdown(const struct layout *layout, const struct run_totals *totals)
{
    if (!totals->files)
        buffer_text(layout->out, "No machine has changed.\n\n");
    buffer_text(layout->out, "Numbers on paper: the first run after a change is still made in "
                             "air, with a hand on the stop.\n");
}

const struct report_writer reviews_markdown = {.file = add_markdown, .end = end_markdown};
