/* The store of answers, their names, and drafts. */
#include "ask/answers.h"

#include "base/buffer.h"
#include "base/hash.h"
#include "quantity/number.h"
#include "text/escape.h"

static const char *const own_names[] = {"units",      "another-cutter", "obstacle",
                                        "attachment", "numbers",        "more"};

_Static_assert(sizeof own_names / sizeof *own_names == ASK_END - FIELD_COUNT,
               "each question of the prompt's own has its name");

enum { RECORDS_MAX = 1000000 };

void answers_init(struct answers *answers, struct arena *arena)
{
    *answers = (struct answers){.arena = arena};
}

const struct answer *answers_get(const struct answers *answers, uint16_t what, uint32_t record)
{
    static const struct answer none = {0};
    return record < answers->of[what].list.count ? &answers->of[what].list.items[record]
                                                 : &none;
}

void answers_set(struct answers *answers, uint16_t what, uint32_t record,
                 const struct answer *answer)
{
    while (answers->of[what].list.count <= record)
        VECTOR_ADD(answers->arena, &answers->of[what].list, (struct answer){0});
    struct answer *place = &answers->of[what].list.items[record];
    struct view text = answer->text;
    *place = *answer;
    place->text = (struct view){arena_copy(answers->arena, text.data, text.size), text.size};
}

bool answer_has_value(const struct answer *answer)
{
    return answer->source != SOURCE_NONE && answer->source != SOURCE_OPEN;
}

bool answer_lists(struct view list, const char *word)
{
    size_t size = strlen(word);
    for (size_t i = 1; i + size < list.size; i++)
        if (memcmp(list.data + i, word, size) == 0 && strchr(" [", list.data[i - 1]) &&
            strchr(",]", list.data[i + size]))
            return true;
    return false;
}

uint32_t answers_input(struct answers *answers, struct view name)
{
    for (size_t i = 0; i < answers->inputs.count; i++)
        if (view_equal(answers->inputs.items[i], name))
            return (uint32_t)i;
    struct view copy = {arena_copy(answers->arena, name.data, name.size), name.size};
    VECTOR_ADD(answers->arena, &answers->inputs, copy);
    return (uint32_t)(answers->inputs.count - 1);
}

enum field_group answer_group(uint16_t what)
{
    if (what == ASK_ANOTHER_CUTTER)
        return GROUP_CUTTER;
    if (what == ASK_OBSTACLE)
        return GROUP_OBSTACLE;
    if (what == ASK_ATTACHMENT)
        return GROUP_ATTACHMENT;
    return what < FIELD_COUNT ? field_table[what].group : GROUP_ROOT;
}

/* Where the file has the field, or would have it. */
static struct field_place home_of(const struct answers *answers, uint16_t what, uint32_t record)
{
    if (answers->machine && field_table[what].group == GROUP_ROOT)
        return machine_home(answers->machine, (enum field_id)what, record);
    return (struct field_place){(enum field_id)what, record, 0};
}

const char *answer_path(struct arena *arena, const struct answers *answers, uint16_t what,
                        uint32_t record)
{
    if (what >= FIELD_COUNT)
        return record ? arena_format(arena, "%s[%u]", own_names[what - FIELD_COUNT], record)
                      : own_names[what - FIELD_COUNT];
    struct field_place place = home_of(answers, what, record);
    bool named = field_table[what].group == GROUP_INPUT;
    return field_record_path(arena, &place,
                             named ? answers->inputs.items[record] : (struct view){0});
}

const char *answer_spoken_path(struct arena *arena, const struct answers *answers,
                               uint16_t what, uint32_t record)
{
    enum { NAME_CELLS = 40 };
    if (what >= FIELD_COUNT)
        return answer_path(arena, answers, what, record);
    struct field_place place = home_of(answers, what, record);
    enum field_group group = field_table[place.field].group;
    enum field_id by = field_calling(group);
    const struct answer *name =
        by == FIELD_COUNT ? NULL : answers_get(answers, (uint16_t)by, place.record);
    if (!name || !answer_has_value(name))
        return answer_path(arena, answers, what, record);
    return arena_format(arena, "%s[%s=%s].%s", group_table[group].key, field_table[by].key,
                        escape_short(arena, name->text, NAME_CELLS),
                        field_table[place.field].key);
}

