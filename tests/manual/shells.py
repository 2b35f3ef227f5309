"""What is completed in a real shell, at a terminal: typed, with the key for it pressed.

    shells.py bash|zsh|fish PROGRAM COMPLETION MACHINE

Where a line comes to an end that way, it is then handed to `show`, which prints the words that the
shell makes of it: so a quotation mark too few or too many is seen, and what would be run.
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile

import pexpect

from names import HOSTILE, hostile_machine

SKIPPED = 77
KEPT = ("ASAN_OPTIONS", "UBSAN_OPTIONS", "LSAN_OPTIONS")
CONTROL = re.compile(r"\x1b\[[0-9;?>=]*[a-zA-Z]|\x1b[=>78]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b\(B|[\x0e\x0f]")
SETTINGS = {
    "bash": r"""PS1='ready> '; set +H
bind 'set enable-bracketed-paste off'; bind 'set page-completions off'
bind 'set completion-query-items 0'; bind 'set show-all-if-ambiguous on'; bind 'set bell-style none'
show() { printf 'word<%s>\n' "$@"; }
. COMPLETION""",
    "zsh": r"""PS1='ready> '; unset zle_bracketed_paste; unsetopt PROMPT_SP BEEP; LISTMAX=1000; bindkey -e
show() { printf 'word<%s>\n' "$@"; }
fpath=(${${:-COMPLETION}:h} $fpath); autoload -Uz compinit; compinit -u -D""",
    "fish": r"""function fish_prompt; echo -n 'ready> '; end
