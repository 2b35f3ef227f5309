#include "random_tree.h"

#include <math.h>

#include "quantity/number.h"

const char *const root_fields[] = {"change.stroke", "change.standoff", "setter.nose_contact",
                                   "allowances.reseat", "allowances.least_gap"};
const char *const cutter_fields[] = {"stickout", "length", "diameter"};

/* nominal value and half-width */
double root_values[ROOT_FIELDS][2];
double cutter_values[CUTTERS][CUTTER_FIELDS][2];

static uint64_t seed = 20240229;

static uint64_t draw(void)
{
    seed += 0x9e3779b97f4a7c15u;
    uint64_t z = seed;
    z = (z ^ z >> 30) * 0xbf58476d1ce4e5b9u;
    z = (z ^ z >> 27) * 0x94d049bb133111ebu;
    return z ^ z >> 31;
}

int random_pick(int count)
{
    return (int)(draw() % (uint64_t)count);
}

/* Making. */

static struct tree *node(const struct place *place, enum op op, int length)
{
    struct tree *out = ARENA_NEW(place->arena, struct tree);
    out->op = op;
    out->length = length;
    return out;
}

static struct tree *make_leaf(const struct place *place, int length)
{
    int what = random_pick(4);
    struct tree *out;
    if (length && what == 0 && place->cutter) {
        out = node(place, CUTTER_FIELD, 1);
        out->field = random_pick(CUTTER_FIELDS);
    } else if (length && what < 3) {
        out = node(place, ROOT_FIELD, 1);
        out->field = random_pick(ROOT_FIELDS);
    } else {
        out = node(place, NUMBER, length);
        out->number = (1 + random_pick(400)) / 16.0;
    }
    return out;
}

static struct tree *make_two(const struct place *place, enum op op, int length, int depth)
{
    struct tree *out = node(place, op, length);
    int of_first = length, of_second = length;
    if (op == TIMES || (op == OVER && length)) {
        of_second = 0;
        if (op == TIMES && random_pick(2)) {
            of_second = length;
            of_first = 0;
        }
    } else if (op == OVER) {
        of_first = of_second = random_pick(2);
    }
    out->a = tree_make(place, of_first, depth - 1);
    out->b = tree_make(place, of_second, depth - 1);
    return out;
}

static struct tree *make_list(const struct place *place, enum op op, int depth)
{
    struct place inner = *place;
    inner.cutter = true;
    inner.lists = false;
    struct tree *out = node(place, op, 1);
    out->a = tree_make(&inner, 1, depth - 1);
    return out;
}

struct tree *tree_make(const struct place *place, int length, int depth)
{
    if (depth == 0 || random_pick(6) == 0)
        return make_leaf(place, length);
    enum op op = ADD + (enum op)random_pick(SMALLEST - ADD + 1);
    struct tree *out = node(place, op, length);
    switch (op) {
    case SQUARE:
    case SQUARE_ROOT:
        if (length)
            return make_two(place, SUBTRACT, length, depth);
        out->a = tree_make(place, 0, depth - 1);
        return out;
    case NEGATE:
    case ABSOLUTE:
    case NOMINAL:
        out->a = tree_make(place, length, depth - 1);
        return out;
    case WIDEN:
        if (!length)
            return make_two(place, ADD, length, depth);
        out->field = random_pick(ROOT_FIELDS);
        out->a = tree_make(place, length, depth - 1);
        return out;
    case CHOOSE:
        out->a = tree_make(place, 1, depth - 1);
        out->b = tree_make(place, 1, depth - 1);
        out->c = tree_make(place, length, depth - 1);
        out->d = tree_make(place, length, depth - 1);
        return out;
    case OTHERWISE:
        if (!length)
            return make_two(place, TIMES, length, depth);
        out->a = random_pick(2) ? node(place, ABSENT_FIELD, 1) : make_leaf(place, 1);
        out->b = tree_make(place, length, depth - 1);
        return out;
    case CALL:
        if (!length || !place->calls || !place->cutter)
            return make_two(place, OVER, length, depth);
        out->field = random_pick(DEFINITIONS);
        return out;
    case LARGEST:
    case SMALLEST:
        if (!length || !place->lists)
            return make_two(place, GREATER, length, depth);
        return make_list(place, op, depth);
    default:
        return make_two(place, op, length, depth);
    }
}

/* Writing. */

enum level { ANY, OR_ELSE, BAND, SUM, PRODUCT, UNARY, POWER, WHOLE };

static enum level level_of(enum op op)
{
    switch (op) {
    case CHOOSE:
    case LARGEST:
    case SMALLEST:
        return ANY; /* they reach as far to the right as they can */
    case OTHERWISE:
        return OR_ELSE;
    case WIDEN:
        return BAND;
    case ADD:
    case SUBTRACT:
        return SUM;
    case TIMES:
    case OVER:
        return PRODUCT;
    case NEGATE:
    case NOMINAL:
        return UNARY;
    case SQUARE:
        return POWER;
    default:
        return WHOLE;
    }
}

