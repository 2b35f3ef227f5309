"""Level and harm of every rule that looks at a machine, and the rules whose failure explains its
own, as the project's catalogue has them.  Levels with a stroke between them are those of a rule
whose requirements differ; the worst comes first."""

CATALOGUE = """
setter-outside-travel error machine
setter-near-limit note machine setter-outside-travel
setter-below-table error machine
setter-height-disagrees warning machine setter-below-table,lengths-say-crash,table-extent-wanted
setter-out-of-reach error work
approach-above-travel error work
approach-below-table error machine setter-below-table
assumed-stickout-short error machine
approach-too-low error machine approach-below-table,assumed-stickout-short
approach-unguarded note machine
approach-overrun warning machine probe-overrun
wrong-cutter-fitted warning machine
probe-stroke-short error work
probe-floor warning work
empty-collet-hits-setter warning machine
dead-input-crush warning machine
probe-overrun error machine
override-crush warning machine probe-overrun
retract-still-tripped error work
second-touch-short error work
heights-out-of-order error machine approach-above-travel,setter-out-of-reach,approach-below-table
hollow-cutter error machine
cutter-wider-than-face note work
off-the-face warning work
setter-inside-work warning machine setter-in-obstacle,descent-into-work
setter-crowded warning machine setter-outside-travel,descent-meets-obstacle
corner-half error work
corner-diameter-missing error work
corner-descent-onto-plate error machine
corner-stroke-short error work
corner-passed-over error machine
corner-nut-on-plate error machine
corner-overrun error machine
plate-untested error machine
plate-beyond-stroke error work
plate-not-asked-on error machine
plate-left-on error person
plate-return-path warning machine
plate-spots-differ warning work
reference-cut-away error work
plate-thickness-twice error machine
plate-thickness-forgotten error work
input-contact-conflict error machine
input-terminal-twice warning machine input-serves-two
setter-contact-open warning machine setter-fails-free,end-switch-overrun
plate-contact-closed error machine input-serves-two
bounce-outlasts-debounce note work
no-contact-continues error machine
idle-unchecked warning machine
cutter-unasked error person
hand-spindle-unasked error person
spindle-can-start error person
asks-out-of-order error person hands-before-held-off,plate-left-on
motors-released warning machine
unhomed-change error machine
reference-missing error machine
stale-offset error machine
limits-not-enforced warning machine
traverse-outside-travel error work
traverse-hits-setter error machine
traverse-low-over-setter warning machine traverse-hits-setter
traverse-hits-work error machine
traverse-low-over-work warning machine traverse-hits-work
gantry-hits-work error machine
chuck-beyond-obstacle error machine
chuck-turns-on-hands error person
move-meets-obstacle error machine
move-near-obstacle warning machine move-meets-obstacle
return-out-of-reach error work
park-outside-travel error work
park-near-limit note work park-outside-travel
park-over-setter error machine
park-too-low warning work park-tip-hits
park-over-work note work work-outside-table
offset-after-descent error machine
cutter-cannot-reach-table note work table-out-of-reach
home-incomplete error machine
home-z-not-first error machine
home-z-toward-table error machine
home-outside-travel error machine
home-at-other-end warning machine
home-overrun error machine
home-back-off-short error machine
home-trip-inside-travel warning work
dwell-stop-short error person
dwell-stop-tight warning person dwell-stop-short
dwell-start-short warning work
run-down-disagrees warning person
run-down-long note person
coast-longer-than-wait warning/note person dwell-stop-short,dwell-stop-tight
cutter-overspeed error person
spindle-growth warning work
cutter-number-twice error machine
cutter-stickout-missing error machine
cutter-impossible error work
flutes-in-collet warning work
shank-not-held error person
shank-over-capacity error person
collet-over-capacity warning person
shank-barely-held error person cutter-impossible
long-and-thin note work
steps-disagree error work
steps-off warning work steps-disagree
step-rate-over-limit error work steps-disagree
motor-overspeed warning work
resolution-coarse note work
z-step-over-budget warning work
measured-before-work warning machine
setter-before-axis-work warning machine
heights-before-spindle-work warning machine
table-before-part-work warning machine
board-lost-twice error machine
hands-before-held-off error person
hold-off-unasked error/warning person
supply-on-unasked error person
standstill-unwaited error person
prop-before-standstill error person
z-sinks-on-hands error person
position-lost error machine
shoe-off-unasked warning machine
standstill-unproven error person
standstill-timeout-continues error person
standstill-timeout-short warning work
speed-unset error person
speed-beyond-spindle warning work cutter-overspeed
plate-height-disagrees error machine
unused-setter-unseen warning machine
park-over-idle-setter error machine
idle-setter-old warning machine
setter-in-obstacle error machine setter-outside-travel
cutter-wider-than-plate note work
setter-face-beyond-body error machine
input-serves-two error machine
probe-faster-than-approach warning machine probe-overrun
work-outside-table warning machine setter-inside-work
cutter-stickout-unlisted warning machine
second-touch-no-slower note work
table-extent-wanted warning machine
lengths-say-crash error machine setter-below-table
table-out-of-reach warning machine
traverse-hits-table error machine traverse-hits-setter,traverse-outside-travel
traverse-low-over-table warning machine traverse-hits-table,traverse-low-over-setter
gantry-low-over-work warning machine gantry-hits-work
gantry-hits-obstacle error machine
gantry-low-over-obstacle warning machine gantry-hits-obstacle
gantry-hits-setter error machine
gantry-low-over-setter warning machine gantry-hits-setter
hanging-part-hits error machine traverse-hits-setter,traverse-hits-work,traverse-hits-table
hanging-part-low warning machine hanging-part-hits,traverse-low-over-work
park-tip-hits error machine park-outside-travel
park-meets error machine park-tip-hits,park-outside-travel
park-near warning machine park-meets,park-tip-hits,park-outside-travel
descent-into-work error machine setter-outside-travel,setter-in-obstacle
shoe-into-setter error machine approach-too-low,descent-into-work,setter-below-table
shoe-near-setter warning machine shoe-into-setter,approach-too-low,descent-into-work
descent-meets-obstacle error machine setter-outside-travel,setter-in-obstacle
beam-out-of-square error machine
second-switch-shared error machine
second-switch-half warning machine
never-turned-is-started error person
offset-out-of-reach error work setter-outside-travel
offset-passed-over note machine
soft-limits-outside-travel warning machine
setter-beyond-soft-limits error work setter-outside-travel
soft-limits-lifted note machine
park-beyond-soft-limits error work park-outside-travel
setter-fails-free error machine
plate-fails-free error machine
home-fails-free warning machine
z-beyond-soft-limits error work traverse-outside-travel,setter-out-of-reach
carried-setter-with-y note machine
underside-above-trip error machine
carried-setter-hits-work error machine
carried-setter-hits-obstacle error machine
carried-setter-near-obstacle warning machine carried-setter-hits-obstacle
carried-setter-beside-work warning machine setter-inside-work,carried-setter-hits-work
carried-setter-missed error machine
end-switch-unfit error/warning machine
end-switch-overrun error machine
lift-unseen-up error machine
lift-unseen-down error machine
lift-not-lower error machine
lift-input-shared error machine
lift-switch-fails-seen warning machine
listed-length-missing error machine
listed-length-old warning machine
reseat-over-step warning work
stickout-by-eye warning machine
touch-off-unasked error person
touch-off-powerless error person
block-left-under error person touch-off-unasked
"""

ROWS = [line.split() for line in CATALOGUE.split("\n") if line]
RULES = {row[0]: (row[1], row[2]) for row in ROWS}
IMPLIED_BY = {row[0]: row[3].split(",") for row in ROWS if len(row) > 3}
