#include "mend/trials.h"

#include "mend/mend.h"

bool trials_are_known(struct trials *trials, const char *about, struct trial_group **group)
{
    for (size_t i = 0; i < trials->groups.count; i++)
        if (strcmp(trials->groups.items[i].about, about) == 0) {
            *group = &trials->groups.items[i];
            return true;
        }
    const struct trial_group begun = {
        .about = about, .first = trials->items.count, .end = trials->items.count};
    VECTOR_ADD(trials->arena, &trials->groups, begun);
    *group = &trials->groups.items[trials->groups.count - 1];
    return false;
}

static bool is_same_text(const char *a, const char *b)
{
    return a && b ? strcmp(a, b) == 0 : a == b;
}

/* Do both say the same of the same thing?  What stands there may be another number. */
static bool is_alike(const struct finding *a, const struct finding *b)
{
    return a->requirement == b->requirement && is_same_text(a->rule, b->rule) &&
           is_same_text(a->subject, b->subject) && is_same_text(a->at.field, b->at.field);
}

/* Behind a mistake of form nothing was looked at: what rules say there is no news. */
static bool counts(const struct finding *finding, const struct file_report *before)
{
    return finding->outcome == OUTCOME_FAILED && finding->level != LEVEL_NOTE &&
           (before->status == FILE_CHECKED || finding->from_reader);
}

static bool is_found(const struct file_report *report, const struct finding *finding)
{
    for (size_t i = 0; i < report->count; i++)
        if (report->findings[i].outcome == OUTCOME_FAILED &&
            is_alike(&report->findings[i], finding))
            return true;
    return false;
}

/* Rules that say neither yes nor no. */
static size_t unasked(const struct file_report *report)
{
    return report->inapplicable + report->rules[OUTCOME_UNCHECKED];
}

/* Holds the file with the edit in it against the file as it is. */
static void judge(const struct trials *trials, const struct file_report *after,
                  struct trial *trial)
{
    const struct file_report *before = trials->before;
    trial->clean = after->status == FILE_CHECKED;
    if (before->status == FILE_CHECKED)
        trial->clean = trial->clean && unasked(after) <= unasked(before) &&
                       after->rules[OUTCOME_UNCHECKED] <= before->rules[OUTCOME_UNCHECKED];
    for (size_t i = 0; i < after->count && trial->clean; i++)
        trial->clean =
            !counts(&after->findings[i], before) || is_found(before, &after->findings[i]);
    for (size_t i = 0; i < before->count && trial->clean; i++)
        trial->gone[i] = !is_found(after, &before->findings[i]);
}

static bool is_tried(const struct trials *trials, const struct proposed_edit *edit)
{
    const struct trial_group *group = &trials->groups.items[trials->groups.count - 1];
    for (size_t i = group->first; i < group->end; i++) {
        const struct proposed_edit *other = &trials->items.items[i].edit;
        if (other->span.start == edit->span.start && other->span.end == edit->span.end &&
            strcmp(other->text, edit->text) == 0)
            return true;
    }
    return false;
}

void trials_add(struct trials *trials, const struct proposed_edit *edit)
{
    size_t read = trials->items.count * trials->file->bytes.size;
    if (is_tried(trials, edit))
        return;
    if (trials->items.count == MEND_TRIALS || read > MEND_READ) {
        trials->groups.items[trials->groups.count - 1].cut = true;
        return;
    }
    struct trial trial = {.edit = *edit,
                          .gone = ARENA_ARRAY(trials->arena, bool, trials->before->count)};
    trial.edit.always_asks |= trials->asks;
    struct arena *scratch = trials->scratch;
    struct view bytes = trials->file->bytes;
    struct buffer now;
    buffer_init(&now, scratch);
    buffer_add(&now, (struct view){bytes.data, edit->span.start});
    buffer_text(&now, edit->text);
    buffer_add(&now, view_skip(bytes, edit->span.end));
    struct machine_file *with = machine_file_with(scratch, trials->file, buffer_view(&now));
    struct file_report after;
    checker_check_machine(trials->checker, scratch, &with->machine, &with->sink, &after);
    judge(trials, &after, &trial);
    arena_reset(scratch);
    VECTOR_ADD(trials->arena, &trials->items, trial);
    trials->groups.items[trials->groups.count - 1].end = trials->items.count;
}

static bool is_of_word(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || byte == '_' || byte == '.' || byte == '-' ||
           (unsigned char)byte >= 0x80;
}

bool trials_edit(const struct trials *trials, struct view bytes, struct proposed_edit *edit)
{
    struct view old = trials->file->bytes;
    size_t start = 0, end = 0;
    size_t most = old.size < bytes.size ? old.size : bytes.size;
    if (view_equal(old, bytes))
        return false;
    while (start < most && old.data[start] == bytes.data[start])
        start++;
    while (end < most - start &&
           old.data[old.size - 1 - end] == bytes.data[bytes.size - 1 - end])
        end++;
    while (start && is_of_word(old.data[start - 1]))
        start--;
    while (end && is_of_word(old.data[old.size - end]))
        end--;
    edit->span = (struct span){(uint32_t)start, (uint32_t)(old.size - end)};
    edit->text = arena_copy(trials->arena, bytes.data + start, bytes.size - end - start);
    return true;
}
