/* One tree of several files.
 *
 * A file is read once, however often it is taken in: what came of it is kept and copied.  All
 * copies together have a budget, as the aliases of a file have, and the files that are open on
 * the way down stand in a list, in which a circle shows.
 */
#include "tree/compose.h"

#include "base/buffer.h"
#include "text/escape.h"
#include "tree/merge.h"

enum { NAME_CELLS = 60 };

/* One of the files. */
struct part {
    struct view path; /* from the root */
    struct source *source;
    struct tree_node *root; /* put together; NULL: nothing could be read */
    uint32_t height;        /* files that take each other in below it */
    bool is_open;           /* being put together */
    bool has_chosen;        /* says with `from` which cutters there are: no others are */
};

struct composer {
    struct arena *arena;
    const struct shared_files *files;
    struct finding_sink *sink;
    struct source *first;
    VECTOR(struct part *) parts;
    uint32_t depth;
    uint64_t size; /* nodes copied */
    bool is_short; /* something could not be taken in */
};

/* Where a file is taken in: the text that names it, in `taker`. */
struct taking {
    const struct part *taker;
    const struct tree_node *node;
};

/* --- paths --- */

/* Takes the last step off a path that ends in `/`; false where there is none. */
static bool step_back(struct buffer *path)
{
    if (!path->size)
        return false;
    path->size--;
    while (path->size && path->data[path->size - 1] != '/')
        path->size--;
    return true;
}

/* The path from the root of what `path` names beside `taker`; false: it leads out of the root.
 */
static bool find_path(struct composer *composer, const struct part *taker, struct view path,
                      struct view *out)
{
    struct buffer whole;
    buffer_init(&whole, composer->arena);
    buffer_add(&whole, taker->path);
    while (whole.size && whole.data[whole.size - 1] != '/')
        whole.size--;
    if (path.size && path.data[0] == '/')
        return false;
    while (path.size) {
        struct view step = view_take(&path, '/');
        if (view_is(step, "..") && !step_back(&whole))
            return false;
        if (!step.size || view_is(step, ".") || view_is(step, ".."))
            continue;
        buffer_add(&whole, step);
        if (path.size)
            buffer_byte(&whole, '/');
    }
    *out = buffer_view(&whole);
    return true;
}

/* --- copies --- */

static bool count_node(struct composer *composer, struct span span)
{
    if (++composer->size <= TREE_EXPANSION_MAX)
        return true;
    if (composer->size == TREE_EXPANSION_MAX + 1)
        sink_report(composer->sink, READER_TOO_LARGE, span, NULL,
                    "what is taken in comes to more than %d values; the rest is left out",
                    TREE_EXPANSION_MAX);
    composer->is_short = true;
    return false;
}

/* A deep copy with aliases resolved, its spans moved by `shift`; NULL beyond the budget. */
static struct tree_node *copy(struct composer *composer, const struct tree_node *node,
                              uint32_t shift)
{
    const struct tree_node *value = tree_resolve(node);
    struct tree_node *made = arena_alloc(composer->arena, sizeof *made);
    *made = *value;
    made->key = node->key;
    made->duplicate = node->duplicate;
    made->span = (struct span){value->span.start + shift, value->span.end + shift};
    made->key_span = (struct span){node->key_span.start + shift, node->key_span.end + shift};
    made->next = made->first = NULL;
    if (!count_node(composer, made->span))
        return NULL;
    struct tree_node **link = &made->first;
    for (const struct tree_node *child = value->first; child; child = child->next) {
        *link = copy(composer, child, shift);
        if (!*link)
            return NULL;
        link = &(*link)->next;
    }
    return made;
}

static void take_away(struct tree_node *map, const struct tree_node *child)
{
    struct tree_node **link = &map->first;
    while (*link != child)
        link = &(*link)->next;
    *link = child->next;
    map->count--;
}

static struct tree_node *child_of(struct tree_node *map, const char *key)
{
    return (struct tree_node *)tree_child(map, view_of(key));
}

/* --- one file --- */

static const char *shown(struct composer *composer, struct view name)
{
    return escape_short(composer->arena, name, NAME_CELLS);
}

/* Says that something cannot be taken in, and that therefore something is missing. */
static struct finding *refuse(struct composer *composer, enum reader_finding name,
                              const struct tree_node *node, const char *sentence)
{
    composer->is_short = true;
    return sink_report(composer->sink, name, node->span, NULL, "%s", sentence);
}

