#include "motion/turns.h"

#include "motion/internal.h"

/* An area of the plan, and how far it goes along while the number goes a metre on. */
struct mover {
    struct plane_rectangle area;
    double pace;
};

/* A way between two areas, and a thing that it may come near. */
struct meeting {
    struct mover ends[2], thing;
    double least; /* distance, and how far the number is moved for it */
    double at;
};

/* One number being moved.  Plans are turned so that it is an X. */
struct survey {
    struct look look;
    bool turned;
    enum route_end end;  /* that moves with it; END_SPOT: none */
    uint32_t attachment; /* that does; RECORD_NONE: none */
    double start;        /* the number as it is */
    void (*tell)(void *user, double at);
    void *user;
};

static uint32_t corner_count(const struct mover *mover)
{
    const struct plane_rectangle *area = &mover->area;
    return area->x_low == area->x_high && area->y_low == area->y_high ? 1 : 4;
}

/* A corner after the number has moved. */
static struct plane_point corner(const struct mover *mover, uint32_t i, double by)
{
    const struct plane_rectangle *area = &mover->area;
    return (struct plane_point){(i & 1 ? area->x_high : area->x_low) + mover->pace * by,
                                i & 2 ? area->y_high : area->y_low};
}

static struct plane_rectangle moved(const struct mover *mover, double by)
{
    struct plane_rectangle area = mover->area;
    area.x_low += mover->pace * by;
    area.x_high += mover->pace * by;
    return area;
}

static void try_at(struct meeting *meeting, double by)
{
    if (!isfinite(by))
        return;
    const struct plane_rectangle from = moved(&meeting->ends[0], by);
    const struct plane_rectangle to = moved(&meeting->ends[1], by);
    const struct plane_rectangle thing = moved(&meeting->thing, by);
    struct plane_hull path;
    plane_sweep(&path, &from, &to);
    double distance = plane_hull_to_rectangle(&path, &thing);
    if (distance >= meeting->least)
        return;
    meeting->least = distance;
    meeting->at = by;
}

/* Where a corner of the thing has a corner of an end straight before or behind it. */
static void try_level(struct meeting *meeting, const struct mover *end, uint32_t of_thing)
{
    double pace = end->pace - meeting->thing.pace;
    for (uint32_t i = 0; pace != 0 && i < corner_count(end); i++)
        try_at(meeting, (corner(&meeting->thing, of_thing, 0).x - corner(end, i, 0).x) / pace);
}

/* Twice the area of the triangle of two ends of a way and a corner of the thing. */
static double triangle(const struct meeting *meeting, const uint32_t of[3], double by)
{
    struct plane_point a = corner(&meeting->ends[0], of[0], by);
    struct plane_point b = corner(&meeting->ends[1], of[1], by);
    struct plane_point c = corner(&meeting->thing, of[2], by);
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
}

/* Where it lies on the line between corners of the two ends: the area goes evenly with the
 * number, since no two of the three move against each other. */
static void try_lines(struct meeting *meeting, uint32_t of_thing)
{
    for (uint32_t i = 0; i < corner_count(&meeting->ends[0]); i++)
        for (uint32_t k = 0; k < corner_count(&meeting->ends[1]); k++) {
            const uint32_t of[3] = {i, k, of_thing};
            double now = triangle(meeting, of, 0);
            try_at(meeting, now / (now - triangle(meeting, of, 1)));
        }
}

/* Tells where a way comes nearest to a thing.  The distance turns only where corners of the two
 * come level or into line: of all these places the one with the least. */
static void meet(const struct survey *survey, struct meeting *meeting)
{
    if (meeting->ends[0].pace == meeting->thing.pace &&
        meeting->ends[1].pace == meeting->thing.pace)
        return;
    meeting->least = INFINITY;
    for (uint32_t i = 0; i < corner_count(&meeting->thing); i++) {
        try_level(meeting, &meeting->ends[0], i);
        try_level(meeting, &meeting->ends[1], i);
        try_lines(meeting, i);
    }
    if (isfinite(meeting->least))
        survey->tell(survey->user, survey->start + meeting->at);
}

static struct plane_rectangle turn(const struct survey *survey, struct plane_rectangle area)
{
    return survey->turned
               ? (struct plane_rectangle){area.y_low, area.y_high, area.x_low, area.x_high}
               : area;
}

/* Does an end move with the number?  A setter that the gantry carries is as far along Y as the
 * place where the gantry stands. */
static bool goes_along(struct survey *survey, enum route_end end)
{
    bool carried = false;
    if (end == survey->end || (end == END_SETTER_FIRST && survey->end == END_SETTER))
        return true;
    return end == END_SETTER && survey->end == END_PARK && survey->turned &&
           look_carried(&survey->look, &carried) && carried;
}

static bool find_end(struct survey *survey, enum route_end end, struct mover *out)
{
    if (!route_area(&survey->look, end, &out->area))
        return false;
    out->area = turn(survey, out->area);
    out->pace = goes_along(survey, end);
    return true;
}

/* One way and one thing, with what hangs on the axis and with each attachment: one beside the
 * axis comes as near as one on it does to a thing moved the other way. */
