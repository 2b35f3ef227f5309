/* BUG: the program itself is wrong.
 *
 * For states that no input can reach.  Prints where and what to standard
 * error and aborts.  Never used for a user's mistake, a full disk or a lack of
 * memory: those have means of their own.
 */
#ifndef PROVEOUT_BASE_BUG_H
#define PROVEOUT_BASE_BUG_H

#include "base/printf.h"

/* Does not return.  `format` is a printf format without floating point. */
_Noreturn void bug_at(const char *file, int line, const char *format, ...) PRINTF(3, 4);

#define BUG(...) bug_at(__FILE__, __LINE__, __VA_ARGS__)
#define BUG_UNLESS(condition)                                                                  \
    do {                                                                                       \
        if (!(condition))                                                                      \
            BUG("expected: %s", #condition);                                                   \
    } while (0)

/* On functions whose status must be looked at. */
#define MUST_USE __attribute__((warn_unused_result))

#endif
