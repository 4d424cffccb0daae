# What sheets say in English. Names of texts and of their values are the same in every catalogue.

## Pages
page-of = page { $number } of { $all }
tile-joined = { $title }, sheet { $number } of { $all }; cut on the grey line, join line to line. Print at 100 %, then measure the check bars.
tile-alone = { $title }. Print at 100 %, then measure the check bars.

## Drawings
template-title = Arch of { $name }
template-left-end = left end; this edge is the TOP face
template-upright = upright: 100 mm (left), 4 in (right)
template-not-right = If these are not right, print the check page
template-give-figures = and give its figures: sheet check.
check-title = Check page
check-print = Print at 100 %, no fitting to the page. Measure with a steel rule, in both directions:
check-give = barwright sheet template … --measured WIDTH,HEIGHT   (mm of the square)
end-board-player = player
end-board-far-side = far side
end-board-seen = seen from the bars
end-board-notch = { $number }  { $rail }: middle { $middle } mm, width { $width } mm, height { $from } to { $to } mm
end-board-print = From the end towards the player and the lower edge. Print at 100 % and measure the rule before you cut.
bass = bass
treble = treble
left-end = left end
top-face = top face
heights-times = heights × { $factor }
true-heights = true heights
saw-height = { $number }. height { $height }, to { $reach } from centre
cents-mode = mode { $mode }: cents from the target, done within ±{ $cents }
cents-within = within
cents-sharp = sharp: wood to come off
cents-flat = flat
cents-stale = hollow: stale reading
legend-wood-edge = edge of the wood
legend-centre = centre
legend-node-of-mode-1 = node of mode 1
legend-node = node line
legend-cord-line = cord line of a rail
legend-node-as-read = node line as read
legend-look-again = ; ! before a name: look at this bar again
legend-tube-room = room for a tube with its cap
legend-tube = tube
legend-dummy = dummy, no stopper
legend-stopper = stopper's face at the reference temperature
legend-board = board, and blanks as the saw leaves them
legend-cut-around = cut around
legend-band = edge of the band of a finished bar
legend-sawn = sawn off
legend-arch-line = line of the arch: never sawn to

## Units and common words
inches = Inches
millimetres = Millimetres
what = what
agreed = agreed
spec-compass = compass
spec-pitch = pitch
spec-stretch = stretch
spec-modes = tuned modes
spec-wood = wood
spec-rows = rows
spec-weight = weight of the bars
spec-planed = planed wood

## Specification and schedule
spec-from-to = { $lowest } to { $highest }, { $bars } bars{ $rows ->
    [one] , one row
   *[two] {""}
}
spec-pitch-at = A4 = { $hz } Hz at { $celsius } °C and { $percent } % humidity
cubic-and-board-feet = { $cubic } m³ ({ $feet } board feet)
spec-wood-moves = Wood is no metal: pitch falls by some 1 to 2 cents for each °C and rises as wood dries, by 12 to 19 cents for a percent of its moisture. The first retuning is due after one to three years (from memory).
trade-rules = Check the trade rules for this species before buying, shipping or exporting; keep the papers.
customer = customer
workshop = workshop
date-of-delivery = date of delivery
title-specification = Specification
none = none
spec-stretch-steps = { $steps } cents, even steps between
spec-modes-up-to = up to { $note } { $ratios }
cannot-be-made = cannot be made
note = note
hz = Hz
tuned = tuned
length = length
width = width
thick = thick
centre = centre
node-from-end = node from end
middle-along-row = middle along the row
blank = blank
schedule-words = { $unit }. Thickness is measured from the TOP face; the node is the middle of the player's line, predicted.
planned-rails = Predicted rails under the planned bars
title-schedule = Bar schedule

## Sheets to write on
name-date-signature = name, date, signature
label = label
board = board
thick-three-times = thick 3×
mass-g = mass g
mode-1-hz = mode 1 Hz
face-up = face up
mode-2-hz = mode 2 Hz
mode-3-hz = mode 3 Hz
again = again
done = done
look-at = look at
remark = remark
lean-mm = lean mm /\
cents-place-passes = cents 1/2/3, place, passes, °C
blanks-words = On two foam strips, struck lightly in the middle; salt for the node lines. Label on the end grain, face A and B marked, an arrow to the bass. Lean: far edge less near edge, in bench view.
dust-blanks = Dust of rosewoods, padauk and their kin sensitises skin and lungs: extraction and a mask.
title-blanks = Blank record
tuning-words = Order: mode 3, then 2, then 1. Half of what is left, then strike again. A warm bar reads flat: put it back for ten minutes.
caution-belt = Belt and drum: sand on the side that runs away from you, short bars in a holder, no gloves; extraction and a mask, muffs on while machines run. The machines' manuals come first.
title-tuning = Tuning sheet
assembly-1 = frame stands level, end boards square, rails as measured
assembly-2 = posts felted, none touches a bar on either side
assembly-3 = bars laid in order, bass to treble, top faces up, labels to the player's end
assembly-4 = cord through all bars of a row, spring at one end; tension so that bars sit and ring
assembly-5 = tops level, gaps even, accidentals clear of naturals
assembly-6 = each bar free: lift it a little, strike it, no buzz
assembly-7 = tubes hung straight, each middle under its bar, caps clear of one another
assembly-8 = stoppers tight; set at the room's temperature after two hours in it
assembly-9 = played chromatically with the customer's mallets: loudness even
assembly-10 = ring even: no bar under 0.6 of its neighbours (from memory)
assembly-11 = octaves and fourths: no beating that was not wanted
assembly-12 = corners struck: no loud twist beside a tuned mode
assembly-13 = temperature and humidity noted
assembly-14 = taken apart, carried, put together again: as before
assembly-15 = certificate given, advice sheet explained, next visit agreed
assembly-16 = papers of the wood handed over
caution-heavy = It is heavy: two people lift a frame. Fresh tube ends are sharp.
put-together-by = put together by
looked-over-by = looked over by
title-assembly = Assembly and check list

