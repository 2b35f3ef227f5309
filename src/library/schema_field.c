/* What may stand at a field: one definition for each, to which the schemas refer.
 *
 * Numbers with units are patterns of texts, one for each dimension and for each way in which
 * its numbers are limited.
 */
#include "base/vector.h"
#include "library/schema_parts.h"

#include "quantity/pattern.h"
#include "quantity/quantity.h"

#include <math.h>

/* How the numbers of a field may be limited. */
enum limit {
    LIMIT_SIZE,     /* nothing or more, with its tolerance */
    LIMIT_POSITION, /* either side of zero, with its tolerance */
    LIMIT_READING,  /* nothing or more, without one */
    LIMIT_ANY,      /* either side of zero, without one */
    LIMIT_COUNT
};

static const struct {
    const char *before; /* in the name of the definition */
    bool negative, tolerance;
} limits[LIMIT_COUNT] = {
    [LIMIT_SIZE] = {"", false, true},
    [LIMIT_POSITION] = {"signed_", true, true},
    [LIMIT_READING] = {"plain_", false, false},
    [LIMIT_ANY] = {"plain_signed_", true, false},
};

static enum limit limit_of(enum field_id id)
{
    return field_is_signed(id) ? LIMIT_POSITION : LIMIT_SIZE;
}

/* `signed_length`, `steps_per_length`: what a definition is called. */
static const char *number_name(struct schema *schema, struct dimension dimension,
                               enum limit limit)
{
    char *name = arena_format(schema->arena, "%s%s", limits[limit].before,
                              dimension_name(dimension, schema->arena));
    for (char *c = name; *c; c++)
        if (*c == ' ')
            *c = '_';
    return name;
}

static void add_reference(struct schema *schema, const char *name)
{
    json_key(&schema->json, "$ref");
    json_text(&schema->json, arena_format(schema->arena, "#/$defs/%s", name));
}

/* `axes.drive.lead`, `setter.at.x`: the definition of a field. */
static const char *field_name(struct schema *schema, enum field_id id)
{
    const char *group = group_table[field_table[id].group].key;
    return arena_format(schema->arena, "%s%s%s", group, *group ? "." : "", field_table[id].key);
}

/* Editors show a pattern to whoever misses it, unless they are given words for that. */
static void add_pattern(struct json *json, const char *pattern, const char *wanted)
{
    json_key(json, "pattern"), json_text(json, pattern);
    json_key(json, "patternErrorMessage"), json_text(json, wanted);
}

/* --- kinds of values --- */

/* The days that the calendar has. */
static void add_date(struct json *json)
{
    static const char pattern[] =
        "^[ \\t]*(?:[0-9]{4}-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])"
        "|(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))"
        "|(?:[0-9]{2}(?:0[48]|[2468][048]|[13579][26])|(?:[02468][048]|[13579][26])00)-02-29)"
        "[ \\t]*$";
    json_key(json, "type"), json_text(json, "string");
    add_pattern(json, pattern, "a date like 2027-03-31 is wanted");
}

static void add_choices(struct json *json, const struct field *field)
{
    json_key(json, "enum"), json_open(json, '[');
    for (size_t i = 0; i < field_choice_count(field); i++)
        schema_add_word(json, field_choice(field, i));
    json_close(json, ']');
}

static void add_flags(struct json *json)
{
    static const char *const flags[] = {"yes",  "no",   "Yes",  "YES",   "No",    "NO",
                                        "true", "True", "TRUE", "false", "False", "FALSE"};
    json_key(json, "enum"), json_open(json, '[');
    for (size_t i = 0; i < sizeof flags / sizeof *flags; i++)
        schema_add_word(json, view_of(flags[i]));
    json_close(json, ']');
}

