/* What was mistyped, by the finding of the reader that tells of it. */
#include "mend/trials.h"

static bool is_called(const struct finding *finding, enum reader_finding name)
{
    return strcmp(finding->rule, reader_finding_name(name)) == 0;
}

/* The line in which a byte stands, without its end. */
static struct span line_at(struct view bytes, uint32_t at)
{
    struct span line = {at, at};
    while (line.start && bytes.data[line.start - 1] != '\n')
        line.start--;
    while (line.end < bytes.size && bytes.data[line.end] != '\n' &&
           bytes.data[line.end] != '\r')
        line.end++;
    return line;
}

static struct span indent_of(struct view bytes, struct span line)
{
    struct span indent = {line.start, line.start};
    while (indent.end < line.end &&
           (bytes.data[indent.end] == ' ' || bytes.data[indent.end] == '\t'))
        indent.end++;
    return indent;
}

/* What a line says, without what stands before and behind it.  In quotes a # is no comment:
 * then all of it is said. */
static struct view said(struct view line)
{
    if (memchr(line.data, '"', line.size) || memchr(line.data, '\'', line.size))
        return view_trim(line);
    for (size_t i = 1; i < line.size; i++)
        if (line.data[i] == '#' && (line.data[i - 1] == ' ' || line.data[i - 1] == '\t'))
            line.size = i;
    return view_trim(line);
}

/* The lower of two limits first. */
static void try_pair(struct trials *trials, const struct finding *finding)
{
    struct arena *arena = trials->arena;
    const struct tree_node *pair =
        finding->at.field ? tree_at(&trials->file->own, view_of(finding->at.field)) : NULL;
    if (!pair || pair->kind != TREE_LIST || pair->count != 2 || !pair->first ||
        pair->first->kind != TREE_TEXT || pair->first->next->kind != TREE_TEXT)
        return;
    struct span low = pair->first->span, high = pair->first->next->span;
    struct view first = trials_slice(trials, low), second = trials_slice(trials, high);
    struct view between = trials_slice(trials, (struct span){low.end, high.start});
    /* Out of order a travel can only be exchanged; of other pairs one may have lost a digit. */
    enum field_id field = field_find(view_of(finding->at.field));
    if (memchr(between.data, '#', between.size))
        return;
    trials_add(
        trials,
        &(struct proposed_edit){
            .span = {low.start, high.end},
            .text =
                arena_format(arena, "%.*s%.*s%.*s", VIEW(second), VIEW(between), VIEW(first)),
            .title = arena_format(arena, "put %.*s before %.*s", VIEW(second), VIEW(first)),
            .why = "the lower limit stands first, and nothing fails with it",
            .asks = arena_format(arena, "is it from %.*s to %.*s?", VIEW(second), VIEW(first)),
            .always_asks = field != FIELD_AXIS_TRAVEL});
}

/* Lines, from that of `start` to that before `end`. */
static struct span whole_lines(struct view bytes, struct span part)
{
    struct span lines = {line_at(bytes, part.start).start,
                         line_at(bytes, part.end > part.start ? part.end - 1 : part.end).end};
    while (lines.end < bytes.size && bytes.data[lines.end] != '\n')
        lines.end++;
    lines.end += lines.end < bytes.size;
    return lines;
}

/* Does the line after it stand deeper, and so belong to it? */
static bool goes_on(struct view bytes, struct span line)
{
    struct span next = whole_lines(bytes, line);
    next = line_at(bytes, next.end);
    struct span here = indent_of(bytes, line), there = indent_of(bytes, next);
    return next.end > there.end && there.end - there.start > here.end - here.start;
}

static bool has_comment(const struct trials *trials, struct span line)
{
    struct view text = view_trim(trials_slice(trials, line));
    return text.size != said(text).size;
}

/* Takes out one of two lines that say the same; a comment is not taken out with it. */
static void try_repeated(struct trials *trials, const struct finding *finding)
{
    struct view bytes = trials->file->bytes;
    if (!finding->related_count || finding->related[0].source != finding->at.source)
        return;
    struct span line = line_at(bytes, finding->at.span.start);
    struct span other = line_at(bytes, finding->related[0].span.start);
    struct view again = said(trials_slice(trials, line));
    if (line.start == other.start || !view_equal(again, said(trials_slice(trials, other))) ||
        !again.size || again.data[0] == '-' || again.data[again.size - 1] == ':')
        return;
    if (goes_on(bytes, line) || goes_on(bytes, other))
        return;
    bool earlier = has_comment(trials, line);
    if (earlier && has_comment(trials, other))
        return;
    trials_add(trials,
               &(struct proposed_edit){
                   .span = whole_lines(bytes, earlier ? other : line),
                   .text = "",
                   .title = earlier ? "take the earlier line out" : "take this line out",
                   .why = "both lines say the same, and nothing fails with one of them"});
}

