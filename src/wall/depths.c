/* How every cutter comes down to what measures it. */
#include "wall/internal.h"

#include <math.h>

static const struct paper_table depths = {"how every cutter comes down",
                                          8,
                                          {{"cutter", 3500},
                                           {"sticks out", 1900},
                                           {"approach, nose", 2100},
                                           {"gap, least to most", 2500},
                                           {"contact, nose", 2000},
                                           {"stroke left", 1900},
                                           {"least room", 2100},
                                           {"change", 2000}}};

/* The same without its first column, where the page is about one cutter. */
static const struct paper_table depth_of_one = {"how it comes down",
                                                7,
                                                {{"sticks out", 2400},
                                                 {"approach, nose", 2900},
                                                 {"gap, least to most", 4000},
                                                 {"contact, nose", 2500},
                                                 {"stroke left", 2200},
                                                 {"least room", 2200},
                                                 {"change", 1800}}};

/* What is known of one cutter; NAN: not known. */
struct depth {
    double approach, gap_least, gap_most, contact, stroke_left, room, seconds;
    bool at_most, whole;
};

static const struct move *last_move(const struct change *change, enum move_kind kind)
{
    for (uint32_t i = change->count; i-- > 0;)
        if (change->moves[i].kind == kind)
            return &change->moves[i];
    return NULL;
}

static void look(const struct poster *poster, uint32_t cutter, struct change *change,
                 struct depth *out)
{
    *out = (struct depth){NAN, NAN, NAN, NAN, NAN, NAN, NAN, false, false};
    const struct change_request request = {.from = cutter, .to = cutter};
    if (!change_plan(change, poster->machine, &request))
        return;
    const struct move *approach = last_move(change, MOVE_APPROACH);
    const struct move *probe = last_move(change, MOVE_PROBE);
    const struct move *least = change_least_room(change);
    bool ends = approach && approach->to.known[2];
    if (ends)
        out->approach = approach->to.at[2];
    if (probe && probe->has_contact) {
        out->contact = probe->expected;
        if (ends)
            out->gap_least = out->approach - probe->earliest;
        if (ends)
            out->gap_most = out->approach - probe->latest;
        if (probe->has_end)
            out->stroke_left = probe->latest - probe->end;
    }
    if (least)
        out->room = least->clearance.value.low, out->whole = least->whole;
    out->seconds = change->untimed ? NAN : change->seconds;
    out->at_most = change->at_most;
}

static const char *length(const struct poster *poster, double metres)
{
    return isnan(metres) ? "not known" : poster_length(poster, metres);
}

/* The worst so far, by a number that is the worse the smaller it is. */
struct worst {
    double value;
    uint32_t cutter;
};

static void take(struct worst *worst, double value, uint32_t cutter)
{
    if (!isnan(value) && value < worst->value)
        *worst = (struct worst){value, cutter};
}

/* Has the controller a list of cutters, that it has to agree with? */
static bool controller_lists(const struct machine *machine)
{
    static const enum field_id words[] = {FIELD_CHANGE_MEASURES_WITH,
                                          FIELD_CHANGE_STICKOUT_FROM};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        const struct field_value *value = machine_field(machine, words[i], 0);
        if (value->state == VALUE_GIVEN && view_is(value->text, "list"))
            return true;
    }
    return false;
}