/* Groups of letters, each letter once in all of them, or `none`. */
static void add_order(struct json *json)
{
    static const char *const letters[] = {"[xX]", "[yY]", "[zZ]"};
    json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), json_key(json, "type"), json_text(json, "array");
    json_key(json, "minItems"), json_count(json, 1);
    json_key(json, "items"), schema_open(json, "string");
    add_pattern(json, "^[ \\t]*[x-zX-Z]{1,3}[ \\t]*$", "letters of x, y and z are wanted");
    json_close(json, '}'), json_key(json, "allOf"), json_open(json, '[');
    for (size_t i = 0; i < sizeof letters / sizeof *letters; i++) {
        json_open(json, '{'), json_key(json, "contains"), json_open(json, '{');
        json_key(json, "pattern"), json_text(json, letters[i]);
        json_close(json, '}'), json_key(json, "minContains"), json_count(json, 0);
        json_key(json, "maxContains"), json_count(json, 1), json_close(json, '}');
    }
    json_close(json, ']'), json_close(json, '}');
    json_open(json, '{'), json_key(json, "type"), json_text(json, "string");
    add_pattern(json, "^[ \\t]*none[ \\t]*$", "a list such as [z, xy], or none, is wanted"),
        json_close(json, '}');
    json_close(json, ']');
}

static void add_array(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    const struct field *field = &field_table[id];
    json_key(json, "type"), json_text(json, "array");
    if (field->kind == KIND_PAIR)
        json_key(json, "minItems"), json_count(json, 2);
    json_key(json, "maxItems");
    json_count(json, field->kind == KIND_PAIR ? 2 : kind_limit(field->kind));
    json_key(json, "items"), json_open(json, '{');
    if (field->kind == KIND_WORDS)
        add_choices(json, field);
    else
        add_reference(schema, number_name(schema, field->dimension, limit_of(id)));
    json_close(json, '}');
}

/* Readings of what scatters are positions, however the thing itself may lie. */
static enum limit reading_limit(enum field_id id)
{
    bool scatters = field_table[id].nature == NATURE_SCATTER;
    return field_is_signed(id) || scatters ? LIMIT_ANY : LIMIT_READING;
}

static const char *readings_name(struct schema *schema, enum field_id id)
{
    bool scatters = field_table[id].nature == NATURE_SCATTER;
    return arena_format(schema->arena, "%s_of_%s", scatters ? "scatter" : "readings",
                        number_name(schema, field_table[id].dimension, limit_of(id)));
}

/* A number, or what it was read from. */
static void add_number(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    const char *name = number_name(schema, field_table[id].dimension, limit_of(id));
    if (!field_takes_readings(id)) {
        add_reference(schema, name);
        return;
    }
    json_key(json, "anyOf"), json_open(json, '[');
    json_open(json, '{'), add_reference(schema, name), json_close(json, '}');
    json_open(json, '{'), add_reference(schema, readings_name(schema, id));
    json_close(json, '}'), json_close(json, ']');
}

static void add_count(struct json *json, struct arena *arena)
{
    struct buffer pattern;
    buffer_init(&pattern, arena);
    quantity_add_pattern(&pattern, &(struct quantity_shape){.count = true});
    json_key(json, "type"), json_open(json, '[');
    json_text(json, "integer"), json_text(json, "string"), json_close(json, ']');
    json_key(json, "minimum"), json_count(json, 1);
    add_pattern(json, buffer_string(&pattern), "a whole number from 1 is wanted");
}

/* Where something has to be written it is more than blanks; a note may be left empty.  A log
 * is a file beside the machine file: log_name.c. */
static void add_text(struct json *json, enum field_id id)
{
    json_key(json, "type"), json_open(json, '[');
    json_text(json, "string"), json_text(json, "number"), json_text(json, "boolean");
    if (field_table[id].kind == KIND_TEXT && !field_table[id].needed)
        json_text(json, "null");
    json_close(json, ']');
    if (id == FIELD_LOG) {
        json_key(json, "maxLength"), json_count(json, 100);
        add_pattern(json, "^(?![-. ])[^/\\\\:<>|?*\"]*[^/\\\\:<>|?*\". ]$",
                    "a plain name, as shed.log, is wanted");
    } else if (field_table[id].needed) {
        add_pattern(json, "[^ \\t]", "a text is wanted");
    }
}

