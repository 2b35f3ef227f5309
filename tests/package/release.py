"""A release as .package/release has made it: whole, in agreement with itself, and nobody's traces in it.

    release.py RELEASE [--again OTHER] [--modules NODE_MODULES]

OTHER is the release of the same commit, made again, and has to be the same bytes.  In NODE_MODULES there
is spdx-expression-validate, which the licences are read by.  The sources are built, so what that needs
has to be there.  Each step says "release: STEP: passed" or "failed".
"""
import base64
import getpass
import gzip
import hashlib
import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tarfile
import tempfile
import zipfile

TOP = os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", ".."))
RELATIONS = {"DESCRIBES", "CONTAINS", "GENERATED_FROM"}


class Failed(Exception):
    pass


def must(true, why):
    if not true:
        raise Failed(why)


def run(*command, **more):
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False, **more)
    must(done.returncode == 0, f"{' '.join(command)}: status {done.returncode}\n"
         f"{done.stdout.decode(errors='replace')[-4000:]}")
    return done.stdout


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


def digest(kind, data):
    return hashlib.new(kind.lower(), data).hexdigest()


class Release:
    def __init__(self, folder):
        self.folder = folder
        self.files = sorted(os.path.relpath(os.path.join(place, name), folder)
                            for place, _, names in os.walk(folder) for name in names)
        self.version = re.search(r"version: '([\d.]+)'", read(TOP, "meson.build").decode())[1]
        self.name = "proveout-" + self.version
        self.time = int(run("git", "-C", TOP, "log", "-1", "--format=%ct"))
        self.static = f"{self.name}-linux-{os.uname().machine}"

    def read(self, name):
        return read(self.folder, name)

    def zip(self):
        return zipfile.ZipFile(os.path.join(self.folder, self.name + "-windows.zip"))

    def tar(self):
        return tarfile.open(os.path.join(self.folder, self.name + ".tar.xz"))

    def in_zip(self, name):
        with self.zip() as file:
            return file.read(f"{self.name}/{name}")

    def page_block(self, name):
        """What the page carries packed."""
        block = re.search(rb'<script type="text/plain" id="%s">\s*([\w+/=\s]*?)\s*</script>' % name.encode(),
                          self.read("proveout.html"))
        return gzip.decompress(base64.b64decode(block[1]))

    def debs(self):
        return [name for name in self.files if name.endswith(".deb")]


def names(release):
    arch = run("dpkg", "--print-architecture").decode().strip()
    version = release.version
    wanted = {f"{release.name}.tar.xz", f"{release.name}-windows.zip", f"{release.name}.spdx.json", "SHA256SUMS",
              release.static, release.static + "-licences.txt", "proveout.html", "site/index.html",
              "site/worker.js", "site/icon.svg", "site/proveout.webmanifest",
              *(f"{package}_{version}_{arch}.deb" for package in ("proveout", "libproveout0", "libproveout-dev"))}
    must(set(release.files) == wanted, f"otherwise than wanted: {sorted(wanted ^ set(release.files))}")
    must(os.access(os.path.join(release.folder, release.static), os.X_OK), "the executable cannot be run")
    must(release.read("site/index.html") == release.read("proveout.html"), "two pages")


def sums(release):
    rows = dict(reversed(line.split("  ")) for line in release.read("SHA256SUMS").decode().splitlines())
    must(sorted(rows) == [name for name in release.files if name != "SHA256SUMS"], f"sums of {sorted(rows)}")
    must(list(rows) == sorted(rows), "in no order")
    for name, given in rows.items():
        must(digest("sha256", release.read(name)) == given, f"{name} has another checksum")
    run("sha256sum", "--strict", "-c", "SHA256SUMS", cwd=release.folder)


