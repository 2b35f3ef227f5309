"""The prompt at a terminal of its own: what a person sees, and what becomes of the terminal.

    at_terminal.py PROGRAM NAME       one check
    at_terminal.py PROGRAM by_library WALKER
    at_terminal.py --list             the names
    at_terminal.py PROGRAM --accept   writes down anew what is shown
"""
import difflib
import json
import os
import pathlib
import pty
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
import tty

import pexpect

from terminal import Place, Shell, answer, finish, prompt

HERE = pathlib.Path(__file__).parent
KINDS = ("setter", "plate", "not-homing")
SHOWN = KINDS + ("conspiring",)  # numbers that cannot all hold, and others in their place
REVISIONS = {"revise-setter": ("two-setters.yaml", "setter"),
             "revise-add-cutter": ("two-setters.yaml", "add", "cutter")}
CHECKS = {}


def check(function):
    CHECKS[function.__name__] = function
    return function


def answers(kind):
    """The lines a person types, `# ...` at their end taken away."""
    lines = (HERE / f"{kind}.answers").read_text().split("\n")[:-1]
    return [line.split("  #")[0].strip() for line in lines]


def straight(place, kind, name="shed.yaml", **environment):
    child = place.start(name, **environment)
    answer(child, answers(kind))
    finish(child)
    return place.read(name)


def expect_checked(place, name="shed.yaml"):
    result = place.run("check", name, "--stop-at", "note")
    assert result.returncode == 0, result.stdout.decode()


def logged(child):
    """What has been shown since, when it is called."""
    log = []

    class Log:
        def write(self, text):
            log.append(text)

        def flush(self):
            pass
    child.logfile_read = Log()
    return lambda: "".join(log).replace("\r\n", "\n")


def transcript(place, kind):
    child = place.start("shed.yaml")
    log = logged(child)
    answer(child, answers(kind))
    finish(child)
    expect_checked(place)
    # How many rules held is the affair of whoever writes rules.
    shown = re.sub(r"nothing found; \d+ rules held.*(\r?\n  .*)*", "nothing found; ...", log())
    return shown + "---- shed.yaml\n" + place.read().decode()


def expect_transcript(program, kind):
    with Place(program) as place:
        shown = transcript(place, kind)
    wanted = (HERE / f"{kind}.transcript").read_text()
    if shown != wanted:
        sys.exit("".join(difflib.unified_diff(wanted.splitlines(True), shown.splitlines(True),
                                              f"{kind}.transcript", "shown")))


@check
def setter(program):
    expect_transcript(program, "setter")


@check
def plate(program):
    expect_transcript(program, "plate")


@check
def not_homing(program):
    expect_transcript(program, "not-homing")


@check
def conspiring(program):
    """Answers that cannot all hold: the review proposes numbers with which they would."""
    expect_transcript(program, "conspiring")


@check
def excluding(program):
    """Where no numbers will do, as the contact of the setter may be dead, the review says why."""
    lines = answers("conspiring")
    assert lines[12].endswith("normally_closed") and lines[-2:] == ["yes", "yes"], lines
    lines[12:13] = ["5, normally_open", ""]
    with Place(program) as place:
        result = place.run("commission", "shed.yaml",
                           input="".join(line + "\n" for line in lines[:-2]).encode())
        shown = " ".join(result.stdout.decode().split())
        assert result.returncode == 2 and place.files() == [], result
        assert ("No set of the numbers asked here will do. Wherever it was looked these rules "
                "exclude each other, and with any one of them left out the rest can hold: "
                "probe-stroke-short (cutter 2) dead-input-crush (cutter 2) "
                "Type yes to write shed.yaml.") in shown, shown[-1500:]


