/* What is wished of a set, under rules of a shop's own: answers that can be worked out in the
 * head. */
#include <criterion/criterion.h>

#include <math.h>

#include "propose/pace.h"
#include "propose/propose.h"
#include "propose/seek.h"
#include "shop.h"

/* Of rules of a shop all margins are lengths: a second counts as a millimetre.  The wait is 15
 * s; the spindle runs down for 6 s and coasts for 14 s. */
#define SECONDS " * 1 mm/s"
#define WAIT    "nominal spindle.dwell_after_stop" SECONDS

static const double mm = 1e-3;

static const struct field_place wait_place = {FIELD_SPINDLE_DWELL_AFTER_STOP, 0, 0};

struct asked {
    const struct field_place *places;
    size_t count;
    const struct instance_list *ignored;
    struct wish wishes[3];
    size_t wish_count;
};

static struct proposal propose(struct shop *shop, const struct asked *asked)
{
    struct proposal found;
    const struct proposal_question question = {.runner = &shop->runner,
                                               .arena = &shop->arena,
                                               .machine = &shop->machine,
                                               .ignored = asked->ignored,
                                               .wishes = asked->wishes,
                                               .wish_count = asked->wish_count,
                                               .named = true};
    proposal_find(&question, asked->places, asked->count, &found);
    return found;
}

/* One wish about A, B and whatever they say. */
static struct proposal wish(struct shop *shop, enum wish_kind kind,
                            const struct field_place *place)
{
    const struct asked asked = {
        .places = shop_places, .count = 2, .wishes = {{kind, *place}}, .wish_count = 1};
    return propose(shop, &asked);
}

static struct proposal wish_wait(struct shop *shop, const struct instance_list *ignored)
{
    const struct asked asked = {.places = &wait_place,
                                .count = 1,
                                .ignored = ignored,
                                .wishes = {{WISH_LEAST, wait_place}},
                                .wish_count = 1};
    return propose(shop, &asked);
}

static void hurts_person(struct shop *shop, uint32_t rule)
{
    ((struct rule *)shop->runner.rules[rule].rule)->hurts = HURTS_PERSON;
}

static void forget(struct shop *shop, enum field_id id)
{
    machine_field_put(&shop->machine, id, 0)->state = VALUE_ABSENT;
}

static const struct granted *granted(const struct proposal *found, double before, double after)
{
    cr_assert_eq(found->state, PROPOSAL_FOUND);
    cr_assert_eq(found->granted_count, 1);
    cr_expect_float_eq(found->granted[0].before, before, 1e-12);
    cr_expect_float_eq(found->granted[0].after, after, 1e-12, "%s",
                       found->granted[0].after_text);
    return &found->granted[0];
}

static void bounded(const struct granted *granted, size_t count, enum bound_by by,
                    const char *rule)
{
    cr_assert_eq(granted->bound_count, count);
    cr_expect_eq(granted->bounds[0].by, by);
    if (rule)
        cr_expect_str_eq(granted->bounds[0].rule, rule);
    else
        cr_expect_null(granted->bounds[0].rule);
}

/* In whole steps, and inward: 20.03 mm is not to be set. */
Test(wishes, least_is_rounded_inward)
{
    struct shop shop;
    OPEN(&shop, A " >= 20.03 mm", A " <= 30 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 20.1 * mm), 1, BOUND_BY_RULE, "house-0");
    cr_expect_eq(found.widest.count, 1);
    cr_expect_str_eq(found.widest.items[0].text, "20.1 mm");
    found = wish(&shop, WISH_MOST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 30 * mm), 1, BOUND_BY_RULE, "house-1");
    close_shop(&shop);
}

