/* Slips of the pen: which there are, which of them explains what fails, and how that is told.
 *
 * Candidates are known by the kind of a field: signs, exchanged numbers, heights of another
 * frame. What is implausible is none. */
#include "rules/internal.h"

#include <math.h>

#include "quantity/quantity.h"

enum {
    SLIP_CUTTERS = 200, /* a longer list would take long */
    OBSTACLES_MAX = 20,
    RELATED_MAX = 8,
    WINDOWS_MAX = 8, /* cutters whose stick-out is looked at */
};

/* One or two values as they would be without the slip. */
struct slip {
    enum field_id site; /* where it is told; of a place and an area, their X */
    struct {
        enum field_id field;
        uint32_t record;
        struct field_value value;
    } parts[2];
    size_t count;
    bool in_plan;      /* a place in plan: many others would do as well */
    bool by_window;    /* not taken back: another value taken, one of many that would do */
    bool by_others;    /* worked out from two other numbers, one of three of which is wrong */
    const char *words; /* NULL until it explains something: "setter.nose_contact -153 mm in
                          place of 153 mm would do" */
};

struct slip_list {
    VECTOR(struct slip) items;
};

/* Values of X and of Y that people write down together. */
static const enum field_id across[][2] = {
    {FIELD_SETTER_AT_X, FIELD_SETTER_AT_Y}, {FIELD_CHANGE_PARK_X, FIELD_CHANGE_PARK_Y},
    {FIELD_TABLE_X, FIELD_TABLE_Y},         {FIELD_WORK_X, FIELD_WORK_Y},
    {FIELD_OBSTACLE_X, FIELD_OBSTACLE_Y},
};

/* Of three heights that belong together any one follows from the other two:
 * `is` = `from` + `sign` * `by`. */
static const struct {
    enum field_id is, from, by;
    int sign;
} heights_of_three[] = {
    {FIELD_TABLE_NOSE_CONTACT, FIELD_SETTER_NOSE_CONTACT, FIELD_SETTER_HEIGHT, -1},
    {FIELD_SETTER_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, FIELD_SETTER_HEIGHT, 1},
    {FIELD_SETTER_HEIGHT, FIELD_SETTER_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, -1},
    {FIELD_TABLE_NOSE_CONTACT, FIELD_PLATE_NOSE_CONTACT, FIELD_PLATE_THICKNESS, -1},
    {FIELD_PLATE_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, FIELD_PLATE_THICKNESS, 1},
    {FIELD_PLATE_THICKNESS, FIELD_PLATE_NOSE_CONTACT, FIELD_TABLE_NOSE_CONTACT, -1},
};

static const struct field_value *given(const struct machine *machine, enum field_id field,
                                       uint32_t record)
{
    if (record >= machine->groups[field_table[field].group].count ||
        machine_is_read_once(machine, field, record))
        return NULL;
    const struct field_value *value = machine_field(machine, field, record);
    return value->state == VALUE_GIVEN ? value : NULL;
}

static bool is_plausible(enum field_id field, double si)
{
    const struct field *about = &field_table[field];
    return !(si < about->plausible_low) && !(si > about->plausible_high);
}

static bool may_be(enum field_id field, const struct field_value *value)
{
    if (field_table[field].kind == KIND_PAIR)
        return is_plausible(field, value->pair[0].si) && is_plausible(field, value->pair[1].si);
    return is_plausible(field, value->si);
}

static void set_part(struct slip *slip, enum field_id field, uint32_t record,
                     struct field_value value)
{
    slip->site = field;
    for (size_t i = 0; i < sizeof across / sizeof *across; i++)
        if (across[i][0] == field || across[i][1] == field) {
            slip->site = across[i][0];
            slip->in_plan = true;
        }
    slip->parts[slip->count].field = field;
    slip->parts[slip->count].record = record;
    slip->parts[slip->count++].value = value;
}

