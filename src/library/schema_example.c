/* Examples of what is written at a field.
 *
 * Most stand in the machine on which the examples of rules are run.  The rest is made of what
 * the table of fields knows: a word of its choice, a number from the middle of its range.
 */
#include "base/bug.h"
#include "library/schema_parts.h"
#include "quantity/exact.h"
#include "quantity/number.h"

#include <math.h>

/* Texts that nobody could make up from the table. */
static const struct {
    enum field_id id;
    const char *text;
} texts[] = {
    {FIELD_LOG, "shed.log"},
    {FIELD_CHANGE_SETTER, "left"},
    {FIELD_SETTERS_NAME, "left"},
    {FIELD_ATTACHMENT_NAME, "camera"},
    {FIELD_AGREEMENT_FILE, "change.txt"},
    {FIELD_AGREEMENT_PATTERN, "stroke = (?<value>[0-9.]+)"},
    {FIELD_AGREEMENT_UNIT, "mm"},
    {FIELD_AGREEMENT_FIELD, "change.probe_stroke"},
    {FIELD_AGREEMENT_WITHIN, "0.05 mm"},
    {FIELD_WAIVER_RULE, "probe-stroke-short"},
    {FIELD_WAIVER_WHERE, "cutter 3"},
    {FIELD_WAIVER_REASON, "this cutter is never measured"},
    {FIELD_WAIVER_ACCEPTED_BY, "K. Meyer"},
};

void schema_add_typed(struct json *json, const struct field *field, struct view text)
{
    double number;
    size_t used = 0;
    bool may_be_bare = field->kind == KIND_COUNT || field->kind == KIND_VERSION ||
                       field->kind == KIND_QUANTITY || field->kind == KIND_LIST;
    if (may_be_bare && text.size && strspn(text.data, "0123456789.") >= text.size &&
        number_read(text, &number, &used) == NUMBER_OK && used == text.size)
        json_number(json, number);
    else
        json_view(json, text);
}

/* --- from the sample --- */

/* What stands at `key` below one map. */
static const struct tree_node *below(const struct tree_node *map, struct view key)
{
    const struct tree_node *node = map ? tree_resolve(map) : NULL;
    while (node && key.size) {
        node = node->kind == TREE_MAP ? tree_child(node, view_take(&key, '.')) : NULL;
        node = node ? tree_resolve(node) : NULL;
    }
    return node;
}

/* Of several records the first that has it. */
static const struct tree_node *find_in(const struct schema *schema, enum field_id id)
{
    const struct field *field = &field_table[id];
    const struct tree_node *root = schema->sample;
    if (field->group == GROUP_ROOT)
        return below(root, view_of(field->key));
    const struct tree_node *records = below(root, view_of(group_table[field->group].key));
    const struct tree_node *found = NULL;
    for (const struct tree_node *record = records ? records->first : NULL; record && !found;
         record = record->next)
        found = below(record, view_of(field->key));
    return found;
}

static bool add_found(struct schema *schema, const struct field *field,
                      const struct tree_node *node)
{
    struct json *json = &schema->json;
    if (!node || node->kind == TREE_MAP)
        return false;
    if (node->kind == TREE_TEXT) {
        schema_add_typed(json, field, node->text);
        return true;
    }
    json_open(json, '[');
    for (const struct tree_node *item = node->first; item; item = item->next)
        schema_add_typed(json, field, tree_resolve(item)->text);
    json_close(json, ']');
    return true;
}

/* The setters of a list have what the only one has. */
static bool add_sampled(struct schema *schema, enum field_id id)
{
    const struct field *field = &field_table[id];
    if (add_found(schema, field, find_in(schema, id)))
        return true;
    if (field->kind == KIND_INPUT)
        return add_found(schema, field, find_in(schema, FIELD_SETTER_INPUT));
    return field->group == GROUP_SETTER &&
           add_found(schema, field,
                     below(schema->sample,
                           view_of(arena_format(schema->arena, "setter.%s", field->key))));
}

/* --- from the table --- */

/* A number of one digit from within the range, on the way from `low` to `high` by `part`; where
 * the range begins at nothing, most numbers are near its beginning. */
static const char *made_number(struct arena *arena, const struct field *field, double part)
{
    unit_id unit = unit_read(view_of(field->unit));
    double low = field->plausible_low, high = field->plausible_high;
    if (unit == UNIT_UNKNOWN)
        unit = UNIT_BARE;
    if (isnan(low) || isnan(high))
        low = high = unit_to_si(unit, field->dimension, 1);
    double si = low > 0    ? low * exact_root(high / low, part)
                : low == 0 ? high * part * part / 4
                           : low + (high - low) * part;
    const char *number = number_plain(arena, unit_from_si(unit, field->dimension, si), 1);
    return *field->unit ? arena_format(arena, "%s %s", number, field->unit) : number;
}

static void add_made(struct schema *schema, enum field_id id)
{
    struct json *json = &schema->json;
    struct arena *arena = schema->arena;
    const struct field *field = &field_table[id];
    switch (field->kind) {
    case KIND_QUANTITY:
    case KIND_POSITION:
    case KIND_COUNT:
        schema_add_typed(json, field, view_of(made_number(arena, field, 0.6)));
        break;
    case KIND_PAIR:
    case KIND_LIST:
        json_open(json, '[');
        schema_add_typed(json, field, view_of(made_number(arena, field, 0.25)));
        schema_add_typed(json, field, view_of(made_number(arena, field, 0.75)));
        json_close(json, ']');
        break;
    case KIND_FLAG:
        json_text(json, "yes");
        break;
    case KIND_CHOICE:
        json_view(json, field_choice(field, 0));
        break;
    case KIND_WORDS:
        json_open(json, '['), json_view(json, field_choice(field, 0)), json_close(json, ']');
        break;
    case KIND_ORDER:
        json_open(json, '['), json_text(json, "z"), json_text(json, "xy");
        json_close(json, ']');
        break;
    case KIND_DATE:
        json_text(json, "2027-03-31");
        break;
    case KIND_VERSION:
        json_count(json, 1);
        break;
    case KIND_TEXT:
    case KIND_INPUT:
    case KIND_TERMINAL:
        json_text(json, field->meaning);
        break;
    }
}

void schema_add_example(struct schema *schema, enum field_id id)
{
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        if (texts[i].id == id) {
            json_text(&schema->json, texts[i].text);
            return;
        }
    if (!add_sampled(schema, id))
        add_made(schema, id);
}
