/* What a whole change leaves to each obstacle: worked out by hand, and by going through all
 * pairs. */
#include <criterion/criterion.h>

#include "motion/obstacles.h"
#include "near.h"
#include "world.h"

static struct world world;

static void begin(void)
{
    world_begin(&world);
}

static void end(void)
{
    world_end(&world);
}

TestSuite(obstacles, .init = begin, .fini = end);

enum { FENCE, POST, CLAMP };

struct question {
    const char *what;
    const char *put[8][2];
    uint32_t obstacle;
    bool at_setter;
    double nominal, low; /* mm */
    enum move_kind move;
    enum clearance_body body;
    uint32_t length_of, width_of;
};

/* The longest cutter, 2, is 45 ± 5 mm and hangs 55.02 mm below traverse -5 ± 0.02 mm at worst:
 * its tip at -55.02; its radius is 4 mm. The widest, 3, has a radius of 14 mm, and its tip is
 * at -48.02 at worst.  Tops, as noses: fence -125, post -65, clamp -75.  The way from anywhere
 * in the work area to the setter leads 1 mm past the post for a radius of 4 mm; that to park
 * over it. */
static const struct question questions[] = {
    /* 175 mm behind the work area, so 161 from the side of the widest; 82 above, 76.98 at worst
     */
    {"off the edge",
     {{0}},
     FENCE,
     false,
     180.6792738528689,
     178.45705477789326,
     MOVE_TO_SETTER,
     BODY_CUTTER,
     2,
     2},
    {"straight above", {{0}}, POST, false, 15, 9.98, MOVE_TO_PARK, BODY_CUTTER, 1, 1},
    {"too low",
     {{"change.traverse_z", "-16 mm"}},
     POST,
     false,
     4,
     -1.02,
     MOVE_TO_PARK,
     BODY_CUTTER,
     1,
     1},
    {"a tolerance of the table counts once",
     {{"table.nose_contact", "-165 mm ± 1 mm"}},
     POST,
     false,
     15,
     8.98,
     MOVE_TO_PARK,
     BODY_CUTTER,
     1,
     1},
    {"no repeatability given",
     {{"homing.z.repeatability", NULL}},
     POST,
     false,
     15,
     10,
     MOVE_TO_PARK,
     BODY_CUTTER,
     1,
     1},
    {"none listed: the range",
     {{"cutters[0].stickout", NULL}},
     POST,
     false,
     20,
     4.98,
     MOVE_TO_PARK,
     BODY_CUTTER,
     0,
     0},
    /* the shoe is the widest and hangs at -30.02 */
    {"a shoe above",
     {{"spindle.shoe.removed", "no"}, {"obstacles[1].top", "150 mm"}},
     POST,
     false,
     -15,
     -15.02,
     MOVE_TO_SETTER,
     BODY_SHOE,
     RECORD_NONE,
     RECORD_NONE},
    {"a shoe into a wall",
     {{"spindle.shoe.removed", "no"},
      {"obstacles[0].y", "[440 mm, 450 mm]"},
      {"obstacles[0].top", "150 mm"}},
     FENCE,
     false,
     -5,
     -5,
     MOVE_TO_SETTER,
     BODY_SHOE,
     RECORD_NONE,
     RECORD_NONE},
    {"a shoe that is not said to be off stays on",
     {{"spindle.shoe.removed", NULL},
      {"obstacles[0].y", "[440 mm, 450 mm]"},
      {"obstacles[0].top", "150 mm"}},
     FENCE,
     false,
     -5,
     -5,
     MOVE_TO_SETTER,
     BODY_SHOE,
     RECORD_NONE,
     RECORD_NONE},
    {"its footprint's own tolerance",
     {{"obstacles[0].y", "[440 mm ± 2 mm, 450 mm]"},
      {"obstacles[0].top", "150 mm"},
      {"spindle.nut_diameter", "20 mm"}},
     FENCE,
     false,
     26,
     24,
     MOVE_TO_SETTER,
     BODY_CUTTER,
     2,
     2},
    /* under the way to park */
    {"the old one is not touched",
     {{"change.touches_old", "no"}, {"change.park.y", "590 mm"}, {"change.park.x", "50 mm"}},
     FENCE,
     false,
     75,
     69.98,
     MOVE_TO_PARK,
     BODY_CUTTER,
     1,
     1},
    {"neither touched nor returned: only by way of park",
     {{"change.touches_old", "no"},
      {"change.returns_to_start", "no"},
      {"change.traverse_z", "-60 mm"},
      {"change.park.x", "700 mm"},
      {"change.park.y", "300 mm"},
      {"obstacles[2].x", "[300 mm, 310 mm]"},
      {"obstacles[2].y", "[40 mm, 50 mm]"}},
     CLAMP,
     false,
     36,
     36,
     MOVE_TO_PARK,
     BODY_CUTTER,
     2,
     2},

    /* The tip at -125 ± 0.1 mm; the shortest, 1, is at least 27 mm: its nut at -98.1. */
    {"the nut beside", {{0}}, CLAMP, true, 3, 3, MOVE_PROBE, BODY_NUT, 0, RECORD_NONE},
    {"the nut above, the cutter beside",
     {{"obstacles[2].top", "50 mm"}},
     CLAMP,
     true,
     6,
     6,
     MOVE_PROBE,
     BODY_CUTTER,
     RECORD_NONE,
     2},
    {"the cutter above",
     {{"obstacles[2].top", "30 mm"}},
     CLAMP,
     true,
     11.661903789690601,
     11.576268828944869,
     MOVE_PROBE,
     BODY_CUTTER,
     RECORD_NONE,
     2},
    {"the shoe",
     {{"spindle.shoe.removed", "no"}},
     CLAMP,
     true,
     -25,
     -25,
     MOVE_PROBE,
     BODY_SHOE,
     0,
     RECORD_NONE},
    {"the shoe over it",
     {{"spindle.shoe.removed", "no"}, {"obstacles[2].top", "38 mm"}},
     CLAMP,
     true,
     9,
     3.9,
     MOVE_PROBE,
     BODY_SHOE,
     0,
     RECORD_NONE},
};

