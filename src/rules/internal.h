/* What the files of this folder share and no other has to know: how rulebooks and the program's
 * own small files are read, and the steps that checking a file takes once its rules are asked. */
#ifndef PROVEOUT_RULES_INTERNAL_H
#define PROVEOUT_RULES_INTERNAL_H

#include "base/printf.h"
#include "rules/check.h"
#include "rules/own.h"
#include "rules/search.h"
#include "tree/tree.h"

/* --- reading rulebooks --- */

/* Where a formula's text came from: its offsets are turned into places by this. */
struct origin {
    struct source *source;
    const struct tree_node *node;
    size_t skip; /* where the formula starts in the node's text */
};

struct loader {
    struct rulebook_mistakes *mistakes;
    struct formula_builder *builder;
    struct source *source; /* of the file being read */
    bool broken_off;       /* the file could not be read to the end of what is being loaded */
    VECTOR(struct view) mistyped; /* keys that the unknown ones of the map at hand stand for */
    VECTOR(struct origin) origins;
    VECTOR(struct rule) rules;
    VECTOR(struct requirement) requirements;
    VECTOR(struct message) messages;
    VECTOR(struct message_piece) pieces;
};

/* Notes a mistake at `span` of the file being read; a printf format without a full stop. */
void loader_mistake(struct loader *loader, struct span span, const char *format, ...)
    PRINTF(3, 4);

/* Complains of keys that such a map does not have, naming the nearest, which is then not missing.
 */
void loader_check_keys(struct loader *loader, const struct tree_node *map, enum book_map form);

/* Is it worth saying that `key` is missing in the map at hand?  Not where it was mistyped, nor
 * where the file could not be read so far. */
MUST_USE bool loader_misses(const struct loader *loader, const char *key);

/* The smallest span that stands for a node: itself, or its key where it is empty or long. */
struct span loader_span(const struct tree_node *node);

/* The child of a map with this key, aliases resolved; NULL where there is none, or no map. */
static inline const struct tree_node *loader_child(const struct tree_node *map, const char *key)
{
    const struct tree_node *child = map ? tree_child(map, view_of(key)) : NULL;
    return child ? tree_resolve(child) : NULL;
}

/* Refuses a rule without the examples it must carry, and examples whose values are none. */
void load_examples(struct loader *loader, const struct tree_node *node,
                   const struct rule *rule);

/* --- reading the program's own small files ---
 *
 * Whatever is not as the form has it is a mistake at its place; nothing is passed over. */

struct own_file {
    struct rulebook_mistakes *mistakes;
    struct source *source;
    const char *what; /* "a policy": for messages */
};

/* Reads `bytes`, called `name`, whose first key has to be the first of `keys` with the value 1,
 * and whose other keys are among these; NULL: there are mistakes. */
const struct tree_node *own_file_read(struct own_file *form, struct rulebook_mistakes *mistakes,
                                      const char *name, struct view bytes,
                                      const struct own_map *keys);

void own_file_mistake(struct own_file *form, struct span span, const char *message);

/* Child `key` of a map, of this kind; NULL where it is not, which is a mistake unless it may be
 * left out. */
const struct tree_node *own_file_child(struct own_file *form, const struct tree_node *map,
                                       const char *key, enum tree_kind kind, bool may_lack);

/* The same of a text; without data where it is not there. */
struct view own_file_text(struct own_file *form, const struct tree_node *map, const char *key,
                          bool may_lack);

/* A list of texts, in the arena of the mistakes; where one is no text, that is a mistake. */
struct own_list {
    const struct tree_node **items;
    size_t count;
};
struct own_list own_file_texts(struct own_file *form, const struct tree_node *map,
                               const char *key, bool may_lack);

/* A key that nobody reads was meant for something: each that is not among these is a mistake.
 */
void own_file_refuse_others(struct own_file *form, const struct tree_node *map,
                            const struct own_map *keys);

/* --- what checking does besides asking --- */

