/* Writing SVG. */
#include "draw/svg.h"

#include "draw/letters.h"
#include "draw/sheet.h"
#include "quantity/number.h"
#include "quantity/quantity.h"
#include "text/escape.h"

enum { DECIMALS = 3, DIVISIONS = 5 };

struct writer {
    struct buffer *out;
    struct arena *arena;
    const struct sheet *sheet;
    const struct sheet_view *view; /* that is being written */
};

/* --- texts and numbers --- */

static void add_attribute(const struct writer *w, const char *name, const char *value)
{
    buffer_format(w->out, " %s=\"", name);
    escape_xml(w->out, view_of(value));
    buffer_byte(w->out, '"');
}

static void add_element(const struct writer *w, const char *name, const char *text)
{
    buffer_format(w->out, "<%s>", name);
    escape_xml(w->out, view_of(text));
    buffer_format(w->out, "</%s>\n", name);
}

static const char *mm(const struct writer *w, double value)
{
    return number_rounded(w->arena, value, DECIMALS);
}

static const char *place_mm(const struct writer *w, int32_t hundredths)
{
    return number_rounded(w->arena, hundredths / 100.0, 2);
}

static void add_point(const struct writer *w, const char *before, struct plane_point at)
{
    buffer_format(w->out, "%s%s %s", before, mm(w, at.x), mm(w, at.y));
}

/* One line of letters, its foot at `y`. */
static void add_letters(const struct writer *w, int32_t x, int32_t y, const char *text,
                        bool bold)
{
    if (!*text)
        return;
    buffer_format(w->out, "<text x=\"%s\" y=\"%s\" textLength=\"%s\"", place_mm(w, x),
                  place_mm(w, y), place_mm(w, letters_width(view_of(text), bold)));
    buffer_format(w->out,
                  " lengthAdjust=\"spacingAndGlyphs\" fill=\"currentColor\" stroke=\"none\"%s>",
                  bold ? " font-weight=\"bold\"" : "");
    escape_xml(w->out, view_of(text));
    buffer_text(w->out, "</text>\n");
}

/* --- shapes --- */

/* Widths and dashes, mm of paper: wide is twice narrow; what fails is wider than any, and
 * broken as nothing else is, so that it stands out without its colour. */
static const char *const line_styles[SCENE_LINES] = {
    [SCENE_LINE_NONE] = " stroke=\"none\"",
    [SCENE_LINE_WIDE] = " stroke-width=\"0.5\"",
    [SCENE_LINE_NARROW] = " stroke-width=\"0.25\"",
    [SCENE_LINE_BROKEN] = " stroke-width=\"0.25\" stroke-dasharray=\"2.5 1\"",
    [SCENE_LINE_CHAIN] = " stroke-width=\"0.25\" stroke-dasharray=\"6 0.8 0.6 0.8\"",
    [SCENE_LINE_LIMIT] = " stroke-width=\"0.25\" stroke-dasharray=\"6 0.8 0.6 0.8 0.6 0.8\"",
    [SCENE_LINE_FAILED] =
        " stroke=\"#D55E00\" stroke-width=\"0.8\" stroke-dasharray=\"2.5 0.8\"",
};

static enum scene_line line_of(const struct scene_item *item, const struct scene_shape *shape)
{
    /* The mark of a middle, where there is more of it. */
    bool mark = shape->line == SCENE_LINE_CHAIN && shape->count == 1 && item->shapes.count > 1;
    bool drawn = shape->line != SCENE_LINE_NONE && !mark;
    return item->failed && drawn ? SCENE_LINE_FAILED : shape->line;
}

static void add_style(const struct writer *w, enum scene_line line, bool filled)
{
    buffer_text(w->out, line_styles[line]);
    if (filled)
        buffer_text(w->out, " fill=\"#56B4E9\" fill-opacity=\"0.13\"");
    buffer_text(w->out, "/>\n");
}

