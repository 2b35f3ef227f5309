/* One cutter, two machines: a number that was measured again is to be the same for both. */
#include "rules/check.h"

#include <math.h>

#include "text/escape.h"

enum { NAME_CELLS = 40 };

static const double same = 1e-9; /* metres: what writing it in another unit may change */

static const enum field_id compared[] = {FIELD_CUTTER_STICKOUT, FIELD_CUTTER_SHANK};

static const struct field_value *given(const struct machine *machine, enum field_id field,
                                       uint32_t record)
{
    const struct field_value *value = machine_field(machine, field, record);
    return value->state == VALUE_GIVEN && value->node ? value : NULL;
}

/* Has that been said already? */
static bool is_said(const struct shared_cutters *said, double number, enum field_id field,
                    double si)
{
    for (size_t i = 0; i < said->items.count; i++) {
        const struct shared_cutter *other = &said->items.items[i];
        if (other->field == field && other->number == number && other->si == si)
            return true;
    }
    return false;
}

void share_gather(struct arena *arena, const struct machine *machine, struct source *source,
                  struct shared_cutters *out)
{
    for (uint32_t i = 0; i < machine->groups[GROUP_CUTTER].count; i++)
        for (size_t k = 0; k < sizeof compared / sizeof *compared; k++) {
            const struct field_value *number = given(machine, FIELD_CUTTER_NUMBER, i);
            const struct field_value *value = given(machine, compared[k], i);
            if (!number || !value || is_said(out, number->si, compared[k], value->si))
                continue;
            struct span span = value->node->span;
            struct source *own = source_holding(source, &span);
            struct place place = source_place(own, span.start, COLUMN_CODE_POINTS);
            struct shared_cutter cutter = {
                .number = number->si,
                .field = compared[k],
                .si = value->si,
                .text = field_value_text(arena, compared[k], value),
                .where =
                    arena_format(arena, "%s:%u:%u", escape_short(arena, own->name, NAME_CELLS),
                                 place.line, place.column),
            };
            VECTOR_ADD(arena, &out->items, cutter);
        }
}

/* What a machine says of one cutter, and the first of the others that says something else. */
struct parting {
    const struct field_value *number, *value;
    const struct shared_cutter *other;
};

/* False: none says anything else, or the machine says nothing. */
static bool find_parting(const struct machine *machine, uint32_t record, enum field_id field,
                         const struct shared_cutters *others, struct parting *out)
{
    const struct field_value *number = given(machine, FIELD_CUTTER_NUMBER, record);
    const struct field_value *value = given(machine, field, record);
    for (size_t i = 0; number && value && i < others->items.count; i++) {
        const struct shared_cutter *other = &others->items.items[i];
        if (other->field == field && other->number == number->si &&
            fabs(other->si - value->si) > same) {
            *out = (struct parting){number, value, other};
            return true;
        }
    }
    return false;
}

void share_differing(struct arena *arena, const struct machine *machine,
                     const struct shared_cutters *others, struct shared_cutters *out)
{
    struct parting parting;
    for (uint32_t i = 0; i < machine->groups[GROUP_CUTTER].count; i++)
        for (size_t k = 0; k < sizeof compared / sizeof *compared; k++)
            if (find_parting(machine, i, compared[k], others, &parting))
                VECTOR_ADD(arena, &out->items, *parting.other);
}

static void report(struct arena *arena, const char *path, enum field_id field,
                   const struct parting *parting, struct finding_sink *sink)
{
    struct finding *finding =
        sink_report(sink, READER_SHARED_CUTTER_DIFFERS, parting->value->node->span, path,
                    "cutter %s %s %s here, but %s at %s",
                    field_value_text(arena, FIELD_CUTTER_NUMBER, parting->number),
                    field == FIELD_CUTTER_SHANK ? "has a shank of" : "sticks out",
                    field_value_text(arena, field, parting->value), parting->other->text,
                    parting->other->where);
    if (finding)
        finding->hurts = HURTS_MACHINE;
}

void share_check(struct arena *arena, const struct machine *machine, struct finding_sink *sink,
                 const struct shared_cutters *others)
{
    struct parting parting;
    for (uint32_t i = 0; i < machine->groups[GROUP_CUTTER].count; i++)
        for (size_t k = 0; k < sizeof compared / sizeof *compared; k++)
            if (find_parting(machine, i, compared[k], others, &parting))
                report(arena, machine_path(arena, machine, compared[k], i, 0), compared[k],
                       &parting, sink);
}
