#include "world.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/buffer.h"
#include "quantity/quantity.h"

struct row {
    enum world_kind kind;
    const char *key;
    enum value_type type;
    struct dimension dimension; /* of records: unused */
    const char *words;
};

#define BARE                                                                                   \
    {                                                                                          \
        0, 0, 0, 0, 0                                                                          \
    }
#define LENGTH                                                                                 \
    {                                                                                          \
        1, 0, 0, 0, 0                                                                          \
    }
#define TIME                                                                                   \
    {                                                                                          \
        0, 0, 1, 0, 0                                                                          \
    }
#define SPEED                                                                                  \
    {                                                                                          \
        1, 0, -1, 0, 0                                                                         \
    }
#define CHANGE                                                                                 \
    {                                                                                          \
        1, 0, -2, 0, 0                                                                         \
    }
#define ROTATION                                                                               \
    {                                                                                          \
        0, 0, -1, 1, 0                                                                         \
    }
#define STEPS                                                                                  \
    {                                                                                          \
        -1, 0, 0, 0, 1                                                                         \
    }
#define PER_TURN                                                                               \
    {                                                                                          \
        0, 0, 0, -1, 1                                                                         \
    }
#define INERTIA                                                                                \
    {                                                                                          \
        2, 1, 0, -2, 0                                                                         \
    }
#define TORQUE                                                                                 \
    {                                                                                          \
        2, 1, -2, -1, 0                                                                        \
    }

static const struct row rows[] = {
    {KIND_ROOT, "change.approach", TYPE_CHOICE, BARE, "fixed computed"},
    {KIND_ROOT, "change.approach_z", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "change.standoff", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "change.stroke", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "change.wait", TYPE_QUANTITY, TIME, NULL},
    {KIND_ROOT, "change.feed", TYPE_QUANTITY, SPEED, NULL},
    {KIND_ROOT, "change.override", TYPE_QUANTITY, BARE, NULL},
    {KIND_ROOT, "change.guarded", TYPE_FLAG, BARE, NULL},
    {KIND_ROOT, "change.asks", TYPE_WORDS, BARE,
     "spindle_off unplugged cutter_in spindle_on plate_on"},
    {KIND_ROOT, "change.park.x", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "change.park.y", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "change.range", TYPE_PAIR, LENGTH, NULL},
    {KIND_ROOT, "machine.name", TYPE_TEXT, BARE, NULL},
    {KIND_ROOT, "machine.worked_on", TYPE_DATE, BARE, NULL},
    {KIND_ROOT, "setter.at.x", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "setter.at.y", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "setter.nose_contact", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "setter.repeatability", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "setter.measured_on", TYPE_DATE, BARE, NULL},
    {KIND_ROOT, "setter.tested", TYPE_FLAG, BARE, NULL},
    {KIND_ROOT, "setter.input", TYPE_RECORD, BARE, NULL},
    {KIND_ROOT, "plate.input", TYPE_RECORD, BARE, NULL},
    {KIND_ROOT, "table.x", TYPE_PAIR, LENGTH, NULL},
    {KIND_ROOT, "table.y", TYPE_PAIR, LENGTH, NULL},
    {KIND_ROOT, "work.x", TYPE_PAIR, LENGTH, NULL},
    {KIND_ROOT, "work.y", TYPE_PAIR, LENGTH, NULL},
    {KIND_ROOT, "work.height", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "spindle.sizes", TYPE_NUMBERS, LENGTH, NULL},
    {KIND_ROOT, "spindle.speed", TYPE_PAIR, ROTATION, NULL},
    {KIND_ROOT, "spindle.inertia", TYPE_QUANTITY, INERTIA, NULL},
    {KIND_ROOT, "spindle.torque", TYPE_QUANTITY, TORQUE, NULL},
    {KIND_ROOT, "allowances.reseat", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "allowances.least_gap", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_ROOT, "homing.order", TYPE_WORDS, BARE, "x y z"},
    {KIND_AXIS, "travel", TYPE_PAIR, LENGTH, NULL},
    {KIND_AXIS, "acceleration", TYPE_QUANTITY, CHANGE, NULL},
    {KIND_AXIS, "steps", TYPE_QUANTITY, STEPS, NULL},
    {KIND_AXIS, "motor_steps", TYPE_QUANTITY, PER_TURN, NULL},
    {KIND_HOMING, "rest", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_HOMING, "repeatability", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_HOMING, "input", TYPE_RECORD, BARE, NULL},
    {KIND_INPUT, "scan", TYPE_QUANTITY, TIME, NULL},
    {KIND_INPUT, "debounce", TYPE_QUANTITY, TIME, NULL},
    {KIND_INPUT, "contact", TYPE_CHOICE, BARE, "normally_open normally_closed"},
    {KIND_INPUT, "terminal", TYPE_TEXT, BARE, NULL},
    {KIND_OBSTACLE, "name", TYPE_TEXT, BARE, NULL},
    {KIND_OBSTACLE, "x", TYPE_PAIR, LENGTH, NULL},
    {KIND_OBSTACLE, "y", TYPE_PAIR, LENGTH, NULL},
    {KIND_CUTTER, "number", TYPE_QUANTITY, BARE, NULL},
    {KIND_CUTTER, "stickout", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_CUTTER, "length", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_CUTTER, "diameter", TYPE_QUANTITY, LENGTH, NULL},
    {KIND_CUTTER, "name", TYPE_TEXT, BARE, NULL},
    {KIND_CUTTER, "spare", TYPE_FLAG, BARE, NULL},
    {KIND_CUTTER, "centre", TYPE_CHOICE, BARE, "hollow flat"},
    {KIND_CUTTER, "bought_on", TYPE_DATE, BARE, NULL},
};

