/* Finding policies and reading them. */
#include "cli/shop_policy.h"

#include <string.h>

#include "cli/shop.h"
#include "text/escape.h"

enum { FOLDERS_UP = 64 };

/* The folder above, by its name where that tells. */
static const char *above(struct arena *arena, const char *folder)
{
    const char *slash = strrchr(folder, '/');
    const char *last = slash ? slash + 1 : folder;
    bool is_plain = *last && strcmp(last, ".") != 0 && strcmp(last, "..") != 0;
    if (is_plain && slash && slash != folder)
        return input_folder_of(arena, folder);
    if (is_plain)
        return slash ? "/" : ".";
    return arena_format(arena, "%s%s..", folder, *last ? "/" : "");
}

/* NULL: none holds. */
static const char *find_policy(struct arena *arena, const struct input *input, const char *root)
{
    const char *folder = input_folder_of(arena, input->path);
    const char *top = root ? root : input->from ? input->from : folder;
    for (int i = 0; i < FOLDERS_UP; i++) {
        const char *path = arena_format(arena, "%s/%s", folder, POLICY_NAME);
        if (strncmp(path, "./", 2) == 0)
            path += 2;
        if (file_is_there(path))
            return path;
        const char *next = above(arena, folder);
        if (file_is_same(folder, top) || file_is_same(folder, next))
            return NULL;
        folder = next;
    }
    return NULL;
}

/* Reads the rulebooks that a policy names, which lie beside it or below, after those of the
 * run. */
static bool read_books(struct run *run, const struct books *books, struct shop_policy *out)
{
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    struct beside beside = {out->policy.name};
    const char *folder = input_folder_of(run->arena, out->policy.name), *why;
    size_t count = books->own.count;
    struct rulebook_text *texts =
        ARENA_ARRAY(run->arena, struct rulebook_text, count + out->policy.rulebook_count + 1);
    for (size_t i = 0; i < count; i++)
        texts[i] = books->own.items[i];
    for (size_t i = 0; i < out->policy.rulebook_count; i++) {
        struct view path = out->policy.rulebooks[i]->text, bytes;
        const char *name = arena_format(run->arena, "%s/%.*s", folder, VIEW(path));
        if (!beside_read(&beside, run->arena, path, &bytes, &why)) {
            run_refuse(run, "rulebook %s, which %s names, cannot be read: %s", name,
                       out->policy.name, why);
            return false;
        }
        texts[count++] = (struct rulebook_text){name, bytes.data ? bytes.data : "", bytes.size};
    }
    out->books = (struct books){
        .list = {&builtin_rulebook},
        .count = 1,
        .own = {.items = texts, .count = count},
        .policy = &out->policy,
    };
    if (!count)
        return true;
    struct rulebook *book = ARENA_NEW(run->arena, struct rulebook);
    if (!rulebook_load_own(&mistakes, texts, count, book)) {
        books_complain(run, &mistakes);
        return false;
    }
    out->books.list[out->books.count++] = book;
    return true;
}

static const struct shop_policy *read_policy(struct run *run, const struct books *books,
                                             const char *path)
{
    struct rulebook_mistakes mistakes = {.arena = run->arena};
    struct shop_policy *policy = ARENA_NEW(run->arena, struct shop_policy);
    struct file_about about;
    struct view bytes;
    const char *why = "it is no plain file";
    if (!file_about_link(path, &about) || about.kind != FILE_PLAIN ||
        !input_read_file(path, SOURCE_SIZE_MAX, run->arena, &bytes, &why)) {
        run_refuse(run, "%s cannot be read: %s", path, why);
        return NULL;
    }
    if (policy_read(&mistakes, path, bytes, &policy->policy)) {
        if (!read_books(run, books, policy))
            return NULL;
        if (policy_fits(&mistakes, &policy->policy, policy->books.list, policy->books.count))
            return policy;
    }
    books_complain(run, &mistakes);
    return NULL;
}

bool shop_books_load(struct run *run, const char *path, struct books *out)
{
    if (!books_load(run, out))
        return false;
    if (!path || strcmp(path, "-") == 0)
        return true;
    const struct input input = {.path = path};
    const char *found = find_policy(run->arena, &input, run->options.values[OPTION_ROOT].text);
    const struct shop_policy *policy = found ? read_policy(run, out, found) : NULL;
    if (policy)
        *out = policy->books;
    return policy || !found;
}

bool shop_policies_read(struct run *run, const struct books *books,
                        const struct file_list *files, struct shop_policies *out)
{
    const char *root = run->options.values[OPTION_ROOT].text;
    size_t count = files->items.count;
    *out = (struct shop_policies){0};
    out->files = ARENA_ARRAY(run->arena, const struct shop_policy *, count + 1);
    for (size_t i = 0; i < count; i++) {
        const struct input *input = &files->items.items[i];
        const char *path = input->standard ? NULL : find_policy(run->arena, input, root);
        for (size_t k = 0; path && k < out->items.count && !out->files[i]; k++)
            if (strcmp(out->items.items[k]->policy.name, path) == 0)
                out->files[i] = out->items.items[k];
        if (!path || out->files[i])
            continue;
        out->files[i] = read_policy(run, books, path);
        if (!out->files[i])
            return false;
        VECTOR_ADD(run->arena, &out->items, out->files[i]);
    }
    return true;
}

bool shop_policy_changed(struct arena *arena, const struct shop_policy *policy,
                         const struct since *since, size_t index)
{
    const char *folder = input_folder_of(arena, policy->policy.name);
    bool changed = since_touches(since, index, policy->policy.name);
    for (size_t i = 0; i < policy->policy.rulebook_count && !changed; i++) {
        struct view path = policy->policy.rulebooks[i]->text;
        changed =
            since_touches(since, index, arena_format(arena, "%s/%.*s", folder, VIEW(path)));
    }
    return changed;
}

/* What cannot be read counts as one: nobody knows. */
static bool is_machine(struct arena *arena, const struct input *input)
{
    struct arena *scratch = arena_new_within(arena);
    struct view bytes;
    const char *why;
    bool is_one =
        input->standard || input_read(input, scratch, &bytes, &why) != INPUT_PASSED_OVER;
    arena_guest_end(arena, scratch);
    return is_one;
}

/* Adds a policy and a line for each machine that it holds for; nothing where there is none.
 * NULL: the machines without one. */
static void tell_files(struct buffer *out, const struct shop_policies *policies,
                       const struct file_list *files, const struct shop_policy *policy,
                       const char *line)
{
    size_t count = 0;
    for (size_t i = 0; i < files->items.count; i++) {
        if (policies->files[i] != policy || !is_machine(out->arena, &files->items.items[i]))
            continue;
        if (policy && !count++) {
            escape_terminal(out, view_of(policy->policy.name));
            buffer_text(out, ":\n");
            policy_tell(out, &policy->policy);
        }
        buffer_text(out, line);
        escape_terminal(out, view_of(files->items.items[i].path));
        buffer_byte(out, '\n');
    }
}

void shop_policies_tell(struct buffer *out, const struct shop_policies *policies,
                        const struct file_list *files)
{
    for (size_t k = 0; k < policies->items.count; k++)
        tell_files(out, policies, files, policies->items.items[k], "  holds for ");
    tell_files(out, policies, files, NULL, "no policy holds for ");
}