/* `cutter`: what the cutter is called where the tree stands. */
static void write_tree(struct buffer *out, const struct tree *t, const char *cutter,
                       enum level wanted);

static void write_two(struct buffer *out, const struct tree *t, const char *cutter,
                      const char *sign, enum level first)
{
    write_tree(out, t->a, cutter, first);
    buffer_text(out, sign);
    write_tree(out, t->b, cutter, (enum level)(first + 1));
}

static void write_function(struct buffer *out, const struct tree *t, const char *cutter,
                           const char *name)
{
    buffer_format(out, "%s(", name);
    write_tree(out, t->a, cutter, ANY);
    if (t->b) {
        buffer_text(out, ", ");
        write_tree(out, t->b, cutter, ANY);
    }
    buffer_byte(out, ')');
}

static void write_inner(struct buffer *out, const struct tree *t, const char *cutter)
{
    switch (t->op) {
    case NUMBER:
        buffer_format(out, "%s%s", number_exact(out->arena, t->number), t->length ? " mm" : "");
        return;
    case ROOT_FIELD:
        buffer_text(out, root_fields[t->field]);
        return;
    case CUTTER_FIELD:
        buffer_format(out, "%s.%s", cutter, cutter_fields[t->field]);
        return;
    case ABSENT_FIELD:
        buffer_text(out, "change.approach_z");
        return;
    case ADD:
        write_two(out, t, cutter, " + ", SUM);
        return;
    case SUBTRACT:
        write_two(out, t, cutter, " - ", SUM);
        return;
    case TIMES:
        write_two(out, t, cutter, " * ", PRODUCT);
        return;
    case OVER:
        write_two(out, t, cutter, " / ", PRODUCT);
        return;
    case NEGATE:
        buffer_byte(out, '-');
        write_tree(out, t->a, cutter, UNARY);
        return;
    case NOMINAL:
        buffer_text(out, "nominal ");
        write_tree(out, t->a, cutter, UNARY);
        return;
    case SQUARE:
        write_tree(out, t->a, cutter, WHOLE);
        buffer_text(out, "^2");
        return;
    case ABSOLUTE:
        write_function(out, t, cutter, "abs");
        return;
    case SQUARE_ROOT:
        write_function(out, t, cutter, "sqrt");
        return;
    case HYPOT:
        write_function(out, t, cutter, "hypot");
        return;
    case GREATER:
        write_function(out, t, cutter, "max");
        return;
    case LESSER:
        write_function(out, t, cutter, "min");
        return;
    case WIDEN:
        write_tree(out, t->a, cutter, BAND);
        buffer_format(out, " +/- %s", root_fields[t->field]);
        return;
    case CHOOSE:
        buffer_text(out, "if ");
        write_tree(out, t->a, cutter, OR_ELSE);
        buffer_text(out, " >= ");
        write_tree(out, t->b, cutter, OR_ELSE);
        buffer_text(out, " then ");
        write_tree(out, t->c, cutter, ANY);
        buffer_text(out, " else ");
        write_tree(out, t->d, cutter, ANY);
        return;
    case OTHERWISE:
        write_tree(out, t->a, cutter, BAND);
        buffer_text(out, " otherwise ");
        write_tree(out, t->b, cutter, OR_ELSE);
        return;
    case CALL:
        buffer_format(out, "d%d(%s)", t->field, cutter);
        return;
    case LARGEST:
    case SMALLEST:
        buffer_text(out, t->op == LARGEST ? "largest " : "smallest ");
        write_tree(out, t->a, "other", ANY);
        buffer_text(out, " for other in cutters");
        return;
    }
}

static void write_tree(struct buffer *out, const struct tree *t, const char *cutter,
                       enum level wanted)
{
    bool enclosed = level_of(t->op) < wanted;
    buffer_text(out, enclosed ? "(" : "");
    write_inner(out, t, cutter);
    buffer_text(out, enclosed ? ")" : "");
}

/* Evaluating by hand. */

/* Somewhere in [-1, 1], often at an end: the same for the same name. */
static double deviation(const struct way *way, uint64_t name)
{
    uint64_t z = (way->sample * 0x9e3779b97f4a7c15u) ^ (name * 0xbf58476d1ce4e5b9u);
    z = (z ^ z >> 31) * 0x94d049bb133111ebu;
    z ^= z >> 29;
    switch (z % 4) {
    case 0:
        return -1;
    case 1:
        return 1;
    default:
        return (double)(z >> 11) / 4503599627370496.0 - 1;
    }
}

static struct range around(const struct way *way, double mid, double width, uint64_t name)
{
    if (way->nominal || way->mode == AS_TYPED)
        return (struct range){mid, mid};
    if (way->mode == AS_INTERVAL)
        return (struct range){mid - width, mid + width};
    double x = mid + width * deviation(way, name);
    return (struct range){x, x};
}

