/* Laying out a sheet. */
#include "draw/sheet.h"

#include "base/buffer.h"
#include "draw/letters.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"

#include <math.h>

enum {
    EDGE = 100,          /* from the sheet's edge */
    HEAD = 1300,         /* height of title and subtitle */
    BETWEEN = 300,       /* views */
    BESIDE_VIEW = 2800,  /* room for labels beside what is drawn, left and right */
    BESIDE_LEAST = 1600, /* of it, where two views are to stand over each other */
    OVER_VIEW = 900,     /* above and below */
    PLAN_MOST = 15800,   /* height of a frame */
    SIDE_MOST = 8000,
    FRAME_LEAST = 7200,
    DETAIL_HEIGHT = 9060, /* with its title */
    BARS = 2300,          /* height of scale bars and legend */
    LABEL_WIDEST = 4600,
    LABEL_WIDE = 6000,
    LABEL_NARROW = 3000,
    COLUMN_WIDEST = 3400,
    COLUMN_OFF = 500, /* from what is drawn */

    NAME_SHOWN = 48,
    NAME_LEAST = 1000, /* of a name that is cut */
    KEY_TEXT = SHEET_WIDTH - 2 * EDGE,
};

const char *sheet_shown(struct arena *arena, const char *text)
{
    struct buffer shown;
    buffer_init(&shown, arena);
    escape_terminal(&shown, view_of(text));
    return buffer_string(&shown);
}

/* --- scales --- */

static double ratio(const struct sheet_scale *scale)
{
    return scale->over / scale->under;
}

/* The largest of 10:1, 5:1, 2:1, 1:1, 1:2, 1:5, 1:10 ... at which `metres` take no more than
 * `most` millimetres. */
static struct sheet_scale scale_for(double metres, double most)
{
    static const double enlarged[] = {10, 5, 2};
    static const double steps[] = {1, 2, 5};
    for (size_t i = 0; i < sizeof enlarged / sizeof *enlarged; i++)
        if (metres * 1000 * enlarged[i] <= most)
            return (struct sheet_scale){enlarged[i], 1};
    double decade = 1;
    for (int i = 0; i < 60; i++) {
        double under = decade * steps[i % 3];
        if (metres * 1000 <= most * under)
            return (struct sheet_scale){1, under};
        if (i % 3 == 2)
            decade *= 10;
    }
    return (struct sheet_scale){1, decade};
}

static struct sheet_scale smaller(struct sheet_scale a, struct sheet_scale b)
{
    return ratio(&a) < ratio(&b) ? a : b;
}

static struct sheet_scale scale_of(const struct plane_rectangle *extent, double wide,
                                   double high)
{
    return smaller(scale_for(extent->x_high - extent->x_low, wide),
                   scale_for(extent->y_high - extent->y_low, high));
}

const char *sheet_scale_text(struct arena *arena, const struct sheet_scale *scale)
{
    return arena_format(arena, "%s:%s", number_exact(arena, scale->over),
                        number_exact(arena, scale->under));
}

double sheet_bar(const struct sheet_scale *scale, unit_id unit, double most)
{
    double one = unit_to_si(unit, DIMENSION_LENGTH, 1) * 1000 * ratio(scale);
    double length = number_decade(most / one, 0);
    static const double steps[] = {5, 2, 1};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (length * steps[i] * one <= most)
            return unit_to_si(unit, DIMENSION_LENGTH, length * steps[i]);
    return unit_to_si(unit, DIMENSION_LENGTH, length / 10);
}

/* The middle of what is drawn into the middle of the frame. */
static void centre(struct sheet_view *view)
{
    const struct plane_rectangle *extent = &view->view->extent;
    double x = (extent->x_low + extent->x_high) / 2, y = (extent->y_low + extent->y_high) / 2;
    view->x = (view->frame.left + view->frame.right) / 200.0 - sheet_size(view, x);
    view->y = (view->frame.top + view->frame.bottom) / 200.0 + sheet_size(view, y);
}

/* --- labels --- */

static int32_t hundredths(double mm)
{
    return (int32_t)lround(fmin(fmax(mm, -10000), 10000) * 100);
}

