/* Tracing: one requirement once more, with everything a finding shows.
 *
 * First it is evaluated as ever, with its reads noted.  Then the way is followed down to the
 * comparison that decided, so that every name in the frame stands where it stood for that; and
 * that comparison alone is read once more.
 */
#include "formula/internal_say.h"

/* Reads. */

static uint32_t bucket_of(uint16_t leaf, uint8_t part, uint32_t record)
{
    uint32_t mixed = (leaf * 2654435761u) ^ (record * 2246822519u) ^ part;
    return (mixed ^ mixed >> 15) % NOTED_BUCKETS;
}

static uint32_t find_noted(struct tracer *tracer, const struct formula_node *leaf, uint8_t part,
                           uint32_t record)
{
    uint32_t at = tracer->buckets[bucket_of(leaf->leaf, part, record)];
    while (at) {
        const struct noted *noted = &tracer->noted.items[at - 1];
        if (noted->read.leaf == leaf->leaf && noted->read.part == part &&
            noted->read.record == record)
            return at - 1;
        at = noted->next;
    }
    return NODE_NONE;
}

void trace_note(struct evaluator *evaluator, const struct formula_node *leaf, uint32_t record,
                const struct env_value *value)
{
    struct tracer *tracer = &evaluator->tracer;
    uint8_t part = leaf->part & PART_MASK;
    uint32_t at = find_noted(tracer, leaf, part, record);
    if (at == NODE_NONE) {
        bool known = value->state == ENV_KNOWN;
        uint32_t *bucket = &tracer->buckets[bucket_of(leaf->leaf, part, record)];
        struct noted noted = {
            .read = {.leaf = leaf->leaf,
                     .part = part,
                     .state = (uint8_t)value->state,
                     .record = record,
                     .defaulted = known && value->defaulted,
                     .unit = known && leaf->type == TYPE_QUANTITY ? value->unit : UNIT_BARE,
                     .dimension = leaf->dimension},
            .next = *bucket,
        };
        VECTOR_ADD(tracer->arena, &tracer->noted, noted);
        at = (uint32_t)tracer->noted.count - 1;
        *bucket = at + 1;
    }
    tracer->noted.items[at].read.comparing |= evaluator->comparing;
    if (value->state != ENV_KNOWN)
        VECTOR_ADD(tracer->arena, &tracer->missing, at);
}

void trace_answer_noted(struct evaluator *evaluator, size_t mark)
{
    evaluator->tracer.missing.count = mark;
    evaluator->trace_epoch++; /* who needs the field after all must come to it again */
}

void trace_start(struct evaluator *evaluator, struct arena *arena)
{
    struct tracer *tracer = &evaluator->tracer;
    memset(tracer, 0, sizeof *tracer);
    tracer->arena = arena;
    evaluator->trace_epoch++;
    evaluator->recording = true;
    evaluator->comparing = false;
}

/* The reads in the order first asked, without those whose absence did no harm. */
static void give_reads(struct evaluator *evaluator, struct trace *out)
{
    struct tracer *tracer = &evaluator->tracer;
    for (size_t i = 0; i < tracer->missing.count; i++)
        tracer->noted.items[tracer->missing.items[i]].needed = true;
    out->reads = ARENA_ARRAY(tracer->arena, struct formula_read, tracer->noted.count);
    out->read_count = 0;
    for (size_t i = 0; i < tracer->noted.count; i++) {
        const struct noted *noted = &tracer->noted.items[i];
        if (noted->read.state == ENV_KNOWN || noted->needed)
            out->reads[out->read_count++] = noted->read;
    }
}

/* The way down. */

static uint32_t side_of(struct evaluator *evaluator, const struct formula_node *n)
{
    struct outcome x, y;
    bool both = n->op == OP_AND;
    run_truth(evaluator, n->a, &x);
    if (both ? x.truth == TRUTH_FALSE && !x.has_margin : x.truth == TRUTH_TRUE)
        return n->a;
    run_truth(evaluator, n->b, &y);
    return outcome_side(both, &x, &y) == 2 ? n->b : n->a;
}

