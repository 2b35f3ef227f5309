/* Texts of findings for people. */
#include "finding/finding.h"

#include <string.h>

#include "base/buffer.h"

/* The thing of a list whose path, `cutters[12]`, begins here; NULL: none does.  Those of one
 * list stand behind each other, in its order. */
static const struct finding_name *name_at(const struct file_report *file, const char *text)
{
    size_t key = strspn(text, "abcdefghijklmnopqrstuvwxyz_"), index = 0, at = key + 1;
    if (!key || text[key] != '[')
        return NULL;
    for (; text[at] >= '0' && text[at] <= '9' && index < file->name_count; at++)
        index = 10 * index + (size_t)(text[at] - '0');
    if (text[at] != ']')
        return NULL;
    for (size_t i = 0; i < file->name_count; i++) {
        if (strncmp(file->names[i].path, text, key + 1) != 0)
            continue;
        if (index >= file->name_count - i)
            return NULL;
        const struct finding_name *name = &file->names[i + index];
        return strncmp(name->path, text, at + 1) == 0 && !name->path[at + 1] ? name : NULL;
    }
    return NULL;
}

const char *finding_told(struct arena *arena, const struct file_report *file, const char *text)
{
    struct buffer out;
    buffer_init(&out, arena);
    for (; *text; text++) {
        const struct finding_name *name = name_at(file, text);
        if (!name) {
            buffer_byte(&out, *text);
            continue;
        }
        buffer_text(&out, name->lasting);
        text += strlen(name->path) - 1;
    }
    return buffer_string(&out);
}