static void meet_bodies(struct survey *survey, const struct mover ends[2],
                        const struct mover *thing)
{
    struct meeting meeting = {.ends = {ends[0], ends[1]}, .thing = *thing};
    meet(survey, &meeting);
    uint32_t count = survey->look.machine->groups[GROUP_ATTACHMENT].count;
    for (uint32_t i = 0; i < count; i++) {
        double x, y;
        if (!look_nominal(&survey->look, FIELD_ATTACHMENT_X, i, &x) ||
            !look_nominal(&survey->look, FIELD_ATTACHMENT_Y, i, &y))
            continue;
        const struct plane_rectangle beside = turn(survey, plane_place(x, y));
        meeting.thing = *thing;
        meeting.thing.area.x_low -= beside.x_low;
        meeting.thing.area.x_high -= beside.x_low;
        meeting.thing.area.y_low -= beside.y_low;
        meeting.thing.area.y_high -= beside.y_low;
        meeting.thing.pace -= i == survey->attachment;
        meet(survey, &meeting);
    }
}

/* A thing with all ways of the change, and with setter and park position by themselves. */
static void meet_ways(struct survey *survey, const struct mover *thing)
{
    static const enum route_end places[] = {END_SETTER, END_SETTER_FIRST, END_PARK};
    struct route route = {.count = 0};
    struct mover ends[2];
    if (!route_find(&survey->look, &route))
        route.count = 0;
    for (uint32_t i = 1; i < route.count; i++)
        if (find_end(survey, route.ends[i - 1], &ends[0]) &&
            find_end(survey, route.ends[i], &ends[1]))
            meet_bodies(survey, ends, thing);
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        if (find_end(survey, places[i], &ends[0])) {
            ends[1] = ends[0];
            meet_bodies(survey, ends, thing);
        }
}

/* An area given by two pairs, as typed and as far as its tolerances let it reach. */
static void meet_area(struct survey *survey, enum field_id x_field, enum field_id y_field,
                      uint32_t record)
{
    struct spread x[2], y[2];
    if (!look_pair(&survey->look, x_field, record, x) ||
        !look_pair(&survey->look, y_field, record, y))
        return;
    const struct plane_rectangle typed = {x[0].nominal, x[1].nominal, y[0].nominal,
                                          y[1].nominal};
    const struct plane_rectangle widest = {x[0].low, x[1].high, y[0].low, y[1].high};
    struct mover thing = {.area = turn(survey, typed)};
    meet_ways(survey, &thing);
    thing.area = turn(survey, widest);
    meet_ways(survey, &thing);
}

/* The sides of an area in which a place lies or does not, and what is just beyond them. */
static void tell_sides(struct survey *survey, enum field_id x_field, enum field_id y_field)
{
    struct spread sides[2];
    if (survey->end == END_SPOT ||
        !look_pair(&survey->look, survey->turned ? y_field : x_field, 0, sides))
        return;
    for (int i = 0; i < 2; i++) {
        survey->tell(survey->user, nextafter(sides[i].nominal, -INFINITY));
        survey->tell(survey->user, sides[i].nominal);
        survey->tell(survey->user, nextafter(sides[i].nominal, INFINITY));
    }
}

/* The setter as a thing: one that the gantry carries is wherever a way leads along Y. */
static void meet_setter(struct survey *survey)
{
    enum { FAR = 1000 };
    struct mover thing;
    bool carried = false;
    if (!find_end(survey, END_SETTER, &thing) || !look_carried(&survey->look, &carried))
        return;
    if (carried && survey->turned)
        return; /* nothing comes nearer to it along Y */
    if (carried)
        thing.area.y_low = -FAR, thing.area.y_high = FAR;
    meet_ways(survey, &thing);
}

void turns_find(const struct machine *machine, enum field_id field, uint32_t record,
                void (*tell)(void *user, double at), void *user)
{
    static const struct {
        enum field_id x, y;
        enum route_end end;
    } movers[] = {{FIELD_SETTER_AT_X, FIELD_SETTER_AT_Y, END_SETTER},
                  {FIELD_CHANGE_PARK_X, FIELD_CHANGE_PARK_Y, END_PARK},
                  {FIELD_ATTACHMENT_X, FIELD_ATTACHMENT_Y, END_SPOT}};
    size_t i = 0, count = sizeof movers / sizeof *movers;
    while (i < count && movers[i].x != field && movers[i].y != field)
        i++;
    struct survey survey = {.look = {.machine = machine}, .tell = tell, .user = user};
    if (i == count || !look_nominal(&survey.look, field, record, &survey.start))
        return;
    survey.turned = movers[i].y == field;
    survey.end = movers[i].end;
    survey.attachment = survey.end == END_SPOT ? record : RECORD_NONE;
    for (uint32_t k = 0; k < machine->groups[GROUP_OBSTACLE].count; k++)
        meet_area(&survey, FIELD_OBSTACLE_X, FIELD_OBSTACLE_Y, k);
    meet_area(&survey, FIELD_TABLE_X, FIELD_TABLE_Y, 0);
    meet_area(&survey, FIELD_WORK_X, FIELD_WORK_Y, 0);
    tell_sides(&survey, FIELD_TABLE_X, FIELD_TABLE_Y);
    tell_sides(&survey, FIELD_WORK_X, FIELD_WORK_Y);
    meet_setter(&survey);
    struct mover thing;
    if (find_end(&survey, END_PARK, &thing))
        meet_ways(&survey, &thing);
}
