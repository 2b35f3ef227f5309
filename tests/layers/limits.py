"""The hard limits on sizes.  Tables (*.inc) and generated files are free.  How long a file is
follows from its subject, and is not judged."""
import re

import source
import tree

LIMITS = {
    "function": 80,
    "parameters": 6,
    "nesting": 4,
    "columns": 100,
}


def too_wide(line):
    """Longer than allowed, the text of a message not counted: those are never broken."""
    if len(line.rstrip("\n")) <= LIMITS["columns"]:
        return False
    return len(re.sub(r'"(?:\\.|[^"\\])*"', '""', line)) > LIMITS["columns"] or '"' not in line


def check_file(path, text):
    complaints = []
    file = source.Source(path, text)
    for number, line in enumerate(file.lines, 1):
        if too_wide(line):
            complaints.append(f"{path}:{number}: {len(line)} columns, at most {LIMITS['columns']}")
        if "\t" in line or line != line.rstrip():
            complaints.append(f"{path}:{number}: a tab, or blanks at the end")
    for name, line, lines, parameters, nesting in file.functions():
        for what, size in (("lines", lines), ("parameters", parameters),
                           ("blocks within each other", nesting)):
            limit = LIMITS[{"lines": "function", "parameters": "parameters"}.get(what, "nesting")]
            if size > limit:
                complaints.append(f"{path}:{line}: {name}: {size} {what}, at most {limit}")
    return complaints


def check(root):
    paths = (tree.sources(root, "src", (".c", ".h")) + tree.sources(root, "include", (".h",)))
    return [c for path in paths for c in check_file(path, tree.read(root, path))], len(paths)


if __name__ == "__main__":
    found, count = check(tree.ROOT)
    tree.finish(found, f"{count} files")
