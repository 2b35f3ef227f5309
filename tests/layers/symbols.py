"""What the compiled libraries hold and call: no writable data below cli, and no call that decides,
prints or looks outside from a folder that layers.txt does not grant it.

    symbols.py LIBRARY ...     static libraries, lib<folder>.a
"""
import os
import re
import subprocess
import sys

import tree

# Libraries that hold a part of a folder.
PART_OF = {"loading": "rules"}
WRITABLE = re.compile(r"^\.(data|bss|tdata|tbss)(?!\.rel\.ro)|^\*COM\*")
ROW = re.compile(r"^[0-9a-f]+ (.{7}) (\S+)\t[0-9a-f]+ +(?:\.hidden )?(\S+)$")


def rows(library):
    """(object, flags, section, name) of every symbol of a library."""
    listing = subprocess.run(["objdump", "-t", library], capture_output=True, text=True,
                             check=True).stdout
    member = None
    for line in listing.splitlines():
        match = re.match(r"^(\S+):\s+file format", line)
        if match:
            member = os.path.basename(match.group(1))
        match = ROW.match(line)
        if match:
            yield member, match.group(1), match.group(2), plain(match.group(3))


def plain(name):
    """A function's own name, where the compiler calls the variant that checks sizes."""
    return re.sub(r"^__(\w+)_chk$", r"\1", name)


def source_of(folder, member):
    """base_bug.c.o, or base_bug.c.p/...: the source as layers.txt names it."""
    return folder + "/" + re.sub(r"\.o$", "", member).removeprefix(folder + "_")


def check(library, table):
    folder = os.path.basename(library).removeprefix("lib").removesuffix(".a")
    folder = PART_OF.get(folder, folder)
    if folder not in table.order:
        return [f"{library}: {folder} is no folder of layers.txt"]
    complaints = []
    for member, flags, section, name in rows(library):
        path = source_of(folder, member)
        if WRITABLE.match(section) and "d" not in flags and folder != "cli":
            complaints.append(f"{path}: {name}: data that can be written to ({section})")
        if section != "*UND*":
            continue
        for users, files, names in table.calls:
            if name in names and folder not in users and path not in files:
                complaints.append(f"{path}: {name}: only {' and '.join(users)} may call it")
    return complaints


if __name__ == "__main__":
    known = tree.table()
    tree.finish([c for library in sys.argv[1:] for c in check(library, known)],
                f"{len(sys.argv) - 1} libraries")