static void report_circle(struct composer *composer, const struct part *part,
                          const struct taking *taking)
{
    struct arena *arena = composer->arena;
    struct finding *finding =
        refuse(composer, READER_SHARED_FILE_CIRCLE, taking->node,
               arena_format(arena, "%s takes itself in%s", shown(composer, part->source->name),
                            part == taking->taker ? "" : ", by way of other files"));
    for (size_t i = 0; i < composer->parts.count; i++) {
        const struct source *source = composer->parts.items[i]->source;
        if (!composer->parts.items[i]->is_open || !source->taker ||
            composer->parts.items[i] == part)
            continue;
        struct span span = {source->taken_at.start + source->taker->base,
                            source->taken_at.end + source->taker->base};
        finding_relate(
            composer->sink, finding, span, NULL,
            arena_format(arena, "%s is taken in here", shown(composer, source->name)));
    }
}

/* May a file of this height be taken in here? */
static bool is_in_depth(struct composer *composer, uint32_t height, const struct taking *taking)
{
    if (composer->depth + height <= SHARED_DEPTH_MAX)
        return true;
    refuse(composer, READER_TOO_DEEP, taking->node,
           arena_format(composer->arena, "more than %d files take each other in here",
                        SHARED_DEPTH_MAX));
    return false;
}

/* Every file says which version of the format it is in. */
static void check_version(struct composer *composer, const struct tree_node *root)
{
    static const char key[] = "proveout";
    const struct tree_node *version = tree_child(root, view_of(key));
    if (!version) {
        struct span start = {root->span.start, root->span.start + 1};
        struct finding *finding = sink_report(composer->sink, READER_MISSING_KEY, start, key,
                                              "proveout is missing, the version of the format");
        if (finding)
            finding->put_right = "begin the file with a line proveout: 1";
    } else if (version->kind != TREE_TEXT || !view_is(version->text, "1")) {
        sink_report(composer->sink, READER_UNKNOWN_CHOICE, version->span, key,
                    "proveout wants 1, the version of the format");
    }
}

static void compose(struct composer *composer, struct part *part);

/* Reads a part's bytes and puts it together. */
static void read_part(struct composer *composer, struct part *part, struct view bytes)
{
    struct tree tree;
    struct source *source = part->source;
    source->bytes = bytes;
    composer->sink->source = source;
    tree_read(&tree, composer->arena, source, composer->sink);
    composer->sink->source = composer->first;
    source_join(composer->first, source);
    composer->is_short |= tree.status != TREE_WHOLE;
    if (!tree.root)
        return;
    part->root = copy(composer, tree.root, source->base);
    if (!part->root)
        return;
    if (tree.has_merge_keys)
        merge_keys(&(struct merge){composer->arena, composer->sink}, part->root);
    check_version(composer, part->root);
    composer->depth++;
    compose(composer, part);
    composer->depth--;
}

static struct part *add_part(struct composer *composer, struct view path)
{
    struct part *part = ARENA_NEW(composer->arena, struct part);
    const char *name = composer->files ? arena_format(composer->arena, "%s%.*s",
                                                      composer->files->root, VIEW(path))
                                       : "";
    part->path = path;
    part->source = ARENA_NEW(composer->arena, struct source);
    source_init(part->source, composer->arena, view_of(name), (struct view){0});
    VECTOR_ADD(composer->arena, &composer->parts, part);
    return part;
}

/* The bytes of a part; false: said why not. */
static bool open_part(struct composer *composer, struct view path, const struct taking *taking,
                      struct view *bytes)
{
    const char *why = "no other file is given here";
    struct arena *arena = composer->arena;
    if (composer->parts.count >= SHARED_FILES_MAX)
        why = arena_format(arena, "more than %d files come together", SHARED_FILES_MAX);
    else if (composer->files && composer->files->reader.read(composer->files->reader.user,
                                                             arena, path, bytes, &why)) {
        if (bytes->size <= SHARED_SIZE_MAX)
            return true;
        why = arena_format(arena, "it has more than %d bytes", SHARED_SIZE_MAX);
    }
    refuse(composer, READER_SHARED_FILE_UNREADABLE, taking->node,
           arena_format(arena, "%s cannot be taken in: %s", shown(composer, taking->node->text),
                        why));
    return false;
}

