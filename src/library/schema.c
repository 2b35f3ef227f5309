/* A JSON Schema of the machine file, draft 2020-12, made of the field table.
 *
 * It describes the file as a YAML reader gives it, whether that makes numbers and truth values
 * of plain texts or leaves them texts.  What it refuses `check` finds a mistake in too, but for
 * units in spellings that `explain` does not name (`RPM`, `mm / s`), which are read all the
 * same.  The other way round it is more lenient: it knows nothing of the range of a number, of
 * the order of a pair, of days that no month has, of names of inputs.
 */
#include "base/bug.h"
#include "library/machine_file.h"
#include "quantity/quantity.h"
#include "report/json_writer.h"

enum { UNITS_MAX = 64 };

/* A number in a superset of the forms that are read, and blanks around it. */
#define BLANK  "[ \\t\\u00a0\\u2009\\u202f]*"
#define DIGITS "(?:[0-9]+(?:\\.[0-9]*)?|\\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
#define NUMBER "[-+\\u2212]?" DIGITS "(?:[ -][0-9]+/[0-9]+|/[0-9]+)?"
#define PLUS   "(?:\\u00b1|\\+/-)"

struct schema {
    struct json json;
    struct arena *arena;
};

/* `steps_per_length`: what the definition of a dimension is called. */
static const char *definition_name(struct schema *schema, struct dimension dimension)
{
    char *name = arena_format(schema->arena, "%s", dimension_name(dimension, schema->arena));
    for (char *c = name; *c; c++)
        if (*c == ' ')
            *c = '_';
    return name;
}

static void add_reference(struct schema *schema, struct dimension dimension)
{
    const char *name = definition_name(schema, dimension);
    json_key(&schema->json, "$ref");
    json_text(&schema->json, arena_format(schema->arena, "#/$defs/%s", name));
}

/* The ways to write a unit: `mm/s^2`, `mm/s2`, `mm/s²`. */
static void add_unit(struct buffer *out, const char *text)
{
    static const struct {
        const char *plain, *pattern;
    } parts[] = {
        {"^2", "(?:\\^?2|\\u00b2)"},
        {"*", "[*\\u00b7\\u22c5]"},
        {"um", "[u\\u00b5\\u03bc]m"},
    };
    if (strncmp(text, "in", 2) == 0 || strncmp(text, "steps/in", 8) == 0) {
        const char *inch = strstr(text, "in");
        buffer_format(out, "%.*s(?:in|[\"\\u201d\\u2033])", (int)(inch - text), text);
        text = inch + 2;
    }
    while (*text) {
        size_t i = 0, count = sizeof parts / sizeof *parts;
        while (i < count && strncmp(text, parts[i].plain, strlen(parts[i].plain)) != 0)
            i++;
        if (i == count)
            buffer_byte(out, *text);
        else
            buffer_text(out, parts[i].pattern);
        text += i == count ? 1 : strlen(parts[i].plain);
    }
}

/* What a quantity of this dimension is written like. */
static const char *quantity_pattern(struct schema *schema, struct dimension dimension)
{
    unit_id units[UNITS_MAX];
    size_t count = unit_choices(dimension, units, UNITS_MAX);
    struct buffer unit;
    buffer_init(&unit, schema->arena);
    for (size_t i = 0; i < count; i++) {
        buffer_text(&unit, i ? "|" : BLANK "(?:");
        add_unit(&unit, unit_text(units[i]));
    }
    buffer_text(&unit, count ? ")" : "");
    const char *u = buffer_string(&unit);
    if (unit_fits(UNIT_BARE, dimension))
        return arena_format(
            schema->arena,
            "^" BLANK NUMBER "(?:%s)?(?:" BLANK PLUS BLANK NUMBER "(?:%s)?)?" BLANK "$", u, u);
    return arena_format(schema->arena,
                        "^" BLANK NUMBER "(?:%s(?:" BLANK PLUS BLANK NUMBER
                        "(?:%s)?)?|" BLANK PLUS BLANK NUMBER "%s)" BLANK "$",
                        u, u, u);
}

static void add_pattern(struct json *json, const char *pattern)
{
    json_key(json, "type"), json_text(json, "string");
    json_key(json, "pattern"), json_text(json, pattern);
}