def zipped(release):
    path = os.path.join(release.folder, release.name + "-windows.zip")
    if shutil.which("unzip"):
        run("unzip", "-tq", path)
    with release.zip() as file:
        must(file.testzip() is None, "it is broken")
        entries = file.infolist()
        inside = [entry.filename for entry in entries]
        must(inside == sorted(inside) and len(set(inside)) == len(inside), "in no order")
        times = {entry.date_time for entry in entries}
        must(len(times) == 1, f"of several times: {times}")
        samples = run("git", "-C", TOP, "ls-tree", "-r", "--name-only", "HEAD", "sample-configs").decode().splitlines()
        wanted = {f"{release.name}/{name}" for name in (*samples, "read-me-first.html", "proveout.exe",
                                                        "proveout.html", "LICENSE.txt", "CHANGES.txt")}
        licences = {name for name in inside if name.startswith(release.name + "/licences/")}
        must(set(inside) - licences == wanted and len(licences) >= 7, f"{sorted(set(inside) ^ wanted)}")
        for entry in entries:
            data = file.read(entry)
            lines = data.count(b"\n")
            texts = re.fullmatch(r"[^/]*/((licences/)?[^/]*\.txt|read-me-first\.html)", entry.filename)
            must(not texts or lines == data.count(b"\r\n") > 3, f"{entry.filename}: not lines of Windows")
    page = release.in_zip("read-me-first.html").decode()
    for place in re.findall(r'href="([^"]*)"', page):
        must(any(name.startswith(f"{release.name}/{place}") for name in inside), f"{place} is not there")
    must(f"{release.name}-windows.zip" in page and "@" not in page, "the page to read first is not filled in")
    must(release.in_zip("proveout.html") == release.read("proveout.html"), "two pages")
    must(release.in_zip("LICENSE.txt").replace(b"\r", b"") == read(TOP, "LICENSE"), "another licence")
    print(f"{len(inside)} files in the zip, {len(licences)} texts of licences")


def archive(release):
    """All files of the commit, and what changed."""
    with release.tar() as tar:
        members = tar.getmembers()
        inside = [member.name for member in members if member.isfile()]
        commit = run("git", "-C", TOP, "ls-tree", "-r", "--name-only", "HEAD").decode().splitlines()
        wanted = sorted(f"{release.name}/{name}" for name in (*commit, "CHANGES"))
        must(sorted(inside) == wanted, f"{sorted(set(inside) ^ set(wanted))}")
        odd = [member.name for member in members
               if member.mtime != release.time or (member.uname, member.gname) != ("root", "root")
               or member.mode & 0o7022]
        must(not odd, f"of another time, owner or mode: {odd[:5]}")
        changes = tar.extractfile(release.name + "/CHANGES").read()
    must(changes == run(os.path.join(TOP, ".package/changes")), "CHANGES is not of this commit")
    must(changes.startswith(f"proveout {release.version}, of ".encode()) and changes.count(b"\n* ") > 3,
         changes.decode())
    must(release.in_zip("CHANGES.txt").replace(b"\r", b"") == changes, "the zip has other changes")


def unpacked(release, folder):
    """Name and bytes of everything, and of everything in it."""
    for name in release.files:
        data = release.read(name)
        yield name, data
        if name.endswith(".deb"):
            place = os.path.join(folder, name)
            run("dpkg-deb", "-R", os.path.join(release.folder, name), place)
            for path, _, inner in os.walk(place):
                for one in inner:
                    if not os.path.islink(os.path.join(path, one)):
                        plain = read(path, one)
                        plain = gzip.decompress(plain) if one.endswith(".gz") else plain
                        yield f"{name}: {os.path.relpath(os.path.join(path, one), place)}", plain
    for block in ("licences", "library", "program", "samples"):
        yield "proveout.html: " + block, release.page_block(block)
    with release.zip() as file:
        for name in file.namelist():
            yield "zip: " + name, file.read(name)
    with release.tar() as tar:
        for member in tar:
            if member.isfile():
                yield "archive: " + member.name, tar.extractfile(member).read()


def traces(release):
    """Who made it, and where."""
    told = {os.path.expanduser("~") + "/", TOP + "/", TOP, os.path.realpath(release.folder), socket.gethostname(),
            "/proveout-package.", "/proveout-windows.", "/proveout-page.", "/proveout-ci.", getpass.getuser()}
    told = {word for word in told if len(word) > 3 and word not in ("root", "localhost", "/root/")}
    # the scripts name the folders that they make
    allowed = re.compile(r"^archive: [^/]*/(\.package|\.ci|tests)/")
    looked = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, data in unpacked(release, folder):
            looked += 1
            for word in sorted(told):
                found = re.search(rb"(?<![A-Za-z0-9])" + re.escape(word.encode()) + rb"(?![A-Za-z0-9])|" +
                                  re.escape(word.encode("utf-16-le")), data)
                must(not found or allowed.match(name) and word.startswith("/proveout-"),
                     f"{name} has {word} in it" + (f": {data[max(0, found.start() - 40):found.end() + 40]}"
                                                   if found else ""))
    must(looked > 500, f"only {looked} files were looked at")
    print(f"{looked} files without {len(told)} words")


