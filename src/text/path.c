#include "text/path.h"

bool path_has_drive(struct view path)
{
    char letter = path.size > 2 ? (char)(path.data[0] | 0x20) : 0;
    return PATHS_HAVE_DRIVES && letter >= 'a' && letter <= 'z' && path.data[1] == ':' &&
           path.data[2] == '/';
}

bool path_has_root(struct view path)
{
    return (path.size && path.data[0] == '/') || path_has_drive(path);
}
