/* Policies: reading them, and what they ask of a machine. */
#include "rules/internal.h"

#include <string.h>

#include "finding/names.h"
#include "quantity/number.h"
#include "text/escape.h"

enum { DAY = 86400, DAYS_MAX = 36500 };

/* --- reading --- */

static bool read_level(struct view word, enum finding_level *out)
{
    for (int i = 0; i < LEVEL_COUNT; i++)
        if (view_is(word, finding_level_name((enum finding_level)i))) {
            *out = (enum finding_level)i;
            return true;
        }
    return false;
}

static void read_stop_at(struct own_file *form, const struct tree_node *root,
                         struct policy *out)
{
    const struct tree_node *node = own_file_child(form, root, "stop_at", TREE_TEXT, true);
    out->has_stop_at = node && read_level(node->text, &out->stop_at);
    if (node && !out->has_stop_at)
        own_file_mistake(form, node->span, "stop_at is error, warning or note");
}

static void read_levels(struct own_file *form, const struct tree_node *root, struct policy *out)
{
    const struct tree_node *map = own_file_child(form, root, "levels", TREE_MAP, true);
    if (!map)
        return;
    struct policy_level *levels =
        ARENA_ARRAY(form->mistakes->arena, struct policy_level, map->count + 1);
    for (const struct tree_node *child = map->first; child; child = child->next) {
        struct policy_level *level = &levels[out->level_count];
        const struct tree_node *value = tree_resolve(child);
        *level = (struct policy_level){.rule = child->key, .span = child->key_span};
        if (value->kind == TREE_TEXT && read_level(value->text, &level->level))
            out->level_count++;
        else
            own_file_mistake(form, child->span, "a level is error, warning or note");
    }
    out->levels = levels;
}

static void read_agreements(struct own_file *form, const struct tree_node *root,
                            struct policy *out)
{
    const struct tree_node *node = tree_child(root, view_of("agreements"));
    if (!node)
        return;
    node = tree_resolve(node);
    out->wants_agreement = true;
    if (node->kind == TREE_TEXT && view_is(node->text, "yes"))
        return;
    struct own_list list = own_file_texts(form, root, "agreements", false);
    for (size_t i = 0; i < list.count; i++)
        if (field_find(list.items[i]->text) == FIELD_COUNT)
            own_file_mistake(
                form, list.items[i]->span,
                arena_format(form->mistakes->arena, "there is no field called %s",
                             escape_short(form->mistakes->arena, list.items[i]->text, 50)));
    out->agreements = list.items;
    out->agreement_count = list.count;
}

/* "180 days" */
static void read_age(struct own_file *form, const struct tree_node *root, struct policy *out)
{
    const struct tree_node *node =
        own_file_child(form, root, "measured_within", TREE_TEXT, true);
    double days = 0;
    size_t used = 0;
    if (!node)
        return;
    bool is_number = number_read(node->text, &days, &used) == NUMBER_OK;
    struct view unit = is_number ? view_trim(view_skip(node->text, used)) : (struct view){0};
    if (is_number && days > 0 && days <= DAYS_MAX &&
        (view_is(unit, "days") || view_is(unit, "day")))
        out->measured_within = days * DAY;
    else
        own_file_mistake(form, node->span, "measured_within wants days, as in `180 days`");
}

static void read_waivers(struct own_file *form, const struct tree_node *root,
                         struct policy *out)
{
    const struct tree_node *list = own_file_child(form, root, "waivers", TREE_LIST, true);
    if (!list)
        return;
    struct policy_waiver *waivers =
        ARENA_ARRAY(form->mistakes->arena, struct policy_waiver, list->count + 1);
    out->limits_waivers = true;
    for (const struct tree_node *child = list->first; child; child = child->next) {
        const struct tree_node *item = tree_resolve(child);
        if (item->kind != TREE_MAP) {
            own_file_mistake(form, item->span, "who may waive what has the keys rules and by");
            continue;
        }
        own_file_refuse_others(form, item, &own_policy_waiver);
        struct own_list rules = own_file_texts(form, item, "rules", false);
        struct own_list by = own_file_texts(form, item, "by", true);
        waivers[out->waiver_count++] =
            (struct policy_waiver){rules.items, rules.count, by.items, by.count};
    }
    out->waivers = waivers;
}

