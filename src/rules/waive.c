#include "rules/internal.h"

#include "text/escape.h"
#include "text/utf8.h"

enum { LONGEST_DAYS = 366 }; /* of a waiver of what can hurt a person */

struct waiver {
    uint32_t record;
    struct view rule, where, reason;
    const char *until, *accepted_by; /* as written, or NULL */
    bool in_force, used;
    bool may_hurt;     /* somebody has accepted that what it covers can hurt a person */
    const char *place; /* `where` as output writes paths */
};

struct waivers {
    struct arena *arena;
    const struct machine *machine;
    struct describer describer; /* for a look: what it makes is thrown away */
    struct acceptance acceptance;
    const struct policy *policy; /* or NULL */
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

/* Why a waiver of what can hurt a person does not hold; NULL where it does. */
static const char *unaccepted(const struct waivers *waivers, uint32_t record, double today)
{
    const struct field_value *until = value_of(waivers->machine, FIELD_WAIVER_UNTIL, record);
    if (utf8_is_blank(text_of(waivers->machine, FIELD_WAIVER_ACCEPTED_BY, record)))
        return "it does not say in accepted_by who decided so";
    if (!until)
        return "it has no last day";
    return until->si > today + LONGEST_DAYS * 86400.0 ? "its last day is more than a year ahead"
                                                      : NULL;
}

/* Can a failure of this rule hurt a person? */
static bool can_hurt(const struct waivers *waivers, struct view name)
{
    const struct runner *runner = waivers->describer.runner;
    for (uint32_t i = 0; i < runner->rule_count; i++)
        if (view_is(name, runner->rules[i].rule->name))
            return runner->rules[i].rule->hurts == HURTS_PERSON;
    return false;
}

/* Is this the name of a rule of any book, or of a finding that no rule makes? */
static bool is_known(const struct waivers *waivers, struct view name)
{
    const struct runner *runner = waivers->describer.runner;
    for (uint32_t i = 0; i < runner->rule_count; i++)
        if (view_is(name, runner->rules[i].rule->name))
            return true;
    for (unsigned i = 0; i < READER_COUNT; i++)
        if (view_is(name, reader_finding_name(i)))
            return true;
    return false;
}

/* Reports what stands against it; true where nothing does. */
static bool can_hold(struct waivers *waivers, struct finding_sink *sink,
                     const struct waiver *waiver, double today)
{
    const struct machine *machine = waivers->machine;
    const struct field_value *until = value_of(machine, FIELD_WAIVER_UNTIL, waiver->record);
    const char *rule = escape_short(waivers->arena, waiver->rule, 40);
    bool hurts = can_hurt(waivers, waiver->rule);
    const char *why = hurts ? unaccepted(waivers, waiver->record, today) : NULL;
    enum field_id field = FIELD_WAIVER_RULE;
#define SAY(name, ...)                                                                         \
    sink_report(sink, READER_##name, span_of(machine, field, waiver->record),                  \
                path_of(waivers, field, waiver->record), __VA_ARGS__)
    if (!is_known(waivers, waiver->rule)) {
        SAY(UNKNOWN_NAME, "there is no rule called %s",
            escape_short(waivers->arena, waiver->rule, 50));
    } else if (utf8_is_blank(waiver->reason)) {
        field = FIELD_WAIVER_REASON;
        SAY(WAIVER_UNREASONED, "the waiver of %s gives no reason, so it waives nothing", rule);
    } else if (until && until->si < today) {
        field = FIELD_WAIVER_UNTIL;
        SAY(WAIVER_EXPIRED, "the waiver of %s ended on %s", rule, waiver->until);
    } else if (why) {
        SAY(WAIVER_UNACCEPTED,
            "the waiver of %s waives nothing, since that can hurt a person: %s", rule, why);
    } else if (!policy_lets(waivers->policy, waiver->rule, waiver->accepted_by)) {
        field = FIELD_WAIVER_ACCEPTED_BY;
        SAY(WAIVER_NOT_ALLOWED, "%s may not waive %s, as %s says",
            waiver->accepted_by ? escape_short(waivers->arena, view_of(waiver->accepted_by), 40)
                                : "whoever is not named",
            rule, escape_short(waivers->arena, view_of(waivers->policy->name), 60));
    } else {
        return true;
    }
#undef SAY
    return false;
}

static void read_one(struct waivers *waivers, struct finding_sink *sink, uint32_t record,
                     double today)
{
    struct waiver *waiver = &waivers->items[record];
    const struct machine *machine = waivers->machine;
    const struct field_value *until = value_of(machine, FIELD_WAIVER_UNTIL, record);
    waiver->record = record;
    waiver->rule = text_of(machine, FIELD_WAIVER_RULE, record);
    waiver->where = text_of(machine, FIELD_WAIVER_WHERE, record);
    waiver->reason = view_trim(text_of(machine, FIELD_WAIVER_REASON, record));
    if (waiver->where.size)
        waiver->place = machine_typed_path(waivers->arena, machine, waiver->where);
    if (until)
        waiver->until = field_value_text(waivers->arena, FIELD_WAIVER_UNTIL, until);
    struct view who = view_trim(text_of(machine, FIELD_WAIVER_ACCEPTED_BY, record));
    if (who.size)
        waiver->accepted_by = arena_copy(waivers->arena, who.data, who.size);
    if (!waiver->rule.size)
        return; /* the reader has said so */
    waiver->may_hurt = !unaccepted(waivers, record, today);
    waiver->in_force = can_hold(waivers, sink, waiver, today);
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

static struct waiver *find_waiver(const struct waivers *waivers, const struct finding *finding)
{
    /* What it explains would be waived with it unseen. */
    if (finding->from_reader &&
        (finding->level == LEVEL_ERROR || finding_stands_for_others(finding)))
        return NULL;
    for (uint32_t i = 0; i < waivers->count; i++) {
        struct waiver *waiver = &waivers->items[i];
        if (waiver->in_force && view_is(waiver->rule, finding->rule) &&
            covers(waiver->place, finding->at.field) &&
            (waiver->may_hurt || finding->hurts != HURTS_PERSON))
            return waiver;
    }
    return NULL;
}

bool waivers_apply(struct waivers *waivers, struct finding *finding)
{
    struct waiver *waiver =
        finding->outcome == OUTCOME_FAILED ? find_waiver(waivers, finding) : NULL;
    if (!waiver)
        return false;
    waiver->used = true;
    finding->outcome = OUTCOME_WAIVED;
    finding->waived_reason =
        arena_copy(waivers->arena, waiver->reason.data, waiver->reason.size);
    finding->waived_until = waiver->until;
    finding->waived_by = waiver->accepted_by;
    return true;
}

/* What a failure is about shows only when it is described: that is done for rules that a waiver
 * names. */
static bool accepts(void *user, const struct instance *instance)
{
    const struct waivers *waivers = user;
    const char *rule = waivers->describer.runner->rules[instance->rule].rule->name;
    for (uint32_t i = 0; i < waivers->count; i++) {
        if (!waivers->items[i].in_force || !view_is(waivers->items[i].rule, rule))
            continue;
        struct finding finding;
        describe_placed(&waivers->describer, instance, &finding);
        bool found = find_waiver(waivers, &finding) != NULL;
        arena_reset(waivers->describer.arena);
        return found;
    }
    return false;
}

struct waivers *waivers_read(const struct describer *describer, struct finding_sink *sink,
                             double today, const struct policy *policy)
{
    struct arena *arena = describer->arena;
    struct waivers *waivers = ARENA_NEW(arena, struct waivers);
    *waivers = (struct waivers){
        .arena = arena,
        .machine = describer->machine,
        .describer = *describer,
        .acceptance = {waivers, accepts},
        .policy = policy,
        .count = describer->machine->groups[GROUP_WAIVER].count,
    };
    waivers->describer.arena = arena_new_within(arena);
    waivers->items = ARENA_ARRAY(arena, struct waiver, waivers->count);
    for (uint32_t i = 0; i < waivers->count; i++)
        read_one(waivers, sink, i, today);
    describer->runner->acceptance = waivers->count ? &waivers->acceptance : NULL;
    return waivers;
}

/* Was this rule asked, and could it be told for every instance? */
static bool was_asked(const struct runner *runner, struct view name)
{
    for (uint32_t i = 0; i < runner->rule_count; i++) {
        const struct rule_result *result = &runner->results[i];
        if (view_is(name, runner->rules[i].rule->name))
            return (result->held || result->failed || result->waived.count) &&
                   !result->unchecked;
    }
    return true;
}

void waivers_finish(struct waivers *waivers, struct finding_sink *sink)
{
    for (uint32_t i = 0; i < waivers->count; i++) {
        const struct waiver *waiver = &waivers->items[i];
        if (!waiver->in_force || waiver->used ||
            !was_asked(waivers->describer.runner, waiver->rule))
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

void waived_failures(struct runner *runner, struct arena *arena, const struct machine *machine,
                     struct source *source, double today, struct instance_list *out)
{
    *out = (struct instance_list){0};
    if (!machine->groups[GROUP_WAIVER].count)
        return;
    struct finding_sink unheard; /* what is wrong with them is the affair of `check` */
    sink_init(&unheard, arena, source);
    const struct describer describer = {
        .runner = runner, .machine = machine, .source = source, .arena = arena};
    waivers_read(&describer, &unheard, today, NULL);
    runner_run(runner, arena, machine, false);
    runner->acceptance = NULL;
    for (uint32_t rule = 0; rule < runner->rule_count; rule++)
        for (size_t i = 0; i < runner->results[rule].waived.count; i++)
            VECTOR_ADD(arena, &out->items, runner->results[rule].waived.items[i]);
}