/* "axes.z.travel [-140 mm, 0 mm] in place of [0 mm, 140 mm] would do" */
static const char *slip_words(struct arena *arena, const struct machine *machine,
                              const struct slip *slip)
{
    const char *path[2], *by[2];
    for (size_t i = 0; i < slip->count; i++) {
        enum field_id field = slip->parts[i].field;
        const struct field_value *value = &slip->parts[i].value;
        path[i] = machine_path(arena, machine, field, slip->parts[i].record, 0);
        by[i] = slip->by_others
                    ? quantity_text(arena, value->si, field_table[field].dimension, value->unit)
                    : field_value_text(arena, field, value);
    }
    if (slip->count == 2)
        return arena_format(arena, "%s %s, %s %s exchanged would do", path[0], by[0], path[1],
                            by[1]);
    enum field_id field = slip->parts[0].field;
    return arena_format(
        arena, "%s %s in place of %s would do", path[0], by[0],
        field_value_text(arena, field, machine_field(machine, field, slip->parts[0].record)));
}

static double opposite(double si)
{
    return si == 0 ? 0 : -si;
}

/* With the other sign; of a pair, with the other sign at either end. */
static void add_negated(struct arena *arena, const struct machine *machine, enum field_id field,
                        uint32_t record, struct slip_list *out)
{
    const struct field_value *value = given(machine, field, record);
    if (!value)
        return;
    struct field_value other = *value;
    if (field_table[field].kind == KIND_PAIR) {
        other.pair = ARENA_ARRAY(arena, struct field_value, 2);
        for (int end = 0; end < 2; end++) {
            other.pair[end] = value->pair[1 - end];
            other.pair[end].si = opposite(value->pair[1 - end].si);
        }
    } else {
        other.si = opposite(value->si);
    }
    if (!may_be(field, &other))
        return;
    struct slip slip = {0};
    set_part(&slip, field, record, other);
    VECTOR_ADD(arena, &out->items, slip);
}

static void add_signs(struct arena *arena, const struct machine *machine, struct slip_list *out)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        bool is_signed = field->kind == KIND_POSITION ||
                         (field->kind == KIND_PAIR && field->plausible_low < 0);
        uint32_t count = machine->groups[field->group].count;
        bool tried = is_signed && (field->group != GROUP_OBSTACLE || count <= OBSTACLES_MAX);
        for (uint32_t record = 0; tried && record < count; record++)
            add_negated(arena, machine, (enum field_id)id, record, out);
    }
}

/* `first` and `second` with each other's values. */
static void add_exchanged(struct arena *arena, const struct machine *machine,
                          const enum field_id fields[2], const uint32_t records[2],
                          struct slip_list *out)
{
    const struct field_value *first = given(machine, fields[0], records[0]);
    const struct field_value *second = given(machine, fields[1], records[1]);
    if (!first || !second || !may_be(fields[0], second) || !may_be(fields[1], first))
        return;
    struct slip slip = {0};
    set_part(&slip, fields[0], records[0], *second);
    set_part(&slip, fields[1], records[1], *first);
    slip.site = fields[0];
    VECTOR_ADD(arena, &out->items, slip);
}

static void add_exchanges(struct arena *arena, const struct machine *machine,
                          struct slip_list *out)
{
    for (size_t i = 0; i < sizeof across / sizeof *across; i++) {
        uint32_t count = machine->groups[field_table[across[i][0]].group].count;
        for (uint32_t record = 0; record < count && count <= OBSTACLES_MAX; record++)
            add_exchanged(arena, machine, across[i], (uint32_t[]){record, record}, out);
    }
    static const enum field_id travels[] = {FIELD_AXIS_TRAVEL, FIELD_AXIS_TRAVEL};
    add_exchanged(arena, machine, travels, (uint32_t[]){0, 1}, out);
}

static void add_heights(struct arena *arena, const struct machine *machine,
                        struct slip_list *out)
{
    for (size_t i = 0; i < sizeof heights_of_three / sizeof *heights_of_three; i++) {
        const struct field_value *is = given(machine, heights_of_three[i].is, 0);
        const struct field_value *from = given(machine, heights_of_three[i].from, 0);
        const struct field_value *by = given(machine, heights_of_three[i].by, 0);
        if (!is || !from || !by)
            continue;
        struct field_value other = *is;
        other.si = from->si + heights_of_three[i].sign * by->si;
        if (!may_be(heights_of_three[i].is, &other))
            continue;
        struct slip slip = {.by_others = true};
        set_part(&slip, heights_of_three[i].is, 0, other);
        VECTOR_ADD(arena, &out->items, slip);
    }
}

