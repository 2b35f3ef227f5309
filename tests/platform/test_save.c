/* Putting a file into its place.  What happens around it is tried with the whole program: see
 * tests/cli/saving.py. */
#include <criterion/criterion.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/buffer.h"
#include "platform/platform.h"

static struct arena arena;
static char place[] = "/tmp/proveout-save.XXXXXX";

static void begin(void)
{
    arena_init(&arena, NULL);
    cr_assert(mkdtemp(place));
    cr_assert_eq(chdir(place), 0);
}

static void end(void)
{
    cr_expect_eq(system(arena_format(&arena, "rm -r %s", place)), 0);
    arena_free(&arena);
}

TestSuite(save, .init = begin, .fini = end);

static void expect_text(const char *path, const char *text)
{
    char room[64];
    int file = file_open(path);
    cr_assert_geq(file, 0, "%s", path);
    ptrdiff_t size = file_read(file, room, sizeof room);
    file_close(file);
    cr_expect(size >= 0 && view_is((struct view){room, (size_t)size}, text), "%s", path);
}

static void count(void *user, const char *name)
{
    (void)name;
    ++*(size_t *)user;
}

static size_t files(void)
{
    size_t found = 0;
    cr_expect_eq(folder_list(".", count, &found), 0);
    return found;
}

Test(save, new_and_over)
{
    cr_expect_null(save_new(&arena, "a", view_of("one")));
    cr_expect_not_null(save_new(&arena, "a", view_of("two")), "it is there already");
    expect_text("a", "one");
    cr_expect_null(save_over(&arena, "a", view_of("one"), view_of("two")));
    expect_text("a", "two");
    cr_expect_not_null(save_over(&arena, "a", view_of("one"), view_of("three")), "it says otherwise");
    expect_text("a", "two");
    cr_expect_not_null(save_over(&arena, "b", view_of(""), view_of("three")), "it is not there");
    cr_expect_null(save_private(&arena, "b", view_of("mine")));
    expect_text("b", "mine");
    cr_expect_eq(files(), 2, "and nothing beside them");
}

Test(save, given_up)
{
    struct save *save;
    cr_assert_null(save_open(&save, &arena, "a", SAVE_EITHER, false));
    cr_expect_null(save_replaces(save));
    cr_expect_eq(file_write(save_file(save), view_of("half")), 0);
    cr_expect_eq(files(), 1);
    cr_expect_null(save_drop(save));
    cr_expect_eq(files(), 0);
}

Test(save, abandoned)
{
    struct save *save;
    cr_assert_null(save_open(&save, &arena, "a", SAVE_NEW, true));
    save_abandon();
    cr_expect_eq(files(), 0);
}

Test(save, of_what_it_would_replace)
{
    struct save *save;
    struct file_about about;
    cr_expect_null(save_new(&arena, "a", view_of("one")));
    cr_assert(file_about("a", &about));
    cr_assert_null(save_open(&save, &arena, "a", SAVE_OLD, false));
    const struct file_identity *old = save_replaces(save);
    cr_expect(old && file_is_identical(old, &about.identity));
    cr_expect_eq(file_write(save_file(save), view_of("two")), 0);
    cr_expect_null(save_finish(save, NULL));
    expect_text("a", "two");
}
