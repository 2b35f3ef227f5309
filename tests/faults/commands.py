"""The commands that faults are put into, the folder they work in, and what may be left in it.

A command runs in a folder of its own, in which nothing but `saves` may change: whatever happens,
that file afterwards says what it said before or all of what it was to say.
"""
import os
import shutil
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(os.path.dirname(HERE), "cli"))

import run  # noqa: E402

DAY = "--today=2026-06-01"
DRAFTS = "state/proveout/"
SURROUNDINGS = {"PATH": os.environ["PATH"], "LC_ALL": "C.UTF-8", "TERM": "dumb", "TZ": "UTC",
                "HOME": "/nonexistent"}


class Command:
    """`saves`: the file that it writes; `says`: what it reads on standard input."""

    def __init__(self, name, arguments, saves=None, says=b""):
        self.name, self.arguments, self.saves, self.says = name, arguments, saves, says
        self.reports = "-o" in arguments


COMMANDS = [
    Command("check", ["check", DAY, "shed.yaml"]),
    Command("check as JSON", ["check", DAY, "--format=json", "--show=all", "shed.yaml"]),
    Command("check a folder", ["check", DAY, "-j2", "m"]),
    Command("check with a rulebook", ["check", DAY, "--rulebook=house.yaml", "m/a.yaml"]),
    Command("check into a file", ["check", DAY, "-o", "old.txt", "shed.yaml"], "old.txt"),
    Command("check into a new file", ["check", DAY, "-o", "new.txt", "shed.yaml"], "new.txt"),
    Command("window", ["window", DAY, "shed.yaml", "change.standoff"]),
    Command("dryrun", ["dryrun", DAY, "shed.yaml"]),
    Command("draw", ["draw", DAY, "shed.yaml"]),
    Command("draw into a file", ["draw", DAY, "--view=side", "-o", "old.txt", "shed.yaml"], "old.txt"),
    Command("revise", ["revise", DAY, "--write", "shed.yaml", "change.standoff=13 mm"],
            "shed.yaml"),
    Command("commission", ["commission", DAY, "shed.yaml"], "shed.yaml",
            b"back change.probe_stroke\n36 mm\non\non\nyes\n"),  # with which all holds
    Command("explain a rule", ["explain", "probe-stroke-short"]),
    Command("explain a field", ["explain", "setter.nose_contact"]),
    Command("rules", ["rules"]),
    Command("help", ["--help"]),
]


class Scene:
    """A folder, and a command run in it as often as wanted."""

    def __init__(self, program, command, folder):
        self.program, self.command, self.folder = program, command, folder
        machine = run.Case("finding").files["shed.yaml"]
        self.given = {"shed.yaml": machine, "m/a.yaml": run.Case("clean").files["shed.yaml"],
                      "m/b.yaml": machine, "old.txt": b"as it was\n",
                      "house.yaml": run.Case("own-rulebook").files["house.yaml"]}
        self.plain = self.run()
        self.made = self.files()
        if self.plain[2] or (command.saves and self.wanted() == self.given.get(command.saves)):
            sys.exit(f"{command.name} does not run: {self.plain[2]}")

    def reset(self):
        shutil.rmtree(self.folder, ignore_errors=True)
        for name, data in self.given.items():
            path = os.path.join(self.folder, name)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            with open(path, "wb") as file:
                file.write(data)

    def run(self, before=(), surroundings=None, again=False):
        """Status, output, errors; `before` stands before the program, as a debugger does."""
        if not again:
            self.reset()
        done = subprocess.run(
            [*before, self.program, *self.command.arguments], cwd=self.folder,
            input=self.command.says, capture_output=True, timeout=120, check=False,
            env={**SURROUNDINGS, "XDG_STATE_HOME": os.path.join(self.folder, "state"),
                 **(surroundings or {})})
        return done.returncode, done.stdout, done.stderr

    def files(self):
        found = {}
        for path, _, names in os.walk(self.folder):
            for name in names:
                whole = os.path.join(path, name)
                with open(whole, "rb") as file:
                    found[os.path.relpath(whole, self.folder)] = file.read()
        return found

    def wanted(self):
        """What the saved file is to say; None where nothing is saved."""
        return self.made.get(self.command.saves)

    def left(self):
        """What lies in the folder and should not: changed, half-written, gone, a temporary."""
        found = self.files()
        wrong = [name for name in {*found, *self.given}
                 if found.get(name) != self.given.get(name) and
                 not (name == self.command.saves and found.get(name) == self.wanted())]
        return sorted(name for name in wrong if not is_draft(name, found.get(name)))


def is_draft(name, data):
    return (name.startswith(DRAFTS) and name.endswith(".draft") and
            data.startswith(b"proveout-draft 1\n"))


def mistake(scene, ran):
    """What is wrong with a run in which something failed; None: it did all the same what it does
    otherwise, or said why not."""
    status, out, error = ran
    if status not in (0, 1, 2):
        return f"status {status}"
    left = scene.left()
    if scene.command.reports and b" cannot be read: " in error:
        left = [name for name in left if name != scene.command.saves]  # a report of that, whole
    if left:
        return f"left behind or spoilt: {', '.join(left)}"
    if status == scene.plain[0]:
        saved = scene.files().get(scene.command.saves) == scene.wanted()
        return None if out == scene.plain[1] and saved else "ends as if all had gone well"
    if status != 2:
        return f"status {status} where it is {scene.plain[0]} otherwise"
    return None if error.startswith(b"proveout: ") else f"says nothing: {error!r}"
