/* Asking the rules about a draft. */
#include "ask/judge.h"

#include "base/buffer.h"
#include "machine/file.h"
#include "mend/mend.h"

void judge_init(struct judge *judge, struct arena *arena, const struct check_options *options,
                const char *path)
{
    *judge = (struct judge){.arena = arena, .path = path, .shared = options->shared};
    struct check_options with = *options;
    with.show = SHOW_FAILED;
    with.words = true;
    with.remedies = false;
    judge->quick = checker_new(arena, &with);
    with.remedies = true;
    judge->thorough = mender_new(arena, &with);
    with.show = SHOW_ALL;
    judge->whole = checker_new(arena, &with);
    runner_init(&judge->runner, arena, options->books, options->book_count);
}

/* A finding stays the same when its numbers change. */
static struct view name_of(struct arena *arena, const struct finding *finding)
{
    return view_of(arena_format(arena, "%s|%u|%s|%s", finding->rule, finding->requirement,
                                finding->subject ? finding->subject : "",
                                finding->at.field ? finding->at.field : ""));
}

static bool is_to_come(const struct judge *judge, const struct finding *finding)
{
    if (finding->at.field && judge->to_come(judge->user, finding->at.field))
        return true;
    for (size_t i = 0; i < finding->related_count; i++)
        if (finding->related[i].field && judge->to_come(judge->user, finding->related[i].field))
            return true;
    return false;
}

static bool counts(const struct judge *judge, const struct finding *finding)
{
    if (finding->outcome != OUTCOME_FAILED || finding->implied_by || is_to_come(judge, finding))
        return false;
    return !finding->from_reader ||
           strcmp(finding->rule, reader_finding_name(READER_MISSING_KEY)) != 0;
}

static double margin_of(const struct finding *finding)
{
    return finding->has_margin ? finding->margin : 0;
}

/* NULL: it is not known. */
static const struct known *known_as(const struct judge *judge, struct view name)
{
    for (size_t i = 0; i < judge->known.items.count; i++)
        if (view_equal(judge->known.items.items[i].name, name))
            return &judge->known.items.items[i];
    return NULL;
}

static bool is_news(const struct judge *judge, struct arena *arena,
                    const struct finding *finding)
{
    if (!counts(judge, finding))
        return false;
    if (finding->at.field && judge->put_anew(judge->user, finding->at.field))
        return true;
    const struct known *known = known_as(judge, name_of(arena, finding));
    return !known || margin_of(finding) < known->margin;
}

/* Takes what is found for what is known; `all`: of questions still to come as well.  Returns
 * how many of those known before are not there any more. */
static size_t remember(struct judge *judge, struct arena *scratch,
                       const struct file_report *report, bool all)
{
    const struct judge before = *judge;
    size_t stayed = 0;
    judge->known = (struct known_list){0};
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        struct view name = name_of(scratch, finding);
        const struct known *old = known_as(&before, name);
        if (finding->outcome != OUTCOME_FAILED || finding->implied_by)
            continue;
        stayed += old != NULL;
        struct known known = {{arena_copy(judge->arena, name.data, name.size), name.size},
                              margin_of(finding)};
        if (all || counts(judge, finding))
            VECTOR_ADD(judge->arena, &judge->known.items, known);
        else if (judge->keeps && old)
            VECTOR_ADD(judge->arena, &judge->known.items, *old);
    }
    return before.known.items.count > stayed ? before.known.items.count - stayed : 0;
}

void judge_know(struct judge *judge, struct arena *arena, struct view bytes)
{
    struct file_report report;
    checker_check(judge->quick, arena, view_of(judge->path), bytes, &report);
    (void)remember(judge, arena, &report, judge->keeps);
}

void judge_news(struct judge *judge, struct arena *arena, struct view bytes,
                struct finding_list *out)
{
    struct file_report report;
    bool any = false;
    *out = (struct finding_list){0};
    checker_check(judge->quick, arena, view_of(judge->path), bytes, &report);
    for (size_t i = 0; i < report.count && !any; i++)
        any = is_news(judge, arena, &report.findings[i]);
    if (any) {
        judge_report(judge, arena, bytes, &report);
        for (size_t i = 0; i < report.count; i++)
            if (is_news(judge, arena, &report.findings[i]))
                VECTOR_ADD(arena, &out->items, &report.findings[i]);
    }
    out->gone = remember(judge, arena, &report, false);
}

