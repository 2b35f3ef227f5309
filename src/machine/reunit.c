/* Every length of a machine file in another unit, each text where it stands. */
#include "machine/file.h"

#include <math.h>
#include <stdlib.h>

#include "base/buffer.h"
#include "quantity/quantity.h"
#include "text/escape.h"

/* One text to be written anew. */
struct reunit_text {
    struct span span;
    const char *text;
};

struct reunit {
    struct arena *arena;
    unit_id unit;
    struct dimension dimension; /* of the value at hand: a length, also one a turn */
    double step;                /* of the unit: the finest that is kept */
    VECTOR(struct reunit_text) texts;
    const struct tree_node *wrong; /* the first that cannot be said so */
};

/* A tenth of a micrometre, or the decimal of the unit that is finer. */
static double step_of(unit_id unit)
{
    double steps = unit_to_si(unit, DIMENSION_LENGTH, 1) / 1e-7, decimal = 1;
    while (decimal < steps * (1 - 1e-9))
        decimal *= 10;
    return 1 / decimal;
}

/* To a whole number of steps; a tolerance not to fewer. */
static double rounded(const struct reunit *task, double si, bool up)
{
    double steps = unit_from_si(task->unit, task->dimension, si) * round(1 / task->step);
    double whole = up ? ceil(steps - 1e-6) : round(steps);
    return unit_to_si(task->unit, task->dimension, whole / round(1 / task->step));
}

static void add_text(struct reunit *task, const struct tree_node *node)
{
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (quantity_read(node->text, task->dimension, &quantity, &trouble) != QUANTITY_OK ||
        (node->style != STYLE_PLAIN && node->style != STYLE_QUOTED)) {
        task->wrong = task->wrong ? task->wrong : node;
        return;
    }
    if (quantity.unit == task->unit)
        return;
    const struct reunit_text text = {
        node->span, quantity_text_with(task->arena, rounded(task, quantity.si, false),
                                       rounded(task, quantity.tolerance, true), task->dimension,
                                       task->unit)};
    VECTOR_ADD(task->arena, &task->texts, text);
}

/* All texts of a value: one, those of a list, or those that it was read from. */
static void add_value(struct reunit *task, const struct tree_node *value)
{
    const struct tree_node *node = tree_resolve(value);
    if (node->kind == TREE_TEXT) {
        add_text(task, node);
        return;
    }
    for (const struct tree_node *child = node->first; child; child = child->next)
        if (node->kind == TREE_LIST || view_is(child->key, "readings") ||
            view_is(child->key, "instrument_error"))
            add_value(task, child);
}

static int compare(const void *a, const void *b)
{
    const struct reunit_text *x = a, *y = b;
    return (x->span.start > y->span.start) - (x->span.start < y->span.start);
}

static struct view written(struct reunit *task, struct view bytes)
{
    struct buffer out;
    size_t from = 0;
    buffer_init(&out, task->arena);
    if (task->texts.count)
        qsort(task->texts.items, task->texts.count, sizeof *task->texts.items, compare);
    for (size_t i = 0; i < task->texts.count; i++) {
        const struct reunit_text *text = &task->texts.items[i];
        if (text->span.start < from)
            continue; /* an alias stands for it a second time */
        buffer_add(&out, (struct view){bytes.data + from, text->span.start - from});
        buffer_text(&out, text->text);
        from = text->span.end;
    }
    buffer_add(&out, view_skip(bytes, from));
    return buffer_view(&out);
}

const char *machine_file_in_unit(struct arena *arena, const struct machine_file *file,
                                 unit_id unit, struct view *bytes)
{
    struct reunit task = {.arena = arena, .unit = unit, .step = step_of(unit)};
    const struct machine *machine = &file->machine;
    if (file->source.next)
        return "it takes in other files, which have units of their own";
    if (file->tree.status != TREE_WHOLE)
        return "it cannot be read as a whole";
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < machine->groups[field_table[id].group].count; i++) {
            const struct field_value *value = machine_field(machine, (enum field_id)id, i);
            task.dimension = field_table[id].dimension;
            if (value->node && unit_fits(unit, task.dimension) &&
                machine_is_written(machine, (enum field_id)id, i))
                add_value(&task, value->node);
        }
    if (task.wrong)
        return arena_format(arena, "%s is no length with its unit",
                            escape_short(arena, task.wrong->text, 30));
    *bytes = written(&task, file->bytes);
    return NULL;
}
