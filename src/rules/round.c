/* What is worth measuring, and why. */
#include "rules/round.h"

#include <math.h>
#include <stdlib.h>

#include "quantity/quantity.h"
#include "quantity/scatter.h"

enum { WORTHS_MAX = 60, RECORDS_MAX = 200 };

/* --- what further readings would be worth --- */

static double half_width(const struct readings *readings, uint32_t count)
{
    return scatter_factor(count) * readings->deviation + readings->instrument_error;
}

static void check(struct arena *arena, struct checker *checker, const struct machine *machine,
                  struct file_report *out)
{
    struct finding_sink unheard; /* what the reader found is the affair of `check` */
    sink_init(&unheard, arena, machine->tree->source);
    checker_check_machine(checker, arena, machine, &unheard, out);
}

/* Of the margins that grew, the one that was the least. */
static void find_tightest(const struct moved *moved, struct dimension dimension,
                          struct worth *out)
{
    static const enum moved_kind grown[] = {MOVED_MENDED, MOVED_BETTER};
    for (size_t k = 0; k < sizeof grown / sizeof *grown; k++)
        for (size_t i = 0; i < moved->kinds[grown[k]].count; i++) {
            const struct move_of_margin *move = &moved->kinds[grown[k]].items[i];
            const struct finding *before = move->before;
            if (!before || !before->has_margin || !(move->change > 0) ||
                !dimension_equal(before->dimension, dimension) ||
                (out->tightest && out->tightest->margin <= before->margin))
                continue;
            out->tightest = before;
            out->gain = move->change;
        }
}

const char *worth_text(struct arena *arena, const struct worth *worth, unit_id unit)
{
    struct dimension dimension = field_table[worth->readings->field].dimension;
    const struct finding *tightest = worth->tightest;
    if (!tightest)
        return arena_format(arena, "no margin would grow by %u readings",
                            (unsigned)worth->count);
    return arena_format(
        arena, "%u readings would bring %s to the margin of %s%s%s%s, now %s",
        (unsigned)worth->count, quantity_text(arena, worth->gain, dimension, unit),
        tightest->rule, tightest->subject ? " (" : "",
        tightest->subject ? tightest->subject : "", tightest->subject ? ")" : "",
        quantity_text(arena, tightest->margin, dimension, unit));
}

bool worth_pays(const struct worth *worth)
{
    return worth->tightest && worth->gain >= fabs(worth->tightest->margin) / 10;
}

bool worth_find(struct arena *arena, const struct check_options *options,
                const struct machine *machine, const struct field_place *place,
                struct worth *out)
{
    static const uint32_t counts[WORTH_COUNTS] = {3, 5, 10};
    const struct field *field = &field_table[place->field];
    const struct readings *readings = machine_readings(
        machine, place->field, machine_field(machine, place->field, place->record));
    if (!readings || readings->count < 2)
        return false;
    *out = (struct worth){.readings = readings};
    for (size_t i = 0; i < WORTH_COUNTS; i++)
        out->after[i] = (struct worth_after){counts[i], half_width(readings, counts[i])};
    bool many = readings->count >= counts[WORTH_COUNTS - 1];
    out->count = many ? 2 * readings->count : counts[WORTH_COUNTS - 1];

    struct check_options plain = *options;
    plain.show = SHOW_ALL;
    plain.words = plain.brief = plain.remedies = false;
    struct checker *checker = checker_new(arena, &plain);
    struct file_report before, after;
    check(arena, checker, machine, &before);
    struct machine better = *machine;
    machine_own_values(&better, arena, &field->group, 1);
    struct field_value *value = machine_field_put(&better, place->field, place->record);
    double *put = field->nature == NATURE_SCATTER ? &value->si : &value->tolerance;
    *put = half_width(readings, out->count);
    check(arena, checker, &better, &after);
    struct moved moved;
    reports_compare(arena, &before, &after, &moved);
    find_tightest(&moved, field->dimension, out);
    return true;
}

