/* Asking through a round: which value, its readings one by one, and what is noted beside them.
 */
#include "cli/measure.h"

#include "ask/spoken.h"
#include "machine/file.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/utf8.h"

enum { REMARK = 4, SHOWN = 40 };

/* Where it goes on after an answer. */
enum step { STEP_STAY, STEP_NEXT, STEP_BACK, STEP_STOP, STEP_END };

/* One value of the round while it is asked for. */
struct asking {
    struct measuring *measuring;
    size_t index;
    const struct round_item *item;
    struct measured *value;
    struct answer_context with;
};

static struct lines *lines_of(const struct asking *asking)
{
    return asking->measuring->revision->lines;
}

/* Hears an answer; false at the end of the answers. */
static bool hear(struct measuring *measuring, const char *question, enum said *said,
                 struct view *text)
{
    struct view rest;
    do {
        if (!lines_ask(measuring->revision->lines, question, text))
            return false;
        if (utf8_check(*text) < text->size)
            lines_say(measuring->revision->lines, REMARK,
                      "That is not UTF-8; nothing of it was taken.");
    } while (utf8_check(*text) < text->size);
    *said = spoken_word(measuring->revision->run->arena, *text, &rest);
    return true;
}

static bool is_no(struct view text)
{
    return view_is(text, "no") || view_is(text, "n") || view_is(text, "No");
}

static bool is_yes(enum said said, struct view text)
{
    return said == SAID_YES || view_is(text, "y");
}

/* A reading that was typed where words are asked for: it would be lost as a name. */
static bool is_reading(struct measuring *measuring, struct view text)
{
    double number;
    size_t used;
    if (number_read(text, &number, &used) != NUMBER_OK)
        return false;
    struct view rest = view_trim(view_skip(text, used));
    if (rest.size && unit_read(rest) == UNIT_UNKNOWN)
        return false;
    lines_say(
        measuring->revision->lines, REMARK,
        "That is a number, and a word is wanted here; Enter alone goes on to the readings.");
    return true;
}

/* --- what is told of a value --- */

static void tell_how(const struct asking *asking)
{
    const struct field *field = &field_table[asking->item->place.field];
    const char *caution;
    for (size_t i = 0; (caution = field_caution(field->care, i)) != NULL; i++)
        lines_say(lines_of(asking), 2, "Caution: %s", caution);
    if (*field->measure)
        lines_say(lines_of(asking), 2, "%s", field->measure);
}

static void tell_words(const struct asking *asking)
{
    lines_say(lines_of(asking), REMARK,
              "A number is a reading; several go with a comma and a blank between. Enter alone "
              "goes on, back takes the last reading back, anew begins this value anew, skip "
              "leaves it as it is in the file, stop ends the round.");
}

static void tell_value(const struct asking *asking)
{
    struct revision *revision = asking->measuring->revision;
    struct arena *arena = revision->run->arena;
    const struct field_place *place = &asking->item->place;
    const struct machine *machine = &revision->now->machine;
    const struct field_value *value = machine_field(machine, place->field, place->record);
    const struct readings *readings = machine_readings(machine, place->field, value);
    lines_gap(lines_of(asking));
    lines_say(lines_of(asking), 0, "%zu of %zu: %s", asking->index + 1,
              asking->measuring->plan.items.count, revise_path(revision, place));
    lines_say(lines_of(asking), 2, "%s", field_table[place->field].meaning);
    tell_how(asking);
    if (value->state == VALUE_GIVEN)
        lines_say(lines_of(asking), 2, "In the file: %s%s%s.",
                  field_value_text(arena, place->field, value), readings ? ", " : "",
                  readings ? readings_text(arena, readings) : "");
}

/* --- the readings that the file has, which others may follow --- */

static struct view note_of(const struct tree_node *map, const char *key)
{
    const struct tree_node *note = tree_child(map, view_of(key));
    return note ? view_trim(tree_resolve(note)->text) : (struct view){0};
}

/* What was measured with is mostly what is measured with again. */
static void take_instrument(struct tally *tally, const struct tree_node *map)
{
    tally->with = note_of(map, "with");
    tally->instrument_error = note_of(map, "instrument_error");
}

