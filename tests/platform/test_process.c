/* Other programs. */
#include <criterion/criterion.h>
#include <errno.h>
#include <unistd.h>

#include "platform/platform.h"

Test(process, what_it_writes)
{
    const char *const arguments[] = {"echo", "a \"b\" \\", NULL};
    struct process echo;
    char text[32];
    int out;
    cr_assert_eq(process_start(&echo, arguments, &out), 0);
    cr_expect_eq(file_read(out, text, sizeof text), 8);
    cr_expect_eq(memcmp(text, "a \"b\" \\\n", 8), 0);
    cr_expect_eq(file_read(out, text, sizeof text), 0);
    file_close(out);
    cr_expect(process_end(&echo));
}

Test(process, how_it_ends)
{
    const char *const fails[] = {"false", NULL}, *const none[] = {"proveout-no-such-program", NULL};
    struct process process;
    int out;
    cr_assert_eq(process_start(&process, fails, &out), 0);
    file_close(out);
    cr_expect_not(process_end(&process));
    cr_expect_eq(process_start(&process, none, &out), ENOENT);
}

Test(process, who_is_there)
{
    cr_expect(process_is_there(getpid()));
}
