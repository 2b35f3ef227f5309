/* What further readings would be worth. */
#include "rules/worth.h"

#include <math.h>

#include "quantity/quantity.h"
#include "quantity/scatter.h"
#include "rules/moved.h"

static double half_width(const struct readings *readings, uint32_t count)
{
    return scatter_factor(count) * readings->deviation + readings->instrument_error;
}

static void check(struct arena *arena, struct checker *checker, const struct machine *machine,
                  struct file_report *out)
{
    struct finding_sink unheard; /* what the reader found is the affair of `check` */
    sink_init(&unheard, arena, machine->tree->source);
    checker_check_machine(checker, arena, machine, &unheard, out);
}

/* Of the margins that grew, the one that was the least. */
static void find_tightest(const struct moved *moved, struct dimension dimension,
                          struct worth *out)
{
    static const enum moved_kind grown[] = {MOVED_MENDED, MOVED_BETTER};
    for (size_t k = 0; k < sizeof grown / sizeof *grown; k++)
        for (size_t i = 0; i < moved->kinds[grown[k]].count; i++) {
            const struct move_of_margin *move = &moved->kinds[grown[k]].items[i];
            const struct finding *before = move->before;
            if (!before || !before->has_margin || !(move->change > 0) ||
                !dimension_equal(before->dimension, dimension) ||
                (out->tightest && out->tightest->margin <= before->margin))
                continue;
            out->tightest = before;
            out->gain = move->change;
        }
}

const char *worth_text(struct arena *arena, const struct worth *worth, unit_id unit)
{
    struct dimension dimension = field_table[worth->readings->field].dimension;
    const struct finding *tightest = worth->tightest;
    if (!tightest)
        return arena_format(arena, "no margin would grow by %u readings",
                            (unsigned)worth->count);
    return arena_format(
        arena, "%u readings would bring %s to the margin of %s%s%s%s, now %s",
        (unsigned)worth->count, quantity_text(arena, worth->gain, dimension, unit),
        tightest->rule, tightest->subject ? " (" : "",
        tightest->subject ? tightest->subject : "", tightest->subject ? ")" : "",
        quantity_text(arena, tightest->margin, dimension, unit));
}

bool worth_pays(const struct worth *worth)
{
    return worth->tightest && worth->gain >= fabs(worth->tightest->margin) / 10;
}

bool worth_find(struct arena *arena, const struct check_options *options,
                const struct machine *machine, const struct field_place *place,
                struct worth *out)
{
    static const uint32_t counts[WORTH_COUNTS] = {3, 5, 10};
    const struct field *field = &field_table[place->field];
    const struct readings *readings = machine_readings(
        machine, place->field, machine_field(machine, place->field, place->record));
    if (!readings || readings->count < 2)
        return false;
    *out = (struct worth){.readings = readings};
    for (size_t i = 0; i < WORTH_COUNTS; i++)
        out->after[i] = (struct worth_after){counts[i], half_width(readings, counts[i])};
    bool many = readings->count >= counts[WORTH_COUNTS - 1];
    out->count = many ? 2 * readings->count : counts[WORTH_COUNTS - 1];

    struct check_options plain = *options;
    plain.show = SHOW_ALL;
    plain.words = plain.brief = plain.remedies = false;
    struct checker *checker = checker_new(arena, &plain);
    struct file_report before, after;
    check(arena, checker, machine, &before);
    struct machine better = *machine;
    machine_own_values(&better, arena, &field->group, 1);
    struct field_value *value = machine_field_put(&better, place->field, place->record);
    double *put = field->nature == NATURE_SCATTER ? &value->si : &value->tolerance;
    *put = half_width(readings, out->count);
    check(arena, checker, &better, &after);
    struct moved moved;
    reports_compare(arena, &before, &after, &moved);
    find_tightest(&moved, field->dimension, out);
    return true;
}
