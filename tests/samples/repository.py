"""The shared repository among the samples, whose gate is run as it stands: what is in it is copied
by others.

    repository.py PROGRAM [CHECK]        by what every computer with the tests has
    repository.py PROGRAM --outside MODULES SOURCES
                                         by those who read its files: pre-commit, runners of the two
                                         forges' files (in MODULES, where npm installed), a reader of
                                         .editorconfig; with the program as tools/get-proveout builds
                                         it, from the git repository SOURCES

Days in it are moved, so that what was measured two months before it was written was measured two months ago.
"""
import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile

import yaml

TOP = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SAMPLE = os.path.join(TOP, "sample-configs", "shared-repository")
WRITTEN = datetime.date(2026, 11, 20)
MACHINES = ["barn-router.yaml", "bench-router.yaml", "sign-router.yaml"]
GETS = ("Get git", "Get proveout")  # what only a computer with a network can do

# What somebody does to the files, and what the gate then says: the change, the rule, its file.
MISTAKES = {
    "moved in the controller alone": ("controllers/barn-router.txt", "= -160.0", "= -155.0",
                                      "agreement-lost", "barn-router.yaml"),
    "moved in the machine file alone": ("bench-router.yaml", "nose_contact: -103 mm", "nose_contact: -98 mm",
                                        "agreement-lost", "bench-router.yaml"),
    "a wait from memory": ("sign-router.yaml", "field: spindle.dwell_after_stop\n    unit: s",
                           "field: spindle.dwell_after_start\n    unit: s", "agreement-wanted", "sign-router.yaml"),
    "a cutter pushed out on the shared board": ("shared/cutters.yaml", "stickout: 24 mm", "stickout: 40 mm",
                                                "long-and-thin", "shared/cutters.yaml"),
    "a longer run-down": ("sign-router.yaml", "run_down: 6 s", "run_down: 8.5 s",
                          "braked-spindle", "sign-router.yaml"),
    "changed at the back": ("barn-router.yaml", "park: {x: 600 mm, y: 40 mm", "park: {x: 600 mm, y: 1400 mm",
                            "changed-from-the-front", "barn-router.yaml"),
    "waived by anybody": ("bench-router.yaml", "accepted_by: workshop lead", "accepted_by: evening class",
                          "waiver-not-allowed", "bench-router.yaml"),
    "measured last year": ("sign-router.yaml", "measured_on: ", "measured_on: 2019-01-31 # ",
                           "measured-long-ago", "sign-router.yaml"),
}


class Repository:
    """A clone in which somebody works; `origin/main` is what all have."""

    def __init__(self, program, folder):
        self.folder = os.path.join(folder, "club")
        self.home = os.path.join(folder, "home")
        os.makedirs(self.home)
        self.environment = {"PATH": os.path.dirname(os.path.abspath(program)) + ":/usr/bin:/bin:/usr/sbin:/sbin",
                            "HOME": self.home, "LC_ALL": "C.UTF-8", "TERM": "dumb"}
        for name in ("ASAN_OPTIONS", "UBSAN_OPTIONS", "http_proxy", "https_proxy"):
            if name in os.environ:
                self.environment[name] = os.environ[name]
        shutil.copytree(SAMPLE, self.folder)
        later = datetime.date.today() - WRITTEN
        for place, _, names in os.walk(self.folder):
            for name in names:
                if name.endswith(".yaml"):
                    self.edit(os.path.join(place, name), lambda text: re.sub(
                        r"\b20\d\d-\d\d-\d\d\b",
                        lambda day: str(datetime.date.fromisoformat(day.group()) + later), text))
        for line in ("init -q -b main", "config user.name nobody", "config user.email nobody@example.org",
                     "add -A", "commit -q -m start", "update-ref refs/remotes/origin/main HEAD"):
            self.ok("git", *line.split())

    def edit(self, path, change):
        path = os.path.join(self.folder, path)
        with open(path, encoding="utf-8", newline="") as file:
            text = file.read()
        changed = change(text)
        with open(path, "w", encoding="utf-8", newline="") as file:
            file.write(changed)
        return changed != text

    def make_mistake(self, name):
        path, before, after, _, _ = MISTAKES[name]
        assert self.edit(path, lambda text: text.replace(before, after, 1)), name

    def run(self, *words, **more):
        environment = dict(self.environment, **more)
        return subprocess.run(words, cwd=self.folder, env=environment, capture_output=True, text=True,
                              timeout=900, check=False)

    def ok(self, *words, **more):
        done = self.run(*words, **more)
        assert done.returncode == 0, (words, done.returncode, done.stdout[-3000:], done.stderr[-3000:])
        return done.stdout

    def read(self, name):
        with open(os.path.join(self.folder, name), encoding="utf-8") as file:
            return file.read()