/* A filled head with its tip at `tip`, pointing along `along`, of length 1. */
static void add_head(const struct writer *w, struct plane_point tip, struct plane_point along,
                     enum scene_line line)
{
    struct plane_point foot = {tip.x - SHEET_ARROW * along.x, tip.y - SHEET_ARROW * along.y};
    struct plane_point off = {-along.y * SHEET_ARROW_WIDE, along.x * SHEET_ARROW_WIDE};
    add_point(w, "<path d=\"M", tip);
    add_point(w, "L", (struct plane_point){foot.x + off.x, foot.y + off.y});
    add_point(w, "L", (struct plane_point){foot.x - off.x, foot.y - off.y});
    buffer_format(w->out, "Z\" stroke=\"none\" fill=\"%s\"/>\n",
                  line == SCENE_LINE_FAILED ? "#D55E00" : "currentColor");
}

static void add_line(const struct writer *w, struct plane_point from, struct plane_point to,
                     enum scene_line line)
{
    add_point(w, "<path d=\"M", from);
    add_point(w, "L", to);
    buffer_byte(w->out, '"');
    add_style(w, line, false);
}

/* The heads of a dimension: within it where there is room, else from outside. */
static void add_heads(const struct writer *w, const struct scene_shape *shape,
                      enum scene_line line)
{
    struct plane_point a = sheet_point(w->view, shape->points[0]);
    struct plane_point b = sheet_point(w->view, shape->points[1]);
    double length = plane_point_distance(a, b);
    if (length <= 0)
        return;
    struct plane_point along = {(b.x - a.x) / length, (b.y - a.y) / length};
    struct plane_point back = {-along.x, -along.y};
    bool outside = shape->ends == SCENE_END_ARROWS && length < 3 * SHEET_ARROW;
    struct plane_point tail = {along.x * SHEET_TAIL, along.y * SHEET_TAIL};
    if (outside) {
        add_line(w, (struct plane_point){a.x - tail.x, a.y - tail.y}, a, SCENE_LINE_NARROW);
        add_line(w, b, (struct plane_point){b.x + tail.x, b.y + tail.y}, SCENE_LINE_NARROW);
    }
    add_head(w, b, outside ? back : along, line);
    if (shape->ends == SCENE_END_ARROWS)
        add_head(w, a, outside ? along : back, line);
}

static void add_circle(const struct writer *w, const struct scene_shape *shape,
                       enum scene_line line)
{
    struct plane_point at = sheet_point(w->view, shape->points[0]);
    buffer_format(w->out, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\"", mm(w, at.x), mm(w, at.y),
                  mm(w, sheet_size(w->view, shape->radius)));
    add_style(w, line, shape->filled);
}

static void add_cross(const struct writer *w, const struct scene_shape *shape,
                      enum scene_line line)
{
    struct plane_point c = sheet_point(w->view, shape->points[0]);
    add_point(w, "<path d=\"M", (struct plane_point){c.x - SHEET_CROSS, c.y});
    add_point(w, "L", (struct plane_point){c.x + SHEET_CROSS, c.y});
    add_point(w, "M", (struct plane_point){c.x, c.y - SHEET_CROSS});
    add_point(w, "L", (struct plane_point){c.x, c.y + SHEET_CROSS});
    buffer_byte(w->out, '"');
    add_style(w, line, false);
}

/* An outline widened all around: its sides moved out, joined by arcs. */
static void add_widened(const struct writer *w, const struct scene_shape *shape,
                        enum scene_line line)
{
    const char *radius = mm(w, sheet_size(w->view, shape->radius));
    buffer_text(w->out, "<path d=\"");
    for (uint32_t i = 0; i <= shape->count; i++) {
        struct plane_point a = shape->points[i % shape->count];
        struct plane_point b = shape->points[(i + 1) % shape->count];
        double length = plane_point_distance(a, b);
        struct plane_point off = {0, 0};
        if (length > 0)
            off = (struct plane_point){(b.y - a.y) / length * shape->radius,
                                       (a.x - b.x) / length * shape->radius};
        struct plane_point from = {a.x + off.x, a.y + off.y}, to = {b.x + off.x, b.y + off.y};
        if (i == 0) {
            add_point(w, "M", sheet_point(w->view, from));
        } else {
            buffer_format(w->out, "A%s %s 0 0 0 ", radius, radius);
            add_point(w, "", sheet_point(w->view, from));
        }
        if (i < shape->count)
            add_point(w, "L", sheet_point(w->view, to));
    }
    buffer_text(w->out, "Z\"");
    add_style(w, line, shape->filled);
}

