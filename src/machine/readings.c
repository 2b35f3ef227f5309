/* Measured values that the file gives as the readings they come from.
 *
 *     nose_contact: {readings: [-153.02 mm, -153.00 mm, -153.03 mm], with: calliper, on:
 * 2026-10-10}
 *
 * Such a value is the mean, and its tolerance holds 95 % of all later readings, with 95 %
 * confidence, and the error of the instrument besides.  Where the field is itself how far
 * readings scatter, that half-width is the value.
 */
#include "machine/internal.h"

#include "base/bug.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "quantity/scatter.h"
#include "text/escape.h"
#include "text/nearest.h"

#include <math.h>

enum key { KEY_READINGS, KEY_WITH, KEY_BY, KEY_ON, KEY_INSTRUMENT_ERROR, KEY_COUNT };

static const char *const keys[KEY_COUNT] = {"readings", "with", "by", "on", "instrument_error"};

const char *readings_key(size_t index)
{
    return index < KEY_COUNT ? keys[index] : NULL;
}

static int key_find(struct view name)
{
    for (int i = 0; i < KEY_COUNT; i++)
        if (view_is(name, keys[i]))
            return i;
    return -1;
}

bool node_has_readings(const struct tree_node *node)
{
    for (const struct tree_node *child = node->first; node->kind == TREE_MAP && child;
         child = child->next)
        if (key_find(child->key) >= 0)
            return true;
    return false;
}

static const char *path_of(const struct value_reader *r)
{
    const struct machine *machine = r->reader->machine;
    bool alone = machine->groups[field_table[r->id].group].count == 0;
    const char *path = alone ? field_path(r->arena, r->id)
                             : machine_path(r->arena, machine, r->id, r->record, 0);
    return escape_short(r->arena, view_of(path), NAME_CELLS);
}

/* One of the keys has a value that it cannot have. */
static bool refuse(struct value_reader *r, const struct tree_node *child, const char *hint,
                   const char *problem, const char *what)
{
    const struct item at = {child->text, child, 0};
    if (!machine_only_counts(r, &at, READER_WRONG_KIND))
        machine_tell(r, &at, READER_WRONG_KIND, hint,
                     arena_format(r->arena, "%s; %.*s of %s wants %s", problem,
                                  VIEW(child->key), path_of(r), what));
    return false;
}

static bool refuse_key(struct value_reader *r, const struct tree_node *child)
{
    struct view known[KEY_COUNT];
    for (int i = 0; i < KEY_COUNT; i++)
        known[i] = view_of(keys[i]);
    int near = nearest_of(child->key, known, KEY_COUNT);
    const char *path = machine_path(r->arena, r->reader->machine, r->id, r->record, 0);
    struct finding *finding = sink_report(
        r->reader->sink, READER_UNKNOWN_KEY, child->key_span,
        arena_format(r->arena, "%s.%.*s", path, VIEW(child->key)), "%s has no key '%s'%s%s%s",
        path_of(r), escape_short(r->arena, child->key, NAME_CELLS), near < 0 ? "" : "; ",
        near < 0 ? "" : keys[near], near < 0 ? "" : " is the nearest");
    if (finding)
        finding->put_right = near < 0
                                 ? "readings have with, by, on and instrument_error beside them"
                                 : arena_format(r->arena, "write %s", keys[near]);
    return false;
}

/* What stands beside the readings. */

static bool read_note(struct value_reader *r, const struct tree_node *child, struct view *out)
{
    const struct tree_node *node = tree_resolve(child);
    if (node->kind != TREE_TEXT || node->style == STYLE_JOINED || node_is_void(node))
        return refuse(r, child, "put it in quotes where there is a comma in it",
                      node->kind != TREE_TEXT
                          ? arena_format(r->arena, "%s stands here", node_stands(node))
                      : node_is_void(node) ? "nothing is written"
                                           : "a comma parts it",
                      "a name or a few words");
    *out = view_trim(node->text);
    return true;
}

