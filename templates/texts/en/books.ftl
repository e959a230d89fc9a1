# What technicians read of records, products and rules. The same names stand in the other languages' files.
record-title = Application record
record-withdrawn = Withdrawn
record-needs-answer = Needs a licensed answer
record-all-fields = All fields there
record-complete = Complete
record-fields-missing = Fields missing
record-amend = Amend
record-answered = Answered
record-answered-as = Answered: { $answer }
record-answered-by = { $name }, certification { $number }, { $when }
record-not-answered = Not answered
record-not-answered-words = What was applied stays recorded; a licensed person says what follows.
record-answer = Answer
record-answer-hint = It is kept under your certification.
record-answer-flag = Answer the flag
record-applied = What was applied
record-plant = Plant
record-product = Product
record-amount = Amount
record-rate = Rate
record-water = Water
record-registration = EPA Reg. No.
record-lot = lot
record-not-known = not known
record-not-noted = not noted
record-against = against { $pest }
record-plants = { $count } plants
record-photos = Photos
record-photos-coming = Not here yet
record-photos-phone = { $count } taken and still on the phone.
record-photo = Photo { $number } of { $all }
record-signatures = Signatures
record-unsigned = Not signed
record-unsigned-words = Whoever did the work signs it, and the certified person who supervised where they hold no certification of the state.
record-your-name = Your name
record-sign-hint = You sign that this is what was done.
record-sign-supervisor-hint = You sign as supervising applicator that this is what was done, and that your state lets it be done under supervision.
record-sign = Sign
record-signed = Signed.
record-signed-by = { $name }, { $capacity }
record-signed-number = , certification { $number }
record-signed-at = , { $day } at { $time }
record-signed-under = , under version { $version }
record-signed-misfit = { " " }(it does not fit what the version says now)
record-capacity-applicator = applicator
record-capacity-supervisor = supervisor
record-clothing = Protective clothing:
record-before = What it said before
record-version = Version { $number }
record-written = Written by { $who }, { $when }
record-amended = Amended by { $who }, { $when }. Reason: { $why }
record-changes = Changes of version { $number }
record-what = What
record-was = Before
record-since = Since
record-nothing = nothing
record-proof = Proof that it was not changed
record-place = Place { $seq } in the chain of all records, hash
record-proof-save = Save the proof of this record
record-proof-words = , which says how anybody can check it.
record-flag-version = { $title }, version { $number }
record-overtaken = Overtaken by an amendment
record-completeness = Completeness
record-no-rule = No record rule of this state is known here
record-whole-for = for
record-missing = Missing
record-amend-it = Amend the record
record-amend-words = from what is known.
record-outside = Asked for too, and kept outside the record:
record-by = Record by
record-written-late = Written later
record-keep = Keep until at least
record-its-visit = Visit
record-visit-see = See the visit
record-by-rule = { $state } ({ $source }, { $mark })
record-day-by = { $day } by { $source } ({ $mark })
record-day-house = { $day }: no rule known here states a day; ours is the same day
record-kept-also = { $law }; we keep it until { $day }
record-kept = We keep it until { $day }
mark-checked = checked
mark-part-checked = part checked
mark-unverified = unverified
record-part-counts = Does it count?
record-part-applied-on = Applied on
record-part-started = Started
record-part-finished = Finished
record-part-applied-by = Applied by
record-part-applicator = Applicator
record-part-supervisor = Supervising applicator
record-part-customer = Customer
record-part-customer-address = Customer's address
record-part-site = Site
record-part-county = County
record-part-wind = Wind from
record-part-wind-speed = Wind speed
record-part-temperature = Air temperature
record-part-area = Area treated
record-part-note = Note
record-part-bloom = Bloom seen
record-part-soil = Soil
record-part-rain = Rain
record-part-nearest-water = Nearest water
record-part-well = Nearest well
record-part-slope = Slope
record-part-ticket = Utility-locate ticket
record-part-told = Neighbours told
record-part-signs = Signs posted
record-part-beneficials = Beneficials seen
record-part-pests = Pests seen
record-part-photos = Photos
record-part-phone-finished = Finished by the phone's clock
record-part-phone-sent = Sent by the phone's clock
record-part-phone-clock = The phone's clock was
record-part-plant = plant
record-part-product = product
record-part-method = method
record-part-pest = target pest
record-part-count = number of plants
record-part-measure = measure
record-part-rate = rate
record-part-amount = amount
record-part-water = water
record-part-lot = lot
record-item-part = Item { $number }, { $what }
record-counts-yes = yes
record-counts-no = no, it was withdrawn
record-by-us = our company
record-by-others = another company
record-certified = { $name }, certification { $number }
record-product-number = { $product }, EPA Reg. No. { $number }
record-clock-ahead = { $seconds } seconds ahead
record-clock-behind = { $seconds } seconds behind
record-bloom-none = none
record-bloom-some = some
record-bloom-full = full
record-soil-dry = dry
record-soil-moist = moist
record-soil-saturated = saturated
record-soil-frozen = frozen
record-rain-none = none
record-rain-expected = expected
record-rain-falling = falling
record-slope-flat = flat
record-slope-gentle = gentle
record-slope-steep = steep
unit-cup = { $count ->
    [one] cup
   *[other] cup
}
record-choose = Choose one
record-one-of-us = One of us
record-other-company = Another company's applicator
record-certification-number = Certification number
record-supervisor-hint = Where the applicator holds no certification of the state
record-item = Item { $number }
record-other-ground = Other ground
record-other-ground-hint = For example: front lawn
record-use = Product and use
record-amount-of-product = Amount of product
record-unit = Unit
record-measure = Height in ft or diameter in inches
record-count = Number of plants
record-carrier-water = Carrier water
record-water-unit = Unit of water
record-lot-number = Lot number
record-leave-out = Leave this item out
record-more-items = One more item
record-weather = Time and weather
record-why = Why
record-reason = Reason for the amendment
record-reason-hint = What it said before stays readable.
record-save = Save
record-save-version = Save as version { $number }
record-withdraw = Withdraw the record
record-us = Our company
record-them = Another company
record-calm = Calm
record-retired = { $plant } (retired)
record-use-unsigned = { $use } (label not signed)
record-gone = Withdrawn; it counts nowhere and stays readable.
record-amended-so = Amended.
record-amended-broken = { $count ->
    [one] Amended. One limit was broken; a licensed person must answer the flag.
   *[other] Amended. { $count } limits were broken; a licensed person must answer the flags.
}

