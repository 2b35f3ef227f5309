/* Asking about one cutter: one that is in the list, or one that is added to it. */
#include "cli/revise_internal.h"

#include <string.h>

#include "text/escape.h"

enum { NAME_CELLS = 60, NAMED_MOST = 12 };

static const struct field_value *value_of(const struct revision *revision, enum field_id id,
                                          uint32_t cutter)
{
    return machine_field(&revision->now->machine, id, cutter);
}

/* "3 (ball nose)" */
static const char *called(const struct revision *revision, uint32_t cutter)
{
    struct arena *arena = revision->run->arena;
    const struct field_value *number = value_of(revision, FIELD_CUTTER_NUMBER, cutter);
    const struct field_value *name = value_of(revision, FIELD_CUTTER_DESCRIPTION, cutter);
    const char *text = number->state == VALUE_GIVEN
                           ? field_value_text(arena, FIELD_CUTTER_NUMBER, number)
                           : "one without a number";
    return name->state == VALUE_GIVEN
               ? arena_format(arena, "%s (%s)", text,
                              escape_short(arena, name->text, NAME_CELLS))
               : text;
}

/* "there are 1 (flat 6 mm), 3 (ball nose)" */
static const char *what_there_is(const struct revision *revision)
{
    uint32_t count = revision->now->machine.groups[GROUP_CUTTER].count;
    struct buffer out;
    buffer_init(&out, revision->run->arena);
    for (uint32_t i = 0; i < count && i < NAMED_MOST; i++)
        buffer_format(&out, "%s%s",
                      i           ? ", "
                      : count > 1 ? "there are "
                                  : "there is ",
                      called(revision, i));
    if (count > NAMED_MOST)
        buffer_format(&out, " and %u more", count - NAMED_MOST);
    return count ? buffer_string(&out) : "there are none";
}

static bool is_meant(const struct revision *revision, uint32_t cutter, struct view word)
{
    const struct field_value *number = value_of(revision, FIELD_CUTTER_NUMBER, cutter);
    const struct field_value *name = value_of(revision, FIELD_CUTTER_DESCRIPTION, cutter);
    return (number->state == VALUE_GIVEN &&
            view_is(word,
                    field_value_text(revision->run->arena, FIELD_CUTTER_NUMBER, number))) ||
           (name->state == VALUE_GIVEN && view_equal(name->text, word));
}

/* The cutter that a word means; false: said why none. */
static bool find_cutter(const struct revision *revision, const char *word, uint32_t *cutter)
{
    size_t found = 0;
    const char *shown = escape_short(revision->run->arena, view_of(word), NAME_CELLS);
    for (uint32_t i = revision->now->machine.groups[GROUP_CUTTER].count; i-- > 0;)
        if (is_meant(revision, i, view_of(word))) {
            *cutter = i;
            found++;
        }
    if (!found)
        run_refuse(revision->run, "there is no cutter %s in %s; %s", shown, revision->path,
                   what_there_is(revision));
    else if (found > 1)
        run_refuse(revision->run,
                   "%zu cutters in %s are called %s; give each a number of its own first",
                   found, revision->path, shown);
    return found == 1;
}

/* The file in which some of the cutters stand, where that is not the machine's own; NULL: all
 * stand in that one. */
static const char *elsewhere(const struct revision *revision)
{
    const struct machine_file *file = revision->now;
    struct arena *arena = revision->run->arena;
    const struct tree_node *own = tree_child(file->own.root, view_of("cutters"));
    uint32_t count = file->machine.groups[GROUP_CUTTER].count;
    struct source *source;
    if (file->tree.root == file->own.root)
        return NULL;
    for (uint32_t i = 0; i < count; i++) {
        const char *path = arena_format(arena, "cutters[%u]", i);
        if (tree_path_at_home(arena, &file->tree, view_of(path), &source) &&
            source != &file->source)
            return arena_copy(arena, source->name.data, source->name.size);
    }
    return own && own->kind == TREE_MAP ? "another file" : NULL;
}

/* What was answered counts as set. */
static void note_set(struct revision *revision, uint32_t cutter)
{
    for (unsigned id = 0; id < FIELD_COUNT; id++)
        if (field_table[id].group == GROUP_CUTTER)
            VECTOR_ADD(revision->run->arena, &revision->set,
                       (struct field_place){id, cutter, 0});
}

static enum revise_end ask_about(struct revision *revision, uint32_t cutter)
{
    const struct ask_record record = {GROUP_CUTTER, cutter};
    struct dialogue dialogue;
    struct view bytes;
    say_cautions(revision);
    dialogue_init(&dialogue, revision);
    dialogue.setup.record = &record;
    dialogue.strict = true;
    if (!dialogue_run(&dialogue))
        return REVISE_STOPPED;
    const char *wrong = ask_file(dialogue.ask, &bytes);
    if (wrong) {
        run_refuse(revision->run, "%s", wrong);
        return REVISE_REFUSED;
    }
    if (view_equal(bytes, revision->now->bytes))
        return REVISE_ASKED;
    struct arena *arena = revision->run->arena;
    bytes = (struct view){arena_copy(arena, bytes.data, bytes.size), bytes.size};
    revision->now = machine_file_with(arena, revision->now, bytes);
    note_set(revision, cutter);
    return REVISE_ASKED;
}

/* False: said why not. */
static bool may_ask(const struct revision *revision)
{
    const char *file = elsewhere(revision);
    if (file)
        run_refuse(
            revision->run,
            "the cutters of %s stand in %s, for all who take them from there: add or change them in that file, or set one field with FIELD=VALUE",
            revision->path, file);
    else if (revision->now->machine.groups[GROUP_CUTTER].wrong ||
             revision->now->tree.status != TREE_WHOLE)
        run_refuse(revision->run,
                   "the list of cutters of %s has a mistake in it; mend that first",
                   revision->path);
    else
        return true;
    return false;
}

bool revise_ask_cutter(struct revision *revision, const char *const *words, size_t count,
                       size_t *used, enum revise_end *end)
{
    bool adds = strcmp(words[0], "add") == 0;
    uint32_t cutter = revision->now->machine.groups[GROUP_CUTTER].count;
    if (!adds && strcmp(words[0], "cutter") != 0)
        return false;
    *used = 2;
    *end = REVISE_REFUSED;
    if (adds && (count < 2 || strcmp(words[1], "cutter") != 0))
        run_refuse(revision->run, "add wants cutter after it: nothing else is added so");
    else if (count < 2 || strchr(words[1], '='))
        run_refuse(revision->run, "cutter wants the number of one after it, or what it is; %s",
                   what_there_is(revision));
    else if (may_ask(revision) && (adds || find_cutter(revision, words[1], &cutter)))
        *end = ask_about(revision, cutter);
    return true;
}
