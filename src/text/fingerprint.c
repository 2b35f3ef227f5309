#include "text/fingerprint.h"

#include "base/buffer.h"
#include "base/hash.h"

#include <inttypes.h>

const char *fingerprint(struct arena *arena, const char *rule, const char *subject,
                        const char *field, size_t again)
{
    const char *text = arena_format(arena, "%s\n%s\n%s\n", rule ? rule : "",
                                    subject ? subject : "", field ? field : "");
    if (again)
        text = arena_format(arena, "%s%zu", text, again);
    return arena_format(arena, "%016" PRIx64, hash_bytes(view_of(text)));
}
