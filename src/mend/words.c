/* Words of the procedure: what else could be chosen, another order, a question more or less. */
#include "mend/trials.h"

#include "motion/procedure.h"

/* A list of words as it is being changed: indices into the choices of its field. */
struct list {
    enum field_id field;
    uint8_t items[PROCEDURE_STEPS];
    uint32_t count;
};

static const char fails_nothing[] = "nothing else fails with it";

static const char *word(struct arena *arena, enum field_id field, uint32_t index)
{
    struct view text = field_choice(&field_table[field], index);
    return arena_copy(arena, text.data, text.size);
}

/* Tries `text` in the place of what the file has, where it stands in this file. */
static void try_value(struct trials *trials, const struct field_place *place, const char *text,
                      struct proposed_edit *edit)
{
    struct machine_file *with = trials->file;
    edit->why = fails_nothing;
    edit->field = machine_file_path(trials->arena, trials->file, place);
    if (machine_file_set(trials->arena, &with, place, view_of(text), SET_AT_HOME) ||
        with->edited.items.count != trials->file->edited.items.count ||
        !trials_edit(trials, with->bytes, edit))
        return;
    trials_add(trials, edit);
}

static const char *path_of(const struct trials *trials, const struct field_place *place)
{
    return machine_lasting_path(trials->arena, &trials->file->machine,
                                machine_file_path(trials->arena, trials->file, place));
}

/* Is it what people do in a change, whatever the controller is set to? */
static bool done_by_hand(enum field_id field)
{
    return field == FIELD_PLATE_CONTINUITY_TEST || field == FIELD_SPINDLE_SHOE_REMOVED ||
           field == FIELD_PLATE_SAME_SPOT || field == FIELD_PLATE_SPOT;
}

static void try_choice(struct trials *trials, const struct field_place *place, const char *text,
                       unsigned distance)
{
    const char *path = path_of(trials, place);
    struct proposed_edit edit = {
        .distance = distance,
        .always_asks = done_by_hand(place->field),
        .title = arena_format(trials->arena, "set %s to %s, at the machine first", path, text),
        .asks = arena_format(trials->arena,
                             "is it so at the machine by now, tried out there: %s %s?", path,
                             text)};
    try_value(trials, place, text, &edit);
}

/* --- homing.order --- */

static const char *order_text(struct arena *arena, const struct word_list *order)
{
    struct buffer out;
    buffer_init(&out, arena);
    buffer_byte(&out, '[');
    for (uint32_t i = 0; i < order->count; i++)
        buffer_format(&out, "%s%c", i && order->rank[i] != order->rank[i - 1] ? ", " : "",
                      "xyz"[order->word[i]]);
    buffer_byte(&out, ']');
    return buffer_string(&out);
}

/* The order with one axis in a group of its own before group `at` of the others. */
static void move_axis(const struct word_list *order, uint32_t axis, uint8_t at,
                      struct word_list *out)
{
    uint32_t left = 0;
    uint8_t rank = 0, previous = 0;
    *out = (struct word_list){.count = order->count};
    for (uint32_t i = 0; i < order->count; i++) {
        if (i == axis)
            continue;
        rank = (uint8_t)(rank + (left && order->rank[i] != previous));
        previous = order->rank[i];
        out->word[left] = order->word[i];
        out->rank[left++] = rank;
    }
    uint32_t place = 0;
    while (place < left && out->rank[place] < at)
        place++;
    for (uint32_t i = left; i > place; i--) {
        out->word[i] = out->word[i - 1];
        out->rank[i] = (uint8_t)(out->rank[i - 1] + 1);
    }
    out->word[place] = order->word[axis];
    out->rank[place] = at;
}

/* One more axis, after the others.  That the machine homes it as well is asked. */
static void try_more(struct trials *trials, const struct field_place *place,
                     const struct word_list *order, uint8_t axis)
{
    struct word_list more = *order;
    bool asks = trials->asks;
    more.word[more.count] = axis;
    more.rank[more.count] = more.count ? (uint8_t)(more.rank[more.count - 1] + 1) : 0;
    more.count++;
    trials->asks = true;
    try_choice(trials, place, order_text(trials->arena, &more), 0);
    trials->asks = asks;
}

