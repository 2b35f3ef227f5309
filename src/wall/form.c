/* The blank form of a round of measuring, on paper. */
#include "wall/wall.h"

#include "ask/questions.h"
#include "ask/sheet.h"
#include "draw/letters.h"
#include "wall/internal.h"

/* Of boxes, hundredths of a millimetre.  Five readings, and what is noted beside them, fill a
 * line; under the label of a box are 8 mm left to write in. */
enum {
    BOX_HEIGHT = 1150,
    READING = 2500,
    WITH = 3000,
    WORD = 3600,
    NAME = 6000,
    TEXT = PAPER_WIDTH,
    BOXES = 40 /* of one row */
};

enum { LETTERS_MAX = 300 }; /* of what a file may make as long as it likes */

struct blank {
    const struct wall_form *asked;
    struct arena *arena;
    struct paper paper;
    struct walk *walk;
    struct answer_context with; /* in which unit numbers are asked for */
    bool told[FIELD_COUNT];     /* how it is measured */
    size_t rows;
};

/* --- boxes --- */

struct boxes {
    struct paper_box items[BOXES];
    size_t count;
};

static void add_box(struct boxes *boxes, const char *label, int32_t width)
{
    BUG_UNLESS(boxes->count < BOXES);
    boxes->items[boxes->count++] = (struct paper_box){label, width};
}

static void add_readings(struct blank *blank, struct boxes *boxes, size_t count)
{
    for (size_t i = 1; i <= count; i++)
        add_box(boxes, arena_format(blank->arena, "reading %zu", i), READING);
    add_box(boxes, "measured with", WITH);
    add_box(boxes, WALK_OFF_BY, READING);
}

/* Each word gets its place in the order. */
static void add_words(struct blank *blank, struct boxes *boxes, const struct field *field)
{
    for (size_t i = 0; i < field_choice_count(field); i++)
        add_box(boxes, understand_spoken(blank->arena, field_choice(field, i)), WORD);
}

static void add_several(struct boxes *boxes, const char *const *labels, int32_t width)
{
    for (size_t i = 0; labels[i]; i++)
        add_box(boxes, labels[i], width);
}

static void fill_boxes(struct blank *blank, const struct walk_row *row, struct boxes *boxes)
{
    static const char *const ends[] = {"lowest", "highest", NULL};
    static const char *const order[] = {"first", "then", "then", NULL};
    static const char *const sizes[] = {"one",     "another", "another", "another",
                                        "another", "another", "another", NULL};
    const struct field *field = &field_table[row->place.field];
    if (field_takes_readings(row->place.field)) {
        add_readings(blank, boxes, walk_boxes(row));
        return;
    }
    switch (field->kind) {
    case KIND_PAIR:
        add_several(boxes, ends, WORD);
        break;
    case KIND_ORDER:
        add_several(boxes, order, WORD);
        break;
    case KIND_LIST:
        add_several(boxes, sizes, READING);
        break;
    case KIND_WORDS:
        add_words(blank, boxes, field);
        break;
    case KIND_TEXT:
        add_box(boxes, "in words", TEXT);
        break;
    case KIND_INPUT:
    case KIND_TERMINAL:
        add_box(boxes, "as it is marked", NAME);
        break;
    case KIND_DATE:
        add_box(boxes, "day", NAME);
        break;
    default:
        add_box(boxes, "number", WORD);
        break;
    }
    if (field->kind == KIND_PAIR && nature_is_measured(field->nature))
        add_box(boxes, WALK_OFF_BY, WORD);
}

static void add_choices(struct blank *blank, const struct field *field, const char *path)
{
    static const char *const flags[] = {"yes", "no"};
    const char *words[BOXES];
    size_t count = 0;
    BUG_UNLESS(field_choice_count(field) <= BOXES);
    for (; count < field_choice_count(field); count++)
        words[count] = understand_spoken(blank->arena, field_choice(field, count));
    if (field->kind == KIND_FLAG)
        paper_ticks(&blank->paper, path, flags, 2);
    else
        paper_ticks(&blank->paper, path, words, count);
}

/* --- rows --- */

static const char *path_of(const struct blank *blank, const struct walk_row *row)
{
    struct arena *arena = blank->arena;
    if (row->path)
        return row->path;
    const char *path =
        machine_lasting_path(arena, &blank->asked->file->machine,
                             machine_file_path(arena, blank->asked->file, &row->place));
    return text_cut(arena, view_of(path), LETTERS_MAX);
}

static const char *unit_of(const struct blank *blank, const struct walk_row *row)
{
    const char *unit = blank->asked->file ? sheet_unit(blank->asked->file, &row->place) : "";
    return *unit ? unit : understand_unit(&blank->with, row->place.field);
}