static void add_outline(const struct writer *w, const struct scene_shape *shape,
                        enum scene_line line)
{
    buffer_text(w->out, "<path d=\"");
    for (uint32_t i = 0; i < shape->count; i++)
        add_point(w, i ? "L" : "M", sheet_point(w->view, shape->points[i]));
    buffer_text(w->out, shape->closed ? "Z\"" : "\"");
    add_style(w, line, shape->filled);
}

static void add_hatch(void *user, struct plane_point from, struct plane_point to)
{
    const struct writer *w = user;
    add_point(w, "M", from);
    add_point(w, "L", to);
}

/* With the line itself once more, as it is traced. */
static void add_hatching(struct writer *w, const struct scene_shape *shape)
{
    buffer_text(w->out, "<path d=\"");
    sheet_trace(w->view, shape, add_hatch, w);
    buffer_byte(w->out, '"');
    add_style(w, SCENE_LINE_NARROW, false);
}

static void add_shape(struct writer *w, const struct scene_item *item,
                      const struct scene_shape *shape)
{
    enum scene_line line = line_of(item, shape);
    if (shape->count == 1 && shape->radius > 0)
        add_circle(w, shape, line);
    else if (shape->count == 1)
        add_cross(w, shape, line);
    else if (shape->radius > 0)
        add_widened(w, shape, line);
    else
        add_outline(w, shape, line);
    if (shape->hatched)
        add_hatching(w, shape);
    if (shape->ends != SCENE_END_PLAIN)
        add_heads(w, shape, line);
}

/* --- items --- */

static void add_box(const struct writer *w, const struct place_box *box, const char *style)
{
    buffer_format(w->out, "<rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"%s/>\n",
                  place_mm(w, box->left), place_mm(w, box->top),
                  place_mm(w, box->right - box->left), place_mm(w, box->bottom - box->top),
                  style);
}

static void add_label(const struct writer *w, const struct sheet_label *label)
{
    const struct place_label *place = &label->place;
    if (place->how == PLACE_NOWHERE)
        return;
    if (place->has_leader)
        buffer_format(w->out,
                      "<circle cx=\"%s\" cy=\"%s\" r=\"0.5\" stroke=\"none\" "
                      "fill=\"currentColor\"/>\n",
                      place_mm(w, place->leader.from.x), place_mm(w, place->leader.from.y));
    if (place->has_leader)
        add_line(
            w, (struct plane_point){place->leader.from.x / 100.0, place->leader.from.y / 100.0},
            (struct plane_point){place->leader.to.x / 100.0, place->leader.to.y / 100.0},
            SCENE_LINE_NARROW);
    bool framed = label->bold || place->how == PLACE_NUMBER;
    if (framed)
        add_box(w, &place->box,
                label->bold ? " stroke-width=\"0.5\"" : " rx=\"2\" stroke-width=\"0.25\"");
    int32_t pad = framed ? SHEET_FRAME_PAD : 0;
    int32_t x = place->box.left + pad, y = place->box.top + pad + LETTER_ABOVE;
    if (place->how == PLACE_NUMBER) {
        add_letters(w, x, y, arena_format(w->arena, "%u", label->number), label->bold);
        return;
    }
    for (uint32_t i = 0; i < label->line_count; i++)
        add_letters(w, x, y + (int32_t)i * LETTER_LINE, label->lines[i], label->bold);
}

static const struct sheet_label *label_of(const struct sheet_view *view,
                                          const struct scene_item *item)
{
    for (size_t i = 0; i < view->labels.count; i++)
        if (view->labels.items[i].item == item)
            return &view->labels.items[i];
    return NULL;
}

/* The gravest first, blanks between them. */
static const char *rules_of(const struct writer *w, const struct scene_item *item)
{
    const char *first = item->failed->rule;
    struct buffer text;
    buffer_init(&text, w->arena);
    buffer_text(&text, first);
    for (size_t i = 0; i < item->rules.names.count; i++)
        if (strcmp(item->rules.names.items[i], first) != 0)
            buffer_format(&text, " %s", item->rules.names.items[i]);
    return buffer_string(&text);
}