Test(wishes, where_all_holds_already)
{
    struct shop shop;
    OPEN(&shop, A " >= 5.5 mm", A " <= 30 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 5.5 * mm), 1, BOUND_BY_RULE, "house-0");
    close_shop(&shop);
}

Test(wishes, where_it_is_so_already)
{
    struct shop shop;
    OPEN(&shop, A " >= 12 mm", A " <= 30 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 12 * mm), 1, BOUND_BY_RULE, "house-0");
    cr_expect_eq(found.widest.count, 0);
    close_shop(&shop);
}

/* The other gives way, no further than it has to, and both rules are told. */
Test(wishes, others_move_along)
{
    struct shop shop;
    OPEN(&shop, A " + " B " >= 40 mm", B " <= 25 mm", A " <= 36 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    const struct granted *one = granted(&found, 12 * mm, 15 * mm);
    bounded(one, 2, BOUND_BY_RULE, "house-0");
    cr_expect_str_eq(one->bounds[1].rule, "house-1");
    cr_assert_eq(found.widest.count, 2);
    cr_expect_float_eq(found.widest.items[1].si, 25 * mm, 1e-12);
    found = wish(&shop, WISH_MOST, &shop_places[0]);
    granted(&found, 12 * mm, 36 * mm);
    cr_expect_eq(found.widest.count, 1, "with 36 mm the other may stay");
    close_shop(&shop);
}

/* Between two tenths, hundredths. */
Test(wishes, finer_steps_where_nothing_else_fits)
{
    struct shop shop;
    OPEN(&shop, A " >= 20.03 mm", A " <= 20.05 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 20.03 * mm);
    close_shop(&shop);
}

/* What the file has is no whole step, and nearer to the goal than any: finer ones beside it. */
Test(wishes, finer_than_what_the_file_has)
{
    struct shop shop;
    OPEN(&shop, A " >= 12.03 mm", A " <= 20 mm");
    machine_field_put(&shop.machine, FIELD_CHANGE_STANDOFF, 0)->si = 12.08 * mm;
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12.08 * mm, 12.03 * mm);
    close_shop(&shop);
}

/* That a number could go to the end of what is usual is no reason to set it there. */
Test(wishes, what_no_rule_bounds_stays)
{
    struct shop shop;
    OPEN(&shop, A " >= 5 mm");
    struct proposal found = wish(&shop, WISH_MOST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 12 * mm), 1, BOUND_BY_NOTHING, NULL);
    cr_expect_eq(found.widest.count, 0);
    close_shop(&shop);
}

/* With both moving nothing would bound it; by itself it is bounded. */
Test(wishes, alone_where_nothing_bounds_both)
{
    struct shop shop;
    OPEN(&shop, A " <= " B " - 2 mm");
    struct proposal found = wish(&shop, WISH_MOST, &shop_places[0]);
    const struct granted *one = granted(&found, 12 * mm, 18 * mm);
    bounded(one, 1, BOUND_BY_RULE, "house-0");
    cr_expect(one->alone);
    cr_expect_eq(found.widest.count, 1);
    close_shop(&shop);
}

/* The others stand at numbers that can be set before it goes as far as these let it. */
Test(wishes, alone_beside_what_had_to_move)
{
    struct shop shop;
    OPEN(&shop, A " <= " B " - 2 mm", B " >= 25.03 mm");
    struct proposal found = wish(&shop, WISH_MOST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 23.1 * mm), 1, BOUND_BY_RULE, "house-0");
    cr_assert_eq(found.widest.count, 2);
    cr_expect_str_eq(found.widest.items[1].text, "25.1 mm");
    close_shop(&shop);
}

/* A limit that bends: with each step along it the straight one leads beyond. */
Test(wishes, along_a_curve)
{
    struct shop shop;
    OPEN(&shop, A " * " A " / 10 mm >= " B, B " >= 20 mm", B " <= 90 mm", A " <= 29.95 mm");
    struct proposal found = wish(&shop, WISH_MOST, &shop_places[1]);
    granted(&found, 20 * mm, 89.7 * mm); /* 29.95 mm squared is 897.0025 mm^2 */
    close_shop(&shop);
}

/* The first wish counts first. */
Test(wishes, in_their_order)
{
    struct shop shop;
    struct asked asked = {.places = shop_places,
                          .count = 2,
                          .wishes = {{WISH_LEAST, {FIELD_CHANGE_STANDOFF, 0, 0}},
                                     {WISH_LEAST, {FIELD_CHANGE_PROBE_STROKE, 0, 0}}},
                          .wish_count = 2};
    OPEN(&shop, A " + " B " >= 40 mm", A " >= 10 mm", B " >= 15 mm", B " <= 38 mm");
    struct proposal found = propose(&shop, &asked);
    cr_assert_eq(found.granted_count, 2);
    cr_expect_float_eq(found.granted[0].after, 10 * mm, 1e-12);
    cr_expect_float_eq(found.granted[1].after, 30 * mm, 1e-12);
    struct wish first = asked.wishes[0];
    asked.wishes[0] = asked.wishes[1];
    asked.wishes[1] = first;
    found = propose(&shop, &asked);
    cr_expect_float_eq(found.granted[0].after, 15 * mm, 1e-12);
    cr_expect_float_eq(found.granted[1].after, 25 * mm, 1e-12);
    close_shop(&shop);
}

Test(wishes, none_where_rules_exclude_each_other)
{
    struct shop shop;
    OPEN(&shop, A " + " B " >= 40 mm", A " <= 10 mm", B " <= 25 mm");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    cr_expect_eq(found.state, PROPOSAL_NONE);
    cr_expect_eq(found.excluded_count, 3);
    close_shop(&shop);
}

/* A rule of the shop's own that says the same as the guard does. */
Test(wishes, shortest_wait_by_a_rule)
{
    struct shop shop;
    READ(&shop, WAIT " >= 1.2 * spindle.run_down" SECONDS);
    forget(&shop, FIELD_SPINDLE_COAST_DOWN);
    struct proposal found = wish_wait(&shop, NULL);
    bounded(granted(&found, 15, 7.2), 1, BOUND_BY_RULE, "house-0");
    close_shop(&shop);
}

/* Where no rule keeps hands from a cutter that turns, or somebody waived it, wishes do. */
Test(wishes, wait_keeps_hands_by_itself)
{
    struct shop shop;
    struct instance_list waived = {0};
    READ(&shop, WAIT " >= 0.5 mm", WAIT " >= 100 * spindle.run_down" SECONDS);
    forget(&shop, FIELD_SPINDLE_COAST_DOWN);
    VECTOR_ADD(&shop.arena, &waived.items, ((struct instance){.rule = 1}));
    struct proposal found = wish_wait(&shop, &waived);
    bounded(granted(&found, 15, 7.2), 1, BOUND_BY_GUARD, NULL);
    machine_field_put(&shop.machine, FIELD_SPINDLE_RUN_DOWN, 0)->tolerance = 0.5;
    found = wish_wait(&shop, &waived);
    bounded(granted(&found, 15, 7.8), 1, BOUND_BY_GUARD, NULL);
    close_shop(&shop);
}

/* A wait that outlasts the coasting goes on doing so; a shorter one is no shorter for it. */
Test(wishes, wait_outlasts_the_coasting)
{
    struct shop shop;
    READ(&shop, WAIT " >= 0.5 mm");
    struct proposal found = wish_wait(&shop, NULL);
    bounded(granted(&found, 15, 14), 1, BOUND_BY_GUARD, NULL);
    machine_field_put(&shop.machine, FIELD_SPINDLE_DWELL_AFTER_STOP, 0)->si = 10;
    found = wish_wait(&shop, NULL);
    bounded(granted(&found, 10, 10), 1, BOUND_BY_GUARD, NULL);
    close_shop(&shop);
}

/* A wait that is too short already is mended by the wish for the shortest. */
Test(wishes, wait_that_is_too_short)
{
    struct shop shop;
    READ(&shop, WAIT " >= 0.5 mm");
    machine_field_put(&shop.machine, FIELD_SPINDLE_DWELL_AFTER_STOP, 0)->si = 3;
    struct proposal found = wish_wait(&shop, NULL);
    granted(&found, 3, 7.2);
    close_shop(&shop);
}

Test(wishes, wait_stays_where_the_run_down_is_not_known)
{
    struct shop shop;
    READ(&shop, WAIT " >= 0.5 mm");
    forget(&shop, FIELD_SPINDLE_RUN_DOWN);
    struct proposal found = wish_wait(&shop, NULL);
    bounded(granted(&found, 15, 15), 1, BOUND_BY_GUARD, NULL);
    close_shop(&shop);
}

/* What a rule about persons rests on does not move where nobody can ask it; of others, what was
 * named does. */
Test(wishes, what_cannot_be_asked_holds_back)
{
    struct shop shop;
    OPEN(&shop, A " >= 5 mm", A " >= spindle.run_up" SECONDS);
    forget(&shop, FIELD_SPINDLE_RUN_UP);
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 5 * mm);
    cr_assert_eq(found.held_back.count, 1);
    cr_expect(found.held_back.items[0].moves && !found.held_back.items[0].fails);
    hurts_person(&shop, 1);
    found = wish(&shop, WISH_LEAST, &shop_places[0]);
    cr_expect_eq(granted(&found, 12 * mm, 12 * mm)->bound_count, 0);
    cr_assert_eq(found.held_back.count, 1);
    cr_expect_str_eq(found.held_back.items[0].rule, "house-1");
    cr_expect_not(found.held_back.items[0].fails || found.held_back.items[0].moves);
    close_shop(&shop);
}

