/* Letters, escapes, places of labels, and where two things come nearest. */
#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "draw/letters.h"
#include "draw/near.h"
#include "draw/place.h"
#include "draw/sheet.h"
#include "draw/svg.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(letters, .init = begin, .fini = end);
TestSuite(svg, .init = begin, .fini = end);
TestSuite(place, .init = begin, .fini = end);
TestSuite(sheet, .init = begin, .fini = end);

static uint64_t state = 20271001;

static double draw(double low, double high)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(state >> 40) / (1 << 24);
}

static int32_t whole(double low, double high)
{
    return (int32_t)draw(low, high);
}

/* --- letters --- */

Test(letters, widths)
{
    /* By hand: m is 0.833, i 0.222 and 0 0.556 of 3.5 mm; bold ones 8 % more. */
    cr_expect_eq(letters_width(view_of(""), false), 1);
    cr_expect_eq(letters_width(view_of("mi0"), false), 564);
    cr_expect_eq(letters_width(view_of("mi0"), true), 609);
    /* A wide letter counts a whole, a mark over another nothing. */
    cr_expect_eq(letters_width(view_of("\xE6\xBC\xA2"), false), 351);
    cr_expect_eq(letters_width(view_of("e\xCC\x81"), false),
                 letters_width(view_of("e"), false));
    /* A byte that is no UTF-8 has some width too. */
    cr_expect_gt(letters_width(view_of("\xFF"), false), 300);
}

static void expect_fit(const char *text, int32_t width, const char *line, const char *rest)
{
    struct view left, got = letters_fit(view_of(text), width, false, &left);
    cr_expect(view_is(got, line), "`%s`: line `%.*s`", text, VIEW(got));
    cr_expect(view_is(left, rest), "`%s`: rest `%.*s`", text, VIEW(left));
}

Test(letters, lines)
{
    expect_fit("toe clamps", 10000, "toe clamps", "");
    expect_fit("toe clamps at the back", 1900, "toe clamps", "at the back");
    expect_fit("clamps", 5, "c", "lamps");
    expect_fit("", 100, "", "");
    /* A number keeps its unit and its tolerance. */
    expect_fit("short by 12.5 mm", 2400, "short by", "12.5 mm");
    expect_fit("gap 15 mm \xC2\xB1 6.36 mm", 2500, "gap", "15 mm \xC2\xB1 6.36 mm");
}

Test(letters, cut)
{
    char many[10001];
    memset(many, 'a', 10000);
    many[10000] = '\0';
    cr_expect_str_eq(text_cut(&arena, view_of("fence"), 5), "fence");
    cr_expect_str_eq(text_cut(&arena, view_of("fences"), 5), "fence... (6 letters)");
    cr_expect_str_eq(text_cut(&arena, view_of(many), 3), "aaa... (10000 letters)");
    cr_expect_str_eq(text_cut(&arena, view_of("\xE6\xBC\xA2\xE6\xBC\xA2"), 1),
                     "\xE6\xBC\xA2... (2 letters)");
    /* What must not be shown is so many letters as stand for it, a byte of zero as well. */
    cr_expect_str_eq(text_cut(&arena, (struct view){"a\0b", 3}, 6), "a\\x00b");
    cr_expect_str_eq(text_cut(&arena, view_of("a\nb"), 6), "a\\nb");
    cr_expect_str_eq(text_cut(&arena, view_of("a\nb"), 3), "a\\n... (4 letters)");
}

/* --- places --- */

