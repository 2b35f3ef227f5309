"""What `meson install` gives to other programs: the example builds with nothing but pkg-config,
against the shared and the static library, and finds what the program finds; and the manual and the
completions lie where their readers look.

    installed.py BUILD SAMPLES COMPILER...
"""
import glob
import json
import os
import re
import subprocess
import sys
import tempfile
import time

LINE = re.compile(r"^(\S+?)(:\d+:\d+)?: (error|warning|note): (.*) \[([a-z0-9-]+)\]$")


def run(*command, **more):
    return subprocess.run(command, capture_output=True, text=True, check=False, **more)


def must(*command, **more):
    done = run(*command, **more)
    if done.returncode:
        raise SystemExit(f"{' '.join(command)}: {done.stdout}{done.stderr}")
    return done.stdout


def built(root, compiler, folder):
    """The example against the shared library and against the static one."""
    found = glob.glob(root + "/**/proveout.pc", recursive=True)
    if len(found) != 1:
        raise SystemExit(f"proveout.pc: {found}")
    library = os.path.dirname(os.path.dirname(found[0]))
    environment = {**os.environ, "PKG_CONFIG_PATH": os.path.dirname(found[0]),
                   "PKG_CONFIG_SYSROOT_DIR": root}
    source = glob.glob(root + "/**/share/doc/proveout/examples/check.c", recursive=True)[0]
    for kind in ("shared", "static"):
        flags = must("pkg-config", "--cflags", "--libs", *["--static"] * (kind == "static"),
                     "proveout", env=environment).split()
        if kind == "static":
            flags[flags.index("-lproveout")] = "-l:libproveout.a"
        program = os.path.join(folder, kind)
        must(*compiler, "-Wall", "-Wextra", "-Werror", source, "-o", program, *flags)
        loads = must("ldd", program)
        if ("libproveout" in loads) != (kind == "shared"):
            raise SystemExit(f"{kind}: {loads}")
        yield program, {**os.environ, "LD_LIBRARY_PATH": library}


# below share/
FOR_READERS = ("man/man1/proveout.1", "man/man1/proveout-check.1", "man/man5/proveout-machine.5",
               "man/man5/proveout-rulebook.5", "man/man7/proveout-margins.7",
               "bash-completion/completions/proveout", "zsh/site-functions/_proveout",
               "fish/vendor_completions.d/proveout.fish",
               "doc/proveout/examples/sample-configs/workshop-router.yaml",
               "doc/proveout/examples/sample-configs/shared-repository/.gitlab-ci.yml")


def not_there(root):
    for name in FOR_READERS:
        found = glob.glob(f"{root}/**/share/{name}", recursive=True)
        if len(found) != 1 or not os.path.getsize(found[0]):
            yield f"{name}: {found}"


def expected(program, sample, today):
    """What the example must print, from the program's own JSON, and its status."""
    done = run(program, "check", "--today", today, "--format", "json", sample)
    lines = []
    for found in json.loads(done.stdout)["files"][0]["evaluations"]:
        if found["outcome"] == "failed" and not found["implied_by"]:
            place = f":{found['line']}:{found['column']}" if found["line"] else ""
            lines.append(f"{sample}{place}: {found['level']}: {found['message']} "
                         f"[{found['rule']}]")
    return lines, done.returncode


def main(build, samples, *compiler):
    wrong = compared = 0
    os.chdir(build)
    with tempfile.TemporaryDirectory() as folder:
        root = os.path.join(folder, "root")
        must("meson", "install", "-C", build, "--no-rebuild", "--destdir", root)
        program = glob.glob(root + "/**/bin/proveout", recursive=True)[0]
        missing = list(not_there(root))
        if missing:
            raise SystemExit("\n".join(missing))
        examples = list(built(root, compiler, folder))
        os.chdir(samples)
        for sample in sorted(glob.glob("*.yaml")):
            today = time.strftime("%Y-%m-%d", time.gmtime())
            lines, status = expected(program, sample, today)
            for example, environment in examples:
                done = run(example, sample, env=environment)
                compared += 1
                ours = done.stdout.splitlines()
                if ours != lines or done.returncode != status or \
                        not all(LINE.match(line) for line in ours):
                    wrong += 1
                    print(f"{sample}: {os.path.basename(example)}: status {done.returncode}, "
                          f"not {status}\n{done.stdout}{done.stderr}")
            theirs = [line for line in run(program, "check", "--today", today, sample)
                      .stdout.splitlines() if LINE.match(line)]
            if not set(theirs) <= set(lines):
                wrong += 1
                print(f"{sample}: the text has {set(theirs) - set(lines)} besides")
    print(f"{compared} compared, {wrong} differ")
    return wrong or not compared


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