/* The file that a text names, put together; NULL: said why there is none. */
static struct part *take(struct composer *composer, const struct taking *taking)
{
    struct view path;
    struct part *part = NULL;
    if (!find_path(composer, taking->taker, view_trim(taking->node->text), &path)) {
        refuse(composer, READER_SHARED_FILE_UNREADABLE, taking->node,
               arena_format(composer->arena,
                            "%s cannot be taken in: it lies outside the folder of this machine",
                            shown(composer, taking->node->text)));
        return NULL;
    }
    if (composer->size > TREE_EXPANSION_MAX)
        return NULL; /* said before */
    for (size_t i = 0; i < composer->parts.count; i++)
        if (view_equal(composer->parts.items[i]->path, path))
            part = composer->parts.items[i];
    if (part && part->is_open) {
        report_circle(composer, part, taking);
        return NULL;
    }
    if (!is_in_depth(composer, part ? part->height + 1 : 1, taking))
        return NULL;
    if (!part) {
        struct view bytes;
        if (!open_part(composer, path, taking, &bytes))
            return NULL;
        part = add_part(composer, path);
        part->source->taker = taking->taker->source;
        part->source->taken_at = taking->node->span;
        part->source->taken_at.start -= taking->taker->source->base;
        part->source->taken_at.end -= taking->taker->source->base;
        read_part(composer, part, bytes);
    }
    struct part *taker = (struct part *)taking->taker;
    if (taker->height < part->height + 1)
        taker->height = part->height + 1;
    return part->root ? part : NULL;
}

/* --- cutters: {from: FILE, only: [NUMBER, ...]} --- */

static void keep_only(struct composer *composer, struct tree_node *list,
                      const struct tree_node *only, const struct part *part)
{
    const struct merge_index *index = merge_index_of(composer->arena, list, "number");
    struct tree_node *first = NULL, **end = &first;
    list->count = 0;
    for (const struct tree_node *number = only->first; number; number = number->next) {
        struct tree_node *item = number->kind == TREE_TEXT && number->text.size
                                     ? merge_find(index, view_trim(number->text))
                                     : NULL;
        const char *name = shown(composer, number->text);
        bool is_there = false;
        for (const struct tree_node *kept = first; kept && item; kept = kept->next)
            is_there |= kept == item;
        if (is_there) {
            sink_report(composer->sink, READER_DUPLICATE_KEY, number->span, NULL,
                        "cutter %s is named twice here", name);
        } else if (!item) {
            composer->is_short = true;
            sink_report(composer->sink, READER_UNKNOWN_NAME, number->span, NULL,
                        "%s lists no cutter %s", shown(composer, part->source->name), name);
        } else {
            item->next = NULL;
            *end = item;
            end = &item->next;
            list->count++;
        }
    }
    list->first = first;
}

static void report_odd_keys(struct composer *composer, const struct tree_node *map)
{
    for (const struct tree_node *child = map->first; child; child = child->next)
        if (!view_is(child->key, "from") && !view_is(child->key, "only"))
            sink_report(composer->sink, READER_UNKNOWN_KEY, child->key_span, NULL,
                        "beside from only the key only may stand, not %s",
                        shown(composer, child->key));
}

/* Puts the list of another file in the place of the map that names it. */
static void take_cutters(struct composer *composer, struct part *part, struct tree_node *place)
{
    const struct tree_node *from = tree_child(place, view_of("from"));
    const struct tree_node *only = tree_child(place, view_of("only"));
    if (!from)
        return;
    struct tree_node list = *place;
    list.kind = TREE_LIST;
    list.first = NULL;
    list.count = 0;
    part->has_chosen = true;
    report_odd_keys(composer, place);
    if (from->kind != TREE_TEXT || (only && only->kind != TREE_LIST)) {
        refuse(composer, READER_WRONG_KIND, from->kind != TREE_TEXT ? from : only,
               from->kind != TREE_TEXT ? "from wants the name of a file"
                                       : "only wants a list of numbers of cutters");
        *place = list;
        return;
    }
    struct part *other = take(composer, &(struct taking){part, from});
    const struct tree_node *theirs = other ? tree_child(other->root, view_of("cutters")) : NULL;
    struct tree_node *taken = NULL;
    if (other && (!theirs || theirs->kind != TREE_LIST))
        refuse(composer, READER_MISSING_KEY, from,
               arena_format(composer->arena, "%s lists no cutters",
                            shown(composer, other->source->name)));
    else if (theirs)
        taken = copy(composer, theirs, 0);
    if (taken) {
        list.first = taken->first;
        list.count = taken->count;
        if (only)
            keep_only(composer, &list, only, other);
    }
    *place = list;
}

/* --- extends --- */

/* Waivers stay with the machine that somebody looked at. */
static void drop_waivers(struct composer *composer, struct tree_node *root,
                         const struct taking *taking, const struct part *part)
{
    struct tree_node *waivers = child_of(root, "waivers");
    if (!waivers)
        return;
    if (waivers->kind == TREE_LIST && waivers->first) {
        struct finding *finding =
            sink_report(composer->sink, READER_WAIVER_NOT_SHARED, taking->node->span, NULL,
                        "the waivers of %s do not come with it: they are for one machine",
                        shown(composer, part->source->name));
        finding_relate(composer->sink, finding, waivers->key_span, "waivers",
                       "they stand here");
    }
    take_away(root, waivers);
}

