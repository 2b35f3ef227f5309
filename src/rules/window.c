#include "rules/search.h"

#include <math.h>

#include "quantity/number.h"
#include "quantity/quantity.h"

enum {
    ROUNDS = 64,   /* of asking every cutter of a long list again: one more decides in each */
    FINER_MAX = 8, /* steps of a tenth */
    STEPS_WITHIN = 10 /* a window is at least so many steps wide */
};

/* How far a field is looked for of which nothing is unusual: metres, or so many times what it
 * is. */
#define REACH 10

/* What lies closer together than this part of a step is the same: halving comes near a bound
 * and never there. */
#define SAME 1e-6

/* One search with what it is for. */
struct window_search {
    struct search search;
    struct describer describer;
    struct window *out;
};

static bool is_number(enum field_id field)
{
    enum field_kind kind = field_table[field].kind;
    return kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_COUNT;
}

static bool is_known(const struct field_value *value)
{
    return value->state == VALUE_GIVEN || value->state == VALUE_DEFAULTED;
}

bool window_is_possible(const struct machine *machine, enum field_id field, uint32_t record,
                        uint8_t part)
{
    if (record >= machine->groups[field_table[field].group].count ||
        machine_is_read_once(machine, field, record))
        return false;
    if (!part)
        return is_number(field);
    return field_table[field].kind == KIND_PAIR &&
           is_known(machine_field(machine, field, record));
}

static struct field_value *value_of(struct machine *machine, enum field_id field,
                                    uint32_t record, uint8_t part)
{
    struct field_value *value = machine_field_put(machine, field, record);
    return part ? &value->pair[part - 1] : value;
}

static struct dimension dimension_of(const struct window *window)
{
    return field_table[window->field].dimension;
}

/* Rounding to what people type. */

double window_step(unit_id unit, double like)
{
    double step = unit_step(unit);
    if (step > 0)
        return step;
    double size = fabs(like);
    return size > 0 && isfinite(size) ? number_decade(size, -2) : 0.01;
}

/* How an end is rounded. */
struct rounding {
    int inward;   /* 1: up */
    double other; /* not beyond this */
    double width; /* of the window */
};

/* "6 1/64 in" for a number of 64ths. */
static const char *fraction_text(struct arena *arena, double count, unit_id unit)
{
    long whole = (long)fabs(count), below = 64;
    const char *sign = count < 0 ? "-" : "";
    long rest = whole % below;
    whole /= below;
    while (rest && rest % 2 == 0) {
        rest /= 2;
        below /= 2;
    }
    if (!rest)
        return arena_format(arena, "%s%ld %s", sign, whole, unit_text(unit));
    if (!whole)
        return arena_format(arena, "%s%ld/%ld %s", sign, rest, below, unit_text(unit));
    return arena_format(arena, "%s%ld %ld/%ld %s", sign, whole, rest, below, unit_text(unit));
}

const char *window_typed(struct arena *arena, unit_id unit, struct dimension dimension,
                         double count, double step)
{
    bool in_64ths = step == 1.0 / 64 && fabs(count) < 1e6;
    /* Dividing by a whole number of steps a unit gives the double that the text would. */
    double number = step < 1 ? count / round(1 / step) : count * step;
    if (in_64ths)
        return fraction_text(arena, count, unit);
    return quantity_text_with(arena, unit_to_si(unit, dimension, number), 0, dimension, unit);
}

/* A whole number of steps as text. */
static const char *typed(struct arena *arena, const struct window *window, double count,
                         double step)
{
    return window_typed(arena, window->unit, dimension_of(window), count, step);
}

static double first_step(const struct window *window, double at)
{
    if (field_table[window->field].kind == KIND_COUNT)
        return 1;
    return window_step(window->unit, unit_from_si(window->unit, dimension_of(window), at));
}

static double finer(double step)
{
    return step == 1.0 / 64 ? 1e-3 : step / 10;
}

/* Takes a text for an end if it lies within and everything holds there. */
static bool accept(struct window_search *task, const struct rounding *rounding,
                   const char *text, struct window_end *out)
{
    struct instance worst;
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (quantity_read(view_of(text), dimension_of(task->out), &quantity, &trouble) !=
        QUANTITY_OK)
        return false;
    double past = (quantity.si - rounding->other) * rounding->inward;
    bool beyond = past > task->search.step * SAME;
    if (beyond || search_worst(&task->search, quantity.si, &worst, NULL))
        return false;
    out->si = quantity.si;
    out->text = text;
    return true;
}

/* Rounds an end inward, not beyond `other`: to a whole number of steps, to finer ones where the
 * window is narrow.  False where nothing that can be typed fits. */
