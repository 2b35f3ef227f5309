"""What only Windows has: drives, backslashes, devices, streams, names that lose their ends, files that
another program holds, the place for drafts.  Under Wine, where `Z:` is the root.

    system.py PROGRAM PREFIX HOLDS [CHECK ...]     HOLDS is holds.c as a program, PREFIX Wine's
    system.py --list
"""
import contextlib
import glob
import os
import re
import stat
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
SAMPLES = os.path.join(HERE, "..", "..", "sample-configs")
MACHINE = os.path.join(SAMPLES, "stroke-too-short-for-the-short-cutter.yaml")
NAMES = ["müller.yaml", "工作台.yaml", "router \U0001f6e0.yaml", "e\u0301.yaml"]
CHECKS = {}


def check(function):
    CHECKS[function.__name__] = function
    return function


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


class Shop:
    """A folder with a machine in it, `m.yaml`, which has one mistake."""

    def __init__(self, top, program, prefix, holds):
        self.top, self.program, self.prefix, self.holds = top, program, prefix, holds
        self.put("m.yaml", read(MACHINE))

    def put(self, name, data):
        os.makedirs(os.path.dirname(os.path.join(self.top, name)), exist_ok=True)
        with open(os.path.join(self.top, name), "wb") as file:
            file.write(data)

    def there(self):
        return sorted(os.path.relpath(os.path.join(place, name), self.top)
                      for place, _, names in os.walk(self.top) for name in names)

    def windows(self, name):
        return "Z:" + os.path.join(self.top, name).replace("/", "\\")

    def run(self, *arguments, given=b"", timeout=60):
        done = subprocess.run([self.program, *arguments], cwd=self.top, input=given,
                              capture_output=True, timeout=timeout, check=False)
        return done.returncode, done.stdout, done.stderr.decode()

    def finds(self, *arguments, called=None, **more):
        """Checked, with its one mistake, at a place that is called so."""
        status, out, err = self.run("check", *arguments, **more)
        called = arguments[0].replace("\\", "/") if called is None else called
        assert status == 1 and not err, (arguments, status, err)
        assert out.startswith(f"{called}:155:17: error: ".encode()), (arguments, out[:300])
        assert b"\r" not in out

    def refuses(self, *arguments, says="", **more):
        """Nothing is done, and it is said why."""
        before = {name: read(self.top, name) for name in self.there()}
        status, _, err = self.run(*arguments, **more)
        assert status == 2 and err.startswith("proveout: ") and says in err, (arguments, status, err)
        after = {name: read(self.top, name) for name in self.there()}
        assert before == after, (arguments, before.keys() ^ after.keys())


# --- paths ---

@check
def drives(shop):
    shop.finds(shop.windows("m.yaml"))
    shop.finds(shop.windows("m.yaml").replace("\\", "/"))
    shop.finds(shop.windows("m.yaml").replace("Z:", "z:"))
    shop.finds("Z:m.yaml")
    place = os.path.join(shop.prefix, "drive_c", "shop")
    os.makedirs(place, exist_ok=True)
    with open(os.path.join(place, "m.yaml"), "wb") as file:
        file.write(read(MACHINE))
    shop.finds("C:\\shop\\m.yaml")
    shop.refuses("check", "C:m.yaml", says="no such file")
    shop.refuses("check", "Q:\\m.yaml", says="no such file")
    status, _, err = shop.run("revise", "C:\\shop\\m.yaml", "change.probe_stroke", "25 mm", "--yes")
    assert status == 0, err
    assert b"25 mm" in read(place, "m.yaml") and os.listdir(place) == ["m.yaml"], os.listdir(place)


@check
def backslashes(shop):
    shop.put("sub/deep/m.yaml", read(MACHINE))
    for path in "sub\\deep\\m.yaml", ".\\m.yaml", "sub\\..\\m.yaml", "sub\\deep/m.yaml":
        shop.finds(path)
    shop.finds("sub\\", called="sub/deep/m.yaml")
    shop.finds("sub\\deep\\..\\..\\m.yaml")
    status, _, err = shop.run("draw", "--output", "sub\\deep\\m.svg", "m.yaml")
    assert status == 0 and os.path.exists(os.path.join(shop.top, "sub/deep/m.svg")), err
    assert all("\\" not in name for name in shop.there())


@check
def servers_and_long_forms(shop):
    shop.finds("\\\\?\\" + shop.windows("m.yaml"))
    shop.refuses("check", "\\\\nowhere.invalid\\share\\m.yaml", says="cannot be read")
    shop.refuses("check", "\\\\.\\C:", says="cannot be read")
    shop.refuses("check", "\\\\", says="")


