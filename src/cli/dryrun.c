/* `proveout dryrun`: the moves of one cutter change, step by step. */
#include <math.h>
#include <string.h>

#include "cli/books.h"
#include "cli/machine_file.h"
#include "cli/input.h"
#include "cli/surroundings.h"
#include "cli/trouble.h"
#include "quantity/quantity.h"
#include "rules/check.h"
#include "text/escape.h"

enum { NUMBERS_SHOWN = 12, SHOWN = 40 };

/* The numbers that there are, for somebody who named another. */
static const char *numbers_text(struct arena *arena, const struct machine *machine)
{
    struct buffer text;
    buffer_init(&text, arena);
    uint32_t count = machine->groups[GROUP_CUTTER].count;
    for (uint32_t i = 0; i < count && i < NUMBERS_SHOWN; i++) {
        const struct field_value *number = machine_field(machine, FIELD_CUTTER_NUMBER, i);
        if (number->state == VALUE_GIVEN)
            buffer_format(&text, "%s%s", text.size ? ", " : "",
                          number_exact(arena, number->si));
    }
    if (count > NUMBERS_SHOWN)
        buffer_format(&text, " and %u more", count - NUMBERS_SHOWN);
    return buffer_string(&text);
}

/* The record of the cutter with the number that an option names.  False: said why not. */
static bool find_cutter(struct run *run, const struct machine_file *file, const char *typed,
                        uint32_t *out)
{
    double wanted;
    size_t used;
    struct view text = view_trim(view_of(typed));
    const char *shown = escape_short(run->arena, text, SHOWN);
    if (number_read(text, &wanted, &used) != NUMBER_OK || used != text.size) {
        run_refuse(run, "%s is no number of a cutter", shown);
        return false;
    }
    for (uint32_t i = 0; i < file->machine.groups[GROUP_CUTTER].count; i++) {
        const struct field_value *number =
            machine_field(&file->machine, FIELD_CUTTER_NUMBER, i);
        if (number->state == VALUE_GIVEN && number->si == wanted) {
            *out = i;
            return true;
        }
    }
    run_refuse(run, "%s has no cutter %s; it has %s", file->path, shown,
               numbers_text(run->arena, &file->machine));
    return false;
}

static bool find_pair(struct run *run, const struct machine_file *file,
                      const struct change_request *at, struct cutter_pair *out)
{
    const struct option_value *from = &run->options.values[OPTION_FROM];
    const struct option_value *to = &run->options.values[OPTION_TO];
    *out = (struct cutter_pair){.from_reason = PAIR_FIRST, .to_reason = PAIR_FIRST};
    if (from->given) {
        if (!find_cutter(run, file, from->text, &out->from))
            return false;
        out->from_reason = PAIR_GIVEN;
    }
    if (to->given) {
        if (!find_cutter(run, file, to->text, &out->to))
            return false;
        out->to_reason = PAIR_GIVEN;
    }
    if (!change_nearest(out, &file->machine, at)) {
        run_refuse(run, "%s lists no cutters, so there is no change to look at", file->path);
        return false;
    }
    return true;
}

/* Can the nose be there?  Where the machine does not home, positions count from wherever it was
 * switched on, and nothing is known of it. */
static bool is_within_travel(struct run *run, const struct machine *machine, int axis,
                             const struct quantity *at)
{
    static const double hair = 1e-9;
    const struct field_value *order = machine_field(machine, FIELD_HOMING_ORDER, 0);
    const struct field_value *travel =
        machine_field(machine, FIELD_AXIS_TRAVEL, (uint32_t)axis);
    if (travel->state != VALUE_GIVEN || (order->state == VALUE_GIVEN && order->words->none))
        return true;
    const struct field_value *low = &travel->pair[0], *high = &travel->pair[1];
    if (at->si >= low->si - hair && at->si <= high->si + hair)
        return true;
    struct arena *arena = run->arena;
    run_refuse(run, "--at: %s lies outside the travel of %c, which goes from %s to %s",
               quantity_text_with(arena, at->si, 0, DIMENSION_LENGTH, at->unit), "XYZ"[axis],
               quantity_text_with(arena, low->si, 0, DIMENSION_LENGTH, low->unit),
               quantity_text_with(arena, high->si, 0, DIMENSION_LENGTH, high->unit));
    return false;
}

