/* The windows of numbers of one file. */
#include "library/machine_file.h"

#include "rules/search.h"

enum { PLACES_MAX = 10000 }; /* values that one name may stand for */

/* What is under way. */
struct windows {
    struct window_question question;
    struct machine_file *file;
    VECTOR(struct window) found;
};

void machine_file_waived(struct arena *arena, struct machine_file *file, double today,
                         struct runner *runner, struct instance_list *out)
{
    waived_failures(runner, arena, &file->machine, &file->source, today, out);
}

static bool is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

static bool add(struct windows *windows, const struct field_place *place)
{
    struct window window;
    if (!window_find(&windows->question, place->field, place->record, place->part, &window))
        return false;
    VECTOR_ADD(windows->question.arena, &windows->found, window);
    return true;
}

/* Every chosen number that the file gives. */
static void add_chosen(struct windows *windows)
{
    const struct machine *machine = &windows->file->machine;
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

/* One value, or that of each record. */
static const char *add_named(struct windows *windows, const char *path)
{
    struct arena *arena = windows->question.arena;
    struct field_place *places = ARENA_ARRAY(arena, struct field_place, PLACES_MAX);
    size_t count =
        machine_resolve(arena, &windows->file->machine, view_of(path), places, PLACES_MAX);
    if (!count)
        return machine_file_no_place(arena, windows->file, path);
    for (size_t i = 0; i < count; i++) {
        if (add(windows, &places[i]))
            continue;
        if (machine_is_read_once(&windows->file->machine, places[i].field, places[i].record))
            return arena_format(
                arena,
                "%s has no window: a setter that this change does not use is looked at "
                "only where it stands",
                path);
        bool pair = field_table[places[i].field].kind == KIND_PAIR;
        return arena_format(arena, "%s is no single number, so it has no window%s", path,
                            pair ? "; name .low or .high of it, where it is given" : "");
    }
    return NULL;
}

const char *machine_file_windows(struct arena *arena, const struct check_options *options,
                                 struct machine_file *file, const char *const *paths,
                                 size_t count, struct report_windows *out)
{
    struct runner *runner = ARENA_NEW(arena, struct runner);
    struct instance_list waived;
    runner_init(runner, arena, options->books, options->book_count);
    machine_file_waived(arena, file, options->today, runner, &waived);
    struct windows windows = {
        .question = {runner, arena, &file->machine, &waived},
        .file = file,
    };
    const char *wrong = NULL;
    for (size_t i = 0; i < count && !wrong; i++)
        wrong = add_named(&windows, paths[i]);
    if (!count)
        add_chosen(&windows);
    *out = (struct report_windows){windows.found.items, windows.found.count};
    return wrong;
}
