#include "library/document_answers.h"

#include <math.h>

#include "library/document_shape.h"
#include "library/markdown.h"
#include "mend/mend.h"
#include "motion/change.h"
#include "quantity/quantity.h"

struct hinting {
    struct proveout_document *document;
    struct arena *arena;
    const struct machine *machine;
    struct span within;
    struct hints *out;
    struct change *change; /* the last that was planned */
};

/* Where a hint about a value stands, if it stands in this file and where it is asked about. */
static bool place_of(const struct hinting *to, const struct field_value *value,
                     uint32_t *offset)
{
    if (value->state != VALUE_GIVEN || !value->node)
        return false;
    struct span span = value->node->span;
    if (source_holding(to->document->source, &span) != to->document->source)
        return false;
    *offset = span.end;
    return span.end >= to->within.start && span.end <= to->within.end;
}

static void add(const struct hinting *to, uint32_t offset, const char *text, const char *more)
{
    struct proveout_hint hint = {offset, text, more};
    size_t i = to->out->list.count;
    VECTOR_ADD(to->arena, &to->out->list, hint);
    for (; i && to->out->list.items[i - 1].offset > offset; i--)
        to->out->list.items[i] = to->out->list.items[i - 1];
    to->out->list.items[i] = hint;
}

static const char *length(const struct hinting *to, double metres, unit_id unit)
{
    return quantity_text(to->arena, metres, DIMENSION_LENGTH, unit);
}

/* --- how a cutter comes down --- */

struct descent {
    double approach, gap_least, gap_most, contact, stroke_left; /* NAN: not known */
};

static const struct move *last_move(const struct change *change, enum move_kind kind)
{
    for (uint32_t i = change->count; i-- > 0;)
        if (change->moves[i].kind == kind)
            return &change->moves[i];
    return NULL;
}

static bool look(struct hinting *to, uint32_t cutter, struct descent *out)
{
    const struct change_request request = {.from = cutter, .to = cutter};
    *out = (struct descent){NAN, NAN, NAN, NAN, NAN};
    if (!change_plan_times(to->change, to->machine, &request))
        return false;
    const struct move *approach = last_move(to->change, MOVE_APPROACH);
    const struct move *probe = last_move(to->change, MOVE_PROBE);
    if (!approach || !approach->to.known[2])
        return false;
    out->approach = approach->to.at[2];
    if (!probe || !probe->has_contact)
        return true;
    out->contact = probe->expected;
    out->gap_least = out->approach - probe->earliest;
    out->gap_most = out->approach - probe->latest;
    if (probe->has_end)
        out->stroke_left = probe->latest - probe->end;
    return true;
}

static void add_line(struct buffer *out, const char *what, const char *text)
{
    markdown_item(out);
    buffer_format(out, "%s: ", what);
    markdown_text(out, view_of(text));
}

static const char *reckoned(const struct hinting *to, const struct descent *descent,
                            unit_id unit)
{
    struct buffer out;
    buffer_init(&out, to->arena);
    buffer_text(&out,
                "Gap: between the tip and what it is to touch, where the fast approach ends, "
                "with all tolerances at their least and most.\n");
    add_line(&out, "the approach ends with the nose at", length(to, descent->approach, unit));
    add_line(&out, "contact is expected with the nose at", length(to, descent->contact, unit));
    if (!isnan(descent->stroke_left))
        add_line(&out, "left of the probing stroke, at the latest contact",
                 length(to, descent->stroke_left, unit));
    return buffer_string(&out);
}

/* At the stick-out of a cutter, else at its number. */
static void hint_cutter(struct hinting *to, uint32_t cutter)
{
    const struct field_value *value = machine_field(to->machine, FIELD_CUTTER_STICKOUT, cutter);
    struct descent descent;
    uint32_t offset;
    if (value->state != VALUE_GIVEN)
        value = machine_field(to->machine, FIELD_CUTTER_NUMBER, cutter);
    if (!place_of(to, value, &offset) || !look(to, cutter, &descent) ||
        isnan(descent.gap_least))
        return;
    const char *text =
        arena_format(to->arena, "gap %s to %s", length(to, descent.gap_least, value->unit),
                     length(to, descent.gap_most, value->unit));
    add(to, offset, text, reckoned(to, &descent, value->unit));
}

