#include "rules/run.h"

struct expansion {
    struct runner *runner;
    struct arena *arena;
    VECTOR(struct formula_read) reads;
};

/* Each leaf of a record once; the part that compares wins. */
static void add_read(struct expansion *expansion, const struct formula_read *read)
{
    for (size_t i = 0; i < expansion->reads.count; i++) {
        struct formula_read *other = &expansion->reads.items[i];
        if (other->leaf != read->leaf || other->record != read->record ||
            other->part != read->part)
            continue;
        other->comparing |= read->comparing;
        other->placed |= read->placed;
        return;
    }
    VECTOR_ADD(expansion->arena, &expansion->reads, *read);
}

static void add_uses(struct expansion *expansion, const struct field_uses *uses,
                     const struct formula_read *derived)
{
    for (uint32_t i = 0; i < uses->count; i++) {
        const struct field_use *use = &uses->items[i];
        const struct field *field = &field_table[use->field];
        struct formula_read read = {
            .leaf = (uint16_t)use->field,
            .record = use->record,
            .state = derived->state == ENV_KNOWN ? ENV_KNOWN
                     : use->wrong                ? ENV_WRONG
                                                 : ENV_ABSENT,
            .comparing = derived->comparing && use->decides,
            .dimension = field->dimension,
        };
        if (read.state == ENV_KNOWN) {
            const struct field_value *value =
                binding_value(&expansion->runner->binding, read.leaf, 0, read.record);
            read.defaulted = value->state == VALUE_DEFAULTED;
            read.unit = value->unit;
        }
        add_read(expansion, &read);
    }
}

void trace_expand(const struct describer *describer, struct trace *trace,
                  struct derived_reads *out)
{
    struct expansion expansion = {.runner = describer->runner, .arena = describer->arena};
    *out = (struct derived_reads){0};
    for (size_t i = 0; i < trace->read_count; i++)
        if (leaf_is_derived(trace->reads[i].leaf) && out->count < DERIVED_READS_MAX) {
            out->items[out->count].leaf = trace->reads[i].leaf;
            out->items[out->count++].record = trace->reads[i].record;
        }
    if (!out->count)
        return;
    for (size_t i = 0; i < trace->read_count; i++) {
        const struct formula_read *read = &trace->reads[i];
        if (!leaf_is_derived(read->leaf)) {
            add_read(&expansion, read);
            continue;
        }
        add_uses(&expansion,
                 derived_uses(describer->runner->binding.derived, read->leaf, read->record,
                              read->state != ENV_KNOWN),
                 read);
    }
    trace->reads = expansion.reads.items;
    trace->read_count = expansion.reads.count;
}

size_t derived_shares(const struct describer *describer, const struct formula_namer *namer,
                      const struct derived_reads *reads, const struct finding_share *whole,
                      struct finding_share *out, size_t room)
{
    for (size_t i = 0; i < reads->count; i++) {
        uint16_t leaf = reads->items[i].leaf;
        uint32_t record = reads->items[i].record;
        const char *own = namer->leaf(namer->user, describer->arena, leaf, 0, record);
        if (strcmp(own, whole->name) != 0)
            continue;
        const struct field_uses *uses =
            derived_uses(describer->runner->binding.derived, leaf, record, false);
        double sum = 0;
        size_t count = 0;
        for (uint32_t k = 0; k < uses->count; k++)
            sum += uses->items[k].decides ? uses->items[k].width : 0;
        for (uint32_t k = 0; k < uses->count && count < room && sum > 0; k++) {
            const struct field_use *use = &uses->items[k];
            if (use->decides && use->width > 0)
                out[count++] =
                    (struct finding_share){machine_path(describer->arena, describer->machine,
                                                        use->field, use->record, 0),
                                           use->width / sum * whole->si};
        }
        return count;
    }
    return 0;
}
