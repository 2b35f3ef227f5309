"""Runs whole-program cases: a file each in cases/, with what to run and all that must come out.

    run.py PROGRAM CASE ...            compares; fails with the differences
    run.py --counts PROGRAM            compares how many rules held with counts.txt, in all cases
    run.py --accept PROGRAM [CASE ...] rewrites what must come out (all cases where none is named)
    run.py --list                      prints the names of all cases
    run.py --same CASE ...             fails unless these are all cases

A case is a file NAME.case of sections.  A section's head begins at the edge; its text follows,
indented by four blanks, up to the next head.  Given are

    title: ...                         one line: what the case shows
    run: ARGUMENT ...                  quoted as for a shell
    env: NAME=VALUE ...                on top of the fixed environment
    file NAME:                         a file of this text; the file - is standard input
    file NAME from MACHINE:            MACHINE of machines/, or a path from the top of the sources,
                                       with changes
    link NAME: TARGET                  a symbolic link
    # ...                              a remark

and expected, at the end, are

    status: 0                          the exit status
    output:                            all of standard output (left out where it is empty)
    errors:                            all of standard error (likewise)
    made NAME:                         all of a file that was not there before
    changed NAME:                      the changes of one that was
    gone NAME:                         one that is no longer there

Changes are groups of lines with an empty line between them: lines that are there begin with a
blank, lines taken out with -, lines put in with +.  What a group says is there must be found once;
a group of + only goes to the end.  `file NAME from MACHINE as ENCODING:` is a file in an encoding
of Python's, or with the line ends of `dos`.

Files may hold any bytes, and every byte counts.  Those that do not show, and what is no UTF-8, are
written <1b>; <> is nothing, so that a line may end in blanks or the last be empty, and <end> says
that no newline follows.  A < that would make one of these is written <3c>.

How many rules held, do not apply and could not be checked, and how many more fields these want than
are named, changes with every rule that is added.  So these numbers stand as <held>, <inapplicable>,
<unchecked>, <more> in all cases, and counts.txt says for all of them what they are.  The fingerprint
of the rules, which changes with any word of theirs, stands as <fingerprint>;
tests/package/version.py reckons it.
"""
import difflib
import os
import re
import shlex
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
CASES = os.path.join(HERE, "cases")
COUNTS = os.path.join(HERE, "counts.txt")
KEPT = ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS")
INDENT = "    "
GIVEN = re.compile(r"(?P<word>title|run|env):(?: (?P<value>.*))?$|"
                   r"(?P<file>file) (?P<name>\S+)(?: from (?P<base>\S+))?(?: as (?P<code>\S+))?:$|"
                   r"(?P<link>link) (?P<place>\S+): (?P<target>\S+)$")
EXPECTED = re.compile(r"(?:status: \d+|output:|errors:|(?:made|changed|gone) \S+:)$")
MARK = re.compile(r"<(?=(?:[0-9a-f]{2}|end|held|inapplicable|unchecked|more|fingerprint|)>)")
FINGERPRINT = re.compile(r"(?<=^rules )[0-9a-f]{16}$", re.M)
COUNTED = [re.compile(form.replace(" ", r"\s+") % r"(?P<number>\d+)") for form in (
    r"\b%s(?P<held>) rules? held\b", r"\b%s(?P<inapplicable>) do(?:es)? not apply\b",
    r"\b%s(?P<unchecked>) not checked\b", r'"held": %s(?P<held>)',
    r'"unchecked": %s(?P<unchecked>)', r'"inapplicable": %s(?P<inapplicable>)',
    r"\bfor want of [^;]*?\band %s(?P<more>) more\b")]


def names():
    return sorted(name[:-5] for name in os.listdir(CASES) if name.endswith(".case"))


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


def shown(data):
    """Bytes as the text that stands for them in a case, without its indentation."""
    text = MARK.sub("<3c>", data.decode("utf-8", "surrogateescape"))
    text = "".join(c if c == "\n" or c.isprintable() else "".join(
        f"<{byte:02x}>" for byte in c.encode("utf-8", "surrogateescape")) for c in text)
    text = re.sub(r" $", " <>", text, flags=re.MULTILINE)
    if text and not text.endswith("\n"):
        return text + "<end>\n"
    return re.sub(r"(^|\n)\n\Z", r"\1<>\n", text)


