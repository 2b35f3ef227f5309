/* Reading what a page claims.  It may come from anywhere, and have gone through a browser,
 * which quotes and orders attributes in its own way.
 */
#include <stdlib.h>

#include "formula/pattern.h"
#include "text/utf8.h"
#include "wall/claims.h"
#include "wall/internal.h"

/* What is read of a page takes time and memory in proportion to its size. */
#define BUDGET ((struct pattern_budget){400000000, 64 * 1024 * 1024})

/* Any start tag, so that what stands in an attribute of another is none; and in a tag one
 * attribute, behind all that come before it.
 */
#define TAG    "<[A-Za-z][^\\s\"'/>]*+(?:[^\"'>]++|\"[^\"]*+\"|'[^']*+')*+>"
#define QUOTED "(?|\"(?<value>[^\"]*+)\"|'(?<value>[^']*+)')"
#define BEFORE                                                                                 \
    "\\A<[A-Za-z]++(?:\\s++[^\\s=\"'>]++(?:\\s*+=\\s*+(?:\"[^\"]*+\"|'[^']*+'|[^\\s\"'>]++))?+)*?"
#define ATTRIBUTE BEFORE "\\s++%s\\s*+=\\s*+" QUOTED

enum attribute {
    ATTRIBUTE_NAME,
    ATTRIBUTE_CONTENT,
    ATTRIBUTE_MACHINE,
    ATTRIBUTE_FILE,
    ATTRIBUTE_MADE,
    ATTRIBUTE_DAY,
    ATTRIBUTE_CUTTER,
    ATTRIBUTE_FIELD,
    ATTRIBUTE_FINDING,
    ATTRIBUTE_VALUE,
    ATTRIBUTES
};

static const char *const attributes[ATTRIBUTES] = {
    "name",     "content",     "data-machine", "data-file",    "data-made",
    "data-day", "data-cutter", "data-field",   "data-finding", "data-value"};

struct reader {
    struct arena *arena;
    struct pattern_text page;
    struct pattern_budget budget;
    struct pattern *tag, *attributes[ATTRIBUTES];
    bool costly;
};

/* --- texts --- */

static bool add_point(struct buffer *out, unsigned long point)
{
    char bytes[4];
    size_t size = point && point <= 0x10FFFF ? utf8_write((uint32_t)point, bytes) : 0;
    buffer_add(out, (struct view){bytes, size});
    return size;
}