static void add_date(struct json *json)
{
    add_pattern(json, "^[ \\t]*[0-9]{4}-[0-9]{2}-[0-9]{2}[ \\t]*$");
}

static void add_scalar(struct json *json)
{
    json_key(json, "type"), json_open(json, '[');
    json_text(json, "string"), json_text(json, "number"), json_text(json, "boolean");
    json_close(json, ']');
}

/* What a measured number was read from, in its place: `readings_of_length`. */
static void add_readings(struct schema *schema, struct dimension dimension)
{
    struct json *json = &schema->json;
    json_line(json, 4);
    json_key(json,
             arena_format(schema->arena, "readings_of_%s", definition_name(schema, dimension)));
    json_open(json, '{'), json_key(json, "type"), json_text(json, "object");
    json_key(json, "additionalProperties"), json_bool(json, false);
    json_key(json, "required"), json_open(json, '['), json_text(json, "readings"),
        json_close(json, ']');
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, "readings"), json_open(json, '{');
    json_key(json, "type"), json_text(json, "array");
    json_key(json, "minItems"), json_count(json, 1);
    json_key(json, "items"), json_open(json, '{'), add_reference(schema, dimension);
    json_close(json, '}'), json_close(json, '}');
    json_key(json, "with"), json_open(json, '{'), add_scalar(json), json_close(json, '}');
    json_key(json, "by"), json_open(json, '{'), add_scalar(json), json_close(json, '}');
    /* Some readers of YAML make a truth value even of this key. */
    json_key(json, "on"), json_open(json, '{'), add_date(json), json_close(json, '}');
    json_key(json, "true"), json_open(json, '{'), add_date(json), json_close(json, '}');
    json_key(json, "instrument_error"), json_open(json, '{'), add_reference(schema, dimension);
    json_close(json, '}'), json_close(json, '}'), json_close(json, '}');
}

/* Does a field of this dimension, measured or any, stand before `id`? */
static bool is_met(unsigned id, bool measured)
{
    unsigned first = 0;
    while (!dimension_equal(field_table[first].dimension, field_table[id].dimension) ||
           (measured && !field_takes_readings((enum field_id)first)))
        first++;
    return first < id;
}

/* One for each dimension that a field has, and one for its readings. */
static void add_definitions(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "$defs"), json_open(json, '{');
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        struct dimension dimension = field_table[id].dimension;
        if (field_takes_readings((enum field_id)id) && !is_met(id, true))
            add_readings(schema, dimension);
        if (is_met(id, false))
            continue;
        json_line(json, 4), json_key(json, definition_name(schema, dimension)),
            json_open(json, '{');
        json_key(json, "type"), json_open(json, '['), json_text(json, "string");
        if (unit_fits(UNIT_BARE, dimension))
            json_text(json, "number");
        json_close(json, ']');
        json_key(json, "pattern"), json_text(json, quantity_pattern(schema, dimension));
        json_close(json, '}');
    }
    json_close(json, '}');
}

/* A word, and the truth value that some readers make of it. */
static void add_word(struct json *json, struct view word)
{
    json_view(json, word);
    if (view_is(word, "yes") || view_is(word, "no"))
        json_bool(json, view_is(word, "yes"));
}

static void add_choices(struct json *json, const struct field *field)
{
    json_key(json, "enum"), json_open(json, '[');
    for (size_t i = 0; i < field_choice_count(field); i++)
        add_word(json, field_choice(field, i));
    json_close(json, ']');
}

static void add_array(struct schema *schema, const struct field *field)
{
    struct json *json = &schema->json;
    json_key(json, "type"), json_text(json, "array");
    if (field->kind == KIND_PAIR)
        json_key(json, "minItems"), json_count(json, 2), json_key(json, "maxItems"),
            json_count(json, 2);
    json_key(json, "items"), json_open(json, '{');
    if (field->kind == KIND_WORDS)
        add_choices(json, field);
    else
        add_reference(schema, field->dimension);
    json_close(json, '}');
}

