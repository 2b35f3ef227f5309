/* Patterns by PCRE2, under a budget of our own.
 *
 * An automatic callout before every item of a pattern counts the work of the whole search; the
 * library's limits are set besides, for what it does between two items.  The compiled pattern
 * is not given to the JIT: callouts count there too, but its stack would be one more limit.
 */
#define PCRE2_CODE_UNIT_WIDTH 8
#include <pcre2.h>

#include "formula/pattern.h"

#include "base/buffer.h"

enum {
    MATCH_LIMIT = 10 * 1000 * 1000,
    DEPTH_LIMIT = 100 * 1000,
    HEAP_LIMIT_KIB = 20 * 1000,
    NEST_LIMIT = 50,
    /* Between two callouts the library may run one item over much of the text: bytes that it
     * has run over cost as much as one callout. */
    BYTES_A_STEP = 16,
};

struct pattern {
    pcre2_code *code;
    pcre2_compile_context *compiling;
    pcre2_match_context *matching;
    pcre2_match_data *data;
    struct arena *arena;
    int value_group; /* 0: the whole match */
    bool only_value;
};

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
    if (code == PCRE2_ERROR_NOMEMORY)
        arena_exhausted(arena);
    if (pcre2_get_error_message(code, text, sizeof text) < 0)
        return "this pattern cannot be read";
    return arena_format(arena, "this pattern cannot be read: %s", (const char *)text);
}

static void need(struct arena *arena, const void *memory)
{
    if (!memory)
        arena_exhausted(arena);
}

static void end(void *guest)
{
    struct pattern *pattern = guest;
    pcre2_match_data_free(pattern->data);
    pcre2_match_context_free(pattern->matching);
    pcre2_code_free(pattern->code);
    pcre2_compile_context_free(pattern->compiling);
}

struct pattern *pattern_open(struct arena *arena, struct view text, const char **message,
                             size_t *offset)
{
    if (text.size > PATTERN_SIZE_MAX) {
        *message = "this pattern is too long";
        *offset = 0;
        return NULL;
    }
    struct pattern *pattern = ARENA_NEW(arena, struct pattern);
    pattern->arena = arena;
    arena_guest_add(arena, end, pattern);
    pattern->compiling = pcre2_compile_context_create(NULL);
    need(arena, pattern->compiling);
    pcre2_set_parens_nest_limit(pattern->compiling, NEST_LIMIT);
    /* Files have lines, and ^ and $ are meant to be their ends, whoever wrote them. */
    pcre2_set_newline(pattern->compiling, PCRE2_NEWLINE_ANYCRLF);
    int code = 0;
    PCRE2_SIZE at = 0;
    uint32_t options = PCRE2_UTF | PCRE2_MULTILINE | PCRE2_AUTO_CALLOUT |
                       PCRE2_NEVER_BACKSLASH_C | PCRE2_MATCH_INVALID_UTF;
    pattern->code = pcre2_compile((PCRE2_SPTR)(text.size ? text.data : ""), text.size, options,
                                  &code, &at, pattern->compiling);
    if (!pattern->code) {
        *message = plain_message(arena, code);
        *offset = at;
        pattern_close(pattern);
        return NULL;
    }
    pattern->matching = pcre2_match_context_create(NULL);
    pattern->data = pcre2_match_data_create_from_pattern(pattern->code, NULL);
    need(arena, pattern->matching);
    need(arena, pattern->data);
    pcre2_set_match_limit(pattern->matching, MATCH_LIMIT);
    pcre2_set_depth_limit(pattern->matching, DEPTH_LIMIT);
    pcre2_set_heap_limit(pattern->matching, HEAP_LIMIT_KIB);
    find_value(pattern);
    return pattern;
}

void pattern_close(struct pattern *pattern)
{
    arena_guest_end(pattern->arena, pattern);
}

/* What a search has left, and where it was when it last paid. */
struct purse {
    uint64_t *budget;
    size_t position;
};

static int spend(pcre2_callout_block *block, void *user)
{
    struct purse *purse = user;
    size_t now = block->current_position, before = purse->position;
    uint64_t cost = 1 + (now > before ? now - before : before - now) / BYTES_A_STEP;
    purse->position = now;
    if (*purse->budget < cost) {
        *purse->budget = 0;
        return PCRE2_ERROR_CALLOUT;
    }
    *purse->budget -= cost;
    return 0;
}

enum pattern_result pattern_search(struct pattern *pattern, struct view subject, size_t from,
                                   uint64_t *budget, size_t match[2], size_t value[2])
{
    if (from > subject.size)
        return PATTERN_NO_MATCH;
    struct purse purse = {budget, from};
    pcre2_set_callout(pattern->matching, spend, &purse);
    int count = pcre2_match(pattern->code, (PCRE2_SPTR)(subject.size ? subject.data : ""),
                            subject.size, from, 0, pattern->data, pattern->matching);
    if (count == PCRE2_ERROR_NOMATCH)
        return PATTERN_NO_MATCH;
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

bool pattern_has_value(const struct pattern *pattern)
{
    return pattern->only_value;
}