static bool round_end(struct window_search *task, double at, const struct rounding *rounding,
                      struct window_end *out)
{
    const struct window *window = task->out;
    struct arena *arena = task->search.arena;
    struct dimension dimension = dimension_of(window);
    double in_unit = unit_from_si(window->unit, dimension, at);
    double width = fabs(unit_from_si(window->unit, dimension, rounding->width));
    double step = first_step(window, at);
    bool count = field_table[window->field].kind == KIND_COUNT;
    int finest = count ? 1 : FINER_MAX;
    for (int i = 0; i < finest - 1 && width < STEPS_WITHIN * step; i++)
        step = finer(step);
    for (int i = 0; i < finest; i++, step = finer(step)) {
        double whole = in_unit / step, slack = 1e-9 * fmax(1, fabs(whole));
        whole = rounding->inward > 0 ? ceil(whole - slack) : floor(whole + slack);
        for (int more = 0; more < 2; more++)
            if (accept(task, rounding,
                       typed(arena, window, whole + more * rounding->inward, step), out))
                return true;
    }
    const char *exact = number_exact(arena, in_unit);
    return accept(task, rounding, arena_format(arena, "%s %s", exact, unit_text(window->unit)),
                  out);
}

/* False where the end cannot be typed. */
static bool fill_end(struct window_search *task, const struct search_end *end,
                     const struct rounding *rounding, struct window_end *out)
{
    *out = (struct window_end){.bounded = end->bounded};
    if (!end->bounded)
        return true;
    struct finding bare;
    describe_bare(&task->describer, &end->by, &bare);
    out->rule = bare.rule;
    out->subject = bare.subject;
    if (!round_end(task, end->at, rounding, out))
        return false;
    out->exact = task->search.whole ? out->si : end->at;
    return true;
}

/* Where there is none. */

static bool is_same(const struct instance *a, const struct instance *b)
{
    return a->rule == b->rule && a->requirement == b->requirement && a->record == b->record;
}

static const char *shown(const struct window_search *task, double si)
{
    if (fabs(si) < task->search.step * SAME)
        si = 0;
    return quantity_text(task->search.arena, si, dimension_of(task->out), task->out->unit);
}

/* No value will do for these two; or, twice the same, for this one. */
static void name_between(struct window_search *task, const struct instance *low,
                         const struct instance *high)
{
    const struct instance *both[] = {low, high};
    struct window *out = task->out;
    out->empty = true;
    for (int i = 0; i < 2; i++) {
        struct finding bare;
        describe_bare(&task->describer, both[i], &bare);
        out->between[i] = bare.rule;
        out->between_subject[i] = bare.subject;
        out->level[i] = bare.level;
    }
}

/* `low` fails from `below` down, `high` from `above` up. */
static void exclude(struct window_search *task, const struct instance *low, double below,
                    const struct instance *high, double above)
{
    struct search *search = &task->search;
    struct window *out = task->out;
    double least, most;
    bool low_ends = search_next_good(search, low, below, 1, &least);
    bool high_ends = search_next_good(search, high, above, -1, &most);
    if (is_same(low, high) || !low_ends || !high_ends) {
        low = low_ends ? high : low; /* the one that holds nowhere */
        high = low;
    } else {
        out->wants[0] = shown(task, least);
        out->wants[1] = shown(task, most);
        out->overlap = least - most > search->step * SAME ? least - most : 0;
        out->overlap_text = shown(task, out->overlap);
    }
    name_between(task, low, high);
}

/* From a value where something fails to the nearest where everything holds.  False: there is
 * none, and the window says why. */
static bool find_good(struct window_search *task, double value, double *good)
{
    struct search *search = &task->search;
    double up = value, down = value;
    struct instance above, below;
    bool is_up = search_march(search, value, 1, &up, &above);
    bool is_down = search_march(search, value, -1, &down, &below);
    if (!is_up && !is_down && search_gap(search, good, &task->out->proved))
        return true;
    if (!is_up && !is_down) {
        exclude(task, &below, down, &above, up);
        return false;
    }
    *good = is_up && (!is_down || up - value <= value - down) ? up : down;
    return true;
}

/* How far to look, and the first step: as far as is usual, since nobody would type what lies
 * beyond, and what is there already. */
static void set_limits(struct search *search, const struct window *window,
                       const struct machine *machine)
{
    const struct field *field = &field_table[window->field];
    struct usual_range usual =
        machine_usual_range(machine, window->field, window->record, window->part);
    double far = REACH * fmax(fabs(window->value), 1);
    search->floor = fmin(isnan(usual.low) ? -far : usual.low, window->value);
    search->ceiling = fmax(isnan(usual.high) ? far : usual.high, window->value);
    if (field->kind == KIND_COUNT)
        search->floor = fmax(search->floor, 1);
    double reach = fmax(fabs(search->floor), fabs(search->ceiling));
    double step = unit_to_si(window->unit, field->dimension, first_step(window, window->value));
    search->step = fmax(fabs(step), reach * 1e-9);
}

