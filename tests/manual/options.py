"""Help, manual and completions tell of the same commands, options and choices.

    options.py PROGRAM FILE ...

FILES are the pages of the manual and the completions of the shells.
"""
import os
import re
import subprocess
import sys


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def helped(program, command):
    """{option: its choices} of a command; of the program as a whole where it is empty."""
    done = subprocess.run([program, *filter(None, [command]), "--help"], capture_output=True,
                          text=True, check=True)
    part = re.sub(r"\n {20,}", " ", done.stdout.split("\nOptions:\n")[1])
    found = {}
    for letter, name, text in re.findall(r"^  (?:(-\w), |    )(--[a-z-]+)(.*)$", part, re.M):
        choices = re.search(r"\(([a-z, -]+); the first where", text)
        for one in filter(None, (letter, name)):
            found[one] = choices[1].split(", ") if choices else []
    return found


def commands(program):
    done = subprocess.run([program, "--help"], capture_output=True, text=True, check=True)
    part = done.stdout.split("\nCommands:\n")[1].split("\n\n")[0]
    return re.findall(r"^  (\S+)", part, re.M)


def page_options(text):
    found = {}
    part = text.split(".Sh OPTIONS\n")[1].split(".Sh ")[0]
    for head, below in re.findall(r"^\.It (Fl .*)\n((?:[^.].*\n)*)", part, re.M):
        choices = re.search(r"\(([a-z,\s-]+);\s+the\s+first\s+where", below)
        for one in re.findall(r"Fl (\S+)", head):
            found["-" + one.replace("\\-", "-")] = \
                re.split(r",\s+", choices[1]) if choices else []
    return found


def completed(text):
    """({command: {option: choices}}, commands) of the completions of one shell."""
    found, names = {}, []
    for line in text.replace(r"'\''", "'").splitlines():
        part = line.split("\t")
        if part[0] == "command":
            names.append(part[1])
        elif part[0] == "option":
            found.setdefault(part[1], {})[part[2]] = []
        elif part[0] == "value":
            found[part[1]][part[2]] = [item for item in part[3].split() if item[0] != "@"]
    return found, names


def unlike(one, other):
    return sorted(name for name in {*one, *other} if one.get(name) != other.get(name))


def differences(program, files):
    names = commands(program)
    shells = {place: completed(read(path)) for place, path in files.items() if ".1" not in place
              and not place.endswith((".5", ".7"))}
    if len(names) < 8 or len(shells) != 3:
        yield f"{len(names)} commands, completions of {sorted(shells)}"
    for place, (_, there) in shells.items():
        if there != names:
            yield f"{place}: the commands are {there}, not {names}"
    for command in ["", *names]:
        wanted = helped(program, command)
        page = page_options(read(files[f"proveout-{command}.1" if command else "proveout.1"]))
        if len(wanted) < 4 or page != wanted:
            yield f"page of {command or 'the program'}: {unlike(page, wanted)}"
        for place, (options, _) in shells.items():
            if options.get(command) != wanted:
                yield f"{place}: {command}: {unlike(options.get(command, {}), wanted)}"


def main(program, paths):
    wrong = list(differences(program, {os.path.basename(path): path for path in paths}))
    print(*wrong, sep="\n")
    return bool(wrong)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1], sys.argv[2:]))
