/* What happens at the setter, or on the plate, where millimetres are to be seen: a view of its
 * own for the chosen cutter, the longest and the shortest.
 *
 *     nose ___|  |___
 *             |  |
 *             |__| tip . . . . . . . . where the fast approach ends
 *                   gap    |
 *         ............     | stroke    contact, at the earliest
 *     ====setter's face====|======     contact, expected
 *         ............     |           contact, at the latest
 *      to spare, or short  v . . . . . where the stroke ends
 *
 * Heights are those of the tip as the cutter is listed: nose heights less its stick-out.  Of a
 * plate, which lies nobody knows where, they are over its top.
 */
#include "draw/internal.h"

/* What a detail is about. */
struct detail {
    uint32_t cutter;
    double x;           /* where */
    double face;        /* the setter's, or the plate's height: what is touched */
    double wide;        /* half of how wide it is drawn */
    double radius;      /* of the cutter; 0: not known */
    double start, end;  /* the tip where the stroke begins and ends */
    double first, last; /* between which contact comes */
    bool has_end;
    double step; /* from one dimension line to the next */
};

static struct scene_item *detail_item(struct sketch *sketch, const struct detail *detail,
                                      const char *what, enum field_id id)
{
    struct scene_item *item = sketch_item(sketch, what, id, 0);
    item->subject = sketch_cutter(sketch, detail->cutter);
    return item;
}

/* How far lines of a detail go: out to where the labels begin, and over a dimension on the
 * left. */
static double out_right(const struct detail *detail)
{
    return detail->x + detail->wide + 0.8 * detail->step;
}

static double out_left(const struct detail *detail, int dimensions)
{
    return detail->x - detail->wide - (0.8 * dimensions + 0.2) * detail->step;
}

static void add_height(struct sketch *sketch, const struct detail *detail, const char *what,
                       enum field_id id, const double height[2])
{
    struct scene_item *item = detail_item(sketch, detail, what, id);
    double z = height[0], left = height[1];
    const struct plane_point ends[] = {{left, z}, {out_right(detail), z}};
    item->value = arena_format(sketch->arena, "tip at Z %s", sketch_length(sketch, z));
    item_segment(sketch, item, SCENE_LINE_NARROW, ends);
    item_label_at(item, ends[1].x, z);
    item->in_column = true;
}

/* A dimension, so many steps to the left of all else (`place` < 0) or to the right. */
static struct scene_item *add_dimension(struct sketch *sketch, const struct detail *detail,
                                        const char *what, enum field_id id,
                                        const double between[3])
{
    struct scene_item *item = detail_item(sketch, detail, what, id);
    double place = between[2];
    double x =
        detail->x + (place < 0 ? -detail->wide : detail->wide) + 0.8 * place * detail->step;
    const struct plane_point ends[] = {{x, between[0]}, {x, between[1]}};
    item_segment(sketch, item, SCENE_LINE_NARROW, ends)->ends = SCENE_END_ARROWS;
    item_label_at(item, x, (between[0] + between[1]) / 2);
    return item;
}

/* Is the tip down at the setter's trip before the probing begins? */
static bool approach_too_deep(const struct detail *detail)
{
    return detail->start < detail->face;
}

static void add_depth(struct sketch *sketch, const struct detail *detail)
{
    const double between[] = {detail->start, detail->face, 1};
    struct scene_item *item =
        add_dimension(sketch, detail, "below the trip", sketch_approach_field(sketch), between);
    item->value = arena_format(sketch->arena, "by %s",
                               sketch_length(sketch, detail->face - detail->start));
    item->in_column = true;
}

/* The margin: what the stroke reaches beyond the latest contact, or how much it lacks. */
static void add_margin(struct sketch *sketch, const struct detail *detail)
{
    double margin = spread_settled(detail->last - detail->end);
    const double between[] = {detail->end, detail->last, 1};
    struct scene_item *item =
        add_dimension(sketch, detail, margin < 0 ? "stroke too short" : "stroke to spare",
                      FIELD_CHANGE_PROBE_STROKE, between);
    item->value = arena_format(sketch->arena, "%s%s", sketch_length(sketch, fabs(margin)),
                               margin < 0 ? " short" : " at worst");
    item->told_by_failure = true;
    item->in_column = true;
}

static void add_stroke(struct sketch *sketch, const struct detail *detail)
{
    const double between[] = {detail->start, detail->end, -2};
    struct scene_item *item =
        add_dimension(sketch, detail, "stroke", FIELD_CHANGE_PROBE_STROKE, between);
    item->value = sketch_length(sketch, detail->start - detail->end);
    item_label_at(item, item->anchor.x, detail->start);
}