static void add_title(struct blank *blank, const struct walk_row *row, const char *path)
{
    const char *unit = unit_of(blank, row);
    paper_entry(&blank->paper,
                arena_format(blank->arena, "%zu. %s%s%s", ++blank->rows, path,
                             *unit ? ", in " : "", unit),
                path);
}

/* What the file has, and why it is asked all the same. */
static void add_reason(struct blank *blank, const struct walk_row *row)
{
    struct arena *arena = blank->arena;
    const struct machine_file *file = blank->asked->file;
    if (!file)
        return;
    const char *has = walk_in_file(arena, file, &row->place);
    const char *why = wall_reason(arena, &file->machine, row->item);
    const char *text = arena_format(
        arena, "%s%sWhy it is asked: %s.%s",
        has ? text_cut(arena, view_of(has), LETTERS_MAX) : "", has ? " " : "", why,
        row->path ? ""
                  : " Its name cannot be typed into the text form: `measure` asks for it.");
    paper_keep(&blank->paper);
    paper_text(&blank->paper, text, false);
}

static void add_fill_in(struct blank *blank, const struct walk_row *row, const char *path)
{
    const struct field *field = &field_table[row->place.field];
    struct boxes boxes = {0};
    paper_keep(&blank->paper);
    if (field->kind == KIND_FLAG || field->kind == KIND_CHOICE) {
        add_choices(blank, field, path);
        return;
    }
    if (field->kind == KIND_WORDS) {
        paper_text(
            &blank->paper,
            "Number those that it has in their order; what comes twice gets two numbers.",
            false);
        paper_keep(&blank->paper);
    }
    fill_boxes(blank, row, &boxes);
    paper_boxes(&blank->paper, path, boxes.items, boxes.count, BOX_HEIGHT);
}

/* What it is, what to mind, and how it is measured; that once for all rows about one field. */
static void add_what(struct blank *blank, const struct walk_row *row, const char *path)
{
    static const char *const isolated[] = {WALK_ISOLATED};
    const struct field *field = &field_table[row->place.field];
    struct arena *arena = blank->arena;
    const char *what = row->only ? arena_format(arena, "Only %s: %s", row->only, field->meaning)
                                 : field->meaning;
    bool told = blank->told[row->place.field], care = field->care & CARE_COLLET;
    if (told && *field->measure)
        what = arena_format(arena, "%s%s " WALK_AS_ABOVE, what,
                            what[strlen(what) - 1] == '?' ? "" : ".");
    bool tells = !told && *field->measure;
    if (tells && !care)
        what = arena_format(arena, "%s\n%s", what, field->measure);
    paper_text(&blank->paper, what, false);
    if (care) {
        paper_keep(&blank->paper);
        paper_ticks(&blank->paper, path, isolated, 1);
    }
    if (tells && care) {
        paper_keep(&blank->paper);
        paper_text(&blank->paper, field->measure, false);
    }
    blank->told[row->place.field] = true;
}

static void add_row(struct blank *blank, const struct walk_row *row)
{
    const char *path = path_of(blank, row);
    add_title(blank, row, path);
    add_what(blank, row, path);
    add_reason(blank, row);
    add_fill_in(blank, row, path);
}

static void add_stop(struct blank *blank, const struct walk_stop *stop)
{
    const char *caution;
    if (!stop->rows.count)
        return;
    paper_heading(&blank->paper, stop->heading);
    for (size_t i = 0; (caution = walk_caution(blank->arena, stop->care, i)) != NULL; i++) {
        paper_text(&blank->paper, caution, true);
        paper_keep(&blank->paper);
    }
    for (size_t i = 0; i < stop->rows.count; i++)
        add_row(blank, &stop->rows.items[i]);
}

/* --- beginning and end --- */

static void add_who(struct blank *blank, const char *end)
{
    const struct paper_box boxes[] = {{"date", WORD}, {"by", NAME}, {end, TEXT - WORD - NAME}};
    paper_boxes(&blank->paper, "of the whole form", boxes, 3, BOX_HEIGHT);
}

/* Over every page; a name that is too long for it stands in the first paragraph. */
static const char *title_of(struct arena *arena, const struct wall_form *asked)
{
    enum { TITLE_LETTERS = 36 };
    if (!asked->file)
        return "Measuring form of a new machine";
    const char *name = wall_machine_name(arena, &asked->file->machine);
    return arena_format(arena, "Measuring form of %s",
                        text_cut(arena, view_of(name), TITLE_LETTERS));
}

