/* The set that does what is wished: for each wish in turn the numbers that it is about are
 * taken as far as everything holds, set to whole steps and left there; at last those that
 * nobody wished anything of come as near as can be to what the file has. */
#include <math.h>

#include "base/bug.h"
#include "propose/seek.h"
#include "propose/internal.h"
#include "propose/pace.h"
#include "quantity/number.h"
#include "quantity/quantity.h"

/* What a change of a number costs beside a wish: next to nothing, but those that the wish is
 * not about stay where they are unless it needs them. */
#define NEXT_TO_NOTHING 1e-4

/* No change is the faster for less, s. */
#define MILLISECOND 1e-3

/* Nearer to an end of what it may be than this part of its reach: at it. */
#define AT_END 1e-6

/* A number is one that the wish is about where a large change of it, or the way back to what
 * the file has, matters more than this. */
#define DRIVES (10 * NEXT_TO_NOTHING)

enum {
    FURTHER_MAX = 20, /* steps that a search had left */
    ROUNDS = 10       /* from what was found before */
};

struct service {
    struct finder *finder;
    bool *free; /* nothing has been wished of it yet */
    struct sought at;
    double enough; /* the least margin on the way */
    const char **texts;
    struct pace pace;
};

/* One wish, or the last one, which nobody has to make: that all else stays. */
struct serving {
    struct goal goal;
    bool *driven;    /* the numbers that it is about */
    bool *open;      /* of these, those that have no part in it for want of a bound */
    double *further; /* towards which side each goes */
    VECTOR(struct bound) bounds;
};

static double *copy(struct finder *finder, const double *x)
{
    size_t count = finder->margins.knob_count;
    double *out = ARENA_ARRAY(finder->margins.arena, double, count + 1);
    memcpy(out, x, count * sizeof *out);
    return out;
}

static void begin(struct service *service, struct serving *serving)
{
    struct arena *arena = service->finder->margins.arena;
    size_t count = service->finder->margins.knob_count;
    *serving = (struct serving){.driven = ARENA_ARRAY(arena, bool, count + 1),
                                .open = ARENA_ARRAY(arena, bool, count + 1),
                                .further = ARENA_ARRAY(arena, double, count + 1)};
    double *changes = ARENA_ARRAY(arena, double, count + 1);
    for (size_t k = 0; k < count; k++)
        changes[k] = NEXT_TO_NOTHING;
    serving->goal.changes = changes;
}

/* From there to where the goal is least. */
static void seek_goal(struct service *service, const struct serving *serving,
                      const struct sought *from)
{
    struct finder *finder = service->finder;
    size_t count = finder->margins.knob_count;
    bool *moves = ARENA_ARRAY(finder->margins.arena, bool, count + 1);
    for (size_t k = 0; k < count; k++)
        moves[k] = service->free[k] && !serving->open[k];
    service->at = (struct sought){copy(finder, from->x), from->least};
    seek_least(&finder->margins, moves, &serving->goal, SEEK_SPARE, &service->at);
}

/* Which numbers it is about, and where they go. */
static void find_driven(struct service *service, struct serving *serving)
{
    const struct margins *margins = &service->finder->margins;
    double *x = copy(service->finder, service->at.x);
    double here = seek_value(margins, &serving->goal, x);
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        double kept = x[k];
        x[k] += knob_beside(knob, kept);
        double slope = (seek_value(margins, &serving->goal, x) - here) / (x[k] - kept);
        x[k] = knob_start(knob, true);
        double gained = seek_value(margins, &serving->goal, x) - here;
        x[k] = kept;
        serving->driven[k] = service->free[k] && !serving->open[k] &&
                             (gained > DRIVES || fabs(slope) * knob->reach > DRIVES);
        serving->further[k] = slope > 0 ? -1 : 1;
    }
}

static void add_bound(struct service *service, struct serving *serving, size_t k,
                      enum bound_by by, const struct stake *stake)
{
    struct finder *finder = service->finder;
    struct excluded named = {0};
    if (stake)
        tell_name(finder, stake, &named);
    const struct bound bound = {finder->out->paths[k], by, named.rule, named.subject};
    VECTOR_ADD(finder->margins.arena, &serving->bounds, bound);
}

/* What no rule keeps from going to the end of what is usual has no part in it: that it could is
 * no reason to go there.  False where there is none. */
