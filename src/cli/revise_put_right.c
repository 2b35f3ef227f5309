/* Chosen numbers that failed, set to what will do. */
#include "cli/revise.h"

#include "cli/surroundings.h"
#include "report/wrap.h"

enum { ROUNDS = 40 }; /* values looked at one after another */

struct attempt {
    struct field_place place;
    const char *words; /* why nothing will do; NULL: it was set */
};

/* What is under way.  A field is set once; one for which nothing would do is looked at again
 * after another was set. */
struct putting {
    struct revision *revision;
    struct runner runner;
    VECTOR(struct attempt) tried;
};

static bool is_tried(const struct putting *putting, const struct field_place *place)
{
    for (size_t i = 0; i < putting->tried.count; i++) {
        const struct field_place *other = &putting->tried.items[i].place;
        if (other->field == place->field && other->record == place->record)
            return true;
    }
    return false;
}

static void forget_failed(struct putting *putting)
{
    size_t kept = 0;
    for (size_t i = 0; i < putting->tried.count; i++)
        if (!putting->tried.items[i].words)
            putting->tried.items[kept++] = putting->tried.items[i];
    putting->tried.count = kept;
}

/* The chosen number that a finding blames, not yet tried; false where it blames none. */
static bool chosen_place(const struct putting *putting, const struct finding *finding,
                         struct field_place *out)
{
    const struct revision *revision = putting->revision;
    if (finding->outcome != OUTCOME_FAILED || finding->implied_by || finding->from_reader ||
        !finding->at.field)
        return false;
    enum field_id id = field_find(view_of(finding->at.field));
    return id != FIELD_COUNT && field_table[id].nature == NATURE_CHOSEN &&
           machine_resolve(revision->run->arena, &revision->now->machine,
                           view_of(finding->at.field), out, 1) == 1 &&
           window_is_possible(&revision->now->machine, out->field, out->record, out->part) &&
           !is_tried(putting, out);
}

/* Sets it, or tells why not. */
static void put(struct putting *putting, const struct field_place *place)
{
    struct revision *revision = putting->revision;
    struct arena *arena = revision->run->arena;
    struct instance_list waived;
    struct window window;
    double si;
    const char *text;
    machine_file_waived(arena, revision->now, surroundings_today(revision->run),
                        &putting->runner, &waived);
    const struct window_asking asking = {&putting->runner, arena, &revision->now->machine,
                                         &waived};
    struct attempt attempt = {*place, "nothing is proposed for it"};
    if (window_find(&asking, place->field, place->record, place->part, &window)) {
        if (window_propose(arena, &window, &si, &text))
            attempt.words = revise_set(revision, place, view_of(text));
        else if (window.empty)
            attempt.words = window_words(arena, &window);
    }
    if (!attempt.words)
        forget_failed(putting);
    VECTOR_ADD(arena, &putting->tried, attempt);
}

void revise_put_right(struct revision *revision)
{
    struct putting putting = {.revision = revision};
    runner_init(&putting.runner, revision->run->arena, revision->books.list,
                revision->books.count);
    for (int round = 0; round < ROUNDS; round++) {
        struct file_report report;
        struct field_place place;
        size_t i = 0;
        revise_check(revision, revision->now, &report);
        while (i < report.count && !chosen_place(&putting, &report.findings[i], &place))
            i++;
        if (i == report.count)
            break;
        put(&putting, &place);
    }
    struct wrap wrap = {wrap_width(surroundings_layout(revision->run).width), 0, 2};
    for (size_t i = 0; i < putting.tried.count; i++)
        if (putting.tried.items[i].words)
            wrap_format(&revision->remarks, &wrap, "Left as it is: %s.",
                        putting.tried.items[i].words);
}