static void add_gap(struct sketch *sketch, const struct detail *detail)
{
    const double between[] = {detail->start, detail->face, -1};
    const struct spread gap = {detail->start - detail->face, detail->start - detail->first,
                               detail->start - detail->last};
    struct scene_item *item =
        add_dimension(sketch, detail, "gap", sketch_approach_field(sketch), between);
    item_also(sketch, item, FIELD_CHANGE_ASSUMED_STICKOUT, 0);
    item->value = sketch_spread(sketch, &gap);
    item_label_at(item, item->anchor.x, detail->face);
}

/* The setter's face, with the travel that is left below it. */
static void add_face(struct sketch *sketch, const struct detail *detail)
{
    double overtravel, face;
    struct scene_item *item =
        detail_item(sketch, detail, "setter trips", FIELD_SETTER_NOSE_CONTACT);
    bool known = sketch_number(sketch, FIELD_SETTER_FACE, 0, &face);
    double half = known ? fmin(face / 2, detail->wide) : detail->wide;
    const struct plane_point ends[] = {{detail->x - half, detail->face},
                                       {detail->x + half, detail->face}};
    item->value =
        arena_format(sketch->arena, "tip at Z %s", sketch_length(sketch, detail->face));
    if (known && half < face / 2)
        item->what = "face in part, trips";
    item_segment(sketch, item, known ? SCENE_LINE_WIDE : SCENE_LINE_BROKEN, ends)->hatched =
        known;
    const struct plane_point on[] = {{out_left(detail, 1), detail->face},
                                     ends[0],
                                     ends[1],
                                     {out_right(detail), detail->face}};
    item_segment(sketch, item, SCENE_LINE_NARROW, on);
    item_segment(sketch, item, SCENE_LINE_NARROW, on + 2);
    item_label_at(item, on[3].x, detail->face);
    item->in_column = true;
    item->unknown = !known;
    if (!sketch_number(sketch, FIELD_SETTER_OVERTRAVEL, 0, &overtravel))
        return;
    item = detail_item(sketch, detail, "setter harmed below", FIELD_SETTER_OVERTRAVEL);
    item_also(sketch, item, FIELD_CHANGE_PROBE_FEED, 0);
    item->value =
        arena_format(sketch->arena, "%s under the trip", sketch_length(sketch, overtravel));
    const struct plane_point harm[] = {{detail->x - half, detail->face - overtravel},
                                       {out_right(detail), detail->face - overtravel}};
    item_segment(sketch, item, SCENE_LINE_LIMIT, harm);
    item_label_at(item, harm[1].x, harm[1].y);
    item->in_column = true;
}

static void add_band(struct sketch *sketch, const struct detail *detail)
{
    const struct plane_rectangle band = {detail->x - detail->wide, detail->x + detail->wide,
                                         detail->last, detail->first};
    struct scene_item *item =
        detail_item(sketch, detail, "contact comes in this band", FIELD_ALLOWANCES_RESEAT);
    item->value = arena_format(sketch->arena, "%s high",
                               sketch_length(sketch, detail->first - detail->last));
    item_rectangle(sketch, item, SCENE_LINE_NONE, &band)->filled = true;
}

static void add_tip(struct sketch *sketch, const struct detail *detail)
{
    if (detail->radius <= 0) {
        struct scene_item *item =
            sketch_unknown(sketch, "cutter", "how wide it is, is not known",
                           FIELD_CUTTER_DIAMETER, detail->cutter);
        item->subject = sketch_cutter(sketch, detail->cutter);
        return;
    }
    double top = detail->start + 2 * detail->step, left = detail->x - detail->radius,
           right = detail->x + detail->radius;
    struct scene_item *item = sketch_item(sketch, sketch_cutter(sketch, detail->cutter),
                                          FIELD_CUTTER_STICKOUT, detail->cutter);
    struct spread stickout;
    item->subject = sketch_cutter(sketch, detail->cutter);
    item_also(sketch, item, FIELD_CUTTER_HOLLOW_DIAMETER, detail->cutter);
    if (cutter_true_stickout(sketch->machine, detail->cutter, &stickout))
        item->value =
            arena_format(sketch->arena, "sticks out %s", sketch_spread(sketch, &stickout));
    const struct plane_point cup[] = {
        {left, top}, {left, detail->start}, {right, detail->start}, {right, top}};
    const struct plane_point part[] = {{detail->x - detail->wide, detail->start},
                                       {detail->x + detail->wide, detail->start}};
    if (detail->radius <= detail->wide) {
        item_polyline(sketch, item, SCENE_LINE_WIDE, cup, 4);
    } else {
        item->what = arena_format(sketch->arena, "%s in part", item->what);
        item_segment(sketch, item, SCENE_LINE_WIDE, part);
        top = detail->start;
    }
    item_label_at(item, detail->x, top);
}

