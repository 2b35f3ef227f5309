/* Names and values of the machine for formulas.
 *
 * A section of the file ("change.park") is marked by the first field below it and the number of
 * names on the way there: fields of one section need no table of their own then.
 */
#include "rules/bind.h"

#include "base/bug.h"

enum {
    DEPTH_SHIFT = 12,
    FIELD_MASK = (1 << DEPTH_SHIFT) - 1,
};

_Static_assert((int)LEAF_COUNT <= (int)FIELD_MASK,
               "a section's mark holds a field and a depth");

/* The groups that a name at the top of the file leads to. */
static const struct {
    const char *name;
    enum field_group group;
    bool by_axis; /* a section with the axes' letters for names */
} sections[] = {
    {"axes", GROUP_AXIS, true},       {"homing", GROUP_HOMING, true},
    {"inputs", GROUP_INPUT, false},   {"obstacles", GROUP_OBSTACLE, false},
    {"setters", GROUP_SETTER, false}, {"attachments", GROUP_ATTACHMENT, false},
    {"cutters", GROUP_CUTTER, false}, {"agrees_with", GROUP_AGREEMENT, false},
    {"waivers", GROUP_WAIVER, false},
};

enum { SECTION_COUNT = sizeof sections / sizeof sections[0] };

/* The part of `key` after its first `depth` names; NULL where it has fewer. */
static const char *below(const char *key, unsigned depth)
{
    for (; depth; depth--) {
        key = strchr(key, '.');
        if (!key)
            return NULL;
        key++;
    }
    return key;
}

static struct view first_name(const char *key)
{
    const char *dot = strchr(key, '.');
    return (struct view){key, dot ? (size_t)(dot - key) : strlen(key)};
}

static enum value_type leaf_type(enum field_kind kind)
{
    switch (kind) {
    case KIND_TEXT:
    case KIND_TERMINAL:
        return TYPE_TEXT;
    case KIND_FLAG:
        return TYPE_FLAG;
    case KIND_CHOICE:
        return TYPE_CHOICE;
    case KIND_WORDS:
    case KIND_ORDER:
        return TYPE_WORDS;
    case KIND_PAIR:
        return TYPE_PAIR;
    case KIND_LIST:
        return TYPE_NUMBERS;
    case KIND_DATE:
        return TYPE_DATE;
    case KIND_INPUT:
        return TYPE_RECORD;
    case KIND_COUNT:
    case KIND_QUANTITY:
    case KIND_POSITION:
    case KIND_VERSION:
        return TYPE_QUANTITY;
    }
    BUG("a field of no kind");
}

/* Fields and what is worked out share one row of numbers: key and group of either. */
static const char *leaf_key(unsigned leaf)
{
    return leaf_is_derived((uint16_t)leaf) ? derived_key((uint16_t)leaf)
                                           : field_table[leaf].key;
}

static enum field_group leaf_group(unsigned leaf)
{
    return leaf_is_derived((uint16_t)leaf) ? derived_group((uint16_t)leaf)
                                           : field_table[leaf].group;
}

static void leaf_place(unsigned id, struct env_place *to)
{
    if (leaf_is_derived((uint16_t)id)) {
        derived_place((uint16_t)id, to);
        return;
    }
    const struct field *field = &field_table[id];
    *to = (struct env_place){
        .type = leaf_type(field->kind),
        .dimension = field->dimension,
        .leaf = (uint16_t)id,
        .kind = (uint8_t)(field->kind == KIND_INPUT ? GROUP_INPUT : field->group),
    };
}

/* Does key `key` start with the first `depth` names of `like`? */
static bool same_start(const char *key, const char *like, unsigned depth)
{
    const char *end = below(like, depth);
    if (!end)
        return false;
    size_t size = (size_t)(end - like);
    return strncmp(key, like, size) == 0;
}

/* The type of a section: somewhere with an x and a y is a place or a rectangle. */
static enum value_type section_type(enum field_group group, unsigned first, unsigned depth)
{
    const char *like = leaf_key(first);
    int lengths = 0, pairs = 0;
    for (unsigned id = first; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        if (field->group != group || !same_start(field->key, like, depth))
            continue;
        const char *rest = below(field->key, depth);
        if (strcmp(rest, "x") != 0 && strcmp(rest, "y") != 0)
            continue;
        if (!dimension_equal(field->dimension, DIMENSION_LENGTH))
            continue;
        lengths += field->kind != KIND_PAIR;
        pairs += field->kind == KIND_PAIR;
    }
    return lengths == 2 ? TYPE_PLACE : pairs == 2 ? TYPE_RECTANGLE : TYPE_SECTION;
}

/* Steps to a leaf or section below `depth` names of leaf `like` in `group`. */
static bool step_within(enum field_group group, unsigned like, unsigned depth, struct view name,
                        struct env_place *to)
{
    for (unsigned id = 0; id < LEAF_COUNT; id++) {
        if (leaf_group(id) != group)
            continue;
        if (depth && !same_start(leaf_key(id), leaf_key(like), depth))
            continue;
        const char *rest = below(leaf_key(id), depth);
        if (!view_equal(first_name(rest), name))
            continue;
        if (!strchr(rest, '.')) {
            leaf_place(id, to);
            return true;
        }
        *to = (struct env_place){
            .type = section_type(group, id, depth + 1),
            .leaf = (uint16_t)(id | (depth + 1) << DEPTH_SHIFT),
            .kind = (uint8_t)group,
        };
        return true;
    }
    return false;
}

