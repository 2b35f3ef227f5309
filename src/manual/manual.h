/* What is filled into the pages of the manual and into the completions of the shells, from the
 * tables of the program.
 *
 * A source of this folder is the page as it is to be, but for lines that hold nothing but a mark,
 * @options@: in its place stands what a function here makes of the tables.
 */
#ifndef PROVEOUT_MANUAL_MANUAL_H
#define PROVEOUT_MANUAL_MANUAL_H

#include "cli/tables.h"

struct page {
    struct buffer *out;
    const struct command *command; /* NULL: the program as a whole */
    struct view text;              /* of rules/README.md, where it is asked for */
};

/* Of any page: whose manual it is, for the line at its foot. */
void page_version(const struct page *page);

/* Of a page about a command, or about the program. */
void page_title(const struct page *page);
void page_name(const struct page *page);
void page_synopsis(const struct page *page);
void page_help(const struct page *page);
void page_commands(const struct page *page);
void page_options(const struct page *page);
void page_formats(const struct page *page);
void page_see_commands(const struct page *page);

/* Of the machine file. */
void page_fields(const struct page *page);
void page_taking(const struct page *page);
void page_units(const struct page *page);

/* Of policies, of files of known findings and of lists of agreements. */
void page_policy(const struct page *page);
void page_known(const struct page *page);
void page_agreements(const struct page *page);

/* A text in Markdown as sections of a page. */
void page_markdown(const struct page *page);

/* What a shell completes: lines of words with tabs between them, to stand within a text in single
 * quotes.  An item is a word as it is, or @KIND of what there are many of.
 *
 *     command NAME "" summary
 *     option COMMAND --OPTION help
 *     value COMMAND --OPTION ITEM ...   what comes behind that option
 *     first COMMAND "" ITEM ...         the first argument
 *     rest COMMAND "" ITEM ...          those after it
 *     after COMMAND WORD ITEM ...       the one behind this argument
 */
void page_completions(const struct page *page);

#endif