/* A number, or what it was read from. */
static void add_number(struct schema *schema, const struct field *field)
{
    struct json *json = &schema->json;
    if (!field_takes_readings((enum field_id)(field - field_table))) {
        add_reference(schema, field->dimension);
        return;
    }
    const char *name = definition_name(schema, field->dimension);
    json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), add_reference(schema, field->dimension), json_close(json, '}');
    json_open(json, '{'), json_key(json, "$ref");
    json_text(json, arena_format(schema->arena, "#/$defs/readings_of_%s", name));
    json_close(json, '}'), json_close(json, ']');
}

static void add_kind(struct schema *schema, const struct field *field)
{
    static const char *const flags[] = {"yes",  "Yes",  "YES",  "no",    "No",    "NO",
                                        "true", "True", "TRUE", "false", "False", "FALSE"};
    struct json *json = &schema->json;
    switch (field->kind) {
    case KIND_QUANTITY:
    case KIND_POSITION:
    case KIND_COUNT:
        add_number(schema, field);
        break;
    case KIND_PAIR:
    case KIND_LIST:
    case KIND_WORDS:
        add_array(schema, field);
        break;
    case KIND_ORDER:
        json_key(json, "anyOf"), json_open(json, '[');
        json_open(json, '{'), add_pattern(json, "^[ \\t]*none[ \\t]*$"), json_close(json, '}');
        json_open(json, '{');
        json_key(json, "type"), json_text(json, "array");
        json_key(json, "minItems"), json_count(json, 1);
        json_key(json, "items"), json_open(json, '{');
        add_pattern(json, "^[ \\t]*[x-zX-Z]{1,3}[ \\t]*$");
        json_close(json, '}'), json_close(json, '}'), json_close(json, ']');
        break;
    case KIND_FLAG:
        json_key(json, "enum"), json_open(json, '[');
        for (size_t i = 0; i < sizeof flags / sizeof *flags; i++)
            add_word(json, view_of(flags[i]));
        json_close(json, ']');
        break;
    case KIND_CHOICE:
        add_choices(json, field);
        break;
    case KIND_DATE:
        add_date(json);
        break;
    case KIND_VERSION:
        json_key(json, "enum"), json_open(json, '['), json_text(json, "1");
        json_count(json, 1), json_close(json, ']');
        break;
    case KIND_TEXT:
    case KIND_INPUT:
    case KIND_TERMINAL:
        add_scalar(json);
        break;
    }
}

static void add_value(struct schema *schema, const struct field *field)
{
    struct json *json = &schema->json;
    json_open(json, '{');
    json_key(json, "description"), json_text(json, field->meaning);
    if (field->fallback)
        json_key(json, "default"), json_text(json, field->fallback);
    add_kind(schema, field);
    json_close(json, '}');
}

/* Sections. */

/* Fields that stand together, below `depth` bytes of their keys. */
struct part {
    unsigned first, end;
    size_t depth;
};

/* The next key at `id`, and the fields that it stands for. */
static struct view part_step(const struct part *part, unsigned id, struct part *out, bool *leaf)
{
    struct view rest = view_of(field_table[id].key + part->depth);
    struct view step = view_take(&rest, '.');
    *leaf = part->depth + step.size == strlen(field_table[id].key);
    *out = (struct part){id, id + 1, part->depth + step.size + 1};
    while (!*leaf && out->end < part->end &&
           strncmp(field_table[out->end].key, field_table[id].key, out->depth) == 0)
        out->end++;
    return step;
}

static bool is_needed(const struct part *part)
{
    for (unsigned id = part->first; id < part->end; id++)
        if (field_table[id].needed && field_table[id].when == WHEN_ALWAYS)
            return true;
    return false;
}

static struct part group_part(enum field_group group)
{
    return (struct part){group_table[group].first, group_table[group].end, 0};
}

static void add_section(struct schema *schema, const struct part *part, enum field_group axes);

/* x, y and z of a section. */
static void add_axes(struct schema *schema, enum field_group group, bool required)
{
    static const char *const axes[] = {"x", "y", "z"};
    const struct part part = group_part(group);
    for (size_t i = 0; i < sizeof axes / sizeof *axes; i++) {
        if (required) {
            json_text(&schema->json, axes[i]);
            continue;
        }
        json_key(&schema->json, axes[i]);
        add_section(schema, &part, GROUP_ROOT);
    }
}