enum {
    ROW_COUNT = sizeof rows / sizeof rows[0],
    DEPTH_SHIFT = 12,
    ROW_MASK = (1 << DEPTH_SHIFT) - 1
};

static const struct {
    const char *name;
    enum world_kind kind;
    bool indexed;
} lists[] = {
    {"axes", KIND_AXIS, true},       {"homing", KIND_HOMING, true},
    {"inputs", KIND_INPUT, false},   {"obstacles", KIND_OBSTACLE, false},
    {"cutters", KIND_CUTTER, false},
};

enum { LIST_COUNT = sizeof lists / sizeof lists[0] };

/* Names. */

static const char *below(const char *key, unsigned depth)
{
    for (; depth && key; depth--) {
        key = strchr(key, '.');
        key = key ? key + 1 : NULL;
    }
    return key;
}

static struct view first_name(const char *key)
{
    const char *dot = strchr(key, '.');
    return (struct view){key, dot ? (size_t)(dot - key) : strlen(key)};
}

static bool is_below(const struct row *row, enum world_kind kind, unsigned like, unsigned depth)
{
    if (row->kind != kind)
        return false;
    const char *key = rows[like].key, *end = below(key, depth);
    return !depth || (end && strncmp(row->key, key, (size_t)(end - key)) == 0);
}

static enum value_type section_type(enum world_kind kind, unsigned first, unsigned depth)
{
    int lengths = 0, pairs = 0;
    for (unsigned i = 0; i < ROW_COUNT; i++) {
        const char *rest =
            is_below(&rows[i], kind, first, depth) ? below(rows[i].key, depth) : NULL;
        if (!rest || (strcmp(rest, "x") != 0 && strcmp(rest, "y") != 0))
            continue;
        lengths += rows[i].type == TYPE_QUANTITY;
        pairs += rows[i].type == TYPE_PAIR;
    }
    return lengths == 2 ? TYPE_PLACE : pairs == 2 ? TYPE_RECTANGLE : TYPE_SECTION;
}

void world_leaf(uint16_t leaf, struct env_place *out)
{
    *out = (struct env_place){
        .type = rows[leaf].type,
        .dimension = rows[leaf].dimension,
        .leaf = leaf,
        .kind = rows[leaf].type == TYPE_RECORD ? KIND_INPUT : (uint8_t)rows[leaf].kind,
    };
}

static bool step_within(enum world_kind kind, unsigned like, unsigned depth, struct view name,
                        struct env_place *to)
{
    for (unsigned i = 0; i < ROW_COUNT; i++) {
        if (!is_below(&rows[i], kind, like, depth) ||
            !view_equal(first_name(below(rows[i].key, depth)), name))
            continue;
        if (!strchr(below(rows[i].key, depth), '.')) {
            world_leaf((uint16_t)i, to);
            return true;
        }
        *to = (struct env_place){.type = section_type(kind, i, depth + 1),
                                 .leaf = (uint16_t)(i | (depth + 1) << DEPTH_SHIFT),
                                 .kind = (uint8_t)kind};
        return true;
    }
    return false;
}

static void root(const void *user, struct env_place *out)
{
    (void)user;
    *out = (struct env_place){.type = TYPE_SECTION};
}

