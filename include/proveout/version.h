/* Which proveout this is. */
#ifndef PROVEOUT_VERSION_H
#define PROVEOUT_VERSION_H

#include <proveout/visibility.h>

#ifdef __cplusplus
extern "C" {
#endif

#define PROVEOUT_VERSION "0.1.0"

/* The version of the library in use: a static text such as "0.1.0". */
PROVEOUT_EXPORT const char *proveout_version(void);

/* Which rules are built in: 16 small hexadecimal digits, others as soon as a number, a word or
 * a level of one rule is another, and the same on every system.  A static text.  It tells builds
 * apart and proves nothing about who made them. */
PROVEOUT_EXPORT const char *proveout_rules_fingerprint(void);

#ifdef __cplusplus
}
#endif

#endif