/* A list, or where else it is taken from: what follows is the list. */
static void add_taken(struct json *json)
{
    json_open(json, '{'), json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), json_key(json, "type"), json_text(json, "object");
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, "from"), json_open(json, '{'), json_key(json, "type"),
        json_text(json, "string"), json_close(json, '}');
    json_key(json, "only"), json_open(json, '{'), json_key(json, "type"),
        json_text(json, "array"), json_close(json, '}');
    json_close(json, '}'), json_key(json, "required"), json_open(json, '[');
    json_text(json, "from"), json_close(json, ']');
    json_key(json, "additionalProperties"), json_bool(json, false), json_close(json, '}');
}

/* A section of the file's own, with all its records. */
static void add_group(struct schema *schema, enum field_group group)
{
    struct json *json = &schema->json;
    const struct group_row *row = &group_table[group];
    const struct part part = group_part(group), none = {0};
    json_line(json, 4), json_key(json, row->key);
    if (row->shape == SHAPE_AXES) {
        add_section(schema, &none, group);
        return;
    }
    bool may_be_taken = group == GROUP_CUTTER;
    if (may_be_taken)
        add_taken(json);
    json_open(json, '{');
    json_key(json, "type"), json_text(json, row->shape == SHAPE_LIST ? "array" : "object");
    json_key(json, row->shape == SHAPE_LIST ? "items" : "additionalProperties");
    add_section(schema, &part, GROUP_ROOT);
    if (row->shape == SHAPE_LIST)
        json_key(json, "maxItems"), json_count(json, row->most);
    if (row->shape == SHAPE_LIST && row->wanted)
        json_key(json, "minItems"), json_count(json, 1);
    json_close(json, '}');
    if (may_be_taken)
        json_close(json, ']'), json_close(json, '}');
}

/* The group whose records stand in the section `key` of the file; GROUP_ROOT: none. */
static enum field_group group_in(struct view key)
{
    unsigned group = GROUP_COUNT - 1;
    while (group && !view_is(key, group_table[group].key))
        group--;
    return (enum field_group)group;
}

/* The groups that share no section with fields of the file as a whole. */
static bool stands_alone(enum field_group group)
{
    return !field_is_in(FIELD_HOMING_ORDER, group_table[group].key);
}

static void add_properties(struct schema *schema, const struct part *part,
                           enum field_group axes, bool whole)
{
    struct json *json = &schema->json;
    struct part below;
    bool leaf;
    json_key(json, "properties"), json_open(json, '{');
    for (unsigned id = part->first; id < part->end; id = below.end) {
        struct view step = part_step(part, id, &below, &leaf);
        json_line(json, whole ? 4 : 6);
        json_key(json, arena_copy(schema->arena, step.data, step.size));
        if (leaf)
            add_value(schema, &field_table[id]);
        else
            add_section(schema, &below, whole ? group_in(step) : GROUP_ROOT);
    }
    if (axes != GROUP_ROOT)
        add_axes(schema, axes, false);
    for (unsigned group = 1; whole && group < GROUP_COUNT; group++)
        if (stands_alone((enum field_group)group))
            add_group(schema, (enum field_group)group);
    json_close(json, '}');
}

static void add_required(struct schema *schema, const struct part *part, enum field_group axes,
                         bool whole)
{
    struct json *json = &schema->json;
    struct part below;
    bool leaf;
    json_key(json, "required"), json_open(json, '[');
    for (unsigned id = part->first; id < part->end; id = below.end) {
        struct view step = part_step(part, id, &below, &leaf);
        if (is_needed(&below))
            json_view(json, step);
    }
    const struct part axis = group_part(axes);
    if (axes != GROUP_ROOT && is_needed(&axis))
        add_axes(schema, axes, true);
    for (unsigned group = 1; whole && group < GROUP_COUNT; group++)
        if (group_table[group].wanted)
            json_text(json, group_table[group].key);
    json_close(json, ']');
}

static void add_section(struct schema *schema, const struct part *part, enum field_group axes)
{
    json_open(&schema->json, '{');
    json_key(&schema->json, "type"), json_text(&schema->json, "object");
    add_properties(schema, part, axes, false);
    add_required(schema, part, axes, false);
    json_key(&schema->json, "additionalProperties"), json_bool(&schema->json, false);
    json_close(&schema->json, '}');
}

