/* One file, whole: read, ask the rules, describe what is to be shown, count. */
#include "rules/internal.h"

#include <stdlib.h>

#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/fingerprint.h"

struct checker {
    struct check_options options;
    struct runner runner;
};

struct checker *checker_new(struct arena *arena, const struct check_options *options)
{
    struct checker *checker = ARENA_NEW(arena, struct checker);
    checker->options = *options;
    runner_init(&checker->runner, arena, options->books, options->book_count);
    return checker;
}

/* What is being put together for one file. */
struct file_check {
    struct checker *checker;
    struct describer describer;
    struct arena *arena;
    VECTOR(struct finding) findings;
    VECTOR(struct finding_more) more;
    VECTOR(const char *) wanted;
    bool wanted_fields[FIELD_COUNT];
    struct waivers *waivers; /* NULL: not looked at */
    struct instance_list waived;
    struct {
        VECTOR(size_t) findings;
        struct instance_list instances;
    } open; /* failures that want a remedy */
    struct file_report *report;
};

static void add_instance(struct file_check *check, const struct instance *found)
{
    struct finding finding;
    const struct instance *instance = found;
    struct instance failure = *found;
    failure.outcome = OUTCOME_FAILED;
    if (found->outcome == OUTCOME_WAIVED) /* what is waived, and how, is said as of a failure */
        instance = &failure;
    const struct check_options *options = &check->checker->options;
    bool brief = (options->brief && instance->outcome == OUTCOME_HELD) ||
                 (options->sums && instance->outcome == OUTCOME_UNCHECKED);
    if (options->words && options->places)
        describe_placed(&check->describer, instance, &finding);
    else if (options->words && !brief)
        describe_instance(&check->describer, instance, &finding);
    else
        describe_bare(&check->describer, instance, &finding);
    if (options->words && !options->places && brief && instance->has_margin)
        finding.margin_text = quantity_text(check->arena, finding.margin, finding.dimension,
                                            describe_unit(&check->describer, instance));
    if (found->outcome == OUTCOME_WAIVED)
        BUG_UNLESS(waivers_apply(check->waivers, &finding));
    else if (finding.outcome == OUTCOME_FAILED && instance->implied_by == RULE_NONE) {
        VECTOR_ADD(check->arena, &check->open.findings, check->findings.count);
        VECTOR_ADD(check->arena, &check->open.instances.items, *instance);
    }
    VECTOR_ADD(check->arena, &check->findings, finding);
}

/* A field for want of which an instance could not be told, in general terms
 * ("cutters[].stickout"). */
static void note_wanted(struct file_check *check, enum field_id id)
{
    if (id == FIELD_COUNT || check->wanted_fields[id])
        return;
    check->wanted_fields[id] = true;
    VECTOR_ADD(check->arena, &check->wanted, field_path(check->arena, id));
}

static void add_unknowns(struct file_check *check, const struct rule_result *result)
{
    bool sums = check->checker->options.sums;
    for (size_t i = 0; i < result->unknowns.count; i++) {
        const struct instance *instance = &result->unknowns.items[i];
        if (!sums || i == 0)
            add_instance(check, instance);
        enum field_id missing[MISSING_MAX];
        size_t count = sums ? describe_missing(&check->describer, instance, missing) : 0;
        for (size_t k = 0; k < count; k++)
            note_wanted(check, missing[k]);
        const struct finding *added = &check->findings.items[check->findings.count - 1];
        for (size_t k = 0; !sums && k < added->missing_count; k++)
            note_wanted(check, field_find(view_of(added->missing[k])));
    }
}

static void add_failures(struct file_check *check, uint32_t rule, struct rule_result *result)
{
    if (!result->failed)
        return;
    qsort(result->failures.items, result->failures.count, sizeof(struct instance),
          instance_compare);
    size_t plain = 0;
    bool scattered = false; /* each failure at a place of its own */
    for (size_t i = 0; i < result->failures.count; i++) {
        const struct instance *instance = &result->failures.items[i];
        plain += instance->implied_by == RULE_NONE;
        scattered |= runner_requirement(&check->checker->runner, instance)->blames_each;
        add_instance(check, instance);
    }
    if (result->failed == result->failures.count)
        return;
    const struct rule *entry = check->checker->runner.rules[rule].rule;
    struct finding_more more = {
        .rule = entry->name,
        .level = entry->level,
        .failed = result->failed - result->failures.count,
        .as_findings = scattered ? result->plain_failed - plain : 0,
    };
    VECTOR_ADD(check->arena, &check->more, more);
}