static void root_place(const void *user, struct env_place *out)
{
    (void)user;
    *out = (struct env_place){.type = TYPE_SECTION};
}

static int axis_letter(struct view name)
{
    if (name.size == 1 && name.data[0] >= 'x' && name.data[0] <= 'z')
        return name.data[0] - 'x';
    return -1;
}

static bool step_root(struct view name, struct env_place *to)
{
    for (size_t i = 0; i < SECTION_COUNT; i++) {
        if (!view_is(name, sections[i].name))
            continue;
        *to = (struct env_place){
            .type = sections[i].by_axis ? TYPE_SECTION : TYPE_LIST,
            .kind = (uint8_t)sections[i].group,
            .indexed = sections[i].by_axis,
            .index_kind = GROUP_AXIS,
        };
        return true;
    }
    return step_within(GROUP_ROOT, 0, 0, name, to);
}

static bool environment_step(const void *user, const struct env_place *from, struct view name,
                             struct env_place *to)
{
    (void)user;
    if (from->indexed) {
        int axis = axis_letter(name);
        if (axis >= 0) {
            *to = (struct env_place){.type = TYPE_RECORD,
                                     .kind = from->kind,
                                     .fixed = true,
                                     .record = (uint32_t)axis};
            return true;
        }
        /* homing.order stands beside the axes */
        struct env_place section;
        for (unsigned id = 0; from->kind == GROUP_HOMING && id < FIELD_COUNT; id++)
            if (field_table[id].group == GROUP_ROOT &&
                strncmp(field_table[id].key, "homing.", 7) == 0) {
                section = (struct env_place){.leaf = (uint16_t)(id | 1 << DEPTH_SHIFT)};
                return step_within(GROUP_ROOT, section.leaf & FIELD_MASK, 1, name, to);
            }
        return false;
    }
    if (from->type == TYPE_RECORD)
        return step_within(from->kind, 0, 0, name, to);
    if (from->type != TYPE_SECTION && from->type != TYPE_PLACE && from->type != TYPE_RECTANGLE)
        return false;
    unsigned depth = from->leaf >> DEPTH_SHIFT;
    if (from->kind == GROUP_ROOT && depth == 0)
        return step_root(name, to);
    return step_within(from->kind, from->leaf & FIELD_MASK, depth, name, to);
}

static int environment_word(const void *user, uint16_t leaf, struct view word)
{
    (void)user;
    BUG_UNLESS(!leaf_is_derived(leaf));
    if (field_table[leaf].kind == KIND_ORDER)
        return axis_letter(word);
    return field_choice_find(&field_table[leaf], word);
}

static const struct view letters[] = {VIEW_LITERAL("x"), VIEW_LITERAL("y"), VIEW_LITERAL("z")};

static bool environment_choice(const void *user, uint16_t leaf, size_t index, struct view *out)
{
    (void)user;
    const struct field *field = &field_table[leaf];
    if (field->kind == KIND_ORDER) {
        if (index >= 3)
            return false;
        *out = letters[index];
        return true;
    }
    if (!field->choices || index >= field_choice_count(field))
        return false;
    *out = field_choice(field, index);
    return true;
}

/* The names below a section, each once: those whose first field this is. */
static bool name_within(enum field_group group, unsigned like, unsigned depth, size_t index,
                        struct view *out)
{
    for (unsigned id = 0; id < LEAF_COUNT; id++) {
        if (leaf_group(id) != group ||
            (depth && !same_start(leaf_key(id), leaf_key(like), depth)))
            continue;
        struct view name = first_name(below(leaf_key(id), depth));
        struct env_place place;
        if (!step_within(group, like, depth, name, &place) || (place.leaf & FIELD_MASK) != id)
            continue;
        if (index-- == 0) {
            *out = name;
            return true;
        }
    }
    return false;
}

static bool environment_name(const void *user, const struct env_place *from, size_t index,
                             struct view *out)
{
    (void)user;
    if (from->indexed) {
        if (index >= 3)
            return false;
        *out = letters[index];
        return true;
    }
    if (from->type == TYPE_RECORD)
        return name_within(from->kind, 0, 0, index, out);
    unsigned depth = from->leaf >> DEPTH_SHIFT;
    if (from->kind == GROUP_ROOT && depth == 0) {
        if (index < SECTION_COUNT) {
            *out = view_of(sections[index].name);
            return true;
        }
        return name_within(GROUP_ROOT, 0, 0, index - SECTION_COUNT, out);
    }
    return name_within(from->kind, from->leaf & FIELD_MASK, depth, index, out);
}

static const char *environment_leaf_path(const void *user, uint16_t leaf)
{
    (void)user;
    return leaf_key(leaf);
}

