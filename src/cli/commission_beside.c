/* Numbers that a shop's list of agreements finds in the files beside a machine file.
 *
 * The files lie in one folder, which is the machine file's or below it, and are read as those
 * of agreements are: no link, nothing outside.  Each number is found as the agreement that it
 * would be finds it, in a machine file of nothing else.
 */
#include "cli/commission_beside.h"

#include <stdlib.h>
#include <string.h>

#include "ask/spoken.h"
#include "cli/input.h"
#include "cli/shared_list.h"
#include "formula/pattern.h"
#include "platform/platform.h"
#include "rules/agree.h"
#include "text/escape.h"
#include "text/excerpt.h"

enum { FILES_MAX = 1000, SHOWN_CELLS = 60, LINE_CELLS = 50 };

/* Which unit a file gives quantities of one kind in, as somebody said. */
struct said_unit {
    struct view file;
    struct dimension dimension;
    const char *unit;
};

struct looking {
    struct lines *lines;
    struct arena *arena;
    struct beside beside;
    const char *folder;
    const char *below; /* of the folder from the machine file's: "" or "controller/" */
    struct shared_agreements list;
    VECTOR(const char *) names;
    VECTOR(struct said_unit) units;
    struct found_beside *out;
};

/* --- the folder --- */

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static void add_name(void *user, const char *name)
{
    struct looking *search = user;
    if (search->names.count <= FILES_MAX)
        VECTOR_ADD(search->arena, &search->names,
                   arena_copy(search->arena, name, strlen(name)));
}

static const char *read_folder(struct looking *search)
{
    int error = folder_list(search->folder, add_name, search);
    if (error)
        return error_reason(search->arena, error);
    if (search->names.count > FILES_MAX)
        return "there are too many files in it";
    if (search->names.count)
        qsort(search->names.items, search->names.count, sizeof *search->names.items, by_name);
    return NULL;
}

/* Is a file meant?  One whose name begins with a full stop only where the pattern does so. */
static bool is_meant(struct arena *arena, const struct shared_agreement *by,
                     struct pattern *names, const char *name)
{
    struct pattern_budget budget = PATTERN_BUDGET;
    size_t match[2], value[2];
    if (name[0] == '.' && !view_starts(by->file, "."))
        return false;
    return names ? pattern_search(names, pattern_text(arena, view_of(name)), 0, &budget, match,
                                  value) == PATTERN_MATCH
                 : view_is(by->file, name);
}

/* --- one number --- */

/* The record that a path names by its number, so that it is there to be found. */
static void add_record(struct buffer *out, struct view field)
{
    const char *open = "cutters[number=";
    if (!view_starts(field, open))
        return;
    struct view number = view_skip(field, strlen(open));
    size_t size = 0;
    while (size < number.size && number.data[size] >= '0' && number.data[size] <= '9')
        size++;
    buffer_format(out, "cutters: [{number: %.*s}]\n", (int)size, number.data);
}

static void add_text(struct buffer *out, const char *key, struct view text)
{
    buffer_format(out, ", %s: ", key);
    escape_quoted(out, text);
}

/* Looks at one entry in one file with this unit. */
static struct agreement_seen look(struct looking *search, const struct shared_agreement *by,
                                  struct view file, const char *unit, struct machine_file *out)
{
    const struct file_reader reader = {&search->beside, beside_read};
    struct agreement_list list;
    struct buffer text;
    buffer_init(&text, search->arena);
    buffer_text(&text, "proveout: 1\n");
    add_record(&text, by->field);
    buffer_text(&text, "agrees_with: [{file: ");
    escape_quoted(&text, file);
    add_text(&text, "pattern", by->pattern);
    add_text(&text, "field", by->field);
    if (*unit)
        add_text(&text, "unit", view_of(unit));
    buffer_text(&text, "}]\n");
    machine_file_read(search->arena, search->beside.path, buffer_view(&text), NULL, out);
    agreements_look(search->arena, &out->machine, &reader, &list);
    return list.items.count ? list.items.items[0]
                            : (struct agreement_seen){.trouble = "it cannot be looked for"};
}

/* The unit that this file gives such numbers in, asked for once.  NULL: the answers have come
 * to an end. */