/* A slip that explains something. */
struct explanation {
    const struct slip *slip;
    bool *clears; /* of each open failure */
    size_t cleared;
};

struct finding_slips {
    const struct describer *describer;
    struct finding_sink *sink;
    const struct open_failure *open;
    size_t count;
    struct machine copy;         /* in which slips are taken back */
    struct instance_list before; /* every failure of the machine as it is */
    size_t unchecked;
    VECTOR(struct explanation) explanations;
};

static struct arena *arena_of(const struct finding_slips *slips)
{
    return slips->describer->arena;
}

/* Every failure of the last run, waived ones too, and how many answers were not known.  False
 * where the runner has not kept all. */
static bool gather(const struct runner *runner, struct arena *arena, struct instance_list *out,
                   size_t *unchecked)
{
    *out = (struct instance_list){0};
    *unchecked = 0;
    for (uint32_t rule = 0; rule < runner->rule_count; rule++) {
        const struct rule_result *result = &runner->results[rule];
        *unchecked += result->unchecked;
        if (result->failed != result->failures.count)
            return false;
        for (size_t i = 0; i < result->failures.count; i++)
            VECTOR_ADD(arena, &out->items, result->failures.items[i]);
        for (size_t i = 0; i < result->waived.count; i++)
            VECTOR_ADD(arena, &out->items, result->waived.items[i]);
    }
    return true;
}

static const struct instance *find(const struct instance_list *instances,
                                   const struct instance *like)
{
    for (size_t i = 0; i < instances->items.count; i++) {
        const struct instance *other = &instances->items.items[i];
        if (other->rule == like->rule && other->requirement == like->requirement &&
            other->record == like->record)
            return other;
    }
    return NULL;
}

static bool is_as_before(const struct instance *now, const struct instance *before)
{
    if (now->has_margin != before->has_margin ||
        (now->implied_by == RULE_NONE) != (before->implied_by == RULE_NONE))
        return false;
    double near = 1e-12 + 1e-9 * fabs(before->margin);
    return !now->has_margin || fabs(now->margin - before->margin) <= near;
}

/* Has no failure come, and are those that stay just as they were? */
static bool is_no_worse(const struct finding_slips *slips, const struct instance_list *after)
{
    for (size_t i = 0; i < after->items.count; i++) {
        const struct instance *now = &after->items.items[i];
        const struct instance *before = find(&slips->before, now);
        if (!before || !is_as_before(now, before))
            return false;
    }
    return true;
}

static void swap_parts(struct machine *machine, struct slip *slip)
{
    for (size_t i = 0; i < slip->count; i++) {
        struct field_value *value =
            machine_field_put(machine, slip->parts[i].field, slip->parts[i].record);
        const struct field_value kept = *value;
        *value = slip->parts[i].value;
        slip->parts[i].value = kept;
    }
}

/* Does any open failure that is more than a note hold with the copy as it is?  Most slips clear
 * none, and all rules need not be asked about those. */
static bool clears_any(const struct finding_slips *slips)
{
    struct runner *runner = slips->describer->runner;
    runner_reset(runner, &slips->copy);
    for (size_t i = 0; i < slips->count; i++)
        if (slips->open[i].finding->level > LEVEL_NOTE &&
            !runner_fails(runner, &slips->open[i].instance))
            return true;
    return false;
}

/* Takes the slip back, asks everything, and puts it in again. */
static void try(struct finding_slips *slips, struct slip *slip)
{
    struct arena *arena = arena_of(slips);
    struct runner *runner = slips->describer->runner;
    struct instance_list after;
    size_t unchecked;
    bool whole = false;
    swap_parts(&slips->copy, slip);
    if (clears_any(slips)) {
        runner_run(runner, arena, &slips->copy, false);
        whole = gather(runner, arena, &after, &unchecked);
    }
    swap_parts(&slips->copy, slip);
    if (!whole || unchecked > slips->unchecked || !is_no_worse(slips, &after))
        return;
    if (!slip->words)
        slip->words = slip_words(arena, slips->describer->machine, slip);
    struct explanation found = {slip, ARENA_ARRAY(arena, bool, slips->count), 0};
    for (size_t i = 0; i < slips->count; i++) {
        found.clears[i] = !find(&after, &slips->open[i].instance);
        found.cleared += found.clears[i];
    }
    VECTOR_ADD(arena, &slips->explanations, found);
}

