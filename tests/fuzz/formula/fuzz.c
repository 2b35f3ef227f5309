/* Formulas of any bytes: compiled, and what compiles evaluated in every way there is.
 *
 * A line is one formula, asked as a requirement, a condition, a value and a field; `define HEAD
 * = BODY` and `set PATH = VALUE` come before those, wherever they stand.  Beyond not crashing:
 * a mistake lies within the text it is told of and says something printable, bounds are in
 * order, and tracing comes out as the fast way does.
 */
#include <math.h>

#include "../../formula/world.h"

#include "base/bug.h"
#include "formula/compile.h"
#include "text/utf8.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { LINES = 24, STEPS = 20000 };

struct asked {
    struct view text;
    uint32_t requirement, condition, shown, field;
};

struct session {
    struct arena arena;
    struct world world;
    struct formula_builder *builder;
    struct formula_scope scope;
    struct view texts[3 * LINES]; /* by origin */
    uint32_t text_count;
    struct asked asked[LINES];
    size_t count, reports;
};

static void report(void *user, uint32_t origin, uint32_t start, uint32_t end,
                   const char *message)
{
    struct session *session = user;
    session->reports++;
    BUG_UNLESS(origin < session->text_count);
    BUG_UNLESS(start <= end && end <= session->texts[origin].size);
    BUG_UNLESS(*message && utf8_check(view_of(message)) == strlen(message));
    for (const char *c = message; *c; c++)
        BUG_UNLESS((unsigned char)*c >= ' ' && *c != 0x7f);
}

static uint32_t origin_of(struct session *session, struct view text)
{
    session->texts[session->text_count] = text;
    return session->text_count++;
}

static struct view take_line(struct view *text)
{
    size_t end = 0;
    while (end < text->size && text->data[end] != '\n')
        end++;
    struct view line = {text->data, end};
    *text = view_skip(*text, end + 1);
    return line;
}

/* "head = body" in two; false where there is no such sign. */
static bool halves(struct view line, struct view *head, struct view *body)
{
    for (size_t at = 0; at + 3 <= line.size; at++) {
        if (memcmp(line.data + at, " = ", 3) != 0)
            continue;
        *head = view_trim((struct view){line.data, at});
        *body = view_trim(view_skip(line, at + 3));
        return true;
    }
    return false;
}

static void read_line(struct session *session, struct view line)
{
    struct view head, body;
    if (view_starts(line, "define ") && halves(view_skip(line, 7), &head, &body)) {
        uint32_t first = origin_of(session, head);
        formula_define(session->builder, head, first, body, origin_of(session, body));
    } else if (view_starts(line, "set ") && halves(view_skip(line, 4), &head, &body)) {
        world_set(&session->world, head, body);
    } else {
        session->asked[session->count++].text = line;
    }
}

/* The same text as a requirement, as a value, and as the field of that requirement. */
static void compile(struct session *session, struct asked *asked)
{
    struct formula_builder *builder = session->builder;
    uint32_t origin = origin_of(session, asked->text);
    asked->requirement = formula_requirement(builder, &session->scope, asked->text, origin);
    /* What a definition has wrong is told once, before. */
    BUG_UNLESS(asked->requirement != NODE_NONE || session->reports);
    asked->condition = formula_condition(builder, &session->scope, asked->text, origin);
    asked->shown =
        formula_shown(builder, &session->scope, asked->requirement, asked->text, origin);
    asked->field = asked->requirement == NODE_NONE
                       ? NODE_NONE
                       : formula_first_field(builder, asked->requirement);
}

