/* Asking through a machine description, as `proveout commission` does, without a terminal.
 *
 *     struct proveout_questions *asked = proveout_questions_open(bytes, size, &options);
 *     while (proveout_questions_state(asked) == PROVEOUT_QUESTION) {
 *         show(proveout_questions_json(asked, &length), length);
 *         size = wait_for_an_answer(line);
 *         proveout_questions_answer(asked, line, size);
 *     }
 *     if (proveout_questions_state(asked) == PROVEOUT_QUESTIONS_SAVED)
 *         save(proveout_questions_file(asked, &length), length);
 *     proveout_questions_close(asked);
 *
 * An answer is what a person types: a value with or without its unit, a number or word of a
 * choice, nothing at all for what is offered, or one of the words `?`, `back`, `back 3`, `back`
 * with a path, `skip`, `on`, `later`.  At the review `yes` ends it, or first takes what is
 * proposed there.
 *
 * Opens no file, reads no clock, environment or locale; different objects may be used by
 * different threads.  NULL only for lack of memory; an object that is NULL is answered as told
 * at each function.
 */
#ifndef PROVEOUT_QUESTIONS_H
#define PROVEOUT_QUESTIONS_H

#include <stddef.h>

#include <proveout/visibility.h>

#ifdef __cplusplus
extern "C" {
#endif

enum proveout_questions_state {
    PROVEOUT_QUESTION,            /* it goes on: a question or the review stands */
    PROVEOUT_QUESTIONS_SAVED,     /* `yes` was said: the file is whole */
    PROVEOUT_QUESTIONS_UNCHANGED, /* the file that was there stays as it is */
    PROVEOUT_QUESTIONS_STOPPED,   /* by `later`: the draft is to be kept */
    PROVEOUT_QUESTIONS_REFUSED,   /* the bytes are no machine file, or take in others that no
                                     question reaches: there is nothing to ask */
    PROVEOUT_QUESTIONS_NO_MEMORY  /* it ran out on the way; only the draft is still good */
};

/* All zero but the first is a good start.  Members are only ever added, at the end.  Lengths
 * count bytes; nothing needs a NUL at its end. */
struct proveout_questions_options {
    size_t size;       /* sizeof(struct proveout_questions_options) as the caller knows it */
    const char *name;  /* "shed.yaml": names the machine until somebody does */
    size_t name_size;  /* 0: "machine.yaml" */
    const char *today; /* "2027-03-31", for `today` as an answer and for dates that pass */
    size_t today_size; /* 0: not known */
    const char *draft; /* as proveout_questions_draft gave it, of the same bytes */
    size_t draft_size; /* 0: none.  One that is damaged or stale is left, and that is said */
};

struct proveout_questions;

/* Begins.  `bytes`: a machine file that is there, of which only what is answered anew changes;
 * `size` 0: none, and a new one is written.  `bytes` and `options` may go as soon as this
 * returns; `options` NULL, or of another size than one that is known: as if all zero.  The
 * caller closes what comes back. */
PROVEOUT_EXPORT struct proveout_questions *
proveout_questions_open(const void *bytes, size_t size,
                        const struct proveout_questions_options *options);

/* PROVEOUT_QUESTIONS_NO_MEMORY for NULL. */
PROVEOUT_EXPORT enum proveout_questions_state
proveout_questions_state(const struct proveout_questions *questions);

/* What stands now, as one JSON object in UTF-8, terminated; `*length` (may be NULL) is without
 * the NUL.  Lives until the next call about the same object.  NULL where there is none.
 *
 * - format, version: "proveout-question", 1; members are only ever added
 * - state: "question", "review", "name" (of the file), "over"
 * - taken, said: of the last answer: false where it was refused, and what was understood, or
 *   why not; null before the first
 * - findings: what the rules say of the answers now and did not before: rule, level, field,
 *   message, put_right, would_do (small changes of the answers, of which each alone would do)
 *
 * and of a question
 *
 * - number, of: which it is, of about how many
 * - topic, note: what it belongs to, and what to know before
 * - headline: the question as it is put to people; null where each field has its own
 * - about: "cutter 3", or null
 * - again: an answer before it has changed since
 * - care: "collet": isolate the spindle before hands go near the collet; "moves": the machine
 *   moves; "runs": the spindle runs.  cautions: the same in sentences.  Show them: people get hurt
 *   here.
 * - offer: text, enter (is it what an empty answer takes?), source ("kept", "usual",
 *   "computed"), reason; or null
 * - fields: one, or several that are answered in one line with commas between, or marked by
 *   their numbers: path, label, asks, question (the same as a sentence), help (how to measure),
 *   nature, kind, unit (that of a bare number), readings (may several stand, with commas
 *   between?), needed, offer, window (in which every rule holds), range (the same in numbers: low
 *   and high in SI, null where no rule bounds it, unit, unit_si; or null), choices (word and what
 *   it says)
 *
 * and of the review
 *
 * - answers: path, text (null: left open), source, asked
 * - refused: why there can be no file, or null
 * - unchanged; file: its text, or null
 * - proposal: numbers with which less fails: changes (path, now, text), left (how much fails
 * with them too), less_for_people (a rule that gets less room), measure_first (a number to be
 *   measured again before they are taken), those or null.  As long as it stands, `yes` takes it
 * and `no` leaves it, and either comes back to the review; else it is null
 * - excluded: where there are no such numbers: because (how sure that is), rules (that exclude each
 *   other, with whose they are); else null
 */
PROVEOUT_EXPORT const char *proveout_questions_json(struct proveout_questions *questions,
                                                    size_t *length);

/* Answers what stands with `size` bytes.  Returns the state then; that it was refused stands in
 * the JSON.  Nothing happens once it is over, or for NULL. */
PROVEOUT_EXPORT enum proveout_questions_state
proveout_questions_answer(struct proveout_questions *questions, const void *line, size_t size);

/* Goes back one question: an answer of `back`. */
PROVEOUT_EXPORT enum proveout_questions_state
proveout_questions_back(struct proveout_questions *questions);

/* The file: as it was saved, or before that as the answers so far would have it; NULL where
 * they cannot be put into one, or for NULL.  Lives until the next call about the same object.
 */
PROVEOUT_EXPORT const char *proveout_questions_file(struct proveout_questions *questions,
                                                    size_t *length);

/* All answers so far, to go on from on another day; NULL where none are to be kept.  Lives
 * until the next answer. */
PROVEOUT_EXPORT const char *proveout_questions_draft(const struct proveout_questions *questions,
                                                     size_t *length);

PROVEOUT_EXPORT void
proveout_questions_close(struct proveout_questions *questions); /* NULL: fine */

#ifdef __cplusplus
}
#endif

#endif
