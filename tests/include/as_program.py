"""The library's texts are those of the program, byte for byte.

    as_program.py PROVEOUT ANSWERS SAMPLES
"""
import datetime
import glob
import os
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import FEWER, share  # noqa: E402

TODAY = "2026-11-26"
DAYS = (datetime.date.fromisoformat(TODAY) - datetime.date(1970, 1, 1)).days
QUESTIONS = {"report": ["check"], "windows": ["window"], "propose": ["propose"],
             "wished": ["propose", "--keep", "change.retract", "--least", "change.probe_stroke",
                        "--least", "change.traverse_z", "--fastest"],
             "dryrun": ["dryrun"], "draw": ["draw"], "front": ["draw", "--view", "side"],
             "sheet": ["sheet"]}
FORMS = {"windows": ("json",), "draw": (None,), "front": (None,), "sheet": ("html", "svg")}


def output(*command):
    done = subprocess.run(command, capture_output=True, check=False)
    return done.returncode, done.stdout, done.stderr


def main(program, answers, samples):
    wrong = compared = 0
    # Policies belong to folders, of which the library knows nothing.
    place = tempfile.mkdtemp()
    samples = shutil.copytree(samples, os.path.join(place, "samples"),
                              ignore=shutil.ignore_patterns("proveout.policy.yaml"))
    os.chdir(samples)
    names = share(sorted(glob.glob("**/*.yaml", recursive=True)), 3)
    for name in names:
        for question, command in QUESTIONS.items():
            for form in FORMS.get(question, ("json", "text")):
                forms = ["--format", form] if form else []
                status, theirs, _ = output(program, *command, "--today", TODAY, *forms, name)
                ours_status, ours, _ = output(answers, question, form or "", name, str(DAYS))
                compared += 1
                if ours != theirs or (ours_status == 2) != (not theirs):
                    wrong += 1
                    print(f"{name}: {question} {form}: differs ({ours_status}, {status})")
    wrong += revised(program, answers, samples)
    for name in ("stroke-too-short", "probe-stroke-short", "change.standoff", "setter"):
        status, ours, trouble = output(answers, "explain", name, __file__, "0")
        theirs = output(program, "explain", "--examples", name)
        if ours != theirs[1] or (status == 2) != (theirs[0] == 2) or \
                trouble.decode().strip() not in theirs[2].decode():
            wrong += 1
            print(f"explain {name}: differs: {trouble}")
    print(f"{compared} compared, {wrong} differ")
    shutil.rmtree(place)
    return wrong or len(names) < 15 / FEWER


def revised(program, answers, samples):
    """revise --write writes what proveout_revise gives; what it refuses has no text."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        sample = "stroke-too-short-for-the-short-cutter.yaml"
        path = shutil.copy(os.path.join(samples, sample), folder)
        for setting in ("change.probe_stroke=23 mm", "cutters[0].stickout=31.5 mm"):
            _, moved, _ = output(answers, "compare", setting, path, "0")
            shown = output(program, "revise", path, setting)[1]
            if moved not in shown or not moved.startswith(b"What moves:"):
                wrong += 1
                print(f"compare {setting}: differs")
            status, ours, _ = output(answers, "revise", setting, path, "0")
            output(program, "revise", path, setting, "--write")
            with open(path, "rb") as file:
                if status or file.read() != ours or setting.split("=")[1].encode() not in ours:
                    wrong += 1
                    print(f"revise {setting}: differs")
        status, ours, trouble = output(answers, "revise", "change.probe_stroke=5 kg", path, "0")
        if status != 2 or ours or b"cannot be set so" not in trouble:
            wrong += 1
            print("revise: a mass is no length")
    return wrong


if __name__ == "__main__":
    sys.exit(main(*map(os.path.abspath, sys.argv[1:])))
