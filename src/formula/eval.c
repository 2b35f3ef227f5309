/* Formulas worked out: down from the whole to what it reads, and up again with what that comes
 * to.
 *
 * All that leads from a formula to its parts is here; what is done with a part once it is known
 * is for the other files, and none of them asks this one.  Quantities are the innermost loop of
 * the program: no allocation, forms are handed up where they lie, and those that are copied are
 * by the terms they have.  While recording (record.c) each function here enters what it works
 * out.
 */
#include "formula/internal_eval.h"

#define OUT_OF_LINE __attribute__((noinline))
#define IN_LINE     inline __attribute__((always_inline))

/* Which side of an `if` counts; NODE_NONE with the state where that is not known. */
static uint32_t branch_of(struct evaluator *evaluator, const struct formula_node *n,
                          uint8_t *state)
{
    struct outcome condition;
    run_truth(evaluator, n->a, &condition);
    *state = condition.state;
    if (condition.truth == TRUTH_UNKNOWN)
        return NODE_NONE;
    return condition.truth == TRUTH_TRUE ? n->b : n->c;
}

/* Leaves and records. */

/* Which record a node stands for: mostly it is what a name is bound to, or one that is always
 * the same. */
static IN_LINE uint8_t quick_record(struct evaluator *evaluator, uint32_t node,
                                    uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (evaluator->record || (n->op != OP_RECORD_SLOT && n->op != OP_RECORD_FIXED))
        return run_record(evaluator, node, record);
    bool fixed = n->op == OP_RECORD_FIXED;
    *record = fixed ? n->a : evaluator->slots[n->a].record;
    return fixed ? ENV_KNOWN : evaluator->slots[n->a].state;
}

/* What a leaf is in the record that it belongs to. */
static inline uint8_t know_leaf(struct evaluator *evaluator, const struct formula_node *n,
                                const struct leaf **out)
{
    uint32_t record = 0;
    if (n->a != NODE_NONE) {
        uint8_t state = quick_record(evaluator, n->a, &record);
        if (state != ENV_KNOWN)
            return state;
    }
    *out = leaf_read(evaluator, n, record);
    if (evaluator->record)
        record_read(evaluator, n, record, &(*out)->value);
    return (uint8_t)(*out)->value.state;
}

/* A leaf of whatever type, or the list that an OP_DOMAIN goes through. */
static uint8_t run_leaf(struct evaluator *evaluator, uint32_t node, const struct leaf **leaf)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct record *record = evaluator->record;
    if (!record)
        return know_leaf(evaluator, n, leaf);
    uint32_t entry = record_open(record, n);
    uint8_t state = know_leaf(evaluator, n, leaf);
    if (entry != NODE_NONE && state == ENV_KNOWN && n->type == TYPE_FLAG)
        outcome_plain(&record->entries.items[entry].of.outcome, node,
                      ((*leaf)->value.number != 0) != ((n->part & FLAG_NEGATE) != 0));
    else if (entry != NODE_NONE && state == ENV_KNOWN)
        record->entries.items[entry].of.value = (*leaf)->value;
    record_close(record, entry, state);
    return state;
}

static uint8_t record_of(struct evaluator *evaluator, const struct formula_node *n,
                         uint32_t *record)
{
    const struct leaf *leaf;
    uint8_t state;
    uint32_t branch;
    switch (n->op) {
    case OP_RECORD_SLOT:
        *record = evaluator->slots[n->a].record;
        return evaluator->slots[n->a].state;
    case OP_RECORD_FIXED:
        *record = n->a;
        return ENV_KNOWN;
    case OP_RECORD_LEAF:
        state = know_leaf(evaluator, n, &leaf);
        if (state == ENV_KNOWN)
            *record = (uint32_t)leaf->value.number;
        return state;
    case OP_IF:
        branch = branch_of(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_record(evaluator, branch, record);
    case OP_OTHERWISE:
        state = run_record(evaluator, n->a, record);
        return state == ENV_ABSENT ? run_record(evaluator, n->b, record) : state;
    default:
        BUG("operation %d gives no record", n->op);
    }
}

uint8_t run_record(struct evaluator *evaluator, uint32_t node, uint32_t *record)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!evaluator->record)
        return record_of(evaluator, n, record);
    uint32_t entry = record_open(evaluator->record, n);
    uint8_t state = record_of(evaluator, n, record);
    if (entry != NODE_NONE)
        evaluator->record->entries.items[entry].of.record = *record;
    record_close(evaluator->record, entry, state);
    return state;
}