/* What is not proved to hold all the way. */
static void name_open(struct window_search *task, const struct instance *open)
{
    struct finding bare;
    describe_bare(&task->describer, open, &bare);
    task->out->open = bare.rule;
    task->out->open_subject = bare.subject;
}

static void find(struct window_search *task)
{
    struct search *search = &task->search;
    struct window *out = task->out;
    struct instance worst;
    size_t asked = 0;
    out->holds = !search_gather(search, out->value, &worst, &asked);
    out->asked = asked > 0;
    double good = out->value;
    if (!out->holds && !find_good(task, out->value, &good))
        return;
    struct search_end low, high;
    search_grow(search, good, -1, &low);
    search_grow(search, good, 1, &high);
    out->proved = !low.unproved && !high.unproved;
    if (!out->proved)
        name_open(task, low.unproved ? &low.open : &high.open);
    double width = low.bounded && high.bounded ? high.at - low.at : HUGE_VAL;
    struct rounding up = {1, out->holds ? out->value : high.at, width};
    bool can_type = fill_end(task, &low, &up, &out->low);
    struct rounding down = {-1,
                            out->holds    ? out->value
                            : low.bounded ? out->low.si
                                          : low.at,
                            width};
    can_type = can_type && fill_end(task, &high, &down, &out->high);
    if (can_type)
        return;
    out->proved = false; /* elsewhere there may be room for a number */
    out->open = NULL;
    if (low.bounded && high.bounded)
        exclude(task, &low.by, search->floor, &high.by, search->ceiling);
    else
        name_between(task, low.bounded ? &low.by : &high.by, low.bounded ? &low.by : &high.by);
}

/* Does everything hold at the ends, of every cutter? */
static bool is_confirmed(struct window_search *task)
{
    struct search *search = &task->search;
    const struct window *out = task->out;
    struct instance worst;
    if (!search->sparse || out->empty)
        return true;
    const struct window_end *ends[] = {&out->low, &out->high};
    bool wrong = false;
    for (int i = 0; i < 2; i++)
        if (ends[i]->bounded) {
            wrong |= search_gather(search, ends[i]->si, &worst, NULL);
            wrong |= search_gather(search, ends[i]->exact, &worst, NULL);
        }
    return !wrong;
}

/* Cutters that decide far out mostly decide nearer too. */
static void gather_far(struct search *search)
{
    struct instance worst;
    (void)search_gather(search, search->floor, &worst, NULL);
    (void)search_gather(search, search->ceiling, &worst, NULL);
}

static double start_value(enum field_id field, const struct field_value *value)
{
    if (is_known(value))
        return value->si;
    double low = field_table[field].plausible_low, high = field_table[field].plausible_high;
    return isnan(low) || isnan(high) ? 0 : low + (high - low) / 4;
}

static void begin(const struct window_question *question, const struct field_value *kept,
                  const struct window_search *task, struct window *out)
{
    const struct field *field = &field_table[out->field];
    struct formula_namer namer = describe_namer(&task->describer);
    out->path =
        machine_path(question->arena, question->machine, out->field, out->record, out->part);
    out->lasting = machine_lasting_path(question->arena, question->machine, out->path);
    out->given = is_known(kept);
    out->defaulted = kept->state == VALUE_DEFAULTED;
    out->value = start_value(out->field, kept);
    out->unit = out->given ? kept->unit : namer.unit(namer.user, field->dimension);
    out->value_text =
        quantity_text_with(question->arena, out->value, 0, field->dimension, out->unit);
}

bool window_find(const struct window_question *question, enum field_id field, uint32_t record,
                 uint8_t part, struct window *out)
{
    struct machine *machine = question->machine;
    if (!window_is_possible(machine, field, record, part))
        return false;
    struct window_search task = {
        .describer = {.runner = question->runner,
                      .machine = machine,
                      .source = machine->tree->source,
                      .arena = question->arena},
        .out = out,
    };
    struct field_value *value = value_of(machine, field, record, part);
    const struct field_value kept = *value;
    *out = (struct window){
        .field = field, .record = record, .part = part, .holds = true, .proved = true};
    search_open(&task.search, question->runner, question->arena, machine, field, value);
    task.search.ignored = question->ignored;
    binding_values(&question->runner->binding, machine);
    begin(question, &kept, &task, out);
    *value = (struct field_value){.state = VALUE_GIVEN, .unit = out->unit, .node = kept.node};
    if (out->given)
        value->tolerance = kept.tolerance;
    value->si = out->value;
    set_limits(&task.search, out, machine);
    search_find_turns(&task.search, &(struct field_place){field, record, part});
    if (task.search.sparse && task.search.dependent_count)
        gather_far(&task.search);
    for (int round = 0; round < ROUNDS && task.search.dependent_count; round++) {
        out->empty = false;
        out->open = NULL;
        find(&task);
        if (is_confirmed(&task))
            break;
    }
    *value = kept;
    runner_reset(question->runner, machine);
    return true;
}

