/* The bodies that hang on the spindle: the cutter and its shank, the collet nut, a dust shoe,
 * and whatever else is attached.
 */
#include "motion/internal_bodies.h"

#include "base/bug.h"
#include "quantity/exact.h"

/*      |   |                         |   |
 *    __|   |__                     __|   |__
 *   |__|   |__| shoe              |__|   |__| nose - below_nose
 *      |_ _| . . nose, as told       |_ _| . . tip + true stick-out of the shortest
 *       | |  . . tip + flute length   | |
 *       |_|  . . nose - true          |_|  . . tip, where the setter trips
 *                stick-out          ==|_|== setter
 *
 *      POSE_NOSE, POSE_APPROACH      POSE_TIP
 */
struct heights {
    bool nose_known, tip_known;
    struct spread nose, tip;
};

static void heights_of(struct look *look, const struct pose *pose, uint32_t cutter,
                       struct heights *out)
{
    struct spread length = {0, 0, 0};
    double z;
    bool known = look_true_stickout(look, cutter, &length);
    *out = (struct heights){.nose = pose->height, .tip = pose->height};
    switch (pose->kind) {
    case POSE_TIP:
        out->tip_known = true;
        out->nose_known = known;
        out->nose = spread_add(out->tip, length);
        return;
    case POSE_NOSE:
        out->nose_known = true;
        break;
    case POSE_APPROACH:
        out->nose_known = look_approach_nose(look, cutter, &z);
        out->nose_known = out->nose_known && look_height(look, z, &out->nose);
        break;
    }
    out->tip_known = out->nose_known && known;
    out->tip = spread_subtract(out->nose, length);
}

/* The parts of cutters of which none is at least as low and at least as wide as another, from
 * the narrowest and lowest to the widest and highest.  Of more than FRONT_PARTS two neighbours
 * are taken together, as low as the one and as wide as the other. */
enum { FRONT_PARTS = 24 };

struct front {
    uint32_t count;
    struct clearance_part parts[FRONT_PARTS + 1];
};

/* Takes the two neighbours together that lose least by it. */
static void join_nearest(struct front *front)
{
    struct clearance_part *parts = front->parts;
    uint32_t best = 0;
    double least = INFINITY;
    for (uint32_t i = 0; i + 1 < front->count; i++) {
        double wider = parts[i + 1].radius.high - parts[i].radius.high;
        double higher = parts[i + 1].underside.low - parts[i].underside.low;
        if (fmax(wider, higher) < least) {
            least = fmax(wider, higher);
            best = i;
        }
    }
    parts[best].radius = parts[best + 1].radius;
    parts[best].width_of = parts[best + 1].width_of;
    parts[best].width_field = parts[best + 1].width_field;
    front->count--;
    for (uint32_t i = best + 1; i < front->count; i++)
        parts[i] = parts[i + 1];
}

static void front_add(struct front *front, const struct clearance_part *part)
{
    struct clearance_part *parts = front->parts;
    uint32_t at = 0;
    while (at < front->count && parts[at].radius.high < part->radius.high)
        at++;
    if (at < front->count && parts[at].underside.low <= part->underside.low)
        return;
    uint32_t from = at, to = at;
    while (from > 0 && parts[from - 1].underside.low >= part->underside.low)
        from--;
    while (to < front->count && parts[to].radius.high <= part->radius.high)
        to++;
    if (from == to) {
        for (uint32_t i = front->count++; i > from; i--)
            parts[i] = parts[i - 1];
    } else {
        uint32_t gone = to - from - 1;
        front->count -= gone;
        for (uint32_t i = from + 1; gone && i < front->count; i++)
            parts[i] = parts[i + gone];
    }
    parts[from] = *part;
    if (front->count > FRONT_PARTS)
        join_nearest(front);
}

/* What is being put together. */
struct gather {
    struct look *look;
    const struct pose *pose;
    struct clearance_spindle *out;
    struct front front;
    struct field_uses lengths, widths, shanks;
    bool has_nose;
    struct spread nose; /* the lowest */
    uint32_t nose_of;   /* the cutter that lets it come so low */
};

static void add_part(struct gather *gather, enum clearance_body body, uint32_t cutter,
                     struct spread radius, struct spread underside)
{
    const struct clearance_part part = {
        .body = body,
        .radius = radius,
        .underside = underside,
        .length_of = cutter,
        .width_of = cutter,
        .width_field = body == BODY_SHANK ? FIELD_CUTTER_SHANK : FIELD_CUTTER_DIAMETER,
    };
    front_add(&gather->front, &part);
}

/* A shank no thicker than the edge is hidden above it.  Where the edge is not known that is
 * what is wanted first. */