static void try_orders(struct trials *trials, const struct field_place *place,
                       const struct word_list *order)
{
    for (uint32_t axis = 0; axis < order->count && !order->none; axis++)
        for (uint8_t at = 0; at < order->count; at++) {
            struct word_list moved;
            move_axis(order, axis, at, &moved);
            uint8_t from = order->rank[axis];
            try_choice(trials, place, order_text(trials->arena, &moved),
                       at > from ? at - from : from - at);
        }
    for (uint8_t axis = 0; axis < 3 && !order->none; axis++)
        if (!memchr(order->word, axis, order->count))
            try_more(trials, place, order, axis);
}

/* --- change.asks --- */

/* Where a question belongs by the order of a change: behind the last that comes before it
 * there, or, of a change in which some come twice, before the first that comes after it. */
enum side { BEHIND_LAST, BEFORE_FIRST, SIDES };

static uint32_t place_of(const struct list *list, uint8_t item, enum side side)
{
    uint32_t first = 0, last = list->count;
    while (first < list->count && list->items[first] <= item)
        first++;
    while (last && list->items[last - 1] > item)
        last--;
    return side == BEHIND_LAST ? last : first;
}

/* How many pairs of questions stand the other way round than in the order of a change. */
static unsigned disorder(const struct list *list)
{
    unsigned count = 0;
    for (uint32_t i = 0; i < list->count; i++)
        for (uint32_t k = i + 1; k < list->count; k++)
            count += list->items[i] > list->items[k];
    return count;
}

/* Asking the same in another order is nearer than asking more. */
enum kind { MOVED, ASKED, ASKED_AGAIN };

static unsigned distance(const struct list *list, enum kind kind, enum side side)
{
    enum { PAIRS = PROCEDURE_STEPS * PROCEDURE_STEPS };
    return (kind == MOVED ? 0 : (unsigned)(SIDES * (int)kind + (int)side)) * PAIRS +
           disorder(list);
}

static void put_in(struct list *list, uint32_t at, uint8_t item)
{
    memmove(list->items + at + 1, list->items + at, list->count - at);
    list->items[at] = item;
    list->count++;
}

static void take_out(struct list *list, uint32_t at)
{
    list->count--;
    memmove(list->items + at, list->items + at + 1, list->count - at);
}

/* "after shoe_off", "first" */
static const char *where_text(struct arena *arena, const struct list *list, uint32_t at)
{
    return at ? arena_format(arena, "after %s", word(arena, list->field, list->items[at - 1]))
              : "first";
}

/* The list in the place of one in brackets whose items are all plain, with what stands between
 * them, so that its lines stay as they are; one item more than before stands at `at`.  False
 * where the file has it otherwise. */
static bool rewrite(const struct trials *trials, const struct field_place *place,
                    const struct list *list, uint32_t at, struct proposed_edit *edit)
{
    struct arena *arena = trials->arena;
    const char *path = machine_file_path(arena, trials->file, place);
    const struct tree_node *node = tree_at(&trials->file->own, view_of(path));
    if (!node || node->kind != TREE_LIST || node->style != STYLE_FLOW || !node->first)
        return false;
    const struct tree_node *item = node->first;
    struct buffer now;
    buffer_init(&now, arena);
    edit->span.start = item->span.start;
    for (uint32_t i = 0; i < list->count; i++) {
        if (item->kind != TREE_TEXT || item->style != STYLE_PLAIN)
            return false;
        edit->span.end = item->span.end;
        buffer_text(&now, word(arena, list->field, list->items[i]));
        if (i + 1 == list->count)
            continue;
        if (list->count > node->count && i == (at ? at - 1 : 0)) {
            buffer_text(&now, ", ");
            continue;
        }
        struct view between =
            trials_slice(trials, (struct span){item->span.end, item->next->span.start});
        if (memchr(between.data, '#', between.size))
            return false;
        buffer_add(&now, between);
        item = item->next;
    }
    edit->text = buffer_string(&now);
    edit->why = fails_nothing;
    edit->field = path;
    return true;
}

/* What is laid or clipped on, and what takes it away again. */
static const struct {
    uint8_t on, off;
} twins[] = {{ASK_CLIP_ON, ASK_CLIP_OFF},
             {ASK_PLATE_ON, ASK_PLATE_OFF},
             {ASK_BLOCK_UNDER, ASK_BLOCK_AWAY}};

/* How many of a pair of questions stand without the other: on when it is on, off when it is
 * not, or on to the end. */