/* Takes some other number for a value, one with which everything holds that depends on it. */
static void try_window(struct finding_slips *slips, enum field_id field, uint32_t record)
{
    struct arena *arena = arena_of(slips);
    struct window_question question = {
        .runner = slips->describer->runner, .arena = arena, .machine = &slips->copy};
    struct window window;
    double si;
    const char *text;
    if (!window_find(&question, field, record, 0, &window) || !window.given ||
        window.defaulted || !window_propose(arena, &window, &si, &text))
        return;
    struct slip *slip = ARENA_NEW(arena, struct slip);
    slip->site = field;
    slip->count = 1;
    slip->by_window = true;
    slip->parts[0].field = field;
    slip->parts[0].record = record;
    slip->parts[0].value = *machine_field(&slips->copy, field, record);
    slip->parts[0].value.si = si;
    slip->words = window_words(arena, &window);
    try(slips, slip);
}

/* No slip of the pen explains it: is there a height or a stick-out that does, whatever it was
 * meant to be? */
static void try_windows(struct finding_slips *slips)
{
    static const enum field_id heights[] = {FIELD_TABLE_NOSE_CONTACT, FIELD_SETTER_NOSE_CONTACT,
                                            FIELD_WORK_HEIGHT, FIELD_CHANGE_TRAVERSE_Z};
    const struct runner *runner = slips->describer->runner;
    uint32_t seen[WINDOWS_MAX];
    size_t seen_count = 0;
    for (size_t i = 0; i < sizeof heights / sizeof *heights; i++)
        try_window(slips, heights[i], 0);
    for (size_t i = 0; i < slips->count && seen_count < WINDOWS_MAX; i++) {
        const struct instance *instance = &slips->open[i].instance;
        bool fresh = runner->rules[instance->rule].rule->domain == GROUP_CUTTER;
        for (size_t k = 0; k < seen_count && fresh; k++)
            fresh = seen[k] != instance->record;
        if (!fresh)
            continue;
        seen[seen_count++] = instance->record;
        try_window(slips, FIELD_CUTTER_STICKOUT, instance->record);
    }
}

static bool explains_all_of(const struct finding_slips *slips, const struct explanation *more,
                            const struct explanation *less)
{
    for (size_t i = 0; i < slips->count; i++)
        if (less->clears[i] && !more->clears[i])
            return false;
    return true;
}

static bool same_site(const struct slip *a, const struct slip *b)
{
    return a->site == b->site && a->parts[0].record == b->parts[0].record;
}

/* The one that explains all that any other does; those at its site that explain as much stay
 * beside it.  NULL where there is none, or where `*rivals`, other numbers explain as much. */
static const struct explanation *choose(const struct finding_slips *slips, bool *rivals)
{
    const struct explanation *best = NULL;
    *rivals = false;
    for (size_t i = 0; i < slips->explanations.count; i++)
        if (!best || slips->explanations.items[i].cleared > best->cleared)
            best = &slips->explanations.items[i];
    for (size_t i = 0; best && i < slips->explanations.count; i++) {
        const struct explanation *other = &slips->explanations.items[i];
        if (!explains_all_of(slips, best, other))
            return NULL;
        *rivals |= other->cleared == best->cleared && !same_site(other->slip, best->slip);
    }
    return best;
}

static bool points_at(const struct finding *finding, const struct slip *slip)
{
    enum field_id field =
        finding->at.field ? field_find(view_of(finding->at.field)) : FIELD_COUNT;
    for (size_t i = 0; i < slip->count; i++)
        if (slip->parts[i].field == field)
            return true;
    return false;
}

static bool same_thing(const struct finding *a, const struct finding *b)
{
    return strcmp(a->rule, b->rule) == 0 && a->at.source == b->at.source &&
           a->at.span.start == b->at.span.start && a->at.span.end == b->at.span.end;
}

static bool is_first_of(const struct finding_slips *slips, const bool *which, size_t i)
{
    for (size_t k = 0; k < i; k++)
        if ((!which || which[k]) && same_thing(slips->open[k].finding, slips->open[i].finding))
            return false;
    return true;
}

