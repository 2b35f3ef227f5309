/* Units: the table of units.inc, reading, converting.
 *
 * Factors are fractions of whole numbers, with pi apart, and a conversion rounds once: the
 * remainder of the division is worked in (fma), and pi has 106 bits.
 *
 * Frequencies count steps, torques are per radian and inertias per radian squared: that is what
 * they mean on this machine, and what makes formulas check.
 */
#include "quantity/unit.h"

#include "quantity/exact.h"
#include "quantity/internal.h"

#include <float.h>
#include <math.h>

enum {
#define UNIT(id, ...) id,
#include "quantity/units.inc"
    UNIT_COUNT
};

struct unit {
    const char *text;
    uint8_t size; /* of the text */
    int8_t decimals;
    bool pi;
    double step, above, below;
    struct dimension dimension;
};

static const struct unit units[] = {
#define UNIT(id, text, decimals, step, pi, above, below, ...)                                  \
    {text, sizeof(text) - 1, decimals, pi, step, above, below, {__VA_ARGS__}},
#include "quantity/units.inc"
};

_Static_assert((int)BARE == (int)UNIT_BARE && (int)UNIT_COUNT < (int)UNIT_UNKNOWN,
               "indices fit");

static const struct unit *row(unit_id unit)
{
    return &units[unit < UNIT_COUNT ? unit : UNIT_BARE];
}

struct dimension unit_dimension(unit_id unit)
{
    return row(unit)->dimension;
}

const char *unit_text(unit_id unit)
{
    return row(unit)->text;
}

int unit_decimals(unit_id unit)
{
    return row(unit)->decimals;
}

double unit_step(unit_id unit)
{
    return row(unit)->step;
}

/* Reading. */

enum { TEXT_MAX = 24 }; /* longer than any unit */

static inline bool is_named(unit_id unit, struct view text)
{
    return units[unit].size == text.size && units[unit].text[0] == text.data[0] &&
           memcmp(units[unit].text, text.data, text.size) == 0;
}

unit_id unit_find(struct view text)
{
    static const unit_id often[] = {MM, RPM, MM_MIN, S, MM_S2}; /* most of any file */
    for (size_t i = 0; i < sizeof often / sizeof often[0]; i++)
        if (is_named(often[i], text))
            return often[i];
    for (unit_id unit = 1; unit < UNIT_COUNT; unit++)
        if (is_named(unit, text))
            return unit;
    return UNIT_UNKNOWN;
}

/* Other ways to write the same, after which the table is asked again. */
const struct unit_spelling unit_spellings[] = {
    {"step", "steps"},  {"turn", "rev"},       {"turn/s", "rev/s"},
    {"rev/min", "rpm"}, {"step/s", "steps/s"}, {"day", "days"},
};
const size_t unit_spelling_count = sizeof unit_spellings / sizeof unit_spellings[0];

const struct unit_character unit_characters[] = {
    {"\"", "in"},           /* the typewriter's, the curled and the proper sign of an inch */
    {"\xE2\x80\x9D", "in"}, /* U+201D */
    {"\xE2\x80\xB3", "in"}, /* U+2033 */
    {"\xC2\xB5", "u"},      /* micro sign */
    {"\xCE\xBC", "u"},      /* Greek mu */
    {"\xC2\xB2", "^2"},     /* superscript two */
    {"\xC2\xB7", "*"},      /* middle dot */
    {"\xE2\x8B\x85", "*"},  /* dot operator */
};
const size_t unit_character_count = sizeof unit_characters / sizeof unit_characters[0];

struct spelling {
    char text[TEXT_MAX + 4]; /* room for one replacement past the limit */
    size_t size;
};

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static void add(struct spelling *out, const char *text)
{
    for (; *text; text++)
        out->text[out->size++] = *text;
}

/* One character of `text`, replaced where it stands for another; returns what it took. */
static size_t take_character(struct spelling *out, struct view text)
{
    for (size_t i = 0; i < unit_character_count; i++) {
        if (view_starts(text, unit_characters[i].bytes)) {
            add(out, unit_characters[i].plain);
            return strlen(unit_characters[i].bytes);
        }
    }
    /* mm/s2 and kg*m2. */
    if (text.data[0] == '2' && out->size && is_letter(out->text[out->size - 1]))
        add(out, "^");
    out->text[out->size++] = text.data[0];
    return 1;
}