static void evaluate(struct session *session, struct evaluator *evaluator,
                     const struct asked *asked, bool statistical)
{
    struct formula_namer namer = world_namer(&session->world);
    struct verdict fast;
    struct trace trace;
    uint16_t leaf;
    uint8_t part;
    uint32_t record;
    struct dimension dimension;
    if (asked->requirement == NODE_NONE)
        return;
    evaluate_requirement(evaluator, asked->requirement, statistical, &fast);
    evaluate_traced(evaluator, asked->requirement, statistical, &namer, &session->arena,
                    &trace);
    BUG_UNLESS(!fast.has_margin ||
               formula_margin(session->builder, asked->requirement, &dimension));
    if (evaluator_exhausted(evaluator))
        return;
    BUG_UNLESS(fast.truth == trace.verdict.truth &&
               fast.has_margin == trace.verdict.has_margin);
    BUG_UNLESS(!fast.has_margin || fast.margin == trace.verdict.margin);
    BUG_UNLESS(!fast.has_margin || !isnan(fast.margin));
    if (asked->field != NODE_NONE)
        evaluate_field(evaluator, asked->field, &leaf, &part, &record);
    for (uint32_t i = 0; fast.has_margin && i < trace.difference.count; i++)
        evaluator_deviation(evaluator, &namer, &session->arena, trace.difference.terms[i].name);
}

static void evaluate_value(struct session *session, struct evaluator *evaluator,
                           const struct program *program, uint32_t node)
{
    struct formula_namer namer = world_namer(&session->world);
    struct form form;
    struct buffer out;
    if (node == NODE_NONE)
        return;
    buffer_init(&out, &session->arena);
    evaluate_shown(evaluator, node, &namer, UNIT_UNKNOWN, &out);
    if (program->nodes[node].type == TYPE_QUANTITY && evaluate_quantity(evaluator, node, &form))
        BUG_UNLESS(form.low <= form.mid && form.mid <= form.high);
}

static void run(struct session *session)
{
    uint32_t anything = formula_requirement(session->builder, NULL, view_of("yes"), 0);
    BUG_UNLESS(anything != NODE_NONE);
    for (size_t i = 0; i < session->count; i++)
        compile(session, &session->asked[i]);
    struct program program;
    formula_finish(session->builder, &program);
    struct environment_values values = world_values(&session->world);
    for (size_t i = 0; i < session->count; i++) {
        struct evaluator *evaluator = evaluator_new(&session->arena, &program, &values, STEPS);
        for (uint32_t record = 0; record < 2; record++) {
            if (session->scope.name.size)
                evaluator_bind(evaluator, session->scope.slot,
                               (struct record_value){KIND_CUTTER, true, record});
            evaluate(session, evaluator, &session->asked[i], record == 1);
            if (session->asked[i].condition != NODE_NONE)
                evaluate_condition(evaluator, session->asked[i].condition);
            evaluate_value(session, evaluator, &program, session->asked[i].shown);
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const given[][2] = {
        {"change.stroke", "18 mm +/- 0.5 mm"},
        {"change.standoff", "10 mm +/- 0.2 mm"},
        {"setter.nose_contact", "-80 mm ± 0.2 mm"},
        {"allowances.reseat", "6.35 mm"},
        {"cutters[0].stickout", "30 mm +/- 1 mm"},
        {"cutters[1].stickout", "42 mm"},
        {"cutters[1].diameter", "6 mm"},
        {"axes.z.acceleration", "400 mm/s^2"},
    };
    struct session session = {0};
    arena_init(&session.arena, NULL);
    world_init(&session.world, &session.arena);
    for (size_t i = 0; i < sizeof given / sizeof *given; i++)
        BUG_UNLESS(!world_set(&session.world, view_of(given[i][0]), view_of(given[i][1])));
    session.builder = formula_begin(&session.arena, &world_environment, report, &session);
    struct view each = view_of("c in cutters"), rest = {(const char *)data, size};
    BUG_UNLESS(formula_each(session.builder, each, origin_of(&session, each), &session.scope));
    for (size_t lines = 0; rest.size && lines < LINES; lines++)
        read_line(&session, take_line(&rest));
    run(&session);
    arena_free(&session.arena);
    return 0;
}