static void add_waived(struct file_check *check, uint32_t rule, struct rule_result *result)
{
    size_t count = result->waived.count;
    if (!count)
        return;
    qsort(result->waived.items, count, sizeof(struct instance), instance_compare);
    for (size_t i = 0; i < count; i++) {
        VECTOR_ADD(check->arena, &check->waived.items, result->waived.items[i]);
        if (i < FINDINGS_A_NAME)
            add_instance(check, &result->waived.items[i]);
    }
    const struct rule *entry = check->checker->runner.rules[rule].rule;
    struct finding_more more = {
        .rule = entry->name,
        .level = entry->level,
        .failed = count - FINDINGS_A_NAME,
        .waived = true,
    };
    if (count > FINDINGS_A_NAME)
        VECTOR_ADD(check->arena, &check->more, more);
}

static void add_held(struct file_check *check, const struct rule_result *result)
{
    enum check_show show = check->checker->options.show;
    if (show == SHOW_ALL)
        for (size_t i = 0; i < result->all_held.count; i++)
            add_instance(check, &result->all_held.items[i]);
    else if (show == SHOW_DEFAULT && result->held)
        add_instance(check, &result->tightest);
}

static void add_rule(struct file_check *check, uint32_t rule)
{
    struct rule_result *result = &check->checker->runner.results[rule];
    struct file_report *report = check->report;
    add_failures(check, rule, result);
    add_waived(check, rule, result);
    add_unknowns(check, result);
    add_held(check, result);
    if (result->failed)
        report->rules[OUTCOME_FAILED]++;
    else if (result->waived.count)
        report->rules[OUTCOME_WAIVED]++;
    else if (result->unchecked)
        report->rules[OUTCOME_UNCHECKED]++;
    else if (result->held)
        report->rules[OUTCOME_HELD]++;
    else
        report->inapplicable++;
}

/* The tightest margins of the rules that held everywhere, at most TIGHTEST_MARGINS, in order:
 * of those that tell how much room there is. */
static size_t find_tightest(const struct runner *runner, const struct rule_result **tightest)
{
    size_t count = 0;
    for (uint32_t rule = 0; rule < runner->rule_count; rule++) {
        const struct rule_result *result = &runner->results[rule];
        if (!result->has_closest || result->failed || result->waived.count)
            continue;
        size_t at = count;
        while (at && result->tightness < tightest[at - 1]->tightness)
            at--;
        if (at == TIGHTEST_MARGINS)
            continue;
        size_t kept = count < TIGHTEST_MARGINS ? count : TIGHTEST_MARGINS - 1;
        for (size_t i = kept; i > at; i--)
            tightest[i] = tightest[i - 1];
        tightest[at] = result;
        count = kept + 1;
    }
    return count;
}

static void add_tightest(struct file_check *check)
{
    const struct rule_result *tightest[TIGHTEST_MARGINS];
    size_t count = find_tightest(&check->checker->runner, tightest);
    for (size_t i = 0; i < count; i++) {
        const struct instance *instance = &tightest[i]->closest;
        struct finding bare;
        describe_bare(&check->describer, instance, &bare);
        check->report->tightest[check->report->tightest_count++] =
            (struct finding_margin){.rule = bare.rule,
                                    .subject = bare.subject,
                                    .margin = bare.margin,
                                    .dimension = bare.dimension,
                                    .unit = describe_unit(&check->describer, instance),
                                    .relative = tightest[i]->tightness};
    }
}

static void add_reader_findings(struct file_check *check, struct finding_sink *sink)
{
    for (size_t i = 0; i < sink->findings.count && check->waivers; i++)
        waivers_apply(check->waivers, &sink->findings.items[i]);
    if (check->waivers)
        waivers_finish(check->waivers, sink);
    for (size_t i = 0; i < sink->findings.count; i++)
        VECTOR_ADD(check->arena, &check->findings, sink->findings.items[i]);
    for (unsigned name = 0; name < READER_COUNT; name++) {
        if (sink->counts[name] <= FINDINGS_A_NAME)
            continue;
        size_t rest = sink->counts[name] - FINDINGS_A_NAME;
        struct finding_more more = {.rule = reader_finding_name(name),
                                    .level = reader_finding_level(name),
                                    .failed = rest,
                                    .as_findings = rest};
        VECTOR_ADD(check->arena, &check->more, more);
    }
}

/* A failure by what its fingerprint is made of, to find those that are alike. */
struct identity {
    struct finding *finding;
    const char *field;
};

static int compare_identities(const void *left, const void *right)
{
    const struct identity *a = left, *b = right;
    int order = strcmp(a->finding->rule, b->finding->rule);
    if (!order)
        order = view_compare(view_of(a->finding->subject), view_of(b->finding->subject));
    if (!order)
        order = view_compare(view_of(a->field), view_of(b->field));
    if (!order)
        order = a->finding->serial < b->finding->serial ? -1 : 1;
    return order;
}

