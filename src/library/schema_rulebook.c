/* The schema of a rulebook: its keys as rules/form.inc has them, and in the examples of rules
 * every field of the machine that they may change.
 *
 * Formulas are texts here; whether they say anything is asked when the book is read.
 */
#include "library/schema_parts.h"
#include "rules/rulebook.h"

static void add_limits(struct json *json, const char *key, size_t count)
{
    json_key(json, key), json_count(json, count);
}

static void add_words(struct json *json, enum book_key_id id)
{
    struct view words[BOOK_NAMES_MOST];
    size_t count = book_key_words(id, words);
    json_key(json, "enum"), json_open(json, '[');
    for (size_t i = 0; i < count; i++) {
        json_view(json, words[i]);
        if (view_is(words[i], "1"))
            json_count(json, 1);
    }
    json_close(json, ']');
}

/* One value, without its brackets. */
static void add_one(struct json *json, enum book_key_id id)
{
    if (book_key_table[id].words) {
        add_words(json, id);
        return;
    }
    json_key(json, "type"), json_open(json, '[');
    json_text(json, "string"), json_text(json, "number"), json_text(json, "boolean");
    json_close(json, ']');
    add_limits(json, "minLength", 1);
}

/* One value, or a list of at least `least`. */
static void add_one_or_list(struct json *json, enum book_key_id id, size_t least, size_t most)
{
    json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), add_one(json, id), json_close(json, '}');
    schema_open(json, "array");
    add_limits(json, "minItems", least);
    if (most)
        add_limits(json, "maxItems", most);
    json_key(json, "items"), json_open(json, '{'), add_one(json, id), json_close(json, '}');
    json_close(json, '}'), json_close(json, ']');
}

static void add_reference(struct json *json, const char *to)
{
    json_key(json, "$ref"), json_text(json, to);
}

static void add_value(struct json *json, enum book_key_id id)
{
    switch (book_key_table[id].value) {
    case BOOK_IS_TEXT:
    case BOOK_IS_WORD:
        add_one(json, id);
        break;
    case BOOK_IS_TEXTS:
    case BOOK_IS_WORDS:
        add_one_or_list(json, id, book_key_table[id].wanted, 0);
        break;
    case BOOK_IS_NAMES:
        add_one_or_list(json, id, 0, RULE_IMPLIED_MAX - 1);
        break;
    case BOOK_IS_FORMULAS:
        json_key(json, "type"), json_text(json, "object");
        json_key(json, "additionalProperties"), schema_add_any_text(json);
        break;
    case BOOK_IS_RULES:
        add_reference(json, "#/$defs/rules");
        break;
    case BOOK_IS_EXAMPLES:
        add_reference(json, "#/$defs/examples");
        break;
    case BOOK_IS_CHANGES:
        add_reference(json, "#/$defs/changes");
        break;
    case BOOK_IS_CHANGE_LIST:
        json_key(json, "type"), json_text(json, "array");
        if (book_key_table[id].wanted)
            add_limits(json, "minItems", 1);
        json_key(json, "items"), json_open(json, '{');
        add_reference(json, "#/$defs/changes"), json_close(json, '}');
        break;
    }
}

static void add_key(struct json *json, enum book_key_id id)
{
    const struct book_key *key = &book_key_table[id];
    json_line(json, 6), json_key(json, key->key), json_open(json, '{');
    json_key(json, "description"), json_text(json, key->meaning);
    if (key->example) {
        json_key(json, "examples"), json_open(json, '[');
        json_text(json, key->example), json_close(json, ']');
    }
    add_value(json, id);
    json_close(json, '}');
}

static void add_keys(struct json *json, enum book_map map)
{
    for (enum book_key_id id = 0; id < BOOK_KEY_COUNT; id++)
        if (book_key_table[id].map == map)
            add_key(json, id);
}

/* The members of a map, without its brackets. */
static void add_map(struct json *json, enum book_map map)
{
    json_key(json, "properties"), json_open(json, '{');
    add_keys(json, map);
    json_close(json, '}');
    json_key(json, "required"), json_open(json, '[');
    for (enum book_key_id id = 0; id < BOOK_KEY_COUNT; id++)
        if (book_key_table[id].map == map && book_key_table[id].wanted)
            json_text(json, book_key_table[id].key);
    json_close(json, ']');
    json_key(json, "additionalProperties"), json_bool(json, false);
}

/* --- changes: fields of the machine by their paths --- */

