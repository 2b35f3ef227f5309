/* What a revision moved, for people: mended, newly found, margins that grew and shrank. */
#include "report/internal.h"

#include "quantity/quantity.h"
#include "rules/check.h"

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

/* What became of a failure: "mended, 3 mm to spare". */
static const char *end_of(struct arena *arena, const struct move_of_margin *move)
{
    const char *margin = margin_text(move->after);
    if (!move->after)
        return "it does not apply any more";
    if (move->after->outcome == OUTCOME_UNCHECKED)
        return "it cannot be checked any more";
    return margin ? arena_format(arena, "mended, %s to spare", margin) : "mended";
}

/* All that is gone in one paragraph, how many first. */
static void add_gone(const struct layout *layout, const struct move_of_margin *moves,
                     size_t count)
{
    struct arena *arena = layout->out->arena;
    const struct wrap wrap = {layout->width, 2, 9};
    struct buffer names;
    buffer_init(&names, arena);
    for (size_t i = 0; i < count && i < A_RULE; i++)
        buffer_format(&names, "%s%s (%s)", i ? "; " : "", who(arena, moves[i].before),
                      end_of(arena, &moves[i]));
    if (count > A_RULE)
        buffer_format(&names, "; and %zu more", count - A_RULE);
    if (count)
        wrap_format(layout->out, &wrap, "gone %zu %s: %s", count,
                    count == 1 ? "finding" : "findings", buffer_string(&names));
}

static bool is_same_cause(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

/* Do they say the same of two things, as of two cutters? */
static bool are_alike(const struct finding *a, const struct finding *b)
{
    return a == b ||
           (a->requirement == b->requirement && is_same_cause(a->implied_by, b->implied_by) &&
            a->subject && b->subject && (a->implied_by || (a->has_margin && b->has_margin)));
}

/* ", cutter 1, cutter 5 and 7 more": those that say the same as `worst` and are not told. */
static const char *others_alike(struct arena *arena, const struct move_of_margin *moves,
                                size_t count, const struct finding *worst, bool *told)
{
    struct buffer names;
    size_t named = 0, more = 0;
    buffer_init(&names, arena);
    for (size_t i = 0; i < count; i++) {
        if (told[i] || !are_alike(worst, moves[i].after))
            continue;
        told[i] = true;
        if (moves[i].after == worst)
            continue;
        if (named == A_RULE)
            more++;
        else if (++named)
            buffer_format(&names, ", %s", moves[i].after->subject);
    }
    if (more)
        buffer_format(&names, " and %zu more", more);
    return buffer_string(&names);
}

/* The one to be told of those that say the same as `first`: with the least margin. */
static const struct finding *worst_of(const struct move_of_margin *moves, size_t count,
                                      const struct finding *first)
{
    const struct finding *worst = first;
    for (size_t i = 0; i < count && !first->implied_by; i++)
        if (are_alike(first, moves[i].after) && moves[i].after->margin < worst->margin)
            worst = moves[i].after;
    return worst;
}

/* What is new of one rule: of what says the same of several cutters the worst, the others by
 * name. */
static void add_new_of_rule(const struct layout *layout, const struct move_of_margin *moves,
                            size_t count, bool implied)
{
    struct arena *arena = layout->out->arena;
    const struct wrap wrap = {layout->width, 2, 9}, rest = {layout->width, 9, 9};
    bool *told = ARENA_ARRAY(arena, bool, count);
    size_t lines = 0, left = 0;
    for (size_t i = 0; i < count; i++) {
        const struct finding *worst = worst_of(moves, count, moves[i].after);
        if (told[i] || implied != (worst->implied_by != NULL))
            continue;
        if (++lines > A_RULE) {
            left++;
            continue;
        }
        const char *others = others_alike(arena, moves, count, worst, told);
        if (implied)
            wrap_format(layout->out, &wrap, "new %s%s: follows from %s", who(arena, worst),
                        others, worst->implied_by);
        else
            wrap_format(layout->out, &wrap, "new %s: %s", who(arena, worst),
                        text_told(layout, worst->message));
        if (!implied && *others)
            wrap_format(layout->out, &rest, "also %s", others + 2);
    }
    if (left)
        wrap_format(layout->out, &rest, "and %zu more of %s", left, moves[0].after->rule);
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
                text_told(layout, move->after->message));
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

/* What is new, that which follows from other things first. */
static void add_new(const struct layout *layout, const struct move_of_margin *moves,
                    size_t count)
{
    for (int implied = 1; implied >= 0; implied--)
        for (size_t i = 0, end; i < count; i = end) {
            for (end = i; end < count && strcmp(rule_of(&moves[i]), rule_of(&moves[end])) == 0;)
                end++;
            add_new_of_rule(layout, moves + i, end - i, implied);
        }
}

/* Of a file that could not be read before, nearly all was not asked: one line says so. */
static void add_all_checked(const struct layout *layout, const struct move_of_margin *moves,
                            size_t count)
{
    enum { ONE_BY_ONE = 20 };
    struct wrap wrap = {layout->width, 2, 9};
    if (count <= ONE_BY_ONE)
        add_kind(layout, moves, count, add_checked);
    else
        wrap_format(layout->out, &wrap,
                    "checked %zu times what could not be asked before; `proveout check` tells "
                    "how near each is",
                    count);
}

/* What matters most stands last, where it stays on the screen. */
void comparison_add(const struct layout *layout, const struct moved *moved)
{
    size_t count = 0;
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        count += moved->kinds[kind].count;
    buffer_text(layout->out, count ? "What moves:\n" : "No margin moves.\n");
#define KIND(kind) moved->kinds[MOVED_##kind].items, moved->kinds[MOVED_##kind].count
    add_gone(layout, KIND(MENDED));
    add_all_checked(layout, KIND(CHECKED));
    add_margins(layout, KIND(BETTER));
    add_margins(layout, KIND(WORSE));
    add_kind(layout, KIND(UNCHECKED), add_unchecked);
    add_new(layout, KIND(BROKEN));
#undef KIND
}

static void add_comparison(const struct layout *layout, const struct report *report)
{
    struct layout named = *layout; /* the things of its lists, as people call them */
    named.file = report->comparison->after;
    comparison_add(&named, report->comparison);
}

const struct report_writer comparison_text = {.file = add_comparison};
