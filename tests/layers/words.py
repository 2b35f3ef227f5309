"""No word of the workshop behind the program in what it says to people.

Looks at every string literal of src/ (what goes to BUG is for whoever mends the program, and
free) and at what the rulebooks say.  words-allowed.txt lists the literals in which such a word
belongs to the trade, to a format, or (`*`) to a file that says nothing to people.
"""
import os
import re

import source
import tree

BANNED = re.compile(r"\b(scalars?|mappings?|sequences?|tokens?|nodes?|null|regex(?:es)?|schemas?"
                    r"|pars(?:e|es|ed|er|ers|ing))\b", re.I)
SHOUT = re.compile(r"[a-z]!(?:\s|$)", re.I)
SPOKEN = ("title", "says", "why", "put_right")


def wrong_with(text):
    match = BANNED.search(text)
    if match:
        return f"`{match.group()}` is no word for people"
    return "an exclamation mark" if SHOUT.search(text) else None


def allowed(text):
    """(file pattern, literal) pairs of words-allowed.txt."""
    pairs = set()
    for line in text.splitlines():
        if line.strip() and not line.startswith("#"):
            path, _, literal = line.partition(": ")
            pairs.add((path, literal))
    return pairs


def in_bug(file, offset):
    """Is the literal at `offset` an argument of BUG, an assertion or a preprocessor line?"""
    before = file.text[:offset]
    statement = before[max(before.rfind(c) for c in ";{}") + 1:]
    line = before[before.rfind("\n") + 1:]
    return bool(re.search(r"\b(BUG|BUG_UNLESS|_Static_assert|__attribute__)\b", statement)
                or line.lstrip().startswith("#error"))


def check_source(path, text, pairs):
    file = source.Source(path, text)
    used, complaints = set(), []
    for line, literal, offset in file.literals:
        wrong = wrong_with(literal)
        if not wrong or in_bug(file, offset):
            continue
        permitted = {(path, literal), (path, "*")} & pairs
        if permitted:
            used |= permitted
        else:
            complaints.append(f'{path}:{line}: "{literal}": {wrong}')
    return complaints, used


def spoken(value, under=None):
    """Every text below a key that is shown to people."""
    if isinstance(value, dict):
        for key, below in value.items():
            yield from spoken(below, key if under not in SPOKEN else under)
    elif isinstance(value, list):
        for below in value:
            yield from spoken(below, under)
    elif isinstance(value, str) and under in SPOKEN:
        yield under, value


def check_rulebook(path, text):
    import yaml
    complaints = []
    for key, said in spoken(yaml.safe_load(text)):
        wrong = wrong_with(said)
        if wrong:
            complaints.append(f"{path}: {key}: {said.strip()[:60]}: {wrong}")
    return complaints


def check(root, pairs):
    complaints, used = [], set()
    paths = tree.sources(root)
    for path in paths:
        more, seen = check_source(path, tree.read(root, path), pairs)
        complaints += more
        used |= seen
    complaints += [f"words-allowed.txt: {path}: {literal}: no longer there"
                   for path, literal in sorted(pairs - used)]
    rulebooks = tree.sources(root, "rules", (".yaml",))
    for path in rulebooks:
        complaints += check_rulebook(path, tree.read(root, path))
    return complaints, len(paths) + len(rulebooks)


if __name__ == "__main__":
    found, count = check(
        tree.ROOT, allowed(tree.read(tree.HERE, "words-allowed.txt")))
    tree.finish(found, f"{count} files")