static void open_item(const struct writer *w, const struct scene_item *item)
{
    buffer_text(w->out, "<g");
    add_attribute(w, "data-field", item->fields[0]);
    if (item->line)
        buffer_format(w->out, " data-line=\"%u\"", item->line);
    if (item->in_file)
        add_attribute(w, "data-file", item->in_file);
    if (item->failed)
        add_attribute(w, "data-rule", rules_of(w, item));
    for (int i = 1; i < SCENE_FIELDS && item->fields[i]; i++)
        buffer_text(w->out, i == 1 ? " data-more=\"" : " "),
            escape_xml(w->out, view_of(item->fields[i]));
    if (item->fields[1])
        buffer_byte(w->out, '"');
    if (item->after_step)
        buffer_text(w->out, " data-step=\"yes\"");
    if (item->unknown)
        buffer_text(w->out, " data-unknown=\"yes\"");
    buffer_text(w->out, ">\n");
    add_element(w, "title", item->what);
    if (item->value || item->failed)
        add_element(w, "desc",
                    arena_format(w->arena, "%s%s%s", item->value ? item->value : "",
                                 item->value && item->failed ? "; " : "",
                                 item->failed ? item->failed_message : ""));
}

/* What is tinted lies lowest, above it what is tinted and has a label, then all else. */
static int depth_of(const struct scene_item *item)
{
    for (size_t i = 0; i < item->shapes.count; i++)
        if (item->shapes.items[i].filled)
            return item->labelled;
    return 2;
}

static void add_item(struct writer *w, const struct scene_item *item)
{
    const struct sheet_label *label = label_of(w->view, item);
    open_item(w, item);
    for (size_t k = 0; k < item->shapes.count; k++)
        add_shape(w, item, &item->shapes.items[k]);
    if (label)
        add_label(w, label);
    buffer_text(w->out, "</g>\n");
}

static void add_view(struct writer *w, const struct sheet_view *view)
{
    static const char *const kinds[] = {"plan", "side", "detail", "plate"};
    w->view = view;
    buffer_format(w->out, "<g data-view=\"%s\" data-scale=\"%s\" data-origin=\"%s %s\">\n",
                  kinds[view->view->kind],
                  number_exact(w->arena, view->scale.over / view->scale.under), mm(w, view->x),
                  mm(w, view->y));
    add_element(w, "title", view->view->title);
    for (int depth = 0; depth < 3; depth++) /* tints lie under all else */
        for (size_t i = 0; i < view->view->items.count; i++)
            if (depth_of(view->view->items.items[i]) == depth)
                add_item(w, view->view->items.items[i]);
    buffer_text(w->out, "</g>\n");
}

/* --- around the views --- */

static void add_bar(struct writer *w, const struct sheet_view *view, int32_t top,
                    const char *of)
{
    enum { LEFT = 100, HIGH = 150, MOST = 55 };
    const struct sheet *sheet = w->sheet;
    unit_id unit = sheet->scene->length;
    double metres = sheet_bar(&view->scale, unit, MOST), length = sheet_size(view, metres);
    int32_t end = LEFT + (int32_t)(length * 100) + 200;
    for (int i = 0; i < DIVISIONS; i++) {
        buffer_format(w->out, "<rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"1.5\"",
                      mm(w, LEFT / 100.0 + length * i / DIVISIONS), place_mm(w, top),
                      mm(w, length / DIVISIONS));
        buffer_format(w->out, " stroke-width=\"0.25\"%s/>\n",
                      i % 2 ? "" : " fill=\"currentColor\"");
    }
    add_letters(w, end, top + HIGH,
                arena_format(w->arena, "%s%s at %s, %s mm of paper",
                             quantity_text(w->arena, metres, DIMENSION_LENGTH, unit), of,
                             sheet_scale_text(w->arena, &view->scale),
                             number_rounded(w->arena, length, 1)),
                false);
}

