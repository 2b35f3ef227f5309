/* What rests on one number of a file: its window, and the margins of the rules that it comes
 * into.
 *
 * Both change the machine while they work, so that they read it once more for themselves.
 */
#include "library/document_answers.h"

#include <math.h>
#include <stdlib.h>

#include "library/document_shape.h"
#include "library/markdown.h"
#include "mend/mend.h"
#include "quantity/quantity.h"
#include "rules/search.h"

enum { MARGINS_TOLD = 8 };

/* The tightest instance of one rule that the number comes into. */
struct rests {
    struct instance instance;
    double tightness; /* its margin as a part of what was compared */
};

struct resting {
    struct arena *arena; /* gone at the end */
    struct buffer *out;
    struct machine_file *file;
    struct runner *runner;
    struct field_place place; /* where rules read it */
    VECTOR(struct rests) found;
};

/* --- the window --- */

static void add_end(struct buffer *out, const char *word, const struct window_end *end)
{
    if (!end->bounded)
        return;
    markdown_item(out);
    buffer_format(out, "%s ", word);
    markdown_text(out, view_of(end->text));
    buffer_text(out, ": ");
    markdown_code(out, view_of(end->rule));
    if (end->subject) {
        buffer_text(out, ", ");
        markdown_text(out, view_of(end->subject));
    }
}

static void tell_window(struct resting *resting, const struct window *window)
{
    struct buffer *out = resting->out;
    bool bounded = window->low.bounded || window->high.bounded;
    markdown_paragraph(out);
    buffer_text(out, "**Window**: ");
    if (window->empty) {
        markdown_text(out, view_of(window_words(resting->arena, window)));
    } else if (!bounded) {
        buffer_text(out, window->asked ? "no rule bounds it on either side"
                                       : "no rule that applies here asks anything of it");
    } else {
        const char *low = window->low.bounded ? window->low.text : "no least value";
        const char *high = window->high.bounded ? window->high.text : "no greatest value";
        markdown_text(out, view_of(arena_format(resting->arena, "%s to %s", low, high)));
        buffer_text(out, window->holds ? "" : "; the value here will not do");
        buffer_byte(out, '\n');
        add_end(out, "below", &window->low);
        add_end(out, "above", &window->high);
        if (!window->proved)
            buffer_text(out, "\n\nAsked closely in between, but not proved there.");
    }
}

static void find_window(struct resting *resting, double today)
{
    struct machine *machine = &resting->file->machine;
    struct instance_list waived;
    struct window window;
    /* Asking all of a long list again and again takes seconds. */
    if (machine->groups[GROUP_CUTTER].count > MEND_CUTTERS) {
        markdown_paragraph(resting->out);
        buffer_text(resting->out, "**Window**: not worked out here for so many cutters; "
                                  "`proveout window` does.");
        return;
    }
    waived_failures(resting->runner, resting->arena, machine, &resting->file->source, today,
                    &waived);
    struct window_question question = {resting->runner, resting->arena, machine, &waived};
    const struct field_place *place = &resting->place;
    if (window_find(&question, place->field, place->record, place->part, &window))
        tell_window(resting, &window);
}

/* --- margins --- */

static double tightness(const struct instance *instance)
{
    return instance->size > 0 ? instance->margin / instance->size : instance->margin;
}

static void look(struct resting *resting, struct formula_change *changes,
                 const struct instance *items, size_t count, struct rests *best)
{
    const struct field_place *place = &resting->place;
    for (size_t i = 0; i < count; i++) {
        const struct instance *instance = &items[i];
        const struct rule_entry *entry = &resting->runner->rules[instance->rule];
        const struct requirement *requirement = runner_requirement(resting->runner, instance);
        bool other = entry->rule->domain == field_table[place->field].group &&
                     entry->rule->domain != GROUP_ROOT && instance->record != place->record;
        if (!instance->has_margin || other ||
            !formula_changes(&changes[entry->book_index], requirement->node) ||
            tightness(instance) >= best->tightness)
            continue;
        *best = (struct rests){*instance, tightness(instance)};
    }
}

static int compare_rests(const void *left, const void *right)
{
    const struct rests *a = left, *b = right;
    if (a->tightness != b->tightness)
        return a->tightness < b->tightness ? -1 : 1;
    return (a->instance.rule > b->instance.rule) - (a->instance.rule < b->instance.rule);
}

static void find_margins(struct resting *resting)
{
    struct runner *runner = resting->runner;
    const struct machine *machine = &resting->file->machine;
    struct formula_change *changes =
        search_changes(runner, resting->arena, machine, resting->place.field);
    runner_run(runner, resting->arena, machine, true);
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        const struct rule_result *result = &runner->results[i];
        struct rests best = {.tightness = (double)INFINITY};
        look(resting, changes, result->failures.items, result->failures.count, &best);
        look(resting, changes, result->waived.items, result->waived.count, &best);
        look(resting, changes, result->all_held.items, result->all_held.count, &best);
        if (best.tightness < (double)INFINITY)
            VECTOR_ADD(resting->arena, &resting->found, best);
    }
    if (resting->found.count)
        qsort(resting->found.items, resting->found.count, sizeof(struct rests), compare_rests);
}

static void tell_found(struct resting *resting)
{
    const struct describer describer = {.runner = resting->runner,
                                        .machine = &resting->file->machine,
                                        .source = &resting->file->source,
                                        .arena = resting->arena};
    struct buffer *out = resting->out;
    markdown_paragraph(out);
    buffer_text(out, "**Margins that rest on it**, the tightest for its size first\n");
    for (size_t i = 0; i < resting->found.count && i < MARGINS_TOLD; i++) {
        const struct instance *instance = &resting->found.items[i].instance;
        struct finding finding;
        describe_bare(&describer, instance, &finding);
        markdown_item(out);
        markdown_text(out,
                      view_of(quantity_text(resting->arena, finding.margin, finding.dimension,
                                            describe_unit(&describer, instance))));
        buffer_text(out, ": ");
        markdown_code(out, view_of(finding.rule));
        if (finding.subject) {
            buffer_text(out, ", ");
            markdown_text(out, view_of(finding.subject));
        }
        buffer_text(out, instance->outcome == OUTCOME_FAILED   ? ", which fails"
                         : instance->outcome == OUTCOME_WAIVED ? ", which is waived"
                                                               : "");
    }
    if (resting->found.count > MARGINS_TOLD) {
        markdown_item(out);
        buffer_format(out, "and those of %zu more rules", resting->found.count - MARGINS_TOLD);
    }
}

void hover_margins(struct proveout_document *document, struct buffer *out,
                   const struct field_place *place)
{
    const struct request *request = &document->question->request;
    struct arena *arena = arena_new_within(document_arena(document));
    struct resting resting = {.arena = arena, .out = out};
    resting.file = ARENA_NEW(arena, struct machine_file);
    resting.runner = ARENA_NEW(arena, struct runner);
    machine_file_read(arena, document->file->path, document->source->bytes,
                      document->file->shared, resting.file);
    const struct machine *machine = &resting.file->machine;
    if (place->record < machine->groups[field_table[place->field].group].count) {
        resting.place = machine_stand_in(machine, place->field, place->record);
        resting.place.part = place->part;
        runner_init(resting.runner, arena, request->books, request->checking.book_count);
        if (window_is_possible(machine, resting.place.field, resting.place.record,
                               resting.place.part)) {
            find_window(&resting, request->checking.today);
            find_margins(&resting);
        }
        if (resting.found.count)
            tell_found(&resting);
    }
    arena_free(arena);
}
