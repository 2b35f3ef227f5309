/* What libyaml objects to, in the words of the people who write machine files. */
#include "tree/internal.h"

uint32_t report_syntax(struct reader *reader)
{
    uint32_t at = locate_mark(reader, reader->parser.problem_mark);
    sink_report(reader->sink, READER_NOT_YAML, (struct span){at, at + 1}, NULL,
                "this cannot be read");
    return at;
}
