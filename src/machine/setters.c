/* Several setters: which one the change uses, and what the others are: things in the way. */
#include "machine/internal.h"

#include "text/escape.h"
#include "text/nearest.h"
#include "tree/change.h"

/* Which one the change uses. */

/* `setter.*` is not known. */
static void spoil(struct reader *reader, const struct tree_node *node)
{
    const struct section setter = {GROUP_ROOT, (enum field_id)SETTER_FIRST,
                                   (enum field_id)(SETTER_FIRST + SETTER_WIDTH),
                                   strlen("setter.")};
    section_spoil(reader, &setter, 0, node, false);
}

/* "there are left, right". */
static const char *names_text(struct reader *reader)
{
    enum { ROOM = 40 };
    const struct machine_group *setters = &reader->machine->groups[GROUP_SETTER];
    struct buffer out;
    buffer_init(&out, reader->arena);
    for (uint32_t i = 0; i < setters->count && out.size < ROOM; i++) {
        const struct field_value *name = machine_field(reader->machine, FIELD_SETTERS_NAME, i);
        if (name->state == VALUE_GIVEN)
            buffer_format(&out, "%s%s", out.size ? ", " : "there are ",
                          escape_short(reader->arena, name->text, NAME_CELLS / 2));
    }
    return out.size ? buffer_string(&out) : "none of them has a name";
}

static void complain_unsaid(struct reader *reader, const struct tree_node *list)
{
    struct finding *finding =
        sink_report(reader->sink, READER_MISSING_KEY, list->key_span, "change.setter",
                    "change has no setter; %s", names_text(reader));
    if (finding)
        finding->put_right = "add setter, the name of the one that it uses, to change";
}

static void complain_unknown(struct reader *reader, const struct field_value *wanted,
                             unsigned found)
{
    const struct machine_group *setters = &reader->machine->groups[GROUP_SETTER];
    struct arena *arena = reader->arena;
    const char *quoted = machine_quoted(arena, wanted->text);
    struct view *names = ARENA_ARRAY(arena, struct view, setters->count);
    for (uint32_t i = 0; i < setters->count; i++) {
        const struct field_value *name = machine_field(reader->machine, FIELD_SETTERS_NAME, i);
        names[i] = name->state == VALUE_GIVEN ? name->text : (struct view){0};
    }
    int near = found ? -1 : nearest_of(wanted->text, names, setters->count);
    const char *meant = near < 0 ? NULL : escape_short(arena, names[near], NAME_CELLS);
    struct finding *finding = sink_report(
        reader->sink, READER_UNKNOWN_NAME, wanted->node->span, "change.setter", "%s",
        found   ? arena_format(arena, "%s names %u of the setters", quoted, found)
        : meant ? arena_format(arena, "%s names no setter; %s is the nearest", quoted, meant)
                : arena_format(arena, "%s names no setter; %s", quoted, names_text(reader)));
    if (!finding)
        return;
    finding->put_right = found   ? "give each of the setters a name of its own"
                         : meant ? arena_format(arena, "write %s", meant)
                                 : "write the name of one of them";
    if (meant)
        finding_fix(arena, finding, wanted->node->span, change_quoted(arena, names[near], true),
                    finding->put_right);
}

/* The record that `change.setter` names; NO_SETTER where it names none, with a complaint. */
static uint32_t named(struct reader *reader)
{
    const struct machine *machine = reader->machine;
    const struct field_value *wanted = machine_field(machine, FIELD_CHANGE_SETTER, 0);
    uint32_t record = NO_SETTER;
    unsigned found = 0;
    if (wanted->state != VALUE_GIVEN || machine->groups[GROUP_SETTER].wrong)
        return NO_SETTER; /* of a list that is wrong nobody knows what it holds */
    for (uint32_t i = 0; i < machine->groups[GROUP_SETTER].count; i++) {
        const struct field_value *name = machine_field(machine, FIELD_SETTERS_NAME, i);
        if (name->state != VALUE_GIVEN || !view_equal(name->text, wanted->text))
            continue;
        record = i;
        found++;
    }
    if (found == 1)
        return record;
    complain_unknown(reader, wanted, found);
    return NO_SETTER;
}