# The route sheet and the load sheet
sheet-weekday-1 = Mon
sheet-weekday-2 = Tue
sheet-weekday-3 = Wed
sheet-weekday-4 = Thu
sheet-weekday-5 = Fri
sheet-weekday-6 = Sat
sheet-weekday-7 = Sun
sheet-head = Route sheet
sheet-title = Route sheet, { $name }, { $day }
sheet-load-title = Load sheet, { $name }, { $day }
sheet-stops = { $count ->
    [one] { $count } stop
   *[other] { $count } stops
}
sheet-the-vehicle = Vehicle:
sheet-none-entered = none is entered
sheet-no-vehicle = no vehicle is entered
sheet-vehicle = { $name }, tank { $tank } gal
sheet-opening = { $stops }. Vehicle: { $vehicle }.
sheet-print = PDF to print
sheet-empty = No visit on this day
sheet-empty-words = The stops of the day stand here in their order once visits are booked. Example: 1, 09:30, 14 Tamber Lane.
sheet-see-visits = See the visits
sheet-none-booked = No visit is booked for this day.
sheet-sketch-of = Sketch of the way
sheet-way = The day's way
sheet-sketch = The stops by number in their order, north up; the square is where the day begins, the broken line the way back.
sheet-sketch-no-start = The stops by number in their order, north up; where the day begins is not known.
sheet-sketch-lacking = Without a known position and not drawn: { $stops }.
sheet-numbers = Numbers: the stops in their order.
sheet-square = Square: where the day begins. Broken line: the way back.
sheet-no-square = Where the day begins is not known.
sheet-lines = The lines show the order, not the roads.
sheet-the-stops = Stops
sheet-stop = Stop
sheet-when = When and where
sheet-plants = Plants, dose and water
sheet-page = Visit's page
sheet-no-hour = No hour is planned
sheet-promised = promised to the customer
sheet-access = Access
sheet-laws = Notices and signs by law
sheet-law = Law
sheet-law-done = done
sheet-law-excused = not asked for, says the owner
sheet-law-open = open
sheet-law-late = OPEN: done late, do not begin before { $from }
sheet-law-hold = OPEN: do not begin before it is done
sheet-tell = Tell the neighbours
sheet-told = { $count ->
    [one] At least { $count } hour before: { $reason }
   *[other] At least { $count } hours before: { $reason }
}
sheet-water-here = on the site
sheet-water-unknown = distance unknown: look for it before you pour
sheet-waiting = Waiting for another day: { $reason }
sheet-done = Done
sheet-cancelled = Cancelled
sheet-booked = Booked
sheet-code = Opens the page of this visit
sheet-dose = { $amount } of { $product }
sheet-no-water = no water stated
sheet-load = Load sheet
sheet-truck = What goes onto the truck
sheet-needed = Needed
sheet-carried = Carried
sheet-water-carried = Water carried
sheet-tank = Tank
sheet-none-stated = none stated
sheet-not-worked-out = not worked out
sheet-reserve = Needed is the exact sum of the planned doses. Carried is that and { $percent } per cent of reserve, rounded up; what is poured stays the dose at each plant.
sheet-no-tanks = No vehicle is entered, so tank loads cannot be worked out.
sheet-tanks = { $count ->
    [one] { $said } tank of { $holds }: { $filled }
   *[other] { $said } tanks of { $holds }: { $filled }
}
sheet-tank-all = all of it in one tank
sheet-tank-full = { $amount } in a full one
sheet-tank-full-from = { $least } in a full one with the least water, { $most } with the most
sheet-clothing = Protective clothing and precautions
sheet-first-aid = First aid:
sheet-folio = Page { $page } of { $of }

