/* Patterns by PCRE2, under a budget of our own.
 *
 * An automatic callout before every item of a pattern counts the work of the whole search; the
 * library's limits are set besides, for what it does between two items.  The compiled pattern
 * is not given to the JIT: callouts count there too, but its stack would be one more limit.
 *
 * Whatever the library asks for is taken from the arena and counted, so that a lack of memory
 * leaves nothing behind, and a limit that is met can be told from it: only the limit is ever
 * said to the library.
 */
#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

#include "formula/pattern.h"

#include "base/buffer.h"
#include "text/utf8.h"

enum {
    MATCH_LIMIT = 10 * 1000 * 1000,
    DEPTH_LIMIT = 100 * 1000,
    HEAP_LIMIT_KIB = 20 * 1000,
    NEST_LIMIT = 50,
    /* Between two callouts the library may run one item over much of the text: bytes that it
     * has run over cost as much as one callout. */
    BYTES_A_STEP = 16,
    /* Where no match can begin it runs over the text with no callout at all, and quicker. */
    PASSED_A_STEP = 64,
    /* Compiling: a byte of a pattern, and characters of a range where upper and lower case are
     * the same, which the library looks at one by one. */
    STEPS_A_BYTE = 8,
    CHARACTERS_A_STEP = 4,
    SUBSTITUTE = 0x1a,
};

struct pattern {
    struct arena *arena;
    struct pattern_budget *budget; /* of what is being done */
    pcre2_code *code;
    pcre2_match_context *matching;
    pcre2_match_data *data;
    int value_group; /* 0: the whole match */
    bool only_value;
};

struct pattern_text pattern_text(struct arena *arena, struct view bytes)
{
    size_t good = utf8_check(bytes);
    if (good == bytes.size)
        return (struct pattern_text){bytes};
    char *copy = arena_copy(arena, bytes.data, bytes.size);
    while (good < bytes.size) {
        copy[good++] = SUBSTITUTE;
        good += utf8_check(view_skip(bytes, good));
    }
    return (struct pattern_text){{copy, bytes.size}};
}

static void *take_memory(size_t size, void *user)
{
    struct pattern *pattern = user;
    if (size > pattern->budget->memory)
        return NULL;
    pattern->budget->memory -= size;
    return arena_alloc(pattern->arena, size);
}

static void leave_memory(void *memory, void *user)
{
    (void)memory, (void)user; /* the arena's */
}

static bool pay(struct pattern_budget *budget, uint64_t steps)
{
    bool enough = budget->steps >= steps;
    budget->steps = enough ? budget->steps - steps : 0;
    return enough;
}

/* A character written as a number, of base 2^`bits`, up to what is no digit. */
static uint32_t numbered(struct view text, unsigned bits)
{
    uint32_t point = 0;
    for (size_t i = 0; i < text.size && point < 0x110000; i++) {
        const char *digits = "0123456789abcdef";
        char c = text.data[i] >= 'A' && text.data[i] <= 'F' ? (char)(text.data[i] | 0x20)
                                                            : text.data[i];
        const char *digit = c ? memchr(digits, c, (size_t)1 << bits) : NULL;
        if (!digit)
            break;
        point = point << bits | (uint32_t)(digit - digits);
    }
    return point;
}

/* The character at the start of `text`, at least: more where it is none that ends a range. */
static uint32_t range_end(struct view text)
{
    uint32_t point = 0;
    while (view_starts(text, "\\E") || view_starts(text, "\\Q") || view_starts(text, " ") ||
           view_starts(text, "\t")) /* which say nothing here, or may say nothing */
        text = view_skip(text, text.data[0] == '\\' ? 2 : 1);
    if (view_starts(text, "\\x{"))
        return numbered(view_skip(text, 3), 4);
    if (view_starts(text, "\\o{"))
        return numbered(view_skip(text, 3), 3);
    if (view_starts(text, "\\N{U+"))
        return numbered(view_skip(text, 5), 4);
    if (!text.size || text.data[0] == '\\')
        return 0x1ff; /* three octal digits at most */
    return utf8_read(text, &point) ? point : 0;
}

/* How many characters the ranges of a pattern may have: every "-" is taken for one. */
static uint64_t characters_in_ranges(struct view text)
{
    uint64_t characters = 0;
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] == '-')
            characters += range_end(view_skip(text, i + 1));
    return characters;
}

/* Finds the group called `value`, and whether it is the only one with a name. */
static void find_value(struct pattern *pattern)
{
    uint32_t names = 0;
    pcre2_pattern_info(pattern->code, PCRE2_INFO_NAMECOUNT, &names);
    int group = pcre2_substring_number_from_name(pattern->code, (PCRE2_SPTR) "value");
    pattern->value_group = group > 0 ? group : 0;
    pattern->only_value = group > 0 && names == 1;
}

static const char *plain_message(struct arena *arena, int code)
{
    PCRE2_UCHAR text[160];
    if (pcre2_get_error_message(code, text, sizeof text) < 0)
        return "this pattern cannot be read";
    return arena_format(arena, "this pattern cannot be read: %s", (const char *)text);
}

