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

/* " to 18000 rpm", as far as the list tells. */
static const char *speed_in(const struct table *table, uint32_t cutter)
{
    const struct field_value *speed =
        machine_field(table->dryrun->machine, FIELD_CUTTER_SPEED, cutter);
    if (!table_is_known(speed))
        return " to what this cutter is permitted";
    return arena_format(
        table->arena, " to %s",
        quantity_text(table->arena, speed->si, DIMENSION_ROTATION, speed->unit));
}

static const char *hold_off(const struct table *table, const struct move *move)
{
    const char *does = "open the guard, so that the interlock takes the drive's power away";
    if (move->asked && move->ask == ASK_ISOLATED)
        does = "switch the supply of the spindle off and lock it";
    if (move->asked && move->ask == ASK_UNPLUGGED)
        does = "pull the plug of the spindle, and keep it in sight";
    return arena_format(table->arena,
                        "%s; hands away, try to start it: it must stay still; then put the "
                        "switch back to off",
                        does);
}

static const char *plate_on(const struct table *table)
{
    return table_field_is(table, FIELD_PLATE_CONTINUITY_TEST, "yes")
               ? "touch the plate to the side of the cutter and see the input change; then push "
                 "it under the tip from the side, fingers never below the tip"
               : "hold the plate to the side of the cutter and see that the input changes, though "
                 "the procedure does not ask for it; then push it under the tip from the side, "
                 "fingers never below the tip";
}

static const char *stop_text(const struct table *table, const struct move *move)
{
    if (!move->by_hand)
        return move->asked ? "see that it was stopped, and say so" : "";
    return move->timed == TIME_KNOWN
               ? arena_format(table->arena, "switch the spindle off; the wait begins when you "
                                            "have said so")
               : "switch the spindle off";
}

/* What the operator does, where the step is his. */
static const char *hands(const struct table *table, const struct move *move)
{
    const char *jog;
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
        return stop_text(table, move);
    case MOVE_STANDSTILL:
        return "look and listen until the spindle stands: flickering light makes a turning cutter "
               "look still";
    case MOVE_PROP:
        return "put a block under the spindle, so that it cannot sink: hands beside it, never "
               "under the tip";
    case MOVE_SHOE_OFF:
        return "take the dust shoe off, and lay it clear of every move; the cutter in it is sharp "
               "and may be hot";
    case MOVE_CLIP_ON:
        return "put the clip on from the side, fingers never below the tip; the cutter is sharp "
               "and may be hot";
    case MOVE_PLATE_ON:
        return plate_on(table);
    case MOVE_JOG:
        jog = table_words(table, FIELD_PLATE_JOG_WITHIN);
        return arena_format(table->arena, "jog the tip over the middle of the plate%s%s",
                            jog ? ", no higher above it than " : "", jog ? jog : "");
    case MOVE_PLATE_OFF:
        return "take the plate away, and lay it clear of every move";
    case MOVE_CLIP_OFF:
        return "take the clip off the cutter, and lay it and its lead clear of every move";
    case MOVE_HOLD_OFF:
        return hold_off(table, move);
    case MOVE_SETTER_CLEAN:
        return "brush the face of the setter clean";
    case MOVE_CUTTER:
        return arena_format(
            table->arena,
            "take %s out, put %s in%s, tighten it, take the spanner off; cutters "
            "are sharp, and hot after work",
            table_cutter(table, table->dryrun->change->request.from),
            table_cutter(table, move->cutter), length_in(table, move->cutter));
    case MOVE_SUPPLY_ON:
        return "hands out, spanner off; see that the switch of the spindle is off; then give it "
               "its supply back";
    case MOVE_SPEED_SET:
        return arena_format(table->arena, "set the dial%s", speed_in(table, move->cutter));
    case MOVE_SPINDLE_START:
        return move->by_hand ? "hands away, no gloves near it; switch the spindle on"
                             : "hands away";
    default:
        return "";
    }
}

/* What shows that a step goes right. */
static const char *sights(const struct table *table, const struct move *move)
{
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
    case MOVE_STANDSTILL:
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
        return move->endangers ? ""
                               : "the spindle stands still and is kept from starting the whole "
                                 "time";
    case MOVE_SUPPLY_ON:
        return table_field_is(table, FIELD_CHANGE_CUTS_POWER_TO, "machine")
                   ? "the spindle stays still as the supply comes back; the machine homes again "
                     "before it moves anywhere else"
                   : "the spindle stays still as its supply comes back";
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

/* "plate on" */
static const char *asked_text(const struct table *table, const struct move *move)
{
    struct view word = ask_word(move->ask);
    char *text = arena_copy(table->arena, word.data, word.size);
    for (char *c = text; *c; c++)
        if (*c == '_')
            *c = ' ';
    return text;
}

/* A hand at a spindle that may turn is the one thing here that cannot be made good. */
static void add_danger(const struct table *table, const struct move *move)
{
    if (!move->endangers)
        return;
    if (move->sinks)
        table_line(table, "DANGER: ",
                   "without power Z can sink onto your hands: put a block under the spindle "
                   "first, hands beside it, never under the tip");
    if (move->sinks && move->spindle == SPINDLE_HELD_OFF)
        return;
    table_line(
        table, "DANGER: ",
        move->spindle == SPINDLE_RUNS ? "the spindle turns here: keep your hands away"
        : move->spindle == SPINDLE_STOPS
            ? "the spindle may still turn here, nobody has seen it stand: keep your hands "
              "away"
            : "nothing holds the spindle off here, it can start: keep your hands away "
              "until you have isolated or unplugged it yourself");
}

void table_operator(const struct table *table, const struct move *move)
{
    if (move->powerless)
        table_line(table, "",
                   "the power of the machine is off here: it cannot move before supply on");
    bool jogs = move->kind == MOVE_JOG, guard = move->kind == MOVE_HOLD_OFF;
    add_danger(table, move);
    table_line(table, "you: ", hands(table, move));
    if (move->asked)
        table_line(table, "the change waits for you to confirm: ", asked_text(table, move));
    else if (move->by_hand && !jogs && !guard)
        table_line(table, "", "nobody asks for this: it must be done by then");
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
