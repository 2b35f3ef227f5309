"""The share of a long list that a test goes through, where the whole of it would take minutes.

SHARE=all goes through everything, as `.ci/run long` does; a number draws another share, and 1/4 a
quarter of what 1 draws: for programs that are slow, and are tested whole by a fast one as well.
"""
import os
import zlib

DRAWN, _, PART = os.environ.get("SHARE", "1").partition("/")
FEWER = int(PART or 1)


def number_of(item):
    return zlib.crc32(f"{DRAWN} {item}".encode())


def is_drawn(item, of):
    """One of `of`, by what the item is."""
    return DRAWN == "all" or number_of(item) % (of * FEWER) == 0


def share(items, of, least=1):
    """About one of `of`, in their order, drawn by what each item is: never fewer than `least`."""
    items = list(items)
    drawn = [item for item in items if is_drawn(item, of)]
    if len(drawn) < least:
        first = sorted(items, key=number_of)[:least]
        drawn = [item for item in items if item in first]
    return drawn