static bool take_standing(struct tally *tally, const struct answer_context *with,
                          const struct tree_node *map)
{
    const struct tree_node *list = tree_child(map, view_of("readings"));
    const struct tree_node *node = list ? tree_resolve(list)->first : NULL;
    take_instrument(tally, map);
    tally->by = note_of(map, "by");
    tally->on = note_of(map, "on");
    for (; node; node = node->next)
        if (tree_resolve(node)->kind != TREE_TEXT ||
            tally_add(tally, with, tree_resolve(node)->text))
            return false;
    for (size_t i = 0; i < tally->readings.count; i++)
        tally->readings.items[i].is_kept = true; /* `check` tells of one far off */
    return tally->readings.count > 0;
}

static void begin_tally(const struct asking *asking, bool anew)
{
    struct measuring *measuring = asking->measuring;
    struct run *run = measuring->revision->run;
    const struct field_place *place = &asking->item->place;
    const struct machine *machine = &measuring->revision->now->machine;
    const struct readings *readings = machine_readings(
        machine, place->field, machine_field(machine, place->field, place->record));
    struct tally *tally = &asking->value->tally;
    asking->value->begun = (struct view){0};
    tally_begin(tally, run->arena, place->field);
    if (readings && !anew && asking->item->reason != ROUND_OLD) {
        if (take_standing(tally, &asking->with, tree_resolve(readings->node))) {
            asking->value->begun = view_of(tally_text(tally));
            lines_say(lines_of(asking), 2,
                      "Further readings are added to these; type anew to begin anew.");
            return;
        }
        tally_begin(tally, run->arena, place->field);
    }
    tally->on = measuring->day;
    tally->by = measuring->by;
    if (readings)
        take_instrument(tally, tree_resolve(readings->node));
}

/* --- readings --- */

static void tell_usual(const struct asking *asking)
{
    struct revision *revision = asking->measuring->revision;
    struct arena *arena = revision->run->arena;
    const struct field_place *place = &asking->item->place;
    const struct field *field = &field_table[place->field];
    const struct tally *tally = &asking->value->tally;
    struct usual_range usual =
        machine_usual_range(&revision->now->machine, place->field, place->record, 0);
    if (!tally->has_value || !(tally->value.si < usual.low || tally->value.si > usual.high))
        return;
    bool below = tally->value.si < usual.low;
    lines_say(lines_of(asking), REMARK,
              "%s is %s what is usual, %s: look at the unit, and type back to take it back.",
              field_value_text(arena, place->field, &tally->value), below ? "below" : "above",
              quantity_text(arena, below ? usual.low : usual.high, field->dimension,
                            tally->value.unit));
}

/* Of a reading far off somebody has to say whether it is kept. */
static enum step ask_off(const struct asking *asking)
{
    struct tally *tally = &asking->value->tally;
    struct arena *arena = asking->measuring->revision->run->arena;
    enum said said;
    struct view text;
    size_t off;
    while ((off = tally_off(tally)) < tally->readings.count) {
        struct view reading = tally->readings.items[off].text;
        const char *question = arena_format(
            arena, "Reading %zu, %.*s, lies far off the rest. Is it kept? (yes or no)", off + 1,
            VIEW(reading));
        if (!hear(asking->measuring, question, &said, &text))
            return STEP_END;
        if (said == SAID_STOP)
            return STEP_STOP;
        if (is_yes(said, text)) {
            tally->readings.items[off].is_kept = true;
            lines_say(lines_of(asking), REMARK, "Kept, and the tolerance with it.");
        } else if (is_no(text)) {
            tally_take_out(tally, off);
            lines_say(lines_of(asking), REMARK, "%.*s is taken out: %s.", VIEW(reading),
                      tally_says(tally));
        } else if (said == SAID_BACK) {
            tally_take_back(tally);
            return STEP_STAY;
        } else {
            lines_say(
                lines_of(asking), REMARK,
                "In fewer than one of twenty rows does a good reading lie so far off. Where it was a slip of the hand or of the pen, no takes it out; where the machine did it, yes keeps it. Nothing is left out by itself.");
        }
    }
    return STEP_STAY;
}