Test(place, meetings)
{
    const struct place_box box = {10, 10, 20, 20};
    static const struct {
        struct place_segment segment;
        bool meets;
    } cases[] = {
        {{{0, 0}, {5, 5}}, false},    {{{0, 15}, {30, 15}}, true},
        {{{12, 12}, {13, 13}}, true}, {{{0, 0}, {9, 30}}, false},
        {{{0, 25}, {25, 0}}, true},   {{{0, 29}, {29, 0}}, true},
        {{{21, 0}, {21, 30}}, false}, {{{20, 0}, {20, 30}}, true},
        {{{0, 9}, {30, 9}}, false},   {{{22, 19}, {19, 22}}, false},
        {{{15, 15}, {15, 15}}, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        cr_expect_eq(place_segment_meets(&cases[i].segment, &box), cases[i].meets, "case %zu",
                     i);
    const struct place_box beside = {21, 10, 30, 20}, touching = {20, 20, 30, 30};
    cr_expect_not(place_boxes_meet(&box, &beside));
    cr_expect(place_boxes_meet(&box, &touching));
    const struct place_segment a = {{0, 0}, {10, 10}}, b = {{0, 10}, {10, 0}},
                               c = {{20, 0}, {30, 9}};
    cr_expect(place_segments_cross(&a, &b));
    cr_expect_not(place_segments_cross(&a, &c));
}

/* Some point of the segment within the box, by trying many. */
static bool any_within(const struct place_segment *s, const struct place_box *b)
{
    for (int i = 0; i <= 4000; i++) {
        double part = i / 4000.0;
        double x = s->from.x + part * (s->to.x - s->from.x);
        double y = s->from.y + part * (s->to.y - s->from.y);
        if (x > b->left && x < b->right && y > b->top && y < b->bottom)
            return true;
    }
    return false;
}

enum { FRAMES = 150, LABELS = 25, LINES = 40 };

/* All that a frame holds once its labels are placed. */
struct held {
    struct place_label labels[LABELS];
    struct place_segment lines[LINES];
};

static void fill(struct placer *placer, struct held *held)
{
    for (int i = 0; i < LINES; i++) {
        held->lines[i] = (struct place_segment){{whole(0, 18000), whole(0, 9000)},
                                                {whole(0, 18000), whole(0, 9000)}};
        placer_line(placer, held->lines[i].from, held->lines[i].to);
    }
    for (int i = 0; i < LABELS; i++) {
        struct place_label *label = &held->labels[i];
        *label = (struct place_label){.width = whole(500, 4000),
                                      .height = whole(400, 1200),
                                      .number_width = 450,
                                      .number_height = 500,
                                      .anchor = {whole(0, 18000), whole(0, 9000)},
                                      .has_room = i % 3 == 0};
        label->room = (struct place_box){label->anchor.x, label->anchor.y,
                                         label->anchor.x + 5000, label->anchor.y + 2000};
        place_whole(placer, label);
        if (label->how == PLACE_NOWHERE)
            place_number(placer, label);
    }
}

static bool keeps_clear(const struct held *held, int which)
{
    const struct place_label *label = &held->labels[which];
    const struct place_box *b = &label->box;
    struct place_box clear = {b->left - 65, b->top - 65, b->right + 65, b->bottom + 65};
    if (b->left < 0 || b->top < 0 || b->right > 18000 || b->bottom > 9000)
        return false;
    for (int i = 0; i < LINES; i++)
        if (any_within(&held->lines[i], &clear))
            return false;
    for (int i = 0; i < LABELS; i++) {
        const struct place_label *other = &held->labels[i];
        if (i == which || other->how == PLACE_NOWHERE)
            continue;
        if (place_boxes_meet(&clear, &other->box) ||
            (other->has_leader && any_within(&other->leader, &clear)))
            return false;
    }
    return true;
}

Test(place, nothing_over_anything)
{
    const struct place_box frame = {0, 0, 18000, 9000};
    size_t placed = 0, numbers = 0;
    for (int f = 0; f < FRAMES; f++) {
        struct placer placer;
        static struct held held;
        placer_init(&placer, &arena, &frame);
        fill(&placer, &held);
        for (int i = 0; i < LABELS; i++) {
            if (held.labels[i].how == PLACE_NOWHERE)
                continue;
            placed++;
            numbers += held.labels[i].how == PLACE_NUMBER;
            cr_expect(keeps_clear(&held, i), "frame %d, label %d", f, i);
        }
    }
    /* Frames as full as these have no room for all, but for most. */
    cr_expect_gt(placed, (size_t)FRAMES * LABELS * 8 / 10);
    cr_expect_gt(placed - numbers, (size_t)FRAMES * LABELS / 4);
}

Test(place, no_room_is_said)
{
    const struct place_box frame = {0, 0, 300, 300};
    struct placer placer;
    struct place_label label = {
        .width = 400, .height = 400, .number_width = 200, .number_height = 200};
    placer_init(&placer, &arena, &frame);
    place_whole(&placer, &label);
    cr_expect_eq(label.how, PLACE_NOWHERE);
    placer_line(&placer, (struct place_point){0, 0}, (struct place_point){300, 300});
    placer_line(&placer, (struct place_point){300, 0}, (struct place_point){0, 300});
    place_number(&placer, &label);
    cr_expect_eq(label.how, PLACE_NOWHERE);
}

Test(place, columns_stay_in_order)
{
    const struct place_box frame = {0, 0, 9000, 9000};
    for (int round = 0; round < 200; round++) {
        struct placer placer;
        struct place_label labels[7], *column[7];
        placer_init(&placer, &arena, &frame);
        for (int i = 0; i < 7; i++) {
            labels[i] = (struct place_label){
                .width = 3000, .height = 800, .anchor = {3000, whole(0, 9000)}};
            column[i] = &labels[i];
        }
        place_column(&placer, column, 7, 4000);
        for (int i = 0; i < 7; i++) {
            cr_expect_eq(column[i]->how, PLACE_WHOLE, "round %d, label %d", round, i);
            cr_expect_eq(column[i]->box.left, 4000);
            if (i)
                cr_expect(column[i]->anchor.y >= column[i - 1]->anchor.y &&
                          column[i]->box.top > column[i - 1]->box.bottom);
        }
    }
}

/* --- sheets --- */

Test(sheet, bars_are_round)
{
    static const struct {
        struct sheet_scale scale;
        const char *text;
        const char *unit;
        double most, metres;
    } cases[] = {
        {{1, 10}, "1:10", "mm", 55, 0.5},   {{1, 20}, "1:20", "mm", 55, 1},
        {{1, 1}, "1:1", "mm", 55, 0.05},    {{10, 1}, "10:1", "mm", 55, 0.005},
        {{1, 10}, "1:10", "in", 55, 0.508}, {{1, 5000}, "1:5000", "mm", 55, 200},
        {{2, 1}, "2:1", "in", 55, 0.0254},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double metres =
            sheet_bar(&cases[i].scale, unit_read(view_of(cases[i].unit)), cases[i].most);
        cr_expect_float_eq(metres, cases[i].metres, 1e-12, "case %zu: %g", i, metres);
        cr_expect_str_eq(sheet_scale_text(&arena, &cases[i].scale), cases[i].text);
    }
}

/* --- nearest points --- */

static struct plane_rectangle some_area(double size)
{
    double x = draw(-1, 1), y = draw(-1, 1);
    return (struct plane_rectangle){x, x + draw(0, size), y, y + draw(0, size)};
}

Test(near, as_far_as_motion_says)
{
    unsigned apart = 0, together = 0;
    for (int i = 0; i < 5000; i++) {
        struct plane_rectangle from = some_area(i % 2 ? 0 : 0.4),
                               to = some_area(i % 3 ? 0 : 0.4);
        struct plane_rectangle box = some_area(0.6);
        struct plane_hull hull;
        struct plane_point a, b;
        plane_sweep(&hull, &from, &to);
        near_points(&hull, &box, &a, &b);
        double distance = plane_hull_to_rectangle(&hull, &box);
        cr_expect_float_eq(plane_point_distance(a, b), distance, 1e-12);
        cr_expect_float_eq(plane_point_to_rectangle(b, &box), 0, 1e-12);
        cr_expect_float_eq(plane_point_to_hull(a, &hull), 0, 1e-12);
        apart += distance > 0;
        together += distance == 0;
    }
    cr_expect(apart > 500 && together > 500, "%u, %u", apart, together);
}
