/* Proposals as people and programs read them: format proveout-proposal version 1. */
#include "report/proposals.h"

#include <math.h>

#include "quantity/number.h"
#include "report/internal.h"
#include "report/json_writer.h"
#include "text/escape.h"

enum { FORMAT_VERSION = 1, NAME_SHOWN = 60 };

/* "probe-stroke-short (cutter 3)" */
static const char *who(struct arena *arena, const char *rule, const char *subject)
{
    return subject ? arena_format(arena, "%s (%s)", rule, subject) : rule;
}

/* "0.63": a margin by its scale, to two digits. */
static const char *part(struct arena *arena, double least)
{
    double step = fabs(least) > 0 ? number_decade(fabs(least), -1) : 1;
    return number_exact(arena, step < 1 ? round(least / step) / round(1 / step)
                                        : round(least / step) * step);
}

static void add_item(const struct layout *layout, const struct proposed *item)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 2, 6};
    const char *reason =
        item->rule
            ? arena_format(arena, item->fails ? "; else %s fails" : "; else %s has less room",
                           who(arena, item->rule, item->subject))
            : "";
    const char *where =
        item->elsewhere
            ? arena_format(arena, " in %s",
                           escape_short(arena, view_of(item->elsewhere), NAME_SHOWN))
            : "";
    wrap_format(layout->out, &wrap, "%s: %s, now %s%s%s%s", item->lasting, item->text,
                item->now_text, item->given ? "" : " by default", where, reason);
}

/* Somebody else's machine may take that file in. */
static void add_shared(const struct layout *layout, const struct proposed_set *set)
{
    struct wrap wrap = {layout->width, 0, 0};
    bool shared = false;
    for (size_t i = 0; i < set->count; i++)
        shared |= set->items[i].elsewhere != NULL;
    if (shared)
        wrap_add(
            layout->out, &wrap,
            view_of("What stands in another file would change for every machine that takes "
                    "it in; `revise --here` sets it for this one alone."));
}

/* A machine file that was changed alone no longer says what the controller does. */
static void add_agreed(const struct layout *layout, const struct proposed_set *set)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 0, 0};
    for (size_t i = 0; i < set->count; i++)
        if (set->items[i].agrees_with)
            wrap_format(layout->out, &wrap,
                        "%s has to say the same in %s: change both, or the agreement is lost.",
                        set->items[i].lasting,
                        escape_short(arena, view_of(set->items[i].agrees_with), NAME_SHOWN));
}

static void add_set(const struct layout *layout, const struct proposed_set *set)
{
    for (size_t i = 0; i < set->count; i++)
        add_item(layout, &set->items[i]);
}

static void add_margins(const struct layout *layout, const struct proposal *proposal,
                        const char *heading)
{
    struct wrap wrap = {layout->width, 0, 0}, below = {layout->width, 2, 6};
    if (!proposal->margin_count)
        return;
    buffer_byte(layout->out, '\n');
    wrap_add(layout->out, &wrap, view_of(heading));
    for (size_t i = 0, same; i < proposal->margin_count; i += same) {
        const struct proposed_margin *margin = &proposal->margins[i];
        for (same = 1;
             i + same < proposal->margin_count && strcmp(margin->rule, margin[same].rule) == 0;)
            same++;
        const struct proposed_margin *worst = margin;
        for (size_t k = 1; k < same; k++)
            if (margin[k].after < worst->after)
                worst = &margin[k];
        wrap_format(layout->out, &below, "%s: %s, was %s%s",
                    who(layout->out->arena, worst->rule, worst->subject),
                    worst->known_after ? worst->after_text : "not asked",
                    worst->known_before ? worst->before_text : "not asked",
                    same > 1 ? arena_format(layout->out->arena, "; %zu more of it", same - 1)
                             : "");
    }
}

/* What bounds a wish. */
static void add_bound(const struct layout *layout, const struct granted *wish,
                      const struct bound *bound)
{
    struct arena *arena = layout->out->arena;
    struct wrap below = {layout->width, 4, 8};
    const char *where = wish->path ? "" : arena_format(arena, "%s: ", bound->path);
    switch (bound->by) {
    case BOUND_BY_RULE:
        wrap_format(layout->out, &below, "%sbounded by %s", where,
                    who(arena, bound->rule, bound->subject));
        return;
    case BOUND_BY_GUARD:
        wrap_format(layout->out, &below,
                    "%sbounded by itself: a wait that keeps hands from a turning cutter is no "
                    "less than 1.2 times the run-down, nor than the coasting that it outlasts",
                    where);
        return;
    case BOUND_BY_NOTHING:
        wrap_format(
            layout->out, &below,
            "%sno rule that can be asked bounds it%s, and that is no reason to change it",
            where, wish->path ? "" : " where others move along");
        return;
    }
}

