/* Placement of labels. */
#include "draw/place.h"

enum {
    BESIDE = 130,      /* from an anchor to a label without a leader, */
    OFF_CROSS = 320,   /* and where the anchor is a cross */
    INSET = 130,       /* from the edge of a room */
    DOT = 50,          /* radius of the dot at a leader's beginning */
    COLUMN_GAP = 100,  /* from one label of a column to the next */
    GRID = 250,        /* from one place to the next where all are tried */
    TESTS = 30000000,  /* lines and texts compared for one frame */
    LEADER_LEAST = 200 /* a shorter one would say nothing */
};

void placer_init(struct placer *placer, struct arena *arena, const struct place_box *frame)
{
    *placer = (struct placer){.arena = arena, .frame = *frame, .tests_left = TESTS};
}

void placer_line(struct placer *placer, struct place_point from, struct place_point to)
{
    VECTOR_ADD(placer->arena, &placer->lines, (struct place_segment){from, to});
}

void placer_text(struct placer *placer, const struct place_box *box)
{
    VECTOR_ADD(placer->arena, &placer->texts, *box);
}

/* --- what meets what --- */

bool place_boxes_meet(const struct place_box *a, const struct place_box *b)
{
    return a->left <= b->right && b->left <= a->right && a->top <= b->bottom &&
           b->top <= a->bottom;
}

/* On which side of the line through a and b: its sign. */
static int side(struct place_point a, struct place_point b, int32_t x, int32_t y)
{
    int64_t cross =
        ((int64_t)b.x - a.x) * ((int64_t)y - a.y) - ((int64_t)b.y - a.y) * ((int64_t)x - a.x);
    return (cross > 0) - (cross < 0);
}

bool place_segment_meets(const struct place_segment *segment, const struct place_box *box)
{
    struct place_point a = segment->from, b = segment->to;
    if ((a.x < box->left && b.x < box->left) || (a.x > box->right && b.x > box->right) ||
        (a.y < box->top && b.y < box->top) || (a.y > box->bottom && b.y > box->bottom))
        return false;
    int first = side(a, b, box->left, box->top);
    return first == 0 || side(a, b, box->right, box->top) != first ||
           side(a, b, box->left, box->bottom) != first ||
           side(a, b, box->right, box->bottom) != first;
}

bool place_segments_cross(const struct place_segment *a, const struct place_segment *b)
{
    int from = side(a->from, a->to, b->from.x, b->from.y);
    int to = side(a->from, a->to, b->to.x, b->to.y);
    int back = side(b->from, b->to, a->from.x, a->from.y);
    int forth = side(b->from, b->to, a->to.x, a->to.y);
    return from * to < 0 && back * forth < 0;
}

static struct place_box grown(const struct place_box *box, int32_t by)
{
    return (struct place_box){box->left - by, box->top - by, box->right + by, box->bottom + by};
}

/* --- one candidate --- */

static bool within(const struct place_box *box, const struct place_box *frame)
{
    return box->left >= frame->left && box->right <= frame->right && box->top >= frame->top &&
           box->bottom <= frame->bottom;
}

static bool is_free(struct placer *placer, const struct place_box *box)
{
    if (!within(box, &placer->frame))
        return false;
    struct place_box clear = grown(box, PLACE_CLEAR);
    uint64_t cost = placer->lines.count + placer->texts.count + 1;
    placer->tests_left -= cost < placer->tests_left ? cost : placer->tests_left;
    for (size_t i = 0; i < placer->texts.count; i++)
        if (place_boxes_meet(&clear, &placer->texts.items[i]))
            return false;
    for (size_t i = 0; i < placer->lines.count; i++)
        if (place_segment_meets(&placer->lines.items[i], &clear))
            return false;
    return true;
}

static int32_t clamp(int32_t value, int32_t low, int32_t high)
{
    return value < low ? low : value > high ? high : value;
}

/* From the anchor to the nearest point of the box, as clear of it as everything else is. */
static struct place_segment leader_to(struct place_point anchor, const struct place_box *box)
{
    struct place_box clear = grown(box, PLACE_CLEAR);
    struct place_point end = {clamp(anchor.x, clear.left, clear.right),
                              clamp(anchor.y, clear.top, clear.bottom)};
    return (struct place_segment){anchor, end};
}

