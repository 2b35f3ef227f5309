/* Windows as people and programs read them: format proveout-windows version 1. */
#include "report/internal.h"

#include "report/json_writer.h"
#include "rules/search.h"

enum {
    FORMAT_VERSION = 1,
    RULER_LEAST = 8, /* cells */
    RULER_MOST = 40,
    FREE_SHOWN = 4, /* of more windows, those that nothing bounds are only named */
};

/* "probe-stroke-short, cutter 3" */
static const char *who(struct arena *arena, const char *rule, const char *subject)
{
    return subject ? arena_format(arena, "%s, %s", rule, subject) : rule;
}

/* What stands left and right of the ruler's line. */
struct ruler {
    const char *left, *right;
    size_t cells;
    bool inside; /* the present value stands on it */
};

/* On which cell the present value stands: in proportion where both ends are bounded, else in
 * the middle. */
static size_t cell_of(const struct window *window, size_t cells)
{
    double low = window->low.si, width = window->high.si - low;
    if (!window->low.bounded || !window->high.bounded || !(width > 0))
        return cells / 2;
    double at = (window->value - low) / width * (double)(cells - 1);
    return at <= 0 ? 0 : at >= (double)(cells - 1) ? cells - 1 : (size_t)(at + 0.5);
}

/*     7.1 mm [-----------o--------------] 13.9 mm
 * with < and > for a side that no rule bounds.  A value outside stands outside. */
static void add_ruler(const struct layout *layout, const struct window *window)
{
    struct arena *arena = layout->out->arena;
    const struct window_end *low = &window->low, *high = &window->high;
    bool below = window->given && low->bounded && window->value < low->si;
    bool beyond = window->given && high->bounded && window->value > high->si;
    const char *left = low->bounded ? arena_format(arena, "%s [", low->text) : "<";
    const char *right = high->bounded ? arena_format(arena, "] %s", high->text) : ">";
    if (below)
        left = arena_format(arena, "%s o ... %s", window->value_text, left);
    if (beyond)
        right = arena_format(arena, "%s ... o %s", right, window->value_text);
    size_t texts = strlen(left) + strlen(right) + 4;
    size_t cells = layout->width > texts + RULER_LEAST ? layout->width - texts : RULER_LEAST;
    cells = cells > RULER_MOST ? RULER_MOST : cells;
    size_t at = window->given && !below && !beyond ? cell_of(window, cells) : cells;
    buffer_format(layout->out, "    %s", left);
    for (size_t i = 0; i < cells; i++)
        buffer_byte(layout->out, i == at ? 'o' : '-');
    buffer_format(layout->out, "%s\n", right);
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
    struct wrap wrap = {layout->width, 4, 4}, below = {layout->width, 4, 8};
    const char *first = who(arena, window->between[0], window->between_subject[0]);
    const char *second = who(arena, window->between[1], window->between_subject[1]);
    const char *looked = window->proved ? "" : "where it was looked, ";
    if (!window->wants[0]) {
        wrap_format(layout->out, &wrap, "%sno usual value will do: %s fails %s", looked, first,
                    window->proved ? "whatever stands here" : "with each that was tried");
        return;
    }
    wrap_format(layout->out, &wrap, "%sno value will do: two rules exclude each other%s%s",
                looked, window->overlap > 0 ? ", by " : "",
                window->overlap > 0 ? window->overlap_text : "");
    wrap_format(layout->out, &below, "%s or more: %s", window->wants[0], first);
    wrap_format(layout->out, &below, "%s or less: %s", window->wants[1], second);
    const char *outweighs = window_outweighs(arena, window);
    if (*outweighs)
        wrap_format(layout->out, &wrap, "%s", outweighs + 2);
}

static bool is_free(const struct window *window)
{
    return !window->empty && window->proved && !window->low.bounded && !window->high.bounded;
}

/* What is not chosen is not set to suit a rule. */
static const char *caution(enum field_nature nature)
{
    switch (nature) {
    case NATURE_MEASURED:
    case NATURE_SCATTER:
        return "It is measured: this tells how far off it may be, not what to write.";
    case NATURE_FACT:
        return "It is a fact, nothing that is set: this tells what would have to be there.";
    case NATURE_CHOSEN:
        break;
    }
    return "";
}