/* Calls. */

/* All arguments are evaluated before any is stored: an argument may itself contain this call.
 */
static void give_arguments(struct evaluator *evaluator, uint32_t argument, uint32_t slot)
{
    if (argument == NODE_NONE)
        return;
    const struct formula_node *n = node_of(evaluator, argument);
    const struct formula_node *value = node_of(evaluator, n->a);
    struct slot *into = &evaluator->slots[slot];
    struct form room;
    const struct form *form = NULL;
    uint8_t state;
    bool is_record = value->type == TYPE_RECORD;
    uint32_t record = 0, entry = next_entry(evaluator);
    if (is_record)
        state = run_record(evaluator, n->a, &record);
    else
        state = form_state(form = run_quantity(evaluator, n->a, &room));
    give_arguments(evaluator, n->b, slot + 1);
    into->state = state;
    into->entry = entry;
    if (is_record) {
        into->kind = value->kind;
        into->record = record;
    } else if (state == ENV_KNOWN) {
        copy_form(&into->form, form);
    }
}

/* Binds the arguments of a call where it has to be worked out: where to keep what it comes to,
 * NULL where it cannot be kept; or where that is `known` already, and while recording the way
 * to it in this record. */
static struct kept *enter(struct evaluator *evaluator, const struct formula_node *call,
                          bool is_truth, bool *known)
{
    const struct formula_call *c = &evaluator->program->calls[call->a];
    struct arguments given;
    uint32_t argument = call->b;
    *known = false;
    if (!c->keeps) {
        give_arguments(evaluator, call->b, c->first_slot);
        return NULL;
    }
    for (uint32_t i = 0; i < c->parameters; i++) {
        const struct formula_node *n = node_of(evaluator, argument);
        uint32_t record = 0;
        given.entries[i] = next_entry(evaluator);
        uint8_t state = quick_record(evaluator, n->a, &record);
        given.keys[i] = kept_key(state, record);
        argument = n->b;
    }
    struct kept *kept = kept_place(evaluator, call->a, given.keys, is_truth, known);
    if (*known && evaluator->record) {
        *known = kept->recording == evaluator->record->number;
        if (*known)
            record_stand(evaluator->record, kept->entry);
    }
    if (!*known)
        kept_bind(evaluator, call, &given);
    return kept;
}

/* After the body of a call was worked out, whose entry would be `body`: is it to be kept? */
static bool leave(const struct evaluator *evaluator, struct kept *kept, uint32_t body)
{
    if (evaluator->record)
        record_stand(evaluator->record, body);
    if (!kept_fill(evaluator, kept))
        return false;
    kept->entry = body;
    return true;
}

/* Texts. */

static uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out);

static uint8_t call_text(struct evaluator *evaluator, const struct formula_node *n,
                         struct view *out)
{
    bool known;
    struct kept *kept = enter(evaluator, n, false, &known);
    if (known) {
        *out = kept->text;
        return kept->state;
    }
    *out = (struct view){NULL, 0};
    uint32_t body = next_entry(evaluator);
    uint8_t state = run_text(evaluator, evaluator->program->calls[n->a].body, out);
    if (leave(evaluator, kept, body)) {
        kept->state = state;
        kept->text = *out;
    }
    return state;
}

static uint8_t text_of(struct evaluator *evaluator, const struct formula_node *n,
                       struct view *out)
{
    const struct leaf *leaf;
    uint32_t branch;
    uint8_t state;
    switch (n->op) {
    case OP_TEXT:
        *out = (struct view){evaluator->program->text + n->text, n->text_size};
        return ENV_KNOWN;
    case OP_LEAF:
        state = know_leaf(evaluator, n, &leaf);
        if (state == ENV_KNOWN)
            *out = leaf->value.text;
        return state;
    case OP_CALL:
        return call_text(evaluator, n, out);
    case OP_IF:
        branch = branch_of(evaluator, n, &state);
        return branch == NODE_NONE ? state : run_text(evaluator, branch, out);
    case OP_OTHERWISE:
        state = run_text(evaluator, n->a, out);
        return state == ENV_ABSENT ? run_text(evaluator, n->b, out) : state;
    default:
        BUG("operation %d gives no text", n->op);
    }
}

