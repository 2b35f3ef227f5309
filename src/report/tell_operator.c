/* What the operator does and sees. */
#include "report/tell_internal.h"

/* " so that it sticks out 42 mm", as far as the list tells. */
static const char *length_in(const struct teller *teller, uint32_t cutter)
{
    const struct machine *machine = teller->dryrun->machine;
    const struct field_value *listed = machine_field(machine, FIELD_CUTTER_STICKOUT, cutter);
    if (!tell_knows(listed))
        return "";
    return arena_format(
        teller->arena, " so that it sticks out %s%s",
        quantity_text(teller->arena, listed->si, DIMENSION_LENGTH, listed->unit),
        teller->list ? " (measure it: nothing else does)" : "");
}

/* " to 18000 rpm", as far as the list tells. */
static const char *speed_in(const struct teller *teller, uint32_t cutter)
{
    const struct field_value *speed =
        machine_field(teller->dryrun->machine, FIELD_CUTTER_SPEED, cutter);
    if (!tell_knows(speed))
        return " to what this cutter is permitted";
    return arena_format(
        teller->arena, " to %s",
        quantity_text(teller->arena, speed->si, DIMENSION_ROTATION, speed->unit));
}

static const char *hold_off(const struct teller *teller, const struct move *move)
{
    const char *does = "open the guard, so that the interlock takes the drive's power away";
    if (move->asked && move->ask == ASK_ISOLATED)
        does = "switch the supply of the spindle off and lock it";
    if (move->asked && move->ask == ASK_UNPLUGGED)
        does = "pull the plug of the spindle, and keep it in sight";
    return arena_format(teller->arena,
                        "%s; hands away, try to start it: it must stay still; then put the "
                        "switch back to off",
                        does);
}

static const char *plate_on(const struct teller *teller)
{
    return tell_says(teller, FIELD_PLATE_CONTINUITY_TEST, "yes")
               ? "touch the plate to the side of the cutter, sharp and maybe hot, and see the input "
                 "change; then push it under the tip from the side, fingers never below the tip"
               : "hold the plate to the side of the cutter, sharp and maybe hot, and see that the "
                 "input changes, though the procedure does not ask for it; then push it under the "
                 "tip from the side, fingers never below the tip";
}

static const char *stop_text(const struct teller *teller, const struct move *move)
{
    if (!move->by_hand)
        return move->asked ? "see that it was stopped, and say so" : "";
    return move->timed == TIME_KNOWN
               ? arena_format(teller->arena, "switch the spindle off; the wait begins when you "
                                             "have said so")
               : "switch the spindle off";
}

/* What the operator does, where the step is his. */
static const char *hands(const struct teller *teller, const struct move *move)
{
    const char *jog;
    switch (move->kind) {
    case MOVE_REFERENCE:
        return "once, before the first change after switching on: have the cutter measured that is "
               "in, in the way the change does it, hands away while the machine moves";
    case MOVE_SPINDLE_STOP:
        return stop_text(teller, move);
    case MOVE_STANDSTILL:
        return "look and listen until the spindle stands: flickering lamps make a turning cutter "
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
        return plate_on(teller);
    case MOVE_JOG:
        jog = tell_words(teller, FIELD_PLATE_JOG_WITHIN);
        return arena_format(teller->arena, "jog the tip over the middle of the plate%s%s",
                            jog ? ", no higher above it than " : "", jog ? jog : "");
    case MOVE_PLATE_OFF:
        return "take the plate away, and lay it clear of every move";
    case MOVE_CLIP_OFF:
        return "take the clip off the cutter, and lay it and its lead clear of every move";
    case MOVE_TO_FACE:
        return "jog the tip over the face that the height is taken from, and stop higher above it "
               "than the block is thick";
    case MOVE_BLOCK_UNDER:
        return "push the block, or the slip of paper, under the tip from the side, fingers never "
               "below the tip";
    case MOVE_TOUCH_OFF:
        return "jog down in the smallest steps, fingers beside the block and never below the tip, "
               "until it just drags; then have the controller take the height";
    case MOVE_BLOCK_AWAY:
        return "jog up a step, take the block away, and lay it clear of every move";
    case MOVE_HOLD_OFF:
        return hold_off(teller, move);
    case MOVE_SETTER_CLEAN:
        return "brush the face of the setter clean";
    case MOVE_CUTTER:
        return arena_format(
            teller->arena,
            "take %s out, put %s in%s, drawn back a little from the bottom, tighten it, take the "
            "spanner off; cutters are sharp, and hot after work",
            tell_cutter(teller, teller->dryrun->change->request.from),
            tell_cutter(teller, move->cutter), length_in(teller, move->cutter));
    case MOVE_SUPPLY_ON:
        return "hands out, spanner off; see that the switch of the spindle is off; then give it "
               "its supply back";
    case MOVE_SPEED_SET:
        return arena_format(teller->arena, "set the dial%s", speed_in(teller, move->cutter));
    case MOVE_SPINDLE_START:
        return move->by_hand ? "hands away, no gloves near it; switch the spindle on"
                             : "hands away";
    default:
        return "";
    }
}

