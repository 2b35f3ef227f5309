#include "files.h"

#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILES_MOST = 200, SIZE_MOST = 1 << 20 };

static struct file read_file(const char *folder, const char *name)
{
    char path[1024];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    struct file file = {strdup(name), malloc(SIZE_MOST), 0};
    FILE *stream = fopen(path, "rb");
    if (!stream || !file.bytes)
        abort();
    file.size = fread(file.bytes, 1, SIZE_MOST - 1, stream);
    file.bytes[file.size] = '\0';
    fclose(stream);
    return file;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const struct file *)a)->name, ((const struct file *)b)->name);
}

const struct file *files_samples(size_t *count)
{
    static struct file files[FILES_MOST];
    static size_t known;
    DIR *folder = known ? NULL : opendir(SAMPLE_FOLDER);
    for (struct dirent *entry = folder ? readdir(folder) : NULL; entry; entry = readdir(folder))
        if (strstr(entry->d_name, ".yaml") && known < FILES_MOST)
            files[known++] = read_file(SAMPLE_FOLDER, entry->d_name);
    if (folder) {
        closedir(folder);
        qsort(files, known, sizeof *files, by_name);
    }
    *count = known;
    return files;
}

const struct file *files_sample(const char *name)
{
    size_t count;
    const struct file *files = files_samples(&count);
    for (size_t i = 0; i < count; i++)
        if (strcmp(files[i].name, name) == 0)
            return &files[i];
    abort();
}

struct proveout_document *files_open(const struct file *file)
{
    struct proveout_options options = {.size = sizeof options, .quick = 1, .today = 20750};
    return proveout_document(file->name, file->bytes, file->size, &options);
}

struct proveout_document *files_open_text(const char *text)
{
    return files_open(&(struct file){"text.yaml", (char *)text, strlen(text)});
}

struct file files_edited(const struct file *file, const struct proveout_edits *edits)
{
    size_t room = file->size + 1, at = 0;
    for (size_t i = 0; i < edits->count; i++)
        room += strlen(edits->list[i].text);
    struct file out = {file->name, malloc(room), 0};
    for (size_t i = 0; i < edits->count; i++) {
        const struct proveout_edit *edit = &edits->list[i];
        memcpy(out.bytes + out.size, file->bytes + at, edit->span.start - at);
        out.size += edit->span.start - at;
        memcpy(out.bytes + out.size, edit->text, strlen(edit->text));
        out.size += strlen(edit->text);
        at = edit->span.end;
    }
    memcpy(out.bytes + out.size, file->bytes + at, file->size - at);
    out.size += file->size - at;
    out.bytes[out.size] = '\0';
    return out;
}
