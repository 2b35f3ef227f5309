/* The policy of a folder: what the people who share its machine files have agreed on.
 *
 *     proveout-policy: 1
 *     stop_at: warning
 *     rulebooks: [club.yaml]
 *     levels: {long-and-thin: note, idle-unchecked: error}
 *     agreements: [change.approach_z]
 *     measured_within: 180 days
 *     waivers:
 *       - {rules: [long-and-thin], by: [R. Holm]}
 *
 * It may ask for more than the rules do, and lower what is only about work or machine.  The
 * level of what can hurt a person, and of a mistake in a file, is never lowered.
 */
#ifndef PROVEOUT_RULES_POLICY_H
#define PROVEOUT_RULES_POLICY_H

#include "machine/machine.h"
#include "rules/load.h"

/* The name of the file. */
#define POLICY_NAME "proveout.policy.yaml"

struct policy_level {
    struct view rule;
    enum finding_level level;
    struct span span; /* of the rule's name */
};

/* Who may waive what. */
struct policy_waiver {
    const struct tree_node *const *rules; /* names; `*` is every rule */
    size_t rule_count;
    const struct tree_node *const *by; /* names of people; none: anybody */
    size_t by_count;
};

struct policy {
    const char *name; /* of the file */
    struct source *source;
    bool has_stop_at;
    enum finding_level stop_at;
    const struct tree_node *const *rulebooks; /* paths from the folder of the policy */
    size_t rulebook_count;
    const struct policy_level *levels;
    size_t level_count;
    const struct tree_node *const *agreements; /* paths of fields */
    size_t agreement_count;
    bool wants_agreement;   /* with the controller's own file, about whatever */
    double measured_within; /* seconds; 0: however long ago */
    bool limits_waivers;
    const struct policy_waiver *waivers;
    size_t waiver_count;
};

/* Reads a policy; what is wrong with it goes to `mistakes`, in whose arena all lives. */
MUST_USE bool policy_read(struct rulebook_mistakes *mistakes, const char *name,
                          struct view bytes, struct policy *out);

/* The rules that it names have to be there, and must not be lowered where they may not. */
MUST_USE bool policy_fits(struct rulebook_mistakes *mistakes, const struct policy *policy,
                          const struct rulebook *const *books, size_t count);

/* Reports what a machine lacks by the policy: agreements, and measurements that are too old or
 * of which nobody knows how old they are. */
void policy_check(struct arena *arena, const struct policy *policy,
                  const struct machine *machine, struct finding_sink *sink, double today);

/* May `who` waive this rule?  `policy` NULL: everybody may. */
bool policy_lets(const struct policy *policy, struct view rule, const char *who);

/* Gives findings the levels that the policy wants. */
void policy_levels(const struct policy *policy, struct file_report *report);

/* Adds what it says, for people, a line each. */
void policy_tell(struct buffer *out, const struct policy *policy);

#endif
