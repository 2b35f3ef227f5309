/* quantity_read on any bytes; the first says which dimension is wanted.
 *
 * Beyond not crashing: trouble points into the text; what is read is finite and serves the
 * dimension; and what is then shown reads as the same quantity again, to the digits shown.
 */
#include <math.h>
#include <stdint.h>

#include "base/bug.h"
#include "quantity/quantity.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const struct dimension dimensions[] = {
    {0, 0, 0, 0, 0},   {1, 0, 0, 0, 0},  {0, 0, 1, 0, 0},  {1, 0, -1, 0, 0},
    {1, 0, -2, 0, 0},  {0, 0, -1, 1, 0}, {0, 0, -1, 0, 1}, {-1, 0, 0, 0, 1},
    {0, 0, 0, -1, 1},  {0, 0, 0, -1, 0}, {1, 0, 0, -1, 0}, {2, 1, 0, -2, 0},
    {2, 1, -2, -1, 0}, {0, 0, 0, 1, 0},  {0, 1, 0, 0, 0},  {0, 0, 0, 0, 1},
};

static void look_at_number(struct view text)
{
    double value;
    size_t used;
    enum number_status status = number_read(text, &value, &used);
    BUG_UNLESS(used <= text.size);
    BUG_UNLESS(status != NUMBER_OK || (isfinite(value) && used > 0));
}

static bool close_to(double a, double b)
{
    /* Below 1e-300 digits are lost on the way. */
    return fabs(a - b) <= 0.051 * fabs(a) + 1e-300;
}

static void look_again(const struct quantity *first, struct dimension wanted)
{
    struct arena arena;
    arena_init(&arena, NULL);
    const char *text =
        quantity_text_with(&arena, first->si, first->tolerance, wanted, first->unit);
    struct quantity again;
    struct quantity_trouble trouble;
    /* Shown, a number near the greatest may be rounded beyond it. */
    if (fabs(first->si) < 1e280 && first->tolerance < 1e280 && fabs(first->si) > 1e-280) {
        enum quantity_status status = quantity_read(view_of(text), wanted, &again, &trouble);
        if (status != QUANTITY_OK)
            BUG("%s is read with status %d", text, (int)status);
        if (!close_to(first->si, again.si) || !close_to(first->tolerance, again.tolerance))
            BUG("%s is read differently", text);
    }
    quantity_text(&arena, first->si, wanted, UNIT_BARE);
    quantity_text_signed(&arena, first->si, wanted, first->unit);
    arena_free(&arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size == 0)
        return 0;
    struct dimension wanted = dimensions[data[0] % (sizeof dimensions / sizeof dimensions[0])];
    struct view text = {(const char *)data + 1, size - 1};
    struct quantity quantity;
    struct quantity_trouble trouble;
    look_at_number(text);
    unit_read(text);
    if (quantity_read(text, wanted, &quantity, &trouble) != QUANTITY_OK) {
        BUG_UNLESS(trouble.start <= trouble.end && trouble.end <= text.size);
        return 0;
    }
    BUG_UNLESS(isfinite(quantity.si) && isfinite(quantity.tolerance) &&
               quantity.tolerance >= 0);
    BUG_UNLESS(unit_fits(quantity.unit, wanted));
    look_again(&quantity, wanted);
    return 0;
}