# --- the files of the forges ---

def workflow():
    with open(os.path.join(SAMPLE, ".github", "workflows", "machines.yml"), encoding="utf-8") as file:
        return yaml.load(file, yaml.BaseLoader)


def run_workflow(repository, event, skip):
    """Its steps, as the runner goes through them: after one that fails the rest is left out.  What it
    says, by step, and the first that failed."""
    said, summary, path = {}, os.path.join(repository.home, "summary"), os.path.join(repository.home, "path")
    for name in (summary, path):
        with open(name, "w", encoding="utf-8"):
            pass
    (job,) = workflow()["jobs"].values()
    assert job["defaults"] == {"run": {"shell": "bash"}}
    for step in job["steps"]:
        name = step.get("name", step.get("uses"))
        if "if" in step:
            wanted = re.fullmatch(r"github\.event_name == '(\w+)'", step["if"])
            assert wanted, step
            if wanted.group(1) != event:
                continue
        if "uses" in step:
            upload = step.get("with", {}).get("sarif_file")
            if upload:
                said[name] = json.loads(repository.read(upload))
            continue
        if name in skip:
            continue
        more = {key: value.replace("${{ github.base_ref }}", "main") for key, value in step.get("env", {}).items()}
        assert not any("${{" in value for value in [step["run"], *more.values()]), step
        with open(path, encoding="utf-8") as file:
            more["PATH"] = ":".join(file.read().splitlines()[::-1] + [repository.environment["PATH"]])
        done = repository.run("bash", "--noprofile", "--norc", "-eo", "pipefail", "-c", step["run"],
                              GITHUB_WORKSPACE=repository.folder, GITHUB_STEP_SUMMARY=summary,
                              GITHUB_PATH=path, **more)
        said[name] = done.stdout + done.stderr
        if done.returncode:
            return said, name
    with open(summary, encoding="utf-8") as file:
        said["summary"] = file.read()
    return said, None


def pipeline():
    with open(os.path.join(SAMPLE, ".gitlab-ci.yml"), encoding="utf-8") as file:
        (job,) = yaml.safe_load(file).values()
    return job


def run_pipeline(repository, **more):
    """What its script comes to, one line of it after another, in one shell."""
    return repository.run("bash", "-eo", "pipefail", "-c", "\n".join(pipeline()["script"]), **more)


# --- checks ---

def start(program, folder):
    """As it is, everything lets it through, and says what it looked at."""
    repository = Repository(program, folder)
    said = repository.ok("make", "check")
    assert "5 files: nothing found, 1 warning waived" in said, said
    assert repository.ok("make", "review", "BASE=HEAD").strip(), "a review that says nothing"
    repository.ok("make", "sheets")
    assert sorted(os.listdir(os.path.join(repository.folder, "sheets"))) == [
        name.replace(".yaml", ".html") for name in MACHINES]
    said, failed = run_workflow(repository, "pull_request", GETS)
    assert failed is None, (failed, said[failed])
    assert said["summary"], "a review that says nothing"
    assert not [one for one in said["Put it into the list"]["runs"][0]["results"] if not one["suppressions"]]
    done = run_pipeline(repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="HEAD")
    assert done.returncode == 0, done
    kept = pipeline()["artifacts"]
    for name in [*kept["paths"], *kept["reports"].values()]:
        assert repository.read(name), name
    assert repository.ok("git", "status", "--short") == "", "something written is not ignored"