def revision(place, kind):
    """What a person sees who revises a machine at a narrow terminal, and the file then."""
    sample, *arguments = REVISIONS[kind]
    shutil.copy(HERE / "../../sample-configs" / sample, pathlib.Path(place.folder, "shed.yaml"))
    before = place.read().decode().splitlines(True)
    child = place.start("--today", "2026-11-01", "shed.yaml", *arguments, command="revise",
                        width=40)
    log = logged(child)
    answer(child, answers(kind))
    finish(child)
    after = place.read().decode().splitlines(True)
    return log() + "---- shed.yaml\n" + "".join(difflib.unified_diff(before, after, n=0))


def expect_revision(program, kind):
    with Place(program) as place:
        shown = revision(place, kind)
    wanted = (HERE / f"{kind}.transcript").read_text()
    if shown != wanted:
        sys.exit("".join(difflib.unified_diff(wanted.splitlines(True), shown.splitlines(True),
                                              f"{kind}.transcript", "shown")))


@check
def revise_setter(program):
    expect_revision(program, "revise-setter")


@check
def putting_right(program):
    """What only people know is asked, what hurts them with what to change first; no writes nothing."""
    spoilt = (HERE / "../../sample-configs/workshop-router.yaml").read_text(encoding="utf-8")
    for was, now in (("run_down: 6.5 s ", "run_down: 6.5 "), ("cutter_in, ", ""),
                     ("no_contact: stops", "no_contact: continues")):
        assert spoilt.count(was) == 1
        spoilt = spoilt.replace(was, now)
    for said in ("yes", "no"):
        with Place(program) as place:
            pathlib.Path(place.folder, "shed.yaml").write_text(spoilt, encoding="utf-8")
            child = place.start("--today", "2026-11-01", "--put-right", "shed.yaml",
                                command="revise")
            unit, question, _ = (" ".join(shown.split()) for shown in
                                 answer(child, ["yes", said, "yes"]))
            finish(child, int(said == "no"))
            assert "Is 6.5 s meant for spindle.run_down?" in unit, unit
            assert "At the machine first: ask for cutter_in" in question, question
            written = place.read().decode()
            assert "run_down: 6.5 s" in written and "no_contact: stops" in written
            assert ("cutter_in, " in written) == (said == "yes"), written


# A round with one reading far off, one value skipped, and a yes at the end.
ROUND = ["?", "", "?", "Anna", "-92.01", "-92,02", "-92.02, -92.00, -92.01", "-95", "", "no", "",
         "calliper", "0.02", "-110.01, -110.02, -110.0", "", "", "", "skip", "yes"]
ROUND_FIELDS = ("setter.nose_contact", "table.nose_contact", "cutter 2 stickout")


def measuring_shown(place, width):
    sample = HERE.parent.parent / "sample-configs" / "measured-several-times.yaml"
    machine = sample.read_text().replace("-92.02 mm, -92.01 mm, -92.00 mm, -92.01 mm]", "-92.02 mm]")
    pathlib.Path(place.folder, "shed.yaml").write_text(machine)
    child = place.start("--today", "2026-11-01", "shed.yaml", *ROUND_FIELDS, command="measure",
                        width=width)
    log = logged(child)
    answer(child, ROUND)
    finish(child)
    # Which margins move is the affair of whoever writes rules.
    return re.sub(r"What moves:\n(?:  .*\n)*", "What moves: ...\n", log())


def measuring_transcript(program):
    text = ""
    for width in (80, 40):
        with Place(program) as place:
            text += f"---- {width} columns\n" + measuring_shown(place, width)
            expect_checked(place)
    return text


@check
def measuring(program):
    """A round of measuring, in a wide and in a narrow window."""
    shown = measuring_transcript(program)
    wanted = (HERE / "measuring.transcript").read_text()
    if shown != wanted:
        sys.exit("".join(difflib.unified_diff(wanted.splitlines(True), shown.splitlines(True),
                                              "measuring.transcript", "shown")))


