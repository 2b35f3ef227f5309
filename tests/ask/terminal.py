"""Programs at a terminal of the tests' own, in folders of their own."""
import os
import pathlib
import shutil
import subprocess
import tempfile

import pexpect


class Place:
    """An empty folder with a state folder of its own."""

    def __init__(self, program):
        self.program = str(pathlib.Path(program).resolve())
        self.folder = tempfile.mkdtemp()
        self.state = os.path.join(self.folder, "state")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        shutil.rmtree(self.folder)

    def environment(self, **more):
        kept = {"PATH": os.environ["PATH"], "HOME": self.folder, "XDG_STATE_HOME": self.state,
                "LC_ALL": "C.UTF-8", "TERM": "dumb"}
        kept.update(more)
        return kept

    def start(self, *arguments, width=80, command="commission", **environment):
        child = pexpect.spawn(self.program, [command, *arguments], cwd=self.folder,
                              env=self.environment(**environment), dimensions=(40, width),
                              encoding="utf-8", timeout=20)
        child.delaybeforesend = None  # only prompts that are there are answered
        return child

    def run(self, *arguments, **more):
        return subprocess.run([self.program, *arguments], cwd=self.folder,
                              env=self.environment(), capture_output=True, timeout=10, **more)

    def read(self, name="shed.yaml"):
        return pathlib.Path(self.folder, name).read_bytes()

    def files(self):
        return sorted(name for name in os.listdir(self.folder) if name != "state")

    def drafts(self):
        folder = pathlib.Path(self.state, "proveout")
        return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def prompt(child):
    child.expect(r"(?:^|\n|\r)(?:\x1b\[[0-9;?]*[a-zA-Z])*> ")


def answer(child, lines):
    """Answers each prompt; what was shown, as somebody who keeps it would have it."""
    shown = []
    for line in lines:
        prompt(child)
        shown.append(child.before)
        child.sendline(line)
    return shown


def finish(child, status=0):
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == status, (child.exitstatus, child.signalstatus)
    return child.before


class Shell:
    """A shell at a terminal, so that there is something to come back to."""

    def __init__(self, place, term):
        self.place = place
        self.child = pexpect.spawn("/bin/bash", ["--norc", "--noprofile", "--noediting", "-i"],
                                   cwd=place.folder, encoding="utf-8", timeout=10,
                                   dimensions=(40, 80),
                                   env=place.environment(TERM=term, PS1="READY$ ",
                                                         HISTFILE="/dev/null"))

    def __enter__(self):
        self.child.expect_exact("READY$ ")
        return self

    def __exit__(self, *_):
        self.child.close(force=True)

    def stty(self):
        self.child.send("stty -g\r")
        self.child.expect(r"\n([0-9a-f:]+)\r")
        found = self.child.match.group(1)
        self.child.expect_exact("READY$ ")
        return found

    def start(self, command="commission shed.yaml"):
        self.child.send(f"{self.place.program} {command}\r")

    def program_id(self):
        shell = self.child.pid
        with open(f"/proc/{shell}/task/{shell}/children", encoding="ascii") as children:
            return int(children.read().split()[0])

    def status(self):
        self.child.expect_exact("READY$ ")
        self.child.send("echo status=$?\r")
        self.child.expect(r"\nstatus=(\d+)")
        found = int(self.child.match.group(1))
        self.child.expect_exact("READY$ ")
        return found
