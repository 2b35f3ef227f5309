/* Marks what the library shows to programs that use it; all else is hidden. */
#ifndef PROVEOUT_VISIBILITY_H
#define PROVEOUT_VISIBILITY_H

#if defined(__GNUC__)
#define PROVEOUT_EXPORT __attribute__((visibility("default")))
#else
#define PROVEOUT_EXPORT
#endif

#endif