static struct place_point to_place(struct plane_point mm)
{
    return (struct place_point){hundredths(mm.x), hundredths(mm.y)};
}

static void take_line(void *user, struct plane_point from, struct plane_point to)
{
    placer_line(user, to_place(from), to_place(to));
}

/* A text in lines of a bearable width, below those that are there; false where it would not
 * fit. */
static bool break_lines(struct sheet *sheet, struct sheet_label *label, const char *text)
{
    struct view rest = view_of(sheet_shown(sheet->arena, text));
    while (rest.size) {
        if (label->line_count == SCENE_LINES_OF_LABEL)
            return false;

        struct view line = letters_fit(rest, label->widest, label->bold, &rest);
        label->lines[label->line_count++] = arena_copy(sheet->arena, line.data, line.size);
    }
    return true;
}

/* What it is and its value, in one line where that is short; and how it fails. */
static bool fill_lines(struct sheet *sheet, struct sheet_label *label)
{
    const struct scene_item *item = label->item;
    bool valued = item->value && !(item->failed && item->told_by_failure);
    const char *both =
        valued ? arena_format(sheet->arena, "%s: %s", item->what, item->value) : item->what;
    int32_t width = letters_width(view_of(sheet_shown(sheet->arena, both)), label->bold);
    bool fits = width <= label->widest
                    ? break_lines(sheet, label, both)
                    : break_lines(sheet, label, item->what) &&
                          (!valued || break_lines(sheet, label, item->value));
    return fits && (!item->failed || break_lines(sheet, label, item->failed_text));
}

static int32_t widest(const struct sheet_label *label)
{
    int32_t width = 0;
    for (uint32_t i = 0; i < label->line_count; i++) {
        int32_t here = letters_width(view_of(label->lines[i]), label->bold);
        width = here > width ? here : width;
    }
    return width;
}

static struct place_box box_of(const struct sheet_view *view,
                               const struct plane_rectangle *room)
{
    struct place_point low =
        to_place(sheet_point(view, (struct plane_point){room->x_low, room->y_high}));
    struct place_point high =
        to_place(sheet_point(view, (struct plane_point){room->x_high, room->y_low}));
    return (struct place_box){low.x, low.y, high.x, high.y};
}

static void size_number(struct sheet *sheet, uint32_t number, struct sheet_label *label)
{
    const char *digits = arena_format(sheet->arena, "%u", number);
    label->place.number_width =
        letters_width(view_of(digits), label->bold) + 2 * SHEET_FRAME_PAD;
    label->place.number_height = LETTER_ABOVE + LETTER_BELOW + 2 * SHEET_FRAME_PAD;
}

/* From where the column of labels begins to the edge of the frame. */
static int32_t column_left(const struct sheet_view *view)
{
    const struct plane_rectangle *extent = &view->view->extent;
    const struct plane_point end = {extent->x_high, extent->y_high};
    return to_place(sheet_point(view, end)).x + COLUMN_OFF;
}

static int32_t column_width(const struct sheet_view *view)
{
    int32_t width = view->frame.right - column_left(view);
    return width < LABEL_WIDEST ? width : LABEL_WIDEST;
}

/* Beside a plan there is room at its sides, in a view from the front above and below it. */
static int32_t widest_in(const struct sheet_view *view)
{
    return view->view->kind == SCENE_SIDE ? LABEL_WIDE : LABEL_WIDEST;
}

/* Breaks its text into lines of at most `widest`. */
static void set_lines(struct sheet *sheet, int32_t most, struct sheet_label *label)
{
    struct place_label *place = &label->place;
    int32_t pad = label->bold ? 2 * SHEET_FRAME_PAD : 0;
    label->widest = most - pad;
    label->line_count = 0;
    bool fits = fill_lines(sheet, label);
    int32_t lines = (int32_t)label->line_count;
    place->width = fits ? widest(label) + pad : SHEET_WIDTH; /* too long: its number will do */
    place->height = (lines - 1) * LETTER_LINE + LETTER_ABOVE + LETTER_BELOW + pad;
}

