/* Parts of paths that strangers write: what a file is called on one system and something else is on
 * another is refused on both.  The names of devices, and what ends a name there, are those of
 * Microsoft's "Naming Files, Paths, and Namespaces" (learn.microsoft.com, Win32 file I/O). */
#include <criterion/criterion.h>

#include "platform/platform.h"

static const char *wrong(const char *part)
{
    return path_wrong_part(view_of(part));
}

Test(path, parts_that_are_files)
{
    static const char *const fine[] = {
        "machine.yaml", ".", "settings", "ä.ini", "con-figuration.txt", "nullify.yaml",
        "com.yaml",     "COM", "com10.yaml", "lptx", "a b.yaml", ".hidden", "aux-table.yaml"};
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++)
        cr_expect_null(wrong(fine[i]), "%s: %s", fine[i], wrong(fine[i]));
}

Test(path, parts_that_are_none)
{
    static const char *const refused[] = {
        "..",       "C:",         "C:x.yaml", "machine.yaml:other", "..\\x.yaml", "a\\b",
        "NUL",      "nul.yaml",   "Con",      "con .txt",           "AUX",        "prn.a.b",
        "COM1",     "com9.yaml",  "LPT0",     "CONIN$",             "conout$",    "COM\xc2\xb9.txt",
        "x.yaml.",  "x.yaml ",    "...",
    };
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        cr_expect_not_null(wrong(refused[i]), "%s", refused[i]);
    cr_expect_not_null(path_wrong_part((struct view){"a\0b", 3}));
}

Test(path, folders)
{
    static const struct {
        const char *path, *folder;
    } known[] = {{"machine.yaml", "."}, {"./machine.yaml", "."}, {"shop/machine.yaml", "shop"},
                 {"/machine.yaml", "/"}, {"/shop/mill/", "/shop"}, {"shop//machine.yaml", "shop"}};
    struct arena arena;
    arena_init(&arena, NULL);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++)
        cr_expect_str_eq(path_parent(&arena, known[i].path), known[i].folder, "%s", known[i].path);
    arena_free(&arena);
}

Test(path, extensions)
{
    cr_expect(path_has_extension("a/Sheet.SVG", ".svg"));
    cr_expect(path_has_extension("sheet.html", ".html"));
    cr_expect_not(path_has_extension("sheet.html/x", ".html"));
    cr_expect_not(path_has_extension("html", ".html"));
    cr_expect_not(path_has_extension("a/.html", ".html"), "hidden, and called nothing");
}
