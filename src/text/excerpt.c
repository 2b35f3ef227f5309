/* The marked line below a finding.
 *
 * The line is first laid out as pieces with their cells, tabs and escapes spelled out, and the
 * cells at which the mark begins and ends; then the part that fits is copied.  Nothing is kept
 * a piece: a long line is walked again instead.
 */
#include "text/excerpt.h"

#include "text/internal.h"

#include "base/bug.h"

enum {
    WIDTH_LEAST = 40,
    TAB = 8,
    DOTS = 3,            /* cells of `...` */
    CONTEXT = 16,        /* cells wanted before the mark in a line that is cut */
    ZERO_RUN_MAX = 8,    /* combining marks shown on one letter */
    BYTES_BEFORE = 1024, /* of a very long line, more than this is not even looked at */
    BYTES_AFTER = 2048,
};

/* One step along a line: what is shown and where in cells it begins. */
struct walk {
    struct view line;
    size_t at;    /* bytes */
    size_t cells; /* before `at` */
};

/* Takes one step; `*piece` is what it shows. */
static void step(struct walk *walk, struct escape_piece *piece)
{
    struct view rest = view_skip(walk->line, walk->at);
    if (rest.data[0] == '\t') {
        static const char blanks[TAB + 1] = "        ";
        size_t width = TAB - walk->cells % TAB;
        *piece = (struct escape_piece){.shown = {blanks, width}, .cells = width};
        walk->at++;
    } else {
        walk->at += escape_next(rest, piece);
    }
    walk->cells += piece->cells;
}

/* Cells before the byte offset `at` of a line. */
static size_t cells_before(struct view line, size_t at)
{
    struct walk walk = {.line = line};
    struct escape_piece piece;
    while (walk.at < at && walk.at < line.size)
        step(&walk, &piece);
    return walk.cells;
}

/* The part of a line that is looked at, and what is marked in it. */
struct stretch {
    struct view text;
    struct span mark; /* bytes of `text` */
    bool is_cut_before, is_cut_after;
};

static bool is_inside_character(struct view line, size_t at)
{
    return at < line.size && ((unsigned char)line.data[at] & 0xc0) == 0x80;
}

static struct stretch find_stretch(struct view line, struct span mark)
{
    struct stretch stretch = {.text = line, .mark = mark};
    if (mark.start > BYTES_BEFORE) {
        size_t from = mark.start - BYTES_BEFORE;
        for (int i = 0; i < 3 && is_inside_character(line, from); i++)
            from++;
        stretch.text = view_skip(line, from);
        stretch.mark = (struct span){mark.start - (uint32_t)from, mark.end - (uint32_t)from};
        stretch.is_cut_before = true;
    }
    size_t most = stretch.mark.start + BYTES_AFTER;
    if (stretch.text.size > most) {
        for (int i = 0; i < 3 && is_inside_character(stretch.text, most); i++)
            most--;
        stretch.text.size = most;
        stretch.is_cut_after = true;
    }
    if (stretch.mark.end > stretch.text.size)
        stretch.mark.end = (uint32_t)stretch.text.size;
    return stretch;
}

/* The window of cells that is shown, and the mark. */
struct layout {
    size_t from, to;
    size_t mark, mark_end;
    bool is_cut_before, is_cut_after;
};

static struct layout lay_out(const struct stretch *stretch, size_t room)
{
    struct view text = stretch->text;
    size_t total = cells_before(text, text.size);
    struct layout layout = {.mark = cells_before(text, stretch->mark.start),
                            .mark_end = cells_before(text, stretch->mark.end),
                            .is_cut_before = stretch->is_cut_before,
                            .is_cut_after = stretch->is_cut_after};
    if (layout.mark_end <= layout.mark)
        layout.mark_end = layout.mark + 1;
    if (total > room || layout.mark >= room) {
        size_t before = CONTEXT < room / 3 ? CONTEXT : room / 3;
        size_t from = layout.mark > before ? layout.mark - before : 0;
        /* Rather more before the mark than blanks behind the end of the line. */
        size_t last = total + 1 + DOTS > room ? total + 1 + DOTS - room : 0;
        layout.from = from < last ? from : last;
        if (layout.from <= DOTS)
            layout.from = 0;
        layout.is_cut_before |= layout.from > 0;
    }
    size_t width = room - (layout.is_cut_before ? DOTS : 0);
    layout.is_cut_after |= total > layout.from + width;
    layout.to = total;
    if (layout.is_cut_after && layout.to > layout.from + width - DOTS)
        layout.to = layout.from + width - DOTS;
    if (layout.mark_end > layout.to)
        layout.mark_end = layout.to > layout.mark ? layout.to : layout.mark + 1;
    return layout;
}

/* Adds the cells of the window; a wide character that the edge would halve becomes blanks. */
static void add_window(struct buffer *out, struct view line, const struct layout *layout)
{
    struct walk walk = {.line = line};
    size_t zero_run = 0;
    while (walk.at < line.size) {
        struct escape_piece piece;
        size_t cell = walk.cells;
        step(&walk, &piece);
        if (cell >= layout->to && (cell > layout->to || layout->is_cut_after))
            break;
        zero_run = piece.cells ? 0 : zero_run + 1;
        if ((layout->from && walk.cells <= layout->from) || zero_run > ZERO_RUN_MAX)
            continue;
        if (cell >= layout->from && walk.cells <= layout->to)
            buffer_add(out, piece.shown);
        else
            buffer_fill(out, ' ',
                        (walk.cells < layout->to ? walk.cells : layout->to) -
                            (cell > layout->from ? cell : layout->from));
    }
}

static void trim_blanks(struct buffer *out, size_t least)
{
    while (out->size > least && out->data[out->size - 1] == ' ')
        out->data[--out->size] = '\0';
}

/* Adds the line, cut where it has to be. */
static struct layout add_line(struct buffer *out, struct view line, struct span mark,
                              size_t room)
{
    struct stretch stretch = find_stretch(line, mark);
    struct layout layout = lay_out(&stretch, room);
    if (layout.is_cut_before)
        buffer_fill(out, '.', DOTS);
    add_window(out, stretch.text, &layout);
    if (layout.is_cut_after)
        buffer_fill(out, '.', DOTS);
    return layout;
}

void excerpt_line(struct buffer *out, struct view line, struct span mark, size_t room)
{
    size_t start = out->size;
    if (line.size)
        (void)add_line(out, line, mark, room);
    trim_blanks(out, start);
}

static uint32_t clamp(uint32_t at, struct span line)
{
    if (at < line.start)
        return line.start;
    return at < line.end ? at : line.end;
}

void excerpt_add(struct buffer *out, struct source *source, struct span span, size_t width)
{
    if (width < WIDTH_LEAST)
        width = WIDTH_LEAST;
    uint32_t number = source_place(source, span.start, COLUMN_BYTES).line;
    struct span whole = source_line(source, number);
    struct view line = source_slice(source, whole);
    struct span mark = {clamp(span.start, whole) - whole.start,
                        clamp(span.end, whole) - whole.start};

    size_t start = out->size;
    buffer_format(out, "%5u | ", (unsigned)number);
    size_t gutter = out->size - start;
    struct layout layout = add_line(out, line, mark, width - gutter);
    trim_blanks(out, start + gutter - 1);
    buffer_byte(out, '\n');

    buffer_fill(out, ' ', gutter - 2);
    buffer_text(out, "| ");
    buffer_fill(out, ' ', layout.mark - layout.from + (layout.is_cut_before ? DOTS : 0));
    buffer_fill(out, '^', layout.mark_end - layout.mark);
    buffer_byte(out, '\n');
}
