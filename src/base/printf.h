/* What a function takes that hands its arguments on to printf: the compiler looks at them.
 *
 * `text` and `first` are the places of the format and of what goes with it, counted from 1; 0
 * where that comes as a list.
 */
#ifndef PROVEOUT_BASE_PRINTF_H
#define PROVEOUT_BASE_PRINTF_H

#ifdef _WIN32
/* That of the C standard, which __USE_MINGW_ANSI_STDIO brings, and not Windows' own. */
#define PRINTF(text, first) __attribute__((format(gnu_printf, text, first)))
#else
#define PRINTF(text, first) __attribute__((format(printf, text, first)))
#endif

#endif