def mistakes(program, folder):
    """Each is refused by all, at the machine's own place, and a review tells of it."""
    for number, (name, (_, _, _, rule, at)) in enumerate(MISTAKES.items()):
        repository = Repository(program, os.path.join(folder, str(number)))
        repository.make_mistake(name)
        done = repository.run("make", "check")
        assert done.returncode and rule in done.stdout and at in done.stdout, (name, done.stdout)
        repository.ok("git", "commit", "-qam", name)
        review = repository.run("make", "review")
        assert rule in review.stdout, (name, review.stdout)
        said, failed = run_workflow(repository, "pull_request", GETS)
        assert failed == "Check every machine" and rule in said[failed], (name, said, failed)
        assert f"file={at}," in said[failed], (name, said[failed])
        listed = said["Put it into the list"]["runs"][0]["results"]
        assert rule in {one["ruleId"] for one in listed}, (name, listed)
        done = run_pipeline(repository, CI_MERGE_REQUEST_DIFF_BASE_SHA="origin/main")
        assert done.returncode and rule in done.stdout, (name, done)
        assert rule in {one["check_name"] for one in json.loads(repository.read("code-quality.json"))}, name
        assert rule in repository.read("machines.xml") and rule in repository.read("review.md"), name


def broken(program, folder):
    """What cannot be checked stops the gate as well: none of the lines takes it for "nothing found"."""
    for number, (path, change) in enumerate([
            ("club-rules.yaml", lambda text: text.replace("<= 8 s", "<= 8 mm")),
            ("proveout.policy.yaml", lambda text: text.replace("stop_at", "stops_at")),
            ("barn-router.yaml", lambda text: text.replace("proveout: 1", "proveout: [1")),
            ("shared/cutters.yaml", lambda text: "")]):
        repository = Repository(program, os.path.join(folder, str(number)))
        assert repository.edit(path, change)
        repository.ok("git", "commit", "-qam", "x")
        assert repository.run("make", "check").returncode, path
        _, failed = run_workflow(repository, "push", GETS)
        assert failed, path
        assert run_pipeline(repository).returncode, path


def tools(program, folder):
    """What is built, and of what: as the README of the program says; and its own tells of every file."""
    repository = Repository(program, folder)
    repository.ok("sh", "-n", "tools/get-proveout")
    needs = set(re.search(r'needs="([^"]*)"', repository.read("tools/get-proveout")).group(1).split())
    with open(os.path.join(TOP, "README.md"), encoding="utf-8") as file:
        first = re.search(r"no-install-recommends ([a-z0-9. +-]+) && meson setup build ", file.read()).group(1)
    assert needs == set(first.split()) | {"git", "ca-certificates"}, needs ^ set(first.split())
    attributes = repository.ok("git", "check-attr", "text", "controllers/barn-router.txt", "barn-router.yaml")
    assert "barn-router.txt: text: unset" in attributes and "barn-router.yaml: text: auto" in attributes, attributes
    with open(os.path.join(SAMPLE, "README.md"), encoding="utf-8") as file:
        told = set(re.findall(r"`([\w./-]+)`", file.read()))
    for name in os.listdir(SAMPLE):
        assert [one for one in told if one.split("/")[0] == name] or name in ("README.md", ".gitignore"), name


CHECKS = {check.__name__: check for check in (start, mistakes, broken, tools)}


# --- what others made ---

def get_program(repository, sources):
    """By the script, from its address as it stands, which git is told to look for elsewhere."""
    bare = os.path.join(repository.home, "sources.git")
    repository.ok("git", "clone", "-q", "--bare", sources, bare)
    repository.ok("git", "--git-dir", bare, "update-ref", "refs/heads/main", "HEAD")
    address = re.search(r"address=(\S+)", repository.read("tools/get-proveout")).group(1)
    repository.ok("git", "config", "--global", f"url.{bare}.insteadOf", address)
    repository.environment["PATH"] = "/usr/bin:/bin:/usr/sbin:/sbin"
    if os.geteuid():  # a gate's container is root's
        shim = os.path.join(repository.home, "shim")
        os.makedirs(shim)
        with open(os.path.join(shim, "apt-get"), "w", encoding="utf-8") as file:
            file.write('#!/bin/sh\nexec sudo /usr/bin/apt-get "$@"\n')
        os.chmod(os.path.join(shim, "apt-get"), 0o755)
        repository.environment["PATH"] = shim + ":" + repository.environment["PATH"]
    repository.ok("sh", "tools/get-proveout")
    again = repository.ok("sh", "tools/get-proveout")
    assert re.fullmatch(r"proveout \S+\nrules [0-9a-f]{16}\n", again), f"no more than which it is: {again}"


