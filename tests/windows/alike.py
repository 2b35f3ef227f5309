"""What the program for Windows says, byte for byte as that for this machine does.

    alike.py NATIVE PROGRAM SAMPLES     every command that only reads, in every form of its output, on
                                        all sample machines, or a share of them where it is
                                        neither text nor JSON; and every help
"""
import concurrent.futures
import os
import re
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
from share import is_drawn  # noqa: E402

# Of each machine, alone.
OF_A_MACHINE = {
    "check": [["--show", "all", "--arithmetic", "full"]],
    "window": [[]],
    "propose": [[]],
    "dryrun": [[]],
    "draw": [["--view", "plan"], ["--view", "side"]],
    "sheet": [[]],
}
PLAIN = {"text", "json"}
AT_ONCE = ["check", "check --jobs 4"] # of all machines in one run

def run(program, arguments, folder):
    done = subprocess.run([program, *arguments], cwd=folder, stdin=subprocess.DEVNULL,
                          capture_output=True, timeout=300, check=False)
    return done.returncode, done.stdout, done.stderr


def commands(native):
    listed = run(native, ["--help"], ".")[1].decode()
    return re.findall(r"^  ([a-z-]+) {2,}", listed, re.MULTILINE)


def help_of(native, command):
    return " ".join(run(native, [command, "--help"], ".")[1].decode().split())


def forms(native, command):
    """The choices of --format."""
    choices = re.search(r"--format FORMAT.*?\(([^;]*);", help_of(native, command))
    return [["--format", form] for form in choices[1].split(", ")] if choices else [[]]


def of_machines(native, samples):
    for command, ways in OF_A_MACHINE.items():
        for form in forms(native, command):
            for way in ways:
                for sample in samples:
                    yield [command, *form, *way, sample]
    for line in AT_ONCE:
        command, *way = line.split()
        for form in forms(native, command):
            yield [command, *form, *way, *samples]


def of_none(native):
    yield ["--help"]
    yield ["--version"]
    yield ["sheet", "--blank"]
    yield from ([command, "--help"] for command in commands(native))
    for what in "rules", "fields":
        listed = run(native, ["names", what], ".")[1].decode().splitlines()
        yield from (["explain", line.split("\t")[0]] for line in listed[::5])
    yield ["rules"]
    yield ["rules", "--prove"]
    kinds = re.search(r"Usage: proveout schema \[OPTION \.\.\.\] \[([^]]*)\]", help_of(native, "schema"))
    yield from (["schema", kind] for kind in kinds[1].split("|"))


def main(native, program, folder):
    samples = sorted(name for name in os.listdir(folder) if re.search(r"\.ya?ml$", name))
    asked = [one for one in of_machines(native, samples) if PLAIN & set(one) or is_drawn(one, 1)]
    asked += of_none(native)
    differs = bare = 0

    def both(arguments):
        return run(native, arguments, folder), run(program, arguments, folder)

    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for arguments, (here, there) in zip(asked, pool.map(both, asked)):
            bare += not here[1]
            if here == there:
                continue
            # Now and then, some once in five thousand times, Wine starts a program and nothing comes
            # of it, not even a word: once more, and then it counts.
            print(f"status {there[0]} for {here[0]}, {len(there[1])} bytes for {len(here[1])}, "
                  f"{there[2][-300:]!r}:", " ".join(arguments)[:200])
            if run(program, arguments, folder) != here:
                differs += 1
                print("differs again")
    print(f"{len(asked)} runs on {len(samples)} machines, {bare} of them without output, "
          f"{differs} differ")
    return differs != 0 or not samples or bare > len(asked) // 10


if __name__ == "__main__":
    sys.exit(main(os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), sys.argv[3]))