/* The number in brackets at `text`; false where there is none. */
static bool bracketed(struct view text, uint32_t *record)
{
    uint32_t number = 0;
    size_t i = 1;
    if (text.size < 3 || text.data[0] != '[')
        return false;
    for (; i < text.size && text.data[i] >= '0' && text.data[i] <= '9'; i++) {
        number = number * 10 + (uint32_t)(text.data[i] - '0');
        if (number > RECORDS_MAX)
            return false;
    }
    *record = number;
    return i > 1 && i < text.size && text.data[i] == ']';
}

static bool find_own(struct view path, uint16_t *what, uint32_t *record)
{
    for (size_t i = 0; i < sizeof own_names / sizeof *own_names; i++) {
        if (!view_starts(path, own_names[i]))
            continue;
        struct view rest = view_skip(path, strlen(own_names[i]));
        *record = 0;
        *what = (uint16_t)(FIELD_COUNT + i);
        if (!rest.size || bracketed(rest, record))
            return true;
    }
    return false;
}

/* The input whose `key` stands at `path`; its name may hold points. */
static bool find_input(const struct answers *answers, struct view path, const char *key,
                       uint32_t *record)
{
    struct view name = view_skip(path, strlen("inputs."));
    size_t behind = strlen(key) + 1;
    if (name.size <= behind)
        return false;
    name.size -= behind;
    for (*record = 0; *record < answers->inputs.count; (*record)++)
        if (view_equal(answers->inputs.items[*record], name))
            return true;
    return false;
}

bool answer_find(const struct answers *answers, struct view path, uint16_t *what,
                 uint32_t *record)
{
    if (find_own(path, what, record))
        return true;
    enum field_id id = field_find(path);
    if (id == FIELD_COUNT)
        return false;
    *what = (uint16_t)id;
    if (field_table[id].group == GROUP_INPUT)
        return find_input(answers, path, field_table[id].key, record);
    if (!field_record(id, path, record))
        return false;
    if (answers->machine && field_table[id].group == GROUP_SETTER)
        *what = (uint16_t)machine_stand_in(answers->machine, id, *record).field;
    if (*what != id)
        *record = 0;
    return true;
}

void answers_of_field(struct answers *answers, const struct machine *machine, enum field_id id,
                      uint32_t record)
{
    const struct field_value *value = machine_field(machine, id, record);
    enum field_kind kind = field_table[id].kind;
    bool is_text = kind == KIND_TEXT || kind == KIND_TERMINAL || kind == KIND_INPUT;
    struct answer answer = {.source = SOURCE_FILE};
    if (value->state != VALUE_GIVEN)
        return;
    answer.text = is_text ? value->text : view_of(field_value_text(answers->arena, id, value));
    answers_set(answers, (uint16_t)id, record, &answer);
}

void answers_from_machine(struct answers *answers, const struct machine *machine)
{
    const struct answer yes = {.source = SOURCE_FILE, .text = view_of("yes")};
    const struct answer units = {.source = SOURCE_FILE,
                                 .text = view_of(machine_in_inches(machine) ? "in" : "mm")};
    answers->machine = machine;
    for (uint32_t i = 0; i < machine->groups[GROUP_INPUT].count; i++) {
        const struct tree_node *node = machine->groups[GROUP_INPUT].nodes[i];
        (void)answers_input(answers, node->key);
    }
    answers->own_inputs = answers->inputs.count;
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        for (uint32_t i = 0; i < machine->groups[field_table[id].group].written; i++)
            answers_of_field(answers, machine, (enum field_id)id, i);
    for (uint32_t i = 1; i < machine->groups[GROUP_CUTTER].count; i++)
        answers_set(answers, ASK_ANOTHER_CUTTER, i, &yes);
    for (uint32_t i = 0; i < machine->groups[GROUP_OBSTACLE].written; i++)
        answers_set(answers, ASK_OBSTACLE, i, &yes);
    for (uint32_t i = 0; i < machine->groups[GROUP_ATTACHMENT].count; i++)
        answers_set(answers, ASK_ATTACHMENT, i, &yes);
    answers_set(answers, ASK_UNITS, 0, &units);
    answers_set(answers, ASK_NUMBERS, 0, &yes);
}

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

static const char title[] = "proveout-draft 1\n";

static const char *const source_words[SOURCE_COUNT] = {"",     "asked", "default", "computed",
                                                       "file", "open",  "beside"};

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
    struct view path = view_take(&rest, '\t');
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
    (void)view_take(&body, '\n');
    while (body.size) {
        struct view line = view_take(&body, '\n');
        struct view rest = line;
        struct view word = view_take(&rest, ' ');
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
