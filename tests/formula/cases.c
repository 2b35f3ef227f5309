/* Runs formulas written in plain text and compares whole what comes of them.
 *
 *     formula-cases FILE...           tells where a file and what happens differ
 *     formula-cases --accept FILE...  writes what happens into the files
 *
 * A file is a row of cases apart by lines that start with `%%`.  In a case, lines are commands,
 * and lines that start with `> ` are what the command before them gave:
 *
 *     set PATH = VALUE          a value of the world; `~` none, `wrong`, `default VALUE`
 *     steps N                   from here on no more than N for all that is asked until a `set`
 *     define HEAD = FORMULA
 *     each NAME in LIST [N]     what follows is asked of record N (0 where left out)
 *     value FORMULA             nominal value, and its bounds where they differ
 *     names FORMULA             the names of the deviations in it with their widths
 *     require FORMULA           a requirement: how it came out, its margin
 *     statistical FORMULA       the same, tolerances added as squares
 *     when FORMULA              a condition, at nominal values
 *     trace FORMULA             what was read, what is to spare, the arithmetic
 *     shown FORMULA             in a message about the requirement or trace before it
 *     field [PATH]              blamed by the requirement or trace before it; else the first
 *                               it reads
 *     uses NAME                 does the requirement before it read this bound name?
 *     reads                     every field the requirement before it can read
 *
 * All definitions and formulas of a case go into one program; values are set in order.
 */
#include <stdio.h>
#include <stdlib.h>

#include "base/buffer.h"
#include "base/vector.h"
#include "formula/compile.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "world.h"

enum command {
    SET,
    DEFINE,
    EACH,
    VALUE,
    NAMES,
    REQUIRE,
    STATISTICAL,
    WHEN,
    TRACE,
    SHOWN,
    FIELD,
    USES,
    READS,
    STEPS,
    COMMAND_COUNT
};

static const char *const commands[COMMAND_COUNT] = {
    "set",  "define", "each",  "value", "names", "require", "statistical",
    "when", "trace",  "shown", "field", "uses",  "reads",   "steps",
};

struct line {
    struct view text; /* whole */
    enum command command;
    struct view rest, head; /* after the command; of `define` and `set` before the = */
    uint32_t node;
    struct formula_scope scope;
    uint32_t record;
    struct buffer out;
};

struct one_case {
    struct arena *arena;
    VECTOR(struct line) lines;
    struct formula_builder *builder;
    struct program program;
    struct world world;
    struct evaluator *evaluator;
    uint32_t line;     /* being compiled, for errors */
    uint32_t anything; /* a requirement that `value` can belong to */
};

static void tell(struct line *line, const char *text)
{
    buffer_format(&line->out, "> %s\n", text);
}

/* Compiling. */

static size_t cells(struct view text)
{
    size_t count = 0;
    for (size_t i = 0; i < text.size; i++)
        count += ((unsigned char)text.data[i] & 0xc0) != 0x80;
    return count;
}

/* The message, the text it is about, and carets under the wrong part. */
static void report(void *user, uint32_t origin, uint32_t start, uint32_t end,
                   const char *message)
{
    struct one_case *one = user;
    struct line *about = &one->lines.items[origin / 2];
    struct view text = origin % 2 ? about->head : about->rest;
    struct line *line = &one->lines.items[one->line];
    tell(line, message);
    buffer_format(&line->out, ">   %.*s\n>   ", VIEW(text));
    BUG_UNLESS(start <= end && end <= text.size);
    buffer_fill(&line->out, ' ', cells((struct view){text.data, start}));
    size_t width = cells((struct view){text.data + start, end - start});
    buffer_fill(&line->out, '^', width ? width : 1);
    buffer_byte(&line->out, '\n');
}

