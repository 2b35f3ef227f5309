/* `proveout names`: what a shell completes, one candidate a line.
 *
 * Whoever presses a key for it has typed half a command: nothing is said of what cannot be
 * read, nothing but a file is waited for, and what no line can hold is left out.
 */
#include "cli/command.h"
#include "cli/input.h"
#include "report/explain.h"
#include "text/escape.h"

enum {
    NAMES_MAX = 10000, /* nobody looks through more */
    NAME_CELLS_MAX = 200,
    TOLD_CELLS = 60, /* of what stands behind a name */
};

struct names {
    struct run *run;
    struct buffer out;
    size_t count;
};

/* A name that has anything in it that would not show cannot be typed either. */
static void add_name(struct names *names, const char *name, struct view told)
{
    struct arena *arena = names->run->arena;
    const char *shown = escape_short(arena, view_of(name), NAME_CELLS_MAX);
    if (names->count == NAMES_MAX || !view_is(view_of(name), shown))
        return;
    names->count++;
    buffer_format(&names->out, "%s\t%s\n", name, escape_short(arena, told, TOLD_CELLS));
}

static void add_rules(struct names *names)
{
    const struct rule_texts *texts = rule_texts_read(names->run->arena, NULL, 0);
    struct arena *arena = names->run->arena;
    struct rule_summary rule;
    for (size_t i = 0; rule_summary(arena, texts, i, &rule); i++)
        add_name(names, arena_copy(arena, rule.name.data, rule.name.size), view_of(rule.says));
}

/* The fields that there are, by their general paths. */
static void add_all_fields(struct names *names)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        add_name(names, field_path(names->run->arena, (enum field_id)id),
                 view_of(field_table[id].meaning));
}

/* Does a path in brackets have the whole name of its record, as the file has it? */
static bool has_whole_name(const char *path, struct view name)
{
    const char *equals = strchr(path, '=');
    struct view inside = view_of(equals ? equals + 1 : "");
    struct view begun = {inside.data, name.size};
    return name.size && inside.size > name.size && inside.data[name.size] == ']' &&
           view_equal(begun, name) && !memchr(name.data, ']', name.size);
}

/* The path of a value by which people know it: "cutters[number=3].stickout". */
static const char *path_of(struct arena *arena, const struct machine *machine, enum field_id id,
                           uint32_t record)
{
    enum field_id by = field_calling(field_table[id].group);
    const char *path = machine_path(arena, machine, id, record, 0);
    if (by == FIELD_COUNT)
        return path;
    const struct field_value *name = machine_field(machine, by, record);
    const char *lasting = machine_lasting_path(arena, machine, path);
    bool plain = name->state == VALUE_GIVEN &&
                 (field_table[by].kind == KIND_COUNT || has_whole_name(lasting, name->text));
    return plain ? lasting : path;
}

/* The fields of everything that the file has. */
static void add_fields(struct names *names, const struct machine *machine)
{
    for (unsigned i = 0; i < FIELD_COUNT && names->count < NAMES_MAX; i++) {
        enum field_id id = (enum field_id)i;
        uint32_t records = machine->groups[field_table[id].group].written;
        for (uint32_t record = 0; record < records && names->count < NAMES_MAX; record++)
            if (machine_is_written(machine, id, record))
                add_name(names, path_of(names->run->arena, machine, id, record),
                         view_of(field_table[id].meaning));
    }
}

static void add_cutters(struct names *names, const struct machine *machine)
{
    const struct machine_group *cutters = &machine->groups[GROUP_CUTTER];
    for (uint32_t i = 0; i < cutters->written && names->count < NAMES_MAX; i++) {
        const struct field_value *number = machine_field(machine, FIELD_CUTTER_NUMBER, i);
        const struct field_value *what = machine_field(machine, FIELD_CUTTER_DESCRIPTION, i);
        if (number->state == VALUE_GIVEN)
            add_name(names, field_value_text(names->run->arena, FIELD_CUTTER_NUMBER, number),
                     what->state == VALUE_GIVEN ? what->text : (struct view){0});
    }
}

/* As far as it can be read, and only a file: nobody waits for a pipe at the touch of a key. */
static bool read_quietly(struct run *run, const char *path, struct machine_file *out)
{
    const struct input input = {.path = path, .walked = true};
    struct view bytes;
    const char *why;
    if (!file_is_plain(path) || input_read(&input, run->arena, &bytes, &why) != INPUT_READ)
        return false;
    struct shelf *shelf = ARENA_NEW(run->arena, struct shelf);
    shelf_set(shelf, run->arena, &input, NULL);
    machine_file_read(run->arena, path, bytes, &shelf->files, out);
    return true;
}

enum exit_status command_names(struct run *run)
{
    const size_t count = run->options.arguments.count;
    const char *const *words = run->options.arguments.items;
    const struct view what = view_of(count ? words[0] : "");
    const bool rules = view_is(what, "rules"), cutters = view_is(what, "cutters");
    if (!rules && !cutters && !view_is(what, "fields"))
        return run_refuse(run, "names wants rules, fields or cutters after it");
    if (rules && count > 1)
        return run_refuse(run, "names wants nothing after rules");
    if (count > 2 || (cutters && count < 2))
        return run_refuse(run, "names wants one machine file after %s", words[0]);
    struct names names = {.run = run};
    buffer_init(&names.out, run->arena);
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    if (count == 2 && !read_quietly(run, words[1], file))
        return EXIT_TROUBLE;
    if (rules)
        add_rules(&names);
    else if (cutters)
        add_cutters(&names, &file->machine);
    else if (count == 2)
        add_fields(&names, &file->machine);
    else
        add_all_fields(&names);
    output_write(run->out, buffer_view(&names.out));
    return EXIT_CLEAN;
}