static void add_kind(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    switch (field_table[id].kind) {
    case KIND_QUANTITY:
    case KIND_POSITION:
        add_number(schema, id);
        break;
    case KIND_COUNT:
        add_count(json, schema->arena);
        break;
    case KIND_PAIR:
    case KIND_LIST:
    case KIND_WORDS:
        add_array(schema, id);
        break;
    case KIND_ORDER:
        add_order(json);
        break;
    case KIND_FLAG:
        add_flags(json);
        break;
    case KIND_CHOICE:
        add_choices(json, &field_table[id]);
        break;
    case KIND_DATE:
        add_date(json);
        break;
    case KIND_VERSION:
        json_key(json, "enum"), json_open(json, '['), json_count(json, 1);
        json_text(json, "1"), json_close(json, ']');
        break;
    case KIND_TEXT:
    case KIND_INPUT:
    case KIND_TERMINAL:
        add_text(json, id);
        break;
    }
}

/* --- what is told of a field --- */

/* "It is mostly 0.5 mm to 100 mm." */
static void add_usual(struct buffer *out, const struct field *field)
{
    unit_id unit = *field->unit ? unit_read(view_of(field->unit)) : (unit_id)UNIT_BARE;
    double low = field->plausible_low, high = field->plausible_high;
    if (isnan(low) || isnan(high))
        return;
    buffer_format(out, "\n\nIt is mostly %s to %s.",
                  quantity_text(out->arena, low, field->dimension, unit),
                  quantity_text(out->arena, high, field->dimension, unit));
}

static const char *description(struct schema *schema, const struct field *field)
{
    const char *when = when_table[field->when].text;
    struct buffer out;
    buffer_init(&out, schema->arena);
    buffer_text(&out, field->meaning);
    if (*field->measure)
        buffer_format(&out, "\n\n%s", field->measure);
    add_usual(&out, field);
    if (when)
        buffer_format(&out, "\n\n%s %s.", field->needed ? "Needed" : "Only", when);
    if (field->fallback)
        buffer_format(&out, "\n\nLeft out, it is %s.", field->fallback);
    return buffer_string(&out);
}

static void add_definition(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    const struct field *field = &field_table[id];
    json_line(json, 4), json_key(json, field_name(schema, id)), json_open(json, '{');
    json_key(json, "description"), json_text(json, description(schema, field));
    if (field->fallback)
        json_key(json, "default"), schema_add_typed(json, field, view_of(field->fallback));
    json_key(json, "examples"), json_open(json, '[');
    schema_add_example(schema, id);
    json_close(json, ']');
    add_kind(schema, id);
    json_close(json, '}');
}

void schema_add_field(struct schema *schema, enum field_id id, bool away)
{
    struct json *json = &schema->json;
    json_open(json, '{');
    if (away)
        json_key(json, "anyOf"), json_open(json, '['), json_open(json, '{');
    add_reference(schema, field_name(schema, id));
    if (away) {
        json_close(json, '}');
        schema_open(json, "null"), json_close(json, '}');
        json_close(json, ']');
    }
    json_close(json, '}');
}

/* --- numbers and readings --- */

/* "a length in mm, cm, m, in is wanted, nothing or more": of the first field of the dimension
 * that has one number. */
static const char *number_wanted(struct schema *schema, struct dimension dimension,
                                 enum limit limit)
{
    enum field_id id = 0;
    while (id < FIELD_COUNT &&
           (!dimension_equal(field_table[id].dimension, dimension) ||
            (field_table[id].kind != KIND_QUANTITY && field_table[id].kind != KIND_POSITION)))
        id++;
    return arena_format(schema->arena, "%s is wanted%s%s",
                        id < FIELD_COUNT ? field_wanted_text(schema->arena, id)
                                         : field_kind_name(KIND_QUANTITY),
                        limits[limit].negative ? "" : ", nothing or more",
                        limits[limit].tolerance ? "" : ", without a tolerance");
}

