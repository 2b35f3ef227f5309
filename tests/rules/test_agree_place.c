/* Patterns for numbers that stand somewhere: what is proposed, and that it finds this number alone,
 * and another in its place as well. */
#include <criterion/criterion.h>

#include <string.h>

#include "base/buffer.h"
#include "formula/pattern.h"
#include "rules/agree.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(agree_place, .init = begin, .fini = end);

/* The numbers of a line, with a blank between. */
static const char *numbers_of(const char *line)
{
    struct span spans[LINE_NUMBERS_MAX];
    struct view bytes = view_of(line);
    struct buffer out;
    buffer_init(&out, &arena);
    size_t count =
        line_numbers(bytes, (struct span){0, (uint32_t)bytes.size}, spans, LINE_NUMBERS_MAX);
    for (size_t i = 0; i < count && i < LINE_NUMBERS_MAX; i++)
        buffer_format(&out, "%s%.*s", i ? " " : "", (int)(spans[i].end - spans[i].start),
                      line + spans[i].start);
    return buffer_string(&out);
}

Test(agree_place, numbers_on_a_line)
{
    static const char *const rows[][2] = {
        {"STROKE = 21.50 ; mm", "21.50"},
        {"G1 X12.5 Y-3. Z+.25", "1 12.5 -3. +.25"},
        {"3-5", "3 5"},
        {"a -5e3 b 5e 1.5E-3", "-5e3 5 1.5E-3"},
        {"\xE2\x88\x92" "4", "\xE2\x88\x92" "4"},
        {"none. - + e5x .", "5"},
        {"", ""},
        {"1.2.3", "1.2 .3"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect_str_eq(numbers_of(rows[i][0]), rows[i][1], "%s: %s", rows[i][0],
                         numbers_of(rows[i][0]));
    struct view many = view_of("1 2 3 4");
    struct span two[2];
    cr_expect_eq(line_numbers(many, (struct span){2, 7}, two, 2), 3);
    cr_expect_eq(two[1].start, 4);
}

/* The one match of a pattern; empty where there is none, or another. */
static struct view match_of(const char *text, struct view bytes)
{
    struct pattern_budget budget = PATTERN_BUDGET;
    const char *message = "";
    size_t offset, match[2], value[2];
    struct pattern_text subject = pattern_text(&arena, bytes);
    struct pattern *pattern =
        pattern_open(&arena, view_of(text), &budget, &message, &offset);
    cr_assert(pattern && pattern_has_value(pattern), "%s: %s", text, message);
    if (pattern_search(pattern, subject, 0, &budget, match, value) != PATTERN_MATCH)
        return (struct view){0};
    struct view found = {bytes.data + value[0], value[1] - value[0]};
    bool again = pattern_search(pattern, subject, pattern_after(subject, match), &budget, match,
                                value) == PATTERN_MATCH;
    return again ? (struct view){0} : found;
}

/* `text` has the number between { and }, which are taken out; `*number` is where it stands. */
static struct view marked(const char *text, struct span *number)
{
    struct view all = view_of(text);
    const char *open = strchr(text, '{'), *close = strchr(text, '}');
    struct buffer out;
    buffer_init(&out, &arena);
    buffer_add(&out, (struct view){text, (size_t)(open - text)});
    number->start = (uint32_t)out.size;
    buffer_add(&out, (struct view){open + 1, (size_t)(close - open) - 1});
    number->end = (uint32_t)out.size;
    buffer_add(&out, view_skip(all, (size_t)(close - text) + 1));
    return buffer_view(&out);
}

static const char *propose(struct view bytes, struct span number, const char **why)
{
    struct source source;
    source_init(&source, &arena, view_of("c.txt"), bytes);
    struct place place = source_place(&source, number.start, COLUMN_BYTES);
    return place_pattern(&arena, bytes, source_line(&source, place.line), number, why);
}

#define N "(?<value>[-+\\x{2212}]?(?:\\d+\\.?\\d*|\\.\\d+)(?:[eE][-+]?\\d+)?)(?![-.,:/]?\\d|\\h+\\d+/)"

struct row {
    const char *text;    /* the number in { } */
    const char *pattern; /* NULL: only what it finds matters */
};

Test(agree_place, names_the_number_and_finds_it_alone)
{
    static const struct row rows[] = {
        {"STROKE {21.5}", "^\\h*STROKE\\h+" N},
        {"; note\n  STROKE\t=  {21.5} mm\n", "^\\h*STROKE\\h*\\=\\h*" N},
        {"STROKE:{-21}", "^\\h*STROKE\\:" N},
        {"G1 X5 Z{-5.0} F300", "(?<![A-Za-z0-9_])Z" N},
        {"G1 X5 Z{5} F300\nG1 X6 Z5", "(?<![A-Za-z0-9_])X5\\h+Z" N},
        {"G1 Z{5} F300\nG1 Z6", "^\\h*G1\\h+Z" N "\\h*F300\\h*$"},
        {"low 3\nhigh {3}\n", "^\\h*high\\h+" N},
        {"probing feed = {180}\n", "^\\h*probing\\h+feed\\h*\\=\\h*" N},
        {"N4 probing feed {180}\n", "(?<![A-Za-z0-9_])probing\\h+feed\\h+" N},
        {"{12.5} standoff\n7 stroke\n", "^\\h*" N "\\h*standoff\\h*$"},
        {"{12.5}", "^\\h*" N},
        {"a.b(c)[0]*+?|^$\\ = {7}", NULL},
        {"<set name=\"x\" value=\"{3.5}\"/>\n<set name=\"y\" value=\"3.5\"/>", NULL},
        {"\"stroke\": {21.5},\r\n\"standoff\": 9\r\n", NULL},
        {"k\xC3\xBChl: {5}\nkohl: 5", NULL},
        {"\xff\xfe bad {5} \x80\nbad 6", NULL},
        {"\x1b[2J stroke {5}\x07\n", NULL},
        {"\xEF\xBB\xBFSTROKE {5}\n", NULL},
        {"a\rSTROKE {5}\rb 5\r", NULL},
        {"x 5 y\nx 6 y\nx {5} z", NULL},
        {"OLD_STROKE 5\nSTROKE {5}", NULL},
        {"; STROKE 5\nSTROKE {6}", NULL},
        {"1 2 3 {4} 5", NULL},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct span number;
        const char *why = "";
        struct view bytes = marked(rows[i].text, &number);
        const char *pattern = propose(bytes, number, &why);
        cr_expect(pattern, "%s: %s", rows[i].text, why);
        if (!pattern)
            continue;
        if (rows[i].pattern)
            cr_expect_str_eq(pattern, rows[i].pattern, "%s: %s", rows[i].text, pattern);
        struct view found = match_of(pattern, bytes);
        cr_expect_eq(found.data, bytes.data + number.start, "%s: %s", rows[i].text, pattern);
        cr_expect_eq(found.size, number.end - number.start);
        /* another number in its place is found too, and half of one is not */
        struct buffer other;
        for (int half = 0; half < 2; half++) {
            buffer_init(&other, &arena);
            buffer_add(&other, (struct view){bytes.data, number.start});
            buffer_text(&other, half ? "123,45" : "-123.45");
            buffer_add(&other, view_skip(bytes, number.end));
            found = match_of(pattern, buffer_view(&other));
            cr_expect(half ? !found.size : view_is(found, "-123.45"), "%s: %s finds %.*s",
                      rows[i].text, pattern, VIEW(found));
        }
    }
}

Test(agree_place, none_where_none_is_sure)
{
    static const char *const rows[][2] = {
        {"V {1},5", "by hand"},
        {"V 1,{5}", "by hand"},
        {"V {31} 1/2", "by hand"},
        {"V {1}/2", "by hand"},
        {"V {2026}-10-10", "by hand"},
        {"V 2026-{10}-10", "by hand"},
        {"V {12}:30", "by hand"},
        {"V {007}", "by hand"},
        {"V {0}x1F", "by hand"},
        {"V {5}\nV 5\n", "finds another"},
        {"{5}\n6\n", "finds another"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct span number;
        const char *why = NULL;
        struct view bytes = marked(rows[i][0], &number);
        cr_expect_null(propose(bytes, number, &why), "%s", rows[i][0]);
        cr_expect(why && strstr(why, rows[i][1]), "%s: %s", rows[i][0], why ? why : "");
    }
}

Test(agree_place, large_files_end)
{
    struct buffer text;
    const char *why = NULL;
    buffer_init(&text, &arena);
    for (int i = 0; i < 100000; i++)
        buffer_format(&text, "G1 X%d.5 Y-3.25 Z-2\n", i);
    struct span number = {(uint32_t)text.size + 7, (uint32_t)text.size + 9};
    buffer_text(&text, "STROKE 21");
    const char *pattern = propose(buffer_view(&text), number, &why);
    cr_expect(pattern, "%s", why);
    buffer_init(&text, &arena);
    buffer_fill(&text, 'x', 3000000);
    number = (struct span){(uint32_t)text.size + 1, (uint32_t)text.size + 3};
    buffer_text(&text, " 21");
    cr_expect_null(propose(buffer_view(&text), number, &why));
    cr_expect(strstr(why, "too long"));
}

Test(agree_place, units_in_which_it_says_the_same)
{
    unit_id units[8];
    size_t count = place_units(view_of("0.5"), DIMENSION_LENGTH, 0.0127, units, 8);
    cr_assert_eq(count, 1);
    cr_expect_str_eq(unit_text(units[0]), "in");
    count = place_units(view_of("12.7"), DIMENSION_LENGTH, 0.0127, units, 8);
    cr_assert_eq(count, 1);
    cr_expect_str_eq(unit_text(units[0]), "mm");
    cr_expect_eq(place_units(view_of("0.47"), DIMENSION_LENGTH, 0.0127, units, 8), 0);
    cr_expect_geq(place_units(view_of("0"), DIMENSION_LENGTH, 0, units, 8), 3);
}
