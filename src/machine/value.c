/* Values that are one text, read by their kind.
 *
 * Driven by the row of the table alone: no field is named here.  Where a text comes from, and
 * where the words about it go, is the reading's business.
 */
#include "machine/internal.h"

#include "base/bug.h"
#include "text/escape.h"
#include "text/nearest.h"

bool node_is_void(const struct tree_node *node)
{
    return node->kind == TREE_TEXT && node->style == STYLE_PLAIN && text_is_void(node->text);
}

const char *node_stands(const struct tree_node *node)
{
    switch ((enum tree_kind)node->kind) {
    case TREE_MAP:
        return "a section";
    case TREE_LIST:
        return "a list";
    case TREE_TEXT:
    case TREE_ALIAS:
        break;
    }
    return "a single value";
}

void value_complain_void(struct value_reader *r, const struct item *item)
{
    enum field_kind kind = field_table[r->id].kind;
    bool number = kind == KIND_QUANTITY || kind == KIND_POSITION || kind == KIND_COUNT ||
                  kind == KIND_PAIR || kind == KIND_LIST;
    bool optional = !field_table[r->id].needed;
    machine_complain(r, item, number ? READER_NOT_A_NUMBER : READER_WRONG_KIND,
                     optional ? "write its value, or take the key out" : NULL,
                     "no value is written");
}

/* Is `text` the word, in small letters, with a capital, or in capitals? */
static bool is_spelt(struct view text, const char *word)
{
    size_t size = strlen(word);
    if (text.size != size)
        return false;
    bool small = true, large = true; /* all but the first letter */
    for (size_t i = 0; i < size; i++) {
        small = small && (text.data[i] == word[i] || (i == 0 && text.data[i] == word[i] - 32));
        large = large && text.data[i] == word[i] - 32;
    }
    return small || large;
}

int flag_find(struct view text, bool loose)
{
    static const char *const words[2][4] = {{"no", "false", "off", "n"},
                                            {"yes", "true", "on", "y"}};
    for (int i = 0; i < (loose ? 4 : 2); i++)
        for (int flag = 0; flag < 2; flag++)
            if (is_spelt(text, words[flag][i]))
                return flag;
    return -1;
}

static bool read_flag(struct value_reader *r, const struct item *item, struct field_value *out)
{
    static const char *const hints[] = {"write no", "write yes"};
    struct view text = view_trim(item->text);
    int flag = flag_find(text, false);
    if (flag < 0) {
        int meant = flag_find(text, true);
        struct finding *finding =
            machine_complain(r, item, READER_UNKNOWN_CHOICE, meant < 0 ? NULL : hints[meant],
                             "%s is neither yes nor no", machine_quoted(r->arena, text));
        if (meant >= 0)
            machine_replace(r, finding, item, text, meant ? "yes" : "no");
        return false;
    }
    *out = (struct field_value){.state = VALUE_GIVEN, .flag = flag == 1, .node = item->node};
    return true;
}

/* The choice that a word was meant for; NULL where none is near. */
static const char *nearest_choice(struct arena *arena, const struct field *field,
                                  struct view word)
{
    struct view known[WORDS_MAX];
    size_t count = field_choice_count(field);
    BUG_UNLESS(count <= WORDS_MAX);
    for (size_t i = 0; i < count; i++)
        known[i] = field_choice(field, i);
    int found = nearest_of(word, known, count);
    int meant = flag_find(word, true);
    if (found < 0 && meant >= 0)
        found = field_choice_find(field, view_of(meant ? "yes" : "no"));
    return found < 0 ? NULL : arena_copy(arena, known[found].data, known[found].size);
}

static void complain_choice(struct value_reader *r, const struct item *item, struct view word)
{
    const struct field *field = &field_table[r->id];
    const char *near = nearest_choice(r->arena, field, word);
    const char *hint = near ? near : field_choices_text(r->arena, field);
    struct finding *finding = machine_complain(
        r, item, READER_UNKNOWN_CHOICE, arena_format(r->arena, "write %s", hint),
        "%s is not known here", machine_quoted(r->arena, word));
    if (near)
        machine_replace(r, finding, item, word, near);
}

int value_read_word(struct value_reader *r, const struct item *item)
{
    const struct field *field = &field_table[r->id];
    struct view word = view_trim(item->text);
    int found = field_choice_find(field, word);
    if (found < 0 && !machine_only_counts(r, item, READER_UNKNOWN_CHOICE))
        complain_choice(r, item, word);
    return found;
}

