/* Annotations: lines in the log of a forge's run that it shows beside the lines of a file.
 *
 *     ::error file=NAME,line=N,endLine=N,col=N,endColumn=N,title=RULE::TEXT
 *
 * Any line that begins with `::` is an order to the forge, so that all others here begin with
 * the name of the program; in the texts per cent, colon, comma and ends of lines are written by
 * their numbers.
 */
#include "report/gate.h"

#include "rules/check.h"
#include "text/escape.h"

/* What escape_terminal leaves over that would end a value, or a line. */
static void add_value(struct buffer *out, struct view text, bool is_property)
{
    struct buffer shown;
    buffer_init(&shown, out->arena);
    escape_terminal(&shown, text);
    for (size_t i = 0; i < shown.size; i++) {
        char c = shown.data[i];
        if (c == '%' || (is_property && (c == ':' || c == ',')))
            buffer_format(out, "%%%02X", (unsigned char)c);
        else
            buffer_byte(out, c);
    }
}

static void add_item(const struct layout *layout, const struct gate_item *item)
{
    static const char *const orders[LEVEL_COUNT] = {"notice", "warning", "error"};
    const struct finding *worst = item->worst;
    struct buffer *out = layout->out;
    struct gate_region region = gate_region(&worst->at);
    buffer_format(out, "::%s file=", gate_is_waived(item) ? "notice" : orders[worst->level]);
    add_value(out, gate_path(layout, &worst->at), true);
    if (region.start.line)
        buffer_format(out, ",line=%u,endLine=%u,col=%u,endColumn=%u", region.start.line,
                      region.end.line, region.start.column, region.end.column);
    buffer_text(out, ",title=");
    add_value(out, view_of(worst->rule), true);
    buffer_text(out, "::");
    add_value(out, view_of(gate_text(layout, item)), false);
    buffer_byte(out, '\n');
}

static void add_line(struct buffer *out, const char *text)
{
    buffer_text(out, "proveout: ");
    escape_terminal(out, view_of(text));
    buffer_byte(out, '\n');
}

static void add_file(const struct layout *whole, const struct report *report)
{
    struct layout own = *whole;
    struct gate_list list;
    own.file = report->findings;
    const struct file_report *file = own.file;
    struct arena *arena = own.out->arena;
    const char *trouble = gate_trouble(file), *unchecked = gate_unchecked(&own);
    const char *known = gate_known(&own);
    gate_list(&own, &list);
    for (size_t i = 0; i < list.count; i++)
        if (own.options->show != SHOW_WAIVED || gate_is_waived(&list.items[i]))
            add_item(&own, &list.items[i]);
    if (trouble) {
        buffer_text(own.out, "::error file=");
        add_value(own.out, gate_path_of(&own, view_of(own.path)), true);
        buffer_format(own.out, ",title=%s::%s\n", file_status_name(file->status), trouble);
    }
    for (size_t i = 0; i < file->more_count; i++)
        add_line(own.out, arena_format(arena, "%s: %zu more of %s are not listed", file->path,
                                       file->more[i].failed, file->more[i].rule));
    if (file->status == FILE_SHARED)
        add_line(own.out, arena_format(arena, "%s: no machine by itself; checked with %s",
                                       file->path, file->shared_by));
    else if (file->status != FILE_UNREADABLE)
        add_line(own.out, arena_format(arena, "%s: %s%s%s%s%s", file->path,
                                       text_levels(arena, file->findings_by_level),
                                       known ? "; " : "", known ? known : "",
                                       unchecked ? "; " : "", unchecked ? unchecked : ""));
}

static void add_end(const struct layout *layout, const struct run_totals *totals)
{
    struct arena *arena = layout->out->arena;
    if (totals->passed_over)
        add_line(layout->out,
                 arena_format(arena, "%zu passed over, being no machine file%s",
                              totals->passed_over, totals->passed_over == 1 ? "" : "s"));
    if (totals->ignored)
        add_line(layout->out,
                 arena_format(arena, "%zu left out by proveout.ignore", totals->ignored));
    add_line(layout->out,
             "numbers on paper: the first run is still made in air, with a hand on the stop");
}

const struct report_writer findings_annotations = {.file = add_file, .end = add_end};
