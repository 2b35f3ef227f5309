/* What stands below the words of a finding: the arithmetic, what its tolerance is made of, and
 * the other places that have to do with it.
 *
 * Short, each place is told once: in the step that has its number, with the tolerance that
 * comes from it, or behind all that.  In full each has a line of its own, with what its field
 * means.
 */
#include "report/internal.h"

#include <math.h>

#include "quantity/quantity.h"

enum { SHARES_MAX = 4 }; /* largest tolerances named where it is short */

const struct wrap *text_indented(const struct layout *layout, struct wrap *wrap)
{
    *wrap = (struct wrap){.width = layout->width, .first = 2, .rest = 4};
    return wrap;
}

/* FILE:LINE:COLUMN, or FILE alone. */
const char *text_spot(const struct layout *layout, const struct finding_spot *spot)
{
    struct arena *arena = layout->out->arena;
    if (!spot->source)
        return layout->path;
    struct place place = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
    return arena_format(arena, "%.*s:%u:%u", VIEW(spot->source->name), place.line,
                        place.column);
}

/* Text of a finding as people are told it. */
const char *text_told(const struct layout *layout, const char *text)
{
    return finding_told(layout->out->arena, layout->file, text);
}

void text_paragraph(const struct layout *layout, const char *text)
{
    struct wrap wrap;
    wrap_add(layout->out, text_indented(layout, &wrap), view_of(text_told(layout, text)));
}

/* "line 12", or the file as well where it is another one than the finding's. */
static const char *where_text(const struct layout *layout, const struct finding *finding,
                              const struct finding_spot *spot)
{
    struct place place = source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS);
    return spot->source == finding->at.source
               ? arena_format(layout->out->arena, "line %u", place.line)
               : text_spot(layout, spot);
}

/* The place of the field that a tolerance comes from, where it is among the others. */
static const struct finding_spot *place_of_share(const struct finding *finding,
                                                 const struct finding_share *share)
{
    for (size_t i = 0; i < finding->related_count; i++) {
        const struct finding_spot *spot = &finding->related[i];
        size_t size = spot->source && spot->field ? strlen(spot->field) : 0;
        if (size && strncmp(spot->field, share->name, size) == 0 &&
            (!share->name[size] || strncmp(share->name + size, " of ", 4) == 0))
            return spot;
    }
    return NULL;
}

static size_t shares_shown(const struct finding *finding)
{
    return finding->share_count < SHARES_MAX ? finding->share_count : SHARES_MAX;
}

/* Whose it is goes without saying where that is the subject. */
static const char *share_name(const struct layout *layout, const struct finding *finding,
                              const struct finding_share *share)
{
    struct view name = view_of(share->name);
    const char *of =
        finding->subject ? arena_format(layout->out->arena, " of %s", finding->subject) : "";
    size_t size = strlen(of);
    if (size && name.size > size && strcmp(share->name + name.size - size, of) == 0)
        name.size -= size;
    return arena_copy(layout->out->arena, name.data, name.size);
}

static bool has_tolerance(const struct finding *finding)
{
    return finding->has_margin && finding->share_count;
}

static const char *share_size(const struct layout *layout, const struct finding *finding,
                              double si)
{
    return quantity_text(layout->out->arena, si, finding->dimension, margin_unit(finding));
}

/* "± 6.36 mm: allowances.reseat 6.35 mm, homing.z.repeatability 0.01 mm (line 12)" */
static void add_tolerance(const struct layout *layout, const struct finding *finding)
{
    if (!has_tolerance(finding))
        return;
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    size_t shown = shares_shown(finding);
    bool squares = finding->as_squares && finding->share_count > 1;
    bool lone = finding->share_count == 1;
    double left = finding->tolerance;
    buffer_format(&text, "\xc2\xb1 %s%s:", share_size(layout, finding, finding->tolerance),
                  squares ? ", the root of the sum of squares" : "");
    for (size_t i = 0; i < finding->share_count; i++)
        left -= finding->shares[i].si;
    bool rest = !squares && left > 1e-9 * finding->tolerance;
    for (size_t i = 0; i < shown; i++) {
        const struct finding_share *share = &finding->shares[i];
        const struct finding_spot *spot = place_of_share(finding, share);
        buffer_format(&text, "%s %s", i ? "," : "", share_name(layout, finding, share));
        if (!lone || rest)
            buffer_format(&text, " %s", share_size(layout, finding, share->si));
        if (spot && !spot->in_steps)
            buffer_format(&text, " (%s)", where_text(layout, finding, spot));
    }
    if (finding->share_count > shown)
        buffer_format(&text, ", and %zu smaller (--arithmetic full names them)",
                      finding->share_count - shown);
    if (rest)
        buffer_format(&text, ", and %s of more than can be told apart",
                      share_size(layout, finding, left));
    text_paragraph(layout, buffer_string(&text));
}

