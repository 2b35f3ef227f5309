/* Patterns of what is left out. */
#include "cli/ignore.h"

#include <string.h>

#include "base/buffer.h"
#include "base/vector.h"
#include "cli/input.h"
#include "formula/pattern.h"
#include "platform/platform.h"

enum { IGNORE_MAX = 1024 * 1024 }; /* bytes of a file of patterns */

struct name_pattern {
    struct pattern *pattern;
    bool is_path, means_folders;
};

struct ignore {
    size_t folder_size; /* bytes of the name of its folder, with the / behind it */
    VECTOR(struct name_pattern) patterns;
    const struct ignore *above;
};

/* NULL, or what is wrong with the line. */
static const char *read_line(struct arena *arena, struct view line, struct ignore *out)
{
    if (line.size && line.data[line.size - 1] == '\r')
        line.size--;
    line = view_trim(line);
    if (!line.size || line.data[0] == '#')
        return NULL;
    if (line.data[0] == '!')
        return "nothing can be taken back in: leave the pattern out that covers it";
    struct name_pattern pattern = {0};
    if (line.data[line.size - 1] == '/') {
        pattern.means_folders = true;
        line.size--;
    }
    if (line.size && line.data[0] == '/') {
        pattern.is_path = true;
        line = view_skip(line, 1);
    }
    if (!line.size)
        return "it names nothing";
    pattern.is_path |= memchr(line.data, '/', line.size) != NULL;
    pattern.pattern = pattern_of_names(arena, line);
    if (!pattern.pattern)
        return "a bracket in it is not closed, or it is longer than a pattern may be";
    VECTOR_ADD(arena, &out->patterns, pattern);
    return NULL;
}

bool ignore_read(struct arena *arena, const char *folder, const struct ignore *above,
                 const struct ignore **out, const char **path, const char **why)
{
    size_t size = strlen(folder);
    bool ends = size && folder[size - 1] == '/';
    struct file_about about;
    struct view bytes;
    *out = above;
    *path = arena_format(arena, "%s%sproveout.ignore", folder, ends ? "" : "/");
    if (!file_about_link(*path, &about))
        return true;
    if (about.kind != FILE_PLAIN) {
        *why = "it is no plain file";
        return false;
    }
    if (!input_read_file(*path, IGNORE_MAX, arena, &bytes, why))
        return false;
    struct ignore *ignore = ARENA_NEW(arena, struct ignore);
    ignore->folder_size = size + !ends;
    ignore->above = above;
    for (size_t line = 1; bytes.size; line++) {
        const char *wrong = read_line(arena, view_take(&bytes, '\n'), ignore);
        if (wrong) {
            *why = arena_format(arena, "line %zu: %s", line, wrong);
            return false;
        }
    }
    *out = ignore;
    return true;
}

static bool fits(struct pattern *pattern, struct arena *arena, const char *text)
{
    struct pattern_budget budget = PATTERN_BUDGET;
    size_t match[2], value[2];
    return pattern_search(pattern, pattern_text(arena, view_of(text)), 0, &budget, match,
                          value) == PATTERN_MATCH;
}

bool ignore_matches(const struct ignore *ignore, struct arena *arena, const char *path,
                    const char *name, bool is_folder)
{
    for (; ignore; ignore = ignore->above)
        for (size_t i = 0; i < ignore->patterns.count; i++) {
            const struct name_pattern *pattern = &ignore->patterns.items[i];
            const char *text = pattern->is_path ? path + ignore->folder_size : name;
            if ((is_folder || !pattern->means_folders) && fits(pattern->pattern, arena, text))
                return true;
        }
    return false;
}
