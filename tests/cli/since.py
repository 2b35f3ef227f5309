"""Machines against a revision of git: which are told of, and what is said.

    since.py PROGRAM SAMPLES CHECK       one check
    since.py --list                      the names of all checks
"""
import json
import os
import shutil
import subprocess
import sys
import tempfile

GOOD, HIGH = "workshop-router.yaml", "belt-router-high-z.yaml"


class Repository:
    def __init__(self, program, samples, folder):
        self.program, self.samples, self.folder = os.path.abspath(program), os.path.abspath(samples), folder
        self.git("init", "-q", ".")

    def git(self, *words):
        environment = dict(os.environ, GIT_CONFIG_GLOBAL="/dev/null", GIT_CONFIG_SYSTEM="/dev/null")
        return subprocess.run(["git", "-c", "user.name=n", "-c", "user.email=n@example.org", *words],
                              cwd=self.folder, check=True, capture_output=True, text=True, env=environment).stdout

    def commit(self):
        self.git("add", "-A")
        self.git("commit", "-qm", "as it was")

    def text(self, name):
        with open(os.path.join(self.samples, name), encoding="utf-8") as file:
            return file.read()

    def put(self, name, text):
        path = os.path.join(self.folder, name)
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)

    def change(self, name, old, new):
        with open(os.path.join(self.folder, name), encoding="utf-8") as file:
            text = file.read()
        assert old in text
        self.put(name, text.replace(old, new, 1))

    def run(self, *arguments, given="", where="."):
        return subprocess.run([self.program, arguments[0], "--today", "2026-11-27", *arguments[1:]], input=given,
                              cwd=os.path.join(self.folder, where), capture_output=True, text=True, timeout=100)

    def told(self, *arguments, **how):
        done = self.run("compare", "--format", "json", *arguments, **how)
        return {one["path"]: one for one in json.loads(done.stdout)["files"]}, done.returncode


def changed_added_removed(shop):
    shop.put("shop/a.yaml", shop.text(GOOD))
    shop.put("shop/same.yaml", shop.text(GOOD))
    shop.put("shop/gone.yaml", shop.text(HIGH))
    shop.put("shop/notes.yaml", "no: machine\n")
    shop.commit()
    assert shop.told("--since", "HEAD", "shop") == ({}, 0)
    shop.change("shop/a.yaml", "probe_stroke: 25 mm", "probe_stroke: 22 mm")
    os.remove(os.path.join(shop.folder, "shop", "gone.yaml"))
    os.remove(os.path.join(shop.folder, "shop", "notes.yaml"))
    shop.put("shop/new.yaml", shop.text("x-homed-before-z.yaml"))
    files, status = shop.told("--since", "HEAD", "shop")
    assert {path: one["status"] for path, one in files.items()} == {
        "shop/a.yaml": "changed", "shop/new.yaml": "added", "shop/gone.yaml": "removed"}, files
    assert status == 1
    worse = [one for one in files["shop/a.yaml"]["moves"] if one["what"] == "worse"]
    assert {one["rule"] for one in worse} == {"probe-stroke-short"} and worse[0]["change"] == "-3 mm", worse
    assert worse[0]["before"]["margin"]["text"] == "3.64 mm" and worse[0]["after"]["margin"]["text"] == "0.64 mm"
    done = shop.run("check", "--since", "HEAD", "shop")
    assert "worse probe-stroke-short" in done.stdout and "3.64 mm ->" in done.stdout
    assert "same.yaml" not in done.stdout and "1 machine is not told of" in done.stderr
    assert "shop/gone.yaml is not there any more" in done.stderr
    # from within a folder of the repository, and from outside of it
    assert set(shop.told("--since", "HEAD", ".", where="shop")[0]) == {"./a.yaml", "./new.yaml", "./gone.yaml"}
    assert len(shop.told("--since", "HEAD", os.path.join(shop.folder, "shop"), where="/")[0]) == 3


def what_is_taken_in(shop):
    """A machine changes with the list of cutters that it takes in, and what it was had the old one."""
    shutil.copytree(os.path.join(shop.samples, "two-mills"), os.path.join(shop.folder, "two"))
    shop.commit()
    before = shop.run("check", "two").stdout
    shop.change("two/cutters.yaml", "stickout: 33 mm", "stickout: 30 mm")
    files, _ = shop.told("--since", "HEAD", "two")
    machines = [one for one in os.listdir(os.path.join(shop.folder, "two")) if "mill" in one]
    assert len(files) >= 2 and set(files) <= {"two/" + one for one in machines}, set(files)
    for one in files.values():
        assert any(move["change"] == "-3 mm" for move in one["moves"]), one
    again, _ = shop.told("--since", "HEAD", "--root", "two", "two/mill-by-the-door.yaml")
    assert again["two/mill-by-the-door.yaml"]["moves"] == files["two/mill-by-the-door.yaml"]["moves"]
    shop.git("stash", "-q")
    assert shop.run("check", "two").stdout == before and shop.told("--since", "HEAD", "two")[0] == {}


