#include "tree_mpfi.h"

#include <math.h>

/* Temporaries for one node. */
struct pair {
    mpfi_t a, b;
};

static void pair_open(struct pair *pair, mpfi_srcptr like)
{
    mpfi_init2(pair->a, mpfi_get_prec(like));
    mpfi_init2(pair->b, mpfi_get_prec(like));
}

static void pair_close(struct pair *pair)
{
    mpfi_clear(pair->a);
    mpfi_clear(pair->b);
}

/* Fields and tolerances are multiples of 1/64 mm: the decimal itself is enclosed, not the
 * double that stands for it. */
static void enclose_length(mpfi_ptr out, double metres)
{
    mpfi_set_d(out, nearbyint(metres * 64000) / 64);
    mpfi_div_ui(out, out, 1000);
}

/* Somewhere in [-1, 1], often at an end: the same for the same unknown of one sample. */
static double deviation(uint64_t sample, uint64_t unknown)
{
    uint64_t z = unknown * 0xff51afd7ed558ccdu + sample * 0xc4ceb9fe1a85ec53u;
    z = (z ^ z >> 33) * 0xff51afd7ed558ccdu;
    z = (z ^ z >> 29) * 0xc4ceb9fe1a85ec53u;
    z ^= z >> 32;
    if (z % 3 == 0)
        return z & 64 ? 1 : -1;
    return (double)(z >> 12) / 2251799813685248.0 - 1;
}

/* Adds to `out` what a tolerance of half-width `width` makes of it. */
static void widen(mpfi_ptr out, const struct way *way, mpfi_srcptr width, uint64_t unknown)
{
    if (way->nominal || way->mode == AS_TYPED)
        return;
    mpfi_t band;
    mpfi_init2(band, mpfi_get_prec(out));
    if (way->mode == AS_INTERVAL)
        mpfi_interv_si(band, -1, 1);
    else
        mpfi_set_d(band, deviation(way->sample, unknown));
    mpfi_mul(band, band, width);
    mpfi_add(out, out, band);
    mpfi_clear(band);
}

static void enclose_field(mpfi_ptr out, const struct way *way, const double value[2],
                          uint64_t unknown)
{
    mpfi_t width;
    mpfi_init2(width, mpfi_get_prec(out));
    enclose_length(out, value[0]);
    enclose_length(width, value[1]);
    widen(out, way, width, unknown);
    mpfi_clear(width);
}

/* x ± w: what counts of w is its size and its own tolerance; it is an unknown of its own for
 * each cutter, or pair of them, that has a name where it stands. */
static void enclose_widened(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    uint64_t unknown = 1000 + (uint64_t)t->field;
    for (int i = 0; i < way->count; i++)
        unknown = unknown * 8 + (uint64_t)way->records[i] + 1;
    struct pair width;
    pair_open(&width, out);
    enclose_length(width.a, fabs(root_values[t->field][0]));
    enclose_length(width.b, root_values[t->field][1]);
    mpfi_add(width.a, width.a, width.b);
    tree_enclose(out, way, t->a);
    widen(out, way, width.a, unknown);
    pair_close(&width);
}

static void greater(mpfi_ptr out, mpfi_srcptr a, mpfi_srcptr b)
{
    mpfr_max(&out->left, &a->left, &b->left, MPFR_RNDD);
    mpfr_max(&out->right, &a->right, &b->right, MPFR_RNDU);
}

static void lesser(mpfi_ptr out, mpfi_srcptr a, mpfi_srcptr b)
{
    mpfr_min(&out->left, &a->left, &b->left, MPFR_RNDD);
    mpfr_min(&out->right, &a->right, &b->right, MPFR_RNDU);
}

static void enclose_list(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    mpfi_t one;
    mpfi_init2(one, mpfi_get_prec(out));
    for (int i = 0; i < CUTTERS; i++) {
        struct way inner = *way;
        inner.records[1] = way->records[0];
        inner.records[0] = i;
        inner.count = way->count + 1;
        tree_enclose(one, &inner, t->a);
        if (i == 0)
            mpfi_set(out, one);
        else if (t->op == LARGEST)
            greater(out, out, one);
        else
            lesser(out, out, one);
    }
    mpfi_clear(one);
}

/* `if a >= b then c else d`: decided by nominal values; too near to each other to be told apart
 * in doubles they decide nothing here. */
static void enclose_chosen(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    struct way typed = *way;
    typed.mode = AS_TYPED;
    struct pair of;
    pair_open(&of, out);
    tree_enclose(of.a, &typed, t->a);
    tree_enclose(of.b, &typed, t->b);
    double a = mpfi_get_d(of.a), b = mpfi_get_d(of.b);
    pair_close(&of);
    if (fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b)) + 1e-15)
        *way->undefined = true;
    tree_enclose(out, way, a >= b ? t->c : t->d);
}

static void enclose_two(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    struct pair of;
    pair_open(&of, out);
    tree_enclose(of.a, way, t->a);
    tree_enclose(of.b, way, t->b);
    switch (t->op) {
    case ADD:
        mpfi_add(out, of.a, of.b);
        break;
    case SUBTRACT:
        mpfi_sub(out, of.a, of.b);
        break;
    case TIMES:
        mpfi_mul(out, of.a, of.b);
        break;
    case OVER:
        if (mpfi_has_zero(of.b))
            *way->undefined = true;
        mpfi_div(out, of.a, of.b);
        break;
    case HYPOT:
        mpfi_hypot(out, of.a, of.b);
        break;
    case GREATER:
        greater(out, of.a, of.b);
        break;
    default:
        lesser(out, of.a, of.b);
        break;
    }
    pair_close(&of);
}

static void enclose_one(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    tree_enclose(out, way, t->a);
    switch (t->op) {
    case NEGATE:
        mpfi_neg(out, out);
        return;
    case SQUARE:
        mpfi_sqr(out, out);
        return;
    case ABSOLUTE:
        mpfi_abs(out, out);
        return;
    default:
        if (mpfi_has_zero(out) || mpfi_is_strictly_neg(out))
            *way->undefined = true;
        mpfi_sqrt(out, out);
        return;
    }
}

void tree_enclose(mpfi_ptr out, const struct way *way, const struct tree *t)
{
    struct way other = *way;
    int cutter = way->records[0];
    switch (t->op) {
    case NUMBER:
        mpfi_set_d(out, t->number);
        if (t->length)
            mpfi_div_ui(out, out, 1000);
        return;
    case ROOT_FIELD:
        enclose_field(out, way, root_values[t->field], (uint64_t)t->field);
        return;
    case CUTTER_FIELD:
        enclose_field(out, way, cutter_values[cutter][t->field],
                      100 + (uint64_t)(t->field * CUTTERS + cutter));
        return;
    case NOMINAL:
        other.nominal = true;
        tree_enclose(out, &other, t->a);
        return;
    case OTHERWISE:
        tree_enclose(out, way, t->a->op == ABSENT_FIELD ? t->b : t->a);
        return;
    case WIDEN:
        enclose_widened(out, way, t);
        return;
    case CHOOSE:
        enclose_chosen(out, way, t);
        return;
    case CALL:
        other.count = 1;
        tree_enclose(out, &other, way->definitions[t->field]);
        return;
    case LARGEST:
    case SMALLEST:
        enclose_list(out, way, t);
        return;
    case NEGATE:
    case SQUARE:
    case ABSOLUTE:
    case SQUARE_ROOT:
        enclose_one(out, way, t);
        return;
    default:
        enclose_two(out, way, t);
        return;
    }
}
