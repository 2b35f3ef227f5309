/* Walking the table of questions: what applies, for which records, in which order. */
#include "ask/questions.h"

const char *const topic_names[TOPIC_COUNT] = {
    [TOPIC_MACHINE] = "The machine and its limits",
    [TOPIC_HOMING] = "Homing",
    [TOPIC_SPINDLE] = "The spindle, and how it is kept from starting",
    [TOPIC_TABLE] = "The table",
    [TOPIC_MEASURING] = "What measures the cutters",
    [TOPIC_CUTTERS] = "The cutters",
    [TOPIC_CHANGE] = "How a change runs",
    [TOPIC_NUMBERS] = "The chosen numbers",
    [TOPIC_ALLOWANCES] = "Allowances",
    [TOPIC_MORE] = "More",
};

const char *const topic_notes[TOPIC_COUNT] = {
    [TOPIC_MACHINE] =
        "Positions are machine coordinates: what the read-out shows after homing, "
        "before any zero of the work is set. Z grows away from the table.",
    [TOPIC_HOMING] =
        "Homing: the axes run to their switches, so that the machine knows where it "
        "stands.",
    [TOPIC_TABLE] = "Heights are told by the nose: the lowest face of the collet nut, as if no "
                    "cutter were in it. ? shows a drawing.",
    [TOPIC_MEASURING] =
        "Each new cutter is measured by touching something that switches an input "
        "of the controller; or its length comes from a list, or the operator touches it off.",
    [TOPIC_CHANGE] =
        "A change: the spindle stops, the cutter is exchanged by hand, and a slow stroke down "
        "until something is touched measures the new one. Before that stroke a fast approach "
        "goes down to a setter, or the operator brings the tip near a plate. With a list nothing "
        "is touched, and by hand the operator goes down onto a block.",
};

const struct ask_more more_table[ASK_MORE_COUNT] = {
    {"machine", "the machine and its drives", TOPIC_MACHINE},
    {"homing", "homing and its switches", TOPIC_HOMING},
    {"spindle", "the spindle, its collets and the dust shoe", TOPIC_SPINDLE},
    {"table", "the table, the work, and what stands on it", TOPIC_TABLE},
    {"measuring", "what measures the cutters, and its input", TOPIC_MEASURING},
    {"cutters", "each cutter", TOPIC_CUTTERS},
    {"change", "how a change runs", TOPIC_CHANGE},
    {"allowances", "allowances and clearances of your own", TOPIC_ALLOWANCES},
};