# Lists
list-narrow = Narrow the list
list-show = Show
list-earlier = Earlier page
state-of = State

# Products
product-lead = What is applied, where it is registered, and which label version is in force.
product-state-rules = State rules
product-state-rules-say = say what may be used where.
product-search = Name or registration number
product-none = No products yet
product-none-words = The office enters products and their labels.
product-none-fits = No product fits
product-none-fits-words = Try a shorter part of the name or of the registration number, or show retired ones as well.
product-by-name = Products by name
product-number = Reg. No.
product-form = Form
product-registration = Registration
product-none-entered = None entered
product-form-liquid = liquid
product-form-dry = dry
product-form-packet = packet
product-form-tablet = tablet
product-kind-liquid = liquid
product-kind-dry = dry
product-kind-packet = in packets
product-kind-tablet = in tablets
product-in-use = In use
product-retired-too = Retired as well
product-retired = Retired
product-in-force = Version { $number } in force
product-draft-waits = Version { $number } in force, a draft waits
product-not-signed = Not signed yet
product-no-label = No label entered
product-expired = Expired { $day }
product-last-day = Last day is today, { $day }
product-until = Until { $day }
product-only-from = Only from { $day }
product-since = since { $day }
product-price = { $price } for 1 { $unit }
product-costs = It costs { $price }.
product-aside = Registrations and use
product-registered-in = Registered in
product-no-state = No state entered yet.

# Files of a label
document-label = Label
document-safety-data-sheet = Safety data sheet
document-replaced = replaced
document-hash = SHA-256 starts with
document-none-sheet = None brought yet. It is brought on the page of a label version.
document-none = None brought yet. Phones keep the label and the product's safety data sheet for where there is no signal.

# A label
label-version = label version { $number }
label-versions = Label versions
label-none-signed = No signed label yet: nothing can be planned with this product.
label-newest-first = Newest first
label-version-head = Version
label-date = Label date
label-signed = Signed
label-not-yet = Not yet
label-is-law = Label entries are data that a licensed person checks. The label itself is the law, and local rules come on top.
label-state-draft = Draft, not signed
label-state-in-force = Signed, in force
label-state-replaced = Signed, replaced
label-of = Label of
label-clothing = Protective clothing
label-precautions = Precautions
label-not-entered = Not entered.
label-none-entered = None entered.
label-not-stated = Not stated
label-uses = Uses
label-method = Method
label-hosts = Host plants
label-pests = Target pests
label-protects = Protects for
label-uptake = Uptake
label-days = { $days } days
label-limits = Limits
label-ingredients = Active ingredients
label-ingredient = Ingredient
label-group = IRAC group
label-strength = Strength
label-caps = Annual caps
label-no-caps = None entered: this version sets no limit of amount for the year.
label-cap-counts = Counts
label-cap-most = At most
label-cap-in = In
label-times = Times a year
label-at-most = at most { $times } in any 12 months
label-aside = Signature and category
label-signature = Signature
label-compared = compared it with the label in hand and signed on { $day }, certification
label-stays = It stays as it is.
label-not-whole = Not whole yet
label-needs = Before it can be signed it needs:
label-cannot-sign = You cannot sign it
label-i-compared = I have compared this entry with the label in hand
label-every-line = Every line: rates, limits, clothing, precautions. Afterwards nothing changes.
label-sign = Sign version { $number }
label-and-sheet = Label and data sheet
label-about = About it
label-signal-word = Signal word
label-none = None
label-restricted = Restricted
label-restricted-use = Restricted use product
label-no = No
label-excluded = Excluded
label-no-host = No host plant
label-entered = Entered
label-one-tablet = One tablet
label-one-packet = One packet
label-density = Density
label-product-itself = { $product }, the product itself
label-limit-interval = At least { $days } days between applications
label-limit-span = from { $from } to { $to }
label-limit-only = Only { $spans }
label-limit-bloom = Not while the plant is in bloom
label-limit-food = Covers bearing food plants
label-limit-no-food = Does not cover bearing food plants
label-limit-group = Not on a plant that had the same mode of action before

