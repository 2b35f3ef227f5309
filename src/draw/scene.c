/* The whole: its views, findings at their items, and the table. */
#include "draw/internal.h"

#include "quantity/quantity.h"
#include "text/escape.h"

enum { TOLD_IN_WORDS = 3 };

/* --- findings at their items --- */

/* A field, or a part of it: `axes.z.travel.low` of `axes.z.travel`. */
static bool is_of(const char *path, const char *field)
{
    size_t size = strlen(field);
    return strncmp(path, field, size) == 0 && (path[size] == '\0' || path[size] == '.');
}

static bool counts(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED && !finding->implied_by;
}

/* Is it about this item, and not about another cutter's? */
static bool concerns(const struct finding *finding, const struct scene_item *item, int field)
{
    if (!finding->at.field || !item->fields[field] ||
        !is_of(finding->at.field, item->fields[field]))
        return false;
    return !item->subject || !finding->subject ||
           strncmp(finding->subject, "cutter ", 7) != 0 ||
           strcmp(finding->subject, item->subject) == 0;
}

static bool has_rule(const struct rule_names *rules, const char *rule)
{
    for (size_t i = 0; i < rules->names.count; i++)
        if (strcmp(rules->names.items[i], rule) == 0)
            return true;
    return false;
}

static void add_rule(const struct sketch *sketch, struct rule_names *rules, const char *rule)
{
    if (!has_rule(rules, rule))
        VECTOR_ADD(sketch->arena, &rules->names, rule);
}

static bool is_graver(const struct finding *a, const struct finding *b)
{
    if (a->level != b->level)
        return a->level > b->level;
    return a->has_margin && (!b->has_margin || a->margin < b->margin);
}

static void fail(const struct sketch *sketch, struct scene_item *item,
                 const struct finding *finding)
{
    add_rule(sketch, &item->rules, finding->rule);
    if (item->failed) {
        item->failed_more++;
        if (!is_graver(finding, item->failed))
            return;
    }
    item->labelled = item->labelled || item->shapes.count > 0;
    item->failed = finding;
    item->failed_text = finding_level_name(finding->level);
    item->failed_message =
        finding_told(sketch->arena, sketch->drawing->report, finding->message);
    if (finding->has_margin && finding->margin < 0)
        item->failed_text =
            arena_format(sketch->arena, "%s: short by %s", item->failed_text,
                         quantity_text(sketch->arena, -finding->margin, finding->dimension,
                                       sketch->scene->length));
}

/* The first item of one view that stands first of all for its field, else the first that stands
 * for it besides. */
static bool place_in_view(const struct sketch *sketch, const struct scene_view *view,
                          const struct finding *finding)
{
    bool placed = false;
    for (int field = 0; field < SCENE_FIELDS && !placed; field++)
        for (size_t i = 0; i < view->items.count; i++)
            if (concerns(finding, view->items.items[i], field)) {
                fail(sketch, view->items.items[i], finding);
                placed = true;
                break;
            }
    return placed;
}

/* Of a rule that is told, what it says more and no view shows. */
static void note_more(const struct sketch *sketch, const char *rule, const bool *placed,
                      size_t told)
{
    const struct file_report *report = sketch->drawing->report;
    size_t left = 0;
    for (size_t i = 0; i < report->count; i++)
        left += counts(&report->findings[i]) && !placed[i] &&
                strcmp(report->findings[i].rule, rule) == 0;
    if (left > told)
        VECTOR_ADD(sketch->arena, &sketch->scene->notes,
                   arena_format(sketch->arena,
                                "%s fails for %zu more, which are not in this drawing; "
                                "`proveout check` lists them",
                                rule, left - told));
}

/* What has no place in any view: the first of them in words, the rest by their rules. */
static void note_elsewhere(const struct sketch *sketch, const struct rule_names *shown,
                           const bool *placed)
{
    const struct file_report *report = sketch->drawing->report;
    struct rule_names told = {0};
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (!counts(finding) || has_rule(shown, finding->rule) ||
            has_rule(&told, finding->rule))
            continue;
        add_rule(sketch, &told, finding->rule);
        if (told.names.count <= TOLD_IN_WORDS)
            VECTOR_ADD(sketch->arena, &sketch->scene->notes,
                       arena_format(sketch->arena, "not in this drawing: %s: %s [%s]",
                                    finding_level_name(finding->level),
                                    finding_told(sketch->arena, report, finding->message),
                                    finding->rule));
    }
    for (size_t i = 0; i < shown->names.count; i++)
        note_more(sketch, shown->names.items[i], placed, 0);
    for (size_t i = 0; i < told.names.count && i < TOLD_IN_WORDS; i++)
        note_more(sketch, told.names.items[i], placed, 1);
    if (told.names.count <= TOLD_IN_WORDS)
        return;
    struct buffer text;
    buffer_init(&text, sketch->arena);
    buffer_text(&text, "nor are: ");
    for (size_t i = TOLD_IN_WORDS; i < told.names.count; i++)
        buffer_format(&text, "%s%s", i > TOLD_IN_WORDS ? ", " : "", told.names.items[i]);
    VECTOR_ADD(sketch->arena, &sketch->scene->notes, buffer_string(&text));
}