/* --- when a value was measured --- */

enum field_id round_day(enum field_id id)
{
    static const enum field_id days[][2] = {
        {FIELD_SETTER_AT_X, FIELD_SETTER_MEASURED_ON},
        {FIELD_SETTER_AT_Y, FIELD_SETTER_MEASURED_ON},
        {FIELD_SETTER_NOSE_CONTACT, FIELD_SETTER_MEASURED_ON},
        {FIELD_SETTER_HEIGHT, FIELD_SETTER_MEASURED_ON},
        {FIELD_SETTER_UNDERSIDE, FIELD_SETTER_MEASURED_ON},
        {FIELD_SETTERS_AT_X, FIELD_SETTERS_MEASURED_ON},
        {FIELD_SETTERS_AT_Y, FIELD_SETTERS_MEASURED_ON},
        {FIELD_SETTERS_NOSE_CONTACT, FIELD_SETTERS_MEASURED_ON},
        {FIELD_SETTERS_HEIGHT, FIELD_SETTERS_MEASURED_ON},
        {FIELD_SETTERS_UNDERSIDE, FIELD_SETTERS_MEASURED_ON},
        {FIELD_TABLE_NOSE_CONTACT, FIELD_TABLE_MEASURED_ON},
        {FIELD_PLATE_NOSE_CONTACT, FIELD_TABLE_MEASURED_ON},
        {FIELD_TABLE_THICKNESS, FIELD_TABLE_MEASURED_ON},
        {FIELD_TABLE_THICKNESS_NOW, FIELD_TABLE_THICKNESS_MEASURED_ON},
        {FIELD_CUTTER_STICKOUT, FIELD_CUTTER_MEASURED_ON},
    };
    for (size_t i = 0; i < sizeof days / sizeof *days; i++)
        if (days[i][0] == id)
            return days[i][1];
    return FIELD_COUNT;
}

/* --- one value --- */

struct search {
    struct arena *arena;
    const struct check_options *options;
    const struct machine *machine;
    const struct file_report *report; /* what failed, and what was not checked */
    struct round_plan *out;
    VECTOR(struct field_place) blamed; /* days, by rules that failed */
    size_t worths;                     /* looked at */
};

static const struct field_value *value_at(const struct search *search,
                                          const struct field_place *place)
{
    return machine_field(search->machine, place->field, place->record);
}

static bool is_same(const struct field_place *one, const struct field_place *other)
{
    return one->field == other->field && one->record == other->record;
}

static struct round_item *find_item(const struct search *search,
                                    const struct field_place *place)
{
    for (size_t i = 0; i < search->out->items.count; i++)
        if (is_same(&search->out->items.items[i].place, place))
            return &search->out->items.items[i];
    return NULL;
}

/* Is it measured at the machine?  A day is not. */
static bool is_measured(enum field_id id)
{
    return nature_is_measured(field_table[id].nature) && field_table[id].kind != KIND_DATE;
}

/* --- what is missing --- */

static bool is_graver(const struct finding *one, const struct finding *other)
{
    return one->hurts != other->hurts ? one->hurts > other->hurts : one->level > other->level;
}

static void want(struct search *search, const struct field_place *place,
                 const struct finding *finding)
{
    struct round_item *item = find_item(search, place);
    if (value_at(search, place)->state != VALUE_ABSENT)
        return;
    if (!item) {
        VECTOR_ADD(search->arena, &search->out->items,
                   (struct round_item){.place = *place, .reason = ROUND_MISSING});
        item = &search->out->items.items[search->out->items.count - 1];
    }
    item->rules++;
    if (!item->wanted || is_graver(finding, item->wanted))
        item->wanted = finding;
}