static bool read_day(struct value_reader *r, const struct tree_node *child,
                     struct readings *out)
{
    if (!read_note(r, child, &out->on))
        return false;
    const char *wrong = date_read(out->on, &out->on_seconds);
    if (!wrong)
        return true;
    return refuse(r, child, "write year, month and day, as in 2027-03-31",
                  arena_format(r->arena, "%s %s", machine_quoted(r->arena, out->on), wrong),
                  "a date like 2027-03-31");
}

static bool read_error(struct value_reader *r, const struct tree_node *child,
                       struct readings *out)
{
    const struct tree_node *node = tree_resolve(child);
    const struct item item = {node->text, child, 0};
    struct field_value value;
    if (node->kind != TREE_TEXT || node_is_void(node))
        return refuse(r, child, NULL,
                      arena_format(r->arena, "%s stands here",
                                   node->kind == TREE_TEXT ? "nothing" : node_stands(node)),
                      "one number with its unit");
    if (!value_read_number(r, &item, &value))
        return false;
    if (value.si < 0 || value.tolerance > 0)
        return refuse(r, child, "write how far the instrument may be off, to either side",
                      value.si < 0 ? "it is negative" : "it has a tolerance itself",
                      "one number, nothing or more");
    out->instrument_error = value.si;
    return true;
}

/* The readings themselves. */

/* What one more in the last place of a number counts, SI; 0 where that is not to be seen. */
static double last_place(const struct field_value *value, struct view text,
                         struct dimension wanted)
{
    const char *point = text.size ? memchr(text.data, '.', text.size) : NULL;
    double last = 1;
    if (!point || memchr(text.data, '/', text.size))
        return 0;
    for (const char *c = point + 1; c < text.data + text.size && *c >= '0' && *c <= '9'; c++)
        last /= 10;
    return unit_to_si(value->unit, wanted, last);
}

struct list {
    const struct item *items;
    double *si;
    uint32_t count;
    double step; /* to which they are rounded */
    unit_id unit;
};

static bool read_one(struct value_reader *r, const struct item *item, struct list *list)
{
    struct field_value value;
    bool scatters = field_table[r->id].nature == NATURE_SCATTER;
    bool right =
        scatters ? value_read_number(r, item, &value) : value_read_quantity(r, item, &value);
    r->quiet = r->last; /* a slip made in all of them is told once */
    if (right && value.tolerance > 0) {
        machine_tell(
            r, item, READER_WRONG_KIND,
            "write what the instrument may be off as instrument_error",
            arena_format(r->arena, "a reading of %s has a tolerance of its own", path_of(r)));
        return false;
    }
    if (!right)
        return false;
    double step = last_place(&value, item->text, field_table[r->id].dimension);
    if (list->count == 0) {
        list->unit = value.unit;
        list->step = step;
    }
    list->step = fmin(list->step, step);
    list->si[list->count++] = value.si;
    return true;
}

static bool read_numbers(struct value_reader *r, const struct tree_node *child,
                         struct list *list)
{
    const struct tree_node *node = tree_resolve(child);
    bool right = true;
    if (node->kind != TREE_LIST || !node->count)
        return refuse(r, child, node->kind == TREE_TEXT ? "write it in brackets" : NULL,
                      node->kind == TREE_LIST
                          ? "the list is empty"
                          : arena_format(r->arena, "%s stands here", node_stands(node)),
                      "a list of numbers with their units");
    if (node->count > NUMBERS_MAX) {
        const struct item at = {child->text, child, 0};
        machine_tell(r, &at, READER_TOO_LONG, NULL,
                     arena_format(r->arena, "%u readings of %s are more than %u",
                                  (unsigned)node->count, path_of(r), (unsigned)NUMBERS_MAX));
        return false;
    }
    struct item *items = value_gather(r, node);
    if (!items)
        return false;
    uint32_t count = list_join_numbers(r, items, node->count);
    list->items = items;
    list->si = ARENA_ARRAY(r->arena, double, count);
    for (uint32_t i = 0; i < count; i++)
        right = read_one(r, &items[i], list) && right;
    r->quiet = -1;
    return right;
}

