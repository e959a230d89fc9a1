# What technicians read. The same names stand in the other languages' files.
skip-to-main = Skip to the main part
sign-out = Sign out
foot = The label and local rules decide; a licensed person answers.
main-navigation = Main
nav-visits = My visits
nav-products = Products
nav-account = My account
role-technician = technician
to-phone-page = The page for this phone, without signal too
record-this = Record this visit
booked-later = It is booked for a later day and is recorded on its day.
done-already = It was done already
visits-none = Nothing here
visits-none-words = Your visits stand here, today's first, once the office has booked them.
today = Today
not-recorded = Not recorded yet
coming = Coming
done-or-cancelled = Done or cancelled
done-and-cancelled = Done and cancelled
what-is-booked = What is booked
cancelled = cancelled
next-page = Next page
pages = Pages
plants = { $count ->
    [one] { $count } plant
   *[other] { $count } plants
}
language = Language
language-choose = Show the field pages in
language-save = Save the language
date = { $month } { $day }, { $year }
month-1 = Jan
month-2 = Feb
month-3 = Mar
month-4 = Apr
month-5 = May
month-6 = Jun
month-7 = Jul
month-8 = Aug
month-9 = Sep
month-10 = Oct
month-11 = Nov
month-12 = Dec
language-saved = The language is saved.
name = Name
role = Role
certifications = Certifications
certifications-none = None entered. The owner enters them.
certifications-caption = Certifications, the one that lasts longest first
category = Category
state = State
number = Number
from = From
last-day = Last day
sessions = Sessions
sessions-words = Lost a phone? This ends every session of yours, on this machine too.
sessions-end = Sign out everywhere
booked-for = It is booked for a later day:
ask-to-move = Ask the office to move it if you do it on another day.
which-day = Was it done already? Then write below on which day.
check-first = Not recorded yet: check the dose
what-done = What was done?
measured = Measured
check-dose = Check the dose
product-applied = Product applied
product-hint = Leave it empty after a new measure: the dose is worked out for you to check.
cups-unit = cups
why-not-hint = For example: in bloom, soil saturated, gate locked
caps-left-booked = Left of the annual caps, bookings taken off:
day = Day
no-certification = No certification is in force here that day.
record-visit = Record the visit
record-dose = Record with this dose
back-unsaved = Back without saving
record-of = Record, { $street }
product-together = For all plants of this record together.
route-sheet-today = Today's route sheet
waits-for-day = Waits for another day:
do-not-go = Do not go: it waits for another day.
stop = stop
as-it-is = each plant as it is
rate-per = { $amount } per { $what }
cap-left-of-product = { $name }: { $left } left, { $amount } of { $product }
each-of = { $amount } for each of the { $count }
counted-shrub = { $count ->
    [one] 1 shrub
   *[other] { $count } shrubs
}
counted-hedge = { $count ->
    [one] 1 hedge
   *[other] hedge of { $count }
}
counted-tree = { $count ->
    [one] 1 tree
   *[other] { $count } trees
}
counted-palm = { $count ->
    [one] 1 palm
   *[other] { $count } palms
}
dose-applied = Applied
dose-skipped = Not done: { $reason }
dose-released = Released
dose-planned = Planned
of-product-line = of { $product }, { $method }
water-beside = water { $said }
in-all = In all
load-with-water = { $product } of product, { $water } of water.
load-without-water = { $product } of product; the label states no water.
cup-shows = { $cup }: { $each }
cup-in-all = { $each } for each, { $all } in all
cup-fillings = { $said }, filled { $times } times
tank-loads = { $count ->
    [one] { $tank } ({ $holds }): { $said } load, with { $product }.
   *[other] { $tank } ({ $holds }): { $said } loads, each with { $product }.
}
tank-more-or-less = { $most } with the least water, { $least } with the most
asked-started = Started
asked-finished = Finished
asked-wind = Wind from
asked-wind-speed = Wind speed
asked-temperature = Air temperature
asked-water = Water used
asked-by = { $what }, asked by { $state } ({ $source })
offer-dose = Measured { $measured }, planned for { $planned }: at { $rate } that is { $dose }; the label's band gives { $low } to { $high }.
offer-none = Measured { $measured }, planned for { $planned }: at { $rate } there is no dose: { $why } Write how much was used.
offer-warning = Warning: { $words }
errors-title = Not saved yet. Please correct this first:
open-it = Open it
recorded = Recorded.
recorded-broken = { $count ->
    [one] Recorded. One limit was broken; a licensed person must answer the flag.
   *[other] Recorded. { $count } limits were broken; a licensed person must answer the flags.
}
write-amount = Write how much product was applied.
choose-done = Choose what was done: { $plant }.
band-left = { $amount } is outside the label's band of { $low } to { $high } for what was measured. Read the label again. If { $amount } was really poured, send it again and it is recorded as it was; else mend the amount.
day-unlikely = The visit is booked for { $booked }, and the day here is { $written }. If it was really done on { $written }, send it again; else mend the day.
measure-plant = Measure a plant
measure-save = Save the measure
measure-saved = The measure is saved.
back-without = Back without saving
measure-height = Height
measure-height-hint = Shrubs, hedges, many thin trunks
measure-trunk = Trunk diameter
measure-trunk-hint = At 4.5 ft; several stems: 5, 6, 8
measure-girth = Trunk girth
measure-girth-hint = Instead of the diameter: the tape around the trunk at 4.5 ft
stems-count-as = Several stems count as
stems-hint = Whoever saves this answers for it.
stems-sum = All diameters added
stems-quadratic = One trunk of the same cross-section (root of the summed squares)
stems-largest = The largest, and half of the others
measure-ground = Treated ground
measure-ground-hint = For a use whose rate goes by area
measure-ground-unit = Unit of the ground
unit-sqft = square feet
unit-acre = acres
unit-m2 = square metres
optional = (optional)
email = E-mail
password = Password
no-password = No password yet, or lost it? The owner can send you a link.
sign-in-wrong = E-mail and password do not belong together.
sign-in-pause = Too many tries. Wait a quarter of an hour, then try again.
form-fill-in = Please fill this in.
form-choose = Please choose one of these.
form-unseen = There is a character in here that cannot be shown.
form-number = This is not a number; write for example 8 or 2.5.
form-above-zero = This must be more than zero.
form-zero-or-more = This must be zero or more.
form-range = This number is out of range.
form-date = This is not a date; write it as 2026-05-15.
form-date-range = This date is out of range.
stop-time = This is not a time; write it as 14:30.
stop-temperature = This is not a temperature; write for example 68.
stop-temperature-range = This temperature is out of range.
sign-sheet = Sign sheet
sign-sheet-words = Print it, one sheet for each rule. The words whose size the rule sets have that size on paper; symbol, material and the rest are the rule's.
duty-title = Notices and signs by law
duty-do-not-begin = Do not begin before this is done
duty-neighbours = Tell the neighbours before
duty-registry = Tell who is on the registry or asked to be told
duty-customer = Tell the customer before
duty-statement = Give the customer a statement afterwards
duty-sign = Put up signs
duty-done = Done
duty-holds = Holds the visit
duty-open = Open
duty-by = At the latest { $day }.
duty-late = It was done too late: work may not begin before { $day }, or the visit moves to another day and it is done anew.
duty-live-rule = The live rule decides.
duty-unverified = nobody has verified it yet
duty-on-phone = Neighbours and signs that you tick below are kept with the record. What else was done is noted with signal:
duty-visit-page = the visit's page