static const struct field_use *use_of(const struct field_uses *uses, enum field_id id,
                                      uint32_t record)
{
    for (uint32_t i = 0; i < uses->count; i++)
        if (uses->items[i].field == id && uses->items[i].record == record)
            return &uses->items[i];
    return NULL;
}

static bool decides(const struct obstacles *view, struct obstacle_room *room, enum field_id id,
                    uint32_t record)
{
    const struct field_use *use = use_of(obstacles_read(view, room), id, record);
    return use && use->decides;
}

static void ask(struct obstacles *view, uint32_t obstacle, bool at_setter,
                struct obstacle_room *room)
{
    if (at_setter)
        obstacles_at_setter(view, obstacle, room);
    else
        obstacles_sideways(view, obstacle, room);
}

static void check_question(const struct question *question)
{
    struct obstacles view;
    struct obstacle_room room;
    for (size_t i = 0; i < 8 && question->put[i][0]; i++)
        world_put(&world, question->put[i][0], question->put[i][1]);
    obstacles_look(&view, &world.machine);
    ask(&view, question->obstacle, question->at_setter, &room);
    cr_expect(near(room.value.nominal * 1000, question->nominal, 1000), "%s: nominal %.17g",
              question->what, room.value.nominal * 1000);
    cr_expect(near(room.value.low * 1000, question->low, 1000), "%s: low %.17g", question->what,
              room.value.low * 1000);
    cr_expect_eq(room.move, question->move, "%s: %s", question->what, move_name(room.move));
    cr_expect_eq(room.body, question->body, "%s: %s", question->what,
                 clearance_body_name(room.body));
    cr_expect_eq(room.length_of, question->length_of, "%s", question->what);
    cr_expect_eq(room.width_of, question->width_of, "%s", question->what);
    cr_expect_eq(room.missing.count, 0, "%s", question->what);
    cr_expect(decides(&view, &room, FIELD_OBSTACLE_TOP, question->obstacle), "%s",
              question->what);
    cr_expect(decides(&view, &room, FIELD_TABLE_NOSE_CONTACT, 0), "%s", question->what);
    if (room.width_of != RECORD_NONE)
        cr_expect(decides(&view, &room, FIELD_CUTTER_DIAMETER, room.width_of), "%s",
                  question->what);
    if (room.length_of == 0 && question->at_setter)
        cr_expect(decides(&view, &room, FIELD_CUTTER_STICKOUT, 0), "%s", question->what);
}

Test(obstacles, by_hand)
{
    for (size_t i = 0; i < sizeof questions / sizeof questions[0]; i++) {
        check_question(&questions[i]);
        world_end(&world);
        world_begin(&world);
    }
}

/* What the result says it rests on. */
Test(obstacles, says_what_it_read)
{
    struct obstacles view;
    struct obstacle_room room;
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, POST, &room);
    const struct field_uses *read = obstacles_read(&view, &room);
    static const struct {
        enum field_id field;
        uint32_t record;
        bool decides;
        double width; /* mm */
    } rows[] = {
        {FIELD_CHANGE_TRAVERSE_Z, 0, true, 0},     {FIELD_HOMING_REPEATABILITY, 2, true, 0.02},
        {FIELD_TABLE_NOSE_CONTACT, 0, true, 0},    {FIELD_OBSTACLE_X, POST, true, 0},
        {FIELD_CUTTER_STICKOUT, 1, true, 0},       {FIELD_ALLOWANCES_RESEAT, 0, true, 5},
        {FIELD_CUTTER_DIAMETER, 1, true, 0},       {FIELD_WORK_X, 0, false, 0},
        {FIELD_SETTER_AT_X, 0, true, 0},           {FIELD_CHANGE_PARK_X, 0, true, 0},
        {FIELD_SPINDLE_NUT_DIAMETER, 0, false, 0}, {FIELD_SPINDLE_SHOE_REMOVED, 0, false, 0},
        {FIELD_CHANGE_TOUCHES_OLD, 0, false, 0},   {FIELD_HOMING_ORDER, 0, false, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct field_use *use = use_of(read, rows[i].field, rows[i].record);
        const char *path = field_path(&world.arena, rows[i].field);
        cr_assert(use, "%s", path);
        cr_expect_eq(use->decides, rows[i].decides, "%s", path);
        cr_expect(near(use->width * 1000, rows[i].width, 1), "%s: %g", path, use->width);
    }
    cr_expect_null(use_of(read, FIELD_SETTER_NOSE_CONTACT, 0));
    cr_expect_lt(read->count, FIELD_USES);
}

