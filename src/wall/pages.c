/* Pages: which block comes on which. */
#include "draw/svg.h"
#include "quantity/number.h"
#include "wall/block.h"
#include "text/escape.h"

enum {
    BODY = PAPER_HEIGHT - PAPER_HEAD,
    FEW_COLUMNS = 4 /* that a phone holds side by side */
};

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
        block_add_lines(out, table->columns[i].head);
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
    buffer_format(out, "<div class=\"wide%s\"", table->count > FEW_COLUMNS ? " many" : "");
    buffer_text(out, " role=\"region\" tabindex=\"0\" aria-label=\"");
    escape_xml(out, view_of(table->caption));
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
    escape_xml(layout->out, view_of(layout->paper->title));
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
    int32_t head = block->table && !goes_on(layout, block)
                       ? block_head_height(layout->paper, block->table)
                       : 0;
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
