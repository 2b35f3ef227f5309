#include "cli/opened.h"

#include "cli/shop_policy.h"

const struct opened *opened_machine(struct run *run, const char *path)
{
    struct opened *opened = ARENA_NEW(run->arena, struct opened);
    opened->file = ARENA_NEW(run->arena, struct machine_file);
    if (!shop_books_load(run, path, &opened->books) ||
        !run_read_machine(run, path, opened->file))
        return NULL;
    opened->beside = (struct beside){opened->file->path};
    opened->agreements = (struct file_reader){&opened->beside, beside_read};
    opened->checking = (struct check_options){
        .books = opened->books.list,
        .book_count = opened->books.count,
        .today = run_today(run),
        .policy = opened->books.policy,
        .agreements = &opened->agreements,
        .shared = opened->file->shared,
    };
    return opened;
}