@check
def measuring_broken_off(program):
    """Ctrl-C and a hang-up in a round: the file as it was, and what was read is told."""
    for how in (signal.SIGINT, signal.SIGTERM):
        with Place(program) as place:
            sample = HERE.parent.parent / "sample-configs" / "measured-several-times.yaml"
            shutil.copy(sample, pathlib.Path(place.folder, "shed.yaml"))
            before = place.read()
            child = place.start("shed.yaml", "table.nose_contact", command="measure")
            answer(child, ["", "", "-110.01, -110.02, -110.00"])
            prompt(child)
            child.kill(how)
            assert "readings: [-110.01 mm," in finish(child, 2)
            assert place.read() == before and place.files() == ["shed.yaml"]


@check
def revise_add_cutter(program):
    expect_revision(program, "revise-add-cutter")


@check
def edited(program):
    """With the line editor the same file comes out, by completion and history too."""
    with Place(program) as place:
        plain = straight(place, "setter")
    with Place(program) as place:
        child = place.start("shed.yaml", TERM="xterm")
        lines = answers("setter")
        for line in lines:
            prompt(child)
            if line == "normally_closed":
                child.send("normally_c\t\r")
            elif line == "6 mm end mill":
                child.send("6 mmx\x7f end mill\x01\x05\r")
            elif line == "before_descent":
                child.send("bef\t\r")
            else:
                child.send(line + "\r")
        finish(child)
        assert place.read() == plain
        expect_checked(place)


@check
def killed_anywhere(program):
    """SIGKILL at each question; the next start goes on there, and the file is the same."""
    for kind in KINDS:
        lines = answers(kind)
        with Place(program) as place:
            wanted = straight(place, kind)
        for at in range(1, len(lines), 1 if kind == "setter" else 4):
            with Place(program) as place:
                child = place.start("shed.yaml")
                answer(child, lines[:at])
                prompt(child)
                child.kill(signal.SIGKILL)
                child.close()
                assert place.files() == [], place.files()
                child = place.start("shed.yaml")
                child.expect("Going on with the draft")
                answer(child, lines[at:])
                finish(child)
                assert place.read() == wanted, (kind, at)


@check
def signals(program):
    """Ctrl-C, hang-up, Ctrl-D: the terminal as it was, no half file, the draft, a word."""
    whole = answers("setter")
    for term in ("dumb", "xterm"):
        for how, at in [("interrupt", 4), ("hangup", 4), ("end", 4), ("terminate", 4), ("later", 4),
                        ("interrupt", len(whole) - 1)]:
            with Place(program) as place:
                with Shell(place, term) as shell:
                    before = shell.stty()
                    shell.start()
                    for line in whole[:at]:
                        prompt(shell.child)
                        shell.child.send(line + "\r")
                    prompt(shell.child)
                    time.sleep(0.05)
                    if how == "interrupt":
                        shell.child.send("\x03")
                    elif how == "end":
                        shell.child.send("\x04")
                    elif how == "later":
                        shell.child.send("later\r")
                    else:
                        os.kill(shell.program_id(), signal.SIGHUP if how == "hangup"
                                else signal.SIGTERM)
                    if how in ("interrupt", "end", "later"):
                        shell.child.expect("To go on here:")
                    status = shell.status()
                    assert status == (0 if how == "later" else 2), (term, how, status)
                    assert shell.stty() == before, (term, how)
                assert place.files() == [], (term, how)
                assert len(place.drafts()) == 1, (term, how, place.drafts())


@check
def stopped_and_resized(program):
    """Ctrl-Z and fg, and another size of the window, in the middle of a line."""
    for term in ("dumb", "xterm"):
        with Place(program) as place:
            with Place(program) as other:
                wanted = straight(other, "setter")
            with Shell(place, term) as shell:
                before = shell.stty()
                shell.start()
                lines = answers("setter")
                for i, line in enumerate(lines):
                    prompt(shell.child)
                    if i % 9 == 4:
                        time.sleep(0.05)
                        shell.child.send("\x1a")
                        shell.child.expect_exact("READY$ ")
                        assert shell.stty() == before, term
                        shell.child.send("fg\r")
                        shell.child.expect("commission shed.yaml\r\n")
                        time.sleep(0.05)
                    if i % 9 == 6:
                        shell.child.setwinsize(30, 44 + i)
                    shell.child.send(line + "\r")
                assert shell.status() == 0
                assert shell.stty() == before, term
            assert place.read() == wanted