bool policy_read(struct rulebook_mistakes *mistakes, const char *name, struct view bytes,
                 struct policy *out)
{
    struct own_file form = {.what = "a policy"};
    const struct tree_node *root = own_file_read(&form, mistakes, name, bytes, &own_policy);
    *out = (struct policy){.name = name, .source = form.source};
    if (!root)
        return false;
    struct own_list rulebooks = own_file_texts(&form, root, "rulebooks", true);
    out->rulebooks = rulebooks.items;
    out->rulebook_count = rulebooks.count;
    read_stop_at(&form, root, out);
    read_levels(&form, root, out);
    read_agreements(&form, root, out);
    read_age(&form, root, out);
    read_waivers(&form, root, out);
    return !mistakes->list.count;
}

/* --- the rules that it names --- */

static const struct rule *find_rule(const struct rulebook *const *books, size_t count,
                                    struct view name)
{
    for (size_t b = 0; b < count; b++)
        for (uint32_t i = 0; i < books[b]->rule_count; i++)
            if (view_is(name, books[b]->rules[i].name))
                return &books[b]->rules[i];
    return NULL;
}

/* READER_COUNT: it is none of the reader's. */
static unsigned find_reader(struct view name)
{
    unsigned found = 0;
    while (found < READER_COUNT && !view_is(name, reader_finding_name(found)))
        found++;
    return found;
}

static void fit_level(struct rulebook_mistakes *mistakes, const struct policy *policy,
                      const struct policy_level *level, const struct rule *rule)
{
    struct arena *arena = mistakes->arena;
    unsigned reader = find_reader(level->rule);
    const char *name = escape_short(arena, level->rule, 40), *wrong = NULL;
    if (rule && rule->hurts == HURTS_PERSON && level->level < (enum finding_level)rule->level)
        wrong = arena_format(arena, "%s can hurt a person: its level is never lowered", name);
    else if (!rule && reader == READER_COUNT)
        wrong = arena_format(arena, "there is no rule called %s", name);
    else if (!rule && level->level < reader_finding_level(reader))
        wrong = arena_format(arena,
                             "%s says that a file is not as it should be: its level is "
                             "never lowered",
                             name);
    if (wrong)
        VECTOR_ADD(arena, &mistakes->list,
                   (struct rulebook_mistake){policy->source, level->span, wrong});
}

bool policy_fits(struct rulebook_mistakes *mistakes, const struct policy *policy,
                 const struct rulebook *const *books, size_t count)
{
    struct arena *arena = mistakes->arena;
    for (size_t i = 0; i < policy->level_count; i++)
        fit_level(mistakes, policy, &policy->levels[i],
                  find_rule(books, count, policy->levels[i].rule));
    for (size_t i = 0; i < policy->waiver_count; i++)
        for (size_t k = 0; k < policy->waivers[i].rule_count; k++) {
            const struct tree_node *rule = policy->waivers[i].rules[k];
            if (view_is(rule->text, "*") || find_rule(books, count, rule->text) ||
                find_reader(rule->text) < READER_COUNT)
                continue;
            VECTOR_ADD(
                arena, &mistakes->list,
                (struct rulebook_mistake){policy->source, rule->span,
                                          arena_format(arena, "there is no rule called %s",
                                                       escape_short(arena, rule->text, 40))});
        }
    return !mistakes->list.count;
}

/* --- what it asks of a machine --- */

/* Which rule of the policy a finding rests on. */
static const char *in_policy(struct arena *arena, const struct policy *policy)
{
    return escape_short(arena, view_of(policy->name), 60);
}