static const struct {
    const char *path;
    bool at_setter;
    enum field_id field;
    uint32_t record;
    bool computed; /* something is known all the same */
} gaps[] = {
    {"change.traverse_z", false, FIELD_CHANGE_TRAVERSE_Z, 0, false},
    {"table.nose_contact", false, FIELD_TABLE_NOSE_CONTACT, 0, false},
    {"obstacles[1].x", false, FIELD_OBSTACLE_X, 1, false},
    {"obstacles[1].top", true, FIELD_OBSTACLE_TOP, 1, false},
    {"work.y", false, FIELD_WORK_Y, 0, true}, /* park and setter are known */
    {"change.park.x", false, FIELD_CHANGE_PARK_X, 0, true},
    {"setter.at.x", false, FIELD_SETTER_AT_X, 0, false},
    {"setter.at.x", true, FIELD_SETTER_AT_X, 0, false},
    {"setter.nose_contact", true, FIELD_SETTER_NOSE_CONTACT, 0, false},
    {"spindle.nut_diameter", false, FIELD_SPINDLE_NUT_DIAMETER, 0, true},
    {"spindle.nut_diameter", true, FIELD_SPINDLE_NUT_DIAMETER, 0, true},
    {"cutters[0].diameter", false, FIELD_CUTTER_DIAMETER, 0, true},
    {"cutters[2].diameter", true, FIELD_CUTTER_DIAMETER, 2, true},
    {"change.touches_old", false, FIELD_CHANGE_TOUCHES_OLD, 0, false},
    {"homing.order", false, FIELD_HOMING_ORDER, 0, false},
    {"change.measures_with", true, FIELD_CHANGE_MEASURES_WITH, 0, false},
};

Test(obstacles, names_what_is_missing)
{
    for (size_t i = 0; i < 2 * sizeof gaps / sizeof gaps[0]; i++) {
        size_t row = i / 2;
        struct obstacles view;
        struct obstacle_room room;
        if (i % 2)
            world_spoil(&world, gaps[row].path);
        else
            world_put(&world, gaps[row].path, NULL);
        obstacles_look(&view, &world.machine);
        ask(&view, POST, gaps[row].at_setter, &room);
        cr_assert_eq(room.missing.count, 1, "%s: %u missing", gaps[row].path,
                     room.missing.count);
        cr_expect_eq(room.missing.items[0].field, gaps[row].field, "%s", gaps[row].path);
        cr_expect_eq(room.missing.items[0].record, gaps[row].record, "%s", gaps[row].path);
        cr_expect_eq(room.missing.items[0].wrong, i % 2 == 1, "%s", gaps[row].path);
        cr_expect_eq(isfinite(room.value.low), gaps[row].computed, "%s", gaps[row].path);
        world_end(&world);
        world_begin(&world);
    }
}

/* One half wrong or absent makes a pair unknown. */
Test(obstacles, half_a_pair_is_none)
{
    struct field_value *x = machine_field_put(&world.machine, FIELD_OBSTACLE_X, POST);
    for (int i = 0; i < 4; i++) {
        struct obstacles view;
        struct obstacle_room room;
        x->pair[i / 2].state = i % 2 ? VALUE_WRONG : VALUE_ABSENT;
        obstacles_look(&view, &world.machine);
        ask(&view, POST, false, &room);
        cr_assert_eq(room.missing.count, 1, "case %d", i);
        cr_expect(room.missing.items[0].wrong, "case %d", i);
        cr_expect(isinf(room.value.low), "case %d", i);
        x->pair[i / 2].state = VALUE_GIVEN;
    }
}

