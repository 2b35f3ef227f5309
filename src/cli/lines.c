#include "cli/lines.h"

#include <errno.h>
#include <stdarg.h>

#include "ask/spoken.h"
#include "report/wrap.h"
#include "text/escape.h"

enum { EDIT_WIDTH_MIN = 40 };

void lines_init(struct lines *lines, struct run *run)
{
    *lines = (struct lines){.run = run, .layout = run_layout(run)};
    if (!terminal_is(STANDARD_INPUT))
        lines->from = "<stdin>";
}

/* Lines that are too short for a question are none to edit an answer in. */
static bool may_edit(const struct lines *lines)
{
    return !lines->from && lines->run->out->is_terminal &&
           lines->layout.width >= EDIT_WIDTH_MIN;
}

static const char *const *words(void *user, struct arena *arena)
{
    const struct lines *lines = user;
    struct ask_words list = {0};
    if (lines->ask)
        ask_words(lines->ask, arena, &list);
    VECTOR_ADD(arena, &list.items, NULL);
    return list.items.items;
}

bool lines_open(struct lines *lines, const char *path)
{
    struct run *run = lines->run;
    struct line_place place = {.in = STANDARD_INPUT,
                               .out = STANDARD_OUTPUT,
                               .may_edit = may_edit(lines),
                               .words = {words, lines}};
    if (lines->reader)
        return true;
    if (path) {
        lines->from = path;
        place.in = file_open(path);
        place.may_edit = false;
        if (place.in < 0) {
            run_refuse(run, "%s cannot be read: %s", path, error_reason(run->arena, errno));
            return false;
        }
    }
    lines->reader = line_open(run->arena, &place);
    return true;
}

void lines_close(struct lines *lines)
{
    if (lines->reader)
        line_close(lines->reader);
    lines->reader = NULL;
}

void lines_show(struct lines *lines, struct view text)
{
    struct buffer plain;
    buffer_init(&plain, lines->run->arena);
    if (!lines->layout.unicode) {
        text_plain(&plain, text);
        text = buffer_view(&plain);
    }
    output_write(lines->run->out, text);
}

/* Where nobody types, what was taken is shown with the number of its line. */
static void echo(struct lines *lines, struct view line)
{
    struct buffer out;
    buffer_init(&out, lines->run->arena);
    buffer_format(&out, "%s:%zu> ", lines->from, lines->number);
    escape_terminal(&out, line);
    buffer_byte(&out, '\n');
    lines_show(lines, buffer_view(&out));
}

static enum line_result read_line(struct lines *lines, struct view *out)
{
    if (lines->result != LINE_READ && lines->result != LINE_TOO_LONG)
        return lines->result;
    output_flush(lines->run->out);
    /* Nobody can mean an answer to what was not shown. */
    lines->result =
        output_is_alive(lines->run->out) ? line_read(lines->reader, out) : LINE_UNSEEN;
    lines->number += lines->result == LINE_READ || lines->result == LINE_TOO_LONG;
    if (lines->result == LINE_READ && lines->from)
        echo(lines, *out);
    return lines->result;
}

enum line_result lines_answer(struct lines *lines, enum ask_state *state)
{
    struct view line, says;
    enum line_result result = read_line(lines, &line);
    lines->layout.width = run_layout(lines->run).width;
    ask_resize(lines->ask, lines->layout.width);
    if (result == LINE_TOO_LONG)
        ask_too_long(lines->ask, &says);
    else if (result == LINE_READ)
        *state = ask_line(lines->ask, line, &says);
    else
        return result;
    lines_show(lines, says);
    return result;
}

bool lines_ask(struct lines *lines, const char *question, struct view *out)
{
    struct view line;
    enum line_result result;
    lines_say(lines, 0, "%s", question);
    while ((result = read_line(lines, &line)) == LINE_TOO_LONG)
        lines_say(lines, 4, "That line is too long to be an answer; nothing of it was taken.");
    if (result != LINE_READ)
        return false;
    *out = view_trim(line);
    *out = (struct view){arena_copy(lines->run->arena, out->data, out->size), out->size};
    return true;
}

bool lines_agree(struct lines *lines, const char *question)
{
    struct view text, rest;
    while (lines_ask(lines, question, &text)) {
        enum said said = spoken_word(lines->run->arena, text, &rest);
        if (said == SAID_YES || view_is(text, "y"))
            return true;
        if (said == SAID_STOP || said == SAID_NONE || view_is(text, "no") || view_is(text, "n"))
            return false;
        lines_say(lines, 4, "That is neither; type yes or no.");
    }
    return false;
}

void lines_say(struct lines *lines, size_t indent, const char *format, ...)
{
    struct arena *arena = lines->run->arena;
    lines->layout.width = run_layout(lines->run).width;
    struct wrap wrap = {wrap_width(lines->layout.width), indent, indent};
    struct buffer text, out;
    buffer_init(&text, arena);
    buffer_init(&out, arena);
    va_list arguments;
    va_start(arguments, format);
    buffer_format_list(&text, format, arguments);
    va_end(arguments);
    wrap_add(&out, &wrap, buffer_view(&text));
    lines_show(lines, buffer_view(&out));
}

void lines_gap(struct lines *lines)
{
    output_write(lines->run->out, view_of("\n"));
}
