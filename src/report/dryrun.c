/* The dry run as a person follows it: a step a block, what moves first, then the heights, the
 * room, the operator's part, and what is to be seen.  All numbers come from motion; the words
 * are here.
 */
#include "report/dryrun.h"

#include <math.h>

#include "quantity/quantity.h"
#include "report/internal.h"
#include "text/escape.h"

enum { INDENT = 4, NAME_SHOWN = 40 };

/* What is being written. */
struct table {
    const struct dryrun *dryrun;
    struct layout layout;
    struct arena *arena;
    unit_id length, speed; /* as the file writes them */
    bool plate, homes;
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

static bool field_is(const struct table *table, enum field_id id, const char *word)
{
    const char *words = field_words(table, id);
    return words && strcmp(words, word) == 0;
}

static const char *length_text(const struct table *table, double metres)
{
    return quantity_text(table->arena, metres, DIMENSION_LENGTH, table->length);
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

static const char *cutter_text(const struct table *table, uint32_t record)
{
    return machine_record_name(table->arena, table->dryrun->machine, GROUP_CUTTER, record);
}

static void add_line(const struct table *table, const char *label, const char *text)
{
    struct wrap wrap = {table->layout.width, INDENT, INDENT + 2};
    if (text && *text)
        wrap_format(table->layout.out, &wrap, "%s%s", label, text);
}

/* --- the head --------------------------------------------------------------------------------
 */

static const char *reason_text(const struct table *table, uint32_t record,
                               enum pair_reason reason)
{
    const char *why = pair_reason_text(reason);
    return arena_format(table->arena, "%s%s%s", cutter_text(table, record), *why ? ", " : "",
                        why);
}

static void add_pair(const struct table *table)
{
    const struct cutter_pair *pair = table->dryrun->pair;
    const struct change_request *request = &table->dryrun->change->request;
    struct wrap wrap = {table->layout.width, 0, 0};
    bool chosen = pair->from_reason != PAIR_GIVEN || pair->to_reason != PAIR_GIVEN;
    wrap_format(table->layout.out, &wrap, "Out goes %s; in comes %s.%s",
                reason_text(table, pair->from, pair->from_reason),
                reason_text(table, pair->to, pair->to_reason),
                chosen ? " No change on the list comes nearer to anything: name another with "
                         "--from and --to."
                       : "");
    if (!request->start_known)
        wrap_add(
            table->layout.out, &wrap,
            view_of("The change may begin anywhere in the work area: moves from and to there "
                    "have the longest time and the least room of all places. Name one with "
                    "--at X,Y,Z."));
}

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
    wrap_add(
        out, &wrap,
        view_of("- These are numbers on paper. Run the change first in air: no work on the "
                "table, the feed turned down, the spindle kept off throughout."));
    wrap_add(
        out, &wrap,
        view_of("- A hand on the stop. After each step compare the read-out with the numbers "
                "here, and go on only where they agree."));
    if (hold_text(table))
        wrap_format(out, &wrap,
                    "- Hands go to the collet only while the spindle stands and %s.",
                    hold_text(table));
    else
        wrap_add(
            out, &wrap,
            view_of("- Nothing is said to keep the spindle from starting while hands are at "
                    "the collet: isolate it yourself before you touch it."));
    if (table->plate)
        wrap_add(out, &wrap,
                 view_of("- The plate and its clip come off before the spindle starts, every "
                         "time."));
    wrap_format(out, &wrap,
                "- Positions are those of the nose of the spindle, %s. The tip is lower by the "
                "stick-out of the cutter.",
                table->homes ? "as the controller reads them after homing"
                             : "which this machine does not know, since it does not home");
}

/* --- one step --------------------------------------------------------------------------------
 */

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

/* Does it start where the operator has jogged to? */
static bool after_jog(const struct table *table, const struct move *move)
{
    const struct move *first = table->dryrun->change->moves;
    for (const struct move *before = move; before > first; before--)
        if (before[-1].moves[0])
            return before[-1].kind == MOVE_JOG;
    return false;
}

static const char *axis_text(const struct table *table, const struct move *move, int axis)
{
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
                        from                     ? from
                        : after_jog(table, move) ? "where the plate is"
                                                 : "anywhere in the work area",
                        to                        ? to
                        : move->kind == MOVE_BACK ? "where it began"
                                                  : "not known");
}