static void add_wish(const struct layout *layout, const struct granted *wish)
{
    static const char *const names[] = {"least", "most"};
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 2, 6}, below = {layout->width, 4, 8};
    const char *was = strcmp(wish->before_text, wish->after_text) == 0
                          ? ", as it is"
                          : arena_format(arena, ", now %s", wish->before_text);
    if (wish->path)
        wrap_format(layout->out, &wrap, "%s %s: %s%s", names[wish->kind], wish->path,
                    wish->after_text, was);
    else
        wrap_format(layout->out, &wrap, "fastest: a change takes %s%s%s",
                    wish->at_most ? "at most " : "", wish->after_text, was);
    for (size_t i = 0; i < wish->bound_count; i++)
        add_bound(layout, wish, &wish->bounds[i]);
    if (wish->alone)
        wrap_add(layout->out, &below,
                 view_of("with the others where they are; nothing bounds it where they may "
                         "move along"));
    if (!wish->path)
        wrap_format(
            layout->out, &below,
            "as dryrun counts it, the mean of all changes of the list; not counted: the "
            "time of %u step%s of the operator's, and of %u of the machine's",
            wish->by_hand, wish->by_hand == 1 ? "" : "s", wish->untimed);
}

static void add_held_back_as(const struct layout *layout, const struct proposal *proposal,
                             bool moves, const char *heading)
{
    struct wrap wrap = {layout->width, 0, 0}, below = {layout->width, 2, 6};
    bool any = false;
    for (size_t i = 0; i < proposal->held_back.count; i++) {
        const struct held_back *held = &proposal->held_back.items[i];
        if (held->moves != moves)
            continue;
        if (!any)
            wrap_add(layout->out, &wrap, view_of(heading));
        any = true;
        wrap_format(layout->out, &below, "%s: %s %s", held->path,
                    who(layout->out->arena, held->rule, held->subject),
                    held->fails ? "fails whatever it is"
                                : "cannot be asked, for want of a number");
    }
    if (any)
        buffer_byte(layout->out, '\n');
}

static bool waits_less(const struct proposed_set *set)
{
    bool less = false;
    for (size_t i = 0; i < set->count; i++)
        less |= (set->items[i].place.field == FIELD_SPINDLE_DWELL_AFTER_STOP ||
                 set->items[i].place.field == FIELD_SPINDLE_STANDSTILL_TIMEOUT) &&
                set->items[i].si < set->items[i].now;
    return less;
}

static void add_held_back(const struct layout *layout, const struct proposal *proposal)
{
    struct wrap wrap = {layout->width, 0, 0};
    add_held_back_as(layout, proposal, false,
                     proposal->granted_count ? "Held back from what is wished:" : "Held back:");
    add_held_back_as(layout, proposal, true,
                     "Not looked at, though these may change, since they were named:");
    if (!proposal->coast_unknown || !waits_less(&proposal->widest))
        return;
    wrap_add(layout->out, &wrap,
             view_of("How long the spindle coasts with its power cut is not known, and was not "
                     "looked at."));
    buffer_byte(layout->out, '\n');
}

static void add_wished(const struct layout *layout, const struct report_proposal *report)
{
    struct wrap wrap = {layout->width, 0, 0};
    const struct proposal *proposal = &report->proposal;
    wrap_format(layout->out, &wrap,
                "%s: as wished, with every rule holding that these numbers can move%s, worst "
                "tolerances and allowances counted, and nothing kept to spare besides:",
                layout->path, proposal->stay_count ? ", but those left out below" : "");
    for (size_t i = 0; i < proposal->granted_count; i++)
        add_wish(layout, &proposal->granted[i]);
    buffer_byte(layout->out, '\n');
    wrap_add(layout->out, &wrap,
             view_of(proposal->widest.count ? "The numbers that change:" : "Nothing changes."));
    add_set(layout, &proposal->widest);
    add_margins(layout, proposal, "Margins with them: what failed, and the tightest.");
    buffer_byte(layout->out, '\n');
    add_held_back(layout, proposal);
    if (report->widest.left)
        wrap_format(layout->out, &wrap, "`check` still finds %zu that they do not mend.",
                    report->widest.left);
    add_shared(layout, &proposal->widest);
    add_agreed(layout, &proposal->widest);
}

