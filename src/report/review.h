/* What became of machines, for a review: each as it was and as it is. */
#ifndef PROVEOUT_REPORT_REVIEW_H
#define PROVEOUT_REPORT_REVIEW_H

#include "rules/check.h"

enum review_kind {
    REVIEW_CHANGED,
    REVIEW_ADDED,     /* it was not there before */
    REVIEW_REMOVED,   /* it is not there any more: no reports */
    REVIEW_UNREADABLE /* one side cannot be read, for `trouble` */
};

struct review {
    enum review_kind kind;
    const char *was;                          /* what it is compared with: a path, a revision */
    const struct file_report *before, *after; /* `before` empty where it was not there */
    const struct moved *moved;
    const char *trouble;
};

#endif