static uint8_t run_text(struct evaluator *evaluator, uint32_t node, struct view *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator))
        return ENV_ABSENT;
    if (!evaluator->record)
        return text_of(evaluator, n, out);
    uint32_t entry = record_open(evaluator->record, n);
    uint8_t state = text_of(evaluator, n, out);
    if (entry != NODE_NONE && state == ENV_KNOWN)
        evaluator->record->entries.items[entry].of.text = *out;
    record_close(evaluator->record, entry, state);
    return state;
}

/* Lists.
 *
 * The loop itself enters nothing into a record, however long the list: what is recorded is the
 * element that decided, worked out once more; the bound name then stays there.
 */

enum { REVISITED_MAX = 16 }; /* elements looked at for what is missing */

/* Works on without recording; what is to be put back afterwards. */
static struct record *pause(struct evaluator *evaluator)
{
    struct record *record = evaluator->record;
    evaluator->record = NULL;
    return record;
}

static uint8_t open_list(struct evaluator *evaluator, uint32_t quantifier, struct walk *walk)
{
    const struct formula_node *n = node_of(evaluator, quantifier);
    const struct formula_node *domain = node_of(evaluator, n->c);
    const struct leaf *leaf = NULL;
    uint8_t state = ENV_KNOWN;
    evaluator->slots[domain->b].state = ENV_ABSENT; /* over nothing the name stays nowhere */
    if (domain->type == TYPE_NUMBERS)
        state = run_leaf(evaluator, n->c, &leaf);
    return worse(state,
                 list_open(walk, evaluator, quantifier, state == ENV_KNOWN ? leaf : NULL));
}

/* Is the element that the name now stands for among those asked about?  Unknown counts as yes.
 */
static bool is_meant(const struct walk *walk, struct outcome *where)
{
    *where = (struct outcome){.truth = TRUTH_TRUE};
    if (walk->n->b != NODE_NONE)
        run_truth(walk->evaluator, walk->n->b, where);
    return where->truth != TRUTH_FALSE;
}

static void take_item(struct walk *walk, const struct outcome *where, uint32_t index)
{
    struct evaluator *evaluator = walk->evaluator;
    const struct formula_node *body = node_of(evaluator, walk->n->a);
    struct form room;
    struct view text = {NULL, 0};
    double number = 0;
    uint8_t state;
    if (body->type == TYPE_TEXT) {
        state = run_text(evaluator, walk->n->a, &text);
    } else if (body->type == TYPE_CHOICE) {
        const struct leaf *leaf;
        state = run_leaf(evaluator, walk->n->a, &leaf);
        if (state == ENV_KNOWN)
            number = leaf->value.number;
    } else {
        state = list_number(evaluator, run_quantity(evaluator, walk->n->a, &room), &number);
    }
    list_take_item(walk, where, state, number, text, index);
}

/* What comparison `each` of the element with `with` comes to. */
static void compare_element(struct walk *walk, uint32_t each, const struct form *with,
                            struct outcome *out)
{
    const struct formula_node *n = node_of(walk->evaluator, each);
    struct form room;
    const struct form *element = run_quantity(walk->evaluator, walk->n->a, &room);
    bool is_high = n->part & FLAG_EACH_IS_HIGH;
    if (form_known(element))
        outcome_compared(walk->evaluator, each, n->part & FLAG_STRICT, is_high ? element : with,
                         is_high ? with : element, out);
    else
        outcome_unknown(out, form_state(element));
}

/* Each element in turn; `each`, `with`: by comparison `each`, or NODE_NONE. */
static void go_through(struct walk *walk, uint32_t each, const struct form *with)
{
    struct evaluator *evaluator = walk->evaluator;
    struct record *record = pause(evaluator);
    struct outcome where, one;
    struct form room;
    for (uint32_t i = 0; i < walk->count && !evaluator->exhausted; i++) {
        list_stand_at(walk, i);
        if (!is_meant(walk, &where))
            continue;
        if (each != NODE_NONE) {
            compare_element(walk, each, with, &one);
            list_take_truth(walk, &where, &one, i);
        } else if (walk->n->op == OP_DISTINCT) {
            take_item(walk, &where, i);
        } else if (walk->n->op == OP_LARGEST || walk->n->op == OP_SMALLEST) {
            list_take_form(walk, &where, run_quantity(evaluator, walk->n->a, &room), i);
        } else {
            run_truth(evaluator, walk->n->a, &one);
            list_take_truth(walk, &where, &one, i);
            if (list_is_decided(walk))
                break;
        }
    }
    evaluator->record = record;
}