static void add_window(const struct layout *layout, const struct window *window)
{
    struct wrap wrap = {layout->width, 4, 4}, below = {layout->width, 4, 8};
    buffer_text(layout->out, "  ");
    text_colored(layout, COLOR_BOLD, window->lasting);
    if (window->given)
        buffer_format(layout->out, ": %s%s%s\n", window->value_text,
                      window->defaulted ? ", by default" : "",
                      window->holds ? "" : ", which will not do");
    else
        buffer_text(layout->out, ": not given\n");
    if (window->empty) {
        add_empty(layout, window);
    } else if (is_free(window)) {
        wrap_add(layout->out, &wrap,
                 view_of(window->asked ? "no rule bounds it on either side"
                                       : "no rule that applies here asks anything of it"));
    } else {
        add_ruler(layout, window);
        add_end(layout, "below", &window->low);
        add_end(layout, "above", &window->high);
        if (!window->proved)
            wrap_format(layout->out, &below,
                        "asked closely in between, but not proved there: %s",
                        who(layout->out->arena, window->open, window->open_subject));
    }
    wrap_add(layout->out, &wrap, view_of(caution(field_table[window->field].nature)));
    buffer_byte(layout->out, '\n');
}

/* The names alone of those that nothing bounds. */
static void add_free(const struct layout *layout, const struct window *windows, size_t count)
{
    struct buffer names;
    struct wrap wrap = {layout->width, 2, 4};
    buffer_init(&names, layout->out->arena);
    for (size_t i = 0; i < count; i++)
        if (is_free(&windows[i]))
            buffer_format(&names, "%s %s", names.size ? "," : "Nothing bounds",
                          windows[i].lasting);
    if (!names.size)
        return;
    buffer_byte(&names, '.');
    wrap_add(layout->out, &wrap, buffer_view(&names));
    buffer_byte(layout->out, '\n');
}

/* Each window with a small ruler: its low end, the present value, its high end. */
static void add_text(const struct layout *layout, const struct report *report)
{
    const struct report_windows *windows = report->windows;
    struct wrap wrap = {layout->width, 0, 0};
    wrap_format(layout->out, &wrap,
                "%s: where every rule holds, one value changed, all others as they are.",
                layout->path);
    buffer_byte(layout->out, '\n');
    for (size_t i = 0; i < windows->count; i++)
        if (windows->count <= FREE_SHOWN || !is_free(&windows->items[i]))
            add_window(layout, &windows->items[i]);
    if (windows->count > FREE_SHOWN)
        add_free(layout, windows->items, windows->count);
    wrap_add(
        layout->out, &wrap,
        view_of("Numbers on paper: the first run after a change is still made in air, with "
                "a hand on the stop."));
}

const struct report_writer windows_text = {.file = add_text};

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

/* What a number is typed in, and in which steps. */
static void add_json_unit(struct json *json, const struct window *window)
{
    struct dimension dimension = field_table[window->field].dimension;
    double typed = unit_from_si(window->unit, dimension, window->value);
    json_key(json, "unit"), json_open(json, '{');
    json_key(json, "text"), json_text(json, unit_text(window->unit));
    json_key(json, "si"), json_number(json, unit_to_si(window->unit, dimension, 1));
    json_key(json, "step"), json_number(json, window_step(window->unit, typed));
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
        json_key(json, "text"), json_text(json, window->value_text);
        json_close(json, '}');
    } else {
        json_nothing(json);
    }
    add_json_unit(json, window);
    json_key(json, "holds"), json_bool(json, window->holds);
    json_key(json, "proved"), json_bool(json, window->proved);
    if (window->open) {
        json_key(json, "not_proved"), json_open(json, '{');
        json_key(json, "rule"), json_text(json, window->open);
        json_key(json, "subject"), json_text(json, window->open_subject);
        json_close(json, '}');
    }
    add_json_end(json, "low", window, &window->low);
    add_json_end(json, "high", window, &window->high);
    if (window->empty) {
        json_key(json, "between"), json_open(json, '[');
        json_text(json, window->between[0]);
        json_text(json, window->between[1]);
        json_close(json, ']');
        json_key(json, "overlap"), json_number(json, window->overlap);
        struct finding_conflict conflict;
        if (window_conflict(window, &conflict) && conflict.outweighs)
            json_key(json, "outweighs"), json_text(json, conflict.outweighs);
    }
    json_close(json, '}');
}

static void add_json(const struct layout *layout, const struct report *report)
{
    struct json json = {.out = layout->out};
    json_open(&json, '{');
    json_key(&json, "format"), json_text(&json, "proveout-windows");
    json_key(&json, "version"), json_count(&json, FORMAT_VERSION);
    json_key(&json, "path"), json_text(&json, layout->path);
    json_key(&json, "windows"), json_open(&json, '[');
    for (size_t i = 0; i < report->windows->count; i++)
        add_json_window(&json, &report->windows->items[i]);
    json_close(&json, ']');
    json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

const struct report_writer windows_json = {.file = add_json};
