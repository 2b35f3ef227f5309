/* Is it a machine file, or was it meant as one?  Asked of every file in a folder that is
 * walked, so it reads no further than it must and allocates nothing.
 */
#include "tree/internal.h"

static const char first_key[] = "proveout";

/* Is there a blank, a line end or the file's end at `at`? */
static bool is_parted(struct view bytes, uint32_t at)
{
    return at >= bytes.size || bytes.data[at] == ' ' || bytes.data[at] == '\t' ||
           bytes.data[at] == '\r' || bytes.data[at] == '\n';
}

/* Does a line begin at `at`, with `text`? */
static bool is_line(struct view bytes, uint32_t at, const char *text)
{
    bool is_first = at == 0 || bytes.data[at - 1] == '\n' || bytes.data[at - 1] == '\r';
    bool is_after_mark = at == 3 && view_starts(bytes, "\xef\xbb\xbf");
    return (is_first || is_after_mark) && view_starts(view_skip(bytes, at), text);
}

/* Past the byte order mark, comments, `%` lines and `---`, to the first content. */
static uint32_t skip_prelude(struct view bytes)
{
    uint32_t at = skip_to_content(bytes, view_starts(bytes, "\xef\xbb\xbf") ? 3 : 0);
    while (is_line(bytes, at, "%"))
        at = skip_to_content(bytes, line_around(bytes, at).end);
    if (is_line(bytes, at, "---") && is_parted(bytes, at + 3))
        at = skip_to_content(bytes, at + 3);
    return at;
}

bool tree_starts_machine(struct view bytes)
{
    if (bytes.size > SOURCE_SIZE_MAX)
        return false;
    uint32_t at = skip_prelude(bytes);
    bool is_flow = at < bytes.size && bytes.data[at] == '{';
    if (is_flow)
        at = skip_to_content(bytes, at + 1);
    if (at >= bytes.size)
        return false;
    char quote = bytes.data[at];
    bool is_quoted = quote == '"' || quote == '\'';
    struct view rest = view_skip(bytes, is_quoted ? at + 1 : at);
    if (!view_starts(rest, first_key))
        return false;
    rest = view_skip(rest, sizeof first_key - 1);
    if (is_quoted) {
        if (rest.size == 0 || rest.data[0] != quote)
            return false;
        rest = view_skip(rest, 1);
    }
    rest = view_trim(rest);
    if (rest.size == 0 || rest.data[0] != ':')
        return false;
    return is_quoted || is_parted(rest, 1) || (is_flow && rest.data[1] == ',');
}

/* Is the key written in letters of `width` bytes, of which all but one are 0? */
static bool has_wide_key(struct view bytes, size_t width)
{
    size_t letters = sizeof first_key - 1, size = (letters - 1) * width + 1;
    for (size_t at = 0; at + size <= bytes.size; at++) {
        size_t i = 0;
        while (i < size && bytes.data[at + i] == (i % width ? '\0' : first_key[i / width]))
            i++;
        if (i == size)
            return true;
    }
    return false;
}

bool tree_hides_machine(struct view bytes)
{
    return has_wide_key(bytes, 2) || has_wide_key(bytes, 4);
}