/* Records what decided, and why it is among those asked about: the name stays there. */
static void revisit(const struct walk *walk, uint32_t index)
{
    struct outcome where;
    struct record *record = walk->evaluator->record;
    uint32_t entry = record_open(record, walk->domain);
    list_stand_at(walk, index);
    if (entry != NODE_NONE) {
        record->entries.items[entry].is_element = true;
        record->entries.items[entry].of.record = index;
    }
    is_meant(walk, &where);
    run_any(walk->evaluator, walk->n->a);
    record_close(record, entry, ENV_ABSENT);
}

/* Records what is missing in the elements from the first unknown one on. */
static void revisit_unknown(const struct walk *walk)
{
    struct evaluator *evaluator = walk->evaluator;
    uint32_t end = walk->count - walk->unknown > REVISITED_MAX ? walk->unknown + REVISITED_MAX
                                                               : walk->count;
    for (uint32_t i = walk->unknown; i < end && !evaluator->exhausted; i++) {
        struct outcome where;
        list_stand_at(walk, i);
        struct record *record = pause(evaluator);
        bool meant = is_meant(walk, &where);
        bool unknown = meant && (where.truth == TRUTH_UNKNOWN ||
                                 run_any(evaluator, walk->n->a) != ENV_KNOWN);
        evaluator->record = record;
        if (unknown)
            revisit(walk, i);
    }
    list_stand_at(walk, walk->unknown);
}

static void record_walk(const struct walk *walk, bool unknown)
{
    if (!walk->evaluator->record)
        return;
    if (unknown && walk->unknown != NODE_NONE)
        revisit_unknown(walk);
    if (walk->decided.other != NODE_NONE)
        revisit(walk, walk->decided.other);
    if (walk->decided.element != NODE_NONE)
        revisit(walk, walk->decided.element);
}

static OUT_OF_LINE const struct form *list_quantity(struct evaluator *evaluator, uint32_t node,
                                                    struct form *room)
{
    struct walk walk;
    bool known;
    uint8_t state = open_list(evaluator, node, &walk);
    if (state != ENV_KNOWN)
        return form_unknown(state);
    struct kept *kept = list_recall(&walk, false, &known);
    if (known) {
        state = kept->state;
        if (state == ENV_KNOWN)
            copy_form(room, &kept->form);
    } else {
        walk.form = room;
        go_through(&walk, NODE_NONE, NULL);
        state = list_form(&walk);
        if (list_retain(&walk, kept)) {
            kept->state = state;
            if (state == ENV_KNOWN)
                copy_form(&kept->form, room);
        }
    }
    record_walk(&walk, state != ENV_KNOWN);
    return state == ENV_KNOWN ? room : form_unknown(state);
}

static OUT_OF_LINE void list_holds(struct evaluator *evaluator, uint32_t node,
                                   struct outcome *out)
{
    struct walk walk;
    bool known;
    uint8_t state = open_list(evaluator, node, &walk);
    if (state != ENV_KNOWN) {
        outcome_unknown(out, state);
        return;
    }
    struct kept *kept = list_recall(&walk, true, &known);
    if (known) {
        *out = kept->outcome;
    } else {
        go_through(&walk, NODE_NONE, NULL);
        list_truth(&walk, out);
        if (list_retain(&walk, kept))
            kept->outcome = *out;
    }
    record_walk(&walk, out->truth == TRUTH_UNKNOWN);
}

static OUT_OF_LINE void compare_each(struct evaluator *evaluator, uint32_t node,
                                     struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct walk walk;
    struct form room;
    const struct form *with = run_quantity(evaluator, n->a, &room);
    uint8_t listed = open_list(evaluator, n->b, &walk);
    if (listed != ENV_KNOWN || !form_known(with)) {
        if (listed == ENV_KNOWN && evaluator->record)
            listed =
                form_state(run_quantity(evaluator, n->b, &room)); /* what else is missing */
        outcome_unknown(out, worse(form_state(with), listed));
        return;
    }
    go_through(&walk, node, with);
    list_truth(&walk, out);
    if (out->truth != TRUTH_UNKNOWN && walk.decided.element == NODE_NONE)
        outcome_unknown(out, ENV_ABSENT); /* the largest of nothing is not known */
    record_walk(&walk, out->truth == TRUTH_UNKNOWN);
}