bool window_propose(struct arena *arena, const struct window *window, double *si,
                    const char **text)
{
    const struct window_end *low = &window->low, *high = &window->high;
    if (window->empty || (window->given && window->holds) || (!low->bounded && !high->bounded))
        return false;
    bool from_below = low->bounded && (!high->bounded || window->value < low->si);
    const struct window_end *near = from_below ? low : high, *far = from_below ? high : low;
    double spare = far->bounded ? fabs(far->si - near->si) / 10
                   : field_table[window->field].kind == KIND_POSITION
                       ? fabs(near->si - window->value) / 10
                       : fabs(near->si) / 10;
    double in_unit = unit_from_si(window->unit, dimension_of(window),
                                  from_below ? near->si + spare : near->si - spare);
    double step = first_step(window, near->si);
    *si = near->si;
    *text = near->text;
    for (int i = 0; i < FINER_MAX; i++, step = finer(step)) {
        struct quantity at;
        struct quantity_trouble trouble;
        const char *rounded = typed(arena, window, round(in_unit / step), step);
        if (quantity_read(view_of(rounded), dimension_of(window), &at, &trouble) != QUANTITY_OK)
            continue;
        bool inside = from_below ? at.si > near->si && (!far->bounded || at.si < far->si)
                                 : at.si < near->si && (!far->bounded || at.si > far->si);
        if (!inside)
            continue;
        *si = at.si;
        *text = rounded;
        break;
    }
    return true;
}

/* "probe-stroke-short for cutter 3" */
static const char *who(struct arena *arena, const char *rule, const char *subject)
{
    return subject ? arena_format(arena, "%s for %s", rule, subject) : rule;
}

bool window_conflict(const struct window *window, struct finding_conflict *out)
{
    if (!window->empty || !window->wants[0])
        return false;
    struct finding_rival *rivals[] = {&out->more, &out->less};
    for (int i = 0; i < 2; i++)
        *rivals[i] = (struct finding_rival){.rule = window->between[i],
                                            .subject = window->between_subject[i],
                                            .level = window->level[i],
                                            .wants = window->wants[i]};
    out->field = window->path;
    out->outweighs = window->level[0] == window->level[1]
                         ? NULL
                         : window->between[window->level[1] > window->level[0]];
    return true;
}

const char *window_outweighs(struct arena *arena, const struct window *window)
{
    struct finding_conflict conflict;
    if (!window_conflict(window, &conflict) || !conflict.outweighs)
        return "";
    bool more = conflict.more.level > conflict.less.level;
    const struct finding_rival *graver = more ? &conflict.more : &conflict.less;
    const struct finding_rival *other = more ? &conflict.less : &conflict.more;
    return arena_format(arena, "; %s is the %s and outweighs %s, a %s", graver->rule,
                        finding_level_name(graver->level), other->rule,
                        finding_level_name(other->level));
}

static const char *what_would_do(struct arena *arena, const struct window *window)
{
    const struct window_end *low = &window->low, *high = &window->high;
    const char *path = window->path;
    if (window->empty) {
        const char *first = who(arena, window->between[0], window->between_subject[0]);
        const char *second = who(arena, window->between[1], window->between_subject[1]);
        if (!window->wants[0])
            return arena_format(arena, "no usual value of %s alone will do: %s fails at any",
                                path, first);
        return arena_format(
            arena, "no value of %s alone will do: %s wants %s or more, %s %s or less%s", path,
            first, window->wants[0], second, window->wants[1], window_outweighs(arena, window));
    }
    if (!low->bounded && !high->bounded)
        return NULL;
    if (!high->bounded)
        return arena_format(arena, "%s of %s or more would do", path, low->text);
    if (!low->bounded)
        return arena_format(arena, "%s of %s or less would do", path, high->text);
    if (low->si == high->si)
        return arena_format(arena, "%s of %s would do", path, low->text);
    return arena_format(arena, "%s between %s and %s would do", path, low->text, high->text);
}

const char *window_words(struct arena *arena, const struct window *window)
{
    const char *words = what_would_do(arena, window);
    return words && !window->proved ? arena_format(arena, "where it was looked, %s", words)
                                    : words;
}

double window_margin(const struct window_question *question, enum field_id field,
                     uint32_t record, const struct instance *instance, double value)
{
    struct search search;
    struct field_value *place = value_of(question->machine, field, record, 0);
    const struct field_value kept = *place;
    double margin;
    search_open(&search, question->runner, question->arena, question->machine, field, place);
    (void)search_fails(&search, instance, value, &margin);
    *place = kept;
    runner_reset(question->runner, question->machine);
    return margin;
}
