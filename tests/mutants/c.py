"""Single mistakes in the C sources: does a test notice every one?

    c.py BUILD FOLDER ... [--seed N] [--most N] [--minutes M] [--longest SECONDS]
                             [--first GROUPS] [--only FILE[:LINE] ...] [--verbose]
    c.py --self-test COMPILER

FOLDER is one of src/.  Each mutant is one file of it, spoilt in one place: that file is compiled,
put in its place or before the libraries of the tests and of the program, and these are linked anew
outside the build.  A mutant is killed by the first that fails, or does not end, of what CHECKS has
for the folder: the unit tests, suite by suite, the examples of the rules, the cases of the whole
program, and more; for a first look, what takes the processor longer than --longest, or the clock
four times that, is left out, and all behind the --first groups of a row.  The places are drawn with
the seed, and what survives is listed with the score.  Mutants that do not compile are not counted.

What says the same as before (a buffer longer than need be, a shortcut not taken) survives as well:
the list is to be read, and the score is no grade.
"""
import argparse
import collections
import fnmatch
import json
import os
import pathlib
import random
import re
import shlex
import subprocess
import sys
import tempfile
import time

HERE = pathlib.Path(__file__).resolve().parent
TOP = HERE.parents[1]
PROGRAM = "src/proveout"

EXAMPLES, CASES = "(examples of the rules)", "(cases of the whole program)"
# What is asked about a folder, by names in the build, what notices most in the least time first;
# within a group the cheapest goes first.
CHECKS = {
    "base": ["base", EXAMPLES, CASES],
    "text": ["text", EXAMPLES, CASES],
    "quantity": ["quantity", EXAMPLES, CASES, "schema values"],
    "finding": ["finding", EXAMPLES, CASES],
    "tree": ["tree", EXAMPLES, CASES],
    "machine": ["machine", EXAMPLES, CASES],
    "motion": [EXAMPLES, "motion", CASES],
    "formula": [EXAMPLES, "formula*", CASES],
    "rules": [EXAMPLES, CASES, "cli policy_ *", "cli agreements and waivers",
              "cli known findings_ *", "rules"],
    "propose": ["propose", CASES, "proposals", "wishes"],
    "mend": ["mend", CASES, "mending"],
    "draw": ["draw", CASES, "drawings_ *"],
    "report": ["report", CASES, "cli gates_ *"],
    "ask": ["ask", CASES, "ask at a terminal, *", "ask by the library"],
    "wall": ["wall", CASES, "sheets*", "blank forms_ *"],
    "library": ["library questions", CASES, "server_ *", "library as program", "schema*"],
    "server": ["server", "server_ *"],
    "platform": ["platform", CASES, "cli surroundings_ *", "cli saving, *", "cli room, *",
                 "cli since_ *", "ask at a terminal, *"],
    "cli": [CASES, "doorstep", "cli *", "ask at a terminal, *"],
    "manual": ["manual *"],
}

TOKEN = re.compile(r"""
    (?P<skip>/\*.*?\*/|//[^\n]*|\#(?:[^\n\\]|\\.)*|\s+)
  | (?P<text>"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*')
  | (?P<number>(?:0x[0-9a-fA-F]+|\d+\.?\d*(?:e[-+]?\d+)?)[uUlLfF]*)
  | (?P<word>[A-Za-z_]\w*)
  | (?P<sign>->|\+\+|--|<<=|>>=|<<|>>|[-+*/%&|^!=<>]=|&&|\|\||\.\.\.|.)""", re.X | re.S)
TURNED = {"<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "&&": "||",
          "||": "&&", "+=": "-=", "-=": "+=", "true": "false", "false": "true", "low": "high",
          "high": "low", "fmin": "fmax", "fmax": "fmin", "floor": "ceil", "ceil": "floor",
          "continue": "break"}
BETWEEN = {"+": "-", "-": "+", "*": "/", "/": "*"}
TYPE = re.compile(r"(static|const|struct|enum|union|char|bool|int|double|size_t|u?int\d+_t|long)\b")

