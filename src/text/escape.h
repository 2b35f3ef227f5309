/* What may reach a terminal.
 *
 * Every byte from a file is hostile until it has been through here.  Control
 * characters (C0, DEL, C1), bidirectional overrides and other invisible format
 * characters, and bytes that are not UTF-8 come out as visible text: `\n`, `\x1b`,
 * `\u202e`.  A backslash of the text itself stays as it is.
 */
#ifndef PROVEOUT_TEXT_ESCAPE_H
#define PROVEOUT_TEXT_ESCAPE_H

#include "base/buffer.h"

#include <stdbool.h>
#include <stdint.h>

/* Adds `text` to `out`, made harmless. */
void escape_terminal(struct buffer *out, struct view text);

/* Must this code point not be shown as it is? */
bool escape_is_hidden(uint32_t point);

/* `text` made harmless and cut to at most `cells` terminal cells, with `...` where cut. */
const char *escape_short(struct arena *arena, struct view text, size_t cells);

/* Adds a file's name for the head of a difference: as it is, or where anything in it is hidden,
 * is no UTF-8 or might be misread, in double quotes with the escapes of C, as patch takes it.
 * Returns whether it was quoted. */
bool escape_patch_name(struct buffer *out, struct view name);

/* Adds `text` as a text or a value in double quotes of XML, made harmless in both ways. */
void escape_xml(struct buffer *out, struct view text);

/* Adds `text` as a YAML text in double quotes, which reads back the same. */
void escape_quoted(struct buffer *out, struct view text);

#endif