static void prepare(struct sheet *sheet, const struct sheet_view *view,
                    struct sheet_label *label)
{
    const struct scene_item *item = label->item;
    struct place_label *place = &label->place;
    const struct plane_rectangle *room = &item->room;
    label->bold = item->failed;
    set_lines(sheet, item->in_column ? column_width(view) : widest_in(view), label);
    place->anchor = to_place(sheet_point(view, item->anchor));
    place->has_room = room->x_high > room->x_low && room->y_high > room->y_low;
    if (place->has_room)
        place->room = box_of(view, room);
}

/* All labels of a view, none of them placed; what fails first, then in the order of the scene.
 */
static void collect(struct sheet *sheet, struct sheet_view *view)
{
    const struct scene_view *scene = view->view;
    for (int failed = 1; failed >= 0; failed--)
        for (size_t i = 0; i < scene->items.count; i++) {
            const struct scene_item *item = scene->items.items[i];
            struct sheet_label label = {.item = item};
            if (!item->labelled || (item->failed != NULL) != failed)
                continue;
            prepare(sheet, view, &label);
            VECTOR_ADD(sheet->arena, &view->labels, label);
        }
}

static void place_in_column(struct sheet *sheet, struct sheet_view *view, struct placer *placer)
{
    struct place_label **labels =
        ARENA_ARRAY(sheet->arena, struct place_label *, view->labels.count + 1);
    size_t count = 0;
    for (size_t i = 0; i < view->labels.count; i++)
        if (view->labels.items[i].item->in_column)
            labels[count++] = &view->labels.items[i].place;
    place_column(placer, labels, count, column_left(view));
}

/* A row of the key. */
static void add_row(struct sheet *sheet, bool bold, const char *text)
{
    struct view rest = view_of(sheet_shown(sheet->arena, text));
    for (bool first = true; rest.size; first = false) {
        int32_t width = KEY_TEXT - (first ? 0 : LETTER_SIZE);
        struct view line = letters_fit(rest, width, bold, &rest);
        struct sheet_row row = {arena_copy(sheet->arena, line.data, line.size), bold, !first};
        VECTOR_ADD(sheet->arena, &sheet->key, row);
    }
}

static const char *item_text(struct sheet *sheet, const struct scene_item *item)
{
    return item->value ? arena_format(sheet->arena, "%s: %s", item->what, item->value)
                       : item->what;
}

/* Its number, where the page holds the row of the key that explains it. */
static void place_its_number(struct sheet *sheet, struct placer *placer, uint32_t *numbers,
                             struct sheet_label *label)
{
    size_t before = sheet->key.count;
    uint32_t number = *numbers + 1;
    add_row(sheet, false,
            arena_format(sheet->arena, "%u  %s", number, item_text(sheet, label->item)));
    if (sheet->key.count < sheet->key_room) {
        size_number(sheet, number, label);
        place_number(placer, &label->place);
    }
    if (label->place.how == PLACE_NUMBER)
        label->number = *numbers = number;
    else
        sheet->key.count = before;
}

/* As it is, else in narrower lines, else its number. */
static void place_one(struct sheet *sheet, struct placer *placer, uint32_t *numbers,
                      struct sheet_label *label)
{
    place_whole(placer, &label->place);
    if (label->place.how == PLACE_WHOLE)
        return;
    set_lines(sheet, LABEL_NARROW, label);
    place_whole(placer, &label->place);
    if (label->place.how == PLACE_WHOLE)
        return;
    place_its_number(sheet, placer, numbers, label);
}

static void place_labels(struct sheet *sheet, struct sheet_view *view, uint32_t *numbers)
{
    const struct scene_view *scene = view->view;
    struct placer *placer = ARENA_NEW(sheet->arena, struct placer);
    placer_init(placer, sheet->arena, &view->frame);
    for (size_t i = 0; i < scene->items.count; i++)
        for (size_t k = 0; k < scene->items.items[i]->shapes.count; k++)
            sheet_trace(view, &scene->items.items[i]->shapes.items[k], take_line, placer);
    collect(sheet, view);
    place_in_column(sheet, view, placer);
    for (size_t i = 0; i < view->labels.count; i++) {
        struct sheet_label *label = &view->labels.items[i];
        if (label->item->in_column && label->place.how == PLACE_WHOLE)
            continue;
        place_one(sheet, placer, numbers, label);
    }
}

