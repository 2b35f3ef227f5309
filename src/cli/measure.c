/* `proveout measure`: a round through the machine, from what is worth measuring to the file. */
#include "cli/measure.h"

#include <string.h>

enum { NAMED_MAX = 1000 }; /* values on one command line */

/* --- what is asked for --- */

/* What keeps a value from being measured; NULL: nothing does. */
static const char *wrong_place(struct arena *arena, const struct field_place *place,
                               const char *path)
{
    const struct field *field = &field_table[place->field];
    bool measured = nature_is_measured(field->nature) && field->kind != KIND_DATE;
    if (measured && !place->part)
        return NULL;
    return arena_format(arena,
                        measured ? "%s is half of what is measured; leave .low or .high out"
                                 : "%s is not measured; `proveout revise` sets it",
                        path);
}

struct named {
    struct field_place places[NAMED_MAX];
    size_t count;
};

static void name_place(struct named *named, struct field_place place)
{
    for (size_t k = 0; k < named->count; k++)
        if (named->places[k].field == place.field && named->places[k].record == place.record)
            return;
    named->places[named->count++] = place;
}

/* NULL, or what is wrong. */
static const char *add_named(const struct revision *revision, const char *path,
                             struct named *named)
{
    struct arena *arena = revision->run->arena;
    const struct machine *machine = &revision->now->machine;
    struct field_place found[NAMED_MAX];
    size_t count = machine_resolve(arena, machine, view_of(path), found, NAMED_MAX);
    if (!count)
        return machine_file_no_place(arena, revision->now, path);
    if (count + named->count > NAMED_MAX)
        return "these are too many values for one round";
    for (size_t i = 0; i < count; i++) {
        const char *wrong = wrong_place(arena, &found[i], path);
        if (wrong)
            return wrong;
        name_place(named, machine_home(machine, found[i].field, found[i].record));
    }
    return NULL;
}

/* False: said what is wrong. */
static bool plan_round(struct measuring *measuring)
{
    struct revision *revision = measuring->revision;
    struct run *run = revision->run;
    const struct options *options = &run->options;
    const struct check_options checking = {.books = revision->books.list,
                                           .book_count = revision->books.count,
                                           .today = run_today(run),
                                           .policy = revision->books.policy,
                                           .shared = revision->now->shared};
    struct named *named = ARENA_NEW(run->arena, struct named);
    measuring->is_named = options->arguments.count > 1;
    for (size_t i = 1; i < options->arguments.count; i++) {
        const char *wrong = add_named(revision, options->arguments.items[i], named);
        if (wrong) {
            run_refuse(run, "%s", wrong);
            return false;
        }
    }
    if (measuring->is_named)
        round_name(run->arena, &checking, &revision->now->machine, named->places, named->count,
                   &measuring->plan);
    else
        round_find(run->arena, &checking, &revision->now->machine, &measuring->plan);
    walk_set_apart(run->arena, revision->now, &measuring->plan, &measuring->elsewhere);
    measuring->values =
        ARENA_ARRAY(run->arena, struct measured, measuring->plan.items.count + 1);
    return true;
}

/* --- what goes into the file --- */

bool measured_is_new(const struct measured *value)
{
    return value->text.size ||
           (value->tally.readings.count && !view_is(value->begun, tally_text(&value->tally)));
}

struct view measured_text(const struct measuring *measuring, size_t index)
{
    const struct measured *value = &measuring->values[index];
    return value->text.size ? value->text : view_of(tally_text(&value->tally));
}

/* What could not be put in, as it would be typed. */
static void say_lost(struct measuring *measuring, size_t index, const char *why)
{
    struct revision *revision = measuring->revision;
    const struct round_item *item = &measuring->plan.items.items[index];
    lines_say(revision->lines, 0, "Not put in%s%s: '%s=%.*s'", why ? ", " : "", why ? why : "",
              revise_path(revision, &item->place), VIEW(measured_text(measuring, index)));
}

/* Was everything that the file has and that goes by this day measured anew in this round? */
static bool is_whole(const struct measuring *measuring, enum field_id day, uint32_t record)
{
    const struct machine *machine = &measuring->revision->before->machine;
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        if (round_day((enum field_id)id) != day)
            continue;
        bool is_done = machine_field(machine, (enum field_id)id, record)->state != VALUE_GIVEN;
        for (size_t i = 0; i < measuring->plan.items.count; i++) {
            const struct field_place *place = &measuring->plan.items.items[i].place;
            is_done =
                is_done || (place->field == id && place->record == record &&
                            measuring->values[i].is_done && !measuring->values[i].begun.size);
        }
        if (!is_done)
            return false;
    }
    return true;
}

