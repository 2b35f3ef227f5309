/* The policy of a folder, as it is given to the library. */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include <proveout/check.h>
#include <proveout/text.h>

#include "files.h"

static const char book[] =
    "rulebook: 1\n"
    "title: Club\n"
    "rules:\n"
    "  wait-of-the-club:\n"
    "    level: note\n"
    "    hurts: work\n"
    "    require: spindle.dwell_after_stop >= 60 s\n"
    "    says: we wait for less than a minute\n"
    "    why: it is a slow club\n"
    "    put_right: wait\n"
    "    source: a test\n"
    "    examples:\n"
    "      holds: [ {spindle.dwell_after_stop: 60 s}, {spindle.dwell_after_stop: 70 s} ]\n"
    "      fails: [ {spindle.dwell_after_stop: 59 s, margin: -1 s}, {spindle.dwell_after_stop: 1 s} ]\n";

/* What is there, and what was asked for. */
struct place {
    const char *policy, *book; /* NULL: it cannot be read */
    char asked[200];
    int others; /* asked of `read` */
};

static int read_other(void *user, const char *path, const void **bytes, size_t *size,
                      const char **why)
{
    struct place *place = user;
    (void)path, (void)bytes, (void)size, (void)why;
    place->others++;
    return 0;
}

static int read_policy(void *user, const char *path, const void **bytes, size_t *size,
                       const char **why)
{
    struct place *place = user;
    size_t used = strlen(place->asked);
    snprintf(place->asked + used, sizeof place->asked - used, "%s;", path);
    *bytes = strstr(path, "policy") ? place->policy : place->book;
    *size = *bytes ? strlen(*bytes) : 0;
    *why = "it is gone";
    return *bytes != NULL;
}

static struct proveout_options options_of(struct place *place)
{
    struct proveout_options options = {0};
    options.size = sizeof options;
    options.read = read_other;
    options.user = place;
    options.policy = "club/proveout.policy.yaml";
    options.read_policy = read_policy;
    return options;
}

static struct proveout_result *checked(struct place *place)
{
    const struct proveout_options options = options_of(place);
    const struct file *file = files_sample("workshop-router.yaml");
    return proveout_check(file->name, file->bytes, file->size, &options);
}

Test(policy, its_rulebooks_are_asked_and_its_levels_count)
{
    struct place place = {.policy = "proveout-policy: 1\nrulebooks: [rules/club.yaml]\n"
                                    "levels: {wait-of-the-club: error}\n",
                          .book = book};
    struct proveout_result *result = checked(&place);
    cr_assert_eq(proveout_findings(result, PROVEOUT_ERROR), 1);
    cr_assert_str_eq(proveout_finding(result, 0)->rule, "wait-of-the-club");
    cr_assert_str_eq(place.asked, "club/proveout.policy.yaml;rules/club.yaml;");
    cr_assert_eq(place.others, 0);
    proveout_free(result);
}

Test(policy, what_it_wants_is_found_in_reports_too)
{
    struct place place = {.policy = "proveout-policy: 1\nagreements: yes\n"};
    const struct proveout_options options = options_of(&place);
    const struct file *file = files_sample("workshop-router.yaml");
    struct proveout_text *text = proveout_report(file->name, file->bytes, file->size, &options);
    cr_assert(proveout_text_ends(text) && strstr(proveout_text_data(text), "agreement-wanted"));
    proveout_text_free(text);
}

Test(policy, what_is_wrong_with_it_is_said_and_nothing_checked)
{
    static const struct {
        struct place place;
        const char *why;
    } wrong[] = {
        {{NULL, book, "", 0}, "policy club/proveout.policy.yaml cannot be read: it is gone"},
        {{"proveout-policy: 1\nstop: 4\n", book, "", 0}, "club/proveout.policy.yaml:2:1:"},
        {{"proveout-policy: 1\nrulebooks: [a.yaml]\n", NULL, "", 0},
         "rulebook club/a.yaml cannot be read: it is gone"},
        {{"proveout-policy: 1\nrulebooks: [a.yaml]\n", "rulebook: 2\n", "", 0},
         "club/a.yaml:1:"},
        {{"proveout-policy: 1\nlevels: {none-such: note}\n", book, "", 0}, "none-such"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        struct place place = wrong[i].place;
        struct proveout_result *result = checked(&place);
        cr_expect_eq(proveout_status(result), PROVEOUT_REFUSED, "%zu", i);
        cr_expect(strstr(proveout_trouble(result), wrong[i].why), "%s: %s", wrong[i].why,
                  proveout_trouble(result));
        cr_expect_eq(proveout_count(result), 0);
        proveout_free(result);
    }
}

Test(policy, is_called_as_the_program_looks_for_it)
{
    cr_assert_str_eq(proveout_policy_name(), "proveout.policy.yaml");
}
