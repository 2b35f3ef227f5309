/* One finding as text: what, where, with which numbers, why, and what to do. */
#include "report/internal.h"

#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/excerpt.h"

enum {
    OTHERS_MAX = 12, /* named; the rest is counted */
    SHARES_MAX = 4,  /* largest tolerances named */
};

static const struct wrap *indented(const struct layout *layout, struct wrap *wrap)
{
    *wrap = (struct wrap){.width = layout->width, .first = 2, .rest = 4};
    return wrap;
}

/* FILE:LINE:COLUMN, or FILE alone. */
static const char *spot_text(const struct layout *layout, const struct finding_spot *spot)
{
    struct arena *arena = layout->out->arena;
    if (!spot->source)
        return layout->path;
    struct place place = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
    return arena_format(arena, "%.*s:%u:%u", VIEW(spot->source->name), place.line,
                        place.column);
}

/* The first line: place, level, sentence, rule. */
static void add_headline(const struct layout *layout, const struct finding *finding,
                         const char *level, enum text_color color)
{
    struct buffer *out = layout->out;
    text_colored(layout, COLOR_BOLD, spot_text(layout, &finding->at));
    buffer_text(out, ": ");
    text_colored(layout, color, level);
    buffer_text(out, ": ");
    escape_terminal(out, view_of(finding->message));
    buffer_text(out, " [");
    escape_terminal(out, view_of(finding->rule));
    buffer_text(out, "]\n");
}

static void add_arithmetic(const struct layout *layout, const struct finding *finding)
{
    struct wrap wrap;
    for (size_t i = 0; i < finding->arithmetic_count; i++)
        wrap_add(layout->out, indented(layout, &wrap), view_of(finding->arithmetic[i]));
    if (!finding->has_margin)
        return;
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    buffer_format(&text, "margin %s", finding->margin_text);
    unit_id unit = margin_unit(finding);
    for (size_t i = 0; i < finding->share_count && i < SHARES_MAX; i++)
        buffer_format(
            &text, "%s %s %s", i ? "," : "; tolerances in it:", finding->shares[i].name,
            quantity_text(text.arena, finding->shares[i].si, finding->dimension, unit));
    if (finding->share_count > SHARES_MAX)
        buffer_format(&text, ", and %zu smaller", finding->share_count - SHARES_MAX);
    wrap_add(layout->out, indented(layout, &wrap), buffer_view(&text));
}

static void add_related(const struct layout *layout, const struct finding *finding)
{
    struct wrap wrap;
    for (size_t i = 0; i < finding->related_count; i++) {
        const struct finding_spot *spot = &finding->related[i];
        const char *text = spot->text ? spot->text : spot->field;
        if (spot->source && text)
            wrap_format(layout->out, indented(layout, &wrap), "%s: %s", spot_text(layout, spot),
                        text);
    }
}

static bool has_same_subject(const struct finding *a, const struct finding *b)
{
    return a->subject == b->subject ||
           (a->subject && b->subject && strcmp(a->subject, b->subject) == 0);
}

/* What else failed at this place: by the name of the thing, or by its sentence where the thing
 * is the same. */
static void add_others(const struct layout *layout, const struct finding_group *group)
{
    struct buffer names;
    buffer_init(&names, layout->out->arena);
    struct wrap wrap;
    size_t shown = group->other_count < OTHERS_MAX ? group->other_count : OTHERS_MAX;
    for (size_t i = 0; i < shown; i++) {
        const struct finding *other = group->others[i];
        if (has_same_subject(other, group->worst)) {
            wrap_format(layout->out, indented(layout, &wrap), "also: %s", other->message);
            continue;
        }
        buffer_format(&names, "%s %s", names.size ? "," : "also",
                      other->subject ? other->subject : "the machine as a whole");
        if (other->has_margin)
            buffer_format(&names, " (%s)", other->margin_text);
    }
    wrap_add(layout->out, indented(layout, &wrap), buffer_view(&names));
    if (group->other_count > shown)
        wrap_format(layout->out, indented(layout, &wrap), "and %zu more at this place",
                    group->other_count - shown);
}

static void add_waiver(const struct layout *layout, const struct finding *finding)
{
    struct wrap wrap;
    const char *until = finding->waived_until;
    wrap_format(layout->out, indented(layout, &wrap), "waived%s%s: %s", until ? " until " : "",
                until ? until : "", finding->waived_reason);
}

static void add_prose(const struct layout *layout, const char *what, const char *text)
{
    struct wrap wrap;
    if (text && *text)
        wrap_format(layout->out, indented(layout, &wrap), "%s: %s", what, text);
}

/* A waived finding was looked at before: its numbers, and why it stands. */
static void add_waived(const struct layout *layout, const struct finding_group *group)
{
    const struct finding *worst = group->worst;
    const char *level =
        arena_format(layout->out->arena, "waived %s", finding_level_name(worst->level));
    add_headline(layout, worst, level, COLOR_CALM);
    add_arithmetic(layout, worst);
    add_others(layout, group);
    add_waiver(layout, worst);
    buffer_byte(layout->out, '\n');
}

void text_block(const struct layout *layout, const struct finding_group *group)
{
    static const enum text_color colors[LEVEL_COUNT] = {COLOR_NOTE, COLOR_WARNING, COLOR_ERROR};
    if (group_is_waived(group)) {
        add_waived(layout, group);
        return;
    }
    const struct finding *worst = group->worst;
    add_headline(layout, worst, finding_level_name(worst->level), colors[worst->level]);
    if (worst->at.source)
        excerpt_add(layout->out, worst->at.source, worst->at.span, layout->width);
    add_arithmetic(layout, worst);
    add_related(layout, worst);
    add_others(layout, group);
    struct wrap wrap;
    if (group->implied)
        wrap_format(layout->out, indented(layout, &wrap), "%zu further finding%s from this one",
                    group->implied, group->implied == 1 ? " follows" : "s follow");
    add_prose(layout, "why", worst->why);
    add_prose(layout, "put right", worst->put_right);
    buffer_byte(layout->out, '\n');
}

void text_line(const struct layout *layout, const struct finding *finding)
{
    struct buffer *out = layout->out;
    const char *subject = finding->subject;
    escape_terminal(out, view_of(spot_text(layout, &finding->at)));
    buffer_text(out, ": ");
    if (finding->outcome == OUTCOME_HELD)
        buffer_format(out, "held%s%s", finding->has_margin ? ", to spare " : "",
                      finding->has_margin ? finding->margin_text : "");
    else if (finding->outcome == OUTCOME_FAILED)
        buffer_format(out, "follows from %s: ", finding->implied_by);
    if (finding->outcome != OUTCOME_HELD)
        escape_terminal(out, view_of(finding->message));
    if (subject) {
        buffer_text(out, " (");
        escape_terminal(out, view_of(subject));
        buffer_byte(out, ')');
    }
    buffer_text(out, " [");
    escape_terminal(out, view_of(finding->rule));
    buffer_text(out, "]\n");
}
