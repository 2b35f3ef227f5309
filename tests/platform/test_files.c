/* Files and folders as both halves have them. */
#include <criterion/criterion.h>
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/buffer.h"
#include "platform/platform.h"

static struct arena arena;
static char place[] = "/tmp/proveout-files.XXXXXX";

static void begin(void)
{
    arena_init(&arena, NULL);
    cr_assert(mkdtemp(place));
    cr_assert_eq(chdir(place), 0);
    cr_assert(folder_make(&arena, arena_format(&arena, "%s/shop/mill", place)));
    cr_assert_null(save_new(&arena, "shop/mill/a.yaml", view_of("machine:\n")));
}

static void end(void)
{
    cr_expect_eq(system(arena_format(&arena, "rm -r %s", place)), 0);
    arena_free(&arena);
}

TestSuite(files, .init = begin, .fini = end);

static bool opens_below(const char *folder, const char *path, int error)
{
    int file = file_open_below(&arena, folder, view_of(path));
    if (file >= 0)
        file_close(file);
    return error ? file < 0 && errno == error : file >= 0;
}

Test(files, kinds)
{
    struct file_about about;
    cr_assert(file_about("shop/mill/a.yaml", &about));
    cr_expect_eq(about.kind, FILE_PLAIN);
    cr_expect_eq(about.size, 9);
    cr_expect(file_is_folder("shop"));
    cr_expect_not(file_is_plain("shop"));
    cr_expect_not(file_about("shop/none", &about));
    cr_expect_eq(errno, ENOENT);
    cr_assert_eq(symlink("nowhere", "shop/link"), 0);
    cr_expect(file_is_there("shop/link"), "a link that leads nowhere is there");
    cr_expect_not(file_about("shop/link", &about));
    cr_assert(file_about_link("shop/link", &about));
    cr_expect_eq(about.kind, FILE_LINK);
    cr_expect(file_is_same("shop/mill/a.yaml", "./shop//mill/../mill/a.yaml"));
    cr_expect_not(file_is_same("shop", "shop/mill"));
}

Test(files, below)
{
    cr_assert_eq(symlink("mill", "shop/inside"), 0);
    cr_assert_eq(symlink("a.yaml", "shop/mill/b.yaml"), 0);
    cr_expect(opens_below("shop", "mill/a.yaml", 0));
    cr_expect(opens_below("shop/inside", "a.yaml", 0), "the folder itself may be named by a link");
    cr_expect(opens_below("shop", "mill//a.yaml", 0));
    cr_expect(opens_below("shop", "inside/a.yaml", ENOTDIR) || errno == ELOOP);
    cr_expect(opens_below("shop", "mill/b.yaml", ELOOP));
    cr_expect(opens_below("shop", "mill/a.yaml/c", ENOTDIR));
    cr_expect(opens_below("shop", "mill/none", ENOENT));
}

static void count(void *user, const char *name)
{
    size_t *found = user;
    cr_expect_str_eq(name, "mill");
    (*found)++;
}

Test(files, listing)
{
    size_t found = 0;
    cr_expect_eq(folder_list("shop", count, &found), 0);
    cr_expect_eq(found, 1);
    cr_expect_eq(folder_list("none", count, &found), ENOENT);
}

Test(files, logs_grow_at_their_end)
{
    char text[16] = "";
    for (int i = 0; i < 2; i++) {
        int log = file_open_log("shop/log", false);
        cr_assert_geq(log, 0);
        cr_expect_eq(file_write(log, view_of(i ? "two\n" : "one\n")), 0);
        cr_expect_eq(file_sync(log), 0);
        cr_expect_eq(file_read_at(log, text, sizeof text, 4 * (uint64_t)i), 4);
        cr_expect_eq(file_close(log), 0);
    }
    cr_expect_eq(memcmp(text, "two\n", 4), 0);
    cr_assert_eq(symlink("log", "shop/other"), 0);
    cr_expect_eq(file_open_log("shop/other", false), -1);
    cr_expect_eq(errno, ELOOP);
}

Test(files, whole_paths)
{
    const char *here = path_whole(&arena, ".");
    cr_assert(here && path_is_whole(here));
    cr_expect_str_eq(path_whole(&arena, "shop/../shop/mill"), arena_format(&arena, "%s/shop/mill", here));
    cr_expect_null(path_whole(&arena, "none"));
    cr_expect_str_eq(path_here(&arena), here);
}
