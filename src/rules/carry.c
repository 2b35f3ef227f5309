/* Numbers carried between a machine file and the controller's own, and what rests on them. */
#include "rules/internal.h"

#include <math.h>
#include <stdlib.h>

#include "quantity/quantity.h"
#include "text/escape.h"
#include "text/utf8.h"

enum {
    DIGITS_TYPED = 12, /* more than anybody types, fewer than rounding shows in */
    DIGITS_MOST = 17,  /* those of a double */
};

/* How many decimals a number has; none where it is a fraction or has an exponent. */
static size_t decimals_of(struct view number)
{
    const char *point = number.size ? memchr(number.data, '.', number.size) : NULL;
    if (!point || memchr(number.data, '/', number.size) ||
        memchr(number.data, 'e', number.size) || memchr(number.data, 'E', number.size))
        return 0;
    return number.size - (size_t)(point - number.data) - 1;
}

/* `number` with at least so many decimals. */
static const char *padded(struct arena *arena, const char *number, size_t decimals)
{
    struct view text = view_of(number);
    size_t has = decimals_of(text);
    struct buffer out;
    if (has >= decimals || strchr(number, 'e'))
        return number;
    buffer_init(&out, arena);
    buffer_add(&out, text);
    if (!strchr(number, '.'))
        buffer_byte(&out, '.');
    buffer_fill(&out, '0', decimals - has);
    return buffer_string(&out);
}

static const struct field_value *value_at(const struct machine *machine,
                                          const struct field_place *place)
{
    const struct field_value *value = machine_field(machine, place->field, place->record);
    return place->part && value->state == VALUE_GIVEN ? &value->pair[place->part - 1] : value;
}

/* Does `number` in `unit` say exactly `si`? */
static bool says(struct dimension dimension, const char *number, unit_id unit, double si)
{
    double value;
    size_t used;
    struct view text = view_of(number);
    return number_read(text, &value, &used) == NUMBER_OK && used == text.size &&
           !(unit_to_si(unit, dimension, value) < si) &&
           !(unit_to_si(unit, dimension, value) > si);
}

/* --- into the machine file --- */

/* The controller's number as it spells it, with its unit. */
static const char *own_spelling(struct arena *arena, const struct agreement_seen *seen)
{
    return arena_format(arena, "%.*s%s%s", (int)seen->number_size, seen->found.data,
                        seen->unit == UNIT_BARE ? "" : " ", unit_text(seen->unit));
}

/* Where the plus-minus of a quantity stands; the size of the text where it has none. */
static size_t tolerance_at(struct view text)
{
    size_t at = 0;
    while (at < text.size && !view_starts(view_skip(text, at), "\xC2\xB1") &&
           !view_starts(view_skip(text, at), "+/-"))
        at++;
    return at;
}

/* The tolerance as it is typed, with a unit of its own where it had that of the number. */
static const char *tolerance_text(struct arena *arena, struct view old, unit_id unit)
{
    size_t at = tolerance_at(old);
    if (at == old.size)
        return "";
    struct view tail = view_skip(old, at);
    struct view number = view_trim(view_skip(tail, tail.data[0] == '+' ? 3 : 2));
    double value;
    size_t used;
    bool bare = number_read(number, &value, &used) == NUMBER_OK && used == number.size;
    return arena_format(arena, " %.*s%s%s", VIEW(tail), bare && unit != UNIT_BARE ? " " : "",
                        bare ? unit_text(unit) : "");
}

/* Over the number that stands there, `old`, of which the rest stays. */
static const char *number_over(struct arena *arena, const struct agreement_seen *seen,
                               const struct field_value *value, struct view old)
{
    struct dimension dimension = field_table[seen->place.field].dimension;
    double number;
    size_t used;
    if (number_read(old, &number, &used) != NUMBER_OK)
        return NULL;
    const char *text =
        number_plain(arena, unit_from_si(value->unit, dimension, seen->si), DIGITS_TYPED);
    if (!says(dimension, text, value->unit, seen->si))
        return arena_format(arena, "%s%s", own_spelling(arena, seen),
                            tolerance_text(arena, old, value->unit));
    text = padded(arena, text, decimals_of((struct view){old.data, used}));
    return arena_format(arena, "%s%.*s", text, VIEW(view_skip(old, used)));
}

const char *carry_to_machine(struct arena *arena, const struct machine *machine,
                             const struct agreement_seen *seen, const char **why)
{
    const struct field_value *value = value_at(machine, &seen->place);
    *why = NULL;
    if (!seen->found.size)
        *why = "the pattern finds an empty text";
    else if (!seen->is_number && utf8_check(seen->found) < seen->found.size)
        *why = "what the pattern finds is not UTF-8";
    if (*why)
        return NULL;
    if (!seen->is_number)
        return arena_copy(arena, seen->found.data, seen->found.size);
    if (value->state != VALUE_GIVEN)
        return own_spelling(arena, seen);
    const struct readings *readings = machine_readings(machine, seen->place.field, value);
    if (readings) {
        *why = arena_format(
            arena,
            "it comes from %u reading%s, which no number takes the place of by itself; set it with FIELD=VALUE where it shall",
            (unsigned)readings->count, readings->count == 1 ? "" : "s");
        return NULL;
    }
    const struct tree_node *node = tree_resolve(value->node);
    const char *text =
        node->kind == TREE_TEXT ? number_over(arena, seen, value, view_trim(node->text)) : NULL;
    if (!text)
        *why = "what stands there now is not laid out as a number";
    return text;
}