/* What is needed at some times only. */

/* The words of a condition, or any other. */
static void add_leaf(struct json *json, const struct when *when, bool other)
{
    json_open(json, '{');
    if (other)
        json_key(json, "not"), json_open(json, '{');
    json_key(json, "enum"), json_open(json, '[');
    add_word(json, view_of(when->is));
    if (when->or_is)
        add_word(json, view_of(when->or_is));
    json_close(json, ']');
    if (other)
        json_close(json, '}');
    json_close(json, '}');
}

/* That the file has something at `path`; NULL: whatever it is. */
static void add_path(struct schema *schema, struct view path, const struct when *when,
                     bool other)
{
    struct json *json = &schema->json;
    if (!path.size) {
        if (when)
            add_leaf(json, when, other);
        else
            json_bool(json, true);
        return;
    }
    struct view step = view_take(&path, '.');
    json_open(json, '{');
    json_key(json, "required"), json_open(json, '['), json_view(json, step);
    json_close(json, ']');
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, arena_copy(schema->arena, step.data, step.size));
    add_path(schema, path, when, other);
    json_close(json, '}'), json_close(json, '}');
}

/* As the reader has it: what is left out says its default. */
static void add_condition(struct schema *schema, const struct when *when)
{
    struct json *json = &schema->json;
    const struct field *field = &field_table[when->field];
    if (!*when->is) {
        add_path(schema, view_of(field->key), NULL, false);
        return;
    }
    bool unsaid = !field->needed &&
                  (field->fallback && strcmp(field->fallback, when->is) == 0 ? !when->is_not
                                                                             : when->is_not);
    if (unsaid)
        json_open(json, '{'), json_key(json, "not");
    add_path(schema, view_of(field->key), when, when->is_not != unsaid);
    if (unsaid)
        json_close(json, '}');
}

/* The assumed stick-out serves a cutter that has none of its own, too. */
static void add_assumed(struct schema *schema, const struct when *when)
{
    struct json *json = &schema->json;
    json_open(json, '{'), json_key(json, "anyOf"), json_open(json, '[');
    add_condition(schema, when);
    json_open(json, '{'), json_key(json, "allOf"), json_open(json, '[');
    add_path(schema, view_of(field_table[when->field].key), NULL, false);
    json_open(json, '{'), json_key(json, "properties"), json_open(json, '{');
    json_key(json, group_table[GROUP_CUTTER].key), json_open(json, '{');
    json_key(json, "type"), json_text(json, "array");
    json_key(json, "contains"), json_open(json, '{');
    json_key(json, "required"), json_open(json, '[');
    json_text(json, field_table[FIELD_CUTTER_NUMBER].key), json_close(json, ']');
    json_key(json, "not");
    add_path(schema, view_of(field_table[FIELD_CUTTER_STICKOUT].key), NULL, false);
    for (int i = 0; i < 4; i++)
        json_close(json, '}');
    json_close(json, ']'), json_close(json, '}');
    json_close(json, ']'), json_close(json, '}');
}

static bool decides(unsigned when)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        if (field_table[id].needed && field_table[id].when == when)
            return true;
    return false;
}

static void add_key(struct json *json, const char *key)
{
    json_key(json, "required"), json_open(json, '['), json_text(json, key);
    json_close(json, ']');
}

/* A field that the file has to give; of a setter, unless it is one of several. */
static void add_needed(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    bool of_setter = field_is_in(id, "setter");
    BUG_UNLESS(field_table[id].group == GROUP_ROOT);
    if (of_setter) {
        json_open(json, '{'), json_key(json, "anyOf"), json_open(json, '[');
        json_open(json, '{'), add_key(json, group_table[GROUP_SETTER].key);
        json_close(json, '}');
    }
    add_path(schema, view_of(field_table[id].key), NULL, false);
    if (of_setter)
        json_close(json, ']'), json_close(json, '}');
}

/* Of several setters the change names the one that it uses, and there is no other beside them.
 */
