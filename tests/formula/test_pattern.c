/* Patterns: what they find, and that none runs away. */
#include <criterion/criterion.h>
#include <fnmatch.h>

#include "base/buffer.h"
#include "formula/pattern.h"

static struct pattern *open_pattern(struct arena *arena, const char *text)
{
    const char *message = NULL;
    size_t offset = 0;
    struct pattern_budget budget = PATTERN_BUDGET;
    struct pattern *pattern = pattern_open(arena, view_of(text), &budget, &message, &offset);
    cr_assert(pattern, "%s: %s at %zu", text, message, offset);
    return pattern;
}

/* What the whole match and its value are, as text; NULL where there is none. */
static void finds(const char *text, const char *subject, const char *match, const char *value)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct pattern *pattern = open_pattern(&arena, text);
    struct pattern_budget budget = PATTERN_BUDGET;
    size_t m[2], v[2];
    enum pattern_result result =
        pattern_search(pattern, pattern_text(&arena, view_of(subject)), 0, &budget, m, v);
    cr_assert_eq(result, match ? PATTERN_MATCH : PATTERN_NO_MATCH, "%s in %s", text, subject);
    if (match) {
        const char *found = arena_copy(&arena, subject + m[0], m[1] - m[0]);
        const char *held = arena_copy(&arena, subject + v[0], v[1] - v[0]);
        cr_assert_str_eq(found, match, "%s in %s", text, subject);
        cr_assert_str_eq(held, value, "%s in %s", text, subject);
    }
    arena_free(&arena);
}

Test(pattern, finds_a_match_and_its_value)
{
    finds("b+", "abbc", "bb", "bb");
    finds("x", "abbc", NULL, NULL);
    finds("$", "abc", "", "");
    finds("", "abc", "", "");
    finds("^", "", "", "");
    finds("(?<value>\\d+) mm", "probe 42 mm", "42 mm", "42");
    finds("stroke = (?<value>\\S+)", "stroke = 9.5", "stroke = 9.5", "9.5");
    finds("(?<other>\\d+) mm", "probe 42 mm", "42 mm", "42 mm");
    finds("(\\d+) mm", "probe 42 mm", "42 mm", "42 mm");
    finds("a(?<value>x)?b", "ab", "ab", "ab");
    finds("(?m)^b$", "a\nb\nc", "b", "b");
    finds("Fr.se", "die Fräse", "Fräse", "Fräse");
    finds("ä", "\xff\xc3\xa4", "ä", "ä");
    finds("b", "\xff\xfe", NULL, NULL);
    finds("a\\Kb", "ab", "b", "b");
}

Test(pattern, goes_on_from_where_it_is_told)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct pattern *pattern = open_pattern(&arena, "a.");
    struct pattern_text subject = {view_of("a1 a2 a3")};
    struct pattern_budget budget = PATTERN_BUDGET;
    size_t m[2], v[2], from = 0;
    int count = 0;
    while (pattern_search(pattern, subject, from, &budget, m, v) == PATTERN_MATCH) {
        cr_assert_eq(m[0], (size_t)count * 3);
        from = pattern_after(subject, m);
        count++;
    }
    cr_assert_eq(count, 3);
    cr_assert_lt(budget.steps, PATTERN_BUDGET.steps);
    cr_assert_eq(pattern_search(pattern, subject, 99, &budget, m, v), PATTERN_NO_MATCH);
    arena_free(&arena);
}

static void refused(const char *text, size_t at)
{
    struct arena arena;
    arena_init(&arena, NULL);
    const char *message = NULL;
    size_t offset = 12345;
    struct pattern_budget budget = PATTERN_BUDGET;
    struct pattern *pattern = pattern_open(&arena, view_of(text), &budget, &message, &offset);
    cr_assert_null(pattern, "%s", text);
    cr_assert(message && message[0], "%s", text);
    cr_assert_eq(offset, at, "%s: %zu, not %zu", text, offset, at);
    arena_free(&arena);
}

