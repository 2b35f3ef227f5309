/* What was found, what is waived, what was not looked at; and the tightest margins. */
#include "wall/internal.h"

#include <stdlib.h>

static const char *place(const struct poster *poster, const struct finding_spot *at)
{
    if (!at->source)
        return "";
    return arena_format(poster->arena, ", line %u",
                        source_place(at->source, at->span.start, COLUMN_BYTES).line);
}

static const char *told(const struct poster *poster, const char *text)
{
    return text ? finding_told(poster->arena, poster->wall->report, text) : "";
}

static const char *about(const struct poster *poster, const struct finding *finding)
{
    return finding->subject ? arena_format(poster->arena, ", %s", finding->subject) : "";
}

static void add_failed(struct poster *poster, const struct finding *finding)
{
    struct arena *arena = poster->arena;
    bool hurts = finding->hurts == HURTS_PERSON;
    paper_item(&poster->paper,
               arena_format(arena, "%s%s: %s [%s%s%s]%s%s", finding_level_name(finding->level),
                            hurts ? ", can hurt a person" : "", told(poster, finding->message),
                            finding->rule, about(poster, finding), place(poster, &finding->at),
                            finding->put_right ? "\nTo do: " : "",
                            told(poster, finding->put_right)),
               false);
}

static void add_waived(struct poster *poster, const struct finding *finding)
{
    struct arena *arena = poster->arena;
    paper_item(
        &poster->paper,
        arena_format(arena, "%s [%s%s%s]\nAccepted%s%s%s%s: %s", told(poster, finding->message),
                     finding->rule, about(poster, finding), place(poster, &finding->at),
                     finding->waived_by ? " by " : "",
                     finding->waived_by ? finding->waived_by : "",
                     finding->waived_until ? " until " : ", without a last day",
                     finding->waived_until ? finding->waived_until : "",
                     finding->waived_reason ? finding->waived_reason : "no reason is given"),
        false);
}

static void add_unchecked(struct poster *poster, const struct finding *finding)
{
    paper_item(&poster->paper,
               arena_format(poster->arena, "%s%s: %s%s%s", finding->rule,
                            about(poster, finding), told(poster, finding->message),
                            finding->why ? "\nIt matters since: " : "",
                            told(poster, finding->why)),
               false);
}

static void add_outcome(struct poster *poster, enum finding_outcome outcome, const char *none,
                        void (*add)(struct poster *poster, const struct finding *finding))
{
    const struct file_report *report = poster->wall->report;
    size_t count = 0, implied = 0;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (finding->outcome != outcome)
            continue;
        count++;
        if (finding->implied_by)
            implied++;
        else
            add(poster, finding);
    }
    for (size_t i = 0; i < report->more_count; i++) {
        const struct finding_more *more = &report->more[i];
        if ((outcome == OUTCOME_FAILED && !more->waived) ||
            (outcome == OUTCOME_WAIVED && more->waived))
            paper_item(&poster->paper,
                       arena_format(poster->arena, "%s: %zu more of the same", more->rule,
                                    more->failed),
                       false);
    }
    if (implied)
        paper_text(&poster->paper,
                   arena_format(poster->arena, "%zu more follow%s from these.", implied,
                                implied == 1 ? "s" : ""),
                   false);
    if (!count)
        paper_text(&poster->paper, none, false);
}

void wall_add_findings(struct poster *poster)
{
    paper_heading(&poster->paper, "What fails");
    add_outcome(
        poster, OUTCOME_FAILED,
        "Nothing was found. That is no promise: the first run is made in air, a hand on "
        "the stop.",
        add_failed);
    paper_heading(&poster->paper, "What somebody accepted");
    add_outcome(poster, OUTCOME_WAIVED, "Nothing is waived.", add_waived);
    paper_heading(&poster->paper, "What was not checked");
    add_outcome(poster, OUTCOME_UNCHECKED, "Every rule that applies to this machine was asked.",
                add_unchecked);
}

/* --- margins --- */

enum { BARS = 8, SHARES = 3 };

static const struct paper_table margins = {
    "the tightest margins",
    3,
    {{"rule", 5600}, {"left, and tolerance", 5600}, {"what the tolerance is made of", 6800}}};

static double tightness(const struct finding *finding)
{
    return finding->margin / finding->tolerance;
}

static int compare(const void *a, const void *b)
{
    const struct finding *const *x = a, *const *y = b;
    double by = tightness(*x) - tightness(*y);
    return by < 0 ? -1 : by > 0 ? 1 : strcmp((*x)->rule, (*y)->rule);
}

static const char *shares_text(const struct poster *poster, const struct finding *finding,
                               unit_id unit)
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    for (size_t i = 0; i < finding->share_count && i < SHARES; i++)
        buffer_format(
            &text, "%s%s of %s", i ? ", " : "",
            quantity_text(poster->arena, finding->shares[i].si, finding->dimension, unit),
            told(poster, finding->shares[i].name));
    if (finding->share_count > SHARES)
        buffer_format(&text, ", and %zu more", finding->share_count - SHARES);
    return buffer_string(&text);
}

static void add_margin(struct poster *poster, const struct finding *finding)
{
    struct arena *arena = poster->arena;
    double all = finding->margin + finding->tolerance;
    unit_id unit = machine_unit(poster->machine, finding->dimension);
    const struct paper_cell cells[] = {
        {.text = arena_format(arena, "%s%s", finding->rule, about(poster, finding))},
        {.text =
             arena_format(arena, "%s left, %s tolerance", finding->margin_text,
                          quantity_text(arena, finding->tolerance, finding->dimension, unit)),
         .has_bar = true,
         .bar = {finding->margin / all, finding->tolerance / all}},
        {.text = shares_text(poster, finding, unit)}};
    paper_row(&poster->paper, &margins, cells, NULL);
}

void wall_add_margins(struct poster *poster)
{
    const struct file_report *report = poster->wall->report;
    const struct finding **held =
        ARENA_ARRAY(poster->arena, const struct finding *, report->count + 1);
    size_t count = 0;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (finding->outcome == OUTCOME_HELD && finding->has_margin && finding->tolerance > 0)
            held[count++] = finding;
    }
    paper_heading(&poster->paper, "The tightest margins");
    if (!count) {
        paper_text(&poster->paper, "No margin that holds has a tolerance in it.", false);
        return;
    }
    qsort(held, count, sizeof(struct finding *), compare);
    paper_text(&poster->paper,
               "Solid: what is left at worst. Hatched: what the tolerances take of it.", false);
    for (size_t i = 0; i < count && i < BARS; i++)
        add_margin(poster, held[i]);
}
