/* The findings that no formula makes: what is wrong with a file before any rule is asked, with
 * its agreement with the controller's own file, and with its waivers.
 *
 * READER_FINDINGS(X) lists each once: X(ID, "name", level).  The same names, with why and what
 * to do, stand in rules/reading.yaml; a test holds the two lists against each other.
 */
#ifndef PROVEOUT_FINDING_NAMES_H
#define PROVEOUT_FINDING_NAMES_H

#define READER_FINDINGS(X)                                                                     \
    X(NOT_YAML, "not-yaml", LEVEL_ERROR)                                                       \
    X(NOT_UTF8, "not-utf8", LEVEL_ERROR)                                                       \
    X(SECOND_DOCUMENT, "second-document", LEVEL_ERROR)                                         \
    X(TOO_LARGE, "too-large", LEVEL_ERROR)                                                     \
    X(TOO_DEEP, "too-deep", LEVEL_ERROR)                                                       \
    X(DUPLICATE_KEY, "duplicate-key", LEVEL_ERROR)                                             \
    X(UNKNOWN_KEY, "unknown-key", LEVEL_ERROR)                                                 \
    X(MISSING_KEY, "missing-key", LEVEL_ERROR)                                                 \
    X(WRONG_KIND, "wrong-kind", LEVEL_ERROR)                                                   \
    X(UNKNOWN_CHOICE, "unknown-choice", LEVEL_ERROR)                                           \
    X(UNIT_MISSING, "unit-missing", LEVEL_ERROR)                                               \
    X(UNIT_UNKNOWN, "unit-unknown", LEVEL_ERROR)                                               \
    X(WRONG_DIMENSION, "wrong-dimension", LEVEL_ERROR)                                         \
    X(NOT_A_NUMBER, "not-a-number", LEVEL_ERROR)                                               \
    X(TAB_INDENT, "tab-indent", LEVEL_ERROR)                                                   \
    X(TOO_LONG, "too-long", LEVEL_ERROR)                                                       \
    X(OUT_OF_ORDER, "out-of-order", LEVEL_ERROR)                                               \
    X(UNKNOWN_NAME, "unknown-name", LEVEL_ERROR)                                               \
    X(GIVEN_TWICE, "given-twice", LEVEL_ERROR)                                                 \
    X(SHARED_FILE_UNREADABLE, "shared-file-unreadable", LEVEL_ERROR)                           \
    X(SHARED_FILE_CIRCLE, "shared-file-circle", LEVEL_ERROR)                                   \
    X(SHARED_CUTTER_DIFFERS, "shared-cutter-differs", LEVEL_WARNING)                           \
    X(WAIVER_NOT_SHARED, "waiver-not-shared", LEVEL_NOTE)                                      \
    X(LOOKS_LIKE_INCHES, "looks-like-inches", LEVEL_WARNING)                                   \
    X(LOOKS_LIKE_SECONDS, "looks-like-seconds", LEVEL_WARNING)                                 \
    X(IMPLAUSIBLE, "implausible", LEVEL_WARNING)                                               \
    X(READING_OFF, "reading-off", LEVEL_WARNING)                                               \
    X(READINGS_FEW, "readings-few", LEVEL_NOTE)                                                \
    X(READINGS_ALIKE, "readings-alike", LEVEL_NOTE)                                            \
    X(READINGS_OLD, "readings-old", LEVEL_WARNING)                                             \
    X(LOG_NOT_PLAIN, "log-not-plain", LEVEL_ERROR)                                             \
    X(NUMBER_OUT_OF_LINE, "number-out-of-line", LEVEL_ERROR)                                   \
    X(AGREEMENT_LOST, "agreement-lost", LEVEL_ERROR)                                           \
    X(AGREEMENT_UNMATCHED, "agreement-unmatched", LEVEL_ERROR)                                 \
    X(AGREEMENT_AMBIGUOUS, "agreement-ambiguous", LEVEL_ERROR)                                 \
    X(AGREEMENT_PATTERN_COSTLY, "agreement-pattern-costly", LEVEL_ERROR)                       \
    X(WAIVER_EXPIRED, "waiver-expired", LEVEL_WARNING)                                         \
    X(WAIVER_UNUSED, "waiver-unused", LEVEL_WARNING)                                           \
    X(WAIVER_UNREASONED, "waiver-unreasoned", LEVEL_WARNING)                                   \
    X(WAIVER_UNACCEPTED, "waiver-unaccepted", LEVEL_WARNING)                                   \
    X(WAIVER_NOT_ALLOWED, "waiver-not-allowed", LEVEL_WARNING)                                 \
    X(AGREEMENT_WANTED, "agreement-wanted", LEVEL_ERROR)                                       \
    X(MEASURED_LONG_AGO, "measured-long-ago", LEVEL_WARNING)

enum reader_finding {
#define X(id, name, level) READER_##id,
    READER_FINDINGS(X)
#undef X
        READER_COUNT
};

#endif