static void add_round_head(struct blank *blank)
{
    const struct wall_form *asked = blank->asked;
    const char *name = wall_machine_name(blank->arena, &asked->file->machine);
    if (!strstr(blank->paper.title, name))
        paper_text(&blank->paper, text_cut(blank->arena, view_of(name), LETTERS_MAX), true);
    paper_text(&blank->paper, wall_state(blank->arena, asked->name, asked->today, asked->file),
               false);
    add_who(blank, "helped by");
    paper_text(&blank->paper, "One reading goes into a box, in the unit of its row. " WALK_KEPT,
               false);
    paper_text(&blank->paper,
               "Then type it in: `proveout measure FILE` asks for the readings one by one; or "
               "`proveout measure --form FILE` prints the same rows as a text, and with "
               "numbers typed into that, `proveout measure --filled FORM FILE` takes it.",
               false);
    if (!blank->walk->count)
        paper_text(&blank->paper, "Nothing is asked here: " WALK_NOTHING ".", true);
}

static void add_first_head(struct blank *blank)
{
    const char *name = arena_format(blank->arena, "%s: %s", field_table[FIELD_MACHINE_NAME].key,
                                    field_table[FIELD_MACHINE_NAME].meaning);
    const struct paper_box machine[] = {{name, TEXT}};
    static const char *const units[] = {"millimetres", "inches"};
    paper_boxes(&blank->paper, "the machine", machine, 1, BOX_HEIGHT);
    add_who(blank, "helped by");
    paper_text(
        &blank->paper,
        "For a machine that nobody has described yet: walk along it once, with a rule, a "
        "calliper and a pencil. What begins with \"Only where\" is left out where that "
        "is not so. What cannot be found out stays empty, and so does what is not set "
        "at the machine yet: a height, a feed or a wait can be proposed later.",
        false);
    paper_text(&blank->paper,
               "Positions are what the read-out shows after homing. One reading goes into a "
               "box, in the unit of its row; where you measure in inches, tick it here and "
               "cross the other units out.",
               false);
    paper_keep(&blank->paper);
    paper_ticks(&blank->paper, question_row(ASK_UNITS)->reason, units, 2);
    paper_text(&blank->paper,
               "Then type it in: `proveout commission FILE` asks for it and writes the file; "
               "what is had by few machines it asks once `more` is answered with its topic. "
               "Several readings of one thing are typed with commas between. What rules want "
               "besides, `proveout sheet --blank FILE` prints as the next form, and `proveout "
               "measure --form FILE` as a text to type numbers into.",
               false);
}

static void add_end(struct blank *blank)
{
    const struct wall_form *asked = blank->asked;
    const char *unseen = asked->file ? wall_unseen(blank->arena, asked->round) : NULL;
    paper_heading(&blank->paper, "End of the form");
    for (size_t i = 0; asked->file && i < asked->elsewhere->rows.count; i++)
        paper_item(&blank->paper,
                   text_cut(blank->arena,
                            view_of(walk_not_here(blank->arena, asked->file,
                                                  &asked->elsewhere->rows.items[i])),
                            LETTERS_MAX),
                   false);
    if (unseen)
        paper_text(&blank->paper, unseen, false);
    if (!asked->file)
        paper_text(&blank->paper,
                   "For more cutters, things on the table or at the spindle, and setters than "
                   "there is room for take down the same rows once more, each with its "
                   "number or name.",
                   false);
    paper_text(&blank->paper,
               arena_format(blank->arena,
                            "The form has %zu row%s, numbered; where one is missing, a page "
                            "is lost.",
                            blank->rows, blank->rows == 1 ? "" : "s"),
               false);
    paper_keep(&blank->paper);
    add_who(blank, "signature");
}

void wall_write_form(struct buffer *out, struct arena *arena, const struct wall_form *asked)
{
    struct blank *blank = ARENA_NEW(arena, struct blank);
    *blank =
        (struct blank){.asked = asked, .arena = arena, .walk = ARENA_NEW(arena, struct walk)};
    blank->with = (struct answer_context){
        .arena = arena, .inches = asked->file && machine_in_inches(&asked->file->machine)};
    const char *title = title_of(arena, asked);
    blank->paper = (struct paper){.arena = arena, .title = title};
    if (asked->file)
        walk_round(arena, asked->file, asked->round, blank->walk);
    else
        walk_first(arena, blank->walk);
    if (asked->file)
        add_round_head(blank);
    else
        add_first_head(blank);
    paper_text(&blank->paper, WALL_MANUALS, false);
    for (size_t i = 0; i < WALK_STOPS; i++)
        add_stop(blank, &blank->walk->stops[i]);
    add_end(blank);
    wall_open_page(out, title, "");
    paper_finish(&blank->paper, out);
    wall_close_page(out);
}
