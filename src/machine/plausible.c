/* Numbers that are like no machine's: remarks, never errors.
 *
 * What lies outside the plausible range of its field is asked about.  Where the same number in
 * another usual unit would lie inside, that unit is named: inches for millimetres, seconds for
 * milliseconds, per minute for per second.
 */
#include "machine/internal.h"

#include "quantity/quantity.h"
#include "text/escape.h"

#include <math.h>

/* Pairs of positions say little by themselves; how far apart the two are says more. */
static const struct extent {
    enum field_id id;
    int record; /* -1: any */
    double low, high;
} extents[] = {
    {FIELD_AXIS_TRAVEL, 0, 0.06, 8}, {FIELD_AXIS_TRAVEL, 1, 0.06, 8},
    {FIELD_AXIS_TRAVEL, 2, 0.02, 2}, {FIELD_TABLE_X, -1, 0.06, 10},
    {FIELD_TABLE_Y, -1, 0.06, 10},   {FIELD_WORK_X, -1, 0.03, 10},
    {FIELD_WORK_Y, -1, 0.03, 10},
};

/* Slips of the unit, the likelier first. */
static const struct slip {
    double factor;
    enum reader_finding name;
    bool time, other; /* of times; of anything else */
} slips[] = {
    {25.4, READER_LOOKS_LIKE_INCHES, false, true},  {60, READER_IMPLAUSIBLE, true, true},
    {1000, READER_LOOKS_LIKE_SECONDS, true, false}, {1000, READER_IMPLAUSIBLE, false, true},
    {3600, READER_IMPLAUSIBLE, false, true},        {100, READER_IMPLAUSIBLE, false, true},
};

enum { UNITS_MOST = 64 };

/* A hair of room, since 0.8 mm need not read back as 0.0008. */
static bool is_within(double si, struct usual_range range)
{
    double room = 1e-9 * fabs(si);
    return !(si < range.low - room) && !(si > range.high + room);
}

/* Does somebody who means `meant` write `written` by this slip? */
static bool is_slip(const struct slip *slip, unit_id written, unit_id meant,
                    struct dimension wanted)
{
    bool time = dimension_equal(wanted, DIMENSION_TIME);
    /* Nobody counts millimetres per millisecond. */
    bool ratio_of_two = wanted.length && wanted.time;
    if (unit_text(meant)[0] == 'u')
        return false; /* nor writes millimetres for micrometres */
    if (!(time ? slip->time : slip->other) || (ratio_of_two && slip->factor == 1000))
        return false;
    double ratio = unit_to_si(meant, wanted, 1) / unit_to_si(written, wanted, 1);
    return fabs(ratio / slip->factor - 1) < 1e-9 || fabs(ratio * slip->factor - 1) < 1e-9;
}

/* The unit in which the same number would be plausible, and the remark that it calls for. */
static unit_id meant_unit(struct dimension wanted, unit_id written, double number,
                          struct usual_range range, enum reader_finding *name)
{
    unit_id units[UNITS_MOST];
    size_t count = unit_choices(wanted, units, UNITS_MOST - 1);
    if (count > UNITS_MOST - 1)
        count = UNITS_MOST - 1;
    if (dimension_is_none(wanted))
        units[count++] = UNIT_BARE;
    for (size_t s = 0; s < sizeof slips / sizeof slips[0]; s++) {
        for (size_t i = 0; i < count; i++) {
            if (is_slip(&slips[s], written, units[i], wanted) &&
                is_within(unit_to_si(units[i], wanted, number), range)) {
                *name = slips[s].name;
                return units[i];
            }
        }
    }
    return UNIT_UNKNOWN;
}

static const char *with_unit(struct arena *arena, double number, int digits, unit_id unit)
{
    const char *text = number_plain(arena, number, digits);
    return unit == UNIT_BARE ? text : arena_format(arena, "%s %s", text, unit_text(unit));
}