static void place_findings(const struct sketch *sketch)
{
    const struct file_report *report = sketch->drawing->report;
    struct rule_names shown = {0};
    bool *placed = ARENA_ARRAY(sketch->arena, bool, report->count + 1);
    for (size_t i = 0; i < report->count; i++) {
        placed[i] = false;
        for (uint32_t v = 0; v < sketch->scene->view_count; v++)
            if (counts(&report->findings[i]) &&
                place_in_view(sketch, &sketch->scene->views[v], &report->findings[i]))
                placed[i] = true;
        if (placed[i])
            add_rule(sketch, &shown, report->findings[i].rule);
    }
    note_elsewhere(sketch, &shown, placed);
}

/* What was left out for lying too far off has no label either. */
static void tell_far(const struct scene *scene)
{
    for (uint32_t v = 0; v < scene->view_count; v++)
        for (size_t i = 0; i < scene->views[v].items.count; i++) {
            struct scene_item *item = scene->views[v].items.items[i];
            if (!item->too_far)
                continue;
            item->value = "lies too far off to be drawn";
            item->labelled = false;
            item->unknown = true;
        }
}

/* --- the whole --- */

static void note_unchecked(const struct sketch *sketch)
{
    size_t unchecked = sketch->drawing->report->rules[OUTCOME_UNCHECKED];
    if (unchecked)
        VECTOR_ADD(sketch->arena, &sketch->scene->notes,
                   arena_format(sketch->arena,
                                "%zu rule%s could not be checked; `proveout check` tells why",
                                unchecked, unchecked == 1 ? "" : "s"));
}

static const char *cutters_text(const struct sketch *sketch)
{
    const struct drawing *drawing = sketch->drawing;
    if (drawing->cutter == RECORD_NONE)
        return "no cutters are listed";
    if (!drawing->change)
        return sketch_cutter(sketch, drawing->cutter);
    const char *step = "";
    if (drawing->has_step)
        step = arena_format(sketch->arena, "; the spindle after step %u",
                            sketch_step_number(drawing->change, drawing->step));
    return arena_format(sketch->arena, "%s goes out, %s comes in%s",
                        sketch_cutter(sketch, drawing->change->request.from),
                        sketch_cutter(sketch, drawing->change->request.to), step);
}

static const char *subject_text(const struct sketch *sketch)
{
    const char *unit = unit_text(sketch->scene->length);
    return arena_format(sketch->arena, "%s; lengths in %s", cutters_text(sketch),
                        strcmp(unit, "in") == 0 ? "inches" : unit);
}

void scene_make(struct scene *out, struct arena *arena, const struct drawing *drawing)
{
    struct scene_view *plan = ARENA_NEW(arena, struct scene_view);
    struct sketch sketch = {.scene = out,
                            .view = plan,
                            .drawing = drawing,
                            .machine = drawing->machine,
                            .arena = arena};
    *out = (struct scene){.arena = arena,
                          .machine = drawing->machine,
                          .path = drawing->path,
                          .length = machine_unit(drawing->machine, DIMENSION_LENGTH)};
    out->name = sketch_name(&sketch, FIELD_MACHINE_NAME, 0, "a machine without a name");
    out->subject = subject_text(&sketch);
    plan_sketch(&sketch);
    out->reach = plan->extent;
    if (drawing->side) {
        side_sketch(&sketch);
    } else {
        out->views[0] = *plan;
        out->view_count = 1;
    }
    if (drawing->no_change)
        VECTOR_ADD(arena, &out->notes, drawing->no_change);
    tell_far(out);
    place_findings(&sketch);
    note_unchecked(&sketch);
}

/* --- the table --- */

/* A sentence of its own, whatever it holds: no text of the file begins another one. */
static void add_sentence(struct buffer *out, const char *text)
{
    escape_terminal(out, view_of(text));
    buffer_text(out, ".\n");
}

void scene_place(struct buffer *out, const struct scene_item *item)
{
    buffer_text(out, item->fields[0]);
    if (item->line)
        buffer_format(out, ", line %u%s%s", item->line, item->in_file ? " of " : "",
                      item->in_file ? item->in_file : "");
}

void scene_failure(struct buffer *out, const struct scene_item *item)
{
    if (item->failed)
        buffer_format(out, "%s [%s]: %s", item->failed_text, item->failed->rule,
                      item->failed_message);
    for (size_t i = 0; i < item->rules.names.count; i++)
        if (strcmp(item->rules.names.items[i], item->failed->rule) != 0)
            buffer_format(out, "; and [%s]", item->rules.names.items[i]);
}

static void add_item_row(struct buffer *out, const struct scene_item *item)
{
    buffer_text(out, item->what);
    if (item->value)
        buffer_format(out, ": %s", item->value);
    buffer_text(out, " (");
    scene_place(out, item);
    buffer_text(out, item->failed ? "); " : ")");
    scene_failure(out, item);
}

void scene_table(struct buffer *out, const struct scene *scene, const char *const *scales)
{
    add_sentence(out, scene->subject);
    for (uint32_t v = 0; v < scene->view_count; v++) {
        const struct scene_view *view = &scene->views[v];
        add_sentence(out, arena_format(scene->arena, "%s, %s", view->title, scales[v]));
        for (size_t i = 0; i < view->items.count; i++) {
            struct buffer row;
            buffer_init(&row, scene->arena);
            add_item_row(&row, view->items.items[i]);
            add_sentence(out, buffer_string(&row));
        }
    }
    for (size_t i = 0; i < scene->notes.count; i++)
        add_sentence(out, scene->notes.items[i]);
    buffer_text(out, SCENE_CAUTION "\n");
}
