/* Between two turns that follow each other no room is less than at both of them. */
#include <criterion/criterion.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "motion/obstacles.h"
#include "motion/turns.h"
#include "world.h"

enum { TURNS = 2000, ROUNDS = 20, BETWEEN = 9, ATTACHMENTS = 2 };

static struct world world;
static uint64_t state = 20270907;

static double draw(double low, double high)
{
    state = state * 6364136223846793005u + 1442695040888963407u;
    return low + (high - low) * (double)(state >> 40) / (1 << 24);
}

static void put_mm(const char *path, double low, double high)
{
    world_put(&world, path, arena_format(&world.arena, "%.3f mm", draw(low, high)));
}

static void put_span(const char *path, double low, double high, double size)
{
    double at = draw(low, high);
    world_put(&world, path,
              arena_format(&world.arena, "[%.3f mm ± 0.3 mm, %.3f mm ± 0.3 mm]", at,
                           at + draw(1, size)));
}

static void shuffle(void)
{
    static const char *const places[] = {"setter.at.x", "setter.at.y", "change.park.x",
                                         "change.park.y"};
    for (size_t i = 0; i < sizeof places / sizeof *places; i++)
        put_mm(places[i], 0, 800);
    for (uint32_t i = 0; i < world.machine.groups[GROUP_OBSTACLE].count; i++) {
        put_span(arena_format(&world.arena, "obstacles[%u].x", i), 0, 800, 60);
        put_span(arena_format(&world.arena, "obstacles[%u].y", i), 0, 800, 60);
        put_mm(arena_format(&world.arena, "obstacles[%u].top", i), 20, 180);
    }
    put_span("work.x", 100, 500, 200);
    put_span("work.y", 100, 500, 200);
    for (uint32_t i = 0; i < ATTACHMENTS; i++) {
        put_mm(arena_format(&world.arena, "attachments[%u].x", i), -90, 90);
        put_mm(arena_format(&world.arena, "attachments[%u].y", i), -90, 90);
        put_mm(arena_format(&world.arena, "attachments[%u].diameter", i), 5, 60);
        put_mm(arena_format(&world.arena, "attachments[%u].above_nose", i), -40, 20);
    }
    world_put(&world, "table.x", "[-10 mm, 700 mm ± 1 mm]");
    world_put(&world, "table.y", draw(0, 1) < 0.5 ? "[-10 mm, 500 mm]" : NULL);
    put_mm("change.traverse_z", -40, 0);
    put_mm("change.park.z", -90, 0);
    world_put(&world, "change.touches_old", draw(0, 1) < 0.5 ? "no" : "yes");
    world_put(&world, "spindle.shoe.removed", draw(0, 1) < 0.5 ? "no" : "yes");
}

/* The least room of each kind, one after another. */
static size_t look(double *out)
{
    struct obstacles view;
    struct obstacle_room room;
    size_t count = 0;
    obstacles_look(&view, &world.machine);
    for (uint32_t i = 0; i < world.machine.groups[GROUP_OBSTACLE].count; i++) {
        obstacles_sideways(&view, i, &room);
        out[count++] = room.value.low;
        obstacles_at_setter(&view, i, &room);
        out[count++] = room.value.low;
    }
    obstacles_beside_way(&view, &room);
    out[count++] = room.value.low;
    for (uint32_t i = 0; i < world.machine.groups[GROUP_CUTTER].count; i++) {
        obstacles_going_down(&view, i, &room);
        out[count++] = room.value.low;
        obstacles_at_park(&view, i, &room);
        out[count++] = room.value.low;
    }
    return count;
}

struct turn_list {
    size_t count;
    double at[TURNS];
};

static void add(void *user, double at)
{
    struct turn_list *list = user;
    cr_assert(list->count < TURNS);
    list->at[list->count++] = at;
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static size_t looked, valleys;

static void check_field(enum field_id field, uint32_t record)
{
    struct field_value *value = machine_field_put(&world.machine, field, record);
    const double kept = value->si;
    double before[32], low[32], high[32], between[32];
    static struct turn_list turns;
    turns.count = 0;
    turns_find(&world.machine, field, record, add, &turns);
    cr_assert(turns.count, "%s has no turns", field_table[field].key);
    qsort(turns.at, turns.count, sizeof *turns.at, compare);
    value->si = turns.at[0];
    size_t count = look(low);
    memcpy(before, low, sizeof before);
    for (size_t i = 1; i < turns.count; i++) {
        if (turns.at[i] == turns.at[i - 1])
            continue;
        value->si = turns.at[i];
        (void)look(high);
        for (int k = 1; k < BETWEEN; k++) {
            value->si = turns.at[i - 1] + (turns.at[i] - turns.at[i - 1]) * k / BETWEEN;
            (void)look(between);
            for (size_t r = 0; r < count; r++, looked++)
                cr_assert(between[r] >= fmin(low[r], high[r]) - 1e-12,
                          "%s at %.12g: room %zu is %.12g between %.12g and %.12g",
                          field_table[field].key, value->si, r, between[r], low[r], high[r]);
        }
        for (size_t r = 0; r < count; r++) {
            valleys += i > 1 && low[r] < before[r] - 1e-6 && low[r] < high[r] - 1e-6;
            before[r] = low[r];
            low[r] = high[r];
        }
    }
    value->si = kept;
}

Test(turns, nothing_dips_between)
{
    world_begin(&world);
    struct machine_group *attachments = &world.machine.groups[GROUP_ATTACHMENT];
    attachments->values = ARENA_ARRAY(&world.arena, struct field_value,
                                      ATTACHMENTS * field_group_width(GROUP_ATTACHMENT));
    attachments->count = ATTACHMENTS;
    for (int i = 0; i < ROUNDS; i++) {
        shuffle();
        check_field(FIELD_SETTER_AT_X, 0);
        check_field(FIELD_SETTER_AT_Y, 0);
        check_field(FIELD_CHANGE_PARK_X, 0);
        check_field(FIELD_CHANGE_PARK_Y, 0);
        for (uint32_t k = 0; k < ATTACHMENTS; k++) {
            check_field(FIELD_ATTACHMENT_X, k);
            check_field(FIELD_ATTACHMENT_Y, k);
        }
    }
    cr_log_info("%zu rooms between turns, %zu valleys at them", looked, valleys);
    cr_expect(valleys > 40, "only %zu valleys", valleys);
    world_end(&world);
}