static void find_missing(struct search *search)
{
    struct field_place places[RECORDS_MAX];
    for (size_t i = 0; i < search->report->count; i++) {
        const struct finding *finding = &search->report->findings[i];
        if (finding->outcome != OUTCOME_UNCHECKED)
            continue;
        for (size_t k = 0; k < finding->missing_count; k++) {
            struct view path = view_of(finding->missing[k]);
            enum field_id id = field_find(path);
            if (id == FIELD_COUNT || !is_measured(id))
                continue;
            size_t count =
                machine_resolve(search->arena, search->machine, path, places, RECORDS_MAX);
            for (size_t p = 0; p < count; p++) {
                const struct field_place home =
                    machine_home(search->machine, places[p].field, places[p].record);
                want(search, &home, finding);
            }
        }
    }
}

/* --- what is old --- */

/* The days that rules which failed blame. */
static void find_blamed(struct search *search)
{
    struct field_place place;
    for (size_t i = 0; i < search->report->count; i++) {
        const struct finding *finding = &search->report->findings[i];
        if (finding->outcome != OUTCOME_FAILED || finding->from_reader || !finding->at.field)
            continue;
        struct view path = view_of(finding->at.field);
        enum field_id id = field_find(path);
        if (id != FIELD_COUNT && field_table[id].kind == KIND_DATE &&
            machine_resolve(search->arena, search->machine, path, &place, 1) == 1)
            VECTOR_ADD(search->arena, &search->blamed,
                       machine_home(search->machine, place.field, place.record));
    }
}

static bool is_blamed(const struct search *search, const struct field_place *day)
{
    for (size_t i = 0; i < search->blamed.count; i++)
        if (is_same(&search->blamed.items[i], day))
            return true;
    return false;
}

/* When it was measured where that is too long ago, else NAN.  Readings have a day of their own,
 * or go by that of their section. */
static double old_day(const struct search *search, const struct field_place *place)
{
    const struct field_value *work =
        machine_field(search->machine, FIELD_MACHINE_LAST_WORKED_ON, 0);
    const struct field_value *value = value_at(search, place);
    const struct readings *readings = machine_readings(search->machine, place->field, value);
    enum field_id day_field = round_day(place->field);
    double worked = work->state == VALUE_GIVEN ? work->si : (double)NAN;
    if (value->state != VALUE_GIVEN)
        return NAN;
    if (readings && !isnan(readings->on_seconds))
        return readings->on_seconds < worked ? readings->on_seconds : (double)NAN;
    if (day_field == FIELD_COUNT)
        return NAN;
    const struct field_place day_place = {day_field, place->record, 0};
    const struct field_value *day = value_at(search, &day_place);
    if (day->state != VALUE_GIVEN)
        return NAN;
    bool is_old = day->si < worked || is_blamed(search, &day_place);
    return is_old ? day->si : (double)NAN;
}

static void find_old(struct search *search, enum field_id id)
{
    uint32_t count = search->machine->groups[field_table[id].group].count;
    for (uint32_t i = 0; i < count; i++) {
        const struct field_place place = {id, i, 0};
        if (!machine_is_written(search->machine, id, i))
            continue;
        double on = old_day(search, &place);
        if (!isnan(on))
            VECTOR_ADD(search->arena, &search->out->items,
                       (struct round_item){.place = place, .reason = ROUND_OLD, .on = on});
    }
}

/* --- what could be known better --- */

static void find_better(struct search *search, enum field_id id)
{
    uint32_t count = search->machine->groups[field_table[id].group].count;
    for (uint32_t i = 0; i < count; i++) {
        const struct field_place place = {id, i, 0};
        const struct field_value *value = value_at(search, &place);
        struct round_item item = {.place = place, .reason = ROUND_BETTER};
        if (value->state != VALUE_GIVEN || !machine_is_written(search->machine, id, i) ||
            !isnan(old_day(search, &place)))
            continue;
        if (!machine_readings(search->machine, id, value)) {
            search->out->single++;
            continue;
        }
        if (search->worths == WORTHS_MAX) {
            search->out->unseen++;
            continue;
        }
        search->worths++;
        const struct field_place read = machine_stand_in(search->machine, id, i);
        if (worth_find(search->arena, search->options, search->machine, &read, &item.worth) &&
            worth_pays(&item.worth))
            VECTOR_ADD(search->arena, &search->out->items, item);
    }
}