Test(obstacles, other_gaps)
{
    struct obstacles view;
    struct obstacle_room room;
    /* A cutter without a stick-out and no range for it: the range is what is wanted. */
    world_put(&world, "cutters[0].stickout", NULL);
    world_put(&world, "cutters[1].stickout", NULL);
    world_put(&world, "change.stickout_range", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, POST, &room);
    cr_assert_eq(room.missing.count, 1);
    cr_expect_eq(room.missing.items[0].field, FIELD_CHANGE_STICKOUT_RANGE);
    cr_expect_eq(room.length_of, 2); /* the one that is known */
    /* A list that is not known to the end. */
    world_end(&world);
    world_begin(&world);
    world.machine.groups[GROUP_CUTTER].wrong = true;
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, POST, &room);
    cr_assert_eq(room.missing.count, 2);
    cr_expect_eq(room.missing.items[0].record, RECORD_NONE);
    /* A shoe half described. */
    world_end(&world);
    world_begin(&world);
    world_put(&world, "spindle.shoe.removed", "no");
    world_put(&world, "spindle.shoe.diameter", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, POST, &room);
    cr_assert_eq(room.missing.count, 1);
    cr_expect_eq(room.missing.items[0].field, FIELD_SPINDLE_SHOE_DIAMETER);
    world_put(&world, "spindle.shoe.below_nose", NULL); /* none at all: none there */
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, POST, &room);
    cr_expect_eq(room.missing.count, 0);
}

/* With a plate, and without homing, most moves cannot be looked at: none is made up. */
Test(obstacles, what_nobody_can_know)
{
    struct obstacles view;
    struct obstacle_room room;
    world_put(&world, "change.measures_with", "plate");
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, FENCE, &room);
    cr_expect(isinf(room.value.low));
    cr_expect_eq(room.missing.count, 0);
    world_put(&world, "change.touches_old", "no");
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, FENCE, &room);
    cr_expect(isfinite(room.value.low)); /* from the work area to park */
    cr_expect_eq(room.move, MOVE_TO_PARK);
    obstacles_at_setter(&view, FENCE, &room);
    cr_expect(isinf(room.value.low));
    world_put(&world, "homing.order", "none");
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, FENCE, &room);
    cr_expect(isinf(room.value.low));
    cr_expect_eq(room.missing.count, 0);
}

/* The same numbers on every run. */
struct dice {
    uint64_t state;
};

static double roll(struct dice *dice, double low, double high)
{
    dice->state = dice->state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(dice->state >> 11) * 0x1p-53;
}

static void set(enum field_id id, uint32_t record, double si)
{
    struct field_value *value = machine_field_put(&world.machine, id, record);
    *value = (struct field_value){.state = VALUE_GIVEN};
    value->si = si;
}

static void set_pair(struct dice *dice, enum field_id id, uint32_t record, double from,
                     double to)
{
    struct field_value *value = machine_field_put(&world.machine, id, record);
    double low = roll(dice, from, to);
    value->pair[0].si = low;
    value->pair[1].si = low + roll(dice, 0, 0.2);
}

static void shuffle_world(struct dice *dice)
{
    for (uint32_t c = 0; c < 3; c++) {
        set(FIELD_CUTTER_STICKOUT, c, roll(dice, 0.01, 0.09));
        set(FIELD_CUTTER_DIAMETER, c, roll(dice, 0.003, 0.05));
        set(FIELD_CUTTER_SHANK, c, roll(dice, 0.003, 0.08));
        set(FIELD_CUTTER_FLUTE_LENGTH, c, roll(dice, 0, 0.04));
    }
    set(FIELD_CHANGE_TRAVERSE_Z, 0, roll(dice, -0.08, 0));
    set(FIELD_CHANGE_PARK_X, 0, roll(dice, 0, 0.8));
    set(FIELD_CHANGE_PARK_Y, 0, roll(dice, 0, 0.6));
    set(FIELD_CHANGE_PARK_Z, 0, roll(dice, -0.14, 0));
    set(FIELD_CHANGE_STANDOFF, 0, roll(dice, -0.02, 0.02));
    set(FIELD_SETTER_AT_X, 0, roll(dice, 0, 0.8));
    set(FIELD_SETTER_AT_Y, 0, roll(dice, 0, 0.6));
    for (uint32_t o = 0; o < 3; o++) {
        set_pair(dice, FIELD_OBSTACLE_X, o, -0.1, 0.8);
        set_pair(dice, FIELD_OBSTACLE_Y, o, -0.1, 0.6);
        set(FIELD_OBSTACLE_TOP, o, roll(dice, 0, 0.2));
    }
    machine_field_put(&world.machine, FIELD_SPINDLE_SHOE_REMOVED, 0)->flag =
        roll(dice, 0, 1) < 0.5;
}

/* The least that one cutter alone leaves to an obstacle. */
static double with_one(uint32_t cutter, uint32_t obstacle, bool at_setter)
{
    struct machine one = world.machine;
    struct obstacles view;
    struct obstacle_room room;
    one.groups[GROUP_CUTTER].values =
        ARENA_ARRAY(&world.arena, struct field_value, field_group_width(GROUP_CUTTER));
    one.groups[GROUP_CUTTER].count = 1;
    for (enum field_id id = group_table[GROUP_CUTTER].first; id < group_table[GROUP_CUTTER].end;
         id++)
        *machine_field_put(&one, id, 0) = *machine_field(&world.machine, id, cutter);
    obstacles_look(&view, &one);
    ask(&view, obstacle, at_setter, &room);
    return room.value.low;
}

