#include "rules/agree.h"

#include <math.h>

#include "base/buffer.h"
#include "formula/pattern.h"
#include "quantity/quantity.h"
#include "text/escape.h"

/* A file of the controller's, read once for all agreements that name it. */
struct named_file {
    struct view name;
    const char *trouble; /* why there is none, or NULL */
    struct source *source;
    struct pattern_text text;
    struct named_file *next;
};

/* What all agreements of a machine share. */
struct agreements {
    const struct file_reader *reader;
    struct named_file *files;
    struct pattern_budget budget;
};

/* One agreement being looked at. */
struct agreement {
    struct arena *arena;
    const struct machine *machine;
    struct finding_sink *sink;
    struct agreements *all;
    uint32_t record;
    enum field_id field; /* the field that must agree */
    uint32_t field_record;
    int part;
    const struct field_value *value;
    struct named_file *file;
    struct span found;           /* the value in it */
    struct agreement_seen *seen; /* what came of it */
    bool lenient;                /* the field need not be given */
};

/* A number as somebody wrote it: where it lies and how finely it is given. */
struct written {
    double si;
    double half_digit; /* half a unit of the last digit, SI */
};

static struct span span_of(const struct agreement *agreement, enum field_id id)
{
    const struct field_value *value = machine_field(agreement->machine, id, agreement->record);
    if (value->node)
        return value->node->span;
    bool is_value;
    const struct tree_node *node =
        machine_nearest(agreement->machine, id, agreement->record, &is_value);
    if (!node)
        return (struct span){0, 0};
    return node->key_span.end ? node->key_span
           : node->first      ? node->first->key_span
                              : node->span;
}

static const char *path_of(const struct agreement *agreement, enum field_id id)
{
    return machine_path(agreement->arena, agreement->machine, id, agreement->record, 0);
}

#define COMPLAIN(agreement, name, id, ...)                                                     \
    sink_report((agreement)->sink, READER_##name, span_of((agreement), (id)),                  \
                path_of((agreement), (id)), __VA_ARGS__)

static struct view text_of(const struct agreement *agreement, enum field_id id)
{
    const struct field_value *value = machine_field(agreement->machine, id, agreement->record);
    return value->state == VALUE_GIVEN ? value->text : (struct view){0};
}

/* Where a value would stand that the file does not give; for who looks. */
static bool find_lacking(struct agreement *agreement, struct view path)
{
    struct field_place places[2];
    if (!agreement->lenient ||
        machine_resolve(agreement->arena, agreement->machine, path, places, 2) != 1)
        return false;
    agreement->field = places[0].field;
    agreement->field_record = places[0].record;
    agreement->part = places[0].part;
    agreement->value = NULL;
    return machine_field(agreement->machine, places[0].field, places[0].record)->state !=
           VALUE_WRONG;
}

/* Finds the field named, and which record's: one whose node in the tree is the one at the path.
 */
static bool find_field(struct agreement *agreement)
{
    struct view path = text_of(agreement, FIELD_AGREEMENT_FIELD);
    agreement->field = field_find(path);
    if (agreement->field == FIELD_COUNT) {
        const char *near = field_nearest(agreement->arena, path);
        COMPLAIN(agreement, UNKNOWN_NAME, FIELD_AGREEMENT_FIELD, "there is no field %s%s%s",
                 escape_short(agreement->arena, path, 40), near ? "; did you mean " : "",
                 near ? near : "");
        return false;
    }
    const struct field *field = &field_table[agreement->field];
    agreement->part = 0;
    if (field->kind == KIND_PAIR && path.size > 5) {
        struct view tail = view_skip(path, path.size - 4);
        agreement->part = view_is(tail, ".low")                              ? 1
                          : view_is(view_skip(path, path.size - 5), ".high") ? 2
                                                                             : 0;
        path.size -= agreement->part == 1 ? 4 : agreement->part == 2 ? 5 : 0;
    }
    const struct machine_group *group = &agreement->machine->groups[field->group];
    const char *own = machine_typed_path(agreement->arena, agreement->machine, path);
    const struct tree_node *node = tree_at(agreement->machine->tree, view_of(own));
    for (uint32_t i = 0; i < group->count; i++) {
        const struct field_value *value =
            machine_field(agreement->machine, agreement->field, i);
        if (!value->node || !node || tree_resolve(value->node) != tree_resolve(node))
            continue;
        agreement->field_record = i;
        agreement->value = agreement->part && value->state == VALUE_GIVEN
                               ? &value->pair[agreement->part - 1]
                               : value;
        return value->state == VALUE_GIVEN; /* a wrong one has its finding already */
    }
    if (find_lacking(agreement, text_of(agreement, FIELD_AGREEMENT_FIELD)))
        return true;
    COMPLAIN(agreement, UNKNOWN_NAME, FIELD_AGREEMENT_FIELD,
             "this file gives no %s to compare with", escape_short(agreement->arena, path, 50));
    return false;
}

