/* What is told of a place: a field with its value, or what a name stands for. */
#include "library/document_answers.h"

#include "library/document_shape.h"
#include "library/document_tell.h"
#include "library/markdown.h"
#include "quantity/quantity.h"
#include "report/explain.h"
#include "text/escape.h"

struct hover {
    struct proveout_document *document;
    struct arena *arena;
    struct buffer *out;
    const struct machine *machine;
    const struct sketch_node *node;
};

/* --- a value --- */

enum { UNITS_LOOKED_AT = 4 };

/* A size in the other units that people use for it; what only moves the point helps nobody. */
static void tell_units(struct hover *hover, enum field_id id, const struct field_value *value)
{
    struct dimension dimension = field_table[id].dimension;
    unit_id units[UNITS_LOOKED_AT];
    size_t count = unit_choices(dimension, units, UNITS_LOOKED_AT), told = 0;
    for (size_t i = 0; i < count && i < UNITS_LOOKED_AT; i++) {
        const char *name = unit_text(units[i]);
        if (units[i] == value->unit || strcmp(name, "cm") == 0 || strcmp(name, "m") == 0)
            continue;
        buffer_text(hover->out, told++ ? ", " : " (");
        markdown_text(hover->out,
                      view_of(quantity_text(hover->arena, value->si, dimension, units[i])));
    }
    buffer_text(hover->out, told ? ")" : "");
}

static void tell_value(struct hover *hover, const struct field_place *place)
{
    const struct field_value *value =
        machine_field(hover->machine, place->field, place->record);
    const struct field *field = &field_table[place->field];
    if (value->state != VALUE_GIVEN && value->state != VALUE_DEFAULTED)
        return;
    const struct readings *readings = machine_readings(hover->machine, place->field, value);
    bool number = field->kind == KIND_QUANTITY || field->kind == KIND_POSITION;
    markdown_paragraph(hover->out);
    buffer_text(hover->out, value->state == VALUE_GIVEN ? "Here: " : "Here by default: ");
    if (place->part) {
        const struct field_value *half = &value->pair[place->part - 1];
        markdown_text(hover->out,
                      view_of(quantity_text_with(hover->arena, half->si, half->tolerance,
                                                 field->dimension, half->unit)));
        tell_units(hover, place->field, half);
        return;
    }
    markdown_text(hover->out, view_of(field_value_text(hover->arena, place->field, value)));
    if (number && !dimension_is_none(field->dimension))
        tell_units(hover, place->field, value);
    if (readings) {
        buffer_text(hover->out, ", ");
        markdown_text(hover->out, view_of(readings_text(hover->arena, readings)));
    }
}

static void tell_field_here(struct hover *hover, const struct shape_field *field)
{
    struct field_place place;
    tell_field(hover->out, field->id);
    if (!shape_place(hover->document, hover->machine, field, &place))
        return;
    tell_value(hover, &place);
    hover_margins(hover->document, hover->out, &place);
}

/* --- what names stand for --- */

static void add_value(struct hover *hover, enum field_id id, uint32_t record)
{
    const struct field_value *value = machine_field(hover->machine, id, record);
    if (value->state != VALUE_GIVEN && value->state != VALUE_DEFAULTED)
        return;
    markdown_item(hover->out);
    markdown_text(hover->out, view_of(field_table[id].key));
    buffer_text(hover->out, ": ");
    markdown_text(hover->out, view_of(field_value_text(hover->arena, id, value)));
    if (value->state == VALUE_DEFAULTED)
        buffer_text(hover->out, ", by default");
}

/* All that the file says of one record. */
static void tell_record(struct hover *hover, enum field_group group, uint32_t record)
{
    markdown_paragraph(hover->out);
    buffer_text(hover->out, "**");
    markdown_code(hover->out,
                  view_of(machine_record_name(hover->arena, hover->machine, group, record)));
    buffer_text(hover->out, "**\n");
    for (enum field_id id = group_table[group].first; id < group_table[group].end; id++)
        add_value(hover, id, record);
}

/* The fields that name an input. */
static void tell_uses(struct hover *hover, struct view name)
{
    size_t told = 0;
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        if (field_table[id].kind != KIND_INPUT)
            continue;
        for (uint32_t i = 0; i < hover->machine->groups[field_table[id].group].count; i++) {
            const struct field_value *value = machine_field(hover->machine, id, i);
            if (value->state != VALUE_GIVEN || !view_equal(value->text, name) ||
                !machine_is_written(hover->machine, id, i))
                continue;
            buffer_text(hover->out, told++ ? ", " : "\n\nNamed by ");
            markdown_code(hover->out,
                          view_of(machine_path(hover->arena, hover->machine, id, i, 0)));
        }
    }
    if (!told)
        buffer_text(hover->out, "\n\nNothing names it.");
}

static bool tell_input(struct hover *hover, struct view name)
{
    const struct machine_group *inputs = &hover->machine->groups[GROUP_INPUT];
    for (uint32_t i = 0; i < inputs->count; i++)
        if (view_equal(inputs->nodes[i]->key, name)) {
            tell_record(hover, GROUP_INPUT, i);
            tell_uses(hover, name);
            return true;
        }
    return false;
}