/* What they come to. */

#define HAIR 1e-6 /* of a step: what the computer makes of decimal fractions */

/* A mean is no better known than to a hundredth of its tolerance: so many decimal places are
 * kept, and what is lost is added to the tolerance.  What is printed is then what is reckoned
 * with. */
static void settle(const struct field *field, const struct list *list, double half_width,
                   struct field_value *value, double mean)
{
    double number = unit_from_si(list->unit, field->dimension, mean);
    double width = unit_from_si(list->unit, field->dimension, half_width);
    double step = number_decade(width, -2), steps = step < 1 ? round(1 / step) : 1 / step;
    double kept = floor(number * steps + 0.5 + HAIR); /* half a step goes up */
    double wide = ceil(width * steps + fabs(number * steps - kept) - HAIR);
    kept = step < 1 ? kept / steps : kept * step;
    wide = step < 1 ? wide / steps : wide * step;
    bool fits = isfinite(steps) && isfinite(kept) && isfinite(wide);
    value->si = fits ? unit_to_si(list->unit, field->dimension, kept) : mean;
    value->tolerance = fits ? unit_to_si(list->unit, field->dimension, wide) : half_width;
}

static bool refuse_number(struct value_reader *r, const struct tree_node *child)
{
    const struct item at = {child->text, child, 0};
    machine_tell(r, &at, READER_NOT_A_NUMBER, NULL,
                 arena_format(r->arena,
                              "the readings of %s are too far apart to be reckoned with",
                              path_of(r)));
    return false;
}

static void remark_few(struct value_reader *r, const struct tree_node *child,
                       const struct scatter *scatter, const struct readings *readings)
{
    const char *path = machine_path(r->arena, r->reader->machine, r->id, r->record, 0);
    struct finding_sink *sink = r->reader->sink;
    struct finding *few = NULL, *alike = NULL;
    if (scatter->count == 1)
        few = sink_report(sink, READER_READINGS_FEW, child->key_span, path,
                          "one reading of %s tells nothing of how far others would scatter",
                          path_of(r));
    else if (scatter->count < SCATTER_ENOUGH)
        few = sink_report(sink, READER_READINGS_FEW, child->key_span, path,
                          "%u readings of %s tell little of how far others would scatter",
                          (unsigned)scatter->count, path_of(r));
    if (scatter->count > 1 && scatter->deviation == 0 && readings->instrument_error == 0)
        alike = sink_report(sink, READER_READINGS_ALIKE, child->key_span, path,
                            "the %u readings of %s are all alike, which leaves it no tolerance",
                            (unsigned)scatter->count, path_of(r));
    if (few)
        few->put_right = "take three readings or more; five are mostly worth the trouble";
    if (alike)
        alike->put_right =
            "write the smallest step that the instrument shows as instrument_error";
}

static void remark_far(struct value_reader *r, const struct list *list,
                       const struct scatter *scatter, struct readings *readings)
{
    if (!scatter_has_outlier(scatter, list->si, list->step))
        return;
    readings->off = (uint32_t)scatter->farthest + 1;
    const char *path = machine_path(r->arena, r->reader->machine, r->id, r->record, 0);
    const struct item *far = &list->items[scatter->farthest];
    struct finding *finding =
        sink_report(r->reader->sink, READER_READING_OFF, far->node->span, path,
                    "reading %u of %s, %s, lies far off the rest", (unsigned)far->part,
                    path_of(r), escape_short(r->arena, view_trim(far->text), VALUE_CELLS));
    if (finding)
        finding->put_right = "look whether it was written down wrongly, and measure once more";
}