Token = collections.namedtuple("Token", "kind text start end")
Mutant = collections.namedtuple("Mutant", "start end put what")


def tokens(text):
    return [Token(found.lastgroup, found[0], found.start(), found.end())
            for found in TOKEN.finditer(text) if found.lastgroup != "skip"]


def closing(row, at):
    """The parenthesis that closes the one at `at`."""
    depth = 0
    for i in range(at, len(row)):
        depth += {"(": 1, ")": -1}.get(row[i].text, 0)
        if depth == 0:
            return i
    return at


def statement(row, first):
    """The end of the call or assignment that starts at `first`; None where none does."""
    if row[first].kind != "word" and row[first].text != "*" or TYPE.match(row[first].text) or \
            row[first].text in ("return", "goto", "break", "continue", "case", "default", "else",
                                "if", "for", "while", "do", "switch"):
        return None
    if row[first].text != "*" and row[first + 1].text not in ("(", ".", "->", "[", "++", "--") and \
            not re.fullmatch(r"[-+*/|&]?=", row[first + 1].text):
        return None
    depth = 0
    for i in range(first, len(row)):
        depth += {"(": 1, ")": -1, "[": 1, "]": -1}.get(row[i].text, 0)
        if row[i].text == ";" and depth == 0:
            return i
        if row[i].text in "{}":
            return None
    return None


def mutants(text):
    """All single mistakes in a source file, in the order of their places."""
    row, depth, found = tokens(text), 0, []
    for i, one in enumerate(row[:-1]):
        depth += {"{": 1, "}": -1}.get(one.text, 0)
        if not depth or one.kind == "text":
            continue
        before, after = row[i - 1], row[i + 1]
        spaced = text[one.start - 1] == " " and text[one.end] in " \n"
        if one.text in TURNED and (one.kind == "word" or spaced):
            found.append(Mutant(one.start, one.end, TURNED[one.text],
                                f"{one.text} for {TURNED[one.text]}"))
        elif one.text in BETWEEN and spaced and (before.kind in ("word", "number") or
                                                 before.text in ")]"):
            found.append(Mutant(one.start, one.end, BETWEEN[one.text],
                                f"{one.text} for {BETWEEN[one.text]}"))
        elif one.kind == "number" and not (before.text == "[" and after.text in ("]", "+") and TYPE.match(
                text[text.rindex("\n", 0, one.start) + 1:].lstrip())):
            found.append(Mutant(one.start, one.end, f"({one.text} + 1)", f"{one.text} moved"))
        elif one.text == "!" and before.text != "!":
            found.append(Mutant(one.start, one.end, "", "! dropped"))
        elif one.text == "if":
            end = row[closing(row, i + 1)].start
            found.append(Mutant(after.end, end, "!(" + text[after.end:end] + ")",
                                "condition negated"))
        elif before.text in (";", "{", "}", ")", "else"):
            end = statement(row, i)
            if end is not None:
                found.append(Mutant(one.start, row[end].end, ";", "statement dropped"))
    return found


def spoilt(text, mutant):
    return text[:mutant.start] + mutant.put + text[mutant.end:]


def ends_well(command, folder, limit):
    """Whether a command succeeds within `limit` seconds of the processor (and ten times that by the
    clock, for the machine may be busy)."""
    try:
        return subprocess.run(["/bin/sh", "-c", f'ulimit -t {int(limit) + 1}; exec "$@"', "sh",
                               *map(str, command)], cwd=folder, stdin=subprocess.DEVNULL,
                              stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                              timeout=10 * limit + 10, check=False).returncode == 0
    except subprocess.TimeoutExpired:
        return False


def commands(build, target):
    """What the build runs to make a target, the last of which makes it itself, as words."""
    lines = subprocess.run(["ninja", "-C", build, "-t", "commands", target], check=True,
                           capture_output=True, text=True).stdout.splitlines()
    return [shlex.split(line) for line in lines if not line.startswith("ninja: ")]