/* --- the key --- */

/* ", line 12", or ", line 12 of frame.yaml". */
static const char *line_text(struct sheet *sheet, const struct finding_spot *at)
{
    if (!at->source)
        return "";
    const char *of = "";
    if (at->source != sheet->scene->machine->tree->source)
        of = arena_format(sheet->arena, " of %s",
                          text_cut(sheet->arena, at->source->name, NAME_SHOWN));
    return arena_format(sheet->arena, ", line %u%s",
                        source_place(at->source, at->span.start, COLUMN_BYTES).line, of);
}

static void add_failed(struct sheet *sheet, const struct scene_item *item)
{
    const struct finding *finding = item->failed;
    const char *more = item->failed_more
                           ? arena_format(sheet->arena, ", and %u more here", item->failed_more)
                           : "";
    add_row(sheet, true,
            arena_format(sheet->arena, "%s: %s [%s%s]%s", finding_level_name(finding->level),
                         item->failed_message, finding->rule, line_text(sheet, &finding->at),
                         more));
}

static bool same_text(const char *a, const char *b)
{
    return a == b || (a && b && strcmp(a, b) == 0);
}

/* A finding that several views show is told once. */
static bool told_before(const struct sheet *sheet, uint32_t view, size_t at)
{
    const struct finding *finding = sheet->views[view].view->items.items[at]->failed;
    for (uint32_t v = 0; v <= view; v++)
        for (size_t i = 0; i < sheet->views[v].view->items.count; i++) {
            if (v == view && i == at)
                return false;
            const struct finding *other = sheet->views[v].view->items.items[i]->failed;
            if (other && same_text(other->rule, finding->rule) &&
                same_text(other->at.field, finding->at.field) &&
                same_text(other->subject, finding->subject))
                return true;
        }
    return false;
}

static void add_label_rows(struct sheet *sheet, const struct sheet_view *view)
{
    for (size_t i = 0; i < view->labels.count; i++) {
        const struct sheet_label *label = &view->labels.items[i];
        if (label->place.how == PLACE_NOWHERE)
            add_row(sheet, false,
                    arena_format(sheet->arena, "without a label for want of room: %s",
                                 item_text(sheet, label->item)));
    }
}

static void add_unknown_rows(struct sheet *sheet, const struct scene_view *view)
{
    for (size_t i = 0; i < view->items.count; i++) {
        const struct scene_item *item = view->items.items[i];
        if (!item->labelled && (item->unknown || !item->shapes.count))
            add_row(sheet, false, item_text(sheet, item));
    }
}

/* What there are too many of. */
static void count_unlabelled(struct sheet *sheet, const struct scene_view *view)
{
    size_t unlabelled = 0;
    for (size_t i = 0; i < view->items.count; i++) {
        const struct scene_item *item = view->items.items[i];
        unlabelled += !item->labelled && !item->unknown && item->shapes.count;
    }
    if (view->items.count > SCENE_LABELS)
        add_row(sheet, false,
                arena_format(sheet->arena, "%s: %zu more things are drawn without a label",
                             view->title, unlabelled));
}

/* What fails comes first, before there are labels; their numbers follow as they are given. */
static void begin_key(struct sheet *sheet)
{
    int32_t paper = sheet->scene->paper ? sheet->scene->paper : SHEET_HEIGHT;
    sheet->key_room = (size_t)((paper - sheet->key_top) / LETTER_LINE) - 3;
    for (uint32_t v = 0; v < sheet->view_count; v++)
        for (size_t i = 0; i < sheet->views[v].view->items.count; i++)
            if (sheet->views[v].view->items.items[i]->failed && !told_before(sheet, v, i))
                add_failed(sheet, sheet->views[v].view->items.items[i]);
}