/* The day of a section becomes today where all that goes by it was measured. */
static void stamp(struct measuring *measuring, enum field_id day, uint32_t record)
{
    struct revision *revision = measuring->revision;
    const struct field_place place = {day, record, 0};
    struct view today = measuring->day;
    if (!today.size || !is_whole(measuring, day, record)) {
        if (machine_field(&revision->now->machine, day, record)->state == VALUE_GIVEN)
            lines_say(revision->lines, 0, "%s stays as it is%s.", revise_path(revision, &place),
                      today.size ? ", since not all that goes by it was measured" : "");
        return;
    }
    const char *wrong = revise_set(revision, &place, today);
    if (wrong)
        lines_say(revision->lines, 0, "%s could not be set to %.*s: %s.",
                  revise_path(revision, &place), VIEW(today), wrong);
    else
        lines_say(revision->lines, 0, "%s becomes %.*s.", revise_path(revision, &place),
                  VIEW(today));
}

static void stamp_all(struct measuring *measuring)
{
    for (size_t i = 0; i < measuring->plan.items.count; i++) {
        const struct field_place *place = &measuring->plan.items.items[i].place;
        enum field_id day = round_day(place->field);
        bool told = day == FIELD_COUNT || !measuring->values[i].is_done;
        for (size_t k = 0; k < i && !told; k++)
            told = measuring->values[k].is_done &&
                   round_day(measuring->plan.items.items[k].place.field) == day &&
                   measuring->plan.items.items[k].place.record == place->record;
        if (!told)
            stamp(measuring, day, place->record);
    }
}

static void put_in(struct measuring *measuring)
{
    struct revision *revision = measuring->revision;
    for (size_t i = 0; i < measuring->plan.items.count; i++) {
        struct measured *value = &measuring->values[i];
        if (!value->is_done)
            continue;
        const char *wrong = revise_set(revision, &measuring->plan.items.items[i].place,
                                       measured_text(measuring, i));
        value->is_done = !wrong;
        if (wrong)
            say_lost(measuring, i, wrong);
    }
    stamp_all(measuring);
}

static enum exit_status end_round(struct measuring *measuring, enum round_end end)
{
    struct revision *revision = measuring->revision;
    if (end == ROUND_NOT_BEGUN)
        return EXIT_CLEAN;
    if (end == ROUND_STOPPED) {
        lines_say(revision->lines, 0, "Stopped: nothing is written.");
        for (size_t i = 0; i < measuring->plan.items.count; i++)
            if (measured_is_new(&measuring->values[i]))
                say_lost(measuring, i, NULL);
        return EXIT_TROUBLE;
    }
    put_in(measuring);
    revision->asked = true;
    return revise_finish(revision);
}

/* What is wrong with the command line; NULL: nothing. */
static const char *wrong_options(const struct options *options)
{
    bool prints = options->values[OPTION_FORM].given;
    bool filled = options->values[OPTION_FILLED].given;
    if (!options->arguments.count)
        return "measure wants a machine file";
    if (strcmp(options->arguments.items[0], "-") == 0)
        return "measure changes a file; standard input is none";
    if (prints && filled)
        return "--form prints a blank form, --filled reads one: give one of them";
    if (filled && options->arguments.count > 1)
        return "a filled form says itself which fields were measured";
    if (options->values[OPTION_OUTPUT].given && !prints)
        return "questions are not put into a file: leave --output out";
    return NULL;
}

static enum exit_status go_round(struct measuring *measuring)
{
    measure_show_plan(measuring);
    return end_round(measuring,
                     measuring->plan.items.count ? measure_ask(measuring) : ROUND_NOT_BEGUN);
}

enum exit_status command_measure(struct run *run)
{
    const struct options *options = &run->options;
    const char *filled = options->values[OPTION_FILLED].text;
    const char *wrong = wrong_options(options);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    struct measuring measuring = {.revision = revise_open(run, options->arguments.items[0]),
                                  .day = run_day(run)};
    if (!measuring.revision)
        return EXIT_TROUBLE;
    wrong = revise_refuse_why(measuring.revision);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    if (!(filled ? measure_take_form(&measuring, filled) : plan_round(&measuring)))
        return EXIT_TROUBLE;
    enum exit_status status = EXIT_CLEAN;
    if (options->values[OPTION_FORM].given)
        measure_print_form(&measuring);
    else
        status = filled ? end_round(&measuring, ROUND_ENDED) : go_round(&measuring);
    lines_close(measuring.revision->lines);
    return status;
}
