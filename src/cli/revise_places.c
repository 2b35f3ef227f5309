/* Asking for values of a file: what is answered is set at once, and taken back again. */
#include "cli/revise_internal.h"

/* Puts the answers into the file as it was, in order.  NULL, or why one cannot be. */
static const char *put_answers(struct asked_places *asked)
{
    struct revision *revision = asked->revision;
    const char *wrong = NULL;
    revision->now = asked->start;
    revision->set.count = asked->start_count;
    for (size_t i = 0; i < asked->count && !wrong; i++)
        if (asked->answers[i].size)
            wrong = revise_set(revision, &asked->places[i], asked->answers[i]);
    return wrong;
}

static const char *take(void *user, const struct field_place *place, struct view text)
{
    struct asked_places *asked = user;
    struct view *answer = &asked->answers[place - asked->places];
    const struct view before = *answer;
    struct revision *revision = asked->revision;
    struct machine_file *now = revision->now;
    size_t count = revision->set.count;
    struct arena *arena = revision->run->arena;
    *answer = (struct view){arena_copy(arena, text.data, text.size), text.size};
    const char *wrong = put_answers(asked);
    if (wrong) {
        *answer = before;
        revision->now = now;
        revision->set.count = count;
    }
    return wrong;
}

static struct view taken(void *user)
{
    const struct asked_places *asked = user;
    return asked->revision->now->bytes;
}

size_t asked_count(const struct asked_places *asked)
{
    size_t count = 0;
    for (size_t i = 0; i < asked->count; i++)
        count += asked->answers[i].size > 0;
    return count;
}

bool ask_places(struct asked_places *asked)
{
    struct revision *revision = asked->revision;
    struct dialogue dialogue;
    dialogue_init(&dialogue, revision);
    asked->start = revision->now;
    asked->start_count = revision->set.count;
    dialogue.setup.places = asked->places;
    dialogue.setup.place_count = asked->count;
    dialogue.setup.host = (struct ask_host){asked, .take = take, .taken = taken};
    return dialogue_run(&dialogue);
}