static void add_row(struct poster *poster, uint32_t cutter, const struct depth *depth)
{
    const struct machine *machine = poster->machine;
    struct arena *arena = poster->arena;
    const struct field_value *description =
        machine_field(machine, FIELD_CUTTER_DESCRIPTION, cutter);
    const struct field_value *sticks_out =
        machine_field(machine, FIELD_CUTTER_STICKOUT, cutter);
    const char *name = machine_record_name(arena, machine, GROUP_CUTTER, cutter);
    if (description->state == VALUE_GIVEN)
        name = arena_format(arena, "%s, %.*s", name, VIEW(description->text));
    const char *gap = isnan(depth->gap_least)
                          ? "not known"
                          : arena_format(arena, "%s to %s", length(poster, depth->gap_least),
                                         length(poster, depth->gap_most));
    bool listed = sticks_out->state == VALUE_GIVEN && controller_lists(machine);
    const struct paper_cell cells[] = {
        {.text = name},
        {.ticks = listed ? arena_format(arena, "the controller's list has the same: %s", name)
                         : NULL,
         .text = sticks_out->state == VALUE_GIVEN
                     ? field_value_text(arena, FIELD_CUTTER_STICKOUT, sticks_out)
                     : "not known"},
        {.text = length(poster, depth->approach)},
        {.text = gap, .bold = depth->gap_least < 0},
        {.text = length(poster, depth->contact)},
        {.text = length(poster, depth->stroke_left), .bold = depth->stroke_left < 0},
        {.text = arena_format(arena, "%s%s", length(poster, depth->room),
                              isnan(depth->room) || depth->whole ? "" : ", not all looked at"),
         .bold = depth->room < 0},
        {.text = isnan(depth->seconds)
                     ? "not known"
                     : arena_format(arena, "%s%s s", depth->at_most ? "at most " : "",
                                    number_rounded(arena, depth->seconds, 0))}};
    if (poster->subject)
        paper_row(&poster->paper, &depth_of_one, cells + 1, NULL);
    else
        paper_row(&poster->paper, &depths, cells, NULL);
}

static void tell_worst(struct poster *poster, const struct worst *worst, const char *what,
                       const char *short_of)
{
    struct arena *arena = poster->arena;
    bool told = poster->subject && worst->value >= 0; /* in its only row */
    if (worst->value == INFINITY || told)
        return;
    const char *name = machine_record_name(arena, poster->machine, GROUP_CUTTER, worst->cutter);
    paper_text(&poster->paper,
               worst->value < 0 ? arena_format(arena, "%s: %s, %s %s.", what, name, short_of,
                                               poster_length(poster, -worst->value))
                                : arena_format(arena, "%s: %s, %s.", what, name,
                                               poster_length(poster, worst->value)),
               worst->value < 0);
}

void wall_add_depths(struct poster *poster)
{
    uint32_t one = poster->wall->cutter;
    uint32_t first = one == RECORD_NONE ? 0 : one;
    uint32_t count = one == RECORD_NONE ? poster->machine->groups[GROUP_CUTTER].count : one + 1;
    bool any = false;
    struct worst gap = {INFINITY, 0}, stroke = gap, room = gap;
    struct change *change = ARENA_NEW(poster->arena, struct change);
    if (one == RECORD_NONE)
        paper_heading(&poster->paper, "How every cutter comes down");
    if (!count) {
        paper_text(&poster->paper, "The file lists no cutters, so none was looked at.", true);
        return;
    }
    if (one == RECORD_NONE)
        paper_text(
            &poster->paper,
            "Gap: between the tip and what it is to touch, at the end of the approach, with "
            "all tolerances. Room: the least beside the spindle on the moves of its change. "
            "Heights are those of the nose. Where there is a box, compare the controller's list "
            "and tick it.",
            false);
    for (uint32_t i = first; i < count; i++) {
        struct depth depth;
        look(poster, i, change, &depth);
        add_row(poster, i, &depth);
        any |= !isnan(depth.approach);
        take(&gap, depth.gap_least, i);
        take(&stroke, depth.stroke_left, i);
        take(&room, depth.room, i);
    }
    if (!any)
        paper_text(
            &poster->paper,
            "Nobody knows beforehand where an approach ends: a plate lies where somebody "
            "lays it, or the file does not tell. Come down slowly, and watch the tip.",
            true);
    tell_worst(poster, &gap, "The least gap", "which comes down too far by");
    tell_worst(poster, &stroke, "The least stroke left", "whose stroke is short by");
    tell_worst(poster, &room, "The least room", "which runs into something by");
}
