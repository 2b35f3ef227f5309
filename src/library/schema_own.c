/* The schemas of the program's own small files, as rules/own.h has their keys. */
#include "finding/finding.h"
#include "library/schema_parts.h"
#include "rules/own.h"

static void add_map(struct json *json, const struct own_map *map);

static void open_pattern(struct json *json, const char *types, const char *pattern)
{
    schema_open(json, types);
    json_key(json, "pattern"), json_text(json, pattern);
}

static void open_levels(struct json *json)
{
    json_open(json, '{');
    json_key(json, "enum"), json_open(json, '[');
    for (int level = LEVEL_COUNT; level-- > 0;)
        json_text(json, finding_level_name((enum finding_level)level));
    json_close(json, ']');
}

static void open_texts(struct json *json)
{
    schema_open(json, "array");
    json_key(json, "items"), schema_open(json, "string number boolean");
    json_key(json, "minLength"), json_count(json, 1);
    json_close(json, '}');
}

/* A list of texts, or `yes`. */
static void open_fields(struct json *json)
{
    json_open(json, '{');
    json_key(json, "anyOf"), json_open(json, '[');
    open_texts(json), json_close(json, '}');
    json_open(json, '{'), json_key(json, "enum"), json_open(json, '[');
    json_text(json, "yes"), json_bool(json, true);
    json_close(json, ']'), json_close(json, '}');
    json_close(json, ']');
}

static void open_items(struct json *json, const char *types, const struct own_map *items)
{
    schema_open(json, types);
    json_key(json, "items"), schema_open(json, "object");
    add_map(json, items);
    json_close(json, '}');
}

static void open_version(struct json *json)
{
    json_open(json, '{');
    json_key(json, "enum"), json_open(json, '[');
    json_text(json, "1"), json_count(json, 1), json_close(json, ']');
}

/* Opens the map of a value and leaves it open. */
static void open_value(struct json *json, const struct own_key *key)
{
    switch (key->value) {
    case OWN_VERSION:
        open_version(json);
        break;
    case OWN_TEXT:
        schema_open(json, "string number boolean");
        break;
    case OWN_NUMBER:
        open_pattern(json, "string number", "^[-+]?[0-9.][0-9.eE+-]*$");
        break;
    case OWN_FINGERPRINT:
        open_pattern(json, "string number", "^[0-9a-f]{16}$");
        break;
    case OWN_LEVEL:
        open_levels(json);
        break;
    case OWN_LEVELS:
        schema_open(json, "object");
        json_key(json, "additionalProperties"), open_levels(json), json_close(json, '}');
        break;
    case OWN_DAYS:
        open_pattern(json, "string", "^[+]?[0-9.][0-9.eE+-]* *days?$");
        break;
    case OWN_TEXTS:
        open_texts(json);
        break;
    case OWN_FIELDS:
        open_fields(json);
        break;
    case OWN_ITEMS:
        open_items(json, "array", key->items);
        break;
    case OWN_PARTS:
        open_items(json, "array null", key->items);
        break;
    }
}

/* Keys and values of the schema of a map. */
static void add_map(struct json *json, const struct own_map *map)
{
    json_key(json, "required"), json_open(json, '[');
    for (size_t i = 0; i < map->count; i++)
        if (map->keys[i].is_needed)
            json_text(json, map->keys[i].key);
    json_close(json, ']');
    json_key(json, "properties"), json_open(json, '{');
    for (size_t i = 0; i < map->count; i++) {
        json_line(json, 4), json_key(json, map->keys[i].key);
        open_value(json, &map->keys[i]);
        json_key(json, "description"), json_text(json, map->keys[i].meaning);
        json_close(json, '}');
    }
    json_close(json, '}');
    json_key(json, "additionalProperties"), json_bool(json, false);
}

static void add_file(struct schema *schema, const struct own_map *map)
{
    struct json *json = &schema->json;
    json_line(json, 2), json_key(json, "type"), json_text(json, "object");
    json_line(json, 2), add_map(json, map);
}

void schema_add_policy(struct schema *schema)
{
    add_file(schema, &own_policy);
}

void schema_add_known(struct schema *schema)
{
    add_file(schema, &own_known);
}

void schema_add_agreements(struct schema *schema)
{
    add_file(schema, &own_agreements);
}