def meant(text):
    """The bytes that a text of a case stands for."""
    data = re.sub(rb"<([0-9a-f]{2}|)>", lambda mark: bytes.fromhex(mark[1].decode()),
                  text.encode("utf-8"))
    return data[:-6] if data.endswith(b"<end>\n") else data


def lines_of(data):
    return re.findall(rb"[^\n]*\n|[^\n]+\Z", data)


def places(lines, part):
    return [i for i in range(len(lines) - len(part) + 1) if lines[i:i + len(part)] == part]


def changed(base, changes, where):
    """`base` with the changes made in it."""
    lines, out, put = lines_of(base), set(), {}
    for group in re.split(r"\n\n+", changes.strip("\n")) if changes else []:
        steps = [(line[0], meant(line[1:] + "\n")) for line in group.split("\n")]
        there = [line for sign, line in steps if sign != "+"]
        found = places(lines, there) if there else [len(lines)]
        if len(found) != 1 or any(sign not in " +-" for sign, _ in steps):
            sys.exit(f"{where}: not found once, or no changes:\n{group}")
        at = found[0]
        for sign, line in steps:
            if sign == "+":
                put.setdefault(at, []).append(line)
                continue
            if sign == "-":
                out.add(at)
            at += 1
    return b"".join(b"".join(put.get(i, [])) + (line if i not in out else b"")
                    for i, line in enumerate([*lines, b""]))


def changes(base, data):
    """What makes `data` of `base`."""
    old, new, groups = lines_of(base), lines_of(data), []
    for kind, i, to, j, until in difflib.SequenceMatcher(None, old, new, False).get_opcodes():
        if kind == "equal":
            continue
        first, last = i, to
        while first < len(old) and (first == last or len(places(old, old[first:last])) > 1):
            first, last = (first - 1, last) if first > 0 else (first, last + 1)
        groups.append("".join(sign + shown(line) for sign, part in (
            (" ", old[first:i]), ("-", old[i:to]), ("+", new[j:until]), (" ", old[to:last]))
            for line in part))
    return "\n".join(groups)


class Case:
    """`kept` is all up to what is expected, as it stands; `expected` the text of each section."""

    def __init__(self, name):
        self.path = os.path.join(CASES, name + ".case")
        self.kept, self.expected = "", {}
        self.title, self.arguments, self.env, self.files, self.links = None, None, {}, {}, {}
        sections = []
        for number, line in enumerate(read(self.path).decode().split("\n")[:-1], 1):
            if line == "" or line.startswith(INDENT):
                if sections:
                    sections[-1][2].append(line[len(INDENT):])
            elif not line.startswith("#") or self.expected:
                sections.append((f"{self.path}:{number}", line, []))
            if sections and EXPECTED.match(sections[-1][1]):
                self.expected[sections[-1][1]] = ""
            elif self.expected:
                sys.exit(f"{self.path}:{number}: what is expected comes last")
            else:
                self.kept += line + "\n"
        for where, head, lines in sections:
            text = "\n".join(lines).rstrip("\n") + "\n" if any(lines) else ""
            if head in self.expected:
                self.expected[head] = text
            else:
                self.take(where, GIVEN.match(head) or sys.exit(f"{where}: no such section"), text)
        if not self.title or self.arguments is None or not self.expected:
            sys.exit(f"{self.path}: title, run and status are needed")

    def take(self, where, head, text):
        if head["word"] == "title":
            self.title = head["value"]
        elif head["word"] == "run":
            self.arguments = [meant(word) for word in shlex.split(head["value"] or "")]
        elif head["word"] == "env":
            self.env = dict(pair.split("=", 1) for pair in shlex.split(head["value"]))
        elif head["link"]:
            self.links[head["place"]] = head["target"]
        else:
            base = head["base"]
            data = changed(machine(base), text, where) if base else meant(text)
            if head["code"] == "dos":
                data = data.replace(b"\n", b"\r\n")
            elif head["code"]:
                data = data.decode().encode(head["code"])
            self.files[head["name"]] = data

    def write(self, expected):
        text = self.kept.rstrip("\n") + "\n\n"
        for head, lines in expected.items():
            text += head + "\n" + re.sub(r"^(?=.)", INDENT, lines, flags=re.MULTILINE)
        if read(self.path) != text.encode():
            print(self.path)
            with open(self.path, "wb") as file:
                file.write(text.encode())


def machine(name):
    if "/" in name:
        return read(HERE, "..", "..", name)
    return read(HERE, "machines", name + ".yaml")