static bool leave_open(struct service *service, struct serving *serving)
{
    const struct margins *margins = &service->finder->margins;
    bool any = false;
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        double end = serving->further[k] < 0 ? knob->low : knob->high;
        bool guards = serving->further[k] < 0 && knob->guarded;
        if (!serving->driven[k] || guards ||
            fabs(service->at.x[k] - end) > AT_END * knob->reach)
            continue;
        any = serving->open[k] = true;
        add_bound(service, serving, k, BOUND_BY_NOTHING, NULL);
    }
    return any;
}

/* As far as rules bound it, in numbers that nobody could set. */
static void go(struct service *service, struct serving *serving)
{
    const struct margins *margins = &service->finder->margins;
    const struct sought before = {copy(service->finder, service->at.x), service->at.least};
    seek_goal(service, serving, &before);
    find_driven(service, serving);
    while (leave_open(service, serving)) {
        struct sought back = {copy(service->finder, before.x), 0};
        for (size_t k = 0; k < margins->knob_count; k++)
            if (serving->open[k])
                back.x[k] = knob_start(&margins->knobs[k], true);
        back.least = seek_ask(&service->finder->margins, back.x);
        seek_goal(service, serving, &back);
        if (service->at.least < SEEK_HOLDS)
            seek_goal(service, serving, &before);
        find_driven(service, serving);
    }
}

/* Its numbers to whole steps, where they stay. */
static bool settle(struct service *service, struct serving *serving)
{
    struct margins *margins = &service->finder->margins;
    const struct stepwise how = {&serving->goal, service->free, serving->driven,
                                 service->enough};
    if (!round_stepwise(margins, &how, &service->at, service->texts))
        return false;
    for (size_t k = 0; k < margins->knob_count; k++)
        service->free[k] &= !serving->driven[k];
    return true;
}

/* One step further, within what it may be, unless that is what keeps persons: a rule may say so
 * as well. */
static double step_further(const struct serving *serving, const struct knob *knob, size_t k,
                           double x)
{
    double further = x + serving->further[k] * knob->step;
    return knob->guarded ? further : fmin(fmax(further, knob->low), knob->high);
}

/* Tells what fails at x: where that can be told from margins, all that exclude each other. */
static void tell_bounds(struct service *service, struct serving *serving, size_t k,
                        const bool *free, const struct sought *at)
{
    struct margins *margins = &service->finder->margins;
    size_t count = 0;
    const struct stake **group = NULL;
    if (at->least < SEEK_HOLDS && at->least > -HUGE_VAL)
        group = conflict_find(margins, free, at->x, &count);
    for (size_t i = 0; i < count; i++)
        add_bound(service, serving, k, BOUND_BY_RULE, group[i]);
    for (size_t i = 0; at->least == -HUGE_VAL && i < margins->stake_count; i++)
        if (stake_breaks(margins, &margins->stakes[i]))
            add_bound(service, serving, k, BOUND_BY_RULE, &margins->stakes[i]);
    if (at->least >= SEEK_HOLDS)
        add_bound(service, serving, k, BOUND_BY_GUARD, NULL);
}

/* Is there another step to go, with the free ones moving along?  Then that is in `found`; else
 * what bounds it is told. */
static bool go_further(struct service *service, struct serving *serving, size_t k,
                       const bool *free, struct sought *found)
{
    struct finder *finder = service->finder;
    struct margins *margins = &finder->margins;
    const struct knob *knob = &margins->knobs[k];
    double *x = copy(finder, service->at.x);
    x[k] = step_further(serving, knob, k, x[k]);
    if (x[k] == service->at.x[k])
        return false;
    seek_greatest(margins, free, x, found);
    bool may = x[k] >= knob->low && x[k] <= knob->high;
    if (may && found->least >= SEEK_HOLDS)
        return true;
    tell_bounds(service, serving, k, free, found);
    return false;
}

/* The number of a wish; `knob_count` where it is none of those that may change. */
static size_t wished_knob(const struct finder *finder, const struct wish *wish)
{
    const struct margins *margins = &finder->margins;
    size_t k = 0;
    while (k < margins->knob_count && (margins->knobs[k].place.field != wish->place.field ||
                                       margins->knobs[k].place.record != wish->place.record))
        k++;
    return k;
}

static void begin_number(struct service *service, const struct wish *wish, size_t k,
                         struct serving *serving)
{
    const struct margins *margins = &service->finder->margins;
    begin(service, serving);
    double *numbers = ARENA_ARRAY(margins->arena, double, margins->knob_count + 1);
    numbers[k] = wish->kind == WISH_LEAST ? 1 : -1;
    serving->goal.numbers = numbers;
}

