/* The moves of a change in sentences: the whole of it. */
#include "report/tell_internal.h"

/* A field for want of which not everything is known. */
const char *tell_missing(struct arena *arena, const struct dryrun *dryrun, uint32_t index)
{
    const struct field_use *use = &dryrun->change->missing.items[index];
    return use->record == RECORD_NONE
               ? field_path(arena, use->field)
               : machine_path(arena, dryrun->machine, use->field, use->record, 0);
}

static const struct field_value *field_of(const struct teller *teller, enum field_id id)
{
    return machine_field(teller->dryrun->machine, id, 0);
}

bool tell_knows(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

/* A field as the file writes it; NULL where it is not there. */
const char *tell_words(const struct teller *teller, enum field_id id)
{
    const struct field_value *value = field_of(teller, id);
    return tell_knows(value) ? field_value_text(teller->arena, id, value) : NULL;
}

/* What is done once, before the first change, is step 0. */
uint32_t tell_number(const struct change *change, const struct move *move)
{
    bool once = change->moves[0].kind == MOVE_REFERENCE;
    return (uint32_t)(move - change->moves) + (once ? 0 : 1);
}

/* Does the file write this word? */
bool tell_says(const struct teller *teller, enum field_id id, const char *word)
{
    const char *words = tell_words(teller, id);
    return words && strcmp(words, word) == 0;
}

/* "cutter 3" */
const char *tell_cutter(const struct teller *teller, uint32_t record)
{
    return machine_record_name(teller->arena, teller->dryrun->machine, GROUP_CUTTER, record);
}

void tell_line(const struct teller *teller, const char *label, const char *text)
{
    const struct told_line line = {teller->topic, label, text};
    if (text && *text)
        VECTOR_ADD(teller->arena, &teller->step->lines, line);
}

const char *tell_length(const struct teller *teller, double metres)
{
    return quantity_text(teller->arena, spread_settled(metres), DIMENSION_LENGTH,
                         teller->length);
}

const char *tell_time(const struct teller *teller, double seconds)
{
    if (seconds < 60)
        return arena_format(teller->arena, "%s s", number_rounded(teller->arena, seconds, 1));
    return arena_format(teller->arena, "%s min %s s",
                        number_rounded(teller->arena, floor(seconds / 60), 0),
                        number_rounded(teller->arena, fmod(seconds, 60), 0));
}

static unit_id unit_of(const struct teller *teller, enum field_id id,
                       struct dimension dimension)
{
    const struct field_value *value = field_of(teller, id);
    return tell_knows(value) && value->unit != UNIT_BARE
               ? value->unit
               : machine_unit(teller->dryrun->machine, dimension);
}

void teller_open(struct teller *teller, struct arena *arena, const struct dryrun *dryrun)
{
    *teller = (struct teller){.dryrun = dryrun, .arena = arena};
    teller->plate = tell_says(teller, FIELD_CHANGE_MEASURES_WITH, "plate");
    teller->list = tell_says(teller, FIELD_CHANGE_MEASURES_WITH, "list");
    teller->hand = tell_says(teller, FIELD_CHANGE_MEASURES_WITH, "hand");
    teller->homes = !tell_says(teller, FIELD_HOMING_ORDER, "none");
    teller->length = unit_of(
        teller, teller->homes ? FIELD_CHANGE_TRAVERSE_Z : FIELD_CHANGE_LIFT, DIMENSION_LENGTH);
    teller->speed = unit_of(teller, FIELD_AXIS_RAPID, DIMENSION_SPEED);
}

/* How the spindle is kept from starting, as a clause; NULL where nothing does. */
static const char *hold_text(const struct teller *teller)
{
    if (tell_says(teller, FIELD_CHANGE_SPINDLE_HELD_OFF, "isolated"))
        return "its supply is switched off and locked";
    if (tell_says(teller, FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked"))
        return "the interlock has taken its drive away";
    if (tell_says(teller, FIELD_CHANGE_SPINDLE_HELD_OFF, "unplugged"))
        return "its plug is pulled";
    return NULL;
}

static void add_text(const struct teller *teller, struct told_list *out, const char *text)
{
    VECTOR_ADD(teller->arena, &out->items, text);
}

/* What goes wrong by the way in which this machine measures. */
static const char *measuring_caution(const struct teller *teller)
{
    if (teller->plate)
        return "The plate and its clip come off before the spindle starts, every time.";
    if (teller->list)
        return "Nothing measures the cutters. One that sticks out further than the controller's "
               "table says goes that much deeper, at full speed: measure the new one before the "
               "spindle goes down with it.";
    if (teller->hand)
        return "The block and your fingers are away from under the tip before the spindle gets "
               "its supply back, every time.";
    return "";
}

void tell_cautions(const struct teller *teller, struct told_list *out)
{
    size_t errors = teller->dryrun->errors;
    if (errors)
        add_text(
            teller, out,
            arena_format(
                teller->arena,
                "`proveout check` finds %zu error%s in this file: see to %s before anything "
                "moves.",
                errors, errors == 1 ? "" : "s", errors == 1 ? "it" : "them"));
    if (teller->dryrun->change->endangers)
        add_text(teller, out,
                 "Steps marked DANGER lead hands to a spindle that can turn, or sink: do not "
                 "run the change before that is mended.");
    if (teller->dryrun->change->beside_chuck)
        add_text(teller, out,
                 "Steps marked DANGER lead hands past a chuck that can turn: do not run "
                 "the change before that is mended.");
    if (teller->dryrun->change->starts_still)
        add_text(teller, out,
                 "A step marked DANGER starts the spindle with something in it that must "
                 "never turn: do not run the change before that is mended.");
    add_text(teller, out,
             "These are numbers on paper. Run the change first in air: no work on the "
             "table, the feed turned down, the spindle kept off even where a step says "
             "that it runs.");
    add_text(teller, out,
             "A hand on the stop. After each step compare the read-out with the numbers "
             "here, and go on only where they agree.");
    if (hold_text(teller))
        add_text(
            teller, out,
            arena_format(
                teller->arena,
                "Hands go to the collet only while the spindle stands and %s. Look and listen: "
                "flickering lamps make a turning cutter look still. The edges are sharp, and "
                "hot after work.",
                hold_text(teller)));
    else
        add_text(teller, out,
                 "Nothing is said to keep the spindle from starting while hands are at "
                 "the collet: look and listen until it stands, since flickering lamps make a "
                 "turning cutter look still, and isolate it yourself before you touch it. The "
                 "edges are sharp, and hot after work.");
    if (*measuring_caution(teller))
        add_text(teller, out, measuring_caution(teller));
    add_text(teller, out,
             arena_format(
                 teller->arena,
                 "Positions are those of the nose of the spindle, %s. The tip is lower by the "
                 "stick-out of the cutter.",
                 teller->homes ? "as the controller reads them after homing"
                               : "which this machine does not know, since it does not home"));
}

void tell_total(const struct teller *teller, struct told_list *out)
{
    const struct change *change = teller->dryrun->change;
    add_text(
        teller, out,
        arena_format(teller->arena, "In all %s%s for what the machine does%s%s.",
                     change->at_most ? "at most " : "", tell_time(teller, change->seconds),
                     change->by_hand ? ", and the time that the steps by hand take" : "",
                     change->untimed ? ", without the steps whose time is not known" : ""));
    if (!change->missing.count)
        return;
    struct buffer names;
    buffer_init(&names, teller->arena);
    for (uint32_t i = 0; i < change->missing.count; i++)
        buffer_format(&names, "%s%s", i ? ", " : "",
                      machine_lasting_path(teller->arena, teller->dryrun->machine,
                                           tell_missing(teller->arena, teller->dryrun, i)));
    add_text(teller, out,
             arena_format(teller->arena, "Not everything is known, for want of %s.",
                          buffer_string(&names)));
}
