/* What a proposal says of its numbers, and of the margins that they move. */
#include <math.h>
#include <stdlib.h>

#include "propose/internal.h"
#include "quantity/quantity.h"

enum { TIGHT_SHOWN = 3 /* margins beside those that failed */ };

void tell_name(struct finder *finder, const struct stake *stake, struct excluded *out)
{
    struct finding bare;
    describe_bare(&finder->describer, &stake->instance, &bare);
    *out = (struct excluded){stake->instance, bare.rule, bare.subject, NULL};
}

/* What would fail, or have the least margin, with this one number as the file has it. */
static void give_reason(struct finder *finder, const struct sought *found, size_t k,
                        struct proposed *out)
{
    const struct stake *worst;
    double kept = found->x[k];
    found->x[k] = finder->now[k];
    margins_ask(&finder->margins, found->x);
    double least = margins_least(&finder->margins, &worst);
    found->x[k] = kept;
    if (!worst || least >= found->least)
        return;
    out->fails = least < 0;
    struct excluded reason;
    tell_name(finder, worst, &reason);
    out->rule = reason.rule;
    out->subject = reason.subject;
}

void tell_set(struct finder *finder, const struct sought *found, const char *const *texts,
              struct proposed_set *out)
{
    struct margins *margins = &finder->margins;
    struct arena *arena = margins->arena;
    const struct machine *machine = finder->question->machine;
    *out = (struct proposed_set){
        .least = margins_least_at(&finder->margins, finder->still, found->x)};
    out->items = ARENA_ARRAY(arena, struct proposed, margins->knob_count + 1);
    for (size_t k = 0; k < margins->knob_count; k++) {
        const struct knob *knob = &margins->knobs[k];
        if (!texts[k] || found->x[k] == knob->now)
            continue;
        struct proposed *item = &out->items[out->count++];
        *item = (struct proposed){
            .place = knob->place, .now = knob->now, .si = found->x[k], .text = texts[k]};
        item->path = machine_path(arena, machine, knob->place.field, knob->place.record, 0);
        item->lasting = machine_lasting_path(arena, machine, item->path);
        item->given =
            machine_field(machine, knob->place.field, knob->place.record)->state == VALUE_GIVEN;
        item->now_text = quantity_text(
            arena, knob->now, field_table[knob->place.field].dimension, knob->value->unit);
        give_reason(finder, found, k, item);
    }
}

/* Margins before and after. */

struct tight {
    size_t stake;
    double tightness;
};

static int compare_tight(const void *a, const void *b)
{
    const struct tight *x = a, *y = b;
    if (x->tightness != y->tightness)
        return x->tightness < y->tightness ? -1 : 1;
    return (x->stake > y->stake) - (x->stake < y->stake);
}

static void add_margin(struct finder *finder, size_t i)
{
    struct arena *arena = finder->margins.arena;
    const struct stake *before = &finder->before[i], *after = &finder->margins.stakes[i];
    struct proposed_margin *out = &finder->out->margins[finder->out->margin_count++];
    struct finding bare;
    describe_bare(&finder->describer, &after->instance, &bare);
    unit_id unit = describe_unit(&finder->describer, &after->instance);
    *out = (struct proposed_margin){.rule = bare.rule,
                                    .subject = bare.subject,
                                    .dimension = bare.dimension,
                                    .known_before = before->counts,
                                    .known_after = after->counts,
                                    .before = before->margin,
                                    .after = after->margin,
                                    .scale = after->scale};
    if (before->counts)
        out->before_text = quantity_text(arena, before->margin, bare.dimension, unit);
    if (after->counts)
        out->after_text = quantity_text(arena, after->margin, bare.dimension, unit);
}

void tell_margins(struct finder *finder, const double *x)
{
    struct margins *margins = &finder->margins;
    struct tight *tight = ARENA_ARRAY(margins->arena, struct tight, margins->stake_count + 1);
    size_t count = 0;
    margins_ask(margins, x);
    finder->out->margins =
        ARENA_ARRAY(margins->arena, struct proposed_margin, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++)
        if (finder->before[i].fails && !finder->before[i].ignored)
            add_margin(finder, i);
        else if (margins->stakes[i].counts && !margins->stakes[i].ignored)
            tight[count++] = (struct tight){i, stake_part(&margins->stakes[i])};
    qsort(tight, count, sizeof *tight, compare_tight);
    for (size_t i = 0; i < count && i < TIGHT_SHOWN; i++)
        add_margin(finder, tight[i].stake);
}

void tell_scales(struct finder *finder)
{
    const struct margins *margins = &finder->margins;
    struct proposal *out = finder->out;
    out->scales = ARENA_ARRAY(margins->arena, struct measured_by, margins->stake_count + 1);
    for (size_t i = 0; i < margins->stake_count; i++) {
        const struct stake *stake = &margins->stakes[i];
        struct excluded name;
        if (!(stake->scale > 0) || stake->ignored)
            continue;
        tell_name(finder, stake, &name);
        out->scales[out->scale_count++] = (struct measured_by){
            name.rule, name.subject, stake->instance.requirement, stake->scale};
    }
}
