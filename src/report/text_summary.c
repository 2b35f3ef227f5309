/* What stands at the end of a file: counts, what could not be looked at, how close it was. */
#include "report/internal.h"

#include "text/escape.h"

enum {
    WANTED_ON_A_LINE = 3, /* missing fields named where one line has to do */
    WANTED_MAX = 24,      /* in a summary; --show all names what each rule wants */
};

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
    buffer_format(text, "%s in %s", margin->text, margin->rule);
    if (margin->subject)
        buffer_format(text, " (%s)", margin->subject);
}

/* At most `most` missing fields by name. */
static void add_wanted(struct buffer *text, const struct file_report *file, size_t most)
{
    for (size_t i = 0; i < file->wanted_count && i < most; i++)
        buffer_format(text, "%s %s", i ? "," : "", file->wanted[i]);
    if (file->wanted_count > most)
        buffer_format(text, " and %zu more", file->wanted_count - most);
}

static const char *status_text(enum file_status status)
{
    if (status == FILE_PARTIAL)
        return ". The file breaks off; only what stands before that was looked at";
    return status == FILE_UNREADABLE ? ". No rule could be asked" : "";
}

static void add_more(const struct layout *layout, const struct wrap *wrap,
                     const struct file_report *file)
{
    for (size_t i = 0; i < file->more_count; i++)
        wrap_format(layout->out, wrap, "%zu more of %s %s not listed.", file->more[i].failed,
                    file->more[i].rule, file->more[i].failed == 1 ? "is" : "are");
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

void text_summary(const struct layout *layout, const struct file_report *file,
                  const struct shown_groups *shown)
{
    struct arena *arena = layout->out->arena;
    const struct wrap top = {.width = layout->width, .first = 0, .rest = 2};
    const struct wrap below = {.width = layout->width, .first = 2, .rest = 4};
    bool asked = file->status != FILE_UNREADABLE;
    const char *waived =
        shown->waived ? arena_format(arena, ", %zu waived", shown->waived) : "";
    wrap_format(layout->out, &top, "%s: %s%s%s%s%s.", file->path,
                text_levels(arena, file->findings_by_level), waived, asked ? "; " : "",
                asked ? rules_text(arena, file) : "", status_text(file->status));
    add_more(layout, &below, file);
    if (file->wanted_count) {
        struct buffer wanted;
        buffer_init(&wanted, arena);
        buffer_text(&wanted, "Not checked for want of");
        add_wanted(&wanted, file, WANTED_MAX);
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

void text_clean(const struct layout *layout, const struct file_report *file)
{
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    buffer_format(&text, "%s: nothing found; %s", file->path, rules_text(text.arena, file));
    if (file->wanted_count) {
        buffer_text(&text, " for want of");
        add_wanted(&text, file, WANTED_ON_A_LINE);
    }
    if (file->tightest_count) {
        buffer_text(&text, "; tightest margin ");
        add_margin(&text, &file->tightest[0]);
    }
    escape_terminal(layout->out, buffer_view(&text));
    buffer_byte(layout->out, '\n');
}
