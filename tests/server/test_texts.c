/* Texts as an editor has them, what was touched in them, and the names of their files. */
#include <criterion/criterion.h>
#include <stdio.h>

#include "server/open_files.h"
#include "server/uri.h"

static struct open_files files_in(struct arena *arena)
{
    arena_init(arena, NULL);
    return (struct open_files){.arena = arena};
}

static void expect_touched(const struct open_file *file, const char *wanted)
{
    char given[4096] = "";
    for (size_t i = 0; i < file->touched_count; i++)
        snprintf(given + strlen(given), sizeof given - strlen(given), "%zu-%zu ",
                 file->touched[i].start, file->touched[i].end);
    cr_expect(strcmp(given, wanted) == 0, "touched: %s, not %s", given, wanted);
}

Test(texts, changes)
{
    struct arena arena;
    struct open_files files = files_in(&arena);
    struct open_file *file = open_files_add(&files, "untitled:a", view_of("0123456789"));
    expect_touched(file, "");
    open_file_change(&files, file, (struct proveout_span){2, 4}, view_of("abc"));
    cr_expect(view_is(open_file_text(file), "01abc456789"));
    expect_touched(file, "2-5 ");
    open_file_change(&files, file, (struct proveout_span){9, 9}, view_of("X"));
    cr_expect(view_is(open_file_text(file), "01abc4567X89"));
    expect_touched(file, "2-5 9-10 ");
    open_file_change(&files, file, (struct proveout_span){0, 1}, view_of(""));
    cr_expect(view_is(open_file_text(file), "1abc4567X89"));
    expect_touched(file, "0-0 1-4 8-9 ");
    open_file_change(&files, file, (struct proveout_span){3, 8}, view_of("-"));
    cr_expect(view_is(open_file_text(file), "1ab-X89"));
    expect_touched(file, "0-0 1-5 ");
    open_file_replace(&files, file, view_of("1ab-Y89"));
    expect_touched(file, "0-0 1-5 ");
    open_file_replace(&files, file, view_of("1ab-Y8"));
    expect_touched(file, "0-0 1-5 6-6 ");
    open_file_replace(&files, file, view_of(""));
    cr_expect(open_file_text(file).size == 0 && files.sizes == 0);
    open_files_add(&files, "untitled:a", view_of("anew"));
    expect_touched(file, "");
    cr_expect(files.items.count == 1 && files.sizes == 4);
    open_files_end(&files);
    cr_expect(files.sizes == 0);
    arena_free(&arena);
}

/* However many: never more places than there is room for, in order and apart, with all that is new
 * in them. */
Test(texts, touched_at_random)
{
    static char text[20000];
    struct arena arena;
    struct open_files files = files_in(&arena);
    memset(text, '.', sizeof text);
    struct open_file *file =
        open_files_add(&files, "untitled:a", (struct view){text, sizeof text});
    unsigned long long state = 7;
    for (size_t i = 0; i < 3000; i++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        size_t start = (state >> 33) % (file->size - 20), size = (state >> 20) % 9;
        open_file_change(&files, file, (struct proveout_span){start, start + size},
                         (struct view){"xxxxxxxxx", (state >> 40) % 9});
        cr_assert(file->touched_count <= TOUCHED_MAX);
        for (size_t k = 0; k + 1 < file->touched_count; k++)
            cr_assert(file->touched[k].end < file->touched[k + 1].start);
    }
    size_t place = 0;
    for (size_t i = 0; i < file->size; i++) {
        while (place < file->touched_count && file->touched[place].end <= i)
            place++;
        bool is_touched = place < file->touched_count && file->touched[place].start <= i;
        cr_assert(file->text[i] == '.' || is_touched, "byte %zu", i);
    }
    open_files_end(&files);
    arena_free(&arena);
}

Test(texts, too_large)
{
    struct arena arena;
    struct open_files files = files_in(&arena);
    char *text = arena_zero(&arena, OPEN_SIZE_MAX + 1, 1);
    struct open_file *file = open_files_add(&files, "untitled:a", view_of("x"));
    open_file_replace(&files, file, (struct view){text, OPEN_SIZE_MAX + 1});
    cr_expect(file->trouble == OPEN_TOO_LARGE && file->size == 0 && files.sizes == 0);
    open_file_change(&files, file, (struct proveout_span){0, 0}, view_of("y"));
    cr_expect(file->size == 0);
    open_file_replace(&files, file, view_of("z"));
    cr_expect(file->trouble == OPEN_FINE && view_is(open_file_text(file), "z"));
    for (size_t i = 0; i < OPEN_SIZES_MAX / OPEN_SIZE_MAX; i++) {
        char uri[32];
        snprintf(uri, sizeof uri, "untitled:%zu", i);
        file = open_files_add(&files, uri, (struct view){text, OPEN_SIZE_MAX});
    }
    cr_expect(file->trouble == OPEN_TOO_LARGE && files.sizes <= OPEN_SIZES_MAX);
    open_files_end(&files);
    arena_free(&arena);
}

struct named {
    const char *uri, *path;
};

static const struct named named[] = {
    {"file:///a/b.yaml", "/a/b.yaml"},
    {"file://localhost/a", "/a"},
    {"file:/a/b", "/a/b"},
    {"file:///", "/"},
    {"file:///a/./b//c/../d%20e%25", "/a/b/d e%"},
    {"file:///../../a", "/a"},
    {"file:///a/..", "/"},
    {"file:///a%2fb", "/a/b"},
    {"file:///%c3%A9", "/\xc3\xa9"},
    {"file://server/a", NULL},
    {"file://server", NULL},
    {"file://", NULL},
    {"file:a", NULL},
    {"file:///a%", NULL},
    {"file:///a%4", NULL},
    {"file:///a%00b", NULL},
    {"file:///a%zz", NULL},
    {"file:///a#b", NULL},
    {"file:///a?b", NULL},
    {"untitled:Untitled-1", NULL},
    {"http://localhost/a", NULL},
    {"", NULL},
};

Test(texts, uris)
{
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof named / sizeof *named; i++) {
        const char *path = uri_path(&arena, named[i].uri);
        cr_expect(path ? named[i].path && strcmp(path, named[i].path) == 0 : !named[i].path,
                  "%s: %s", named[i].uri, path ? path : "none");
        if (path)
            cr_expect_str_eq(uri_path(&arena, uri_of(&arena, path)), path);
    }
    arena_free(&arena);
}

static const struct {
    const char *folder, *path, *wanted;
} below[] = {
    {"/a", "b.yaml", "/a/b.yaml"}, {"/a", "./b//c", "/a/b/c"}, {"/", "b", "/b"},
    {"/a", "../b", NULL},          {"/a", "b/../../c", NULL},  {"/a", "/a/b", NULL},
    {"/a", "", NULL},              {"/a", ".", NULL},          {"/a", "b/../c", NULL},
};

Test(texts, below)
{
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof below / sizeof *below; i++) {
        const char *path = path_below(&arena, below[i].folder, below[i].path);
        cr_expect(path ? below[i].wanted && strcmp(path, below[i].wanted) == 0
                       : !below[i].wanted,
                  "%s", below[i].path);
    }
    cr_expect(path_lies_in("/a/b", "/a") && path_lies_in("/a", "/a") && path_lies_in("/a", "/"));
    cr_expect(!path_lies_in("/ab", "/a") && !path_lies_in("/a", "/a/b"));
    arena_free(&arena);
}