static const char *ask_unit(struct looking *search, struct view file,
                            struct dimension dimension, const char *found)
{
    struct lines *lines = search->lines;
    struct view text, rest;
    for (size_t i = 0; i < search->units.count; i++)
        if (view_equal(search->units.items[i].file, file) &&
            dimension_equal(search->units.items[i].dimension, dimension))
            return search->units.items[i].unit;
    const char *question = arena_format(
        search->arena,
        "In which unit does %s give a %s, as %s? (%s or what it is; nothing is taken for granted)",
        escape_short(search->arena, file, SHOWN_CELLS),
        dimension_name(dimension, search->arena), found, unit_text(unit_default(dimension)));
    while (lines_ask(lines, question, &text)) {
        unit_id unit = unit_read(text);
        if (unit != UNIT_UNKNOWN && unit != UNIT_BARE && unit_fits(unit, dimension)) {
            const struct said_unit said = {file, dimension,
                                           arena_copy(search->arena, text.data, text.size)};
            VECTOR_ADD(search->arena, &search->units, said);
            return said.unit;
        }
        if (spoken_word(search->arena, text, &rest) == SAID_STOP)
            return NULL;
        lines_say(lines, 4, "That is no unit of it.");
    }
    return NULL;
}

static const char *line_of(struct looking *search, const struct agreement_seen *seen,
                           struct place place)
{
    struct buffer out;
    const struct span line = source_line(seen->source, place.line);
    const struct span span = seen->spans.items[0];
    buffer_init(&out, search->arena);
    excerpt_line(&out, source_slice(seen->source, line),
                 (struct span){span.start - line.start, span.end - line.start}, LINE_CELLS);
    return buffer_string(&out);
}

static void add_found(struct looking *search, const struct shared_agreement *by,
                      struct view file, const char *unit, const struct agreement_seen *seen,
                      const char *text)
{
    const struct place place =
        source_place(seen->source, seen->spans.items[0].start, COLUMN_CODE_POINTS);
    const struct ask_found shown = {
        arena_copy(search->arena, by->field.data, by->field.size), text,
        arena_format(search->arena, "%s:%u", escape_short(search->arena, file, SHOWN_CELLS),
                     (unsigned)place.line),
        line_of(search, seen, place)};
    const struct found_agreement agreement = {by, file, unit};
    VECTOR_ADD(search->arena, &search->out->shown, shown);
    VECTOR_ADD(search->arena, &search->out->agreements, agreement);
}

static void say_not_offered(struct looking *search, const struct shared_agreement *by,
                            struct view file, const char *why)
{
    lines_say(search->lines, 0, "%s:%u, about %s in %s, is not offered: %s.", search->list.name,
              (unsigned)by->line, escape_short(search->arena, by->field, SHOWN_CELLS),
              escape_short(search->arena, file, SHOWN_CELLS), why);
}

/* False: the answers have come to an end. */
static bool find(struct looking *search, const struct shared_agreement *by, struct view file)
{
    struct arena *arena = search->arena;
    struct machine_file *machine = ARENA_NEW(arena, struct machine_file);
    const struct dimension dimension = field_table[field_find(by->field)].dimension;
    const char *unit = arena_copy(arena, by->unit.data, by->unit.size), *why = NULL;
    struct agreement_seen seen = look(search, by, file, unit, machine);
    if (seen.state == AGREEMENT_UNTOLD && !*unit && !dimension_is_none(dimension)) {
        /* is it the unit alone that is wanting? */
        const char *usual = unit_text(unit_default(dimension));
        const struct agreement_seen other = look(search, by, file, usual, machine);
        if (other.state == AGREEMENT_LACKING) {
            unit = ask_unit(search, file, dimension,
                            escape_short(arena, other.found, SHOWN_CELLS));
            if (!unit)
                return false;
            seen = look(search, by, file, unit, machine);
        }
    }
    if (seen.state != AGREEMENT_LACKING) {
        say_not_offered(search, by, file, seen.trouble ? seen.trouble : "it is given already");
        return true;
    }
    const char *text = carry_to_machine(arena, &machine->machine, &seen, &why);
    if (text && seen.place.part)
        why =
            "it is one half of what a question asks for; `proveout revise` takes it afterwards";
    if (text && !why)
        add_found(search, by, file, unit, &seen, text);
    else
        say_not_offered(search, by, file, why);
    return true;
}