static bool is_alike(const struct identity *a, const struct identity *b)
{
    return strcmp(a->finding->rule, b->finding->rule) == 0 &&
           view_equal(view_of(a->finding->subject), view_of(b->finding->subject)) &&
           view_equal(view_of(a->field), view_of(b->field));
}

static void add_fingerprints(struct file_check *check)
{
    struct file_report *report = check->report;
    struct arena *arena = check->arena;
    struct identity *items = ARENA_ARRAY(arena, struct identity, report->count);
    size_t count = 0, again = 0;
    for (size_t i = 0; i < report->count; i++) {
        struct finding *finding = &report->findings[i];
        if (finding->outcome != OUTCOME_FAILED && finding->outcome != OUTCOME_WAIVED)
            continue;
        const char *field = finding->at.field;
        if (field)
            field = machine_lasting_path(arena, check->describer.machine, field);
        items[count++] = (struct identity){finding, field};
    }
    if (count)
        qsort(items, count, sizeof *items, compare_identities);
    for (size_t i = 0; i < count; i++) {
        again = i && is_alike(&items[i], &items[i - 1]) ? again + 1 : 0;
        struct finding *finding = items[i].finding;
        finding->fingerprint =
            fingerprint(arena, finding->rule, finding->subject, items[i].field, again);
    }
}

static void settle_spot(const struct finding_spot *spot)
{
    struct finding_spot *settled = (struct finding_spot *)spot;
    if (spot->source)
        settled->source = source_holding(spot->source, &settled->span);
}

/* Until here places count through all files of the machine; from here on each in its own. */
static void settle_places(struct finding *finding)
{
    settle_spot(&finding->at);
    for (size_t i = 0; i < finding->related_count; i++)
        settle_spot(&finding->related[i]);
    for (size_t i = 0; i < finding->fix_count; i++) {
        struct finding_fix *fix = (struct finding_fix *)&finding->fixes[i];
        fix->source = source_holding(fix->source, &fix->span);
    }
}

static void finish(struct file_check *check)
{
    struct file_report *report = check->report;
    report->findings = check->findings.items;
    report->count = check->findings.count;
    report->more = check->more.items;
    report->more_count = check->more.count;
    report->wanted = check->wanted.items;
    report->wanted_count = check->wanted.count;
    for (size_t i = 0; i < report->count && check->describer.source->next; i++)
        settle_places(&report->findings[i]);
    if (check->checker->options.policy)
        policy_levels(check->checker->options.policy, report);
    findings_sort(report->findings, report->count);
    if (check->checker->options.words && !check->checker->options.places) {
        causes_join(check->arena, report->findings, report->count);
        add_fingerprints(check);
    }
    findings_count(check->arena, report);
}

static const enum field_group called_groups[] = {GROUP_CUTTER, GROUP_OBSTACLE, GROUP_SETTER,
                                                 GROUP_ATTACHMENT};

/* "cutter 1, 8 mm compression"; without a description as it is. */
static const char *full_name(struct arena *arena, const struct machine *machine,
                             enum field_group group, uint32_t record, const char *subject)
{
    enum { DESCRIPTION_CELLS = 40 };
    if (group != GROUP_CUTTER)
        return subject;
    const struct field_value *is = machine_field(machine, FIELD_CUTTER_DESCRIPTION, record);
    return is->state == VALUE_GIVEN
               ? arena_format(arena, "%s, %s", subject,
                              escape_short(arena, is->text, DESCRIPTION_CELLS))
               : subject;
}

/* What the records of lists are called by the people who read outputs. */
struct record_names {
    struct finding_names names;
    struct arena *arena;
    const struct machine *machine;
};

static void gather_names(struct finding_names *names)
{
    const struct record_names *of = (struct record_names *)names;
    const struct machine *machine = of->machine;
    struct arena *arena = of->arena;
    size_t most = 0, count = 0;
    for (size_t g = 0; g < sizeof called_groups / sizeof *called_groups; g++)
        most += machine->groups[called_groups[g]].count;
    struct finding_name *items = ARENA_ARRAY(arena, struct finding_name, most + 1);
    for (size_t g = 0; g < sizeof called_groups / sizeof *called_groups; g++)
        for (uint32_t i = 0; i < machine->groups[called_groups[g]].count; i++) {
            enum field_group group = called_groups[g];
            const char *path = arena_format(arena, "%s[%u]", group_table[group].key, i);
            const char *subject = machine_record_name(arena, machine, group, i);
            items[count++] =
                (struct finding_name){path, machine_lasting_path(arena, machine, path), subject,
                                      full_name(arena, machine, group, i, subject)};
        }
    names->items = items;
    names->count = count;
}