/* All else as near as can be to what the file has. */
static bool serve_the_rest(struct service *service)
{
    struct serving serving;
    begin(service, &serving);
    serving.goal.changes = service->finder->weights;
    seek_goal(service, &serving, &service->at);
    memcpy(serving.driven, service->free,
           service->finder->margins.knob_count * sizeof *serving.driven);
    return settle(service, &serving);
}

/* To numbers near to what the file has that can be set, or else to `from`; all of them stay
 * free.
 */
static void stay_near(struct service *service, const struct sought *from)
{
    size_t size = service->finder->margins.knob_count * sizeof *service->free;
    bool *free = ARENA_ARRAY(service->finder->margins.arena, bool, size + 1);
    memcpy(free, service->free, size);
    service->at = *from;
    if (!serve_the_rest(service))
        service->at = *from;
    memcpy(service->free, free, size);
}

/* Where nothing bounds it as long as others move along, they stay where they are. */
static bool serve_number(struct service *service, const struct wish *wish, struct granted *out)
{
    struct finder *finder = service->finder;
    size_t k = wished_knob(finder, wish), count = finder->margins.knob_count;
    const struct sought before = {copy(finder, service->at.x), service->at.least};
    bool *free = service->free, *alone = ARENA_ARRAY(finder->margins.arena, bool, count + 1);
    struct serving serving;
    BUG_UNLESS(k < count);
    out->path = finder->out->paths[k];
    if (!free[k])
        return true;
    begin_number(service, wish, k, &serving);
    go(service, &serving);
    if (serving.open[k]) {
        out->alone = alone[k] = true;
        stay_near(service, &before);
        service->free = alone;
        begin_number(service, wish, k, &serving);
        go(service, &serving);
    }
    bool done = settle(service, &serving);
    struct sought further;
    for (int i = 0; done && serving.driven[k] && i < FURTHER_MAX; i++) {
        if (!go_further(service, &serving, k, service->free, &further))
            break;
        service->at = further;
        service->free[k] = true; /* from there as far as it goes */
        seek_goal(service, &serving, &service->at);
        done = settle(service, &serving);
    }
    free[k] &= !serving.driven[k];
    service->free = free;
    out->bounds = serving.bounds.items;
    out->bound_count = serving.bounds.count;
    return done;
}

/* What bounds each number is asked before they are rounded: what that leaves here it takes
 * there. */
static bool serve_time(struct service *service, struct granted *out)
{
    struct finder *finder = service->finder;
    size_t count = finder->margins.knob_count;
    bool *none = ARENA_ARRAY(finder->margins.arena, bool, count + 1);
    struct serving serving;
    begin(service, &serving);
    serving.goal.worked_out = pace_seconds;
    serving.goal.user = &service->pace;
    serving.goal.little = MILLISECOND;
    go(service, &serving);
    for (size_t k = 0; k < count; k++) {
        struct sought further;
        if (serving.driven[k])
            (void)go_further(service, &serving, k, none, &further);
    }
    out->bounds = serving.bounds.items;
    out->bound_count = serving.bounds.count;
    return settle(service, &serving);
}

static void tell_number(struct finder *finder, const struct wish *wish,
                        const struct service *service, struct granted *out)
{
    size_t k = wished_knob(finder, wish);
    const struct knob *knob = &finder->margins.knobs[k];
    out->before = knob->now;
    out->after = service->at.x[k];
    out->before_text =
        quantity_text(finder->margins.arena, knob->now,
                      field_table[knob->place.field].dimension, knob->value->unit);
    out->after_text = service->texts[k] ? service->texts[k] : out->before_text;
}

static void tell_time(struct finder *finder, struct service *service, struct granted *out)
{
    struct arena *arena = finder->margins.arena;
    out->before = pace_seconds(&service->pace, finder->now);
    out->after = pace_seconds(&service->pace, service->at.x);
    out->before_text = arena_format(arena, "%s s", number_rounded(arena, out->before, 1));
    out->after_text = arena_format(arena, "%s s", number_rounded(arena, out->after, 1));
    out->untimed = service->pace.untimed;
    out->by_hand = service->pace.by_hand;
    out->at_most = service->pace.at_most;
}

/* Wishes start from what the file has where everything holds with that, else as near to it as
 * can be. */
