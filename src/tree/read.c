/* The reading of a file as a whole: are its bytes text at all, libyaml's event loop, what is
 * left when it stops half-way.
 *
 * libyaml decodes far ahead of the place it reports on.  So the bytes are looked at beforehand,
 * and it gets only what comes before the first line that no text can hold.
 */
#include "tree/internal.h"

#include "text/utf8.h"

enum {
    ROOM_FIRST = 16, /* nodes allocated at first */
    BYTE_ORDER_MARK = 0xfeff,
    BLOCK = 64,          /* bytes looked at together */
    DIRECTIVES_MAX = 16, /* libyaml compares each `%TAG` line with each */
};

/* False where more lines begin with `%` before the first content than anybody needs. */
static bool check_directives(struct reader *reader)
{
    struct view bytes = reader->source->bytes;
    uint32_t at = skip_to_content(bytes, reader->base);
    for (int count = 0; at < bytes.size && bytes.data[at] == '%'; count++) {
        if (count == DIRECTIVES_MAX) {
            sink_report(reader->sink, READER_NOT_YAML, (struct span){at, at + 1}, NULL,
                        "more than %d lines begin with '%%'; none is needed", DIRECTIVES_MAX);
            return false;
        }
        at = skip_to_content(bytes, line_around(bytes, at).end);
    }
    return true;
}

static void report_empty(struct reader *reader)
{
    bool is_empty = reader->source->bytes.size == reader->base;
    sink_report(
        reader->sink, READER_NOT_YAML, (struct span){reader->base, reader->base}, NULL,
        is_empty ? "the file is empty; keys with values are wanted, such as 'name: value'"
                 : "the file holds no keys; keys with values are wanted, as in 'name: value'");
}

/* Says what is wrong with bytes that are not UTF-8. */
static void report_encoding(struct reader *reader, uint32_t at)
{
    struct view bytes = reader->source->bytes;
    unsigned byte = (unsigned char)bytes.data[at];
    struct span span = {at, at + 1};
    struct finding *finding;
    if (at == 0 && bytes.size >= 2 &&
        (memcmp(bytes.data, "\xff\xfe", 2) == 0 || memcmp(bytes.data, "\xfe\xff", 2) == 0))
        finding = sink_report(reader->sink, READER_NOT_UTF8, span, NULL,
                              "the file is UTF-16, and UTF-8 is wanted");
    else
        finding = sink_report(reader->sink, READER_NOT_UTF8, span, NULL,
                              "the byte 0x%02X here is not UTF-8 text", byte);
    if (finding)
        finding->put_right = "save the file as UTF-8 in the editor";
}

/* Line ends to libyaml, which follows YAML 1.1, but not to editors: the same file would have
 * other lines. */
static bool is_odd_line_end(uint32_t point)
{
    return point == 0x85 || point == 0x2028 || point == 0x2029;
}

/* Code points that YAML allows in a text, beyond printable ASCII, tab and line ends. */
static bool is_allowed(uint32_t point)
{
    return point >= 0xa0 && point != BYTE_ORDER_MARK && point != 0xfffe && point != 0xffff &&
           !is_odd_line_end(point);
}

/* Reports a character that no text may hold and cuts what libyaml gets before its line. */
static void cut_before(struct reader *reader, struct span span)
{
    uint32_t point = 0;
    utf8_read(source_slice(reader->source, span), &point);
    const char *words = "the control character U+%04X stands here; a text cannot hold it";
    if (point == 0 && tree_hides_machine(reader->source->bytes))
        words =
            "a byte 0 (U+%04X) stands here: the file seems to be UTF-16, and UTF-8 is wanted";
    else if (point == 0)
        words = "a byte 0 (U+%04X) stands here; this is no text, or not in UTF-8";
    else if (point == BYTE_ORDER_MARK)
        words = "a byte order mark (U+%04X) stands in the midst of the file";
    else if (is_odd_line_end(point))
        words = "the unusual line end U+%04X stands here; not every editor shows it as one";
    sink_report(reader->sink, READER_NOT_YAML, span, NULL, words, (unsigned)point);
    struct span line = line_around(reader->source->bytes, span.start);
    reader->bytes.size = line.start > reader->base ? line.start - reader->base : 0;
    reader->is_cut = true;
}