static void compile_line(struct one_case *one, uint32_t index, uint32_t *requirement,
                         struct line *each)
{
    struct line *line = &one->lines.items[index];
    const struct formula_scope *scope = each ? &each->scope : NULL;
    one->line = index;
    line->node = NODE_NONE;
    switch (line->command) {
    case DEFINE:
        formula_define(one->builder, line->head, index * 2 + 1, line->rest, index * 2);
        return;
    case REQUIRE:
    case STATISTICAL:
    case TRACE:
        line->node = *requirement =
            formula_requirement(one->builder, scope, line->rest, index * 2);
        return;
    case WHEN:
        line->node = *requirement =
            formula_condition(one->builder, scope, line->rest, index * 2);
        return;
    case VALUE:
    case NAMES:
        line->node = formula_shown(one->builder, scope, one->anything, line->rest, index * 2);
        return;
    case SHOWN:
        line->node = formula_shown(one->builder, scope, *requirement, line->rest, index * 2);
        return;
    case FIELD:
        if (line->rest.size)
            line->node =
                formula_field(one->builder, scope, *requirement, line->rest, index * 2);
        else
            line->node = formula_first_field(one->builder, *requirement);
        return;
    case USES:
        if (each && view_equal(line->rest, each->scope.name))
            tell(line,
                 formula_uses(one->builder, *requirement, each->scope.slot) ? "yes" : "no");
        return;
    default:
        return;
    }
}

/* "each c in cutters 2": takes the number off. */
static void compile_each(struct one_case *one, uint32_t index)
{
    struct line *line = &one->lines.items[index];
    size_t end = line->rest.size;
    while (end && line->rest.data[end - 1] >= '0' && line->rest.data[end - 1] <= '9')
        end--;
    if (end < line->rest.size) {
        line->record = (uint32_t)atoi(line->rest.data + end);
        line->rest = view_trim((struct view){line->rest.data, end});
    }
    one->line = index;
    if (!formula_each(one->builder, line->rest, index * 2, &line->scope))
        line->scope = (struct formula_scope){0};
}

static void compile(struct one_case *one)
{
    uint32_t requirement = NODE_NONE;
    struct line *each = NULL;
    one->builder = formula_begin(one->arena, &world_environment, report, one);
    one->anything = formula_requirement(one->builder, NULL, view_of("yes"), 0);
    for (uint32_t i = 0; i < one->lines.count; i++)
        if (one->lines.items[i].command == DEFINE)
            compile_line(one, i, &requirement, NULL);
    for (uint32_t i = 0; i < one->lines.count; i++) {
        if (one->lines.items[i].command == EACH) {
            each = &one->lines.items[i];
            compile_each(one, i);
        } else if (one->lines.items[i].command != DEFINE) {
            compile_line(one, i, &requirement, each);
        }
    }
    one->line = (uint32_t)one->lines.count - 1;
    formula_finish(one->builder, &one->program);
}

/* Evaluating. */

static const char *in_unit(struct one_case *one, double si, struct dimension dimension)
{
    return quantity_text(one->arena, si, dimension, unit_default(dimension));
}

static struct dimension shown_dimension(struct one_case *one, uint32_t node)
{
    const struct formula_node *n = &one->program.nodes[node];
    return n->type == TYPE_DATE ? DIMENSION_TIME : n->dimension;
}

static void tell_value(struct one_case *one, struct line *line)
{
    const struct formula_node *n = &one->program.nodes[line->node];
    struct formula_namer namer = world_namer(&one->world);
    struct form form;
    if (n->type != TYPE_QUANTITY) {
        struct buffer text;
        buffer_init(&text, one->arena);
        evaluate_shown(one->evaluator, line->node, &namer, UNIT_UNKNOWN, &text);
        tell(line, buffer_string(&text));
        return;
    }
    if (!evaluate_quantity(one->evaluator, line->node, &form)) {
        tell(line, "not known");
        return;
    }
    struct dimension dimension = shown_dimension(one, line->node);
    BUG_UNLESS(form.low <= form.mid && form.mid <= form.high);
    if (form.low == form.high)
        tell(line, in_unit(one, form.mid, dimension));
    else
        tell(line, arena_format(
                       one->arena, "%s, from %s to %s", in_unit(one, form.mid, dimension),
                       in_unit(one, form.low, dimension), in_unit(one, form.high, dimension)));
}

