/* Searches where what is in the way can be passed on either side, and the groups of rules that
 * exclude each other there. */
#include <criterion/criterion.h>

#include <math.h>

#include "propose/seek.h"
#include "shop.h"

static const double mm = 1e-3;

static const bool both[SHOP_PLACES] = {true, true};

/* Something about X 430 mm; from 400 mm the way leads to the left, where there is less room. */
#define IN_THE_WAY "abs(" PARK_X " - 430 mm) >= 100 mm"

Test(cases, goes_to_the_wider_side)
{
    struct shop shop;
    struct sought near, found;
    OPEN_SIDEWAYS(&shop, IN_THE_WAY, PARK_X " >= 310 mm", PARK_X " <= 560 mm");
    seek_greatest(&shop.margins, both, (const double[]){400 * mm, 20 * mm}, &near);
    cr_assert(near.least > 0 && near.x[0] < 430 * mm);
    cases_greatest(&shop.margins, both, SEEK_ENOUGH, &found);
    const struct stake *stakes = shop.margins.stakes;
    cr_expect_float_eq(found.least, 30 * mm / (stakes[0].scale + stakes[2].scale), 1e-6);
    cr_expect_gt(found.x[0], 530 * mm);
    close_shop(&shop);
}

/* Whoever is content with less stays on the near side, as does who would win next to nothing.
 */
Test(cases, stays_near_where_that_will_do)
{
    struct shop shop;
    struct sought found;
    OPEN_SIDEWAYS(&shop, IN_THE_WAY, PARK_X " >= 310 mm", PARK_X " <= 560 mm");
    cases_greatest(&shop.margins, both, SEEK_HOLDS, &found);
    cr_expect(found.least >= SEEK_HOLDS && found.x[0] < 430 * mm);
    close_shop(&shop);
    OPEN_SIDEWAYS(&shop, IN_THE_WAY, PARK_X " >= 300 mm", PARK_X " <= 560 mm");
    double left = 30 * mm / (shop.margins.stakes[0].scale + shop.margins.stakes[1].scale);
    cases_greatest(&shop.margins, both, left, &found);
    cr_expect_float_eq(found.least, left, 1e-6);
    cr_expect_lt(found.x[0], 430 * mm);
    close_shop(&shop);
}

/* Only a strip along one end of the travel is free, and from within no slope leads there. */
Test(cases, finds_a_strip_at_the_end)
{
    static const char over[] = "distance("
                               "change.park"
                               ", work) > 0 mm";
    struct shop shop;
    struct sought found;
    OPEN_SIDEWAYS(&shop, over, PARK_Y " >= 100 mm", PARK_Y " <= 500 mm", PARK_X " >= 650 mm");
    const struct stake *all[] = {&shop.margins.stakes[0], &shop.margins.stakes[1],
                                 &shop.margins.stakes[2], &shop.margins.stakes[3]};
    cr_expect(cases_hold(&shop.margins, both, &(struct cases_of){all, 4, false}, &found));
    cr_expect_gt(found.x[0], 700 * mm);
    close_shop(&shop);
}

static bool is_group(const struct shop *shop, const struct conflict *group, const size_t *rules,
                     size_t count)
{
    bool same = group->count == count;
    for (size_t i = 0; i < count && same; i++)
        same = group->items[i] == &shop->margins.stakes[rules[i]];
    return same;
}

/* To the left there is a wall, to the right another: the straight continuation sees one. */
Test(cases, group_has_both_sides)
{
    struct shop shop;
    struct sought found;
    struct conflict group;
    OPEN_SIDEWAYS(&shop, PARK_Y " >= 0 mm", PARK_X " <= 500 mm", PARK_X " >= 360 mm",
                  IN_THE_WAY, PARK_X " <= 520 mm");
    cases_greatest(&shop.margins, both, SEEK_ENOUGH, &found);
    cr_assert_lt(found.least, SEEK_HOLDS);
    conflict_settle(&shop.margins, both, found.x, &group);
    cr_expect(group.stands);
    cr_expect(is_group(&shop, &group, (const size_t[]){2, 3, 4}, 3) ||
              is_group(&shop, &group, (const size_t[]){1, 2, 3}, 3));
    close_shop(&shop);
}