static bool reckon(struct value_reader *r, const struct tree_node *child,
                   const struct list *list, struct readings *readings, struct field_value *out)
{
    const struct field *field = &field_table[r->id];
    bool scatters = field->nature == NATURE_SCATTER;
    struct scatter scatter;
    if (scatters && list->count < 2)
        return refuse(r, child, "touch it again, ten times if you can",
                      "one reading has no scatter", "two or more");
    if (!scatter_of(list->si, list->count, &scatter))
        return refuse_number(r, child);
    readings->count = list->count;
    readings->mean = scatter.mean;
    readings->deviation = scatter.deviation;
    readings->factor = list->count > 1 ? scatter_factor(list->count) : 0;
    double half_width = readings->factor * scatter.deviation + readings->instrument_error;
    if (!isfinite(half_width) || !isfinite(scatter.mean))
        return refuse_number(r, child);
    *out = (struct field_value){.state = VALUE_GIVEN, .unit = list->unit, .node = r->node};
    if (scatters) {
        settle(field, list, half_width, out, 0);
        out->si = half_width > 0 ? out->tolerance : 0;
        out->tolerance = 0;
        const struct item all = {child->text, child, 0};
        machine_judge_number(r, &all, out);
    } else if (scatter.deviation > 0) {
        settle(field, list, half_width, out, scatter.mean);
    } else {
        out->si = scatter.mean;
        out->tolerance = half_width;
    }
    remark_few(r, child, &scatter, readings);
    remark_far(r, list, &scatter, readings);
    return true;
}

/* The map as a whole. */

static bool read_key(struct value_reader *r, const struct tree_node *child,
                     struct readings *readings, struct list *list)
{
    switch (key_find(child->key)) {
    case KEY_READINGS:
        return read_numbers(r, child, list);
    case KEY_WITH:
        return read_note(r, child, &readings->with);
    case KEY_BY:
        return read_note(r, child, &readings->by);
    case KEY_ON:
        return read_day(r, child, readings);
    case KEY_INSTRUMENT_ERROR:
        return read_error(r, child, readings);
    default:
        return refuse_key(r, child);
    }
}

bool field_takes_readings(enum field_id id)
{
    const struct field *field = &field_table[id];
    bool number = field->kind == KIND_QUANTITY || field->kind == KIND_POSITION;
    return number && nature_is_measured(field->nature);
}

/* Only numbers that are measured have readings. */
static bool may_have_readings(struct value_reader *r)
{
    enum field_kind kind = field_table[r->id].kind;
    bool number = kind == KIND_QUANTITY || kind == KIND_POSITION;
    if (field_takes_readings(r->id))
        return true;
    if (number && !machine_only_counts(r, NULL, READER_WRONG_KIND))
        machine_tell(
            r, NULL, READER_WRONG_KIND, "write one number",
            arena_format(r->arena, "readings stand here, but %s is not measured", path_of(r)));
    else if (!number)
        machine_complain(r, NULL, READER_WRONG_KIND, NULL, "readings stand here");
    return false;
}

bool value_read_readings(struct value_reader *r, const struct tree_node *map,
                         struct field_value *out)
{
    struct machine *machine = r->reader->machine;
    struct readings readings = {
        .field = r->id, .record = r->record, .on_seconds = NAN, .node = r->node};
    struct list list = {0};
    const struct tree_node *numbers = tree_child(map, view_of(keys[KEY_READINGS]));
    if (!may_have_readings(r))
        return false;
    bool right = true;
    for (const struct tree_node *child = map->first; child; child = child->next)
        right = !child->duplicate && read_key(r, child, &readings, &list) && right;
    if (right && !numbers) {
        machine_complain(r, NULL, READER_WRONG_KIND,
                         "write them as readings: [...], or the number alone",
                         "no readings stand here");
        return false;
    }
    if (!right || !reckon(r, numbers, &list, &readings, out))
        return false;
    VECTOR_ADD(r->arena, &machine->readings, readings);
    out->index = (uint32_t)machine->readings.count;
    return true;
}