static enum step take_readings(const struct asking *asking, struct view text)
{
    struct tally *tally = &asking->value->tally;
    const char *wrong = tally_add(tally, &asking->with, text);
    if (wrong) {
        lines_say(lines_of(asking), REMARK, "%s. Nothing of it was taken; ? tells more.",
                  wrong);
        return STEP_STAY;
    }
    lines_say(lines_of(asking), REMARK, "%s.", tally_says(tally));
    tell_usual(asking);
    return ask_off(asking);
}

static enum step go_back(const struct asking *asking)
{
    struct tally *tally = &asking->value->tally;
    if (!tally->readings.count)
        return STEP_BACK;
    struct view last = tally->readings.items[tally->readings.count - 1].text;
    tally_take_back(tally);
    lines_say(lines_of(asking), REMARK, "%.*s is taken back: %s.", VIEW(last),
              tally_says(tally));
    return STEP_STAY;
}

/* Enter alone: are these readings enough? */
static enum step go_on(const struct asking *asking)
{
    const struct tally *tally = &asking->value->tally;
    if (tally->readings.count && !tally->has_value) {
        lines_say(lines_of(asking), REMARK,
                  "One reading has no scatter: type another, or skip to leave this as it is.");
        return STEP_STAY;
    }
    return STEP_NEXT;
}

static enum step answer_reading(const struct asking *asking, enum said said, struct view text)
{
    if (!text.size)
        return go_on(asking);
    switch (said) {
    case SAID_HELP:
        tell_how(asking);
        tell_words(asking);
        return STEP_STAY;
    case SAID_SKIP:
    case SAID_NONE:
        begin_tally(asking, true);
        return STEP_NEXT; /* and no readings */
    case SAID_STOP:
        return STEP_STOP;
    case SAID_BACK:
        return go_back(asking);
    case SAID_ANEW:
        begin_tally(asking, true);
        lines_say(lines_of(asking), REMARK, "Begun anew.");
        return STEP_STAY;
    case SAID_ON:
        return go_on(asking);
    default:
        return take_readings(asking, text);
    }
}

/* --- what is noted beside them --- */

static enum step ask_with(const struct asking *asking)
{
    struct tally *tally = &asking->value->tally;
    struct arena *arena = asking->measuring->revision->run->arena;
    enum said said;
    struct view text;
    const char *question = tally->with.size
                               ? arena_format(arena, "Measured with what? (Enter alone: %s)",
                                              escape_short(arena, tally->with, SHOWN))
                               : "Measured with what? (Enter alone: not noted)";
    while (hear(asking->measuring, question, &said, &text)) {
        if (said == SAID_STOP || said == SAID_BACK)
            return said == SAID_STOP ? STEP_STOP : STEP_BACK;
        if (said == SAID_NONE)
            tally->with = (struct view){0};
        if (said == SAID_HELP) {
            lines_say(lines_of(asking), REMARK,
                      "A word or two, as calliper; it is noted beside the readings.");
            continue;
        }
        if (is_reading(asking->measuring, text))
            continue;
        if (text.size && said != SAID_SKIP && said != SAID_NONE && said != SAID_ON)
            tally->with = text;
        return STEP_NEXT;
    }
    return STEP_END;
}

/* A number with the unit of the readings where it has none. */
static const char *take_error(const struct asking *asking, struct view text)
{
    struct tally *tally = &asking->value->tally;
    struct answer_context with = asking->with;
    const char *wrong;
    with.unit = unit_text(tally->value.unit);
    struct view read;
    if (!understand_readings(&with, tally->field, text, &read, 1, &wrong))
        return wrong;
    return tally_set_error(tally, read);
}

static enum step ask_error(const struct asking *asking)
{
    struct tally *tally = &asking->value->tally;
    struct arena *arena = asking->measuring->revision->run->arena;
    enum said said;
    struct view text;
    const char *question = arena_format(
        arena, "How far may that be off, to either side? (Enter alone: %s)",
        tally->instrument_error.size ? escape_short(arena, tally->instrument_error, SHOWN)
                                     : "not noted");
    while (hear(asking->measuring, question, &said, &text)) {
        const char *wrong = NULL;
        if (said == SAID_STOP || said == SAID_BACK)
            return said == SAID_STOP ? STEP_STOP : STEP_BACK;
        if (said == SAID_HELP) {
            lines_say(lines_of(asking), REMARK,
                      "The error of the instrument, by its papers or a gauge; at the least the "
                      "smallest step that it shows. It is added to the tolerance.");
            continue;
        }
        if (said == SAID_NONE)
            wrong = tally_set_error(tally, (struct view){0});
        else if (text.size && said == SAID_NOTHING_KNOWN)
            wrong = take_error(asking, text);
        if (!wrong)
            return STEP_NEXT;
        lines_say(lines_of(asking), REMARK, "%s. Type a number, or none.", wrong);
    }
    return STEP_END;
}