class Linked:
    """A program of the build that is linked again with one object instead of its own, or before all
    libraries."""

    def __init__(self, build, target, work):
        words = next(words for words in reversed(commands(build, target))
                     if target in words and words[words.index(target) - 1] == "-o")
        words = words[1:] if words[0] == "ccache" else words
        self.build, self.target, self.object = build, target, str(work / "spoilt.o")
        self.path = work / target.replace("/", "-")
        words[words.index("-o") + 1] = str(self.path)
        self.words = [*words, "-Wl,-s"]

    def make(self, source):
        """The program with the source as it is now spoilt; as it was built, where it has nothing of
        it."""
        words = [self.object if word in source.objects else word for word in self.words]
        if words == self.words:
            if not any(f"{word}.p" == os.path.dirname(one) for word in words
                       for one in source.objects):
                return self.build / self.target
            at = next(i for i, word in enumerate(words) if word.endswith(".a"))
            words.insert(next((i for i in range(at, 0, -1) if words[i] == "-Wl,--start-group"),
                              at), self.object)
        subprocess.run(words, cwd=self.build, check=True)
        return self.path


class Judge:
    """What is asked about the mutants of one folder."""

    def __init__(self, build, folder, first, work):
        self.build, self.work, self.linked, self.fresh = build, work, {}, {}
        self.makes = folder == "manual"
        listed = json.loads(subprocess.run(["meson", "introspect", "--tests", build], check=True,
                                           capture_output=True, text=True).stdout)
        is_case = [test["cmd"][2:3] and test["cmd"][2].endswith("/cli/run.py") and
                   not test["cmd"][3].startswith("--") for test in listed]
        cases = [test["name"].removeprefix("cli ") for test, case in zip(listed, is_case) if case]
        others = [test for test, case in zip(listed, is_case) if not case]
        self.groups = []
        for name in CHECKS[folder][:first]:
            if name == EXAMPLES:
                group = [[PROGRAM, "rules", "--prove"]]
            elif name == CASES:
                group = [[sys.executable, "-B", TOP / "tests/cli/run.py", PROGRAM, *cases[i::16]]
                         for i in range(16)]
            else:
                group = [check for test in others if fnmatch.fnmatchcase(test["name"], name)
                         for check in self.suites([self.inside(word) for word in test["cmd"]])]
            if not group or not cases:
                sys.exit(f"{folder}: the build knows no {name}")
            self.groups.append(group)

    def inside(self, word):
        """The name of a file of the build as the build calls it, of any other from the root; any
        other word as it is."""
        path = pathlib.Path(os.path.normpath(self.build / word))
        if not path.exists() or self.build == path:
            return word
        return str(path.relative_to(self.build)) if self.build in path.parents else str(path)

    def suites(self, check):
        """A unit test as one check for each of its suites; any other check as it is."""
        if check[1:] != ["--jobs=1"]:
            return [check]
        listed = subprocess.run([self.build / check[0], "--list"], check=True, text=True,
                                capture_output=True).stdout
        return [[*check, "--fail-fast", f"--filter={suite}/*"]
                for suite in re.findall(r"^(\w+): \d+ tests?$", listed, re.M)]

    def made(self, word, source):
        """A file of the build, made anew."""
        with open(self.build / word, "rb") as file:
            if file.read(4) == b"\x7fELF":
                if word not in self.linked:
                    self.linked[word] = Linked(self.build, word, self.work)
                return self.linked[word].make(source)
        if not self.makes:
            return self.build / word
        words = commands(self.build, word)[-1]
        program = self.inside(words[0])
        if program not in self.fresh:
            self.fresh[program] = self.made(program, source)
        path = self.work / "made" / pathlib.Path(word).name
        path.parent.mkdir(exist_ok=True)
        path.unlink(missing_ok=True)
        words = [self.fresh[program], *(path if one == word else one for one in words[1:])]
        ends_well(words, self.build, 10)
        return path

    def command(self, check, source):
        """The check with its programs linked anew; each only once a mutant."""
        made = []
        for word in check:
            if isinstance(word, str) and not word.startswith("/") and \
                    (self.build / word).is_file():
                if word not in self.fresh:
                    self.fresh[word] = self.made(word, source)
                word = self.fresh[word]
            made.append(word)
        return made

    def measure(self, longest, source):
        """Runs all checks on the object now in the work folder, which is not spoilt, and leaves out
        those that take too long.  False: one fails."""
        self.fresh, self.checks = {}, []
        for group in self.groups:
            kept = []
            for check in group:
                begun = os.times()
                well = ends_well(self.command(check, source), self.work, min(longest, 600))
                ended = os.times()
                spent = (ended.children_user + ended.children_system -
                         begun.children_user - begun.children_system)
                if max(spent, (ended.elapsed - begun.elapsed) / 4) > longest:
                    print(f"left out, {spent:.0f} s long:", *check[:5], flush=True)
                elif not well:
                    print("fails:", *check)
                    return False
                else:
                    kept.append((spent, check))
            self.checks += [(check, 5 + 4 * spent) for spent, check in
                            sorted(kept, key=lambda one: one[0])]
        return True

    def killer(self, source):
        """The check that notices the object now in the work folder; None: all are content."""
        self.fresh = {}
        for check, limit in self.checks:
            if not ends_well(self.command(check, source), self.work, limit):
                return " ".join(str(word) for word in check[:5])
        return None