def two_names(shop):
    shop.put("a.yaml", shop.text(GOOD))
    shop.commit()
    shop.change("a.yaml", "probe_stroke: 25 mm", "probe_stroke: 22 mm")
    by_revision = shop.run("compare", "--format", "json", "HEAD:a.yaml", "a.yaml")
    shop.put("old.yaml", shop.text(GOOD))
    by_file = shop.run("compare", "--format", "json", "old.yaml", "a.yaml")
    assert by_revision.returncode == by_file.returncode == 0
    assert by_revision.stdout.replace("HEAD:a.yaml", "old.yaml") == by_file.stdout
    back = json.loads(shop.run("compare", "--format", "json", "a.yaml", "HEAD:a.yaml").stdout)["files"][0]
    assert {one["what"] for one in back["moves"] if one["rule"] == "probe-stroke-short"} == {"better"}


def policies_count(shop):
    """A machine is judged by the policy, so it has changed with it, and with its rulebooks."""
    shop.put("shop/a.yaml", shop.text(GOOD))
    shop.put("shop/proveout.policy.yaml", "proveout-policy: 1\n")
    shop.commit()
    assert shop.told("--since", "HEAD", "shop") == ({}, 0)
    shop.put("shop/proveout.policy.yaml", "proveout-policy: 1\nagreements: yes\n")
    files, status = shop.told("--since", "HEAD", "shop")
    assert list(files) == ["shop/a.yaml"] and status == 1
    for arguments in (("--since", "HEAD", "shop"), ("--since", "HEAD", "--root", "shop", "shop/a.yaml"),
                      ("--changed", "-", "shop")):
        done = shop.run("check", *arguments, given="shop/proveout.policy.yaml\n")
        assert done.returncode == 1 and "agreement-wanted" in done.stdout, done


def lists_of_names(shop):
    for name in ("a.yaml", "b.yaml"):
        shop.put(name, shop.text(GOOD))
    shop.commit()
    done = shop.run("check", "--format", "json", "--changed", "-", ".", given="./b.yaml\n")
    assert [one["path"] for one in json.loads(done.stdout)["files"]] == ["./b.yaml"]
    shop.put("names", "a.yaml\r\n\n")
    files, _ = shop.told("--since", "HEAD", "--changed", "names", ".")
    assert list(files) == ["./a.yaml"] and files["./a.yaml"]["moves"] == []
    done = shop.run("check", "--changed", "names", "b.yaml")
    assert done.returncode == 0 and not done.stdout and "not told of" in done.stderr


def what_cannot_be(shop):
    shop.put("a.yaml", shop.text(GOOD))
    shop.put("broken.yaml", "proveout: 1\nmachine: [\n")
    shop.commit()
    for arguments, words in ((("check", "--since", "none-such", "."), "none-such"),
                             (("compare", "--since", "--output=x", "."), "no name of a revision"),
                             (("compare", "--since", "-p", "."), "no name of a revision"),
                             (("compare", "a.yaml"), "two files"),
                             (("compare", "HEAD:none.yaml", "a.yaml"), "there is no such file"),
                             (("compare", "HEAD:.", "a.yaml"), "a folder is no machine file"),
                             (("check", "--changed", "-", "-"), "only once"),
                             (("compare", "a.yaml", "broken.yaml"), "not all of it can be read"),
                             (("compare", "--changed", "x", "a.yaml"), "--since")):
        done = shop.run(*arguments)
        assert done.returncode == 2 and words in done.stderr and not done.stdout, done
    assert not os.path.exists(os.path.join(shop.folder, "x"))
    shop.change("broken.yaml", "machine", "machines")
    files, status = shop.told("--since", "HEAD", ".")
    assert files["./broken.yaml"]["status"] == "unreadable" and status == 2
    outside = tempfile.mkdtemp()
    shutil.copy(os.path.join(shop.samples, GOOD), outside)
    done = shop.run("check", "--since", "HEAD", outside)
    assert done.returncode == 2 and not done.stdout, "a folder of no repository"
    shutil.rmtree(outside)


def hostile_names(shop):
    name = "a`|@all <b>\n.yaml"
    shop.put(name, shop.text(GOOD))
    shop.put("-p.yaml", shop.text(GOOD))
    shop.commit()
    shop.change(name, "probe_stroke: 25 mm", "probe_stroke: 22 mm")
    shop.change("-p.yaml", "probe_stroke: 25 mm", "probe_stroke: 22 mm")
    files, _ = shop.told("--since", "HEAD", ".")
    assert set(files) == {"./" + name, "./-p.yaml"}
    assert all(one["status"] == "changed" and one["moves"] for one in files.values())
    text = shop.run("compare", "--since", "HEAD", "--format", "markdown", ".").stdout
    head = [line for line in text.splitlines() if line.startswith("### ") and "@all" in line]
    assert head == ["### ``./a`\\|@all <b>\\n.yaml``"], head


CHECKS = {one.__name__.replace("_", "-"): one for one in (
    changed_added_removed, what_is_taken_in, two_names, policies_count, lists_of_names, what_cannot_be, hostile_names)}

if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(CHECKS))
        sys.exit()
    with tempfile.TemporaryDirectory() as place:
        CHECKS[sys.argv[3]](Repository(sys.argv[1], sys.argv[2], place))
