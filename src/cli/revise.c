/* `proveout revise`: changes values in place, and shows what that moves before it is written.
 */
#include "cli/revise_controller.h"
#include "cli/shop_policy.h"

#include <string.h>

/* Arguments. */

/* The `=` between a field and its value: the first outside brackets. */
static const char *find_equals(const char *argument)
{
    int depth = 0;
    for (; *argument; argument++) {
        if (*argument == '=' && depth <= 0)
            return argument;
        depth += (*argument == '[') - (*argument == ']');
    }
    return NULL;
}

/* False: said what is wrong. */
static bool set_argument(struct revision *revision, const char *argument)
{
    struct run *run = revision->run;
    const char *equals = find_equals(argument);
    const char *path = arena_copy(run->arena, argument, (size_t)(equals - argument));
    struct field_place place;
    const char *wrong = machine_file_find(revision->run->arena, revision->now, path, &place);
    if (wrong) {
        run_refuse(run, "%s", wrong);
        return false;
    }
    for (size_t i = 0; i < revision->set.count; i++) {
        const struct field_place *other = &revision->set.items[i];
        if (other->field != place.field || other->record != place.record ||
            (other->part && place.part && other->part != place.part))
            continue;
        run_refuse(run, "%s is given twice", path);
        return false;
    }
    wrong = revise_set(revision, &place, view_of(equals + 1));
    if (wrong)
        run_refuse(run, "%s cannot be set so: %s", path, wrong);
    return !wrong;
}

/* The unit that `FILE units UNIT` asks for; UNIT_BARE where it is no such command line. */
static unit_id units_asked(const struct options *options)
{
    static const struct {
        const char *word, *unit;
    } words[] = {{"inch", "in"}, {"inches", "in"}, {"in", "in"},
                 {"mm", "mm"},   {"metric", "mm"}, {"millimetres", "mm"}};
    if (options->arguments.count != 3 || strcmp(options->arguments.items[1], "units") != 0)
        return UNIT_BARE;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (strcmp(options->arguments.items[2], words[i].word) == 0)
            return unit_read(view_of(words[i].unit));
    return UNIT_BARE;
}

/* Every length in that unit. */
static enum revise_end reunit(struct revision *revision, unit_id unit)
{
    struct run *run = revision->run;
    struct view bytes;
    const char *wrong = machine_file_in_unit(run->arena, revision->now, unit, &bytes);
    if (wrong) {
        run_refuse(run, "the units of %s stay as they are: %s", revision->path, wrong);
        return REVISE_REFUSED;
    }
    if (!view_equal(bytes, revision->now->bytes))
        revision->now = machine_file_with(run->arena, revision->now, bytes);
    revision->reunited = true;
    return REVISE_ASKED;
}

/* Sets what the arguments say, and asks for what they leave open. */
static enum revise_end gather(struct revision *revision)
{
    const struct options *options = &revision->run->options;
    bool puts_right = options->values[OPTION_PUT_RIGHT].given;
    enum revise_end end = REVISE_ASKED;
    if (options->values[OPTION_FROM_CONTROLLER].given) {
        end = revise_from_controller(revision);
        if (end == REVISE_ASKED && puts_right)
            revise_put_right(revision);
        return end;
    }
    unit_id unit = units_asked(options);
    if (unit != UNIT_BARE)
        end = reunit(revision, unit);
    else if (options->arguments.count > 1 &&
             strcmp(options->arguments.items[1], "units") == 0) {
        run_refuse(revision->run, "units wants inch or mm after it, and nothing else");
        return REVISE_REFUSED;
    }
    for (size_t i = 1; unit == UNIT_BARE && i < options->arguments.count; i++)
        if (find_equals(options->arguments.items[i]) &&
            !set_argument(revision, options->arguments.items[i]))
            return REVISE_REFUSED;
    for (size_t i = 1, used = 1;
         unit == UNIT_BARE && i < options->arguments.count && end == REVISE_ASKED; i += used) {
        used = 1;
        if (find_equals(options->arguments.items[i]))
            continue;
        revision->asked = true;
        end = revise_ask(revision, &options->arguments.items[i], options->arguments.count - i,
                         &used);
    }
    if (options->arguments.count == 1 && !puts_right) {
        size_t none;
        revision->asked = true;
        end = revise_ask(revision, NULL, 0, &none);
    }
    if (end == REVISE_ASKED && puts_right)
        revise_put_right(revision);
    return end;
}

enum exit_status revise_finish(struct revision *revision)
{
    struct run *run = revision->run;
    struct file_report after;
    revise_check(revision, revision->now, &after);
    enum exit_status status = run_status(run, revision->books.policy, &after);
    if (!revise_changes(revision)) {
        output_write(run->out, buffer_view(&revision->remarks));
        lines_say(revision->lines, 0, "%s: nothing changes%s.", revision->path,
                  revision->set.count ? "; it says all of this already" : "");
        return !run->options.values[OPTION_OUTPUT].given || revise_save(revision)
                   ? status
                   : EXIT_TROUBLE;
    }
    if (revision->asked)
        lines_gap(revision->lines);
    revise_show(revision, &after);
    output_flush(run->out);
    if (!output_is_alive(run->out) || !revise_may_write(revision))
        return status; /* nobody has seen what would be written */
    return revise_save(revision) ? status : EXIT_TROUBLE;
}

struct revision *revise_open(struct run *run, const char *path)
{
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    struct revision *revision = ARENA_NEW(run->arena, struct revision);
    if (!shop_books_load(run, path, &revision->books) || !run_open_machine(run, path, file))
        return NULL;
    revision->run = run;
    revision->path = path;
    revision->before = revision->now = file;
    revision->lines = ARENA_NEW(run->arena, struct lines);
    lines_init(revision->lines, run);
    buffer_init(&revision->remarks, run->arena);
    if (run->options.values[OPTION_PUT_RIGHT].given)
        revise_put_form_right(revision);
    return run_want_whole(run, revision->now) ? revision : NULL;
}

enum exit_status command_revise(struct run *run)
{
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run, "revise wants a machine file, and FIELD=VALUE after it");
    const char *path = options->arguments.items[0];
    if (strcmp(path, "-") == 0)
        return run_refuse(run, "revise changes a file; standard input is none");
    const char *wrong = revise_refuse_controller(run);
    if (!wrong)
        wrong = revise_refuse_output(run);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    struct revision *revision = revise_open(run, path);
    if (!revision)
        return EXIT_TROUBLE;
    wrong = revise_refuse_why(revision);
    if (wrong)
        return run_refuse(run, "%s", wrong);
    if (options->values[OPTION_TO_CONTROLLER].given)
        return revise_to_controller(revision);
    enum revise_end end = gather(revision);
    if (end == REVISE_STOPPED)
        lines_say(revision->lines, 0, "Stopped: nothing is written.");
    enum exit_status status = end == REVISE_ASKED ? revise_finish(revision) : EXIT_TROUBLE;
    lines_close(revision->lines);
    return status;
}