@check
def narrow_and_plain(program):
    """40 columns, LC_ALL=C: nothing is wider, nothing but ASCII, nothing moves the cursor."""
    for kind in KINDS:
        with Place(program) as place:
            child = place.start("shed.yaml", width=40, LC_ALL="C")
            log = []
            child.logfile_read = type("Log", (), {"write": lambda _, text: log.append(text),
                                                  "flush": lambda _: None})()
            lines = answers(kind)
            for line in lines:
                prompt(child)
                if line and not line.startswith("yes"):
                    child.sendline("?")
                    prompt(child)
                child.sendline(line)
            finish(child)
            shown = "".join(log)
            assert shown.isascii(), re.findall(r"[^\x00-\x7f]+", shown)
            assert not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", shown), "control characters"
            wide = [line for line in shown.replace("\r\n", "\n").split("\n")
                    if len(line) > 40 and not line.startswith(("> ", "shed.yaml: "))]
            assert not wide, wide
            expect_checked(place)


@check
def tolerance_in_ascii(program):
    """LC_ALL=C: a tolerance is shown with +/-."""
    with Place(program) as place:
        child = place.start("shed.yaml", LC_ALL="C")
        answer(child, answers("setter")[:9])
        prompt(child)
        child.sendline("-170 mm +/- 0.1 mm")
        child.expect_exact("-170 mm +/- 0.1 mm.")
        child.close(force=True)


@check
def without_a_person(program):
    """Nothing, a closed descriptor, a pipe that ends, now or later, within a line or behind one:
    over, status 2, nothing written."""
    for redirect in ("</dev/null", "<&-", "< <(echo 1)", "< <(printf '1\\n0 to 8')",
                     "< <(echo 1; sleep 0.3)", "--answers /dev/null", "--answers <(echo 1)"):
        with Place(program) as place:
            result = subprocess.run(["bash", "-c", f"{place.program} commission a.yaml {redirect}"],
                                    cwd=place.folder, env=place.environment(),
                                    capture_output=True, timeout=60)
            assert result.returncode == 2, (redirect, result)
            assert place.files() == [], redirect


@check
def end_at_the_review(program):
    """Answers that end exactly at the review write nothing; the next start is at the review."""
    lines = answers("setter")
    assert lines[-1] == "yes"
    for end in ("pipe", "terminal"):
        with Place(program) as place:
            if end == "pipe":
                result = place.run("commission", "shed.yaml",
                                   input="".join(line + "\n" for line in lines[:-1]).encode())
                assert result.returncode == 2 and b"== Review ==" in result.stdout, result
            else:
                child = place.start("shed.yaml")
                answer(child, lines[:-1])
                prompt(child)
                assert "== Review ==" in child.before
                child.send("\x04")
                finish(child, 2)
            assert place.files() == [] and len(place.drafts()) == 1, place.files()
            child = place.start("shed.yaml")
            prompt(child)
            assert "== Review ==" in child.before, child.before
            child.sendline("no")
            child.expect("Only yes writes it")
            assert place.files() == []
            answer(child, ["yes"])
            finish(child)
            with Place(program) as other:
                assert place.read() == straight(other, "setter")


