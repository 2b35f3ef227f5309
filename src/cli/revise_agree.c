/* An agreement about a number that stands somewhere in the controller's own file.
 *
 * What is put into the machine file is a pattern that finds this number and no other in the
 * whole file as it is.  In which unit the number is given only people know: units in which it
 * would be the machine's are proposed, and none is taken by itself.
 */
#include "cli/revise_internal.h"

#include <stdlib.h>
#include <string.h>

#include "ask/spoken.h"
#include "cli/shared_list.h"
#include "quantity/quantity.h"
#include "rules/agree.h"
#include "text/escape.h"
#include "text/excerpt.h"

enum { SHOWN_CELLS = 60, UNITS_MAX = 8, UNITS_SHOWN = 6, EXCERPT_LEAST = 40 };

/* What is being made. */
struct agreeing {
    struct revision *revision;
    struct field_place field;
    const char *path;     /* of the field, as it stays */
    struct view file;     /* from the machine file's folder */
    size_t line, column;  /* from 1; column 0: not said */
    struct source source; /* of the controller's file */
    struct span number;
    const char *pattern;
    const char *unit; /* "": none */
};

/* --- where --- */

/* A whole number behind the last colon of `text`, which is cut off; 0: there is none. */
static size_t take_number(struct view *text)
{
    size_t at = text->size, number = 0;
    while (at && text->data[at - 1] >= '0' && text->data[at - 1] <= '9')
        at--;
    if (!at || at == text->size || text->data[at - 1] != ':' || text->size - at > 9)
        return 0;
    for (size_t i = at; i < text->size; i++)
        number = number * 10 + (size_t)(text->data[i] - '0');
    text->size = at - 1;
    return number;
}

/* The file from the folder of the machine file, whichever way it was named. */
static const char *find_file(struct agreeing *work, struct view named)
{
    struct arena *arena = work->revision->run->arena;
    const char *folder = input_folder_of(arena, work->revision->path);
    const char *below;
    const char *wrong =
        input_below(arena, folder, arena_copy(arena, named.data, named.size), &below);
    work->file = view_of(below);
    return wrong;
}

static const char *read_place(struct agreeing *work, const char *text)
{
    struct view named = view_of(text);
    size_t last = take_number(&named), before = last ? take_number(&named) : 0;
    work->line = before ? before : last;
    work->column = before ? last : 0;
    if (!work->line || !named.size)
        return "--at wants FILE:LINE or FILE:LINE:COLUMN";
    return find_file(work, named);
}

static const char *read_file(struct agreeing *work)
{
    struct arena *arena = work->revision->run->arena;
    struct beside beside = {work->revision->path};
    struct view bytes;
    const char *why;
    if (!beside_read(&beside, arena, work->file, &bytes, &why))
        return arena_format(arena, "%s cannot be read: %s",
                            escape_short(arena, work->file, SHOWN_CELLS), why);
    source_init(&work->source, arena, work->file, bytes);
    struct place end = source_place(&work->source, (uint32_t)bytes.size, COLUMN_CODE_POINTS);
    if (work->line <= end.line)
        return NULL;
    return arena_format(arena, "%s has %u lines and no line %zu",
                        escape_short(arena, work->file, SHOWN_CELLS), (unsigned)end.line,
                        work->line);
}

/* --- which number --- */

static size_t column_of(struct agreeing *work, struct span number)
{
    return source_place(&work->source, number.start, COLUMN_CODE_POINTS).column;
}

static size_t columns_of(struct agreeing *work, struct span number)
{
    return source_place(&work->source, number.end, COLUMN_CODE_POINTS).column -
           column_of(work, number);
}

/* The number that covers a column; false: none does. */
static bool find_column(struct agreeing *work, const struct span *numbers, size_t count,
                        size_t column)
{
    for (size_t i = 0; i < count; i++) {
        size_t start = column_of(work, numbers[i]);
        if (column >= start && column < start + columns_of(work, numbers[i])) {
            work->number = numbers[i];
            return true;
        }
    }
    return false;
}

static const char *list_of(struct agreeing *work, const struct span *numbers, size_t count)
{
    struct buffer out;
    buffer_init(&out, work->revision->run->arena);
    for (size_t i = 0; i < count; i++)
        buffer_format(&out, "%s%.*s in column %zu",
                      i == 0           ? ""
                      : i + 1 == count ? " and "
                                       : ", ",
                      VIEW(source_slice(&work->source, numbers[i])),
                      column_of(work, numbers[i]));
    return buffer_string(&out);
}

/* Of several numbers a person says which. */
static enum revise_end ask_number(struct agreeing *work, const struct span *numbers,
                                  size_t count)
{
    struct lines *lines = work->revision->lines;
    struct view text, rest;
    if (!lines_open(lines, NULL))
        return REVISE_STOPPED;
    lines_say(lines, 0, "On this line stand %s.", list_of(work, numbers, count));
    while (lines_ask(lines, "In which column does it begin?", &text)) {
        if (spoken_word(lines->run->arena, text, &rest) == SAID_STOP)
            return REVISE_STOPPED;
        const char *with_colon = arena_format(lines->run->arena, ":%.*s", VIEW(text));
        struct view number = view_of(with_colon);
        if (find_column(work, numbers, count, take_number(&number)))
            return REVISE_ASKED;
        lines_say(lines, 4, "None of these stands there; type a column, or stop.");
    }
    return REVISE_STOPPED;
}

