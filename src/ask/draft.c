/* Drafts as text: one answer a line, `SOURCE PATH<tab>TEXT`; the name of an input in a path may
 * hold blanks.
 *
 *     proveout-draft 1
 *     base 0
 *     at change.standoff
 *     input setter
 *     asked machine.name<tab>shed router
 *     end 1f3a...
 *
 * Line ends and control characters cannot be in an answer: it was one line.
 */
#include "ask/draft.h"

#include "base/buffer.h"
#include "base/hash.h"

static const char title[] = "proveout-draft 1\n";

static const char *const source_words[SOURCE_COUNT] = {"",         "asked", "default",
                                                       "computed", "file",  "open"};

uint64_t draft_sum(struct view bytes)
{
    return hash_bytes(bytes);
}

struct view draft_write(struct arena *arena, const struct answers *answers,
                        const struct draft *draft)
{
    struct buffer out;
    buffer_init(&out, arena);
    buffer_text(&out, title);
    buffer_format(&out, "base %llx\nat %.*s\n", (unsigned long long)draft->base,
                  VIEW(draft->at));
    for (size_t i = 0; i < answers->inputs.count; i++)
        buffer_format(&out, "input %.*s\n", VIEW(answers->inputs.items[i]));
    for (uint16_t what = 0; what < ASK_END; what++)
        for (uint32_t i = 0; i < answers->of[what].list.count; i++) {
            const struct answer *answer = &answers->of[what].list.items[i];
            if (answer->source == SOURCE_NONE || answer->source == SOURCE_FILE)
                continue;
            buffer_format(&out, "%s%s %s\t%.*s\n", source_words[answer->source],
                          answer->unsure ? "?" : "", answer_path(arena, answers, what, i),
                          VIEW(answer->text));
        }
    uint64_t sum = draft_sum(buffer_view(&out));
    buffer_format(&out, "end %llx\n", (unsigned long long)sum);
    return buffer_view(&out);
}

static struct view take_until(struct view *rest, char stop)
{
    const char *end = memchr(rest->data, stop, rest->size);
    struct view part = {rest->data, end ? (size_t)(end - rest->data) : rest->size};
    *rest = view_skip(*rest, part.size + 1);
    return part;
}

static bool read_hex(struct view text, uint64_t *out)
{
    uint64_t value = 0;
    for (size_t i = 0; i < text.size; i++) {
        const char *digit = strchr("0123456789abcdef", text.data[i]);
        if (!digit || !*digit || i == 16)
            return false;
        value = value * 16 + (uint64_t)(digit - "0123456789abcdef");
    }
    *out = value;
    return text.size > 0;
}

/* Is the last line the sum of the rest?  `*body` is the rest. */
static bool is_whole(struct view bytes, struct view *body)
{
    uint64_t sum;
    size_t start = bytes.size;
    if (!bytes.size || bytes.data[bytes.size - 1] != '\n')
        return false;
    for (start--; start > 0 && bytes.data[start - 1] != '\n';)
        start--;
    struct view last = view_skip(bytes, start);
    last.size--;
    *body = (struct view){bytes.data, start};
    return view_starts(last, "end ") && read_hex(view_skip(last, 4), &sum) &&
           sum == draft_sum(*body) && view_starts(*body, title);
}

static bool read_answer(struct view word, struct view rest, struct answers *answers)
{
    struct answer answer = {0};
    uint16_t what;
    uint32_t record;
    struct view path = take_until(&rest, '\t');
    if (word.size && word.data[word.size - 1] == '?') {
        answer.unsure = true;
        word.size--;
    }
    for (uint8_t i = 1; i < SOURCE_COUNT; i++)
        if (view_is(word, source_words[i]))
            answer.source = i;
    answer.text = rest;
    if (!answer.source || !answer_find(answers, path, &what, &record))
        return false;
    answers_set(answers, what, record, &answer);
    return true;
}

enum draft_state draft_read(struct arena *arena, struct view bytes, struct answers *answers,
                            struct draft *out)
{
    struct view body;
    struct draft draft = {0};
    if (!is_whole(bytes, &body))
        return DRAFT_DAMAGED;
    (void)take_until(&body, '\n');
    while (body.size) {
        struct view line = take_until(&body, '\n');
        struct view rest = line;
        struct view word = take_until(&rest, ' ');
        if (view_is(word, "base")) {
            if (!read_hex(rest, &draft.base))
                return DRAFT_DAMAGED;
        } else if (view_is(word, "at")) {
            draft.at = (struct view){arena_copy(arena, rest.data, rest.size), rest.size};
        } else if (view_is(word, "input")) {
            (void)answers_input(answers, rest);
        } else if (read_answer(word, rest, answers)) {
            draft.count++;
        } else {
            return DRAFT_DAMAGED;
        }
    }
    *out = draft;
    return DRAFT_GOOD;
}
