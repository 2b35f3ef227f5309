/* One step: what moves, how high, with how much room. */
#include "report/tell_internal.h"

enum { NAME_SHOWN = 40 };

/* The speed along the way of two axes is no round number. */
static const char *speed_text(const struct teller *teller, double speed)
{
    double number = unit_from_si(teller->speed, DIMENSION_SPEED, speed);
    return arena_format(teller->arena, "%s %s", number_plain(teller->arena, number, 4),
                        unit_text(teller->speed));
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

static const char *end_text(const struct teller *teller, const struct move_place *place,
                            int axis)
{
    return place->known[axis] ? tell_length(teller, place->at[axis]) : NULL;
}

/* By how much an axis moves where its places are not known. */
static const char *by_text(const struct teller *teller, const struct move *move)
{
    switch (move->kind) {
    case MOVE_LIFT:
        return teller->homes ? NULL : tell_words(teller, FIELD_CHANGE_LIFT);
    case MOVE_RETRACT:
        return tell_words(teller, FIELD_CHANGE_RETRACT);
    case MOVE_PROBE:
        return tell_words(teller, FIELD_CHANGE_PROBE_STROKE);
    case MOVE_SECOND_TOUCH:
        return tell_words(teller, FIELD_CHANGE_SECOND_STROKE);
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
static const char *start_text(const struct teller *teller, const struct move *move)
{
    const struct move *before = move, *first = teller->dryrun->change->moves;
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

static const char *side_text(const struct teller *teller, const struct move *move, int axis)
{
    bool at_most = move->timed == TIME_AT_MOST;
    if (move->by == 0)
        return arena_format(teller->arena, "%c by a length that is not known", "xyz"[axis]);
    return arena_format(teller->arena, "%c %s by %s%s", "xyz"[axis],
                        axis == 2 ? (move->by < 0 ? "down" : "up")
                                  : (move->by < 0 ? "towards low" : "towards high"),
                        at_most ? "at most " : "", tell_length(teller, fabs(move->by)));
}

static const char *axis_text(const struct teller *teller, const struct move *move, int axis)
{
    if (is_beside_plate(move))
        return side_text(teller, move, axis);
    const char *from = end_text(teller, &move->from, axis);
    const char *to = end_text(teller, &move->to, axis);
    const char *by = axis == 2 ? by_text(teller, move) : NULL;
    char name = "xyz"[axis];
    if (from && to && move->from.at[axis] == move->to.at[axis])
        return arena_format(teller->arena, "%c stays at %s", name, to);
    if (from && to && move->kind == MOVE_RETRACT && by)
        return arena_format(teller->arena, "z up by %s from contact, expected %s -> %s", by,
                            from, to);
    if (from && to)
        return arena_format(teller->arena, "%c %s -> %s", name, from, to);
    if (by)
        return arena_format(teller->arena, "%c %s %s%s", name,
                            goes_down(move) ? "down at most" : "up by", by,
                            from ? arena_format(teller->arena, " from %s", from) : "");
    bool down = goes_down(move);
    if (axis == 2 && move->kind == MOVE_DOWN)
        return arena_format(teller->arena, "z %s -> where it began", from ? from : "down");
    if (axis == 2)
        return arena_format(teller->arena, "z %s to %s",
                            from   ? from
                            : down ? "down"
                                   : "from any height",
                            to ? to : "a height not known beforehand");
    return arena_format(teller->arena, "%c %s -> %s", name,
                        from ? from : start_text(teller, move),
                        to                        ? to
                        : move->kind == MOVE_BACK ? "where it began"
                                                  : "not known");
}

static void add_way(const struct teller *teller, const struct move *move)
{
    struct buffer text;
    buffer_init(&text, teller->arena);
    bool jogs = tell_is_jogged(move);
    for (int axis = 0; axis < 3 && !jogs; axis++)
        if (move->moves[axis])
            buffer_format(&text, "%s%s", text.size ? ", " : "", axis_text(teller, move, axis));
    bool still = move->timed == TIME_KNOWN && move->seconds <= 0;
    if (move->speed > 0 && !still)
        buffer_format(&text, "; at %s", speed_text(teller, move->speed));
    if (move->timed != TIME_UNKNOWN && move->seconds > 0)
        buffer_format(&text, "%s%s%s", text.size ? "; " : "waits ",
                      move->timed == TIME_AT_MOST ? "at most " : "",
                      tell_time(teller, move->seconds));
    else if (!move->by_hand && move->timed == TIME_UNKNOWN)
        buffer_format(&text, "%stime not known", text.size ? "; " : "");
    tell_line(teller, "", buffer_string(&text));
}

/* Where nose and tip are after a move along Z, and all the way on one sideways. */
static void add_heights(const struct teller *teller, const struct move *move)
{
    struct spread stickout;
    bool moves = move->moves[0] || move->moves[1] || move->moves[2];
    if (!moves || !move->to.known[2] || tell_is_jogged(move))
        return;
    double nose = move->to.at[2];
    if (!cutter_tip_below(teller->dryrun->machine, move->cutter, &stickout)) {
        tell_line(teller, "",
                  arena_format(teller->arena, "nose at %s, tip not known",
                               tell_length(teller, nose)));
        return;
    }
    const char *lowest = stickout.high > stickout.nominal
                             ? arena_format(teller->arena, ", at the lowest %s",
                                            tell_length(teller, nose - stickout.high))
                             : "";
    tell_line(teller, "",
              arena_format(teller->arena, "nose at %s, tip at %s%s", tell_length(teller, nose),
                           tell_length(teller, nose - stickout.nominal), lowest));
}

static void add_room(const struct teller *teller, const struct move *move)
{
    if (move->kind == MOVE_DOWN)
        tell_line(teller,
                  "room: ", "not looked at: where it goes back to is the program's own place");
    if (move->kind == MOVE_SIDE_OUT || move->kind == MOVE_SIDE_OVER)
        tell_line(
            teller, "room: ",
            "not looked at, nobody knows where the plate lies: clamps and hands out of the way");
    if (!move_wants_room(teller->dryrun->change, move))
        return;
    if (!move->has_clearance) {
        tell_line(teller,
                  "room: ", "not known: see that the way is clear before you let it go");
        return;
    }
    const struct spread room = {spread_settled(move->clearance.value.nominal),
                                spread_settled(move->clearance.value.low), 0};
    struct view to = move_nearest(teller->dryrun->machine, move);
    const char *name = to.size ? escape_short(teller->arena, to, NAME_SHOWN)
                               : machine_record_name(teller->arena, teller->dryrun->machine,
                                                     GROUP_OBSTACLE, move->obstacle);
    const char *body =
        escape_short(teller->arena, move_body(teller->dryrun->machine, move), NAME_SHOWN);
    tell_line(teller, "room: ",
              arena_format(teller->arena, "%s%s between %s and %s%s%s",
                           room.low < 0 ? "NONE, it runs into it: " : "at the least ",
                           tell_length(teller, room.low), body, name,
                           room.nominal > room.low
                               ? arena_format(teller->arena, "; %s as typed",
                                              tell_length(teller, room.nominal))
                               : "",
                           move->whole ? "" : "; not all that is in the way is known"));
}

static const char *no_contact_text(const struct teller *teller)
{
    return tell_says(teller, FIELD_CHANGE_NO_CONTACT, "stops")
               ? "it gives up and stops"
               : "press the stop, it does not stop by itself";
}

static void add_contact(const struct teller *teller, const struct move *move)
{
    if (move->kind == MOVE_SIDE_PROBE)
        tell_line(
            teller, "",
            arena_format(teller->arena, "no contact on that way: %s", no_contact_text(teller)));
    if (move->kind != MOVE_PROBE && move->kind != MOVE_SECOND_TOUCH)
        return;
    if (!move->has_contact) {
        if (!teller->plate)
            tell_line(teller, "contact: ", "at a height that is not known");
        else if (by_text(teller, move))
            tell_line(teller, "",
                      arena_format(teller->arena, "no contact within %s: %s",
                                   by_text(teller, move), no_contact_text(teller)));
        return;
    }
    if (move->kind == MOVE_SECOND_TOUCH) {
        tell_line(teller, "contact: ", "where the first touch met it");
        return;
    }
    tell_line(teller, "contact: ",
              arena_format(
                  teller->arena, "expected with the nose at %s; it may come from %s down to %s",
                  tell_length(teller, move->expected), tell_length(teller, move->earliest),
                  tell_length(teller, move->latest)));
    if (move->has_end)
        tell_line(teller, "",
                  arena_format(teller->arena, "no contact by %s: %s",
                               tell_length(teller, move->end), no_contact_text(teller)));
}

const char *tell_topic(enum told_topic topic)
{
    static const char *const words[] = {
        [TOLD_WAY] = "way",         [TOLD_HEIGHTS] = "heights", [TOLD_ROOM] = "room",
        [TOLD_CONTACT] = "contact", [TOLD_DANGER] = "danger",   [TOLD_OPERATOR] = "operator",
        [TOLD_ASKED] = "asked",     [TOLD_UNASKED] = "unasked", [TOLD_SIGHT] = "sight",
    };
    return words[topic];
}

void tell_step(struct teller *teller, uint32_t index, struct told_step *out)
{
    const struct change *change = teller->dryrun->change;
    const struct move *move = &change->moves[index];
    const char *cutter = tell_cutter(teller, move->cutter);
    *out = (struct told_step){
        .number = tell_number(change, move),
        .name = move_name(move->kind),
        .cutter =
            move->kind == MOVE_CUTTER ? arena_format(teller->arena, "to %s", cutter) : cutter,
        .spindle = spindle_text(move),
        .danger = move->endangers || move->starts_still || move->beside_chuck,
    };
    static void (*const tellers[])(const struct teller *teller, const struct move *move) = {
        [TOLD_WAY] = add_way,         [TOLD_HEIGHTS] = add_heights,
        [TOLD_ROOM] = add_room,       [TOLD_CONTACT] = add_contact,
        [TOLD_DANGER] = tell_danger,  [TOLD_OPERATOR] = tell_operator,
        [TOLD_ASKED] = tell_question, [TOLD_UNASKED] = tell_unasked,
        [TOLD_SIGHT] = tell_sight,
    };
    teller->step = out;
    for (size_t topic = 0; topic < sizeof tellers / sizeof *tellers; topic++) {
        teller->topic = (enum told_topic)topic;
        tellers[topic](teller, move);
    }
    teller->step = NULL;
}