@check
def answers_from_a_file(program):
    """Answers a line each from a file or a pipe; errors have the number of their line."""
    with Place(program) as place:
        lines = answers("setter")
        pathlib.Path(place.folder, "lines").write_text("\n".join(lines) + "\n")
        result = place.run("commission", "shed.yaml", "--answers", "lines")
        assert result.returncode == 0, result.stderr
        with Place(program) as other:
            assert place.read() == straight(other, "setter")
        # A piped run gives the same; a line that cannot be taken is named by its number.
        os.mkdir(os.path.join(place.folder, "b"))
        result = place.run("commission", "b/shed.yaml", input=("\n".join(lines) + "\n").encode())
        assert result.returncode == 0 and place.read("b/shed.yaml") == place.read()
        lines[5] = "1,500"
        pathlib.Path(place.folder, "lines").write_text("\n".join(lines) + "\n")
        result = place.run("commission", "c.yaml", "--answers", "lines")
        assert result.returncode == 2 and b"lines:6:" in result.stderr, result
        # Answers that end too soon: status 2, nothing written, and the draft goes on there.
        result = place.run("commission", "d.yaml", input=b"1\n0 to 800, 0 to 600, -90 to 0\n")
        assert result.returncode == 2 and b"after line 2" in result.stderr, result
        assert "d.yaml" not in place.files()
        child = place.start("d.yaml")
        child.expect("Going on with the draft")
        child.expect("Question 3 ")
        child.close(force=True)


@check
def existing_files(program):
    """Enter throughout leaves a file byte for byte; what is no machine file is refused."""
    samples = sorted((HERE / "../../sample-configs").glob("*router*.yaml"))
    assert samples
    for sample in samples:
        with Place(program) as place:
            copy = pathlib.Path(place.folder, "shed.yaml")
            shutil.copy(sample, copy)
            copy.chmod(0o640)
            about = copy.stat()
            result = place.run("commission", "shed.yaml", input=b"\n" * 400)
            assert result.returncode == 0, (sample, result.stderr, result.stdout[-600:])
            assert place.read() == sample.read_bytes(), sample
            assert copy.stat().st_mtime_ns == about.st_mtime_ns
            assert place.drafts() == [], place.drafts()
    with Place(program) as place:
        pathlib.Path(place.folder, "notes.yaml").write_text("shopping: milk\n")
        result = place.run("commission", "notes.yaml", input=b"\n" * 9)
        assert result.returncode == 2 and place.read("notes.yaml") == b"shopping: milk\n"


@check
def changed_in_place(program):
    """One value changed through a link: the link stays, rights stay, other bytes stay."""
    with Place(program) as place:
        target = pathlib.Path(place.folder, "real.yaml")
        sample = HERE / "../../sample-configs/workshop-router.yaml"
        shutil.copy(sample, target)
        target.chmod(0o640)
        os.symlink("real.yaml", os.path.join(place.folder, "shed.yaml"))
        child = place.start("shed.yaml")
        prompt(child)
        child.sendline("back change.standoff")
        prompt(child)
        assert "15 mm" in child.before, child.before
        child.sendline("14 mm")
        prompt(child)
        child.sendline("on")
        while True:
            prompt(child)
            if "Review" in child.before:
                break
            child.sendline("")
        assert "+  standoff: 14 mm" in child.before, child.before
        child.sendline("yes")
        finish(child)
        assert place.read() == sample.read_bytes().replace(b"standoff: 15 mm", b"standoff: 14 mm")
        assert target.stat().st_mode & 0o777 == 0o640
        assert os.path.islink(os.path.join(place.folder, "shed.yaml"))


@check
def drafts(program):
    """A damaged draft and one of another day's file are said to be so, and are kept aside."""
    with Place(program) as place:
        child = place.start("shed.yaml")
        answer(child, answers("setter")[:6])
        prompt(child)
        child.kill(signal.SIGKILL)
        child.close()
        draft = pathlib.Path(place.state, "proveout", place.drafts()[0])
        draft.write_bytes(draft.read_bytes()[:-20])
        child = place.start("shed.yaml")
        child.expect("damaged")
        child.expect("Question 1 ")
        answer(child, ["1"])
        prompt(child)
        child.close(force=True)
        assert len(place.drafts()) == 2, place.drafts()
    with Place(program) as place:
        sample = HERE / "../../sample-configs/workshop-router.yaml"
        copy = pathlib.Path(place.folder, "shed.yaml")
        shutil.copy(sample, copy)
        child = place.start("shed.yaml")
        answer(child, ["", "another name"])
        prompt(child)
        child.close(force=True)
        copy.write_bytes(copy.read_bytes() + b"# more\n")
        child = place.start("shed.yaml")
        child.expect("stale")
        child.close(force=True)


