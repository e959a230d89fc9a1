# What the page on the technician's phone says. The same names stand in the other languages' files.
# Values in braces are filled in by the page.
loading = The visits come up.
no-script = This page needs script. Your visits stand on a page without it too:
nav-outbox = Sent and unsent
sign-in = Sign in
signed-out = Signed out
signed-out-words = Sign in to see your visits on this phone.
signed-out-held = { $count ->
    [one] One completion is still locked on this phone. Sign in as the person who made it, and it is sent.
   *[other] { $count } completions are still locked on this phone. Sign in as the person who made them, and they are sent.
}
standing-none = Everything is accepted.
standing-waiting = { $count ->
    [0] No completion waits.
    [one] 1 completion is on this phone, not accepted yet.
   *[other] { $count } completions are on this phone, not accepted yet.
}
standing-photos = { $count ->
    [one] 1 photo waits.
   *[other] { $count } photos wait.
}
standing-refused = { $count ->
    [one] 1 needs you.
   *[other] { $count } need you.
}
heard-at = Last contact { $at }.
silent-since = No contact now; the last was at { $at }.
state-waiting = On this phone
state-sent = Sent, not answered yet
state-accepted = Accepted
state-refused = Not accepted: look at it
state-done = Done
state-begun = Begun
gone-somebody-else = Somebody else does this visit now.
gone-cancelled = This visit is cancelled.
gone-done = This visit is recorded already.
gone-later = This visit was moved to a later day.
gone-words = You have begun it here. If work was done, finish it: what was done is kept in any case.
record-left = { $count ->
    [0] The record is due today, { $day }.
    [one] The record is due by { $day }: 1 day is left.
   *[other] The record is due by { $day }: { $count } days are left.
}
record-late = { $count ->
    [one] The record was due by { $day }, 1 day ago.
   *[other] The record was due by { $day }, { $count } days ago.
}
record-rule = Asked by { $source }.
record-rule-unverified = Asked by { $source }; nobody has verified it yet.
record-rule-own = No rule known here states a day; ours is the same day.
to-sign = Records to sign
way-in = Way in:
hours = Hours
hours-none = any working hour; none are entered
water = Water
water-unknown = not known: look before you pour
feet-away = { $feet } ft away
label-line = EPA Reg. No. { $number }, label version { $version }
label-unsigned = This label entry is not signed
restricted-use = restricted use
wear = Wear:
precautions = Precautions:
first-aid = First aid
papers-here = { $count ->
    [one] { $here } of 1 label or safety data sheet is on this phone.
   *[other] { $here } of { $count } labels and safety data sheets are on this phone.
}
paper-label = Label, as a PDF of { $size }
paper-safety-data-sheet = Safety data sheet, as a PDF of { $size }
paper-coming-label = The label as a PDF ({ $size }) is not on this phone yet. It comes by itself while there is signal.
paper-coming-safety-data-sheet = The safety data sheet ({ $size }) is not on this phone yet. It comes by itself while there is signal.
paper-none-label = The office has brought no PDF of this label.
paper-none-safety-data-sheet = The office has brought no safety data sheet.
emergency = In an emergency
emergency-place = Medical help
poison-centre = Poison control center
none-entered = none entered; the office enters it
neighbours = Neighbors
notice-hours = { $count ->
    [one] Notice is due 1 hour before the work.
   *[other] Notice is due { $count } hours before the work.
}
neighbour-who = Neighbor, by name or house
neighbour-told = Told just now
told-at = { $who }, told at { $at }
take-back = Take back: { $what }
signs = Signs posted
found-here = Before you begin
ticket-first = Something goes into the soil here: have a utility-locate ticket first.
utility_ticket = Utility-locate ticket
utility-hint = The number of the ticket
begin-clear = I looked: no bloom, soil moist, no rain. Begin
begin-other = Begin; I found something else
begun-at = Begun at { $at }
found-more = What I found here
not-confirmed = Not confirmed
bloom = Bloom
bloom-none = No bloom
bloom-some = Some in bloom
bloom-full = Full bloom
soil = Soil
soil-dry = Dry
soil-moist = Moist
soil-saturated = Saturated
soil-frozen = Frozen
soil-stops = Read the label before you pour on this soil, and ask if you are not sure.
rain = Rain
rain-none = None, and none expected
rain-expected = Expected soon
rain-falling = It rains
slope = Slope
slope-flat = Flat
slope-gentle = Gentle
slope-steep = Steep
water_distance_ft = To the nearest water
well_distance_ft = To the nearest well
in-feet = In feet
plants-title = Plants
plant-about = { $count ->
    [one] 1 plant of { $said }
   *[other] { $count } plants of { $said } each
}
against = ; against { $pest }
of-product = of { $product }, { $method }
method-basal-drench = basal drench
method-soil-drench = soil drench
method-soil-injection = soil injection
method-trunk-injection = trunk injection
method-trunk-spray = trunk spray
method-foliar-spray = foliar spray
method-broadcast = broadcast
water-words = Water: { $said }
rounded-down = { $amount } (rounded down)
from-to = { $low } to { $high }
cups = { $count ->
    [one] { $said } cup
   *[other] { $said } cups
}
gallons = { $count ->
    [one] { $said } gallon
   *[other] { $said } gallons
}
cap-left = The cap leaves { $left } here, as of { $at }.
over-cap = More than the cap allows: { $left } left, as of { $at }. Do not pour it; ask the office.
outside-band = Outside the label's band of { $low } to { $high } { $unit } per { $per }. Read the label again.
caps-left = Left of the annual caps
cap-of = { $name }: { $left } left
cap-unchecked = { $name }: cannot be checked, no area is known
cap-unconfirmed = Earlier use is unconfirmed.
did-planned = Done as planned
did-measured = Done, measured or poured otherwise
did-skipped = Not done
height = Height measured
girth = Girth measured
ground = Ground measured
thousand-sqft = thousand sq ft
acres = acres
one-plant = plant
poured-pieces = For all plants of this record together
packet = { $count ->
    [one] packet
   *[other] packets
}
tablet = { $count ->
    [one] tablet
   *[other] tablets
}
diameter = Diameter measured
measure-planned = Planned with { $said }
new-dose = The dose for this measure:
poured-instead = Product poured
poured-hint = Leave it empty if you poured the dose above
water-poured = Water poured
water-poured-asked = Water poured, asked by a rule of the state
in-cups = In cups
why-not = Why not
reason-bloom = In bloom
reason-wet = Soil too wet
reason-gate = No way in
reason-gone = The plant is gone
the-stop = The stop
lot-of = Lot number on the container of { $product }
asked-by-rule = { $what }, asked by a rule of the state
started_at = Start
finished_at = End
finished-hint = Empty: when you finish below
wind_direction = Wind from
not-noted = Not noted
wind-calm = calm
wind-N = north
wind-NE = northeast
wind-E = east
wind-SE = southeast
wind-S = south
wind-SW = southwest
wind-W = west
wind-NW = northwest
wind_mph = Wind, miles per hour
temperature_f = Temperature, °F
supervisor = Supervising applicator
supervisor-hint = You hold no certification here that day.
nobody = Nobody
stop-more = Times, what lives here, note
beneficials = Insects seen that help
pests = Pests and diseases seen
note = Note
photo-take = Take a photo
photo-hint = Made smaller here and sent later, without where it was taken
photo-unreadable = This picture cannot be read. Take another one.
photo = Photo { $number }
finish-as = Sign as { $name } and finish
finish-words = Your name under the record confirms that this is what was done. It is sent as soon as there is signal.
finish-anyway = Finish without it
not-finished = Not finished yet
rule-wants = A rule of the state wants this written down
not-answered = say what was done
say-why = say why not
not-a-number = write a number, for example 4.5
not-a-measure = write what you measured, for example 8.5
not-here = This visit is not on this phone
finished-here = Finished; see sent and unsent
outbox-none = Nothing here
outbox-none-words = Finished visits stand here until the server has accepted them. Example: 14 Tamber Lane, on this phone.
outbox-words = On this phone: not sent yet. Sent: on its way. Accepted: the server has it. Nothing is lost when the page is closed.
locked = Locked
locked-words = Somebody else's unsent work. It opens when they sign in on this phone, or when the owner opens it here.
locked-open = Open it as the owner
tried = { $count ->
    [one] Tried once; again at { $at }.
   *[other] Tried { $count } times; again at { $at }.
}
kept-words = The server keeps it as it was sent; the office reads it and records the visit.
see-record = See the record
seen = I have seen it
try-again = Send it again
photos-waiting = { $count ->
    [one] 1 photo is on this phone
   *[other] { $count } photos are on this phone
}
photos-refused = { $count ->
    [one] 1 photo was not accepted; tell the office
   *[other] { $count } photos were not accepted; tell the office
}
note-limit-broken = A limit was broken.
do-limit-broken = Nothing to do on the phone: a licensed person answers it.
note-visit-reassigned = The visit had been given to somebody else.
do-visit-reassigned = What you did is recorded. Tell them that it is done.
note-visit-cancelled = The visit had been cancelled.
do-visit-cancelled = What you did is recorded. Tell the office.
note-recorded-twice = The visit has another record already.
do-recorded-twice = Both are kept. Tell the office if it was done only once.
note-label-replaced = The label has changed since your phone had it.
do-label-replaced = A licensed person looks at it. Read the new label before the next stop.
note-missing-field = Something is missing.
do-missing-field = Tell the office, or amend the record.
note-unsigned = It is not signed.
do-unsigned = Sign it on the record's page.
note-clock = The phone's clock is off.
do-clock = Set the phone's clock.
note-visit-unknown = The server does not know this visit as yours.
do-visit-unknown = Tell the office which visit it was.
note-unreadable = The server cannot read part of it.
do-unreadable = It is kept as it was sent; the office reads it.
note-key-used = The server has this completion already, in other words.
do-key-used = Look at the record. If it is not there, send it again.
note-refused = The server did not take it.
do-refused = Send it again, or tell the office. It stays here.