static bool read_choice(struct value_reader *r, const struct item *item,
                        struct field_value *out)
{
    int found = value_read_word(r, item);
    if (found < 0)
        return false;
    *out = (struct field_value){
        .state = VALUE_GIVEN, .choice = (uint8_t)found, .node = item->node};
    return true;
}

/* Two or four digits; -1 where they are none. */
static int digits(const char *text, int count)
{
    int number = 0;
    for (int i = 0; i < count; i++) {
        if (text[i] < '0' || text[i] > '9')
            return -1;
        number = number * 10 + (text[i] - '0');
    }
    return number;
}

static int days_of_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    return days[month - 1] + (month == 2 && leap);
}

/* Days from 1970-01-01, in the Gregorian calendar.  Years are counted from March, so that the
 * leap day is the last of its year. */
static int days_from_epoch(int year, int month, int day)
{
    int from_march = (month + 9) % 12;
    int years = year - (month <= 2) + 400; /* not negative */
    int before = years * 365 + years / 4 - years / 100 + years / 400;
    return before + (153 * from_march + 2) / 5 + day - 1 - (719468 + 146097);
}

const char *date_read(struct view text, double *seconds)
{
    static const double day_seconds = 86400;
    text = view_trim(text);
    int year = -1, month = -1, day = -1;
    if (text.size == 10 && text.data[4] == '-' && text.data[7] == '-') {
        year = digits(text.data, 4);
        month = digits(text.data + 5, 2);
        day = digits(text.data + 8, 2);
    }
    bool shaped = year >= 0 && month >= 0 && day >= 0;
    if (!shaped)
        return "is no date";
    if (month < 1 || month > 12 || day < 1 || day > days_of_month(year, month))
        return "is not in the calendar";
    *seconds = days_from_epoch(year, month, day) * day_seconds;
    return NULL;
}

static bool read_date(struct value_reader *r, const struct item *item, struct field_value *out)
{
    double seconds = 0;
    const char *wrong = date_read(item->text, &seconds);
    if (wrong) {
        machine_complain(r, item, READER_WRONG_KIND,
                         "write year, month and day, as in 2027-03-31", "%s %s",
                         machine_quoted(r->arena, item->text), wrong);
        return false;
    }
    *out = (struct field_value){.state = VALUE_GIVEN, .si = seconds, .node = item->node};
    return true;
}

static bool read_version(struct value_reader *r, const struct item *item,
                         struct field_value *out)
{
    struct view text = view_trim(item->text);
    if (!view_is(text, "1")) {
        machine_complain(r, item, READER_UNKNOWN_CHOICE,
                         "write 1 where the file keeps to version 1",
                         "%s is a version that is not known", machine_quoted(r->arena, text));
        return false;
    }
    *out = (struct field_value){.state = VALUE_GIVEN, .si = 1, .node = item->node};
    return true;
}

static bool read_text(struct value_reader *r, const struct item *item, struct field_value *out)
{
    if (view_trim(item->text).size == 0 && field_table[r->id].needed) {
        machine_complain(r, item, READER_WRONG_KIND, NULL, "nothing is written");
        return false;
    }
    if (item->node && tree_resolve(item->node)->style == STYLE_JOINED) {
        machine_complain(r, item, READER_WRONG_KIND,
                         "put it in quotes, or write a blank after the comma and what is meant",
                         "a comma parts %s", machine_quoted(r->arena, item->text));
        return false;
    }
    *out = (struct field_value){.state = VALUE_GIVEN, .text = item->text, .node = item->node};
    return true;
}

bool value_read_text(struct value_reader *r, const struct item *item, struct field_value *out)
{
    switch (field_table[r->id].kind) {
    case KIND_TEXT:
        return value_check_log(r, item) && read_text(r, item, out);
    case KIND_TERMINAL:
    case KIND_INPUT: /* which input it names is settled when all are read */
        return read_text(r, item, out);
    case KIND_COUNT:
        return value_read_count(r, item, out);
    case KIND_FLAG:
        return read_flag(r, item, out);
    case KIND_CHOICE:
        return read_choice(r, item, out);
    case KIND_QUANTITY:
    case KIND_POSITION:
        return value_read_quantity(r, item, out);
    case KIND_DATE:
        return read_date(r, item, out);
    case KIND_VERSION:
        return read_version(r, item, out);
    case KIND_WORDS:
    case KIND_ORDER:
    case KIND_PAIR:
    case KIND_LIST:
        break;
    }
    BUG("a list read as a text");
}