static bool is_number(const struct agreement *agreement)
{
    switch (field_table[agreement->field].kind) {
    case KIND_COUNT:
    case KIND_QUANTITY:
    case KIND_POSITION:
        return true;
    case KIND_PAIR:
        return agreement->part != 0;
    default:
        return false;
    }
}

double agreement_last_digit(struct view number)
{
    double digit = 1;
    bool decimals = false;
    for (size_t i = 0; i < number.size; i++) {
        char c = number.data[i];
        if (c == '/' || c == 'e' || c == 'E')
            return 0;
        if (c == '.')
            decimals = true;
        else if (decimals)
            digit /= 10;
    }
    return digit;
}

/* Reads the text that the pattern found as a value of the field's dimension. */
static bool read_number(struct agreement *agreement, struct view text, struct written *out)
{
    struct dimension wanted = field_table[agreement->field].dimension;
    struct view unit_text = text_of(agreement, FIELD_AGREEMENT_UNIT);
    text = view_trim(text);
    double number;
    size_t used;
    if (number_read(text, &number, &used) != NUMBER_OK) {
        COMPLAIN(agreement, AGREEMENT_UNMATCHED, FIELD_AGREEMENT_PATTERN,
                 "the pattern finds \"%s\", which is no number",
                 escape_short(agreement->arena, text, 30));
        return false;
    }
    unit_id unit = UNIT_BARE;
    struct view rest = view_trim(view_skip(text, used));
    if (rest.size)
        unit = unit_read(rest);
    else if (unit_text.size)
        unit = unit_read(unit_text);
    if (unit == UNIT_UNKNOWN || !unit_fits(unit, wanted)) {
        if (unit == UNIT_BARE)
            COMPLAIN(agreement, UNIT_MISSING, FIELD_AGREEMENT_UNIT,
                     "the number that the pattern finds has no unit; say which with `unit`");
        else
            COMPLAIN(agreement, UNIT_UNKNOWN, FIELD_AGREEMENT_UNIT,
                     "%s is no unit of what is compared",
                     escape_short(agreement->arena, rest.size ? rest : unit_text, 20));
        return false;
    }
    out->si = unit_to_si(unit, wanted, number);
    if (!isfinite(out->si)) {
        COMPLAIN(agreement, AGREEMENT_UNMATCHED, FIELD_AGREEMENT_PATTERN,
                 "the pattern finds \"%s\", which is too large to be a number here",
                 escape_short(agreement->arena, text, 30));
        return false;
    }
    agreement->seen->is_number = true;
    agreement->seen->number_size = used;
    agreement->seen->unit = unit;
    agreement->seen->si = out->si;
    text.size = used;
    out->half_digit = fabs(unit_to_si(unit, wanted, agreement_last_digit(text) / 2));
    return true;
}

static bool read_within(struct agreement *agreement, double *within)
{
    struct view text = text_of(agreement, FIELD_AGREEMENT_WITHIN);
    *within = 0;
    if (!text.size)
        return true;
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (quantity_read(text, field_table[agreement->field].dimension, &quantity, &trouble) ==
        QUANTITY_OK) {
        *within = fabs(quantity.si);
        return true;
    }
    COMPLAIN(agreement, NOT_A_NUMBER, FIELD_AGREEMENT_WITHIN,
             "%s is no distance that the two may differ by",
             escape_short(agreement->arena, text, 30));
    return false;
}