def versions(release):
    """Everything that says which version it is says the same, and of the same rules."""
    told = run(os.path.join(release.folder, release.static), "--version").decode()
    match = re.fullmatch(r"proveout (\S+)\nrules ([0-9a-f]{16})\n", told)
    must(match and match[1] == release.version, f"the executable is {told}")
    for name in release.debs():
        given = run("dpkg-deb", "-f", os.path.join(release.folder, name), "Version").decode().strip()
        must(given == release.version, f"{name} is {given}")
    exe = release.in_zip("proveout.exe")
    for field in ("FileVersion", "ProductVersion"):
        found = re.search(re.escape((field + "\0").encode("utf-16-le")) + rb"(?:\0\0)?((?:[\d.]\0)+)\0\0", exe)
        must(found and found[1].decode("utf-16-le") == release.version, f"{field} of the exe")
    fingerprint = match[2].encode()
    with tempfile.TemporaryDirectory() as folder:
        for name in release.debs():
            run("dpkg-deb", "-x", os.path.join(release.folder, name), folder)
        packaged = run(os.path.join(folder, "usr/bin/proveout"), "--version").decode()
        must(packaged == told, f"the package is {packaged}")
    for name, data in (("exe", exe), ("page", release.page_block("library"))):
        must(fingerprint + b"\0" in data, f"the {name} has other rules")
        must(release.version.encode() + b"\0" in data, f"the {name} has another version")


def described(spdx, release):
    """Every file of the release, with its checksums."""
    rows = {}
    for package in spdx["packages"]:
        if "packageFileName" in package:
            rows[package["packageFileName"]] = package["checksums"]
    for file in spdx["files"]:
        must(file["fileName"].startswith("./"), file["fileName"])
        rows[file["fileName"][2:]] = file["checksums"]
    wanted = set(release.files) - {"SHA256SUMS", release.name + ".spdx.json"}
    must(set(rows) == wanted, f"named or there alone: {sorted(set(rows) ^ wanted)}")
    for name, checksums in rows.items():
        must("SHA256" in [one["algorithm"] for one in checksums], f"{name} has no SHA256")
        for one in checksums:
            must(digest(one["algorithm"], release.read(name)) == one["checksumValue"],
                 f"{name}: another {one['algorithm']}")


