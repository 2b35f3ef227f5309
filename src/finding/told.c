/* Texts of findings for people. */
#include "finding/finding.h"

#include <string.h>

#include "base/buffer.h"

const struct finding_names *finding_names(const struct file_report *file)
{
    static const struct finding_names none;
    struct finding_names *names = file->names;
    if (!names)
        return &none;
    void (*gather)(struct finding_names *) = names->gather;
    names->gather = NULL;
    if (gather)
        gather(names);
    return names;
}

/* The thing of a list whose path, `cutters[12]`, begins here; NULL: none does.  Those of one
 * list stand behind each other, in its order. */
static const struct finding_name *name_at(const struct file_report *file, const char *text)
{
    size_t key = strspn(text, "abcdefghijklmnopqrstuvwxyz_"), index = 0, at = key + 1;
    if (!key || text[key] != '[' || text[at] < '0' || text[at] > '9')
        return NULL;
    const struct finding_names *names = finding_names(file);
    for (; text[at] >= '0' && text[at] <= '9' && index < names->count; at++)
        index = 10 * index + (size_t)(text[at] - '0');
    if (text[at] != ']')
        return NULL;
    for (size_t i = 0; i < names->count; i++) {
        if (strncmp(names->items[i].path, text, key + 1) != 0)
            continue;
        if (index >= names->count - i)
            return NULL;
        const struct finding_name *name = &names->items[i + index];
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