/* The fewest changes first: what two numbers do is sooner understood, and sooner right. */
static void add_plain(const struct layout *layout, const struct report_proposal *report)
{
    struct arena *arena = layout->out->arena;
    struct wrap wrap = {layout->width, 0, 0};
    const struct proposed_set *fewest = report->fewest.set, *widest = report->widest.set;
    wrap_format(layout->out, &wrap,
                "%s: with %s can move; the least margin is %s times its tolerance, or what is "
                "allowed:",
                layout->path,
                fewest->count == 1 ? "this number every rule holds that it"
                                   : "these numbers every rule holds that they",
                part(arena, fewest->least));
    add_set(layout, fewest);
    if (fewest->count < widest->count) {
        buffer_byte(layout->out, '\n');
        wrap_format(layout->out, &wrap, "With %zu changes it would be %s times:", widest->count,
                    part(arena, widest->least));
        add_set(layout, widest);
    }
    add_margins(layout, &report->proposal,
                arena_format(arena, "Margins with %s: what failed, and the tightest.",
                             fewest->count < widest->count
                                 ? arena_format(arena, "the %zu", widest->count)
                                 : "them"));
    buffer_byte(layout->out, '\n');
    add_held_back(layout, &report->proposal);
    if (report->widest.left)
        wrap_format(layout->out, &wrap, "`check` still finds %zu that they do not mend.",
                    report->widest.left);
    add_shared(layout, widest);
    add_agreed(layout, widest);
}

static void add_found(const struct layout *layout, const struct report_proposal *report)
{
    if (report->proposal.granted_count)
        add_wished(layout, report);
    else
        add_plain(layout, report);
}

const char *proposals_rule(struct arena *arena, const struct excluded *items, size_t count,
                           size_t *same)
{
    for (*same = 1; *same < count && strcmp(items->rule, items[*same].rule) == 0;)
        ++*same;
    const char *more = *same > 1 ? arena_format(arena, " and %zu more of it", *same - 1) : "";
    return arena_format(arena, "%s%s%s%s", who(arena, items->rule, items->subject), more,
                        items->held ? ": " : "", items->held ? items->held : "");
}

static void add_rules(const struct layout *layout, const struct excluded *items, size_t count)
{
    struct wrap below = {layout->width, 2, 6};
    for (size_t i = 0, same; i < count; i += same)
        wrap_format(layout->out, &below, "%s",
                    proposals_rule(layout->out->arena, &items[i], count - i, &same));
}

static void add_ways(const struct layout *layout, const struct proposal *proposal)
{
    struct wrap wrap = {layout->width, 0, 0}, below = {layout->width, 2, 6};
    if (proposal->way_count)
        wrap_add(
            layout->out, &wrap,
            view_of(
                "One of these alone, otherwise than the file says, would do. What is measured "
                "is measured again, never written to suit a rule:"));
    for (size_t i = 0; i < proposal->way_count; i++)
        wrap_format(layout->out, &below, "%s: %s by %s, now %s%s", proposal->ways[i].path,
                    proposal->ways[i].change > 0 ? "higher" : "lower",
                    proposal->ways[i].by_text, proposal->ways[i].now_text,
                    proposal->ways[i].kept ? ", which is kept" : "");
    if (proposal->ways_left)
        wrap_format(
            layout->out, &wrap,
            "These rules rest on %zu more number%s of which it was not looked at whether "
            "another value alone would do.",
            proposal->ways_left, proposal->ways_left == 1 ? "" : "s");
}

/* Of what stays, that which a number would mend that is held back, or the rest. */
static void add_stays_as(const struct layout *layout, const struct proposal *proposal,
                         bool held, const char *heading)
{
    struct wrap wrap = {layout->width, 0, 0};
    struct excluded *items =
        ARENA_ARRAY(layout->out->arena, struct excluded, proposal->stay_count + 1);
    size_t count = 0;
    for (size_t i = 0; i < proposal->stay_count; i++)
        if ((proposal->stays[i].held != NULL) == held)
            items[count++] = proposal->stays[i];
    if (!count)
        return;
    wrap_add(layout->out, &wrap, view_of(heading));
    add_rules(layout, items, count);
}