/* Is the spindle started again?  Not for what never turns. */
static bool starts(const struct teller *teller)
{
    const struct change *change = teller->dryrun->change;
    for (uint32_t i = 0; i < change->count; i++)
        if (change->moves[i].kind == MOVE_SPINDLE_START)
            return true;
    return false;
}

/* Nobody but a person sees where the setter is unless the change waits for a switch. */
static const char *lift_text(const struct teller *teller, enum field_id seen,
                             enum field_id input, const char *way)
{
    const struct machine *machine = teller->dryrun->machine;
    const struct field_value *waits = machine_field(machine, seen, 0);
    bool is_seen = waits->state == VALUE_GIVEN && waits->flag &&
                   machine_field(machine, input, 0)->state == VALUE_GIVEN;
    return arena_format(teller->arena,
                        is_seen
                            ? "the setter is all the way %s, and its input has changed; hands "
                              "are clear of it while it moves"
                            : "the setter is all the way %s: nothing but you sees that; hands "
                              "are clear of it while it moves",
                        way);
}

/* The length of a cutter is nowhere then, only how high its tip stands. */
static const char *zero_text(const struct teller *teller, const struct move *move)
{
    return arena_format(teller->arena,
                        "the controller shows how high the tip of %s stands over the face that "
                        "zero is set from%s",
                        tell_cutter(teller, move->cutter),
                        teller->plate ? ", not over the top of the plate" : "");
}

/* What shows that a step goes right. */
static const char *sights(const struct teller *teller, const struct move *move)
{
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
    case MOVE_STANDSTILL:
        return starts(teller)
                   ? "the spindle stands still; it must not turn again before step `spindle starts`"
                   : "the spindle stands still; it must not turn again in this change";
    case MOVE_TO_SETTER:
        return "the tip comes to stand over the middle of the setter";
    case MOVE_SETTER_UP:
        return lift_text(teller, FIELD_SETTER_SEEN_UP, FIELD_SETTER_UP_INPUT, "up");
    case MOVE_SETTER_DOWN:
        return lift_text(teller, FIELD_SETTER_SEEN_DOWN, FIELD_SETTER_DOWN_INPUT, "down");
    case MOVE_APPROACH:
        return "the tip stops above the setter, without touching it";
    case MOVE_PROBE:
    case MOVE_SECOND_TOUCH:
        return teller->plate ? "the nose stops and lifts as soon as the tip meets the plate; "
                               "where it presses on, press the stop"
               : machine_field(teller->dryrun->machine, FIELD_SETTER_END_INPUT, 0)->state ==
                       VALUE_GIVEN
                   ? "the nose stops and lifts as soon as the setter trips; where it presses on, "
                     "the end switch is to stop it: press the stop all the same"
                   : "the nose stops and lifts as soon as the setter trips; where it presses on, "
                     "press the stop";
    case MOVE_REFERENCE:
        return "the controller shows the length, or the height, that it will reckon from; without it "
               "every later change is off";
    case MOVE_SIDE_OUT:
        return "the tip comes to stand beside the plate, clear of its edge";
    case MOVE_SIDE_DOWN:
        return "the cutter goes down beside the plate without touching it or what lies below";
    case MOVE_SIDE_PROBE:
        return "the cutter stops as soon as it meets the side of the plate; where it pushes the "
               "plate along, press the stop";
    case MOVE_RETRACT:
        return teller->plate ? "there is light between tip and plate"
                             : "the setter is free again, its input has gone back";
    case MOVE_CUTTER:
        return move->endangers ? ""
                               : "the spindle stands still and is kept from starting the whole "
                                 "time";
    case MOVE_SUPPLY_ON:
        return tell_says(teller, FIELD_CHANGE_CUTS_POWER_TO, "machine")
                   ? "the spindle stays still as the supply comes back; the machine homes again "
                     "before it moves anywhere else"
                   : "the spindle stays still as its supply comes back";
    case MOVE_SPINDLE_START:
        return teller->plate  ? "plate, clip and spanner are gone before it turns"
               : teller->hand ? "block, hands and spanner are gone before it turns"
                              : "hands and spanner are gone before it turns";
    case MOVE_OFFSET:
        if (tell_says(teller, FIELD_CHANGE_SETS, "work_zero"))
            return zero_text(teller, move);
        return arena_format(teller->arena, "the controller shows the length of %s%s",
                            tell_cutter(teller, move->cutter),
                            teller->list ? ", as its table has it" : "");
    case MOVE_DOWN:
        return arena_format(
            teller->arena, "the tip comes down to where it was before the change, no lower%s",
            teller->list ? ", if the cutter sticks out as the table has it" : "");
    default:
        return "";
    }
}