static struct range widened(const struct way *way, const struct tree *t)
{
    struct range x = tree_value(way, t->a);
    double width = fabs(root_values[t->field][0]) + root_values[t->field][1];
    uint64_t name = 1000 + (uint64_t)t->field;
    for (int i = 0; i < way->count; i++)
        name = name * 10 + (uint64_t)way->records[i] + 1;
    struct range band = around(way, 0, width, name);
    return (struct range){x.low + band.low, x.high + band.high};
}

static struct range called(const struct way *way, const struct tree *t)
{
    struct way inner = *way;
    inner.count = 1;
    return tree_value(&inner, way->definitions[t->field]);
}

static struct range listed(const struct way *way, const struct tree *t)
{
    struct range out = {0, 0};
    for (int i = 0; i < CUTTERS; i++) {
        struct way inner = *way;
        inner.records[1] = way->records[0];
        inner.records[0] = i;
        inner.count = way->count + 1;
        struct range x = tree_value(&inner, t->a);
        if (i == 0)
            out = x;
        else if (t->op == LARGEST)
            out = (struct range){fmax(out.low, x.low), fmax(out.high, x.high)};
        else
            out = (struct range){fmin(out.low, x.low), fmin(out.high, x.high)};
    }
    return out;
}

static struct range product(struct range a, struct range b)
{
    double p = a.low * b.low, q = a.low * b.high, r = a.high * b.low, s = a.high * b.high;
    return (struct range){fmin(fmin(p, q), fmin(r, s)), fmax(fmax(p, q), fmax(r, s))};
}

static struct range size_of(struct range x)
{
    if (x.low >= 0)
        return x;
    if (x.high <= 0)
        return (struct range){-x.high, -x.low};
    return (struct range){0, fmax(-x.low, x.high)};
}

static struct range chosen(const struct way *way, const struct tree *t)
{
    struct way plain = *way;
    plain.mode = AS_TYPED;
    double a = tree_value(&plain, t->a).low, b = tree_value(&plain, t->b).low;
    if (fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b)) + 1e-15)
        *way->undefined = true; /* too close to tell here */
    return tree_value(way, a >= b ? t->c : t->d);
}

static struct range joined(const struct way *way, const struct tree *t)
{
    struct range a = tree_value(way, t->a), b = tree_value(way, t->b);
    switch (t->op) {
    case ADD:
        return (struct range){a.low + b.low, a.high + b.high};
    case SUBTRACT:
        return (struct range){a.low - b.high, a.high - b.low};
    case TIMES:
        return product(a, b);
    case OVER:
        if (b.low <= 0 && b.high >= 0)
            *way->undefined = true;
        return product(a, (struct range){1 / b.high, 1 / b.low});
    case HYPOT:
        a = size_of(a);
        b = size_of(b);
        return (struct range){hypot(a.low, b.low), hypot(a.high, b.high)};
    case GREATER:
        return (struct range){fmax(a.low, b.low), fmax(a.high, b.high)};
    default:
        return (struct range){fmin(a.low, b.low), fmin(a.high, b.high)};
    }
}

static struct range single(const struct way *way, const struct tree *t)
{
    struct range a = tree_value(way, t->a);
    switch (t->op) {
    case NEGATE:
        return (struct range){-a.high, -a.low};
    case SQUARE:
        a = size_of(a);
        return (struct range){a.low * a.low, a.high * a.high};
    case ABSOLUTE:
        return size_of(a);
    default:
        if (a.low < 0)
            *way->undefined = true;
        return (struct range){sqrt(fmax(a.low, 0)), sqrt(fmax(a.high, 0))};
    }
}

struct range tree_value(const struct way *way, const struct tree *t)
{
    struct way nominal = *way;
    double scale = t->length ? 0.001 : 1;
    int cutter = way->records[0];
    switch (t->op) {
    case NUMBER:
        return (struct range){t->number * scale, t->number * scale};
    case ROOT_FIELD:
        return around(way, root_values[t->field][0], root_values[t->field][1],
                      (uint64_t)t->field);
    case CUTTER_FIELD:
        return around(way, cutter_values[cutter][t->field][0],
                      cutter_values[cutter][t->field][1],
                      100 + (uint64_t)(t->field * CUTTERS + cutter));
    case NOMINAL:
        nominal.nominal = true;
        return tree_value(&nominal, t->a);
    case OTHERWISE:
        return tree_value(way, t->a->op == ABSENT_FIELD ? t->b : t->a);
    case WIDEN:
        return widened(way, t);
    case CHOOSE:
        return chosen(way, t);
    case CALL:
        return called(way, t);
    case LARGEST:
    case SMALLEST:
        return listed(way, t);
    case NEGATE:
    case SQUARE:
    case ABSOLUTE:
    case SQUARE_ROOT:
        return single(way, t);
    default:
        return joined(way, t);
    }
}

void tree_write(struct buffer *out, const struct tree *t, const char *cutter)
{
    write_tree(out, t, cutter, ANY);
}