static bool agrees_about(const struct machine *machine, struct view field)
{
    for (uint32_t i = 0; i < machine->groups[GROUP_AGREEMENT].count; i++) {
        const struct field_value *value = machine_field(machine, FIELD_AGREEMENT_FIELD, i);
        if (value->state == VALUE_GIVEN && view_equal(value->text, field))
            return true;
    }
    return false;
}

static void want_agreements(struct arena *arena, const struct policy *policy,
                            const struct machine *machine, struct finding_sink *sink)
{
    const struct span top = {0, 0};
    if (policy->wants_agreement && !machine->groups[GROUP_AGREEMENT].count)
        sink_report(sink, READER_AGREEMENT_WANTED, top, "agrees_with",
                    "nothing holds this file against the controller's own, as %s wants",
                    in_policy(arena, policy));
    for (size_t i = 0; machine->groups[GROUP_AGREEMENT].count && i < policy->agreement_count;
         i++)
        if (!agrees_about(machine, policy->agreements[i]->text))
            sink_report(sink, READER_AGREEMENT_WANTED, top, "agrees_with",
                        "nothing holds %s against the controller's own file, as %s wants",
                        escape_short(arena, policy->agreements[i]->text, 50),
                        in_policy(arena, policy));
}

/* Is it the day on which something was measured? */
static bool is_day(enum field_id id)
{
    static const char ending[] = "measured_on";
    const struct field *field = &field_table[id];
    size_t size = strlen(field->key), wanted = sizeof ending - 1;
    return field->kind == KIND_DATE && size >= wanted &&
           strcmp(field->key + size - wanted, ending) == 0;
}

/* What every machine measures, and the day of it: without a day nobody knows how old it is. */
static const struct {
    enum field_id day, value;
} measured[] = {
    {FIELD_TABLE_MEASURED_ON, FIELD_TABLE_NOSE_CONTACT},
    {FIELD_SETTER_MEASURED_ON, FIELD_SETTER_NOSE_CONTACT},
};

static void want_day(struct arena *arena, const struct policy *policy,
                     const struct machine *machine, struct finding_sink *sink, size_t which)
{
    const struct field_value *day = machine_field(machine, measured[which].day, 0);
    const struct field_value *value = machine_field(machine, measured[which].value, 0);
    const char *path = machine_path(arena, machine, measured[which].day, 0, 0);
    if (day->state == VALUE_ABSENT && value->state == VALUE_GIVEN && value->node)
        sink_report(sink, READER_MEASURED_LONG_AGO, value->node->span, path,
                    "%s is not there, so nobody knows how old the measurement is; %s wants no "
                    "more than %ld days",
                    path, in_policy(arena, policy), (long)(policy->measured_within / DAY));
}

static void want_age(struct arena *arena, const struct policy *policy,
                     const struct machine *machine, struct finding_sink *sink,
                     struct field_place at, double today)
{
    const struct field_value *day = machine_field(machine, at.field, at.record);
    double age = (today - day->si) / DAY, most = policy->measured_within / DAY;
    if (day->state != VALUE_GIVEN || !day->node || age <= most)
        return;
    /* the setter that a machine has is among its setters, too */
    if (field_table[at.field].group != GROUP_ROOT &&
        day->node == machine_field(machine, FIELD_SETTER_MEASURED_ON, 0)->node)
        return;
    const char *path = machine_path(arena, machine, at.field, at.record, 0);
    sink_report(sink, READER_MEASURED_LONG_AGO, day->node->span, path,
                "%s is %ld days ago; %s wants no more than %ld", path, (long)age,
                in_policy(arena, policy), (long)most);
}

static void want_ages(struct arena *arena, const struct policy *policy,
                      const struct machine *machine, struct finding_sink *sink, double today)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        enum field_group group = field_table[id].group;
        uint32_t count = group == GROUP_ROOT ? 1 : machine->groups[group].count;
        for (uint32_t i = 0; i < count && is_day((enum field_id)id); i++)
            want_age(arena, policy, machine, sink,
                     (struct field_place){.field = (enum field_id)id, .record = i}, today);
    }
    for (size_t i = 0; i < sizeof measured / sizeof *measured; i++)
        want_day(arena, policy, machine, sink, i);
}