/* A shop's own rule is told whatever explains it: its words are what the shop wants said. */
static bool is_own(const struct finding_slips *slips, const struct open_failure *open)
{
    return slips->describer->runner->rules[open->instance.rule].book != &builtin_rulebook;
}

/* How many things of a level or graver are told of all that fails, or of `which`. */
static size_t things(const struct finding_slips *slips, const bool *which,
                     enum finding_level level)
{
    size_t count = 0;
    for (size_t i = 0; i < slips->count; i++)
        count += slips->open[i].finding->level >= level && (!which || which[i]) &&
                 !is_own(slips, &slips->open[i]) && is_first_of(slips, which, i);
    return count;
}

/* Are several things told that no slip of the pen explains together? */
static bool wants_more(const struct finding_slips *slips)
{
    for (size_t i = 0; i < slips->explanations.count; i++)
        if (things(slips, slips->explanations.items[i].clears, LEVEL_NOTE) > 1)
            return false;
    return things(slips, NULL, LEVEL_NOTE) > 1;
}

/* What people would be told: how many things, and the gravest that points at the slip by itself
 * and of the whole machine, so that anything may follow from it. */
struct told {
    size_t things, grave; /* and how many of them are more than notes */
    struct finding *first, *at_slip;
    enum finding_level level;
    enum finding_hurts hurts;
};

static void look(const struct finding_slips *slips, const struct explanation *explanation,
                 struct told *out)
{
    *out = (struct told){.things = things(slips, explanation->clears, LEVEL_NOTE),
                         .grave = things(slips, explanation->clears, LEVEL_WARNING)};
    for (size_t i = 0; i < slips->count; i++) {
        struct finding *finding = slips->open[i].finding;
        if (!explanation->clears[i])
            continue;
        if (!out->first)
            out->first = finding;
        if (finding->level > out->level)
            out->level = finding->level;
        if (finding->hurts > out->hurts)
            out->hurts = finding->hurts;
        if (!finding->subject && points_at(finding, explanation->slip) &&
            (!out->at_slip || finding->level > out->at_slip->level))
            out->at_slip = finding;
    }
    if (out->at_slip && out->at_slip->level < out->level)
        out->at_slip = NULL;
}

/* What would do, of all slips at the site that explain as much. */
static const char *words_of(const struct finding_slips *slips,
                            const struct explanation *explanation)
{
    const char *words = NULL;
    for (size_t i = 0; i < slips->explanations.count; i++) {
        const struct explanation *other = &slips->explanations.items[i];
        if (other->cleared != explanation->cleared ||
            !same_site(other->slip, explanation->slip))
            continue;
        if (!words)
            words = other->slip->words;
        else if (!strstr(words, other->slip->words))
            words = arena_format(arena_of(slips), "%s; %s", words, other->slip->words);
    }
    return words;
}

static void advise(const struct finding_slips *slips, struct finding *finding,
                   const char *words)
{
    finding->put_right = arena_format(arena_of(slips), "%s; %s", finding->put_right, words);
}

/* May a finding follow from another?  From one about a cutter only what is said of that cutter
 * elsewhere: at the same number its worst case would go with it. */
static bool may_follow(const struct finding *finding, const struct finding *cause,
                       const struct slip *slip)
{
    if (!cause || !cause->subject)
        return true;
    return !points_at(finding, slip) && finding->subject &&
           strcmp(finding->subject, cause->subject) == 0;
}

static void follow(const struct finding_slips *slips, const struct explanation *explanation,
                   const struct finding *cause, const char *rule)
{
    for (size_t i = 0; i < slips->count; i++) {
        struct finding *finding = slips->open[i].finding;
        if (explanation->clears[i] && !(cause && same_thing(cause, finding)) &&
            may_follow(finding, cause, explanation->slip) && !is_own(slips, &slips->open[i]))
            finding->implied_by = rule;
    }
}

static void relate(const struct finding_slips *slips, const struct explanation *explanation,
                   struct finding *to)
{
    const struct finding *last = NULL;
    for (size_t i = 0; i < slips->count && to->related_count < RELATED_MAX; i++) {
        const struct finding *finding = slips->open[i].finding;
        if (!explanation->clears[i] || !finding->at.source ||
            (last && same_thing(last, finding)))
            continue;
        finding_relate(slips->sink, to, finding->at.span, finding->at.field, finding->message);
        last = finding;
    }
}

