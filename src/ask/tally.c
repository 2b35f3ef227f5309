/* Readings as they are taken down.  What they come to is worked out by those who read a file.
 */
#include "ask/tally.h"

#include "quantity/quantity.h"
#include "quantity/scatter.h"
#include "tree/change.h"

enum { USUAL = 10 }; /* readings after which more bring little */

void tally_begin(struct tally *tally, struct arena *arena, enum field_id field)
{
    *tally = (struct tally){.arena = arena, .field = field};
}

static bool is_scatter(const struct tally *tally)
{
    return field_table[tally->field].nature == NATURE_SCATTER;
}

size_t tally_least(const struct tally *tally)
{
    return is_scatter(tally) ? 2 : 1;
}

/* A few words as a value within braces; quoted where they would be read as something else. */
static void add_note(struct buffer *out, const char *key, struct view text)
{
    if (text.size)
        buffer_format(out, ", %s: %s", key, change_quoted(out->arena, text, true));
}

const char *tally_text(const struct tally *tally)
{
    struct buffer out;
    buffer_init(&out, tally->arena);
    buffer_text(&out, "{readings: [");
    for (size_t i = 0; i < tally->readings.count; i++)
        buffer_format(&out, "%s%.*s", i ? ", " : "", VIEW(tally->readings.items[i].text));
    buffer_byte(&out, ']');
    add_note(&out, "with", tally->with);
    add_note(&out, "by", tally->by);
    add_note(&out, "on", tally->on);
    add_note(&out, "instrument_error", tally->instrument_error);
    buffer_byte(&out, '}');
    return buffer_string(&out);
}

const char *tally_weigh(struct tally *tally)
{
    tally->has_value = false;
    if (tally->readings.count < tally_least(tally))
        return NULL;
    const char *wrong = readings_read_text(
        tally->arena, tally->field, view_of(tally_text(tally)), &tally->value, &tally->from);
    tally->has_value = !wrong;
    return wrong;
}

const char *tally_put(struct tally *tally, const struct answer_context *with, struct view typed)
{
    struct view parts[TALLY_LINE_MAX];
    const char *wrong;
    size_t count =
        understand_readings(with, tally->field, typed, parts, TALLY_LINE_MAX, &wrong);
    if (!count)
        return wrong ? wrong : "a number is wanted";
    if (tally->readings.count + count > TALLY_MAX)
        return "there are more readings than can be noted";
    for (size_t i = 0; i < count; i++) {
        struct view kept = {arena_copy(tally->arena, parts[i].data, parts[i].size),
                            parts[i].size};
        VECTOR_ADD(tally->arena, &tally->readings, (struct tally_reading){kept, false});
    }
    return NULL;
}

const char *tally_add(struct tally *tally, const struct answer_context *with, struct view typed)
{
    size_t before = tally->readings.count;
    const char *wrong = tally_put(tally, with, typed);
    if (wrong)
        return wrong;
    wrong = tally_weigh(tally);
    if (!wrong)
        return NULL;
    tally->readings.count = before;
    (void)tally_weigh(tally); /* as it was before */
    return wrong;
}

size_t tally_off(const struct tally *tally)
{
    size_t off = tally->has_value ? tally->from.off : 0;
    bool asks = off && !tally->readings.items[off - 1].is_kept;
    return asks ? off - 1 : tally->readings.count;
}

static void remove_at(struct tally *tally, size_t index)
{
    for (size_t i = index; i + 1 < tally->readings.count; i++)
        tally->readings.items[i] = tally->readings.items[i + 1];
    tally->readings.count--;
    (void)tally_weigh(tally); /* fewer of what came to something do so too, or are too few */
}

void tally_take_out(struct tally *tally, size_t index)
{
    VECTOR_ADD(tally->arena, &tally->taken_out, tally->readings.items[index].text);
    remove_at(tally, index);
}

void tally_take_back(struct tally *tally)
{
    if (tally->readings.count)
        remove_at(tally, tally->readings.count - 1);
}

const char *tally_set_error(struct tally *tally, struct view text)
{
    struct view before = tally->instrument_error;
    tally->instrument_error =
        (struct view){arena_copy(tally->arena, text.data, text.size), text.size};
    const char *wrong = tally_weigh(tally);
    if (!wrong)
        return NULL;
    tally->instrument_error = before;
    (void)tally_weigh(tally); /* as it was before */
    return wrong;
}

const char *tally_says(const struct tally *tally)
{
    struct arena *arena = tally->arena;
    const struct readings *from = &tally->from;
    size_t count = tally->readings.count;
    struct dimension dimension = field_table[tally->field].dimension;
    if (!tally->has_value)
        return count ? "one reading, of which nothing scatters yet" : "no reading yet";
    const char *value = field_value_text(arena, tally->field, &tally->value);
    if (count == 1)
        return arena_format(arena, "one reading: %s; how far others would scatter is not known",
                            value);
    const char *scatter = is_scatter(tally) ? "scatter " : "";
    if (count >= USUAL || !(from->deviation > 0))
        return arena_format(arena, "%zu readings: %s%s", count, scatter, value);
    double half_width = scatter_factor(USUAL) * from->deviation + from->instrument_error;
    return arena_format(arena, "%zu readings: %s%s; %d that scatter so would leave %s%s", count,
                        scatter, value, USUAL, is_scatter(tally) ? "" : "± ",
                        quantity_text(arena, half_width, dimension, tally->value.unit));
}