/* A setter by its name. */
static bool tell_setter(struct hover *hover, struct view name)
{
    for (uint32_t i = 0; i < hover->machine->groups[GROUP_SETTER].written; i++)
        if (view_equal(machine_field(hover->machine, FIELD_SETTERS_NAME, i)->text, name)) {
            tell_record(hover, GROUP_SETTER, i);
            return true;
        }
    return false;
}

/* A field by a path that the file gives as a text. */
static bool tell_path(struct hover *hover, struct view path)
{
    struct field_place place;
    enum field_id id = field_find(path);
    if (id == FIELD_COUNT)
        return false;
    tell_field(hover->out, id);
    if (machine_resolve(hover->arena, hover->machine, path, &place, 1) == 1)
        tell_value(hover, &place);
    return true;
}

static bool tell_agreement(struct hover *hover, const struct shape_field *field)
{
    struct field_place place;
    struct agreement_told told;
    if (!shape_place(hover->document, hover->machine, field, &place) ||
        !agreement_look(hover->arena, hover->machine,
                        &hover->document->question->request.agreements, place.record, &told))
        return false;
    const struct field_value *file =
        machine_field(hover->machine, FIELD_AGREEMENT_FILE, place.record);
    buffer_text(hover->out, "**the controller's own file** ");
    markdown_code(hover->out, file->text);
    if (told.found.end > told.found.start) {
        struct place at = source_place(told.source, told.found.start, COLUMN_CODE_POINTS);
        buffer_format(hover->out, " says in line %u: ", at.line);
        markdown_code(hover->out, source_slice(told.source, told.found));
    }
    buffer_text(hover->out, "\n\n");
    markdown_code(hover->out, view_of(machine_path(hover->arena, hover->machine, told.field,
                                                   told.record, told.part)));
    buffer_text(hover->out, ": ");
    markdown_text(hover->out, view_of(told.trouble ? told.trouble : "the two agree"));
    return true;
}

/* A value that is a name or a path of something else; false where it stands for itself. */
static bool tell_named(struct hover *hover, const struct shape_field *field)
{
    struct view text = hover->node->text;
    if (field->id == FIELD_COUNT || hover->node->kind != SKETCH_TEXT)
        return false;
    if (field_table[field->id].kind == KIND_INPUT)
        return tell_input(hover, text);
    switch (field->id) {
    case FIELD_WAIVER_RULE:
        return tell_rule(hover->document, hover->out, text);
    case FIELD_WAIVER_WHERE:
        return tell_path(hover, text);
    case FIELD_AGREEMENT_FIELD:
    case FIELD_AGREEMENT_FILE:
    case FIELD_AGREEMENT_PATTERN:
        return tell_agreement(hover, field);
    case FIELD_CHANGE_SETTER:
        return tell_setter(hover, text);
    default:
        return false;
    }
}

/* --- sections --- */

static void tell_section(struct hover *hover)
{
    const char *general = shape_general(hover->arena, hover->node);
    struct shape_keys keys;
    shape_keys(hover->arena, general, &keys);
    if (strcmp(general, "inputs.*") == 0 && tell_input(hover, hover->node->key))
        return;
    if (!keys.items.count) {
        general = arena_format(hover->arena, "%s[]", general);
        shape_keys(hover->arena, general, &keys);
    }
    if (!keys.items.count)
        return;
    buffer_text(hover->out, "**");
    markdown_code(hover->out, view_of(general));
    buffer_text(hover->out, "**, a section\n");
    for (size_t i = 0; i < keys.items.count; i++) {
        const struct shape_key *key = &keys.items.items[i];
        markdown_item(hover->out);
        markdown_code(hover->out, key->name);
        if (!key->leaf || key->told)
            continue;
        buffer_text(hover->out, ": ");
        markdown_text(hover->out, view_of(field_table[key->first].meaning));
    }
}

/* A key by which another file is taken in. */
static void tell_taking(struct hover *hover, const char *general)
{
    struct explain_row row;
    for (size_t i = 0; explain_taking_row(i, &row); i++)
        if (strcmp(row.what, general) == 0) {
            buffer_text(hover->out, "**");
            markdown_code(hover->out, view_of(general));
            buffer_text(hover->out, "**: ");
            markdown_text(hover->out, view_of(row.text));
        }
}

void hover_machine(struct proveout_document *document, uint32_t offset, struct buffer *out,
                   struct span *about)
{
    bool on_key;
    struct hover hover = {
        .document = document,
        .arena = out->arena,
        .out = out,
        .machine = document_machine(document, offset),
        .node = sketch_touched(document_sketch(document), offset, &on_key),
    };
    if (!hover.node || hover.node->bare)
        return;
    struct shape_field field = shape_field(hover.arena, hover.node);
    *about = on_key ? hover.node->key_span : hover.node->span;
    if (!on_key && tell_named(&hover, &field))
        return;
    if (field.id != FIELD_COUNT) {
        tell_field_here(&hover, &field);
        return;
    }
    if (on_key)
        tell_section(&hover);
    if (!out->size)
        tell_taking(&hover, shape_general(hover.arena, hover.node));
}
