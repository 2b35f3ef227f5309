"""What is made for others to install: Debian's packages, and the static executable.

    run.py [FOLDER]

Where KEEP names a folder, what was built is copied there for the release.

Each is built twice, the second time elsewhere, by another user, in another zone, language and with
another umask, and has to be the same bytes.  The packages are looked at by lintian, installed in a
fresh Debian of the same release, used, tested by autopkgtest, and purged, which has to leave nothing.
The executable runs where there is nothing else, and says what the packaged program says.

As root or as a user with sudo; needs what .ci/run installs for it, and apt's mirror for the fresh
Debian.  Each step says "package: STEP: passed" or "failed".
"""
import concurrent.futures
import glob
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time

import pexpect

HERE = os.path.dirname(os.path.abspath(__file__))
TOP = os.path.abspath(os.path.join(HERE, "..", ".."))
SAMPLES = os.path.join(TOP, "sample-configs")
SAMPLE, FOUND = "stroke-too-short-for-the-short-cutter.yaml", "[probe-stroke-short]"
INSTALLED = "/usr/share/doc/proveout/examples/sample-configs"
PACKAGES = ["proveout", "libproveout0", "libproveout-dev"]
ROOT = [] if os.geteuid() == 0 else ["sudo"]
PLAIN = {"LC_ALL": "C.UTF-8", "PATH": "/usr/sbin:/usr/bin:/sbin:/bin", "TERM": "dumb"}
# What packages leave alone when they come and go: caches, lists, logs, dpkg's own of the last state.
KEPT_BY_OTHERS = re.compile(r"/(proc|sys|dev|tmp|run)/|/var/(cache|log|lib/apt)/|/var/lib/dpkg/[^/]*$")


class Failed(Exception):
    pass


def run(*command, status=(0,), **more):
    """What a command writes; it fails the step where it ends otherwise than it should."""
    done = subprocess.run(command, capture_output=True, check=False, **more)
    if done.returncode not in status:
        raise Failed(f"{' '.join(command)}: status {done.returncode}\n" +
                     (done.stdout + done.stderr).decode(errors="replace")[-6000:])
    return done.stdout


def root(*command, **more):
    return run(*ROOT, "env", "-i", *[f"{name}={value}" for name, value in PLAIN.items()],
               "DEBIAN_FRONTEND=noninteractive", *command, **more)


def must(true, why):
    if not true:
        raise Failed(why)


class Made:
    """Everything that is built, in a folder that others may look into."""

    def __init__(self, folder):
        self.folder = folder
        self.fresh = os.path.join(folder, "fresh")
        self.other = os.path.join(folder, "other")
        self.program = os.path.join(folder, "unpacked/usr/bin/proveout")

    def out(self, kind, which):
        return os.path.join(self.folder, which, "out-" + kind)

    def packages(self):
        return sorted(glob.glob(self.out("deb", "here") + "/*.deb"))

    def static(self):
        return glob.glob(self.out("static", "here") + "/proveout-*-linux-*[!t]")[0]

    def build_here(self, kind):
        to = self.out(kind, "here")
        os.makedirs(to)
        run(os.path.join(TOP, ".package", kind), to)
        if kind == "deb":
            for package in self.packages():
                run("dpkg-deb", "-x", package, os.path.join(self.folder, "unpacked"))

    def clone(self):
        sources = os.path.join(self.other, "sources")
        run("git", "clone", "-q", TOP, sources)
        run(*ROOT, "chown", "-R", "nobody", self.other)

    def build_elsewhere(self, kind):
        """As nobody, in a clone."""
        script = f"cd {self.other} && umask 077 && sources/.package/{kind} {self.out(kind, 'other')} && " \
                 f"chmod -R go+rX {self.out(kind, 'other')}"
        run(*ROOT, "runuser", "-u", "nobody", "--", "env", "TZ=Pacific/Kiritimati", "LANG=tr_TR.UTF-8",
            "LC_ALL=tr_TR.UTF-8", "HOME=" + self.other, "TMPDIR=" + self.other, "sh", "-c", script,
            cwd="/")

    def install_fresh(self):
        """A Debian of the release that runs here, from where apt gets it; what every user of the
        packages has is there before they come."""
        with open("/etc/os-release", encoding="utf-8") as file:
            release = re.search(r"^VERSION_CODENAME=(.*)$", file.read(), re.M)[1]
        lists = sorted(set(run("apt-get", "indextargets", "Created-By: Packages", "Label: Debian",
                               "--format", "$(REPO_URI) $(RELEASE) $(COMPONENT)").decode().splitlines()))
        mirror = next(line.split()[0] for line in lists if line.split()[1] == release)
        root("debootstrap", "--variant=minbase", release, self.fresh, mirror)
        root("sh", "-c", f"cat >{self.fresh}/etc/apt/sources.list",
             input="".join(f"deb {line}\n" for line in lists).encode())
        self.inside("apt-get", "-q", "update")
        self.inside("apt-get", "-q", "-y", "install", "--no-install-recommends", "man-db")

    def inside(self, *command, **more):
        return root("chroot", self.fresh, *command, **more)


