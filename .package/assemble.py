"""Puts the files of a release together from what was built for it; for release, which see.

    assemble.py VERSION SOURCES.tar MADE OUT

SOURCES.tar has all files of the commit in one folder, and CHANGES; what else goes into the zip comes
out of it.  Every time is SOURCE_DATE_EPOCH, every order that of names.
"""
import base64
import glob
import gzip
import hashlib
import io
import json
import lzma
import os
import re
import shutil
import subprocess
import sys
import tarfile
import time
import uuid
import zipfile

TIME = int(os.environ["SOURCE_DATE_EPOCH"])

# Under what the parts stand that are in what is built, by the name of the folder of their sources or
# of the package they come from; and what else is in these.
LICENCES = {
    "libyaml": "MIT",
    "pcre2": "BSD-3-Clause",
    "lp-solve": "LGPL-2.1-or-later",
    "jansson": "MIT",
    "libedit": "BSD-3-Clause",
    "ncurses": "X11-distribute-modifications-variant",
    "musl": "MIT",
    "gcc": "GPL-3.0-or-later WITH GCC-exception-3.1",
    "gcc-mingw-w64-x86-64-posix-runtime": "GPL-3.0-or-later WITH GCC-exception-3.1",
    "mingw-w64-x86-64-dev": "ZPL-2.1 AND LicenseRef-public-domain",
    "emscripten": "MIT OR NCSA",
}
BESIDE = {
    "lp-solve": [("colamd", "BSD-3-Clause")],
    "mingw-w64-x86-64-dev": [("winpthreads", "MIT AND BSD-3-Clause")],
    "emscripten": [("compiler-rt", "Apache-2.0 WITH LLVM-exception"),
                   ("dlmalloc", "LicenseRef-public-domain")],
}
REMARKS = {
    "pcre2": "With the exemption for binary library-like packages, as its licence has it.",
    "lp-solve": "Whoever has the program may link it with another lp_solve: the text of the licence beside "
                "the program tells how.",
    "mingw-w64-x86-64-dev": "The runtime of mingw-w64, of which the start of the program is in the public domain.",
}
PUBLIC_DOMAIN = {
    "licenseId": "LicenseRef-public-domain", "name": "Public domain",
    "extractedText": "The authors have placed it in the public domain.",
}


def read(*path):
    with open(os.path.join(*path), "rb") as file:
        return file.read()


class Release:
    def __init__(self, version, sources, made, out):
        self.version, self.made, self.out = version, made, out
        with tarfile.open(sources) as tar:
            self.sources = {member.name.split("/", 1)[1]: tar.extractfile(member).read()
                            for member in tar.getmembers() if member.isfile()}
        self.name = f"proveout-{version}"
        self.written = []

    def write(self, name, data, mode=0o644):
        path = os.path.join(self.out, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "wb") as file:
            file.write(data)
        os.chmod(path, mode)
        os.utime(path, (TIME, TIME))
        self.written.append(name)

    def text(self, name):
        return self.sources[name].decode()


def in_zip(release):
    """Name and bytes of all that goes into the zip; texts as every program of Windows shows them."""
    def dos(data):
        return data.replace(b"\r\n", b"\n").replace(b"\n", b"\r\n")

    page = release.text(".package/read-me-first.html").replace("@VERSION@", release.version)
    yield "read-me-first.html", dos(page.encode())
    for name in ("proveout.exe", "proveout.html"):
        yield name, read(release.made, name)
    for name in ("LICENSE", "CHANGES"):
        yield name + ".txt", dos(release.sources[name])
    for name in os.listdir(os.path.join(release.made, "licences")):
        yield f"licences/{name}.txt", dos(read(release.made, "licences", name))
    for name, data in release.sources.items():
        if name.startswith("sample-configs/"):
            yield name, data