/* X to the right, Y or Z up; the third one comes towards whoever looks, or goes away. */
static void add_axes(const struct writer *w, int32_t top)
{
    const struct scene_view *view = w->sheet->views[0].view;
    struct plane_point zero = {158, top / 100.0 + 9.5}, right = {168, zero.y},
                       up = {158, zero.y - 9};
    bool plan = view->kind == SCENE_PLAN;
    add_line(w, zero, right, SCENE_LINE_NARROW);
    add_head(w, right, (struct plane_point){1, 0}, SCENE_LINE_NARROW);
    add_line(w, zero, up, SCENE_LINE_NARROW);
    add_head(w, up, (struct plane_point){0, -1}, SCENE_LINE_NARROW);
    buffer_format(w->out, "<circle cx=\"%s\" cy=\"%s\" r=\"1.2\" stroke-width=\"0.25\"/>\n",
                  mm(w, zero.x), mm(w, zero.y));
    if (plan)
        buffer_format(w->out,
                      "<circle cx=\"%s\" cy=\"%s\" r=\"0.35\" stroke=\"none\" "
                      "fill=\"currentColor\"/>\n",
                      mm(w, zero.x), mm(w, zero.y));
    else
        buffer_format(w->out,
                      "<path d=\"M%s %sl1.7 1.7M%s %sl1.7 -1.7\" stroke-width=\"0.25\"/>\n",
                      mm(w, zero.x - 0.85), mm(w, zero.y - 0.85), mm(w, zero.x - 0.85),
                      mm(w, zero.y + 0.85));
    add_letters(w, 16900, top + 1070, view->letter[0], false);
    add_letters(w, 15950, top + 200, view->letter[1], false);
    add_letters(w, 15250, top + 1070, plan ? "Z" : "Y", false);
}

static void add_legend(const struct writer *w, int32_t top)
{
    static const struct {
        enum scene_line line;
        int32_t left;
        const char *text;
    } samples[] = {{SCENE_LINE_LIMIT, 100, "limit"},
                   {SCENE_LINE_CHAIN, 3900, "way, middle"},
                   {SCENE_LINE_BROKEN, 7400, "not known"},
                   {SCENE_LINE_FAILED, 10600, "a rule fails"}};
    bool plan = w->sheet->views[0].view->kind == SCENE_PLAN;
    for (size_t i = 0; i < sizeof samples / sizeof *samples; i++) {
        double left = samples[i].left / 100.0, y = top / 100.0 - 1;
        add_line(w, (struct plane_point){left, y}, (struct plane_point){left + 13, y},
                 samples[i].line);
        add_letters(w, samples[i].left + 1450, top, samples[i].text, false);
    }
    buffer_format(w->out, "<rect x=\"141\" y=\"%s\" width=\"10\" height=\"3\"",
                  place_mm(w, top - 250));
    add_style(w, SCENE_LINE_NARROW, true);
    add_letters(w, 15250, top, plan ? "swept by spindle" : "contact comes", false);
}

/* Over its frame, as wide as that is. */
static void add_view_title(const struct writer *w, const struct sheet_view *view)
{
    struct view rest = view_of(sheet_shown(w->arena, view->view->title));
    int32_t width = view->frame.right - view->frame.left - LETTER_SIZE;
    for (int i = SHEET_TITLE_LINES - 1; i >= 0 && rest.size; i--) {
        struct view line = letters_fit(rest, width, true, &rest);
        int32_t up = rest.size ? i : 0;
        add_letters(w, view->frame.left, view->frame.top - 150 - up * LETTER_LINE,
                    arena_copy(w->arena, line.data, line.size), true);
    }
}

static void add_around(struct writer *w)
{
    const struct sheet *sheet = w->sheet;
    int32_t top = sheet->bars_top;
    add_letters(w, 100, 400, sheet->title, true);
    add_letters(w, 100, 900, sheet->subtitle, false);
    add_bar(w, &sheet->views[0], top + 100, "");
    if (sheet->view_count > 1)
        add_bar(w, &sheet->views[1], top + 800, " in the details");
    for (uint32_t i = 1; i < sheet->view_count; i++)
        add_view_title(w, &sheet->views[i]);
    add_axes(w, top);
    add_legend(w, top + 1900);
    for (size_t i = 0; i < sheet->key.count; i++) {
        const struct sheet_row *row = &sheet->key.items[i];
        add_letters(w, row->goes_on ? 100 + LETTER_SIZE : 100,
                    sheet->key_top + (int32_t)(i + 1) * LETTER_LINE, row->text, row->bold);
    }
}