## Tubes
inner = inner
follows-the-bar = follows the bar
cents-a-mm = cents a mm
cut = cut
set-at = set at
what-to-cut = What to cut
stock-tube = stock tube
cut-in-order = cut in this order
left-over = left
title-tubes = Tube list
stopper-at = stopper at { $celsius } °C
keeps-pitch = keeps pitch { $cold }–{ $warm } °C
tubes-words = { $unit } from the mouth to the stopper's face. Free tubes' lengths unless the mouth's correction was fitted: leave stoppers movable, set them by ear under the tuned bar.
caution-tubes = Sawing metal tubes: eyes and ears protected, the tube clamped, no gloves at rotating tools; fresh ends are sharp. The saw's manual comes first.

## Certificate
cert-for = {""} for { $name }
cert-by = , tuned by { $name }
cert-all-within = All { $bars } bars are within { $class } class.
cert-outside = { $out } of { $bars } bars are outside { $class } class: { $which }.
cert-pitch = A4 = { $hz } Hz at { $air }. Next visit: { $visit }. { $within }
cert-ratios = Cents above target; modes 1, 2, 3: ×{ $ratios }.
bar = bar
mode-1 = mode 1
mode-2 = mode 2
mode-3 = mode 3
heard-on = heard
for-its-owner = For its owner
the-seal = The seal
title-certificate = Tuning certificate

## Retuning
retune-no-certificate = No certificate in the record.
retune-certified = Certified on { $date } at A4 = { $hz } Hz.
retune-wanted = { $certified } Wanted now: A4 = { $hz } Hz. Bars: { $work }; some { $hours } hours (guesses).
went-modes = went, modes 1/2/3
what-to-do = what to do
after-cents = after, cents
caution-retuning = A flat bar is dried before it is cut. Look at every hole for cracks. Dust of old finishes and rosewood sensitises: extraction and a mask.
title-retuning = Retuning sheet

## Nodes and holes
not-read = not read
nodes-words = { $unit } from the end that faces the player, top face up; left and right as the player sees them.
rails-under-bars = Rails under the bars
drill-words = { $unit } from the end that faces the player, on the left and on the right edge, TOP FACE UP. Drill { $drill }, its axis { $below } below the top face. Accidentals lean the other way than naturals: look twice.
players-line-left = player's line, left
right = right
far-line-left = far line, left
salt-again = salt again
title-nodes = Node table
players-hole-left = player's hole, left
lean = lean
far-hole-left = far hole, left
wood-over-under = wood over, under
mind = mind
from-the-plan = From the PLAN, not from the frame as it stands: not for drilling.
caution-drill = Clamp the bar, a block behind it, clear the chips, eyes protected, no gloves. The drill press's manual comes first. A hole is not filled again.
title-drill = Drill chart

## Frame
frame-words = { $unit }. Along: from the lowest natural's bass side; away: from its outer cord. Seen from above, player at the bottom, treble to the right. Between the inner faces of the end boards: { $between }, from { $before } before the lowest natural.
frame-from-above = The frame from above
length-bends = { $length }, bends after { $bend }
end-board = end board, { $end }
rails = Rails
wood-of-frame = Wood of the frame
frame-lengths = Lengths are between the end boards: add what the joint needs. Angles are off square, as the rail leans seen from above.
posts-along = Posts, along each rail from its bass end
end-boards-from = End boards, from the end towards the player and from the lower edge
caution-frame = Saw and plane with the guards on, eyes, ears and lungs protected; the machines' manuals come first. Holes are drilled by the frame as built, not by this sheet.
title-frame = Frame chart
cord-line-of-rail = cord line of the rail
bass-along = bass along
away = away
bend = bend
treble-along = treble along
off-square = off square
piece = piece
section = section
cut-bass = cut, bass
cut-treble = cut, treble
square = square
rail = rail
posts = posts
places = places
middle = middle
from = from
to = to
end-boards = End boards
players-rail = { $row }, player's rail
far-rail = { $row }, far rail
naturals = naturals
accidentals = accidentals
end-board-full-size = End board, { $end }, full size