/* --- all of them --- */

static const char *set_up(struct looking *search, const char *path, const char *folder)
{
    struct arena *arena = search->arena;
    const char *below, *home = path ? input_folder_of(arena, path) : NULL;
    if (!path)
        return "--beside wants the name of the machine file, in whose folder it looks";
    search->beside = (struct beside){path};
    search->folder = folder;
    const char *wrong = input_below(arena, home, folder, &below);
    if (wrong && !file_is_same(home, folder))
        return wrong;
    search->below = *below ? arena_format(arena, "%s/", below) : "";
    wrong = read_folder(search);
    return wrong ? arena_format(arena, "%s cannot be looked into: %s", folder, wrong) : NULL;
}

bool found_open(struct lines *lines, const char *path, struct found_beside *out)
{
    struct run *run = lines->run;
    const struct option_value *values = run->options.values;
    struct looking search = {.lines = lines, .arena = run->arena, .out = out};
    const char *list = values[OPTION_SHARED].text, *folder = values[OPTION_BESIDE].text;
    *out = (struct found_beside){0};
    const char *wrong = !folder && list ? "--shared goes with --beside here" : NULL;
    if (!wrong && folder)
        wrong = set_up(&search, path, folder);
    if (wrong)
        run_refuse(run, "%s", wrong);
    if (wrong || !folder)
        return !wrong;
    if (!list)
        list = arena_format(run->arena, "%s/" AGREEMENTS_NAME, folder);
    if (!shared_list_read(run, list, &search.list))
        return false;
    for (size_t i = 0; i < search.list.count; i++) {
        const struct shared_agreement *by = &search.list.items[i];
        struct pattern *names = pattern_of_names(run->arena, by->file);
        for (size_t k = 0; k < search.names.count; k++) {
            const char *name = search.names.items[k];
            const char *file = arena_format(run->arena, "%s%s", search.below, name);
            if (!is_meant(run->arena, by, names, name))
                continue;
            if (!find(&search, by, view_of(file))) {
                lines_say(lines, 0, "Stopped: nothing is written.");
                return false;
            }
        }
    }
    lines_say(lines, 0, "%zu number%s found beside, and offered at the question of each.",
              out->shown.count, out->shown.count == 1 ? " is" : "s are");
    return true;
}

/* --- writing --- */

const char *found_write(struct arena *arena, const struct found_beside *found,
                        const struct ask *ask, const char *path, struct view *bytes)
{
    for (size_t i = 0; i < found->shown.count; i++) {
        const struct found_agreement *one = &found->agreements.items[i];
        const struct tree *tree = tree_of(arena, view_of(path), *bytes);
        const struct tree_node *list = tree_at(tree, view_of("agrees_with"));
        const struct {
            const char *key;
            struct view text;
        } parts[] = {{"file", one->file},
                     {"pattern", one->by->pattern},
                     {"unit", view_of(one->unit)},
                     {"field", one->by->field},
                     {"within", one->by->within}};
        unsigned at =
            list && tree_resolve(list)->kind == TREE_LIST ? tree_resolve(list)->count : 0;
        if (!ask_took(ask, arena, i))
            continue;
        for (size_t k = 0; k < sizeof parts / sizeof *parts; k++) {
            const char *place = arena_format(arena, "agrees_with[%u].%s", at, parts[k].key);
            const char *wrong = parts[k].text.size ? field_write(arena, tree, place,
                                                                 parts[k].text, false, bytes)
                                                   : NULL;
            if (wrong)
                return wrong;
            tree = tree_of(arena, view_of(path), *bytes);
        }
    }
    return NULL;
}

void found_say_left(struct lines *lines, const struct found_beside *found)
{
    struct arena *arena = lines->run->arena;
    struct buffer left;
    buffer_init(&left, arena);
    for (size_t i = 0; i < found->shown.count; i++)
        if (!ask_took(lines->ask, arena, i))
            buffer_format(
                &left, "%s%s (%s)", left.size ? ", " : "",
                escape_short(arena, view_of(found->shown.items[i].field), SHOWN_CELLS),
                found->shown.items[i].where);
    if (left.size)
        lines_say(
            lines, 0,
            "Found beside, and not taken: %s. What the file has there is held against none of these.",
            buffer_string(&left));
}
