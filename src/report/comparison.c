/* What a revision moved, for people: mended, newly found, margins that grew and shrank. */
#include "report/internal.h"

#include "quantity/quantity.h"
#include "rules/moved.h"

enum { A_RULE = 12 }; /* lines of one rule and kind */

/* "probe-stroke-short, cutter 3" */
static const char *who(struct arena *arena, const struct finding *finding)
{
    return finding->subject ? arena_format(arena, "%s, %s", finding->rule, finding->subject)
                            : finding->rule;
}

/* "+3 mm" */
static const char *change_text(struct arena *arena, const struct move_of_margin *move)
{
    return quantity_text_signed(arena, move->change, move->after->dimension,
                                margin_unit(move->after));
}

static const char *margin_text(const struct finding *finding)
{
    return finding && finding->has_margin && finding->margin_text ? finding->margin_text : NULL;
}

/* "3 mm to spare" at the end of a line, or nothing. */
static const char *spare_text(struct arena *arena, const struct finding *finding)
{
    const char *margin = margin_text(finding);
    return margin ? arena_format(arena, ": %s to spare", margin) : "";
}

static void add_mended(const struct layout *layout, const struct move_of_margin *move)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 2, 9};
    const char *name = who(arena, move->before);
    if (!move->after)
        wrap_format(layout->out, &wrap, "gone %s: it does not apply any more", name);
    else if (move->after->outcome == OUTCOME_UNCHECKED)
        wrap_format(layout->out, &wrap, "gone %s: it cannot be checked any more", name);
    else
        wrap_format(layout->out, &wrap, "mended %s%s", name, spare_text(arena, move->after));
}

static void add_broken(const struct layout *layout, const struct move_of_margin *move)
{
    struct wrap wrap = {layout->width, 2, 9};
    const char *name = who(layout->out->arena, move->after);
    if (move->after->implied_by)
        wrap_format(layout->out, &wrap, "new %s: follows from %s", name,
                    move->after->implied_by);
    else
        wrap_format(layout->out, &wrap, "new %s: %s", name, move->after->message);
}

static void add_checked(const struct layout *layout, const struct move_of_margin *move)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 2, 9};
    wrap_format(layout->out, &wrap, "checked %s%s", who(arena, move->after),
                spare_text(arena, move->after));
}

static void add_unchecked(const struct layout *layout, const struct move_of_margin *move)
{
    struct wrap wrap = {layout->width, 2, 9};
    wrap_format(layout->out, &wrap, "unknown %s: %s", who(layout->out->arena, move->before),
                move->after->message);
}

static const char *rule_of(const struct move_of_margin *move)
{
    return move->after ? move->after->rule : move->before->rule;
}

/* Those of one kind; of a rule about many things the first few, and how many more. */
static void add_kind(const struct layout *layout, const struct move_of_margin *moves,
                     size_t count,
                     void (*add)(const struct layout *, const struct move_of_margin *))
{
    struct wrap wrap = {layout->width, 9, 9};
    for (size_t i = 0; i < count;) {
        size_t end = i;
        while (end < count && strcmp(rule_of(&moves[i]), rule_of(&moves[end])) == 0)
            end++;
        size_t shown = end - i > A_RULE + 1 ? A_RULE : end - i;
        for (size_t k = i; k < i + shown; k++)
            add(layout, &moves[k]);
        if (shown < end - i)
            wrap_format(layout->out, &wrap, "and %zu more of %s", end - i - shown,
                        rule_of(&moves[i]));
        i = end;
    }
}

static bool moves_alike(const struct move_of_margin *a, const struct move_of_margin *b)
{
    return strcmp(margin_text(a->before), margin_text(b->before)) == 0 &&
           strcmp(margin_text(a->after), margin_text(b->after)) == 0 &&
           a->after->outcome == b->after->outcome;
}

/* "cutter 1, cutter 2, cutter 5 and 7 more" of those from `at` on that move as it does; they
 * are marked in `told`. */
static const char *alike_names(struct arena *arena, const struct move_of_margin *moves,
                               size_t count, size_t at, bool *told)
{
    struct buffer names;
    size_t more = 0, named = 0;
    buffer_init(&names, arena);
    for (size_t i = at; i < count; i++) {
        if (told[i] || !moves_alike(&moves[at], &moves[i]))
            continue;
        told[i] = true;
        const char *subject = moves[i].after->subject;
        if (named == A_RULE)
            more++;
        else if (subject && ++named)
            buffer_format(&names, ", %s", subject);
    }
    if (more)
        buffer_format(&names, " and %zu more", more);
    return buffer_string(&names);
}

/* Moves of one rule in one direction: "better probe-stroke-short, cutter 1, cutter 3: 1.3 mm
 * -> 4.3 mm (+3 mm)" */
static void add_rule_margins(const struct layout *layout, const struct move_of_margin *moves,
                             size_t count)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 2, 9}, rest = {layout->width, 9, 9};
    bool *told = ARENA_ARRAY(arena, bool, count);
    size_t lines = 0, left = 0;
    for (size_t i = 0; i < count; i++) {
        const struct move_of_margin *move = &moves[i];
        if (told[i])
            continue;
        if (lines == A_RULE) {
            left++;
            continue;
        }
        lines++;
        const char *names = alike_names(arena, moves, count, i, told);
        wrap_format(layout->out, &wrap, "%s %s%s: %s -> %s (%s%s)",
                    move->change > 0 ? "better" : "worse", move->after->rule, names,
                    margin_text(move->before), margin_text(move->after),
                    change_text(arena, move),
                    move->after->outcome == OUTCOME_FAILED ? ", still short" : "");
    }
    if (left)
        wrap_format(layout->out, &rest, "and %zu more of %s", left, moves[0].after->rule);
}

static void add_margins(const struct layout *layout, const struct move_of_margin *moves,
                        size_t count)
{
    for (size_t i = 0, end; i < count; i = end) {
        for (end = i; end < count && strcmp(rule_of(&moves[i]), rule_of(&moves[end])) == 0;)
            end++;
        add_rule_margins(layout, moves + i, end - i);
    }
}

static void add_comparison(const struct layout *layout, const struct report *report)
{
    static void (*const adds[MOVED_WORSE])(const struct layout *,
                                           const struct move_of_margin *) = {
        [MOVED_BROKEN] = add_broken,
        [MOVED_MENDED] = add_mended,
        [MOVED_UNCHECKED] = add_unchecked,
        [MOVED_CHECKED] = add_checked,
    };
    const struct moved *moved = report->comparison;
    size_t count = 0;
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        count += moved->kinds[kind].count;
    buffer_text(layout->out, count ? "What moves:\n" : "No margin moves.\n");
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        if (kind < MOVED_WORSE)
            add_kind(layout, moved->kinds[kind].items, moved->kinds[kind].count, adds[kind]);
        else
            add_margins(layout, moved->kinds[kind].items, moved->kinds[kind].count);
}

const struct report_writer comparison_text = {.file = add_comparison};
