"""The program for Windows under Wine, by a path that tests take for that of any program."""
import os
import shutil
import stat
import subprocess
import sys

WINE = "/usr/lib/wine/wine64" # what Debian's `wine` runs, by a script that wants more of a PATH
SETTINGS = {
    "WINEDEBUG": "-all",
    # nothing is installed into a fresh prefix that this needs not
    "WINEDLLOVERRIDES": "mscoree,mshtml,winemenubuilder.exe=",
    # names of files are UTF-8, whatever a test has for the program's locale
    "LC_ALL": "C.UTF-8",
}


class Wine:
    """A prefix of its own below `folder`, with a server that runs as long as this is used: a start
    takes some 40 ms then, and a second without."""

    def __init__(self, folder):
        self.folder = os.path.abspath(folder)
        self.prefix = os.path.join(self.folder, "prefix")
        self.wine = WINE if os.path.exists(WINE) else shutil.which("wine")
        if not self.wine:
            sys.exit("wine is not there")
        self.settings = {**SETTINGS, "WINEPREFIX": self.prefix}

    def environment(self):
        return {**os.environ, **self.settings}

    def __enter__(self):
        os.makedirs(self.prefix, exist_ok=True)
        self.server("-p")
        subprocess.run([self.wine, "wineboot", "-i"], env=self.environment(), check=True,
                       stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL, timeout=300)
        return self

    def __exit__(self, *_):
        self.server("-k")

    def server(self, option):
        name = "/usr/lib/wine/wineserver"
        subprocess.run([name if os.path.exists(name) else "wineserver", option],
                       env=self.environment(), check=False, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL)

    def lend_git(self, stand_in):
        """Programs find git from here on: see git.c."""
        place = os.path.join(self.folder, "git")
        os.makedirs(place, exist_ok=True)
        self.settings["WINEPATH"] = "Z:" + os.path.dirname(os.path.abspath(stand_in)).replace("/", "\\")
        self.settings["PROVEOUT_TEST_GIT"] = place

    def wrapped(self, program):
        """A script that runs a program for Windows; needs nothing of its own surroundings."""
        path = os.path.join(self.folder, os.path.basename(program).removesuffix(".exe"))
        with open(path, "w", encoding="utf-8") as file:
            file.write("#!/bin/sh\n")
            for name, value in self.settings.items():
                file.write(f"export {name}='{value}'\n")
            file.write(f"exec '{self.wine}' '{os.path.abspath(program)}' \"$@\"\n")
        os.chmod(path, os.stat(path).st_mode | stat.S_IXUSR)
        return path
