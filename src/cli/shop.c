/* The machines of a run that share files.
 *
 * Two names are one file where the system says so: people write `./cutters.yaml` and
 * `cutters.yaml`.  Most files take in nothing, and their bytes say so.
 */
#include "cli/shop.h"

#include <stdlib.h>

#include "base/buffer.h"

/* Reads a file again and again where that can be done; false: it cannot. */
static bool read_plain(struct arena *arena, const struct input *input, struct view *bytes)
{
    const char *why;
    return !input->standard && !input->failure && file_is_plain(input->path) &&
           input_read(input, arena, bytes, &why) == INPUT_READ;
}

static struct machine_file *read_whole(struct arena *arena, const struct input *input,
                                       struct view bytes, const char *root)
{
    struct machine_file *file = ARENA_NEW(arena, struct machine_file);
    struct shelf *shelf = ARENA_NEW(arena, struct shelf);
    shelf_set(shelf, arena, input, root);
    machine_file_read(arena, input->path, bytes, &shelf->files, file);
    return file;
}

struct machine_file *shop_read(struct arena *arena, const struct input *input, const char *root)
{
    struct view bytes;
    struct arena *scratch = arena_new_within(arena);
    struct machine_file *file = NULL;
    if (read_plain(scratch, input, &bytes) && tree_may_take_files(bytes) &&
        tree_takes_files(tree_of(scratch, view_of(input->path), bytes)))
        file = read_whole(arena, input,
                          (struct view){arena_copy(arena, bytes.data, bytes.size), bytes.size},
                          root);
    arena_free(scratch);
    return file;
}

bool shop_takes(struct arena *arena, const struct machine_file *file, const char *path)
{
    for (const struct source *source = file->source.next; source; source = source->next)
        if (file_is_same(arena_copy(arena, source->name.data, source->name.size), path))
            return true;
    return false;
}

/* --- the survey --- */

/* False: there is no such file. */
static bool identify(const char *path, struct file_identity *out)
{
    struct file_about about;
    bool is_there = file_about(path, &about);
    if (is_there)
        *out = about.identity;
    return is_there;
}

bool shop_member_uses(const struct shop_member *member, const char *path)
{
    struct file_identity wanted;
    if (!member->shares || !identify(path, &wanted))
        return false;
    bool uses = !member->shared_by && file_is_identical(&member->own, &wanted);
    for (size_t i = 0; i < member->taken_count && !uses; i++)
        uses = file_is_identical(&member->taken[i], &wanted);
    return uses;
}

/* What one machine says of its cutters that none before it said. */
struct said {
    struct shared_cutters cutters;
    size_t index; /* of the machine */
    struct file_identity by;
};

/* A file that machines take in: who does, and what those that go by it say of their cutters. */
struct common {
    struct file_identity identity;
    size_t last; /* member that takes it in */
    struct buffer takers;
    struct shared_cutters told; /* of all of them, each once */
    VECTOR(struct said) said;
};

struct survey {
    struct arena *arena;
    const struct file_list *files;
    const char *root;
    struct shop_member *members;
    VECTOR(struct common *) commons;
};

static struct common *find_common(const struct survey *survey,
                                  const struct file_identity *identity)
{
    for (size_t i = 0; i < survey->commons.count; i++)
        if (file_is_identical(&survey->commons.items[i]->identity, identity))
            return survey->commons.items[i];
    return NULL;
}

static void note_taken(struct survey *survey, size_t index, const struct file_identity *taken)
{
    struct common *common = find_common(survey, taken);
    if (!common) {
        common = ARENA_NEW(survey->arena, struct common);
        *common = (struct common){.identity = *taken, .last = SIZE_MAX};
        buffer_init(&common->takers, survey->arena);
        VECTOR_ADD(survey->arena, &survey->commons, common);
    }
    if (common->last != index)
        buffer_format(&common->takers, "%s%s", common->takers.size ? ", " : "",
                      survey->files->items.items[index].path);
    common->last = index;
}

/* Which files a member takes in.  What it says is read again when it is its turn: all at once
 * would fill the memory. */
static void note_member(struct survey *survey, size_t index)
{
    struct shop_member *member = &survey->members[index];
    struct arena *scratch = arena_new_within(survey->arena);
    const struct machine_file *file =
        shop_read(scratch, &survey->files->items.items[index], survey->root);
    VECTOR(struct file_identity) taken = {0};
    for (const struct source *source = file ? file->source.next : NULL; source;
         source = source->next) {
        struct file_identity identity;
        if (!identify(arena_copy(scratch, source->name.data, source->name.size), &identity))
            continue;
        note_taken(survey, index, &identity);
        VECTOR_ADD(scratch, &taken, identity);
    }
    member->shares = file != NULL;
    member->taken_count = taken.count;
    struct file_identity *kept = ARENA_ARRAY(survey->arena, struct file_identity, taken.count);
    for (size_t i = 0; i < taken.count; i++)
        kept[i] = taken.items[i];
    member->taken = kept;
    arena_guest_end(survey->arena, scratch);
}

