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

#ifdef __cplusplus
}
#endif

#endif
