/* What the sheet of a machine claims, and the mark of a sheet. */
#include "wall/claims.h"

#include "ask/sheet.h"
#include "draw/svg.h"
#include "proveout/version.h"
#include "quantity/number.h"
#include "wall/internal.h"
#include "text/escape.h"

enum { CONTENT = 1 }; /* version of what a page claims */

/* What a viewer would read of it. */
static const char *shown(struct arena *arena, const char *text)
{
    struct buffer written;
    buffer_init(&written, arena);
    escape_xml(&written, view_of(text));
    return wall_unescaped(arena, buffer_view(&written));
}

/* --- what is claimed --- */

/* Is another one of the list called the same?  That is a mistake, which `check` tells. */
static bool is_called_twice(const struct machine *machine, enum field_group group,
                            uint32_t record)
{
    enum field_id by = field_calling(group);
    if (by == FIELD_COUNT)
        return false;
    const struct field_value *own = machine_field(machine, by, record);
    for (uint32_t i = 0; i < machine->groups[group].count; i++) {
        const struct field_value *other = machine_field(machine, by, i);
        if (i != record && own->state == VALUE_GIVEN && other->state == VALUE_GIVEN &&
            (field_table[by].kind == KIND_TEXT ? view_equal(own->text, other->text)
                                               : own->si == other->si))
            return true;
    }
    return false;
}

void wall_each_value(struct poster *poster, bool (*wanted)(enum field_id id),
                     void (*tell)(void *user, enum field_id id, uint32_t record,
                                  const char *path),
                     void *user)
{
    const struct machine *machine = poster->machine;
    struct arena *arena = poster->arena;
    uint32_t one = poster->wall->cutter;
    for (uint32_t group = 0; group < GROUP_COUNT; group++)
        for (uint32_t record = 0; record < machine->groups[group].count; record++) {
            if (one != RECORD_NONE && (group != GROUP_CUTTER || record != one))
                continue;
            bool twice = is_called_twice(machine, (enum field_group)group, record);
            for (uint32_t i = group_table[group].first; i < group_table[group].end; i++) {
                enum field_id id = (enum field_id)i;
                if (machine_field(machine, id, record)->state != VALUE_GIVEN ||
                    !machine_is_written(machine, id, record) || (wanted && !wanted(id)))
                    continue;
                const char *path = machine_path(arena, machine, id, record, 0);
                tell(user, id, record,
                     twice ? path : machine_lasting_path(arena, machine, path));
            }
        }
}

struct claiming {
    struct poster *poster;
    struct wall_claims *out;
};

static void claim_value(void *user, enum field_id id, uint32_t record, const char *path)
{
    const struct claiming *claiming = user;
    const struct poster *poster = claiming->poster;
    const struct field_value *value = machine_field(poster->machine, id, record);
    struct wall_claim claim = {
        .name = shown(poster->arena, path),
        .value = shown(poster->arena, field_value_text(poster->arena, id, value))};
    if (value->node) {
        struct span span = value->node->span;
        struct source *source = source_holding(poster->machine->tree->source, &span);
        claim.line = source_place(source, span.start, COLUMN_BYTES).line;
    }
    VECTOR_ADD(poster->arena, &claiming->out->items, claim);
}

/* "failed, error", "waived until 2027-03-31", "unchecked" */
static const char *outcome_text(struct arena *arena, const struct finding *finding)
{
    const char *outcome = finding_outcome_name(finding->outcome);
    if (finding->outcome == OUTCOME_FAILED)
        return arena_format(arena, "%s, %s", outcome, finding_level_name(finding->level));
    if (finding->outcome == OUTCOME_WAIVED && finding->waived_until)
        return arena_format(arena, "%s until %s", outcome, finding->waived_until);
    return outcome;
}

static void claim_findings(const struct poster *poster, struct wall_claims *out)
{
    struct arena *arena = poster->arena;
    const struct file_report *report = poster->wall->report;
    for (size_t i = 0; i < report->count; i++) {
        const struct finding *finding = &report->findings[i];
        if (finding->outcome == OUTCOME_HELD || !poster_wants(poster, finding))
            continue;
        struct wall_claim claim = {
            .finding = true,
            .name = shown(arena, arena_format(arena, "%s%s", finding->rule,
                                              poster_about(poster, finding))),
            .value = shown(arena, outcome_text(arena, finding))};
        if (finding->at.source)
            claim.line =
                source_place(finding->at.source, finding->at.span.start, COLUMN_BYTES).line;
        VECTOR_ADD(arena, &out->items, claim);
    }
    for (size_t i = 0; i < report->more_count && !poster->subject; i++)
        VECTOR_ADD(
            arena, &out->items,
            (struct wall_claim){
                .finding = true,
                .name = arena_format(arena, "%s, more of the same", report->more[i].rule),
                .value = arena_format(arena, "%zu%s", report->more[i].failed,
                                      report->more[i].waived ? " waived" : "")});
}

void wall_claims(struct arena *arena, const struct wall *wall, struct wall_claims *out)
{
    struct poster *poster = ARENA_NEW(arena, struct poster);
    const struct machine *machine = &wall->file->machine;
    wall_open(poster, arena, wall);
    const struct field_value *number =
        wall->cutter == RECORD_NONE ? NULL
                                    : machine_field(machine, FIELD_CUTTER_NUMBER, wall->cutter);
    *out = (struct wall_claims){
        .state = {.machine = shown(arena, wall_machine_name(arena, machine)),
                  .fingerprint = sheet_fingerprint(arena, wall->file),
                  .made_by = PROVEOUT_VERSION,
                  .day = wall->today ? wall->today : "",
                  .cutter = number ? number_exact(arena, number->si) : ""}};
    struct claiming claiming = {poster, out};
    wall_each_value(poster, NULL, claim_value, &claiming);
    claim_findings(poster, out);
}

/* --- on the page --- */

static void add_data(struct buffer *out, const char *name, const char *text)
{
    buffer_format(out, " data-%s=\"", name);
    escape_xml(out, view_of(text));
    buffer_byte(out, '"');
}

void wall_claims_mark(struct buffer *out, const struct sheet_state *state)
{
    buffer_format(out, "<meta name=\"proveout-sheet\" content=\"%d\"", CONTENT);
    add_data(out, "machine", state->machine);
    add_data(out, "file", state->fingerprint);
    add_data(out, "made", state->made_by);
    add_data(out, "day", state->day);
    add_data(out, "cutter", state->cutter);
    buffer_text(out, ">\n");
}

static const struct paper_table values = {
    "every value of the file", 3, {{"field", 7000}, {"value", 8000}, {"line", 3000}}};
static const struct paper_table findings = {
    "what was found", 3, {{"rule", 9000}, {"outcome", 6000}, {"line", 3000}}};

void wall_add_claims(struct poster *poster, const struct wall_claims *claims)
{
    paper_screen(&poster->paper);
    paper_heading(&poster->paper, "What this sheet was made of");
    paper_text(&poster->paper,
               "For screens, not printed. Whether it is still so: proveout check --sheet "
               "SHEET FILE",
               false);
    for (size_t i = 0; i < claims->items.count; i++) {
        const struct wall_claim *claim = &claims->items.items[i];
        const struct paper_cell cells[] = {
            {.text = claim->name},
            {.text = claim->value},
            {.text = claim->line ? arena_format(poster->arena, "%u", claim->line) : ""}};
        paper_row(&poster->paper, claim->finding ? &findings : &values, cells,
                  &(struct paper_value){claim->finding ? "finding" : "field", claim->name,
                                        claim->value});
    }
}
