/* The schema of a machine file: its sections, and what is needed in them.
 *
 * A machine that takes in others with `extends` may lack whatever it likes, and takes away with
 * `~` what the others say; what all of them come to only a reader of all of them can tell.  So
 * there are two forms of every section, the whole one and the one of such a part.
 */
#include "base/bug.h"
#include "library/schema_parts.h"
#include "tree/compose.h"

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
    schema_open(json, "object");
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, "from"), schema_open(json, "string");
    json_key(json, "description");
    json_text(json, "Another file, the cutters of which are those of this machine.");
    json_close(json, '}');
    json_key(json, "only"), schema_open(json, "array");
    json_key(json, "description");
    json_text(json, "The numbers of the cutters that are taken; left out: all of them.");
    json_key(json, "items"), schema_add_any_text(json);
    json_close(json, '}'), json_close(json, '}');
    schema_add_required(json, "from");
    json_key(json, "additionalProperties"), json_bool(json, false), json_close(json, '}');
}

/* A section of the file's own, with all its records. */
static void add_group(struct schema *schema, enum field_group group)
{
    struct json *json = &schema->json;
    const struct group_row *row = &group_table[group];
    const struct part part = group_part(group), none = {0};
    bool is_list = row->shape == SHAPE_LIST, wanted = row->wanted && !schema->partial;
    json_line(json, 4), json_key(json, row->key);
    if (row->shape == SHAPE_AXES) {
        add_section(schema, &none, group);
        return;
    }
    bool may_be_taken = group == GROUP_CUTTER;
    if (may_be_taken)
        add_taken(json);
    schema_open(json, is_list ? wanted ? "array" : "array null" : "object null");
    json_key(json, is_list ? "items" : "additionalProperties");
    add_section(schema, &part, GROUP_ROOT);
    if (is_list)
        json_key(json, "maxItems"), json_count(json, row->most);
    if (is_list && wanted)
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

static void add_extends(struct json *json)
{
    json_line(json, 4), json_key(json, "extends"), json_open(json, '{');
    json_key(json, "description");
    json_text(json,
              "Another machine file that this one is like, or a list of such files, the later "
              "over the earlier: what stands here comes in the place of what they say, and ~ "
              "takes it away.");
    json_key(json, "examples"), json_open(json, '['), json_text(json, "shop.yaml");
    json_close(json, ']');
    json_key(json, "type"), json_open(json, '['), json_text(json, "string");
    json_text(json, "array"), json_close(json, ']');
    json_key(json, "maxItems"), json_count(json, SHARED_FILES_MAX);
    json_key(json, "items"), schema_open(json, "string"), json_close(json, '}');
    json_close(json, '}');
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
            schema_add_field(schema, (enum field_id)id, schema->partial);
        else
            add_section(schema, &below, whole ? group_in(step) : GROUP_ROOT);
    }
    if (axes != GROUP_ROOT)
        add_axes(schema, axes, false);
    for (unsigned group = 1; whole && group < GROUP_COUNT; group++)
        if (stands_alone((enum field_group)group))
            add_group(schema, (enum field_group)group);
    if (whole)
        add_extends(json);
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
    const struct part axis = group_part(axes);
    bool wanted = is_needed(part) || (axes != GROUP_ROOT && is_needed(&axis));
    schema_open(&schema->json, wanted && !schema->partial ? "object" : "object null");
    add_properties(schema, part, axes, false);
    if (!schema->partial)
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
    schema_add_word(json, view_of(when->is));
    if (when->or_is)
        schema_add_word(json, view_of(when->or_is));
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
    schema_open(json, "object");
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

/* A field that the file has to give; of a setter, unless it is one of several. */
static void add_needed(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    bool of_setter = field_is_in(id, "setter");
    BUG_UNLESS(field_table[id].group == GROUP_ROOT);
    if (of_setter) {
        json_open(json, '{'), json_key(json, "anyOf"), json_open(json, '[');
        json_open(json, '{'), schema_add_required(json, group_table[GROUP_SETTER].key);
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
    json_open(json, '{'), schema_add_required(json, group_table[GROUP_SETTER].key);
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, group_table[GROUP_SETTER].key), json_open(json, '{');
    json_key(json, "type"), json_text(json, "array");
    json_key(json, "minItems"), json_count(json, 1);
    for (int i = 0; i < 3; i++)
        json_close(json, '}');
    json_close(json, ']'), json_close(json, '}');
    json_key(json, "then"), json_open(json, '{'), json_key(json, "allOf"), json_open(json, '[');
    add_path(schema, view_of(field_table[FIELD_CHANGE_SETTER].key), NULL, false);
    json_open(json, '{'), json_key(json, "not"), json_open(json, '{'),
        schema_add_required(json, "setter");
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

/* The file as a whole, in one of its forms. */
static void add_form(struct schema *schema, bool partial)
{
    struct json *json = &schema->json;
    const struct part root = group_part(GROUP_ROOT);
    schema->partial = partial;
    json_open(json, '{');
    json_line(json, 2), add_properties(schema, &root, GROUP_ROOT, true);
    json_line(json, 2);
    if (partial)
        schema_add_required(json, field_table[FIELD_PROVEOUT].key);
    else
        add_required(schema, &root, GROUP_ROOT, true);
    json_line(json, 2), json_key(json, "additionalProperties"), json_bool(json, false);
    if (!partial)
        add_conditions(schema);
    json_close(json, '}');
}

void schema_add_machine(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "type"), json_text(json, "object");
    json_line(json, 2), json_key(json, "if"), json_open(json, '{');
    schema_add_required(json, "extends");
    json_close(json, '}');
    json_line(json, 2), json_key(json, "then"), add_form(schema, true);
    json_line(json, 2), json_key(json, "else"), add_form(schema, false);
    json_line(json, 2), json_key(json, "$defs"), json_open(json, '{');
    schema_add_fields(schema);
    json_close(json, '}');
}