/* For the rest without any one of a group there is a set, whatever the margins are like. */
Test(cases, none_can_be_left_out)
{
    struct shop shop;
    struct sought found;
    struct conflict group;
    OPEN_SIDEWAYS(&shop, "combined(" PARK_X " - 200 mm, " PARK_Y " - 100 mm) <= 90 mm",
                  "combined(" PARK_X " - 350 mm, " PARK_Y " - 100 mm) <= 90 mm",
                  "combined(" PARK_X " - 275 mm, " PARK_Y " - 300 mm) <= 140 mm",
                  PARK_X " >= 100 mm", PARK_Y " <= 400 mm");
    cases_greatest(&shop.margins, both, SEEK_ENOUGH, &found);
    cr_assert_lt(found.least, SEEK_HOLDS);
    conflict_settle(&shop.margins, both, found.x, &group);
    cr_assert(group.stands && group.count == 3);
    for (size_t i = 0; i < group.count; i++) {
        const struct stake *rest[3];
        size_t count = 0;
        for (size_t k = 0; k < group.count; k++)
            if (k != i)
                rest[count++] = group.items[k];
        cr_expect(
            cases_hold(&shop.margins, both, &(struct cases_of){rest, count, true}, &found),
            "without %zu", i);
    }
    close_shop(&shop);
}

/* Rules that only the end of the travel keeps from holding exclude each other with it. */
Test(cases, travel_is_part_of_the_group)
{
    struct shop shop;
    struct sought found;
    struct conflict group;
    OPEN_SIDEWAYS(&shop, PARK_X " <= axes.x.travel.high", PARK_X " >= axes.x.travel.low",
                  "abs(" PARK_X " - 400 mm) >= 450 mm");
    cases_greatest(&shop.margins, both, SEEK_ENOUGH, &found);
    cr_assert_lt(found.least, SEEK_HOLDS);
    conflict_settle(&shop.margins, both, found.x, &group);
    cr_expect(group.stands);
    cr_expect(is_group(&shop, &group, (const size_t[]){0, 1, 2}, 3));
    close_shop(&shop);
}

/* Within the travel no place will do and none leads farther; beyond it there is one. */
Test(cases, beyond_the_travel)
{
    struct shop shop;
    struct sought found;
    OPEN_SIDEWAYS(&shop, "max(0 mm, abs(" PARK_X " - 400 mm) - 430 mm) >= 20 mm");
    const struct stake *far = &shop.margins.stakes[0];
    cr_expect(!cases_hold(&shop.margins, both, &(struct cases_of){&far, 1, false}, &found));
    cr_expect(found.x[0] >= 0 && found.x[0] <= 800 * mm);
    cr_expect(cases_hold(&shop.margins, both, &(struct cases_of){&far, 1, true}, &found));
    cr_expect(found.x[0] < 0 || found.x[0] > 800 * mm);
    close_shop(&shop);
}

/* Below the top of a thing no slope leads up. */
Test(cases, over_the_top)
{
    static const struct field_place places[SHOP_PLACES] = {{FIELD_CHANGE_TRAVERSE_Z, 0, 0},
                                                           {FIELD_CHANGE_PARK_X, 0, 0}};
    static const char *const over[] = {"max(0 mm, change.traverse_z + 2 mm) >= 1 mm",
                                       "max(0 mm, change.traverse_z - 2 mm) >= 1 mm"};
    for (size_t i = 0; i < 2; i++) {
        struct shop shop;
        struct sought found;
        open_shop_of(&shop, places, &over[i], 1);
        const struct stake *one = &shop.margins.stakes[0];
        cr_expect_eq(
            cases_hold(&shop.margins, both, &(struct cases_of){&one, 1, false}, &found),
            i == 0);
        cr_expect(cases_hold(&shop.margins, both, &(struct cases_of){&one, 1, true}, &found));
        close_shop(&shop);
    }
}

/* Where the straight continuation of each margin has a solution and they have none, the group
 * is built from the worst. */
Test(cases, group_of_what_bends)
{
    struct shop shop;
    struct sought found;
    struct conflict group;
    size_t count;
    OPEN_SIDEWAYS(&shop, "max(5 mm, abs(" PARK_X " - 430 mm)) >= 100 mm", PARK_X " >= 400 mm",
                  PARK_X " <= 460 mm", PARK_Y " <= 300 mm");
    const double within[] = {430 * mm, 20 * mm};
    const struct stake **straight = conflict_find(&shop.margins, both, within, &count);
    cr_expect(count == 1 && straight[0] == &shop.margins.stakes[0]);
    cases_greatest(&shop.margins, both, SEEK_ENOUGH, &found);
    conflict_settle(&shop.margins, both, found.x, &group);
    cr_expect(group.stands);
    cr_expect(is_group(&shop, &group, (const size_t[]){0, 1, 2}, 3));
    close_shop(&shop);
}