static bool step(const void *user, const struct env_place *from, struct view name,
                 struct env_place *to)
{
    (void)user;
    if (from->indexed) {
        if (name.size == 1 && name.data[0] >= 'x' && name.data[0] <= 'z') {
            *to = (struct env_place){.type = TYPE_RECORD,
                                     .kind = from->kind,
                                     .fixed = true,
                                     .record = (uint32_t)(name.data[0] - 'x')};
            return true;
        }
        if (from->kind != KIND_HOMING || !view_is(name, "order"))
            return false;
        for (uint16_t i = 0; i < ROW_COUNT; i++)
            if (strcmp(rows[i].key, "homing.order") == 0)
                world_leaf(i, to);
        return true;
    }
    if (from->type == TYPE_RECORD)
        return step_within(from->kind, 0, 0, name, to);
    if (from->type != TYPE_SECTION && from->type != TYPE_PLACE && from->type != TYPE_RECTANGLE)
        return false;
    unsigned depth = from->leaf >> DEPTH_SHIFT;
    if (depth)
        return step_within(from->kind, from->leaf & ROW_MASK, depth, name, to);
    for (size_t i = 0; i < LIST_COUNT; i++)
        if (view_is(name, lists[i].name)) {
            *to = (struct env_place){.type = lists[i].indexed ? TYPE_SECTION : TYPE_LIST,
                                     .kind = (uint8_t)lists[i].kind,
                                     .indexed = lists[i].indexed,
                                     .index_kind = KIND_AXIS};
            return true;
        }
    return step_within(KIND_ROOT, 0, 0, name, to);
}

static bool choice(const void *user, uint16_t leaf, size_t index, struct view *out)
{
    const char *words = rows[leaf].words;
    (void)user;
    while (words && index--) {
        words = strchr(words, ' ');
        words = words ? words + 1 : NULL;
    }
    if (!words)
        return false;
    const char *end = strchr(words, ' ');
    *out = (struct view){words, end ? (size_t)(end - words) : strlen(words)};
    return true;
}

static int word(const void *user, uint16_t leaf, struct view wanted)
{
    struct view one;
    for (size_t i = 0; choice(user, leaf, i, &one); i++)
        if (view_equal(one, wanted))
            return (int)i;
    return -1;
}

static bool name_at(const void *user, const struct env_place *from, size_t index,
                    struct view *out)
{
    static const char *const letters[] = {"x", "y", "z"};
    (void)user;
    unsigned depth = from->type == TYPE_RECORD ? 0 : from->leaf >> DEPTH_SHIFT;
    unsigned like = from->type == TYPE_RECORD ? 0 : from->leaf & ROW_MASK;
    if (from->indexed) {
        *out = view_of(index < 3 ? letters[index] : "");
        return index < 3;
    }
    if (from->kind == KIND_ROOT && !depth) {
        if (index < LIST_COUNT) {
            *out = view_of(lists[index].name);
            return true;
        }
        index -= LIST_COUNT;
    }
    for (unsigned i = 0; i < ROW_COUNT; i++) {
        if (!is_below(&rows[i], from->kind, like, depth))
            continue;
        *out = first_name(below(rows[i].key, depth));
        struct env_place place;
        bool first =
            step_within(from->kind, like, depth, *out, &place) && (place.leaf & ROW_MASK) == i;
        if (first && index-- == 0)
            return true;
    }
    return false;
}

static const char *leaf_path(const void *user, uint16_t leaf)
{
    (void)user;
    return rows[leaf].key;
}

const struct environment world_environment = {.root = root,
                                              .step = step,
                                              .word = word,
                                              .choice = choice,
                                              .name = name_at,
                                              .leaf_path = leaf_path};

size_t world_leaf_count(void)
{
    return ROW_COUNT;
}

/* Values. */

void world_init(struct world *world, struct arena *arena)
{
    *world = (struct world){.arena = arena, .counts = {1, 3, 3, 0, 0, 0}};
    world->values = ARENA_ARRAY(arena, struct world_value, ROW_COUNT * WORLD_RECORDS_MAX);
    for (size_t i = 0; i < ROW_COUNT * WORLD_RECORDS_MAX; i++)
        world->values[i].state = ENV_ABSENT;
}

struct world_value *world_at(const struct world *world, uint16_t leaf, uint32_t record)
{
    return &world->values[(size_t)leaf * WORLD_RECORDS_MAX + record];
}

