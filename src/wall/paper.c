/* Blocks: how high each is, and its markup. */
#include "wall/block.h"

#include "draw/letters.h"
#include "draw/svg.h"
#include "quantity/number.h"
#include "text/escape.h"

enum {
    LINE = LETTER_LINE,
    DENSE = 86,       /* per cent: letters of a dense page, of the usual ones */
    SPARE = 117,      /* per cent: how much wider letters may be than the table has them */
    TICK_BOX = 550,   /* before the text of its cell */
    CELL_SIDES = 240, /* what is left free beside the text of a cell */
    CELL_ENDS = 160,  /* above and below, with the line between rows */
    BEFORE_HEADING = 350,
    HEADING = 700,
    AFTER_TEXT = 150,
    AFTER_ITEM = 80,
    INDENT = 600,
    AFTER_TABLE = 250,
    AROUND_ENTRY = 300,
    TICK_LINE = 650,
    BESIDE_TICK = 900, /* the box, and what is left free around its text */
    BAR = 40           /* mm */
};

/* --- how high --- */

static int32_t count_lines(struct view text, int32_t width, bool bold)
{
    int32_t lines = 0;
    while (text.size) {
        struct view line = view_take(&text, '\n');
        do {
            letters_fit(line, width * 100 / SPARE, bold, &line);
            lines++;
        } while (line.size);
    }
    return lines ? lines : 1;
}

/* Of a text in lines as wide as `width`. */
static int32_t text_height(const struct paper *paper, const char *text, int32_t width,
                           bool bold)
{
    int32_t size = paper->dense ? DENSE : 100;
    return (LINE * size + 99) / 100 * count_lines(view_of(text), width * 100 / size, bold);
}

static int32_t cell_height(const struct paper *paper, const struct paper_cell *cell,
                           int32_t width, bool bold)
{
    int32_t box = cell->ticks && cell->text ? TICK_BOX : 0;
    return text_height(paper, cell->text ? cell->text : "", width - CELL_SIDES - box,
                       bold || cell->bold);
}

int32_t block_head_height(const struct paper *paper, const struct paper_table *table)
{
    int32_t most = 0;
    if (!table->columns[0].head)
        return AFTER_TABLE;
    for (uint32_t i = 0; i < table->count; i++) {
        const struct paper_cell cell = {.text = table->columns[i].head};
        int32_t height = cell_height(paper, &cell, table->columns[i].width, true);
        most = height > most ? height : most;
    }
    return most + CELL_ENDS + AFTER_TABLE;
}

/* --- markup --- */

void block_add_lines(struct buffer *out, const char *text)
{
    struct view rest = view_of(text);
    for (bool first = true; rest.size; first = false) {
        if (!first)
            buffer_text(out, "<br>");
        escape_xml(out, view_take(&rest, '\n'));
    }
}

static void add_bar(struct buffer *out, const double parts[2])
{
    struct arena *arena = out->arena;
    const char *solid = number_rounded(arena, parts[0] * BAR, 2);
    const char *hatched = number_rounded(arena, parts[1] * BAR, 2);
    buffer_format(out,
                  "<svg class=\"bar\" width=\"%dmm\" height=\"3mm\" viewBox=\"0 0 %d 3\" "
                  "aria-hidden=\"true\" fill=\"none\" stroke=\"currentColor\" "
                  "stroke-width=\"0.25\"><rect x=\"0.2\" y=\"0.3\" width=\"%s\" "
                  "height=\"2.4\" fill=\"currentColor\"/><rect x=\"%s\" y=\"0.3\" "
                  "width=\"%s\" height=\"2.4\"/>",
                  BAR + 1, BAR + 1, solid, number_rounded(arena, parts[0] * BAR + 0.2, 2),
                  hatched);
    for (double at = 1; at < parts[1] * BAR; at += 1.2)
        buffer_format(out, "<path d=\"M%s 2.7l0.8 -2.4\"/>",
                      number_rounded(arena, parts[0] * BAR + at - 0.6, 2));
    buffer_text(out, "</svg>");
}

static void add_cell(struct buffer *out, const struct paper_cell *cell, bool first)
{
    const char *name = first && cell->text ? "th" : "td";
    buffer_format(out, "<%s%s%s>", name, first && cell->text ? " scope=\"row\"" : "",
                  cell->bold ? " class=\"bold\"" : "");
    if (cell->ticks) {
        buffer_text(out, "<input type=\"checkbox\" aria-label=\"");
        escape_xml(out, view_of(cell->ticks));
        buffer_text(out, cell->text ? "\"> " : "\">");
    }
    if (cell->has_bar)
        add_bar(out, cell->bar);
    if (cell->text)
        block_add_lines(out, cell->text);
    buffer_format(out, "</%s>", name);
}

static void add_attribute(struct buffer *out, const char *name, const char *value)
{
    if (!value)
        return;
    buffer_format(out, " data-%s=\"", name);
    escape_xml(out, view_of(value));
    buffer_byte(out, '"');
}

/* --- blocks --- */

static void add(struct paper *paper, const struct paper_block *block)
{
    VECTOR_ADD(paper->arena, &paper->blocks, *block);
}

static const char *element(struct paper *paper, const char *opening, const char *text,
                           const char *closing)
{
    struct buffer out;
    buffer_init(&out, paper->arena);
    buffer_text(&out, opening);
    block_add_lines(&out, text);
    buffer_text(&out, closing);
    return buffer_string(&out);
}

void paper_heading(struct paper *paper, const char *text)
{
    add(paper, &(struct paper_block){BLOCK_HEADING, element(paper, "<h2>", text, "</h2>\n"),
                                     BEFORE_HEADING + HEADING, NULL});
}