static void report_lost(struct agreement *agreement, struct view found)
{
    const char *path = machine_path(agreement->arena, agreement->machine, agreement->field,
                                    agreement->field_record, agreement->part);
    const char *there = escape_short(agreement->arena, view_trim(found), 24);
    struct view unit = text_of(agreement, FIELD_AGREEMENT_UNIT);
    if (agreement->seen->number_size < agreement->seen->found.size)
        unit.size = 0; /* it stands beside the number */
    const char *ours =
        is_number(agreement)
            ? quantity_text(agreement->arena, agreement->value->si,
                            field_table[agreement->field].dimension, agreement->value->unit)
            : field_value_text(agreement->arena, agreement->field, agreement->value);
    struct finding *finding = sink_report(
        agreement->sink, READER_AGREEMENT_LOST, agreement->value->node->span, path,
        "%s is %s here, but %s says %s%s%s", path,
        escape_short(agreement->arena, view_of(ours), 24),
        escape_short(agreement->arena, text_of(agreement, FIELD_AGREEMENT_FILE), 30), there,
        unit.size ? " " : "", unit.size ? escape_short(agreement->arena, unit, 12) : "");
    finding_relate(agreement->sink, finding, agreement->found, NULL,
                   arena_format(agreement->arena, "the controller's own file says %s", there));
    if (!finding)
        return;
    struct finding_parting *parting = ARENA_NEW(agreement->arena, struct finding_parting);
    parting->here = ours;
    parting->there = arena_format(agreement->arena, "%.*s%s%.*s", VIEW(view_trim(found)),
                                  unit.size ? " " : "", VIEW(unit));
    agreement->seen->finding = agreement->sink->findings.count - 1;
    finding->parting = parting;
    finding->hurts = HURTS_MACHINE;
    ((struct finding_spot *)finding->related)[finding->related_count - 1].source =
        agreement->file->source;
}

static enum agreement_state compare(struct agreement *agreement, struct view found)
{
    struct written theirs = {0};
    double within = 0;
    if (is_number(agreement) &&
        (!read_number(agreement, found, &theirs) || !read_within(agreement, &within)))
        return AGREEMENT_UNTOLD;
    if (!agreement->value)
        return AGREEMENT_LACKING;
    bool same;
    if (is_number(agreement)) {
        double ours = agreement->value->si;
        double allowed = (within > 0 ? within : theirs.half_digit) + 1e-12 * fabs(ours);
        same = fabs(theirs.si - ours) <= allowed;
    } else {
        same = view_equal(
            view_trim(found),
            view_of(field_value_text(agreement->arena, agreement->field, agreement->value)));
    }
    if (!same)
        report_lost(agreement, found);
    return same ? AGREEMENT_HELD : AGREEMENT_LOST;
}

/* Notes where a match lies, without the blanks around it. */
static void note_match(struct agreement *agreement, struct view here)
{
    struct view trimmed = view_trim(here);
    const char *start = agreement->file->source->bytes.data;
    size_t at = trimmed.size ? (size_t)(trimmed.data - start) : (size_t)(here.data - start);
    const struct span span = {(uint32_t)at, (uint32_t)(at + trimmed.size)};
    VECTOR_ADD(agreement->arena, &agreement->seen->spans, span);
}

static bool report_costly(struct agreement *agreement)
{
    const struct pattern_budget *left = &agreement->all->budget;
    COMPLAIN(agreement, AGREEMENT_PATTERN_COSTLY, FIELD_AGREEMENT_PATTERN,
             left->steps ? "the pattern takes too much memory on this file and was stopped"
                         : "the pattern takes too many steps on this file and was stopped");
    return false;
}

/* All matches must say the same.  Gives the first value; false where there is none or they
 * differ. */
