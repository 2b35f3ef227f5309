#include "server/open_files.h"

#include "server/uri.h"

struct view open_file_text(const struct open_file *file)
{
    return (struct view){file->text ? file->text : "", file->size};
}

void open_file_forget(struct open_file *file)
{
    proveout_document_free(file->document);
    file->document = NULL;
    file->others.items = NULL;
    file->others.count = file->others.capacity = 0;
    arena_reset(&file->checked);
}

/* --- what was touched --- */

/* Where a place is after a change that it lies behind, or within. */
static size_t moved(size_t at, struct proveout_span span, size_t size)
{
    if (at <= span.start)
        return at;
    return at < span.end ? span.start + size : at - (span.end - span.start) + size;
}

static void join_touched(struct open_file *file, size_t index)
{
    struct proveout_span *one = &file->touched[index], *next = one + 1;
    one->end = one->end > next->end ? one->end : next->end;
    file->touched_count--;
    memmove(next, next + 1, (file->touched_count - index - 1) * sizeof *next);
}

/* The bytes of `span` have become `size` others. */
static void touch(struct open_file *file, struct proveout_span span, size_t size)
{
    size_t at = 0;
    for (size_t i = 0; i < file->touched_count; i++) {
        struct proveout_span *one = &file->touched[i];
        one->start = moved(one->start, span, size);
        one->end = moved(one->end, span, size);
        at += one->start < span.start;
    }
    memmove(&file->touched[at + 1], &file->touched[at],
            (file->touched_count - at) * sizeof *file->touched);
    file->touched[at] = (struct proveout_span){span.start, span.start + size};
    file->touched_count++;
    for (size_t i = 0; i + 1 < file->touched_count;)
        if (file->touched[i + 1].start <= file->touched[i].end)
            join_touched(file, i);
        else
            i++;
    if (file->touched_count > TOUCHED_MAX)
        join_touched(file, TOUCHED_MAX - 1);
}

/* --- the texts --- */

static void make_room(struct open_file *file, size_t size)
{
    if (size <= file->room)
        return;
    size_t room = size + size / 2 + 4096;
    file->text = arena_grow(&file->arena, file->text, file->room, file->size, room);
    file->room = room;
}

/* Its text has `size` bytes now. */
static void set_size(struct open_files *files, struct open_file *file, size_t size)
{
    files->sizes = files->sizes - file->size + size;
    file->size = size;
}

static bool is_room_for(const struct open_files *files, const struct open_file *file,
                        size_t size)
{
    return size <= OPEN_SIZE_MAX && files->sizes - file->size + size <= OPEN_SIZES_MAX;
}

static void give_up(struct open_files *files, struct open_file *file)
{
    set_size(files, file, 0);
    file->touched_count = 0;
    file->trouble = OPEN_TOO_LARGE;
}

void open_file_change(struct open_files *files, struct open_file *file,
                      struct proveout_span span, struct view text)
{
    size_t tail = file->size - span.end, size = span.start + text.size + tail;
    open_file_forget(file);
    if (file->trouble == OPEN_TOO_LARGE)
        return;
    if (!is_room_for(files, file, size)) {
        give_up(files, file);
        return;
    }
    make_room(file, size);
    if (tail)
        memmove(file->text + span.start + text.size, file->text + span.end, tail);
    if (text.size)
        memcpy(file->text + span.start, text.data, text.size);
    set_size(files, file, size);
    touch(file, span, text.size);
}

/* What of the text differs from another. */
static struct proveout_span difference(struct view old, struct view new, size_t *new_end)
{
    size_t common = old.size < new.size ? old.size : new.size, start = 0, tail = 0;
    while (start < common && old.data[start] == new.data[start])
        start++;
    while (tail < common - start &&
           old.data[old.size - 1 - tail] == new.data[new.size - 1 - tail])
        tail++;
    *new_end = new.size - tail;
    return (struct proveout_span){start, old.size - tail};
}

void open_file_replace(struct open_files *files, struct open_file *file, struct view text)
{
    size_t end;
    bool was_here = file->trouble != OPEN_TOO_LARGE;
    file->trouble = OPEN_FINE;
    open_file_forget(file);
    if (!is_room_for(files, file, text.size)) {
        give_up(files, file);
        return;
    }
    struct proveout_span span = difference(open_file_text(file), text, &end);
    if (span.start == span.end && span.start == end)
        return;
    open_file_change(files, file, span,
                     (struct view){text.data + span.start, end - span.start});
    /* What was touched before is not known any more. */
    if (!was_here)
        file->touched_count = 0;
}

struct open_file *open_files_find(const struct open_files *files, const char *uri)
{
    for (size_t i = 0; i < files->items.count; i++)
        if (strcmp(files->items.items[i]->uri, uri) == 0)
            return files->items.items[i];
    return NULL;
}

struct open_file *open_files_at(const struct open_files *files, const char *path)
{
    for (size_t i = 0; path && i < files->items.count; i++)
        if (files->items.items[i]->path && strcmp(files->items.items[i]->path, path) == 0)
            return files->items.items[i];
    return NULL;
}

static struct open_file *make(struct open_files *files, const char *uri)
{
    struct arena arena;
    arena_init(&arena, files->host);
    struct open_file *file = ARENA_NEW(&arena, struct open_file);
    file->uri = arena_copy(&arena, uri, strlen(uri));
    file->path = uri_path(&arena, uri);
    file->name = file->path ? file->path : uri_name(&arena, uri);
    arena_init(&file->checked, files->host);
    arena_init(&file->telling, files->host);
    file->arena = arena;
    return file;
}

struct open_file *open_files_add(struct open_files *files, const char *uri, struct view text)
{
    struct open_file *file = open_files_find(files, uri);
    if (!file && files->items.count >= OPEN_FILES_MAX)
        return NULL;
    if (!file) {
        file = make(files, uri);
        VECTOR_ADD(files->arena, &files->items, file);
    }
    file->trouble = OPEN_FINE;
    file->mended = false;
    open_file_replace(files, file, text);
    file->touched_count = 0;
    return file;
}

static void release(struct open_file *file)
{
    open_file_forget(file);
    arena_free(&file->checked);
    arena_free(&file->telling);
    struct arena arena = file->arena; /* the file itself lies in it */
    arena_free(&arena);
}

void open_files_close(struct open_files *files, struct open_file *file)
{
    size_t at = 0;
    while (files->items.items[at] != file)
        at++;
    set_size(files, file, 0);
    release(file);
    files->items.count--;
    memmove(&files->items.items[at], &files->items.items[at + 1],
            (files->items.count - at) * sizeof(struct open_file *));
}

void open_files_end(struct open_files *files)
{
    while (files->items.count)
        open_files_close(files, files->items.items[files->items.count - 1]);
}
