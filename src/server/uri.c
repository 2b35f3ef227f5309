#include "server/uri.h"

#include "base/buffer.h"
#include "report/gate.h"
#include "text/path.h"

static int digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    c = (char)(c | 0x20);
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* With what is written %20 and the like as it is meant; false: that is no text. */
static bool decode(struct buffer *out, const char *text)
{
    for (; *text; text++) {
        char c = *text;
        if (c == '%') {
            int high = digit(text[1]), low = high < 0 ? -1 : digit(text[2]);
            if (low < 0 || high * 16 + low == 0)
                return false;
            c = (char)(high * 16 + low);
            text += 2;
        }
        buffer_byte(out, c);
    }
    return true;
}

/* Adds the steps of a path, each with a stroke before it. */
static bool add_steps(struct buffer *out, struct view path, bool may_rise)
{
    size_t start = out->size;
    while (path.size) {
        struct view step = view_take(&path, '/');
        if (!step.size || view_is(step, "."))
            continue;
        if (!view_is(step, "..")) {
            buffer_byte(out, '/');
            buffer_add(out, step);
            continue;
        }
        if (!may_rise)
            return false;
        while (out->size > start && out->data[--out->size] != '/')
            continue;
    }
    return true;
}

const char *uri_path(struct arena *arena, const char *uri)
{
    struct buffer decoded, path;
    buffer_init(&decoded, arena);
    buffer_init(&path, arena);
    if (!view_starts(view_of(uri), "file:"))
        return NULL;
    uri += strlen("file:");
    if (view_starts(view_of(uri), "//")) {
        const char *host = uri + 2;
        uri = strchr(host, '/');
        bool is_here = uri && (uri == host ||
                               view_is((struct view){host, (size_t)(uri - host)}, "localhost"));
        bool is_on_net = PATHS_HAVE_DRIVES && uri && !is_here;
        if (!is_here && !is_on_net)
            return NULL;
        if (is_on_net) { /* //host/share */
            buffer_byte(&path, '/');
            uri = host - 1;
        }
    }
    if (*uri != '/' || strpbrk(uri, "?#") || !decode(&decoded, uri))
        return NULL;
    if (!add_steps(&path, buffer_view(&decoded), true))
        return NULL;
    if (!path.size)
        return "/";
    /* /c:/shop, by the letter that the system itself has for the drive */
    char *whole = arena_copy(arena, path.data, path.size);
    if (!path_has_drive(view_of(whole + 1)))
        return whole;
    whole[1] = (char)(whole[1] & ~0x20);
    return whole + 1;
}

const char *uri_name(struct arena *arena, const char *uri)
{
    struct buffer name;
    buffer_init(&name, arena);
    const char *stroke = strrchr(uri, '/');
    const char *last = stroke && stroke[1] ? stroke + 1 : uri;
    return decode(&name, last) && name.size ? buffer_string(&name) : last;
}

const char *uri_of(struct arena *arena, const char *path)
{
    return gate_uri(arena, view_of(path));
}

const char *path_below(struct arena *arena, const char *folder, const char *path)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (strcmp(folder, "/") != 0)
        buffer_text(&out, folder);
    size_t start = out.size;
    if (*path == '/' || !add_steps(&out, view_of(path), false) || out.size == start)
        return NULL;
    return buffer_string(&out);
}

bool path_lies_in(const char *path, const char *folder)
{
    size_t size = strcmp(folder, "/") == 0 ? 0 : strlen(folder);
    return strncmp(path, folder, size) == 0 && (!path[size] || path[size] == '/');
}

const char *path_folder(struct arena *arena, const char *path)
{
    const char *stroke = strrchr(path, '/');
    return stroke && stroke != path ? arena_copy(arena, path, (size_t)(stroke - path)) : "/";
}