static unsigned alone(const struct list *list, uint8_t on, uint8_t off)
{
    unsigned count = 0;
    bool is_on = false;
    for (uint32_t i = 0; i < list->count; i++)
        if (list->items[i] == on || list->items[i] == off) {
            count += is_on == (list->items[i] == on);
            is_on = list->items[i] == on;
        }
    return count + is_on;
}

/* One of a pair belongs to the other: it is not moved to where it only leaves that alone. */
static bool leaves_twin(const struct list *before, const struct list *after, uint8_t item)
{
    for (size_t i = 0; i < sizeof twins / sizeof *twins; i++)
        if (item == twins[i].on || item == twins[i].off)
            return alone(after, twins[i].on, twins[i].off) >=
                   alone(before, twins[i].on, twins[i].off);
    return false;
}

/* Tries the list with one item moved to `at`, or put in there. */
static void try_list(struct trials *trials, const struct field_place *place,
                     const struct list *list, uint32_t at, unsigned distance)
{
    struct arena *arena = trials->arena;
    struct buffer text;
    buffer_init(&text, arena);
    for (uint32_t i = 0; i < list->count; i++)
        buffer_format(&text, "%s%s", i ? ", " : "", word(arena, list->field, list->items[i]));
    struct proposed_edit edit = {
        .distance = distance,
        .title = arena_format(arena, "let the change ask %s %s",
                              word(arena, list->field, list->items[at]),
                              where_text(arena, list, at)),
        .asks = "does the change ask so by now, and wait there until it is answered?",
        .always_asks = true}; /* a file must not claim what the controller does not ask */
    if (rewrite(trials, place, list, at, &edit))
        trials_add(trials, &edit);
    else
        try_value(trials, place, buffer_string(&text), &edit);
}

/* Is it the other way to hold the spindle off than the file says is used? */
static bool contradicts(const struct machine *machine, uint8_t item)
{
    const struct field_value *held = machine_field(machine, FIELD_CHANGE_SPINDLE_HELD_OFF, 0);
    if (held->state != VALUE_GIVEN || (item != ASK_ISOLATED && item != ASK_UNPLUGGED))
        return false;
    return !field_choice_is(&field_table[FIELD_CHANGE_SPINDLE_HELD_OFF], held->choice,
                            item == ASK_ISOLATED ? "isolated" : "unplugged");
}

/* Tries a question at both places where it may belong. */
static void try_question(struct trials *trials, const struct field_place *place,
                         const struct list *now, const struct list *others, uint8_t item,
                         enum kind kind)
{
    for (enum side side = BEHIND_LAST; side < SIDES; side++) {
        struct list list = *others;
        uint32_t at = place_of(others, item, side);
        put_in(&list, at, item);
        if (!leaves_twin(now, &list, item))
            try_list(trials, place, &list, at, distance(&list, kind, side));
    }
}

static void try_questions(struct trials *trials, const struct field_place *place,
                          const struct word_list *asked)
{
    struct list list = {.field = place->field, .count = asked->count};
    memcpy(list.items, asked->word, asked->count);
    for (uint32_t i = 0; i < list.count; i++) {
        struct list others = list;
        take_out(&others, i);
        try_question(trials, place, &list, &others, list.items[i], MOVED);
    }
    for (uint8_t item = 0; item < ASK_COUNT && list.count < PROCEDURE_STEPS; item++)
        if (!contradicts(&trials->file->machine, item))
            try_question(trials, place, &list, &list, item,
                         memchr(list.items, item, list.count) ? ASKED_AGAIN : ASKED);
}

void words_try(struct trials *trials, const struct field_place *place)
{
    const struct field *field = &field_table[place->field];
    const struct field_value *value =
        machine_field(&trials->file->machine, place->field, place->record);
    if (value->state != VALUE_GIVEN)
        return;
    if (field->kind == KIND_FLAG)
        try_choice(trials, place, value->flag ? "no" : "yes", 0);
    else if (field->kind == KIND_CHOICE)
        for (uint32_t i = 0; i < field_choice_count(field); i++)
            if (i != value->choice)
                try_choice(trials, place, word(trials->arena, place->field, i), 0);
    if (field->kind == KIND_ORDER)
        try_orders(trials, place, value->words);
    else if (place->field == FIELD_CHANGE_ASKS)
        try_questions(trials, place, value->words);
}