static void gather_cutter(struct gather *gather, uint32_t cutter)
{
    const struct machine *machine = gather->look->machine;
    struct look lengths = look_first_missing(machine, &gather->lengths);
    struct look widths = look_first_missing(machine, &gather->widths);
    struct look shanks = look_first_missing(machine, &gather->shanks);
    struct spread radius = {0, 0, 0}, shank = {0, 0, 0}, flutes;
    struct heights heights;
    heights_of(&lengths, gather->pose, cutter, &heights);
    bool wide = look_radius(&widths, FIELD_CUTTER_DIAMETER, cutter, &radius);
    bool thick = look_radius(&shanks, FIELD_CUTTER_SHANK, cutter, &shank);
    bool shows = thick && shank.high > radius.high &&
                 (wide || look_given(&shanks, FIELD_CUTTER_FLUTE_LENGTH, cutter));
    gather->out->whole = gather->out->whole && heights.tip_known && wide && thick;
    if (heights.tip_known && wide)
        add_part(gather, BODY_CUTTER, cutter, radius, heights.tip);
    if (heights.tip_known && shows) {
        if (look_spread(&shanks, FIELD_CUTTER_FLUTE_LENGTH, cutter, &flutes))
            add_part(gather, BODY_SHANK, cutter, shank, spread_add(heights.tip, flutes));
        else
            gather->out->whole = false;
    }
    if (heights.nose_known && (!gather->has_nose || heights.nose.low < gather->nose.low)) {
        gather->has_nose = true;
        gather->nose = heights.nose;
        gather->nose_of = gather->pose->kind == POSE_NOSE ? RECORD_NONE : cutter;
    }
}

static void gather_cutters(struct gather *gather, const struct cutter_range *range)
{
    if (gather->pose->kind == POSE_NOSE) {
        gather->has_nose = true;
        gather->nose = gather->pose->height;
    }
    for (uint32_t i = 0; i < range->count; i++)
        gather_cutter(gather, range->first + i);
    if (gather->look->machine->groups[GROUP_CUTTER].wrong && range->count > 1) {
        miss_list(&gather->lengths, FIELD_CUTTER_STICKOUT);
        miss_list(&gather->widths, FIELD_CUTTER_DIAMETER);
        gather->out->whole = false;
    }
    struct field_uses *missing = gather->look->missing;
    if (!missing)
        return;
    field_uses_join(missing, &gather->lengths, false);
    field_uses_join(missing, &gather->widths, false);
    field_uses_join(missing, &gather->shanks, false);
}

/* Hangs a body at a height above the nose. */
static void hang(struct gather *gather, struct clearance_part *part, struct spread above)
{
    struct clearance_spindle *bodies = gather->out;
    BUG_UNLESS(bodies->count < CLEARANCE_PARTS);
    if (!gather->has_nose) {
        gather->out->whole = false;
        return;
    }
    part->underside = spread_add(gather->nose, above);
    part->length_of = gather->nose_of;
    bodies->parts[bodies->count++] = *part;
}

static void hang_nut(struct gather *gather)
{
    struct clearance_part nut = {.body = BODY_NUT, .width_of = RECORD_NONE};
    if (look_radius(gather->look, FIELD_SPINDLE_NUT_DIAMETER, 0, &nut.radius))
        hang(gather, &nut, spread_exact(0));
    else
        gather->out->whole = false;
}

/* Does a dust shoe stay on?  One that is described and not said to be taken off does. */
static bool has_shoe(struct look *look, bool *known)
{
    bool removed = false;
    *known = true;
    if (!look_given(look, FIELD_SPINDLE_SHOE_DIAMETER, 0) &&
        !look_given(look, FIELD_SPINDLE_SHOE_BELOW_NOSE, 0))
        return false;
    if (look_given(look, FIELD_SPINDLE_SHOE_REMOVED, 0))
        *known = look_flag(look, FIELD_SPINDLE_SHOE_REMOVED, &removed);
    return *known && !removed;
}

static void hang_shoe(struct gather *gather)
{
    struct clearance_part shoe = {.body = BODY_SHOE, .width_of = RECORD_NONE};
    struct spread below = {0, 0, 0};
    bool known;
    bool on = has_shoe(gather->look, &known);
    gather->out->whole = gather->out->whole && known;
    if (!on)
        return;
    known = look_radius(gather->look, FIELD_SPINDLE_SHOE_DIAMETER, 0, &shoe.radius);
    known = look_spread(gather->look, FIELD_SPINDLE_SHOE_BELOW_NOSE, 0, &below) && known;
    if (known)
        hang(gather, &shoe, spread_subtract(spread_exact(0), below));
    else
        gather->out->whole = false;
}

