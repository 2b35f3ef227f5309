/* The moves of a cutter change for programs: format proveout-dryrun, version 1; clearances are
 * those of the worst case. */
#include "report/internal.h"

#include <math.h>

#include "report/json_writer.h"
#include "report/tell.h"

enum { FORMAT_VERSION = 1 };

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

/* The step in sentences, as people read it. */
static void add_told(struct json *json, const struct teller *teller, uint32_t index)
{
    struct told_step step;
    struct teller telling = *teller;
    tell_step(&telling, index, &step);
    json_key(json, "number"), json_count(json, step.number);
    json_key(json, "told"), json_open(json, '{');
    json_key(json, "cutter"), json_text(json, step.cutter);
    json_key(json, "spindle"), json_text(json, step.spindle);
    json_key(json, "danger"), json_bool(json, step.danger);
    json_key(json, "lines"), json_open(json, '[');
    for (size_t i = 0; i < step.lines.count; i++) {
        const struct told_line *line = &step.lines.items[i];
        json_open(json, '{');
        json_key(json, "topic"), json_text(json, tell_topic(line->topic));
        json_key(json, "text");
        json_text(json, arena_format(teller->arena, "%s%s", line->label, line->text));
        json_close(json, '}');
    }
    json_close(json, ']');
    json_close(json, '}');
}

static void add_list(struct json *json, const char *key, const struct told_list *list)
{
    json_key(json, key), json_open(json, '[');
    for (size_t i = 0; i < list->items.count; i++)
        json_text(json, list->items.items[i]);
    json_close(json, ']');
}

static void add_move(struct json *json, const struct teller *teller, uint32_t index)
{
    const struct dryrun *dryrun = teller->dryrun;
    const struct move *move = &dryrun->change->moves[index];
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
    add_told(json, teller, index);
    json_close(json, '}');
}

static void add_json(const struct layout *layout, const struct report *report)
{
    const struct dryrun *dryrun = report->moves;
    struct buffer *out = layout->out;
    const struct change *change = dryrun->change;
    struct json json = {.out = out};
    struct told_list cautions = {0}, total = {0};
    struct teller teller;
    teller_open(&teller, out->arena, dryrun);
    tell_cautions(&teller, &cautions);
    tell_total(&teller, &total);
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
        json_text(&json, tell_missing(out->arena, dryrun, i));
    json_close(&json, ']');
    add_list(&json, "cautions", &cautions);
    add_list(&json, "total", &total);
    json_key(&json, "moves"), json_open(&json, '[');
    for (uint32_t i = 0; i < change->count; i++)
        add_move(&json, &teller, i);
    json_close(&json, ']');
    json_close(&json, '}');
    buffer_byte(out, '\n');
}

const struct report_writer moves_json = {.file = add_json};
