/* Advice in numbers: the window of the number that a finding blames. */
#include "rules/internal.h"

enum {
    REMEDY_WINDOWS = 20,   /* of one file; further findings keep the advice of their rule */
    REMEDY_CUTTERS = 1000, /* a longer list has no windows: they would take long */
};

/* The advice for one field. */
struct remedy {
    const char *path;
    const char *words;                       /* NULL: no window can be given */
    const struct finding_conflict *conflict; /* where no value will do; or NULL */
    struct finding_fix fix;                  /* text NULL: nothing is proposed */
    struct formula_change *changes;          /* of each book, with the field */
};

struct remedies {
    struct window_question question;
    const struct machine *machine;
    struct machine copy; /* in which values are changed; made with the first window */
    VECTOR(struct remedy) known;
};

/* Of which numbers windows are given. */
static const enum field_group groups[] = {GROUP_ROOT, GROUP_AXIS, GROUP_HOMING};

static bool has_windows(enum field_group group)
{
    for (size_t i = 0; i < sizeof groups / sizeof *groups; i++)
        if (groups[i] == group)
            return true;
    return false;
}

/* What `revise --put-right` would set, where the number stands in the file. */
static void find_fix(const struct remedies *remedies, const struct window *window,
                     struct finding_fix *out)
{
    struct arena *arena = remedies->question.arena;
    const struct field_value *value =
        machine_field(remedies->machine, window->field, window->record);
    const struct tree_node *node = value->node;
    double si;
    const char *text;
    if (value->state != VALUE_GIVEN || !node || node->kind != TREE_TEXT || window->part ||
        !window_propose(arena, window, &si, &text))
        return;
    *out = (struct finding_fix){
        .title = arena_format(arena, "set %s to %s", window->path, text),
        .span = node->span,
        .text = text,
        .chosen = true,
    };
}

static void find_words(struct remedies *remedies, struct remedy *out)
{
    struct arena *arena = remedies->question.arena;
    struct field_place place;
    struct window window;
    if (remedies->machine->groups[GROUP_CUTTER].count > REMEDY_CUTTERS ||
        machine_resolve(arena, remedies->machine, view_of(out->path), &place, 1) != 1)
        return;
    if (!remedies->question.machine) {
        remedies->copy = *remedies->machine;
        machine_own_values(&remedies->copy, arena, groups, sizeof groups / sizeof *groups);
        remedies->question.machine = &remedies->copy;
    }
    if (window_find(&remedies->question, place.field, place.record, place.part, &window)) {
        struct finding_conflict conflict;
        out->words = window_words(arena, &window);
        if (window_conflict(&window, &conflict)) {
            struct finding_conflict *kept = ARENA_NEW(arena, struct finding_conflict);
            *kept = conflict;
            out->conflict = kept;
        }
        find_fix(remedies, &window, &out->fix);
    }
    runner_reset(remedies->question.runner, remedies->machine);
}

/* What is known of a field; NULL where so many were asked about that no more are. */
static const struct remedy *remedy_of(struct remedies *remedies, const char *path)
{
    for (size_t i = 0; i < remedies->known.count; i++)
        if (strcmp(remedies->known.items[i].path, path) == 0)
            return &remedies->known.items[i];
    if (remedies->known.count == REMEDY_WINDOWS)
        return NULL;
    struct arena *arena = remedies->question.arena;
    struct remedy remedy = {.path = path};
    find_words(remedies, &remedy);
    if (remedy.words)
        remedy.changes = search_changes(remedies->question.runner, arena, remedies->machine,
                                        field_find(view_of(path)));
    VECTOR_ADD(arena, &remedies->known, remedy);
    return &remedies->known.items[remedies->known.count - 1];
}

bool remedy_moves(const struct runner *runner, struct formula_change *changes,
                  const struct finding *finding)
{
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        const struct rule_entry *entry = &runner->rules[i];
        if (strcmp(entry->rule->name, finding->rule) != 0)
            continue;
        struct formula_change *change = &changes[entry->book_index];
        uint32_t requirement = entry->rule->first_requirement + finding->requirement;
        return formula_changes(change, entry->rule->when) ||
               formula_changes(change, entry->book->requirements[requirement].node);
    }
    return false;
}

/* What the window of the number that it blames says, and would do. */
static const char *add_window(struct remedies *remedies, struct finding *finding)
{
    const struct remedy *remedy = remedy_of(remedies, finding->at.field);
    /* A rule may point at a number that it does not ask about. */
    if (!remedy || !remedy->words ||
        !remedy_moves(remedies->question.runner, remedy->changes, finding))
        return NULL;
    if (remedy->fix.text) {
        struct finding_fix fix = remedy->fix;
        fix.source = finding->at.source;
        finding_offer(remedies->question.arena, finding, &fix);
    }
    finding->conflict = remedy->conflict;
    return remedy->words;
}

/* Does a graver rule want the opposite of what this finding is about? */
static bool is_outweighed(const struct finding *finding)
{
    const struct finding_conflict *conflict = finding->conflict;
    if (!conflict || !conflict->outweighs || strcmp(conflict->outweighs, finding->rule) == 0)
        return false;
    return strcmp(conflict->more.rule, finding->rule) == 0 ||
           strcmp(conflict->less.rule, finding->rule) == 0;
}

/* Does the rule's own advice say so already? */
static bool says_measure(const char *advice)
{
    return strstr(advice, "measur") || strstr(advice, "calliper");
}

/* Completes the advice of a failed finding of a rule. */
static void complete(struct remedies *remedies, struct finding *finding)
{
    struct arena *arena = remedies->question.arena;
    if (!finding->at.field || !finding->put_right)
        return;
    enum field_id id = field_find(view_of(finding->at.field));
    if (id == FIELD_COUNT)
        return;
    const char *more = NULL;
    if (field_table[id].nature == NATURE_CHOSEN && has_windows(field_table[id].group))
        more = add_window(remedies, finding);
    else if (nature_is_measured(field_table[id].nature) && !says_measure(finding->put_right))
        more = arena_format(arena, "if that is not how the machine is, measure %s again",
                            finding->at.field);
    if (more && is_outweighed(finding))
        finding->put_right =
            arena_format(arena, "%s; as far as that allows: %s", more, finding->put_right);
    else if (more)
        finding->put_right = arena_format(arena, "%s; %s", finding->put_right, more);
}

void remedies_add(const struct describer *describer, const struct instance_list *ignored,
                  const struct open_failure *open, size_t count)
{
    struct remedies remedies = {.question = {.runner = describer->runner,
                                             .arena = describer->arena,
                                             .ignored = ignored},
                                .machine = describer->machine};
    for (size_t i = 0; i < count; i++)
        complete(&remedies, open[i].finding);
}