/* RPM is rpm: words of three and more letters lose their capitals, but MHz and kHz keep them.
 */
static void lower_words(struct spelling *out)
{
    size_t start = 0;
    for (size_t i = 0; i <= out->size; i++) {
        if (i < out->size && is_letter(out->text[i]))
            continue;
        bool hertz = i - start == 3 && memcmp(out->text + start + 1, "Hz", 2) == 0;
        for (size_t k = start; i - start >= 3 && !hertz && k < i; k++)
            out->text[k] = (char)(out->text[k] | 0x20);
        start = i + 1;
    }
}

/* "mm/s/s" is "mm/s^2", "step/mm" is "steps/mm". */
static void join_words(struct spelling *out)
{
    const char *first = memchr(out->text, '/', out->size);
    if (!first)
        return;
    size_t at = (size_t)(first - out->text) + 1;
    const char *second = memchr(out->text + at, '/', out->size - at);
    size_t width = second ? (size_t)(second - out->text) - at : 0;
    if (width && at + 2 * width + 1 == out->size &&
        memcmp(out->text + at, second + 1, width) == 0) {
        out->size = at + width;
        add(out, "^2");
    } else if (at == 5 && memcmp(out->text, "step", 4) == 0 && out->size <= TEXT_MAX) {
        memmove(out->text + 5, out->text + 4, out->size - 4);
        out->text[4] = 's';
        out->size++;
    }
}

static bool spell(struct view text, struct spelling *out)
{
    out->size = 0;
    while (text.size) {
        if (out->size >= TEXT_MAX)
            return false;
        size_t blank = blank_size(text);
        if (!blank) {
            text = view_skip(text, take_character(out, text));
            continue;
        }
        /* Blanks only about a stroke or a star. */
        while ((blank = blank_size(text)) > 0)
            text = view_skip(text, blank);
        char before = out->size ? out->text[out->size - 1] : '\0';
        bool after = text.size && (text.data[0] == '/' || text.data[0] == '*');
        if (before != '/' && before != '*' && !after)
            return false;
    }
    lower_words(out);
    join_words(out);
    return out->size > 0 && out->size <= TEXT_MAX;
}

unit_id unit_read(struct view text)
{
    if (text.size == 0)
        return UNIT_UNKNOWN;
    unit_id unit = unit_find(text);
    struct spelling spelling;
    if (unit != UNIT_UNKNOWN || !spell(text, &spelling))
        return unit;
    struct view plain = {spelling.text, spelling.size};
    for (size_t i = 0; i < unit_spelling_count; i++)
        if (view_is(plain, unit_spellings[i].as))
            plain = view_of(unit_spellings[i].unit);
    return unit_find(plain);
}

/* Which unit serves which dimension. */

static bool is_per_turn(struct dimension wanted)
{
    return dimension_equal(wanted, DIMENSION_STEPS_TURN) ||
           dimension_equal(wanted, (struct dimension){0, 0, 0, -1, 0});
}

/* Is a quantity of `wanted` written as per turn, without saying so? */
static bool is_unsaid_turn(unit_id unit, struct dimension wanted)
{
    if (unit == UNIT_BARE)
        return is_per_turn(wanted);
    return dimension_equal(wanted, DIMENSION_LEAD) &&
           dimension_equal(units[unit].dimension, DIMENSION_LENGTH);
}

bool unit_fits(unit_id unit, struct dimension wanted)
{
    return unit < UNIT_COUNT &&
           (dimension_equal(units[unit].dimension, wanted) || is_unsaid_turn(unit, wanted));
}

/* Usual ones first; the rest follow in the order of the table. */
static const unit_id usual[] = {
    MM,   CM,  M,     IN,   THOU,  FT,       S,        MS,  MIN, MM_S, MM_MIN, M_MIN,   IN_MIN,
    IN_S, M_S, MM_S2, M_S2, IN_S2, STEPS_MM, STEPS_IN, RPM, KHZ, HZ,   MHZ,    STEPS_S,
};