static void report(const struct finding_slips *slips, const struct explanation *explanation,
                   const struct told *told, const char *words)
{
    const struct slip *slip = explanation->slip;
    struct finding_spot at =
        describe_place(slips->describer, slip->parts[0].field, 0, slip->parts[0].record);
    struct finding *finding = sink_report(
        slips->sink, READER_NUMBER_OUT_OF_LINE, at.span, at.field,
        "%s does not fit the other numbers, which fit each other: %s", at.field, words);
    if (!finding)
        return;
    finding->level = told->level;
    finding->hurts = told->hurts;
    finding->why =
        "Rules fail over this number that blame others. With this one number another, all of them "
        "hold, and nothing else fails.";
    finding->put_right = "look at this number, its sign and its frame, and measure it again";
    advise(slips, finding, words);
    relate(slips, explanation, finding);
    follow(slips, explanation, NULL, finding->rule);
}

/* The gravest error that points at the number by itself; NULL where none does. */
static const struct finding *blaming(const struct finding_slips *slips,
                                     const struct explanation *explanation)
{
    for (size_t i = 0; i < slips->count; i++)
        if (explanation->clears[i] && slips->open[i].finding->level == LEVEL_ERROR &&
            points_at(slips->open[i].finding, explanation->slip))
            return slips->open[i].finding;
    return NULL;
}

static void tell(const struct finding_slips *slips)
{
    bool rivals;
    struct told told;
    const struct explanation *best = choose(slips, &rivals);
    if (!best)
        return;
    look(slips, best, &told);
    const char *words = words_of(slips, best);
    bool is_there = told.things == 1 && points_at(told.first, best->slip);
    /* In plan most places would do; that two are right the other way round is no chance. */
    bool by_chance = best->slip->in_plan && best->slip->count == 1;
    if (rivals && !is_there)
        return;
    /* Whatever number would do is a weaker reason than a slip of the pen: a cutter may well be
     * as short as the list says.  Several things have to go with it, and not all of them mild.
     */
    if (best->slip->by_window && (told.things < 2 || !told.grave))
        return;
    const struct finding *blames = blaming(slips, best);
    if (best->slip->by_window && blames) {
        follow(slips, best, blames, blames->rule);
        return;
    }
    /* One rule alone may be right in what it blames, unless all numbers it can be are known. */
    if (is_there || (told.things == 1 && !best->slip->by_others && !by_chance)) {
        advise(slips, told.first, words);
    } else if (told.things > 1 && told.at_slip) {
        advise(slips, told.at_slip, words);
        follow(slips, best, told.at_slip, told.at_slip->rule);
    } else if (!by_chance) {
        report(slips, best, &told, words);
    }
}

void slips_find(const struct describer *describer, struct finding_sink *sink,
                const struct open_failure *open, size_t count)
{
    static const enum field_group groups[] = {GROUP_ROOT, GROUP_AXIS, GROUP_HOMING,
                                              GROUP_OBSTACLE, GROUP_CUTTER};
    struct finding_slips slips = {
        .describer = describer, .sink = sink, .open = open, .count = count};
    struct runner *runner = describer->runner;
    struct arena *arena = describer->arena;
    if (!count || describer->machine->groups[GROUP_CUTTER].count > SLIP_CUTTERS ||
        !gather(runner, arena, &slips.before, &slips.unchecked))
        return;
    struct rule_result *results = runner->results;
    uint8_t *applies = arena_alloc(arena, runner->rule_count);
    memcpy(applies, runner->applies, runner->rule_count);
    slips.copy = *describer->machine;
    machine_own_values(&slips.copy, arena, groups, sizeof groups / sizeof *groups);
    struct slip_list list = {0};
    add_signs(arena, describer->machine, &list);
    add_exchanges(arena, describer->machine, &list);
    add_heights(arena, describer->machine, &list);
    for (size_t i = 0; i < list.items.count; i++)
        try(&slips, &list.items.items[i]);
    if (wants_more(&slips))
        try_windows(&slips);
    runner->results = results;
    memcpy(runner->applies, applies, runner->rule_count);
    runner_reset(runner, describer->machine);
    tell(&slips);
}
