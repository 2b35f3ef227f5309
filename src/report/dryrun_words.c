/* What the operator does and sees at each step of a change: words only, no numbers but those
 * that the file gives.
 */
#include "quantity/quantity.h"
#include "report/internal_dryrun.h"

const struct field_value *table_field(const struct table *table, enum field_id id)
{
    return machine_field(table->dryrun->machine, id, 0);
}

bool table_is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

const char *table_words(const struct table *table, enum field_id id)
{
    const struct field_value *value = table_field(table, id);
    return table_is_known(value) ? field_value_text(table->arena, id, value) : NULL;
}

bool table_field_is(const struct table *table, enum field_id id, const char *word)
{
    const char *words = table_words(table, id);
    return words && strcmp(words, word) == 0;
}

const char *table_cutter(const struct table *table, uint32_t record)
{
    return machine_record_name(table->arena, table->dryrun->machine, GROUP_CUTTER, record);
}

void table_line(const struct table *table, const char *label, const char *text)
{
    struct wrap wrap = {table->layout.width, DRYRUN_INDENT, DRYRUN_INDENT + 2};
    if (text && *text)
        wrap_format(table->layout.out, &wrap, "%s%s", label, text);
}

const char *table_hold(const struct table *table)
{
    if (table_field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "isolated"))
        return "its supply is switched off and locked";
    if (table_field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked"))
        return "the interlock has taken its drive away";
    if (table_field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "unplugged"))
        return "its plug is pulled";
    return NULL;
}

/* " so that it sticks out 42 mm", as far as the list tells. */
static const char *length_in(const struct table *table, uint32_t cutter)
{
    const struct machine *machine = table->dryrun->machine;
    const struct field_value *listed = machine_field(machine, FIELD_CUTTER_STICKOUT, cutter);
    if (!table_is_known(listed))
        return "";
    return arena_format(
        table->arena, " so that it sticks out %s",
        quantity_text(table->arena, listed->si, DIMENSION_LENGTH, listed->unit));
}

/* What the operator does, where the step is his, and whether he is asked. */
static const char *hands(const struct table *table, const struct move *move)
{
    const char *hold = table_hold(table), *jog;
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
        return "switch the spindle off and wait until it stands";
    case MOVE_PLATE_ON:
        return table_field_is(table, FIELD_PLATE_CONTINUITY_TEST, "yes")
                   ? "with the spindle standing, put the clip on, touch the plate to the cutter "
                     "and see the input change; then lay the plate under the tip"
                   : "with the spindle standing, put the clip on, hold the plate to the cutter "
                     "and see that the input changes, though the procedure does not ask for it; "
                     "then lay the plate under the tip";
    case MOVE_JOG:
        jog = table_words(table, FIELD_PLATE_JOG_WITHIN);
        return arena_format(table->arena, "jog the tip over the middle of the plate%s%s",
                            jog ? ", no higher above it than " : "", jog ? jog : "");
    case MOVE_PLATE_OFF:
        return "take the plate and the clip away, and lay them clear of every move";
    case MOVE_HOLD_OFF:
        return arena_format(
            table->arena, "make sure that %s; hands away, try to start it: it must stay still",
            hold ? hold : "the spindle cannot start");
    case MOVE_CUTTER:
        return arena_format(table->arena,
                            "take %s out, put %s in%s, tighten it, take the spanner off",
                            table_cutter(table, table->dryrun->change->request.from),
                            table_cutter(table, move->cutter), length_in(table, move->cutter));
    case MOVE_SPINDLE_START:
        return "hands away; give the spindle its supply back, set the speed, switch it on";
    default:
        return "";
    }
}

/* What shows that a step goes right. */
static const char *sights(const struct table *table, const struct move *move)
{
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
        return "the spindle stands still; it must not turn again before step `spindle starts`";
    case MOVE_TO_SETTER:
        return "the tip comes to stand over the middle of the setter";
    case MOVE_APPROACH:
        return "the tip stops above the setter, without touching it";
    case MOVE_PROBE:
    case MOVE_SECOND_TOUCH:
        return table->plate ? "the nose stops and lifts as soon as the tip meets the plate; "
                              "where it presses on, press the stop"
                            : "the nose stops and lifts as soon as the setter trips; where it "
                              "presses on, press the stop";
    case MOVE_RETRACT:
        return table->plate ? "there is light between tip and plate"
                            : "the setter is free again, its input has gone back";
    case MOVE_CUTTER:
        return "the spindle stands still and is kept from starting the whole time";
    case MOVE_SPINDLE_START:
        return table->plate ? "plate, clip and spanner are gone before it turns"
                            : "hands and spanner are gone before it turns";
    case MOVE_OFFSET:
        return arena_format(table->arena, "the controller shows the length of %s",
                            table_cutter(table, move->cutter));
    case MOVE_DOWN:
        return "the tip comes down to where it was before the change, no lower";
    default:
        return "";
    }
}

/* "plate on, clip on" */
static const char *asked_text(const struct table *table, uint32_t asks)
{
    struct buffer text;
    buffer_init(&text, table->arena);
    const struct field *field = &field_table[FIELD_CHANGE_ASKS];
    for (size_t i = 0; i < field_choice_count(field); i++) {
        struct view word = field_choice(field, i);
        if (!(asks >> i & 1))
            continue;
        if (text.size)
            buffer_text(&text, ", ");
        for (size_t k = 0; k < word.size; k++)
            buffer_byte(&text, word.data[k] == '_' ? ' ' : word.data[k]);
    }
    return buffer_string(&text);
}

void table_operator(const struct table *table, const struct move *move)
{
    bool jogs = move->kind == MOVE_JOG;
    if (move->by_hand)
        table_line(table, "you: ", hands(table, move));
    else if (move->kind == MOVE_SPINDLE_START && table_hold(table))
        table_line(table, "you: ", "hands away, then give the spindle its supply back");
    if (move->asks)
        table_line(table,
                   "the controller waits for you to confirm: ", asked_text(table, move->asks));
    else if (move->by_hand && !jogs && move->kind != MOVE_HOLD_OFF)
        table_line(table, "",
                   "the controller does not ask about this: it must be done by then");
    table_line(table, "see: ", sights(table, move));
}

const char *table_spindle(const struct move *move)
{
    switch (move->spindle) {
    case SPINDLE_RUNS:
        return "spindle runs";
    case SPINDLE_STOPS:
        return "spindle runs down";
    case SPINDLE_STANDS:
        return "spindle stands";
    case SPINDLE_HELD_OFF:
        return "spindle stands, kept from starting";
    case SPINDLE_STARTS:
        return "spindle starts";
    }
    return "";
}