static bool is_usual(unit_id unit)
{
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
        if (usual[i] == unit)
            return true;
    return false;
}

size_t unit_choices(struct dimension wanted, unit_id *out, size_t room)
{
    size_t count = 0;
    for (size_t i = 0; i < sizeof usual / sizeof usual[0]; i++)
        if (unit_fits(usual[i], wanted) && count++ < room)
            out[count - 1] = usual[i];
    for (unit_id unit = 1; unit < UNIT_COUNT; unit++)
        if (unit_fits(unit, wanted) && !is_usual(unit) && unit != DAYS && count++ < room)
            out[count - 1] = unit;
    return count;
}

unit_id unit_days(void)
{
    return DAYS;
}

unit_id unit_percent(void)
{
    return PERCENT;
}

unit_id unit_default(struct dimension d)
{
    static const unit_id preferred[] = {DEG, PERCENT};
    if (dimension_is_none(d))
        return UNIT_BARE;
    for (size_t i = 0; i < sizeof preferred / sizeof preferred[0]; i++)
        if (unit_fits(preferred[i], d))
            return preferred[i];
    unit_id first = UNIT_BARE;
    unit_choices(d, &first, 1);
    return first;
}

/* Converting. */

static const double two_pi = 6.283185307179586, two_pi_rest = 2.4492935982947064e-16;
static const double pi = 3.141592653589793, pi_rest = 1.2246467991473532e-16;

/* value * above / below, rounded once as nearly as can be. */
static double ratio(double value, double above, double below)
{
    double product = value * above;
    if (below == 1)
        return product;
    double lost = above == 1 ? 0 : exact_fma(value, above, -product);
    double quotient = product / below;
    double rest = exact_fma(-quotient, below, product) + lost;
    double better = quotient + rest / below;
    return isfinite(better) ? better : quotient;
}

/* The factor's own factor that is no fraction: pi, or a turn left unsaid. */
static double times(double value, double high, double low)
{
    return exact_fma(value, high, value * low);
}

static double over(double value, double high, double low)
{
    double quotient = value / high;
    double rest = exact_fma(-quotient, high, value) - quotient * low;
    double better = quotient + rest / high;
    return isfinite(better) ? better : quotient;
}

/* A whole number below the first that a double may have had to round. */
static bool is_exact_whole(double x)
{
    return fabs(x) < 9007199254740992.0 && x == (double)(int64_t)x;
}

double unit_ratio_to_si(unit_id unit, struct dimension wanted, double above, double below)
{
    const struct unit *of = row(unit);
    double dividend = of->above * above, divisor = of->below * below;
    bool turns = !dimension_equal(of->dimension, wanted) && is_unsaid_turn(unit, wanted);
    bool is_exact = is_exact_whole(divisor); /* of two whole numbers */
    if (is_exact && !of->pi && !turns && is_exact_whole(above) && is_exact_whole(dividend))
        return dividend / divisor;
    if (!is_exact && exact_fma(of->below, below, -divisor) != 0) /* too long to be exact */
        above /= below, divisor = of->below;
    double si = ratio(above, of->above, divisor);
    if (of->pi)
        si = times(si, pi, pi_rest);
    return turns ? over(si, two_pi, two_pi_rest) : si;
}

double unit_to_si(unit_id unit, struct dimension wanted, double value)
{
    return unit_ratio_to_si(unit, wanted, value, 1);
}

double unit_from_si(unit_id unit, struct dimension wanted, double si)
{
    const struct unit *of = row(unit);
    double value = is_unsaid_turn(unit, wanted) ? times(si, two_pi, two_pi_rest) : si;
    if (of->pi)
        value = over(value, pi, pi_rest);
    value = ratio(value, of->below, of->above);
    if (!isfinite(value))
        return value;
    /* Of the few doubles that come to the same in SI, the one that a person would type. */
    double typed = number_tidy(value);
    double off = fabs(unit_to_si(unit, wanted, typed) - si);
    return off <= 2 * DBL_EPSILON * fabs(si) ? typed : value;
}