static void tell_names(struct one_case *one, struct line *line, const struct form *form,
                       struct dimension dimension)
{
    struct formula_namer namer = world_namer(&one->world);
    for (uint32_t i = 0; i < form->count; i++)
        tell(line, arena_format(one->arena, "%s: %s",
                                evaluator_deviation(one->evaluator, &namer, one->arena,
                                                    form->terms[i].name),
                                in_unit(one, form->terms[i].width, dimension)));
    if (form->rest != 0)
        tell(line,
             arena_format(one->arena, "the rest: %s", in_unit(one, form->rest, dimension)));
}

static void tell_verdict(struct one_case *one, struct line *line, const struct verdict *verdict)
{
    static const char *const words[] = {"fails", "holds", "unchecked"};
    struct dimension dimension;
    const char *text = words[verdict->truth];
    bool may = formula_margin(one->builder, line->node, &dimension);
    BUG_UNLESS(may || !verdict->has_margin);
    if (verdict->has_margin)
        text =
            arena_format(one->arena, "%s, %s", text, in_unit(one, verdict->margin, dimension));
    if (evaluator_exhausted(one->evaluator))
        text = arena_format(one->arena, "%s, stopped", text);
    tell(line, text);
}

static void tell_reads(struct one_case *one, struct line *line, const struct trace *trace)
{
    static const char *const states[] = {"", " absent", " wrong"};
    for (size_t i = 0; i < trace->read_count; i++) {
        const struct formula_read *read = &trace->reads[i];
        tell(line, arena_format(one->arena, "read %s%s%s%s",
                                world_path(one->arena, read->leaf, read->part, read->record),
                                states[read->state], read->defaulted ? " by default" : "",
                                read->comparing ? "" : ", as a condition"));
    }
}

static void tell_trace(struct one_case *one, struct line *line)
{
    struct formula_namer namer = world_namer(&one->world);
    struct trace trace;
    struct verdict fast;
    struct dimension dimension;
    evaluate_requirement(one->evaluator, line->node, false, &fast);
    evaluate_traced(one->evaluator, line->node, false, &namer, one->arena, &trace);
    BUG_UNLESS(fast.truth == trace.verdict.truth &&
               fast.has_margin == trace.verdict.has_margin);
    BUG_UNLESS(!fast.has_margin || fast.margin == trace.verdict.margin);
    tell_verdict(one, line, &trace.verdict);
    tell_reads(one, line, &trace);
    if (formula_margin(one->builder, line->node, &dimension) && trace.verdict.has_margin)
        tell_names(one, line, &trace.difference, dimension);
    for (size_t i = 0; i < trace.line_count; i++)
        tell(line, trace.lines[i]);
}

static void tell_field(struct one_case *one, struct line *line)
{
    uint16_t leaf;
    uint8_t part;
    uint32_t record;
    if (line->node == NODE_NONE)
        tell(line, "none");
    else if (evaluate_field(one->evaluator, line->node, &leaf, &part, &record))
        tell(line, world_path(one->arena, leaf, part, record));
    else
        tell(line, "leads nowhere");
}

/* The leaves without which the requirement would come out the same. */
static void tell_leaves(struct one_case *one, struct line *line, uint32_t requirement)
{
    size_t count = world_leaf_count();
    for (uint16_t leaf = 0; leaf < count; leaf++) {
        bool *leaves = ARENA_ARRAY(one->arena, bool, count);
        struct formula_change change;
        leaves[leaf] = true;
        formula_change_find(&change, one->arena, &one->program, leaves);
        if (formula_changes(&change, requirement))
            tell(line, world_environment.leaf_path(NULL, leaf));
    }
}

