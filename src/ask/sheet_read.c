/* A filled form.  Every line is accounted for: it is one for people, or it is understood, or it
 * is trouble. */
#include "ask/sheet.h"

#include <string.h>

#include "ask/walk.h"
#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

enum { SHOWN = 40, TYPED_MAX = 200, READINGS_MAX = 100 };

struct reader {
    struct arena *arena;
    const struct machine_file *file;
    struct sheet *form;
    VECTOR(struct sheet_row) rows; /* all of them */
    struct sheet_row *row;         /* whose lines stand here; NULL: those of the head */
    struct answer_context with;
    struct view by; /* of the head */
    struct view line;
    uint32_t number;
    bool is_form, has_machine, has_file, is_other, has_ended;
    double announced; /* rows, by its last line */
};

/* `at` lies in the line. */
static void trouble(struct reader *r, const char *at, const char *why)
{
    struct view before = {r->line.data, (size_t)(at - r->line.data)};
    uint32_t column = 1, point;
    for (size_t size; before.size; before = view_skip(before, size ? size : 1), column++)
        size = utf8_read(before, &point);
    if (r->form->trouble_count < SHEET_TROUBLES)
        r->form->troubles[r->form->trouble_count] =
            (struct sheet_trouble){r->number, column, why};
    r->form->trouble_count++;
}

/* What was typed over the blank: without its underscores and blanks at both ends. */
static struct view typed_in(struct view text)
{
    while (text.size && strchr("_ \t", text.data[0]))
        text = view_skip(text, 1);
    while (text.size && strchr("_ \t", text.data[text.size - 1]))
        text.size--;
    return text;
}

/* --- rows --- */

static void begin_row(struct reader *r, struct view text)
{
    static const char in[] = ", unit ";
    struct view path = view_trim(view_skip(text, 1)), unit = {0};
    for (size_t i = path.size; i >= sizeof in; i--)
        if (!unit.size && memcmp(path.data + i - sizeof in + 1, in, sizeof in - 1) == 0) {
            unit = view_skip(path, i);
            path.size = i - sizeof in + 1;
            break;
        }
    const char *name = arena_copy(r->arena, path.data, path.size);
    struct sheet_row row = {.line = r->number};
    r->row = NULL;
    const char *wrong = machine_file_find(r->arena, r->file, name, &row.place);
    if (!wrong) {
        struct field_place home =
            machine_home(&r->file->machine, row.place.field, row.place.record);
        bool is_part = row.place.part;
        row.place = home;
        const struct field *field = &field_table[home.field];
        const char *elsewhere = machine_file_elsewhere(r->arena, r->file, &home);
        if (is_part || !nature_is_measured(field->nature) || field->kind == KIND_DATE)
            wrong = arena_format(r->arena, "%s is not measured", name);
        else if (elsewhere)
            wrong = arena_format(r->arena, "%s stands in %s, which is not written here", name,
                                 elsewhere);
        else if (unit.size && unit_read(unit) == UNIT_UNKNOWN)
            wrong = arena_format(r->arena, "%s is no unit known here",
                                 escape_short(r->arena, unit, SHOWN));
    }
    for (size_t i = 0; !wrong && i < r->rows.count; i++)
        if (r->rows.items[i].place.field == row.place.field &&
            r->rows.items[i].place.record == row.place.record)
            wrong = arena_format(r->arena, "%s has a row in line %u already", name,
                                 (unsigned)r->rows.items[i].line);
    if (wrong) {
        trouble(r, path.size ? path.data : text.data, wrong);
        row.place.field = FIELD_COUNT; /* its lines are read and lead nowhere */
    } else {
        tally_begin(&row.tally, r->arena, row.place.field);
    }
    VECTOR_ADD(r->arena, &r->rows, row);
    r->row = &r->rows.items[r->rows.count - 1];
    /* Without a unit on its first line a row takes bare numbers as they are. */
    bool number = row.place.field != FIELD_COUNT && field_takes_readings(row.place.field);
    r->with = (struct answer_context){.arena = r->arena};
    if (number)
        r->with.unit = arena_copy(r->arena, unit.data ? unit.data : "", unit.size);
}

static void take_reading(struct reader *r, struct view text)
{
    struct view typed = typed_in(text);
    if (!typed.size || r->row->place.field == FIELD_COUNT)
        return;
    const char *wrong = typed.size > TYPED_MAX ? "this is too long for a number"
                        : r->row->tally.readings.count == READINGS_MAX
                            ? "these are more readings than a row has room for"
                        : memchr(typed.data, ',', typed.size)
                            ? "one reading goes into a box, with a point in it, not a comma"
                            : tally_put(&r->row->tally, &r->with, typed);
    if (wrong)
        trouble(r, typed.data, wrong);
}

