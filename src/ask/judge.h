/* What the rules say of a draft: which findings are new, and which numbers would do. */
#ifndef PROVEOUT_ASK_JUDGE_H
#define PROVEOUT_ASK_JUDGE_H

#include "ask/understand.h"
#include "rules/check.h"
#include "rules/search.h"

/* A finding that was told. */
struct known {
    struct view name;
    double margin; /* 0 where it has none */
};

struct known_list {
    VECTOR(struct known) items;
};

struct judge {
    struct arena *arena; /* of the judge */
    /* Is there a question about this field still to come?  What is found about it is not news
     * until then. */
    bool (*to_come)(void *user, const char *field);
    /* Has another value just been put there?  What is found about it is news again: who mends
     * one thing must not take what is left of it for mended too. */
    bool (*put_anew)(void *user, const char *field);
    void *user;
    bool keeps; /* what was known of such a field stays known until its question comes */
    struct checker *quick;   /* without what would put findings right, ... */
    struct mender *thorough; /* ... and with it */
    struct checker *whole;   /* what held and what was not checked as well */
    struct runner runner;
    const char *path;
    const struct shared_files *shared; /* where the file takes parts from, or NULL */
    struct known_list known;           /* findings of the draft as it was last looked at */
};

void judge_init(struct judge *judge, struct arena *arena, const struct check_options *options,
                const char *path);

/* Forgets what is known, and takes what is found in `bytes` as known. */
void judge_know(struct judge *judge, struct arena *arena, struct view bytes);

struct finding_list {
    VECTOR(const struct finding *) items;
    size_t gone; /* findings that were known and are not there any more */
};

/* The findings of `bytes` that were not there before, that have grown worse, or that are about
 * what was put anew; all are known afterwards.  Keys that are missing do not count: there are
 * questions for them. */
void judge_news(struct judge *judge, struct arena *arena, struct view bytes,
                struct finding_list *out);

/* The whole report, for the review. */
void judge_report(struct judge *judge, struct arena *arena, struct view bytes,
                  struct file_report *out);

/* The same with what held and what was not checked. */
void judge_whole(struct judge *judge, struct arena *arena, struct view bytes,
                 struct file_report *out);

/* What was not checked for want of a number and is about people, each rule once; of all, or
 * where `path` is not "" for want of a field below that. */
void judge_left_out(struct judge *judge, struct arena *arena, struct view bytes,
                    const char *path, struct finding_list *out);

/* A value to offer. */
struct offer {
    const char *text;           /* NULL: none */
    bool computed;              /* from other answers */
    const struct window *range; /* that it tells of; NULL: none, or an empty one */
    const char *window; /* "every rule holds from 7.1 mm to 13.9 mm; below ...", or NULL */
};

/* The safe window of a field by `bytes`, and a value in it: the usual one where that will do,
 * else the nearest that will.  `usual` may be NULL. */
void judge_offer(struct judge *judge, struct arena *arena, struct view bytes, const char *path,
                 const char *usual, struct offer *out);

#endif