static void add_stays(const struct layout *layout, const struct proposal *proposal)
{
    if (!proposal->stay_count)
        return;
    add_stays_as(layout, proposal, true,
                 "This was left out, since it would hold only with another value of a number "
                 "that is held back:");
    add_stays_as(
        layout, proposal, false,
        "This was left out, since no set was found within the travel with which it holds:");
    if (!proposal->excluded_count)
        add_ways(layout, proposal);
    buffer_byte(layout->out, '\n');
}

const char *proposals_exclusion(const struct proposal *proposal)
{
    return proposal->excluded_count == 1
               ? "This rule cannot hold with the numbers that may change:"
           : proposal->proved
               ? "These rules exclude each other, which is proved for all that these numbers may "
                 "be, and with any one of them left out the rest can hold:"
           : proposal->stands
               ? "Wherever it was looked these rules exclude each other, and with any one of them "
                 "left out the rest can hold:"
               : "None was found where it was looked. These stood against each other where it "
                 "came nearest:";
}

static void add_excluded(const struct layout *layout, const struct proposal *proposal)
{
    struct wrap wrap = {layout->width, 0, 0};
    if (!proposal->excluded_count && proposal->exact >= 0 && isfinite(proposal->exact))
        wrap_format(
            layout->out, &wrap,
            "%s: these numbers can hold, but none was found in steps as people set them "
            "that does what is wished; keep one of them, or wish for less.",
            layout->path);
    else
        wrap_format(layout->out, &wrap, "%s: no set of these numbers will do.", layout->path);
    if (proposal->excluded_count) {
        wrap_add(layout->out, &wrap, view_of(proposals_exclusion(proposal)));
        add_rules(layout, proposal->excluded, proposal->excluded_count);
        add_ways(layout, proposal);
    }
    buffer_byte(layout->out, '\n');
}

static void add_places(const struct layout *layout, const struct proposal *proposal)
{
    struct wrap wrap = {layout->width, 0, 0};
    wrap_format(layout->out, &wrap, "%zu number%s might have changed.", proposal->place_count,
                proposal->place_count == 1 ? "" : "s");
    if (!proposal->kept_count)
        return;
    struct buffer names;
    buffer_init(&names, layout->out->arena);
    for (size_t i = 0; i < proposal->kept_count; i++)
        buffer_format(&names, "%s%s", i ? ", " : "", proposal->kept[i]);
    wrap_format(layout->out, &wrap, "Kept as %s: %s.",
                proposal->kept_count == 1 ? "it is" : "they are", buffer_string(&names));
}

static void add_text(const struct layout *layout, const struct report *report)
{
    const struct report_proposal *found = report->proposal;
    struct wrap wrap = {layout->width, 0, 0};
    if (found->proposal.state == PROPOSAL_IDLE) {
        wrap_format(
            layout->out, &wrap, "%s: nothing fails that %s could mend, so nothing is proposed.",
            layout->path, found->proposal.place_count ? "these numbers" : "a chosen number");
        add_held_back(layout, &found->proposal);
        if (found->proposal.place_count)
            add_places(layout, &found->proposal);
        return;
    }
    if (found->proposal.state == PROPOSAL_NONE) {
        add_excluded(layout, &found->proposal);
        add_held_back(layout, &found->proposal);
    } else if (found->refuted)
        wrap_format(layout->out, &wrap, "%s: no set stood the check: %s.", layout->path,
                    found->refuted);
    else
        add_found(layout, found);
    add_stays(layout, &found->proposal);
    add_places(layout, &found->proposal);
    wrap_add(
        layout->out, &wrap,
        view_of("Numbers on paper: set at the machine, the first run is still made in air, "
                "with a hand on the stop."));
}

const struct report_writer proposals_text = {.file = add_text};

/* A least margin by its scale; null where nothing has a margin. */
static void add_json_part(struct json *json, double least)
{
    if (isfinite(least))
        json_number(json, least);
    else
        json_nothing(json);
}