/* What the rules are told of what a move comes nearest to. */
static double as_ruled(struct obstacles *view, const struct move *move)
{
    struct obstacle_room room;
    bool parks = move->kind == MOVE_PARK_HEIGHT || move->kind == MOVE_LIFT;
    if (parks)
        obstacles_at_park(view, move->cutter, &room);
    else if (move->to_what == TO_OBSTACLE)
        ask(view, move->obstacle, !move->moves[0], &room);
    else if (!move->moves[0])
        obstacles_going_down(view, move->cutter, &room);
    else if (move->clearance.body == BODY_CUTTER || move->clearance.body == BODY_SHANK)
        return -INFINITY; /* rules compare the tip's height with those of setter and work */
    else
        obstacles_beside_way(view, &room);
    return room.value.low;
}

/* The whole list against each of its cutters; and no move of a change between any two of them
 * comes nearer than the rules are told. */
Test(obstacles, the_list_is_the_worst_of_its_cutters)
{
    struct dice dice = {20270331};
    world_put(&world, "machine.gantry_underside", "1 m");
    for (int round = 0; round < 300; round++) {
        shuffle_world(&dice);
        struct obstacles view;
        struct obstacle_room room;
        obstacles_look(&view, &world.machine);
        for (uint32_t o = 0; o < 6; o++) {
            double least = INFINITY;
            for (uint32_t c = 0; c < 3; c++)
                least = fmin(least, with_one(c, o % 3, o >= 3));
            ask(&view, o % 3, o >= 3, &room);
            cr_assert_eq(room.value.low, least, "round %d, obstacle %u", round, o);
        }
        uint32_t looked = 0;
        for (uint32_t pair = 0; pair < 9; pair++) {
            struct change change;
            struct change_request request = {.from = pair / 3, .to = pair % 3};
            cr_assert(change_plan(&change, &world.machine, &request));
            for (uint32_t i = 0; i < change.count; i++) {
                const struct move *move = &change.moves[i];
                if (!move_wants_room(&change, move))
                    continue;
                cr_assert(move->has_clearance && move->whole, "%s", move_name(move->kind));
                cr_assert_geq(move->clearance.value.low, as_ruled(&view, move), "round %d: %s",
                              round, move_name(move->kind));
                looked++;
            }
        }
        cr_assert_geq(looked, 9 * 8);
    }
}

/* Makes a list of so many like its first. */
static void repeat_first(enum field_group id, uint32_t count)
{
    struct machine_group *group = &world.machine.groups[id];
    uint32_t width = field_group_width(id);
    struct field_value *values = arena_alloc(&world.arena, count * width * sizeof *values);
    for (uint32_t i = 0; i < count * width; i++)
        values[i] = group->count ? group->values[i / count * group->count]
                                 : (struct field_value){.state = VALUE_ABSENT};
    group->values = values;
    group->count = count;
}

/* What hangs beside the spindle goes its own way: the laser head 60 mm to the left of the axis
 * passes where nothing else does. */
Test(obstacles, attachments)
{
    struct obstacles view;
    struct obstacle_room room;
    repeat_first(GROUP_ATTACHMENT, 1);
    world_put(&world, "attachments[0].x", "-60 mm ± 0.3 mm");
    world_put(&world, "attachments[0].y", "0 mm ± 0.4 mm");
    world_put(&world, "attachments[0].diameter", "50 mm");
    world_put(&world, "attachments[0].above_nose", "-20 mm ± 1 mm");
    /* with the tip on the setter its middle is at X 710, 30 to the left of the clamp; underside
     * at -98.1 - 21 = -119.1, below the clamp's top; its edge may be 0.5 further out */
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, CLAMP, &room);
    cr_expect_eq(room.body, BODY_NUT); /* 3 mm */
    world_put(&world, "attachments[0].diameter", "56 mm");
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, CLAMP, &room);
    cr_expect_eq(room.body, BODY_ATTACHMENT);
    cr_expect_eq(room.attachment, 0);
    cr_expect(near(room.value.low * 1000, 1.5, 1000), "%.17g", room.value.low * 1000);
    cr_expect(near(room.value.nominal * 1000, 2, 1000), "%.17g", room.value.nominal * 1000);
    cr_expect(decides(&view, &room, FIELD_ATTACHMENT_DIAMETER, 0));
    cr_expect(decides(&view, &room, FIELD_ATTACHMENT_X, 0));
    cr_expect_not(decides(&view, &room, FIELD_SPINDLE_NUT_DIAMETER, 0));
    /* at the work as well: nothing of it is dropped where a field is missing */
    world_put(&world, "attachments[0].above_nose", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_beside_way(&view, &room);
    cr_assert_eq(room.missing.count, 1);
    cr_expect_eq(room.missing.items[0].field, FIELD_ATTACHMENT_ABOVE_NOSE);
}

