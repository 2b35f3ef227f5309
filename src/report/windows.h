/* Windows as people and programs read them: format proveout-windows version 1. */
#ifndef PROVEOUT_REPORT_WINDOWS_H
#define PROVEOUT_REPORT_WINDOWS_H

#include "report/report.h"
#include "rules/window.h"

/* Each window with a small ruler: its low end, the present value, its high end. */
void windows_text(struct buffer *out, const struct report_options *options, const char *path,
                  const struct window *windows, size_t count);

void windows_json(struct buffer *out, const char *path, const struct window *windows,
                  size_t count);

#endif
