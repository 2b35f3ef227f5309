/* The dry run as a person follows it: a step a block, what moves first, then the heights, the
 * room, the operator's part, and what is to be seen.  All numbers come from motion; the words
 * are here.
 */
#include "report/internal_dryrun.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

enum { NAME_SHOWN = 40 };

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

/* --- the head --------------------------------------------------------------------------------
 */

static const char *reason_text(const struct table *table, uint32_t record,
                               enum pair_reason reason)
{
    const char *why = pair_reason_text(reason);
    return arena_format(table->arena, "%s%s%s", table_cutter(table, record), *why ? ", " : "",
                        why);
}

/* The move that leaves least room; NULL where none is known. */
static const struct move *nearest_move(const struct change *change)
{
    const struct move *least = NULL;
    for (uint32_t i = 0; i < change->count; i++) {
        const struct move *move = &change->moves[i];
        if (move->has_clearance &&
            (!least || move->clearance.value.low < least->clearance.value.low))
            least = move;
    }
    return least;
}

/* Why this pair and no other. */
static void add_choice(const struct table *table, struct wrap *wrap)
{
    const struct cutter_pair *pair = table->dryrun->pair;
    const struct change *change = table->dryrun->change;
    bool chosen = pair->from_reason != PAIR_GIVEN && pair->to_reason != PAIR_GIVEN;
    const struct move *least = nearest_move(change);
    if (chosen && pair->to_reason != PAIR_ONLY && least) {
        double room = spread_settled(least->clearance.value.low);
        wrap_format(
            table->layout.out, wrap,
            "As far as is known no other change of the list comes nearer to anything: %s "
            "%s at step %u. Name another with --from and --to.",
            room < 0 ? "something runs into something else by" : "the least room is",
            length_text(table, fabs(room)), (unsigned)(least - change->moves) + 1);
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
    wrap_add(
        out, &wrap,
        view_of("- These are numbers on paper. Run the change first in air: no work on the "
                "table, the feed turned down, the spindle kept off even where a step says "
                "that it runs."));
    wrap_add(
        out, &wrap,
        view_of("- A hand on the stop. After each step compare the read-out with the numbers "
                "here, and go on only where they agree."));
    if (table_hold(table))
        wrap_format(out, &wrap,
                    "- Hands go to the collet only while the spindle stands and %s.",
                    table_hold(table));
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
        return table->homes ? NULL : table_words(table, FIELD_CHANGE_LIFT);
    case MOVE_RETRACT:
        return table_words(table, FIELD_CHANGE_RETRACT);
    case MOVE_PROBE:
        return table_words(table, FIELD_CHANGE_PROBE_STROKE);
    case MOVE_SECOND_TOUCH:
        return table_words(table, FIELD_CHANGE_SECOND_STROKE);
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
    table_line(table, "", buffer_string(&text));
}

/* Where nose and tip are after a move along Z, and all the way on one sideways. */
static void add_heights(const struct table *table, const struct move *move)
{
    struct spread stickout;
    bool moves = move->moves[0] || move->moves[1] || move->moves[2];
    if (!moves || !move->to.known[2] || move->kind == MOVE_JOG)
        return;
    double nose = move->to.at[2];
    if (!cutter_tip_below(table->dryrun->machine, move->cutter, &stickout)) {
        table_line(
            table, "",
            arena_format(table->arena, "nose at %s, tip not known", length_text(table, nose)));
        return;
    }
    const char *lowest = stickout.high > stickout.nominal
                             ? arena_format(table->arena, ", at the lowest %s",
                                            length_text(table, nose - stickout.high))
                             : "";
    table_line(table, "",
               arena_format(table->arena, "nose at %s, tip at %s%s", length_text(table, nose),
                            length_text(table, nose - stickout.nominal), lowest));
}

static void add_room(const struct table *table, const struct move *move)
{
    if (move->kind == MOVE_DOWN)
        table_line(table,
                   "room: ", "not looked at: where it goes back to is the program's own place");
    if (!move_wants_room(table->dryrun->change, move))
        return;
    if (!move->has_clearance) {
        table_line(table,
                   "room: ", "not known: see that the way is clear before you let it go");
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
    table_line(table, "room: ",
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
    return table_field_is(table, FIELD_CHANGE_NO_CONTACT, "stops")
               ? "it gives up and stops"
               : "press the stop, it does not stop by itself";
}

static void add_contact(const struct table *table, const struct move *move)
{
    if (move->kind != MOVE_PROBE && move->kind != MOVE_SECOND_TOUCH)
        return;
    if (!move->has_contact) {
        if (!table->plate)
            table_line(table, "contact: ", "at a height that is not known");
        else if (by_text(table, move))
            table_line(table, "",
                       arena_format(table->arena, "no contact within %s: %s",
                                    by_text(table, move), no_contact_text(table)));
        return;
    }
    if (move->kind == MOVE_SECOND_TOUCH) {
        table_line(table, "contact: ", "where the first touch met it");
        return;
    }
    table_line(table, "contact: ",
               arena_format(
                   table->arena, "expected with the nose at %s; it may come from %s down to %s",
                   length_text(table, move->expected), length_text(table, move->earliest),
                   length_text(table, move->latest)));
    if (move->has_end)
        table_line(table, "",
                   arena_format(table->arena, "no contact by %s: %s",
                                length_text(table, move->end), no_contact_text(table)));
}

static void add_step(const struct table *table, uint32_t index)
{
    const struct move *move = &table->dryrun->change->moves[index];
    struct buffer *out = table->layout.out;
    struct wrap wrap = {table->layout.width, index < 9, DRYRUN_INDENT};
    wrap_format(out, &wrap, "%u. %s, %s [%s]", index + 1, move_name(move->kind),
                move->kind == MOVE_CUTTER
                    ? arena_format(table->arena, "to %s", table_cutter(table, move->cutter))
                    : table_cutter(table, move->cutter),
                table_spindle(move));
    add_way(table, move);
    add_heights(table, move);
    add_room(table, move);
    add_contact(table, move);
    table_operator(table, move);
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
    const struct field_value *value = table_field(table, id);
    return table_is_known(value) && value->unit != UNIT_BARE ? value->unit
                                                             : unit_default(dimension);
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
    table.plate = table_field_is(&table, FIELD_CHANGE_MEASURES_WITH, "plate");
    table.homes = !table_field_is(&table, FIELD_HOMING_ORDER, "none");
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