function show; printf 'word<%s>\n' $argv; end
. COMPLETION""",
}
START = {"bash": ["--norc", "--noprofile", "-i"], "zsh": ["-f", "-i"], "fish": ["--no-config", "-i"]}


class Shell:
    """A shell in a folder of its own, with the program on its path."""

    def __init__(self, name, program, completion, folder):
        self.name, self.folder = name, folder
        self.environment = {
            "PATH": f"{os.path.dirname(program)}:{os.environ['PATH']}", "HOME": folder, "TERM": "xterm",
            "LC_ALL": "C.UTF-8", "XDG_CONFIG_HOME": folder, "XDG_DATA_HOME": folder,
            **{name: os.environ[name] for name in KEPT if name in os.environ}}
        self.child = pexpect.spawn(shutil.which(name), START[name], cwd=folder, encoding="utf-8",
                                   env=self.environment, timeout=30, dimensions=(200, 300))
        self.child.delaybeforesend = None
        self.count = 0
        for line in SETTINGS[name].replace("COMPLETION", completion).split("\n"):
            self.run(line)

    def run(self, line):
        """What a command line prints, typed behind what is typed already."""
        self.count += 1
        self.child.send(f"{line}; echo end''{self.count}.\r")
        self.child.expect(rf"end{self.count}\.\r\n")
        shown = CONTROL.sub("", self.child.before)
        # what is typed before the next prompt is there would be shown by the terminal itself
        self.child.expect("ready> ")
        return shown

    def words(self, typed, more=""):
        """The words of the line that is there once the key was pressed, and `more` typed."""
        self.child.send(f"{typed}\t{more}\x01show \x05")
        return re.findall(r"word<(.*)>", self.run("").split("\n", 1)[1])

    def listed(self, typed):
        """What is listed where there are several; what fish is asked for would fill its pager."""
        if self.name == "fish":
            return self.run("complete -C '" + re.sub(r"(['\\\\])", r"\\\1", typed) + "'").split("\n", 1)[1]
        self.child.send(typed + "\tzq")
        self.child.expect("zq")
        shown = CONTROL.sub("", self.child.before)
        self.child.send("\x03")
        self.run("true")
        return shown.split("\n", 1)[-1]


def complain(shell, typed, given, wanted):
    return f"{shell.name}: {typed}\n  given:  {given}\n  wanted: {wanted}"


# typed, and the words of the line after that
LINES = (
    ("proveout comm", ["proveout", "commission"]),
    ("proveout --ver", ["proveout", "--version"]),
    ("proveout check --stop", ["proveout", "check", "--stop-at"]),
    ("proveout check --stop-at warn", ["proveout", "check", "--stop-at", "warning"]),
    ("proveout check --format js", ["proveout", "check", "--format", "json"]),
    ("proveout check --format=js", ["proveout", "check", "--format=json"]),
    ("proveout sheet -f s", ["proveout", "sheet", "-f", "svg"]),
    ("proveout check sh", ["proveout", "check", "shed.yaml"]),
    ("proveout check -q -- sh", ["proveout", "check", "-q", "--", "shed.yaml"]),
    ("proveout check --root li", ["proveout", "check", "--root", "little/"]),
    ("proveout check little/o", ["proveout", "check", "little/other.yml"]),
    ("proveout revise shed.yaml --log no", ["proveout", "revise", "shed.yaml", "--log", "notes.txt"]),
    ("proveout explain probe-stroke-sh", ["proveout", "explain", "probe-stroke-short"]),
    ("proveout explain setter.nose_c", ["proveout", "explain", "setter.nose_contact"]),
    ("proveout window shed.yaml change.probe_st", ["proveout", "window", "shed.yaml",
                                                   "change.probe_stroke"]),
    ("proveout propose shed.yaml --keep change.probe_st",
     ["proveout", "propose", "shed.yaml", "--keep", "change.probe_stroke"]),
    ("proveout propose shed.yaml --keep=change.probe_st",
     ["proveout", "propose", "shed.yaml", "--keep=change.probe_stroke"]),
    ("proveout measure shed.yaml setter.nose_c", ["proveout", "measure", "shed.yaml",
                                                  "setter.nose_contact"]),
    ("proveout revise shed.yaml change.probe_st", ["proveout", "revise", "shed.yaml",
                                                   "change.probe_stroke="]),
    ("proveout revise shed.yaml cutters[number=2].stick",
     ["proveout", "revise", "shed.yaml", "cutters[number=2].stickout="]),
    ("proveout window shed.yaml 'cutters[number=2].stick",
     ["proveout", "window", "shed.yaml", "cutters[number=2].stickout"]),
    ("proveout window 'shed.yaml' \"cutters[number=2].stick",
     ["proveout", "window", "shed.yaml", "cutters[number=2].stickout"]),
    ("proveout revise shed.yaml units i", ["proveout", "revise", "shed.yaml", "units", "inch"]),
    ("proveout revise shed.yaml ad", ["proveout", "revise", "shed.yaml", "add"]),
    ("proveout dryrun one.yaml --from ", ["proveout", "dryrun", "one.yaml", "--from", "17"]),
    ("proveout dryrun one.yaml --from 17 --to ",
     ["proveout", "dryrun", "one.yaml", "--from", "17", "--to", "17"]),
    ("proveout draw ~/one.yaml --cutter ", ["proveout", "draw", "{}/one.yaml", "--cutter", "17"]),
    ("proveout sheet one.yaml --for ", ["proveout", "sheet", "one.yaml", "--for", "17"]),
    ("proveout revise one.yaml cutter ", ["proveout", "revise", "one.yaml", "cutter", "17"]),
    # there is no such file, or none is meant
    ("proveout window none.yaml change.probe_st", ["proveout", "window", "none.yaml",
                                                   "change.probe_st"]),
    ("proveout window - change.probe_st", ["proveout", "window", "-", "change.probe_st"]),
    ("proveout window pipe.yaml change.probe_st", ["proveout", "window", "pipe.yaml",
                                                   "change.probe_st"]),
    ("proveout nothing --stop", ["proveout", "nothing", "--stop"]),
)


def check_lines(shell):
    for typed, wanted in LINES:
        given = shell.words(typed)
        wanted = [word.replace("{}", shell.folder) for word in wanted]
        # zsh takes the slash of a folder away again where no name follows
        if given != wanted and [word.rstrip("/") for word in wanted] != given:
            yield complain(shell, typed, given, wanted)


def check_lists(shell):
    shown = shell.listed("proveout dryrun shed.yaml --from ")
    if not all(re.search(rf"(?<!\S){number}(?!\S)", shown) for number in "1234") or shell.name != "bash" and \
            "8 mm compression cutter" not in shown:
        yield complain(shell, "--from", shown, "the cutters with what they are")
    shown = shell.listed("proveout check ")
    if "shed.yaml" not in shown or "little" not in shown or "notes.txt" in shown:
        yield complain(shell, "check", shown, "no file but *.yaml and *.yml")


def commands(program):
    done = subprocess.run([program, "--help"], capture_output=True, text=True, check=True)
    return re.findall(r"^  (\S+)", done.stdout.split("\nCommands:\n")[1].split("\n\n")[0], re.M)


def options(program, command):
    done = subprocess.run([program, command, "--help"], capture_output=True, text=True, check=True)
    return set(re.findall(r"^  (?:-\w, |    )(--[a-z-]+)", done.stdout.split("\nOptions:\n")[1], re.M))


def check_options(shell, program):
    """Every command is offered, and of each what its help names, and nothing else."""
    names = commands(program)
    given = re.findall(r"(?<!\S)[a-z][a-z-]*(?!\S)", shell.listed("proveout "))
    if not set(names) <= set(given) or shell.name == "bash" and set(given) - {*names, "proveout"}:
        yield complain(shell, "commands", given, names)
    for command in names:
        wanted = options(program, command)
        given = set(re.findall(r"(?<!\S)--[a-z-]+(?!\S)", shell.listed(f"proveout {command} --")))
        if given != wanted:
            yield complain(shell, f"{command} --", sorted(given), sorted(wanted))


def check_hostile(shell, folder):
    """Names that would be something to a shell arrive as they are, and nothing is run."""
    os.mkdir(os.path.join(folder, "bad"))
    names = [name.replace("\\\\", "\\") for name in HOSTILE]
    for name in names:
        os.mkdir(os.path.join(folder, "bad", f"q{names.index(name)}"))
        shutil.copy(os.path.join(folder, "shed.yaml"),
                    os.path.join(folder, "bad", f"q{names.index(name)}", f"{name}.yaml"))
    with open(os.path.join(folder, "shed.yaml"), encoding="utf-8") as file:
        text = hostile_machine(file.read())
    with open(os.path.join(folder, "bad", "$(touch ran).yaml"), "w", encoding="utf-8") as file:
        file.write(text)
    for index, name in enumerate(names):
        given = shell.words(f"proveout check bad/q{index}/")
        wanted = ["proveout", "check", f"bad/q{index}/{name}.yaml"]
        if given != wanted:
            yield complain(shell, wanted[-1], given, wanted)
    file = r"bad/\$\(touch\ ran\).yaml"
    for quoted in (file, "'bad/$(touch ran).yaml'"):
        for typed, more, name in ((r"obstacles\[name=\$", "top", "$(touch ran)"),
                                  (r"obstacles\[name=\`", "top", "`touch ran`"),
                                  (r"obstacles\[name=a\;", "top", "a; touch ran"),
                                  ("'obstacles[name=a;", "top'", "a; touch ran"),
                                  ("'obstacles[name=$", "top'", "$(touch ran)"),
                                  ("'obstacles[name=`", "top'", "`touch ran`")):
            given = shell.words(f"proveout window {quoted} {typed}", more)
            wanted = ["proveout", "window", "bad/$(touch ran).yaml", f"obstacles[name={name}].top"]
            if given != wanted:
                yield complain(shell, f"{quoted} {typed}", given, wanted)
    shown = shell.listed(f"proveout dryrun {file} --from ")
    if shell.name != "bash" and "$(touch ran)" not in shown:
        yield complain(shell, "--from", shown, "the descriptions as they are")
    shown = shell.listed("proveout check bad/")
    if not re.search(r"touch.{1,2}ran", shown):
        yield complain(shell, "check bad/", shown, "the file with the odd name")
    ran = [name for place, _, files in os.walk(folder) for name in files if name == "ran"]
    if ran:
        yield f"{shell.name}: something was run"


def main(name, program, completion, machine):
    if not shutil.which(name):
        print(f"{name} is not installed")
        return SKIPPED
    program, completion = os.path.abspath(program), os.path.abspath(completion)
    with tempfile.TemporaryDirectory() as folder:
        folder = os.path.realpath(folder)
        shutil.copy(machine, os.path.join(folder, "shed.yaml"))
        os.mkdir(os.path.join(folder, "little"))
        shutil.copy(machine, os.path.join(folder, "little", "other.yml"))
        os.mkfifo(os.path.join(folder, "pipe.yaml"))
        for place, text in (("notes.txt", "none\n"), ("one.yaml", "proveout: 1\ncutters:\n"
                            "  - {number: 17, description: the only one, stickout: 40 mm}\n")):
            with open(os.path.join(folder, place), "w", encoding="utf-8") as file:
                file.write(text)
        shell = Shell(name, program, completion, folder)
        wrong = [*check_lines(shell), *check_lists(shell), *check_options(shell, program),
                 *check_hostile(shell, folder)]
    print(*wrong, sep="\n")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
