/* What more readings of a value would be worth, on the base machine. */
#include <criterion/criterion.h>

#include <math.h>
#include <string.h>

#include "rules/round.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(worth, .init = begin, .fini = end);

/* The base machine with `old` replaced. */
static const struct machine *machine_with(const char *old, const char *now)
{
    const char *text = NULL;
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            text = arena_copy(&arena, builtin_texts[i].bytes, builtin_texts[i].size);
    const char *at = text ? strstr(text, old) : NULL;
    cr_assert(at);
    text = arena_format(&arena, "%.*s%s%s", (int)(at - text), text, now, at + strlen(old));
    struct source *source = ARENA_NEW(&arena, struct source);
    struct tree *tree = ARENA_NEW(&arena, struct tree);
    struct machine *machine = ARENA_NEW(&arena, struct machine);
    struct finding_sink sink;
    source_init(source, &arena, view_of("m.yaml"), view_of(text));
    sink_init(&sink, &arena, source);
    tree_read(tree, &arena, source, &sink);
    machine_read(machine, &arena, tree, &sink);
    return machine;
}

static bool find(const char *old, const char *now, enum field_id id, struct worth *out)
{
    static const struct rulebook *const books[] = {&builtin_rulebook};
    const struct check_options options = {.books = books, .book_count = 1};
    const struct field_place place = {id, 0, 0};
    return worth_find(&arena, &options, machine_with(old, now), &place, out);
}

#define CONTACT "nose_contact: -125 mm"

/* Deviation 0.1 mm: of five readings 0.50769 mm, kept as 0.508, of ten 0.33935 mm. */
Test(worth, five_readings)
{
    struct worth worth;
    cr_assert(
        find(CONTACT,
             "nose_contact: {readings: [-125.1 mm, -124.9 mm, -125 mm, -125.1 mm, -124.9 mm], "
             "instrument_error: 0.02 mm}",
             FIELD_SETTER_NOSE_CONTACT, &worth));
    cr_expect_float_eq(worth.after[0].half_width, 0.97888e-3 + 2e-5, 1e-12);
    cr_expect_float_eq(worth.after[1].half_width, 0.50769e-3 + 2e-5, 1e-12);
    cr_expect_float_eq(worth.after[2].half_width, 0.33935e-3 + 2e-5, 1e-12);
    cr_expect_eq(worth.count, 10);
    cr_assert(worth.tightest);
    cr_expect_float_eq(worth.gain, 0.528e-3 - 0.35935e-3, 1e-12);
}

Test(worth, of_ten_readings_twice_as_many)
{
    struct worth worth;
    cr_assert(
        find("repeatability: 0.01 mm",
             "repeatability: {readings: [0 mm, 0.01 mm, 0 mm, 0.01 mm, 0 mm, 0.01 mm, 0 mm, "
             "0.01 mm, 0 mm, 0.01 mm]}",
             FIELD_SETTER_REPEATABILITY, &worth));
    cr_expect_eq(worth.count, 20);
    cr_assert(worth.tightest);
    cr_expect_gt(worth.gain, 0);
}

Test(worth, nothing_is_known_of_one_number_or_one_reading)
{
    struct worth worth;
    cr_expect(!find(CONTACT, CONTACT, FIELD_SETTER_NOSE_CONTACT, &worth));
    cr_expect(!find(CONTACT, "nose_contact: {readings: [-125 mm]}", FIELD_SETTER_NOSE_CONTACT,
                    &worth));
}

/* Nothing rests on the tolerance of equal readings. */
Test(worth, equal_readings_bring_nothing)
{
    struct worth worth;
    cr_assert(
        find(CONTACT,
             "nose_contact: {readings: [-125 mm, -125 mm, -125 mm], instrument_error: 0.02 mm}",
             FIELD_SETTER_NOSE_CONTACT, &worth));
    cr_expect_null(worth.tightest);
}