void paper_text(struct paper *paper, const char *text, bool bold)
{
    add(paper,
        &(struct paper_block){
            BLOCK_TEXT, element(paper, bold ? "<p class=\"bold\">" : "<p>", text, "</p>\n"),
            text_height(paper, text, PAPER_WIDTH, bold) + AFTER_TEXT, NULL});
}

void paper_item(struct paper *paper, const char *text, bool numbered)
{
    int32_t height = text_height(paper, text, PAPER_WIDTH - INDENT, false);
    add(paper, &(struct paper_block){numbered ? BLOCK_NUMBERED : BLOCK_ITEM,
                                     element(paper, "<li>", text, "</li>\n"),
                                     height + AFTER_ITEM, NULL});
}

void paper_row(struct paper *paper, const struct paper_table *table,
               const struct paper_cell *cells, const struct paper_value *value)
{
    struct buffer out;
    int32_t height = 0;
    buffer_init(&out, paper->arena);
    buffer_text(&out, "<tr");
    if (value) {
        add_attribute(&out, value->kind, value->name);
        add_attribute(&out, "value", value->value);
    }
    buffer_byte(&out, '>');
    for (uint32_t i = 0; i < table->count; i++) {
        int32_t own = cell_height(paper, &cells[i], table->columns[i].width, i == 0);
        height = own > height ? own : height;
        add_cell(&out, &cells[i], i == 0);
    }
    buffer_text(&out, "</tr>\n");
    add(paper,
        &(struct paper_block){BLOCK_ROW, buffer_string(&out), height + CELL_ENDS, table});
}

void paper_entry(struct paper *paper, const char *text, const char *field)
{
    struct buffer out;
    buffer_init(&out, paper->arena);
    buffer_text(&out, "<h3");
    add_attribute(&out, "field", field);
    buffer_byte(&out, '>');
    block_add_lines(&out, text);
    buffer_text(&out, "</h3>\n");
    add(paper, &(struct paper_block){BLOCK_HEADING, buffer_string(&out),
                                     text_height(paper, text, PAPER_WIDTH, true) + AROUND_ENTRY,
                                     NULL});
}

/* --- to be filled in by hand --- */

/* What stands side by side from one line to the next. */
struct side_by_side {
    int32_t used, lines;
};

static void set_beside(struct side_by_side *row, int32_t width)
{
    if (!row->lines || row->used + width > PAPER_WIDTH)
        *row = (struct side_by_side){0, row->lines + 1};
    row->used += width;
}

static void open_fill_in(struct buffer *out, const char *kind, const char *what)
{
    buffer_format(out, "<ul class=\"%s\" aria-label=\"", kind);
    escape_xml(out, view_of(what));
    buffer_text(out, "\">");
}

static const char *millimetres(struct arena *arena, int32_t hundredths)
{
    return number_rounded(arena, hundredths / 100.0, 2);
}

void paper_boxes(struct paper *paper, const char *what, const struct paper_box *boxes,
                 size_t count, int32_t height)
{
    struct buffer out;
    struct side_by_side row = {0};
    buffer_init(&out, paper->arena);
    open_fill_in(&out, "boxes", what);
    for (size_t i = 0; i < count; i++) {
        int32_t width = boxes[i].width < PAPER_WIDTH ? boxes[i].width : PAPER_WIDTH;
        set_beside(&row, width);
        buffer_format(&out, "<li style=\"width:%smm;height:%smm\">",
                      millimetres(paper->arena, width), millimetres(paper->arena, height));
        escape_xml(&out, view_of(boxes[i].label));
        buffer_text(&out, "</li>");
    }
    buffer_text(&out, "</ul>\n");
    add(paper, &(struct paper_block){BLOCK_MARKUP, buffer_string(&out),
                                     row.lines * height + AFTER_TEXT, NULL});
}

void paper_ticks(struct paper *paper, const char *what, const char *const *texts, size_t count)
{
    struct buffer out;
    struct side_by_side row = {0};
    buffer_init(&out, paper->arena);
    open_fill_in(&out, "ticks", what);
    for (size_t i = 0; i < count; i++) {
        int32_t width = letters_width(view_of(texts[i]), false) / 100 * SPARE + BESIDE_TICK;
        width = width < PAPER_WIDTH ? width : PAPER_WIDTH;
        set_beside(&row, width);
        buffer_format(&out, "<li style=\"width:%smm\"><label><input type=\"checkbox\"> ",
                      millimetres(paper->arena, width));
        escape_xml(&out, view_of(texts[i]));
        buffer_text(&out, "</label></li>");
    }
    buffer_text(&out, "</ul>\n");
    add(paper, &(struct paper_block){BLOCK_MARKUP, buffer_string(&out),
                                     row.lines * TICK_LINE + AFTER_TEXT, NULL});
}

void paper_keep(struct paper *paper)
{
    add(paper, &(struct paper_block){BLOCK_KEEP, NULL, 0, NULL});
}

void paper_markup(struct paper *paper, const char *markup, int32_t height)
{
    add(paper, &(struct paper_block){BLOCK_MARKUP, markup, height, NULL});
}

void paper_screen(struct paper *paper)
{
    add(paper, &(struct paper_block){BLOCK_SCREEN, NULL, 0, NULL});
}

void paper_again(struct paper *paper)
{
    add(paper, &(struct paper_block){BLOCK_PAPER, NULL, 0, NULL});
}

void paper_break(struct paper *paper)
{
    add(paper, &(struct paper_block){BLOCK_BREAK, NULL, 0, NULL});
}