/* Waivers: findings that somebody has looked at and accepts, with a reason and perhaps a last
 * day.
 *
 * A waiver is tied to a rule and a field, not to a line.  One without a reason, or whose day is
 * past, waives nothing and is a finding itself; so is one that names a finding which is not
 * there, if its rule was asked at all; and one of what can hurt a person, if it does not name
 * who decided so and a last day within a year.
 */
struct waivers;

/* Reads the waivers of the machine that `describer` is about, and has its runner settle
 * failures by them from its next run on, until it is told otherwise.  `today` in seconds from
 * 1970-01-01.  Reports those that cannot hold, or that `policy` (NULL: there is none) does not
 * allow. */
struct waivers *waivers_read(const struct describer *describer, struct finding_sink *sink,
                             double today, const struct policy *policy);

/* Marks a failed finding as waived where a waiver covers it.  Errors of the reader cannot be
 * waived: what they are about is not known; nor can what stands for failures of rules.  True
 * where it was. */
bool waivers_apply(struct waivers *waivers, struct finding *finding);

/* Reports those that covered nothing, though their rule was asked in the runner's last run, and
 * answered. */
void waivers_finish(struct waivers *waivers, struct finding_sink *sink);

/* The one number that several failures of rules point to: told in their place by the reader. */
static inline bool finding_stands_for_others(const struct finding *finding)
{
    return strcmp(finding->rule, reader_finding_name(READER_NUMBER_OUT_OF_LINE)) == 0;
}

/* A failure that nothing explains and nobody has waived. */
struct open_failure {
    struct finding *finding;
    struct instance instance;
};

/* One slip of the pen that makes many rules fail: told once, at the number.
 *
 * A lost sign, two numbers exchanged, a height read in another frame: one such number makes rules
 * fail that blame others.  Each likely slip is taken back in a copy of the machine and all rules
 * are asked again.  It counts only where every failure that has to do with it is gone and no new
 * one has come, and where no other number would explain as much.
 *
 * The runner has asked the machine, and its results stay.  A slip that one of the findings
 * already points at is added to its advice; one that they all miss becomes a finding of its own
 * in `sink`; the other findings follow from that one. */
void slips_find(const struct describer *describer, struct finding_sink *sink,
                const struct open_failure *open, size_t count);

/* What would put failed findings right, in numbers: added to their advice, so that every output
 * says the same.  Where a finding blames a chosen number, its window, which `ignored`, waived
 * findings, do not bound.  A measured value is never corrected: the advice is to measure it
 * again.  The runner has asked the machine, and its results stay. */
void remedies_add(const struct describer *describer, const struct instance_list *ignored,
                  const struct open_failure *open, size_t count);

/* What rests on a number that the controller's own file has otherwise.
 *
 * All rules are asked once more with the controller's number in the machine file's place: a
 * margin that comes out otherwise rests on it.  Tells it of the lost agreements among `list`,
 * whose findings are in `sink`, by the rules that `options` asks, which `check` does. */
typedef void machine_checker(struct arena *arena, const struct check_options *options,
                             const struct machine *machine, struct file_report *out);
void rests_tell(struct arena *arena, const struct check_options *options,
                machine_checker *check, const struct machine *machine,
                struct finding_sink *sink, const struct agreement_list *list);

/* What the reader finds and what it makes fail: told once.
 *
 * Where rules fail over a number that the reader finds implausible, one slip would be told
 * several times.  An error that reads the number says more than the remark on it, which becomes
 * its follow-on; where the error points elsewhere, the words of the remark come first among its
 * related places, made in `arena`.  Warnings and notes become follow-ons of the remark.  An
 * error is never told as a follow-on of a remark: nobody may wave it away with it.  Where a key
 * is missing because another value is, warnings and notes about that value are follow-ons of
 * the missing key; an error that wants that value explains the missing key itself.  What is
 * waived explains nothing. */
void causes_join(struct arena *arena, struct finding *findings, size_t count);

#endif