/* How wide the setter is matters only to what does not come down over its middle. */
Test(obstacles, beside_the_setter)
{
    struct obstacles view;
    struct obstacle_room room;
    world_put(&world, "table.nose_contact", "-300 mm");
    world_put(&world, "setter.body", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_going_down(&view, 0, &room);
    cr_expect_eq(room.missing.count, 0);
    repeat_first(GROUP_ATTACHMENT, 1);
    world_put(&world, "attachments[0].diameter", "40 mm");
    world_put(&world, "attachments[0].above_nose", "-60 mm");
    for (int along_y = 0; along_y < 2; along_y++) {
        world_put(&world, "attachments[0].x", along_y ? "0 mm" : "-60 mm");
        world_put(&world, "attachments[0].y", along_y ? "-60 mm" : "0 mm");
        world_put(&world, "setter.body", NULL);
        obstacles_look(&view, &world.machine);
        obstacles_going_down(&view, 0, &room);
        cr_assert_eq(room.missing.count, 1);
        cr_expect_eq(room.missing.items[0].field, FIELD_SETTER_BODY);
        /* its edge 40 from the setter's middle, lower than the setter's top */
        world_put(&world, "setter.body", "46 mm");
        obstacles_look(&view, &world.machine);
        obstacles_going_down(&view, 0, &room);
        cr_expect_eq(room.body, BODY_ATTACHMENT);
        cr_expect_eq(room.to, TO_SETTER);
        cr_expect(near(room.value.low * 1000, 17, 1000), "%.17g", room.value.low * 1000);
    }
}

/* No move comes near the setter: not what hangs on the spindle, nor the beam above it. */
static void expect_no_setter(void)
{
    struct obstacles view;
    struct obstacle_room room;
    struct change change;
    struct change_request request = {.from = 0, .to = 1};
    obstacles_look(&view, &world.machine);
    obstacles_beside_way(&view, &room);
    cr_expect_eq(room.to, TO_WORK);
    cr_expect_eq(room.missing.count, 0);
    obstacles_at_park(&view, 0, &room);
    cr_expect_eq(room.to, TO_WORK);
    cr_expect_eq(room.missing.count, 0);
    cr_assert(change_plan(&change, &world.machine, &request));
    uint32_t looked = 0;
    for (uint32_t i = 0; i < change.count; i++) {
        looked += change.moves[i].has_clearance;
        cr_expect_neq(change.moves[i].to_what, TO_SETTER);
    }
    cr_expect_geq(looked, 2);
}

/* A machine that measures with the plate may have a setter too, put away: it is in nobody's
 * way, and nobody has to say where it is. */
Test(obstacles, the_setter_does_not_count_with_a_plate)
{
    world_put(&world, "change.measures_with", "plate");
    world_put(&world, "change.touches_old", "no");
    world_put(&world, "setter.nose_contact", "-10 mm");
    expect_no_setter(); /* beside the way, and high */
    world_put(&world, "setter.at.x", "400 mm");
    world_put(&world, "setter.at.y", "60 mm");
    expect_no_setter(); /* under it */
    world_put(&world, "setter.nose_contact", NULL);
    world_put(&world, "setter.at.x", NULL);
    expect_no_setter();
}

/* What was looked at for one cutter is kept for the next: it makes no difference. */
Test(obstacles, no_answer_hangs_on_those_before)
{
    struct dice dice = {20270411};
    repeat_first(GROUP_ATTACHMENT, 1);
    world_put(&world, "attachments[0].x", "-60 mm");
    world_put(&world, "attachments[0].y", "0 mm");
    world_put(&world, "attachments[0].diameter", "40 mm");
    world_put(&world, "attachments[0].above_nose", "-20 mm");
    for (int round = 0; round < 100; round++) {
        struct obstacles view, fresh;
        struct obstacle_room room, other;
        shuffle_world(&dice);
        world_put(&world, "setter.body", round % 3 ? "46 mm" : NULL);
        obstacles_look(&view, &world.machine);
        for (uint32_t i = 0; i < 6; i++) {
            void (*asked)(struct obstacles *, uint32_t, struct obstacle_room *) =
                i % 2 ? obstacles_at_park : obstacles_going_down;
            obstacles_look(&fresh, &world.machine);
            asked(&view, i / 2, &room);
            asked(&fresh, i / 2, &other);
            cr_assert_eq(room.value.low, other.value.low, "round %d", round);
            cr_assert_eq(room.value.nominal, other.value.nominal, "round %d", round);
            cr_assert_eq(room.to, other.to, "round %d", round);
            cr_assert_eq(room.missing.count, other.missing.count, "round %d", round);
            cr_assert_eq(obstacles_read(&view, &room)->count,
                         obstacles_read(&fresh, &other)->count, "round %d", round);
        }
    }
}

/* More than there is room for are named, not forgotten. */
Test(obstacles, too_many_attachments)
{
    struct obstacles view;
    struct obstacle_room room;
    repeat_first(GROUP_ATTACHMENT, 1);
    world_put(&world, "attachments[0].x", "0 mm");
    world_put(&world, "attachments[0].y", "100 mm");
    world_put(&world, "attachments[0].diameter", "10 mm");
    world_put(&world, "attachments[0].above_nose", "0 mm");
    repeat_first(GROUP_ATTACHMENT, CLEARANCE_PARTS + 2);
    obstacles_look(&view, &world.machine);
    obstacles_beside_way(&view, &room);
    cr_expect(isfinite(room.value.low));
    cr_assert_geq(room.missing.count, 2);
    cr_expect_eq(room.missing.items[0].field, FIELD_ATTACHMENT_DIAMETER);
    obstacles_sideways(&view, POST, &room);
    cr_expect_geq(room.missing.count, 2);
}

/* The shank is thicker than the edge, and comes down beside the clamp where the edge does not
 * reach: 25 + 12 above the tip. */
Test(obstacles, a_thick_shank)
{
    struct obstacles view;
    struct obstacle_room room;
    world_put(&world, "spindle.nut_diameter", "10 mm");
    world_put(&world, "cutters[0].shank", "36 mm");
    world_put(&world, "cutters[0].flute_length", "37 mm");
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, CLAMP, &room); /* top 50 above the setter */
    cr_expect_eq(room.body, BODY_SHANK);
    cr_expect_eq(room.width_of, 0);
    cr_expect(near(room.value.low * 1000, 2, 1000), "%.17g", room.value.low * 1000);
    cr_expect(decides(&view, &room, FIELD_CUTTER_FLUTE_LENGTH, 0));
    cr_expect(decides(&view, &room, FIELD_CUTTER_SHANK, 0));
    world_put(&world, "cutters[0].flute_length", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, CLAMP, &room);
    cr_assert_eq(room.missing.count, 1);
    cr_expect_eq(room.missing.items[0].field, FIELD_CUTTER_FLUTE_LENGTH);
    world_put(&world, "cutters[0].shank", NULL);
    obstacles_look(&view, &world.machine);
    obstacles_at_setter(&view, CLAMP, &room);
    cr_assert_eq(room.missing.count, 1);
    cr_expect_eq(room.missing.items[0].field, FIELD_CUTTER_SHANK);
}