@check
def pasted(program):
    """100 kB in one line, with and without the editor, from a file as well."""
    for term in ("dumb", "xterm"):
        with Place(program) as place:
            child = place.start("shed.yaml", TERM=term)
            answer(child, ["1"])
            prompt(child)
            if term == "dumb":  # a plain terminal itself takes no longer line
                child.sendline("x" * 4000)
                child.expect("are wanted")
            else:
                for _ in range(100):
                    child.send("x" * 1000)
                child.send("\r")
                child.expect("too long", timeout=60)
            prompt(child)
            child.sendline("?")
            child.expect("Question 2 |Question 3 ")
            child.close(force=True)
    for term in ("dumb", "xterm"):  # 100 kB in lines: each is refused, and nothing is lost
        with Place(program) as place:
            child = place.start("shed.yaml", TERM=term)
            answer(child, ["1"])
            for _ in range(100):
                prompt(child)
                child.send(("word " * 40 + "\r") * 5)
                for _ in range(4):
                    prompt(child)
            prompt(child)
            child.sendline("?")
            prompt(child)
            assert "Question 2 " in child.before, child.before
            child.close(force=True)
    with Place(program) as place:
        result = place.run("commission", "shed.yaml", input=b"1\n" + b"x" * 100000 + b"\n")
        assert result.returncode == 2 and b"too long" in result.stdout, result
    with Place(program) as place:
        result = place.run("commission", "shed.yaml", input=b"1\n\xff\x00\x1b[31m\n")
        assert result.returncode == 2 and b"\x1b" not in result.stdout, result


@check
def revising(program):
    """Revise asks in the same way: Ctrl-C and the end leave file and terminal as they were."""
    sample = HERE / "../../sample-configs/workshop-router.yaml"
    for term in ("dumb", "xterm"):
        for how in ("\x03", "\x04", "stop\r", "14 mm\r"):
            with Place(program) as place:
                shutil.copy(sample, pathlib.Path(place.folder, "shed.yaml"))
                with Shell(place, term) as shell:
                    before = shell.stty()
                    shell.start("revise shed.yaml change.standoff")
                    prompt(shell.child)
                    time.sleep(0.05)
                    shell.child.send(how)
                    if how.startswith("14"):
                        prompt(shell.child)
                        assert "Write shed.yaml?" in shell.child.before
                        shell.child.send("15\r")  # a slip throws no answers away
                        prompt(shell.child)
                        assert "type yes or no" in shell.child.before
                        shell.child.send("yes\r")
                    status = shell.status()
                    assert shell.stty() == before, (term, how)
                wanted = sample.read_bytes()
                if how.startswith("14"):
                    wanted = wanted.replace(b"standoff: 15 mm", b"standoff: 14 mm")
                assert place.read() == wanted, (term, how)
                assert status == (0 if how.startswith("14") else 2), (term, how, status)


def until(out, text):
    """Reads until that was shown."""
    shown = b""
    while text not in shown:
        more = os.read(out, 65536)
        assert more, shown
        shown += more
    return shown


def expect_at_review(place, result, error):
    """Over, with nothing written, and the next start is at the review."""
    assert (result, error) == (2, UNSEEN), (result, error)
    assert place.files() == [] and len(place.drafts()) == 1, (place.files(), place.drafts())
    child = place.start("shed.yaml")
    prompt(child)
    assert "== Review ==" in child.before, child.before
    child.close(force=True)


UNSEEN = (b"proveout: nobody can see the questions any more: nothing is written, and the answers so "
          b"far are kept as a draft.\n")


