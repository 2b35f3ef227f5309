#include "report/moves.h"

#include "quantity/quantity.h"
#include "report/internal.h"

/* "probe-stroke-short, cutter 3" */
static const char *who(struct arena *arena, const struct finding *finding)
{
    return finding->subject ? arena_format(arena, "%s, %s", finding->rule, finding->subject)
                            : finding->rule;
}

static const char *change_text(struct arena *arena, const struct move_of_margin *move)
{
    return quantity_text_signed(arena, move->change, move->after->dimension,
                                margin_unit(move->after));
}

static const char *margin_text(const struct finding *finding)
{
    return finding && finding->has_margin && finding->margin_text ? finding->margin_text : NULL;
}

/* "  better  probe-stroke-short, cutter 3: 1.3 mm -> 4.3 mm (+3 mm)" */
static void add_margin(const struct layout *layout, const struct move_of_margin *move)
{
    struct wrap wrap = {layout->width, 2, 10};
    const char *still = move->after->outcome == OUTCOME_FAILED ? ", still short" : "";
    wrap_format(layout->out, &wrap, "%s  %s: %s -> %s (%s%s)",
                move->change > 0 ? "better" : "worse ", who(layout->out->arena, move->after),
                margin_text(move->before), margin_text(move->after),
                change_text(layout->out->arena, move), still);
}

static void add_mended(const struct layout *layout, const struct move_of_margin *move)
{
    struct wrap wrap = {layout->width, 2, 10};
    const char *margin = margin_text(move->after);
    const char *name = who(layout->out->arena, move->before);
    if (!move->after)
        wrap_format(layout->out, &wrap, "mended  %s: it does not apply any more", name);
    else if (move->after->outcome == OUTCOME_UNCHECKED)
        wrap_format(layout->out, &wrap, "gone    %s: it could not be checked any more", name);
    else if (margin)
        wrap_format(layout->out, &wrap, "mended  %s: %s to spare", name, margin);
    else
        wrap_format(layout->out, &wrap, "mended  %s", name);
}

static void add_broken(const struct layout *layout, const struct move_of_margin *move)
{
    struct wrap wrap = {layout->width, 2, 10};
    wrap_format(layout->out, &wrap, "new     %s: %s", who(layout->out->arena, move->after),
                move->after->message ? move->after->message : "it fails now");
}

void moves_text(struct buffer *out, const struct report_options *options, const char *path,
                const struct moved *moved)
{
    struct layout layout = {out, options, path, wrap_width(options->width)};
    if (!moved->mended_count && !moved->broken_count && !moved->margin_count) {
        buffer_text(out, "No margin moves.\n");
        return;
    }
    buffer_text(out, "What moves:\n");
    for (size_t i = 0; i < moved->broken_count; i++)
        add_broken(&layout, &moved->broken[i]);
    for (size_t i = 0; i < moved->mended_count; i++)
        add_mended(&layout, &moved->mended[i]);
    for (size_t i = 0; i < moved->margin_count; i++)
        if (moved->margins[i].change < 0)
            add_margin(&layout, &moved->margins[i]);
    for (size_t i = 0; i < moved->margin_count; i++)
        if (moved->margins[i].change > 0)
            add_margin(&layout, &moved->margins[i]);
}
