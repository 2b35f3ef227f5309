"""The language server in editors of others, without a screen, set up as README.md says.

    run.py PROGRAM MODULES

MODULES is where npm put vscode-languageserver-protocol; nvim, emacs and eglot with
yaml-mode are those of the system.  The last line of each step says what came of it; the status is 1
where anything was complained of.
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(HERE)))
SHORT = "stroke-too-short-for-the-short-cutter.yaml"


def setup(kind):
    """The one block of README.md in a language."""
    with open(os.path.join(ROOT, "README.md"), encoding="utf-8") as file:
        blocks = re.findall(rf"^```{kind}\n(.*?)^```$", file.read(), re.M | re.S)
    assert len(blocks) == 1, f"README.md has {len(blocks)} blocks of {kind}"
    return blocks[0]


def by_modules(folder, modules):
    return ["node", os.path.join(HERE, "jsonrpc.js"), os.path.join(folder, SHORT)], {"NODE_PATH": modules}


def by_neovim(folder, _):
    with open(os.path.join(folder, "init.lua"), "w", encoding="utf-8") as file:
        file.write(setup("lua"))
    return ["nvim", "--headless", "-u", os.path.join(folder, "init.lua"), "--cmd", "set noswapfile shadafile=NONE",
            os.path.join(folder, SHORT), "-c", f"luafile {os.path.join(HERE, 'neovim.lua')}"], {}


def by_emacs(folder, _):
    with open(os.path.join(folder, "init.el"), "w", encoding="utf-8") as file:
        file.write("(package-initialize)\n" + setup("elisp"))
    return ["emacs", "--batch", "-q", "-l", os.path.join(folder, "init.el"), "-l", os.path.join(HERE, "emacs.el"),
            os.path.join(folder, SHORT)], {}


def main(program, modules):
    failed = 0
    for name, step in (("jsonrpc", by_modules), ("neovim", by_neovim), ("emacs", by_emacs)):
        with tempfile.TemporaryDirectory() as folder:
            os.symlink(os.path.abspath(program), os.path.join(folder, "proveout"))
            shutil.copy(os.path.join(ROOT, "sample-configs", SHORT), folder)
            command, more = step(folder, os.path.abspath(modules))
            place = {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "HOME": folder, "LC_ALL": "C.UTF-8", **more}
            done = subprocess.run(command, cwd=folder, env=place, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                  stderr=subprocess.STDOUT, timeout=120, check=False)
        good = done.returncode == 0 and b"all is as it should be" in done.stdout
        sys.stdout.write(done.stdout.decode(errors="replace") + f"\neditors: {name}: {'passed' if good else 'failed'}\n")
        sys.stdout.flush()
        failed += not good
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