static bool compile(struct pattern *pattern, struct view text, const char **message,
                    size_t *offset)
{
    pcre2_general_context *memory =
        pcre2_general_context_create(take_memory, leave_memory, pattern);
    pcre2_compile_context *compiling = memory ? pcre2_compile_context_create(memory) : NULL;
    if (!compiling)
        return false;
    pcre2_set_parens_nest_limit(compiling, NEST_LIMIT);
    /* Files have lines, and ^ and $ are meant to be their ends, whoever wrote them. */
    pcre2_set_newline(compiling, PCRE2_NEWLINE_ANYCRLF);
    int code = 0;
    PCRE2_SIZE at = 0;
    uint32_t options =
        PCRE2_UTF | PCRE2_MULTILINE | PCRE2_AUTO_CALLOUT | PCRE2_NEVER_BACKSLASH_C;
    pattern->code = pcre2_compile((PCRE2_SPTR)(text.size ? text.data : ""), text.size, options,
                                  &code, &at, compiling);
    if (!pattern->code) {
        if (code != PCRE2_ERROR_HEAP_FAILED)
            *message = plain_message(pattern->arena, code);
        *offset = at;
        return false;
    }
    pattern->matching = pcre2_match_context_create(memory);
    pattern->data = pcre2_match_data_create_from_pattern(pattern->code, memory);
    return pattern->matching && pattern->data;
}

struct pattern *pattern_open(struct arena *arena, struct view text,
                             struct pattern_budget *budget, const char **message,
                             size_t *offset)
{
    *message = NULL;
    *offset = 0;
    if (text.size > PATTERN_SIZE_MAX) {
        *message = "this pattern is too long";
        return NULL;
    }
    uint64_t cost = text.size * STEPS_A_BYTE + characters_in_ranges(text) / CHARACTERS_A_STEP;
    struct pattern *pattern = ARENA_NEW(arena, struct pattern);
    *pattern = (struct pattern){.arena = arena, .budget = budget};
    if (!pay(budget, cost) || !compile(pattern, text, message, offset))
        return NULL;
    pcre2_set_match_limit(pattern->matching, MATCH_LIMIT);
    pcre2_set_depth_limit(pattern->matching, DEPTH_LIMIT);
    pcre2_set_heap_limit(pattern->matching, HEAP_LIMIT_KIB);
    find_value(pattern);
    return pattern;
}

struct pattern *pattern_of_names(struct arena *arena, struct view names)
{
    PCRE2_UCHAR *text = NULL;
    PCRE2_SIZE size = 0, at;
    const char *message;
    struct pattern_budget *budget = ARENA_NEW(arena, struct pattern_budget);
    int failed = pcre2_pattern_convert((PCRE2_SPTR)(names.size ? names.data : ""), names.size,
                                       PCRE2_CONVERT_UTF | PCRE2_CONVERT_GLOB_NO_STARSTAR,
                                       &text, &size, NULL);
    if (failed == PCRE2_ERROR_NOMEMORY)
        arena_exhausted(arena);
    if (failed)
        return NULL;
    const struct view own = {arena_copy(arena, text, size), size};
    pcre2_converted_pattern_free(text);
    *budget = PATTERN_BUDGET;
    return pattern_open(arena, own, budget, &message, &at);
}

/* What a search has left, and where it was when it last paid. */
struct purse {
    struct pattern_budget *budget;
    size_t position;
};

static int spend(pcre2_callout_block *block, void *user)
{
    struct purse *purse = user;
    size_t now = block->current_position, before = purse->position;
    purse->position = now;
    size_t run = now > before ? now - before : before - now;
    return pay(purse->budget, 1 + run / BYTES_A_STEP) ? 0 : PCRE2_ERROR_CALLOUT;
}

enum pattern_result pattern_search(struct pattern *pattern, struct pattern_text subject,
                                   size_t from, struct pattern_budget *budget, size_t match[2],
                                   size_t value[2])
{
    struct view text = subject.bytes;
    if (from > text.size)
        return PATTERN_NO_MATCH;
    struct purse purse = {budget, from};
    pattern->budget = budget;
    pcre2_set_callout(pattern->matching, spend, &purse);
    int count = pcre2_match(pattern->code, (PCRE2_SPTR)(text.size ? text.data : ""), text.size,
                            from, PCRE2_NO_UTF_CHECK, pattern->data, pattern->matching);
    if (count == PCRE2_ERROR_NOMATCH) {
        pay(budget, (text.size - from) / PASSED_A_STEP);
        return PATTERN_NO_MATCH;
    }
    if (count < 0)
        return PATTERN_COSTLY;
    PCRE2_SIZE *ends = pcre2_get_ovector_pointer(pattern->data);
    bool inside_out = ends[0] > ends[1]; /* \K in a look-ahead */
    match[0] = inside_out ? ends[1] : ends[0];
    match[1] = inside_out ? ends[0] : ends[1];
    int group = pattern->value_group;
    bool set = group && group < count && ends[2 * group] != PCRE2_UNSET;
    value[0] = set ? ends[2 * group] : match[0];
    value[1] = set ? ends[2 * group + 1] : match[1];
    return PATTERN_MATCH;
}

size_t pattern_after(struct pattern_text subject, const size_t match[2])
{
    uint32_t point;
    struct view rest = view_skip(subject.bytes, match[1]);
    if (match[1] > match[0])
        return match[1];
    return match[1] + (rest.size ? utf8_read(rest, &point) : 1);
}

bool pattern_has_value(const struct pattern *pattern)
{
    return pattern->only_value;
}
