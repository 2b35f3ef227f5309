/* What the two halves of this folder and what they share know of each other. */
#ifndef PROVEOUT_PLATFORM_INTERNAL_H
#define PROVEOUT_PLATFORM_INTERNAL_H

#include "platform/platform.h"

struct line_reader {
    struct line_place place;
    enum line_result (*read)(struct line_reader *reader, struct view *out);
    void (*close)(struct line_reader *reader);
};

/* Where nothing is echoed and nobody edits: pipes, files, plain terminals. */
struct line_reader *line_open_plain(struct arena *arena, const struct line_place *place);

/* What completes the word that `line` ends with, as far as all that fit agree, to be used until
 * `scratch` is reset.  Empty: nothing does. */
struct view line_completion(struct arena *scratch, const struct line_words *words,
                            struct view line);

/* Why a file of this kind cannot be saved, where looking for it has given `error`, 0 where it is
 * there.  NULL: it can. */
const char *save_refusal(struct arena *arena, enum save_kind kind, int error);

extern const char save_meanwhile[]; /* why a file that has changed is not replaced */

/* --- of each half --- */

/* From here on what would end the program ends lines; `edits`: so does what a terminal tells that
 * shows a line being edited. */
void line_catch(bool edits);

/* NULL where it does not want this terminal; a plain one serves then. */
struct line_reader *line_open_editor(struct arena *arena, const struct line_place *place);

/* Waits for more bytes.  LINE_READ with some of them, else how the line ends. */
enum line_result line_fill(const struct line_place *place, void *room, size_t size, size_t *got);

/* Does what is shown still reach somebody? */
bool line_is_shown(const struct line_place *place);

/* An error that error_reason has no words for. */
void error_system_words(int error, char *out, size_t size);

#endif