/* The numbers of one cutter's way down to the setter, from the moves of a change that brings it
 * in. */
static bool measure(const struct sketch *sketch, uint32_t cutter, struct detail *out)
{
    struct change change;
    struct spread stickout;
    double wide = 0;
    const struct change_request request = {.from = cutter, .to = cutter};
    if (!change_plan(&change, sketch->machine, &request))
        return false;
    const struct move *approach = sketch_last_move(&change, MOVE_APPROACH);
    const struct move *probe = sketch_last_move(&change, MOVE_PROBE);
    if (!approach || !probe || !approach->to.known[2] || !probe->has_contact ||
        !cutter_true_stickout(sketch->machine, cutter, &stickout) ||
        !sketch_number(sketch, FIELD_SETTER_AT_X, 0, &out->x))
        return false;
    *out = (struct detail){.cutter = cutter,
                           .x = out->x,
                           .face = probe->expected - stickout.nominal,
                           .start = approach->to.at[2] - stickout.nominal,
                           .first = probe->earliest - stickout.nominal,
                           .last = probe->latest - stickout.nominal,
                           .has_end = probe->has_end,
                           .end = probe->end - stickout.nominal};
    if (sketch_number(sketch, FIELD_CUTTER_DIAMETER, cutter, &wide))
        out->radius = wide / 2;

    double low = fmin(out->last, out->has_end ? out->end : out->last);
    double high = fmax(out->start, out->first);
    out->step = fmax((high - low) / 8, 0.001);
    out->wide = 1.2 * out->step;
    return true;
}

static void add_detail(struct sketch *sketch, uint32_t cutter, const char *which)
{
    struct detail detail = {0};
    if (sketch->scene->view_count == SCENE_VIEWS)
        return;
    if (!measure(sketch, cutter, &detail)) {
        sketch_unknown(
            sketch,
            arena_format(sketch->arena, "%s at the setter", sketch_cutter(sketch, cutter)),
            "its way down is not known", FIELD_CUTTER_STICKOUT, cutter);
        return;
    }
    struct scene_view *side = sketch->view;
    sketch->view = &sketch->scene->views[sketch->scene->view_count++];
    sketch->view->kind = SCENE_DETAIL;
    sketch->view->title = arena_format(sketch->arena, "%s%s, heights of its tip as listed",
                                       sketch_cutter(sketch, cutter), which);
    sketch->view->letter[0] = "X";
    sketch->view->letter[1] = "Z";
    const double near = detail.x - detail.wide;
    add_tip(sketch, &detail);
    if (approach_too_deep(&detail))
        add_depth(sketch, &detail);
    if (detail.has_end) {
        if (!approach_too_deep(&detail))
            add_margin(sketch, &detail);
        add_stroke(sketch, &detail);
        add_height(sketch, &detail, "stroke ends", FIELD_CHANGE_PROBE_STROKE,
                   (const double[]){detail.end, out_left(&detail, 2)});
    } else {
        sketch_unknown(sketch, "stroke", "not known", FIELD_CHANGE_PROBE_STROKE, 0);
    }
    if (!approach_too_deep(&detail))
        add_gap(sketch, &detail);
    add_face(sketch, &detail);
    add_height(sketch, &detail, "earliest contact", FIELD_ALLOWANCES_RESEAT,
               (const double[]){detail.first, near});
    add_height(sketch, &detail, "latest contact", FIELD_ALLOWANCES_RESEAT,
               (const double[]){detail.last, near});
    add_height(sketch, &detail, "approach ends", sketch_approach_field(sketch),
               (const double[]){detail.start, out_left(&detail, 2)});
    add_band(sketch, &detail);
    sketch->view = side;
}

/* --- on the plate --- */

static void add_plate(struct sketch *sketch, double half)
{
    double thick = 0;
    bool known = sketch_number(sketch, FIELD_PLATE_THICKNESS, 0, &thick);
    struct scene_item *item = sketch_item(sketch, "plate", FIELD_PLATE_THICKNESS, 0);
    const struct plane_rectangle box = {-half, half, -thick, 0};
    const struct plane_point top[] = {{-half, 0}, {half, 0}};
    item->value = known ? arena_format(sketch->arena, "%s thick", sketch_length(sketch, thick))
                        : "how thick it is, is not known";
    item->unknown = !known;
    if (known)
        item_rectangle(sketch, item, SCENE_LINE_WIDE, &box);
    else
        item_segment(sketch, item, SCENE_LINE_WIDE, top)->hatched = true;
    item_label_at(item, half, 0);
    item->in_column = true;
}

