/* What the Windows half knows of itself: names and errors in the system's own form, consoles.
 */
#ifndef PROVEOUT_PLATFORM_WINDOWS_INTERNAL_WINDOWS_H
#define PROVEOUT_PLATFORM_WINDOWS_INTERNAL_WINDOWS_H

#ifndef WIN32_LEAN_AND_MEAN
#define WIN32_LEAN_AND_MEAN
#endif
#include <windows.h>

#include "platform/internal.h"

/* The errno of what the last call of the system gave as its error, which is kept. */
int windows_error(void);

/* Sets errno so; false. */
bool windows_failed(void);

/* A text as the system takes it, and back; in `arena`.  What is no UTF-8, or half a pair,
 * becomes a replacement character, which no name has. */
const wchar_t *wide_text(struct arena *arena, const char *text);
const char *narrow_text(struct arena *arena, const wchar_t *text);

/* A path for a call of the system: with its own strokes, and a long one in the form that has no
 * limit.  To be freed; NULL, and errno. */
wchar_t *wide_path(const char *path);

/* A path as the rest of the program has it, without the mark of the form that has no limit. */
const char *narrow_path(struct arena *arena, const wchar_t *path);

/* The path of what is open, from a root and without links; NULL, and errno. */
const char *handle_path(struct arena *arena, HANDLE handle);

/* What is open.  False, and errno. */
bool handle_about(HANDLE handle, struct file_about *out);

/* Opens with the rights that are asked for, which others may have too.  INVALID_HANDLE_VALUE,
 * and errno. */
HANDLE handle_open(const char *path, DWORD rights, DWORD flags);

HANDLE handle_of(int file);

/* A descriptor that owns the handle; closes it where there is none.  -1, and errno. */
int file_of(HANDLE handle);

/* --- consoles --- */

bool console_is(HANDLE handle);

/* Some of what is typed there, as UTF-8: 0 at its end, which is Ctrl-Z.  -1, and errno. */
ptrdiff_t console_read(HANDLE handle, void *room, size_t size);

/* Shows UTF-8.  0, or the errno. */
int console_write(HANDLE handle, struct view text);

/* Do interrupts end lines by now, and not the program? */
bool console_catches(void);

#endif
