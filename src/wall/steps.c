/* The questions of the change, and the first run. */
#include "wall/internal.h"

static const struct paper_table run = {
    "the first run",
    4,
    {{"step", 1100}, {"what is to happen", 11900}, {"read-out", 3300}, {"seen", 1700}}};

/* A step in lines. */
static const char *step_text(const struct poster *poster, const struct told_step *step)
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    buffer_format(&text, "%s, %s [%s]", step->name, step->cutter, step->spindle);
    for (size_t i = 0; i < step->lines.count; i++)
        buffer_format(&text, "\n%s%s", step->lines.items[i].label, step->lines.items[i].text);
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

static const char *plain_word(struct arena *arena, struct view word)
{
    char *text = arena_copy(arena, word.data, word.size);
    for (char *c = text; *c; c++)
        if (*c == '_')
            *c = ' ';
    return text;
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
                   arena_format(poster->arena, "%s%s",
                                plain_word(poster->arena, ask_word(step->ask)),
                                hand_text(step)),
                   true);
    }
}

static void add_record(struct poster *poster)
{
    paper_text(&poster->paper,
               "Run in air, every read-out compared:   date ____________   name "
               "______________________   signature ______________________",
               false);
}

void wall_add_first_run(struct poster *poster)
{
    paper_heading(&poster->paper, "The first run, in air");
    if (!poster->wall->dryrun) {
        paper_text(
            &poster->paper,
            arena_format(poster->arena, "No steps can be told: %s.", poster->wall->no_change),
            true);
        return;
    }
    const struct change *change = poster->wall->dryrun->change;
    paper_text(&poster->paper,
               arena_format(poster->arena,
                            "Out goes %s; in comes %s. After each step write down what the "
                            "controller shows, and go on only where it agrees.",
                            tell_cutter(&poster->teller, change->request.from),
                            tell_cutter(&poster->teller, change->request.to)),
               false);
    for (uint32_t i = 0; i < change->count; i++) {
        struct told_step step;
        tell_step(&poster->teller, i, &step);
        const struct paper_cell cells[] = {
            {.text = arena_format(poster->arena, "%u", step.number)},
            {.text = step_text(poster, &step), .bold = step.danger},
            {.text = NULL},
            {.ticks = arena_format(poster->arena, "seen: step %u", step.number)}};
        paper_row(&poster->paper, &run, cells, NULL);
    }
    struct told_list total = {0};
    tell_total(&poster->teller, &total);
    for (size_t i = 0; i < total.items.count; i++)
        paper_text(&poster->paper, total.items.items[i], false);
    add_record(poster);
}