/* --- their order --- */

/* What is gained, by what there is: the larger, the sooner. */
static double urgency(const struct worth *worth)
{
    double margin = worth->tightest->margin;
    return margin > 0 ? worth->gain / margin : (double)INFINITY;
}

static int compare_better(const struct worth *one, const struct worth *other)
{
    double a = urgency(one), b = urgency(other);
    if (isinf(a) && isinf(b)) { /* both mend something: the larger gain */
        a = one->gain;
        b = other->gain;
    }
    return (a < b) - (a > b);
}

static int compare_place(const struct field_place *one, const struct field_place *other)
{
    int by_record = (one->record > other->record) - (one->record < other->record);
    int by_field = (one->field > other->field) - (one->field < other->field);
    bool same_group = field_table[one->field].group == field_table[other->field].group;
    return same_group && by_record ? by_record : by_field;
}

static int compare(const void *a, const void *b)
{
    const struct round_item *one = a, *other = b;
    int order = (one->reason > other->reason) - (one->reason < other->reason);
    if (!order && one->reason == ROUND_MISSING)
        order = is_graver(other->wanted, one->wanted) - is_graver(one->wanted, other->wanted);
    if (!order && one->reason == ROUND_BETTER)
        order = compare_better(&one->worth, &other->worth);
    return order ? order : compare_place(&one->place, &other->place);
}

/* --- all of it --- */

static const struct file_report *failures(struct arena *arena,
                                          const struct check_options *options,
                                          const struct machine *machine)
{
    struct check_options failed = *options;
    struct file_report *report = ARENA_NEW(arena, struct file_report);
    failed.show = SHOW_FAILED;
    failed.words = true;
    failed.remedies = false;
    check(arena, checker_new(arena, &failed), machine, report);
    return report;
}

static void begin(struct search *search, struct arena *arena,
                  const struct check_options *options, const struct machine *machine,
                  const struct file_report *report, struct round_plan *out)
{
    *out = (struct round_plan){0};
    *search = (struct search){
        .arena = arena, .options = options, .machine = machine, .report = report, .out = out};
    find_blamed(search);
    find_missing(search);
}

void round_of_report(struct arena *arena, const struct check_options *options,
                     const struct machine *machine, const struct file_report *report,
                     struct round_plan *out)
{
    struct search search;
    begin(&search, arena, options, machine, report, out);
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        if (is_measured((enum field_id)id))
            find_old(&search, (enum field_id)id);
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        if (field_takes_readings((enum field_id)id))
            find_better(&search, (enum field_id)id);
    if (out->items.count)
        qsort(out->items.items, out->items.count, sizeof *out->items.items, compare);
}

void round_find(struct arena *arena, const struct check_options *options,
                const struct machine *machine, struct round_plan *out)
{
    round_of_report(arena, options, machine, failures(arena, options, machine), out);
}

void round_name(struct arena *arena, const struct check_options *options,
                const struct machine *machine, const struct field_place *places, size_t count,
                struct round_plan *out)
{
    struct search search;
    struct round_plan missing;
    begin(&search, arena, options, machine, failures(arena, options, machine), &missing);
    *out = (struct round_plan){0};
    for (size_t i = 0; i < count; i++) {
        struct round_item item = {.place = places[i], .reason = ROUND_NAMED};
        const struct round_item *wanted = find_item(&search, &places[i]);
        const struct field_place read =
            machine_stand_in(machine, places[i].field, places[i].record);
        double on = old_day(&search, &places[i]);
        if (wanted) {
            item = *wanted;
        } else if (!isnan(on)) {
            item.reason = ROUND_OLD;
            item.on = on;
        } else if (worth_find(arena, options, machine, &read, &item.worth) &&
                   worth_pays(&item.worth)) {
            item.reason = ROUND_BETTER;
        }
        VECTOR_ADD(arena, &out->items, item);
    }
}
