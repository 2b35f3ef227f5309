/* The bodies that hang on the spindle: cutter, collet nut, dust shoe. */
#include "motion/internal.h"

static void put(struct spindle *out, enum clearance_body body, struct spread radius,
                struct spread underside)
{
    out->bodies.bodies[body].there = true;
    out->bodies.bodies[body].radius = radius;
    out->bodies.bodies[body].underside = underside;
}

/* The radius of the widest cutter; what could not be compared with it is missing. */
static bool cutter_radius(struct look *look, const struct cutter_extremes *who,
                          struct spread *out)
{
    if (look->missing)
        field_uses_join(look->missing, &who->widths_missing, false);
    return who->widest != RECORD_NONE &&
           look_radius(look, FIELD_CUTTER_DIAMETER, who->widest, out);
}

static bool cutter_length(struct look *look, const struct cutter_extremes *who, uint32_t record,
                          struct spread *out)
{
    if (look->missing)
        field_uses_join(look->missing, &who->lengths_missing, false);
    return record != RECORD_NONE && look_true_stickout(look, record, out);
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

static void hang_nut(struct look *look, struct spread nose, struct spindle *out)
{
    struct spread radius;
    look->read = &out->read[BODY_NUT];
    if (look_radius(look, FIELD_SPINDLE_NUT_DIAMETER, 0, &radius))
        put(out, BODY_NUT, radius, nose);
    else
        out->whole = false;
}

static void hang_shoe(struct look *look, struct spread nose, struct spindle *out)
{
    struct spread radius, below;
    bool known;
    look->read = &out->read[BODY_SHOE];
    bool on = has_shoe(look, &known);
    out->whole = out->whole && known;
    if (!on)
        return;
    known = look_radius(look, FIELD_SPINDLE_SHOE_DIAMETER, 0, &radius);
    known = look_spread(look, FIELD_SPINDLE_SHOE_BELOW_NOSE, 0, &below) && known;
    if (known)
        put(out, BODY_SHOE, radius, spread_subtract(nose, below));
    else
        out->whole = false;
}

/*      |   |                         |   |
 *    __|   |__                     __|   |__
 *   |__|   |__| shoe              |__|   |__| nose - below_nose
 *      |_ _| . . nose, as told       |_ _| . . tip + true stick-out of the shortest
 *       |_|  . . nose - true          |_|  . . tip, where the setter trips
 *                stick-out of       ==|_|== setter
 *                the longest
 *      passing                       touching
 */
void spindle_passing(struct look *look, const struct cutter_extremes *who, struct spread nose,
                     struct spindle *out)
{
    struct field_uses *read = look->read;
    struct spread radius, length;
    *out = (struct spindle){0};
    look->read = &out->read[BODY_CUTTER];
    bool known = cutter_length(look, who, who->longest, &length);
    known = cutter_radius(look, who, &radius) && known;
    if (known)
        put(out, BODY_CUTTER, radius, spread_subtract(nose, length));
    out->whole = known;
    hang_nut(look, nose, out);
    hang_shoe(look, nose, out);
    look->read = read;
}

void spindle_touching(struct look *look, const struct cutter_extremes *who, struct spread tip,
                      struct spindle *out)
{
    struct field_uses *read = look->read, lengths = {0};
    struct spread radius, length;
    *out = (struct spindle){0};
    look->read = &out->read[BODY_CUTTER];
    out->whole = cutter_radius(look, who, &radius);
    if (out->whole)
        put(out, BODY_CUTTER, radius, tip);
    look->read = &lengths;
    if (cutter_length(look, who, who->shortest, &length)) {
        struct spread nose = spread_add(tip, length);
        hang_nut(look, nose, out);
        hang_shoe(look, nose, out);
        field_uses_join(&out->read[BODY_NUT], &lengths, false);
        field_uses_join(&out->read[BODY_SHOE], &lengths, false);
    } else {
        out->whole = false;
    }
    look->read = read;
}
