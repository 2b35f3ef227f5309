/* Truths from truths: and, or, not, if, otherwise, known.
 *
 * `not` is pushed down to what it finally denies, so the evaluator meets no `not`: the opposite
 * of an `and` is an `or` of opposites, and so on down to comparisons, words and quantifiers.
 */
#include "formula/internal_build.h"

#include "formula/pattern.h"
#include "text/nearest.h"

static bool emit_join_margins(const struct context *context, const struct ast *ast,
                              struct formula_node *node, uint32_t a, uint32_t b)
{
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    node->kind = x->kind || y->kind;
    node->dimension = x->kind ? x->dimension : y->dimension;
    if (!x->kind || !y->kind || dimension_equal(x->dimension, y->dimension))
        return true;
    formula_complain(context, ast->start, ast->end,
                     "this joins a margin that is %s with one that is %s: write two rules",
                     name_of_dimension(context, x->dimension),
                     name_of_dimension(context, y->dimension));
    return false;
}

static uint32_t emit_joined(const struct context *context, const struct ast *ast)
{
    uint32_t a = emit_truth(context, ast->a), b = emit_truth(context, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    bool both = (ast->kind == AST_AND) != context->negate;
    struct formula_node node = {.op = both ? OP_AND : OP_OR, .type = TYPE_FLAG, .a = a, .b = b};
    if (!emit_join_margins(context, ast, &node, a, b))
        return NODE_NONE;
    return build_node(context, ast, node);
}

uint32_t emit_logic(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    switch (ast->kind) {
    case AST_TRUTH:
        return build_node(
            context, ast,
            (struct formula_node){.op = OP_TRUTH,
                                  .type = TYPE_FLAG,
                                  .number = (ast->word == WORD_YES) != context->negate});
    case AST_NOT:
        inner.negate = !context->negate;
        return emit_truth(&inner, ast->a);
    default:
        return emit_joined(context, ast);
    }
}

/* Do two alternatives give the same kind of thing?  Fills in what comes of them. */
static bool same_kind(const struct context *context, const struct ast *ast, const struct ast *a,
                      const struct ast *b, struct formula_node *node)
{
    uint32_t left = ast->kind == AST_IF ? node->b : node->a;
    uint32_t right = ast->kind == AST_IF ? node->c : node->b;
    emit_reconcile(context, a, left, b, right);
    const struct formula_node *x = build_at(context, left), *y = build_at(context, right);
    node->type = x->type;
    node->dimension = x->dimension;
    bool may = x->type == TYPE_QUANTITY || x->type == TYPE_DATE || x->type == TYPE_TEXT ||
               x->type == TYPE_FLAG || x->type == TYPE_RECORD;
    bool same = x->type == y->type;
    if (same && x->type == TYPE_QUANTITY)
        same = dimension_equal(x->dimension, y->dimension);
    if (same && x->type == TYPE_RECORD) {
        same = x->kind == y->kind;
        node->kind = x->kind;
    }
    if (!may || !same) {
        formula_complain(
            context, ast->start, ast->end,
            may ? "both sides must be of one kind; %s and %s are not"
                : "quantities, dates, texts and conditions can be chosen between, not %s and %s",
            name_of_type(context, x), name_of_type(context, y));
        return false;
    }
    return x->type != TYPE_FLAG || emit_join_margins(context, ast, node, left, right);
}

uint32_t emit_if(const struct context *context, const struct ast *ast)
{
    struct context condition = *context;
    bool words = context->telling && ast->b->kind == AST_TEXT;
    condition.nominal = !words;
    condition.negate = false;
    struct formula_node node = {.op = OP_IF};
    node.a = emit_truth(&condition, ast->a);
    node.b = emit_any(context, ast->b);
    node.c = emit_any(context, ast->c);
    if (node.a == NODE_NONE || node.b == NODE_NONE || node.c == NODE_NONE ||
        !same_kind(context, ast, ast->b, ast->c, &node))
        return NODE_NONE;
    return build_node(context, ast, node);
}

uint32_t emit_otherwise(const struct context *context, const struct ast *ast)
{
    struct formula_node node = {.op = OP_OTHERWISE};
    node.a = emit_any(context, ast->a);
    node.b = emit_any(context, ast->b);
    if (node.a == NODE_NONE || node.b == NODE_NONE ||
        !same_kind(context, ast, ast->a, ast->b, &node))
        return NODE_NONE;
    return build_node(context, ast, node);
}

/* Of a place or an area: both its axes. */
static uint32_t emit_known_place(const struct context *context, const struct ast *ast,
                                 const struct reached *place)
{
    static const char *const letters[] = {"x", "y"};
    struct formula_node both = {.op = context->negate ? OP_OR : OP_AND, .type = TYPE_FLAG};
    uint32_t nodes[2];
    for (int i = 0; i < 2; i++) {
        struct reached axis;
        if (!name_reach_step(context, place, view_of(letters[i]), &axis))
            BUG("a place without %s", letters[i]);
        struct formula_node known = {
            .op = OP_KNOWN, .type = TYPE_FLAG, .part = context->negate ? FLAG_NEGATE : 0};
        known.a = name_node(context, ast, &axis);
        nodes[i] = known.a == NODE_NONE ? NODE_NONE : build_node(context, ast, known);
        if (nodes[i] == NODE_NONE)
            return NODE_NONE;
    }
    both.a = nodes[0];
    both.b = nodes[1];
    return build_node(context, ast, both);
}

uint32_t emit_known(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.negate = false;
    inner.nominal = true;
    uint32_t a;
    if (ast->a->kind == AST_PATH) {
        struct reached reached;
        if (!name_reach(&inner, ast->a, &reached))
            return NODE_NONE;
        bool place = reached.node == NODE_NONE &&
                     (reached.place.type == TYPE_PLACE || reached.place.type == TYPE_RECTANGLE);
        if (place)
            return emit_known_place(context, ast, &reached);
        a = name_node(&inner, ast->a, &reached);
    } else {
        a = emit_any(&inner, ast->a);
    }
    if (a == NODE_NONE)
        return NODE_NONE;
    struct formula_node node = {
        .op = OP_KNOWN, .type = TYPE_FLAG, .part = context->negate ? FLAG_NEGATE : 0, .a = a};
    return build_node(context, ast, node);
}

/* Tests of words, lists of words, texts and things: is, has, before, matches. */

enum { WORDS_MAX = 64, LIST_TEXT_MAX = 200 };

/* `none`, or the words a field may have: "fixed, computed". */
static const char *list_words(const struct context *context, const struct view *words,
                              size_t count)
{
    struct buffer list;
    buffer_init(&list, context->builder->arena);
    for (size_t i = 0; i < count && list.size < LIST_TEXT_MAX; i++) {
        buffer_text(&list, i ? ", " : "");
        buffer_add(&list, words[i]);
    }
    return buffer_string(&list);
}

static bool find_word(const struct context *context, const struct ast_name *name, uint16_t leaf,
                      uint32_t *out)
{
    const struct environment *environment = context->builder->environment;
    int index = environment->word(environment->user, leaf, name->text);
    if (index >= 0) {
        *out = (uint32_t)index;
        return true;
    }
    const char *field = environment->leaf_path(environment->user, leaf);
    struct view words[WORDS_MAX];
    size_t count = 0;
    while (environment->choice && count < WORDS_MAX &&
           environment->choice(environment->user, leaf, count, &words[count]))
        count++;
    int nearest = nearest_of(name->text, words, count);
    if (nearest >= 0)
        formula_complain(context, name->start, name->end,
                         "`%.*s` is no word of `%s`; `%.*s` is", VIEW(name->text), field,
                         VIEW(words[nearest]));
    else if (count)
        formula_complain(context, name->start, name->end,
                         "`%.*s` is no word of `%s`, which takes %s", VIEW(name->text), field,
                         list_words(context, words, count));
    else
        formula_complain(context, name->start, name->end, "`%.*s` is no word of `%s`",
                         VIEW(name->text), field);
    return false;
}

static struct formula_node test_node(const struct context *context, enum formula_op op,
                                     const struct ast *ast)
{
    return (struct formula_node){
        .op = (uint8_t)op,
        .type = TYPE_FLAG,
        .part = (ast->negate != context->negate) ? FLAG_NEGATE : 0,
    };
}

uint32_t emit_is_word(const struct context *context, const struct ast *ast)
{
    bool yes = ast->word == WORD_YES, no = ast->word == WORD_NO;
    struct context inner = *context;
    inner.negate = (yes || no) && ((context->negate != ast->negate) != no);
    uint32_t left = emit_any(&inner, ast->a);
    if (left == NODE_NONE)
        return NODE_NONE;
    uint8_t type = build_at(context, left)->type;
    struct formula_node node = test_node(context, OP_IS_WORD, ast);
    node.a = left;
    if (type == TYPE_FLAG && (yes || no))
        return left;
    if (type == TYPE_WORDS && view_is(ast->name.text, "none")) {
        node.op = OP_IS_NONE;
    } else if (type == TYPE_CHOICE) {
        if (!find_word(context, &ast->name, build_at(context, left)->leaf, &node.b))
            return NODE_NONE;
    } else {
        const char *hint = type == TYPE_FLAG    ? "only `yes` or `no` can follow"
                           : type == TYPE_WORDS ? "ask for its words with `has`"
                           : type == TYPE_TEXT  ? "a text stands in double quotes"
                                                : "words cannot be asked of it";
        formula_complain(context, ast->name.start, ast->name.end, "this is %s: %s",
                         name_of_type(context, build_at(context, left)), hint);
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

uint32_t emit_is(const struct context *context, const struct ast *ast)
{
    struct context inner = *context;
    inner.negate = false;
    uint32_t a = emit_any(&inner, ast->a), b = emit_any(&inner, ast->b);
    if (a == NODE_NONE || b == NODE_NONE)
        return NODE_NONE;
    emit_reconcile(context, ast->a, a, ast->b, b);
    const struct formula_node *x = build_at(context, a), *y = build_at(context, b);
    struct formula_node node = test_node(context, OP_IS_TEXT, ast);
    node.a = a;
    node.b = b;
    bool leaves = (x->op == OP_LEAF && y->op == OP_LEAF && x->leaf == y->leaf) ||
                  (x->op == OP_FLAG && y->op == OP_FLAG);
    bool quantities = x->type == TYPE_QUANTITY && dimension_equal(x->dimension, y->dimension);
    if (x->type == y->type && (quantities || x->type == TYPE_DATE)) {
        inner.negate = ast->negate != context->negate;
        return emit_equal(&inner, ast, a, b);
    }
    if (x->type == TYPE_TEXT && y->type == TYPE_TEXT) {
        node.op = OP_IS_TEXT;
    } else if (x->type == y->type && (x->type == TYPE_CHOICE || x->type == TYPE_FLAG) &&
               leaves) {
        node.op = OP_IS_SAME;
    } else if (x->type == TYPE_RECORD && y->type == TYPE_RECORD && x->kind == y->kind) {
        node.op = OP_IS_RECORD;
    } else {
        formula_complain(context, ast->start, ast->end,
                         "%s and %s cannot be compared with `is`", name_of_type(context, x),
                         name_of_type(context, y));
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

/* The list of words that `has` and `before` ask. */
static uint32_t emit_list(const struct context *context, const struct ast *ast)
{
    uint32_t list = emit_any(context, ast);
    if (list == NODE_NONE || build_at(context, list)->type == TYPE_WORDS)
        return list;
    formula_complain(context, ast->start, ast->end, "a list of words is expected; this is %s",
                     name_of_type(context, build_at(context, list)));
    return NODE_NONE;
}

uint32_t emit_has(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_HAS, ast);
    node.a = emit_list(context, ast->a);
    if (node.a == NODE_NONE ||
        !find_word(context, &ast->name, build_at(context, node.a)->leaf, &node.b))
        return NODE_NONE;
    return build_node(context, ast, node);
}

uint32_t emit_before(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_BEFORE, ast);
    node.a = emit_list(context, ast->a);
    if (node.a == NODE_NONE)
        return NODE_NONE;
    uint16_t leaf = build_at(context, node.a)->leaf;
    bool first = find_word(context, &ast->name, leaf, &node.b);
    bool second = find_word(context, &ast->name2, leaf, &node.c);
    return first && second ? build_node(context, ast, node) : NODE_NONE;
}

uint32_t emit_matches(const struct context *context, const struct ast *ast)
{
    struct formula_node node = test_node(context, OP_MATCHES, ast);
    node.a = emit_any(context, ast->a);
    node.b = emit_any(context, ast->b);
    if (node.a == NODE_NONE || node.b == NODE_NONE)
        return NODE_NONE;
    if (build_at(context, node.a)->type != TYPE_TEXT) {
        formula_complain(context, ast->a->start, ast->a->end,
                         "only a text can match a pattern; this is %s",
                         name_of_type(context, build_at(context, node.a)));
        return NODE_NONE;
    }
    const char *message;
    size_t offset;
    struct pattern_budget budget = PATTERN_BUDGET;
    if (!pattern_open(context->builder->arena, ast->b->name.text, &budget, &message, &offset)) {
        uint32_t at = ast->b->name.start + (uint32_t)offset;
        formula_complain(context, at, at, "%s",
                         message ? message : "this pattern takes too long to prepare");
        return NODE_NONE;
    }
    return build_node(context, ast, node);
}

/* Over lists: every, any, count, distinct, largest, smallest. */

bool emit_domain(const struct context *context, const struct ast *path, struct reached *out,
                 struct binding *bound)
{
    struct reached domain;
    if (!name_reach(context, path, &domain))
        return false;
    const struct env_place *place = &domain.place;
    if (domain.node == NODE_NONE && place->type == TYPE_NUMBERS) {
        bound->type = TYPE_QUANTITY;
        bound->dimension = place->dimension;
    } else if (domain.node == NODE_NONE &&
               (place->type == TYPE_LIST || (place->type == TYPE_SECTION && place->indexed))) {
        bound->type = TYPE_RECORD;
        bound->kind = place->kind;
    } else {
        formula_complain(context, path->start, path->end, "a list is expected after `in`");
        return false;
    }
    *out = domain;
    return true;
}

static uint32_t add_domain(const struct context *context, const struct ast *ast,
                           const struct reached *domain, const struct binding *bound)
{
    struct formula_node node = {
        .op = OP_DOMAIN,
        .type = (uint8_t)domain->place.type,
        .kind = bound->kind,
        .dimension = bound->dimension,
        .leaf = domain->place.leaf,
        .a = domain->record,
        .b = bound->slot,
        .c = NODE_NONE,
    };
    return build_node(context, ast->c, node);
}

/* Which slots a part reads that are not bound within it; counted only as far as it matters. */
struct free_slots {
    VECTOR(uint32_t) read, bound;
};

static void collect_slots(const struct formula_builder *builder, uint32_t node,
                          struct free_slots *slots)
{
    const struct formula_node *n = &builder->nodes.items[node];
    if (n->op == OP_SLOT || n->op == OP_RECORD_SLOT)
        VECTOR_ADD(builder->arena, &slots->read, n->a);
    if (n->op == OP_DOMAIN)
        VECTOR_ADD(builder->arena, &slots->bound, n->b);
    uint32_t below[3];
    unsigned count = formula_node_below(n, below);
    for (unsigned i = 0; i < count; i++)
        collect_slots(builder, below[i], slots);
}

static bool holds_slot(const uint32_t *items, size_t count, uint32_t slot)
{
    for (size_t i = 0; i < count; i++)
        if (items[i] == slot)
            return true;
    return false;
}

/* A quantifier's value is kept while the one outer record that it reads, if any, stays the
 * same: so what does not depend on an outer name is computed once. */
static void keep(const struct context *context, uint32_t quantifier)
{
    struct formula_builder *builder = context->builder;
    struct free_slots slots = {0};
    collect_slots(builder, quantifier, &slots);
    uint32_t key = NODE_NONE;
    for (size_t i = 0; i < slots.read.count; i++) {
        uint32_t slot = slots.read.items[i];
        if (slot == key || holds_slot(slots.bound.items, slots.bound.count, slot))
            continue;
        if (key != NODE_NONE || builder->slots.items[slot] != TYPE_RECORD)
            return;
        key = slot;
    }
    if (builder->calls.count >= CALLS_MAX)
        return;
    build_at(context, build_at(context, quantifier)->c)->c = (uint32_t)builder->calls.count;
    struct formula_call call = {
        .body = quantifier,
        .first_slot = key == NODE_NONE ? 0 : key,
        .parameters = key != NODE_NONE,
        .keeps = true,
    };
    VECTOR_ADD(builder->arena, &builder->calls, call);
}

static enum formula_op operation(const struct context *context, enum word word)
{
    switch (word) {
    case WORD_EVERY:
        return context->negate ? OP_ANY : OP_EVERY;
    case WORD_ANY:
        return context->negate ? OP_EVERY : OP_ANY;
    case WORD_COUNT:
        return OP_COUNT;
    case WORD_DISTINCT:
        return OP_DISTINCT;
    case WORD_LARGEST:
        return OP_LARGEST;
    case WORD_SMALLEST:
        return OP_SMALLEST;
    default:
        BUG("no quantifier");
    }
}

static bool emit_body(const struct context *context, const struct ast *ast,
                      struct formula_node *node)
{
    struct context inner = *context;
    bool order = node->op == OP_LARGEST || node->op == OP_SMALLEST;
    if (node->op == OP_COUNT || node->op == OP_DISTINCT)
        inner.nominal = true;
    if (node->op != OP_EVERY && node->op != OP_ANY)
        inner.negate = false;
    bool truth = node->op == OP_EVERY || node->op == OP_ANY || node->op == OP_COUNT;
    node->a = truth ? emit_truth(&inner, ast->a) : emit_any(&inner, ast->a);
    if (node->a == NODE_NONE)
        return false;
    const struct formula_node *body = build_at(context, node->a);
    bool fits = truth || body->type == TYPE_QUANTITY || body->type == TYPE_DATE ||
                (!order && (body->type == TYPE_TEXT || body->type == TYPE_CHOICE));
    if (!fits) {
        formula_complain(context, ast->a->start, ast->a->end,
                         order ? "a quantity is expected; this is %s"
                               : "a quantity, a word or a text is expected; this is %s",
                         name_of_type(context, body));
        return false;
    }
    node->type = order ? body->type : node->op == OP_COUNT ? TYPE_QUANTITY : TYPE_FLAG;
    node->dimension =
        node->op == OP_COUNT || node->op == OP_DISTINCT ? DIMENSION_NONE : body->dimension;
    if (node->op == OP_EVERY || node->op == OP_ANY)
        node->kind = body->kind;
    return true;
}

static bool emit_where(const struct context *context, const struct ast *ast,
                       struct formula_node *node)
{
    node->b = NODE_NONE;
    if (!ast->b)
        return true;
    struct context inner = *context;
    inner.nominal = true;
    inner.negate = false;
    node->b = emit_truth(&inner, ast->b);
    return node->b != NODE_NONE;
}

uint32_t emit_quantifier(const struct context *context, const struct ast *ast)
{
    struct formula_builder *builder = context->builder;
    struct reached domain;
    struct binding bound = {.name = ast->name.text, .next = context->names};
    if (!name_is_free(context, &ast->name, "what a list is gone through with") ||
        !emit_domain(context, ast->c, &domain, &bound))
        return NODE_NONE;
    bound.slot = build_slot(builder, bound.type);
    if (!context->definition)
        VECTOR_ADD(builder->arena, &builder->bound, (struct bound_in){NODE_NONE, bound});
    struct context inner = *context;
    inner.names = &bound;
    struct formula_node node = {.op = (uint8_t)operation(context, ast->word)};
    bool body = emit_body(&inner, ast, &node);
    bool where = emit_where(&inner, ast, &node);
    if (!body || !where)
        return NODE_NONE;
    if (node.op == OP_DISTINCT && context->negate)
        node.part = FLAG_NEGATE;
    node.c = add_domain(context, ast, &domain, &bound);
    if (node.c == NODE_NONE)
        return NODE_NONE;
    uint32_t quantifier = build_node(context, ast, node);
    if (quantifier != NODE_NONE)
        keep(context, quantifier);
    return quantifier;
}