@check
def stars(shop):
    """Shells of Windows leave them to the program."""
    shop.put("other.yaml", read(MACHINE))
    shop.put("sub/m.yaml", read(MACHINE))
    status, out, err = shop.run("check", "*.yaml")
    assert status == 1 and not err
    assert re.findall(rb"^(\S+): 1 error", out, re.MULTILINE) == [b"m.yaml", b"other.yaml"], out
    shop.finds("sub\\*.yaml", called="sub/m.yaml")
    shop.refuses("check", "*.yml", says="no such file")


@check
def capitals(shop):
    shop.finds("M.YAML")
    shop.refuses("draw", "--output", "M.yaml", "m.yaml", says="is a machine file")


@check
def letters(shop):
    for name in NAMES:
        folder = name.removesuffix(".yaml")
        shop.put(f"{folder}/{name}", read(MACHINE))
        shop.finds(f"{folder}\\{name}")
        shop.finds(folder, called=f"{folder}/{name}")
        status, out, err = shop.run("revise", f"{folder}\\{name}", "change.probe_stroke", "25 mm",
                                    "--yes")
        assert status == 0 and not err and f"{folder}/{name}".encode() in out, (name, out, err)
        assert os.listdir(os.path.join(shop.top, folder)) == [name]
        shop.refuses("check", f"no {name}", says=f"no {name} cannot be read")


@check
def long_paths(shop):
    """Longer than what a call takes that does not know of long ones."""
    folder = "/".join(["a folder with a rather long name " + "x" * 60] * 5)
    shop.put(f"{folder}/m.yaml", read(MACHINE))
    shop.finds(folder.replace("/", "\\") + "\\m.yaml")
    shop.finds(shop.windows(f"{folder}/m.yaml"))
    shop.finds(folder, called=f"{folder}/m.yaml")
    for command in (("revise", f"{folder}/m.yaml", "change.probe_stroke", "25 mm", "--yes"),
                    ("draw", "--output", f"{folder}/m.svg", f"{folder}/m.yaml")):
        status, _, err = shop.run(*command)
        assert status == 0, err
    assert sorted(os.listdir(os.path.join(shop.top, folder))) == ["m.svg", "m.yaml"]


# --- names that mean something else ---

@check
def devices(shop):
    """Nothing gets lost in one that looks like a file; only NUL by its own name takes what it gets."""
    status, _, err = shop.run("draw", "--output", "NUL", "m.yaml")
    assert status == 0 and not err
    for name in "nul.svg", "aux.svg", "COM1.svg", "lpt1.txt", "sub\\..\\con.svg", "nul .svg":
        shop.refuses("draw", "--output", name, "m.yaml", says="cannot be written")
    for name in "nul.yaml", "NUL", "CON", "com1.yaml":
        shop.refuses("commission", name, given=b"1\n")
        status, out, err = shop.run("check", name)
        assert status != 0 and (out or err), name


@check
def streams(shop):
    for name in "m.yaml:s", "new.svg:s", "m.yaml::$DATA":
        shop.refuses("draw", "--output", name, "m.yaml")
        shop.refuses("commission", name, given=b"1\n")
        shop.refuses("check", name, says="cannot be read")
    shop.refuses("revise", "m.yaml::$DATA", "change.probe_stroke", "25 mm", "--yes")


@check
def ends_of_names(shop):
    """Windows leaves out full stops and blanks there: it is the same file."""
    for name in "m.yaml.", "m.yaml ", "m.yaml. .":
        shop.refuses("draw", "--output", name, "m.yaml", says="is a machine file")


@check
def strangers(shop):
    """What a machine file names that somebody else wrote stays below its folder."""
    os.makedirs(os.path.join(shop.top, "own"))
    shop.put("secret.yaml", b"machine:\n  name: secret\n")
    shop.put("own/sub/x.yaml", b"machine:\n  name: x\n")
    for path in ("..\\secret.yaml", "sub\\..\\..\\secret.yaml", shop.windows("secret.yaml"),
                 "C:secret.yaml", "Z:secret.yaml", "\\\\localhost\\c$\\secret.yaml", "NUL",
                 "nul.yaml", "sub/CON.yaml", "sub/x.yaml:s", "sub/x.yaml.", "sub/x.yaml ",
                 "sub./x.yaml", "/secret.yaml", "\\secret.yaml", "../secret.yaml", "COM\u00b9"):
        for text in f"extends: '{path}'\n", f"from: '{path}'\n":
            shop.put("own/m.yaml", text.encode() + b"machine:\n  name: mine\n")
            status, out, err = shop.run("check", "own\\m.yaml")
            assert status != 0 and b"secret" not in out.replace(b"secret.yaml", b""), (path, out)
            if text.startswith("extends"):
                assert b"shared-file-unreadable" in out, (path, out, err)


