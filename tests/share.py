"""The share of a long list that a test goes through, where the whole of it would take minutes.

SHARE=all goes through everything, as `.ci/run long` does; a number draws another share.
"""
import os
import zlib

DRAWN = os.environ.get("SHARE", "1")


def share(items, of):
    """About one of `of`, in their order, drawn by what each item is: never none of them."""
    items = list(items)
    if DRAWN == "all":
        return items
    drawn = [item for item in items if zlib.crc32(f"{DRAWN} {item}".encode()) % of == 0]
    return drawn or items[:1]