/* The whole derivation, in the names of the rules, and every tolerance in it. */
static void add_derivation(const struct layout *layout, const struct finding *finding)
{
    for (size_t i = 0; i < finding->arithmetic_count; i++)
        text_paragraph(layout, finding->arithmetic[i]);
    if (finding->has_margin)
        text_paragraph(layout,
                       arena_format(layout->out->arena, "margin %s", finding->margin_text));
    if (!has_tolerance(finding))
        return;
    struct buffer text;
    buffer_init(&text, layout->out->arena);
    for (size_t i = 0; i < finding->share_count; i++)
        buffer_format(&text, "%s %s from %s", i ? "," : "tolerances in it:",
                      share_size(layout, finding, finding->shares[i].si),
                      finding->shares[i].name);
    text_paragraph(layout, buffer_string(&text));
}

void text_arithmetic(const struct layout *layout, const struct finding *finding)
{
    if (layout->options->arithmetic_full) {
        add_derivation(layout, finding);
        return;
    }
    for (size_t i = 0; i < finding->step_count; i++)
        text_paragraph(layout, finding->steps[i]);
    add_tolerance(layout, finding);
}

/* Has a step or the tolerance told of it? */
static bool is_told(const struct finding *finding, const struct finding_spot *spot)
{
    for (size_t i = 0; has_tolerance(finding) && i < shares_shown(finding); i++)
        if (place_of_share(finding, &finding->shares[i]) == spot)
            return true;
    return spot->in_steps;
}

/* One line each, by what the fields mean. */
static void add_meanings(const struct layout *layout, const struct finding *finding)
{
    for (size_t i = 0; i < finding->related_count; i++) {
        const struct finding_spot *spot = &finding->related[i];
        const char *text = spot->told ? spot->told : spot->text ? spot->text : spot->field;
        if (spot->source && text)
            text_paragraph(layout, arena_format(layout->out->arena, "%s: %s",
                                                where_text(layout, finding, spot), text));
    }
}

/* What is said of a place in short; NULL: it is told, or there is nothing to say. */
static const char *said_in_short(const struct finding *finding, const struct finding_spot *spot)
{
    if (!spot->source || is_told(finding, spot))
        return NULL;
    return spot->text ? spot->text : spot->field;
}

void text_places(const struct layout *layout, const struct finding *finding)
{
    struct buffer text;
    size_t count = 0, said = 0;
    buffer_init(&text, layout->out->arena);
    bool full = layout->options->arithmetic_full;
    if (full)
        add_meanings(layout, finding);
    for (size_t i = 0; i < finding->related_count && !full; i++)
        count += said_in_short(finding, &finding->related[i]) != NULL;
    for (size_t i = 0; i < finding->related_count && count; i++) {
        const struct finding_spot *spot = &finding->related[i];
        const char *words = said_in_short(finding, spot);
        if (words)
            buffer_format(&text, "%s%s: %s",
                          said++      ? "; "
                          : count > 1 ? "other places: "
                                      : "",
                          where_text(layout, finding, spot), words);
    }
    if (finding->related_left)
        buffer_format(&text, "%s%zu more place%s of this kind", said ? "; and " : "and ",
                      finding->related_left, finding->related_left == 1 ? "" : "s");
    text_paragraph(layout, buffer_string(&text));
}