static enum revise_end refuse(struct agreeing *work, const char *why)
{
    run_refuse(work->revision->run, "%s", why);
    return REVISE_REFUSED;
}

static enum revise_end find_number(struct agreeing *work)
{
    struct arena *arena = work->revision->run->arena;
    struct span numbers[LINE_NUMBERS_MAX] = {{0, 0}};
    const struct span line = source_line(&work->source, (uint32_t)work->line);
    size_t count = line_numbers(work->source.bytes, line, numbers, LINE_NUMBERS_MAX);
    size_t kept = count < LINE_NUMBERS_MAX ? count : LINE_NUMBERS_MAX;
    const char *name = escape_short(arena, work->file, SHOWN_CELLS);
    work->number = numbers[0];
    if (!count)
        return refuse(
            work, arena_format(arena, "no number stands in line %zu of %s", work->line, name));
    if (work->column)
        return find_column(work, numbers, kept, work->column)
                   ? REVISE_ASKED
                   : refuse(work,
                            arena_format(arena, "no number stands at column %zu; %s: %s",
                                         work->column, name, list_of(work, numbers, kept)));
    return count == 1 ? REVISE_ASKED : ask_number(work, numbers, kept);
}

/* --- in which unit --- */

static struct view number_text(struct agreeing *work)
{
    return source_slice(&work->source, work->number);
}

/* "mm or in" */
static const char *units_text(struct arena *arena, const unit_id *units, size_t count)
{
    struct buffer out;
    buffer_init(&out, arena);
    for (size_t i = 0; i < count; i++)
        buffer_format(&out, "%s%s",
                      i == 0           ? ""
                      : i + 1 == count ? " or "
                                       : ", ",
                      unit_text(units[i]));
    return buffer_string(&out);
}

/* What is known of the unit before it is asked for. */
static const char *hint(struct agreeing *work, struct dimension dimension)
{
    struct revision *revision = work->revision;
    struct arena *arena = revision->run->arena;
    const char *ours = machine_file_text(arena, revision->now, &work->field);
    unit_id units[UNITS_MAX];
    struct quantity quantity;
    struct quantity_trouble trouble;
    if (quantity_read(view_of(ours), dimension, &quantity, &trouble) != QUANTITY_OK)
        return arena_format(arena, "%s does not give %s yet", revision->path, work->path);
    size_t count = place_units(number_text(work), dimension, quantity.si, units, UNITS_MAX);
    return count ? arena_format(arena, "read in %s it would be the %s of %s",
                                units_text(arena, units, count), ours, revision->path)
                 : arena_format(arena, "in no unit is it the %s of %s", ours, revision->path);
}

static enum revise_end ask_unit(struct agreeing *work)
{
    struct lines *lines = work->revision->lines;
    struct arena *arena = work->revision->run->arena;
    const struct dimension dimension = field_table[work->field.field].dimension;
    unit_id choices[UNITS_MAX];
    size_t count = unit_choices(dimension, choices, UNITS_MAX);
    struct view text, rest;
    work->unit = "";
    if (field_table[work->field.field].kind == KIND_COUNT || dimension_is_none(dimension))
        return REVISE_ASKED;
    if (!lines_open(lines, NULL))
        return REVISE_STOPPED;
    const char *question =
        arena_format(arena, "In which unit does %s give %.*s? (%s; type it, such as %s)",
                     escape_short(arena, work->file, SHOWN_CELLS), VIEW(number_text(work)),
                     hint(work, dimension),
                     units_text(arena, choices, count < UNITS_SHOWN ? count : UNITS_SHOWN));
    while (lines_ask(lines, question, &text)) {
        unit_id unit = unit_read(text);
        if (unit != UNIT_UNKNOWN && unit != UNIT_BARE && unit_fits(unit, dimension)) {
            work->unit = arena_copy(arena, text.data, text.size);
            return REVISE_ASKED;
        }
        if (spoken_word(arena, text, &rest) == SAID_STOP)
            return REVISE_STOPPED;
        lines_say(lines, 4, "That is no unit of it; none is taken for granted.");
    }
    return REVISE_STOPPED;
}

/* --- writing it --- */

/* Another agreement with this file about this field; UINT32_MAX: none. */
static uint32_t find_other(const struct agreeing *work)
{
    const struct machine *machine = &work->revision->now->machine;
    struct arena *arena = work->revision->run->arena;
    for (uint32_t i = 0; i < machine->groups[GROUP_AGREEMENT].count; i++) {
        const struct field_value *field = machine_field(machine, FIELD_AGREEMENT_FIELD, i);
        const struct field_value *file = machine_field(machine, FIELD_AGREEMENT_FILE, i);
        struct field_place places[2];
        if (field->state == VALUE_GIVEN && file->state == VALUE_GIVEN &&
            view_equal(file->text, work->file) &&
            machine_resolve(arena, machine, field->text, places, 2) == 1 &&
            places[0].field == work->field.field && places[0].record == work->field.record &&
            places[0].part == work->field.part)
            return i;
    }
    return UINT32_MAX;
}