/* --- into the controller's file --- */

struct span carry_span(const struct agreement_seen *seen, size_t match)
{
    struct span span = seen->spans.items[match];
    if (seen->is_number)
        span.end = span.start + (uint32_t)seen->number_size;
    return span;
}

/* As `old` writes numbers: its plus sign, its typeset minus, its point at the end. */
static const char *in_manner(struct arena *arena, const char *number, struct view old)
{
    const char *sign = "";
    bool ends_in_point = old.size && old.data[old.size - 1] == '.';
    if (view_starts(old, "+") && *number != '-')
        sign = "+";
    if (view_starts(old, "\xE2\x88\x92") && *number == '-') {
        sign = "\xE2\x88\x92";
        number++;
    }
    number = padded(arena, number, decimals_of(old));
    return arena_format(arena, "%s%s%s", sign, number,
                        ends_in_point && !strchr(number, '.') ? "." : "");
}

static const char *number_for(struct arena *arena, const struct agreement_seen *seen,
                              const struct field_value *value, const char **why)
{
    struct dimension dimension = field_table[seen->place.field].dimension;
    double number = unit_from_si(seen->unit, dimension, value->si);
    for (int digits = 1; digits <= DIGITS_MOST; digits++) {
        const char *text = number_plain(arena, number, digits);
        if (!strchr(text, 'e') && says(dimension, text, seen->unit, value->si))
            return in_manner(arena, text, (struct view){seen->found.data, seen->number_size});
    }
    *why = arena_format(arena, "no decimal number of %s says %s exactly",
                        seen->unit == UNIT_BARE ? "this kind" : unit_text(seen->unit),
                        quantity_text(arena, value->si, dimension, value->unit));
    return NULL;
}

/* May a text stand in a line of any file, whatever its encoding? */
static bool is_plain(struct view text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < ' ' || text.data[i] > '~')
            return false;
    return text.size > 0;
}

const char *carry_to_controller(struct arena *arena, const struct machine *machine,
                                const struct agreement_seen *seen, const char **why)
{
    const struct field_value *value = value_at(machine, &seen->place);
    *why = NULL;
    if (value->state != VALUE_GIVEN) {
        *why = "the machine file does not give it";
        return NULL;
    }
    if (seen->is_number)
        return number_for(arena, seen, value, why);
    bool is_text = field_table[seen->place.field].kind == KIND_TEXT;
    struct view text =
        is_text ? value->text : view_of(field_value_text(arena, seen->place.field, value));
    if (is_plain(text))
        return arena_copy(arena, text.data, text.size);
    *why = "only letters, digits and signs of ASCII are put into a file of another's";
    return NULL;
}

/* --- writing --- */

static int compare_edits(const void *left, const void *right)
{
    const struct carry_edit *a = left, *b = right;
    if (a->span.start != b->span.start)
        return a->span.start < b->span.start ? -1 : 1;
    return a->span.end < b->span.end ? -1 : a->span.end > b->span.end;
}

static bool is_same(const struct carry_edit *a, const struct carry_edit *b)
{
    return compare_edits(a, b) == 0 && strcmp(a->text, b->text) == 0;
}

bool carry_write(struct arena *arena, struct view bytes, struct carry_edits *edits,
                 struct view *out, size_t clash[2])
{
    struct buffer text;
    size_t at = 0;
    if (edits->items.count)
        qsort(edits->items.items, edits->items.count, sizeof *edits->items.items,
              compare_edits);
    buffer_init(&text, arena);
    for (size_t i = 0; i < edits->items.count; i++) {
        const struct carry_edit *edit = &edits->items.items[i];
        const struct carry_edit *last = i ? edit - 1 : NULL;
        if (last && is_same(last, edit))
            continue;
        if (last && edit->span.start < last->span.end) {
            clash[0] = last->who;
            clash[1] = edit->who;
            return false;
        }
        buffer_add(&text, (struct view){bytes.data + at, edit->span.start - at});
        buffer_text(&text, edit->text);
        at = edit->span.end;
    }
    buffer_add(&text, view_skip(bytes, at));
    *out = buffer_view(&text);
    return true;
}

/* --- what rests on a number that the controller's own file has otherwise --- */

enum { RESTS_MAX = 20 }; /* numbers of one file that this is told of; each is one more check */

struct resting {
    struct arena *arena;   /* of the findings */
    struct arena *scratch; /* of what is asked in between */
    const struct check_options *options;
    machine_checker *check;
    const struct machine *machine;
    struct file_report now;
    bool is_asked; /* `now` is there */
};