@check
def links(shop):
    """Links of Windows, where Wine can make them."""
    shop.put("away/secret.txt", b"STROKE 25.00\n")
    os.makedirs(os.path.join(shop.top, "own"))
    made = subprocess.run([shop.holds, "--junction", "own\\there", shop.windows("away")],
                          cwd=shop.top, capture_output=True, timeout=60, check=False)
    if made.returncode:
        print("links: Wine makes none:", made.stdout.decode().strip())
        return
    shop.put("own/m.yaml", b"extends: there/secret.txt\nmachine:\n  name: mine\n")
    _, out, _ = shop.run("check", "own\\m.yaml")
    assert b"shared-file-unreadable" in out and b"STROKE" not in out, out


# --- line ends ---

def commands_that_save(name):
    return (("revise", name, "change.probe_stroke", "25 mm", "--yes"),
            ("revise", name, "--put-right", "--yes"))


@check
def line_ends(shop):
    dos = read(MACHINE).replace(b"\n", b"\r\n")
    for command in commands_that_save("dos.yaml"):
        shop.put("dos.yaml", dos)
        status, _, err = shop.run(*command)
        after = read(shop.top, "dos.yaml")
        assert status in (0, 1) and after != dos, (command, err)
        assert after.count(b"\n") == after.count(b"\r\n") == dos.count(b"\n"), command
    for data in dos, read(MACHINE):
        status, out, err = shop.run("check", "-", given=data)
        assert status == 1 and not err and b"\r" not in out and out.startswith(b"<stdin>:155:17: ")


# --- saving ---

@check
def read_only(shop):
    path = os.path.join(shop.top, "m.yaml")
    os.chmod(path, stat.S_IRUSR)
    for command in commands_that_save("m.yaml"):
        shop.refuses(*command, says="m.yaml")
    os.chmod(path, stat.S_IRUSR | stat.S_IWUSR)


@contextlib.contextmanager
def held(shop, name):
    """Open in another program, which lets others read it, and no more."""
    with subprocess.Popen([shop.holds, name], cwd=shop.top, stdin=subprocess.PIPE,
                          stdout=subprocess.PIPE) as process:
        assert process.stdout.readline().strip() == b"held"
        yield
        process.stdin.close()


@check
def open_elsewhere(shop):
    with held(shop, "m.yaml"):
        for command in commands_that_save("m.yaml"):
            shop.refuses(*command, says="another program holds it open")
        shop.finds("m.yaml")
    status, _, err = shop.run(*commands_that_save("m.yaml")[0])
    assert status == 0 and b"25 mm" in read(shop.top, "m.yaml"), err
    assert shop.there() == ["m.yaml"]


@check
def drafts(shop):
    """Below the local data of the user, and gone on with."""
    places = os.path.join(shop.prefix, "drive_c", "users", "*", "AppData", "Local", "proveout", "**")

    def kept():
        return {path for path in glob.glob(places, recursive=True) if os.path.isfile(path)}

    before = kept()
    status, out, err = shop.run("commission", "ä.yaml", given=b"1\r\n")
    assert status == 2 and len(kept() - before) == 1, (status, err, kept())
    assert b"millimetres" in out and b"\r" not in out
    status, out, err = shop.run("commission", "ä.yaml", given=b"skip\n")
    assert b"Going on with the draft" in out, out[:500]
    assert shop.there() == ["m.yaml"] and len(kept() - before) == 1
    status, out, err = shop.run("commission", "dos.yaml", given=b"1\n")
    for path in kept() - before:
        os.remove(path)


def main(program, prefix, holds, *chosen):
    failed = []
    for name in chosen or CHECKS:
        with tempfile.TemporaryDirectory() as top:
            try:
                CHECKS[name](Shop(os.path.realpath(top), os.path.abspath(program), prefix,
                                  os.path.abspath(holds)))
            except (AssertionError, subprocess.TimeoutExpired) as trouble:
                failed.append(name)
                print(f"--- {name}\n{trouble!r}"[:3000], flush=True)
    print(f"{len(chosen or CHECKS)} checks, {len(failed)} failed: {' '.join(failed)}")
    return bool(failed)


if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CHECKS))
    else:
        sys.exit(main(*sys.argv[1:]))
