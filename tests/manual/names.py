"""`proveout names`: one name a line whatever a file says, bounded, and quiet.

    names.py PROGRAM SAMPLES
"""
import glob
import os
import subprocess
import sys
import tempfile

SAMPLE = "stroke-too-short-for-the-short-cutter.yaml"
HOSTILE = ("$(touch ran)", "`touch ran`", "a; touch ran", "it's", 'say "so"', "a|b", "a b", "~", "&",
           "back\\\\slash", "*", "{a,b}")
UNSHOWN = ("\\n", "\\t", "\\e[2J", "\\u202e", "\\x7f", "\\0", "\\x9b")


def names(program, *arguments, **more):
    done = subprocess.run([program, "names", *arguments], capture_output=True, check=False,
                          timeout=60, stdin=subprocess.DEVNULL, **more)
    return done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")


def first(text):
    return [line.split("\t")[0] for line in text.splitlines()]


def expect(given, wanted, what):
    if given != wanted:
        sys.exit(f"{what}\ngiven:  {given!r}\nwanted: {wanted!r}")


def hostile_machine(text):
    """Cutters whose descriptions, and obstacles whose names, would be something to a shell."""
    said = [name.replace('"', '\\"') for name in HOSTILE] + ["x" + name for name in UNSHOWN]
    text += "obstacles:\n" if "\nobstacles:" not in text else ""
    for index, name in enumerate(said):
        text = text.replace("obstacles:\n", "obstacles:\n"
                            f'  - {{name: "{name}", x: [1 mm, 2 mm], y: [1 mm, 2 mm], top: 3 mm}}\n', 1)
        text = text.replace("\ncutters:\n", "\ncutters:\n"
                            f'  - {{number: {100 + index}, description: "{name}", shank: 6 mm}}\n', 1)
    return text


def leads_back(program, path, field):
    """Does the program find the value of that name in the file?"""
    done = subprocess.run([program, "window", path, "--", field], capture_output=True, text=True,
                          check=False, timeout=60)
    return done.returncode in (0, 1) and field.split(".")[-1] in done.stdout


def check_hostile(program, samples, folder):
    with open(os.path.join(samples, SAMPLE), encoding="utf-8") as file:
        text = hostile_machine(file.read())
    path = os.path.join(folder, "$(touch ran).yaml")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    before = sorted(os.listdir(folder))
    for what in ("cutters", "fields"):
        status, out, error = names(program, what, path, cwd=folder)
        expect((status, error), (0, ""), what)
        for line in out.splitlines():
            if line.count("\t") != 1 or not line.replace("\t", "", 1).isprintable():
                sys.exit(f"{what}: {line!r}")
    cutters = first(names(program, "cutters", path)[1])
    expect(cutters[:len(HOSTILE + UNSHOWN)],
           [str(100 + i) for i in reversed(range(len(HOSTILE + UNSHOWN)))], "numbers")
    fields = first(names(program, "fields", path)[1])
    for name in HOSTILE:
        plain = name.replace("\\\\", "\\")
        field = f"obstacles[name={plain}].top"
        if field not in fields or not leads_back(program, path, field):
            sys.exit(f"{field} is not there, or nowhere in the file")
    expect(sorted(os.listdir(folder)), before, "files")


def check_samples(program, samples):
    for path in sorted(glob.glob(os.path.join(samples, "*.yaml"))):
        status, out, error = names(program, "fields", path)
        expect((status, error), (0, ""), path)
        fields = first(out)
        if len(fields) < 150 or len(set(fields)) != len(fields) and "twice" not in path:
            sys.exit(f"{path}: {len(fields)} fields")


def check_quiet(program, samples, folder):
    """Nothing is said, waited for or made, whatever is named."""
    os.mkfifo(os.path.join(folder, "pipe.yaml"))
    for name, data in (("empty.yaml", b""), ("bytes.yaml", bytes(range(256))), ("n.yaml", b"a: 1\n")):
        with open(os.path.join(folder, name), "wb") as file:
            file.write(data)
    before = sorted(os.listdir(folder))
    for name in ("none.yaml", "empty.yaml", "bytes.yaml", "n.yaml", "pipe.yaml", ".", "", "-",
                 "/dev/zero", "/dev/tty"):
        for what in ("fields", "cutters"):
            expect(names(program, what, "--", name, cwd=folder), (2, "", ""), name)
    with open(os.path.join(samples, SAMPLE), "rb") as file:
        whole = file.read()
    for size in range(0, len(whole), 997):
        with open(os.path.join(folder, "part.yaml"), "wb") as file:
            file.write(whole[:size])
        status, _, error = names(program, "fields", "part.yaml", cwd=folder)
        if status not in (0, 2) or error:
            sys.exit(f"{size}: {status} {error}")
    os.remove(os.path.join(folder, "part.yaml"))
    expect(sorted(os.listdir(folder)), before, "files")


def check_bounded(program, folder):
    path = os.path.join(folder, "many.yaml")
    with open(path, "w", encoding="utf-8") as file:
        file.write("proveout: 1\ncutters:\n")
        file.writelines(f"  - {{number: {i}, stickout: 40 mm}}\n" for i in range(1, 20001))
    for what in ("cutters", "fields"):
        status, out, error = names(program, what, path)
        expect((status, error, len(out.splitlines())), (0, "", 10000), what)


def main(program, samples):
    program = os.path.abspath(program)
    with tempfile.TemporaryDirectory() as folder:
        check_samples(program, samples)
        check_quiet(program, samples, folder)
    with tempfile.TemporaryDirectory() as folder:
        check_hostile(program, samples, folder)
        check_bounded(program, folder)


if __name__ == "__main__":
    main(*sys.argv[1:])
