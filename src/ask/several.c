/* One line that answers for several fields of a kind: `760, 40`, `0 to 800, 0 to 1200`.
 *
 * The line is only taken apart here; each part is read as if it had been typed alone.
 */
#include "ask/understand.h"

#include "quantity/number.h"
#include "text/escape.h"

enum { PARTS_MAX = 32, SHOWN = 60 };

static bool is_bare(struct view part)
{
    double number;
    size_t used;
    return number_read(part, &number, &used) == NUMBER_OK && used == part.size;
}

/* What stands behind the `to` of a range; the whole where it is none. */
static struct view last_number(struct view part)
{
    for (size_t i = part.size; i > 1; i--) {
        struct view rest = view_skip(part, i - 2);
        if (view_starts(rest, "..") || view_starts(rest, "to "))
            return view_trim(view_skip(rest, 2));
        if (rest.data[0] == ',')
            return view_trim(view_skip(rest, 1));
    }
    return part;
}

static bool is_range(struct view part)
{
    return last_number(part).size < part.size;
}

static size_t split(struct view rest, char mark, struct view *parts)
{
    size_t count = 0;
    while (rest.size && count < PARTS_MAX) {
        const char *end = memchr(rest.data, mark, rest.size);
        struct view part = {rest.data, end ? (size_t)(end - rest.data) : rest.size};
        parts[count++] = view_trim(part);
        rest = view_skip(rest, part.size + 1);
    }
    return count;
}

/* `0, 800` and `0, 1200` from the numbers of ranges that were written with commas. */
static size_t join_ranges(struct arena *arena, struct view *parts, size_t count)
{
    size_t ranges = 0;
    for (size_t i = 0; i < count; i++) {
        bool alone = !is_range(parts[i]) && i + 1 < count && !is_range(parts[i + 1]);
        parts[ranges++] =
            alone
                ? view_of(arena_format(arena, "%.*s, %.*s", VIEW(parts[i]), VIEW(parts[i + 1])))
                : parts[i];
        i += alone;
    }
    return ranges;
}

/* `760 40`: numbers alone, and nothing that could be a fraction. */
static size_t split_blanks(struct view typed, struct view *parts)
{
    size_t count = memchr(typed.data, '/', typed.size) ? 0 : split(typed, ' ', parts), kept = 0;
    for (size_t i = 0; i < count; i++) {
        if (!parts[i].size)
            continue;
        if (!is_bare(parts[i]))
            return 0;
        parts[kept++] = parts[i];
    }
    return kept;
}

static size_t take_apart(struct arena *arena, bool ranges, struct view typed,
                         struct view *parts)
{
    if (memchr(typed.data, ';', typed.size))
        return split(typed, ';', parts);
    size_t count = split(typed, ',', parts);
    if (ranges)
        return join_ranges(arena, parts, count);
    struct view apart[PARTS_MAX];
    size_t blanks = count == 1 ? split_blanks(typed, apart) : 0;
    if (blanks < 2)
        return count;
    memcpy(parts, apart, blanks * sizeof *parts);
    return blanks;
}

/* The unit at the very end, which counts for all that have none. */
static struct view unit_at_end(struct view part)
{
    double number;
    size_t used;
    struct view last = last_number(part);
    if (number_read(last, &number, &used) != NUMBER_OK)
        return (struct view){0};
    struct view unit = view_trim(view_skip(last, used));
    return unit_read(unit) == UNIT_UNKNOWN ? (struct view){0} : unit;
}

static bool has_tight_comma(struct view text)
{
    for (size_t i = 1; i + 1 < text.size; i++)
        if (text.data[i] == ',' && text.data[i - 1] >= '0' && text.data[i - 1] <= '9' &&
            text.data[i + 1] >= '0' && text.data[i + 1] <= '9')
            return true;
    return false;
}

static size_t refuse(struct understood *out, const char *why)
{
    *out = (struct understood){.wrong = why};
    return 0;
}

size_t understand_several(const struct understanding *with, const enum field_id *ids,
                          size_t count, struct view typed, struct understood *out)
{
    struct arena *arena = with->arena;
    struct view parts[PARTS_MAX];
    typed = view_trim(typed);
    if (has_tight_comma(typed))
        return refuse(out, understand_comma(with, typed));
    size_t found = take_apart(arena, field_table[ids[0]].kind == KIND_PAIR, typed, parts);
    if (!found || found > count)
        return refuse(out, arena_format(arena, "%zu were typed, and there are %zu to answer",
                                        found, count));
    struct view unit = unit_at_end(parts[found - 1]);
    for (size_t i = 0; i < found; i++) {
        struct view part = parts[i];
        if (unit.size && is_bare(last_number(part)))
            part = view_of(arena_format(arena, "%.*s %.*s", VIEW(part), VIEW(unit)));
        struct understood one;
        understand(with, ids[i], part, &one);
        if (one.wrong)
            return refuse(out, found == 1
                                   ? one.wrong
                                   : arena_format(arena, "in `%s`: %s",
                                                  escape_short(arena, part, SHOWN), one.wrong));
        out[i] = one;
    }
    return found;
}