/* The dot at the beginning of a leader. */
static struct place_box dot_of(const struct place_segment *leader)
{
    struct place_point at = leader->from;
    return (struct place_box){at.x - DOT, at.y - DOT, at.x + DOT, at.y + DOT};
}

static bool leader_is_free(const struct placer *placer, const struct place_segment *leader)
{
    struct place_box dot = dot_of(leader);

    for (size_t i = 0; i < placer->texts.count; i++) {
        struct place_box clear = grown(&placer->texts.items[i], PLACE_CLEAR);
        if (place_segment_meets(leader, &clear) || place_boxes_meet(&dot, &clear))
            return false;
    }
    for (size_t i = 0; i < placer->leaders.count; i++)
        if (place_segments_cross(leader, &placer->leaders.items[i]))
            return false;
    return true;
}

static int64_t squared(const struct place_segment *segment)
{
    int64_t x = (int64_t)segment->to.x - segment->from.x;
    int64_t y = (int64_t)segment->to.y - segment->from.y;
    return x * x + y * y;
}

/* With that leader, or without one. */
static bool try_led(struct placer *placer, struct place_label *label,
                    const struct place_box *box, const struct place_segment *leader)
{
    if (!is_free(placer, box) || (leader && !leader_is_free(placer, leader)))
        return false;
    label->box = *box;
    label->has_leader = leader && squared(leader) >= (int64_t)LEADER_LEAST * LEADER_LEAST;
    if (leader)
        label->leader = *leader;
    return true;
}

static bool try_box(struct placer *placer, struct place_label *label,
                    const struct place_box *box, bool leads)
{
    struct place_segment leader = leader_to(label->anchor, box);
    return try_led(placer, label, box, leads ? &leader : NULL);
}

static struct place_box box_at(struct place_point corner, struct place_point size)
{
    return (struct place_box){corner.x, corner.y, corner.x + size.x, corner.y + size.y};
}

/* --- the order of candidates --- */

/* Within its thing: in the middle, then along the edges. */
static bool try_room(struct placer *placer, struct place_label *label, struct place_point size)
{
    static const struct place_point parts[] = {{1, 1}, {0, 0}, {1, 0}, {2, 0}, {0, 1},
                                               {2, 1}, {0, 2}, {1, 2}, {2, 2}};
    const struct place_box *room = &label->room;
    struct place_point free = {room->right - room->left - 2 * INSET - size.x,
                               room->bottom - room->top - 2 * INSET - size.y};
    if (!label->has_room || free.x < 0 || free.y < 0)
        return false;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        struct place_point corner = {room->left + INSET + free.x * parts[i].x / 2,
                                     room->top + INSET + free.y * parts[i].y / 2};
        struct place_box box = box_at(corner, size);
        if (try_box(placer, label, &box, false))
            return true;
    }
    return false;
}

/* So far off the anchor, in eight directions. */
static bool try_around(struct placer *placer, struct place_label *label,
                       struct place_point size, int32_t distance, bool leads)
{
    static const struct place_point ways[] = {{1, 0}, {1, -1}, {-1, -1}, {-1, 0},
                                              {1, 1}, {-1, 1}, {0, -1},  {0, 1}};
    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        bool slanted = ways[i].x && ways[i].y;
        int32_t off = slanted ? distance * 7 / 10 : distance;
        struct place_point corner = {label->anchor.x + ways[i].x * off +
                                         (ways[i].x < 0 ? -size.x
                                          : ways[i].x   ? 0
                                                        : -size.x / 2),
                                     label->anchor.y + ways[i].y * off +
                                         (ways[i].y < 0 ? -size.y
                                          : ways[i].y   ? 0
                                                        : -size.y / 2)};
        struct place_box box = box_at(corner, size);
        if (try_box(placer, label, &box, leads))
            return true;
    }
    return false;
}