def prepared(made):
    """All that takes long, as much at once as there are processors; what went wrong, by its name."""
    jobs = {"deb": (made.build_here, "deb"), "static": (made.build_here, "static"),
            "fresh": (made.install_fresh,), "deb again": (made.build_elsewhere, "deb"),
            "static again": (made.build_elsewhere, "static")}
    troubles = {}

    def work(name):
        began = time.monotonic()
        try:
            jobs[name][0](*jobs[name][1:])
        except (Failed, OSError, IndexError) as error:
            troubles[name] = str(error)
        print(f"{name}: {time.monotonic() - began:.0f} s", flush=True)

    with concurrent.futures.ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool:
        list(pool.map(work, jobs))
    return troubles


def same(made, kind, number):
    here, there = (sorted(glob.glob(made.out(kind, which) + "/*")) for which in ("here", "other"))
    names = [os.path.basename(path) for path in here]
    must(len(here) == number, f"{names}, and not {number}")
    must(names == [os.path.basename(path) for path in there], f"{names} are others elsewhere")
    for one, other in zip(here, there):
        run("cmp", one, other)
        print(f"{os.path.basename(one)}: {os.path.getsize(one)} bytes")


def packages(made):
    same(made, "deb", 3)


def lintian(made):
    told = run("lintian", "--allow-root", "--fail-on", "error,warning", "--display-info", *made.packages())
    print(told.decode(), end="")


def files(made):
    """Every file of the fresh Debian that a package may have left."""
    listed = root("find", made.fresh, "-xdev", "-printf", "/%P\\n").decode().splitlines()
    return {path for path in listed if not KEPT_BY_OTHERS.match(path)}


def installed(made):
    """What is in the packages is there, whole, and can be used."""
    root("mkdir", "-p", made.fresh + "/tmp/packages")
    root("cp", *made.packages(), made.fresh + "/tmp/packages")
    made.inside("sh", "-c", "apt-get -q -y install --no-install-recommends /tmp/packages/*.deb")
    must(made.inside("dpkg", "--verify", *PACKAGES) == b"", "dpkg finds files that are not as they came")
    there = files(made)
    owned = made.inside("dpkg", "-L", *PACKAGES).decode().split("\n")
    missing = [path for path in owned if path.startswith("/") and path not in there | {"/."}]
    must(not missing, f"not there: {missing}")
    samples = run("git", "-C", TOP, "ls-files", "sample-configs").decode().splitlines()
    missing = [name for name in samples
               if os.path.join(os.path.dirname(INSTALLED), name) not in owned]
    must(not missing, f"not in the packages: {missing}")
    told = made.inside("sh", "-c", f"cd {INSTALLED} && proveout check --format json *.yaml", status=(1,))
    names = [entry["path"] for entry in json.loads(told)["files"]]
    must(len(names) == len(glob.glob(SAMPLES + "/*.yaml")), f"checked are {names}")
    told = made.inside("proveout", "check", f"{INSTALLED}/{SAMPLE}", status=(1,)).decode()
    must(FOUND in told, told)
    pages = [path for path in owned if re.match(r"/usr/share/man/.*\.gz$", path)]
    for page in pages:
        name, section = re.match(r".*/(.*)\.(\d)\.gz", page).groups()
        warned = made.inside("sh", "-c", 'man --warnings "$0" "$1" 2>&1 >/dev/null', section, name)
        text = made.inside("man", section, name).decode()
        must(not warned and "NAME" in text and name in text, f"{page}: {warned.decode()}{text[:400]}")
    print(f"{len(owned)} files, {len(names)} samples, {len(pages)} pages of the manual")


