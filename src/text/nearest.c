/* Edit distance over a narrow band: names that differ by more than three letters are near
 * nothing, so that only cells within three of the diagonal are ever looked at.
 */
#include "text/nearest.h"

enum { DISTANCE_MAX = 3, FAR = DISTANCE_MAX + 1 };

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* The last three rows of the table of distances between starts of the two names; row `i` is at
 * i % 3. */
struct rows {
    int cells[3][NEAREST_LENGTH_MAX + 1];
};

/* Is the pair of letters that ends at `i` and `j` the same pair the other way round? */
static bool is_swap(struct view a, struct view b, size_t i, size_t j)
{
    return i > 1 && j > 1 && letter_lower(a.data[i - 1]) == letter_lower(b.data[j - 2]) &&
           letter_lower(a.data[i - 2]) == letter_lower(b.data[j - 1]);
}

/* Fills the row of the first `i` letters of `a`; returns the least distance in it. */
static int fill_row(struct rows *rows, struct view a, struct view b, size_t i)
{
    int *row = rows->cells[i % 3];
    const int *last = rows->cells[(i + 2) % 3], *before_last = rows->cells[(i + 1) % 3];
    size_t first = i > DISTANCE_MAX ? i - DISTANCE_MAX : 0;
    size_t end = i + DISTANCE_MAX < b.size ? i + DISTANCE_MAX : b.size;
    int smallest = FAR;
    for (size_t j = first; j <= end; j++) {
        if (j == 0) {
            row[0] = (int)i;
        } else {
            bool is_same = letter_lower(a.data[i - 1]) == letter_lower(b.data[j - 1]);
            int best = last[j - 1] + !is_same;
            if (j < i + DISTANCE_MAX)
                best = least(best, last[j] + 1);
            if (j > first)
                best = least(best, row[j - 1] + 1);
            if (is_swap(a, b, i, j))
                best = least(best, before_last[j - 2] + 1);
            row[j] = best;
        }
        smallest = least(smallest, row[j]);
    }
    return smallest;
}

/* The distance, or FAR or more where it is greater than `limit`. */
static int distance(struct view a, struct view b, int limit)
{
    struct rows rows;
    for (size_t j = 0; j <= b.size; j++)
        rows.cells[0][j] = (int)j;
    for (size_t i = 1; i <= a.size; i++)
        /* A swap reaches back over a row, so a row just beyond the limit is not yet the end. */
        if (fill_row(&rows, a, b, i) > limit + 1)
            return FAR;
    return rows.cells[a.size % 3][b.size];
}

int nearest_distance(struct view name, struct view known)
{
    size_t longer = name.size > known.size ? name.size : known.size;
    size_t shorter = name.size < known.size ? name.size : known.size;
    if (longer > NEAREST_LENGTH_MAX)
        return -1;
    int limit = least((int)(longer / 3), DISTANCE_MAX);
    if ((int)(longer - shorter) > limit)
        return -1;
    int result = distance(name, known, limit);
    return result <= limit ? result : -1;
}

int nearest_of(struct view name, const struct view *names, size_t count)
{
    int best = -1, best_distance = FAR;
    for (size_t i = 0; i < count; i++) {
        int one = nearest_distance(name, names[i]);
        if (one >= 0 && one < best_distance) {
            best = (int)i;
            best_distance = one;
        }
    }
    return best;
}