/* Quantities. */

/* One that may be of another record the next time does not stay where it was read. */
static OUT_OF_LINE const struct form *
leaf_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct leaf *leaf;
    uint8_t state = know_leaf(evaluator, n, &leaf);
    if (state != ENV_KNOWN)
        return form_unknown(state);
    if (n->part & FLAG_ONE || !form_known(leaf->known))
        return leaf->known;
    copy_form(room, leaf->known);
    return room;
}

static OUT_OF_LINE const struct form *
slot_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct slot *slot = &evaluator->slots[n->a];
    if (evaluator->record)
        record_stand(evaluator->record, slot->entry);
    if (slot->state != ENV_KNOWN)
        return form_unknown(slot->state);
    if (!(n->part & FLAG_NOMINAL))
        return &slot->form;
    if (evaluator->moved)
        form_nominal_range(room, &slot->form);
    else
        form_nominal(room, &slot->form);
    return room;
}

/* What a definition comes to lies in the caller's room: where it is kept, another call of it
 * may come between. */
static OUT_OF_LINE const struct form *
call_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    bool known;
    const struct kept *there = kept_at_once(evaluator, n);
    struct kept *place = NULL;
    if (!there) {
        place = enter(evaluator, n, false, &known);
        there = known ? place : NULL;
    }
    if (there && there->state != ENV_KNOWN)
        return form_unknown(there->state);
    if (there && n->b == NODE_NONE)
        return &there->form; /* there is no other */
    const struct form *form = there ? &there->form : NULL;
    if (!there) {
        uint32_t body = next_entry(evaluator);
        form = run_quantity(evaluator, evaluator->program->calls[n->a].body, room);
        bool is_known = form_known(form);
        if (leave(evaluator, place, body)) {
            place->state = form_state(form);
            if (is_known)
                copy_form(&place->form, form);
        }
        if (form == room || !is_known)
            return form;
    }
    copy_form(room, form);
    return room;
}

/* For a record: what else stands in the text of an operation. */
static void record_rest(struct evaluator *evaluator, const struct formula_node *n)
{
    const uint32_t rest[2] = {n->b, n->c};
    struct form number;
    uint32_t record;
    if (n->op == OP_SCALE)
        run_quantity(evaluator, n->b, &number);
    for (int i = 0; i < 2 && n->op == OP_DISTANCE; i++)
        if (node_of(evaluator, rest[i])->type == TYPE_RECORD)
            run_record(evaluator, rest[i], &record);
        else
            record_close(evaluator->record,
                         record_open(evaluator->record, node_of(evaluator, rest[i])),
                         ENV_ABSENT);
}

static OUT_OF_LINE const struct form *
one_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct form *x = run_quantity(evaluator, n->a, room);
    if (evaluator->record)
        record_rest(evaluator, n);
    return form_known(x) ? arithmetic_one(evaluator, n, x, room) : x;
}

static deviation_name name_of_width(struct evaluator *evaluator, const struct formula_node *n)
{
    const struct formula_node *name = node_of(evaluator, n->c);
    struct record *record = evaluator->record;
    uint32_t owner = 0;
    evaluator->record = NULL;
    bool known = name->a != NODE_NONE && run_record(evaluator, name->a, &owner) == ENV_KNOWN;
    evaluator->record = record;
    return deviation_of(evaluator, name, known ? owner : NODE_NONE);
}

static OUT_OF_LINE const struct form *
two_quantities(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    struct form second;
    const struct form *x = run_quantity(evaluator, n->a, room);
    const struct form *y = run_quantity(evaluator, n->b, &second);
    if (!form_known(x) || !form_known(y))
        return form_unknown(worse(form_state(x), form_state(y)));
    /* a width that differs within a range is no one tolerance */
    bool named = n->op == OP_WIDEN && !form_is_spread(evaluator, y);
    return arithmetic_two(evaluator, n, x, y, named ? name_of_width(evaluator, n) : 0, room);
}