/* Adds what a reference stands for; how long it is, 0: it is none. */
static size_t add_reference(struct buffer *out, struct view text)
{
    static const struct {
        const char *name;
        const char *stands_for;
    } names[] = {{"&amp;", "&"},   {"&lt;", "<"},   {"&gt;", ">"},
                 {"&quot;", "\""}, {"&apos;", "'"}, {"&nbsp;", "\u00a0"}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (view_starts(text, names[i].name)) {
            buffer_text(out, names[i].stands_for);
            return strlen(names[i].name);
        }
    if (!view_starts(text, "&#"))
        return 0;
    bool hex = text.size > 2 && (text.data[2] == 'x' || text.data[2] == 'X');
    size_t at = hex ? 3 : 2, first = at;
    unsigned long point = 0;
    for (; at < text.size && at < first + 7; at++) {
        char c = text.data[at];
        unsigned digit = c >= '0' && c <= '9'          ? (unsigned)(c - '0')
                         : hex && c >= 'a' && c <= 'f' ? (unsigned)(c - 'a' + 10)
                         : hex && c >= 'A' && c <= 'F' ? (unsigned)(c - 'A' + 10)
                                                       : 16;
        if (digit == 16)
            break;
        point = point * (hex ? 16 : 10) + digit;
    }
    if (at == first || at == text.size || text.data[at] != ';' || !add_point(out, point))
        return 0;
    return at + 1;
}

const char *wall_unescaped(struct arena *arena, struct view text)
{
    struct buffer out;
    buffer_init(&out, arena);
    while (text.size) {
        size_t size = *text.data == '&' ? add_reference(&out, text) : 0;
        if (!size) {
            buffer_byte(&out, *text.data ? *text.data : ' ');
            size = 1;
        }
        text = view_skip(text, size);
    }
    return buffer_string(&out);
}

/* --- tags --- */

static struct pattern *open_pattern(struct reader *reader, const char *text)
{
    const char *message;
    size_t offset;
    struct pattern *pattern =
        pattern_open(reader->arena, view_of(text), &reader->budget, &message, &offset);
    BUG_UNLESS(pattern);
    return pattern;
}

/* The text of an attribute of a tag; NULL: it has none. */
static const char *attribute(struct reader *reader, struct view tag, enum attribute which)
{
    size_t match[2], value[2];
    const struct pattern_text subject = {tag};
    if (!reader->attributes[which])
        reader->attributes[which] =
            open_pattern(reader, arena_format(reader->arena, ATTRIBUTE, attributes[which]));
    enum pattern_result result =
        pattern_search(reader->attributes[which], subject, 0, &reader->budget, match, value);
    reader->costly |= result == PATTERN_COSTLY;
    if (result != PATTERN_MATCH)
        return NULL;
    return wall_unescaped(reader->arena,
                          (struct view){tag.data + value[0], value[1] - value[0]});
}

static const char *or_none(const char *text)
{
    return text ? text : "";
}

/* The mark of a sheet.  NULL, else why it is none that can be read here. */
static const char *read_mark(struct reader *reader, struct view tag, struct sheet_state *state)
{
    const char *content = attribute(reader, tag, ATTRIBUTE_CONTENT);
    const struct {
        enum attribute which;
        const char **into;
    } parts[] = {{ATTRIBUTE_MACHINE, &state->machine},
                 {ATTRIBUTE_FILE, &state->fingerprint},
                 {ATTRIBUTE_MADE, &state->made_by},
                 {ATTRIBUTE_DAY, &state->day},
                 {ATTRIBUTE_CUTTER, &state->cutter}};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        *parts[i].into = or_none(attribute(reader, tag, parts[i].which));
    return content && strcmp(content, "1") == 0
               ? NULL
               : "it was made by a version of this program that is newer than this one";
}

static void read_row(struct reader *reader, struct view tag, struct wall_claims *out)
{
    const char *field = attribute(reader, tag, ATTRIBUTE_FIELD);
    const char *name = field ? field : attribute(reader, tag, ATTRIBUTE_FINDING);
    if (name)
        VECTOR_ADD(
            reader->arena, &out->items,
            (struct wall_claim){.finding = !field,
                                .name = name,
                                .value = or_none(attribute(reader, tag, ATTRIBUTE_VALUE))});
}

/* The next tag from `*from` on, which is moved behind it. */
static bool next_tag(struct reader *reader, size_t *from, struct view *tag)
{
    size_t match[2], value[2];
    enum pattern_result result =
        pattern_search(reader->tag, reader->page, *from, &reader->budget, match, value);
    reader->costly |= result == PATTERN_COSTLY;
    if (result != PATTERN_MATCH)
        return false;
    *tag = (struct view){reader->page.bytes.data + match[0], match[1] - match[0]};
    *from = match[1];
    return true;
}

/* Has the element of a start tag this name? */
static bool is_called(struct view tag, const char *name)
{
    size_t size = strlen(name);
    return tag.size > size + 1 && strncmp(tag.data + 1, name, size) == 0 &&
           strchr(" \t\r\n/>", tag.data[size + 1]);
}

/* Nothing stands behind the end but white space. */
static bool ends(struct view page)
{
    static const char end[] = "</html>";
    size_t size = sizeof end - 1, at = page.size;
    while (at && strchr(" \t\r\n", page.data[at - 1]))
        at--;
    return at >= size && memcmp(page.data + at - size, end, size) == 0;
}

const char *wall_claims_read(struct arena *arena, struct view page, struct wall_claims *out)
{
    struct reader *reader = ARENA_NEW(arena, struct reader);
    *reader =
        (struct reader){.arena = arena, .page = pattern_text(arena, page), .budget = BUDGET};
    reader->tag = open_pattern(reader, TAG);
    *out = (struct wall_claims){.state = {"", "", "", "", ""}};
    const char *wrong = "it is no sheet of a machine that this program made";
    struct view tag;
    for (size_t from = 0; next_tag(reader, &from, &tag);) {
        const char *name =
            is_called(tag, "meta") ? attribute(reader, tag, ATTRIBUTE_NAME) : NULL;
        if (name && strcmp(name, "proveout-sheet") == 0)
            wrong = read_mark(reader, tag, &out->state);
        else if (is_called(tag, "tr"))
            read_row(reader, tag, out);
    }
    if (reader->costly)
        return "it takes too long to be read";
    if (wrong)
        return wrong;
    return ends(page) ? NULL : "it is not whole: its end is missing";
}
