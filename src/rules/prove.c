/* Rulebooks of a user, on top of those built in, and running the examples of either. */
#include "rules/internal.h"

#include <math.h>

#include "quantity/quantity.h"
#include "text/escape.h"

const struct rulebook_text *rulebook_base_machine(void)
{
    for (size_t i = 0; i < builtin_text_count; i++)
        if (strcmp(builtin_texts[i].name, "rules/base-machine.yaml") == 0)
            return &builtin_texts[i];
    return NULL;
}

size_t rulebook_builtin_texts(struct arena *arena, struct rulebook_text **out)
{
    size_t count = 0;
    *out = ARENA_ARRAY(arena, struct rulebook_text, builtin_text_count);
    for (size_t i = 0; i < builtin_text_count; i++)
        if (rulebook_is_text(&builtin_texts[i]))
            (*out)[count++] = builtin_texts[i];
    return count;
}

bool rulebook_load_own(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                       size_t count, struct rulebook *out)
{
    struct rulebook_text *shared;
    size_t shared_count = rulebook_builtin_texts(mistakes->arena, &shared);
    return rulebook_load(mistakes, texts, count, shared, shared_count, out);
}

/* How an example should come out. */
enum wish { WISH_HOLDS, WISH_FAILS, WISH_UNCHECKED, WISH_INAPPLICABLE, WISH_COUNT };

static const char *const wish_keys[WISH_COUNT] = {"holds", "fails", "unchecked",
                                                  "inapplicable"};
static const char *const wish_words[WISH_COUNT] = {"hold", "fail", "be unchecked", "not apply"};

struct prover {
    struct arena *arena;  /* of the whole proof */
    struct arena scratch; /* of one example */
    struct checker *checker;
    const struct tree *base;
    struct source *source;                /* of the rules that are proved */
    struct buffer *tap;                   /* NULL: what differs is only gathered */
    struct differing_examples *differing; /* NULL: it is only written */
    size_t number, failed;
};

/* One example: the changes common to its rule's, and its own. */
struct example {
    const char *rule;
    enum wish wish;
    uint32_t index; /* within its list, from 1 */
    const struct tree_node *given, *changes;
    struct span span;
};

/* What came out. */
struct outcome {
    size_t held, failed, unchecked;
    bool has_margin;
    double margin; /* the least of those that failed */
    struct dimension dimension;
    enum finding_level level; /* the gravest of those that failed */
};

/* Applies changes to a machine; NULL, or the path that leads nowhere. */
static const char *apply(struct arena *arena, struct tree_node *root,
                         const struct tree_node *changes)
{
    if (!changes)
        return NULL;
    for (const struct tree_node *child = changes->first; child; child = child->next) {
        if (view_is(child->key, "margin") || view_is(child->key, "level"))
            continue;
        if (!tree_put(arena, root, child->key, tree_resolve(child)))
            return escape_short(arena, child->key, 60);
    }
    return NULL;
}

static void look(const struct file_report *report, const char *rule, struct outcome *out)
{
    *out = (struct outcome){0};
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (finding->from_reader || strcmp(finding->rule, rule) != 0)
            continue;
        out->held += finding->outcome == OUTCOME_HELD;
        out->unchecked += finding->outcome == OUTCOME_UNCHECKED;
        if (finding->outcome != OUTCOME_FAILED)
            continue;
        out->failed++;
        out->level = finding->level > out->level ? finding->level : out->level;
        if (finding->has_margin && (!out->has_margin || finding->margin < out->margin)) {
            out->has_margin = true;
            out->margin = finding->margin;
            out->dimension = finding->dimension;
        }
    }
}

static bool came_true(enum wish wish, const struct outcome *outcome)
{
    switch (wish) {
    case WISH_HOLDS:
        return outcome->held && !outcome->failed && !outcome->unchecked;
    case WISH_FAILS:
        return outcome->failed;
    case WISH_UNCHECKED:
        return outcome->unchecked && !outcome->failed;
    case WISH_INAPPLICABLE:
        return !outcome->held && !outcome->failed && !outcome->unchecked;
    case WISH_COUNT:
        break;
    }
    return false;
}

/* NULL where the margin is as the example says (or it says none), else what it is instead. */
static const char *wrong_margin(struct arena *arena, const struct example *example,
                                const struct outcome *outcome)
{
    const struct tree_node *node = tree_child(example->changes, view_of("margin"));
    if (!node)
        return NULL;
    if (!outcome->has_margin)
        return "there is no margin";
    struct quantity wanted;
    struct quantity_trouble trouble;
    if (quantity_read(tree_resolve(node)->text, outcome->dimension, &wanted, &trouble) !=
        QUANTITY_OK)
        return "its margin is no quantity of the right kind";
    double scale =
        fabs(wanted.si) > fabs(outcome->margin) ? fabs(wanted.si) : fabs(outcome->margin);
    if (fabs(wanted.si - outcome->margin) <= 1e-9 * scale + 1e-15)
        return NULL;
    return arena_format(arena, "the margin is %s",
                        quantity_text(arena, outcome->margin, outcome->dimension, wanted.unit));
}

/* The same of the level. */
static const char *wrong_level(struct arena *arena, const struct example *example,
                               const struct outcome *outcome)
{
    const struct tree_node *node = tree_child(example->changes, view_of("level"));
    const char *level = finding_level_name(outcome->level);
    if (!node || view_is(tree_resolve(node)->text, level))
        return NULL;
    return arena_format(arena, "the level is %s", level);
}

/* What the reader says of a value that an example gives; NULL: nothing. */
static const char *misread(const struct finding_sink *sink)
{
    for (size_t i = 0; i < sink->findings.count; i++) {
        const struct finding *finding = &sink->findings.items[i];
        if (finding->level == LEVEL_ERROR && strcmp(finding->rule, "missing-key") != 0)
            return finding->message;
    }
    return NULL;
}