static void add_number_definition(struct schema *schema, struct dimension dimension,
                                  enum limit limit)
{
    struct json *json = &schema->json;
    bool bare = unit_fits(UNIT_BARE, dimension);
    struct buffer pattern;
    buffer_init(&pattern, schema->arena);
    quantity_add_pattern(&pattern,
                         &(struct quantity_shape){.dimension = dimension,
                                                  .negative = limits[limit].negative,
                                                  .tolerance = limits[limit].tolerance});
    json_line(json, 4), json_key(json, number_name(schema, dimension, limit));
    schema_open(json, bare ? "string number" : "string");
    if (bare && !limits[limit].negative)
        json_key(json, "minimum"), json_count(json, 0);
    add_pattern(json, buffer_string(&pattern), number_wanted(schema, dimension, limit));
    json_close(json, '}');
}

/* What a measured number was read from, in its place. */
static void add_readings_definition(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    struct dimension dimension = field_table[id].dimension;
    bool scatters = field_table[id].nature == NATURE_SCATTER;
    json_line(json, 4), json_key(json, readings_name(schema, id));
    schema_open(json, "object");
    json_key(json, "additionalProperties"), json_bool(json, false);
    schema_add_required(json, "readings");
    json_key(json, "properties"), json_open(json, '{');
    json_key(json, "readings"), schema_open(json, "array");
    json_key(json, "minItems"), json_count(json, scatters ? 2 : 1);
    json_key(json, "maxItems"), json_count(json, kind_limit(KIND_LIST));
    json_key(json, "items"), json_open(json, '{');
    add_reference(schema, number_name(schema, dimension, reading_limit(id)));
    json_close(json, '}'), json_close(json, '}');
    json_key(json, "with"), schema_add_any_text(json);
    json_key(json, "by"), schema_add_any_text(json);
    /* Some readers of YAML make a truth value even of this key. */
    json_key(json, "on"), json_open(json, '{'), add_date(json), json_close(json, '}');
    json_key(json, "true"), json_open(json, '{'), add_date(json), json_close(json, '}');
    json_key(json, "instrument_error"), json_open(json, '{');
    add_reference(schema, number_name(schema, dimension, LIMIT_READING));
    json_close(json, '}'), json_close(json, '}'), json_close(json, '}');
}

static bool has_numbers(enum field_id id)
{
    enum field_kind kind = field_table[id].kind;
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_PAIR ||
           kind == KIND_LIST;
}

/* The definitions that are written already, by name. */
struct met {
    VECTOR(const char *) names;
};

static bool is_new(struct schema *schema, struct met *met, const char *name)
{
    for (size_t i = 0; i < met->names.count; i++)
        if (strcmp(met->names.items[i], name) == 0)
            return false;
    VECTOR_ADD(schema->arena, &met->names, name);
    return true;
}

static void add_number_once(struct schema *schema, struct met *met, struct dimension dimension,
                            enum limit limit)
{
    if (is_new(schema, met, number_name(schema, dimension, limit)))
        add_number_definition(schema, dimension, limit);
}

void schema_add_fields(struct schema *schema)
{
    struct met met = {0};
    for (enum field_id id = 0; id < FIELD_COUNT; id++) {
        struct dimension dimension = field_table[id].dimension;
        if (has_numbers(id))
            add_number_once(schema, &met, dimension, limit_of(id));
        if (field_takes_readings(id) && is_new(schema, &met, readings_name(schema, id))) {
            add_number_once(schema, &met, dimension, reading_limit(id));
            add_number_once(schema, &met, dimension, LIMIT_READING);
            add_readings_definition(schema, id);
        }
    }
    for (enum field_id id = 0; id < FIELD_COUNT; id++)
        add_definition(schema, id);
}