@check
def unseen_review(program):
    """Whoever was to read the review is gone: a yes writes nothing, whether it comes later or is
    there already."""
    lines = "".join(line + "\n" for line in answers("setter")).encode()
    for ends in "pipe", "terminal":
        for gone in "before the answers", "at the review":
            with Place(program) as place:
                ours, theirs = os.pipe() if ends == "pipe" else pty.openpty()
                if ends == "terminal":
                    tty.setraw(theirs)
                with subprocess.Popen([place.program, "commission", "shed.yaml"], cwd=place.folder,
                                      env=place.environment(), stdin=subprocess.PIPE,
                                      stdout=theirs, stderr=subprocess.PIPE) as running:
                    os.close(theirs)
                    if gone == "at the review":
                        running.stdin.write(lines[:-len("yes\n")])
                        running.stdin.flush()
                        assert b"== Review ==" in until(ours, b"Type yes to write shed.yaml.")
                    else:
                        running.stdin.write(lines.split(b"\n")[0] + b"\n")
                        running.stdin.flush()
                        until(ours, b"Question 2 ")
                    os.close(ours)
                    _, error = running.communicate(lines if gone != "at the review" else b"yes\n",
                                                   timeout=20)
                if gone == "at the review":
                    expect_at_review(place, running.returncode, error)
                else:
                    assert (running.returncode, error) == (2, UNSEEN), error
                    assert place.files() == [] and len(place.drafts()) == 1


@check
def unwritten_review(program):
    """The same where what is shown goes into a file or onto a disk that takes no more of it."""
    lines = "".join(line + "\n" for line in answers("setter")).encode()
    with Place(program) as place:
        shown = place.run("commission", "shed.yaml", input=lines).stdout
        os.remove(os.path.join(place.folder, "shed.yaml"))
        review = shown.index(b"== Review ==")
        for most in 0, 1000, review + 5, len(shown[:review]) + 200:
            with open(os.path.join(place.folder, "out"), "wb") as out:
                result = subprocess.run(
                    [place.program, "commission", "shed.yaml"], cwd=place.folder, input=lines,
                    stdout=out, stderr=subprocess.PIPE, env=place.environment(), timeout=20,
                    preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)))
            assert result.returncode == 2 and "shed.yaml" not in place.files(), (most, result)
            assert UNSEEN in result.stderr and b"it would be too large" in result.stderr, result
            shutil.rmtree(place.state)
    with Place(program) as place, open("/dev/full", "wb") as full:
        result = subprocess.run([place.program, "commission", "shed.yaml"], cwd=place.folder,
                                input=lines, stdout=full, stderr=subprocess.PIPE,
                                env=place.environment(), timeout=20)
        assert result.returncode == 2 and place.files() == [], result
        assert b"standard output cannot be written: the disk is full" in result.stderr, result


def walked(walker, lines, *arguments):
    """Status, the file, and what stood before each line and at the end, by the library."""
    result = subprocess.run([walker, *arguments], input="".join(f"{line}\n" for line in lines).encode(),
                            capture_output=True)
    shown = [json.loads(text) for text in result.stderr.decode().split("\0")[:-1]]
    return result.returncode, result.stdout, shown