static uint32_t choice_of(struct evaluator *evaluator, const struct formula_node *n)
{
    uint8_t state;
    struct outcome left;
    if (n->op == OP_IF)
        return run_branch(evaluator, n, &state);
    run_truth(evaluator, n->a, &left);
    return left.truth == TRUTH_UNKNOWN ? n->b : n->a;
}

/* Opens a list again; one of numbers is compared with its elements. */
static uint8_t open_again(struct evaluator *evaluator, const struct formula_node *n,
                          struct list *list)
{
    evaluator->recording = evaluator->comparing =
        node_of(evaluator, n->c)->type == TYPE_NUMBERS;
    uint8_t state = run_list_open(evaluator, n, list);
    evaluator->recording = evaluator->comparing = false;
    return state;
}

/* Puts the bound name at the element that decided; NODE_NONE where none did. */
static uint32_t element_of(struct evaluator *evaluator, uint32_t node,
                           const struct formula_node *n)
{
    struct outcome outcome;
    struct decided decided;
    struct list list;
    run_list_truth(evaluator, node, &outcome, &decided);
    if (decided.element == NODE_NONE || open_again(evaluator, n, &list) != ENV_KNOWN)
        return NODE_NONE;
    run_list_at(evaluator, &list, decided.element);
    return n->a;
}

static const struct within *enter(struct evaluator *evaluator, uint32_t call,
                                  const struct within *outer)
{
    struct within *within = ARENA_NEW(evaluator->tracer.arena, struct within);
    *within = (struct within){call, outer};
    return within;
}

/* From a requirement to the comparison that decided it; the frame stands as it stood there. */
static uint32_t descend(struct evaluator *evaluator, uint32_t node,
                        const struct within **within)
{
    for (;;) {
        const struct formula_node *n = node_of(evaluator, node);
        uint32_t next = NODE_NONE;
        switch (n->op) {
        case OP_AND:
        case OP_OR:
            next = side_of(evaluator, n);
            break;
        case OP_IF:
        case OP_OTHERWISE:
            next = choice_of(evaluator, n);
            break;
        case OP_CALL:
            *within = enter(evaluator, node, *within);
            run_arguments(evaluator, n);
            next = evaluator->program->calls[n->a].body;
            break;
        case OP_EVERY:
        case OP_ANY:
            next = element_of(evaluator, node, n);
            break;
        default:
            break;
        }
        if (next == NODE_NONE)
            return node;
        node = next;
    }
}

/* The deciding comparison. */

/* Which limit of `inside` decided. */
static void inside_sides(struct evaluator *evaluator, const struct formula_node *n,
                         struct compared *out)
{
    struct form x, low, high;
    bool outside = n->part & FLAG_NEGATE;
    evaluator->recording = false;
    run_quantity(evaluator, n->a, &x);
    run_quantity(evaluator, n->b, &low);
    run_quantity(evaluator, n->c, &high);
    evaluator->recording = true;
    form_subtract(&low, outside ? &low : &x, outside ? &x : &low);
    form_subtract(&high, outside ? &x : &high, outside ? &high : &x);
    double to_low = form_settle(&low, form_least(&low, evaluator->statistical));
    double to_high = form_settle(&high, form_least(&high, evaluator->statistical));
    bool at_high = outside ? to_high > to_low : to_high < to_low;
    bool swapped = at_high != outside;
    out->high = swapped ? (at_high ? n->c : n->b) : n->a;
    out->low = swapped ? n->a : (at_high ? n->c : n->b);
}

static void each_sides(struct evaluator *evaluator, uint32_t node, const struct formula_node *n,
                       struct compared *out)
{
    struct outcome outcome;
    struct decided decided;
    bool high = n->part & FLAG_EACH_IS_HIGH;
    run_each_compared(evaluator, node, &outcome, &decided);
    uint32_t element = node_of(evaluator, n->b)->a;
    out->high = high ? element : n->a;
    out->low = high ? n->a : element;
}