static void add_change(struct schema *schema, const char *path, enum field_id id)
{
    struct json *json = &schema->json;
    json_line(json, 6), json_key(json, path);
    if (id == FIELD_COUNT) {
        json_bool(json, true);
        return;
    }
    json_open(json, '{'), json_key(json, "anyOf"), json_open(json, '[');
    schema_add_field(schema, id, true);
    schema_open(json, "object"), json_close(json, '}');
    json_close(json, ']'), json_close(json, '}');
}

/* The path of a field or section as a pattern: an item of a list has a number, an axis its
 * letter, an input its name. */
static const char *path_pattern(struct schema *schema, struct view path, enum field_group group)
{
    const char *names = group_table[group].shape == SHAPE_AXES ? "[xyz]" : "[^.\\[]*";
    struct buffer out;
    buffer_init(&out, schema->arena);
    buffer_byte(&out, '^');
    for (size_t i = 0; i < path.size; i++) {
        if (path.data[i] == '.')
            buffer_text(&out, "\\.");
        else if (path.data[i] == '*')
            buffer_text(&out, names);
        else if (path.data[i] == '[')
            buffer_text(&out, "\\[[^\\]]*\\]"), i++;
        else
            buffer_byte(&out, path.data[i]);
    }
    buffer_byte(&out, '$');
    return buffer_string(&out);
}

static bool is_single(enum field_id id)
{
    return field_table[id].group == GROUP_ROOT;
}

/* The fields that there is one of each, by name, so that an editor can offer them. */
static void add_single_fields(struct schema *schema)
{
    for (enum field_id id = 0; id < FIELD_COUNT; id++)
        if (is_single(id))
            add_change(schema, field_path(schema->arena, id), id);
}

/* The sections in which a field stands, whole: "change", "cutters[]". */
static void add_sections(struct schema *schema, enum field_id id, const char **last)
{
    const char *path = field_path(schema->arena, id);
    for (size_t i = 1; path[i]; i++) {
        struct view section = {path, i};
        if ((path[i] != '.' && path[i] != '[') || strncmp(*last, path, i) == 0)
            continue;
        add_change(schema, path_pattern(schema, section, field_table[id].group), FIELD_COUNT);
    }
    *last = path;
}

static void add_patterns(struct schema *schema)
{
    const char *last = "";
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        add_sections(schema, id, &last);
        if (!is_single(id))
            add_change(schema, path_pattern(schema, view_of(last), field_table[id].group), id);
    }
}

static void add_changes(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 4), json_key(json, "changes"), schema_open(json, "object");
    json_key(json, "properties"), json_open(json, '{');
    add_keys(json, BOOK_MAP_CHANGE);
    add_single_fields(schema);
    json_close(json, '}');
    json_key(json, "patternProperties"), json_open(json, '{');
    add_patterns(schema);
    json_close(json, '}');
    json_key(json, "additionalProperties"), json_bool(json, false);
    json_close(json, '}');
}

/* --- the book --- */

static void add_rules(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 4), json_key(json, "rules"), schema_open(json, "object");
    json_key(json, "propertyNames"), json_open(json, '{'), json_key(json, "pattern");
    json_text(json, arena_format(schema->arena, "^[a-z][a-z0-9-]{0,%d}$", RULE_NAME_MOST - 1));
    json_close(json, '}');
    json_key(json, "additionalProperties"), schema_open(json, "object");
    add_map(json, BOOK_MAP_RULE);
    json_close(json, '}'), json_close(json, '}');
    json_line(json, 4), json_key(json, "examples"), schema_open(json, "object");
    add_map(json, BOOK_MAP_EXAMPLES);
    json_close(json, '}');
}

/* A book that neither asks nor defines anything was meant otherwise. */
static void add_use(struct json *json)
{
    const char *rules = book_key_table[BOOK_RULES].key;
    json_line(json, 2), json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), schema_add_required(json, book_key_table[BOOK_DEFINE].key);
    json_close(json, '}');
    json_open(json, '{'), schema_add_required(json, rules);
    json_key(json, "properties"), json_open(json, '{'), json_key(json, rules);
    json_open(json, '{'), add_limits(json, "minProperties", 1);
    json_close(json, '}'), json_close(json, '}'), json_close(json, '}');
    json_close(json, ']');
}

void schema_add_rulebook(struct schema *schema)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "type"), json_text(json, "object");
    json_line(json, 2), add_map(json, BOOK_MAP_BOOK);
    add_use(json);
    json_line(json, 2), json_key(json, "$defs"), json_open(json, '{');
    add_rules(schema);
    add_changes(schema);
    schema_add_fields(schema);
    json_close(json, '}');
}