static void start_near(struct service *service)
{
    struct finder *finder = service->finder;
    struct margins *margins = &finder->margins;
    struct sought now = {copy(finder, finder->now), 0};
    for (size_t k = 0; k < margins->knob_count; k++)
        now.x[k] = knob_start(&margins->knobs[k], service->free[k]);
    now.least = seek_ask(margins, now.x);
    if (now.least >= SEEK_HOLDS)
        service->at = now;
    else
        seek_nearest(margins, service->free, finder->weights, SEEK_SPARE, &service->at);
}

static void tell_granted(struct finder *finder, struct service *service)
{
    const struct proposal_question *question = finder->question;
    for (size_t i = 0; i < question->wish_count; i++)
        if (question->wishes[i].kind == WISH_FASTEST)
            tell_time(finder, service, &finder->out->granted[i]);
        else
            tell_number(finder, &question->wishes[i], service, &finder->out->granted[i]);
}

static void free_all(struct service *service)
{
    size_t count = service->finder->margins.knob_count;
    memcpy(service->free, service->finder->moves, count * sizeof *service->free);
}

/* All of it from where it stands, with so much margin on the way.  False where not everything
 * holds at the end. */
static bool serve_all(struct service *service, struct granted *out)
{
    struct finder *finder = service->finder;
    const struct proposal_question *question = finder->question;
    struct margins *margins = &finder->margins;
    free_all(service);
    memset(service->texts, 0, margins->knob_count * sizeof *service->texts);
    for (size_t i = 0; i < question->wish_count; i++) {
        const struct wish *wish = &question->wishes[i];
        struct granted *granted = &out[i];
        *granted = (struct granted){.kind = wish->kind};
        if (!(wish->kind == WISH_FASTEST ? serve_time(service, granted)
                                         : serve_number(service, wish, granted)))
            return false;
    }
    return serve_the_rest(service) && seek_ask(margins, service->at.x) >= SEEK_HOLDS;
}

/* Does it go further than the other set, in the first wish in which they differ? */
static bool goes_further(struct service *service, const double *x, const double *other)
{
    const struct finder *finder = service->finder;
    for (size_t i = 0; i < finder->question->wish_count; i++) {
        const struct wish *wish = &finder->question->wishes[i];
        double less, little = MILLISECOND;
        if (wish->kind == WISH_FASTEST) {
            less = pace_seconds(&service->pace, other) - pace_seconds(&service->pace, x);
        } else {
            size_t k = wished_knob(finder, wish);
            less = wish->kind == WISH_LEAST ? other[k] - x[k] : x[k] - other[k];
            little = finder->margins.knobs[k].step / 2;
        }
        if (fabs(less) > little)
            return less > 0;
    }
    return false;
}

/* Where the numbers that nobody wished anything of have come back to what the file has, a
 * wish may go on that had come to an end with them elsewhere: from the set that was found once
 * more, until that goes no further. */
static void repeat(struct service *service)
{
    struct finder *finder = service->finder;
    size_t wishes = finder->question->wish_count, count = finder->margins.knob_count;
    for (int i = 0; i < ROUNDS; i++) {
        const struct sought before = {copy(finder, service->at.x), service->at.least};
        const char **texts = service->texts;
        struct granted *granted =
            ARENA_ARRAY(finder->margins.arena, struct granted, wishes + 1);
        service->texts = ARENA_ARRAY(finder->margins.arena, const char *, count + 1);
        bool further =
            serve_all(service, granted) && goes_further(service, service->at.x, before.x);
        if (further) {
            memcpy(texts, service->texts, count * sizeof *texts);
            finder->out->granted = granted;
        }
        service->texts = texts;
        if (further)
            continue;
        service->at = before;
        return;
    }
}

bool find_wished(struct finder *finder, struct sought *best, const char **texts)
{
    struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    struct service service = {.finder = finder,
                              .free =
                                  ARENA_ARRAY(margins->arena, bool, margins->knob_count + 1),
                              .texts = texts};
    static const double enough[] = {SEEK_NEARLY, SEEK_HOLDS};
    pace_open(&service.pace, margins);
    out->granted_count = finder->question->wish_count;
    out->granted = ARENA_ARRAY(margins->arena, struct granted, out->granted_count + 1);
    for (size_t i = 0; i < sizeof enough / sizeof *enough; i++) {
        service.enough = enough[i];
        service.at = (struct sought){copy(finder, best->x), best->least};
        free_all(&service);
        start_near(&service);
        if (!serve_all(&service, out->granted))
            continue;
        repeat(&service);
        tell_granted(finder, &service);
        *best = service.at;
        return true;
    }
    out->granted_count = 0;
    return false;
}