/* The only one is a list of one for whoever asks about all of them. */
static void list_one(struct reader *reader, const struct tree_node *one)
{
    struct machine *machine = reader->machine;
    struct machine_group *setters = &machine->groups[GROUP_SETTER];
    setters->count = 1;
    setters->values =
        ARENA_ARRAY(reader->arena, struct field_value, field_group_width(GROUP_SETTER));
    setters->nodes = ARENA_ARRAY(reader->arena, const struct tree_node *, 1);
    setters->nodes[0] = one;
    for (int i = 0; i < SETTER_WIDTH; i++)
        *machine_field_put(machine, (enum field_id)(LIST_FIRST + i), 0) =
            *machine_field(machine, (enum field_id)(SETTER_FIRST + i), 0);
    machine->setter = machine_uses_setter(machine) ? 0 : NO_SETTER;
}

void machine_choose_setter(struct reader *reader)
{
    struct machine *machine = reader->machine;
    const struct machine_group *setters = &machine->groups[GROUP_SETTER];
    const struct tree_node *root = machine->tree->root;
    const struct tree_node *list = tree_child(root, view_of(group_table[GROUP_SETTER].key));
    const struct tree_node *one = tree_child(root, view_of("setter"));
    if (!setters->count && !setters->wrong) {
        if (one)
            list_one(reader, one);
        return;
    }
    if (one && !list)
        return; /* a key much like the list's, which is told: what stands in it is not known */
    if (one) {
        struct finding *finding = sink_report(
            reader->sink, READER_GIVEN_TWICE, list->key_span, "setters",
            "setter and setters are both there: which of them the change uses is not known");
        if (finding) {
            finding_relate(reader->sink, finding, one->key_span, "setter", "setter is here");
            finding->put_right =
                "give that one a name and a place in the list, or take one out";
        }
        machine->groups[GROUP_SETTER].wrong = true;
        spoil(reader, list);
        return;
    }
    uint32_t used = named(reader);
    if (!machine_uses_setter(machine))
        return;
    bool unsaid = machine_field(machine, FIELD_CHANGE_SETTER, 0)->state == VALUE_ABSENT;
    if (used == NO_SETTER || setters->wrong) {
        if (unsaid && !setters->wrong && machine->tree->status == TREE_WHOLE)
            complain_unsaid(reader, list);
        spoil(reader, list);
        return;
    }
    for (int i = 0; i < SETTER_WIDTH; i++)
        *machine_field_put(machine, (enum field_id)(SETTER_FIRST + i), 0) =
            *machine_field(machine, (enum field_id)(LIST_FIRST + i), used);
    machine->setter = used;
}

/* What the others are. */

/* What comes out of two values: as they are, or as the first that is not known. */
static struct field_value from_both(const struct field_value *a, const struct field_value *b)
{
    struct field_value out = *a;
    if (a->state != VALUE_GIVEN)
        return (struct field_value){.state = a->state, .node = a->node};
    if (b->state != VALUE_GIVEN)
        return (struct field_value){.state = b->state, .node = b->node};
    return out;
}

/* From the middle half the body to either side. */
static struct field_value extent(struct arena *arena, const struct field_value *middle,
                                 const struct field_value *body)
{
    struct field_value whole = from_both(middle, body);
    if (whole.state != VALUE_GIVEN)
        return whole;
    struct field_value *ends = ARENA_ARRAY(arena, struct field_value, 2);
    for (int end = 0; end < 2; end++) {
        ends[end] = whole;
        ends[end].si += (end ? 1 : -1) * body->si / 2;
        ends[end].tolerance += body->tolerance / 2;
        ends[end].index = 0;
    }
    whole.pair = ends;
    return whole;
}

/* The height over the table at which it trips; where nobody measured that, what the two
 * contacts of the nose are apart. */
static struct field_value top_of(const struct machine *machine, uint32_t setter)
{
    const struct field_value *height =
        machine_field(machine, field_of_setters(FIELD_SETTER_HEIGHT), setter);
    const struct field_value *contact =
        machine_field(machine, field_of_setters(FIELD_SETTER_NOSE_CONTACT), setter);
    const struct field_value *table = machine_field(machine, FIELD_TABLE_NOSE_CONTACT, 0);
    if (height->state != VALUE_ABSENT || contact->state == VALUE_ABSENT)
        return *height;
    struct field_value out = from_both(contact, table);
    if (out.state == VALUE_GIVEN) {
        out.si -= table->si;
        out.tolerance += table->tolerance;
        out.index = 0;
    }
    return out;
}

/* "setter left". */
static struct field_value name_of(struct reader *reader, uint32_t setter)
{
    const struct field_value *given =
        machine_field(reader->machine, FIELD_SETTERS_NAME, setter);
    struct view name = given->state == VALUE_GIVEN ? given->text : (struct view){0};
    const char *text =
        arena_format(reader->arena, "setter%s%.*s", name.size ? " " : "", VIEW(name));
    return (struct field_value){.state = VALUE_GIVEN,
                                .text = view_of(text),
                                .node = reader->machine->groups[GROUP_SETTER].nodes[setter]};
}

