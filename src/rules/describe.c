#include "rules/run.h"

#include <math.h>
#include <stdlib.h>

#include "base/bug.h"
#include "base/buffer.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum {
    RELATED_MAX = 12, /* a rule over a long list reads a place in each item */
};

static bool is_there(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

static const char *name_record(const void *user, struct arena *arena, uint8_t kind,
                               uint32_t index)
{
    const struct describer *describer = user;
    return machine_record_name(arena, describer->machine, kind, index);
}

static const char *name_leaf(const void *user, struct arena *arena, uint16_t leaf, uint8_t part,
                             uint32_t record)
{
    const struct describer *describer = user;
    if (!leaf_is_derived(leaf))
        return machine_path(arena, describer->machine, leaf, record, part);
    enum field_id beside = derived_field(leaf);
    if (derived_group(leaf) == GROUP_ROOT)
        return derived_key(leaf);
    const char *named = machine_path(arena, describer->machine, beside, record, 0);
    return arena_format(arena, "%.*s%s", (int)(strlen(named) - strlen(field_table[beside].key)),
                        named, derived_key(leaf));
}

static unit_id name_unit(const void *user, struct dimension dimension)
{
    const struct describer *describer = user;
    return machine_unit(describer->machine, dimension);
}

static const char *name_place(const void *user, struct arena *arena, uint16_t leaf,
                              uint8_t part, uint32_t record)
{
    const struct describer *describer = user;
    const struct finding_spot *shown = describer->shown;
    if (leaf_is_derived(leaf) || !shown || !shown->source)
        return NULL;
    struct finding_spot spot = describe_place(describer, leaf, part, record);
    struct span here = shown->span, there = spot.span;
    if (!spot.source || (here.start == there.start && here.end == there.end))
        return NULL;
    struct source *source = source_holding(spot.source, &there);
    struct place place = source_place(source, there.start, COLUMN_CODE_POINTS);
    return source == source_holding(shown->source, &here)
               ? arena_format(arena, "line %u", place.line)
               : arena_format(arena, "%.*s:%u:%u", VIEW(source->name), place.line,
                              place.column);
}

struct formula_namer describe_namer(const struct describer *describer)
{
    return (struct formula_namer){.user = describer,
                                  .record = name_record,
                                  .leaf = name_leaf,
                                  .unit = name_unit,
                                  .place = name_place};
}

/* The smallest part of a node that stands for it: a text itself, a list or map by its key, an
 * item of a list by its first line. */
static struct span place_of(const struct tree_node *node, bool is_value)
{
    if (is_value && (node->kind == TREE_TEXT || node->kind == TREE_ALIAS) &&
        node->span.end > node->span.start)
        return node->span;
    if (is_value && node->style == STYLE_FLOW)
        return node->span;
    if (node->key_span.end > node->key_span.start)
        return node->key_span;
    if (node->kind != TREE_TEXT && node->first)
        return span_join(node->first->key_span.end ? node->first->key_span : node->first->span,
                         place_of(node->first, true));
    return node->span;
}

/* Is there such a record?  A quantifier over nothing binds its name to none. */
static bool is_record(const struct describer *describer, unsigned field, uint32_t record)
{
    return record < describer->machine->groups[field_table[field].group].count;
}

struct finding_spot describe_place(const struct describer *describer, enum field_id field,
                                   uint8_t part, uint32_t record)
{
    if (!is_record(describer, field, record))
        return (struct finding_spot){.field = field_path(describer->arena, field)};
    struct finding_spot spot = {
        .field = machine_path(describer->arena, describer->machine, field, record, part)};
    const struct field_value *value =
        binding_value(&describer->runner->binding, (uint16_t)field, part, record);
    if (value->state == VALUE_DEFAULTED)
        return spot;
    bool is_value = value->state != VALUE_ABSENT && value->node;
    const struct tree_node *node =
        is_value ? value->node : machine_nearest(describer->machine, field, record, &is_value);
    if (!node)
        return spot;
    spot.source = describer->source;
    spot.span = place_of(node, is_value);
    return spot;
}

/* What was read, as the file writes it; NULL where nothing is there. */
static const char *read_text(const struct describer *describer, const struct formula_read *read)
{
    const struct field_value *value =
        binding_value(&describer->runner->binding, read->leaf, read->part, read->record);
    const struct field *field = &field_table[read->leaf];
    if (!is_there(value))
        return NULL;
    return field->kind == KIND_PAIR && read->part
               ? quantity_text_with(describer->arena, value->si, value->tolerance,
                                    field->dimension, value->unit)
               : field_value_text(describer->arena, read->leaf, value);
}

/* "change.standoff is 5 mm", for the other places of a finding. */
static const char *place_words(const struct describer *describer,
                               const struct formula_read *read, const char *path)
{
    const char *text = read_text(describer, read);
    if (!text)
        return NULL;
    return arena_format(describer->arena, "%s is %s", path,
                        escape_short(describer->arena, view_of(text), 60));
}

/* "how far the cutter sticks out below the nose: 33 mm (cutters[0].stickout)" */
static const char *place_told(const struct describer *describer,
                              const struct formula_read *read, const char *path)
{
    const char *text = read_text(describer, read);
    if (!text)
        return NULL;
    const char *meaning = field_table[read->leaf].meaning;
    size_t asks = strlen(meaning);
    bool question = asks && meaning[asks - 1] == '?';
    return arena_format(describer->arena, "%s%s %s (%s)", meaning, question ? "" : ":",
                        escape_short(describer->arena, view_of(text), 60), path);
}

static bool same_leaf(const struct formula_read *read, uint16_t leaf, uint8_t part,
                      uint32_t record)
{
    return read->leaf == leaf && read->record == record &&
           (read->part == part || !part || !read->part);
}

/* The field a finding points at, and what else the failing comparison read. */
struct blamed {
    bool known;
    uint16_t leaf;
    uint8_t part;
    uint32_t record;
};

/* What an instance came to, as far as a finding tells it. */
struct traced {
    struct trace trace;
    struct derived_reads derived;
    struct blamed blamed;
};

static void add_related(const struct describer *describer, const struct trace *trace,
                        const struct blamed *blamed, struct finding *out)
{
    struct finding_spot *spots =
        ARENA_ARRAY(describer->arena, struct finding_spot, RELATED_MAX);
    size_t count = 0;
    for (size_t i = 0; i < trace->read_count; i++) {
        const struct formula_read *read = &trace->reads[i];
        if (!read->comparing || read->state != ENV_KNOWN || read->defaulted)
            continue;
        if (blamed->known && same_leaf(read, blamed->leaf, blamed->part, blamed->record))
            continue;
        struct finding_spot spot =
            describe_place(describer, read->leaf, read->part, read->record);
        if (!spot.source)
            continue;
        if (count == RELATED_MAX) {
            out->related_left++;
            continue;
        }
        spot.in_steps = read->placed;
        spot.text = place_words(describer, read, spot.field);
        spot.told = place_told(describer, read, spot.field);
        spots[count++] = spot;
    }
    out->related = spots;
    out->related_count = count;
}

/* The field that a requirement blames, whether or not the file gives it. */
static bool find_blamed(struct evaluator *evaluator, const struct requirement *requirement,
                        struct blamed *out)
{
    if (requirement->blame == NODE_NONE ||
        !evaluate_field(evaluator, requirement->blame, &out->leaf, &out->part, &out->record))
        return false;
    if (leaf_is_derived(out->leaf))
        out->leaf = (uint16_t)derived_field(out->leaf);
    return true;
}

/* The field to point at: the blamed one where the file gives it; a default has no place, so
 * then the first other field that was compared, if any has one. */
static void add_place(const struct describer *describer, struct evaluator *evaluator,
                      const struct requirement *requirement, const struct trace *trace,
                      struct finding *out, struct blamed *blamed)
{
    blamed->known = find_blamed(evaluator, requirement, blamed);
    if (blamed->known)
        out->at = describe_place(describer, blamed->leaf, blamed->part, blamed->record);
    blamed->known = blamed->known && is_record(describer, blamed->leaf, blamed->record);
    out->blames_absent =
        blamed->known &&
        binding_value(&describer->runner->binding, blamed->leaf, blamed->part, blamed->record)
                ->state == VALUE_ABSENT;
    for (size_t i = 0; i < trace->read_count && !out->at.source; i++) {
        const struct formula_read *read = &trace->reads[i];
        if (!read->comparing || read->state == ENV_ABSENT || read->defaulted)
            continue;
        struct finding_spot spot =
            describe_place(describer, read->leaf, read->part, read->record);
        if (!spot.source)
            continue;
        out->at = spot;
        *blamed = (struct blamed){true, read->leaf, read->part, read->record};
    }
}

/* Are dates compared there?  Their margins are counted in days. */
static bool compares_dates(const struct requirement *requirement, const struct trace *trace)
{
    bool dates = false;
    for (size_t i = 0; i < trace->read_count && requirement->has_dates; i++)
        dates |= trace->reads[i].comparing && !leaf_is_derived(trace->reads[i].leaf) &&
                 field_table[trace->reads[i].leaf].kind == KIND_DATE;
    return dates;
}

static unit_id shown_unit(const struct describer *describer,
                          const struct requirement *requirement, const struct trace *trace,
                          const struct blamed *blamed)
{
    if (compares_dates(requirement, trace))
        return unit_days();
    if (blamed->known) {
        const struct field_value *value = binding_value(
            &describer->runner->binding, blamed->leaf, blamed->part, blamed->record);
        bool whole_pair = field_table[blamed->leaf].kind == KIND_PAIR && !blamed->part;
        if (is_there(value) && whole_pair)
            value = &value->pair[0];
        if (is_there(value) && value->unit != UNIT_BARE &&
            dimension_equal(field_table[blamed->leaf].dimension, requirement->dimension))
            return value->unit;
    }
    return name_unit(describer, requirement->dimension);
}

static const char *message_text(const struct describer *describer, struct evaluator *evaluator,
                                const struct rulebook *book, uint32_t index, unit_id unit)
{
    struct buffer text;
    buffer_init(&text, describer->arena);
    struct formula_namer namer = describe_namer(describer);
    const struct message *message = &book->messages[index];
    for (uint32_t i = 0; i < message->count; i++) {
        const struct message_piece *piece = &book->pieces[message->first + i];
        if (piece->text)
            buffer_text(&text, piece->text);
        else
            evaluate_shown(evaluator, piece->node, &namer, unit, &text);
    }
    return buffer_string(&text);
}

static int wider_first(const void *a, const void *b)
{
    const struct finding_share *x = a, *y = b;
    if (x->si != y->si)
        return x->si > y->si ? -1 : 1;
    return strcmp(x->name, y->name);
}

/* Where each term of what is to spare comes from: the widest first. */
static void add_shares(const struct describer *describer, struct evaluator *evaluator,
                       const struct form *difference, const struct derived_reads *derived,
                       struct finding *out)
{
    struct formula_namer namer = describe_namer(describer);
    struct finding_share *shares =
        ARENA_ARRAY(describer->arena, struct finding_share, FORM_TERMS + FIELD_USES);
    size_t room = FORM_TERMS + FIELD_USES, count = 0;
    for (uint32_t i = 0; i < difference->count && count < room; i++) {
        const struct form_term *term = &difference->terms[i];
        const struct finding_share whole = {
            evaluator_deviation(evaluator, &namer, describer->arena, term->name),
            fabs(form_settle(difference, term->width))};
        if (whole.si == 0)
            continue;
        size_t parts =
            derived_shares(describer, &namer, derived, &whole, shares + count, room - count);
        if (!parts)
            shares[count] = whole;
        count += parts ? parts : 1;
    }
    qsort(shares, count, sizeof *shares, wider_first);
    out->share_count = count;
    out->shares = shares;
}

/* What a step is about goes without saying where it is the subject of the finding. */
static const char *without_subject(struct arena *arena, const char *step, const char *subject)
{
    struct buffer out;
    const char *said = arena_format(arena, " of %s", subject), *at;
    size_t size = strlen(said);
    buffer_init(&out, arena);
    for (; (at = strstr(step, said)); step = at + size) {
        bool whole = !at[size] || strchr(" ,)(:", at[size]);
        buffer_add(&out, (struct view){step, (size_t)(at - step) + (whole ? 0 : size)});
    }
    buffer_text(&out, step);
    return buffer_string(&out);
}

/* Is it what a way or a list of questions was found to be, which the message says in better
 * words?  Such a name stands in no file. */
static bool is_of_derived(const struct describer *describer,
                          const struct derived_reads *derived, const char *step)
{
    for (size_t i = 0; i < derived->count; i++) {
        const char *name = name_leaf(describer, describer->arena, derived->items[i].leaf, 0,
                                     derived->items[i].record);
        size_t size = strlen(name);
        if (strncmp(step, name, size) == 0 && step[size] == ' ')
            return true;
    }
    return false;
}

/* On paper; what several readings come to is told in both. */
static void add_steps(const struct describer *describer, const struct traced *traced,
                      struct finding *out)
{
    const struct trace *trace = &traced->trace;
    size_t readings = out->arithmetic_count - trace->line_count, count = 0;
    const char **steps =
        ARENA_ARRAY(describer->arena, const char *, trace->step_count + readings + 1);
    for (size_t i = 0; i < trace->step_count; i++)
        if (!is_of_derived(describer, &traced->derived, trace->steps[i]))
            steps[count++] =
                out->subject ? without_subject(describer->arena, trace->steps[i], out->subject)
                             : trace->steps[i];
    for (size_t i = 0; i < readings; i++)
        steps[count++] = out->arithmetic[trace->line_count + i];
    out->steps = steps;
    out->step_count = count;
}

/* Names what is not there, points at the nearest thing that is, and says so. */
static void add_missing(const struct describer *describer, const struct trace *trace,
                        struct finding *out)
{
    const char **missing = ARENA_ARRAY(describer->arena, const char *, MISSING_MAX);
    for (size_t i = 0; i < trace->read_count && out->missing_count < MISSING_MAX; i++) {
        const struct formula_read *read = &trace->reads[i];
        if (read->state == ENV_KNOWN)
            continue;
        struct finding_spot spot = describe_place(describer, read->leaf, 0, read->record);
        if (!out->missing_count)
            out->at = spot;
        missing[out->missing_count++] = spot.field;
    }
    out->missing = missing;
    if (out->missing_count == 1)
        out->message =
            arena_format(describer->arena, "not checked, for want of %s", missing[0]);
    else if (out->missing_count)
        out->message =
            arena_format(describer->arena, "not checked, for want of %s and %zu more",
                         missing[0], out->missing_count - 1);
    else
        out->message = "not checked: nothing it could be asked of, or too many steps";
}

/* Of each value that was measured several times: what it comes from, behind the arithmetic. */
static void add_readings(const struct describer *describer, const struct trace *trace,
                         struct finding *out)
{
    const char **lines =
        ARENA_ARRAY(describer->arena, const char *, out->arithmetic_count + trace->read_count);
    size_t count = 0;
    while (count < out->arithmetic_count) {
        lines[count] = out->arithmetic[count];
        count++;
    }
    for (size_t i = 0; i < trace->read_count; i++) {
        const struct formula_read *read = &trace->reads[i];
        if (read->state != ENV_KNOWN || leaf_is_derived(read->leaf))
            continue;
        const struct field_value *value =
            binding_value(&describer->runner->binding, read->leaf, read->part, read->record);
        const struct readings *readings =
            machine_readings(describer->machine, read->leaf, value);
        if (readings)
            lines[count++] = arena_format(
                describer->arena, "%s = %s: %s",
                machine_path(describer->arena, describer->machine, read->leaf, read->record, 0),
                field_value_text(describer->arena, read->leaf, value),
                readings_text(describer->arena, readings));
    }
    out->arithmetic = lines;
    out->arithmetic_count = count;
}

/* Is its list not there, or does it carry an error, so that there is no record to ask about? */
static bool lacks_record(const struct describer *describer, const struct instance *instance)
{
    const struct rule *rule = describer->runner->rules[instance->rule].rule;
    const struct machine_group *group = &describer->machine->groups[rule->domain];
    return rule->domain && instance->at_condition &&
           describer->runner->applies[instance->rule] == TRUTH_TRUE &&
           (group->wrong || instance->record >= group->count);
}

/* What is missing then is any record of that list: named by its first field, shown by its key.
 */
static void describe_list(const struct describer *describer, uint8_t domain,
                          struct finding *out)
{
    const char **missing = ARENA_ARRAY(describer->arena, const char *, 1);
    missing[0] = field_path(describer->arena, group_table[domain].first);
    const struct tree_node *node = tree_resolve(describer->machine->tree->root);
    struct view key = {missing[0], strcspn(missing[0], ".[")};
    const struct tree_node *list = tree_child(node, key);
    out->at = (struct finding_spot){.field = missing[0],
                                    .source = describer->source,
                                    .span = place_of(list ? list : node, false)};
    out->missing = missing;
    out->missing_count = 1;
    out->message = arena_format(describer->arena, "not checked, for want of %s", missing[0]);
}

void describe_bare(const struct describer *describer, const struct instance *instance,
                   struct finding *out)
{
    const struct rule *rule = describer->runner->rules[instance->rule].rule;
    const struct requirement *requirement = runner_requirement(describer->runner, instance);
    *out = (struct finding){
        .rule = rule->name,
        .level = requirement->level,
        .hurts = rule->hurts,
        .outcome = instance->outcome,
        .has_margin = instance->has_margin,
        .margin = instance->margin,
        .dimension = requirement->dimension,
        .requirement = instance->requirement,
        .implied_by = instance->implied_by == RULE_NONE
                          ? NULL
                          : describer->runner->rules[instance->implied_by].rule->name,
    };
    bool about_all =
        lacks_record(describer, instance) || (instance->at_condition && !rule->when_each);
    if (rule->domain && !about_all)
        out->subject = machine_record_name(describer->arena, describer->machine, rule->domain,
                                           instance->record);
}

/* What an instance comes to, told for a finding that shows `shown` with its line; NULL: without
 * lines. */
static void trace_beside(const struct describer *describer, const struct instance *instance,
                         struct evaluator *evaluator, const struct finding_spot *shown,
                         struct trace *trace, struct derived_reads *derived)
{
    const struct runner *runner = describer->runner;
    const struct rule *rule = runner->rules[instance->rule].rule;
    struct describer beside = *describer;
    beside.shown = shown;
    struct formula_namer namer = describe_namer(&beside);
    evaluate_traced(
        evaluator,
        instance->at_condition ? rule->when : runner_requirement(runner, instance)->node,
        runner_statistical(runner, rule), shown ? &namer : NULL, describer->arena, trace);
    trace_expand(describer, trace, derived);
}

/* The trace, and the place that the finding has.  Which record is blamed can depend on what was
 * asked last: where the place turns out to be another, the steps are written once more. */
static void trace_at_place(const struct describer *describer, const struct instance *instance,
                           struct evaluator *evaluator, struct traced *out,
                           struct finding *finding)
{
    const struct requirement *requirement = runner_requirement(describer->runner, instance);
    struct finding_spot shown = {.source = NULL};
    if (find_blamed(evaluator, requirement, &out->blamed))
        shown =
            describe_place(describer, out->blamed.leaf, out->blamed.part, out->blamed.record);
    trace_beside(describer, instance, evaluator, &shown, &out->trace, &out->derived);
    if (instance->outcome == OUTCOME_UNCHECKED)
        return;
    out->blamed = (struct blamed){0};
    add_place(describer, evaluator, requirement, &out->trace, finding, &out->blamed);
    const struct finding_spot *at = &finding->at;
    if (at->source != shown.source || at->span.start != shown.span.start ||
        at->span.end != shown.span.end)
        trace_beside(describer, instance, evaluator, at, &out->trace, &out->derived);
}

static void add_texts(const struct describer *describer, const struct instance *instance,
                      struct evaluator *evaluator, unit_id unit, struct finding *out)
{
    const struct rule_entry *entry = &describer->runner->rules[instance->rule];
    const struct requirement *requirement = runner_requirement(describer->runner, instance);
    if (instance->outcome == OUTCOME_HELD) {
        out->message = "holds";
        return;
    }
    out->message = message_text(describer, evaluator, entry->book, requirement->says, unit);
    out->put_right =
        message_text(describer, evaluator, entry->book, entry->rule->put_right_message, unit);
}

/* Everything there is to a tolerance: what each field has in it, and all together. */
static void add_tolerance(const struct describer *describer, struct evaluator *evaluator,
                          const struct traced *traced, bool as_squares, struct finding *out)
{
    const struct form *difference = &traced->trace.difference;
    add_shares(describer, evaluator, difference, &traced->derived, out);
    out->as_squares = as_squares;
    out->tolerance =
        form_settle(difference, difference->mid - form_least(difference, as_squares));
}

static struct evaluator *evaluator_about(const struct describer *describer,
                                         const struct instance *instance)
{
    struct runner *runner = describer->runner;
    const struct rule_entry *entry = &runner->rules[instance->rule];
    bool about_all = instance->at_condition && !entry->rule->when_each;
    return about_all ? runner->evaluators[entry->book_index] : runner_bind(runner, instance);
}

size_t describe_missing(const struct describer *describer, const struct instance *instance,
                        enum field_id missing[MISSING_MAX])
{
    const struct machine *machine = describer->machine;
    if (lacks_record(describer, instance)) {
        missing[0] = group_table[describer->runner->rules[instance->rule].rule->domain].first;
        return 1;
    }
    struct traced traced = {.blamed = {0}};
    size_t count = 0;
    trace_beside(describer, instance, evaluator_about(describer, instance), NULL, &traced.trace,
                 &traced.derived);
    for (size_t i = 0; i < traced.trace.read_count && count < MISSING_MAX; i++) {
        const struct formula_read *read = &traced.trace.reads[i];
        if (read->state != ENV_KNOWN)
            missing[count++] = is_record(describer, read->leaf, read->record)
                                   ? machine_home(machine, read->leaf, read->record).field
                                   : read->leaf;
    }
    return count;
}

void describe_placed(const struct describer *describer, const struct instance *instance,
                     struct finding *out)
{
    describe_bare(describer, instance, out);
    if (lacks_record(describer, instance)) {
        describe_list(describer, describer->runner->rules[instance->rule].rule->domain, out);
        return;
    }
    struct evaluator *evaluator = evaluator_about(describer, instance);
    struct traced traced = {.blamed = {0}};
    trace_beside(describer, instance, evaluator, NULL, &traced.trace, &traced.derived);
    if (instance->outcome == OUTCOME_UNCHECKED)
        add_missing(describer, &traced.trace, out);
    else
        add_place(describer, evaluator, runner_requirement(describer->runner, instance),
                  &traced.trace, out, &traced.blamed);
}

void describe_instance(const struct describer *describer, const struct instance *instance,
                       struct finding *out)
{
    struct runner *runner = describer->runner;
    const struct rule_entry *entry = &runner->rules[instance->rule];
    const struct requirement *requirement = runner_requirement(runner, instance);
    describe_bare(describer, instance, out);
    out->why = entry->rule->why;
    if (lacks_record(describer, instance)) {
        out->put_right = "fill in what is missing, so that this can be checked";
        describe_list(describer, entry->rule->domain, out);
        return;
    }
    struct evaluator *evaluator = evaluator_about(describer, instance);
    struct traced traced = {.blamed = {0}};
    trace_at_place(describer, instance, evaluator, &traced, out);
    if (instance->outcome == OUTCOME_UNCHECKED) {
        out->put_right = "fill in what is missing, so that this can be checked";
        add_missing(describer, &traced.trace, out);
        return;
    }
    add_related(describer, &traced.trace, &traced.blamed, out);
    unit_id unit = shown_unit(describer, requirement, &traced.trace, &traced.blamed);
    if (out->has_margin)
        out->margin_text = quantity_text(describer->arena, out->margin, out->dimension, unit);
    add_texts(describer, instance, evaluator, unit, out);
    out->arithmetic = traced.trace.lines;
    out->arithmetic_count = traced.trace.line_count;
    add_readings(describer, &traced.trace, out);
    add_steps(describer, &traced, out);
    add_tolerance(describer, evaluator, &traced, runner_statistical(runner, entry->rule), out);
}

unit_id describe_unit(const struct describer *describer, const struct instance *instance)
{
    const struct requirement *requirement = runner_requirement(describer->runner, instance);
    struct evaluator *evaluator = runner_bind(describer->runner, instance);
    struct trace trace = {.read_count = 0};
    if (requirement->has_dates) {
        struct formula_namer namer = describe_namer(describer);
        evaluate_traced(evaluator, requirement->node,
                        runner_statistical(describer->runner,
                                           describer->runner->rules[instance->rule].rule),
                        &namer, describer->arena, &trace);
    }
    struct blamed blamed = {0};
    blamed.known = requirement->blame != NODE_NONE &&
                   evaluate_field(evaluator, requirement->blame, &blamed.leaf, &blamed.part,
                                  &blamed.record) &&
                   !leaf_is_derived(blamed.leaf);
    return shown_unit(describer, requirement, &trace, &blamed);
}