static void add_json_items(struct json *json, const char *key, const struct proposed_set *set)
{
    json_line(json, 2), json_key(json, key);
    json_open(json, '{');
    json_key(json, "least"), add_json_part(json, set->least);
    json_key(json, "changes"), json_open(json, '[');
    for (size_t i = 0; i < set->count; i++) {
        const struct proposed *item = &set->items[i];
        json_line(json, 4), json_open(json, '{');
        json_key(json, "field"), json_text(json, item->path);
        json_key(json, "now"), json_open(json, '{');
        json_key(json, "si"), json_number(json, item->now);
        json_key(json, "text"), json_text(json, item->now_text);
        json_key(json, "given"), json_bool(json, item->given);
        json_close(json, '}');
        json_key(json, "proposed"), json_open(json, '{');
        json_key(json, "si"), json_number(json, item->si);
        json_key(json, "text"), json_text(json, item->text);
        json_close(json, '}');
        json_key(json, "file"), json_text(json, item->elsewhere);
        json_key(json, "agrees_with"), json_text(json, item->agrees_with);
        json_key(json, "rule"), json_text(json, item->rule);
        json_key(json, "subject"), json_text(json, item->subject);
        json_close(json, '}');
    }
    json_close(json, ']');
    json_close(json, '}');
}

static void add_json_known(struct json *json, const char *key, bool known, double si,
                           const char *text)
{
    json_key(json, key);
    if (!known) {
        json_nothing(json);
        return;
    }
    json_open(json, '{');
    json_key(json, "si"), json_number(json, si);
    json_key(json, "text"), json_text(json, text);
    json_close(json, '}');
}