/* More parts than are kept apart: none of them comes nearer than what they are joined to. */
Test(obstacles, a_list_with_many_that_count)
{
    enum { CUTTERS = 200 };
    struct dice dice = {20270402};
    repeat_first(GROUP_CUTTER, CUTTERS);
    for (uint32_t i = 0; i < CUTTERS; i++) { /* the longer, the narrower */
        set(FIELD_CUTTER_STICKOUT, i, 0.03 + i * 0.0002);
        set(FIELD_CUTTER_DIAMETER, i, 0.05 - i * 0.0002);
        set(FIELD_CUTTER_SHANK, i, 0.003);
    }
    for (int round = 0; round < 50; round++) {
        set(FIELD_CHANGE_TRAVERSE_Z, 0, roll(&dice, -0.08, 0));
        set_pair(&dice, FIELD_OBSTACLE_Y, FENCE, 0.35, 0.45);
        set(FIELD_OBSTACLE_TOP, FENCE, roll(&dice, 0.05, 0.15));
        struct obstacles view;
        struct obstacle_room room;
        double least = INFINITY;
        for (uint32_t c = 0; c < CUTTERS; c++)
            least = fmin(least, with_one(c, FENCE, false));
        obstacles_look(&view, &world.machine);
        obstacles_sideways(&view, FENCE, &room);
        cr_assert_leq(room.value.low, least);
        cr_assert_geq(room.value.low, least - 0.002, "round %d: %g, not %g", round,
                      room.value.low, least);
    }
}

struct pair_case {
    const char *what;
    const char *put[8][2];
    uint32_t count;
    struct cutter_pair pair;
};

static const struct pair_case pairs[] = {
    {"the widest out, the longest in", {{0}}, 3, {2, 1, PAIR_WIDEST, PAIR_LONGEST}},
    {"the longest is the widest",
     {{"cutters[1].diameter", "40 mm"}},
     3,
     {2, 1, PAIR_SECOND_LONGEST, PAIR_LONGEST}},
    {"of equals the first",
     {{"cutters[0].stickout", "45 mm"}, {"cutters[0].diameter", "28 mm"}},
     3,
     {1, 0, PAIR_SECOND_LONGEST, PAIR_LONGEST}},
    {"one of unknown length counts as its longest",
     {{"cutters[0].stickout", NULL}},
     3,
     {2, 0, PAIR_WIDEST, PAIR_LONGEST}},
    {"no widths",
     {{"cutters[0].diameter", NULL},
      {"cutters[1].diameter", NULL},
      {"cutters[2].diameter", NULL}},
     3,
     {2, 1, PAIR_SECOND_LONGEST, PAIR_LONGEST}},
    {"no lengths",
     {{"cutters[0].stickout", NULL},
      {"cutters[1].stickout", NULL},
      {"cutters[2].stickout", NULL},
      {"change.stickout_range", NULL}},
     3,
     {2, 0, PAIR_WIDEST, PAIR_FIRST}},
    {"nothing known",
     {{"cutters[0].stickout", NULL},
      {"cutters[1].stickout", NULL},
      {"change.stickout_range", NULL},
      {"cutters[0].diameter", NULL},
      {"cutters[1].diameter", NULL}},
     2,
     {1, 0, PAIR_FIRST, PAIR_FIRST}},
    {"only one", {{0}}, 1, {0, 0, PAIR_ONLY, PAIR_ONLY}},
};