# Rules of states
rule-title = State rules
rule-lead = What states ask before an ingredient may be used on ornamental plants. A state that is not listed has no rule here, which is not the same as having none.
rule-caution = The label and the live rule decide; a licensed person answers. Rules marked unverified were not read at their source: they caution and forbid nothing until a licensed person has answered them. Checked ones forbid, and only an exemption for a piece of land narrows them.
rule-every-state = Every state
rule-none = No rule is entered for this state
rule-none-words = Read the state's own rules before you plan there. Each state with a rule stands in the list above. Example: Vermont, all plants, no use save under an exemption.
rule-see-every = See every state
rule-of-state = Rules of this state
rule-by-state = Every rule, by state
rule-where = Where
rule-ingredients = Ingredients
rule-speaks = What it speaks of
rule-speaks-short = Speaks of
rule-what-asks = What it asks
rule-asks = Asks
rule-days = In force
rule-source = Source
rule-verified-here = Verified here
rule-set-aside-here = Set aside here
rule-checked = Checked
rule-part-checked = Part checked
rule-unverified = Unverified
rule-every-method = every method
rule-in-force = in force; its first day is not known
rule-from = from { $from }
rule-until = until { $until }
rule-from-until = from { $from } until { $until }
rule-the = The rule
rule-land = Land
rule-methods = Methods
rule-every = Every rule
rule-answers = Answers
rule-no-answer-open = None. Until a licensed person answers, this rule cautions and forbids nothing.
rule-no-answer = None. This rule was read at its source; it needs no answer.
rule-answers-caption = Answers, the newest first; the newest counts
rule-answered = Answered
rule-answered-by = By
rule-holds = It holds
rule-set-aside = Set aside
rule-taken-back = Taken back: unverified again
rule-read-on = read on
rule-answer-this = Answer this rule
rule-answer-it = Answer it
rule-who-answers = Only somebody with a current certification answers. The answer is kept with name and day.
rule-found = What did you find?
rule-find-holds = It holds: I read it at its source
rule-find-set-aside = It does not hold here
rule-find-open = Neither: take the answer back, it is unverified again
rule-citation = Where it is written
rule-citation-hint = If it holds: section and title, as the state prints it
rule-verified-on = Read on
rule-if-holds = If it holds
rule-reason = Reason
rule-reason-hint = If it does not hold, or the answer is taken back
rule-do-answer = Answer
rule-cannot = It cannot be set aside
rule-cannot-words = It was read at its source. Only an exemption that a regulator grants for a piece of land narrows it: enter that at the site, under Exemptions of this land.

# Pests that states list
pest-title = Pests that states list
pest-lead = Some states bar an ingredient save against pests of a list of their own. A plant whose target pest stands here is then allowed to a certified applicator.
pest-rules = The state rules
pest-none = None entered. The program ships with no list: read the state's own and enter from it. Example: Maine, hemlock woolly adelgid, the state's list of emerging invasive invertebrate pests.
pest-by-state = Listed pests, by state
pest-pest = Pest
pest-read = Read
pest-entered-by = Entered by
pest-take-off = Take { $pest } off
pest-enter = Enter a pest
pest-who = Only somebody with a current certification enters one.
pest-hint = Its common name, as your plants name it
pest-state-hint = Two letters
pest-printed = Where the list is printed
pest-how-far = How far was it read?
pest-enter-it = Enter the pest
pest-checked = Checked: read in the state's own list
pest-part-checked = Part checked: read in a summary of it
pest-unverified = Unverified: not read yet; it opens nothing
pest-opens-nothing = Unverified: opens nothing

# The sheet of a sign
sign-size = Size
product-days-left = { $count ->
    [one] 1 day left, until { $day }
   *[other] { $count } days left, until { $day }
}
product-plants = { $count ->
    [0] No plant is meant to get it.
    [one] 1 plant record is meant to get it.
   *[other] { $count } plant records are meant to get it.
}
label-limit-times = { $count ->
    [one] Once a year
   *[other] { $count } times a year
}
label-limit-bloom-lead = { $count ->
    [one] Not while the plant is in bloom, nor in the 1 day before
   *[other] Not while the plant is in bloom, nor in the { $count } days before
}
label-limit-harvest = { $count ->
    [one] Covers bearing food plants, at the latest 1 day before harvest
   *[other] Covers bearing food plants, at the latest { $count } days before harvest
}
label-limit-rest = { $count ->
    [one] After it no foliar use of group 4 for 1 day
   *[other] After it no foliar use of group 4 for { $count } days
}
label-to-one-plant = { $count ->
    [one] 1 application to one plant
   *[other] { $count } applications to one plant
}