def by_pre_commit(repository):
    repository.environment["PATH"] = os.path.join(repository.home, ".local/bin") + ":" + repository.environment["PATH"]
    repository.ok("pre-commit", "validate-config", ".pre-commit-config.yaml")
    repository.ok("pre-commit", "validate-manifest", os.path.join(TOP, ".pre-commit-hooks.yaml"))
    repository.ok("pre-commit", "install")
    said = repository.ok("pre-commit", "run", "--all-files")
    assert said.count("Passed") == 2 and "Skipped" not in said, said
    # the definition of the project's own, for those who name it by its address
    said = repository.ok("pre-commit", "try-repo", TOP, "proveout", "--all-files")
    assert "Passed" in said, said
    name = "moved in the controller alone"
    repository.make_mistake(name)
    done = repository.run("git", "commit", "-qam", name)
    assert done.returncode and MISTAKES[name][3] in done.stdout + done.stderr, done
    done = repository.run("pre-commit", "try-repo", TOP, "proveout", "--all-files")
    assert done.returncode and MISTAKES[name][3] in done.stdout, done
    repository.ok("git", "checkout", "-q", ".")


def by_runner(repository, modules):
    """The second forge's file, by a program that runs such files."""
    runner = [os.path.join(modules, ".bin", "gitlab-ci-local"), "--force-shell-executor", "--variable",
              "CI_MERGE_REQUEST_DIFF_BASE_SHA=origin/main"]
    repository.environment["PATH"] += ":" + os.path.dirname(shutil.which("node"))
    repository.ok("git", "remote", "add", "origin", "git@example.org:club/machines.git")
    repository.ok(*runner)
    name = "a longer run-down"
    repository.make_mistake(name)
    done = repository.run(*runner)
    assert done.returncode and MISTAKES[name][3] in done.stdout, (done.stdout[-3000:], done.stderr[-3000:])
    repository.ok("git", "checkout", "-q", ".")
    repository.ok("git", "clean", "-qxffd")  # its own copies of the machines, repositories themselves


def by_first_forge(repository, modules):
    """Its file by a program that knows the form, then step by step, none left out."""
    repository.ok(os.path.join(modules, ".bin", "action-validator"), ".github/workflows/machines.yml")
    said, failed = run_workflow(repository, "pull_request", ())
    assert failed is None, (failed, said[failed])


def by_editorconfig(repository):
    import editorconfig  # pylint: disable=import-outside-toplevel
    for name in repository.ok("git", "ls-files").splitlines():
        wanted = editorconfig.get_properties(os.path.join(repository.folder, name))
        with open(os.path.join(repository.folder, name), "rb") as file:
            content = file.read()
        lines = content.decode("utf-8").split("\n")
        if name.startswith("controllers/"):
            assert wanted["end_of_line"] == "unset", name
            continue
        assert wanted["end_of_line"] == "lf" and b"\r" not in content and lines[-1] == "", name
        assert not [line for line in lines if line != line.rstrip()], name
        if wanted.get("indent_style") == "space":
            assert not [line for line in lines if line.startswith("\t")], name


def outside(program, modules, sources):
    failures = 0
    with tempfile.TemporaryDirectory() as folder:
        repository = Repository(program, folder)
        for step, words in ((get_program, (sources,)), (by_pre_commit, ()), (by_runner, (modules,)),
                            (by_first_forge, (modules,)), (by_editorconfig, ())):
            try:
                step(repository, *words)
                print(f"repository: {step.__name__}: passed", flush=True)
            except (AssertionError, OSError, subprocess.SubprocessError) as trouble:
                print(f"{trouble!r}\nrepository: {step.__name__}: failed", flush=True)
                failures += 1
    return failures


def main(words):
    if words == ["--list"]:
        print("\n".join(CHECKS))
        return 0
    if words[1:2] == ["--outside"]:
        return outside(*[os.path.abspath(one) for one in (words[0], *words[2:])])
    for name in words[1:] or CHECKS:
        with tempfile.TemporaryDirectory() as folder:
            CHECKS[name](words[0], folder)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
