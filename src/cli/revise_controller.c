/* Taking numbers from the controller's own files, by the agreements of a machine file.
 *
 * Each number is told with its line there before the difference is shown.  Where two agreements
 * want different numbers in one place, or one cannot be told, nothing is taken by it.
 */
#include "cli/revise_controller.h"

#include <string.h>

#include "rules/agree.h"
#include "text/escape.h"
#include "text/excerpt.h"

enum { SHOWN_CELLS = 60, TOLD_CELLS = 40, EXCERPT_LEAST = 40 };

const char *revise_refuse_controller(const struct run *run)
{
    const struct option_value *values = run->options.values;
    bool from = values[OPTION_FROM_CONTROLLER].given, to = values[OPTION_TO_CONTROLLER].given;
    const struct options *options = &run->options;
    for (size_t i = 1; (from || to) && i < options->arguments.count; i++)
        if (strchr(options->arguments.items[i], '='))
            return arena_format(
                run->arena, "with --%s-controller fields are named without values; %s has one",
                from ? "from" : "to",
                escape_short(run->arena, view_of(options->arguments.items[i]), SHOWN_CELLS));
    if (from && to)
        return "--from-controller and --to-controller are opposite ways: give one";
    if (to &&
        (values[OPTION_WRITE].given || values[OPTION_LOG].given || values[OPTION_WHY].given ||
         values[OPTION_PUT_RIGHT].given || values[OPTION_HERE].given))
        return "--to-controller changes no file: of --write, --log, --why, --here and --put-right it takes none; --output names the copy";
    return NULL;
}

/* --- which agreements --- */

static struct view field_of(const struct revision *revision, uint32_t record)
{
    const struct field_value *value =
        machine_field(&revision->now->machine, FIELD_AGREEMENT_FIELD, record);
    return value->state == VALUE_GIVEN ? value->text : (struct view){0};
}

const char *meant_name(const struct revision *revision, const struct agreement_seen *seen)
{
    struct arena *arena = revision->run->arena;
    struct view field = field_of(revision, seen->record);
    return arena_format(arena, "agrees_with[%u]%s%s", (unsigned)seen->record,
                        field.size ? ", about " : "",
                        field.size ? escape_short(arena, field, SHOWN_CELLS) : "");
}

const char *meant_place(const struct revision *revision, const struct agreement_seen *seen,
                        size_t match)
{
    struct arena *arena = revision->run->arena;
    struct place place =
        source_place(seen->source, seen->spans.items[match].start, COLUMN_CODE_POINTS);
    return arena_format(arena, "%s:%u:%u", escape_short(arena, seen->source->name, SHOWN_CELLS),
                        (unsigned)place.line, (unsigned)place.column);
}

static bool is_about(const struct revision *revision, const struct agreement_seen *seen,
                     const struct field_place *named)
{
    struct field_place places[2];
    struct field_place place = seen->place;
    if (seen->state == AGREEMENT_UNTOLD) {
        struct view field = field_of(revision, seen->record);
        if (!field.size || machine_resolve(revision->run->arena, &revision->now->machine, field,
                                           places, 2) != 1)
            return false;
        place = places[0];
    }
    return place.field == named->field && place.record == named->record &&
           (!named->part || named->part == place.part);
}

/* Marks those about one field that is named.  False: said what is wrong. */
static bool mean(struct revision *revision, const char *path, struct meant_agreements *out)
{
    struct run *run = revision->run;
    struct field_place place;
    bool any = false;
    const char *wrong = machine_file_find(run->arena, revision->now, path, &place);
    for (size_t i = 0; !wrong && i < out->list.items.count; i++)
        if (is_about(revision, &out->list.items.items[i], &place))
            any = out->is_meant[i] = true;
    if (wrong)
        run_refuse(run, "%s", wrong);
    else if (!any)
        run_refuse(run, "no agreement of %s is about %s", revision->path,
                   revise_path(revision, &place));
    return any;
}

bool meant_open(struct revision *revision, struct meant_agreements *out)
{
    struct run *run = revision->run;
    const struct options *options = &run->options;
    out->beside = (struct beside){revision->path};
    out->reader = (struct file_reader){&out->beside, beside_read};
    agreements_look(run->arena, &revision->now->machine, &out->reader, &out->list);
    out->is_meant = ARENA_ARRAY(run->arena, bool, out->list.items.count + 1);
    if (!out->list.items.count) {
        run_refuse(
            run,
            "%s has no agreement with a file of the controller; `proveout explain agrees_with` tells what one is",
            revision->path);
        return false;
    }
    if (options->arguments.count == 1)
        memset(out->is_meant, true, out->list.items.count);
    for (size_t i = 1; i < options->arguments.count; i++)
        if (!mean(revision, options->arguments.items[i], out))
            return false;
    return true;
}

/* --- taking --- */

static bool is_same_place(const struct field_place *a, const struct field_place *b)
{
    return a->field == b->field && a->record == b->record &&
           (a->part == b->part || !a->part || !b->part);
}

