/* The moves of a cutter change, for whoever stands at the machine and for programs (format
 * proveout-dryrun version 1).
 *
 * As text, a step is a block: what moves first, then the heights, the room, the operator's
 * part, and what is to be seen.  All numbers come from motion; the words are here.
 */
#include "report/internal.h"

#include <math.h>

#include "motion/change.h"
#include "quantity/quantity.h"
#include "report/json_writer.h"
#include "text/escape.h"

enum { FORMAT_VERSION = 1, NAME_SHOWN = 40, INDENT = 4 };

/* A field for want of which not everything is known. */
static const char *missing_path(struct arena *arena, const struct dryrun *dryrun,
                                uint32_t index)
{
    const struct field_use *use = &dryrun->change->missing.items[index];
    return use->record == RECORD_NONE
               ? field_path(arena, use->field)
               : machine_path(arena, dryrun->machine, use->field, use->record, 0);
}

/* What is being written. */
struct table {
    const struct dryrun *dryrun;
    struct layout layout;
    struct arena *arena;
    unit_id length, speed; /* as the file writes them */
    bool homes;
    bool plate, list, hand; /* what measures, where it is no setter */
};

static const struct field_value *field_of(const struct table *table, enum field_id id)
{
    return machine_field(table->dryrun->machine, id, 0);
}

static bool is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

/* A field as the file writes it; NULL where it is not there. */
static const char *field_words(const struct table *table, enum field_id id)
{
    const struct field_value *value = field_of(table, id);
    return is_known(value) ? field_value_text(table->arena, id, value) : NULL;
}

/* What is done once, before the first change, is step 0. */
static uint32_t step_number(const struct change *change, const struct move *move)
{
    bool once = change->moves[0].kind == MOVE_REFERENCE;
    return (uint32_t)(move - change->moves) + (once ? 0 : 1);
}

/* Does the file write this word? */
static bool field_is(const struct table *table, enum field_id id, const char *word)
{
    const char *words = field_words(table, id);
    return words && strcmp(words, word) == 0;
}

/* "cutter 3" */
static const char *cutter_name(const struct table *table, uint32_t record)
{
    return machine_record_name(table->arena, table->dryrun->machine, GROUP_CUTTER, record);
}

/* A line below a step; nothing for an empty text. */
static void add_line(const struct table *table, const char *label, const char *text)
{
    struct wrap wrap = {table->layout.width, INDENT, INDENT + 2};
    if (text && *text)
        wrap_format(table->layout.out, &wrap, "%s%s", label, text);
}

/* How the spindle is kept from starting, as a clause; NULL where nothing does. */
static const char *hold_text(const struct table *table)
{
    if (field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "isolated"))
        return "its supply is switched off and locked";
    if (field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked"))
        return "the interlock has taken its drive away";
    if (field_is(table, FIELD_CHANGE_SPINDLE_HELD_OFF, "unplugged"))
        return "its plug is pulled";
    return NULL;
}

static const char *length_text(const struct table *table, double metres)
{
    return quantity_text(table->arena, spread_settled(metres), DIMENSION_LENGTH, table->length);
}

static const char *time_text(const struct table *table, double seconds)
{
    if (seconds < 60)
        return arena_format(table->arena, "%s s", number_rounded(table->arena, seconds, 1));
    return arena_format(table->arena, "%s min %s s",
                        number_rounded(table->arena, floor(seconds / 60), 0),
                        number_rounded(table->arena, fmod(seconds, 60), 0));
}

/* The speed along the way of two axes is no round number. */
static const char *speed_text(const struct table *table, double speed)
{
    double number = unit_from_si(table->speed, DIMENSION_SPEED, speed);
    return arena_format(table->arena, "%s %s", number_plain(table->arena, number, 4),
                        unit_text(table->speed));
}

/* --- the head --- */

static const char *reason_text(const struct table *table, uint32_t record,
                               enum pair_reason reason)
{
    const char *why = pair_reason_text(reason);
    return arena_format(table->arena, "%s%s%s", cutter_name(table, record), *why ? ", " : "",
                        why);
}