static void fill(const struct world_value *value, struct env_value *out)
{
    *out = (struct env_value){
        .state = value->state,
        .unit = value->unit,
        .defaulted = value->defaulted,
        .number = value->number,
        .tolerance = value->tolerance,
        .text = value->text,
        .count = value->count,
        .words = value->words,
        .ranks = value->ranks,
        .none = value->none,
    };
}

static void read_value(const void *user, uint16_t leaf, uint8_t part, uint32_t record,
                       struct env_value *out)
{
    const struct world_value *value = world_at(user, leaf, record);
    fill(part && value->state == ENV_KNOWN ? &value->parts[part - 1] : value, out);
}

static void read_number(const void *user, uint16_t leaf, uint32_t record, uint32_t index,
                        struct env_value *out)
{
    fill(&world_at(user, leaf, record)->parts[index], out);
}

static uint32_t count_of(const void *user, uint8_t kind, bool *wrong)
{
    const struct world *world = user;
    *wrong = world->wrong[kind];
    return world->counts[kind];
}

static struct view word_text(const void *user, uint16_t leaf, uint32_t index)
{
    struct view out = {NULL, 0};
    choice(user, leaf, index, &out);
    return out;
}

struct environment_values world_values(const struct world *world)
{
    return (struct environment_values){.user = world,
                                       .read = read_value,
                                       .number = read_number,
                                       .word = word_text,
                                       .count = count_of};
}

const char *world_path(struct arena *arena, uint16_t leaf, uint8_t part, uint32_t record)
{
    const struct row *row = &rows[leaf];
    const char *tail = part == 1 ? ".low" : part == 2 ? ".high" : "";
    for (size_t i = 0; i < LIST_COUNT; i++)
        if (row->kind == lists[i].kind && lists[i].indexed)
            return arena_format(arena, "%s.%c.%s%s", lists[i].name, 'x' + (char)record,
                                row->key, tail);
        else if (row->kind == lists[i].kind)
            return arena_format(arena, "%s[%u].%s%s", lists[i].name, record, row->key, tail);
    return arena_format(arena, "%s%s", row->key, tail);
}

static const char *name_leaf(const void *user, struct arena *arena, uint16_t leaf, uint8_t part,
                             uint32_t record)
{
    (void)user;
    return world_path(arena, leaf, part, record);
}

static const char *name_record(const void *user, struct arena *arena, uint8_t kind,
                               uint32_t index)
{
    static const char *const names[] = {"the file", "axis",     "homing of",
                                        "input",    "obstacle", "cutter"};
    (void)user;
    if (kind == KIND_AXIS || kind == KIND_HOMING)
        return arena_format(arena, "%s %c", names[kind], 'x' + (char)index);
    return arena_format(arena, "%s %u", names[kind], index + 1);
}

static unit_id name_unit(const void *user, struct dimension dimension)
{
    (void)user;
    return unit_default(dimension);
}

struct formula_namer world_namer(const struct world *world)
{
    return (struct formula_namer){
        .user = world, .record = name_record, .leaf = name_leaf, .unit = name_unit};
}

/* Setting. */

static const char *set_quantity(struct view text, struct dimension dimension,
                                struct world_value *out)
{
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (quantity_read(text, dimension, &quantity, &trouble) != QUANTITY_OK)
        return "no quantity of this dimension";
    out->number = quantity.si;
    out->tolerance = quantity.tolerance;
    out->unit = quantity.unit;
    out->state = ENV_KNOWN;
    return NULL;
}

/* The next item of "[a, b]"; false at the end. */
static bool next_item(struct view *list, struct view *item)
{
    while (list->size && (list->data[0] == '[' || list->data[0] == ',' || list->data[0] == ' '))
        *list = view_skip(*list, 1);
    size_t end = 0;
    while (end < list->size && list->data[end] != ',' && list->data[end] != ']')
        end++;
    *item = view_trim((struct view){list->data, end});
    bool there = item->size > 0;
    *list = view_skip(*list, end);
    return there;
}

static const char *set_list(struct world *world, const struct row *row, struct view text,
                            struct world_value *out)
{
    struct view item;
    out->parts = ARENA_ARRAY(world->arena, struct world_value, WORLD_NUMBERS_MAX);
    out->count = 0;
    while (next_item(&text, &item)) {
        const char *trouble = set_quantity(item, row->dimension, &out->parts[out->count++]);
        if (trouble)
            return trouble;
    }
    out->state = ENV_KNOWN;
    return NULL;
}