const struct environment machine_environment = {
    .step = environment_step,
    .root = root_place,
    .word = environment_word,
    .choice = environment_choice,
    .name = environment_name,
    .leaf_path = environment_leaf_path,
};

void binding_init(struct machine_binding *binding, struct arena *arena)
{
    binding->machine = NULL;
    binding->derived = ARENA_NEW(arena, struct derived);
    binding->range = NULL;
    binding->at_ends = arena_alloc(arena, 2 * sizeof *binding->at_ends);
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        binding->leaves[id].group = (uint8_t)field_table[id].group;
        binding->leaves[id].kind = (uint8_t)field_table[id].kind;
        binding->leaves[id].slot = (uint16_t)field_slot(id);
    }
}

static const struct field_value *whole_value(const struct machine_binding *binding,
                                             uint16_t leaf, uint32_t record)
{
    uint8_t group = binding->leaves[leaf].group;
    return machine_value(binding->machine, group, binding->leaves[leaf].slot, record);
}

static inline const struct field_value *value_of(const struct machine_binding *binding,
                                                 uint16_t leaf, uint8_t part, uint32_t record)
{
    const struct field_value *value = whole_value(binding, leaf, record);
    if (part && (value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED))
        return &value->pair[part - 1];
    return value;
}

const struct field_value *binding_value(const struct machine_binding *binding, uint16_t leaf,
                                        uint8_t part, uint32_t record)
{
    return value_of(binding, leaf, part, record);
}

static void read_known(enum field_kind kind, const struct field_value *value,
                       struct env_value *out)
{
    switch (kind) {
    case KIND_FLAG:
        out->number = value->flag;
        return;
    case KIND_CHOICE:
        out->number = value->choice;
        return;
    case KIND_TEXT:
    case KIND_TERMINAL:
        out->text = value->text;
        return;
    case KIND_WORDS:
    case KIND_ORDER:
        out->count = value->words->count;
        out->words = value->words->word;
        out->ranks = value->words->rank;
        out->none = value->words->none;
        return;
    case KIND_LIST:
        out->count = value->list->count;
        return;
    case KIND_INPUT:
        out->number = value->index;
        return;
    default:
        out->number = value->si;
        out->tolerance = value->tolerance;
        out->unit = value->unit;
    }
}

static void values_read(const void *user, uint16_t leaf, uint8_t part, uint32_t record,
                        struct env_value *out)
{
    const struct machine_binding *binding = user;
    if (leaf_is_derived(leaf)) {
        derived_read(binding->derived, leaf, record, out);
        return;
    }
    const struct field_value *value = value_of(binding, leaf, part, record);
    out->tolerance = 0;
    out->unit = UNIT_BARE;
    out->defaulted = value->state == VALUE_DEFAULTED;
    if (value->state == VALUE_ABSENT || value->state == VALUE_WRONG) {
        out->state = value->state == VALUE_ABSENT ? ENV_ABSENT : ENV_WRONG;
        return;
    }
    out->state = ENV_KNOWN;
    enum field_kind kind = binding->leaves[leaf].kind;
    if (kind == KIND_PAIR && !part)
        return; /* only whether it is there is asked of a whole pair */
    read_known(kind, value, out);
}

static void values_number(const void *user, uint16_t leaf, uint32_t record, uint32_t index,
                          struct env_value *out)
{
    const struct field_value *item = &whole_value(user, leaf, record)->list->items[index];
    *out = (struct env_value){.state = ENV_KNOWN,
                              .unit = item->unit,
                              .number = item->si,
                              .tolerance = item->tolerance};
}

static void values_throughout(const void *user, uint16_t leaf, uint32_t record,
                              struct env_value *out)
{
    const struct machine_binding *binding = user;
    const struct binding_range *range = binding->range;
    struct env_value other;
    double middle = range->value->si;
    *out = (struct env_value){.state = ENV_OPEN};
    if (range->has_turn)
        return;
    range->value->si = range->ends[0];
    derived_read(&binding->at_ends[0], leaf, record, out);
    range->value->si = range->ends[1];
    derived_read(&binding->at_ends[1], leaf, record, &other);
    range->value->si = middle;
    derived_between(&binding->at_ends[0], &binding->at_ends[1], leaf, &other, out);
}

static struct view values_word(const void *user, uint16_t leaf, uint32_t index)
{
    (void)user;
    struct view word = {0};
    environment_choice(NULL, leaf, index, &word);
    return word;
}

static uint32_t values_count(const void *user, uint8_t kind, bool *wrong)
{
    const struct machine_binding *binding = user;
    *wrong = binding->machine->groups[kind].wrong;
    return binding->machine->groups[kind].count;
}

struct environment_values binding_values(struct machine_binding *binding,
                                         const struct machine *machine)
{
    binding->machine = machine;
    derived_reset(binding->derived, machine);
    return (struct environment_values){.user = binding,
                                       .read = values_read,
                                       .number = values_number,
                                       .throughout = values_throughout,
                                       .word = values_word,
                                       .count = values_count};
}
