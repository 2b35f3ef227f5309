/* Walking the table of questions: what applies, for which records, in which order. */
#include "ask/question.h"

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
        "of the controller.",
    [TOPIC_CHANGE] =
        "A change: the spindle stops, the cutter is exchanged by hand, and a slow stroke down "
        "until something is touched measures the new one. Before that stroke a fast approach "
        "goes down to a setter, or the operator brings the tip near a plate.",
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

enum { OFFERED = 1 };

const struct question question_table[] = {
#define Q(id, topic, condition, gate, usual, flags, text, reason)                              \
    {FIELD_##id, TOPIC_##topic, COND_##condition, gate, USUAL_##usual, flags, text, reason},
#define OWN(id, topic, condition, gate, usual, text, reason)                                   \
    {ASK_##id, TOPIC_##topic, COND_##condition, gate, USUAL_##usual, 0, text, reason},
#include "ask/questions.inc"
#undef Q
#undef OWN
};

/* Of a field alone, wherever the others are. */
static const struct question plain_rows[FIELD_COUNT] = {
#define FIELD(id, group, key, kind, dimension, need, fallback, nature, low, high, unit,        \
              choices, meaning, measure)                                                       \
    [FIELD_##id] = {FIELD_##id, TOPIC_MORE, COND_ALWAYS, 0, USUAL_NONE, 0, NULL, NULL},
#include "machine/fields.inc"
#undef FIELD
};

const size_t question_count = sizeof question_table / sizeof *question_table;

/* A condition: a field that says one of two words, or anything but the first. */
struct condition {
    uint16_t what;
    const char *is, * or ; /* NULL: whatever */
    bool other;            /* anything else */
    bool assumed;          /* while there is no answer */
    uint8_t and;           /* another condition, COND_ALWAYS: none */
};

static const struct condition conditions[COND_COUNT] = {
    [COND_SETTER] = {FIELD_CHANGE_MEASURES_WITH, "setter", NULL, false, true, 0},
    [COND_PLATE] = {FIELD_CHANGE_MEASURES_WITH, "plate", NULL, false, false, 0},
    [COND_CONTROLLER] = {FIELD_SPINDLE_SWITCHED_BY, "controller", NULL, false, true, 0},
    [COND_CONTROLLER_WAIT] = {FIELD_SPINDLE_STOP_KNOWN_BY, "signal", NULL, true, true,
                              COND_CONTROLLER},
    [COND_SIGNAL] = {FIELD_SPINDLE_STOP_KNOWN_BY, "signal", NULL, false, false, 0},
    [COND_INTERLOCKED] = {FIELD_CHANGE_SPINDLE_HELD_OFF, "interlocked", NULL, false, false, 0},
    [COND_POWER_CUT] = {FIELD_CHANGE_SPINDLE_HELD_OFF, "isolated", "unplugged", false, false,
                        0},
    [COND_MACHINE_CUT] = {FIELD_CHANGE_CUTS_POWER_TO, "machine", NULL, false, false,
                          COND_POWER_CUT},
    [COND_HAND] = {FIELD_SPINDLE_SWITCHED_BY, "hand", NULL, false, false, 0},
    [COND_HOMES] = {FIELD_HOMING_ORDER, "none", NULL, true, true, 0},
    [COND_NOT_HOMING] = {FIELD_HOMING_ORDER, "none", NULL, false, false, 0},
    [COND_COMPUTED] = {FIELD_CHANGE_APPROACH, "computed", NULL, false, true, COND_SETTER},
    [COND_FIXED] = {FIELD_CHANGE_APPROACH, "fixed", NULL, false, false, COND_SETTER},
    [COND_ASSUMED] = {FIELD_CHANGE_STICKOUT_FROM, "assumed", NULL, false, false, COND_COMPUTED},
    [COND_SPOTS_DIFFER] = {FIELD_PLATE_SAME_SPOT, "no", NULL, false, false, COND_PLATE},
    [COND_PLATE_HOMES] = {FIELD_HOMING_ORDER, "none", NULL, true, true, COND_PLATE},
    [COND_SCREW] = {FIELD_AXIS_DRIVE_KIND, "screw", NULL, false, false, 0},
    [COND_BELT] = {FIELD_AXIS_DRIVE_KIND, "belt", "rack", false, false, 0},
    [COND_RACK] = {FIELD_AXIS_DRIVE_KIND, "rack", NULL, false, false, 0},
    [COND_DRIVE] = {FIELD_AXIS_DRIVE_KIND, "", NULL, true, false, 0},
    [COND_HOLLOW] = {FIELD_CUTTER_CENTRE, "hollow", NULL, false, false, 0},
    [COND_TWICE] = {FIELD_CHANGE_SECOND_TOUCH_FEED, "", NULL, true, false, 0},
};

/* What each need of the field table comes to. */
static const uint8_t needs[] = {
    [NEED_OPTIONAL] = COND_ALWAYS,    [NEED_ALWAYS] = COND_ALWAYS,
    [NEED_SETTER] = COND_SETTER,      [NEED_SETTER_COMPUTED] = COND_COMPUTED,
    [NEED_SETTER_FIXED] = COND_FIXED, [NEED_SETTER_ASSUMED] = COND_ASSUMED,
    [NEED_PLATE] = COND_PLATE,        [NEED_CONTROLLER] = COND_CONTROLLER,
    [NEED_HOMES] = COND_HOMES,        [NEED_NOT_HOMING] = COND_NOT_HOMING,
    [NEED_SIGNAL] = COND_SIGNAL,      [NEED_CONTROLLER_WAIT] = COND_CONTROLLER_WAIT,
};

static uint8_t condition_of(const struct question *row)
{
    return row->condition == COND_NEED ? needs[field_table[row->what].need] : row->condition;
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
    for (; which != COND_ALWAYS; which = conditions[which].and) {
        const struct condition *c = &conditions[which];
        if (answer_group(c->what) == GROUP_ROOT)
            record = 0;
        const struct answer *answer = answers_get(answers, c->what, record);
        if (!answer_has_value(answer)) {
            if (!c->assumed)
                return false;
            continue;
        }
        bool same = view_is(answer->text, c->is) || (c->or &&view_is(answer->text, c->or));
        if (which == COND_ASSUMED && !same)
            same = has_unlisted(answers);
        if (same == c->other)
            return false;
    }
    return true;
}

bool question_depends(const struct question *row, uint16_t what)
{
    if (row->offered && what == ASK_MORE)
        return true;
    for (uint8_t which = condition_of(row); which != COND_ALWAYS; which = conditions[which].and)
        if (conditions[which].what == what)
            return true;
    return false;
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
    if (!row->offered)
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
    default:
        return 1;
    }
}

/* What is put together. */
struct building {
    struct arena *arena;
    const struct answers *answers;
    struct ask_sequence *out;
    bool *inputs;    /* in use so far */
    bool *terminals; /* those whose terminal and contact are in already, by twos */
};

static bool is_asked_once(const struct building *b, uint16_t what, uint32_t record)
{
    if (what != FIELD_INPUT_TERMINAL && what != FIELD_INPUT_CONTACT)
        return true;
    bool *mark = &b->terminals[2 * record + (what == FIELD_INPUT_CONTACT)];
    bool first = !*mark;
    *mark = true;
    return first;
}

static void add(struct building *b, const struct question *row, uint32_t record)
{
    bool of_input = answer_group(row->what) == GROUP_INPUT;
    if (!is_wanted(b->answers, row) || !holds(b->answers, condition_of(row), record))
        return;
    if (of_input && (!b->inputs[record] || !is_asked_once(b, row->what, record)))
        return;
    bool joined = (row->flags & ASK_JOINED) || ((row->flags & ASK_EACH) && record > 0);
    VECTOR_ADD(b->arena, &b->out->items, (struct ask_entry){row, record, joined, 0});
    if (row->what >= FIELD_COUNT || field_table[row->what].kind != KIND_INPUT)
        return;
    const struct answer *answer = answers_get(b->answers, row->what, record);
    for (size_t i = 0; answer_has_value(answer) && i < b->answers->inputs.count; i++)
        b->inputs[i] |= view_equal(b->answers->inputs.items[i], answer->text);
}

/* A block: rows that stand together and are about one kind of record. */
static size_t add_block(struct building *b, size_t from)
{
    const struct question *first = &question_table[from];
    enum field_group group = answer_group(first->what);
    size_t end = from + 1;
    while (!(first->flags & ASK_EACH) && end < question_count &&
           !(question_table[end].flags & ASK_EACH) &&
           answer_group(question_table[end].what) == group &&
           question_table[end].offered == first->offered &&
           question_table[end].topic == first->topic)
        end++;
    uint32_t least, count = question_records(b->answers, group);
    bool another = is_another(first->what, &least);
    if (another && !is_wanted(b->answers, first))
        return end;
    for (uint32_t record = 0; record < count; record++)
        for (size_t i = from; i < end; i++)
            if (!another || i > from || record >= least)
                add(b, &question_table[i], record);
    if (another)
        add(b, first, count);
    return end;
}

void question_sequence(struct arena *arena, const struct answers *answers,
                       struct ask_sequence *out)
{
    *out = (struct ask_sequence){0};
    struct building b = {.arena = arena, .answers = answers, .out = out};
    b.inputs = ARENA_ARRAY(arena, bool, answers->inputs.count + 1);
    b.terminals = ARENA_ARRAY(arena, bool, 2 * answers->inputs.count + 2);
    for (size_t i = 0; i < answers->own_inputs; i++)
        b.inputs[i] = true;
    bool offered = false;
    for (size_t i = 0; i < question_count;) {
        const struct question *row = &question_table[i];
        if (!offered && row->what == ASK_MORE) {
            offered = true;
            out->first = out->items.count;
        }
        if (answer_group(row->what) != GROUP_ROOT) {
            i = add_block(&b, i);
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
    for (size_t i = 0; i < count; i++) {
        const struct question *row = &plain_rows[places[i].field];
        for (size_t k = question_count; k-- > 0;)
            if (question_table[k].what == row->what)
                row = &question_table[k];
        VECTOR_ADD(arena, &out->items,
                   (struct ask_entry){row, places[i].record, false, places[i].part});
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