bool readings_stand(enum field_id id, struct view text)
{
    text = view_trim(text);
    return field_takes_readings(id) && text.size && text.data[0] == '{';
}

/* As if it stood in a file of its own. */
const char *readings_read_text(struct arena *arena, enum field_id id, struct view text,
                               struct field_value *out, struct readings *from)
{
    static const struct tree_node any = {.key = {"*", 1}}; /* an input, whichever it is */
    static const struct tree_node *const nodes[] = {&any};
    const char *alone = arena_format(arena, "value: %.*s", VIEW(view_trim(text)));
    struct tree *tree = tree_of(arena, (struct view){0}, view_of(alone));
    const struct tree_node *map = tree->root ? tree->root->first : NULL;
    if (tree->status != TREE_WHOLE || !map || map->next || !node_has_readings(map))
        return "readings are written as {readings: [...]}";
    struct finding_sink sink;
    struct machine machine = {.tree = tree};
    struct reader reader = {&machine, arena, &sink};
    sink_init(&sink, arena, tree->source);
    machine.groups[GROUP_INPUT].nodes = (const struct tree_node **)nodes;
    machine.groups[GROUP_OBSTACLE].written = 1; /* it is no setter that stands in the way */
    struct value_reader r = {
        .arena = arena, .reader = &reader, .id = id, .node = map, .last = -1, .quiet = -1};
    struct field_value value;
    if (!value_read_readings(&r, map, &value)) {
        for (size_t i = 0; i < sink.findings.count; i++)
            if (sink.findings.items[i].level == LEVEL_ERROR)
                return sink.findings.items[i].message;
        return "a key stands there twice";
    }
    *from = machine.readings.items[value.index - 1];
    from->node = NULL;
    value.node = NULL;
    value.index = 0;
    *out = value;
    return NULL;
}

void machine_judge_readings(struct reader *reader)
{
    const struct machine *machine = reader->machine;
    const struct field_value *work = machine_field(machine, FIELD_MACHINE_LAST_WORKED_ON, 0);
    for (size_t i = 0; work->state == VALUE_GIVEN && i < machine->readings.count; i++) {
        const struct readings *readings = &machine->readings.items[i];
        const char *path =
            machine_path(reader->arena, machine, readings->field, readings->record, 0);
        if (!(readings->on_seconds < work->si))
            continue;
        struct finding *finding = sink_report(
            reader->sink, READER_READINGS_OLD,
            tree_child(tree_resolve(readings->node), view_of(keys[KEY_ON]))->span, path,
            "the readings of %s of %.*s are older than the last work on the machine",
            escape_short(reader->arena, view_of(path), NAME_CELLS), VIEW(readings->on));
        finding_relate(
            reader->sink, finding, work->node->span, "machine.last_worked_on",
            arena_format(reader->arena, "the last work on the machine was on %s",
                         field_value_text(reader->arena, FIELD_MACHINE_LAST_WORKED_ON, work)));
    }
}

const char *readings_text(struct arena *arena, const struct readings *readings)
{
    const struct view notes[] = {readings->with, readings->by, readings->on};
    struct buffer out;
    buffer_init(&out, arena);
    buffer_text(&out, readings->count == 1 ? "one reading" : "");
    if (readings->count > 1)
        buffer_format(&out, "%s of %u readings",
                      field_table[readings->field].nature == NATURE_SCATTER ? "scatter"
                                                                            : "mean",
                      (unsigned)readings->count);
    for (int i = 0; i < 3; i++)
        if (notes[i].size)
            buffer_format(&out, ", %s %s", keys[KEY_WITH + i],
                          escape_short(arena, notes[i], NAME_CELLS));
    return buffer_string(&out);
}