/* Of an `if` whose condition is open: one or the other. */
static const struct form *either_quantity(struct evaluator *evaluator,
                                          const struct formula_node *n, struct form *room)
{
    struct form rooms[2];
    const struct form *x = run_quantity(evaluator, n->b, &rooms[0]);
    const struct form *y = run_quantity(evaluator, n->c, &rooms[1]);
    if (!form_known(x) || !form_known(y))
        return form_unknown(ENV_OPEN);
    form_either(room, x, y);
    return room;
}

static OUT_OF_LINE const struct form *
chosen_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = branch_of(evaluator, n, &state);
        if (state == ENV_OPEN && branch == NODE_NONE)
            return either_quantity(evaluator, n, room);
        return branch == NODE_NONE ? form_unknown(state)
                                   : run_quantity(evaluator, branch, room);
    }
    const struct form *first = run_quantity(evaluator, n->a, room);
    return first == form_unknown(ENV_ABSENT) ? run_quantity(evaluator, n->b, room) : first;
}

static OUT_OF_LINE const struct form *
last_margin(const struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    const struct verdict *verdict = &evaluator->verdict;
    if (!verdict->has_margin)
        return form_unknown(ENV_ABSENT);
    form_exact(room, n->op == OP_MARGIN ? verdict->margin : 0 - verdict->margin);
    /* It is no better known than what it was computed from. */
    room->scale = verdict->size > room->scale ? verdict->size : room->scale;
    return room;
}

static IN_LINE const struct form *quantity_of(struct evaluator *evaluator,
                                              const struct formula_node *n, struct form *room)
{
    switch (n->op) {
    case OP_NUMBER:
        return leaf_number(evaluator, n, room);
    case OP_LEAF:
        return leaf_quantity(evaluator, n, room);
    case OP_SLOT:
        return slot_quantity(evaluator, n, room);
    case OP_CALL:
        return call_quantity(evaluator, n, room);
    case OP_ADD:
    case OP_SUBTRACT:
    case OP_MULTIPLY:
    case OP_DIVIDE:
    case OP_HYPOT:
    case OP_MAXIMUM:
    case OP_MINIMUM:
    case OP_WIDEN:
        return two_quantities(evaluator, n, room);
    case OP_NEGATE:
    case OP_SCALE:
    case OP_POWER:
    case OP_ROOT:
    case OP_ABSOLUTE:
    case OP_NOMINAL:
    case OP_DISTANCE:
        return one_quantity(evaluator, n, room);
    case OP_IF:
    case OP_OTHERWISE:
        return chosen_quantity(evaluator, n, room);
    case OP_COUNT:
    case OP_LARGEST:
    case OP_SMALLEST:
        return list_quantity(evaluator, (uint32_t)(n - evaluator->nodes), room);
    case OP_SHORTFALL:
    case OP_MARGIN:
        return last_margin(evaluator, n, room);
    default:
        BUG("operation %d gives no quantity", n->op);
    }
}

static OUT_OF_LINE const struct form *
recorded_quantity(struct evaluator *evaluator, const struct formula_node *n, struct form *room)
{
    uint32_t entry = record_open(evaluator->record, n);
    const struct form *form = quantity_of(evaluator, n, room);
    record_quantity(evaluator, entry, form);
    return form;
}

OUT_OF_LINE const struct form *run_quantity(struct evaluator *evaluator, uint32_t node,
                                            struct form *room)
{
    const struct formula_node *n = node_of(evaluator, node);
    if (!step_on(evaluator))
        return form_unknown(ENV_ABSENT);
    if (evaluator->record)
        return recorded_quantity(evaluator, n, room);
    if (n->op <= OP_LEAF && n->part & FLAG_ONE) { /* mostly, and mostly read before */
        const struct leaf *leaf = &evaluator->leaves[n->c];
        if (leaf->epoch == evaluator->epoch)
            return leaf->known;
    }
    return quantity_of(evaluator, n, room);
}

/* Comparisons. */

static OUT_OF_LINE void compare(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[2]; /* worked out as they are written, so that reads are noted so */
    bool swapped = n->part & FLAG_SWAPPED;
    const struct form *x = run_quantity(evaluator, swapped ? n->b : n->a, &rooms[0]);
    const struct form *y = run_quantity(evaluator, swapped ? n->a : n->b, &rooms[1]);
    if (!form_known(x) || !form_known(y))
        outcome_unknown(out, worse(form_state(x), form_state(y)));
    else
        outcome_compared(evaluator, node, n->part & FLAG_STRICT, swapped ? y : x,
                         swapped ? x : y, out);
}