static void add_way(const struct table *table, const struct move *move)
{
    struct buffer text;
    buffer_init(&text, table->arena);
    bool jogs = move->kind == MOVE_JOG;
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
    if (!moves || !move->to.known[2] || move->kind == MOVE_JOG)
        return;
    double nose = move->to.at[2];
    if (!cutter_true_stickout(table->dryrun->machine, move->cutter, &stickout)) {
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
    if (!move->moves[0] || move->by_hand)
        return;
    if (!move->has_clearance) {
        add_line(table, "room: ", "not known: see that the way is clear before you let it go");
        return;
    }
    const struct spread *room = &move->clearance.value;
    struct view to = move_nearest(table->dryrun->machine, move);
    const char *name = to.size ? escape_short(table->arena, to, NAME_SHOWN)
                               : machine_record_name(table->arena, table->dryrun->machine,
                                                     GROUP_OBSTACLE, move->obstacle);
    add_line(table, "room: ",
             arena_format(
                 table->arena, "%s%s between %s and %s%s%s",
                 room->low < 0 ? "NONE, it runs into it: " : "at the least ",
                 length_text(table, room->low), clearance_body_name(move->clearance.body), name,
                 room->nominal > room->low ? arena_format(table->arena, "; %s as typed",
                                                          length_text(table, room->nominal))
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

/* What the operator does, where the step is his, and whether he is asked. */
static const char *hands(const struct table *table, const struct move *move)
{
    const char *hold = hold_text(table), *jog;
    switch (move->kind) {
    case MOVE_SPINDLE_STOP:
        return "switch the spindle off and wait until it stands";
    case MOVE_PLATE_ON:
        return field_is(table, FIELD_PLATE_CONTINUITY_TEST, "yes")
                   ? "with the spindle standing, put the clip on, touch the plate to the cutter "
                     "and see the input change; then lay the plate under the tip"
                   : "with the spindle standing, put the clip on, hold the plate to the cutter "
                     "and see that the input changes, though the procedure does not ask for it; "
                     "then lay the plate under the tip";
    case MOVE_JOG:
        jog = field_words(table, FIELD_PLATE_JOG_WITHIN);
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
                            "take %s out, put %s in to its length, tighten it, "
                            "take the spanner off",
                            cutter_text(table, table->dryrun->change->request.from),
                            cutter_text(table, table->dryrun->change->request.to));
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
                            cutter_text(table, move->cutter));
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

static void add_operator(const struct table *table, const struct move *move)
{
    bool jogs = move->kind == MOVE_JOG;
    if (move->by_hand)
        add_line(table, "you: ", hands(table, move));
    else if (move->kind == MOVE_SPINDLE_START && hold_text(table))
        add_line(table, "you: ", "hands away, then give the spindle its supply back");
    if (move->asks)
        add_line(table,
                 "the controller waits for you to confirm: ", asked_text(table, move->asks));
    else if (move->by_hand && !jogs && move->kind != MOVE_HOLD_OFF)
        add_line(table, "", "the controller does not ask about this: it must be done by then");
    add_line(table, "see: ", sights(table, move));
}

/* The spindle's state, wherever it changes. */
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

static void add_step(const struct table *table, uint32_t index)
{
    const struct move *move = &table->dryrun->change->moves[index];
    struct buffer *out = table->layout.out;
    struct wrap wrap = {table->layout.width, index < 9, INDENT};
    wrap_format(out, &wrap, "%u. %s, %s [%s]", index + 1, move_name(move->kind),
                move->kind == MOVE_CUTTER
                    ? arena_format(table->arena, "to %s", cutter_text(table, move->cutter))
                    : cutter_text(table, move->cutter),
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
    for (uint32_t i = 0; i < change->missing.count; i++) {
        const struct field_use *use = &change->missing.items[i];
        buffer_format(&names, "%s%s", i ? ", " : "",
                      use->record == RECORD_NONE
                          ? field_path(table->arena, use->field)
                          : machine_path(table->arena, table->dryrun->machine, use->field,
                                         use->record, 0));
    }
    wrap_format(out, &wrap, "Not everything is known, for want of %s.", buffer_string(&names));
}

static unit_id unit_of(const struct table *table, enum field_id id, struct dimension dimension)
{
    const struct field_value *value = field_of(table, id);
    return is_known(value) && value->unit != UNIT_BARE ? value->unit : unit_default(dimension);
}

void dryrun_text(struct buffer *out, const struct report_options *options,
                 const struct dryrun *dryrun)
{
    struct buffer text;
    buffer_init(&text, out->arena);
    struct table table = {
        .dryrun = dryrun,
        .layout = {options->unicode ? out : &text, options, dryrun->path,
                   wrap_width(options->width)},
        .arena = out->arena,
    };
    table.plate = field_is(&table, FIELD_CHANGE_MEASURES_WITH, "plate");
    table.homes = !field_is(&table, FIELD_HOMING_ORDER, "none");
    table.length = unit_of(&table, table.homes ? FIELD_CHANGE_TRAVERSE_Z : FIELD_CHANGE_LIFT,
                           DIMENSION_LENGTH);
    table.speed = unit_of(&table, FIELD_AXIS_RAPID, DIMENSION_SPEED);
    struct wrap wrap = {table.layout.width, 0, 0};
    wrap_format(table.layout.out, &wrap, "%s: the moves of a cutter change, on paper.",
                dryrun->path);
    add_pair(&table);
    add_cautions(&table);
    buffer_byte(table.layout.out, '\n');
    for (uint32_t i = 0; i < dryrun->change->count; i++)
        add_step(&table, i);
    add_total(&table);
    if (!options->unicode)
        text_plain(out, buffer_view(&text));
}
