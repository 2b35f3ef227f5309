/* The lines of shapes on paper. */
#include "draw/sheet.h"

#include "quantity/exact.h"

/* Sixteen directions, counter-clockwise; between them three more each: arcs in straight pieces,
 * 64 to the circle, which lie at most about 0.12 % of the radius inside. */
static const struct plane_point around[] = {
    {1, 0},
    {0.92387953251128674, 0.38268343236508977},
    {0.70710678118654752, 0.70710678118654752},
    {0.38268343236508977, 0.92387953251128674},
    {0, 1},
    {-0.38268343236508977, 0.92387953251128674},
    {-0.70710678118654752, 0.70710678118654752},
    {-0.92387953251128674, 0.38268343236508977},
    {-1, 0},
    {-0.92387953251128674, -0.38268343236508977},
    {-0.70710678118654752, -0.70710678118654752},
    {-0.38268343236508977, -0.92387953251128674},
    {0, -1},
    {0.38268343236508977, -0.92387953251128674},
    {0.70710678118654752, -0.70710678118654752},
    {0.92387953251128674, -0.38268343236508977},
};

enum { DIRECTIONS = sizeof around / sizeof *around, FINER = 4 };

struct trace {
    const struct sheet_view *view;
    void (*tell)(void *user, struct plane_point from, struct plane_point to);
    void *user;
};

static void tell_metres(const struct trace *trace, struct plane_point from,
                        struct plane_point to)
{
    trace->tell(trace->user, sheet_point(trace->view, from), sheet_point(trace->view, to));
}

/* A point at `radius` in direction `step` of DIRECTIONS * FINER. */
static struct plane_point on_circle(struct plane_point middle, double radius, uint32_t step)
{
    struct plane_point a = around[step / FINER % DIRECTIONS];
    struct plane_point b = around[(step / FINER + 1) % DIRECTIONS];
    double part = (double)(step % FINER) / FINER;
    double x = a.x + (b.x - a.x) * part, y = a.y + (b.y - a.y) * part;
    double length = exact_hypot(x, y);
    return (struct plane_point){middle.x + radius * x / length, middle.y + radius * y / length};
}

static void trace_circle(const struct trace *trace, struct plane_point middle, double radius)
{
    struct plane_point last = on_circle(middle, radius, 0);
    for (uint32_t i = 1; i <= DIRECTIONS * FINER; i++) {
        struct plane_point next = on_circle(middle, radius, i);
        tell_metres(trace, last, next);
        last = next;
    }
}

static struct plane_point direction(struct plane_point a, struct plane_point b)
{
    double length = plane_point_distance(a, b);
    return length > 0 ? (struct plane_point){(b.x - a.x) / length, (b.y - a.y) / length}
                      : (struct plane_point){0, 0};
}

/* Of the circle around a corner the part between the sides that meet there. */
static void trace_corner(const struct trace *trace, const struct scene_shape *shape, uint32_t i)
{
    uint32_t count = shape->count;
    struct plane_point at = shape->points[i];
    struct plane_point came = direction(shape->points[(i + count - 1) % count], at);
    struct plane_point goes = direction(at, shape->points[(i + 1) % count]);
    struct plane_point last = on_circle(at, shape->radius, 0);
    for (uint32_t k = 1; k <= DIRECTIONS * FINER; k++) {
        struct plane_point next = on_circle(at, shape->radius, k);
        double x = (last.x + next.x) / 2 - at.x, y = (last.y + next.y) / 2 - at.y;
        if (x * came.x + y * came.y >= 0 && x * goes.x + y * goes.y <= 0)
            tell_metres(trace, last, next);
        last = next;
    }
}

/* Counter-clockwise, so that outside is to the right. */
static void trace_widened(const struct trace *trace, const struct scene_shape *shape)
{
    for (uint32_t i = 0; i < shape->count; i++) {
        struct plane_point a = shape->points[i], b = shape->points[(i + 1) % shape->count];
        struct plane_point along = direction(a, b);
        struct plane_point off = {along.y * shape->radius, -along.x * shape->radius};
        trace_corner(trace, shape, i);
        tell_metres(trace, (struct plane_point){a.x + off.x, a.y + off.y},
                    (struct plane_point){b.x + off.x, b.y + off.y});
    }
}