static bool within(const struct field_value *middle, const struct field_value *extent_of)
{
    return middle->state == VALUE_GIVEN && extent_of->state == VALUE_GIVEN &&
           middle->si >= extent_of->pair[0].si && middle->si <= extent_of->pair[1].si;
}

/* Does an obstacle of the file stand for it already? */
static bool is_listed(const struct machine *machine, uint32_t setter)
{
    const struct field_value *x =
        machine_field(machine, field_of_setters(FIELD_SETTER_AT_X), setter);
    const struct field_value *y =
        machine_field(machine, field_of_setters(FIELD_SETTER_AT_Y), setter);
    for (uint32_t i = 0; i < machine->groups[GROUP_OBSTACLE].written; i++)
        if (within(x, machine_field(machine, FIELD_OBSTACLE_X, i)) &&
            within(y, machine_field(machine, FIELD_OBSTACLE_Y, i)))
            return true;
    return false;
}

/* One that the gantry carries has no place on the table. */
static bool stands_in_way(const struct machine *machine, uint32_t setter)
{
    const struct field_value *rides =
        machine_field(machine, field_of_setters(FIELD_SETTER_RIDES_ON), setter);
    bool carried =
        rides->state == VALUE_GIVEN &&
        field_choice_is(&field_table[FIELD_SETTER_RIDES_ON], rides->choice, "gantry");
    return !carried && !is_listed(machine, setter);
}

static void stand(struct reader *reader, uint32_t obstacle, uint32_t setter)
{
    struct machine *machine = reader->machine;
    const struct field_value *body =
        machine_field(machine, field_of_setters(FIELD_SETTER_BODY), setter);
    machine->groups[GROUP_OBSTACLE].nodes[obstacle] =
        machine->groups[GROUP_SETTER].nodes[setter];
    *machine_field_put(machine, FIELD_OBSTACLE_NAME, obstacle) = name_of(reader, setter);
    *machine_field_put(machine, FIELD_OBSTACLE_X, obstacle) =
        extent(reader->arena,
               machine_field(machine, field_of_setters(FIELD_SETTER_AT_X), setter), body);
    *machine_field_put(machine, FIELD_OBSTACLE_Y, obstacle) =
        extent(reader->arena,
               machine_field(machine, field_of_setters(FIELD_SETTER_AT_Y), setter), body);
    *machine_field_put(machine, FIELD_OBSTACLE_TOP, obstacle) = top_of(machine, setter);
}

/* Makes room for `more` obstacles behind those of the file. */
static void add_obstacles(struct reader *reader, uint32_t more)
{
    struct machine_group *obstacles = &reader->machine->groups[GROUP_OBSTACLE];
    struct machine_group old = *obstacles;
    uint32_t width = field_group_width(GROUP_OBSTACLE);
    obstacles->count += more;
    obstacles->values =
        ARENA_ARRAY(reader->arena, struct field_value, (size_t)obstacles->count * width);
    obstacles->nodes = ARENA_ARRAY(reader->arena, const struct tree_node *, obstacles->count);
    if (!old.count)
        return;
    for (size_t slot = 0; slot < width; slot++)
        memcpy(&obstacles->values[slot * obstacles->count], &old.values[slot * old.count],
               old.count * sizeof *old.values);
    memcpy(obstacles->nodes, old.nodes, old.count * sizeof *old.nodes);
}

void machine_stand_setters(struct reader *reader)
{
    struct machine *machine = reader->machine;
    const struct machine_group *setters = &machine->groups[GROUP_SETTER];
    if (setters->wrong ||
        (setters->count && machine_uses_setter(machine) && machine->setter == NO_SETTER))
        machine->groups[GROUP_OBSTACLE].wrong = true; /* which of them are is not known */
    if (machine->groups[GROUP_OBSTACLE].wrong)
        return;
    uint32_t *idle = ARENA_ARRAY(reader->arena, uint32_t, setters->count + 1), count = 0;
    for (uint32_t i = 0; i < setters->count; i++)
        if (i != machine->setter && stands_in_way(machine, i))
            idle[count++] = i;
    machine->idle = idle;
    add_obstacles(reader, count);
    for (uint32_t i = 0; i < count; i++)
        stand(reader, machine->groups[GROUP_OBSTACLE].written + i, idle[i]);
}
