"""Every #include of src/ against layers.txt: the order of the folders, internal.h at home, each
library and POSIX where they belong."""
import fnmatch
import os

import source
import tree

STANDARD = set("assert complex ctype errno fenv float inttypes iso646 limits locale math setjmp "
               "stdalign stdarg stdatomic stdbool stddef stdint stdio stdlib stdnoreturn string "
               "tgmath time uchar wchar wctype".split())


def any_of(name, patterns):
    return any(fnmatch.fnmatch(name, pattern) for pattern in patterns)


def own(table, folder, name, root):
    """What is wrong with #include "name" in a file of `folder`; None where nothing is."""
    other = name.split("/")[0]
    if other == "proveout":
        there = os.path.exists(os.path.join(root, "include", name))
        return None if there else "there is no such header"
    if "/" not in name:
        return f'name the folder, as in "{folder}/{name}"'
    if other not in table.order:
        return f"{other} is no folder of layers.txt"
    if os.path.basename(name).startswith("internal") and other != folder:
        return f"{name} is private to {other}"
    if other not in table.knows[folder]:
        below = table.order.index(other) > table.order.index(folder)
        return f"{folder} may not know {other}" + (", which stands below it" if below else "")
    return None


def foreign(table, folder, name, root):
    if name.startswith("proveout/"):
        return own(table, folder, name, root)
    for library, patterns in table.libraries.items():
        if any_of(name, patterns):
            sole = table.sole.get(library)
            return None if sole == folder else f"only {sole} may use {library}"
    if any_of(name, table.posix):
        users = table.posix_users
        return None if folder in users else f"POSIX is for {' and '.join(users)} alone"
    if name.removesuffix(".h") in STANDARD:
        return None
    return f"<{name}> is no header of C17 and of no library in layers.txt"


def check(root, table):
    complaints = []
    paths = tree.sources(root)
    for path in paths:
        parts = path.split(os.sep)
        if len(parts) < 3 or parts[1] not in table.order:
            complaints.append(f"{path}: lies in no folder of layers.txt")
            continue
        for line, name, quoted in source.Source(path, tree.read(root, path)).includes:
            wrong = (own(table, parts[1], name, root) if quoted
                     else foreign(table, parts[1], name, root))
            if wrong:
                complaints.append(f"{path}:{line}: {name}: {wrong}")
    return complaints, len(paths)


if __name__ == "__main__":
    found, count = check(tree.ROOT, tree.table())
    tree.finish(found, f"{count} files")
