"""What README.md shows is run, and what it says about the repository is so.

    examples.py PROGRAM

Runs every `console` block: a line with `$` is a command, what follows is its whole output; a line
of three dots stands for any lines.  `proveout` in a command is PROGRAM; commands run at the top of
the repository.
"""
import json
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))

COUNTS = {180: "some hundred and eighty", 190: "some hundred and ninety", 200: "some two hundred",
          210: "some two hundred and ten", 220: "some two hundred and twenty"}


def read(path):
    with open(os.path.join(ROOT, path), encoding="utf-8") as file:
        return file.read()


def blocks(text, kind):
    return re.findall(rf"^```{kind}\n(.*?)^```$", text, re.M | re.S)


def cases(block):
    """(command, expected lines) of a console block."""
    found = []
    for line in block.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        else:
            found[-1][1].append(line)
    return found


def matches(wanted, given):
    if not wanted:
        return not given
    if wanted[0].strip() == "...":
        return any(matches(wanted[1:], given[i:]) for i in range(len(given) + 1))
    return bool(given) and wanted[0] == given[0] and matches(wanted[1:], given[1:])


def run(command, folder, cwd):
    place = {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, shell=True, cwd=cwd, env=place, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, check=False)
    return [line.rstrip() for line in done.stdout.splitlines()]


def examples(program, name, text, cwd=ROOT):
    with tempfile.TemporaryDirectory() as folder:
        os.symlink(os.path.abspath(program), os.path.join(folder, "proveout"))
        for block in blocks(text, "console"):
            for command, wanted in cases(block):
                given = run(command, folder, cwd)
                if not matches([line.rstrip() for line in wanted], given):
                    yield "\n".join([f"$ {command}: {name} shows other output than this:",
                                     *given])


def packages(text):
    """Packages that a shell command or script installs."""
    found = re.search(r"packages=\((.*?)\)", text, re.S)
    if not found:
        found = re.search(r"apt-get install((?: -\S+)*)([^&'\"]*)", text)
    return set(found.groups()[-1].split())


def commands(text):
    """The two commands that work from nothing."""
    shells = [block.strip() for block in blocks(text, "sh") if "apt-get" in block]
    if len(shells) != 2 or any("\n" in shell for shell in shells):
        yield "README.md: expected two commands from nothing, each of one line"
        return
    build, test = map(packages, shells)
    here = packages(read(".ci/run"))
    if not build <= test:
        yield f"README.md: the tests' command does not install {sorted(build - test)}"
    if test != here - {"clang", "libclang-rt-14-dev", "valgrind"}:
        yield f"README.md and .ci/run do not install the same: {sorted(test ^ here)}"


def places(name, text):
    """Paths of the repository that a text names in backquotes or links to."""
    quoted = re.findall(r"`([\w.]+(?:/[\w.-]+)+/?)`", text)
    linked = re.findall(r"\]\(([^)#:]+)\)", text)
    beside = os.path.dirname(name)
    for path in sorted({*quoted, *(os.path.join(beside, link) for link in linked)}):
        if not path.startswith(("build", "release/")) and not os.path.exists(os.path.join(ROOT, path)):
            yield f"{name}: {path} is not there"


def how_many(program):
    """How many rules are asked, to the nearest ten, wherever somebody reads it who has no program yet."""
    sample = os.path.join(ROOT, "sample-configs", "spindle-started-on-the-probe.yaml")
    done = subprocess.run([program, "check", "--format", "json", sample], stdout=subprocess.PIPE, check=False)
    count = sum(json.loads(done.stdout)["files"][0]["rules"].values())
    wanted = COUNTS[round(count, -1)]
    for name in ("README.md", ".package/debian/control"):
        told = re.findall(r"\b(some [a-z ]+) rules\b", " ".join(read(name).split()))
        if told != [wanted]:
            yield f"{name}: {count} rules are asked, and it says {told}"


def main(program):
    text = read("README.md")
    wrong = [*examples(program, "README.md", text), *commands(text), *how_many(program)]
    for name in ("README.md", "DEVELOPERS.md"):
        wrong += places(name, read(name))
    for complaint in wrong:
        print(complaint)
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(*sys.argv[1:])