static void add_json_margins(struct json *json, const struct proposal *proposal)
{
    json_line(json, 2), json_key(json, "margins"), json_open(json, '[');
    for (size_t i = 0; i < proposal->margin_count; i++) {
        const struct proposed_margin *margin = &proposal->margins[i];
        json_line(json, 4), json_open(json, '{');
        json_key(json, "rule"), json_text(json, margin->rule);
        json_key(json, "subject"), json_text(json, margin->subject);
        add_json_known(json, "before", margin->known_before, margin->before,
                       margin->before_text);
        add_json_known(json, "after", margin->known_after, margin->after, margin->after_text);
        json_key(json, "scale");
        if (margin->scale > 0)
            json_number(json, margin->scale);
        else
            json_nothing(json);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_json_scales(struct json *json, const struct proposal *proposal)
{
    json_line(json, 2), json_key(json, "scales"), json_open(json, '[');
    for (size_t i = 0; i < proposal->scale_count; i++) {
        const struct measured_by *one = &proposal->scales[i];
        json_line(json, 4), json_open(json, '{');
        json_key(json, "rule"), json_text(json, one->rule);
        json_key(json, "subject"), json_text(json, one->subject);
        json_key(json, "requirement"), json_count(json, one->requirement);
        json_key(json, "scale"), json_number(json, one->scale);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_json_rules(struct json *json, const char *key, const struct excluded *items,
                           size_t count)
{
    json_line(json, 2), json_key(json, key), json_open(json, '[');
    for (size_t i = 0; i < count; i++) {
        json_open(json, '{');
        json_key(json, "rule"), json_text(json, items[i].rule);
        json_key(json, "subject"), json_text(json, items[i].subject);
        json_key(json, "requirement"), json_count(json, items[i].instance.requirement);
        if (items[i].held)
            json_key(json, "held_back"), json_text(json, items[i].held);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_json_conflict(struct json *json, const struct proposal *proposal)
{
    add_json_rules(json, "stays", proposal->stays, proposal->stay_count);
    add_json_rules(json, "excluded", proposal->excluded, proposal->excluded_count);
    json_key(json, "stands"), json_bool(json, proposal->stands);
    json_key(json, "proved"), json_bool(json, proposal->proved);
    json_line(json, 2), json_key(json, "ways"), json_open(json, '[');
    for (size_t i = 0; i < proposal->way_count; i++) {
        json_line(json, 4), json_open(json, '{');
        json_key(json, "field"), json_text(json, proposal->ways[i].path);
        json_key(json, "measured"), json_bool(json, proposal->ways[i].measured);
        json_key(json, "kept"), json_bool(json, proposal->ways[i].kept);
        json_key(json, "change"), json_number(json, proposal->ways[i].change);
        json_close(json, '}');
    }
    json_close(json, ']');
    json_key(json, "ways_not_looked_at"), json_count(json, proposal->ways_left);
}

static void add_json_wishes(struct json *json, const struct proposal *proposal)
{
    static const char *const kinds[] = {"least", "most", "fastest"};
    static const char *const ends[] = {"rule", "guard", "nothing"};
    json_line(json, 2), json_key(json, "wishes"), json_open(json, '[');
    for (size_t i = 0; i < proposal->granted_count; i++) {
        const struct granted *wish = &proposal->granted[i];
        json_line(json, 4), json_open(json, '{');
        json_key(json, "wish"), json_text(json, kinds[wish->kind]);
        json_key(json, "field"), json_text(json, wish->path);
        add_json_known(json, "before", true, wish->before, wish->before_text);
        add_json_known(json, "after", true, wish->after, wish->after_text);
        json_key(json, "alone"), json_bool(json, wish->alone);
        json_key(json, "bounds"), json_open(json, '[');
        for (size_t k = 0; k < wish->bound_count; k++) {
            const struct bound *bound = &wish->bounds[k];
            json_open(json, '{');
            json_key(json, "field"), json_text(json, bound->path);
            json_key(json, "by"), json_text(json, ends[bound->by]);
            json_key(json, "rule"), json_text(json, bound->rule);
            json_key(json, "subject"), json_text(json, bound->subject);
            json_close(json, '}');
        }
        json_close(json, ']');
        if (!wish->path) {
            json_key(json, "untimed"), json_count(json, wish->untimed);
            json_key(json, "by_hand"), json_count(json, wish->by_hand);
            json_key(json, "at_most"), json_bool(json, wish->at_most);
        }
        json_close(json, '}');
    }
    json_close(json, ']');
}

/* Numbers that do not move, and why. */
static void add_json_held_back(struct json *json, const struct proposal *proposal)
{
    json_line(json, 2), json_key(json, "held_back"), json_open(json, '[');
    for (size_t i = 0; i < proposal->held_back.count; i++) {
        const struct held_back *held = &proposal->held_back.items[i];
        json_open(json, '{');
        json_key(json, "field"), json_text(json, held->path);
        json_key(json, "rule"), json_text(json, held->rule);
        json_key(json, "subject"), json_text(json, held->subject);
        json_key(json, "fails"), json_bool(json, held->fails);
        json_key(json, "moves"), json_bool(json, held->moves);
        json_close(json, '}');
    }
    json_close(json, ']');
}

static void add_json(const struct layout *layout, const struct report *report)
{
    static const char *const states[] = {"nothing to mend", "found", "none"};
    struct json json = {.out = layout->out};
    const struct report_proposal *found = report->proposal;
    const struct proposal *proposal = &found->proposal;
    json_open(&json, '{');
    json_key(&json, "format"), json_text(&json, "proveout-proposal");
    json_key(&json, "version"), json_count(&json, FORMAT_VERSION);
    json_key(&json, "path"), json_text(&json, layout->path);
    json_key(&json, "state"), json_text(&json, states[proposal->state]);
    json_key(&json, "refuted"), json_text(&json, found->refuted);
    json_line(&json, 2), json_key(&json, "fields"), json_open(&json, '[');
    for (size_t i = 0; i < proposal->place_count; i++)
        json_text(&json, proposal->paths[i]);
    json_close(&json, ']');
    json_key(&json, "kept"), json_open(&json, '[');
    for (size_t i = 0; i < proposal->kept_count; i++)
        json_text(&json, proposal->kept[i]);
    json_close(&json, ']');
    json_key(&json, "ranges"), json_open(&json, '[');
    for (size_t i = 0; i < proposal->place_count; i++) {
        json_open(&json, '{');
        json_key(&json, "low"), json_number(&json, proposal->ranges[i].low);
        json_key(&json, "high"), json_number(&json, proposal->ranges[i].high);
        json_close(&json, '}');
    }
    json_close(&json, ']');
    json_key(&json, "least_before"), add_json_part(&json, proposal->least_before);
    if (proposal->state == PROPOSAL_FOUND) {
        json_key(&json, "least_unrounded"), add_json_part(&json, proposal->exact);
        add_json_wishes(&json, proposal);
        add_json_items(&json, "widest", &proposal->widest);
        add_json_items(&json, "fewest",
                       found->fewest.set ? found->fewest.set : &proposal->fewest);
        json_key(&json, "left"), json_count(&json, found->widest.left);
    }
    if (proposal->state != PROPOSAL_IDLE)
        add_json_held_back(&json, proposal);
    add_json_margins(&json, proposal);
    add_json_scales(&json, proposal);
    if (proposal->state != PROPOSAL_IDLE)
        add_json_conflict(&json, proposal);
    json_close(&json, '}');
    buffer_byte(layout->out, '\n');
}

const struct report_writer proposals_json = {.file = add_json};
