#include "wall/paper.h"

#include "draw/letters.h"
#include "draw/svg.h"
#include "quantity/number.h"

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
    BODY = PAPER_HEIGHT - PAPER_HEAD,
    BAR = 40 /* mm */
};

enum block_kind {
    BLOCK_HEADING,
    BLOCK_TEXT,
    BLOCK_ITEM,
    BLOCK_NUMBERED,
    BLOCK_ROW,
    BLOCK_MARKUP,
    BLOCK_BREAK,
    BLOCK_SCREEN,
    BLOCK_PAPER,
    BLOCK_KEEP /* no block of its own: those beside it stay together */
};

struct paper_block {
    enum block_kind kind;
    const char *markup;
    int32_t height;
    const struct paper_table *table; /* of a row */
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

static int32_t head_height(const struct paper *paper, const struct paper_table *table)
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

static void add_lines(struct buffer *out, const char *text)
{
    struct view rest = view_of(text);
    for (bool first = true; rest.size; first = false) {
        if (!first)
            buffer_text(out, "<br>");
        svg_text(out, view_take(&rest, '\n'));
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
        svg_text(out, view_of(cell->ticks));
        buffer_text(out, cell->text ? "\"> " : "\">");
    }
    if (cell->has_bar)
        add_bar(out, cell->bar);
    if (cell->text)
        add_lines(out, cell->text);
    buffer_format(out, "</%s>", name);
}

static void add_attribute(struct buffer *out, const char *name, const char *value)
{
    if (!value)
        return;
    buffer_format(out, " data-%s=\"", name);
    svg_text(out, view_of(value));
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
    add_lines(&out, text);
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
    add_lines(&out, text);
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
    svg_text(out, view_of(what));
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
        svg_text(&out, view_of(boxes[i].label));
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
        svg_text(&out, view_of(texts[i]));
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

/* --- pages --- */

struct layout {
    const struct paper *paper;
    struct buffer *out; /* NULL while pages are only counted */
    uint32_t page, pages;
    int32_t used;
    bool on_screen;
    const struct paper_block *open; /* the list or table that is open */
    const struct paper_table *last; /* that had rows before, */
    uint32_t part;                  /* and in how many parts so far */
    uint32_t item;                  /* numbered ones so far, in one list */
};

static bool is_list(const struct paper_block *block)
{
    return block->kind == BLOCK_ITEM || block->kind == BLOCK_NUMBERED;
}

static bool goes_on(const struct layout *layout, const struct paper_block *block)
{
    return layout->open && layout->open->kind == block->kind &&
           layout->open->table == block->table;
}

static void put(struct layout *layout, const char *markup)
{
    if (layout->out)
        buffer_text(layout->out, markup);
}

static void close_list(struct layout *layout)
{
    if (!layout->open)
        return;
    put(layout, layout->open->table                    ? "</tbody></table></div>\n"
                : layout->open->kind == BLOCK_NUMBERED ? "</ol>\n"
                                                       : "</ul>\n");
    layout->open = NULL;
}

static void add_heads(struct buffer *out, const struct paper_table *table, bool again)
{
    buffer_format(out, "<thead%s><tr>", again ? " class=\"again\"" : "");
    for (uint32_t i = 0; i < table->count; i++) {
        buffer_text(out, "<th scope=\"col\">");
        add_lines(out, table->columns[i].head);
        buffer_text(out, "</th>");
    }
    buffer_text(out, "</tr></thead>");
}

static void put_head(struct layout *layout, const struct paper_table *table)
{
    struct buffer *out = layout->out;
    bool again = layout->last == table;
    if (!out)
        return;
    buffer_text(out, "<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"");
    svg_text(out, view_of(table->caption));
    layout->part = again ? layout->part + 1 : 1;
    if (again)
        buffer_format(out, ", part %u", layout->part);
    buffer_text(out, "\"><table><colgroup>");
    for (uint32_t i = 0; i < table->count; i++)
        buffer_format(
            out, "<col style=\"width:%s%%\">",
            number_rounded(out->arena, table->columns[i].width * 100.0 / PAPER_WIDTH, 2));
    buffer_text(out, "</colgroup>");
    if (table->columns[0].head)
        add_heads(out, table, again);
    buffer_text(out, "<tbody>\n");
}

static void put_list(struct layout *layout, const struct paper_block *block)
{
    if (!layout->out)
        return;
    if (block->kind == BLOCK_NUMBERED && layout->item)
        buffer_format(layout->out, "<ol start=\"%u\">\n", layout->item + 1);
    else
        buffer_text(layout->out, block->kind == BLOCK_NUMBERED ? "<ol>\n" : "<ul>\n");
}

static void open_list(struct layout *layout, const struct paper_block *block)
{
    layout->open = block;
    if (block->table) {
        put_head(layout, block->table);
        layout->last = block->table;
    } else {
        put_list(layout, block);
    }
}

static void open_page(struct layout *layout)
{
    layout->page++;
    layout->used = 0;
    if (!layout->out)
        return;
    const char *element = layout->page == 1 ? "h1" : "span";
    buffer_format(layout->out, "<section class=\"page%s\"><div class=\"head\"><%s>",
                  layout->paper->dense ? " dense" : "", element);
    svg_text(layout->out, view_of(layout->paper->title));
    buffer_format(layout->out, "</%s><span>page %u of %u</span></div>\n", element, layout->page,
                  layout->pages);
}

static void next_page(struct layout *layout)
{
    close_list(layout);
    put(layout, "</section>\n");
    open_page(layout);
}

/* What a block takes, with the head of its table where that has to come first. */
static int32_t needs(const struct layout *layout, const struct paper_block *block)
{
    int32_t head =
        block->table && !goes_on(layout, block) ? head_height(layout->paper, block->table) : 0;
    return block->height + head;
}

/* A heading stays with what follows it, and what is kept together with that; where no page
 * holds all of it, with what follows. */
static int32_t needs_with_next(const struct layout *layout, size_t index)
{
    const struct paper_block *block = &layout->paper->blocks.items[index];
    bool stays = block->kind == BLOCK_HEADING;
    int32_t height = needs(layout, block), least = height;
    for (size_t i = index + 1; i < layout->paper->blocks.count; i++) {
        const struct paper_block *next = &layout->paper->blocks.items[i];
        if (next->kind == BLOCK_KEEP) {
            stays = true;
            continue;
        }
        if (!stays)
            break;
        height += needs(layout, next);
        if (i == index + 1 && block->kind == BLOCK_HEADING)
            least = height;
        stays = next->kind == BLOCK_HEADING;
    }
    return height <= BODY ? height : least;
}

/* To what is for screens alone, and back. */
static void turn(struct layout *layout, bool to_screen)
{
    close_list(layout);
    if (to_screen != layout->on_screen)
        put(layout, to_screen ? "<div class=\"screen\">\n" : "</div>\n");
    layout->on_screen = to_screen;
}

static void lay(struct layout *layout, size_t index)
{
    const struct paper_block *block = &layout->paper->blocks.items[index];
    if (block->kind == BLOCK_SCREEN || block->kind == BLOCK_PAPER) {
        turn(layout, block->kind == BLOCK_SCREEN);
        return;
    }
    if (block->kind == BLOCK_KEEP)
        return;
    if (!layout->on_screen && layout->used &&
        (block->kind == BLOCK_BREAK || layout->used + needs_with_next(layout, index) > BODY))
        next_page(layout);
    if (block->kind == BLOCK_BREAK)
        return;
    if (!goes_on(layout, block))
        close_list(layout);
    layout->item = block->kind == BLOCK_NUMBERED ? layout->item : 0;
    layout->used += layout->on_screen ? 0 : needs(layout, block);
    if (!layout->open && (is_list(block) || block->table))
        open_list(layout, block);
    layout->item += block->kind == BLOCK_NUMBERED;
    put(layout, block->markup);
}

static void lay_all(struct layout *layout)
{
    open_page(layout);
    for (size_t i = 0; i < layout->paper->blocks.count; i++)
        lay(layout, i);
    turn(layout, false);
    put(layout, "</section>\n");
}

uint32_t paper_pages(const struct paper *paper)
{
    struct layout counting = {.paper = paper};
    lay_all(&counting);
    return counting.page;
}

void paper_finish(struct paper *paper, struct buffer *out)
{
    struct layout layout = {.paper = paper, .out = out, .pages = paper_pages(paper)};
    lay_all(&layout);
}