const char *tell_asked(struct arena *arena, enum question_word ask)
{
    struct view word = ask_word(ask);
    char *text = arena_copy(arena, word.data, word.size);
    for (char *c = text; *c; c++)
        if (*c == '_')
            *c = ' ';
    return text;
}

/* A hand at a spindle that may turn is the one thing here that cannot be made good. */
void tell_danger(const struct teller *teller, const struct move *move)
{
    if (move->powerless)
        tell_line(teller, "",
                  "the power of the machine is off here: it cannot move before supply on");
    if (move->starts_still)
        tell_line(teller, "DANGER: ",
                  arena_format(teller->arena,
                               "%s must never turn: keep the spindle isolated while it is in",
                               tell_cutter(teller, move->cutter)));
    if (move->beside_chuck)
        tell_line(
            teller, "DANGER: ",
            "nothing keeps the chuck of the rotary axis from turning here: switch its motor "
            "off yourself, sleeves and gloves out of reach of the jaws");
    if (!move->endangers)
        return;
    if (move->sinks)
        tell_line(teller, "DANGER: ",
                  "without power Z can sink onto your hands: put a block under the spindle "
                  "first, hands beside it, never under the tip");
    if (move->sinks && move->spindle == SPINDLE_HELD_OFF)
        return;
    tell_line(
        teller, "DANGER: ",
        move->spindle == SPINDLE_RUNS ? "the spindle turns here: keep your hands away"
        : move->spindle == SPINDLE_STOPS
            ? "the spindle may still turn here, nobody has seen it stand: keep your hands "
              "away"
            : "nothing holds the spindle off here, it can start: keep your hands away "
              "until you have isolated or unplugged it yourself");
}

/* Moved by the operator's keys, however far that is. */
bool tell_is_jogged(const struct move *move)
{
    return move->kind == MOVE_JOG || move->kind == MOVE_TO_FACE || move->kind == MOVE_TOUCH_OFF;
}

void tell_operator(const struct teller *teller, const struct move *move)
{
    tell_line(teller, "you: ", hands(teller, move));
}

void tell_question(const struct teller *teller, const struct move *move)
{
    if (move->asked)
        tell_line(teller, "the change waits for you to confirm: ",
                  tell_asked(teller->arena, move->ask));
}

void tell_unasked(const struct teller *teller, const struct move *move)
{
    if (move->asked)
        return;
    if (move->kind == MOVE_REFERENCE &&
        tell_says(teller, FIELD_CHANGE_REFUSES_UNREFERENCED, "yes"))
        tell_line(teller, "", "the change refuses to run before this is done");
    else if (move->by_hand && !tell_is_jogged(move) && move->kind != MOVE_HOLD_OFF)
        tell_line(teller, "", "nobody asks for this: it must be done by then");
}

void tell_sight(const struct teller *teller, const struct move *move)
{
    tell_line(teller, "see: ", sights(teller, move));
}
