/* Lines as they come, and which reader a place has. */
#include "platform/internal.h"
#include "text/source.h"

enum { ROOM = 65536 };

struct plain {
    struct line_reader reader;
    bool shows; /* a prompt, since somebody types */
    bool ended;
    char room[ROOM];
    size_t start, end; /* not yet taken */
    char line[LINE_SIZE_MAX + 1];
};

/* More bytes.  LINE_READ where there are some. */
static enum line_result fill(struct plain *plain)
{
    plain->start = plain->end = 0;
    return line_fill(&plain->reader.place, plain->room, ROOM, &plain->end);
}

static enum line_result read_plain(struct line_reader *reader, struct view *out)
{
    struct plain *plain = (struct plain *)(void *)reader;
    size_t size = 0, left_out = 0;
    if (plain->shows && file_write(reader->place.out, view_of("> ")) != 0)
        plain->shows = false;
    for (;;) {
        if (plain->start == plain->end) {
            enum line_result result = plain->ended ? LINE_END : fill(plain);
            plain->ended |= result == LINE_END;
            if (result == LINE_END && size)
                break;
            if (result != LINE_READ)
                return result;
        }
        char c = plain->room[plain->start++];
        if (c == '\n')
            break;
        if (size < LINE_SIZE_MAX) {
            plain->line[size++] = c;
        } else if (++left_out == SOURCE_SIZE_MAX) {
            plain->start = plain->end; /* it has no end: nothing more comes of it */
            plain->ended = true;
            break;
        }
    }
    if (size && plain->line[size - 1] == '\r')
        size--;
    *out = (struct view){plain->line, size};
    return left_out ? LINE_TOO_LONG : LINE_READ;
}

static void close_plain(struct line_reader *reader)
{
    (void)reader;
}

struct line_reader *line_open_plain(struct arena *arena, const struct line_place *place)
{
    struct plain *plain = ARENA_NEW(arena, struct plain);
    plain->reader = (struct line_reader){*place, read_plain, close_plain};
    plain->shows = terminal_is(place->in);
    return &plain->reader;
}

/* What completes a word. */

struct view line_completion(struct arena *scratch, const struct line_words *words,
                            struct view line)
{
    size_t start = line.size, common = 0, fits = 0;
    while (start && line.data[start - 1] != ' ' && line.data[start - 1] != ',')
        start--;
    const struct view typed = view_skip(line, start);
    const char *first = "";
    arena_reset(scratch);
    for (const char *const *word = words->list(words->user, scratch); *word; word++) {
        if (typed.size && strncmp(*word, typed.data, typed.size) != 0)
            continue;
        if (!fits++) {
            first = *word;
            common = strlen(first);
        }
        size_t same = 0;
        while (same < common && first[same] == (*word)[same])
            same++;
        common = same;
    }
    return common > typed.size ? (struct view){first + typed.size, common - typed.size}
                               : (struct view){0};
}

struct line_reader *line_open(struct arena *arena, const struct line_place *place)
{
    bool edits = place->may_edit && terminal_edits(place->in, place->out);
    line_catch(edits);
    struct line_reader *reader = edits ? line_open_editor(arena, place) : NULL;
    return reader ? reader : line_open_plain(arena, place);
}

enum line_result line_read(struct line_reader *reader, struct view *out)
{
    /* An answer may be there already, given before anybody could see what it is to. */
    return line_is_shown(&reader->place) ? reader->read(reader, out) : LINE_UNSEEN;
}

void line_close(struct line_reader *reader)
{
    reader->close(reader);
}