/* Printable ASCII and line feeds: all of most files. */
static bool is_plain(unsigned char byte)
{
    return (byte >= ' ' && byte < 0x7f) || byte == '\n';
}

/* The same of BLOCK bytes, in a form in which compilers compare many at once. */
static bool is_plain_block(const unsigned char *block)
{
    unsigned char odd = 0;
    for (int i = 0; i < BLOCK; i++)
        odd |= !is_plain(block[i]);
    return !odd;
}

static uint32_t skip_plain(struct view bytes, uint32_t at)
{
    const unsigned char *data = (const unsigned char *)bytes.data;
    while (bytes.size - at >= BLOCK && is_plain_block(data + at))
        at += BLOCK;
    while (at < bytes.size && is_plain(data[at]))
        at++;
    return at;
}

/* Looks at every byte; false where the file is not UTF-8.  `*odd` is the first character that
 * no text may hold, empty where there is none. */
static bool check_bytes(struct reader *reader, struct span *odd)
{
    *odd = (struct span){0, 0};
    struct view all = reader->source->bytes;
    uint32_t at = reader->base;
    locate_note(reader, at, 1);
    for (;;) {
        uint32_t from = at;
        at = skip_plain(all, at);
        if (at > from)
            locate_note(reader, from, 1);
        if (at == all.size)
            return true;
        uint32_t point = (unsigned char)all.data[at], step = 1;
        if (point >= 0x80) {
            step = (uint32_t)utf8_read(view_skip(all, at), &point);
            if (step == 0) {
                report_encoding(reader, at);
                return false;
            }
        }
        locate_note(reader, at, step);
        bool is_text = point == '\n' || point == '\t' || point == '\r' || is_allowed(point);
        if (!is_text && odd->end == 0)
            *odd = (struct span){at, at + step};
        at += step;
    }
}

/* Takes away the last child of the innermost open list or map where it reaches to the line of
 * `at`: that is the value which the error spoils. */
static void drop_spoiled(struct reader *reader, uint32_t at)
{
    struct frame *frame = &reader->frames[reader->depth - 1];
    struct tree_node *last = frame->last;
    if (!last)
        return;
    struct view bytes = reader->source->bytes;
    for (uint32_t i = last->span.end; i < at && i < bytes.size; i++)
        if (bytes.data[i] == '\n' || bytes.data[i] == '\r')
            return;
    struct tree_node **link = &frame->node->first;
    struct tree_node *before = NULL;
    while (*link != last) {
        before = *link;
        link = &before->next;
    }
    *link = NULL;
    frame->last = before;
    frame->node->count--;
}

/* Keeps what was complete when the reading stopped at `at`: the lists and maps that are open
 * end here, those in brackets go, since nobody knows what would have come into them. */
static void close_open(struct reader *reader, uint32_t at)
{
    for (size_t i = 1; i < reader->depth; i++)
        if (reader->frames[i].node->style == STYLE_FLOW || reader->frames[i].is_key) {
            reader->depth = i;
            break;
        }
    if (reader->depth)
        drop_spoiled(reader, at);
    while (reader->depth) {
        const struct frame *frame = &reader->frames[reader->depth - 1];
        if (frame->node->count == 0)
            reader->depth--;
        else
            build_close(reader, 0);
    }
}

/* Makes a copy of the bytes in which lines that hold nothing, or only a comment, are indented
 * with blanks. libyaml refuses tabs there, though they mean nothing. */
static void mend_tabs(struct reader *reader)
{
    struct view bytes = reader->bytes;
    char *copy = arena_copy(reader->arena, bytes.data, bytes.size);
    for (size_t line = 0; line < bytes.size;) {
        size_t first = line;
        while (first < bytes.size && (copy[first] == ' ' || copy[first] == '\t'))
            first++;
        if (first == bytes.size || copy[first] == '#' || copy[first] == '\n' ||
            copy[first] == '\r')
            memset(copy + line, ' ', first - line);
        line = first;
        while (line < bytes.size && copy[line] != '\n' && copy[line] != '\r')
            line++;
        line += line < bytes.size;
    }
    reader->bytes.data = copy;
    reader->is_mended = true;
}

