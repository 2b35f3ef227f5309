/* What a line means to whoever started the program by itself. */
#include <criterion/criterion.h>
#include <string.h>

#include "cli/doorstep.h"

static struct arena arena;
static struct doorstep door;

/* The only files there are. */
static bool is_there(const char *path)
{
    return strcmp(path, "router.yaml") == 0 || strcmp(path, "my shop/big one.yaml") == 0 ||
           strcmp(path, "stop") == 0;
}

static void begin(void)
{
    arena_init(&arena, NULL);
    door = (struct doorstep){.arena = &arena, .is_there = is_there};
}

static void end(void)
{
    arena_free(&arena);
}

TestSuite(doorstep, .init = begin, .fini = end);

static enum doorstep_wish answer(const char *line)
{
    return doorstep_answer(&door, view_of(line));
}

static void checks(const char *line, const char *path)
{
    cr_assert_eq(answer(line), DOORSTEP_CHECK, "%s", line);
    cr_assert_str_eq(door.path, path);
    cr_assert_null(door.remark);
}

Test(doorstep, a_file_is_checked)
{
    checks("router.yaml", "router.yaml");
    checks("  router.yaml\t", "router.yaml");
    checks("my shop/big one.yaml", "my shop/big one.yaml");
}

Test(doorstep, quotes_of_a_dragged_file_are_taken_off)
{
    checks("\"my shop/big one.yaml\"", "my shop/big one.yaml");
    checks(" 'router.yaml' ", "router.yaml");
    cr_assert_eq(answer("\"router.yaml'"), DOORSTEP_ASKS);
    cr_assert_eq(answer("\""), DOORSTEP_ASKS);
}

Test(doorstep, what_is_not_there_is_said_and_asked_again)
{
    cr_assert_eq(answer("ruter.yaml"), DOORSTEP_ASKS);
    cr_assert(strstr(door.remark, "ruter.yaml"));
    checks("router.yaml", "router.yaml");
    cr_assert_eq(doorstep_answer(&door, (struct view){"a\0b", 3}), DOORSTEP_ASKS);
    cr_assert_not_null(door.remark);
}

Test(doorstep, enter_alone_leaves)
{
    cr_assert_eq(answer(""), DOORSTEP_LEAVE);
    cr_assert_eq(answer("  "), DOORSTEP_LEAVE);
    cr_assert_eq(answer("\"\""), DOORSTEP_LEAVE);
    cr_assert_eq(answer("quit"), DOORSTEP_LEAVE);
    checks("stop", "stop"); /* which is a file here */
}

Test(doorstep, a_new_machine_gets_a_name)
{
    const char *first = doorstep_question(&door);
    cr_assert_eq(answer("new"), DOORSTEP_ASKS);
    cr_assert_str_neq(doorstep_question(&door), first);
    cr_assert_eq(answer("mill"), DOORSTEP_COMMISSION);
    cr_assert_str_eq(door.path, "mill.yaml");
    answer("new");
    cr_assert_eq(answer("\"the mill.YML\""), DOORSTEP_COMMISSION);
    cr_assert_str_eq(door.path, "the mill.YML");
    answer("new");
    cr_assert_eq(answer("new"), DOORSTEP_COMMISSION);
    cr_assert_str_eq(door.path, "new.yaml");
}

Test(doorstep, enter_alone_goes_back_from_the_name)
{
    const char *first = doorstep_question(&door);
    answer("new");
    cr_assert_eq(answer(""), DOORSTEP_ASKS);
    cr_assert_str_eq(doorstep_question(&door), first);
    checks("router.yaml", "router.yaml");
    cr_assert_str_neq(doorstep_question(&door), first);
}
