/* Findings that are set aside: reading, matching, writing. */
#include "rules/internal.h"

#include <inttypes.h>
#include <math.h>
#include <string.h>

#include "base/hash.h"
#include "quantity/number.h"
#include "text/escape.h"
#include "text/utf8.h"

/* --- content --- */

/* What a thing of a list is called by in it, so that its place does not count. */
static struct view name_of(const struct tree_node *item)
{
    static const char *const keys[] = {"number", "name", "field", "rule"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys && item->kind == TREE_MAP; i++) {
        const struct tree_node *name = tree_child(item, view_of(keys[i]));
        if (name && tree_resolve(name)->kind == TREE_TEXT)
            return tree_resolve(name)->text;
    }
    return (struct view){0};
}

/* The sum of a hash of each value with the way to it; a sum knows no order. */
static uint64_t content_of(const struct tree_node *node, uint64_t way, struct arena *scratch)
{
    node = tree_resolve(node);
    if (node->kind == TREE_TEXT) {
        const char *text = arena_format(scratch, "%016" PRIx64 " %.*s", way, VIEW(node->text));
        return hash_bytes(view_of(text));
    }
    uint64_t sum = 0;
    size_t index = 0;
    for (const struct tree_node *child = node->first; child; child = child->next) {
        struct view name = node->kind == TREE_MAP ? child->key : name_of(tree_resolve(child));
        const char *step = name.size
                               ? arena_format(scratch, "%016" PRIx64 ".%.*s", way, VIEW(name))
                               : arena_format(scratch, "%016" PRIx64 "[%zu]", way, index);
        index++;
        sum += content_of(child, hash_bytes(view_of(step)), scratch);
    }
    return sum;
}

static const char *content_text(struct arena *arena, struct view path, struct view bytes)
{
    struct arena *scratch = arena_new_within(arena);
    const struct tree *tree = tree_of(scratch, path, bytes);
    uint64_t content = tree->root ? content_of(tree->root, 0, scratch) : hash_bytes(bytes);
    arena_guest_end(arena, scratch);
    return arena_format(arena, "%016" PRIx64, content);
}

/* --- reading --- */

static bool is_fingerprint(struct view text)
{
    size_t size = 0;
    while (size < text.size && memchr("0123456789abcdef", text.data[size], 16))
        size++;
    return size == 16 && text.size == 16;
}

static void read_level(struct own_file *form, const struct tree_node *item,
                       struct known_entry *out)
{
    struct view level = own_file_text(form, item, "level", false);
    for (int i = 0; i < LEVEL_COUNT; i++)
        if (view_is(level, finding_level_name((enum finding_level)i))) {
            out->level = (enum finding_level)i;
            return;
        }
    if (level.data)
        own_file_mistake(form, item->span, "level is error, warning or note");
}

static void read_margin(struct own_file *form, const struct tree_node *item,
                        struct known_entry *out)
{
    const struct tree_node *node = own_file_child(form, item, "margin", TREE_TEXT, true);
    size_t used;
    if (!node)
        return;
    out->has_margin =
        number_read(node->text, &out->margin, &used) == NUMBER_OK && used == node->text.size;
    if (!out->has_margin)
        own_file_mistake(form, node->span, "margin wants a number without a unit");
}

static void read_entry(struct own_file *form, const struct tree_node *item,
                       struct known_entry *out)
{
    if (item->kind != TREE_MAP) {
        own_file_mistake(form, item->span, "a known finding has keys with values");
        return;
    }
    own_file_refuse_others(form, item, &own_known_entry);
    out->rule = own_file_text(form, item, "rule", false);
    out->subject = own_file_text(form, item, "subject", true);
    out->fingerprint = own_file_text(form, item, "fingerprint", false);
    if (out->fingerprint.data && !is_fingerprint(out->fingerprint))
        own_file_mistake(form, item->span, "fingerprint is 16 hexadecimal digits");
    read_level(form, item, out);
    read_margin(form, item, out);
    out->line = source_place(form->source, item->span.start, COLUMN_CODE_POINTS).line;
}

static void read_file(struct own_file *form, const struct tree_node *item,
                      struct known_file *out)
{
    if (item->kind != TREE_MAP) {
        own_file_mistake(form, item->span, "a part for a machine file has keys with values");
        return;
    }
    own_file_refuse_others(form, item, &own_known_file);
    out->path = own_file_text(form, item, "file", false);
    out->content = own_file_text(form, item, "content", false);
    const struct tree_node *list = own_file_child(form, item, "findings", TREE_LIST, false);
    if (!list)
        return;
    struct known_entry *entries =
        ARENA_ARRAY(form->mistakes->arena, struct known_entry, list->count + 1);
    for (const struct tree_node *child = list->first; child; child = child->next)
        read_entry(form, tree_resolve(child), &entries[out->count++]);
    out->entries = entries;
}

static void read_files(struct own_file *form, const struct tree_node *root, struct known *out)
{
    const struct tree_node *none = tree_child(root, view_of("files"));
    if (none && none->kind == TREE_TEXT && !none->text.size)
        return; /* nothing was found when it was written */
    const struct tree_node *list = own_file_child(form, root, "files", TREE_LIST, false);
    if (!list)
        return;
    struct known_file *files =
        ARENA_ARRAY(form->mistakes->arena, struct known_file, list->count + 1);
    for (const struct tree_node *child = list->first; child; child = child->next) {
        struct known_file *file = &files[out->count++];
        file->first = out->entries;
        read_file(form, tree_resolve(child), file);
        out->entries += file->count;
    }
    out->files = files;
}