def formed(spdx):
    """What SPDX 2.3 says must be there."""
    must((spdx["spdxVersion"], spdx["dataLicense"], spdx["SPDXID"]) == ("SPDX-2.3", "CC0-1.0", "SPDXRef-DOCUMENT"),
         "the head")
    must(re.fullmatch(r"[a-z]+:[^#\s]+", spdx["documentNamespace"]), spdx["documentNamespace"])
    must(re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", spdx["creationInfo"]["created"]), "created")
    must(all(re.match(r"(Person|Organization|Tool): \S", who) for who in spdx["creationInfo"]["creators"]), "who")
    entries = spdx["packages"] + spdx["files"]
    idents = [entry["SPDXID"] for entry in entries]
    must(len(set(idents)) == len(idents), "an ID stands twice")
    for entry in entries:
        must(re.fullmatch(r"SPDXRef-[A-Za-z0-9.-]+", entry["SPDXID"]), entry["SPDXID"])
        wanted = {"licenseConcluded", "copyrightText"} | (
            {"name", "downloadLocation", "licenseDeclared"} if "name" in entry else {"fileName", "checksums"})
        must(wanted <= set(entry), f"{entry['SPDXID']} lacks {wanted - set(entry)}")
        must(bool(entry.get("filesAnalyzed")) == ("packageVerificationCode" in entry), entry["SPDXID"])
    known = {*idents, spdx["SPDXID"]}
    for relation in spdx["relationships"]:
        must({relation["spdxElementId"], relation["relatedSpdxElement"]} <= known and
             relation["relationshipType"] in RELATIONS, f"{relation}")


def parts(spdx, release):
    """What each artefact has inside: no library of which somebody gets a text of a licence is lost."""
    inside = {}
    packages = {package["SPDXID"]: package for package in spdx["packages"]}
    for relation in spdx["relationships"]:
        if relation["relationshipType"] == "CONTAINS":
            inside.setdefault(packages[relation["spdxElementId"]]["name"], set()).add(
                packages[relation["relatedSpdxElement"]]["name"])
    libraries = {"libyaml", "pcre2", "lp-solve", "colamd"}
    wanted = {release.static: libraries | {"jansson", "libedit", "ncurses", "musl", "gcc"},
              release.name + "-windows.zip": libraries | {"jansson", "winpthreads", "mingw-w64-x86-64-dev", "preact",
                                                          "gcc-mingw-w64-x86-64-posix-runtime", "musl"},
              "proveout.html": libraries | {"musl", "emscripten", "compiler-rt", "preact", "@codemirror/view"},
              "site": {"proveout.html"},
              # whoever links the static library brings that itself
              **{name: {"lp-solve"} for name in release.debs() if "-dev_" not in name}}
    for name, names_ in wanted.items():
        must(names_ <= inside.get(name, set()), f"{name} is said to have {sorted(inside.get(name, set()))}")
    static = inside[release.static] - {"colamd"}
    heads = re.findall(r"^== (\S+?)-\d\S*$", release.read(release.static + "-licences.txt").decode(), re.M)
    must(static == set(heads), f"licences of {heads}, and {static} are inside")
    lgpl = [release.read(release.static + "-licences.txt"), release.page_block("licences"),
            *(release.in_zip(f"licences/{package['name']}-{package['versionInfo']}.txt") for package in spdx["packages"]
              if package["name"] == "lp-solve" and "-" not in package["versionInfo"])]
    must(len(lgpl) >= 3 and all(b"SOURCES=" in text and b"tar.xz" in text for text in lgpl),
         "no word of how to link lp_solve anew")


def spdx_document(release, modules):
    spdx = json.loads(release.read(release.name + ".spdx.json"))
    formed(spdx)
    described(spdx, release)
    parts(spdx, release)
    expressions = sorted({entry[key] for entry in spdx["packages"]
                          for key in ("licenseConcluded", "licenseDeclared")})
    script = ("const valid = require('spdx-expression-validate');"
              "const bad = JSON.parse(process.argv[1]).filter((one) => !valid(one));"
              "if (!valid('MIT') || valid('MIT-ish') || bad.length) { console.log(bad); process.exit(1); }")
    run("node", "-e", script, json.dumps(expressions), env={**os.environ, "NODE_PATH": modules})
    print(f"{len(spdx['packages'])} packages, {len(expressions)} expressions of licences")


def builds(release):
    """From the archive of the sources, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        with tarfile.open(fileobj=io.BytesIO(release.read(release.name + ".tar.xz"))) as tar:
            tar.extractall(folder)
        sources, build = os.path.join(folder, release.name), os.path.join(folder, "build")
        run("meson", "setup", build, sources)
        run("meson", "compile", "-C", build, "src/proveout")
        ours = run(os.path.join(build, "src/proveout"), "--version")
        theirs = run(os.path.join(release.folder, release.static), "--version")
        must(ours == theirs, f"built is {ours}, and released {theirs}")


def again(release, other):
    there = Release(other)
    must(there.files == release.files, f"{sorted(set(there.files) ^ set(release.files))}")
    for name in release.files:
        run("cmp", os.path.join(release.folder, name), os.path.join(other, name))
        print(f"{name}: {os.path.getsize(os.path.join(release.folder, name))} bytes")


def main(folder, *options):
    given = dict(zip(options[::2], options[1::2]))
    release = Release(os.path.abspath(folder))
    steps = {"names": names, "sums": sums, "zip": zipped, "archive": archive, "traces": traces,
             "versions": versions, "spdx": lambda release: spdx_document(release, given.get("--modules", "")),
             "builds": builds}
    if "--again" in given:
        steps["again"] = lambda release: again(release, os.path.abspath(given["--again"]))
    wrong = 0
    for name, step in steps.items():
        try:
            step(release)
            print(f"release: {name}: passed", flush=True)
        except (Failed, OSError, LookupError, ValueError, TypeError, tarfile.TarError, zipfile.BadZipFile) as error:
            print(f"{error!r}\nrelease: {name}: failed" if not isinstance(error, Failed) else
                  f"{error}\nrelease: {name}: failed", flush=True)
            wrong += 1
    return wrong > 0


if __name__ == "__main__":
    if len(sys.argv) < 2 or len(sys.argv) % 2:
        sys.exit(__doc__)
    sys.exit(main(*sys.argv[1:]))