static void end_key(struct sheet *sheet)
{
    for (uint32_t v = 0; v < sheet->view_count; v++)
        count_unlabelled(sheet, sheet->views[v].view);
    for (size_t i = 0; i < sheet->scene->notes.count; i++)
        add_row(sheet, false, sheet->scene->notes.items[i]);
    for (uint32_t v = 0; v < sheet->view_count; v++)
        add_label_rows(sheet, &sheet->views[v]);
    for (uint32_t v = 0; v < sheet->view_count; v++)
        add_unknown_rows(sheet, sheet->views[v].view);
}

/* As much of it as the page holds. */
static void cut_key(struct sheet *sheet)
{
    size_t room = sheet->key_room;
    if (sheet->key.count > room) {
        size_t more = sheet->key.count - (room - 1);
        sheet->key.count = room - 1;
        add_row(
            sheet, false,
            arena_format(sheet->arena,
                         "and %zu more lines, for which there is no room here; all of it is in "
                         "the description of this drawing",
                         more));
    }
    add_row(sheet, false, SCENE_CAUTION " Print at 100 %, not fitted to the page.");
    sheet->height = sheet->key_top + (int32_t)sheet->key.count * LETTER_LINE + EDGE;
}

/* --- the whole --- */

static int32_t frame_height(const struct sheet_view *view, int32_t most)
{
    const struct plane_rectangle *extent = &view->view->extent;
    int32_t height =
        hundredths(sheet_size(view, extent->y_high - extent->y_low)) + 2 * OVER_VIEW;
    return height < FRAME_LEAST ? FRAME_LEAST : height > most ? most : height;
}

/* The plan lies over the view from the front, X over X, as far as what is drawn beside the
 * machine in that leaves it where it is. */
static void share_axis(struct sheet_view *view, const struct plane_rectangle *reach)
{
    const struct plane_rectangle *extent = &view->view->extent;
    double left = (view->frame.left + BESIDE_LEAST) / 100.0;
    double right = (view->frame.right - BESIDE_LEAST) / 100.0;
    double x = (view->frame.left + view->frame.right) / 200.0 -
               sheet_size(view, (reach->x_low + reach->x_high) / 2);
    x = fmin(x, right - sheet_size(view, extent->x_high));
    view->x = fmax(x, left - sheet_size(view, extent->x_low));
}

/* A scale no larger than the one that is asked for: another view has to be drawn alike. */
static struct sheet_scale limited(struct sheet_scale scale, double most)
{
    const struct sheet_scale asked = {most < 1 ? 1 : most, most < 1 ? round(1 / most) : 1};
    return most > 0 ? smaller(scale, asked) : scale;
}

static int32_t set_main(struct sheet *sheet, int32_t top)
{
    struct sheet_view *view = &sheet->views[0];
    const struct scene_view *scene = view->view;
    const double wide = (SHEET_WIDTH - 2 * EDGE - 2 * BESIDE_VIEW) / 100.0;
    int32_t most = scene->kind == SCENE_PLAN ? PLAN_MOST : SIDE_MOST;
    double high = (PLAN_MOST - 2 * OVER_VIEW) / 100.0;
    view->scale = scale_of(&sheet->scene->reach, wide, high);
    high = (most - 2 * OVER_VIEW) / 100.0;
    view->scale = smaller(view->scale, scale_of(&scene->extent, wide, high));
    view->scale = limited(view->scale, sheet->scene->scale);
    view->frame = (struct place_box){EDGE, top, SHEET_WIDTH - EDGE, top};
    view->frame.bottom = top + frame_height(view, most);
    centre(view);
    share_axis(view, &sheet->scene->reach);
    return view->frame.bottom;
}

/* The column of labels is on the right. */
static void move_left(struct sheet_view *view)
{
    double room = (COLUMN_WIDEST + COLUMN_OFF) / 100.0;
    double width = sheet_size(view, view->view->extent.x_high - view->view->extent.x_low);
    double spare = (view->frame.right - view->frame.left) / 100.0 - width;
    view->x += spare / 2 - fmin(room, spare);
}

