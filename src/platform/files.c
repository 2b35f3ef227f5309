/* Questions about files, put together. */
#include "platform/platform.h"

static bool is_kind(const char *path, enum file_kind kind)
{
    struct file_about about;
    return file_about(path, &about) && about.kind == kind;
}

bool file_is_there(const char *path)
{
    struct file_about about;
    return file_about_link(path, &about);
}

bool file_is_folder(const char *path)
{
    return is_kind(path, FILE_FOLDER);
}

bool file_is_plain(const char *path)
{
    return is_kind(path, FILE_PLAIN);
}

bool file_is_identical(const struct file_identity *a, const struct file_identity *b)
{
    return a->volume == b->volume && a->number == b->number;
}

bool file_is_same(const char *a, const char *b)
{
    struct file_about one, other;
    return file_about(a, &one) && file_about(b, &other) &&
           file_is_identical(&one.identity, &other.identity);
}