class Source:
    """A file of the build that can be compiled spoilt; `objects` are those made of it."""

    def __init__(self, build, entry, objects, work):
        self.objects = objects
        self.path = pathlib.Path(os.path.normpath(os.path.join(entry["directory"], entry["file"])))
        self.text = self.path.read_text(encoding="utf-8")
        self.mutants, self.build, self.spoilt = mutants(self.text), build, work / "spoilt.c"
        words = [word for word in shlex.split(entry["command"])
                 if word != "ccache" and word != "-g" and not word.startswith("-W")]
        for option in "-MQ", "-MF":
            del words[words.index(option):words.index(option) + 2]
        words.remove("-MD")
        words[words.index("-o") + 1] = str(work / "spoilt.o")
        words[words.index("-c") + 1] = str(self.spoilt)
        self.words = [*words, "-O0", "-w"]

    def compile(self, text):
        self.spoilt.write_text(text, encoding="utf-8")
        return subprocess.run(self.words, cwd=self.build, stderr=subprocess.DEVNULL,
                              check=False).returncode == 0

    def place(self, mutant):
        line = self.text.count("\n", 0, mutant.start) + 1
        return f"{self.path.relative_to(TOP)}:{line}"

    def shown(self, mutant):
        line = self.text[self.text.rindex("\n", 0, mutant.start) + 1:]
        return f"{self.place(mutant)}: {mutant.what}: {line[:line.index(chr(10))].strip()}"


def sources(build, folder, work):
    entries = json.loads((build / "compile_commands.json").read_text(encoding="utf-8"))
    inside = TOP / "src" / folder
    found, objects = {}, collections.defaultdict(list)
    for entry in entries:
        path = pathlib.Path(os.path.normpath(os.path.join(entry["directory"], entry["file"])))
        made = path.with_suffix(".py").exists()  # a table that a script writes
        if inside in path.parents and not path.name.endswith("_main.c") and not made:
            found.setdefault(path, entry)
            objects[path].append(entry["output"])
    return [Source(build, found[path], objects[path], work) for path in sorted(found)]


def chosen(all_sources, options):
    places = [(source, mutant) for source in all_sources for mutant in source.mutants]
    if options.only:
        places = [(source, mutant) for source, mutant in places
                  if any((source.place(mutant) + ":").endswith(only + ":") or
                         source.path.name == only for only in options.only)]
    random.Random(options.seed).shuffle(places)
    return places[:options.most] if options.most else places