/* What would hold with another number of what is held back stays for its sake, and is told so;
 * what would not hold with that either stays for want of a set. */
Test(wishes, what_stays_since_its_number_is_held_back)
{
    struct shop shop;
    const struct asked asked = {.places = shop_places, .count = 2};
    OPEN(&shop, A " >= 20 mm", A " >= spindle.run_up" SECONDS, A " >= 90 m", B " >= 25 mm");
    forget(&shop, FIELD_SPINDLE_RUN_UP);
    hurts_person(&shop, 1);
    struct proposal found = propose(&shop, &asked);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_assert_eq(found.stay_count, 2);
    cr_expect_str_eq(found.stays[0].rule, "house-0");
    cr_assert_not_null(found.stays[0].held);
    cr_expect_str_eq(found.stays[0].held, A);
    cr_expect_str_eq(found.stays[1].rule, "house-2");
    cr_expect_null(found.stays[1].held);
    close_shop(&shop);
}

/* A rule without a margin bounds as well. */
Test(wishes, bounded_by_what_has_no_margin)
{
    struct shop shop;
    OPEN(&shop, "known sqrt((15.04 mm - " A ") / 1 mm)", A " >= 2 mm", A " <= 90 mm");
    struct proposal found = wish(&shop, WISH_MOST, &shop_places[0]);
    bounded(granted(&found, 12 * mm, 15 * mm), 1, BOUND_BY_RULE, "house-0");
    close_shop(&shop);
}

