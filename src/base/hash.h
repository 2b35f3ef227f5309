/* A hash of bytes (FNV-1a), for tables that are built and thrown away in one run.
 * Not against an adversary: tables that hold names from a file are bounded or
 * sorted instead. */
#ifndef PROVEOUT_BASE_HASH_H
#define PROVEOUT_BASE_HASH_H

#include "base/view.h"

#include <stdint.h>

static inline uint64_t hash_bytes(struct view bytes)
{
    uint64_t hash = 14695981039346656037u;
    for (size_t i = 0; i < bytes.size; i++)
        hash = (hash ^ (unsigned char)bytes.data[i]) * 1099511628211u;
    return hash;
}

#endif