Test(pattern, refuses_what_is_none)
{
    char longest[PATTERN_SIZE_MAX + 2];
    memset(longest, 'a', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    refused(longest, 0);
    refused("(", 1);
    refused("a)", 1);
    refused("[b-a]", 3);
    refused("*", 0);
    refused("a\\C", 3);
    refused("\xff", 0);
    refused("((((((((((((((((((((((((((((((((((((((((((((((((((((((((((a"
            "))))))))))))))))))))))))))))))))))))))))))))))))))))))))))",
            51);
}

Test(pattern, tells_whether_there_is_one_value)
{
    static const struct {
        const char *text;
        bool value;
    } rows[] = {{"a", false},
                {"(?<value>a)", true},
                {"(?<value>a)(b)", true},
                {"(?<other>a)", false},
                {"(?<value>a)(?<other>b)", false}};
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pattern *pattern = open_pattern(&arena, rows[i].text);
        cr_assert_eq(pattern_has_value(pattern), rows[i].value, "%s", rows[i].text);
    }
    arena_free(&arena);
}

/* A text of `size` bytes `fill`, then `tail`. */
static void is_stopped(const char *text, size_t size, char fill, const char *tail)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer subject;
    buffer_init(&subject, &arena);
    buffer_fill(&subject, fill, size);
    buffer_text(&subject, tail);
    struct pattern *pattern = open_pattern(&arena, text);
    struct pattern_budget budget = PATTERN_BUDGET;
    size_t m[2], v[2];
    enum pattern_result result =
        pattern_search(pattern, pattern_text(&arena, buffer_view(&subject)), 0, &budget, m, v);
    /* The library may see at once that there is nothing to find; else the budget ends it. */
    cr_assert(result == PATTERN_COSTLY || (result == PATTERN_NO_MATCH && budget.steps > 0),
              "%s on %zu: %d, %llu left", text, size, (int)result,
              (unsigned long long)budget.steps);
    arena_free(&arena);
}

Test(pattern, none_runs_away)
{
    is_stopped("[ab]*[bc]d(?=x)", 40000, 'a', "d");
    is_stopped("(a+)+$", 40, 'a', "b");
    is_stopped("(a+)+$", 100000, 'a', "b");
    is_stopped("(a|aa)+$", 60, 'a', "b");
    is_stopped("(a|a?)+$", 60, 'a', "b");
    is_stopped("(?:a*)*b", 100000, 'a', "c");
    is_stopped(".*.*.*=x", 3000, 'a', "");
    is_stopped("(?R)?a(?R)?b", 1000, 'a', "");
    is_stopped("a*a*a*a*a*c", 5000, 'a', "");
    is_stopped("(?=(a+))*\\1b", 100000, 'a', "");
    is_stopped("(.)*\\1x", 100000, 'a', "");
}

/* Nothing after a byte that is no UTF-8 is lost, and offsets stay. */
Test(pattern, reads_what_is_not_utf8)
{
    finds("b+",
          "a\xff\xc3"
          "bb\xe2\x82",
          "bb", "bb");
    finds("a.b",
          "a\xff"
          "b",
          "a\xff"
          "b",
          "a\xff"
          "b");
    finds("^b$", "\xc3\xa4\xc3\nb\n", "b", "b");
}

Test(pattern, goes_on_behind_whole_characters)
{
    struct pattern_text text = {view_of("\xc3\xa4z")};
    cr_assert_eq(pattern_after(text, (size_t[2]){0, 2}), 2);
    cr_assert_eq(pattern_after(text, (size_t[2]){0, 0}), 2);
    cr_assert_eq(pattern_after(text, (size_t[2]){2, 2}), 3);
    cr_assert_eq(pattern_after(text, (size_t[2]){3, 3}), 4);
}

/* Compiling one under the budget of a file: how many of them it suffices for. */
static int opens(const char *start, const char *item, struct pattern_budget budget)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer text;
    buffer_init(&text, &arena);
    buffer_text(&text, start);
    while (text.size + strlen(item) <= PATTERN_SIZE_MAX)
        buffer_text(&text, item);
    const char *message;
    size_t offset;
    int count = 0;
    while (count < 200 && pattern_open(&arena, buffer_view(&text), &budget, &message, &offset))
        count++;
    cr_assert_null(message, "%s", message);
    arena_free(&arena);
    return count;
}