/* A height over the plate's top, with the dimension to it from where the probing may begin. */
static void add_over_plate(struct sketch *sketch, const char *what, enum field_id id,
                           const double heights[3])
{
    double from = heights[0], to = heights[1], x = heights[2], reach = fabs(x);
    struct scene_item *item = sketch_item(sketch, what, id, 0);
    const struct plane_point line[] = {{x, from}, {x, to}};
    const struct plane_point level[] = {{-1.2 * reach, to}, {1.2 * reach, to}};
    item->value = sketch_length(sketch, from - to);
    item_segment(sketch, item, SCENE_LINE_NARROW, line)->ends = SCENE_END_ARROWS;
    if (to != 0)
        item_segment(sketch, item, SCENE_LINE_NARROW, level);
    item_label_at(item, x > 0 ? level[1].x : x, to);
    item->in_column = x > 0;
}

/* The operator lets probing start from at most so far over the plate; the stroke has to cover
 * it. */
static void plate_detail(struct sketch *sketch)
{
    double within = 0, stroke = 0, face = 0;
    if (!sketch_number(sketch, FIELD_PLATE_JOG_WITHIN, 0, &within) ||
        !sketch_number(sketch, FIELD_CHANGE_PROBE_STROKE, 0, &stroke)) {
        sketch_unknown(sketch, "probing on the plate", "not known", FIELD_PLATE_JOG_WITHIN, 0);
        return;
    }
    double unit = fmax(fmax(within, stroke) / 8, 0.001), half = 3 * unit;
    if (sketch_number(sketch, FIELD_PLATE_FACE, 0, &face))
        half = fmin(half, face / 2);
    struct scene_view *side = sketch->view;
    sketch->view = &sketch->scene->views[sketch->scene->view_count++];
    sketch->view->kind = SCENE_PLATE;
    sketch->view->title = "probing on the plate, heights over its top";
    sketch->view->letter[0] = "X";
    sketch->view->letter[1] = "Z";
    add_over_plate(sketch, "stroke from the highest start", FIELD_CHANGE_PROBE_STROKE,
                   (const double[]){within, within - stroke, half + unit});
    add_over_plate(sketch, "at most over the plate", FIELD_PLATE_JOG_WITHIN,
                   (const double[]){within, 0, -half - unit});
    add_plate(sketch, half);
    struct scene_item *item =
        sketch_item(sketch, "tip at highest start", FIELD_PLATE_JOG_WITHIN, 0);
    const struct plane_point level[] = {{-1.2 * (half + unit), within},
                                        {1.2 * (half + unit), within}};
    item->value =
        arena_format(sketch->arena, "%s over the plate", sketch_length(sketch, within));
    item_segment(sketch, item, SCENE_LINE_NARROW, level);
    item_label_at(item, level[1].x, within);
    item->in_column = true;
    sketch->view = side;
}

/* The longest or the shortest, as far as anybody knows. */
static const char *extreme_text(const struct sketch *sketch,
                                const struct cutter_extremes *extremes, uint32_t cutter)
{
    const char *of = extremes->lengths_missing.count ? " of those with a stick-out" : "";
    bool longest = extremes->longest == cutter, shortest = extremes->shortest == cutter;
    if (longest == shortest)
        return "";
    return arena_format(sketch->arena, ", the %s%s", longest ? "longest" : "shortest", of);
}

/* The chosen cutter, and beside it the longest and the shortest. */
void detail_sketch(struct sketch *sketch)
{
    uint32_t chosen = sketch->drawing->cutter;
    struct cutter_extremes extremes;
    if (sketch_measures_with(sketch, "plate")) {
        plate_detail(sketch);
        return;
    }
    if (chosen == RECORD_NONE)
        return;
    if (!sketch_measures_with(sketch, "setter") || !sketch_homes(sketch)) {
        sketch_unknown(
            sketch, "detail",
            "nothing here is touched at a height that the file tells, so there is none",
            FIELD_CHANGE_MEASURES_WITH, 0);
        return;
    }
    cutters_extremes(&extremes, sketch->machine);
    bool longest = extremes.longest == chosen, shortest = extremes.shortest == chosen;
    add_detail(sketch, chosen, extreme_text(sketch, &extremes, chosen));
    if (extremes.longest != RECORD_NONE && !longest)
        add_detail(sketch, extremes.longest, extreme_text(sketch, &extremes, extremes.longest));
    if (extremes.shortest != RECORD_NONE && !shortest && extremes.shortest != extremes.longest)
        add_detail(sketch, extremes.shortest,
                   extreme_text(sketch, &extremes, extremes.shortest));
}