static void evaluate_line(struct one_case *one, struct line *line, uint32_t requirement)
{
    static const char *const truths[] = {"no", "yes", "unknown"};
    struct formula_namer namer = world_namer(&one->world);
    struct verdict verdict;
    struct form form;
    struct buffer text;
    if (line->node == NODE_NONE && line->command != FIELD && line->command != READS)
        return;
    switch (line->command) {
    case VALUE:
        tell_value(one, line);
        return;
    case NAMES:
        if (evaluate_quantity(one->evaluator, line->node, &form))
            tell_names(one, line, &form, shown_dimension(one, line->node));
        return;
    case REQUIRE:
    case STATISTICAL:
        evaluate_requirement(one->evaluator, line->node, line->command == STATISTICAL,
                             &verdict);
        tell_verdict(one, line, &verdict);
        return;
    case WHEN:
        tell(line, truths[evaluate_condition(one->evaluator, line->node)]);
        return;
    case TRACE:
        tell_trace(one, line);
        return;
    case SHOWN:
        buffer_init(&text, one->arena);
        evaluate_shown(one->evaluator, line->node, &namer, UNIT_UNKNOWN, &text);
        tell(line, buffer_string(&text));
        return;
    case FIELD:
        if (line->rest.size == 0 || line->node != NODE_NONE)
            tell_field(one, line);
        return;
    case READS:
        tell_leaves(one, line, requirement);
        return;
    default:
        return;
    }
}

static void bind(struct one_case *one, const struct line *each)
{
    if (each && each->scope.name.size)
        evaluator_bind(one->evaluator, each->scope.slot,
                       (struct record_value){each->scope.domain.kind, true, each->record});
}

static void evaluate(struct one_case *one)
{
    uint32_t requirement = NODE_NONE;
    const struct line *each = NULL;
    struct environment_values values = world_values(&one->world);
    one->evaluator = evaluator_new(one->arena, &one->program, &values, 100000);
    for (uint32_t i = 0; i < one->lines.count; i++) {
        struct line *line = &one->lines.items[i];
        if (line->command == SET) {
            const char *trouble = world_set(&one->world, line->head, line->rest);
            if (trouble)
                tell(line, trouble);
            evaluator_reset(one->evaluator, &values);
            bind(one, each);
        } else if (line->command == EACH) {
            each = line;
            bind(one, each);
        } else if (line->command == STEPS) {
            one->evaluator = evaluator_new(one->arena, &one->program, &values,
                                           (uint64_t)atoi(line->rest.data));
            bind(one, each);
        }
        if (line->command == REQUIRE || line->command == TRACE || line->command == WHEN ||
            line->command == STATISTICAL)
            requirement = line->node;
        evaluate_line(one, line, requirement);
    }
}

/* Files. */

static struct view take_line(struct view *text)
{
    size_t end = 0;
    while (end < text->size && text->data[end] != '\n')
        end++;
    struct view line = {text->data, end};
    *text = view_skip(*text, end + 1);
    return line;
}

static enum command command_of(struct view line)
{
    for (int i = 0; i < COMMAND_COUNT; i++) {
        size_t size = strlen(commands[i]);
        if (view_starts(line, commands[i]) && (line.size == size || line.data[size] == ' '))
            return (enum command)i;
    }
    return COMMAND_COUNT;
}

/* `\\e` is an escape character, which has no place in a file of tests. */
static struct view unescape(struct arena *arena, struct view text)
{
    char *out = arena_copy(arena, text.data ? text.data : "", text.size);
    size_t size = 0;
    for (size_t i = 0; i < text.size; i++) {
        bool escape = text.data[i] == '\\' && i + 1 < text.size && text.data[i + 1] == 'e';
        out[size++] = escape ? '\x1b' : text.data[i];
        i += escape;
    }
    return (struct view){out, size};
}