static void trace_cross(const struct trace *trace, struct plane_point at)
{
    struct plane_point c = sheet_point(trace->view, at);
    trace->tell(trace->user, (struct plane_point){c.x - SHEET_CROSS, c.y},
                (struct plane_point){c.x + SHEET_CROSS, c.y});
    trace->tell(trace->user, (struct plane_point){c.x, c.y - SHEET_CROSS},
                (struct plane_point){c.x, c.y + SHEET_CROSS});
}

/* The wide end of an arrow, so far from its tip along a dimension. */
static void trace_head(const struct trace *trace, struct plane_point tip,
                       struct plane_point along)
{
    struct plane_point foot = {tip.x - along.x * SHEET_ARROW, tip.y - along.y * SHEET_ARROW};
    struct plane_point off = {-along.y * SHEET_ARROW_WIDE, along.x * SHEET_ARROW_WIDE};
    trace->tell(trace->user, (struct plane_point){foot.x - off.x, foot.y - off.y},
                (struct plane_point){foot.x + off.x, foot.y + off.y});
}

/* Arrows at the ends, with their tails where they stand outside. */
static void trace_ends(const struct trace *trace, const struct scene_shape *shape)
{
    struct plane_point a = sheet_point(trace->view, shape->points[0]);
    struct plane_point b = sheet_point(trace->view, shape->points[1]);
    struct plane_point along = direction(a, b), back = {-along.x, -along.y};
    bool both = shape->ends == SCENE_END_ARROWS;
    bool outside = both && plane_point_distance(a, b) < 3 * SHEET_ARROW;
    if (shape->ends == SCENE_END_PLAIN || (along.x == 0 && along.y == 0))
        return;
    trace_head(trace, b, outside ? back : along);
    if (both)
        trace_head(trace, a, outside ? along : back);
    if (!outside)
        return;
    struct plane_point tail = {along.x * SHEET_TAIL, along.y * SHEET_TAIL};
    trace->tell(trace->user, (struct plane_point){a.x - tail.x, a.y - tail.y}, a);
    trace->tell(trace->user, b, (struct plane_point){b.x + tail.x, b.y + tail.y});
}

/* Short slanted lines under it. */
static void trace_hatching(const struct trace *trace, const struct scene_shape *shape)
{
    struct plane_point a = sheet_point(trace->view, shape->points[0]);
    struct plane_point b = sheet_point(trace->view, shape->points[1]);
    for (int i = 1; i <= SHEET_HATCHES && a.x + i * SHEET_HATCH <= b.x; i++) {
        struct plane_point from = {a.x + i * SHEET_HATCH, a.y};
        trace->tell(trace->user, from,
                    (struct plane_point){from.x - SHEET_HATCH / 2, from.y + SHEET_HATCH / 2});
    }
}

void sheet_trace(const struct sheet_view *view, const struct scene_shape *shape,
                 void (*tell)(void *user, struct plane_point from, struct plane_point to),
                 void *user)
{
    const struct trace trace = {view, tell, user};
    if (shape->line == SCENE_LINE_NONE)
        return;
    if (shape->count == 1 && shape->radius > 0)
        trace_circle(&trace, shape->points[0], shape->radius);
    else if (shape->count == 1)
        trace_cross(&trace, shape->points[0]);
    else if (shape->radius > 0)
        trace_widened(&trace, shape);
    else
        for (uint32_t i = 0; i + (shape->closed ? 0 : 1) < shape->count; i++)
            tell_metres(&trace, shape->points[i], shape->points[(i + 1) % shape->count]);
    if (shape->hatched)
        trace_hatching(&trace, shape);
    if (shape->count == 2)
        trace_ends(&trace, shape);
}
