#include "manual/roff.h"

#include "text/utf8.h"

enum { COLUMNS = 78 };

/* A hyphen that belongs to what is typed has to stay one where it is copied. */
static void add_point(struct buffer *out, struct view *rest, bool literal)
{
    uint32_t point;
    size_t size = utf8_read(*rest, &point);
    if (size == 0)
        size = 1, point = 0xfffd;
    *rest = view_skip(*rest, size);
    if (point >= 0x80)
        buffer_format(out, "\\[u%04X]", (unsigned)point);
    else if (point == '\\')
        buffer_text(out, "\\e");
    else if (point == '-' && literal)
        buffer_text(out, "\\-");
    else if (point == '\'')
        buffer_text(out, "\\(aq");
    else if (point == '"')
        buffer_text(out, "\\(dq");
    else if (point == '`')
        buffer_text(out, "\\(ga");
    else if (point == '~')
        buffer_text(out, "\\(ti");
    else if (point == '^')
        buffer_text(out, "\\(ha");
    else if (point >= ' ' && point != 0x7f)
        buffer_byte(out, (char)point);
}

static void add_literal(struct buffer *out, struct view text)
{
    while (text.size)
        add_point(out, &text, true);
}

/* --- prose --- */

/* Where a paragraph stands. */
struct prose {
    size_t column; /* 0: at the beginning of a line */
    bool quoted;   /* between backquotes */
    bool ended;    /* the last word ends a sentence */
};

static bool is_blank(char c)
{
    return c == ' ' || c == '\n' || c == '\t';
}

/* The next word; `text` goes on behind it. */
static struct view take_word(struct view *text)
{
    while (text->size && is_blank(text->data[0]))
        *text = view_skip(*text, 1);
    size_t size = 0;
    while (size < text->size && !is_blank(text->data[size]))
        size++;
    struct view word = {text->data, size};
    *text = view_skip(*text, size);
    return word;
}

static bool ends_sentence(struct view word)
{
    size_t size = word.size;
    while (size && strchr(")\"`", word.data[size - 1]))
        size--;
    bool dots = size > 1 && word.data[size - 2] == '.';
    return size > 1 && !dots && strchr(".?!", word.data[size - 1]);
}

/* "--stop-at", and what is in backquotes, is typed as it stands. */
static void add_word(struct prose *prose, struct buffer *out, struct view word)
{
    bool option = false;
    char before = ' ';
    for (struct view rest = word; rest.size;) {
        char c = rest.data[0];
        option = option || (c == '-' && strchr(" ([|", before));
        before = c;
        if (c != '`') {
            add_point(out, &rest, option || prose->quoted);
            continue;
        }
        prose->quoted = !prose->quoted;
        buffer_text(out, prose->quoted ? "\\(oq" : "\\(cq");
        rest = view_skip(rest, 1);
    }
    prose->ended = ends_sentence(word) && !prose->quoted;
}

void roff_prose(struct buffer *out, struct view text)
{
    struct prose prose = {0};
    for (struct view word = take_word(&text); word.size; word = take_word(&text)) {
        struct buffer safe;
        bool ended = prose.ended;
        buffer_init(&safe, out->arena);
        add_word(&prose, &safe, word);
        if (prose.column && (ended || prose.column + 1 + safe.size > COLUMNS)) {
            buffer_byte(out, '\n');
            prose.column = 0;
        } else if (prose.column) {
            buffer_byte(out, ' ');
        }
        if (!prose.column && word.data[0] == '.')
            buffer_text(out, "\\&");
        buffer_add(out, buffer_view(&safe));
        prose.column += safe.size + 1;
    }
    if (prose.column)
        buffer_byte(out, '\n');
}

/* --- the rest --- */

/* Might a macro take this word for another one, or for punctuation? */
static bool is_taken(struct view word)
{
    char c = word.data[0];
    return !((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-');
}

void roff_words(struct buffer *out, struct view text)
{
    for (struct view word = take_word(&text); word.size; word = take_word(&text)) {
        buffer_text(out, is_taken(word) ? " \\&" : " ");
        add_literal(out, word);
    }
}

void roff_line(struct buffer *out, struct view text)
{
    if (text.size && text.data[0] == '.')
        buffer_text(out, "\\&");
    add_literal(out, text);
    buffer_byte(out, '\n');
}