/* Why this pair and no other. */
static void add_choice(const struct table *table, struct wrap *wrap)
{
    const struct cutter_pair *pair = table->dryrun->pair;
    const struct change *change = table->dryrun->change;
    bool chosen = pair->from_reason != PAIR_GIVEN && pair->to_reason != PAIR_GIVEN;
    const struct move *least = change_least_room(change);
    if (chosen && pair->to_reason != PAIR_ONLY && least) {
        double room = spread_settled(least->clearance.value.low);
        wrap_format(
            table->layout.out, wrap,
            "As far as is known no other change of the list comes nearer to anything: %s "
            "%s at step %u. Name another with --from and --to.",
            room < 0 ? "something runs into something else by" : "the least room is",
            length_text(table, fabs(room)), step_number(change, least));
    } else if (chosen && pair->to_reason != PAIR_ONLY) {
        wrap_add(
            table->layout.out, wrap,
            view_of("The room on its moves is not known, so the list decides. Name another "
                    "change with --from and --to."));
    }
}

static void add_pair(const struct table *table)
{
    const struct cutter_pair *pair = table->dryrun->pair;
    const struct change_request *request = &table->dryrun->change->request;
    struct wrap wrap = {table->layout.width, 0, 0};
    wrap_format(table->layout.out, &wrap, "Out goes %s; in comes %s.",
                reason_text(table, pair->from, pair->from_reason),
                reason_text(table, pair->to, pair->to_reason));
    add_choice(table, &wrap);
    if (!request->start_known)
        wrap_add(table->layout.out, &wrap,
                 view_of("The change may begin anywhere in the work area: moves from and to "
                         "there have the longest time and the least room of all places. "
                         "Name one with --at X,Y,Z."));
}

/* What goes wrong by the way in which this machine measures. */
static const char *measuring_caution(const struct table *table)
{
    if (table->plate)
        return "- The plate and its clip come off before the spindle starts, every time.";
    if (table->list)
        return "- Nothing measures the cutters. One that sticks out further than the controller's "
               "table says goes that much deeper, at full speed: measure the new one before the "
               "spindle goes down with it.";
    if (table->hand)
        return "- The block and your fingers are away from under the tip before the spindle gets "
               "its supply back, every time.";
    return "";
}

static void add_cautions(const struct table *table)
{
    struct buffer *out = table->layout.out;
    struct wrap wrap = {table->layout.width, 2, 4};
    size_t errors = table->dryrun->errors;
    buffer_text(out, "\nBefore the first run:\n");
    if (errors)
        wrap_format(
            out, &wrap,
            "- `proveout check` finds %zu error%s in this file: see to %s before anything "
            "moves.",
            errors, errors == 1 ? "" : "s", errors == 1 ? "it" : "them");
    if (table->dryrun->change->endangers)
        wrap_add(
            out, &wrap,
            view_of(
                "- Steps marked DANGER lead hands to a spindle that can turn, or sink: do not "
                "run the change before that is mended."));
    if (table->dryrun->change->beside_chuck)
        wrap_add(
            out, &wrap,
            view_of("- Steps marked DANGER lead hands past a chuck that can turn: do not run "
                    "the change before that is mended."));
    if (table->dryrun->change->starts_still)
        wrap_add(
            out, &wrap,
            view_of("- A step marked DANGER starts the spindle with something in it that must "
                    "never turn: do not run the change before that is mended."));
    wrap_add(
        out, &wrap,
        view_of("- These are numbers on paper. Run the change first in air: no work on the "
                "table, the feed turned down, the spindle kept off even where a step says "
                "that it runs."));
    wrap_add(
        out, &wrap,
        view_of("- A hand on the stop. After each step compare the read-out with the numbers "
                "here, and go on only where they agree."));
    if (hold_text(table))
        wrap_format(
            out, &wrap,
            "- Hands go to the collet only while the spindle stands and %s. Look and listen: "
            "flickering lamps make a turning cutter look still. The edges are sharp, and "
            "hot after work.",
            hold_text(table));
    else
        wrap_add(
            out, &wrap,
            view_of(
                "- Nothing is said to keep the spindle from starting while hands are at "
                "the collet: look and listen until it stands, since flickering lamps make a "
                "turning cutter look still, and isolate it yourself before you touch it. The "
                "edges are sharp, and hot after work."));
    if (*measuring_caution(table))
        wrap_add(out, &wrap, view_of(measuring_caution(table)));
    wrap_format(out, &wrap,
                "- Positions are those of the nose of the spindle, %s. The tip is lower by the "
                "stick-out of the cutter.",
                table->homes ? "as the controller reads them after homing"
                             : "which this machine does not know, since it does not home");
}