static void add_line(struct one_case *one, struct view text)
{
    struct line line = {.text = text, .command = command_of(text)};
    buffer_init(&line.out, one->arena);
    if (line.command < COMMAND_COUNT)
        line.rest = view_trim(view_skip(text, strlen(commands[line.command])));
    if (line.command == SET || line.command == DEFINE) {
        size_t at = 0;
        while (at + 2 < line.rest.size && memcmp(line.rest.data + at, " = ", 3) != 0)
            at++;
        line.head = view_trim((struct view){line.rest.data, at});
        line.rest = view_trim(view_skip(line.rest, at + 3));
        if (line.command == SET)
            line.rest = unescape(one->arena, line.rest);
    }
    VECTOR_ADD(one->arena, &one->lines, line);
}

static void run_case(struct arena *arena, struct view text, struct buffer *out)
{
    struct one_case one = {.arena = arena};
    world_init(&one.world, arena);
    while (text.size) {
        struct view line = take_line(&text);
        if (!view_starts(line, "> "))
            add_line(&one, line);
    }
    if (one.lines.count) {
        compile(&one);
        evaluate(&one);
    }
    for (size_t i = 0; i < one.lines.count; i++) {
        struct line *line = &one.lines.items[i];
        buffer_format(out, "%.*s\n", VIEW(line->text));
        buffer_add(out, buffer_view(&line->out));
        bool comment =
            line->text.size == 0 || line->text.data[0] == '#' || line->text.data[0] == '%';
        if (line->command == COMMAND_COUNT && !comment)
            buffer_text(out, "> no such command\n");
    }
}

/* Everything up to the next line that starts with %%. */
static struct view take_case(struct view *text)
{
    struct view rest = *text;
    take_line(&rest);
    while (rest.size && !view_starts(rest, "%%"))
        take_line(&rest);
    struct view one = {text->data, text->size - rest.size};
    *text = rest;
    return one;
}

static struct view read_file(struct arena *arena, const char *path)
{
    FILE *file = fopen(path, "rb");
    struct buffer bytes;
    char block[4096];
    size_t size;
    buffer_init(&bytes, arena);
    if (!file) {
        fprintf(stderr, "%s cannot be read\n", path);
        exit(2);
    }
    while ((size = fread(block, 1, sizeof block, file)) > 0)
        buffer_add(&bytes, (struct view){block, size});
    fclose(file);
    return buffer_view(&bytes);
}

static void show_difference(const char *path, struct view wanted, struct view got)
{
    struct view w = wanted, g = got;
    for (int line = 1; w.size || g.size; line++) {
        struct view from = take_line(&w), to = take_line(&g);
        if (view_equal(from, to))
            continue;
        printf("%s:%d:\n- %.*s\n+ %.*s\n", path, line, VIEW(from), VIEW(to));
        return;
    }
}

static bool run_file(const char *path, bool accept, size_t *cases)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct view text = read_file(&arena, path), rest = text;
    struct buffer out;
    buffer_init(&out, &arena);
    bool same = true;
    while (rest.size) {
        struct buffer one;
        buffer_init(&one, &arena);
        struct view wanted = take_case(&rest);
        run_case(&arena, wanted, &one);
        ++*cases;
        if (!view_equal(wanted, buffer_view(&one))) {
            same = false;
            if (!accept)
                show_difference(path, wanted, buffer_view(&one));
        }
        buffer_add(&out, buffer_view(&one));
    }
    if (accept && !same) {
        FILE *file = fopen(path, "wb");
        BUG_UNLESS(file);
        fwrite(out.data, 1, out.size, file);
        fclose(file);
    }
    arena_free(&arena);
    return same || accept;
}

int main(int argc, char **argv)
{
    bool accept = argc > 1 && strcmp(argv[1], "--accept") == 0;
    bool good = true;
    size_t cases = 0;
    for (int i = accept ? 2 : 1; i < argc; i++)
        good &= run_file(argv[i], accept, &cases);
    printf("%zu cases, %s\n", cases, good ? "all as written" : "not all as written");
    return good ? 0 : 1;
}