def by_library(program, walker):
    """The same answers through the public functions give the same file to the byte."""
    for kind in KINDS:
        lines = answers(kind)
        with Place(program) as place:
            wanted = straight(place, kind)
        status, file, shown = walked(walker, lines)
        assert status == 1 and file == wanted, (kind, status)
        assert len(shown) == len(lines) + 1
        for before in shown[:-2]:
            assert before["format"] == "proveout-question" and before["state"] == "question", before
            assert before["fields"] and before["number"] <= before["of"], before
            for field in before["fields"]:
                assert field["asks"] and (field["help"] or field["kind"] is None), field
        assert all(one["taken"] for one in shown), [one["said"] for one in shown if not one["taken"]]
        assert shown[-2]["state"] == "review" and shown[-2]["file"].encode() == wanted
        assert shown[-1]["state"] == "over"
        by_path = {field["path"]: (one, field) for one in shown[:-2] for field in one["fields"]}
        one, field = by_path["axes.x.travel"]
        assert [f["label"] for f in one["fields"]] == ["X", "Y", "Z"] and one["care"] == ["moves"]
        assert field["unit"] == ("mm" if kind == "setter" else "in") and field["offer"] is None
        words = [choice["word"] for choice in by_path["change.measures_with"][1]["choices"]]
        assert words == ["setter", "plate", "list", "hand"]
    # Numbers proposed at the review: taken by the first yes, and by the second the file is written.
    lines = answers("conspiring")
    status, file, shown = walked(walker, lines)
    *_, before, offered, taken, over = shown
    assert before["state"] == "question" and offered["state"] == taken["state"] == "review"
    changes = offered["proposal"]["changes"]
    assert [one["path"] for one in changes] == ["change.standoff", "change.probe_stroke"], changes
    assert changes[0]["now"] == "4 mm" and offered["proposal"]["left"] == 0, offered["proposal"]
    assert taken["proposal"] is None and taken["said"] == "Taken.", taken
    assert status == 1 and file.decode() == taken["file"] and over["state"] == "over"
    assert all(f": {one['text']} " in taken["file"] for one in changes), taken["file"]
    # Left as they are; whoever goes on from a draft, as after the first no, is asked again.
    status, file, shown = walked(walker, lines[:-2] + ["perhaps", "no", "no", "yes"])
    assert [one["taken"] for one in shown[-5:]] == [True, False, True, True, True], shown[-5:]
    assert shown[-3]["proposal"] and shown[-2]["proposal"] is None, shown[-2]
    assert status == 1 and b"standoff: 4 mm" in file
    assert offered["excluded"] is None, offered["excluded"]
    # No numbers will do: which rules exclude each other.
    lines[12:13] = ["5, normally_open", ""]
    _, _, shown = walked(walker, lines[:-2])
    excluded = shown[-1]["excluded"]
    assert shown[-1]["proposal"] is None and excluded["rules"] == [
        "probe-stroke-short (cutter 2)", "dead-input-crush (cutter 2)"], shown[-1]
    assert excluded["because"].startswith("Wherever it was looked"), excluded
    # Refused and taken; what the rules say; a window; the way back.
    status, _, shown = walked(walker, ["1", "1,500"])
    assert status == 0 and [one["taken"] for one in shown] == [True, True, False], shown
    assert "one number or more" in shown[2]["said"]
    _, _, shown = walked(walker, ["1", "back", ""])
    assert shown[2]["fields"][0]["path"] == "units", shown[2]
    assert shown[2]["offer"] == {"text": "mm", "enter": True, "source": "kept", "reason": None}
    sample = HERE / "../../sample-configs/workshop-router.yaml"
    status, file, shown = walked(walker, ["back change.standoff", "1 mm"], str(sample))
    assert "every rule holds" in shown[1]["fields"][0]["window"] and shown[1]["offer"]["text"] == "15 mm"
    assert {one["rule"] for one in shown[2]["findings"]} == {"approach-too-low"}, shown[2]
    assert file == sample.read_bytes().replace(b"standoff: 15 mm", b"standoff: 1 mm")
    status, file, shown = walked(walker, [""] * 300, str(sample))
    assert status == 2 and file == sample.read_bytes()
    assert walked(walker, ["1"], str(HERE / "setter.answers")) == (4, b"", [])
    assert walked(walker, ["1", "later"])[0] == 3


if __name__ == "__main__":
    # Whoever started the tests may ignore a hang-up; the programs under test must not inherit that.
    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    if sys.argv[1] == "--list":
        print("\n".join(CHECKS))
    elif sys.argv[2] == "--accept":
        for one in SHOWN:
            with Place(sys.argv[1]) as somewhere:
                (HERE / f"{one}.transcript").write_text(transcript(somewhere, one))
        for one in REVISIONS:
            with Place(sys.argv[1]) as somewhere:
                (HERE / f"{one}.transcript").write_text(revision(somewhere, one))
        (HERE / "measuring.transcript").write_text(measuring_transcript(sys.argv[1]))
    elif sys.argv[2] == "by_library":
        by_library(sys.argv[1], sys.argv[3])
    else:
        CHECKS[sys.argv[2]](sys.argv[1])