static const char *write_agreement(struct agreeing *work)
{
    struct revision *revision = work->revision;
    const struct {
        enum field_id id;
        struct view text;
    } parts[] = {{FIELD_AGREEMENT_FILE, work->file},
                 {FIELD_AGREEMENT_PATTERN, view_of(work->pattern)},
                 {FIELD_AGREEMENT_UNIT, view_of(work->unit)},
                 {FIELD_AGREEMENT_FIELD, view_of(work->path)}};
    uint32_t record = revision->now->machine.groups[GROUP_AGREEMENT].count;
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        const struct field_place place = {parts[i].id, record, 0};
        const char *wrong =
            parts[i].text.size ? revise_set(revision, &place, parts[i].text) : NULL;
        if (wrong)
            return wrong;
    }
    return NULL;
}

static void show(struct agreeing *work)
{
    struct revision *revision = work->revision;
    struct buffer out;
    size_t width = run_layout(revision->run).width;
    buffer_init(&out, revision->run->arena);
    excerpt_add(&out, &work->source, work->number,
                width < EXCERPT_LEAST ? EXCERPT_LEAST : width);
    lines_show(revision->lines, buffer_view(&out));
    lines_say(revision->lines, 0, "This pattern finds it, and nothing else in %s:",
              escape_short(revision->run->arena, work->file, SHOWN_CELLS));
    lines_say(revision->lines, 4, "%s", work->pattern);
}

static const char *make(struct agreeing *work)
{
    struct revision *revision = work->revision;
    struct run *run = revision->run;
    const char *list = run->options.values[OPTION_SHARED].text;
    const char *wrong = write_agreement(work);
    if (wrong || !list)
        return wrong;
    const char *slash =
        memchr(work->file.data, '/', work->file.size)
            ? strrchr(arena_copy(run->arena, work->file.data, work->file.size), '/')
            : NULL;
    const struct shared_agreement agreement = {.field = view_of(work->path),
                                               .file = slash ? view_of(slash + 1) : work->file,
                                               .pattern = view_of(work->pattern),
                                               .unit = view_of(work->unit)};
    return shared_list_extend(run, list, &agreement, &revision->companion);
}

static enum revise_end agree(struct agreeing *work)
{
    struct run *run = work->revision->run;
    const char *why = NULL;
    enum revise_end end = find_number(work);
    if (end != REVISE_ASKED)
        return end;
    const struct span line = source_line(&work->source, (uint32_t)work->line);
    work->pattern = place_pattern(run->arena, work->source.bytes, line, work->number, &why);
    if (!work->pattern)
        return refuse(work,
                      arena_format(run->arena, "no pattern is proposed for line %zu of %s: %s",
                                   work->line,
                                   escape_short(run->arena, work->file, SHOWN_CELLS), why));
    show(work);
    end = ask_unit(work);
    if (end != REVISE_ASKED)
        return end;
    why = make(work);
    return why ? refuse(work, why) : REVISE_ASKED;
}

static const char *find_field(struct agreeing *work, const char *name)
{
    struct revision *revision = work->revision;
    struct arena *arena = revision->run->arena;
    const char *wrong = machine_file_find(arena, revision->now, name, &work->field);
    if (wrong)
        return wrong;
    enum field_kind kind = field_table[work->field.field].kind;
    work->path = revise_path(revision, &work->field);
    if (kind == KIND_COUNT || kind == KIND_QUANTITY || kind == KIND_POSITION ||
        (kind == KIND_PAIR && work->field.part))
        return NULL;
    return arena_format(arena, "%s is no single number%s", work->path,
                        kind == KIND_PAIR ? "; name its .low or its .high" : "");
}

bool revise_ask_agreement(struct revision *revision, const char *const *words, size_t count,
                          size_t *used, enum revise_end *end)
{
    struct run *run = revision->run;
    const char *at = run->options.values[OPTION_AT].text;
    if (strcmp(words[0], "agree") != 0)
        return false;
    struct agreeing *work = ARENA_NEW(run->arena, struct agreeing);
    const char *wrong = NULL;
    work->revision = revision;
    *used = 2;
    if (count != 2 || run->options.arguments.count != 3)
        wrong = "agree wants one field after it, and nothing else";
    else if (!at)
        wrong =
            "agree wants --at FILE:LINE, the place where the controller's own file has the number";
    if (!wrong)
        wrong = find_field(work, words[1]);
    if (!wrong)
        wrong = read_place(work, path_typed(run->arena, at));
    if (!wrong)
        wrong = read_file(work);
    if (!wrong && find_other(work) != UINT32_MAX)
        wrong = arena_format(run->arena, "agrees_with[%u] is about %s and this file already",
                             (unsigned)find_other(work), work->path);
    *end = wrong ? refuse(work, wrong) : agree(work);
    return true;
}
