/* Quantities from quantities. */
#include "formula/internal_eval.h"

const struct form unknown_forms[4];

bool form_is_spread(const struct evaluator *evaluator, const struct form *form)
{
    return evaluator->moved && form->low != form->high;
}

/* Of an operation that cannot be done with `x`: with other values of the range it may be. */
static const struct form *done(const struct evaluator *evaluator, bool is_done,
                               const struct form *x, const struct form *room)
{
    return is_done ? room : form_unknown(form_is_spread(evaluator, x) ? ENV_OPEN : ENV_ABSENT);
}

const struct form *arithmetic_one(const struct evaluator *evaluator,
                                  const struct formula_node *n, const struct form *x,
                                  struct form *room)
{
    switch (n->op) {
    case OP_NEGATE:
        form_negate(room, x);
        return room;
    case OP_SCALE:
        form_scale(room, x, n->number);
        return room;
    case OP_POWER:
        return done(evaluator, form_power(room, x, (int32_t)n->b), x, room);
    case OP_ROOT:
        return done(evaluator, form_root(room, x), x, room);
    case OP_ABSOLUTE:
        form_absolute(room, x);
        return room;
    default: /* OP_NOMINAL, OP_DISTANCE */
        return x;
    }
}

const struct form *arithmetic_two(const struct evaluator *evaluator,
                                  const struct formula_node *n, const struct form *x,
                                  const struct form *y, deviation_name name, struct form *room)
{
    switch (n->op) {
    case OP_ADD:
        form_add(room, x, y);
        return room;
    case OP_SUBTRACT:
        form_subtract(room, x, y);
        return room;
    case OP_MULTIPLY:
        form_multiply(room, x, y);
        return room;
    case OP_DIVIDE:
        return done(evaluator, form_divide(room, x, y), y, room);
    case OP_HYPOT:
        form_hypot(room, x, y);
        return room;
    case OP_MAXIMUM:
        form_maximum(room, x, y);
        return room;
    case OP_MINIMUM:
        form_minimum(room, x, y);
        return room;
    default: /* OP_WIDEN */
        form_widen(room, x, name, y);
        return room;
    }
}
