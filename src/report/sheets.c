/* Whether a sheet is still that of its file, as people and programs read it: format
 * proveout-sheet version 1.
 */
#include "report/sheets.h"

#include "report/internal.h"
#include "report/json_writer.h"
#include "text/escape.h"

enum { TEXT_SHOWN = 60, NAME_SHOWN = 80 };

static const char *shown(const struct layout *layout, const char *text, size_t most)
{
    return escape_short(layout->out->arena, view_of(text), most);
}

static void say(const struct layout *layout, const char *text)
{
    const struct wrap wrap = {.width = layout->width};
    wrap_add(layout->out, &wrap, view_of(text));
}

/* "change.standoff: 12 mm on the sheet, 15 mm in the file (line 33)" */
static void add_difference(const struct layout *layout, const struct sheet_difference *one)
{
    const struct wrap wrap = {.width = layout->width, .first = 2, .rest = 4};
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    buffer_format(&text, "%s: ", shown(layout, one->name, NAME_SHOWN));
    if (one->then)
        buffer_format(&text, "%s on the sheet, ", shown(layout, one->then, TEXT_SHOWN));
    else
        buffer_text(&text, "not on the sheet, ");
    if (one->now)
        buffer_format(&text, "%s %s", shown(layout, one->now, TEXT_SHOWN),
                      one->finding ? "now" : "in the file");
    else
        buffer_text(&text, one->finding ? "no more" : "no more in the file");
    if (one->line)
        buffer_format(&text, " (line %u)", one->line);
    wrap_add(layout->out, &wrap, buffer_view(&text));
}

static const char *counts_text(struct arena *arena, const struct sheet_comparison *compared)
{
    size_t findings = 0;
    for (size_t i = 0; i < compared->count; i++)
        findings += compared->items[i].finding;
    size_t values = compared->count - findings;
    const char *of_values = arena_format(arena, "%zu value%s", values, values == 1 ? "" : "s");
    const char *of_findings =
        arena_format(arena, "%zu finding%s", findings, findings == 1 ? "" : "s");
    return !findings ? of_values
           : !values ? of_findings
                     : arena_format(arena, "%s and %s", of_values, of_findings);
}

static void add_head(const struct layout *layout, const struct sheet_comparison *compared)
{
    struct arena *arena = layout->out->arena;
    const struct sheet_state *then = &compared->then;
    const char *about =
        *then->cutter ? arena_format(arena, " of cutter %s", shown(layout, then->cutter, 20))
                      : "";
    const char *made =
        *then->day ? arena_format(arena, ", made on %s,", shown(layout, then->day, 20)) : "";
    const char *end =
        compared->count
            ? arena_format(arena, "not that of the file any more: %s differ%s",
                           counts_text(arena, compared), compared->count == 1 ? "s" : "")
            : "still that of the file";
    say(layout, arena_format(arena, "%s: the sheet%s %s%s is %s.",
                             shown(layout, layout->path, NAME_SHOWN), about,
                             shown(layout, compared->sheet, NAME_SHOWN), made, end));
}

/* Of what it was made, where that is not what it is held against. */
static void add_origin(const struct layout *layout, const struct sheet_comparison *compared)
{
    struct arena *arena = layout->out->arena;
    const struct sheet_state *then = &compared->then, *now = &compared->now;
    if (strcmp(then->machine, now->machine) != 0)
        say(layout, arena_format(arena, "It was made of %s, and the file is of %s.",
                                 shown(layout, then->machine, TEXT_SHOWN),
                                 shown(layout, now->machine, TEXT_SHOWN)));
    if (strcmp(then->made_by, now->made_by) != 0)
        say(layout, arena_format(arena, "It was made by version %s; this is %s.",
                                 shown(layout, then->made_by, 20), now->made_by));
    if (!compared->count && strcmp(then->fingerprint, now->fingerprint) != 0)
        say(layout, "The bytes of the file are others, but no value differs.");
}

static void write_text(const struct layout *layout, const struct report *report)
{
    const struct sheet_comparison *compared = report->sheet;
    if (layout->options->quiet && !compared->count)
        return;
    add_head(layout, compared);
    add_origin(layout, compared);
    for (size_t i = 0; i < compared->count; i++)
        add_difference(layout, &compared->items[i]);
    if (compared->count)
        say(layout, "Take it down, and print it anew.");
}

/* --- JSON --- */

static void add_state(struct json *json, const char *key, const struct sheet_state *state)
{
    json_line(json, 2), json_key(json, key), json_open(json, '{');
    json_key(json, "machine"), json_text(json, state->machine);
    json_key(json, "fingerprint"), json_text(json, state->fingerprint);
    json_key(json, "made_by"), json_text(json, state->made_by);
    json_key(json, "day"), json_text(json, *state->day ? state->day : NULL);
    json_key(json, "cutter"), json_text(json, *state->cutter ? state->cutter : NULL);
    json_close(json, '}');
}

static void add_items(struct json *json, const char *key, const char *name,
                      const struct sheet_comparison *compared, bool findings)
{
    json_line(json, 2), json_key(json, key), json_open(json, '[');
    for (size_t i = 0; i < compared->count; i++) {
        const struct sheet_difference *one = &compared->items[i];
        if (one->finding != findings)
            continue;
        json_line(json, 4), json_open(json, '{');
        json_key(json, name), json_text(json, one->name);
        json_key(json, "sheet"), json_text(json, one->then);
        json_key(json, "file"), json_text(json, one->now);
        json_key(json, "line");
        if (one->line)
            json_count(json, one->line);
        else
            json_nothing(json);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void write_json(const struct layout *layout, const struct report *report)
{
    const struct sheet_comparison *compared = report->sheet;
    struct json json = {.out = layout->out};
    json_open(&json, '{');
    json_line(&json, 2), json_key(&json, "format"), json_text(&json, "proveout-sheet");
    json_key(&json, "version"), json_count(&json, 1);
    json_line(&json, 2), json_key(&json, "path"), json_text(&json, report->path);
    json_key(&json, "sheet"), json_text(&json, compared->sheet);
    json_key(&json, "same"), json_bool(&json, !compared->count);
    add_state(&json, "then", &compared->then);
    add_state(&json, "now", &compared->now);
    add_items(&json, "values", "field", compared, false);
    add_items(&json, "findings", "finding", compared, true);
    buffer_byte(layout->out, '\n');
    json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

const struct report_writer sheets_text = {.file = write_text};
const struct report_writer sheets_json = {.file = write_json};
