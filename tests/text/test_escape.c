/* Nothing from a file reaches a terminal as a command. */
#include <criterion/criterion.h>

#include "text/escape.h"
#include "text/utf8.h"

static struct arena arena;

static void begin(void)
{
    arena_init(&arena, NULL);
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(escape, .init = begin, .fini = end);

struct case_escape {
    const char *text, *shown;
};

static const struct case_escape escapes[] = {
    {"plain text", "plain text"},
    {"a\\b", "a\\b"},
    {"a\nb\r\tc", "a\\nb\\r\\tc"},
    {"\x1b[31mred", "\\x1b[31mred"},
    {"\x7f", "\\x7f"},
    {"\xc2\x9b"
     "31m",
     "\\u009b31m"}, /* C1: the one-character escape sequence */
    {"\xe2\x80\xae"
     "abc",
     "\\u202eabc"},                                                /* right-to-left override */
    {"\xe2\x80\xaa\xe2\x80\xac", "\\u202a\\u202c"},                /* embedding and its end */
    {"\xe2\x81\xa6x\xe2\x81\xa9", "\\u2066x\\u2069"},              /* isolates */
    {"\xe2\x80\x8e\xe2\x80\x8f\xd8\x9c", "\\u200e\\u200f\\u061c"}, /* direction marks */
    {"\xe2\x80\x8b", "\\u200b"},                                   /* zero-width blank */
    {"\xef\xbb\xbf", "\\ufeff"},                                   /* byte order mark */
    {"\xe2\x80\xa8\xe2\x80\xa9", "\\u2028\\u2029"},                /* line and paragraph ends */
    {"\xc2\xad", "\\u00ad"},                                       /* soft hyphen */
    {"\xe3\x85\xa4", "\\u3164"},                                   /* Hangul filler */
    {"\xf3\xa0\x81\x81", "\\U000e0041"},                           /* tag letters */
    {"\xff\xc3(", "\\xff\\xc3("},
    {"\xe6\x97\xa5 \xc2\xb1 e\xcc\x81", "\xe6\x97\xa5 \xc2\xb1 e\xcc\x81"},
    {"\xd8\x80", "\xd8\x80"}, /* a format character that is seen */
};

Test(escape, terminal)
{
    for (size_t i = 0; i < sizeof escapes / sizeof *escapes; i++) {
        struct buffer out;
        buffer_init(&out, &arena);
        escape_terminal(&out, view_of(escapes[i].text));
        cr_expect_str_eq(buffer_string(&out), escapes[i].shown);
    }
}

Test(escape, bytes_zero_are_shown)
{
    struct buffer out;
    buffer_init(&out, &arena);
    escape_terminal(&out, (struct view){"a\0b", 3});
    cr_expect_str_eq(buffer_string(&out), "a\\x00b");
}

struct case_short {
    const char *text;
    size_t cells;
    const char *shown;
};

static const struct case_short shorts[] = {
    {"probe_stroke", 12, "probe_stroke"},
    {"probe_stroke", 11, "probe_st..."},
    {"probe_stroke", 3, "..."},
    {"probe_stroke", 2, ".."},
    {"", 0, ""},
    {"\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e", 6, "\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e"},
    {"\xe6\x97\xa5\xe6\x9c\xac\xe8\xaa\x9e", 5, "\xe6\x97\xa5..."},
    {"\x1b\x1b\x1b", 8, "\\x1b..."},
    {"\x1b\x1b\x1b", 12, "\\x1b\\x1b\\x1b"},
    {"e\xcc\x81"
     "abc",
     4,
     "e\xcc\x81"
     "abc"},
};

Test(escape, shortened)
{
    for (size_t i = 0; i < sizeof shorts / sizeof *shorts; i++) {
        const char *shown = escape_short(&arena, view_of(shorts[i].text), shorts[i].cells);
        cr_expect_str_eq(shown, shorts[i].shown);
        cr_expect(utf8_cells(view_of(shown)) <= shorts[i].cells);
    }
}

/* Marks without width have a limit of their own. */
Test(escape, endless_marks)
{
    char text[3001];
    for (size_t i = 0; i < 1500; i++)
        memcpy(text + 2 * i, "\xcc\x81", 2);
    text[3000] = '\0';
    cr_expect(strlen(escape_short(&arena, view_of(text), 10)) < 200);
}

static const struct {
    const char *text, *quoted;
} quotes[] = {
    {"", "\"\""},
    {"rack 2", "\"rack 2\""},
    {"3/4\" shank", "\"3/4\\\" shank\""},
    {"C:\\jobs", "\"C:\\\\jobs\""},
    {"two\nlines", "\"two\\nlines\""},
    {"\t\x7f\x01", "\"\\x09\\x7f\\x01\""},
    {"fr\xc3\xa4ser", "\"fr\xc3\xa4ser\""},
};

Test(escape, quoted)
{
    for (size_t i = 0; i < sizeof quotes / sizeof *quotes; i++) {
        struct buffer out;
        buffer_init(&out, &arena);
        escape_quoted(&out, view_of(quotes[i].text));
        cr_expect_str_eq(buffer_string(&out), quotes[i].quoted);
    }
}

Test(escape, xml)
{
    static const struct {
        const char *text, *xml;
    } cases[] = {
        {"a & b < c > \"d\"", "a &amp; b &lt; c &gt; &quot;d&quot;"},
        {"]]>", "]]&gt;"},
        {"</svg><script>", "&lt;/svg&gt;&lt;script&gt;"},
        {"\x1b[31m", "\\x1b[31m"},
        {"one\ntwo", "one\\ntwo"},
        {"\xE2\x80\xAE", "\\u202e"},
        {"\xEF\xBF\xBE\xEF\xBF\xBF", "\\ufffe\\uffff"},
        {"\xFF", "\\xff"},
        {"\xC2\xB1 \xE6\xBC\xA2", "\xC2\xB1 \xE6\xBC\xA2"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct buffer out;
        buffer_init(&out, &arena);
        escape_xml(&out, view_of(cases[i].text));
        cr_expect_str_eq(buffer_string(&out), cases[i].xml);
    }
}
