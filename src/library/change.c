/* A cutter change of one file, as people ask for one. */
#include "library/machine_file.h"

#include "quantity/number.h"
#include "quantity/quantity.h"
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

const char *machine_file_cutter(struct arena *arena, const struct machine_file *file,
                                const char *typed, uint32_t *out)
{
    double wanted;
    size_t used;
    struct view text = view_trim(view_of(typed));
    const char *shown = escape_short(arena, text, SHOWN);
    if (number_read(text, &wanted, &used) != NUMBER_OK || used != text.size)
        return arena_format(arena, "%s is no number of a cutter", shown);
    for (uint32_t i = 0; i < file->machine.groups[GROUP_CUTTER].count; i++) {
        const struct field_value *number =
            machine_field(&file->machine, FIELD_CUTTER_NUMBER, i);
        if (number->state == VALUE_GIVEN && number->si == wanted) {
            *out = i;
            return NULL;
        }
    }
    return arena_format(arena, "%s has no cutter %s; it has %s", file->path, shown,
                        numbers_text(arena, &file->machine));
}

static const char *find_pair(struct arena *arena, const struct machine_file *file,
                             const struct change_asked *asked, const struct change_request *at,
                             struct cutter_pair *out)
{
    const char *wrong = NULL;
    *out = (struct cutter_pair){.from_reason = PAIR_FIRST, .to_reason = PAIR_FIRST};
    if (asked->from) {
        wrong = machine_file_cutter(arena, file, asked->from, &out->from);
        out->from_reason = PAIR_GIVEN;
    }
    if (asked->to && !wrong) {
        wrong = machine_file_cutter(arena, file, asked->to, &out->to);
        out->to_reason = PAIR_GIVEN;
    }
    if (!wrong && !change_nearest(out, &file->machine, at))
        wrong = arena_format(arena, "%s lists no cutters, so there is no change to look at",
                             file->path);
    return wrong;
}

/* Can the nose be there?  Where the machine does not home, positions count from wherever it was
 * switched on, and nothing is known of it. */
static const char *outside_travel(struct arena *arena, const struct machine *machine, int axis,
                                  const struct quantity *at)
{
    static const double hair = 1e-9;
    const struct field_value *order = machine_field(machine, FIELD_HOMING_ORDER, 0);
    const struct field_value *travel =
        machine_field(machine, FIELD_AXIS_TRAVEL, (uint32_t)axis);
    if (travel->state != VALUE_GIVEN || (order->state == VALUE_GIVEN && order->words->none))
        return NULL;
    const struct field_value *low = &travel->pair[0], *high = &travel->pair[1];
    if (at->si >= low->si - hair && at->si <= high->si + hair)
        return NULL;
    return arena_format(arena, ": %s lies outside the travel of %c, which goes from %s to %s",
                        quantity_text_with(arena, at->si, 0, DIMENSION_LENGTH, at->unit),
                        "XYZ"[axis],
                        quantity_text_with(arena, low->si, 0, DIMENSION_LENGTH, low->unit),
                        quantity_text_with(arena, high->si, 0, DIMENSION_LENGTH, high->unit));
}

/* "400 mm, 300 mm, -20 mm": where the nose is when the change begins. */
static const char *find_start(struct arena *arena, const struct machine *machine,
                              const char *typed, struct change_request *out)
{
    struct view rest = view_of(typed);
    for (int axis = 0; axis < 3; axis++) {
        const char *comma = rest.size ? memchr(rest.data, ',', rest.size) : NULL;
        struct view part = {rest.data, comma ? (size_t)(comma - rest.data) : rest.size};
        if (!part.size || (axis < 2) != (comma != NULL))
            return " wants three positions of the nose, with units and commas between them: \"400 mm, 300 mm, -20 mm\"";
        struct quantity quantity;
        struct quantity_trouble trouble;
        if (quantity_read(part, DIMENSION_LENGTH, &quantity, &trouble) != QUANTITY_OK)
            return arena_format(arena, ": %s is no position along %c; give it as \"400 mm\"",
                                escape_short(arena, view_trim(part), SHOWN), "XYZ"[axis]);
        const char *wrong = outside_travel(arena, machine, axis, &quantity);
        if (wrong)
            return wrong;
        out->start[axis] = quantity.si;
        rest = view_skip(rest, part.size + 1);
    }
    out->start_known = true;
    return NULL;
}

size_t machine_file_failing(struct arena *arena, const struct check_options *options,
                            struct machine_file *file)
{
    struct check_options counting = *options;
    counting.show = SHOW_FAILED;
    counting.words = true;
    counting.remedies = false;
    struct file_report report;
    checker_check_machine(checker_new(arena, &counting), arena, &file->machine, &file->sink,
                          &report);
    return report.findings_by_level[LEVEL_ERROR];
}

const char *machine_file_change(struct arena *arena, const struct machine_file *file,
                                const struct change_asked *asked, struct dryrun *out,
                                enum change_part *part)
{
    struct change *change = ARENA_NEW(arena, struct change);
    struct cutter_pair *pair = ARENA_NEW(arena, struct cutter_pair);
    struct change_request request = {0};
    const char *wrong =
        asked->at ? find_start(arena, &file->machine, asked->at, &request) : NULL;
    *part = wrong ? CHANGE_AT : CHANGE_REST;
    if (!wrong)
        wrong = find_pair(arena, file, asked, &request, pair);
    if (wrong)
        return wrong;
    request.from = pair->from;
    request.to = pair->to;
    if (!change_plan(change, &file->machine, &request)) {
        const struct field_uses *missing = &change->missing;
        return arena_format(arena, "which moves %s makes cannot be told without %s", file->path,
                            missing->count ? field_path(arena, missing->items[0].field)
                                           : "what decides them");
    }
    *out = (struct dryrun){.machine = &file->machine, .change = change, .pair = pair};
    return NULL;
}