def try_folder(build, folder, options, until):
    """Prints what survives, and the score of the folder."""
    with tempfile.TemporaryDirectory() as top:
        work = pathlib.Path(top)
        work.chmod(0o755)  # some checks run the program as nobody
        judge = Judge(build, folder, options.first, work)
        all_sources = sources(build, folder, work)
        first = all_sources[0]
        if not first.compile(first.text) or not judge.measure(options.longest, first):
            sys.exit(f"{folder}: the tests fail, or do not build, without any mistake")
        counts = collections.Counter()
        places = chosen(all_sources, options)
        for source, mutant in places:
            if time.monotonic() > until:
                break
            if not source.compile(spoilt(source.text, mutant)):
                counts["does not compile"] += 1
                continue
            killer = judge.killer(source)
            counts["killed" if killer else "survived"] += 1
            if options.verbose or not killer:
                print(source.shown(mutant), f"[{killer}]" if killer else "", flush=True)
    tried = counts["killed"] + counts["survived"]
    print(f"{folder}: {counts['killed']} of {tried} noticed, {counts['survived']} not; "
          f"{counts['does not compile']} do not compile; "
          f"{sum(len(source.mutants) for source in all_sources)} places, seed {options.seed}",
          flush=True)
    return tried


SAMPLE = r"""
#include <stdbool.h>
#define TWICE(x) ((x) + (x))   /* 1 + 1 */
static const char *name = "a < b && c";
int largest(const int *row, int count);
int largest(const int *row, int count)
{
    int best = 0;
    bool any = false;
    for (int i = 0; i < count; i++)
        if (!any || row[i] > best) {
            best = row[i];
            any = true;
        }
    return best;
}
int main(void)
{
    int row[3] = {-5, -2, -9};
    (void)name;
    return largest(row, 3) == -2 && largest(row, 1) == -5 ? TWICE(0) : 1;
}
"""
PLACES = """\
8: 0 moved
9: false for true
10: 0 moved
10: < for <=
11: condition negated
11: ! dropped
11: || for &&
11: > for >=
12: statement dropped
13: statement dropped
13: true for false
"""


def self_test(compiler):
    """The places in a small program, and that of its mutants just one that is harmless survives."""
    found = [one for one in mutants(SAMPLE) if one.start < SAMPLE.index("int main")]
    listed = "".join(f"{SAMPLE.count(chr(10), 0, one.start) + 1}: {one.what}\n" for one in found)
    if listed != PLACES:
        sys.exit(f"places:\n{listed}wanted:\n{PLACES}")
    survivors = []
    with tempfile.TemporaryDirectory() as top:
        for one in [None, *found]:
            source = pathlib.Path(top, "sample.c")
            source.write_text(spoilt(SAMPLE, one) if one else SAMPLE, encoding="utf-8")
            subprocess.run([*compiler, "-O0", "-w", "-o", f"{top}/sample", source], check=True)
            if ends_well([f"{top}/sample"], top, 1):
                survivors.append(one and one.what)
    if survivors != [None, "0 moved", "> for >="]:
        sys.exit(f"survivors: {survivors}")


def main():
    if sys.argv[1:2] == ["--self-test"]:
        return self_test(sys.argv[2:])
    parser = argparse.ArgumentParser()
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("folders", nargs="+", choices=[*CHECKS])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most", type=int, default=0, help="mutants of a folder")
    parser.add_argument("--minutes", type=float, default=60, help="in all")
    parser.add_argument("--longest", type=float, default=1e9, help="seconds of a check")
    parser.add_argument("--first", type=int, help="of a row of CHECKS only so many groups")
    parser.add_argument("--only", action="append", help="FILE.c, or FILE.c:LINE, of several one")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    options.build = options.build.resolve()
    begun = time.monotonic()
    for i, folder in enumerate(options.folders, 1):
        until = begun + 60 * options.minutes * i / len(options.folders)
        if not try_folder(options.build, folder, options, until):
            sys.exit(f"{folder}: no mutant was tried")
    return None


if __name__ == "__main__":
    main()
