"""What the compiled libraries hold and call: no writable data below cli, and no call that decides,
prints or looks outside from a folder that layers.txt does not grant it; and no files that call each
other in circles.

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


def calls_within(library):
    """Which sources of a library call which others of it."""
    owner, wants = {}, {}
    for member, flags, section, name in rows(library):
        if section == "*UND*":
            wants.setdefault(member, set()).add(name)
        elif "g" in flags:
            owner[name] = member
    return {member: {owner[name] for name in names if name in owner} - {member}
            for member, names in wants.items()}


def circles(calls):
    """Each circle as its members, in order of their names."""
    reaches = {}
    for start in calls:
        seen, ahead = set(), [start]
        while ahead:
            for other in calls.get(ahead.pop(), ()):
                if other not in seen:
                    seen.add(other)
                    ahead.append(other)
        reaches[start] = seen
    found = {tuple(sorted(other for other in seen if start in reaches.get(other, ())))
             for start, seen in reaches.items() if start in seen}
    return sorted(found)


def folder_of(library):
    folder = os.path.basename(library).removeprefix("lib").removesuffix(".a")
    return PART_OF.get(folder, folder)


def told(folder, circle):
    members = [source_of(folder, member) for member in circle]
    return f"{', '.join(members[:-1])} and {members[-1]} call each other in a circle"


def check(library, table):
    folder = folder_of(library)
    if folder not in table.order:
        return [f"{library}: {folder} is no folder of layers.txt"]
    complaints = [told(folder, circle) for circle in circles(calls_within(library))]
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