bool known_read(struct rulebook_mistakes *mistakes, const char *name, struct view bytes,
                struct known *out)
{
    struct own_file form = {.what = "a file of known findings"};
    const struct tree_node *root = own_file_read(&form, mistakes, name, bytes, &own_known);
    *out = (struct known){.name = name};
    if (root)
        read_files(&form, root, out);
    return !mistakes->list.count;
}

/* --- setting aside --- */

static struct view bare_path(struct view path)
{
    while (path.size > 2 && path.data[0] == '.' && path.data[1] == '/')
        path = view_skip(path, 2);
    return path;
}

const struct known_file *known_part(struct arena *arena, const struct known *known,
                                    struct view path, struct view bytes)
{
    path = bare_path(path);
    for (size_t i = 0; i < known->count; i++)
        if (view_equal(known->files[i].path, path))
            return &known->files[i];
    const char *content = content_text(arena, path, bytes);
    for (size_t i = 0; i < known->count; i++)
        if (view_is(known->files[i].content, content))
            return &known->files[i];
    return NULL;
}

static bool may_be_known(const struct finding *finding)
{
    return finding->outcome == OUTCOME_FAILED && finding->hurts != HURTS_PERSON &&
           finding->fingerprint;
}

/* Less by more than what comes of adding up in another order. */
static bool has_less_room(const struct finding *finding, const struct known_entry *entry)
{
    return finding->has_margin && entry->has_margin &&
           finding->margin < entry->margin - 1e-9 - 1e-6 * fabs(entry->margin);
}

static void mark_known(const struct known_file *part, struct finding *finding, bool *found)
{
    for (size_t i = 0; i < part->count; i++) {
        const struct known_entry *entry = &part->entries[i];
        if (!view_is(entry->fingerprint, finding->fingerprint) ||
            !view_is(entry->rule, finding->rule))
            continue;
        found[i] = true;
        finding->known |= finding->level <= entry->level && !has_less_room(finding, entry);
    }
}

/* What follows from something known is not told with it: so it stands for itself. */
static void stand_alone(struct file_report *report)
{
    for (size_t i = 0; i < report->count; i++) {
        struct finding *finding = &report->findings[i];
        for (size_t k = 0; k < report->count && finding->implied_by && !finding->known; k++)
            if (report->findings[k].known &&
                strcmp(report->findings[k].rule, finding->implied_by) == 0)
                finding->implied_by = NULL;
    }
}

void known_apply(struct arena *arena, const struct known_file *part, struct file_report *report,
                 bool *found)
{
    for (size_t i = 0; i < report->count; i++)
        if (may_be_known(&report->findings[i]))
            mark_known(part, &report->findings[i], found);
    stand_alone(report);
    findings_count(arena, report);
}

bool known_is_mended(const struct known_entry *entry, const struct file_report *report)
{
    for (size_t i = 0; i < report->count; i++)
        if (report->findings[i].outcome == OUTCOME_UNCHECKED &&
            view_is(entry->rule, report->findings[i].rule))
            return false;
    return file_report_is_whole(report);
}

/* --- writing --- */

void known_write_head(struct buffer *out)
{
    buffer_format(out, "%s: 1\n", own_known.keys[0].key);
    buffer_text(out,
                "# Findings that were there before: `proveout check --known` sets them aside.\n"
                "# What can hurt a person is never among them; that takes a waiver in the "
                "machine file.\n"
                "files:\n");
}

static void add_value(struct buffer *out, const char *key, struct view value)
{
    buffer_format(out, ", %s: ", key);
    escape_quoted(out, value);
}

static bool is_utf8(struct view text)
{
    uint32_t point;
    for (size_t size; text.size; text = view_skip(text, size)) {
        size = utf8_read(text, &point);
        if (!size)
            return false;
    }
    return true;
}

/* A path that is no UTF-8 would make the file unreadable: its part goes by the content. */
static void add_path(struct buffer *out, struct view path)
{
    struct buffer shown;
    buffer_init(&shown, out->arena);
    escape_terminal(&shown, path);
    escape_quoted(out, is_utf8(path) ? path : buffer_view(&shown));
}

static void add_entry(struct buffer *out, const struct file_report *report,
                      const struct finding *finding)
{
    buffer_text(out, "      - {rule: ");
    escape_quoted(out, view_of(finding->rule));
    buffer_format(out, ", level: %s", finding_level_name(finding->level));
    if (finding->subject)
        add_value(out, "subject", view_of(finding->subject));
    if (finding->at.field)
        add_value(out, "field", view_of(finding_told(out->arena, report, finding->at.field)));
    if (finding->has_margin && isfinite(finding->margin))
        buffer_format(out, ", margin: %s", number_exact(out->arena, finding->margin));
    add_value(out, "fingerprint", view_of(finding->fingerprint));
    buffer_text(out, "}\n");
}

size_t known_write(struct buffer *out, const struct file_report *report, struct view path,
                   struct view bytes)
{
    size_t count = 0, refused = 0;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        refused += finding->outcome == OUTCOME_FAILED && finding->hurts == HURTS_PERSON;
        if (!may_be_known(finding))
            continue;
        if (!count++) {
            buffer_text(out, "  - file: ");
            add_path(out, bare_path(path));
            buffer_text(out, "\n    content: ");
            escape_quoted(out, view_of(content_text(out->arena, path, bytes)));
            buffer_text(out, "\n    findings:\n");
        }
        add_entry(out, report, finding);
    }
    return refused;
}