static const char *run(struct prover *prover, const struct example *example)
{
    struct arena *arena = &prover->scratch;
    struct tree tree = *prover->base;
    tree.root = tree_copy(arena, prover->base->root);
    const char *lost = apply(arena, tree.root, example->given);
    if (!lost)
        lost = apply(arena, tree.root, example->changes);
    if (lost)
        return arena_format(arena, "there is nothing at `%s` to change", lost);
    struct finding_sink sink;
    sink_init(&sink, arena, tree.source);
    struct machine machine;
    machine_read(&machine, arena, &tree, &sink);
    struct file_report report;
    checker_check_machine(prover->checker, arena, &machine, &sink, &report);
    struct outcome outcome;
    look(&report, example->rule, &outcome);
    if (!came_true(example->wish, &outcome)) {
        const char *wrong = misread(&sink);
        return arena_format(arena, "%zu held, %zu failed, %zu unchecked%s%s", outcome.held,
                            outcome.failed, outcome.unchecked, wrong ? "; " : "",
                            wrong ? wrong : "");
    }
    if (example->wish != WISH_FAILS)
        return NULL;
    const char *wrong = wrong_level(arena, example, &outcome);
    return wrong ? wrong : wrong_margin(arena, example, &outcome);
}

static void write_example(struct prover *prover, const struct example *example,
                          const char *trouble)
{
    struct place at = source_place(prover->source, example->span.start, COLUMN_CODE_POINTS);
    buffer_format(prover->tap, "%s %zu - %s: example %u that should %s\n",
                  trouble ? "not ok" : "ok", prover->number, example->rule, example->index,
                  wish_words[example->wish]);
    if (trouble)
        buffer_format(prover->tap, "# %.*s:%u:%u: %s\n", VIEW(prover->source->name), at.line,
                      at.column, trouble);
}

static void prove_example(struct prover *prover, const struct example *example)
{
    const char *trouble = run(prover, example);
    prover->number++;
    prover->failed += trouble != NULL;
    if (prover->tap)
        write_example(prover, example, trouble);
    if (prover->differing && trouble) {
        struct differing_example one = {
            prover->source, example->span, example->rule,
            arena_format(prover->arena, "this example of %s should %s; %s", example->rule,
                         wish_words[example->wish], trouble)};
        VECTOR_ADD(prover->arena, &prover->differing->list, one);
    }
    arena_reset(&prover->scratch);
}

static void prove_rule(struct prover *prover, const struct tree_node *rule)
{
    const struct tree_node *examples = loader_child(tree_resolve(rule), "examples");
    struct example example = {
        .rule = arena_copy(prover->arena, rule->key.data, rule->key.size),
        .given = loader_child(examples, "given"),
    };
    for (enum wish wish = 0; wish < WISH_COUNT; wish++) {
        const struct tree_node *list = loader_child(examples, wish_keys[wish]);
        example.wish = wish;
        example.index = 0;
        for (const struct tree_node *item = list ? list->first : NULL; item;
             item = item->next) {
            example.index++;
            example.changes = tree_resolve(item);
            example.span = item->span;
            prove_example(prover, &example);
        }
    }
}

static void prove_text(struct prover *prover, const struct rulebook_text *text)
{
    const struct tree *tree =
        tree_of(prover->arena, view_of(text->name), (struct view){text->bytes, text->size});
    prover->source = tree->source;
    const struct tree_node *rules = loader_child(tree->root, "rules");
    for (const struct tree_node *rule = rules ? rules->first : NULL; rule; rule = rule->next)
        prove_rule(prover, rule);
}

/* Runs the examples of the first `proved` texts with `book`, that all of them are. */
static void prove_texts(struct prover *prover, const struct rulebook *book, bool user_book,
                        const struct rulebook_text *texts, size_t proved)
{
    struct arena *arena = prover->arena;
    const struct rulebook *const books[] = {&builtin_rulebook, book};
    const struct check_options options = {.books = user_book ? books : books + 1,
                                          .book_count = user_book ? 2 : 1,
                                          .show = SHOW_ALL};
    prover->checker = checker_new(arena, &options);
    arena_init(&prover->scratch, arena->host);
    const struct rulebook_text *base_text = rulebook_base_machine();
    BUG_UNLESS(base_text);
    prover->base = tree_of(arena, view_of(base_text->name),
                           (struct view){base_text->bytes, base_text->size});
    for (size_t i = 0; i < proved; i++)
        prove_text(prover, &texts[i]);
    arena_free(&prover->scratch);
}

bool rules_prove(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                 size_t count, bool user_book, struct buffer *tap)
{
    struct rulebook book;
    if (user_book ? !rulebook_load_own(mistakes, texts, count, &book)
                  : !rulebook_load(mistakes, texts, count, NULL, 0, &book))
        return false;
    struct prover prover = {.arena = mistakes->arena, .tap = tap};
    buffer_text(tap, "TAP version 14\n");
    prove_texts(&prover, &book, user_book, texts, count);
    buffer_format(tap, "1..%zu\n", prover.number);
    return prover.failed == 0;
}

bool rules_prove_first(struct rulebook_mistakes *mistakes, const struct rulebook_text *texts,
                       size_t count, struct differing_examples *out)
{
    struct rulebook book;
    *out = (struct differing_examples){0};
    if (!rulebook_load_own(mistakes, texts, count, &book))
        return false;
    struct prover prover = {.arena = mistakes->arena, .differing = out};
    prove_texts(&prover, &book, true, texts, 1);
    return true;
}