static void add_setters(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 4), json_open(json, '{');
    json_key(json, "if"), json_open(json, '{'), json_key(json, "allOf"), json_open(json, '[');
    add_condition(schema, &when_table[WHEN_SETTER]);
    json_open(json, '{'), add_key(json, group_table[GROUP_SETTER].key);
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, group_table[GROUP_SETTER].key), json_open(json, '{');
    json_key(json, "type"), json_text(json, "array");
    json_key(json, "minItems"), json_count(json, 1);
    for (int i = 0; i < 3; i++)
        json_close(json, '}');
    json_close(json, ']'), json_close(json, '}');
    json_key(json, "then"), json_open(json, '{'), json_key(json, "allOf"), json_open(json, '[');
    add_path(schema, view_of(field_table[FIELD_CHANGE_SETTER].key), NULL, false);
    json_open(json, '{'), json_key(json, "not"), json_open(json, '{'), add_key(json, "setter");
    json_close(json, '}'), json_close(json, '}');
    json_close(json, ']'), json_close(json, '}'), json_close(json, '}');
}

/* Where a condition holds, what it calls for.  Fields of records are needed always or never. */
static void add_conditions(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "allOf"), json_open(json, '[');
    for (unsigned when = WHEN_ALWAYS + 1; when < WHEN_COUNT; when++) {
        if (!decides(when))
            continue;
        json_line(json, 4), json_open(json, '{');
        json_key(json, "if"), json_open(json, '{');
        json_key(json, "allOf"), json_open(json, '[');
        for (unsigned i = when; i != WHEN_ALWAYS; i = when_table[i].and)
            if (i == WHEN_ASSUMED)
                add_assumed(schema, &when_table[i]);
            else
                add_condition(schema, &when_table[i]);
        json_close(json, ']'), json_close(json, '}');
        json_key(json, "then"), json_open(json, '{');
        json_key(json, "allOf"), json_open(json, '[');
        for (unsigned id = 0; id < FIELD_COUNT; id++)
            if (field_table[id].needed && field_table[id].when == when)
                add_needed(schema, (enum field_id)id);
        json_close(json, ']'), json_close(json, '}'), json_close(json, '}');
    }
    add_setters(schema);
    json_close(json, ']');
}

/* A file that extends others may leave out or take away whatever it likes: what that comes to
 * only a reader of all of them can tell. */
static void add_extended(struct json *json)
{
    json_key(json, "if"), json_open(json, '{'), json_key(json, "required");
    json_open(json, '['), json_text(json, "extends"), json_close(json, ']');
    json_close(json, '}');
    json_line(json, 2), json_key(json, "then"), json_open(json, '{');
    json_key(json, "properties"), json_open(json, '{'), json_key(json, "extends");
    json_open(json, '{'), json_key(json, "type"), json_open(json, '[');
    json_text(json, "string"), json_text(json, "array"), json_close(json, ']');
    json_key(json, "items"), json_open(json, '{'), json_key(json, "type");
    json_text(json, "string"), json_close(json, '}');
    json_close(json, '}'), json_close(json, '}');
    json_key(json, "required"), json_open(json, '['), json_text(json, "proveout");
    json_close(json, ']'), json_close(json, '}');
}

void schema_write(struct buffer *out)
{
    struct schema schema = {.json = {.out = out}, .arena = out->arena};
    struct json *json = &schema.json;
    const struct part root = group_part(GROUP_ROOT);
    json_open(json, '{');
    json_line(json, 2), json_key(json, "$schema");
    json_text(json, "https://json-schema.org/draft/2020-12/schema");
    json_line(json, 2), json_key(json, "title"), json_text(json, "proveout machine file");
    json_line(json, 2), json_key(json, "type"), json_text(json, "object");
    json_line(json, 2), add_extended(json);
    json_line(json, 2), json_key(json, "else"), json_open(json, '{');
    json_line(json, 2), add_properties(&schema, &root, GROUP_ROOT, true);
    json_line(json, 2), add_required(&schema, &root, GROUP_ROOT, true);
    json_line(json, 2), json_key(json, "additionalProperties"), json_bool(json, false);
    add_conditions(&schema);
    json_close(json, '}');
    add_definitions(&schema);
    buffer_byte(out, '\n'), json_close(json, '}');
    buffer_byte(out, '\n');
}
