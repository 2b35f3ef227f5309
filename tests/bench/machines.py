"""Machine files for the benchmark: ordinary ones, one with very many cutters, hostile ones.

    machines.py FOLDER
"""
import os
import random
import sys

ORDINARY = """\
proveout: 1
# Router in bay {bay}; readings taken with the machine warm.
machine:
  name: router {bay}
  last_worked_on: 2024-03-{day:02}
  pulse_limit: 100 kHz
  gantry_underside: {gantry} mm

axes:
  x:
    travel: [0 mm, {x} mm]
    limits_enforced: yes
    rapid: {rapid} mm/min
    acceleration: 450 mm/s^2
  y:
    travel: [0 mm, {y} mm]
    limits_enforced: yes
    rapid: {rapid} mm/min
    acceleration: 450 mm/s^2
  z:
    travel: [-{z} mm, 0 mm]
    limits_enforced: yes
    rapid: 3000 mm/min
    acceleration: 300 mm/s^2

homing:
  order: [z, xy]
  x: {{end: low, rest: 2 mm, fast_feed: 1500 mm/min, slow_feed: 60 mm/min, back_off: 3 mm,
      release: 1 mm, overtravel: 4 mm, repeatability: 0.02 mm, shares_limit: no}}
  y: {{end: low, rest: 2 mm, fast_feed: 1500 mm/min, slow_feed: 60 mm/min, back_off: 3 mm,
      release: 1 mm, overtravel: 4 mm, repeatability: 0.02 mm, shares_limit: no}}
  z: {{end: high, rest: -2 mm, fast_feed: 900 mm/min, slow_feed: 60 mm/min, back_off: 3 mm,
      release: 1 mm, overtravel: 4 mm, repeatability: 0.02 mm, shares_limit: no}}

inputs:
  setter-in:
    terminal: A{bay}
    contact: normally_closed   # opens when touched
    scan: 2 ms
    debounce: 3 ms
    bounce: 2 ms

table:
  nose_contact: -{table} mm
  measured_on: 2024-04-02
  slope: 0.2 mm/m

work:
  x: [60 mm, {work_x} mm]
  y: [80 mm, {work_y} mm]
  height: 30 mm

setter:
  at: {{x: 30 mm, y: 40 mm}}
  nose_contact: -{setter} mm ± 0.05 mm
  height: {height} mm
  face: 20 mm
  body: 36 mm
  overtravel: 5 mm
  repeatability: 0.01 mm
  release: 0.4 mm
  measured_on: 2024-04-02
  tested_before_use: yes
  input: setter-in

spindle:
  switched_by: controller
  speed: [8000 rpm, 24000 rpm]
  run_up: 2.5 s
  run_down: {down} s
  dwell_after_stop: {stop} s
  dwell_after_start: 4 s
  coast_down: {down} s
  growth: 0.02 mm
  collet: ER20
  collet_sizes: [6 mm, 8 mm]
  nut_diameter: 34 mm

change:
  measures_with: setter
  touches_old: yes
  stickout_from: list
  approach: computed
  standoff: 10 mm
  approach_feed: 1200 mm/min
  approach_guarded: yes
  probe_stroke: 20 mm
  probe_feed: {feed} mm/min
  retract: 2 mm
  idle_checked: yes
  no_contact: stops
  traverse_z: -3 mm
  park: {{x: {park_x} mm, y: 45 mm, z: -3 mm}}
  spindle_held_off: interlocked
  motors_held: yes
  refuses_unhomed: yes
  after_abort: offset_cleared
  offset_applied: before_descent
  returns_to_start: yes
  asks: [spindle_off, setter_clean, cutter_in]

allowances:
  reseat: 3 mm
  z_step: 0.1 mm

cutters:
"""

CUTTER = """\
  - number: {number}
    description: {description}
    stickout: {stickout} mm
    diameter: {diameter} mm
    shank: {shank} mm
    length: {length} mm
    flute_length: {flute} mm
    speed: 16000 rpm
    top_speed: 24000 rpm
    centre: cutting
"""

SHORT = ("  - {{number: {number}, description: upcut, stickout: {stickout} mm,"
         " diameter: {diameter} mm, shank: {shank} mm, length: {length} mm}}\n")

DESCRIPTIONS = ("two-flute upcut", "single-flute for plastics", "ball end", "engraving V",
                "compression", "downcut, for thin stock")


def cutter(chance, number, form):
    shank = chance.choice((6, 8))
    flute = chance.randrange(12, 22)
    stickout = flute + chance.randrange(10, 16)
    return form.format(number=number, description=chance.choice(DESCRIPTIONS), stickout=stickout,
                         diameter=shank, shank=shank, length=stickout + 26, flute=flute)


def machine(seed, cutters, form=CUTTER):
    chance = random.Random(seed)
    x, y = chance.randrange(600, 1200), chance.randrange(600, 1200)
    height = chance.randrange(30, 50)
    down = chance.randrange(40, 90) / 10
    text = ORDINARY.format(
        bay=seed, day=1 + seed % 28, gantry=chance.randrange(90, 140), x=x, y=y, z=170,
        rapid=chance.randrange(5000, 9000, 100), table=140 + height, setter=140, height=height,
        work_x=x - 40, work_y=y - 40, down=down, stop=round(down * 1.25, 2),
        feed=chance.randrange(60, 120), park_x=chance.randrange(200, 400))
    return text + "".join(cutter(chance, number, form) for number in range(1, cutters + 1))


def hostile():
    """Small files made to be slow or deep."""
    start = "proveout: 1\n"
    yield "brackets", start + "machine: " + "[" * 40000
    yield "braces", start + "machine: " + "{a: " * 40000
    yield "keys", start + "".join(f"key{i}: 1\n" for i in range(60000))
    yield "aliases", (start + "a0: &a0 [x]\n"
                      + "".join(f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]\n"
                                for i in range(1, 40)))
    yield "text", start + "machine: {name: '" + "x" * 1000000 + "'}\n"
    yield "quote", start + "machine: 'never closed\n" + "a: b\n" * 20000
    yield "digits", start + "table: {nose_contact: " + "9" * 60000 + " mm}\n"
    yield "same key", start + "machine: {name: a}\n" * 20000
    yield "pattern", (start + "agrees_with:\n  - {file: x.txt, pattern: '(a+)+(?<value>b)', "
                      "unit: mm, field: setter.at.x}\n")


def write(folder, name, text):
    with open(os.path.join(folder, name), "w", encoding="utf-8") as file:
        file.write(text)


def main(folder):
    for name in ("ordinary", "mistaken", "many", "hostile"):
        os.makedirs(os.path.join(folder, name), exist_ok=True)
    for seed in range(1000):
        text = machine(seed, 5)
        write(folder, f"ordinary/router-{seed:03}.yaml", text)
        write(folder, f"mistaken/router-{seed:03}.yaml",
              text.replace("probe_stroke: 20 mm", "probe_stroke: 12 mm"))
    for count in (1, 1000, 10000, 100000):
        write(folder, f"many/cutters-{count}.yaml", machine(1, count, SHORT))
    for name, text in hostile():
        write(folder, f"hostile/{name.replace(' ', '-')}.yaml", text)


if __name__ == "__main__":
    main(sys.argv[1])
