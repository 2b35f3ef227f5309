"""What the layer tests have in common: the table, the files, and how a complaint is printed."""
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))


class Table:
    """layers.txt, read."""

    def __init__(self, text):
        self.order, self.knows, self.sole = [], {}, {}
        self.libraries, self.posix, self.posix_users, self.calls = {}, [], [], []
        section = None
        for line in text.splitlines():
            line = line.strip()
            if not line or line.startswith("#"):
                continue
            if line.startswith("["):
                section = line.strip("[]").split(None, 1)
                if section[0] == "posix":
                    self.posix_users = section[1].split(",")
                elif section[0] == "calls":
                    users, _, files = section[1].partition(" except ")
                    self.calls.append((users.split(","), files.split(), []))
            elif section is None:
                self.row(*line.split())
            elif section[0] == "library":
                self.libraries.setdefault(section[1], []).extend(line.split())
            elif section[0] == "posix":
                self.posix.extend(line.split())
            else:
                self.calls[-1][2].extend(line.split())

    def row(self, folder, knows, libraries):
        direct = [] if knows == "-" else list(self.order) if knows == "*" else knows.split(",")
        known = {folder}
        for other in direct:
            if other not in self.knows:
                raise SystemExit(f"layers.txt: {folder} may know {other}, which is not above it")
            known |= self.knows[other]
        self.knows[folder] = known
        self.order.append(folder)
        for library in [] if libraries == "-" else libraries.split(","):
            self.sole[library] = folder


def table():
    with open(os.path.join(HERE, "layers.txt"), encoding="utf-8") as file:
        return Table(file.read())


def sources(root, folder="src", endings=(".c", ".h", ".inc")):
    """Paths below `folder`, relative to `root`, in order."""
    found = []
    for place, folders, names in os.walk(os.path.join(root, folder)):
        folders.sort()
        found += [os.path.relpath(os.path.join(place, name), root)
                  for name in sorted(names) if name.endswith(endings)]
    return found


def read(root, path):
    with open(os.path.join(root, path), encoding="utf-8") as file:
        return file.read()


def finish(complaints, looked_at):
    for complaint in complaints:
        print(complaint)
    print(f"{looked_at}: {len(complaints)} complaints")
    sys.exit(1 if complaints else 0)