/* --- what the operator does and sees --- */

/* " so that it sticks out 42 mm", as far as the list tells. */
static const char *length_in(const struct table *table, uint32_t cutter)
{
    const struct machine *machine = table->dryrun->machine;
    const struct field_value *listed = machine_field(machine, FIELD_CUTTER_STICKOUT, cutter);
    if (!is_known(listed))
        return "";
    return arena_format(table->arena, " so that it sticks out %s%s",
                        quantity_text(table->arena, listed->si, DIMENSION_LENGTH, listed->unit),
                        table->list ? " (measure it: nothing else does)" : "");
}

/* " to 18000 rpm", as far as the list tells. */
static const char *speed_in(const struct table *table, uint32_t cutter)
{
    const struct field_value *speed =
        machine_field(table->dryrun->machine, FIELD_CUTTER_SPEED, cutter);
    if (!is_known(speed))
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
    return field_is(table, FIELD_PLATE_CONTINUITY_TEST, "yes")
               ? "touch the plate to the side of the cutter, sharp and maybe hot, and see the input "
                 "change; then push it under the tip from the side, fingers never below the tip"
               : "hold the plate to the side of the cutter, sharp and maybe hot, and see that the "
                 "input changes, though the procedure does not ask for it; then push it under the "
                 "tip from the side, fingers never below the tip";
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
    case MOVE_REFERENCE:
        return "once, before the first change after switching on: have the cutter measured that is "
               "in, in the way the change does it, hands away while the machine moves";
    case MOVE_SPINDLE_STOP:
        return stop_text(table, move);
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
        return plate_on(table);
    case MOVE_JOG:
        jog = field_words(table, FIELD_PLATE_JOG_WITHIN);
        return arena_format(table->arena, "jog the tip over the middle of the plate%s%s",
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
        return hold_off(table, move);
    case MOVE_SETTER_CLEAN:
        return "brush the face of the setter clean";
    case MOVE_CUTTER:
        return arena_format(
            table->arena,
            "take %s out, put %s in%s, drawn back a little from the bottom, tighten it, take the "
            "spanner off; cutters are sharp, and hot after work",
            cutter_name(table, table->dryrun->change->request.from),
            cutter_name(table, move->cutter), length_in(table, move->cutter));
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

/* Is the spindle started again?  Not for what never turns. */
static bool starts(const struct table *table)
{
    const struct change *change = table->dryrun->change;
    for (uint32_t i = 0; i < change->count; i++)
        if (change->moves[i].kind == MOVE_SPINDLE_START)
            return true;
    return false;
}

/* Nobody but a person sees where the setter is unless the change waits for a switch. */
static const char *lift_text(const struct table *table, enum field_id seen, enum field_id input,
                             const char *way)
{
    const struct machine *machine = table->dryrun->machine;
    const struct field_value *waits = machine_field(machine, seen, 0);
    bool is_seen = waits->state == VALUE_GIVEN && waits->flag &&
                   machine_field(machine, input, 0)->state == VALUE_GIVEN;
    return arena_format(table->arena,
                        is_seen
                            ? "the setter is all the way %s, and its input has changed; hands "
                              "are clear of it while it moves"
                            : "the setter is all the way %s: nothing but you sees that; hands "
                              "are clear of it while it moves",
                        way);
}

/* The length of a cutter is nowhere then, only how high its tip stands. */
static const char *zero_text(const struct table *table, const struct move *move)
{
    return arena_format(table->arena,
                        "the controller shows how high the tip of %s stands over the face that "
                        "zero is set from%s",
                        cutter_name(table, move->cutter),
                        table->plate ? ", not over the top of the plate" : "");
}

/* What shows that a step goes right. */
static const char *sights(const struct table *table, const struct move *move)
{
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
    case MOVE_STANDSTILL:
        return starts(table)
                   ? "the spindle stands still; it must not turn again before step `spindle starts`"
                   : "the spindle stands still; it must not turn again in this change";
    case MOVE_TO_SETTER:
        return "the tip comes to stand over the middle of the setter";
    case MOVE_SETTER_UP:
        return lift_text(table, FIELD_SETTER_SEEN_UP, FIELD_SETTER_UP_INPUT, "up");
    case MOVE_SETTER_DOWN:
        return lift_text(table, FIELD_SETTER_SEEN_DOWN, FIELD_SETTER_DOWN_INPUT, "down");
    case MOVE_APPROACH:
        return "the tip stops above the setter, without touching it";
    case MOVE_PROBE:
    case MOVE_SECOND_TOUCH:
        return table->plate ? "the nose stops and lifts as soon as the tip meets the plate; "
                              "where it presses on, press the stop"
               : machine_field(table->dryrun->machine, FIELD_SETTER_END_INPUT, 0)->state ==
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
        return table->plate ? "there is light between tip and plate"
                            : "the setter is free again, its input has gone back";
    case MOVE_CUTTER:
        return move->endangers ? ""
                               : "the spindle stands still and is kept from starting the whole "
                                 "time";
    case MOVE_SUPPLY_ON:
        return field_is(table, FIELD_CHANGE_CUTS_POWER_TO, "machine")
                   ? "the spindle stays still as the supply comes back; the machine homes again "
                     "before it moves anywhere else"
                   : "the spindle stays still as its supply comes back";
    case MOVE_SPINDLE_START:
        return table->plate  ? "plate, clip and spanner are gone before it turns"
               : table->hand ? "block, hands and spanner are gone before it turns"
                             : "hands and spanner are gone before it turns";
    case MOVE_OFFSET:
        if (field_is(table, FIELD_CHANGE_SETS, "work_zero"))
            return zero_text(table, move);
        return arena_format(table->arena, "the controller shows the length of %s%s",
                            cutter_name(table, move->cutter),
                            table->list ? ", as its table has it" : "");
    case MOVE_DOWN:
        return arena_format(
            table->arena, "the tip comes down to where it was before the change, no lower%s",
            table->list ? ", if the cutter sticks out as the table has it" : "");
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
    if (move->starts_still)
        add_line(table, "DANGER: ",
                 arena_format(table->arena,
                              "%s must never turn: keep the spindle isolated while it is in",
                              cutter_name(table, move->cutter)));
    if (move->beside_chuck)
        add_line(
            table, "DANGER: ",
            "nothing keeps the chuck of the rotary axis from turning here: switch its motor "
            "off yourself, sleeves and gloves out of reach of the jaws");
    if (!move->endangers)
        return;
    if (move->sinks)
        add_line(table, "DANGER: ",
                 "without power Z can sink onto your hands: put a block under the spindle "
                 "first, hands beside it, never under the tip");
    if (move->sinks && move->spindle == SPINDLE_HELD_OFF)
        return;
    add_line(table, "DANGER: ",
             move->spindle == SPINDLE_RUNS ? "the spindle turns here: keep your hands away"
             : move->spindle == SPINDLE_STOPS
                 ? "the spindle may still turn here, nobody has seen it stand: keep your hands "
                   "away"
                 : "nothing holds the spindle off here, it can start: keep your hands away "
                   "until you have isolated or unplugged it yourself");
}

/* Moved by the operator's keys, however far that is. */
static bool is_jogged(const struct move *move)
{
    return move->kind == MOVE_JOG || move->kind == MOVE_TO_FACE || move->kind == MOVE_TOUCH_OFF;
}

/* What the operator does, what he is asked, and what he sees when it is right. */
static void add_operator(const struct table *table, const struct move *move)
{
    if (move->powerless)
        add_line(table, "",
                 "the power of the machine is off here: it cannot move before supply on");
    bool jogs = is_jogged(move), guard = move->kind == MOVE_HOLD_OFF;
    add_danger(table, move);
    add_line(table, "you: ", hands(table, move));
    if (move->asked)
        add_line(table, "the change waits for you to confirm: ", asked_text(table, move));
    else if (move->kind == MOVE_REFERENCE &&
             field_is(table, FIELD_CHANGE_REFUSES_UNREFERENCED, "yes"))
        add_line(table, "", "the change refuses to run before this is done");
    else if (move->by_hand && !jogs && !guard)
        add_line(table, "", "nobody asks for this: it must be done by then");
    add_line(table, "see: ", sights(table, move));
}

/* "spindle stands, kept from starting" */
static const char *spindle_text(const struct move *move)
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

/* --- one step --- */

static const char *end_text(const struct table *table, const struct move_place *place, int axis)
{
    return place->known[axis] ? length_text(table, place->at[axis]) : NULL;
}

/* By how much an axis moves where its places are not known. */
static const char *by_text(const struct table *table, const struct move *move)
{
    switch (move->kind) {
    case MOVE_LIFT:
        return table->homes ? NULL : field_words(table, FIELD_CHANGE_LIFT);
    case MOVE_RETRACT:
        return field_words(table, FIELD_CHANGE_RETRACT);
    case MOVE_PROBE:
        return field_words(table, FIELD_CHANGE_PROBE_STROKE);
    case MOVE_SECOND_TOUCH:
        return field_words(table, FIELD_CHANGE_SECOND_STROKE);
    default:
        return NULL;
    }
}

static bool goes_down(const struct move *move)
{
    return move->kind == MOVE_PROBE || move->kind == MOVE_SECOND_TOUCH ||
           move->kind == MOVE_APPROACH || move->kind == MOVE_DOWN;
}

/* Where a move sideways starts from: where the operator has jogged to, or the work. */
static const char *start_text(const struct table *table, const struct move *move)
{
    const struct move *before = move, *first = table->dryrun->change->moves;
    while (before > first && !before[-1].moves[0])
        before--;
    if (before > first && before[-1].kind == MOVE_JOG)
        return "where the plate is";
    if (before > first && before[-1].kind == MOVE_TO_FACE)
        return "where the face is";
    return "anywhere in the work area";
}

static bool is_beside_plate(const struct move *move)
{
    return move->kind >= MOVE_SIDE_OUT && move->kind <= MOVE_SIDE_OVER;
}

static const char *side_text(const struct table *table, const struct move *move, int axis)
{
    bool at_most = move->timed == TIME_AT_MOST;
    if (move->by == 0)
        return arena_format(table->arena, "%c by a length that is not known", "xyz"[axis]);
    return arena_format(table->arena, "%c %s by %s%s", "xyz"[axis],
                        axis == 2 ? (move->by < 0 ? "down" : "up")
                                  : (move->by < 0 ? "towards low" : "towards high"),
                        at_most ? "at most " : "", length_text(table, fabs(move->by)));
}

static const char *axis_text(const struct table *table, const struct move *move, int axis)
{
    if (is_beside_plate(move))
        return side_text(table, move, axis);
    const char *from = end_text(table, &move->from, axis);
    const char *to = end_text(table, &move->to, axis);
    const char *by = axis == 2 ? by_text(table, move) : NULL;
    char name = "xyz"[axis];
    if (from && to && move->from.at[axis] == move->to.at[axis])
        return arena_format(table->arena, "%c stays at %s", name, to);
    if (from && to && move->kind == MOVE_RETRACT && by)
        return arena_format(table->arena, "z up by %s from contact, expected %s -> %s", by,
                            from, to);
    if (from && to)
        return arena_format(table->arena, "%c %s -> %s", name, from, to);
    if (by)
        return arena_format(table->arena, "%c %s %s%s", name,
                            goes_down(move) ? "down at most" : "up by", by,
                            from ? arena_format(table->arena, " from %s", from) : "");
    bool down = goes_down(move);
    if (axis == 2 && move->kind == MOVE_DOWN)
        return arena_format(table->arena, "z %s -> where it began", from ? from : "down");
    if (axis == 2)
        return arena_format(table->arena, "z %s to %s",
                            from   ? from
                            : down ? "down"
                                   : "from any height",
                            to ? to : "a height not known beforehand");
    return arena_format(table->arena, "%c %s -> %s", name,
                        from ? from : start_text(table, move),
                        to                        ? to
                        : move->kind == MOVE_BACK ? "where it began"
                                                  : "not known");
}

static void add_way(const struct table *table, const struct move *move)
{
    struct buffer text;
    buffer_init(&text, table->arena);
    bool jogs = is_jogged(move);
    for (int axis = 0; axis < 3 && !jogs; axis++)
        if (move->moves[axis])
            buffer_format(&text, "%s%s", text.size ? ", " : "", axis_text(table, move, axis));
    bool still = move->timed == TIME_KNOWN && move->seconds <= 0;
    if (move->speed > 0 && !still)
        buffer_format(&text, "; at %s", speed_text(table, move->speed));
    if (move->timed != TIME_UNKNOWN && move->seconds > 0)
        buffer_format(&text, "%s%s%s", text.size ? "; " : "waits ",
                      move->timed == TIME_AT_MOST ? "at most " : "",
                      time_text(table, move->seconds));
    else if (!move->by_hand && move->timed == TIME_UNKNOWN)
        buffer_format(&text, "%stime not known", text.size ? "; " : "");
    add_line(table, "", buffer_string(&text));
}

/* Where nose and tip are after a move along Z, and all the way on one sideways. */
static void add_heights(const struct table *table, const struct move *move)
{
    struct spread stickout;
    bool moves = move->moves[0] || move->moves[1] || move->moves[2];
    if (!moves || !move->to.known[2] || is_jogged(move))
        return;
    double nose = move->to.at[2];
    if (!cutter_tip_below(table->dryrun->machine, move->cutter, &stickout)) {
        add_line(
            table, "",
            arena_format(table->arena, "nose at %s, tip not known", length_text(table, nose)));
        return;
    }
    const char *lowest = stickout.high > stickout.nominal
                             ? arena_format(table->arena, ", at the lowest %s",
                                            length_text(table, nose - stickout.high))
                             : "";
    add_line(table, "",
             arena_format(table->arena, "nose at %s, tip at %s%s", length_text(table, nose),
                          length_text(table, nose - stickout.nominal), lowest));
}

static void add_room(const struct table *table, const struct move *move)
{
    if (move->kind == MOVE_DOWN)
        add_line(table,
                 "room: ", "not looked at: where it goes back to is the program's own place");
    if (move->kind == MOVE_SIDE_OUT || move->kind == MOVE_SIDE_OVER)
        add_line(
            table, "room: ",
            "not looked at, nobody knows where the plate lies: clamps and hands out of the way");
    if (!move_wants_room(table->dryrun->change, move))
        return;
    if (!move->has_clearance) {
        add_line(table, "room: ", "not known: see that the way is clear before you let it go");
        return;
    }
    const struct spread room = {spread_settled(move->clearance.value.nominal),
                                spread_settled(move->clearance.value.low), 0};
    struct view to = move_nearest(table->dryrun->machine, move);
    const char *name = to.size ? escape_short(table->arena, to, NAME_SHOWN)
                               : machine_record_name(table->arena, table->dryrun->machine,
                                                     GROUP_OBSTACLE, move->obstacle);
    const char *body =
        escape_short(table->arena, move_body(table->dryrun->machine, move), NAME_SHOWN);
    add_line(table, "room: ",
             arena_format(table->arena, "%s%s between %s and %s%s%s",
                          room.low < 0 ? "NONE, it runs into it: " : "at the least ",
                          length_text(table, room.low), body, name,
                          room.nominal > room.low
                              ? arena_format(table->arena, "; %s as typed",
                                             length_text(table, room.nominal))
                              : "",
                          move->whole ? "" : "; not all that is in the way is known"));
}

static const char *no_contact_text(const struct table *table)
{
    return field_is(table, FIELD_CHANGE_NO_CONTACT, "stops")
               ? "it gives up and stops"
               : "press the stop, it does not stop by itself";
}

static void add_contact(const struct table *table, const struct move *move)
{
    if (move->kind == MOVE_SIDE_PROBE)
        add_line(
            table, "",
            arena_format(table->arena, "no contact on that way: %s", no_contact_text(table)));
    if (move->kind != MOVE_PROBE && move->kind != MOVE_SECOND_TOUCH)
        return;
    if (!move->has_contact) {
        if (!table->plate)
            add_line(table, "contact: ", "at a height that is not known");
        else if (by_text(table, move))
            add_line(table, "",
                     arena_format(table->arena, "no contact within %s: %s",
                                  by_text(table, move), no_contact_text(table)));
        return;
    }
    if (move->kind == MOVE_SECOND_TOUCH) {
        add_line(table, "contact: ", "where the first touch met it");
        return;
    }
    add_line(table, "contact: ",
             arena_format(
                 table->arena, "expected with the nose at %s; it may come from %s down to %s",
                 length_text(table, move->expected), length_text(table, move->earliest),
                 length_text(table, move->latest)));
    if (move->has_end)
        add_line(table, "",
                 arena_format(table->arena, "no contact by %s: %s",
                              length_text(table, move->end), no_contact_text(table)));
}

static void add_step(const struct table *table, uint32_t index)
{
    const struct move *move = &table->dryrun->change->moves[index];
    struct buffer *out = table->layout.out;
    uint32_t number = step_number(table->dryrun->change, move);
    struct wrap wrap = {table->layout.width, number < 10, INDENT};
    wrap_format(out, &wrap, "%u. %s, %s [%s]", number, move_name(move->kind),
                move->kind == MOVE_CUTTER
                    ? arena_format(table->arena, "to %s", cutter_name(table, move->cutter))
                    : cutter_name(table, move->cutter),
                spindle_text(move));
    add_way(table, move);
    add_heights(table, move);
    add_room(table, move);
    add_contact(table, move);
    add_operator(table, move);
}

static void add_total(const struct table *table)
{
    const struct change *change = table->dryrun->change;
    struct buffer *out = table->layout.out;
    struct wrap wrap = {table->layout.width, 0, 0};
    buffer_byte(out, '\n');
    wrap_format(out, &wrap, "In all %s%s for what the machine does%s%s.",
                change->at_most ? "at most " : "", time_text(table, change->seconds),
                change->by_hand ? ", and the time that the steps by hand take" : "",
                change->untimed ? ", without the steps whose time is not known" : "");
    if (!change->missing.count)
        return;
    struct buffer names;
    buffer_init(&names, table->arena);
    for (uint32_t i = 0; i < change->missing.count; i++)
        buffer_format(&names, "%s%s", i ? ", " : "",
                      machine_lasting_path(table->arena, table->dryrun->machine,
                                           missing_path(table->arena, table->dryrun, i)));
    wrap_format(out, &wrap, "Not everything is known, for want of %s.", buffer_string(&names));
}

static unit_id unit_of(const struct table *table, enum field_id id, struct dimension dimension)
{
    const struct field_value *value = field_of(table, id);
    return is_known(value) && value->unit != UNIT_BARE
               ? value->unit
               : machine_unit(table->dryrun->machine, dimension);
}

static void add_text(const struct layout *layout, const struct report *report)
{
    struct table table = {
        .dryrun = report->moves, .layout = *layout, .arena = layout->out->arena};
    table.plate = field_is(&table, FIELD_CHANGE_MEASURES_WITH, "plate");
    table.list = field_is(&table, FIELD_CHANGE_MEASURES_WITH, "list");
    table.hand = field_is(&table, FIELD_CHANGE_MEASURES_WITH, "hand");
    table.homes = !field_is(&table, FIELD_HOMING_ORDER, "none");
    table.length = unit_of(&table, table.homes ? FIELD_CHANGE_TRAVERSE_Z : FIELD_CHANGE_LIFT,
                           DIMENSION_LENGTH);
    table.speed = unit_of(&table, FIELD_AXIS_RAPID, DIMENSION_SPEED);
    struct wrap wrap = {layout->width, 0, 0};
    wrap_format(layout->out, &wrap, "%s: the moves of a cutter change, on paper.",
                layout->path);
    add_pair(&table);
    add_cautions(&table);
    buffer_byte(layout->out, '\n');
    for (uint32_t i = 0; i < report->moves->change->count; i++)
        add_step(&table, i);
    add_total(&table);
}

const struct report_writer moves_text = {.file = add_text};

/* --- for programs; clearances are those of the worst case --- */

static void add_known(struct json *json, const char *key, bool known, double value)
{
    json_key(json, key), json_number(json, known ? value : NAN);
}

static void add_place(struct json *json, const char *key, const struct move_place *place)
{
    static const char *const names[] = {"x", "y", "z"};
    json_key(json, key), json_open(json, '{');
    for (int axis = 0; axis < 3; axis++)
        add_known(json, names[axis], place->known[axis], place->at[axis]);
    json_close(json, '}');
}

static void add_number(struct json *json, const struct machine *machine, uint32_t record)
{
    const struct field_value *number = machine_field(machine, FIELD_CUTTER_NUMBER, record);
    json_number(json, number->state == VALUE_GIVEN ? number->si : NAN);
}

static void add_clearance(struct json *json, const struct dryrun *dryrun,
                          const struct move *move)
{
    json_key(json, "clearance");
    if (!move->has_clearance) {
        json_nothing(json);
        return;
    }
    struct view to = move_nearest(dryrun->machine, move);
    json_open(json, '{');
    json_key(json, "si"), json_number(json, move->clearance.value.low);
    json_key(json, "to");
    if (to.size)
        json_view(json, to);
    else
        json_text(json, machine_record_name(json->out->arena, dryrun->machine, GROUP_OBSTACLE,
                                            move->obstacle));
    json_key(json, "body"), json_view(json, move_body(dryrun->machine, move));
    json_key(json, "whole"), json_bool(json, move->whole);
    json_close(json, '}');
}

static void add_json_contact(struct json *json, const struct move *move)
{
    json_key(json, "contact");
    if (move->kind != MOVE_PROBE && move->kind != MOVE_SECOND_TOUCH) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    add_known(json, "earliest", move->has_contact, move->earliest);
    add_known(json, "expected", move->has_contact, move->expected);
    add_known(json, "latest", move->has_contact, move->latest);
    json_close(json, '}');
}

static void add_move(struct json *json, const struct dryrun *dryrun, const struct move *move)
{
    char axes[4];
    move_axes(move, axes);
    json_line(json, 2);
    json_open(json, '{');
    json_key(json, "what"), json_text(json, move_name(move->kind));
    json_key(json, "axes"), json_text(json, axes);
    add_place(json, "from", &move->from);
    add_place(json, "to", &move->to);
    add_known(json, "by", move->by != 0, move->by);
    add_known(json, "speed", move->speed > 0, move->speed);
    add_known(json, "seconds", move->timed != TIME_UNKNOWN, move->seconds);
    json_key(json, "at_most"), json_bool(json, move->timed == TIME_AT_MOST);
    json_key(json, "cutter"), add_number(json, dryrun->machine, move->cutter);
    json_key(json, "spindle"), json_text(json, spindle_act_name(move->spindle));
    json_key(json, "by_hand"), json_bool(json, move->by_hand);
    json_key(json, "asks");
    if (move->asked)
        json_view(json, ask_word(move->ask));
    else
        json_nothing(json);
    json_key(json, "endangers_hands"), json_bool(json, move->endangers);
    json_key(json, "starts_what_never_turns"), json_bool(json, move->starts_still);
    json_key(json, "beside_turning_chuck"), json_bool(json, move->beside_chuck);
    add_clearance(json, dryrun, move);
    add_json_contact(json, move);
    json_close(json, '}');
}

static void add_json(const struct layout *layout, const struct report *report)
{
    const struct dryrun *dryrun = report->moves;
    struct buffer *out = layout->out;
    const struct change *change = dryrun->change;
    struct json json = {.out = out};
    json_open(&json, '{');
    json_key(&json, "format"), json_text(&json, "proveout-dryrun");
    json_key(&json, "version"), json_count(&json, FORMAT_VERSION);
    json_key(&json, "path"), json_text(&json, layout->path);
    json_key(&json, "errors"), json_count(&json, dryrun->errors);
    json_key(&json, "from"), add_number(&json, dryrun->machine, change->request.from);
    json_key(&json, "to"), add_number(&json, dryrun->machine, change->request.to);
    json_key(&json, "seconds"), json_number(&json, change->seconds);
    json_key(&json, "at_most"), json_bool(&json, change->at_most);
    json_key(&json, "untimed"), json_count(&json, change->untimed);
    json_key(&json, "missing"), json_open(&json, '[');
    for (uint32_t i = 0; i < change->missing.count; i++)
        json_text(&json, missing_path(out->arena, dryrun, i));
    json_close(&json, ']');
    json_key(&json, "moves"), json_open(&json, '[');
    for (uint32_t i = 0; i < change->count; i++)
        add_move(&json, dryrun, &change->moves[i]);
    json_close(&json, ']');
    json_close(&json, '}');
    buffer_byte(out, '\n');
}

const struct report_writer moves_json = {.file = add_json};