/* --- one value --- */

static enum step end_readings(const struct asking *asking)
{
    struct tally *tally = &asking->value->tally;
    asking->value->is_done = tally->has_value && measured_is_new(asking->value);
    if (!asking->value->is_done) {
        lines_say(lines_of(asking), REMARK, "Left as it is.");
        return STEP_NEXT;
    }
    enum step step = ask_with(asking);
    if (step == STEP_NEXT)
        step = ask_error(asking);
    if (step != STEP_NEXT)
        return step == STEP_BACK ? STEP_STAY : step;
    lines_say(lines_of(asking), REMARK, "Noted: %s.",
              field_value_text(tally->arena, tally->field, &tally->value));
    return STEP_NEXT;
}

static enum step ask_readings(const struct asking *asking)
{
    struct arena *arena = asking->measuring->revision->run->arena;
    struct tally *tally = &asking->value->tally;
    const char *unit = understand_unit_said(&asking->with, asking->item->place.field);
    enum step step = STEP_STAY;
    enum said said;
    struct view text;
    if (!asking->value->is_met)
        begin_tally(asking, false);
    asking->value->is_met = true;
    while (step == STEP_STAY) {
        const char *question = arena_format(
            arena, "Reading %zu%s%s%s", tally->readings.count + 1, *unit ? ", in " : "", unit,
            tally->readings.count ? " (Enter alone: no more)"
                                  : " (Enter alone: left as it is)");
        if (!hear(asking->measuring, question, &said, &text))
            return STEP_END;
        step = answer_reading(asking, said, text);
        if (step == STEP_NEXT)
            step = end_readings(asking);
    }
    /* What was read before somebody went elsewhere is not lost. */
    asking->value->is_done = tally->has_value && measured_is_new(asking->value);
    return step;
}

/* What is no number is found out once. */
static enum step ask_once(const struct asking *asking)
{
    enum said said;
    struct view text;
    while (hear(asking->measuring, "How is it? (Enter alone: left as it is)", &said, &text)) {
        struct understood understood;
        if (said == SAID_STOP || said == SAID_BACK)
            return said == SAID_STOP ? STEP_STOP : STEP_BACK;
        if (!text.size || said == SAID_SKIP || said == SAID_ON)
            return STEP_NEXT;
        if (said == SAID_HELP) {
            tell_how(asking);
            continue;
        }
        understand(&asking->with, asking->item->place.field, text, &understood);
        if (understood.wrong) {
            lines_say(lines_of(asking), REMARK, "%s.", understood.wrong);
            continue;
        }
        lines_say(lines_of(asking), REMARK, "%s", understood.echo);
        asking->value->text = understood.text;
        asking->value->is_done = true;
        return STEP_NEXT;
    }
    return STEP_END;
}

/* Would the file not take as many readings as it has?  Told before anybody has measured. */
static bool is_refused(const struct asking *asking)
{
    struct revision *revision = asking->measuring->revision;
    struct arena *arena = revision->run->arena;
    struct machine_file *file = revision->now;
    const struct field_place *place = &asking->item->place;
    const struct readings *readings =
        machine_readings(&file->machine, place->field,
                         machine_field(&file->machine, place->field, place->record));
    const char *unit = field_table[place->field].unit;
    struct buffer trial;
    buffer_init(&trial, arena);
    buffer_format(&trial, "{readings: [0 %s", unit);
    for (uint32_t i = 1; i < 2 || (readings && i < readings->count); i++)
        buffer_format(&trial, ", 0 %s", unit);
    buffer_format(&trial, "], with: -, by: -, on: %.*s, instrument_error: 0 %s}",
                  VIEW(run_day(revision->run)), unit);
    const char *wrong = machine_file_set(arena, &file, place, buffer_view(&trial), SET_AT_HOME);
    if (wrong)
        lines_say(lines_of(asking), 2, "It could not be put into the file: %s. Passed over.",
                  wrong);
    return wrong;
}

