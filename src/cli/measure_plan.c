/* What a round is made of, before it begins. */
#include "cli/measure.h"

#include "machine/file.h"

enum { FIRST = 2, REST = 5 };

static const char *date_text(struct arena *arena, double seconds)
{
    const struct field_value day = {.state = VALUE_GIVEN, .si = seconds};
    return field_value_text(arena, FIELD_TABLE_MEASURED_ON, &day);
}

static const char *missing_text(struct arena *arena, const struct round_item *item)
{
    const struct finding *wanted = item->wanted;
    struct buffer out;
    buffer_init(&out, arena);
    buffer_format(&out, "Missing: for want of it %s%s%s%s", wanted->rule,
                  wanted->subject ? " (" : "", wanted->subject ? wanted->subject : "",
                  wanted->subject ? ")" : "");
    if (item->rules > 1)
        buffer_format(&out, " and %zu other%s", item->rules - 1, item->rules > 2 ? "s" : "");
    buffer_format(&out, " %s not checked", item->rules > 1 ? "are" : "is");
    if (wanted->hurts == HURTS_PERSON)
        buffer_text(&out, item->rules > 1 ? ", which are about somebody being hurt"
                                          : ", which is about somebody being hurt");
    return buffer_string(&out);
}

static const char *old_text(struct arena *arena, const struct machine *machine,
                            const struct round_item *item)
{
    const struct field_value *work = machine_field(machine, FIELD_MACHINE_LAST_WORKED_ON, 0);
    bool by_machine = work->state == VALUE_GIVEN && item->on < work->si;
    return by_machine
               ? arena_format(arena,
                              "Old: measured on %s, before the work on the machine on %s",
                              date_text(arena, item->on), date_text(arena, work->si))
               : arena_format(arena, "Old: measured on %s, before work on what it hangs on",
                              date_text(arena, item->on));
}

static const char *reason_text(struct measuring *measuring, const struct round_item *item)
{
    struct arena *arena = measuring->revision->run->arena;
    const struct machine *machine = &measuring->revision->now->machine;
    const struct field_value *value =
        machine_field(machine, item->place.field, item->place.record);
    switch (item->reason) {
    case ROUND_MISSING:
        return missing_text(arena, item);
    case ROUND_OLD:
        return old_text(arena, machine, item);
    case ROUND_BETTER:
        return arena_format(arena, "Worth knowing better: %s",
                            worth_text(arena, &item->worth, value->unit));
    case ROUND_NAMED:
        break;
    }
    return value->state == VALUE_GIVEN ? "Named" : "Named; the file does not have it";
}

static void show_item(struct measuring *measuring, size_t number, const struct round_item *item,
                      const char *file)
{
    struct revision *revision = measuring->revision;
    const char *path = revise_path(revision, &item->place);
    if (file)
        lines_say(revision->lines, FIRST, "%s, in %s", path, file);
    else
        lines_say(revision->lines, FIRST, "%zu. %s", number, path);
    lines_say(revision->lines, REST, "%s", field_table[item->place.field].meaning);
    lines_say(revision->lines, REST, "%s.", reason_text(measuring, item));
}

static void show_rest(struct measuring *measuring)
{
    struct lines *lines = measuring->revision->lines;
    const struct round_plan *plan = &measuring->plan;
    if (measuring->elsewhere.rows.count) {
        lines_gap(lines);
        lines_say(
            lines, 0,
            "Not asked for here, since it stands in another file; `proveout revise` sets it "
            "there, for all machines that take that in:");
        for (size_t i = 0; i < measuring->elsewhere.rows.count; i++)
            show_item(measuring, 0, &measuring->elsewhere.rows.items[i].item,
                      measuring->elsewhere.rows.items[i].file);
    }
    if (plan->single || plan->unseen)
        lines_gap(lines);
    if (plan->single)
        lines_say(lines, 0,
                  "%zu measured value%s as one number, so how far %s scatter is not known; "
                  "`proveout measure %s FIELD` takes readings.",
                  plan->single, plan->single == 1 ? " stands" : "s stand",
                  plan->single == 1 ? "it would" : "they would", measuring->revision->path);
    if (plan->unseen)
        lines_say(lines, 0, "%zu more values that were read several times were not looked at.",
                  plan->unseen);
}

void measure_show_plan(struct measuring *measuring)
{
    struct revision *revision = measuring->revision;
    const struct round_plan *plan = &measuring->plan;
    size_t count = plan->items.count;
    if (!count && measuring->is_named)
        lines_say(revision->lines, 0, "%s: none of these is asked for here.", revision->path);
    else if (!count)
        lines_say(revision->lines, 0, "%s: " WALK_NOTHING ".", revision->path);
    else
        lines_say(revision->lines, 0, "%s: %zu value%s to measure%s.", revision->path, count,
                  count == 1 ? "" : "s",
                  count > 1 && !measuring->is_named ? ", the most urgent first" : "");
    for (size_t i = 0; i < count; i++)
        show_item(measuring, i + 1, &plan->items.items[i], NULL);
    show_rest(measuring);
}