static OUT_OF_LINE void compare_equal(struct evaluator *evaluator, uint32_t node,
                                      struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[2];
    const struct form *x = run_quantity(evaluator, n->a, &rooms[0]);
    const struct form *y = run_quantity(evaluator, n->b, &rooms[1]);
    uint8_t state = worse(form_state(x), form_state(y));
    if (state == ENV_KNOWN)
        outcome_equal(evaluator, node, x, y, out);
    else
        outcome_unknown(out, state);
}

static OUT_OF_LINE void compare_inside(struct evaluator *evaluator, uint32_t node,
                                       struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct form rooms[3];
    const struct form *x = run_quantity(evaluator, n->a, &rooms[0]);
    const struct form *low = run_quantity(evaluator, n->b, &rooms[1]);
    const struct form *high = run_quantity(evaluator, n->c, &rooms[2]);
    uint8_t state = worse(form_state(x), worse(form_state(low), form_state(high)));
    if (state == ENV_KNOWN)
        outcome_inside(evaluator, node, x, low, high, out);
    else
        outcome_unknown(out, state);
}

/* Logic. */

static OUT_OF_LINE void join(struct evaluator *evaluator, const struct formula_node *n,
                             struct outcome *out)
{
    bool both = n->op == OP_AND;
    run_truth(evaluator, n->a, out);
    /* an `or` that holds at once, and an `and` that a flag has denied, ask no further */
    if (both ? out->truth == TRUTH_FALSE && !out->has_margin : out->truth == TRUTH_TRUE)
        return;
    struct outcome other;
    run_truth(evaluator, n->b, &other);
    int side = outcome_side(both, out, &other);
    if (side == 0) {
        outcome_unknown(out, worse(out->state, other.state));
        return;
    }
    if (side == 2)
        *out = other;
}

static OUT_OF_LINE void choose(struct evaluator *evaluator, const struct formula_node *n,
                               struct outcome *out)
{
    if (n->op == OP_IF) {
        uint8_t state;
        uint32_t branch = branch_of(evaluator, n, &state);
        struct outcome other;
        if (branch != NODE_NONE) {
            run_truth(evaluator, branch, out);
            return;
        }
        if (state == ENV_OPEN) {
            run_truth(evaluator, n->b, out);
            run_truth(evaluator, n->c, &other);
        }
        if (state != ENV_OPEN || other.truth != out->truth || out->truth == TRUTH_UNKNOWN)
            outcome_unknown(out, state);
        return;
    }
    run_truth(evaluator, n->a, out);
    if (out->truth == TRUTH_UNKNOWN && out->state == ENV_ABSENT)
        run_truth(evaluator, n->b, out);
}

static OUT_OF_LINE void call_truth(struct evaluator *evaluator, const struct formula_node *n,
                                   struct outcome *out)
{
    const struct kept *there = kept_at_once(evaluator, n);
    if (there && there->statistical == evaluator->statistical) {
        *out = there->outcome;
        return;
    }
    bool known;
    struct kept *kept = enter(evaluator, n, true, &known);
    if (known) {
        *out = kept->outcome;
        return;
    }
    uint32_t body = next_entry(evaluator);
    run_truth(evaluator, evaluator->program->calls[n->a].body, out);
    if (leave(evaluator, kept, body))
        kept->outcome = *out;
}

/* Words, texts, records. */

static OUT_OF_LINE void ask_leaf(struct evaluator *evaluator, uint32_t node,
                                 struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    const struct leaf *leaf = NULL;
    uint8_t state =
        n->op == OP_FLAG ? know_leaf(evaluator, n, &leaf) : run_leaf(evaluator, n->a, &leaf);
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node,
                      leaf_passes(n, &leaf->value) != ((n->part & FLAG_NEGATE) != 0));
}

static OUT_OF_LINE void ask_texts(struct evaluator *evaluator, uint32_t node,
                                  struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    struct view a, b;
    uint8_t state = run_text(evaluator, n->a, &a);
    state = worse(state, run_text(evaluator, n->b, &b));
    if (state == ENV_KNOWN)
        outcome_of_texts(evaluator, node, a, b, out);
    else
        outcome_unknown(out, state);
}