static enum step ask_value(struct measuring *measuring, size_t index)
{
    struct run *run = measuring->revision->run;
    struct asking asking = {.measuring = measuring,
                            .index = index,
                            .item = &measuring->plan.items.items[index],
                            .value = &measuring->values[index]};
    const struct field_place *place = &asking.item->place;
    const struct field_value *value =
        machine_field(&measuring->revision->now->machine, place->field, place->record);
    bool number = field_takes_readings(place->field);
    asking.with = (struct answer_context){
        .arena = run->arena, .inches = measuring->inches, .today = run_day(run)};
    if (number && value->state == VALUE_GIVEN)
        asking.with.unit = unit_text(value->unit);
    tell_value(&asking);
    if (number && is_refused(&asking))
        return STEP_NEXT;
    return number ? ask_readings(&asking) : ask_once(&asking);
}

/* --- the round --- */

/* How many values have something new by now. */
static size_t count_done(const struct measuring *measuring)
{
    size_t count = 0;
    for (size_t i = 0; i < measuring->plan.items.count; i++)
        count += measuring->values[i].is_done;
    return count;
}

/* Somebody said stop: what is done may still be kept. */
static enum round_end stop(struct measuring *measuring)
{
    size_t done = count_done(measuring);
    if (!done)
        return ROUND_STOPPED;
    const char *question =
        arena_format(measuring->revision->run->arena,
                     "Keep what is measured by now, %zu of %zu values? (yes or no)", done,
                     measuring->plan.items.count);
    return lines_agree(measuring->revision->lines, question) ? ROUND_ENDED : ROUND_STOPPED;
}

static enum round_end walk(struct measuring *measuring, size_t at)
{
    while (at < measuring->plan.items.count) {
        switch (ask_value(measuring, at)) {
        case STEP_BACK:
            at -= at > 0;
            break;
        case STEP_STOP:
            return stop(measuring);
        case STEP_END:
            return ROUND_STOPPED;
        default:
            at++;
        }
    }
    return ROUND_ENDED;
}

/* Which value the round begins with; false: it does not. */
static bool ask_begin_with(struct measuring *measuring, size_t *at)
{
    struct lines *lines = measuring->revision->lines;
    size_t count = measuring->plan.items.count;
    enum said said;
    struct view text;
    while (hear(measuring,
                "Begin? (Enter alone: with the first; a number: with that one; stop: not now)",
                &said, &text)) {
        double number = 1;
        size_t used;
        if (said == SAID_STOP || said == SAID_SKIP || said == SAID_NONE || is_no(text))
            return false;
        if (!text.size || said == SAID_ON || is_yes(said, text) ||
            (number_read(text, &number, &used) == NUMBER_OK && used == text.size &&
             number >= 1 && number <= (double)count && number == (double)(size_t)number)) {
            *at = (size_t)number - 1;
            return true;
        }
        lines_say(lines, REMARK, "Type a number from 1 to %zu, Enter alone, or stop.", count);
    }
    return false;
}

/* False at the end of the answers. */
static bool ask_who(struct measuring *measuring)
{
    enum said said;
    struct view text;
    while (hear(measuring, "Who measures? (Enter alone: not noted)", &said, &text)) {
        if (said == SAID_HELP) {
            lines_say(measuring->revision->lines, REMARK,
                      "A name or a few words, noted beside the readings.");
            continue;
        }
        if (is_reading(measuring, text))
            continue;
        if (said == SAID_NOTHING_KNOWN)
            measuring->by = text;
        return said != SAID_STOP;
    }
    return false;
}

enum round_end measure_ask(struct measuring *measuring)
{
    const struct revision *revision = measuring->revision;
    size_t at;
    measuring->inches = machine_in_inches(&revision->now->machine);
    lines_gap(revision->lines);
    if (!lines_open(revision->lines, NULL) || !ask_begin_with(measuring, &at))
        return ROUND_NOT_BEGUN;
    if (!ask_who(measuring))
        return ROUND_STOPPED;
    return walk(measuring, at);
}