/* The text that the controller's number would be in the machine file; NULL: none is. */
static const char *text_of(const struct resting *work, const struct agreement_seen *seen)
{
    const char *why;
    const struct field_value *value =
        machine_field(work->machine, seen->place.field, seen->place.record);
    if (machine_readings(work->machine, seen->place.field, value)) /* as if measured so */
        return quantity_text_with(work->scratch, seen->si, value->tolerance,
                                  field_table[seen->place.field].dimension, value->unit);
    return carry_to_machine(work->scratch, work->machine, seen, &why);
}

/* The machine with the controller's number; false: there is none such. */
static bool machine_with(const struct resting *work, const struct agreement_seen *seen,
                         struct tree *tree, struct machine *out)
{
    struct arena *scratch = work->scratch;
    const char *path =
        machine_path(scratch, work->machine, seen->place.field, seen->place.record, 0);
    const char *text = text_of(work, seen);
    const struct field_value *value =
        machine_field(work->machine, seen->place.field, seen->place.record);
    struct finding_sink unheard;
    if (!text || !value->node)
        return false;
    if (seen->place.part)
        path = arena_format(scratch, "%s[%d]", path, seen->place.part - 1);
    const struct tree_node node = {
        .kind = TREE_TEXT, .span = value->node->span, .text = view_of(text)};
    *tree = *work->machine->tree;
    tree->root = tree_copy(scratch, tree->root);
    if (!tree_put(scratch, tree->root, view_of(path), &node))
        return false;
    sink_init(&unheard, scratch, tree->source);
    machine_read(out, scratch, tree, &unheard);
    return true;
}

static bool fails(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED;
}

/* Is a margin with the controller's number more worth telling: first what fails then, then what
 * has the least, of the dimension of the number before others? */
static bool is_tighter(const struct move_of_margin *a, const struct move_of_margin *b,
                       struct dimension dimension)
{
    bool a_is = dimension_equal(a->after->dimension, dimension);
    bool b_is = dimension_equal(b->after->dimension, dimension);
    if (fails(a->after) != fails(b->after))
        return fails(a->after);
    if (a_is != b_is)
        return a_is;
    return dimension_equal(a->after->dimension, b->after->dimension) &&
           a->after->margin < b->after->margin;
}

static const char *margin_text(const struct resting *work, const struct finding *finding)
{
    return quantity_text(work->arena, finding->margin, finding->dimension,
                         machine_unit(work->machine, finding->dimension));
}

static void count(const struct resting *work, const struct moved *moved,
                  struct dimension dimension, struct finding_parting *out)
{
    const struct move_of_margin *tightest = NULL;
    for (int kind = 0; kind < MOVED_KINDS; kind++)
        for (size_t i = 0; i < moved->kinds[kind].count; i++) {
            const struct move_of_margin *move = &moved->kinds[kind].items[i];
            if (!move->before || !move->after || move->after->from_reader ||
                !move->before->has_margin || !move->after->has_margin)
                continue;
            out->margins++;
            out->failing += fails(move->after);
            if (!tightest || is_tighter(move, tightest, dimension))
                tightest = move;
        }
    if (!tightest)
        return;
    const char *subject = tightest->after->subject;
    out->rule = tightest->after->rule;
    out->subject = subject ? arena_copy(work->arena, subject, strlen(subject)) : NULL;
    out->margin_here = margin_text(work, tightest->before);
    out->margin_there = margin_text(work, tightest->after);
}

static void tell(struct resting *work, const struct agreement_seen *seen,
                 struct finding_parting *out)
{
    struct tree tree;
    struct machine other;
    struct file_report then;
    struct moved moved;
    if (!machine_with(work, seen, &tree, &other))
        return;
    if (!work->is_asked)
        work->check(work->scratch, work->options, work->machine, &work->now);
    work->is_asked = true;
    work->check(work->scratch, work->options, &other, &then);
    reports_compare(work->scratch, &work->now, &then, &moved);
    out->is_counted = true;
    count(work, &moved, field_table[seen->place.field].dimension, out);
}

void rests_tell(struct arena *arena, const struct check_options *options,
                machine_checker *check, const struct machine *machine,
                struct finding_sink *sink, const struct agreement_list *list)
{
    struct check_options plain = {
        .books = options->books, .book_count = options->book_count, .show = SHOW_ALL};
    struct resting work = {
        .arena = arena, .options = &plain, .check = check, .machine = machine};
    size_t told = 0;
    for (size_t i = 0; i < list->items.count && told < RESTS_MAX; i++) {
        const struct agreement_seen *seen = &list->items.items[i];
        if (seen->state != AGREEMENT_LOST || seen->finding >= sink->findings.count)
            continue;
        if (!told++)
            work.scratch = arena_new_within(arena);
        tell(&work, seen,
             (struct finding_parting *)sink->findings.items[seen->finding].parting);
    }
    if (work.scratch)
        arena_guest_end(arena, work.scratch);
}
