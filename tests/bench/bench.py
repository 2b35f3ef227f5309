"""Measures the program against its targets and prints a table.  Never part of the tests.

    bench.py PROGRAM LOOP NOTHING PEAK

Instructions are counted by valgrind and do not depend on what else the machine does.  Times are
taken side by side, in turns, and only their ratios mean much; of several the least counts, since
whatever else the machine does only adds.
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time

import machines

sys.path[:0] = [os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "server")]
import speed  # noqa: E402

rows = []


def row(what, measured, target, good):
    rows.append((what, measured, target, "" if good is None else "yes" if good else "NO"))
    print(".", end="", flush=True)


def run(command, **more):
    return subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          check=False, **more)


def instructions(command):
    done = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null",
                           *command], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                          check=False)
    return int(re.search(r"Collected : (\d+)", done.stderr).group(1))


def cost(command):
    """Seconds of processor time, and seconds of waiting."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, _, usage = os.wait4(process.pid, 0)
    process.returncode = 0
    return usage.ru_utime + usage.ru_stime, time.perf_counter() - start


def most_memory(peak, command):
    """The most memory held, in bytes."""
    return int(subprocess.run([peak, *command], stdout=subprocess.PIPE, check=True).stdout)


def in_turns(commands, times, which=1):
    """The least cost of each command, run one after another `times` times."""
    found = [[] for _ in commands]
    for _ in range(times):
        for into, command in zip(found, commands):
            into.append(cost(command)[which])
    return [min(one) for one in found]


def one_core(command):
    return ["taskset", "-c", "0", *command] if shutil.which("taskset") else command


def mistaken(program, loop, folder):
    """The same files with one mistake each: what telling it costs."""
    paths = [os.path.join(folder, name) for name in sorted(os.listdir(folder))]
    ours, bare = (instructions([*command, *paths])
                  for command in ([program, "check", "--jobs", "1"], [loop]))
    row("1,000 files with a mistake: instructions", f"{ours / bare:.2f} of a bare event loop", "",
        None)


def ordinary(program, loop, folder):
    paths = [os.path.join(folder, name) for name in sorted(os.listdir(folder))]
    size = sum(os.path.getsize(path) for path in paths)
    row("1,000 files: size of one", f"{size / len(paths):.0f} bytes", "about 3,400", None)
    check = [program, "check", "--jobs", "1", *paths]
    ours, bare = instructions(check), instructions([loop, *paths])
    row("1,000 files: instructions", f"{ours / bare:.2f} of a bare event loop", "at most 1.4",
        ours <= 1.4 * bare)
    times = in_turns([one_core(check), one_core([loop, *paths]),
                      [program, "check", "--jobs", "2", *paths]], 9)
    row("1,000 files: files a second, one core", f"{times[1] / times[0]:.2f} of a bare event loop"
        f" ({len(paths) / times[0]:.0f})", "at least 0.7", times[1] / times[0] >= 0.7)
    row("1,000 files: two cores", f"{times[0] / times[2]:.2f} times as fast", "at least 1.75",
        times[0] / times[2] >= 1.75)


def starting(program, nothing, path):
    ours, bare = in_turns([[program, "check", path], [nothing]], 400)
    row("one file, start to exit", f"{(ours - bare) * 1000:.2f} ms more than doing nothing"
        f" ({ours / bare:.1f} times)", "at most 1 ms more", ours - bare <= 0.001)
    row("one file: instructions", f"{instructions([program, 'check', path]) / 1e6:.2f} million",
        "", None)


def many(program, peak, folder):
    last = None
    least = most_memory(peak, [program, "check", os.path.join(folder, "cutters-1.yaml")])
    row("1 cutter: memory", f"{least / 1e6:.1f} MB", "", None)
    for count in (1000, 10000, 100000):
        path = os.path.join(folder, f"cutters-{count}.yaml")
        size = os.path.getsize(path)
        seconds, _ = min(cost([program, "check", path]) for _ in range(3))
        memory = most_memory(peak, [program, "check", path])
        grown = "" if last is None else f", {seconds / last:.1f} times that of a tenth"
        last = seconds
        row(f"{count:,} cutters ({size / 1e6:.1f} MB): time", f"{seconds:.3f} s{grown}",
            "1 s, linear" if count == 100000 else "", seconds <= 1 if count == 100000 else None)
        row(f"{count:,} cutters: memory", f"{memory / size:.1f} times the file's size,"
            f" {(memory - least) / size:.1f} beyond that for 1 cutter",
            "at most 12" if count == 100000 else "",
            memory <= 12 * size if count == 100000 else None)


