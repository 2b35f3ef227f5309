/* `proveout window`: within what range a number keeps every rule. */
#include <string.h>

#include "cli/books.h"
#include "cli/machine_file.h"
#include "cli/trouble.h"
#include "text/escape.h"

enum { PLACES_MAX = 10000 }; /* values that one name may stand for */

/* One file and what is asked about it. */
struct windows {
    struct run *run;
    struct machine_file file;
    struct window_asking asking;
    VECTOR(struct window) found;
};

static bool is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

static bool add(struct windows *windows, const struct field_place *place)
{
    struct window window;
    if (!window_find(&windows->asking, place->field, place->record, place->part, &window))
        return false;
    VECTOR_ADD(windows->run->arena, &windows->found, window);
    return true;
}

/* Every chosen number that the file gives. */
static void add_chosen(struct windows *windows)
{
    const struct machine *machine = &windows->file.machine;
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        if (field_table[id].nature != NATURE_CHOSEN)
            continue;
        for (uint32_t i = 0; i < machine->groups[field_table[id].group].count; i++) {
            struct field_place place = {id, i, 0};
            if (is_known(machine_field(machine, id, i)))
                (void)add(windows, &place);
        }
    }
}

/* What a user names, one value or that of each record.  False: said why not. */
static bool add_named(struct windows *windows, const char *path)
{
    struct run *run = windows->run;
    struct field_place *places = ARENA_ARRAY(run->arena, struct field_place, PLACES_MAX);
    size_t count =
        machine_resolve(run->arena, &windows->file.machine, view_of(path), places, PLACES_MAX);
    if (!count)
        return run_refuse(run, "%s", machine_file_no_place(run->arena, &windows->file, path)) ==
               EXIT_CLEAN;
    for (size_t i = 0; i < count; i++) {
        if (add(windows, &places[i]))
            continue;
        bool pair = field_table[places[i].field].kind == KIND_PAIR;
        run_refuse(run, "%s is no single number, so it has no window%s", path,
                   pair ? "; name .low or .high of it, where it is given" : "");
        return false;
    }
    return true;
}

static enum exit_status finish(struct windows *windows)
{
    struct run *run = windows->run;
    const struct report_windows found = {windows->found.items, windows->found.count};
    run_report(run, &(struct report){REPORT_WINDOWS, windows->file.path, {.windows = &found}});
    size_t errors = machine_file_errors(&windows->file);
    if (errors) {
        output_flush(run->out);
        trouble_say(
            run->arena,
            "%s has %zu mistake%s in it; what is mistaken counts as not given here, and "
            "`proveout check` tells where",
            windows->file.path, errors, errors == 1 ? "" : "s");
        return EXIT_FINDINGS;
    }
    for (size_t i = 0; i < windows->found.count; i++)
        if (!windows->found.items[i].holds)
            return EXIT_FINDINGS;
    return EXIT_CLEAN;
}

enum exit_status command_window(struct run *run)
{
    const struct options *options = &run->options;
    if (!options->arguments.count)
        return run_refuse(run, "window wants a machine file, and may be given fields after it");
    if (machine_file_is_output(run))
        return EXIT_TROUBLE;
    struct books books;
    struct windows *windows = ARENA_NEW(run->arena, struct windows);
    windows->run = run;
    if (!books_load(run, &books) ||
        !machine_file_open(run, options->arguments.items[0], &windows->file))
        return EXIT_TROUBLE;
    struct runner runner;
    struct instance_list waived;
    runner_init(&runner, run->arena, books.list, books.count);
    machine_file_waived(run, &windows->file, &runner, &waived);
    windows->asking =
        (struct window_asking){&runner, run->arena, &windows->file.machine, &waived};
    for (size_t i = 1; i < options->arguments.count; i++)
        if (!add_named(windows, options->arguments.items[i]))
            return EXIT_TROUBLE;
    if (options->arguments.count == 1)
        add_chosen(windows);
    return finish(windows);
}
