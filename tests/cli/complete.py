"""Every command has a case, and so has every output of it; README.md's table names every command.

    complete.py PROGRAM README

What there is comes from the program's own help, so that nothing new is forgotten here.
"""
import pathlib
import re
import subprocess
import sys

CASES = pathlib.Path(__file__).parent / "cases"


def told(program, *arguments):
    run = subprocess.run([program, *arguments, "--help"], capture_output=True, text=True, check=True)
    return run.stdout


def commands(program):
    part = told(program).split("\nCommands:\n")[1].split("\n\n")[0]
    return re.findall(r"^  (\S+)", part, re.MULTILINE)


def words(program, command):
    """What --format of a command takes, the usual one first; none where it has no such option."""
    text = re.sub(r"\n {20,}", " ", told(program, command))
    line = re.search(r"^ .*--format FORMAT.*\(([a-z, -]+); the first", text, re.MULTILINE)
    return line.group(1).split(", ") if line else []


def missing(program, readme):
    lines = [line for case in CASES.glob("*.case")
             for line in case.read_text(encoding="utf-8", errors="replace").splitlines()
             if line.startswith("run:")]
    for command in commands(program):
        own = [line for line in lines if re.match(rf"run: {command}\b", line)]
        if not own:
            yield f"{command}: no case of tests/cli/cases/ runs it"
        if f"| `proveout {command}" not in readme:
            yield f"{command}: README.md has no line for it"
        for word in words(program, command)[1:]:
            if not any(re.search(rf"(-f|--format)[ =]?{word}\b", line) for line in own):
                yield f"{command}: no case asks for --format {word}"


def main():
    program, readme = sys.argv[1:]
    wrong = list(missing(program, pathlib.Path(readme).read_text(encoding="utf-8")))
    asked = sum(len(words(program, command)) for command in commands(program))
    if len(commands(program)) < 7 or asked < 6:
        wrong.append(f"the help tells of {len(commands(program))} commands and {asked} outputs")
    print(*wrong, sep="\n")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main())