Test(obstacles, worst_pair)
{
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        struct cutter_pair pair;
        for (size_t k = 0; k < 8 && pairs[i].put[k][0]; k++)
            world_put(&world, pairs[i].put[k][0], pairs[i].put[k][1]);
        world_keep(&world, GROUP_CUTTER, pairs[i].count);
        cr_assert(cutters_worst_pair(&pair, &world.machine));
        cr_expect_eq(pair.from, pairs[i].pair.from, "%s: from %u", pairs[i].what, pair.from);
        cr_expect_eq(pair.to, pairs[i].pair.to, "%s: to %u", pairs[i].what, pair.to);
        cr_expect_eq(pair.from_reason, pairs[i].pair.from_reason, "%s", pairs[i].what);
        cr_expect_eq(pair.to_reason, pairs[i].pair.to_reason, "%s", pairs[i].what);
        cr_expect(*pair_reason_text(pair.from_reason));
        world_end(&world);
        world_begin(&world);
    }
    struct cutter_pair pair;
    world_keep(&world, GROUP_CUTTER, 0);
    cr_expect_not(cutters_worst_pair(&pair, &world.machine));
}

/* Going down at the setter the nut hangs lowest with the shortest, 3 mm beside the clamp with
 * any of them; over the post the longest leaves 9.98 mm. */
Test(obstacles, nearest_change)
{
    struct change_request nowhere = {.start_known = false};
    static const struct {
        const char *put[3][2];
        struct cutter_pair given, wanted;
    } rows[] = {
        /* the clamp counts alike for all: the longest comes in, the widest goes out */
        {{{0}}, {0, 0, PAIR_FIRST, PAIR_FIRST}, {2, 1, PAIR_WIDEST, PAIR_LONGEST}},
        /* without it the longest is the nearest on both ways, and can be on one */
        {{{"obstacles[2].top", "1 mm"}, {"obstacles[0].top", "1 mm"}},
         {0, 0, PAIR_FIRST, PAIR_FIRST},
         {2, 1, PAIR_WIDEST, PAIR_LONGEST}},
        {{{"obstacles[2].top", "1 mm"}, {"obstacles[0].top", "1 mm"}},
         {1, 0, PAIR_GIVEN, PAIR_FIRST},
         {1, 2, PAIR_GIVEN, PAIR_NEAREST}},
        {{{"obstacles[2].top", "1 mm"}, {"obstacles[0].top", "1 mm"}},
         {0, 0, PAIR_FIRST, PAIR_GIVEN},
         {1, 0, PAIR_NEAREST, PAIR_GIVEN}},
        {{{0}}, {1, 1, PAIR_GIVEN, PAIR_GIVEN}, {1, 1, PAIR_GIVEN, PAIR_GIVEN}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct cutter_pair pair = rows[i].given;
        for (size_t k = 0; k < 3 && rows[i].put[k][0]; k++)
            world_put(&world, rows[i].put[k][0], rows[i].put[k][1]);
        cr_assert(change_nearest(&pair, &world.machine, &nowhere));
        cr_expect_eq(pair.from, rows[i].wanted.from, "%zu: from %u", i, pair.from);
        cr_expect_eq(pair.to, rows[i].wanted.to, "%zu: to %u", i, pair.to);
        cr_expect_eq(pair.from_reason, rows[i].wanted.from_reason, "%zu", i);
        cr_expect_eq(pair.to_reason, rows[i].wanted.to_reason, "%zu", i);
        cr_expect(*pair_reason_text(PAIR_NEAREST));
        world_end(&world);
        world_begin(&world);
    }
}

/* Pairs of 200,000 cutters would take days. */
Test(obstacles, a_long_list_is_gone_through_once)
{
    enum { CUTTERS = 200000 };
    repeat_first(GROUP_CUTTER, CUTTERS);
    set(FIELD_CUTTER_STICKOUT, 123456, 0.06);
    set(FIELD_CUTTER_DIAMETER, 77777, 0.02);
    struct obstacles view;
    struct obstacle_room room;
    struct cutter_pair pair;
    obstacles_look(&view, &world.machine);
    obstacles_sideways(&view, POST, &room);
    cr_expect_eq(room.length_of, 123456);
    cr_expect_eq(room.width_of, 123456);
    struct change_request nowhere = {.start_known = false};
    pair = (struct cutter_pair){0, 0, PAIR_FIRST, PAIR_FIRST};
    cr_assert(change_nearest(&pair, &world.machine, &nowhere));
    cr_expect_eq(pair.to, 123456);
    cr_assert(cutters_worst_pair(&pair, &world.machine));
    cr_expect_eq(pair.from, 77777);
}