/* The heights at which the approaches of all cutters end, at the number that decides them. */
static void hint_approach(struct hinting *to)
{
    static const enum field_id fields[] = {FIELD_CHANGE_STANDOFF, FIELD_CHANGE_APPROACH_Z};
    uint32_t count = to->machine->groups[GROUP_CUTTER].count, offset, known = 0;
    double low = (double)INFINITY, high = -(double)INFINITY;
    struct descent descent;
    for (size_t i = 0; i < sizeof fields / sizeof *fields && count <= MEND_CUTTERS; i++) {
        const struct field_value *value = machine_field(to->machine, fields[i], 0);
        if (!place_of(to, value, &offset))
            continue;
        for (uint32_t k = 0; k < count; k++)
            if (look(to, k, &descent)) {
                low = fmin(low, descent.approach);
                high = fmax(high, descent.approach);
                known++;
            }
        if (!known)
            return;
        const char *least = length(to, low, value->unit), *most = length(to, high, value->unit);
        add(to, offset,
            strcmp(least, most) == 0
                ? arena_format(to->arena, "nose down to %s", least)
                : arena_format(to->arena, "nose down to %s to %s", least, most),
            "Where the fast approach to the setter ends, in machine coordinates, from the longest "
            "to the shortest cutter of the list.");
        return;
    }
}

/* --- how far it runs on after contact --- */

static const struct message *first_message(const struct runner *runner, const char *rule,
                                           struct instance *out)
{
    for (uint32_t i = 0; i < runner->rule_count; i++)
        if (strcmp(runner->rules[i].rule->name, rule) == 0) {
            const struct rulebook *book = runner->rules[i].book;
            *out = (struct instance){.rule = i};
            return &book->messages[book->requirements[runner->rules[i].rule->first_requirement]
                                       .says];
        }
    return NULL;
}

/* The rule about it reckons it, and says so with its first number. */
static void hint_stopping(struct hinting *to)
{
    const struct request *request = &to->document->question->request;
    const struct field_value *feed = machine_field(to->machine, FIELD_CHANGE_PROBE_FEED, 0);
    struct runner *runner = ARENA_NEW(to->arena, struct runner);
    struct instance instance;
    struct verdict verdict;
    struct trace trace;
    struct buffer text;
    uint32_t offset;
    if (!place_of(to, feed, &offset))
        return;
    runner_init(runner, to->arena, request->books, 1);
    runner_reset(runner, to->machine);
    const struct message *message = first_message(runner, "probe-overrun", &instance);
    if (!message || !runner_verdict(runner, &instance, &verdict) ||
        verdict.truth == TRUTH_UNKNOWN)
        return;
    const struct rule_entry *entry = &runner->rules[instance.rule];
    const struct describer describer = {runner, to->machine, to->document->source, to->arena,
                                        NULL};
    const struct formula_namer namer = describe_namer(&describer);
    struct evaluator *evaluator = runner_bind(runner, &instance);
    evaluate_traced(evaluator, runner_requirement(runner, &instance)->node,
                    runner_statistical(runner, entry->rule), &namer, to->arena, &trace);
    for (uint32_t i = 0; i < message->count; i++) {
        const struct message_piece *piece = &entry->book->pieces[message->first + i];
        if (piece->text)
            continue;
        buffer_init(&text, to->arena);
        buffer_text(&text, "runs on ");
        evaluate_shown(evaluator, piece->node, &namer, describe_unit(&describer, &instance),
                       &text);
        struct buffer more;
        buffer_init(&more, to->arena);
        buffer_text(&more, "How far Z runs on after contact, until it stands.\n");
        for (size_t k = 0; k < trace.step_count; k++) {
            markdown_item(&more);
            markdown_text(&more, view_of(trace.steps[k]));
        }
        add(to, offset, buffer_string(&text), buffer_string(&more));
        return;
    }
}

void hints_machine(struct proveout_document *document, struct span within, struct hints *out)
{
    struct arena *arena = document_arena(document);
    struct hinting to = {.document = document,
                         .arena = arena,
                         .machine = &document->file->machine,
                         .within = within,
                         .out = out,
                         .change = ARENA_NEW(arena, struct change)};
    if (document->file->tree.status != TREE_WHOLE)
        return;
    for (uint32_t i = 0; i < to.machine->groups[GROUP_CUTTER].count; i++)
        hint_cutter(&to, i);
    hint_approach(&to);
    hint_stopping(&to);
}
