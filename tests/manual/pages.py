"""The pages of the manual have all that the program knows.

    pages.py PROGRAM RULES-README PAGE ...

Each command has a page with its help, each field stands on that of the machine file with what
`explain` tells of it, the files that are shown there can be read, and the page of rulebooks has every heading, formula and line of its source.
"""
import os
import re
import subprocess
import sys


def told(program, *arguments):
    return subprocess.run([program, *arguments], capture_output=True, text=True, check=True).stdout


def plain(roff):
    """The text of a page without its macros and escapes, blanks of any kind being one blank."""
    lines = [re.sub(r"^\.\S+ ?", "", line) if line.startswith(".") else line
             for line in roff.splitlines()]
    text = "\n".join(lines)
    for escape, sign in ((r"\-", "-"), (r"\(oq", "`"), (r"\(cq", "`"), (r"\(aq", "'"),
                         (r"\(dq", '"'), (r"\(ti", "~"), (r"\(ha", "^"), (r"\(ga", "`"),
                         (r"\&", ""), (r"\e", "\\")):
        text = text.replace(escape, sign)
    text = re.sub(r"\\\[u([0-9A-F]{4,6})\]", lambda code: chr(int(code[1], 16)), text)
    return one_blank(text)


def one_blank(text):
    return " ".join(text.split())


def missing_of_commands(program, pages):
    part = told(program, "--help").split("\nCommands:\n")[1].split("\n\n")[0]
    for command in re.findall(r"^  (\S+)", part, re.M):
        page = pages.get(f"proveout-{command}.1")
        if page is None:
            yield f"{command} has no page"
            continue
        usage, help_text = told(program, command, "--help").split("\n\nOptions:\n")[0] \
            .split("\n\n", 1)
        if one_blank(help_text) not in page:
            yield f"proveout-{command}.1 does not have its help"
        if one_blank("".join(usage.removeprefix("Usage: proveout ").split(" ", 3)[3:])) not in page:
            yield f"proveout-{command}.1 does not have its arguments"
        if f"proveout-{command} 1" not in pages["proveout.1"]:
            yield f"proveout.1 does not refer to proveout-{command}"


def missing_of_fields(program, page):
    paths = [line.split("\t")[0] for line in told(program, "names", "fields").splitlines()]
    if len(paths) < 100:
        yield f"there are {len(paths)} fields"
    for path in paths:
        head, rest = told(program, "explain", path).split("\n\n", 1)
        meaning = one_blank(head).split(": ", 1)[1]
        rows = re.split(r"^  (?=\S)", rest, flags=re.M)
        if f" {path} {meaning} " not in page:
            yield f"{path} is not on the page of the machine file"
        for row in filter(str.strip, rows):
            if one_blank(row) not in page:
                yield f"{path}: the page does not have: {one_blank(row)}"


def missing_of_rulebook(readme, page):
    block = False
    for line in readme.splitlines():
        if line.startswith("```"):
            block = not block
        elif block and one_blank(line) not in page:
            yield f"proveout-rulebook.5 does not have the line {line}"
        elif re.match(r"\| `", line) and not block:
            cell = re.match(r"\| `([^`]+)` \|", line)
            if cell and cell[1] not in page:
                yield f"proveout-rulebook.5 does not have {cell[1]}"
        elif re.match(r"##+ ", line) and not block and line.lstrip("# ") not in page:
            yield f"proveout-rulebook.5 does not have the heading {line}"
    if "](" in page or "**" in page:
        yield "proveout-rulebook.5 shows signs of its source"


def wrong_examples(program, roff):
    """What the page shows of a machine file, the reader takes; that the rest is missing is no fault."""
    blocks = re.findall(r"^\.Bd -literal.*\n((?:[^.].*\n)+)\.Ed", roff, re.M)
    if len(blocks) < 2:
        yield "proveout-machine.5 shows no files"
    for block in blocks:
        text = block if block.startswith("proveout:") else f"proveout: 1\n{block}"
        done = subprocess.run([program, "check", "-"], input=text, capture_output=True, text=True,
                              check=False)
        failed = set(re.findall(r": (?:error|warning): .* \[([a-z-]+)\]$", done.stdout, re.M))
        if done.returncode == 2 or failed - {"missing-key"}:
            yield f"proveout-machine.5 shows a file with mistakes: {failed}\n{block}"


def main(program, readme, paths):
    pages, machine = {}, ""
    for path in paths:
        with open(path, encoding="utf-8") as file:
            text = file.read()
        pages[os.path.basename(path)] = plain(text)
        machine = text if path.endswith("machine.5") else machine
    with open(readme, encoding="utf-8") as file:
        wrong = [*missing_of_commands(program, pages),
                 *missing_of_fields(program, pages["proveout-machine.5"]),
                 *wrong_examples(program, machine),
                 *missing_of_rulebook(file.read(), pages["proveout-rulebook.5"])]
    cautions = [name for name, page in pages.items()
                if name.split(".")[-1] in "57" and "CAVEATS" not in page]
    wrong += [f"{name} has no caution" for name in cautions]
    print(*wrong, sep="\n")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2], sys.argv[3:]))