Test(pattern, is_prepared_within_the_budget)
{
    cr_assert_eq(opens("(?i)", "[\xc2\x80-\xf4\x8f\xbf\xbf]", PATTERN_BUDGET), 0);
    cr_assert_eq(opens("(?i)", "[\\x{80}-\\x{10ffff}]", PATTERN_BUDGET), 0);
    cr_assert_eq(opens("(?i)", "[\\x{80}-\\Q\xf4\x8f\xbf\xbf\\E]", PATTERN_BUDGET), 0);
    cr_assert_eq(opens("(?i)", "[\\o{200}-\\o{4177777}]", PATTERN_BUDGET), 0);
    cr_assert_eq(opens("(?i)", "[\\x{80}-\\N{U+10FFFF}]", PATTERN_BUDGET), 0);
    cr_assert_eq(opens("(?ixx)", "[\xc2\x80 - \xf4\x8f\xbf\xbf]", PATTERN_BUDGET), 0);
    int plain = opens("", "[a-z]", PATTERN_BUDGET);
    cr_assert(plain > 50 && plain < 200, "%d", plain);
    struct pattern_budget little = {4000000, 100000};
    int few = opens("", "[\xd0\xb0-\xd1\x8f]", little);
    cr_assert(few > 0 && few < 10, "%d", few);
}

Test(pattern, takes_no_more_memory_than_is_left)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer subject;
    buffer_init(&subject, &arena);
    buffer_fill(&subject, 'a', 60000);
    struct pattern *pattern = open_pattern(&arena, "(?:a|b)*[cd]");
    size_t m[2], v[2];
    struct pattern_budget budget = {PATTERN_BUDGET.steps, 100000};
    struct pattern_text text = {buffer_view(&subject)};
    cr_assert_eq(pattern_search(pattern, text, 0, &budget, m, v), PATTERN_COSTLY);
    cr_assert_gt(budget.steps, 0);
    cr_assert_lt(budget.memory, 100000);
    arena_free(&arena);
}

/* Patterns of names against the C library's own, by POSIX (IEEE Std 1003.1, fnmatch). */
Test(pattern, names_as_the_c_library_has_them)
{
    static const char *const patterns[] = {
        "*",        "*.yaml",  "a*",     "?.yaml",   "[ab].yaml", "[!a].yaml", "[a-c]*",   "a/*.yaml", "*/b.yaml",
        "a/*/c",    "**",      "a**b",   "machine",  "\\*",       "a\\b",      "[]x]",     "[[:digit:]]*",
        "a.b",      "*.y[am]*", "*ä*",   "",         "(a|b)",     "a+",        "^a$",      "{a,b}",    "[!/]*"};
    static const char *const names[] = {
        "",       "a",         "b.yaml", "a.yaml", "c.yaml", ".yaml",  ".a.yaml", "a/b.yaml", "a/b/c", "b/b.yaml",
        "machine", "machines", "*",      "ab",     "axb",    "aXXb",   "]",       "x",        "1.yml", "a.b",
        "axb.yml", "bär",      "(a|b)",  "aa",     "a+",     "^a$",    "{a,b}",   "a\nb",     "a\n"};
    struct arena arena;
    size_t both = 0;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof patterns / sizeof *patterns; i++) {
        struct pattern *pattern = pattern_of_names(&arena, view_of(patterns[i]));
        cr_assert(pattern, "%s", patterns[i]);
        for (size_t k = 0; k < sizeof names / sizeof *names; k++) {
            struct pattern_budget budget = PATTERN_BUDGET;
            size_t m[2], v[2];
            bool fits = pattern_search(pattern, pattern_text(&arena, view_of(names[k])), 0, &budget, m, v) ==
                        PATTERN_MATCH;
            cr_expect_eq(fits, fnmatch(patterns[i], names[k], FNM_PATHNAME) == 0, "%s of %s", patterns[i],
                         names[k]);
            both += fits;
        }
    }
    cr_expect_gt(both, 60);
    cr_expect_null(pattern_of_names(&arena, view_of("[a")));
    arena_free(&arena);
}
