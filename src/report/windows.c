#include "report/windows.h"

#include "quantity/quantity.h"
#include "report/internal.h"
#include "report/json_writer.h"

enum { FORMAT_VERSION = 1, RULER = 40 };

static struct dimension dimension_of(const struct window *window)
{
    return field_table[window->field].dimension;
}

static const char *value_text(struct arena *arena, const struct window *window, double si)
{
    return quantity_text(arena, si, dimension_of(window), window->unit);
}

const char *window_words(struct arena *arena, const struct window *window)
{
    if (window->empty || (!window->low.bounded && !window->high.bounded))
        return NULL;
    if (!window->high.bounded)
        return arena_format(arena, "%s or more", window->low.text);
    if (!window->low.bounded)
        return arena_format(arena, "%s or less", window->high.text);
    return arena_format(arena, "%s to %s", window->low.text, window->high.text);
}

/* "probe-stroke-short, cutter 3" */
static const char *who(struct arena *arena, const char *rule, const char *subject)
{
    return subject ? arena_format(arena, "%s, %s", rule, subject) : rule;
}

/* Where on the ruler a value stands, `ends` cells from either side being kept for what lies
 * outside the window. */
static size_t cell_of(const struct window *window, double value)
{
    double low = window->low.bounded ? window->low.si : 0;
    double high = window->high.bounded ? window->high.si : low + 2 * (value - low);
    if (!window->low.bounded)
        low = window->high.bounded ? value - (high - value) : value - 1;
    if (!(high > low))
        return RULER / 2;
    double share = (value - low) / (high - low);
    double cells = share * (RULER - 1);
    return cells < 0 ? 0 : cells > RULER - 1 ? RULER - 1 : (size_t)(cells + 0.5);
}

/*     7.1 mm [-----------o--------------] 13.9 mm
 * with < and > for a side that no rule bounds.  A value outside stands outside. */
static void add_ruler(const struct layout *layout, const struct window *window)
{
    struct buffer *out = layout->out;
    bool below = window->given && window->low.bounded && window->value < window->low.si;
    bool beyond = window->given && window->high.bounded && window->value > window->high.si;
    buffer_text(out, "    ");
    if (below)
        buffer_format(out, "o %s ... ", value_text(out->arena, window, window->value));
    if (window->low.bounded)
        buffer_format(out, "%s [", window->low.text);
    else
        buffer_byte(out, '<');
    size_t at = cell_of(window, window->value);
    bool inside = window->given && !below && !beyond;
    for (size_t i = 0; i < RULER; i++)
        buffer_byte(out, inside && i == at ? 'o' : '-');
    if (window->high.bounded)
        buffer_format(out, "] %s", window->high.text);
    else
        buffer_byte(out, '>');
    if (beyond)
        buffer_format(out, " ... %s o", value_text(out->arena, window, window->value));
    buffer_byte(out, '\n');
}

static void add_end(const struct layout *layout, const char *word, const struct window_end *end)
{
    struct wrap wrap = {layout->width, 4, 8};
    if (end->bounded)
        wrap_format(layout->out, &wrap, "%s %s: %s", word, end->text,
                    who(layout->out->arena, end->rule, end->subject));
}

static void add_empty(const struct layout *layout, const struct window *window)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 4, 4};
    const char *first = who(arena, window->between[0], window->between_subject[0]);
    const char *second = who(arena, window->between[1], window->between_subject[1]);
    if (strcmp(first, second) == 0)
        wrap_format(layout->out, &wrap, "no value will do: %s fails whatever stands here",
                    first);
    else if (window->overlap > 0)
        wrap_format(layout->out, &wrap, "no value will do: %s and %s exclude each other, by %s",
                    first, second, value_text(arena, window, window->overlap));
    else
        wrap_format(layout->out, &wrap, "no value will do: %s and %s exclude each other", first,
                    second);
}

static void add_window(const struct layout *layout, const struct window *window)
{
    struct arena *arena = layout->out->arena;
    buffer_text(layout->out, "  ");
    text_colored(layout, COLOR_BOLD, window->path);
    if (window->given)
        buffer_format(layout->out, ": %s%s", value_text(arena, window, window->value),
                      window->holds ? "" : ", which will not do");
    else
        buffer_text(layout->out, ": not given");
    buffer_byte(layout->out, '\n');
    struct wrap wrap = {layout->width, 4, 4};
    if (window->empty) {
        add_empty(layout, window);
    } else if (!window->asked) {
        wrap_add(layout->out, &wrap, view_of("no rule that could be checked depends on it"));
    } else if (!window->low.bounded && !window->high.bounded) {
        wrap_add(layout->out, &wrap, view_of("no rule bounds it on either side"));
    } else {
        add_ruler(layout, window);
        add_end(layout, "below", &window->low);
        add_end(layout, "above", &window->high);
    }
    buffer_byte(layout->out, '\n');
}

void windows_text(struct buffer *out, const struct report_options *options, const char *path,
                  const struct window *windows, size_t count)
{
    struct layout layout = {out, options, path, wrap_width(options->width)};
    buffer_text(out, "Where every rule holds, one value changed at a time, in ");
    text_colored(&layout, COLOR_BOLD, path);
    buffer_text(out, ":\n\n");
    for (size_t i = 0; i < count; i++)
        add_window(&layout, &windows[i]);
    struct wrap wrap = {layout.width, 0, 0};
    wrap_add(
        out, &wrap,
        view_of("A value in its window is not a promise: the first run after a change is still "
                "made in air, with a hand on the stop."));
}

static void add_json_end(struct json *json, const char *key, const struct window *window,
                         const struct window_end *end)
{
    json_key(json, key);
    if (window->empty || !end->bounded) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "si"), json_number(json, end->si);
    json_key(json, "text"), json_text(json, end->text);
    json_key(json, "rule"), json_text(json, end->rule);
    json_key(json, "subject"), json_text(json, end->subject);
    json_close(json, '}');
}

static void add_json_window(struct json *json, const struct window *window)
{
    json_line(json, 2);
    json_open(json, '{');
    json_key(json, "field"), json_text(json, window->path);
    json_key(json, "value");
    if (window->given) {
        json_open(json, '{');
        json_key(json, "si"), json_number(json, window->value);
        json_key(json, "text");
        json_text(json, value_text(json->out->arena, window, window->value));
        json_close(json, '}');
    } else {
        json_nothing(json);
    }
    json_key(json, "holds"), json_bool(json, window->holds);
    add_json_end(json, "low", window, &window->low);
    add_json_end(json, "high", window, &window->high);
    if (window->empty) {
        json_key(json, "between"), json_open(json, '[');
        json_text(json, window->between[0]);
        json_text(json, window->between[1]);
        json_close(json, ']');
        json_key(json, "overlap"), json_number(json, window->overlap);
    }
    json_close(json, '}');
}

void windows_json(struct buffer *out, const char *path, const struct window *windows,
                  size_t count)
{
    struct json json = {.out = out};
    json_open(&json, '{');
    json_key(&json, "format"), json_text(&json, "proveout-windows");
    json_key(&json, "version"), json_count(&json, FORMAT_VERSION);
    json_key(&json, "path"), json_text(&json, path);
    json_key(&json, "windows"), json_open(&json, '[');
    for (size_t i = 0; i < count; i++)
        add_json_window(&json, &windows[i]);
    json_close(&json, ']');
    json_close(&json, '}');
    buffer_byte(out, '\n');
}
