/* What is to be measured again, and when. */
#include "wall/internal.h"

#include "rules/round.h"

const char *wall_reason(struct arena *arena, const struct machine *machine,
                        const struct round_item *item)
{
    const struct field_value day = {.state = VALUE_GIVEN, .si = item->on};
    switch (item->reason) {
    case ROUND_MISSING:
        return arena_format(arena, "not in the file; %s wants it", item->wanted->rule);
    case ROUND_OLD:
        return arena_format(arena, "measured on %s, before the last work on the machine",
                            field_value_text(arena, FIELD_TABLE_MEASURED_ON, &day));
    case ROUND_BETTER:
        return worth_text(arena, &item->worth,
                          machine_unit(machine, field_table[item->place.field].dimension));
    case ROUND_NAMED:
        break;
    }
    return "";
}

const char *wall_unseen(struct arena *arena, const struct round_plan *round)
{
    return round->unseen
               ? arena_format(arena, "%zu more values given by readings were not looked at.",
                              round->unseen)
               : NULL;
}

void wall_add_again(struct poster *poster)
{
    const struct round_plan *round = poster->wall->round;
    struct arena *arena = poster->arena;
    paper_heading(&poster->paper, "What to measure again");
    for (size_t i = 0; i < round->items.count; i++) {
        const struct round_item *item = &round->items.items[i];
        const struct field_place *place = &item->place;
        const char *path = machine_lasting_path(
            arena, poster->machine,
            machine_path(arena, poster->machine, place->field, place->record, place->part));
        paper_item(
            &poster->paper,
            arena_format(arena, "%s: %s", path, wall_reason(arena, poster->machine, item)),
            false);
    }
    const char *unseen = wall_unseen(arena, round);
    if (unseen)
        paper_text(&poster->paper, unseen, false);
    paper_text(&poster->paper, "And whenever something has changed:", true);
    static const char *const changes[] = {
        "the setter was moved: proveout revise FILE setter",
        "the table was moved or its zero set anew: proveout revise FILE table",
        "the spoilboard was surfaced or replaced: proveout revise FILE board",
        "a cutter is new or sits otherwise: proveout revise FILE cutter N, or add cutter",
        "is this sheet still that of the file? proveout check --sheet SHEET FILE",
        "then print it anew, and take the old one down"};
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        paper_keep(&poster->paper);
        paper_item(&poster->paper, changes[i], false);
    }
}
