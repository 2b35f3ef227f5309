/* Where the sideways moves of a change begin and end. */
#include "motion/internal.h"

bool route_area(struct look *look, enum route_end end, struct plane_rectangle *out)
{
    struct spread x[2], y[2];
    double at[2];
    bool known = true;
    switch (end) {
    case END_START:
        known = look_pair(look, FIELD_WORK_X, 0, x);
        known = look_pair(look, FIELD_WORK_Y, 0, y) && known;
        if (known)
            *out = (struct plane_rectangle){x[0].nominal, x[1].nominal, y[0].nominal,
                                            y[1].nominal};
        return known;
    case END_SETTER:
        known = look_nominal(look, FIELD_SETTER_AT_X, 0, &at[0]);
        known = look_nominal(look, FIELD_SETTER_AT_Y, 0, &at[1]) && known;
        break;
    case END_PARK:
        known = look_nominal(look, FIELD_CHANGE_PARK_X, 0, &at[0]);
        known = look_nominal(look, FIELD_CHANGE_PARK_Y, 0, &at[1]) && known;
        break;
    case END_SPOT:
        return false;
    }
    if (known)
        *out = plane_place(at[0], at[1]);
    return known;
}

/* Is there a place to park at?  Always with the setter; with the plate a machine may be parked,
 * or its cutter is changed where it stands. */
static bool parks(const struct look *look, const struct route *route)
{
    return !route->plate || (route->homes && look_given(look, FIELD_CHANGE_PARK_X, 0) &&
                             look_given(look, FIELD_CHANGE_PARK_Y, 0));
}

bool route_find(struct look *look, struct route *out)
{
    struct route route = {0};
    bool known = look_word(look, FIELD_CHANGE_MEASURES_WITH, "plate", &route.plate);
    known = look_flag(look, FIELD_CHANGE_TOUCHES_OLD, &route.touches_old) && known;
    known = look_flag(look, FIELD_CHANGE_RETURNS_TO_START, &route.returns) && known;
    known = look_homes(look, &route.homes) && known;
    if (!known)
        return false;
    enum route_end measuring = route.plate ? END_SPOT : END_SETTER;
    route.ends[route.count++] = END_START;
    if (route.touches_old)
        route.ends[route.count++] = measuring;
    if (parks(look, &route))
        route.ends[route.count++] = END_PARK;
    route.ends[route.count++] = measuring;
    if (route.returns)
        route.ends[route.count++] = END_START;
    *out = route;
    return true;
}

bool route_has(const struct route *route, enum route_end end)
{
    for (uint32_t i = 0; i < route->count; i++)
        if (route->ends[i] == end)
            return true;
    return false;
}