/* Nor where it fails whatever the number is: less of it would be worse still. */
Test(wishes, what_fails_anyhow_holds_back)
{
    struct shop shop;
    OPEN(&shop, A " >= 5 mm", A " >= 90 m");
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 5 * mm);
    cr_expect_eq(found.stay_count, 1);
    cr_assert_eq(found.held_back.count, 0);
    hurts_person(&shop, 1);
    found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 12 * mm);
    cr_assert_eq(found.held_back.count, 1);
    cr_expect(found.held_back.items[0].fails);
    close_shop(&shop);
    /* Wherever in the rulebook it stands. */
    OPEN(&shop, A " >= 90 m", A " >= 5 mm");
    hurts_person(&shop, 0);
    found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 12 * mm);
    close_shop(&shop);
}

/* What keeps persons and was asked goes on being asked. */
Test(wishes, what_keeps_persons_stays_in_the_way)
{
    static const char rule[] = "sqrt((" A " - 8 mm) * 1 mm) >= 0.1 mm";
    struct shop shop;
    OPEN(&shop, rule, A " >= 2 mm");
    hurts_person(&shop, 0);
    margins_open(&(struct margins_of){&shop.runner, &shop.arena, &shop.machine, NULL},
                 shop_places, 2, &shop.margins);
    seek_ask(&shop.margins, (const double[]){12 * mm, 20 * mm});
    margins_remember(&shop.margins);
    cr_expect_geq(seek_ask(&shop.margins, (const double[]){5 * mm, 20 * mm}), 0);
    shop.margins.guarded = true;
    cr_expect_eq(seek_ask(&shop.margins, (const double[]){5 * mm, 20 * mm}), -HUGE_VAL);
    struct proposal found = wish(&shop, WISH_LEAST, &shop_places[0]);
    granted(&found, 12 * mm, 8.1 * mm);
    close_shop(&shop);
}

