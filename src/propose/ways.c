/* What would have to be otherwise, where no set of chosen numbers will do. */
#include "propose/ways.h"

#include <math.h>
#include <stdlib.h>

#include "propose/propose.h"
#include "propose/seek.h"
#include "quantity/quantity.h"
#include "rules/run.h"

enum { WAYS_MAX = 8 /* numbers that are looked at: each is a search */ };

/* A change of less than this part of a step is none. */
#define LITTLE 1e-3

static bool is_same(const struct field_place *a, const struct field_place *b)
{
    return a->field == b->field && a->record == b->record && a->part == b->part;
}

static void add_place(struct ways *ways, const struct field_place *place)
{
    const struct field_value *value =
        machine_field(ways->of.machine, place->field, place->record);
    const struct field *field = &field_table[place->field];
    bool number = place->part ? field->kind == KIND_PAIR
                              : field->kind == KIND_QUANTITY || field->kind == KIND_POSITION;
    bool kept = field_places_have(ways->kept, place);
    if (!number || (!kept && (value->state != VALUE_GIVEN || field->nature == NATURE_CHOSEN)) ||
        strncmp(field->key, "allowances.", 11) == 0)
        return;
    for (size_t i = 0; i < ways->places.count; i++)
        if (is_same(&ways->places.items[i], place))
            return;
    VECTOR_ADD(ways->of.arena, &ways->places, *place);
}

void ways_look(struct ways *ways, const struct describer *describer,
               const struct instance *instance)
{
    struct runner *runner = describer->runner;
    struct formula_namer namer = describe_namer(describer);
    struct derived_reads derived;
    struct trace trace;
    evaluate_traced(runner_bind(runner, instance), runner_requirement(runner, instance)->node,
                    runner_statistical(runner, runner->rules[instance->rule].rule), &namer,
                    describer->arena, &trace);
    trace_expand(describer, &trace, &derived);
    for (size_t i = 0; i < trace.read_count; i++) {
        const struct formula_read *read = &trace.reads[i];
        if (leaf_is_derived(read->leaf) || !read->comparing)
            continue;
        struct field_place place = {read->leaf, read->record, read->part};
        add_place(ways, &place);
    }
}

/* A remark that is made anyhow keeps nobody from a way out. */
static void rest_remarks(struct margins *margins)
{
    for (size_t i = 0; i < margins->stake_count; i++) {
        struct stake *stake = &margins->stakes[i];
        if (stake->fails &&
            runner_requirement(margins->runner, &stake->instance)->level == LEVEL_NOTE)
            stake->resting = true;
    }
}

/* As little as this one has to change, with all the others free. */
static bool find_way(const struct ways *ways, const struct field_place *place,
                     struct way_out *out)
{
    struct arena *arena = ways->of.arena;
    size_t count = ways->chosen_count + 1;
    struct field_place *places = ARENA_ARRAY(arena, struct field_place, count);
    bool *moves = ARENA_ARRAY(arena, bool, count);
    double *weights = ARENA_ARRAY(arena, double, count);
    double *now = ARENA_ARRAY(arena, double, count);
    struct margins margins;
    struct sought found;
    memcpy(places, ways->chosen, ways->chosen_count * sizeof *places);
    places[count - 1] = *place;
    margins_open(&ways->of, places, count, &margins);
    for (size_t i = 0; i < margins.stake_count; i++)
        margins.stakes[i].resting =
            instance_is_listed(ways->aside, &margins.stakes[i].instance);
    for (size_t k = 0; k < count; k++) {
        moves[k] = true;
        now[k] = margins.knobs[k].now;
    }
    weights[count - 1] = 1;
    margins_ask(&margins, now);
    rest_remarks(&margins);
    margins_remember(&margins);
    seek_greatest(&margins, moves, now, &found);
    if (found.least < SEEK_HOLDS)
        return false;
    seek_nearest(&margins, moves, weights, SEEK_SPARE, &found);
    const struct knob *knob = &margins.knobs[count - 1];
    const struct field *field = &field_table[place->field];
    double change = found.x[count - 1] - knob->now;
    *out = (struct way_out){.change = change};
    out->path = machine_lasting_path(
        arena, ways->of.machine,
        machine_path(arena, ways->of.machine, place->field, place->record, place->part));
    out->measured = nature_is_measured(field->nature);
    out->kept = field_places_have(ways->kept, place);
    out->by_text = quantity_text(arena, fabs(change), field->dimension, knob->value->unit);
    out->now_text = quantity_text(arena, knob->now, field->dimension, knob->value->unit);
    return fabs(change) > knob->step * LITTLE;
}

static int compare_ways(const void *a, const void *b)
{
    const struct way_out *x = a, *y = b;
    double by_x = fabs(x->change), by_y = fabs(y->change);
    return by_x != by_y ? (by_x < by_y ? -1 : 1) : strcmp(x->path, y->path);
}

struct way_out *ways_find(const struct ways *ways, size_t *count, size_t *left)
{
    size_t looked = ways->places.count < WAYS_MAX ? ways->places.count : WAYS_MAX;
    struct way_out *out = ARENA_ARRAY(ways->of.arena, struct way_out, looked + 1);
    *count = 0;
    *left = ways->places.count - looked;
    for (size_t i = 0; i < looked; i++)
        *count += find_way(ways, &ways->places.items[i], &out[*count]);
    qsort(out, *count, sizeof *out, compare_ways);
    return out;
}