def purged(made):
    """Whatever came with them goes with them."""
    made.inside("apt-get", "-q", "-y", "purge", "--autoremove", *PACKAGES)
    root("rm", "-rf", made.fresh + "/tmp/packages")
    left, gone = files(made) - made.before, made.before - files(made)
    must(not left and not gone, f"left over: {sorted(left)}; no longer there: {sorted(gone)}")


def tested(made):
    """autopkgtest, with the sources that the packages were built from."""
    tree = os.path.join(made.folder, "tree")
    os.makedirs(tree)
    run("sh", "-c", 'git -C "$0" archive HEAD | tar -x -C "$1"', TOP, tree)
    shutil.copytree(os.path.join(tree, ".package/debian"), os.path.join(tree, "debian"))
    doc = os.path.join(made.folder, "unpacked/usr/share/doc/proveout")
    with open(os.path.join(tree, "debian/changelog"), "wb") as file:
        file.write(run("gzip", "-dc", doc + "/changelog.gz"))
    told = root("autopkgtest", "-B", *made.packages(), tree + "/", "--", "chroot", made.fresh).decode()
    results = re.findall(r"^(\w+) +PASS", told, re.M)
    must(sorted(set(results)) == ["library", "program"], told[-3000:])


def static(made):
    same(made, "static", 2)
    must(b"INTERP" not in run("readelf", "-lW", made.static()), "it wants a loader")
    must(b"no dynamic section" in run("readelf", "-d", made.static()), "it wants libraries")


def typed(command, home, terminal, keys):
    """What a program at a terminal takes the keys for that answer its first question, and whether
    it knows what that terminal can do."""
    child = pexpect.spawn(command[0], command[1:], cwd=home, timeout=20,
                          env={**PLAIN, "TERM": terminal, "HOME": home})
    child.expect("Enter takes mm.*\n> ")
    known = b"using dumb terminal" not in child.before
    child.send(keys)
    child.expect(r"\(in\s+([a-z]+)\)|Type 1")
    answer = child.match[1]
    child.close(force=True)
    return answer, known


def alone(made):
    """In a folder as the root, with nothing in it but the executable and a sample."""
    place = os.path.join(made.folder, "alone")
    os.makedirs(place)
    shutil.copy(made.static(), os.path.join(place, "proveout"))
    shutil.copy(os.path.join(SAMPLES, SAMPLE), place)
    # a folder of its own for the other program, which writes the same
    beside = os.path.join(made.folder, "beside")
    os.makedirs(beside)
    shutil.copy(os.path.join(SAMPLES, SAMPLE), beside)

    def both(*arguments, **more):
        ours = run(*ROOT, "env", "-i", "HOME=/", "/usr/sbin/chroot", place, "/proveout", *arguments, **more)
        theirs = run("env", "-i", "HOME=" + beside, made.program, *arguments, cwd=beside, **more)
        must(ours == theirs, f"{arguments}: {ours.decode()}\nother than\n{theirs.decode()}")
        return ours.decode()

    today = ("--today", "2026-11-01")
    version = re.search(r"-([\d.]+)-linux", made.static())[1]
    must(both("--version").startswith(f"proveout {version}\nrules "), "another version")
    must(FOUND in both("check", *today, SAMPLE, status=(1,)), "the mistake is not found")
    both("sheet", *today, SAMPLE, "-o", "sheet.html", status=(1,))
    run("cmp", place + "/sheet.html", beside + "/sheet.html")
    told = both("commission", "new.yaml", input=b"inch\nlater\n")
    must("all answers are kept" in told, told)
    told = both("commission", "new.yaml", input=b"later\n")
    must("Going on with the draft" in told, told)
    # Typed at a terminal: edited where it is known what the terminal can do, and else as it is.
    moved = "ich\x1b[D\x1b[Dn\r"
    for program in (made.static(), made.program):
        must(typed([program, "commission", "edited.yaml"], beside, "xterm", moved) == (b"inches", True),
             f"{program}: not edited")
        run("rm", "-r", beside + "/.local")
    bare = [*ROOT, "/usr/sbin/chroot", place, "/proveout", "commission", "plain.yaml"]
    must(typed(bare, "/", "xterm", "inch\r") == (b"inches", False), "not taken where no terminal is known")


