/* The questions of the change, and the first run. */
#include "wall/internal.h"

static const struct paper_table descent = {
    "the first descent",
    4,
    {{"step", 1000}, {"what is to happen", 12900}, {"read-out", 2800}, {"seen", 1300}}};

static const struct paper_table run = {
    "the first run",
    4,
    {{"step", 1100}, {"what is to happen", 12500}, {"read-out", 3100}, {"seen", 1300}}};

/* What a step is told of on a page with little room: how high it ends, what it meets, what
 * endangers people, what hands do. */
static bool is_essential(const struct move *move, enum told_topic topic)
{
    return (topic == TOLD_WAY && move->moves[0]) || topic == TOLD_HEIGHTS ||
           (topic == TOLD_ROOM && move->has_clearance && move->clearance.value.low < 0) ||
           topic == TOLD_CONTACT || topic == TOLD_DANGER || topic == TOLD_UNASKED ||
           (topic == TOLD_OPERATOR && move->by_hand);
}

/* A step in lines. */
static const char *step_text(const struct poster *poster, const struct move *move,
                             const struct told_step *step)
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    buffer_format(&text, "%s%s%s [%s]", step->name, poster->subject ? "" : ", ",
                  poster->subject ? "" : step->cutter, step->spindle);
    for (size_t i = 0; i < step->lines.count; i++) {
        const struct told_line *line = &step->lines.items[i];
        if (!poster->subject || is_essential(move, line->topic))
            buffer_format(&text, "\n%s%s", line->label, line->text);
    }
    return buffer_string(&text);
}

/* What the spindle does while a question is answered that leads a hand to it; a block under it
 * may be put there before anything holds it off. */
static const char *hand_text(const struct procedure_step *step)
{
    if (!step->hand)
        return "";
    if (step->endangers)
        return ": a hand goes to the spindle, DANGER: it may turn, or nothing holds it off";
    return step->held_off ? ": a hand goes to the spindle, which stands and is held off"
           : step->stands ? ": a hand goes to the spindle, which stands, but can start"
                          : ": a hand goes to the spindle, which is not known to stand";
}

void wall_add_questions(struct poster *poster)
{
    struct procedure procedure;
    paper_heading(&poster->paper, "What the change asks, in its order");
    procedure_walk(&procedure, poster->machine);
    if (!procedure.known || !procedure.count)
        paper_text(&poster->paper,
                   procedure.known ? "The change asks nothing."
                                   : "It is not known what the change asks.",
                   true);
    for (uint32_t i = 0; procedure.known && i < procedure.count; i++) {
        const struct procedure_step *step = &procedure.steps[i];
        paper_item(&poster->paper,
                   arena_format(poster->arena, "%s%s", tell_asked(poster->arena, step->ask),
                                hand_text(step)),
                   true);
    }
}

static void add_step(struct poster *poster, uint32_t index)
{
    struct told_step step;
    tell_step(&poster->teller, index, &step);
    const struct paper_cell cells[] = {
        {.text = arena_format(poster->arena, "%u", step.number)},
        {.text = step_text(poster, &poster->wall->dryrun->change->moves[index], &step),
         .bold = step.danger},
        {.text = NULL},
        {.ticks = arena_format(poster->arena, "seen: step %u", step.number)}};
    paper_row(&poster->paper, poster->subject ? &descent : &run, cells, NULL);
}

static void add_record(struct poster *poster)
{
    paper_text(&poster->paper,
               "Run in air, all compared:  date __________  name ____________________  "
               "signature ____________________",
               false);
}

static bool can_tell(struct poster *poster)
{
    if (poster->wall->dryrun)
        return true;
    paper_text(
        &poster->paper,
        arena_format(poster->arena, "No steps can be told: %s.", poster->wall->no_change),
        true);
    return false;
}

void wall_add_first_run(struct poster *poster)
{
    paper_heading(&poster->paper, "The first run, in air");
    if (!can_tell(poster))
        return;
    const struct change *change = poster->wall->dryrun->change;
    paper_text(&poster->paper,
               arena_format(poster->arena,
                            "Out goes %s; in comes %s. After each step write down what the "
                            "controller shows, and go on only where it agrees.",
                            tell_cutter(&poster->teller, change->request.from),
                            tell_cutter(&poster->teller, change->request.to)),
               false);
    for (uint32_t i = 0; i < change->count; i++)
        add_step(poster, i);
    struct told_list total = {0};
    tell_total(&poster->teller, &total);
    for (size_t i = 0; i < total.items.count; i++) {
        paper_keep(&poster->paper);
        paper_text(&poster->paper, total.items.items[i], false);
    }
    paper_keep(&poster->paper); /* a signature is to what it stands below */
    add_record(poster);
}

/* The steps in which a new cutter is watched: from when it goes in until it has touched; all
 * that follow where it touches nothing. */
static void find_descent(const struct change *change, uint32_t *first, uint32_t *end)
{
    uint32_t at = 0;
    while (at < change->count && change->moves[at].kind != MOVE_CUTTER)
        at++;
    *first = at < change->count ? at : 0;
    for (at = *first; at < change->count; at++)
        if (change->moves[at].kind == MOVE_PROBE || change->moves[at].kind == MOVE_TOUCH_OFF)
            break;
    *end = at < change->count ? at + 1 : change->count;
}

/* Where something comes nearer, or a hand. */
static bool is_worth_watching(const struct move *move)
{
    bool stays = move->from.known[2] && move->to.known[2] &&
                 move->from.at[2] == move->to.at[2] && !move->moves[0] &&
                 move->kind != MOVE_PROBE;
    return move->by_hand || move->endangers || move->starts_still || move->beside_chuck ||
           !stays;
}

void wall_add_descent(struct poster *poster)
{
    const struct change *change = poster->wall->dryrun ? poster->wall->dryrun->change : NULL;
    uint32_t first, end;
    paper_heading(&poster->paper,
                  change
                      ? arena_format(poster->arena, "Its first descent, in air, in place of %s",
                                     tell_cutter(&poster->teller, change->request.from))
                      : "Its first descent, in air");
    if (!can_tell(poster))
        return;
    find_descent(change, &first, &end);
    for (uint32_t i = first; i < end; i++)
        if (is_worth_watching(&change->moves[i]))
            add_step(poster, i);
    add_record(poster);
}
