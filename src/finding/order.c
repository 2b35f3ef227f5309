/* The order of findings in all outputs: file, line, column, rule, subject.
 *
 * Within one file the order by line and column is the order by offset, so no column is computed
 * here.  Numbers in subjects count as numbers: cutter 3 comes before cutter 10.
 */
#include "finding/sink.h"

#include <stdlib.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* Skips zeros in front of a number, then says how many digits it has. */
static size_t digits(const char **text)
{
    while (**text == '0' && is_digit((*text)[1]))
        (*text)++;
    size_t count = 0;
    while (is_digit((*text)[count]))
        count++;
    return count;
}

/* Order of texts, runs of digits in them by their value. */
static int compare_natural(const char *a, const char *b)
{
    const char *whole_a = a, *whole_b = b;
    while (*a && *b) {
        if (is_digit(*a) && is_digit(*b)) {
            size_t size_a = digits(&a), size_b = digits(&b);
            if (size_a != size_b)
                return size_a < size_b ? -1 : 1;
            int order = memcmp(a, b, size_a);
            if (order)
                return order;
            a += size_a;
            b += size_b;
        } else if (*a != *b) {
            return (unsigned char)*a < (unsigned char)*b ? -1 : 1;
        } else {
            a++, b++;
        }
    }
    if (*a || *b)
        return *a ? 1 : -1;
    return strcmp(whole_a, whole_b);
}

int subjects_compare(const char *a, const char *b)
{
    if (!a || !b)
        return (a != NULL) - (b != NULL);
    return compare_natural(a, b);
}

static int compare_spots(const struct finding_spot *a, const struct finding_spot *b)
{
    if (!a->source || !b->source)
        return (a->source == NULL) - (b->source == NULL);
    if (a->source != b->source) {
        /* The machine's own file comes before those that it takes in. */
        int order = (a->source->taker != NULL) - (b->source->taker != NULL);
        if (!order)
            order = view_compare(a->source->name, b->source->name);
        if (order)
            return order;
    }
    return (a->span.start > b->span.start) - (a->span.start < b->span.start);
}

/* By place, rule, subject; 0 for equal ones. */
static int finding_compare(const struct finding *a, const struct finding *b)
{
    int order = compare_spots(&a->at, &b->at);
    if (!order)
        order = strcmp(a->rule, b->rule);
    if (!order)
        order = subjects_compare(a->subject, b->subject);
    return order;
}

static int compare_entries(const void *left, const void *right)
{
    const struct finding *a = left, *b = right;
    int order = finding_compare(a, b);
    return order ? order : (a->serial > b->serial) - (a->serial < b->serial);
}

void findings_sort(struct finding *findings, size_t count)
{
    for (size_t i = 0; i < count; i++)
        findings[i].serial = i; /* qsort alone would not keep equal ones in their order */
    if (count)
        qsort(findings, count, sizeof *findings, compare_entries);
}
