"""The program at a console: Wine's, in a terminal of tmux, of which is asked what it shows.

    consoles.py PROGRAM [CHECK ...]
"""
import itertools
import os
import shutil
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
MACHINE = os.path.join(HERE, "..", "..", "sample-configs",
                       "stroke-too-short-for-the-short-cutter.yaml")
CHECKS = {}
LONGEST = 30 # seconds for something to be shown


def check(function):
    CHECKS[function.__name__] = function
    return function


class Console:
    starts = itertools.count(1) # of all: a server that ends still holds the name of its socket

    def __init__(self, program, folder):
        self.program, self.folder, self.socket = program, folder, None

    def tmux(self, *arguments):
        return subprocess.run(["tmux", "-L", self.socket, "-f", "/dev/null", *arguments], check=True,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=60).stdout

    def start(self, *arguments, width=90):
        self.stop()
        self.socket = f"proveout-{os.getpid()}-{next(Console.starts)}"
        words = " ".join(f"'{word}'" for word in (self.program, *arguments))
        self.tmux("new-session", "-d", "-x", str(width), "-y", "50", "-c", self.folder,
                  f"LC_ALL=C.UTF-8 {words}; echo ENDED $?; sleep 1000")

    def stop(self):
        if self.socket:
            subprocess.run(["tmux", "-L", self.socket, "kill-server"], check=False,
                           stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

    def shown(self):
        lines = self.tmux("capture-pane", "-p").decode().splitlines()
        return "\n".join(line.rstrip() for line in lines).rstrip("\n")

    def wait(self, text):
        """Until the screen ends with that, or has it above a prompt."""
        until = time.monotonic() + LONGEST
        while time.monotonic() < until:
            shown = self.shown()
            if text in " ".join(shown.split()) and shown.splitlines()[-1].startswith((">", "ENDED")):
                return shown
            time.sleep(0.1)
        raise AssertionError(f"{text!r} is not shown:\n{self.shown()}")

    def type(self, *keys):
        for key in keys:
            self.tmux("send-keys", *(["-l"] if len(key) == 1 or " " in key else []), key)

    def text(self, text):
        self.tmux("send-keys", "-l", text)
        time.sleep(0.5) # Wine's console takes no more than that


@check
def double_click(console):
    """Nothing is said but what it is; what is dragged there is checked; Enter closes."""
    console.start()
    first = console.wait("Enter alone closes")
    assert "A clean check is no promise" in first and "isolate the spindle" in first
    console.text('"my m.yaml"')
    console.type("Enter")
    console.wait("my m.yaml: 1 error; ")
    console.text("nö 中.yaml")
    console.type("Enter")
    console.wait("There is no file nö 中.yaml.")
    console.type("Enter")
    console.wait("ENDED 1")


@check
def dropped(console):
    """Onto the program's picture: the file is the only argument."""
    console.start("my m.yaml")
    console.wait("Enter alone closes this window")
    assert "my m.yaml: 1 error; " in console.shown()
    console.type("Enter")
    console.wait("ENDED 1")


@check
def asked_by_a_name(console):
    console.start()
    console.wait("Enter alone closes")
    console.text("new")
    console.type("Enter")
    console.wait("to be called?")
    console.text("mühle")
    console.type("Enter")
    console.wait("millimetres or in inches?")
    console.type("C-c")
    console.wait("proveout commission mühle.yaml")
    console.wait("Enter alone closes this window") # the window is still there
    console.type("Enter")
    console.wait("ENDED 2")
    assert not os.path.exists(os.path.join(console.folder, "mühle.yaml"))


@check
def commands_end(console):
    """Whoever types a command has a shell, and is not kept."""
    console.start("--version")
    console.wait("ENDED 0")
    console.start("check", "my m.yaml")
    console.wait("ENDED 1")


@check
def editing(console):
    console.start("commission", "edited.yaml")
    console.wait("millimetres or in inches?")
    console.text("9x")
    console.type("Left", "BSpace")
    console.text("1")
    console.type("Right", "BSpace", "Enter")
    console.wait("Taken as: millimetres.")
    console.text("äö")
    console.wait("> äö")
    console.type("BSpace", "BSpace", "Up", "Enter") # the last answer once more
    shown = console.wait("limit")
    assert "> 1\n" in shown, shown


@check
def interrupted(console):
    """The answers so far are kept, and gone on with."""
    console.start("commission", "left.yaml")
    console.wait("millimetres or in inches?")
    console.text("1")
    console.type("Enter")
    console.wait("Taken as: millimetres.")
    console.text("half an ans")
    console.type("C-c")
    console.wait("Stopped; nothing is written, and all answers are kept.")
    console.wait("ENDED 2")
    console.start("commission", "left.yaml")
    console.wait("Going on with the draft of an earlier run")
    console.type("C-c")
    console.wait("ENDED 2")


@check
def width(console):
    for cells in 60, 95:
        console.start(width=cells)
        lines = console.wait("Enter alone closes").splitlines()
        longest = max(map(len, lines))
        assert cells - 12 < longest <= cells, (cells, longest)


@check
def no_marks_of_colours(console):
    """Where a console knows none, none are shown as text."""
    console.start("check", "my m.yaml")
    shown = console.wait("ENDED 1")
    assert "[0m" not in shown and "[1" not in shown, shown


def main(program, *chosen):
    failed = []
    for name in chosen or CHECKS:
        with tempfile.TemporaryDirectory() as folder:
            shutil.copy(MACHINE, os.path.join(folder, "my m.yaml"))
            console = Console(os.path.abspath(program), folder)
            try:
                CHECKS[name](console)
            except (AssertionError, subprocess.SubprocessError) as trouble:
                failed.append(name)
                said = (getattr(trouble, "stderr", None) or b"").decode(errors="replace")
                print(f"--- {name}\n{trouble}\n{said}"[:3000], flush=True)
            finally:
                console.stop()
    print(f"{len(chosen or CHECKS)} checks, {len(failed)} failed: {' '.join(failed)}")
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