void judge_report(struct judge *judge, struct arena *arena, struct view bytes,
                  struct file_report *out)
{
    mender_check(judge->thorough, arena, view_of(judge->path), bytes, out);
}

void judge_whole(struct judge *judge, struct arena *arena, struct view bytes,
                 struct file_report *out)
{
    checker_check(judge->whole, arena, view_of(judge->path), bytes, out);
}

static bool is_listed(const struct finding_list *list, const char *rule)
{
    for (size_t i = 0; i < list->items.count; i++)
        if (strcmp(list->items.items[i]->rule, rule) == 0)
            return true;
    return false;
}

static bool wants(const struct finding *finding, const char *path)
{
    for (size_t i = 0; i < finding->missing_count; i++)
        if (strncmp(finding->missing[i], path, strlen(path)) == 0)
            return true;
    return false;
}

void judge_left_out(struct judge *judge, struct arena *arena, struct view bytes,
                    const char *path, struct finding_list *out)
{
    struct file_report report;
    *out = (struct finding_list){0};
    judge_whole(judge, arena, bytes, &report);
    for (size_t i = 0; i < report.count; i++) {
        const struct finding *finding = &report.findings[i];
        if (finding->outcome == OUTCOME_UNCHECKED && finding->hurts == HURTS_PERSON &&
            wants(finding, path) && !is_listed(out, finding->rule))
            VECTOR_ADD(arena, &out->items, finding);
    }
}

static const char *what_holds(struct arena *arena, const struct window *window)
{
    const struct window_end *low = &window->low, *high = &window->high;
    const char *const *between = window->between;
    if (window->empty && between[0] && between[1] && strcmp(between[0], between[1]) == 0)
        return arena_format(arena, "with the answers so far %s fails whatever is typed here",
                            between[0]);
    if (window->empty && between[0] && between[1])
        return arena_format(
            arena, "no value will do with the answers so far: %s and %s cannot both hold%s",
            between[0], between[1], window_outweighs(arena, window));
    if (low->bounded && high->bounded && strcmp(low->rule, high->rule) == 0)
        return arena_format(arena, "every rule holds from %s to %s; outside that fails %s",
                            low->text, high->text, low->rule);
    if (low->bounded && high->bounded)
        return arena_format(arena,
                            "every rule holds from %s to %s; below that fails %s, above it %s",
                            low->text, high->text, low->rule, high->rule);
    if (low->bounded)
        return arena_format(arena, "every rule holds from %s upwards; below that fails %s",
                            low->text, low->rule);
    if (high->bounded)
        return arena_format(arena, "every rule holds up to %s; above that fails %s", high->text,
                            high->rule);
    return NULL;
}

void judge_offer(struct judge *judge, struct arena *arena, struct view bytes, const char *path,
                 const char *usual, struct offer *out)
{
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct machine *machine = &file->machine;
    struct field_place place;
    struct window *window = ARENA_NEW(arena, struct window);
    *out = (struct offer){.text = usual};
    machine_file_read(arena, judge->path, bytes, judge->shared, file);
    if (machine_resolve(arena, machine, view_of(path), &place, 1) != 1)
        return;
    /* The usual value stands where the window is looked for from. */
    struct field_value *value = machine_field_put(machine, place.field, place.record);
    const struct tree_node *node = value->node;
    bool put = usual && !field_read_text(arena, place.field, view_of(usual), value);
    if (put)
        value->node = node;
    const struct window_question question = {&judge->runner, arena, machine, NULL};
    if (!window_find(&question, place.field, place.record, 0, window) || !window->asked)
        return;
    out->window = what_holds(arena, window);
    if (out->window && !window->proved)
        out->window = arena_format(arena, "where it was looked, %s", out->window);
    if (window->empty)
        out->text = NULL;
    else
        out->range = window;
    double si;
    const char *text;
    if (put && !window->holds && window_propose(arena, window, &si, &text)) {
        out->text = text;
        out->computed = true;
    }
}