def zipped(release):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, data in sorted(in_zip(release)):
            entry = zipfile.ZipInfo(f"{release.name}/{name}", time.gmtime(TIME)[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            entry.external_attr = (0o100755 if name.endswith(".exe") else 0o100644) << 16
            file.writestr(entry, data, compresslevel=9)
    return out.getvalue()


def part_of(folder):
    """(name, version) of a part by the name of its folder, NAME-VERSION."""
    for name in sorted(LICENCES, key=len, reverse=True):
        if folder.startswith(name + "-"):
            return name, folder[len(name) + 1:]
    sys.exit(f"under what {folder} stands is not known: a row in .package/assemble.py is missing")


def parts_of(folders):
    """(name, version, licence) of parts and of what is in them."""
    for name, version in map(part_of, folders):
        yield name, version, LICENCES[name]
        for beside, licence in BESIDE.get(name, []):
            yield beside, None, licence


def page_parts(release):
    """Of what the page says itself that it brings."""
    block = re.search(rb'id="licences">\s*([\w+/=\s]*?)\s*</script>', read(release.made, "proveout.html"))
    text = gzip.decompress(base64.b64decode(block[1])).decode()
    heads = [name for name, line in re.findall(r"(?:^|\n\n\n)(\S[^\n]*)\n(=+)\n\n", text) if len(name) == len(line)]
    packages = json.loads(release.text("src/page/package-lock.json"))["packages"]
    yield from parts_of(name for name in heads if " " not in name and name != "proveout")
    for name, version in (head.split(" ") for head in heads if " " in head):
        locked = packages["node_modules/" + name]
        if locked["version"] != version:
            sys.exit(f"the page brings {name} {version}, and package-lock.json has {locked['version']}")
        yield name, version, locked["license"]


def deb_parts(path):
    """Debian links the rest when it runs."""
    built = subprocess.run(["dpkg-deb", "-f", path, "Built-Using"], stdout=subprocess.PIPE, check=True).stdout
    for name, version in re.findall(r"([a-z0-9.+-]+) \(= ([^)-]+)", built.decode()):
        yield name, version, LICENCES[name]


class Document:
    """SPDX 2.3."""

    def __init__(self, release):
        self.release = release
        self.packages, self.files, self.relations = {}, [], []

    def package(self, name, version, licence, concluded=None, **more):
        ident = "SPDXRef-" + re.sub(r"[^A-Za-z0-9.-]+", "-", f"{name}-{version}" if version else name)
        entry = {"SPDXID": ident, "name": name, "downloadLocation": "NOASSERTION", "filesAnalyzed": False,
                 "licenseConcluded": concluded or licence, "licenseDeclared": licence,
                 "copyrightText": "NOASSERTION"}
        if version:
            entry["versionInfo"] = version
        self.packages.setdefault(ident, {**entry, **more})
        return ident

    def artefact(self, name, parts):
        """A file of the release, and what is in it."""
        inside = sorted(set(parts), key=lambda part: (part[0], part[1] or ""))
        every = sorted({"MIT", *(licence for _, _, licence in inside)})
        whole = " AND ".join(f"({one})" if " " in one and len(every) > 1 else one for one in every)
        data = read(self.release.out, name)
        ident = self.package(name, self.release.version, "MIT", whole, packageFileName=name, checksums=[
            {"algorithm": "SHA256", "checksumValue": hashlib.sha256(data).hexdigest()}])
        self.relate("SPDXRef-DOCUMENT", "DESCRIBES", ident)
        for part, version, licence in inside:
            remark = {"licenseComments": REMARKS[part]} if part in REMARKS else {}
            self.relate(ident, "CONTAINS", self.package(part, version, licence, **remark))
        return ident

    def folder(self, name, paths, whole):
        """A folder of the release, with its files one by one."""
        codes = []
        for path in paths:
            data = read(self.release.out, path)
            codes.append(hashlib.sha1(data).hexdigest())
            self.files.append({
                "SPDXID": "SPDXRef-File-" + path.replace("/", "-"), "fileName": "./" + path,
                "checksums": [{"algorithm": "SHA1", "checksumValue": codes[-1]},
                              {"algorithm": "SHA256", "checksumValue": hashlib.sha256(data).hexdigest()}],
                "licenseConcluded": "NOASSERTION", "licenseInfoInFiles": ["NOASSERTION"],
                "copyrightText": "NOASSERTION"})
        code = hashlib.sha1("".join(sorted(codes)).encode()).hexdigest()
        ident = self.package(name, self.release.version, "MIT", self.packages[whole]["licenseConcluded"],
                             filesAnalyzed=True, licenseInfoFromFiles=["NOASSERTION"],
                             packageVerificationCode={"packageVerificationCodeValue": code},
                             hasFiles=[file["SPDXID"] for file in self.files])
        self.relate("SPDXRef-DOCUMENT", "DESCRIBES", ident)
        self.relate(ident, "CONTAINS", whole)

    def relate(self, one, kind, other):
        self.relations.append({"spdxElementId": one, "relationshipType": kind, "relatedSpdxElement": other})

    def json(self):
        content = json.dumps([list(self.packages.values()), self.files], sort_keys=True)
        return json.dumps({
            "spdxVersion": "SPDX-2.3", "dataLicense": "CC0-1.0", "SPDXID": "SPDXRef-DOCUMENT",
            "name": self.release.name,
            "documentNamespace": "urn:uuid:" + str(uuid.uuid5(uuid.NAMESPACE_OID, content)),
            "creationInfo": {"created": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(TIME)),
                             "creators": ["Organization: The proveout authors",
                                          f"Tool: proveout-release-{self.release.version}"]},
            "hasExtractedLicensingInfos": [PUBLIC_DOMAIN],
            "packages": list(self.packages.values()), "files": self.files, "relationships": self.relations,
        }, indent=1, ensure_ascii=False).encode() + b"\n"


def document(release, static, debs, site):
    spdx = Document(release)
    sources = spdx.artefact(release.name + ".tar.xz", [])
    page_inside = list(page_parts(release))
    built = [spdx.artefact(name, deb_parts(os.path.join(release.out, name))) for name in debs]
    heads = re.findall(r"^== (\S+-\d\S*)$", read(release.out, static + "-licences.txt").decode(), re.M)
    built.append(spdx.artefact(static, parts_of(heads)))
    exe = [name for name in os.listdir(os.path.join(release.made, "licences")) if name != "proveout"]
    built.append(spdx.artefact(release.name + "-windows.zip", [*parts_of(exe), *page_inside]))
    page = spdx.artefact("proveout.html", page_inside)
    spdx.artefact(static + "-licences.txt", [])
    for ident in [*built, page]:
        spdx.relate(ident, "GENERATED_FROM", sources)
    spdx.folder("site", site, page)
    return spdx.json()


def main(version, sources, made, out):
    release = Release(version, sources, made, out)
    release.write(release.name + ".tar.xz", lzma.compress(read(sources), preset=9 | lzma.PRESET_EXTREME))
    debs = sorted(os.path.basename(path) for path in glob.glob(os.path.join(made, f"*_{version}_*.deb")))
    static, = (os.path.basename(path)[:-len("-licences.txt")]
               for path in glob.glob(os.path.join(made, release.name + "-linux-*-licences.txt")))
    for name in [*debs, static + "-licences.txt", "proveout.html"]:
        release.write(name, read(made, name))
    release.write(static, read(made, static), 0o755)
    site = sorted("site/" + name for name in os.listdir(os.path.join(made, "site")))
    for name in site:
        release.write(name, read(made, name))
    release.write(release.name + "-windows.zip", zipped(release))
    release.write(release.name + ".spdx.json", document(release, static, debs, site))
    sums = "".join(f"{hashlib.sha256(read(out, name)).hexdigest()}  {name}\n" for name in sorted(release.written))
    release.write("SHA256SUMS", sums.encode())
    shutil.copystat(os.path.join(out, "SHA256SUMS"), os.path.join(out, "site"), follow_symlinks=False)
    os.chmod(os.path.join(out, "site"), 0o755)


if __name__ == "__main__":
    main(*sys.argv[1:])