/* Two words of one choice, two flags, or two records. */
static OUT_OF_LINE void ask_same(struct evaluator *evaluator, uint32_t node,
                                 struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    double number[2] = {0, 0};
    uint8_t state = ENV_KNOWN;
    uint32_t record = 0;
    for (int i = 0; i < 2; i++) {
        uint32_t side = i ? n->b : n->a;
        const struct leaf *leaf;
        if (n->op == OP_IS_RECORD) {
            state = worse(state, run_record(evaluator, side, &record));
            number[i] = record;
        } else {
            uint8_t read = run_leaf(evaluator, side, &leaf);
            state = worse(state, read);
            number[i] = read == ENV_KNOWN ? leaf->value.number : 0;
        }
    }
    if (state != ENV_KNOWN)
        outcome_unknown(out, state);
    else
        outcome_plain(out, node, (number[0] == number[1]) != ((n->part & FLAG_NEGATE) != 0));
}

static OUT_OF_LINE void ask_known(struct evaluator *evaluator, uint32_t node,
                                  struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    uint8_t state = run_any(evaluator, n->a);
    if (state > ENV_ABSENT || evaluator->exhausted) {
        outcome_unknown(out, state);
        return;
    }
    outcome_plain(out, node, (state == ENV_KNOWN) != ((n->part & FLAG_NEGATE) != 0));
}

static IN_LINE void truth_of(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    const struct formula_node *n = node_of(evaluator, node);
    switch (n->op) {
    case OP_TRUTH:
        outcome_plain(out, node, n->number != 0);
        return;
    case OP_COMPARE:
        compare(evaluator, node, out);
        return;
    case OP_EQUAL:
        compare_equal(evaluator, node, out);
        return;
    case OP_INSIDE:
        compare_inside(evaluator, node, out);
        return;
    case OP_COMPARE_EACH:
        compare_each(evaluator, node, out);
        return;
    case OP_AND:
    case OP_OR:
        join(evaluator, n, out);
        return;
    case OP_IF:
    case OP_OTHERWISE:
        choose(evaluator, n, out);
        return;
    case OP_CALL:
        call_truth(evaluator, n, out);
        return;
    case OP_FLAG:
    case OP_IS_WORD:
    case OP_IS_NONE:
    case OP_HAS:
    case OP_BEFORE:
        ask_leaf(evaluator, node, out);
        return;
    case OP_IS_TEXT:
    case OP_MATCHES:
        ask_texts(evaluator, node, out);
        return;
    case OP_IS_SAME:
    case OP_IS_RECORD:
        ask_same(evaluator, node, out);
        return;
    case OP_KNOWN:
        ask_known(evaluator, node, out);
        return;
    case OP_EVERY:
    case OP_ANY:
    case OP_DISTINCT:
        list_holds(evaluator, node, out);
        return;
    default:
        BUG("operation %d gives no truth", n->op);
    }
}

static OUT_OF_LINE void recorded_truth(struct evaluator *evaluator, uint32_t node,
                                       struct outcome *out)
{
    uint32_t entry = record_open(evaluator->record, node_of(evaluator, node));
    truth_of(evaluator, node, out);
    if (entry != NODE_NONE)
        evaluator->record->entries.items[entry].of.outcome = *out;
    record_close(evaluator->record, entry,
                 out->truth == TRUTH_UNKNOWN ? out->state : ENV_KNOWN);
}

OUT_OF_LINE void run_truth(struct evaluator *evaluator, uint32_t node, struct outcome *out)
{
    if (!step_on(evaluator))
        outcome_unknown(out, ENV_ABSENT);
    else if (evaluator->record)
        recorded_truth(evaluator, node, out);
    else
        truth_of(evaluator, node, out);
}

uint8_t run_any(struct evaluator *evaluator, uint32_t node)
{
    struct form room;
    struct outcome outcome;
    struct view text;
    const struct leaf *leaf;
    uint32_t record;
    switch ((enum value_type)node_of(evaluator, node)->type) {
    case TYPE_QUANTITY:
    case TYPE_DATE:
        return form_state(run_quantity(evaluator, node, &room));
    case TYPE_FLAG:
        run_truth(evaluator, node, &outcome);
        return outcome.truth == TRUTH_UNKNOWN ? outcome.state : ENV_KNOWN;
    case TYPE_TEXT:
        return run_text(evaluator, node, &text);
    case TYPE_RECORD:
        return run_record(evaluator, node, &record);
    default:
        return run_leaf(evaluator, node, &leaf);
    }
}
