/* The moves of a cutter change, for whoever stands at the machine: a step is a block. */
#include "report/internal.h"

#include <math.h>

#include "report/tell.h"

enum { INDENT = 4 };

/* What is being written. */
struct table {
    struct layout layout;
    struct teller teller;
};

/* --- the head --- */

static const char *reason_text(const struct table *table, uint32_t record,
                               enum pair_reason reason)
{
    const char *why = pair_reason_text(reason);
    return arena_format(table->teller.arena, "%s%s%s", tell_cutter(&table->teller, record),
                        *why ? ", " : "", why);
}

/* Why this pair and no other. */
static void add_choice(const struct table *table, struct wrap *wrap)
{
    const struct cutter_pair *pair = table->teller.dryrun->pair;
    const struct change *change = table->teller.dryrun->change;
    bool chosen = pair->from_reason != PAIR_GIVEN && pair->to_reason != PAIR_GIVEN;
    const struct move *least = change_least_room(change);
    if (chosen && pair->to_reason != PAIR_ONLY && least) {
        double room = spread_settled(least->clearance.value.low);
        wrap_format(
            table->layout.out, wrap,
            "As far as is known no other change of the list comes nearer to anything: %s "
            "%s at step %u. Name another with --from and --to.",
            room < 0 ? "something runs into something else by" : "the least room is",
            tell_length(&table->teller, fabs(room)), tell_number(change, least));
    } else if (chosen && pair->to_reason != PAIR_ONLY) {
        wrap_add(
            table->layout.out, wrap,
            view_of("The room on its moves is not known, so the list decides. Name another "
                    "change with --from and --to."));
    }
}

static void add_pair(const struct table *table)
{
    const struct cutter_pair *pair = table->teller.dryrun->pair;
    const struct change_request *request = &table->teller.dryrun->change->request;
    struct wrap wrap = {table->layout.width, 0, 0};
    wrap_format(table->layout.out, &wrap, "Out goes %s; in comes %s.",
                reason_text(table, pair->from, pair->from_reason),
                reason_text(table, pair->to, pair->to_reason));
    add_choice(table, &wrap);
    if (!request->start_known)
        wrap_add(table->layout.out, &wrap,
                 view_of("The change may begin anywhere in the work area: moves from and to "
                         "there have the longest time and the least room of all places. "
                         "Name one with --at X,Y,Z."));
}

/* A line below a step. */
static void add_line(const struct table *table, const struct told_line *line)
{
    struct wrap wrap = {table->layout.width, INDENT, INDENT + 2};
    wrap_format(table->layout.out, &wrap, "%s%s", line->label, line->text);
}

static void add_step(struct table *table, uint32_t index)
{
    struct told_step step;
    tell_step(&table->teller, index, &step);
    struct wrap wrap = {table->layout.width, step.number < 10, INDENT};
    wrap_format(table->layout.out, &wrap, "%u. %s, %s [%s]", step.number, step.name,
                step.cutter, step.spindle);
    for (size_t i = 0; i < step.lines.count; i++)
        add_line(table, &step.lines.items[i]);
}

static void add_text(const struct layout *layout, const struct report *report)
{
    struct table table = {.layout = *layout};
    struct buffer *out = layout->out;
    struct wrap whole = {layout->width, 0, 0}, listed = {layout->width, 2, 4};
    struct told_list cautions = {0}, total = {0};
    teller_open(&table.teller, out->arena, report->moves);
    tell_cautions(&table.teller, &cautions);
    tell_total(&table.teller, &total);
    wrap_format(out, &whole, "%s: the moves of a cutter change, on paper.", layout->path);
    add_pair(&table);
    buffer_text(out, "\nBefore the first run:\n");
    for (size_t i = 0; i < cautions.items.count; i++)
        wrap_format(out, &listed, "- %s", cautions.items.items[i]);
    buffer_byte(out, '\n');
    for (uint32_t i = 0; i < report->moves->change->count; i++)
        add_step(&table, i);
    buffer_byte(out, '\n');
    for (size_t i = 0; i < total.items.count; i++)
        wrap_format(out, &whole, "%s", total.items.items[i]);
}

const struct report_writer moves_text = {.file = add_text};
