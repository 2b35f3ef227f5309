/* Whole proposals under rules of a shop's own. */
#include <criterion/criterion.h>

#include <math.h>

#include "propose/propose.h"
#include "shop.h"

static const double mm = 1e-3;

static struct proposal propose_with(struct shop *shop, const struct field_place *places,
                                    size_t count, const struct proposal_question *how)
{
    struct proposal found;
    struct proposal_question question = *how;
    question.runner = &shop->runner;
    question.arena = &shop->arena;
    question.machine = &shop->machine;
    proposal_find(&question, places, count, &found);
    return found;
}

static struct proposal propose(struct shop *shop, const struct instance_list *ignored)
{
    const struct proposal_question how = {.ignored = ignored};
    return propose_with(shop, shop_places, 2, &how);
}

/* In tenths of a millimetre, and where everything holds; the other number stays. */
Test(propose, whole_steps)
{
    struct shop shop;
    OPEN(&shop, A " >= 20.03 mm", A " <= 20.61 mm", B " >= 1 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_assert_eq(found.widest.count, 1);
    const struct proposed *item = &found.widest.items[0];
    cr_expect_str_eq(item->path, "change.standoff");
    cr_expect_str_eq(item->now_text, "12 mm");
    double steps = item->si / (0.1 * mm);
    cr_expect_float_eq(steps, round(steps), 1e-9, "%s", item->text);
    cr_expect(item->si >= 20.03 * mm && item->si <= 20.61 * mm, "%s", item->text);
    cr_expect(found.widest.least >= 0 && found.widest.least <= found.exact);
    cr_expect_str_eq(item->rule, "house-0");
    cr_expect(item->fails);
    close_shop(&shop);
}

/* Where no tenth will do, hundredths. */
Test(propose, finer_steps_where_nothing_else_fits)
{
    struct shop shop;
    OPEN(&shop, A " >= 20.03 mm", A " <= 20.05 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_expect_str_eq(found.widest.items[0].text, "20.04 mm");
    close_shop(&shop);
}

/* Either number by itself would do, and both do better. */
Test(propose, fewest_changes)
{
    struct shop shop;
    OPEN(&shop, A " + " B " >= 40 mm", A " <= 45 mm", B " <= 45 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_expect_eq(found.fewest.count, 1);
    cr_expect(found.fewest.least >= 0 && found.fewest.least <= found.widest.least + 1e-9);
    close_shop(&shop);
}

/* What no number moves keeps nothing from being mended, and is told. */
Test(propose, what_stays)
{
    struct shop shop;
    OPEN(&shop, A " - " A " >= 1 mm", B " >= 30 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_assert_eq(found.stay_count, 1);
    cr_expect_str_eq(found.stays[0].rule, "house-0");
    cr_assert_eq(found.widest.count, 1);
    cr_expect_str_eq(found.widest.items[0].path, "change.probe_stroke");
    close_shop(&shop);
}

Test(propose, none_of_those_that_exclude_each_other)
{
    struct shop shop;
    OPEN(&shop, A " <= 10 mm", A " >= 20 mm", B " >= 30 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_NONE);
    cr_expect(found.stands);
    cr_assert_eq(found.excluded_count, 2);
    cr_expect_str_eq(found.excluded[0].rule, "house-0");
    cr_expect_str_eq(found.excluded[1].rule, "house-1");
    cr_expect_eq(found.way_count, 0);
    close_shop(&shop);
}

/* By how much a measured number would have to be otherwise. */
Test(propose, ways_out)
{
    struct shop shop;
    OPEN(&shop, A " >= 90 mm", A " <= work.height");
    double height = machine_field(&shop.machine, FIELD_WORK_HEIGHT, 0)->si;
    double tolerance = machine_field(&shop.machine, FIELD_WORK_HEIGHT, 0)->tolerance;
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_NONE);
    cr_assert_eq(found.way_count, 1);
    cr_expect_str_eq(found.ways[0].path, "work.height");
    cr_expect_float_eq(found.ways[0].change, 90 * mm + tolerance - height, 1e-6);
    close_shop(&shop);
}

/* A remark that is made anyhow keeps nobody from a way out. */
Test(propose, ways_out_past_a_remark)
{
    struct shop shop;
    READ(&shop, A " >= 90 mm", A " <= work.height", "work.height <= 1 mm");
    const struct instance remark = {.rule = 2, .implied_by = RULE_NONE};
    cr_expect_eq(propose(&shop, NULL).way_count, 0);
    ((struct requirement *)runner_requirement(&shop.runner, &remark))->level = LEVEL_NOTE;
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.way_count, 1);
    cr_expect_str_eq(found.ways[0].path, "work.height");
    close_shop(&shop);
}

/* Each is a search: of many numbers some are not looked at, and how many is told. */
Test(propose, ways_that_are_not_looked_at)
{
    struct shop shop;
    OPEN(&shop, A " >= 99 mm",
         A " <= work.height + homing.x.release + homing.y.release + homing.z.release + "
           "homing.x.overtravel + homing.y.overtravel + homing.z.overtravel + "
           "homing.z.repeatability + homing.x.repeatability + homing.y.repeatability");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_NONE);
    cr_expect_leq(found.way_count, 8);
    cr_expect_eq(found.ways_left, 2);
    close_shop(&shop);
    OPEN(&shop, A " >= 90 mm", A " <= work.height");
    cr_expect_eq(propose(&shop, NULL).ways_left, 0);
    close_shop(&shop);
}

/* What somebody accepts bounds nothing. */
Test(propose, what_is_accepted)
{
    struct shop shop;
    OPEN(&shop, A " <= 10 mm", A " >= 20 mm");
    struct instance_list accepted = {0};
    VECTOR_ADD(&shop.arena, &accepted.items, shop.margins.stakes[0].instance);
    struct proposal found = propose(&shop, &accepted);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_expect(found.widest.items[0].si >= 20 * mm);
    close_shop(&shop);
}

/* What hurts a person bounds numbers whoever accepts it. */
Test(propose, what_hurts_a_person_is_not_accepted)
{
    struct shop shop;
    OPEN(&shop, A " <= 10 mm", A " >= 20 mm");
    struct instance_list accepted = {0};
    VECTOR_ADD(&shop.arena, &accepted.items, shop.margins.stakes[0].instance);
    ((struct rule *)shop.runner.rules[0].rule)->hurts = HURTS_PERSON;
    struct proposal found = propose(&shop, &accepted);
    cr_expect_eq(found.state, PROPOSAL_NONE);
    cr_expect_eq(found.excluded_count, 2);
    close_shop(&shop);
}

Test(propose, nothing_to_mend)
{
    struct shop shop;
    OPEN(&shop, A " >= 1 mm");
    cr_expect_eq(propose(&shop, NULL).state, PROPOSAL_IDLE);
    close_shop(&shop);
}

/* A number that only has to be more than it is must be more. */
Test(propose, more_than)
{
    struct shop shop;
    OPEN(&shop, A " > 12 mm", A " < 14 mm");
    struct proposal found = propose(&shop, NULL);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_expect(found.widest.items[0].si > 12 * mm && found.widest.items[0].si < 14 * mm);
    close_shop(&shop);
}

/* What is kept does not change, and where that is what is in the way, by how much it would. */
Test(propose, what_is_kept)
{
    struct shop shop;
    struct field_places kept = {0};
    const struct proposal_question how = {.kept = &kept};
    OPEN(&shop, A " + " B " >= 40 mm", A " <= 15 mm");
    VECTOR_ADD(&shop.arena, &kept, shop_places[1]);
    struct proposal found = propose_with(&shop, shop_places, 1, &how);
    cr_assert_eq(found.state, PROPOSAL_NONE);
    cr_assert_eq(found.kept_count, 1);
    cr_expect_str_eq(found.kept[0], B);
    cr_assert_eq(found.way_count, 1);
    cr_expect_str_eq(found.ways[0].path, B);
    cr_expect(found.ways[0].kept && !found.ways[0].measured);
    cr_expect_float_eq(found.ways[0].change, 5 * mm, 1e-6);
    close_shop(&shop);
}

/* Whoever chooses by what fails, or widens, leaves out what is kept. */
Test(propose, kept_is_not_chosen)
{
    struct shop shop;
    struct field_places kept = {0}, places = {0};
    OPEN(&shop, A " + " B " >= 40 mm", A " <= 15 mm");
    VECTOR_ADD(&shop.arena, &kept, shop_places[1]);
    const struct proposal_question how = {
        .runner = &shop.runner, .arena = &shop.arena, .machine = &shop.machine, .kept = &kept};
    struct proposal found;
    proposal_choose(&how, false, &places);
    cr_assert_eq(places.count, 1);
    cr_expect_eq(places.items[0].field, FIELD_CHANGE_STANDOFF);
    proposal_find(&how, places.items, places.count, &found);
    cr_expect_eq(found.state, PROPOSAL_NONE);
    cr_expect_not(proposal_widen(&how, &found, &places));
    close_shop(&shop);
}