static const struct question question_table[] = {
#define Q(id, topic, usual, flags, text, reason)                                               \
    {FIELD_##id, TOPIC_##topic, WHEN_COUNT, USUAL_##usual, flags, text, reason},
#define ONLY(id, topic, when, flags)                                                           \
    {FIELD_##id, TOPIC_##topic, WHEN_##when, USUAL_NONE, flags, NULL, NULL},
#define OWN(id, topic, usual, flags, text, reason)                                             \
    {ASK_##id, TOPIC_##topic, WHEN_ALWAYS, USUAL_##usual, flags, text, reason},
#define REST(topic, section) {ASK_END, TOPIC_##topic, 0, 0, ASK_OFFERED, section, NULL},
#include "ask/questions.inc"
#undef Q
#undef ONLY
#undef OWN
#undef REST
};

enum { TABLE_ROWS = sizeof question_table / sizeof *question_table };

/* Of a field that has no row of its own. */
static const struct question rest_rows[FIELD_COUNT] = {
#define FIELD(id, ...)                                                                         \
    [FIELD_##id] = {FIELD_##id, TOPIC_MORE, WHEN_COUNT, USUAL_NONE, ASK_OFFERED, NULL, NULL},
#include "machine/fields.inc"
#undef FIELD
};

const struct question *question_row(uint16_t what)
{
    for (size_t i = 0; i < TABLE_ROWS; i++)
        if (question_table[i].what == what)
            return &question_table[i];
    return &rest_rows[what];
}

const char *question_asks(uint16_t what, bool together)
{
    enum { ALONE, TOGETHER };
    static const struct {
        uint16_t what;
        uint8_t span;
        const char *text;
    } table[] = {
#define ASKS(id, span, text) {FIELD_##id, span, text},
#include "ask/headlines.inc"
#undef ASKS
    };
    if (what < FIELD_COUNT)
        what = (uint16_t)field_of_setter((enum field_id)what);
    for (size_t i = 0; i < sizeof table / sizeof *table; i++)
        if (table[i].what == what && table[i].span == (together ? TOGETHER : ALONE))
            return table[i].text;
    return NULL;
}

void question_rows(struct arena *arena, struct question_list *out)
{
    *out = (struct question_list){0};
    for (size_t i = 0; i < TABLE_ROWS; i++) {
        const struct question *row = &question_table[i];
        if (row->what != ASK_END)
            VECTOR_ADD(arena, &out->rows, row);
        for (uint16_t id = 0; row->what == ASK_END && id < FIELD_COUNT; id++) {
            if (!field_is_in((enum field_id)id, row->text) ||
                question_row(id) != &rest_rows[id])
                continue;
            struct question *rest = ARENA_NEW(arena, struct question);
            *rest = rest_rows[id];
            rest->topic = row->topic;
            VECTOR_ADD(arena, &out->rows, rest);
        }
    }
}

static uint8_t when_of(const struct question *row)
{
    return row->when == WHEN_COUNT ? (uint8_t)field_table[row->what].when : row->when;
}

/* Is there a cutter that was left without a stick-out?  The assumed one serves for it too. */
static bool has_unlisted(const struct answers *answers)
{
    for (uint32_t i = 0; i < question_records(answers, GROUP_CUTTER); i++)
        if (answers_get(answers, FIELD_CUTTER_STICKOUT, i)->source == SOURCE_OPEN)
            return true;
    return false;
}

static bool holds(const struct answers *answers, uint8_t which, uint32_t record)
{
    for (; which != WHEN_ALWAYS; which = when_table[which].and) {
        const struct when *when = &when_table[which];
        bool of_file = field_table[when->field].group == GROUP_ROOT;
        const struct answer *answer =
            answers_get(answers, (uint16_t)when->field, of_file ? 0 : record);
        if (!answer_has_value(answer)) {
            if (!when->usual)
                return false;
            continue;
        }
        bool same = view_is(answer->text, when->is) ||
                    (when->or_is && view_is(answer->text, when->or_is)) ||
                    (which == WHEN_ASSUMED && has_unlisted(answers));
        if (same == when->is_not)
            return false;
    }
    return true;
}

static bool row_depends(const struct question *row, uint16_t other)
{
    for (uint8_t i = when_of(row); i != WHEN_ALWAYS; i = when_table[i].and)
        if (when_table[i].field == other)
            return true;
    return (row->flags & ASK_OFFERED) && other == ASK_MORE;
}

bool question_depends(uint16_t what, uint16_t other)
{
    bool depends = row_depends(question_row(what), other);
    for (size_t i = 0; !depends && i < TABLE_ROWS; i++)
        depends = question_table[i].what == what && row_depends(&question_table[i], other);
    return depends;
}

static bool is_yes(const struct answers *answers, uint16_t what, uint32_t record)
{
    const struct answer *answer = answers_get(answers, what, record);
    return answer_has_value(answer) && view_is(answer->text, "yes");
}

/* Is more of this topic wanted? */
static bool is_wanted(const struct answers *answers, const struct question *row)
{
    const struct answer *more = answers_get(answers, ASK_MORE, 0);
    if (!(row->flags & ASK_OFFERED))
        return true;
    for (size_t i = 0; i < ASK_MORE_COUNT; i++)
        if (more_table[i].topic == row->topic)
            return answer_lists(more->text, more_table[i].word);
    return false;
}

/* The question that decides whether there is one more record, and how many there are at least.
 */
static bool is_another(uint16_t what, uint32_t *least)
{
    *least = what == ASK_ANOTHER_CUTTER ? 1 : 0;
    return what == ASK_ANOTHER_CUTTER || what == ASK_OBSTACLE || what == ASK_ATTACHMENT;
}

uint32_t question_records(const struct answers *answers, enum field_group group)
{
    uint16_t what = group == GROUP_CUTTER     ? ASK_ANOTHER_CUTTER
                    : group == GROUP_OBSTACLE ? ASK_OBSTACLE
                                              : ASK_ATTACHMENT;
    uint32_t count = 0, least;
    switch (group) {
    case GROUP_AXIS:
    case GROUP_HOMING:
        return 3;
    case GROUP_INPUT:
        return (uint32_t)answers->inputs.count;
    case GROUP_CUTTER:
    case GROUP_OBSTACLE:
    case GROUP_ATTACHMENT:
        (void)is_another(what, &least);
        while (count < least || is_yes(answers, what, count))
            count++;
        return count;
    case GROUP_SETTER:
        return answers->machine ? answers->machine->groups[group].written : 0;
    default:
        return 1;
    }
}

/* What is put together. */
struct sequence_draft {
    struct arena *arena;
    const struct answers *answers;
    struct ask_sequence *out;
    bool *inputs;    /* in use so far */
    bool *terminals; /* those whose terminal and contact are in already, by twos */
};

static bool is_asked_once(const struct sequence_draft *b, uint16_t what, uint32_t record)
{
    if (what != FIELD_INPUT_TERMINAL && what != FIELD_INPUT_CONTACT)
        return true;
    bool *mark = &b->terminals[2 * record + (what == FIELD_INPUT_CONTACT)];
    bool first = !*mark;
    *mark = true;
    return first;
}

/* Numbers go with numbers and marks with marks, of one topic: what a row would be joined to is
 * not asked on every machine, and something else may stand before it then. */
static bool are_one_question(const struct question *before, const struct question *row)
{
    return before->topic == row->topic && before->what < FIELD_COUNT &&
           (field_table[before->what].kind == KIND_FLAG) ==
               (field_table[row->what].kind == KIND_FLAG);
}

static void add(struct sequence_draft *b, const struct question *row, uint32_t record)
{
    bool of_input = answer_group(row->what) == GROUP_INPUT;
    if (!is_wanted(b->answers, row) || !holds(b->answers, when_of(row), record))
        return;
    if (of_input && (!b->inputs[record] || !is_asked_once(b, row->what, record)))
        return;
    bool joined = (row->flags & ASK_JOINED) || ((row->flags & ASK_EACH) && record > 0);
    joined = joined && b->out->items.count &&
             are_one_question(b->out->items.items[b->out->items.count - 1].row, row);
    VECTOR_ADD(b->arena, &b->out->items, (struct ask_entry){row, record, joined, 0});
    if (row->what >= FIELD_COUNT || field_table[row->what].kind != KIND_INPUT)
        return;
    const struct answer *answer = answers_get(b->answers, row->what, record);
    for (size_t i = 0; answer_has_value(answer) && i < b->answers->inputs.count; i++)
        b->inputs[i] |= view_equal(b->answers->inputs.items[i], answer->text);
}

/* Is it the setter that the change uses, and asked about as that? */
static bool is_used(const struct sequence_draft *b, enum field_group group, uint32_t record)
{
    return group == GROUP_SETTER && record == b->answers->machine->setter;
}

/* A block: rows that stand together and are about one kind of record. */
static size_t add_block(struct sequence_draft *b, const struct question_list *list, size_t from)
{
    const struct question *const *rows = list->rows.items, *first = rows[from];
    enum field_group group = answer_group(first->what);
    size_t end = from + 1;
    while (!(first->flags & ASK_EACH) && end < list->rows.count &&
           !(rows[end]->flags & ASK_EACH) && answer_group(rows[end]->what) == group &&
           !((rows[end]->flags ^ first->flags) & ASK_OFFERED) &&
           rows[end]->topic == first->topic)
        end++;
    uint32_t least, count = question_records(b->answers, group);
    bool another = is_another(first->what, &least);
    if (another && !is_wanted(b->answers, first))
        return end;
    for (uint32_t record = 0; record < count; record++)
        for (size_t i = from; i < end; i++)
            if ((!another || i > from || record >= least) && !is_used(b, group, record))
                add(b, rows[i], record);
    if (another)
        add(b, first, count);
    return end;
}

void question_sequence(struct arena *arena, const struct answers *answers,
                       struct ask_sequence *out)
{
    struct question_list list;
    *out = (struct ask_sequence){0};
    struct sequence_draft b = {.arena = arena, .answers = answers, .out = out};
    b.inputs = ARENA_ARRAY(arena, bool, answers->inputs.count + 1);
    b.terminals = ARENA_ARRAY(arena, bool, 2 * answers->inputs.count + 2);
    for (size_t i = 0; i < answers->own_inputs; i++)
        b.inputs[i] = true;
    question_rows(arena, &list);
    for (size_t i = 0; i < list.rows.count;) {
        const struct question *row = list.rows.items[i];
        if (row->what == ASK_MORE)
            out->first = out->items.count;
        if (answer_group(row->what) != GROUP_ROOT) {
            i = add_block(&b, &list, i);
        } else {
            add(&b, row, 0);
            i++;
        }
    }
}

void question_places(struct arena *arena, const struct field_place *places, size_t count,
                     struct ask_sequence *out)
{
    *out = (struct ask_sequence){.first = count};
    for (size_t i = 0; i < count; i++)
        VECTOR_ADD(arena, &out->items,
                   (struct ask_entry){question_row((uint16_t)places[i].field), places[i].record,
                                      false, places[i].part});
}

/* Does any record have it? */
static bool is_usual(const struct answers *answers, uint16_t what)
{
    for (uint32_t i = 0; i < answers->of[what].list.count; i++)
        if (answer_has_value(answers_get(answers, what, i)))
            return true;
    return false;
}

void question_about(struct arena *arena, const struct answers *answers, enum field_group group,
                    uint32_t record, struct ask_sequence *out)
{
    struct question_list list;
    struct sequence_draft b = {.arena = arena, .answers = answers, .out = out};
    *out = (struct ask_sequence){0};
    question_rows(arena, &list);
    for (int rest = 0; rest < 2; rest++) {
        for (size_t i = 0; i < list.rows.count; i++) {
            struct question *row = ARENA_NEW(arena, struct question);
            *row = *list.rows.items[i];
            if (row->what >= FIELD_COUNT || field_table[row->what].group != group)
                continue;
            if ((row->flags & ASK_OFFERED) && is_usual(answers, row->what))
                row->flags &= (uint8_t)~ASK_OFFERED;
            if (!(row->flags & ASK_OFFERED) == !rest)
                add(&b, row, record);
        }
        if (!rest) {
            out->first = out->items.count;
            add(&b, question_row(ASK_MORE), 0);
        }
    }
}

size_t question_first(const struct ask_sequence *sequence, size_t at)
{
    while (at > 0 && at < sequence->items.count && sequence->items.items[at].joined)
        at--;
    return at;
}

size_t question_end(const struct ask_sequence *sequence, size_t at)
{
    do
        at++;
    while (at < sequence->items.count && sequence->items.items[at].joined);
    return at;
}

size_t question_index(const struct ask_sequence *sequence, uint16_t what, uint32_t record)
{
    size_t i = 0;
    while (i < sequence->items.count && (sequence->items.items[i].row->what != what ||
                                         sequence->items.items[i].record != record))
        i++;
    return i;
}