static void add_names(struct file_check *check)
{
    struct record_names *of = ARENA_NEW(check->arena, struct record_names);
    of->names.gather = gather_names;
    of->arena = check->arena;
    of->machine = check->describer.machine;
    check->report->names = &of->names;
}

static enum file_status status_of(const struct tree *tree)
{
    if (tree->status == TREE_WHOLE)
        return FILE_CHECKED;
    return tree->status == TREE_PARTIAL ? FILE_PARTIAL : FILE_UNREADABLE;
}

/* What number would do, and which one slip explains the others. */
static void explain_failures(struct file_check *check, struct finding_sink *sink)
{
    size_t count = check->open.findings.count;
    struct open_failure *open = ARENA_ARRAY(check->arena, struct open_failure, count);
    for (size_t i = 0; i < count; i++)
        open[i] = (struct open_failure){&check->findings.items[check->open.findings.items[i]],
                                        check->open.instances.items.items[i]};
    remedies_add(&check->describer, &check->waived, open, count);
    slips_find(&check->describer, sink, open, count);
}

/* What another machine comes to; what its reader finds is not told. */
static void check_another(struct arena *arena, const struct check_options *options,
                          const struct machine *machine, struct file_report *out)
{
    struct finding_sink unheard;
    sink_init(&unheard, arena, machine->tree->source);
    checker_check_machine(checker_new(arena, options), arena, machine, &unheard, out);
}

/* Everything that wants a machine: agreement, rules, waivers. */
static void ask_rules(struct file_check *check, struct finding_sink *sink)
{
    struct checker *checker = check->checker;
    const struct machine *machine = check->describer.machine;
    if (checker->options.words) {
        if (checker->options.cutters)
            share_check(check->arena, machine, sink, checker->options.cutters);
        struct agreement_list agreements;
        agreements_check(check->arena, machine, sink, checker->options.agreements, &agreements);
        if (!checker->options.places && !checker->options.brief)
            rests_tell(check->arena, &checker->options, check_another, machine, sink,
                       &agreements);
        if (checker->options.policy)
            policy_check(check->arena, checker->options.policy, machine, sink,
                         checker->options.today);
        check->waivers = waivers_read(&check->describer, sink, checker->options.today,
                                      checker->options.policy);
    }
    runner_run(&checker->runner, check->arena, machine, checker->options.show == SHOW_ALL);
    for (uint32_t rule = 0; rule < checker->runner.rule_count; rule++)
        add_rule(check, rule);
    if (checker->options.words && !checker->options.places) {
        add_tightest(check);
        add_names(check);
    }
    if (checker->options.words && checker->options.remedies)
        explain_failures(check, sink);
}

void checker_check_machine(struct checker *checker, struct arena *arena,
                           const struct machine *machine, struct finding_sink *sink,
                           struct file_report *out)
{
    *out = (struct file_report){
        .path = arena_copy(arena, sink->source->name.data, sink->source->name.size),
        .status = status_of(machine->tree),
        .lacks_parts = machine->tree->lacks_parts,
        .source = sink->source,
    };
    checker->runner.acceptance = NULL;
    struct file_check check = {
        .checker = checker,
        .describer = {.runner = &checker->runner,
                      .machine = machine,
                      .source = sink->source,
                      .arena = arena},
        .arena = arena,
        .report = out,
    };
    if (out->status != FILE_UNREADABLE)
        ask_rules(&check, sink);
    add_reader_findings(&check, sink);
    finish(&check);
}

void checker_check(struct checker *checker, struct arena *arena, struct view path,
                   struct view bytes, struct file_report *out)
{
    struct source *source = ARENA_NEW(arena, struct source);
    source_init(source, arena, path, bytes);
    struct finding_sink *sink = ARENA_NEW(arena, struct finding_sink);
    sink_init(sink, arena, source);
    struct tree *tree = ARENA_NEW(arena, struct tree);
    struct tree *own = ARENA_NEW(arena, struct tree);
    tree_read(own, arena, source, sink);
    tree_compose(tree, arena, own, checker->options.shared, sink);
    struct machine *machine = ARENA_NEW(arena, struct machine);
    machine_read(machine, arena, tree, sink);
    checker_check_machine(checker, arena, machine, sink, out);
}

void check_bytes(struct arena *arena, const struct check_options *options, struct view path,
                 struct view bytes, struct file_report *out)
{
    checker_check(checker_new(arena, options), arena, path, bytes, out);
}