static void extend_by(struct composer *composer, const struct taking *taking,
                      struct tree_node **below)
{
    if (taking->node->kind != TREE_TEXT) {
        refuse(composer, READER_WRONG_KIND, taking->node,
               "extends wants the name of a file, or a list of such names");
        return;
    }
    struct part *part = take(composer, taking);
    struct tree_node *root = part ? copy(composer, part->root, 0) : NULL;
    if (!root)
        return;
    drop_waivers(composer, root, taking, part);
    if (*below)
        merge_maps(&(struct merge){composer->arena, composer->sink}, root, *below);
    *below = root;
}

static void extend(struct composer *composer, struct part *part, struct tree_node *extends)
{
    struct tree_node *below = NULL;
    if (extends->kind != TREE_LIST)
        extend_by(composer, &(struct taking){part, extends}, &below);
    else if (extends->count > SHARED_FILES_MAX)
        refuse(composer, READER_TOO_LONG, extends,
               arena_format(composer->arena, "extends names more than %d files",
                            SHARED_FILES_MAX));
    else
        for (struct tree_node *item = extends->first; item; item = item->next)
            extend_by(composer, &(struct taking){part, item}, &below);
    if (!below)
        return;
    struct tree_node *others = child_of(below, "cutters");
    if (others && part->has_chosen)
        take_away(below, others);
    merge_maps(&(struct merge){composer->arena, composer->sink}, part->root, below);
}

/* Takes in what the root of a part, which is a copy, names. */
static void compose(struct composer *composer, struct part *part)
{
    struct tree_node *cutters = child_of(part->root, "cutters");
    struct tree_node *extends = child_of(part->root, "extends");
    part->is_open = true;
    if (cutters && cutters->kind == TREE_MAP)
        take_cutters(composer, part, cutters);
    if (extends) {
        take_away(part->root, extends);
        extend(composer, part, extends);
    }
    part->is_open = false;
}

/* Does a word go on with this byte?  A mark of the byte order is no part of it. */
static bool in_word(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || byte == '_';
}

/* Is a word a key somewhere, as keys are mostly written: `word:`, "word" :, {word: ? */
static bool has_key(struct view bytes, const char *word)
{
    size_t size = strlen(word);
    for (size_t i = 0; i + size < bytes.size; i++) {
        const char *at = memchr(bytes.data + i, word[0], bytes.size - size - i);
        if (!at)
            return false;
        i = (size_t)(at - bytes.data);
        if (memcmp(at, word, size) != 0 || (i && in_word(at[-1])))
            continue;
        size_t next = i + size;
        if (bytes.data[next] == '"' || bytes.data[next] == '\'')
            next++;
        while (next < bytes.size && strchr(" \t\r\n", bytes.data[next]))
            next++;
        if (next < bytes.size && bytes.data[next] == ':')
            return true;
    }
    return false;
}

bool tree_may_take_files(struct view bytes)
{
    /* A key may also be an alias, stand behind a question mark, or have its letters as escapes.
     */
    for (const char *sign = "*?\\"; *sign && bytes.size; sign++)
        if (memchr(bytes.data, *sign, bytes.size))
            return true;
    return has_key(bytes, "extends") || has_key(bytes, "from");
}

bool tree_takes_files(const struct tree *own)
{
    if (!own->root)
        return false;
    const struct tree_node *cutters = tree_child(own->root, view_of("cutters"));
    return tree_child(own->root, view_of("extends")) ||
           (cutters && tree_child(tree_resolve(cutters), view_of("from")));
}

void tree_compose(struct tree *out, struct arena *arena, const struct tree *own,
                  const struct shared_files *files, struct finding_sink *sink)
{
    *out = *own;
    if (!own->root || (!own->has_merge_keys && !tree_takes_files(own)))
        return;
    struct composer composer = {
        .arena = arena, .files = files, .sink = sink, .first = own->source};
    struct view name = own->source->name;
    for (size_t i = name.size; files && i > 0; i--)
        if (name.data[i - 1] == '/') {
            name = view_skip(name, i);
            break;
        }
    struct part *part = add_part(
        &composer,
        view_of(arena_format(arena, "%s%.*s", files ? files->folder : "", VIEW(name))));
    part->source = own->source;
    part->root = copy(&composer, own->root, 0);
    if (part->root && own->has_merge_keys)
        merge_keys(&(struct merge){arena, sink}, part->root);
    if (part->root)
        compose(&composer, part);
    out->root = part->root;
    out->lacks_parts = composer.is_short;
    if (!part->root)
        out->status = TREE_UNREADABLE;
    else if (composer.is_short && out->status == TREE_WHOLE)
        out->status = TREE_PARTIAL;
}