static bool read_attachment(struct look *look, uint32_t record, struct clearance_part *out,
                            struct spread *above)
{
    struct spread x = {0, 0, 0}, y = {0, 0, 0};
    bool known = look_spread(look, FIELD_ATTACHMENT_X, record, &x);
    known = look_spread(look, FIELD_ATTACHMENT_Y, record, &y) && known;
    known = look_radius(look, FIELD_ATTACHMENT_DIAMETER, record, &out->radius) && known;
    known = look_spread(look, FIELD_ATTACHMENT_ABOVE_NOSE, record, above) && known;
    out->body = BODY_ATTACHMENT;
    out->width_of = record;
    out->beside = (struct plane_point){x.nominal, y.nominal};
    double astray = exact_hypot(x.high - x.nominal, y.high - y.nominal);
    out->radius = spread_add(out->radius, spread_with(0, astray));
    return known;
}

static void hang_attachments(struct gather *gather)
{
    const struct machine_group *group = &gather->look->machine->groups[GROUP_ATTACHMENT];
    struct field_uses too_many;
    too_many.count = 0;
    for (uint32_t i = 0; i < group->count; i++) {
        struct clearance_part part = {.body = BODY_ATTACHMENT};
        struct spread above;
        struct field_use use = {.field = FIELD_ATTACHMENT_DIAMETER, .record = i};
        if (gather->out->count == CLEARANCE_PARTS)
            field_uses_add(&too_many, &use);
        else if (read_attachment(gather->look, i, &part, &above))
            hang(gather, &part, above);
        else
            gather->out->whole = false;
    }
    if (group->wrong)
        miss_list(&too_many, FIELD_ATTACHMENT_DIAMETER);
    gather->out->whole = gather->out->whole && !too_many.count;
    if (gather->look->missing)
        field_uses_join(gather->look->missing, &too_many, false);
}

void spindle_hang(struct look *look, const struct cutter_range *range, const struct pose *pose,
                  struct clearance_spindle *out)
{
    struct gather gather;
    gather.look = look;
    gather.pose = pose;
    gather.out = out;
    gather.front.count = 0;
    gather.lengths.count = gather.widths.count = gather.shanks.count = 0;
    gather.has_nose = false;
    gather.nose_of = RECORD_NONE;
    out->count = 0;
    out->whole = true;
    gather_cutters(&gather, range);
    for (uint32_t i = 0; i < gather.front.count; i++)
        out->parts[out->count++] = gather.front.parts[i];
    hang_nut(&gather);
    hang_shoe(&gather);
    hang_attachments(&gather);
}

void spindle_part_reads(struct look *look, const struct pose *pose,
                        const struct clearance_part *part)
{
    struct heights heights;
    struct clearance_part again = {.body = part->body};
    struct spread value;
    bool known = true, on;
    if (part->length_of != RECORD_NONE && (pose->kind != POSE_TIP || part->body >= BODY_NUT))
        heights_of(look, pose, part->length_of, &heights);
    switch (part->body) {
    case BODY_SHANK:
        known = look_spread(look, FIELD_CUTTER_FLUTE_LENGTH, part->length_of, &value);
        BUG_UNLESS(known);
        known = look_radius(look, (enum field_id)part->width_field, part->width_of, &value);
        break;
    case BODY_CUTTER:
        known = look_radius(look, (enum field_id)part->width_field, part->width_of, &value);
        break;
    case BODY_NUT:
        known = look_radius(look, FIELD_SPINDLE_NUT_DIAMETER, 0, &value);
        break;
    case BODY_SHOE:
        on = has_shoe(look, &known);
        known = on && look_radius(look, FIELD_SPINDLE_SHOE_DIAMETER, 0, &value) &&
                look_spread(look, FIELD_SPINDLE_SHOE_BELOW_NOSE, 0, &value);
        break;
    case BODY_ATTACHMENT:
        known = read_attachment(look, part->width_of, &again, &value);
        break;
    case BODY_GANTRY:
    case BODY_SETTER:
    case BODY_COUNT:
        BUG("no part of the spindle");
    }
    BUG_UNLESS(known);
}

void spindle_others_read(struct look *look)
{
    struct spread value;
    bool known, removed;
    if (look_given(look, FIELD_SPINDLE_NUT_DIAMETER, 0))
        known = look_spread(look, FIELD_SPINDLE_NUT_DIAMETER, 0, &value);
    if (has_shoe(look, &known))
        known = look_given(look, FIELD_SPINDLE_SHOE_DIAMETER, 0) &&
                look_radius(look, FIELD_SPINDLE_SHOE_DIAMETER, 0, &value);
    else if (look_given(look, FIELD_SPINDLE_SHOE_REMOVED, 0))
        known = look_flag(look, FIELD_SPINDLE_SHOE_REMOVED, &removed);
    (void)known;
}