static void open_svg(struct buffer *out, int32_t height)
{
    const char *high = number_rounded(out->arena, height / 100.0, 2);
    buffer_format(out,
                  "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%dmm\" height=\"%smm\" "
                  "viewBox=\"0 0 %d %s\"",
                  SHEET_WIDTH / 100, high, SHEET_WIDTH / 100, high);
}

enum svg_place {
    PLACE_ALONE, /* a file of its own */
    PLACE_BELOW, /* with others in one file, whose millimetres it has */
    PLACE_PAGE   /* in a page that says in words what is drawn */
};

static void add_table(const struct writer *w, const char *kind)
{
    const struct sheet *sheet = w->sheet;
    const char *scales[SCENE_VIEWS] = {0};
    struct buffer table;
    buffer_format(w->out, "<desc id=\"proveout-%s-table\">", kind);
    for (uint32_t i = 0; i < sheet->view_count; i++)
        scales[i] = sheet_scale_text(w->arena, &sheet->views[i].scale);
    buffer_init(&table, w->arena);
    scene_table(&table, sheet->scene, scales);
    struct view rest = buffer_view(&table);
    while (rest.size) {
        struct view line = view_take(&rest, '\n');
        escape_xml(w->out, line);
        buffer_byte(w->out, '\n');
    }
    buffer_text(w->out, "</desc>\n");
}

/* `top`: how far below the others. */
static void open_drawing(const struct writer *w, enum svg_place place, int32_t top)
{
    const struct sheet *sheet = w->sheet;
    const char *kind = sheet->views[0].view->kind == SCENE_PLAN ? "plan" : "side";
    bool described = place != PLACE_PAGE;
    if (place == PLACE_BELOW)
        buffer_format(w->out, "<svg y=\"%s\" width=\"%s\" height=\"%s\"", place_mm(w, top),
                      place_mm(w, SHEET_WIDTH), place_mm(w, sheet->height));
    else
        open_svg(w->out, sheet->height);
    buffer_format(w->out, " role=\"img\" aria-labelledby=\"proveout-%s-title", kind);
    if (described)
        buffer_format(w->out, " proveout-%s-table", kind);
    buffer_format(w->out, "\" font-family=\"sans-serif\" font-size=\"%s\">\n",
                  place_mm(w, LETTER_SIZE));
    buffer_format(w->out, "<title id=\"proveout-%s-title\">", kind);
    escape_xml(w->out, view_of(sheet->title));
    buffer_text(w->out, "</title>\n");
    if (described)
        add_table(w, kind);
    buffer_text(w->out, "<g fill=\"none\" stroke=\"currentColor\" "
                        "stroke-linejoin=\"round\">\n");
}

static const struct sheet *make(struct arena *arena, const struct scene *scene)
{
    struct sheet *sheet = ARENA_NEW(arena, struct sheet);
    sheet_make(sheet, arena, scene);
    return sheet;
}

static void add_drawing(struct buffer *out, const struct sheet *sheet, enum svg_place place,
                        int32_t top)
{
    struct writer writer = {.out = out, .arena = sheet->arena, .sheet = sheet};
    open_drawing(&writer, place, top);
    for (uint32_t i = 0; i < sheet->view_count; i++)
        add_view(&writer, &sheet->views[i]);
    add_around(&writer);
    buffer_text(out, "</g>\n</svg>\n");
}

void svg_write(struct buffer *out, struct arena *arena, const struct drawing *drawing)
{
    struct scene *scene = ARENA_NEW(arena, struct scene);
    scene_make(scene, arena, drawing);
    add_drawing(out, make(arena, scene), PLACE_ALONE, 0);
}

void svg_write_scene(struct buffer *out, struct arena *arena, const struct scene *scene)
{
    add_drawing(out, make(arena, scene), PLACE_PAGE, 0);
}

void svg_write_both(struct buffer *out, struct arena *arena, const struct scene *above,
                    const struct scene *below)
{
    const struct sheet *first = make(arena, above), *second = make(arena, below);
    open_svg(out, first->height + second->height);
    buffer_text(out, ">\n<title>");
    escape_xml(out, view_of(sheet_shown(arena, above->name)));
    buffer_text(out, "</title>\n");
    add_drawing(out, first, PLACE_BELOW, 0);
    add_drawing(out, second, PLACE_BELOW, first->height);
    buffer_text(out, "</svg>\n");
}