def samples(made):
    """Byte for byte what the packaged program says, of all samples, whole and spoilt."""
    folder = os.path.join(made.folder, "spoilt")
    os.makedirs(folder)
    run(sys.executable, "-B", os.path.join(TOP, "tests/portable/spoil.py"), SAMPLES, folder, "3")
    compared = 0
    for place in (SAMPLES, folder):
        for form in ("text", "json", "sarif"):
            arguments = ["check", "--today", "2026-11-01", "--show", "all", "--format", form, "."]
            ours, theirs = (run(program, *arguments, cwd=place, env=PLAIN, status=(1, 2))
                            for program in (made.static(), made.program))
            must(ours == theirs, f"{place}: {form} differs")
            compared += len(ours)
    for path in sorted(glob.glob(SAMPLES + "/*.yaml")):
        for command in (["propose"], ["dryrun", "--format", "json"], ["sheet", "--today", "2026-11-01"]):
            ours, theirs = (subprocess.run([program, *command, path], env=PLAIN, check=False,
                                           capture_output=True) for program in (made.static(), made.program))
            must((ours.returncode, ours.stdout, ours.stderr) ==
                 (theirs.returncode, theirs.stdout, theirs.stderr), f"{path}: {command[0]} differs")
            compared += len(ours.stdout)
    must(compared > 1000000, "hardly anything was compared")
    print(f"{compared} bytes compared")


def steps(made, troubles):
    yield "packages", packages, ("deb", "deb again")
    yield "lintian", lintian, ("deb",)
    yield "installed", installed, ("deb", "fresh")
    yield "purged", purged, ("deb", "fresh")
    yield "tested", tested, ("deb", "fresh")
    yield "static", static, ("static", "static again")
    yield "alone", alone, ("static", "deb")
    yield "samples", samples, ("static", "deb")


def main(folder):
    os.chmod(folder, 0o755)
    made = Made(folder)
    os.makedirs(made.other)
    made.clone()
    troubles = prepared(made)
    if "fresh" not in troubles:
        made.before = files(made)
    wrong = 0
    for name, step, needs in steps(made, troubles):
        lacking = [troubles[need] for need in needs if need in troubles]
        try:
            must(not lacking, "\n".join(lacking))
            step(made)
            print(f"package: {name}: passed", flush=True)
        except (Failed, OSError, LookupError, ValueError, pexpect.ExceptionPexpect) as error:
            print(f"{error}\npackage: {name}: failed", flush=True)
            wrong += 1
    if os.environ.get("KEEP"):
        for path in glob.glob(made.out("*", "here") + "/*"):
            os.makedirs(os.environ["KEEP"], exist_ok=True)
            shutil.copy(path, os.environ["KEEP"])
    return wrong > 0


if __name__ == "__main__":
    if len(sys.argv) > 1:
        os.makedirs(sys.argv[1])
        sys.exit(main(os.path.abspath(sys.argv[1])))
    # Not where .ci/run works: nobody may look into that.
    place = tempfile.mkdtemp(prefix="proveout-packages.", dir="/tmp")
    try:
        sys.exit(main(place))
    finally:
        subprocess.call([*ROOT, "rm", "-rf", place])