static void read_boxes(struct reader *r, struct view text)
{
    while (text.size) {
        const char *end = memchr(text.data, ']', text.size);
        if (text.data[0] != '[') {
            trouble(r, text.data, "this stands outside the boxes");
            return;
        }
        const char *again = memchr(text.data + 1, '[', text.size - 1);
        if (!end || (again && again < end)) {
            trouble(r, text.data, "this box is not closed");
            return;
        }
        take_reading(r, (struct view){text.data + 1, (size_t)(end - text.data) - 1});
        text = view_trim(view_skip(text, (size_t)(end - text.data) + 1));
    }
}

/* What is no number: one wide box, in which brackets may stand. */
static void read_wide(struct reader *r, struct view text)
{
    struct understood understood;
    if (text.size < 2 || text.data[text.size - 1] != ']') {
        trouble(r, text.data, "this box is not closed, or something stands behind it");
        return;
    }
    struct view typed = typed_in((struct view){text.data + 1, text.size - 2});
    if (!typed.size)
        return;
    if (r->row->text.size) {
        trouble(r, typed.data, "this is found out once, and stands above already");
        return;
    }
    if (typed.size > TYPED_MAX) {
        trouble(r, typed.data, "this is too long");
        return;
    }
    understand(&r->with, r->row->place.field, typed, &understood);
    if (understood.wrong)
        trouble(r, typed.data, understood.wrong);
    else
        r->row->text = understood.text;
}

static void read_box_line(struct reader *r, struct view text)
{
    if (!r->row)
        trouble(r, text.data, "a box stands here, and no row of the form above it");
    else if (r->row->place.field == FIELD_COUNT || field_takes_readings(r->row->place.field))
        read_boxes(r, text);
    else
        read_wide(r, text);
}

/* --- what stands behind a colon --- */

static const char *take_date(struct reader *r, struct view typed)
{
    struct field_value value;
    const char *wrong = field_read_text(r->arena, FIELD_TABLE_MEASURED_ON, typed, &value);
    if (wrong)
        return wrong;
    if (r->row)
        r->row->tally.on = typed;
    else
        r->form->date = typed;
    return NULL;
}

static const char *take_error(struct reader *r, struct view typed)
{
    const char *wrong;
    struct view text;
    if (r->row->place.field == FIELD_COUNT)
        return NULL;
    if (r->row->tally.instrument_error.size)
        return "how far it may be off stands above already";
    if (!understand_readings(&r->with, r->row->place.field, typed, &text, 1, &wrong))
        return wrong;
    return tally_set_error(&r->row->tally, text);
}

static const char *take_end(struct reader *r, struct view typed)
{
    size_t used;
    r->has_ended = true;
    return number_read(typed, &r->announced, &used) == NUMBER_OK
               ? NULL
               : "how many rows there are should stand here";
}

static const char *take_machine(struct reader *r, struct view typed)
{
    r->has_machine = true;
    r->is_other = !view_is(typed, sheet_machine(r->arena, r->file));
    return r->is_other ? arena_format(r->arena, "this form is for another machine; %s is %s",
                                      r->file->path, sheet_machine(r->arena, r->file))
                       : NULL;
}

static const char *take_file(struct reader *r, struct view typed)
{
    size_t last = typed.size;
    while (last > 0 && typed.data[last - 1] != ' ')
        last--;
    r->has_file = true;
    r->form->is_older = !view_is(view_skip(typed, last), sheet_fingerprint(r->arena, r->file));
    return NULL;
}

static const char *take_form(struct reader *r, struct view typed)
{
    r->is_form = view_is(typed, "1");
    return r->is_form ? NULL : "this is a form of another kind";
}

static const char *take_by(struct reader *r, struct view typed)
{
    if (r->row)
        r->row->tally.by = typed;
    else
        r->by = typed;
    return NULL;
}

static const char *take_with(struct reader *r, struct view typed)
{
    r->row->tally.with = typed;
    return NULL;
}

static const struct {
    const char *key;
    bool in_head, in_row;
    const char *(*take)(struct reader *r, struct view typed);
} notes[] = {
    {"form", true, false, take_form},
    {"machine", true, false, take_machine},
    {"file", true, false, take_file},
    {"by", true, true, take_by},
    {"date", true, true, take_date},
    {WALK_WITH, false, true, take_with},
    {WALK_OFF_BY, false, true, take_error},
    {"end", true, true, take_end},
};