## Stock of wood and cut list
stock-words = { $unit }. Lean: far edge less near edge of the node line. What is not measured yet stands as –.
stock-blanks = { $count ->
    [one] One blank without a note
   *[other] { $count } blanks without a note
}
not-measured-yet = Not measured yet: { $which }.
defect-at = { $what } { $from }–{ $to } along, { $near }–{ $far } across
stock-none = No blank is without a note.
boards = Boards
dust-and-trade = Dust of rosewoods, padauk and their kin sensitises skin and lungs: extraction and a mask. Check the trade rules for a species before buying, shipping or exporting; keep the papers.
title-stock = Stock of wood
size = size
lean-in-mm = lean mm
moisture-percent = moisture %
good-for-sure = good for (sure)
why = why
note-given = note given
all = all
cubic-board-feet = m³ (board feet)
to-be-cut-around = to be cut around
verdict-top = top and middle
verdict-middle = middle
verdict-bass = bass
verdict-reject = reject
verdict-wait = wait
sure-good = good
sure-fair = fair
sure-low = low
drying-at-rest = at rest ({ $rate })
drying-rate = { $percent } % a week
drying-weeks = { $weeks } weeks left ({ $least } to { $most }), { $rate }
drying-unknown = { $rate }; when it rests is not known yet
saw-words = { $name }: { $steps } steps, { $kerfs } kerfs, about { $minutes } minutes. { $unit }, as on the saw's scale. The blade is only ever raised. Unplug it to set it.
board-size = Board { $name }: { $length } × { $width } × { $thickness }
step = step
blade-height = blade height
from-the-centre = from the centre
saw-stops = stops from the bar's end, outermost first
kerfs = kerfs
strike-before-sanding = Strike the sawn bar before you sand.
title-saw = Saw steps
from-the-left-end = from the left end
from-the-near-edge = from the near edge
cut-places = cut, places measured on the whole board
caution-saw = Guards on, push stick, eyes, ears and lungs protected; the saws' manuals and local rules come first. Dust of rosewoods and padauk sensitises.
title-cutlist = Cut list
cut-across = crosscut at { $at } from the left end, the part from { $from } to { $to } of the width
cut-along = rip at { $at } from the near edge, the part from { $from } to { $to } of the length
saw-how-across = Height: from the table to the top of a tooth, the blank lying on its underside. Stop: from the end of the bar ({ $length } long) to the near face of the kerf. At every stop saw, turn the bar end for end, saw again.
saw-how-along = Height: from the table to the top of a tooth, the blank lying on its underside. Stop: from either end of the bar ({ $length } long) to the axle of the blade, where a cut begins and where it ends; kerfs side by side over the width.

## Remarks and work
wood-under-unknown = { $over } mm, not known
do-not-drill-unread = do not drill: not read
do-not-drill-misread = do not drill: read it again
steep = steep
little-wood-at-hole = less than { $mm } mm of wood at the hole
work-leave = leave it
work-strike = strike it: { $why }
work-look-at = look at it first: { $what }
work-lower = lower { $parts }
then = ; then{" "}
work-dry = it is damp: dry it for weeks; should rise { $cents } cents
work-dry-unknown = flat, and its water is not known: weigh it, let it dry, strike it again
work-replace = a new bar, or a lower note: { $why }
lower-mode = mode { $mode } by { $cents } cents
lower-about = { $head } (about { $depth } from { $from } to { $to } off the centre)
lower-centre = { $head } (about { $depth } over the centre)
work-trim = take { $each } off each end: then { $then }, holes { $holes } off the nodes; lower what is sharp afterwards
count-leave = { $n } to leave
count-lower = { $n } to lower
count-dry = { $n } to dry first
count-trim = { $n } to trim
count-look = { $n } to look at
count-strike = { $n } to strike
count-replace = { $n } to replace
advice-1 = Keep it between 40 and 55 % of humidity, away from heaters, windows and stage lights; a small hygrometer in its cover is worth its price.
advice-2 = Let it come to the room before it is played: some hours after a cold van, a day after a change of season.
advice-3 = Use mallets that fit the note: hard ones dent the bass bars and the top of the treble, and a dented bar goes flat.
advice-4 = Carry it covered and level, bars on their cords or packed each in cloth; never stand things on it.
advice-5 = Move the stoppers for a cold or a hot hall, not the bars: the tubes' sheet says how far.
advice-6 = Do not sand or varnish the top: a millimetre off it is more than a semitone.
damaged = damaged
sealed-with = sealed with the workshop's key { $key }
own-reference-bars = the workshop's own reference bars
generic-wood = generic clear wood
cert-method = Every bar was struck at rest and heard by { $program }; readings were brought to { $air } with { $cents } cents a degree (from { $whose }). That is good to ±{ $sigma } cents for all bars alike; how bars stand to one another is good to each bar's own figure.
air-and-humidity = { $celsius } °C and { $percent } %
air-alone = { $celsius } °C
class-concert = concert
class-working = working
class-school = school
accidentals-bank = accidentals' bank
naturals-bank = naturals' bank
no-temperature = no temperature named
pitch-at-air = A4 = { $hz } Hz at { $air }
template-as-believed = as it is believed to be
template-to-be-sawn = the arch to be sawn
title-templates = Arch templates
label-bar = bar { $label }
title-labels = Bar labels
title-book = Job book