void policy_check(struct arena *arena, const struct policy *policy,
                  const struct machine *machine, struct finding_sink *sink, double today)
{
    want_agreements(arena, policy, machine, sink);
    if (policy->measured_within > 0)
        want_ages(arena, policy, machine, sink, today);
}

static bool has_name(const struct tree_node *const *names, size_t count, struct view name)
{
    for (size_t i = 0; i < count; i++)
        if (view_equal(names[i]->text, name) || view_is(names[i]->text, "*"))
            return true;
    return false;
}

bool policy_lets(const struct policy *policy, struct view rule, const char *who)
{
    if (!policy || !policy->limits_waivers)
        return true;
    for (size_t i = 0; i < policy->waiver_count; i++) {
        const struct policy_waiver *waiver = &policy->waivers[i];
        if (has_name(waiver->rules, waiver->rule_count, rule) &&
            (!waiver->by_count ||
             (who && has_name(waiver->by, waiver->by_count, view_of(who)))))
            return true;
    }
    return false;
}

/* A rule of several levels keeps none below what can hurt a person. */
static enum finding_level level_of(const struct policy *policy, const char *rule,
                                   enum finding_hurts hurts, enum finding_level level)
{
    for (size_t i = 0; i < policy->level_count; i++)
        if (view_is(policy->levels[i].rule, rule) &&
            (hurts != HURTS_PERSON || policy->levels[i].level > level))
            return policy->levels[i].level;
    return level;
}

void policy_levels(const struct policy *policy, struct file_report *report)
{
    for (size_t i = 0; i < report->count; i++) {
        struct finding *finding = &report->findings[i];
        finding->level = level_of(policy, finding->rule, finding->hurts, finding->level);
    }
    for (size_t i = 0; i < report->more_count; i++)
        report->more[i].level =
            level_of(policy, report->more[i].rule, HURTS_PERSON, report->more[i].level);
}

/* --- telling --- */

static void tell_names(struct buffer *out, const char *what,
                       const struct tree_node *const *names, size_t count)
{
    buffer_format(out, "%s", what);
    for (size_t i = 0; i < count; i++) {
        buffer_text(out, i ? ", " : " ");
        escape_terminal(out, names[i]->text);
    }
}

void policy_tell(struct buffer *out, const struct policy *policy)
{
    if (policy->has_stop_at)
        buffer_format(out, "  findings count from %s on\n",
                      finding_level_name(policy->stop_at));
    if (policy->rulebook_count) {
        tell_names(out, "  rulebooks asked besides:", policy->rulebooks,
                   policy->rulebook_count);
        buffer_byte(out, '\n');
    }
    for (size_t i = 0; i < policy->level_count; i++) {
        buffer_text(out, "  ");
        escape_terminal(out, policy->levels[i].rule);
        buffer_format(out, " counts as %s\n", finding_level_name(policy->levels[i].level));
    }
    if (policy->wants_agreement) {
        tell_names(out, "  held against the controller's own file:", policy->agreements,
                   policy->agreement_count);
        buffer_text(out, policy->agreement_count ? "\n" : " something\n");
    }
    if (policy->measured_within > 0)
        buffer_format(out, "  measured within %ld days\n",
                      (long)(policy->measured_within / DAY));
    for (size_t i = 0; i < policy->waiver_count; i++) {
        const struct policy_waiver *waiver = &policy->waivers[i];
        tell_names(out, "  may be waived:", waiver->rules, waiver->rule_count);
        tell_names(out, waiver->by_count ? " by" : " by anybody", waiver->by, waiver->by_count);
        buffer_byte(out, '\n');
    }
    if (policy->limits_waivers && !policy->waiver_count)
        buffer_text(out, "  nothing may be waived\n");
}