/* Anywhere in the frame, as near to the anchor as can be. */
static bool try_everywhere(struct placer *placer, struct place_label *label,
                           struct place_point size)
{
    struct place_label best = *label;
    int64_t least = INT64_MAX;
    for (int32_t y = placer->frame.top; y + size.y <= placer->frame.bottom; y += GRID)
        for (int32_t x = placer->frame.left; x + size.x <= placer->frame.right; x += GRID) {
            struct place_box box = box_at((struct place_point){x, y}, size);
            struct place_segment leader = leader_to(label->anchor, &box);
            if (!placer->tests_left || squared(&leader) >= least ||
                !try_box(placer, label, &box, true))
                continue;
            least = squared(&leader);
            best = *label;
        }
    *label = best;
    return least < INT64_MAX;
}

static bool try_size(struct placer *placer, struct place_label *label, struct place_point size)
{
    static const int32_t lengths[] = {500, 900, 1400};
    if (try_room(placer, label, size) || try_around(placer, label, size, BESIDE, false) ||
        try_around(placer, label, size, OFF_CROSS, false))
        return true;
    for (size_t i = 0; i < sizeof lengths / sizeof *lengths; i++)
        if (try_around(placer, label, size, lengths[i], true))
            return true;
    return try_everywhere(placer, label, size);
}

/* --- the whole --- */

static void take(struct placer *placer, const struct place_label *label)
{
    const struct place_box *b = &label->box;
    placer_text(placer, b);
    if (label->has_leader) {
        struct place_box dot = dot_of(&label->leader);
        placer_line(placer, label->leader.from, label->leader.to);
        placer_line(placer, (struct place_point){dot.left, dot.top},
                    (struct place_point){dot.right, dot.bottom});
        placer_line(placer, (struct place_point){dot.left, dot.bottom},
                    (struct place_point){dot.right, dot.top});
        VECTOR_ADD(placer->arena, &placer->leaders, label->leader);
    }
}

void place_whole(struct placer *placer, struct place_label *label)
{
    const struct place_point size = {label->width, label->height};
    label->how = try_size(placer, label, size) ? PLACE_WHOLE : PLACE_NOWHERE;
    if (label->how == PLACE_WHOLE)
        take(placer, label);
}

void place_number(struct placer *placer, struct place_label *label)
{
    const struct place_point size = {label->number_width, label->number_height};
    label->how = try_size(placer, label, size) ? PLACE_NUMBER : PLACE_NOWHERE;
    if (label->how == PLACE_NUMBER)
        take(placer, label);
}

/* --- columns --- */

static void sort_down(struct place_label **labels, size_t count)
{
    for (size_t i = 1; i < count; i++)
        for (size_t k = i; k > 0 && labels[k]->anchor.y < labels[k - 1]->anchor.y; k--) {
            struct place_label *kept = labels[k];
            labels[k] = labels[k - 1];
            labels[k - 1] = kept;
        }
}

/* Down as far as the one above wants it, then up as far as the end of the frame does. */
static void space_out(const struct placer *placer, struct place_label **labels, size_t count,
                      int32_t *tops)
{
    int32_t free = placer->frame.top;
    for (size_t i = 0; i < count; i++) {
        int32_t wanted = labels[i]->anchor.y - labels[i]->height / 2;
        tops[i] = wanted > free ? wanted : free;
        free = tops[i] + labels[i]->height + COLUMN_GAP;
    }
    int32_t end = placer->frame.bottom;
    for (size_t i = count; i-- > 0; end = tops[i] - COLUMN_GAP)
        if (tops[i] + labels[i]->height > end)
            tops[i] = end - labels[i]->height;
}

void place_column(struct placer *placer, struct place_label **labels, size_t count,
                  int32_t left)
{
    int32_t *tops = ARENA_ARRAY(placer->arena, int32_t, count + 1);
    sort_down(labels, count);
    space_out(placer, labels, count, tops);
    for (size_t i = 0; i < count; i++) {
        const struct place_point corner = {left, tops[i]};
        const struct place_point size = {labels[i]->width, labels[i]->height};
        struct place_box box = box_at(corner, size);
        const struct place_segment leader = {labels[i]->anchor,
                                             {left - PLACE_CLEAR, (box.top + box.bottom) / 2}};
        bool placed = try_led(placer, labels[i], &box, &leader);
        labels[i]->how = placed ? PLACE_WHOLE : PLACE_NOWHERE;
        if (labels[i]->how == PLACE_WHOLE)
            take(placer, labels[i]);
    }
}