/* "usually 60 mm to 8000 mm", in the unit that was written. */
static const char *usual_text(struct arena *arena, struct dimension wanted, unit_id unit,
                              struct usual_range range)
{
    const char *low = isnan(range.low)
                          ? NULL
                          : with_unit(arena, unit_from_si(unit, wanted, range.low), 3, unit);
    const char *high = isnan(range.high)
                           ? NULL
                           : with_unit(arena, unit_from_si(unit, wanted, range.high), 3, unit);
    if (low && high)
        return arena_format(arena, "%s to %s", low, high);
    return low ? arena_format(arena, "%s or more", low)
               : arena_format(arena, "%s or less", high);
}

static void remark(struct value_reader *r, const struct item *item, double si, unit_id unit,
                   struct usual_range range, const char *of)
{
    static const int digits = 9;
    if (machine_only_counts(r, item, READER_IMPLAUSIBLE))
        return;
    struct arena *arena = r->arena;
    struct dimension wanted = field_table[r->id].dimension;
    double number = unit_from_si(unit, wanted, si);
    const char *found = with_unit(arena, number, digits, unit);
    const char *path = machine_path(arena, r->reader->machine, r->id, r->record, 0);
    const char *name = escape_short(arena, view_of(path), NAME_CELLS);
    const char *usual = usual_text(arena, wanted, unit, range);
    enum reader_finding finding = READER_IMPLAUSIBLE;
    unit_id meant = meant_unit(wanted, unit, number, range, &finding);
    if (r->quiet == (int)finding)
        return;
    r->last = (int)finding;
    if (meant == UNIT_UNKNOWN) {
        machine_tell(
            r, item, finding, NULL,
            arena_format(arena, "%s%s is unusual; %s is mostly %s", found, of, name, usual));
        return;
    }
    const char *other = with_unit(arena, number, digits, meant);
    machine_tell(r, item, finding, arena_format(arena, "is it %s?", other),
                 arena_format(arena, "%s%s looks like %s; %s is mostly %s", found, of, other,
                              name, usual));
}

static struct usual_range range_of(const struct field *field)
{
    return (struct usual_range){field->plausible_low, field->plausible_high};
}

/* How far apart the two of a pair may usually be; false where nobody minds. */
static bool extent_of(enum field_id id, uint32_t record, struct usual_range *out)
{
    for (size_t i = 0; i < sizeof extents / sizeof extents[0]; i++) {
        const struct extent *extent = &extents[i];
        if (extent->id == id && (extent->record < 0 || (uint32_t)extent->record == record)) {
            *out = (struct usual_range){extent->low, extent->high};
            return true;
        }
    }
    return false;
}

/* fmax and fmin pass over what is NAN. */
struct usual_range machine_usual_range(const struct machine *machine, enum field_id id,
                                       uint32_t record, uint8_t part)
{
    struct usual_range range = range_of(&field_table[id]), extent;
    if (!field_is_signed(id))
        range.low = fmax(range.low, 0);
    if (!part)
        return range;
    const struct field_value *pair = machine_field(machine, id, record)->pair;
    double low = pair[0].si, high = pair[1].si;
    bool bound = extent_of(id, record, &extent);
    if (part == 1) {
        range.high = fmin(range.high, bound ? high - extent.low : high);
        range.low = bound ? fmax(range.low, high - extent.high) : range.low;
    } else {
        range.low = fmax(range.low, bound ? low + extent.low : low);
        range.high = bound ? fmin(range.high, low + extent.high) : range.high;
    }
    return range;
}

void machine_judge_number(struct value_reader *r, const struct item *item,
                          const struct field_value *value)
{
    struct usual_range range = range_of(&field_table[r->id]);
    if (r->reader && !is_within(value->si, range))
        remark(r, item, value->si, value->unit, range, "");
}

void machine_judge_extent(struct value_reader *r, const struct field_value *value)
{
    double size = value->pair[1].si - value->pair[0].si;
    struct usual_range range;
    /* Where one of the two has had its remark, this would be the same again. */
    if (r->reader && r->last < 0 && extent_of(r->id, r->record, &range) &&
        !is_within(size, range))
        remark(r, NULL, size, value->pair[1].unit, range, " from low to high");
}