static bool find_value(struct agreement *agreement, struct pattern *pattern, struct view *found)
{
    struct pattern_text text = agreement->file->text;
    struct view bytes = agreement->file->source->bytes;
    size_t matches = 0, match[2], value[2];
    for (size_t from = 0; from <= bytes.size; from = pattern_after(text, match)) {
        enum pattern_result result =
            pattern_search(pattern, text, from, &agreement->all->budget, match, value);
        if (result == PATTERN_COSTLY)
            return report_costly(agreement);
        if (result == PATTERN_NO_MATCH)
            break;
        struct view here = {bytes.data + value[0], value[1] - value[0]};
        note_match(agreement, here);
        if (matches++ == 0) {
            *found = here;
            agreement->found = (struct span){(uint32_t)value[0], (uint32_t)value[1]};
        } else if (!view_equal(view_trim(here), view_trim(*found))) {
            struct finding *finding =
                COMPLAIN(agreement, AGREEMENT_AMBIGUOUS, FIELD_AGREEMENT_PATTERN,
                         "the pattern finds two values: %s and %s",
                         escape_short(agreement->arena, *found, 24),
                         escape_short(agreement->arena, here, 24));
            if (finding)
                finding->hurts = HURTS_MACHINE;
            return false;
        }
    }
    if (!matches)
        COMPLAIN(agreement, AGREEMENT_UNMATCHED, FIELD_AGREEMENT_PATTERN,
                 "the pattern finds nothing in %s",
                 escape_short(agreement->arena, text_of(agreement, FIELD_AGREEMENT_FILE), 40));
    return matches > 0;
}

static enum agreement_state search(struct agreement *agreement)
{
    const char *message;
    size_t offset;
    struct pattern *pattern =
        pattern_open(agreement->arena, text_of(agreement, FIELD_AGREEMENT_PATTERN),
                     &agreement->all->budget, &message, &offset);
    struct view found = {0};
    if (!pattern && !message)
        report_costly(agreement);
    else if (!pattern)
        COMPLAIN(agreement, WRONG_KIND, FIELD_AGREEMENT_PATTERN, "%s", message);
    else if (!pattern_has_value(pattern))
        COMPLAIN(agreement, WRONG_KIND, FIELD_AGREEMENT_PATTERN,
                 "the pattern needs one named group, (?<value>...), around the value");
    else if (find_value(agreement, pattern, &found)) {
        agreement->seen->found = view_trim(found);
        return compare(agreement, found);
    }
    return AGREEMENT_UNTOLD;
}

/* Reads a file that was not read before.  What is read counts as memory of the patterns. */
static struct named_file *open_file(struct agreement *agreement, struct view name)
{
    struct agreements *all = agreement->all;
    struct arena *arena = agreement->arena;
    struct named_file *file = ARENA_NEW(arena, struct named_file);
    *file = (struct named_file){.name = name, .next = all->files};
    all->files = file;
    struct view bytes;
    if (all->budget.memory < AGREEMENT_FILE_MAX) {
        file->trouble = "with the files before it that would be more than 64 MB";
    } else if (all->reader->read(all->reader->user, arena, name, &bytes, &file->trouble)) {
        file->trouble = NULL;
        file->source = ARENA_NEW(arena, struct source);
        source_init(file->source, arena, name, bytes);
        file->text = pattern_text(arena, bytes);
        all->budget.memory -= bytes.size < all->budget.memory ? bytes.size : all->budget.memory;
    }
    return file;
}

static bool find_file(struct agreement *agreement)
{
    struct view name = text_of(agreement, FIELD_AGREEMENT_FILE);
    struct named_file *file = agreement->all->files;
    while (file && !view_equal(file->name, name))
        file = file->next;
    agreement->file = file ? file : open_file(agreement, name);
    if (agreement->file->trouble)
        COMPLAIN(agreement, AGREEMENT_UNMATCHED, FIELD_AGREEMENT_FILE,
                 "%s cannot be compared with: %s", escape_short(agreement->arena, name, 40),
                 agreement->file->trouble);
    return !agreement->file->trouble;
}

/* Does it say all that is needed?  Where not, the reader has said so. */
static bool is_whole(const struct agreement *agreement)
{
    return text_of(agreement, FIELD_AGREEMENT_FILE).size &&
           text_of(agreement, FIELD_AGREEMENT_PATTERN).size &&
           text_of(agreement, FIELD_AGREEMENT_FIELD).size;
}