/* Another agreement about the same place that finds something else; NULL: none. */
static const struct agreement_seen *find_rival(const struct meant_agreements *meant,
                                               size_t index)
{
    const struct agreement_seen *seen = &meant->list.items.items[index];
    for (size_t i = 0; i < meant->list.items.count; i++) {
        const struct agreement_seen *other = &meant->list.items.items[i];
        if (i == index || other->state == AGREEMENT_UNTOLD ||
            !is_same_place(&seen->place, &other->place))
            continue;
        bool differs = seen->is_number && other->is_number
                           ? seen->si < other->si || seen->si > other->si
                           : !view_equal(seen->found, other->found);
        if (differs)
            return other;
    }
    return NULL;
}

/* The line there, with what was found marked. */
static void show_line(struct revision *revision, const struct agreement_seen *seen)
{
    struct run *run = revision->run;
    struct buffer out;
    size_t width = run_layout(run).width;
    buffer_init(&out, run->arena);
    excerpt_add(&out, seen->source, seen->spans.items[0],
                width < EXCERPT_LEAST ? EXCERPT_LEAST : width);
    lines_show(revision->lines, buffer_view(&out));
}

/* The two halves of a pair that the file does not give can only be set together. */
static const struct agreement_seen *find_half(const struct meant_agreements *meant,
                                              const struct agreement_seen *seen)
{
    for (size_t i = 0; i < meant->list.items.count; i++) {
        const struct agreement_seen *other = &meant->list.items.items[i];
        if (meant->is_meant[i] && other->state == AGREEMENT_LACKING &&
            other->place.field == seen->place.field &&
            other->place.record == seen->place.record &&
            other->place.part + seen->place.part == 3 && !find_rival(meant, i))
            return other;
    }
    return NULL;
}

static const char *set_text(struct revision *revision, const struct meant_agreements *meant,
                            const struct agreement_seen *seen, const char *text)
{
    struct arena *arena = revision->run->arena;
    struct machine *machine = &revision->now->machine;
    struct field_place place = seen->place;
    const char *why;
    if (seen->state == AGREEMENT_LACKING && place.part &&
        machine_field(machine, place.field, place.record)->state != VALUE_GIVEN) {
        const struct agreement_seen *half = find_half(meant, seen);
        const char *other = half ? carry_to_machine(arena, machine, half, &why) : NULL;
        if (!other)
            return "its other half is not given, and no agreement finds it";
        text = place.part == 1 ? arena_format(arena, "[%s, %s]", text, other)
                               : arena_format(arena, "[%s, %s]", other, text);
        place.part = 0;
    }
    return revise_set(revision, &place, view_of(text));
}

/* Takes one; NULL, or why not. */
static const char *take(struct revision *revision, const struct meant_agreements *meant,
                        size_t index)
{
    struct run *run = revision->run;
    const struct agreement_seen *seen = &meant->list.items.items[index];
    const struct agreement_seen *rival = find_rival(meant, index);
    const char *why = NULL, *was = machine_file_text(run->arena, revision->now, &seen->place);
    if (rival)
        return arena_format(run->arena, "%s finds %s instead", meant_name(revision, rival),
                            escape_short(run->arena, rival->found, TOLD_CELLS));
    const char *text = carry_to_machine(run->arena, &revision->now->machine, seen, &why);
    if (!text)
        return why;
    why = set_text(revision, meant, seen, text);
    if (why)
        return why;
    const char *path = revise_path(revision, &seen->place);
    lines_say(revision->lines, 0, "%s becomes %s, from %s; it was %s.", path,
              escape_short(run->arena, view_of(text), TOLD_CELLS),
              meant_place(revision, seen, 0),
              *was ? escape_short(run->arena, view_of(was), TOLD_CELLS) : "not given");
    show_line(revision, seen);
    return NULL;
}

enum revise_end revise_from_controller(struct revision *revision)
{
    struct run *run = revision->run;
    struct meant_agreements *meant = ARENA_NEW(run->arena, struct meant_agreements);
    size_t held = 0;
    if (!meant_open(revision, meant))
        return REVISE_REFUSED;
    for (size_t i = 0; i < meant->list.items.count; i++) {
        const struct agreement_seen *seen = &meant->list.items.items[i];
        if (!meant->is_meant[i])
            continue;
        if (seen->state == AGREEMENT_HELD) {
            held++;
            continue;
        }
        const char *why =
            seen->state == AGREEMENT_UNTOLD ? seen->trouble : take(revision, meant, i);
        if (why)
            lines_say(revision->lines, 0, "Nothing is taken by %s: %s.",
                      meant_name(revision, seen), why);
    }
    if (held)
        lines_say(revision->lines, 0, "%zu agreement%s already.", held,
                  held == 1 ? " holds" : "s hold");
    revision->asked = true;
    return REVISE_ASKED;
}