void again_try(struct trials *trials, const char *field)
{
    struct view bytes = trials->file->bytes;
    const char *end = strchr(field, ']');
    const struct tree_node *item =
        end ? tree_at(&trials->file->own, (struct view){field, (size_t)(end + 1 - field)})
            : NULL;
    const struct tree_node *list =
        end ? tree_at(&trials->file->own, (struct view){field, strcspn(field, "[")}) : NULL;
    if (!item || !list || list->kind != TREE_LIST || list->style != STYLE_BLOCK)
        return;
    struct span lines = whole_lines(bytes, item->span);
    struct view first = view_trim(trials_slice(trials, line_at(bytes, lines.start)));
    if (!first.size || first.data[0] != '-')
        return;
    for (const struct tree_node *other = list->first; other && other != item;
         other = other->next)
        if (view_equal(view_trim(trials_slice(trials, whole_lines(bytes, other->span))),
                       view_trim(trials_slice(trials, lines))))
            trials_add(trials,
                       &(struct proposed_edit){
                           .span = lines,
                           .text = "",
                           .title = "take it out here, where it is listed again",
                           .why = "both say the same, and nothing fails with one of them"});
}

/* A key that belongs in another section, and in no two of them. */
static void try_moved(struct trials *trials, const struct finding *finding)
{
    struct arena *arena = trials->arena;
    struct view bytes = trials->file->bytes;
    struct view key = trials_slice(trials, finding->at.span);
    struct span lines = whole_lines(bytes, finding->at.span);
    struct view line = said(trials_slice(trials, line_at(bytes, lines.start)));
    struct field_place place = {.field = FIELD_COUNT};
    for (uint32_t id = 0; id < FIELD_COUNT; id++) {
        const struct field *field = &field_table[id];
        const char *last = strrchr(field->key, '.');
        if (field->group != GROUP_ROOT || !last || !view_equal(view_of(last + 1), key))
            continue;
        if (place.field != FIELD_COUNT)
            return;
        place.field = (enum field_id)id;
    }
    if (place.field == FIELD_COUNT || has_comment(trials, line_at(bytes, lines.start)) ||
        line.size <= key.size + 1 || memcmp(line.data, key.data, key.size) != 0 ||
        line.data[key.size] != ':')
        return;
    struct view value = view_trim(view_skip(line, key.size + 1));
    struct buffer without;
    buffer_init(&without, arena);
    buffer_add(&without, (struct view){bytes.data, lines.start});
    buffer_add(&without, view_skip(bytes, lines.end));
    struct machine_file *with = machine_file_with(arena, trials->file, buffer_view(&without));
    struct proposed_edit edit = {
        .title = arena_format(arena, "move it to %s", field_path(arena, place.field)),
        .why = "it has its place there and nowhere else, and nothing fails with it"};
    if (machine_file_set(arena, &with, &place, value, SET_AT_HOME) ||
        with->edited.items.count != trials->file->edited.items.count ||
        !trials_edit(trials, with->bytes, &edit))
        return;
    trials_add(trials, &edit);
}

/* Text in the place of some bytes. */
static void try_text(struct trials *trials, struct span span, const char *text,
                     const char *title)
{
    trials_add(trials,
               &(struct proposed_edit){
                   .span = span, .text = text, .title = title, .why = "it can be read then"});
}

/* Before three digits a comma may be either. */
static void try_point(struct trials *trials, const struct finding *finding)
{
    struct arena *arena = trials->arena;
    struct view text = trials_slice(trials, finding->at.span);
    char *now = arena_copy(arena, text.data, text.size);
    char *comma = strchr(now, ',');
    if (!comma || strchr(comma + 1, ','))
        return;
    bool thousands = strspn(comma + 1, "0123456789") == 3;
    *comma = '.';
    const char *joined = arena_format(arena, "%.*s%s", (int)(comma - now), now, comma + 1);
    const char *meant[] = {now, joined};
    for (int i = 0; i < (thousands ? 2 : 1); i++)
        trials_add(trials, &(struct proposed_edit){
                               .span = finding->at.span,
                               .text = meant[i],
                               .title = arena_format(arena, "write %s", meant[i]),
                               .why = "it can be read then, and nothing fails with it",
                               .asks = arena_format(arena, "is %s meant?", meant[i]),
                               .always_asks = thousands});
}

static void try_brackets(struct trials *trials, const struct finding *finding)
{
    struct view text = trials_slice(trials, finding->at.span);
    if (!text.size || strchr("[{\"'|>&*", text.data[0]) || memchr(text.data, '\n', text.size))
        return;
    const char *now = arena_format(trials->arena, "[%.*s]", VIEW(text));
    try_text(trials, finding->at.span, now, arena_format(trials->arena, "write %s", now));
}