/* What libyaml's error comes to: out of memory, a finding, or another attempt. */
static bool take_error(struct reader *reader, uint32_t *stop)
{
    if (reader->parser.error == YAML_MEMORY_ERROR)
        arena_exhausted(reader->arena);
    if (!reader->is_mended && is_harmless_tab(reader)) {
        mend_tabs(reader);
        return false;
    }
    *stop =
        reader->is_cut ? reader->base + (uint32_t)reader->bytes.size : report_syntax(reader);
    return true;
}

/* Runs libyaml over the bytes; false where they were mended and must be read again.  `*stop` is
 * the place at which the reading ended. */
static bool run(struct reader *reader, uint32_t *stop)
{
    *stop = 0;
    for (;;) {
        yaml_event_t *event = &reader->event;
        if (!yaml_parser_parse(&reader->parser, event))
            return take_error(reader, stop);
        bool goes_on = build_event(reader, event);
        if (!goes_on)
            *stop = locate_mark(reader, event->end_mark.index);
        yaml_event_delete(event);
        if (!goes_on)
            return true;
    }
}

static void end_parser(void *guest)
{
    struct reader *reader = guest;
    yaml_event_delete(&reader->event);
    yaml_parser_delete(&reader->parser);
}

static bool read_document(struct reader *reader)
{
    arena_guest_add(reader->arena, end_parser, reader);
    if (!yaml_parser_initialize(&reader->parser))
        arena_exhausted(reader->arena);
    yaml_parser_set_encoding(&reader->parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&reader->parser, (const unsigned char *)reader->bytes.data,
                                 reader->bytes.size);
    size_t before = reader->sink->findings.count;
    uint32_t stop;
    bool is_done = run(reader, &stop);
    arena_guest_end(reader->arena, reader);
    if (!is_done)
        return false;
    close_open(reader, stop);
    if (!reader->root && reader->sink->findings.count == before && !reader->is_cut)
        report_empty(reader);
    return true;
}

/* Forgets what was built; what is known of the bytes stays. */
static void start_over(struct reader *reader)
{
    reader->depth = 0;
    reader->root = NULL;
    reader->anchors.count = 0;
    reader->alias_count = 0;
    reader->size = 0;
    reader->is_whole = false;
}

void tree_read(struct tree *out, struct arena *arena, struct source *source,
               struct finding_sink *sink)
{
    *out = (struct tree){.source = source, .status = TREE_UNREADABLE};
    if (source->bytes.size > SOURCE_SIZE_MAX) {
        sink_report(sink, READER_TOO_LARGE, (struct span){0, 0}, NULL,
                    "the file has %zu bytes; at most %d are read", source->bytes.size,
                    SOURCE_SIZE_MAX);
        return;
    }
    uint32_t base = source_mark_size(source);
    struct frame frames[TREE_DEPTH_MAX];
    struct reader *reader = arena_alloc(arena, sizeof *reader);
    *reader = (struct reader){
        .frames = frames,
        .arena = arena,
        .source = source,
        .sink = sink,
        .bytes = view_skip(source->bytes, base),
        .base = base,
        .room_next = ROOM_FIRST,
    };
    struct span odd;
    if (!check_bytes(reader, &odd))
        return;
    if (odd.end)
        cut_before(reader, odd);
    if (!check_directives(reader))
        return;
    struct finding_sink sink_before = *sink;
    if (!read_document(reader)) {
        *sink = sink_before;
        start_over(reader);
        read_document(reader);
    }
    if (!reader->root)
        return;
    out->root = reader->root;
    out->has_merge_keys = reader->has_merge_keys;
    out->status = reader->is_whole && !reader->is_cut ? TREE_WHOLE : TREE_PARTIAL;
}

struct tree *tree_of(struct arena *arena, struct view name, struct view bytes)
{
    struct source *source = ARENA_NEW(arena, struct source);
    struct finding_sink *sink = ARENA_NEW(arena, struct finding_sink);
    struct tree *tree = ARENA_NEW(arena, struct tree);
    source_init(source, arena, name, bytes);
    sink_init(sink, arena, source);
    tree_read(tree, arena, source, sink);
    return tree;
}