/* What is said of an agreement that cannot be told: the last that was reported of it. */
static const char *trouble_of(const struct agreement *agreement, size_t reported)
{
    const struct finding_sink *sink = agreement->sink;
    if (sink->findings.count > reported)
        return sink->findings.items[sink->findings.count - 1].message;
    if (!is_whole(agreement))
        return "it lacks its file, pattern or field, or one of these is wrong";
    return arena_format(
        agreement->arena, "what this file gives for %s is itself wrong",
        escape_short(agreement->arena, text_of(agreement, FIELD_AGREEMENT_FIELD), 50));
}

/* Looks at one agreement. */
static struct agreement_seen look(const struct agreement *start)
{
    struct agreement_seen seen = {.record = start->record};
    struct agreement agreement = *start;
    size_t reported = agreement.sink->findings.count;
    agreement.seen = &seen;
    if (is_whole(&agreement) && find_field(&agreement) && find_file(&agreement))
        seen.state = search(&agreement);
    if (seen.state == AGREEMENT_UNTOLD) {
        seen.trouble = trouble_of(&agreement, reported);
        return seen;
    }
    seen.source = agreement.file->source;
    seen.place = machine_stand_in(agreement.machine, agreement.field, agreement.field_record);
    seen.place.part = (uint8_t)agreement.part;
    return seen;
}

bool agreement_look(struct arena *arena, const struct machine *machine,
                    const struct file_reader *reader, uint32_t record,
                    struct agreement_told *out)
{
    struct finding_sink sink;
    sink_init(&sink, arena, machine->tree->source);
    struct agreements all = {.reader = reader, .budget = PATTERN_BUDGET};
    struct agreement_seen seen = {.record = record};
    struct agreement agreement = {.arena = arena,
                                  .machine = machine,
                                  .sink = &sink,
                                  .all = &all,
                                  .record = record,
                                  .seen = &seen};
    if (!is_whole(&agreement) || !find_field(&agreement))
        return false;
    if (find_file(&agreement))
        seen.state = search(&agreement);
    *out = (struct agreement_told){
        agreement.field, agreement.field_record,
        agreement.part,  agreement.file->source,
        agreement.found, sink.findings.count ? sink.findings.items[0].message : NULL};
    return true;
}

size_t agreements_check(struct arena *arena, const struct machine *machine,
                        struct finding_sink *sink, const struct file_reader *reader,
                        struct agreement_list *out)
{
    const struct machine_group *group = &machine->groups[GROUP_AGREEMENT];
    *out = (struct agreement_list){0};
    if (!reader)
        return group->count;
    struct agreements all = {.reader = reader, .budget = PATTERN_BUDGET};
    for (uint32_t i = 0; i < group->count && i < AGREEMENTS_MAX; i++) {
        struct agreement_seen seen = look(&(struct agreement){
            .arena = arena, .machine = machine, .sink = sink, .all = &all, .record = i});
        if (seen.state != AGREEMENT_UNTOLD)
            VECTOR_ADD(arena, &out->items, seen);
    }
    if (group->count > AGREEMENTS_MAX) {
        struct span span = group->nodes[AGREEMENTS_MAX]->span;
        sink_report(sink, READER_TOO_LONG, span, "agrees_with",
                    "more than %d agreements; the rest are not looked at", AGREEMENTS_MAX);
    }
    return 0;
}

void agreements_look(struct arena *arena, const struct machine *machine,
                     const struct file_reader *reader, struct agreement_list *out)
{
    const struct machine_group *group = &machine->groups[GROUP_AGREEMENT];
    struct agreements all = {.reader = reader, .budget = PATTERN_BUDGET};
    struct finding_sink unheard;
    sink_init(&unheard, arena, machine->tree->source);
    *out = (struct agreement_list){0};
    for (uint32_t i = 0; i < group->count; i++) {
        struct agreement_seen seen = {.record = i};
        if (i < AGREEMENTS_MAX)
            seen = look(&(struct agreement){.arena = arena,
                                            .machine = machine,
                                            .sink = &unheard,
                                            .all = &all,
                                            .record = i,
                                            .lenient = true});
        else
            seen.trouble = arena_format(arena, "only the first %d agreements are looked at",
                                        AGREEMENTS_MAX);
        VECTOR_ADD(arena, &out->items, seen);
    }
}