static void read_note(struct reader *r, struct view text)
{
    const char *colon = memchr(text.data, ':', text.size);
    size_t size = colon ? (size_t)(colon - text.data) : 0;
    for (size_t i = 0; colon && i < sizeof notes / sizeof *notes; i++) {
        if (strlen(notes[i].key) != size || memcmp(notes[i].key, text.data, size) != 0 ||
            !(r->row ? notes[i].in_row : notes[i].in_head))
            continue;
        struct view typed = typed_in(view_skip(text, size + 1));
        const char *wrong = typed.size > TYPED_MAX ? "this is too long"
                            : typed.size           ? notes[i].take(r, typed)
                                                   : NULL;
        if (wrong)
            trouble(r, typed.data, wrong);
        return;
    }
    trouble(r, text.data,
            "this is no line of the form: readings go into the boxes, remarks behind a |");
}

/* --- lines --- */

static void read_line(struct reader *r)
{
    struct view text = view_trim(r->line);
    size_t bad = utf8_check(r->line);
    if (bad < r->line.size) {
        trouble(r, r->line.data + bad, "this is not UTF-8");
        return;
    }
    for (size_t i = 0; i < r->line.size; i++)
        if (((unsigned char)r->line.data[i] < ' ' && r->line.data[i] != '\t') ||
            r->line.data[i] == 0x7f) {
            trouble(r, r->line.data + i, "a control character stands here");
            return;
        }
    if (!text.size || strchr("|#", text.data[0]))
        return;
    if (r->has_ended)
        trouble(r, text.data, "this stands behind the end of the form");
    else if (!r->is_form && !view_starts(text, "form:"))
        trouble(r, text.data, "this is no form; `proveout measure FILE --form` prints one");
    else if (text.data[0] == '=')
        begin_row(r, text);
    else if (text.data[0] == '[')
        read_box_line(r, text);
    else
        read_note(r, text);
}

/* --- what it comes to --- */

/* Does the file say so already, in one number or in words? */
static bool is_said(const struct reader *r, const struct sheet_row *row)
{
    const struct field_place *place = &row->place;
    const struct field_value *old =
        machine_field(&r->file->machine, place->field, place->record);
    struct field_value value;
    const char *text = field_value_text(r->arena, place->field, old);
    if (old->state != VALUE_GIVEN)
        return false;
    if (field_takes_readings(place->field))
        return row->tally.readings.count == 1 && row->tally.has_value &&
               !machine_readings(&r->file->machine, place->field, old) &&
               strcmp(field_value_text(r->arena, place->field, &row->tally.value), text) == 0;
    return !field_read_text(r->arena, place->field, row->text, &value) &&
           strcmp(field_value_text(r->arena, place->field, &value), text) == 0;
}

static void end_row(struct reader *r, struct sheet_row *row)
{
    struct tally *tally = &row->tally;
    r->number = row->line;
    r->line = (struct view){"", 0};
    if (row->place.field == FIELD_COUNT)
        return;
    const char *wrong = field_takes_readings(row->place.field) ? tally_weigh(tally) : NULL;
    if (wrong)
        trouble(r, r->line.data, wrong);
    else if (field_takes_readings(row->place.field) && tally->readings.count &&
             !tally->has_value)
        trouble(r, r->line.data, "one reading has no scatter; two or more are wanted");
    bool is_empty = !tally->readings.count && !row->text.size;
    if (is_empty && tally->with.size)
        trouble(r, r->line.data, "what it was measured with is here, and no reading");
    if (is_empty || is_said(r, row)) {
        r->form->empty++;
        return;
    }
    if (!tally->on.size)
        tally->on = r->form->date;
    if (!tally->by.size)
        tally->by = r->by;
    VECTOR_ADD(r->arena, &r->form->rows, *row);
}

static void end_form(struct reader *r)
{
    r->line = (struct view){"", 0};
    if (r->is_form && !r->has_ended)
        trouble(r, r->line.data, "the form breaks off here: its last line, end:, is not there");
    else if (r->is_form && r->announced != (double)r->rows.count)
        trouble(r, r->line.data,
                arena_format(r->arena, "%zu rows stand above, and the form had another number",
                             r->rows.count));
    if (r->is_form && r->has_ended && (!r->has_machine || !r->has_file))
        trouble(r, r->line.data, "which machine it is for does not stand on it");
    if (!r->number)
        trouble(r, r->line.data, "nothing stands here");
    for (size_t i = 0; i < r->rows.count; i++)
        end_row(r, &r->rows.items[i]);
}

bool sheet_read(struct arena *arena, const struct machine_file *file, struct view bytes,
                struct sheet *out)
{
    struct reader r = {.arena = arena, .file = file, .form = out};
    *out = (struct sheet){0};
    if (view_starts(bytes, "\xef\xbb\xbf"))
        bytes = view_skip(bytes, 3);
    while (bytes.size && (r.is_form || !out->trouble_count) && !r.is_other) {
        r.line = view_take(&bytes, '\n');
        r.number++;
        if (r.line.size && r.line.data[r.line.size - 1] == '\r')
            r.line.size--;
        read_line(&r);
    }
    if (!r.is_other)
        end_form(&r);
    return !out->trouble_count;
}