uint32_t within_argument(const struct evaluator *evaluator, const struct within *within,
                         uint32_t slot, const struct within **outer)
{
    if (!within)
        return NODE_NONE;
    const struct formula_node *n = node_of(evaluator, within->call);
    const struct formula_call *call = &evaluator->program->calls[n->a];
    if (slot < call->first_slot || slot >= call->first_slot + call->parameters)
        return NODE_NONE;
    uint32_t argument = n->b;
    for (uint32_t i = call->first_slot; i < slot; i++)
        argument = node_of(evaluator, argument)->b;
    *outer = within->outer;
    return node_of(evaluator, argument)->a;
}

/* What was handed to the definition that the comparison stands in has been compared too. */
static void look_at_arguments(struct evaluator *evaluator, uint32_t node,
                              const struct within *within)
{
    const struct formula_node *n = node_of(evaluator, node);
    const struct within *outer;
    if (n->op == OP_SLOT) {
        uint32_t argument = within_argument(evaluator, within, n->a, &outer);
        if (argument != NODE_NONE && step_on(evaluator)) {
            run_any(evaluator, argument);
            look_at_arguments(evaluator, argument, outer);
        }
    }
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        look_at_arguments(evaluator, below[i], within);
}

/* Reads the deciding comparison again, now as such; its sides, and what there is to spare. */
static void look_again(struct evaluator *evaluator, struct compared *compared,
                       struct form *difference)
{
    uint32_t node = compared->node;
    const struct formula_node *n = node_of(evaluator, node);
    struct outcome outcome;
    struct form low;
    evaluator->trace_epoch++;
    evaluator->recording = evaluator->comparing = true;
    if (n->op == OP_COMPARE || n->op == OP_EQUAL) {
        compared->high = n->a;
        compared->low = n->b;
    } else if (n->op == OP_INSIDE) {
        inside_sides(evaluator, n, compared);
    } else if (n->op == OP_COMPARE_EACH) {
        each_sides(evaluator, node, n, compared);
    } else {
        run_truth(evaluator, node, &outcome);
        return;
    }
    uint8_t state = run_quantity(evaluator, compared->high, difference);
    state = worse(state, run_quantity(evaluator, compared->low, &low));
    look_at_arguments(evaluator, compared->high, compared->within);
    look_at_arguments(evaluator, compared->low, compared->within);
    if (state == ENV_KNOWN)
        form_subtract(difference, difference, &low);
    else
        compared->high = compared->low = NODE_NONE;
}

/* Saying evaluates parts again, which moves names that quantifiers within the comparison bind:
 * back to where they decided. */
static void stand_again(struct evaluator *evaluator, struct arena *arena,
                        const struct compared *compared)
{
    if (compared->high == NODE_NONE)
        return;
    trace_start(evaluator, arena);
    run_any(evaluator, compared->high);
    run_any(evaluator, compared->low);
    evaluator->recording = false;
}

void evaluate_traced(struct evaluator *evaluator, uint32_t node, bool statistical,
                     const struct formula_namer *namer, struct arena *arena, struct trace *out)
{
    /* tracing has as many steps as checking, of its own */
    uint64_t steps = evaluator->steps;
    bool exhausted = evaluator->exhausted;
    evaluator->steps = evaluator->trace_steps;
    evaluator->exhausted = false;
    evaluator->statistical = statistical;

    struct outcome outcome;
    struct compared compared = {NODE_NONE, NODE_NONE, NODE_NONE, NULL};
    *out = (struct trace){0};
    form_exact(&out->difference, 0);
    trace_start(evaluator, arena);
    run_truth(evaluator, node, &outcome);
    verdict_of(&outcome, &out->verdict);
    evaluator->verdict = out->verdict;
    if (outcome.truth != TRUTH_UNKNOWN) {
        evaluator->recording = false;
        compared.node = descend(evaluator, node, &compared.within);
        look_again(evaluator, &compared, &out->difference);
    }
    evaluator->recording = evaluator->comparing = false;
    give_reads(evaluator, out);
    if (compared.node != NODE_NONE)
        say_lines(evaluator, namer, &compared, arena, out);
    stand_again(evaluator, arena, &compared);

    evaluator->trace_steps = evaluator->steps;
    evaluator->steps = steps;
    evaluator->exhausted = exhausted;
}