/* "400 mm, 300 mm, -20 mm": where the nose is when the change begins. */
static bool find_start(struct run *run, const struct machine *machine,
                       struct change_request *out)
{
    const struct option_value *at = &run->options.values[OPTION_AT];
    if (!at->given)
        return true;
    struct view rest = view_of(at->text);
    for (int axis = 0; axis < 3; axis++) {
        const char *comma = memchr(rest.data, ',', rest.size);
        struct view part = {rest.data, comma ? (size_t)(comma - rest.data) : rest.size};
        if (!part.size || (axis < 2) != (comma != NULL)) {
            run_refuse(run, "--at wants three positions of the nose, with units and commas "
                            "between them: \"400 mm, 300 mm, -20 mm\"");
            return false;
        }
        struct quantity quantity;
        struct quantity_trouble trouble;
        if (quantity_read(part, DIMENSION_LENGTH, &quantity, &trouble) != QUANTITY_OK) {
            run_refuse(run, "--at: %s is no position along %c; give it as \"400 mm\"",
                       escape_short(run->arena, view_trim(part), SHOWN), "XYZ"[axis]);
            return false;
        }
        if (!is_within_travel(run, machine, axis, &quantity))
            return false;
        out->start[axis] = quantity.si;
        rest = view_skip(rest, part.size + 1);
    }
    out->start_known = true;
    return true;
}

/* How many errors `check` finds in the file. */
static size_t count_errors(struct run *run, struct machine_file *file,
                           const struct books *books)
{
    struct beside beside = {file->path};
    const struct agreement_reader agreements = {&beside, beside_read};
    const struct check_options options = {
        .books = books->list,
        .book_count = books->count,
        .show = SHOW_FAILED,
        .words = true,
        .today = surroundings_today(run),
        .agreements = &agreements,
    };
    struct file_report report;
    checker_check_machine(checker_new(run->arena, &options), run->arena, &file->machine,
                          &file->sink, &report);
    return report.findings_by_level[LEVEL_ERROR];
}

static void refuse_missing(struct run *run, const struct machine_file *file,
                           const struct field_uses *missing)
{
    const char *name =
        missing->count ? field_path(run->arena, missing->items[0].field) : "what decides them";
    run_refuse(run, "which moves %s makes cannot be told without %s", file->path, name);
}

enum exit_status command_dryrun(struct run *run)
{
    const struct options *options = &run->options;
    if (options->arguments.count != 1)
        return run_refuse(run, "dryrun wants one machine file");
    if (machine_file_is_output(run))
        return EXIT_TROUBLE;
    struct books books;
    struct machine_file *file = ARENA_NEW(run->arena, struct machine_file);
    struct change *change = ARENA_NEW(run->arena, struct change);
    struct change_request request = {0};
    struct cutter_pair pair;
    if (!books_load(run, &books) ||
        !machine_file_open(run, options->arguments.items[0], file) ||
        !find_start(run, &file->machine, &request) || !find_pair(run, file, &request, &pair))
        return EXIT_TROUBLE;
    request.from = pair.from;
    request.to = pair.to;
    if (!change_plan(change, &file->machine, &request)) {
        refuse_missing(run, file, &change->missing);
        return EXIT_TROUBLE;
    }
    const struct dryrun dryrun = {&file->machine, change, &pair,
                                  count_errors(run, file, &books)};
    run_report(run, &(struct report){REPORT_MOVES, file->path, {.moves = &dryrun}});
    bool harms = change->endangers || change_meets(change);
    return dryrun.errors || harms ? EXIT_FINDINGS : EXIT_CLEAN;
}
