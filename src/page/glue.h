/* What a page calls, by WebAssembly; see glue.c for the form of questions and answers. */
#ifndef PROVEOUT_PAGE_GLUE_H
#define PROVEOUT_PAGE_GLUE_H

#include <stddef.h>
#include <stdint.h>

/* Room for a question, which page_answer frees; NULL: there is no memory. */
void *page_room(size_t size);

/* Answers question `number`, of `size` bytes from page_room.  The answer lives until the next
 * call, and is page_answer_size() long; NULL: there is no memory for one. */
const char *page_answer(uint32_t number, void *bytes, size_t size);
size_t page_answer_size(void);

#endif
