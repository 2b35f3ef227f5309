/* The tightest margins, and what the tolerance of each is made of. */
#include "wall/internal.h"

#include <stdlib.h>

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
            poster_told(poster, finding->shares[i].name));
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
        {.text = arena_format(arena, "%s%s", finding->rule, poster_about(poster, finding))},
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