static int32_t set_details(struct sheet *sheet, int32_t top)
{
    static const int32_t widths[][3] = {{17800, 0, 0}, {8850, 8850, 0}, {5900, 5850, 5850}};
    uint32_t count = sheet->view_count - 1;
    struct sheet_scale scale = {10, 1};
    int32_t left = EDGE;
    if (!count)
        return top - BETWEEN;
    for (uint32_t i = 0; i < count; i++) {
        const int32_t room = count == 1 ? widths[0][0] / 2 : widths[count - 1][i];
        double wide = (room - COLUMN_WIDEST - COLUMN_OFF) / 100.0;
        scale = smaller(scale, scale_of(&sheet->views[i + 1].view->extent, wide,
                                        (DETAIL_HEIGHT - LETTER_LINE - OVER_VIEW) / 100.0));
    }
    for (uint32_t i = 0; i < count; i++) {
        struct sheet_view *view = &sheet->views[i + 1];
        view->scale = scale;
        view->frame = (struct place_box){left, top + SHEET_TITLE_LINES * LETTER_LINE,
                                         left + widths[count - 1][i], top + DETAIL_HEIGHT};
        left = view->frame.right + 100;
        centre(view);
        move_left(view);
    }
    return top + DETAIL_HEIGHT;
}

/* The name of a file without its folders. */
static struct view last_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return view_of(slash && slash[1] ? slash + 1 : path);
}

/* A name and what is said of it, in one line: where it is too long, of the name as much as fits
 * behind which there are three dots. */
static const char *one_line(struct sheet *sheet, const char *name, const char *said, bool bold)
{
    static const char dots[] = "...";
    struct arena *arena = sheet->arena;
    const char *text = sheet_shown(arena, arena_format(arena, "%s%s", name, said));
    const char *end = sheet_shown(arena, arena_format(arena, "%s%s", dots, said));
    struct view rest, line;
    if (letters_width(view_of(text), bold) <= KEY_TEXT)
        return text;
    int32_t room = KEY_TEXT - letters_width(view_of(end), bold);
    if (room < NAME_LEAST) {
        end = dots;
        room = KEY_TEXT - letters_width(view_of(end), bold);
    } else {
        text = sheet_shown(arena, name);
    }
    line = letters_fit(view_of(text), room, bold, &rest);
    return arena_format(arena, "%.*s%s", VIEW(line), end);
}

static void write_head(struct sheet *sheet)
{
    const struct scene *scene = sheet->scene;
    struct arena *arena = sheet->arena;
    const char *title = arena_format(arena, ": %s, %s", scene->views[0].title,
                                     sheet_scale_text(arena, &sheet->views[0].scale));
    sheet->title = one_line(sheet, scene->name, title, true);
    sheet->subtitle = one_line(sheet, text_cut(arena, last_name(scene->path), NAME_SHOWN),
                               arena_format(arena, "; %s", scene->subject), false);
}

double sheet_main_scale(struct arena *arena, const struct scene *scene)
{
    struct sheet *sheet = ARENA_NEW(arena, struct sheet);
    *sheet = (struct sheet){.arena = arena, .scene = scene, .view_count = 1};
    sheet->views[0].view = &scene->views[0];
    set_main(sheet, HEAD);
    return ratio(&sheet->views[0].scale);
}

void sheet_make(struct sheet *out, struct arena *arena, const struct scene *scene)
{
    uint32_t numbers = 0;
    *out = (struct sheet){.arena = arena, .scene = scene, .view_count = scene->view_count};
    for (uint32_t i = 0; i < scene->view_count; i++)
        out->views[i].view = &scene->views[i];
    int32_t bottom = set_main(out, HEAD);
    bottom = set_details(out, bottom + BETWEEN);
    out->bars_top = bottom + BETWEEN;
    out->key_top = out->bars_top + BARS;
    write_head(out);
    begin_key(out);
    for (uint32_t i = 0; i < out->view_count; i++)
        if (out->views[i].view->drawn)
            place_labels(out, &out->views[i], &numbers);
    end_key(out);
    cut_key(out);
}
