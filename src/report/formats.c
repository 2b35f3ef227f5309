/* Which outputs there are. */
#include "report/internal.h"

const struct report_format *const report_formats[] = {
    &report_text,
    &report_json,
};
const size_t report_format_count = sizeof report_formats / sizeof *report_formats;

const struct report_format *report_format_find(struct view name)
{
    for (size_t i = 0; i < report_format_count; i++)
        if (view_is(name, report_formats[i]->name))
            return report_formats[i];
    return NULL;
}
