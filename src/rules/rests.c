/* What rests on a number that the controller's own file has otherwise. */
#include "rules/rests.h"

#include "quantity/quantity.h"
#include "rules/carry.h"
#include "rules/moved.h"

struct resting {
    struct arena *arena;   /* of the findings */
    struct arena *scratch; /* of what is asked in between */
    struct checker *checker;
    const struct machine *machine;
    struct file_report now;
    bool is_asked; /* `now` is there */
};

static void ask(struct resting *work, const struct machine *machine, struct file_report *out)
{
    struct finding_sink unheard;
    sink_init(&unheard, work->scratch, machine->tree->source);
    checker_check_machine(work->checker, work->scratch, machine, &unheard, out);
}

/* The text that the controller's number would be in the machine file; NULL: none is. */
static const char *text_of(const struct resting *work, const struct agreement_seen *seen)
{
    const char *why;
    const struct field_value *value =
        machine_field(work->machine, seen->place.field, seen->place.record);
    if (machine_readings(work->machine, seen->place.field, value)) /* as if measured so */
        return quantity_text_with(work->scratch, seen->si, value->tolerance,
                                  field_table[seen->place.field].dimension, value->unit);
    return carry_to_machine(work->scratch, work->machine, seen, &why);
}

/* The machine with the controller's number; false: there is none such. */
static bool machine_with(const struct resting *work, const struct agreement_seen *seen,
                         struct tree *tree, struct machine *out)
{
    struct arena *scratch = work->scratch;
    const char *path =
        machine_path(scratch, work->machine, seen->place.field, seen->place.record, 0);
    const char *text = text_of(work, seen);
    const struct field_value *value =
        machine_field(work->machine, seen->place.field, seen->place.record);
    struct finding_sink unheard;
    if (!text || !value->node)
        return false;
    if (seen->place.part)
        path = arena_format(scratch, "%s[%d]", path, seen->place.part - 1);
    const struct tree_node node = {
        .kind = TREE_TEXT, .span = value->node->span, .text = view_of(text)};
    *tree = *work->machine->tree;
    tree->root = tree_copy(scratch, tree->root);
    if (!tree_put(scratch, tree->root, view_of(path), &node))
        return false;
    sink_init(&unheard, scratch, tree->source);
    machine_read(out, scratch, tree, &unheard);
    return true;
}

static bool fails(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED;
}

/* Is a margin with the controller's number more worth telling: first what fails then, then what
 * has the least, of the dimension of the number before others? */
static bool is_tighter(const struct move_of_margin *a, const struct move_of_margin *b,
                       struct dimension dimension)
{
    bool a_is = dimension_equal(a->after->dimension, dimension);
    bool b_is = dimension_equal(b->after->dimension, dimension);
    if (fails(a->after) != fails(b->after))
        return fails(a->after);
    if (a_is != b_is)
        return a_is;
    return dimension_equal(a->after->dimension, b->after->dimension) &&
           a->after->margin < b->after->margin;
}

static const char *margin_text(const struct resting *work, const struct finding *finding)
{
    return quantity_text(work->arena, finding->margin, finding->dimension,
                         machine_unit(work->machine, finding->dimension));
}

static void count(const struct resting *work, const struct moved *moved,
                  struct dimension dimension, struct finding_parting *out)
{
    const struct move_of_margin *tightest = NULL;
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        for (size_t i = 0; i < moved->kinds[kind].count; i++) {
            const struct move_of_margin *move = &moved->kinds[kind].items[i];
            if (!move->before || !move->after || move->after->from_reader ||
                !move->before->has_margin || !move->after->has_margin)
                continue;
            out->margins++;
            out->failing += fails(move->after);
            if (!tightest || is_tighter(move, tightest, dimension))
                tightest = move;
        }
    if (!tightest)
        return;
    const char *subject = tightest->after->subject;
    out->rule = tightest->after->rule;
    out->subject = subject ? arena_copy(work->arena, subject, strlen(subject)) : NULL;
    out->margin_here = margin_text(work, tightest->before);
    out->margin_there = margin_text(work, tightest->after);
}

static void tell(struct resting *work, const struct agreement_seen *seen,
                 struct finding_parting *out)
{
    struct tree tree;
    struct machine other;
    struct file_report then;
    struct moved moved;
    if (!machine_with(work, seen, &tree, &other))
        return;
    if (!work->is_asked)
        ask(work, work->machine, &work->now);
    work->is_asked = true;
    ask(work, &other, &then);
    reports_compare(work->scratch, &work->now, &then, &moved);
    out->is_counted = true;
    count(work, &moved, field_table[seen->place.field].dimension, out);
}

void rests_tell(struct arena *arena, const struct check_options *options,
                const struct machine *machine, struct finding_sink *sink,
                const struct agreement_list *list)
{
    struct check_options plain = {
        .books = options->books, .book_count = options->book_count, .show = SHOW_ALL};
    struct resting work = {.arena = arena, .machine = machine};
    size_t told = 0;
    for (size_t i = 0; i < list->items.count && told < RESTS_MAX; i++) {
        const struct agreement_seen *seen = &list->items.items[i];
        if (seen->state != AGREEMENT_LOST || seen->finding >= sink->findings.count)
            continue;
        if (!told++) {
            work.scratch = arena_new_within(arena);
            work.checker = checker_new(work.scratch, &plain);
        }
        tell(&work, seen,
             (struct finding_parting *)sink->findings.items[seen->finding].parting);
    }
    if (work.scratch)
        arena_guest_end(arena, work.scratch);
}
