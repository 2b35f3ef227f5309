/* Which numbers a proposal may change. */
#include "propose/pace.h"
#include "propose/propose.h"

static bool is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

bool proposal_is_possible(const struct machine *machine, enum field_id field, uint32_t record)
{
    const struct field *row = &field_table[field];
    return row->nature == NATURE_CHOSEN &&
           (row->kind == KIND_QUANTITY || row->kind == KIND_POSITION) &&
           record < machine->groups[row->group].count &&
           machine_is_written(machine, field, record) &&
           !machine_is_read_once(machine, field, record) &&
           is_known(machine_field(machine, field, record));
}

static bool is_moved(const struct runner *runner, struct formula_change *changes,
                     const struct instance *instance)
{
    const struct rule_entry *entry = &runner->rules[instance->rule];
    struct formula_change *change = &changes[entry->book_index];
    return formula_changes(change, entry->rule->when) ||
           formula_changes(change, runner_requirement(runner, instance)->node);
}

/* What counts as a cause to change a number. */
struct blame {
    const struct proposal_question *question;
    const struct instance_list *list; /* what depends on it */
};

static bool is_to_blame(const struct blame *blame, enum field_id field)
{
    const struct proposal_question *question = blame->question;
    struct formula_change *changes =
        search_changes(question->runner, question->arena, question->machine, field);
    for (size_t i = 0; i < blame->list->items.count; i++)
        if (is_moved(question->runner, changes, &blame->list->items.items[i]))
            return true;
    return false;
}

bool field_places_have(const struct field_places *places, const struct field_place *place)
{
    for (size_t i = 0; places && i < places->count; i++)
        if (places->items[i].field == place->field && places->items[i].record == place->record)
            return true;
    return false;
}

/* Adds every number that is possible and, unless `blame` is NULL, to blame. */
static void add_numbers(const struct proposal_question *question, const struct blame *blame,
                        struct field_places *places)
{
    for (uint32_t id = 0; id < FIELD_COUNT; id++) {
        enum field_id field = (enum field_id)id;
        uint32_t records = question->machine->groups[field_table[id].group].count;
        bool asked = false, blamed = false;
        for (uint32_t i = 0; i < records; i++) {
            const struct field_place place = {field, i, 0};
            if (!proposal_is_possible(question->machine, field, i) ||
                field_places_have(places, &place) || field_places_have(question->kept, &place))
                continue;
            blamed = asked ? blamed : !blame || is_to_blame(blame, field);
            asked = true;
            if (blamed)
                VECTOR_ADD(question->arena, places, place);
        }
    }
}

void proposal_choose(const struct proposal_question *question, bool all,
                     struct field_places *places)
{
    struct runner *runner = question->runner;
    struct instance_list failed = {0};
    runner_run(runner, question->arena, question->machine, false);
    for (uint32_t rule = 0; rule < runner->rule_count; rule++) {
        const struct rule_result *result = &runner->results[rule];
        for (size_t i = 0; i < result->failures.count; i++)
            if (!instance_is_listed(question->ignored, &result->failures.items[i]))
                VECTOR_ADD(question->arena, &failed.items, result->failures.items[i]);
    }
    const struct blame blame = {question, &failed};
    add_numbers(question, all ? NULL : &blame, places);
}

/* Adds a number that is possible and not there yet. */
static void add_one(const struct proposal_question *question, const struct field_place *place,
                    struct field_places *places)
{
    if (proposal_is_possible(question->machine, place->field, place->record) &&
        !field_places_have(places, place) && !field_places_have(question->kept, place))
        VECTOR_ADD(question->arena, places, *place);
}

void proposal_keep_place(const struct proposal_question *question, struct field_places *kept)
{
    static const enum field_id park[] = {FIELD_CHANGE_PARK_X, FIELD_CHANGE_PARK_Y,
                                         FIELD_CHANGE_PARK_Z};
    for (size_t i = 0; i < sizeof park / sizeof *park; i++) {
        const struct field_place place = {park[i], 0, 0};
        bool wished = false;
        for (size_t k = 0; k < question->wish_count; k++)
            wished |= question->wishes[k].kind != WISH_FASTEST &&
                      question->wishes[k].place.field == place.field;
        if (!wished)
            add_one(question, &place, kept);
    }
}

/* Adds what the time of a change rests on. */
static void add_timed(const struct proposal_question *question, struct field_places *places)
{
    for (uint32_t id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < question->machine->groups[field_table[id].group].count; i++) {
            const struct field_place place = {(enum field_id)id, i, 0};
            if (proposal_is_possible(question->machine, place.field, i) &&
                pace_rests_on(question->arena, question->machine, &place))
                add_one(question, &place, places);
        }
}

/* Every requirement that depends on one of these. */
static void find_dependent(const struct proposal_question *question,
                           const struct field_places *places, struct instance_list *out)
{
    struct runner *runner = question->runner;
    for (size_t k = 0; k < places->count; k++) {
        struct formula_change *changes =
            search_changes(runner, question->arena, question->machine, places->items[k].field);
        for (uint32_t rule = 0; rule < runner->rule_count; rule++) {
            struct instance one = {.rule = rule, .implied_by = RULE_NONE};
            for (; one.requirement < runner->rules[rule].rule->requirement_count;
                 one.requirement++)
                if (is_moved(runner, changes, &one) && !instance_is_listed(out, &one))
                    VECTOR_ADD(question->arena, &out->items, one);
        }
    }
}

void proposal_choose_wished(const struct proposal_question *question,
                            struct field_places *places)
{
    struct field_places wished = {0}, near = {0};
    struct instance_list dependent = {0};
    for (size_t i = 0; i < question->wish_count; i++) {
        if (question->wishes[i].kind == WISH_FASTEST)
            add_timed(question, &wished);
        else
            add_one(question, &question->wishes[i].place, &wished);
    }
    find_dependent(question, &wished, &dependent);
    const struct blame blame = {question, &dependent};
    add_numbers(question, &blame, &near);
    for (size_t i = 0; i < wished.count; i++)
        add_one(question, &wished.items[i], places);
    for (size_t i = 0; i < near.count; i++)
        add_one(question, &near.items[i], places);
}

bool proposal_widen(const struct proposal_question *question, const struct proposal *found,
                    struct field_places *places)
{
    struct instance_list excluded = {0};
    size_t before = places->count;
    for (size_t i = 0; i < found->excluded_count; i++)
        VECTOR_ADD(question->arena, &excluded.items, found->excluded[i].instance);
    const struct blame blame = {question, &excluded};
    if (found->state == PROPOSAL_NONE)
        add_numbers(question, &blame, places);
    return places->count > before;
}