/* "[spindle_off, cutter_in]", or "[z, xy]" where letters together share a rank. */
static const char *set_words(uint16_t leaf, struct view text, struct world_value *out)
{
    struct view item;
    bool letters = strcmp(rows[leaf].words, "x y z") == 0;
    out->state = ENV_KNOWN;
    out->count = 0;
    out->none = view_is(text, "none");
    for (uint8_t rank = 0; !out->none && next_item(&text, &item); rank++)
        for (size_t i = 0; i < item.size; i += letters ? 1 : item.size) {
            struct view one = letters ? (struct view){item.data + i, 1} : item;
            int index = word(NULL, leaf, one);
            if (index < 0)
                return "no such word";
            out->words[out->count] = (uint8_t)index;
            out->ranks[out->count++] = rank;
        }
    return NULL;
}

static const char *set_date(struct view text, struct world_value *out)
{
    char copy[16] = {0};
    int year, month, day;
    memcpy(copy, text.data, text.size < 15 ? text.size : 15);
    if (sscanf(copy, "%d-%d-%d", &year, &month, &day) != 3)
        return "no date";
    int y = month <= 2 ? year - 1 : year, m = month > 2 ? month - 3 : month + 9;
    long days = 365L * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719468;
    out->number = (double)days * 86400;
    out->state = ENV_KNOWN;
    return NULL;
}

static const char *set_typed(struct world *world, uint16_t leaf, struct view text,
                             struct world_value *out)
{
    int index;
    switch (rows[leaf].type) {
    case TYPE_QUANTITY:
        return set_quantity(text, rows[leaf].dimension, out);
    case TYPE_PAIR:
    case TYPE_NUMBERS:
        return set_list(world, &rows[leaf], text, out);
    case TYPE_WORDS:
        return set_words(leaf, text, out);
    case TYPE_DATE:
        return set_date(text, out);
    case TYPE_FLAG:
        out->number = view_is(text, "yes");
        break;
    case TYPE_TEXT:
        out->text = (struct view){arena_copy(world->arena, text.data, text.size), text.size};
        break;
    case TYPE_RECORD:
        out->number = atoi(text.data);
        break;
    case TYPE_CHOICE:
        index = word(NULL, leaf, text);
        if (index < 0)
            return "no such word";
        out->number = index;
        break;
    default:
        return "this cannot be set";
    }
    out->state = ENV_KNOWN;
    return NULL;
}

/* Takes "cutters[2]." or "axes.x." off a path. */
static enum world_kind take_record(struct view *path, uint32_t *record)
{
    *record = 0;
    for (size_t i = 0; i < LIST_COUNT; i++) {
        size_t size = strlen(lists[i].name);
        if (!view_starts(*path, lists[i].name) || path->size < size + 3)
            continue;
        const char *after = path->data + size;
        if (lists[i].indexed && after[0] == '.' && after[1] >= 'x' && after[1] <= 'z' &&
            after[2] == '.') {
            *record = (uint32_t)(after[1] - 'x');
            *path = view_skip(*path, size + 3);
            return lists[i].kind;
        }
        if (!lists[i].indexed && after[0] == '[') {
            *record = (uint32_t)atoi(after + 1);
            while (path->size && path->data[0] != ']')
                *path = view_skip(*path, 1);
            *path = view_skip(*path, 2);
            return lists[i].kind;
        }
    }
    return KIND_ROOT;
}

const char *world_set(struct world *world, struct view path, struct view value)
{
    for (size_t i = 0; i < LIST_COUNT; i++)
        if (view_is(path, lists[i].name)) {
            world->wrong[lists[i].kind] = view_is(value, "wrong");
            world->counts[lists[i].kind] =
                (uint32_t)(view_is(value, "wrong") ? 0 : atoi(value.data));
            return NULL;
        }
    uint32_t record;
    enum world_kind kind = take_record(&path, &record);
    if (record >= WORLD_RECORDS_MAX)
        return "too many of them";
    for (uint16_t i = 0; i < ROW_COUNT; i++) {
        if (rows[i].kind != kind || !view_is(path, rows[i].key))
            continue;
        struct world_value *out = world_at(world, i, record);
        if (record >= world->counts[kind])
            world->counts[kind] = record + 1;
        *out = (struct world_value){.state = ENV_ABSENT};
        if (view_is(value, "~"))
            return NULL;
        if (view_is(value, "wrong")) {
            out->state = ENV_WRONG;
            return NULL;
        }
        bool defaulted = view_starts(value, "default ");
        const char *trouble = set_typed(world, i, defaulted ? view_skip(value, 8) : value, out);
        out->defaulted = defaulted;
        return trouble;
    }
    return "no such field";
}
