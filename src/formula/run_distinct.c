/* `distinct`: are all values of a list different?  By sorting, so that a long list costs no
 * pairs. */
#include "formula/internal_run.h"

#include <stdlib.h>

struct item {
    double number;    /* quantities, dates, words */
    struct view text; /* texts */
    uint32_t index;
};

static int by_value(const void *a, const void *b)
{
    const struct item *x = a, *y = b;
    int order = (x->number > y->number) - (x->number < y->number);
    if (!order)
        order = view_compare(x->text, y->text);
    return order ? order : (x->index > y->index) - (x->index < y->index);
}

static struct item *room_for(struct evaluator *evaluator, uint32_t count)
{
    size_t size = (size_t)count * sizeof(struct item);
    if (size > evaluator->scratch_size) {
        evaluator->scratch_size = size * 2;
        evaluator->scratch = arena_alloc(evaluator->arena, evaluator->scratch_size);
    }
    return evaluator->scratch;
}

static uint8_t read_item(struct evaluator *evaluator, uint32_t body, struct item *item)
{
    const struct formula_node *n = node_of(evaluator, body);
    struct form form;
    struct env_value value;
    uint32_t record;
    uint8_t state;
    item->number = 0;
    item->text = (struct view){NULL, 0};
    if (n->type == TYPE_TEXT)
        return run_text(evaluator, body, &item->text);
    if (n->type == TYPE_CHOICE) {
        state = run_read(evaluator, n, &value, &record);
        if (state == ENV_KNOWN)
            item->number = value.number;
        return state;
    }
    state = run_quantity(evaluator, body, &form);
    if (state == ENV_KNOWN && form_is_finite(&form))
        item->number = form.mid;
    else if (state == ENV_KNOWN)
        state = ENV_ABSENT;
    return state;
}

/* The earliest repeated value, with the element before it that has the same. */
static bool find_repeated(struct item *items, uint32_t count, struct decided *decided)
{
    qsort(items, count, sizeof *items, by_value);
    decided->element = decided->other = NODE_NONE;
    for (uint32_t i = 1; i < count; i++) {
        bool same = items[i].number == items[i - 1].number &&
                    view_equal(items[i].text, items[i - 1].text);
        if (same && items[i].index < decided->element) {
            decided->element = items[i].index;
            decided->other = items[i - 1].index;
        }
    }
    return decided->element != NODE_NONE;
}

/* Where it is unknown, `decided` tells the first element that is. */
void run_distinct(struct evaluator *evaluator, uint32_t node, struct outcome *out,
                  struct decided *decided)
{
    const struct formula_node *n = node_of(evaluator, node);
    bool repeated_wanted = n->part & FLAG_NEGATE;
    struct list list;
    uint8_t state = run_list_open(evaluator, n, &list);
    BUG_UNLESS(state == ENV_KNOWN); /* the caller has opened it before */
    struct item *items = list.count ? room_for(evaluator, list.count) : NULL;
    uint32_t count = 0, unknown = NODE_NONE;
    for (uint32_t i = 0; i < list.count && !evaluator->exhausted; i++) {
        struct outcome where = {.truth = TRUTH_TRUE};
        run_list_at(evaluator, &list, i);
        if (n->b != NODE_NONE)
            run_condition(evaluator, n->b, &where);
        if (where.truth == TRUTH_FALSE)
            continue;
        uint8_t read = worse(where.state, read_item(evaluator, n->a, &items[count]));
        items[count].index = i;
        if (read == ENV_KNOWN)
            count++;
        else if (unknown == NODE_NONE)
            unknown = i;
        state = worse(state, read);
    }
    if (evaluator->exhausted) {
        outcome_unknown(out, ENV_ABSENT);
    } else if (count && find_repeated(items, count, decided)) {
        outcome_plain(out, node, repeated_wanted);
    } else if (unknown != NODE_NONE) {
        outcome_unknown(out, state);
        decided->element = unknown;
    } else {
        outcome_plain(out, node, !repeated_wanted);
    }
}