def written(program, folder):
    """The cost of writing findings: files in which each cutter fails several rules."""
    paths = []
    for count in (1000, 10000):
        text = machines.machine(1, count).replace("top_speed: 24000 rpm", "top_speed: 9000 rpm")
        machines.write(folder, f"failing-{count}.yaml",
                       re.sub(r"stickout: \d+ mm", "stickout: 11 mm", text))
        paths.append(os.path.join(folder, f"failing-{count}.yaml"))
    for form in ("text", "json", "sarif", "junit"):
        command = [program, "check", "--format", form]
        if run([*command, paths[0]]).returncode != 1:
            row(f"10,000 failing cutters as {form}", "no such form", "", None)
            continue
        times = [min(cost([*command, path])[0] for _ in range(3)) for path in paths]
        row(f"10,000 failing cutters as {form}",
            f"{times[1]:.3f} s, {times[1] / times[0]:.1f} times that of a tenth",
            "linear", times[1] <= 15 * times[0])


def held(program, peak, folder):
    """What is held of an output, of an input without an end, and of a difference."""
    path = os.path.join(folder, "cutters-10000.yaml")
    text, document = (most_memory(peak, [program, "check", "--show", "all", "--format", form, path])
                      for form in ("text", "json"))
    row("10,000 cutters, every instance: memory of json", f"{document / text:.2f} of that of text",
        "at most 1", document <= text)
    endless = most_memory(peak, [program, "check", "/dev/zero"])
    row("input without an end: memory", f"{endless / 2**26:.2f} times the limit", "at most 2",
        endless <= 2 * 2**26)
    with open(path, "rb") as file:
        lines = file.read().rstrip(b"\n") + b"\n" * 2**24
    long = os.path.join(folder, "long.yaml")
    with open(long, "wb") as file:
        file.write(lines)
    memory = most_memory(peak, [program, "revise", long, "change.probe_stroke=33 mm"])
    row("a file of line ends, revised: memory", f"{memory / len(lines):.1f} times the file's size",
        "", None)


def sheets(program, folder):
    """What hangs beside the machine, against the check that it begins with."""
    machines.write(folder, "sheet.yaml", machines.machine(1, 500))
    path = os.path.join(folder, "sheet.yaml")
    page = os.path.join(folder, "sheet.html")
    check, sheet, again = in_turns(
        [[program, "check", path], [program, "sheet", path, "-o", page],
         [program, "check", "--sheet", page, path]], 9, 0)
    row("500 cutters: a sheet", f"{sheet * 1000:.0f} ms, {sheet / check:.1f} times a check",
        "at most 50 ms", sheet <= 0.05)
    row("500 cutters: a sheet's size", f"{os.path.getsize(page) / 1e6:.1f} MB", "under 2 MB",
        os.path.getsize(page) < 2e6)
    row("500 cutters: a sheet held against its file", f"{again / check:.1f} times a check", "", None)


def in_an_editor(program, folder):
    """From a key to the findings that an editor is told."""
    for name, cutters, target in (("four cutters", 4, 0.005), ("1,000 cutters", 1000, 0.05)):
        path = os.path.join(folder, f"editor-{cutters}.yaml")
        machines.write(folder, os.path.basename(path), machines.machine(1, cutters))
        found = {what: least for what, least, _ in speed.measured(program, path)}
        key, check = found["a keystroke"], found["a check by the command"]
        row(f"{name}: a key in an editor", f"{key * 1000:.2f} ms, {key / check:.1f} times a check",
            f"at most {target * 1000:.0f} ms", key <= target)


def hostile(program, folder):
    worst = max((min(cost([program, "check", os.path.join(folder, name)])[1] for _ in range(3)),
                 name) for name in os.listdir(folder))
    row("hostile files", f"{worst[0] * 1000:.0f} ms ({worst[1]})", "at most 100 ms",
        worst[0] <= 0.1)


def size(program, folder):
    stripped = os.path.join(folder, "stripped")
    run(["strip", "-o", stripped, program])
    row("executable, stripped", f"{os.path.getsize(stripped) / 1024:.0f} KiB", "under 600 KiB",
        os.path.getsize(stripped) < 600 * 1024)


def main(program, loop, nothing, peak):
    with tempfile.TemporaryDirectory() as folder:
        machines.main(folder)
        ordinary(program, loop, os.path.join(folder, "ordinary"))
        mistaken(program, loop, os.path.join(folder, "mistaken"))
        starting(program, nothing, os.path.join(folder, "ordinary", "router-007.yaml"))
        many(program, peak, os.path.join(folder, "many"))
        written(program, os.path.join(folder, "many"))
        held(program, peak, os.path.join(folder, "many"))
        sheets(program, os.path.join(folder, "many"))
        in_an_editor(program, os.path.join(folder, "many"))
        hostile(program, os.path.join(folder, "hostile"))
        size(program, folder)
    widths = [max(len(r[i]) for r in rows) for i in range(4)]
    print()
    for one in [("what", "measured", "target", "kept"), *rows]:
        print("  ".join(text.ljust(width) for text, width in zip(one, widths)).rstrip())


if __name__ == "__main__":
    main(*sys.argv[1:])