def environment(case):
    fixed = {"LC_ALL": "C.UTF-8", "TERM": "dumb", "HOME": "/nonexistent", "PATH": "/nonexistent",
             "TZ": "UTC"}
    fixed.update({name: os.environ[name] for name in KEPT if name in os.environ})
    return {**fixed, **case.env}


def set_up(case, folder):
    for name, data in case.files.items():
        if name != "-":
            os.makedirs(os.path.dirname(os.path.join(folder, name)), exist_ok=True)
            with open(os.path.join(folder, name), "wb") as file:
                file.write(data)
    for name, target in case.links.items():
        os.symlink(target, os.path.join(folder, name))


def files(folder):
    found = {}
    for place, _, within in os.walk(folder):
        for name in within:
            path = os.path.join(place, name)
            if os.path.isfile(path) and not os.path.islink(path):
                found[os.path.relpath(path, folder)] = read(path)
    return found


def run(program, case):
    """What comes out: the text of each section."""
    with tempfile.TemporaryDirectory() as top:
        set_up(case, top)
        before = files(top)
        done = subprocess.run([program, *case.arguments], cwd=top, env=environment(case),
                              input=case.files.get("-", b""), capture_output=True, timeout=60,
                              check=False)
        after = files(top)
    given = {f"status: {done.returncode}": "", "output:": shown(done.stdout),
             "errors:": shown(done.stderr)}
    given = {head: text for head, text in given.items() if text or head.startswith("status")}
    for name in sorted(before.keys() | after.keys()):
        if name not in after:
            given[f"gone {name}:"] = ""
        elif name not in before:
            given[f"made {name}:"] = shown(after[name])
        elif before[name] != after[name]:
            given[f"changed {name}:"] = changes(before[name], after[name])
    return given


def uncounted(given):
    """What is given without the numbers of rules, and these numbers in their order."""
    numbers, texts = [], {}
    for head, text in given.items():
        text = FINGERPRINT.sub("<fingerprint>", text)
        found = sorted((m for form in COUNTED for m in form.finditer(text)),
                       key=lambda m: m.start("number"))
        for match in found:
            numbers.append(f"{match['number']} {kind(match)}")
        for match in reversed(found):
            text = (text[:match.start("number")] + f"<{kind(match)}>" + text[match.end("number"):])
        texts[head] = text
    return texts, ", ".join(numbers)


def kind(match):
    return next(name for name, text in match.groupdict().items() if text == "")


def difference(name, want, give):
    return "".join(difflib.unified_diff(want.splitlines(keepends=True),
                                        give.splitlines(keepends=True),
                                        "wanted " + name, "given " + name))


def whole(expected):
    return "".join(f"{head}\n{text}" for head, text in expected.items())


def compare(program, name):
    case = Case(name)
    give = uncounted(run(program, case))[0]
    sys.stdout.write(difference(name, whole(case.expected), whole(give)))
    return case.expected != give


def counts():
    return dict(line.split(": ", 1) for line in read(COUNTS).decode().splitlines())


def compare_counts(program):
    want, give = counts(), {}
    for name in names():
        numbers = uncounted(run(program, Case(name)))[1]
        if numbers:
            give[name] = numbers
    sys.stdout.write(difference("counts", *("".join(f"{name}: {numbers}\n" for name, numbers in
                                                    sorted(rows.items())) for rows in (want, give))))
    return want != give


def accept(program, chosen):
    rows = {name: numbers for name, numbers in counts().items() if name in names()}
    for name in chosen:
        case = Case(name)
        given, numbers = uncounted(run(program, case))
        case.write(given)
        rows[name] = numbers
    with open(COUNTS, "wb") as file:
        file.write("".join(f"{name}: {numbers}\n" for name, numbers in sorted(rows.items())
                           if numbers).encode())


def main(arguments):
    if arguments[0] == "--list":
        print("\n".join(names()))
        return False
    if arguments[0] == "--same":
        apart = sorted(set(names()) ^ set(arguments[1:]))
        if apart:
            print("set up the build again, so that it knows of these cases:", *apart)
        return bool(apart)
    if arguments[0] == "--accept":
        accept(os.path.abspath(arguments[1]), arguments[2:] or names())
        return False
    if arguments[0] == "--counts":
        return compare_counts(os.path.abspath(arguments[1]))
    program = os.path.abspath(arguments[0])
    return any([compare(program, case) for case in arguments[1:]])


if __name__ == "__main__":
    sys.exit(1 if main(sys.argv[1:]) else 0)
