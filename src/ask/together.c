/* Questions that are about several fields at once.
 *
 * Numbers and ranges are answered in one line, or as many of them as are known: the rest is
 * asked again by itself.  Questions of yes and no are answered by marking those that get a yes.
 */
#include "ask/internal.h"

size_t ask_span(const struct ask *ask)
{
    return question_end(&ask->sequence, ask->at) - ask->at;
}

bool together_is_marks(const struct ask *ask)
{
    uint16_t what = ask_entry(ask)->row->what;
    return ask_span(ask) > 1 && what < FIELD_COUNT && field_table[what].kind == KIND_FLAG;
}

const char *together_label(struct ask *ask, const struct ask_entry *entry)
{
    static const char *const axes[] = {"X", "Y", "Z"};
    if (entry->row->flags & ASK_EACH)
        return axes[entry->record % 3];
    const char *key = field_table[entry->row->what].key;
    const char *dot = strrchr(key, '.');
    return understand_spoken(&ask->scratch, view_of(dot ? dot + 1 : key));
}

/* Adds `more` to a list in words. */
static void list(struct buffer *out, const char *more)
{
    buffer_format(out, "%s%s", out->size ? ", " : "", more);
}

/* "yes to 1, 3; no to 2", by the answers that stand. */
static const char *marks_text(struct ask *ask)
{
    struct buffer yes, no;
    buffer_init(&yes, &ask->scratch);
    buffer_init(&no, &ask->scratch);
    for (size_t i = 0; i < ask_span(ask); i++) {
        struct view text = entry_answer(ask, ask_entry(ask) + i)->text;
        list(view_is(text, "yes") ? &yes : &no, arena_format(&ask->scratch, "%zu", i + 1));
    }
    if (!yes.size || !no.size)
        return yes.size ? "yes to all" : "no to all";
    return arena_format(&ask->scratch, "yes to %s; no to %s", buffer_string(&yes),
                        buffer_string(&no));
}

static size_t read_marks(struct ask *ask, struct view line, struct understood *parts)
{
    const char *words[ASK_JOINED_MAX];
    struct understood marked;
    size_t count = ask_span(ask);
    bool all = view_is(line, "all");
    for (size_t i = 0; i < count; i++) {
        const char *key = field_table[(ask_entry(ask) + i)->row->what].key;
        words[i] = strrchr(key, '.') + 1;
    }
    understand_words(&ask->with, words, count, all ? (struct view)VIEW_LITERAL("none") : line,
                     &marked);
    if (marked.wrong) {
        parts[0] = marked;
        return 0;
    }
    for (size_t i = 0; i < count; i++)
        parts[i] = (struct understood){
            .text = view_of(all || answer_lists(marked.text, words[i]) ? "yes" : "no")};
    parts[0].echo = "Taken as:";
    return count;
}

size_t together_read(struct ask *ask, struct view line, struct understood *parts)
{
    enum field_id ids[ASK_JOINED_MAX];
    bool bare = false;
    if (together_is_marks(ask))
        return read_marks(ask, line, parts);
    for (size_t i = 0; i < ask_span(ask); i++)
        ids[i] = (enum field_id)(ask_entry(ask) + i)->row->what;
    size_t count = understand_several(&ask->with, ids, ask_span(ask), line, parts);
    struct buffer echo;
    buffer_init(&echo, &ask->scratch);
    for (size_t i = 0; i < count; i++) {
        const char *plain = parts[i].plain;
        bare |= parts[i].bare;
        list(&echo,
             arena_format(&ask->scratch, "%s %s%s%s", together_label(ask, ask_entry(ask) + i),
                          understand_said(&ask->scratch, parts[i].text), plain ? " = " : "",
                          plain ? plain : ""));
    }
    if (count)
        parts[0].echo = arena_format(&ask->scratch, "Taken%s%s as %s.", bare ? " in " : "",
                                     bare ? understand_unit_said(&ask->with, ids[0]) : "",
                                     buffer_string(&echo));
    return count;
}

/* What Enter would take of several, put together from what it would of each. */
void together_offer(struct ask *ask)
{
    struct ask_offer *all = &ask->offer;
    size_t kept = 0, offered = 0, count = ask_span(ask);
    struct buffer text;
    buffer_init(&text, &ask->scratch);
    for (size_t i = 0; i < count; i++) {
        const struct ask_offer *part = &ask->parts[i];
        kept += part->keeps;
        offered += part->text != NULL;
        all->typed |= part->typed;
        all->computed |= part->computed;
        list(&text, part->text ? part->text : "nothing");
    }
    all->keeps = kept == count || (kept && ask->setup->exists);
    if (offered && (all->keeps || offered == count))
        all->text = buffer_string(&text);
    if (all->text && together_is_marks(ask))
        all->text = marks_text(ask);
}