/* The mean of all changes of the list, each of two different cutters. */
Test(pace, is_the_mean_of_all_pairs)
{
    struct shop shop;
    struct pace pace;
    struct change change;
    OPEN(&shop, A " >= 1 mm");
    uint32_t cutters = shop.machine.groups[GROUP_CUTTER].count;
    double sum = 0;
    cr_assert_geq(cutters, 2);
    for (uint32_t from = 0; from < cutters; from++)
        for (uint32_t to = 0; to < cutters; to++) {
            const struct change_request request = {.from = from, .to = to};
            if (from == to)
                continue;
            cr_assert(change_plan(&change, &shop.machine, &request));
            sum += change.seconds;
        }
    pace_open(&pace, &shop.margins);
    double x[] = {12 * mm, 20 * mm};
    cr_expect_float_eq(pace_seconds(&pace, x), sum / (cutters * (cutters - 1)), 1e-9);
    cr_expect_eq(pace.by_hand, change.by_hand);
    close_shop(&shop);
}

Test(pace, rests_on)
{
    struct shop shop;
    OPEN(&shop, A " >= 1 mm");
    const struct field_place start = {FIELD_SPINDLE_DWELL_AFTER_START, 0, 0},
                             clear = {FIELD_PLATE_JOG_WITHIN, 0, 0};
    cr_expect(pace_rests_on(&shop.arena, &shop.machine, &wait_place));
    cr_expect(pace_rests_on(&shop.arena, &shop.machine, &start));
    cr_expect(pace_rests_on(&shop.arena, &shop.machine, &shop_places[0]));
    cr_expect_not(pace_rests_on(&shop.arena, &shop.machine, &clear));
    close_shop(&shop);
}

/* Waits are added to a change as they are: what they lose it gains. */
Test(wishes, fastest_by_its_waits)
{
    struct shop shop;
    static const struct field_place waits[] = {{FIELD_SPINDLE_DWELL_AFTER_STOP, 0, 0},
                                               {FIELD_SPINDLE_DWELL_AFTER_START, 0, 0}};
    const struct asked asked = {
        .places = waits, .count = 2, .wishes = {{.kind = WISH_FASTEST}}, .wish_count = 1};
    READ(&shop, "spindle.dwell_after_start" SECONDS " >= 4.44 mm", WAIT " >= 0 mm");
    double now = machine_field(&shop.machine, FIELD_SPINDLE_DWELL_AFTER_START, 0)->si;
    struct proposal found = propose(&shop, &asked);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_assert_eq(found.widest.count, 2);
    cr_expect_float_eq(found.widest.items[0].si, 14, 1e-12);
    cr_expect_float_eq(found.widest.items[1].si, 4.5, 1e-12);
    const struct granted *one = &found.granted[0];
    cr_expect_float_eq(one->before - one->after, 15 - 14 + now - 4.5, 1e-9);
    cr_assert_eq(one->bound_count, 2);
    cr_expect_eq(one->bounds[0].by, BOUND_BY_GUARD);
    cr_expect_str_eq(one->bounds[1].rule, "house-0");
    close_shop(&shop);
}

/* Two lengths share a sum: the slower way gets the least of it. */
Test(wishes, fastest_shares_out)
{
    struct shop shop;
    static const struct field_place feeds[] = {{FIELD_CHANGE_PROBE_FEED, 0, 0},
                                               {FIELD_CHANGE_APPROACH_FEED, 0, 0}};
    const struct asked asked = {
        .places = feeds, .count = 2, .wishes = {{.kind = WISH_FASTEST}}, .wish_count = 1};
    READ(&shop, "change.probe_feed * 1 s <= 5.555 mm",
         "change.approach_feed * 1 s <= 20.575 mm");
    struct proposal found = propose(&shop, &asked);
    cr_assert_eq(found.state, PROPOSAL_FOUND);
    cr_expect_lt(found.granted[0].after, found.granted[0].before);
    for (size_t i = 0; i < found.widest.count; i++) {
        double feed = found.widest.items[i].si * 60e3;
        cr_expect_float_eq(
            feed, found.widest.items[i].place.field == FIELD_CHANGE_PROBE_FEED ? 333 : 1234,
            1e-6, "%s", found.widest.items[i].text);
    }
    close_shop(&shop);
}
