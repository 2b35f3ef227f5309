/* The machines of a run that share files.
 *
 * Two names are one file where the system says so: people write `./cutters.yaml` and
 * `cutters.yaml`.  Most files take in nothing and are only looked at for the words that would
 * say so.
 */
#include "cli/shop.h"

#include <string.h>
#include <sys/stat.h>

#include "base/buffer.h"

/* Is a word anywhere in it, in whatever meaning? */
static bool has_word(struct view bytes, const char *word)
{
    size_t size = strlen(word);
    const char *at = bytes.data, *end = bytes.data + bytes.size;
    while (at && (size_t)(end - at) >= size) {
        at = memchr(at, word[0], (size_t)(end - at) - size + 1);
        if (!at || memcmp(at, word, size) == 0)
            return at != NULL;
        at++;
    }
    return false;
}

/* Reads a file again and again where that can be done; false: it cannot. */
static bool read_plain(struct arena *arena, const struct input *input, struct view *bytes)
{
    struct stat about;
    const char *why;
    return !input->standard && !input->failure && stat(input->path, &about) == 0 &&
           S_ISREG(about.st_mode) && input_read(input, arena, bytes, &why) == INPUT_READ;
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
    if (read_plain(scratch, input, &bytes) &&
        (has_word(bytes, "extends") || has_word(bytes, "from")) &&
        tree_takes_files(tree_of(scratch, view_of(input->path), bytes)))
        file = read_whole(arena, input,
                          (struct view){arena_copy(arena, bytes.data, bytes.size), bytes.size},
                          root);
    arena_free(scratch);
    return file;
}

bool is_same_file(const char *a, const char *b)
{
    struct stat one, other;
    return stat(a, &one) == 0 && stat(b, &other) == 0 && one.st_dev == other.st_dev &&
           one.st_ino == other.st_ino;
}

bool shop_takes(struct arena *arena, const struct machine_file *file, const char *path)
{
    for (const struct source *source = file->source.next; source; source = source->next)
        if (is_same_file(arena_copy(arena, source->name.data, source->name.size), path))
            return true;
    return false;
}

/* --- the survey --- */

/* A file of which a machine is read. */
struct identity {
    dev_t device;
    ino_t number;
    size_t member; /* whose */
};

/* What one member is read of, besides its own file: a stretch of those that are taken in. */
struct reading {
    bool is_known;
    struct identity own;
    size_t first, count;
};

struct survey {
    struct arena *arena;
    const struct file_list *files;
    const char *root;
    struct shop_member *members;
    struct reading *readings;      /* of each */
    VECTOR(struct identity) taken; /* those that members take in */
};

static bool identify(const char *path, size_t member, struct identity *out)
{
    struct stat about;
    if (stat(path, &about) != 0)
        return false;
    *out = (struct identity){about.st_dev, about.st_ino, member};
    return true;
}

static void add_taken(struct survey *survey, size_t member)
{
    const struct machine_file *file = survey->members[member].file;
    struct identity identity;
    survey->readings[member].first = survey->taken.count;
    for (const struct source *source = file->source.next; source; source = source->next)
        if (identify(arena_copy(survey->arena, source->name.data, source->name.size), member,
                     &identity)) {
            VECTOR_ADD(survey->arena, &survey->taken, identity);
            survey->readings[member].count++;
        }
}

static bool is_identical(const struct identity *a, const struct identity *b)
{
    return a->device == b->device && a->number == b->number;
}

/* A file that others take in: a machine itself, or what is one only with them. */
static void look_at_taken(struct survey *survey, size_t index)
{
    struct shop_member *member = &survey->members[index];
    const struct input *input = &survey->files->items.items[index];
    struct reading *reading = &survey->readings[index];
    struct buffer takers;
    struct view bytes;
    size_t last = index;
    buffer_init(&takers, survey->arena);
    if (!survey->taken.count || input->standard)
        return;
    reading->is_known = identify(input->path, index, &reading->own);
    for (size_t i = 0; i < survey->taken.count; i++) {
        size_t taker = survey->taken.items[i].member;
        bool is_this = is_identical(&survey->taken.items[i], &reading->own);
        if (!reading->is_known || !is_this || taker == last)
            continue;
        last = taker;
        buffer_format(&takers, "%s%s", takers.size ? ", " : "",
                      survey->files->items.items[taker].path);
    }
    if (!takers.size || (!member->file && !read_plain(survey->arena, input, &bytes)))
        return;
    if (!member->file)
        member->file = read_whole(survey->arena, input, bytes, survey->root);
    const struct tree *tree = &member->file->tree;
    bool is_machine = tree->root && tree_at(tree, view_of("machine.name"));
    if (input->walked && !is_machine)
        member->shared_by = buffer_string(&takers);
}

static bool takes_in(const struct survey *survey, const struct reading *reading,
                     const struct identity *wanted)
{
    for (size_t i = 0; i < reading->count; i++)
        if (is_identical(&survey->taken.items[reading->first + i], wanted))
            return true;
    return false;
}

/* Is there a file of which both are read? */
static bool share_one(const struct survey *survey, size_t one, size_t other)
{
    const struct reading *a = &survey->readings[one], *b = &survey->readings[other];
    if (!a->is_known || !b->is_known || is_identical(&a->own, &b->own))
        return false;
    bool shares = takes_in(survey, a, &b->own) || takes_in(survey, b, &a->own);
    for (size_t i = 0; i < a->count && !shares; i++)
        shares = takes_in(survey, b, &survey->taken.items[a->first + i]);
    return shares;
}

/* What the machines before one say of their cutters. */
static void gather_cutters(struct survey *survey, size_t index)
{
    struct shop_member *member = &survey->members[index];
    struct shared_cutters *cutters = ARENA_NEW(survey->arena, struct shared_cutters);
    for (size_t i = 0; i < index && member->file && !member->shared_by; i++) {
        struct shop_member *other = &survey->members[i];
        if (other->file && !other->shared_by && share_one(survey, i, index))
            share_gather(survey->arena, &other->file->machine, &other->file->source, cutters);
    }
    if (cutters->items.count)
        member->cutters = cutters;
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
        .readings = ARENA_ARRAY(arena, struct reading, count),
    };
    for (size_t i = 0; i < count; i++) {
        survey.members[i].file = shop_read(arena, &files->items.items[i], root);
        if (survey.members[i].file)
            add_taken(&survey, i);
    }
    for (size_t i = 0; i < count; i++)
        look_at_taken(&survey, i);
    for (size_t i = 0; i < count; i++)
        gather_cutters(&survey, i);
    return survey.members;
}
