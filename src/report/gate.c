/* One list of findings, and words about them, for all outputs that gate changes. */
#include "report/gate.h"

#include <string.h>

#include "text/fingerprint.h"
#include "text/path.h"

enum { OTHERS_MAX = 12, WANTED_MAX = 3 }; /* named; the rest is counted */

/* Of findings of one rule at fields of one name, which this is. */
static size_t count_alike(const struct gate_list *list, const char *field)
{
    size_t again = 0;
    const struct gate_item *last = &list->items[list->count - 1];
    for (size_t i = 0; i + 1 < list->count; i++) {
        const struct finding *other = list->items[i].worst;
        again += strcmp(other->rule, last->worst->rule) == 0 &&
                 view_equal(view_of(other->at.field), view_of(field));
    }
    return again;
}

void gate_list(const struct layout *layout, struct gate_list *out)
{
    struct arena *arena = layout->out->arena;
    size_t count;
    struct finding_group *groups =
        findings_group(arena, layout->file->findings, layout->file->count, &count);
    *out = (struct gate_list){.items = ARENA_ARRAY(arena, struct gate_item, count + 1)};
    for (size_t i = 0; i < count; i++) {
        const struct finding *worst = groups[i].worst;
        if (worst->known)
            continue;
        struct gate_item *item = &out->items[out->count++];
        *item = (struct gate_item){.group = &groups[i], .worst = worst};
        const char *field = worst->at.field;
        item->fingerprint =
            fingerprint(arena, worst->rule, NULL, field ? text_told(layout, field) : NULL,
                        count_alike(out, field));
    }
}

bool gate_is_waived(const struct gate_item *item)
{
    return item->worst->outcome == OUTCOME_WAIVED;
}

bool gate_stops(const struct layout *layout, const struct gate_item *item)
{
    return !gate_is_waived(item) && item->worst->level >= layout->options->stop_at;
}

static void add_others(const struct layout *layout, struct buffer *out,
                       const struct finding_group *group)
{
    for (size_t i = 0; i < group->other_count && i < OTHERS_MAX; i++) {
        const struct finding *other = group->others[i];
        buffer_format(out, "%s%s", i ? "; " : " Also ",
                      other->subject ? other->subject : text_told(layout, other->message));
        if (other->subject && other->has_margin)
            buffer_format(out, " (%s)", other->margin_text);
    }
    if (group->other_count > OTHERS_MAX)
        buffer_format(out, "; and %zu more", group->other_count - OTHERS_MAX);
    if (group->other_count)
        buffer_byte(out, '.');
    if (group->implied)
        buffer_format(out, " This is also the cause of %zu further finding%s.", group->implied,
                      group->implied == 1 ? "" : "s");
}

const char *gate_text(const struct layout *layout, const struct gate_item *item)
{
    const struct finding *worst = item->worst;
    struct buffer out;
    buffer_init(&out, layout->out->arena);
    buffer_format(&out, "%s.", text_told(layout, worst->message));
    add_others(layout, &out, item->group);
    if (gate_is_waived(item))
        buffer_format(&out, " Waived%s%s%s%s: %s", worst->waived_by ? " by " : "",
                      worst->waived_by ? worst->waived_by : "",
                      worst->waived_until ? " until " : "",
                      worst->waived_until ? worst->waived_until : "", worst->waived_reason);
    else if (worst->put_right && *worst->put_right)
        buffer_format(&out, " Put right: %s.", text_told(layout, worst->put_right));
    return buffer_string(&out);
}

struct view gate_path_of(const struct layout *layout, struct view path)
{
    const char *folder = layout->options->folder;
    size_t size = folder ? strlen(folder) : 0;
    while (path.size > 2 && path.data[0] == '.' && path.data[1] == '/')
        path = view_skip(path, 2);
    if (size && path.size > size + 1 && memcmp(path.data, folder, size) == 0 &&
        path.data[size] == '/')
        return view_skip(path, size + 1);
    return path;
}

struct view gate_path(const struct layout *layout, const struct finding_spot *spot)
{
    return gate_path_of(layout, spot->source ? spot->source->name : view_of(layout->path));
}

const char *gate_uri(struct arena *arena, struct view path)
{
    struct buffer out;
    buffer_init(&out, arena);
    if (path_has_drive(path)) {
        buffer_format(&out, "file:///%.2s", path.data);
        path = view_skip(path, 2);
    } else if (path_has_root(path)) {
        bool names_host = PATHS_HAVE_DRIVES && view_starts(path, "//");
        buffer_text(&out, names_host ? "file:" : "file://");
    }
    for (size_t i = 0; i < path.size; i++) {
        unsigned char c = (unsigned char)path.data[i];
        bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                     (c >= '0' && c <= '9') || (c && strchr("-._~/", c));
        buffer_format(&out, plain ? "%c" : "%%%02X", c);
    }
    return buffer_string(&out);
}

struct gate_region gate_region(const struct finding_spot *spot)
{
    if (!spot->source)
        return (struct gate_region){0};
    return (struct gate_region){
        source_place(spot->source, spot->span.start, COLUMN_CODE_POINTS),
        source_place(spot->source, spot->span.end, COLUMN_CODE_POINTS)};
}

const char *gate_trouble(const struct file_report *file)
{
    if (file->status == FILE_UNREADABLE)
        return "it cannot be read: no rule was asked";
    if (file->status == FILE_PARTIAL)
        return file->lacks_parts
                   ? "not all that it takes in could be read: only the rest was "
                     "looked at"
                   : "it breaks off at a mistake of form: only what stands before "
                     "that was looked at";
    return NULL;
}

const char *gate_unchecked(const struct layout *layout)
{
    const struct file_report *file = layout->file;
    size_t count = file->rules[OUTCOME_UNCHECKED];
    if (!count)
        return NULL;
    struct buffer out;
    buffer_init(&out, layout->out->arena);
    buffer_format(&out, "rules: %zu not checked", count);
    for (size_t i = 0; i < file->wanted_count && i < WANTED_MAX; i++)
        buffer_format(&out, "%s %s", i ? "," : " for want of",
                      text_told(layout, file->wanted[i]));
    if (file->wanted_count > WANTED_MAX)
        buffer_format(&out, " and %zu more", file->wanted_count - WANTED_MAX);
    return buffer_string(&out);
}

const char *gate_known(const struct layout *layout)
{
    return text_known(layout->out->arena, layout->file->known_by_level);
}
