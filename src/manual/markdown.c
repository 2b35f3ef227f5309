/* Markdown as the pages of the repository use it, as mdoc: headings, paragraphs, tables, items
 * and blocks of lines.  What else there is would be shown as it stands. */
#include "manual/manual.h"

#include "manual/roff.h"

struct markdown {
    struct buffer *out;
    struct buffer paragraph; /* lines that belong together so far */
    bool begun;              /* something stands below the last heading */
    bool listed;             /* in a table or a list */
};

/* Adds prose without the signs of links and of emphasis, which a page does not have. */
static void add_plain(struct buffer *out, struct view text)
{
    bool code = false;
    while (text.size) {
        char c = text.data[0];
        const char *end = c == '[' && !code ? memchr(text.data, ']', text.size) : NULL;
        struct view behind =
            end ? view_skip(text, (size_t)(end - text.data) + 1) : (struct view){0};
        if (behind.size && behind.data[0] == '(') {
            add_plain(out, (struct view){text.data + 1, (size_t)(end - text.data) - 1});
            view_take(&behind, ')');
            text = behind;
            continue;
        }
        if (c == '`')
            code = !code;
        if (c != '*' || code)
            buffer_byte(out, c);
        text = view_skip(text, 1);
    }
}

static void add_prose(struct markdown *page, struct view text)
{
    struct buffer plain;
    buffer_init(&plain, page->out->arena);
    add_plain(&plain, text);
    roff_prose(page->out, buffer_view(&plain));
}

static void end_paragraph(struct markdown *page)
{
    if (!page->paragraph.size)
        return;
    if (page->begun && !page->listed)
        buffer_text(page->out, ".Pp\n");
    add_prose(page, buffer_view(&page->paragraph));
    page->begun = true;
    buffer_init(&page->paragraph, page->out->arena);
}

static void end_list(struct markdown *page)
{
    end_paragraph(page);
    if (page->listed)
        buffer_text(page->out, ".El\n");
    page->listed = false;
}

static void begin_list(struct markdown *page, const char *kind)
{
    end_paragraph(page);
    if (!page->listed)
        buffer_format(page->out, ".Bl %s\n", kind);
    page->listed = page->begun = true;
}

static void add_heading(struct markdown *page, struct view line)
{
    end_list(page);
    while (line.size && line.data[0] == '#')
        line = view_skip(line, 1);
    buffer_text(page->out, ".Ss");
    roff_words(page->out, line);
    buffer_byte(page->out, '\n');
    page->begun = false;
}

/* The next cell of a row; a `|` in backquotes is none of its own. */
static struct view take_cell(struct view *row)
{
    size_t size = 0;
    bool code = false;
    while (size < row->size && (code || row->data[size] != '|'))
        code = (row->data[size++] == '`') != code;
    struct view cell = view_trim((struct view){row->data, size});
    *row = view_skip(*row, size + 1);
    return cell;
}

static struct view without_quotes(struct view cell)
{
    bool quoted = cell.size > 1 && cell.data[0] == '`' && cell.data[cell.size - 1] == '`';
    return quoted ? (struct view){cell.data + 1, cell.size - 2} : cell;
}

/* What is asked, and behind it what comes of it. */
static void add_row(struct markdown *page, struct view line)
{
    begin_list(page, "-tag -width Ds -compact");
    line = view_skip(line, 1);
    buffer_text(page->out, ".It Ic");
    roff_words(page->out, without_quotes(take_cell(&line)));
    buffer_byte(page->out, '\n');
    for (struct view cell = take_cell(&line); cell.size; cell = take_cell(&line))
        add_prose(page, cell);
}

/* The line below the head of a table. */
static bool is_rule(struct view line)
{
    return view_starts(line, "|-");
}

static void add_block(struct markdown *page, struct view *rest)
{
    end_list(page);
    buffer_text(page->out, ".Bd -literal\n");
    for (struct view line = view_take(rest, '\n'); !view_starts(line, "```") && rest->size;
         line = view_take(rest, '\n'))
        roff_line(page->out, line);
    buffer_text(page->out, ".Ed\n");
    page->begun = true;
}

static void add_line(struct markdown *page, struct view line, struct view *rest)
{
    if (view_starts(line, "```")) {
        add_block(page, rest);
    } else if (view_starts(line, "#")) {
        add_heading(page, line);
    } else if (view_starts(line, "|")) {
        if (!is_rule(line) && !is_rule(*rest)) /* a head says what the text says */
            add_row(page, line);
    } else if (view_starts(line, "* ")) {
        begin_list(page, "-bullet -compact");
        buffer_text(page->out, ".It\n");
        buffer_add(&page->paragraph, view_skip(line, 2));
    } else if (!line.size) {
        end_list(page);
    } else {
        buffer_byte(&page->paragraph, '\n');
        buffer_add(&page->paragraph, line);
    }
}

/* The list of what there is, at the top, is made of links alone. */
static bool is_contents(struct view line)
{
    return view_starts(line, "* [") || view_starts(line, "  [");
}

void page_markdown(const struct page *page)
{
    struct markdown markdown = {.out = page->out};
    struct view rest = page->text;
    buffer_init(&markdown.paragraph, page->out->arena);
    view_take(&rest, '\n'); /* its title */
    while (rest.size) {
        struct view line = view_take(&rest, '\n');
        if (!is_contents(line))
            add_line(&markdown, line, &rest);
    }
    end_list(&markdown);
}
