"""What rules/README.md shows of the rule language is so, and it shows all of it.

    rules_page.py PROGRAM

Blocks of `yaml rulebook` are files, named in their first line, and must prove; those of `yaml
rulebook mistaken` must not load.  `console` blocks are run among them.  In tables headed `formula`
and `comes to` each formula is asked of the machine of the examples, `c` being its first cutter.
Every word and sign of the language, every key of a rulebook and every definition that is shared
must stand in one of these.
"""
import itertools
import json
import os
import re
import subprocess
import sys
import tempfile

import yaml

from examples import ROOT, blocks, examples, places, read

PAGE = "rules/README.md"
RULE = {"level": "note", "hurts": "work", "each": "c in cutters", "why": "w", "put_right": "p",
        "source": "s"}


def run(program, *arguments):
    return subprocess.run([program, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          text=True, check=False)


def rows(text):
    """(formula, what it comes to) of each row of the tables of formulas."""
    for head, body in re.findall(r"^(\|.*\|)\n\|[-|]+\|\n((?:\|.*\|\n)+)", text, re.M):
        if head.startswith("| formula | comes to |"):
            for line in body.splitlines():
                cells = [cell.strip() for cell in line.strip("|").split("|")]
                yield cells[0].strip("`"), cells[1]


def is_condition(wanted):
    return re.match(r"(holds|fails)\b|not checked$", wanted) is not None


def margin(formula, wanted):
    """Some margin of the kind that the formula has, which an example must give."""
    unit = re.search(r"[\d.]+ (\S+) (?:to spare|short)", wanted) or \
        re.search(r"\d (mm/m\b|mm\b|s\b|%)", formula)
    return "1 mm" if not unit else "1 s" if unit[1].startswith("day") else f"1 {unit[1]}"


def book(asked):
    """A rulebook of one line a formula, and where the first stands.  A value is shown in a message
    of what always fails."""
    lines = ["rulebook: 1", "title: formulas", "rules:"]
    for index, (formula, wanted) in enumerate(asked):
        refused = wanted.startswith("refused: ")
        condition = is_condition(wanted) or refused and re.search(r" (is|>=) ", formula)
        rule = {**RULE, "require": formula if condition else "not known c.stickout",
                "says": "x" if condition else f"{{{formula}}}",
                "examples": {"holds": [{}, {}], "fails": [{"margin": margin(formula, wanted)}, {}]}}
        lines.append(f"  r{index}: {json.dumps(rule, ensure_ascii=False)}")
    return "\n".join(lines) + "\n"


def said(finding):
    """An evaluation in the words of the page."""
    outcome, margin = finding["outcome"], finding["margin"]
    if outcome == "unchecked":
        return "not checked"
    word = "holds" if outcome == "held" else "fails"
    if margin is None:
        return word
    if margin["si"] == 0:
        return f"{word}, nothing to spare"
    return f"{word}, {margin['text']} to spare" if margin["si"] > 0 else \
        f"{word}, {margin['text'][1:]} short"


def write(folder, name, text):
    path = os.path.join(folder, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def values(program, folder, asked):
    path = write(folder, "formulas.yaml", book(asked))
    done = run(program, "check", "--rulebook", path, "--show", "all", "--format", "json",
               os.path.join(ROOT, "rules", "base-machine.yaml"))
    if done.returncode == 2:
        yield f"{PAGE}: formulas do not load:\n{done.stderr}"
        return
    first = {}
    for finding in json.loads(done.stdout)["files"][0]["evaluations"]:
        first.setdefault(finding["rule"], finding)
    for index, (formula, wanted) in enumerate(asked):
        finding = first.get(f"r{index}")
        given = "nothing" if finding is None else \
            said(finding) if is_condition(wanted) else \
            finding["message"] if finding["outcome"] == "failed" else "not checked"
        if given != wanted:
            yield f"{PAGE}: {formula} comes to {given}, not {wanted}"


def refusals(program, folder, asked):
    path = write(folder, "formulas.yaml", book(asked))
    done = run(program, "rules", "--prove", path)
    told = {}
    for line, message in re.findall(r":(\d+):\d+: error: (.*)", done.stderr):
        told.setdefault(int(line) - 4, []).append(message)
    for index, (formula, wanted) in enumerate(asked):
        if told.get(index) != [wanted.removeprefix("refused: ")]:
            yield f"{PAGE}: {formula} is told {told.get(index)}"


def books(program, folder, text):
    for kind, proves in (("yaml rulebook", True), ("yaml rulebook mistaken", False)):
        for block in blocks(text, kind):
            name = re.match(r"# ([\w-]+\.yaml)\n", block)
            if not name:
                yield f"{PAGE}: a rulebook does not begin with its name:\n{block}"
                continue
            done = run(program, "rules", "--prove", write(folder, name[1], block))
            if (done.returncode == 0) != proves or (not proves and done.returncode != 2):
                yield f"{PAGE}: {name[1]}: status {done.returncode}\n{done.stdout}{done.stderr}"


def between(path, start, end):
    """What `path` holds between two marks, which must be there."""
    return re.search(re.escape(start) + r"(.*?)" + re.escape(end), read(path), re.S)[1]


def literals(path, start, end=";"):
    found = re.findall(r'VIEW_LITERAL\("([^"]+)"\)', between(path, start, end))
    assert found, path
    return found


def words():
    return literals("src/formula/lex.c", "static const struct view words[] = {")


def signs():
    table = between("src/formula/lex.c", "} signs[] = {", "};")
    return [text.replace(r"\xc2\xb1", "±") for text in re.findall(r'\{"([^"]+)"', table)]


def keys():
    found = re.findall(r'^BOOK_KEY\(\w+, \w+, "(\w+)"', read("src/rules/form.inc"), re.M)
    assert len(found) > 20
    return [*found, *re.findall(r'"(\w+)"', between("src/rules/prove.c", "wish_keys[WISH_COUNT] =", ";"))]


def derived():
    """Names of what is worked out, as a rule writes them behind the name of a record, or whole."""
    source = read("src/rules/derived.c")
    steps = re.findall(r'STEP\(\w+,\s*"(\w+)",\s*TYPE_', source)
    found = re.findall(r'\{GROUP_\w+,\s*"([\w.]+)",\s*TYPE_', source)
    rooms = re.findall(r'ROOM\(\w+, "(\w+)", "(\w+)"', source)
    assert steps and found and rooms
    for key, word in rooms:
        found += [key, f"{word}_body", f"{word}_thing"]
    return [*found, *(f"procedure.{name}" for name in steps)]


def shown(text, asked):
    """Everything on the page that is run."""
    return "\n".join([*blocks(text, "yaml rulebook"), *(formula for formula, _ in asked)])


def missing(text, asked):
    ran = shown(text, asked)
    for word in words():
        if not re.search(rf"(?<![\w.]){word}(?![\w.])", ran):
            yield f"{PAGE}: no example of `{word}`"
    for sign in signs():
        if sign not in ran:
            yield f"{PAGE}: no example of `{sign}`"
    for key in keys():
        if not re.search(rf"\b{key}:", ran) or f"`{key}" not in text:
            yield f"{PAGE}: `{key}` is not shown and told"
    for name in derived():
        if f"`{name}`" not in text:
            yield f"{PAGE}: `{name}` is not told"
    for head in yaml.safe_load(read("rules/definitions.yaml"))["define"]:
        # One of a thing in a list can only be shown for all of the list.
        if not any(formula.removeprefix("every ").startswith(head.split("(")[0])
                   for formula, _ in asked):
            yield f"{PAGE}: `{head}` is not told"


def headings(text):
    """Links within the page lead to a heading."""
    there = {re.sub(r"[^\w -]", "", line).lower().replace(" ", "-")
             for line in re.findall(r"^#+ (.*)$", text, re.M)}
    for link in re.findall(r"\]\(#([^)]+)\)", text):
        if link not in there:
            yield f"{PAGE}: there is no heading for #{link}"


def main(program):
    program = os.path.abspath(program)
    text = read(PAGE)
    asked = list(rows(text))
    refused = [row for row in asked if row[1].startswith("refused: ")]
    come_to = [row for row in asked if row not in refused]
    with tempfile.TemporaryDirectory() as folder:
        for name in ("rules", "sample-configs"):
            os.symlink(os.path.join(ROOT, name), os.path.join(folder, name))
        wrong = list(itertools.chain(
            books(program, folder, text), examples(program, PAGE, text, folder),
            values(program, folder, come_to), refusals(program, folder, refused),
            missing(text, asked), headings(text), places(PAGE, text)))
    for complaint in wrong:
        print(complaint)
    print(f"{len(come_to)} formulas and {len(refused)} refused ones, {len(wrong)} complaints")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