/* A file that takes in others or is taken in; NULL: neither, or it cannot be read. */
static struct machine_file *read_member(struct survey *survey, size_t index,
                                        struct arena *scratch, const struct common *taken)
{
    const struct input *input = &survey->files->items.items[index];
    struct view bytes;
    bool is_wanted = (survey->members[index].shares || taken) && !input->standard;
    return is_wanted && read_plain(scratch, input, &bytes)
               ? read_whole(scratch, input, bytes, survey->root)
               : NULL;
}

/* The nth file that a member goes by: those that it takes in, and itself. */
static struct common *common_of(const struct survey *survey, const struct shop_member *member,
                                size_t n)
{
    return find_common(survey, n < member->taken_count ? &member->taken[n] : &member->own);
}

static int by_index(const void *a, const void *b)
{
    size_t one = (*(const struct said *const *)a)->index;
    size_t other = (*(const struct said *const *)b)->index;
    return (one > other) - (one < other);
}

/* What machines before it, which go by a file by which it goes too, say otherwise of its
 * cutters. */
static void find_differing(struct survey *survey, struct shop_member *member,
                           struct arena *scratch, const struct machine *machine)
{
    struct shared_cutters *differing = ARENA_NEW(survey->arena, struct shared_cutters);
    VECTOR(const struct said *) others = {0};
    for (size_t n = 0; n <= member->taken_count; n++) {
        const struct common *common = common_of(survey, member, n);
        for (size_t i = 0; common && i < common->said.count; i++)
            if (!file_is_identical(&common->said.items[i].by, &member->own))
                VECTOR_ADD(scratch, &others, &common->said.items[i]);
    }
    if (others.count)
        qsort(others.items, others.count, sizeof *others.items, by_index);
    for (size_t i = 0; i < others.count; i++)
        share_differing(survey->arena, machine, &others.items[i]->cutters, differing);
    if (differing->items.count)
        member->cutters = differing;
}

/* Adds what it says to what those say that go by the same files. */
static void note_cutters(struct survey *survey, const struct shop_member *member,
                         struct machine_file *file)
{
    for (size_t n = 0; n <= member->taken_count; n++) {
        struct common *common = common_of(survey, member, n);
        if (!common)
            continue;
        size_t before = common->told.items.count;
        share_gather(survey->arena, &file->machine, &file->source, &common->told);
        struct said said = {.index = (size_t)(member - survey->members), .by = member->own};
        for (size_t i = before; i < common->told.items.count; i++)
            VECTOR_ADD(survey->arena, &said.cutters.items, common->told.items.items[i]);
        if (said.cutters.items.count)
            VECTOR_ADD(survey->arena, &common->said, said);
    }
}

/* A machine itself, or what is one only with others. */
static void look_at(struct survey *survey, size_t index)
{
    struct shop_member *member = &survey->members[index];
    const struct input *input = &survey->files->items.items[index];
    bool is_known = !input->standard && identify(input->path, &member->own);
    const struct common *taken = is_known ? find_common(survey, &member->own) : NULL;
    struct arena *scratch = arena_new_within(survey->arena);
    struct machine_file *file =
        survey->commons.count ? read_member(survey, index, scratch, taken) : NULL;
    if (file) {
        const struct tree *tree = &file->tree;
        member->shares = true;
        if (taken && input->walked && !(tree->root && tree_at(tree, view_of("machine.name"))))
            member->shared_by =
                arena_copy(survey->arena, taken->takers.data, taken->takers.size);
    }
    if (file && is_known && !member->shared_by) {
        find_differing(survey, member, scratch, &file->machine);
        note_cutters(survey, member, file);
    }
    arena_guest_end(survey->arena, scratch);
}

struct shop_member *shop_survey(struct arena *arena, const struct file_list *files,
                                const char *root)
{
    size_t count = files->items.count;
    struct survey survey = {
        .arena = arena,
        .files = files,
        .root = root,
        .members = ARENA_ARRAY(arena, struct shop_member, count),
    };
    for (size_t i = 0; i < count; i++)
        note_member(&survey, i);
    for (size_t i = 0; i < count; i++)
        look_at(&survey, i);
    return survey.members;
}
