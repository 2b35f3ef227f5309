/* Makes a page of the manual, or what a shell completes, while the program is built.
 *
 *     fill OUT SOURCE [COMMAND | TEXT]
 *
 * COMMAND: whose page it is, where there are several of one source.  TEXT: a file, named by its
 * path, for the mark that wants one.
 */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "manual/manual.h"

static const struct {
    const char *name;
    void (*add)(const struct page *page);
} marks[] = {
    {"title", page_title},
    {"version", page_version},
    {"name", page_name},
    {"synopsis", page_synopsis},
    {"help", page_help},
    {"commands", page_commands},
    {"options", page_options},
    {"formats", page_formats},
    {"see commands", page_see_commands},
    {"fields", page_fields},
    {"taking", page_taking},
    {"units", page_units},
    {"policy", page_policy},
    {"known", page_known},
    {"agreements", page_agreements},
    {"markdown", page_markdown},
    {"completions", page_completions},
};

static void stop(const char *path, const char *why)
{
    fprintf(stderr, "%s: %s\n", path, why);
    exit(2);
}

static struct view read_whole(struct arena *arena, const char *path)
{
    struct buffer text;
    char part[4096];
    size_t size;
    buffer_init(&text, arena);
    FILE *file = fopen(path, "rb");
    if (!file)
        stop(path, strerror(errno));
    while ((size = fread(part, 1, sizeof part, file)) > 0)
        buffer_add(&text, (struct view){part, size});
    if (ferror(file) || fclose(file) != 0)
        stop(path, "cannot be read");
    return buffer_view(&text);
}

static void write_whole(const char *path, struct view text)
{
    FILE *file = fopen(path, "wb");
    if (!file)
        stop(path, strerror(errno));
    fwrite(text.data, 1, text.size, file);
    bool failed = ferror(file) != 0;
    if (fclose(file) != 0 || failed)
        stop(path, "cannot be written");
}

static void fill_line(const struct page *page, const char *path, struct view line)
{
    bool marked = line.size > 2 && line.data[0] == '@' && line.data[line.size - 1] == '@';
    struct view name = {line.data + 1, line.size - 2};
    for (size_t i = 0; marked && i < sizeof marks / sizeof *marks; i++)
        if (view_is(name, marks[i].name)) {
            marks[i].add(page);
            return;
        }
    if (marked)
        stop(path, arena_format(page->out->arena, "there is no mark %.*s", VIEW(line)));
    buffer_add(page->out, line);
    buffer_byte(page->out, '\n');
}

int main(int argc, char **argv)
{
    if (argc < 3 || argc > 4) {
        fprintf(stderr, "usage: fill OUT SOURCE [COMMAND | TEXT]\n");
        return 2;
    }
    struct arena arena;
    struct buffer out;
    arena_init(&arena, NULL);
    buffer_init(&out, &arena);
    struct page page = {.out = &out};
    for (size_t i = 0; argc == 4 && i < COMMANDS; i++)
        if (view_is(view_of(argv[3]), command_table[i].name))
            page.command = &command_table[i];
    if (argc == 4 && !page.command)
        page.text = read_whole(&arena, argv[3]);
    for (struct view rest = read_whole(&arena, argv[2]); rest.size;)
        fill_line(&page, argv[2], view_take(&rest, '\n'));
    write_whole(argv[1], buffer_view(&out));
    arena_free(&arena);
    return 0;
}
