#include "rules/waive.h"

#include "base/buffer.h"
#include "text/escape.h"

struct waiver {
    uint32_t record;
    struct view rule, where, reason;
    const char *until; /* as written, or NULL */
    bool in_force, used;
    const char *place; /* `where` as output writes paths */
};

struct waivers {
    struct arena *arena;
    const struct machine *machine;
    struct waiver *items;
    uint32_t count;
};

static const struct field_value *value_of(const struct machine *machine, enum field_id id,
                                          uint32_t record)
{
    const struct field_value *value = machine_field(machine, id, record);
    return value->state == VALUE_GIVEN ? value : NULL;
}

static struct view text_of(const struct machine *machine, enum field_id id, uint32_t record)
{
    const struct field_value *value = value_of(machine, id, record);
    return value ? value->text : (struct view){0};
}

/* The place of one field of a waiver, or of its rule where that is not there. */
static struct span span_of(const struct machine *machine, enum field_id id, uint32_t record)
{
    const struct field_value *value = machine_field(machine, id, record);
    if (!value->node)
        value = machine_field(machine, FIELD_WAIVER_RULE, record);
    return value->node ? value->node->span : (struct span){0, 0};
}

static const char *path_of(struct waivers *waivers, enum field_id id, uint32_t record)
{
    return machine_path(waivers->arena, waivers->machine, id, record, 0);
}

/* A path with cutters by number ("cutters[number=3].stickout") as output writes it
 * ("cutters[2].stickout"). */
static const char *normal_path(struct waivers *waivers, struct view where)
{
    static const char start[] = "cutters[number=";
    if (!view_starts(where, start))
        return arena_copy(waivers->arena, where.data, where.size);
    const struct machine_group *cutters = &waivers->machine->groups[GROUP_CUTTER];
    size_t close = sizeof start - 1;
    while (close < where.size && where.data[close] != ']')
        close++;
    struct view record_path = {where.data, close < where.size ? close + 1 : close};
    const struct tree_node *node = tree_at(waivers->machine->tree, record_path);
    for (uint32_t i = 0; node && i < cutters->count; i++)
        if (tree_resolve(cutters->nodes[i]) == tree_resolve(node)) {
            struct view rest = view_skip(where, record_path.size);
            return arena_format(waivers->arena, "cutters[%u]%.*s", i, VIEW(rest));
        }
    return arena_copy(waivers->arena, where.data, where.size);
}

static void read_one(struct waivers *waivers, struct finding_sink *sink, uint32_t record,
                     double today)
{
    struct waiver *waiver = &waivers->items[record];
    const struct machine *machine = waivers->machine;
    waiver->record = record;
    waiver->rule = text_of(machine, FIELD_WAIVER_RULE, record);
    waiver->where = text_of(machine, FIELD_WAIVER_WHERE, record);
    waiver->reason = view_trim(text_of(machine, FIELD_WAIVER_REASON, record));
    if (waiver->where.size)
        waiver->place = normal_path(waivers, waiver->where);
    if (!waiver->rule.size)
        return;
    const struct field_value *until = value_of(machine, FIELD_WAIVER_UNTIL, record);
    const char *rule = escape_short(waivers->arena, waiver->rule, 40);
    if (until)
        waiver->until = field_value_text(waivers->arena, FIELD_WAIVER_UNTIL, until);
    if (!waiver->reason.size) {
        sink_report(sink, READER_WAIVER_UNREASONED,
                    span_of(machine, FIELD_WAIVER_REASON, record),
                    path_of(waivers, FIELD_WAIVER_REASON, record),
                    "the waiver of %s gives no reason, so it waives nothing", rule);
        return;
    }
    if (until && until->si < today) {
        sink_report(sink, READER_WAIVER_EXPIRED, span_of(machine, FIELD_WAIVER_UNTIL, record),
                    path_of(waivers, FIELD_WAIVER_UNTIL, record),
                    "the waiver of %s ended on %s", rule, waiver->until);
        return;
    }
    waiver->in_force = true;
}

struct waivers *waivers_read(struct arena *arena, const struct machine *machine,
                             struct finding_sink *sink, double today,
                             bool (*known)(const void *user, struct view rule),
                             const void *user)
{
    struct waivers *waivers = ARENA_NEW(arena, struct waivers);
    *waivers = (struct waivers){.arena = arena, .machine = machine};
    waivers->count = machine->groups[GROUP_WAIVER].count;
    waivers->items = ARENA_ARRAY(arena, struct waiver, waivers->count);
    for (uint32_t i = 0; i < waivers->count; i++) {
        struct waiver *waiver = &waivers->items[i];
        read_one(waivers, sink, i, today);
        if (!waiver->rule.size || known(user, waiver->rule))
            continue;
        sink_report(sink, READER_UNKNOWN_NAME, span_of(machine, FIELD_WAIVER_RULE, i),
                    path_of(waivers, FIELD_WAIVER_RULE, i), "there is no rule called %s",
                    escape_short(arena, waiver->rule, 50));
        waiver->in_force = false;
    }
    return waivers;
}

/* Is `field` at or below `place`? */
static bool covers(const char *place, const char *field)
{
    if (!place)
        return true;
    size_t size = strlen(place);
    return field && strncmp(field, place, size) == 0 &&
           (field[size] == '\0' || field[size] == '.' || field[size] == '[');
}

/* What it explains would be waived with it unseen. */
static bool stands_for_others(const struct finding *finding)
{
    return strcmp(finding->rule, reader_finding_name(READER_NUMBER_OUT_OF_LINE)) == 0;
}

bool waivers_apply(struct waivers *waivers, struct finding *finding)
{
    if (finding->outcome != OUTCOME_FAILED ||
        (finding->from_reader && (finding->level == LEVEL_ERROR || stands_for_others(finding))))
        return false;
    for (uint32_t i = 0; i < waivers->count; i++) {
        struct waiver *waiver = &waivers->items[i];
        if (!waiver->in_force || !view_is(waiver->rule, finding->rule) ||
            !covers(waiver->place, finding->at.field))
            continue;
        waiver->used = true;
        finding->outcome = OUTCOME_WAIVED;
        finding->waived_reason =
            arena_copy(waivers->arena, waiver->reason.data, waiver->reason.size);
        finding->waived_until = waiver->until;
        return true;
    }
    return false;
}

void waivers_finish(struct waivers *waivers, struct finding_sink *sink,
                    bool (*asked)(const void *user, struct view rule), const void *user)
{
    for (uint32_t i = 0; i < waivers->count; i++) {
        const struct waiver *waiver = &waivers->items[i];
        if (!waiver->in_force || waiver->used || !asked(user, waiver->rule))
            continue;
        const char *rule = escape_short(waivers->arena, waiver->rule, 40);
        struct span span = span_of(waivers->machine, FIELD_WAIVER_RULE, i);
        const char *path = path_of(waivers, FIELD_WAIVER_RULE, i);
        if (waiver->place)
            sink_report(sink, READER_WAIVER_UNUSED, span, path,
                        "the waiver of %s at %s covers nothing that is found", rule,
                        escape_short(waivers->arena, waiver->where, 40));
        else
            sink_report(sink, READER_WAIVER_UNUSED, span, path,
                        "the waiver of %s covers nothing that is found", rule);
    }
}
