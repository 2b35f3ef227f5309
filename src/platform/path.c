/* Parts of paths: how they end, and those that a stranger wrote. */
#include <strings.h>

#include "platform/platform.h"

/* Names that mean a device in every folder, whatever follows behind a full stop. */
static bool is_device(struct view part)
{
    static const char *const names[] = {"CON", "PRN", "AUX", "NUL", "CONIN$", "CONOUT$"};
    size_t size = 0;
    while (size < part.size && part.data[size] != '.')
        size++;
    while (size && part.data[size - 1] == ' ')
        size--;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        if (size == strlen(names[i]) && strncasecmp(part.data, names[i], size) == 0)
            return true;
    /* COM1 to LPT9; their digits are also known raised, two bytes each */
    bool port = size >= 4 && (strncasecmp(part.data, "COM", 3) == 0 ||
                              strncasecmp(part.data, "LPT", 3) == 0);
    return port && ((size == 4 && part.data[3] >= '0' && part.data[3] <= '9') ||
                    (size == 5 && (part.data[3] & 0xff) == 0xc2));
}

const char *path_wrong_part(struct view part)
{
    static const char outside[] = "only files beside this one or below it are read";
    static const char unnameable[] = "its name is none that a file can have";
    if (view_is(part, ".."))
        return outside;
    if (view_is(part, "."))
        return NULL;
    for (size_t i = 0; i < part.size; i++)
        if (!part.data[i])
            return unnameable;
    if (memchr(part.data, '\\', part.size))
        return "it has a backslash where a path has a `/`";
    if (memchr(part.data, ':', part.size))
        return "its colon names a drive or a stream on Windows";
    if (is_device(part))
        return "on Windows it names a device";
    if (part.size && (part.data[part.size - 1] == '.' || part.data[part.size - 1] == ' '))
        return "Windows leaves out the full stop or blank at its end";
    return NULL;
}

bool path_has_extension(const char *path, const char *extension)
{
    const char *slash = strrchr(path, '/'), *name = slash ? slash + 1 : path;
    const char *dot = strrchr(name, '.');
    return dot && dot != name && strcasecmp(dot, extension) == 0;
}