static void try_commas(struct trials *trials, const struct finding *finding)
{
    struct view rest = trials_slice(trials, finding->at.span);
    struct buffer now;
    buffer_init(&now, trials->arena);
    while (rest.size) {
        struct view word = view_take(&rest, ' ');
        if (word.size)
            buffer_format(&now, "%s%.*s", now.size ? ", " : "", VIEW(word));
    }
    const char *text = buffer_string(&now);
    try_text(trials, finding->at.span, text, arena_format(trials->arena, "write %s", text));
}

/* What is missing is wanted only where another field says one word and not another: that word
 * may be the mistake.  It may as well be right, and what is missing forgotten; so it is asked.
 */
static void try_condition(struct trials *trials, const struct finding *finding)
{
    enum field_id id = finding->at.field ? field_find(view_of(finding->at.field)) : FIELD_COUNT;
    if (id == FIELD_COUNT)
        return;
    enum field_id cause = when_table[field_table[id].when].field;
    if (cause == FIELD_COUNT || field_table[cause].nature != NATURE_CHOSEN ||
        field_table[cause].group != GROUP_ROOT)
        return;
    trials->asks = true;
    words_try(trials, &(struct field_place){.field = cause});
    trials->asks = false;
}

/* As many blanks in the place of tabs as the line before or after it has. */
static void try_blanks(struct trials *trials, const struct finding *finding)
{
    struct view bytes = trials->file->bytes;
    struct span line = line_at(bytes, finding->at.span.start);
    struct span before = line.start ? line_at(bytes, line.start - 1) : line;
    uint32_t next = line.end;
    while (next < bytes.size && (bytes.data[next] == '\r' || bytes.data[next] == '\n'))
        next++;
    const struct span beside[] = {indent_of(bytes, before),
                                  indent_of(bytes, line_at(bytes, next))};
    for (size_t i = 0; i < sizeof beside / sizeof *beside; i++) {
        struct view blanks = trials_slice(trials, beside[i]);
        if (!memchr(blanks.data, '\t', blanks.size))
            try_text(trials, indent_of(bytes, line),
                     arena_copy(trials->arena, blanks.data, blanks.size),
                     "indent the line with blanks, as those beside it");
    }
}

/* A blank behind a colon, a quote or a bracket at the end of the line. */
static void try_line(struct trials *trials, struct span line)
{
    static const struct {
        const char *text, *title;
    } ends[] = {{"\"", "close the quote at the end of the line"},
                {"'", "close the quote at the end of the line"},
                {"]", "close the bracket at the end of the line"},
                {"}", "close the brace at the end of the line"}};
    struct view bytes = trials->file->bytes;
    struct view words = said(trials_slice(trials, line));
    if (!words.size)
        return;
    const char *colon = memchr(words.data, ':', words.size);
    if (colon && colon + 1 < words.data + words.size && colon[1] != ' ') {
        uint32_t at = (uint32_t)(colon + 1 - bytes.data);
        try_text(trials, (struct span){at, at}, " ", "put a blank after the colon");
    }
    uint32_t end = (uint32_t)(words.data + words.size - bytes.data);
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++)
        try_text(trials, (struct span){end, end}, ends[i].text, ends[i].title);
}

/* In the line that is told, or the one above it, of which it is often the fault. */
static void try_syntax(struct trials *trials, const struct finding *finding)
{
    struct view bytes = trials->file->bytes;
    struct span line = line_at(bytes, finding->at.span.start);
    try_line(trials, line);
    if (line.start)
        try_line(trials, line_at(bytes, line.start - 1));
}

void typed_try(struct trials *trials, const struct finding *finding)
{
    static const struct {
        enum reader_finding name;
        void (*attempt)(struct trials *trials, const struct finding *finding);
    } attempts[] = {{READER_OUT_OF_ORDER, try_pair},     {READER_DUPLICATE_KEY, try_repeated},
                    {READER_NOT_A_NUMBER, try_point},    {READER_WRONG_KIND, try_brackets},
                    {READER_UNKNOWN_CHOICE, try_commas}, {READER_TAB_INDENT, try_blanks},
                    {READER_UNKNOWN_KEY, try_moved},     {READER_NOT_YAML, try_syntax},
                    {READER_MISSING_KEY, try_condition}};
    static const enum reader_finding of_units[] = {
        READER_UNIT_MISSING,      READER_UNIT_UNKNOWN,       READER_WRONG_DIMENSION,
        READER_LOOKS_LIKE_INCHES, READER_LOOKS_LIKE_SECONDS, READER_IMPLAUSIBLE};
    for (size_t i = 0; i < sizeof attempts / sizeof *attempts; i++)
        if (is_called(finding, attempts[i].name))
            attempts[i].attempt(trials, finding);
    enum field_id field =
        finding->at.field ? field_find(view_of(finding->at.field)) : FIELD_COUNT;
    for (size_t i = 0; i < sizeof of_units / sizeof *of_units && field != FIELD_COUNT; i++)
        if (is_called(finding, of_units[i]))
            units_try(trials, &finding->at, field, UNITS_USUAL);
}
