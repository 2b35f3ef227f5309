#include "library/document_answers.h"

#include "text/escape.h"
#include "text/utf8.h"
#include "tree/change.h"

enum { NAME_MOST = 200, SHOWN = 60 };

struct view edits_applied(struct arena *arena, struct view bytes,
                          const struct proveout_edits *edits)
{
    struct buffer out;
    size_t at = 0;
    buffer_init(&out, arena);
    for (size_t i = 0; i < edits->count; i++) {
        const struct proveout_edit *edit = &edits->list[i];
        buffer_add(&out, (struct view){bytes.data + at, edit->span.start - at});
        buffer_text(&out, edit->text);
        at = edit->span.end;
    }
    buffer_add(&out, view_skip(bytes, at));
    return buffer_view(&out);
}

/* A list of another file that this one goes through has names of its own. */
static bool can_be_renamed(const struct use *use)
{
    return use->thing == THING_INPUT || use->thing == THING_ANCHOR ||
           use->thing == THING_RECORD || use->thing == THING_DEFINITION;
}

struct use rename_at(struct proveout_document *document, struct uses *uses, uint32_t offset)
{
    uses_collect(document, uses);
    struct use use = uses_at(document, uses, offset);
    bool said = false;
    for (size_t i = 0; i < uses->list.count; i++)
        said |= uses->list.items[i].defines && use_is_of(&uses->list.items[i], &use);
    if (!can_be_renamed(&use) || !use.exact || !said)
        use.thing = THING_NONE;
    return use;
}

/* Why a name cannot be given; NULL: it can as far as its letters go. */
static const char *wrong_name(struct arena *arena, const struct use *use, const char *to)
{
    struct view name = view_of(to);
    struct field_value value;
    if (!name.size || utf8_is_blank(name))
        return "a name is wanted";
    if (name.size > NAME_MOST)
        return "that is too long for a name";
    for (size_t i = 0; i < name.size; i++)
        if ((unsigned char)name.data[i] < ' ' || name.data[i] == 0x7f)
            return "a name stands on one line";
    if (use->thing == THING_RECORD && use->group == GROUP_CUTTER)
        return field_read_text(arena, FIELD_CUTTER_NUMBER, name, &value);
    if (use->thing != THING_ANCHOR && use->thing != THING_DEFINITION)
        return NULL;
    for (size_t i = 0; i < name.size; i++) {
        char c = name.data[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
        if (!letter && !(i && c >= '0' && c <= '9') && !(i && c == '-'))
            return "such a name has letters, digits and _ only";
    }
    return NULL;
}

/* As it has to be written there: in a text of its own with quotes where these are needed. */
static const char *written(struct arena *arena, const struct proveout_document *document,
                           const struct use *use, const char *to)
{
    char before = use->span.start ? document->source->bytes.data[use->span.start - 1] : ' ';
    size_t end = use->span.end;
    char behind = end < document->source->bytes.size ? document->source->bytes.data[end] : '\n';
    bool alone = strchr(" \t\n\r", before) && strchr(" \t\n\r,}]:", behind);
    return alone && use->thing != THING_ANCHOR ? change_quoted(arena, view_of(to), true)
                                               : arena_copy(arena, to, strlen(to));
}

static size_t mistakes_in(const struct proveout_document *document, struct view bytes)
{
    struct rulebook_mistakes mistakes = {
        .arena = document_arena((struct proveout_document *)document)};
    const struct rulebook_text text = {document->question->request.path, bytes.data,
                                       bytes.size};
    struct rulebook book;
    return rulebook_load_own(&mistakes, &text, 1, &book) ? 0 : mistakes.list.count;
}

/* Does the file say the same with the new name: as many things of each list, and no more wrong?
 */
static bool says_the_same(struct proveout_document *document,
                          const struct proveout_edits *edits)
{
    struct arena *arena = document_arena(document);
    const struct machine_file *file = document->file;
    struct view now = edits_applied(arena, document->source->bytes, edits);
    if (!file)
        return mistakes_in(document, now) <= mistakes_in(document, document->source->bytes);
    struct machine_file *renamed = ARENA_NEW(arena, struct machine_file);
    machine_file_read(arena, file->path, now, file->shared, renamed);
    for (int group = 0; group < GROUP_COUNT; group++)
        if (renamed->machine.groups[group].count != file->machine.groups[group].count)
            return false;
    return renamed->tree.status == file->tree.status &&
           renamed->sink.findings.count <= file->sink.findings.count;
}

static const struct proveout_edits *refuse(const char **trouble, const char *why)
{
    *trouble = why;
    return NULL;
}

const struct proveout_edits *rename_everywhere(struct proveout_document *document,
                                               uint32_t offset, const char *to,
                                               const char **trouble)
{
    struct arena *arena = document_arena(document);
    struct uses uses = {0};
    struct use use = rename_at(document, &uses, offset);
    if (use.thing == THING_NONE)
        return refuse(trouble, "nothing here can be given another name");
    const char *wrong = wrong_name(arena, &use, to ? to : "");
    if (wrong)
        return refuse(trouble, wrong);
    struct use taken = use;
    taken.name = view_of(to);
    struct proveout_edit *list = ARENA_ARRAY(arena, struct proveout_edit, uses.list.count + 1);
    struct proveout_edits *edits = ARENA_NEW(arena, struct proveout_edits);
    for (size_t i = 0; i < uses.list.count; i++) {
        const struct use *one = &uses.list.items[i];
        if (use_is_of(one, &taken) && !use_is_of(one, &use))
            return refuse(trouble, arena_format(arena, "there is another %s already",
                                                escape_short(arena, taken.name, SHOWN)));
        if (use_is_of(one, &use) && one->exact)
            list[edits->count++] = (struct proveout_edit){NULL, span_out(one->span),
                                                          written(arena, document, one, to)};
    }
    edits->list = list;
    if (!says_the_same(document, edits))
        return refuse(
            trouble, "with that name the file would no longer say the same; change it by hand");
    return edits;
}
