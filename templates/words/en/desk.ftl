# Words of the pages ashore.

way-day = Today
way-report = Report
way-people = People
way-boats = Boats
way-sites = Sites
way-crew = Crew and devices
save = Save
reason = Why?
leader = Leader
no-leader = No leader yet
no-zone = No zone
litres = { UNITS() ->
    [imperial] cu ft @ psi
   *[metric] l
}
time-zone = Time zone
time-zone-hint = As in the zone database: Indian/Maldives, Europe/Lisbon
nautical-miles = nautical miles
of-run-time = of the run time
minutes = { $n } min
planning-aid = Planning aid. It does not replace a dive computer, training, a lookout, radio or the local code.
not-for-navigation = Not for navigation.
hidden-while-counting = Figures are hidden while a count is open.
no-depth-limit = no depth limit given
desk-fault = { $called }: it { $what }. Give { $allowed }.
desk-fault-plain = { $called }: it { $what }.

fault-zone = Give a time zone of the zone database, such as Indian/Maldives.
fault-day = Give a day from { $first } to { $last }, as 2026-05-04.
fault-line = Give at most name; level; limit, with semicolons between.
fault-said = { $why }
fault-contact = Give name and telephone, or leave all three empty.
fault-nobody-ticked = Tick at least one person first.
fault-no-letter = All letters are taken on this dive. Move people to a group there is.
fault-unit = Tick two or three people of one group: a pair or a three.
fault-capacity = Give at least 1.
fault-mmsi = Give nine digits, or leave it empty.
fault-plan = Give 1 to { $most } steps, one a line.
fault-no-role = Tick at least one role.
fault-pin-digits = Give six digits.
fault-pin-trivial = Choose another: no runs and no repeats.
fault-name-taken = There is an account of that name. Give another name.
fault-no-account = That account is no longer there. Load the page.
fault-own-role = You cannot take the skipper's role or the ownership from yourself. Another skipper or owner can.
fault-display-alone = A display only shows: tick it alone.
fault-passphrase-length = Give 15 to 128 characters: several words that do not belong together.
fault-passphrase-trivial = Choose another: it repeats the same few characters.
fault-own-account = You cannot remove your own account. Another skipper can.
fault-not-sure = Tick that this account is to be removed.
fault-own-device = You are using this device now. Revoke it from another.

day-title = Trips
day-still = Stop renewing this page
day-renew = Renew this page every 15 s
day-none = No trip today.
day-out = out of the boat
day-on-roster = on the roster
day-late = late
day-new = New trip
day-others = Other days
day-register = Register

trip-at-quay = At the quay
trip-under-way = Under way
trip-on-site = On site
trip-back = Back in harbour

new-trip-title = New trip
new-trip-no-boat = There is no boat in the register yet. Add one first.
new-trip-no-skipper = Nobody has the role of skipper yet. Add an account first.
new-trip-boat = Boat
new-trip-skipper = Skipper
new-trip-harbour = Harbour
new-trip-day = Day
new-trip-windows = Minutes of the watch
new-trip-plans = What plans are held against
new-trip-plans-how = Gradient factors of the tissue model (0.40 at the first stop, 0.80 at the surface as usual) and the pressure every cylinder brings back on the boat. The dive computer and the local code rule.
plan-gradient-low = Gradient factor at the first stop
plan-gradient-high = Gradient factor at the surface
plan-reserve = Reserve back on the boat
new-trip-windows-how = The centre's own figures. No published code fixes them: follow the local code where it is stricter.
window-earliest-share = Earliest surfacing
window-latest = Late after the expected time
window-grace = Overdue after late
window-night-latest = Late at night
window-night-grace = Overdue at night
window-sight = A head is lost to sight at
new-trip-send = Open trip

launch-blocked = Before the boat leaves
launch-clear = Nothing keeps the boat at the quay
trip-command = In command
trip-dive = Dive { $n }: { $site }
trip-form-groups = Groups of this dive
trip-plan-dive = Plan a dive
trip-no-site = There is no site in the register yet.
trip-site = Site
trip-dive-number = Dive
trip-dive-again = Dive { $n }
trip-dive-new = Dive { $n }, new
trip-plan-dive-send = Plan this dive
trip-last = Last entries
trip-whole-log = The whole log

todo-roster = Nobody is on the roster
todo-dive = No dive is planned
todo-groups = Dive { $dive }: no group is formed
todo-without-group = Dive { $dive }: in no group: { $names }
todo-group = Group { $letter }: { $what }
block-out = Not accounted for: { $names }
block-not-aboard = Neither aboard nor marked as not coming: { $names }
block-not-counted = Two crew have not counted yet
block-count-open = A count is open, round { $round }
block-count-failed = Counts differed twice
block-count-old = Somebody moved after the count: count again
block-no-roll = The roll was not called by name
block-roll-old = Came or moved after the roll: { $names }
block-over-capacity = More people aboard than the { $capacity } the boat may carry

desk-divers = { $n ->
    [one] 1 diver
   *[other] { $n } divers
}
desk-snorkellers = { $n ->
    [one] 1 snorkeller
   *[other] { $n } snorkellers
}
desk-passengers = { $n } staying dry
desk-crew-aboard = { $n } crew
desk-in-all = { $n } in all

activity-diver = Diver
activity-snorkeller = Snorkeller
activity-passenger = Stays dry
activity-crew = Crew
fitness-cleared = Cleared
fitness-restricted = Restricted

roster-coming = { $n } of { $capacity } places taken
roster-capacity = boat carries { $n }
roster-type = Add by typing
roster-line = Name; level; depth limit in { SIGN("depth") }
roster-line-hint = { UNITS() ->
    [imperial] Sefa Moana; autonomous diver; 60
   *[metric] Sefa Moana; autonomous diver; 20
}
roster-activity = On this trip
roster-both = Another person of this name is on the roster, and both are meant
roster-both-short = Both are meant
roster-add = Add to roster
roster-choose = Choose from the register
roster-find = Part of a name
roster-find-hint = In any script, with or without accents
roster-find-send = Find
roster-found-none = Nobody of that name in the register.
roster-on = On the roster
roster-add-this = Add
roster-caption = Coming along
roster-where = Where now
roster-change = Change
roster-staying = Not coming
roster-staying-one = Marked as not coming
roster-coming-send = Comes after all
roster-not-coming = Not coming?
roster-not-coming-send = Mark as not coming
roster-aboard-already = This person has come along: the crew logs where they are.

person-name = Name
person-level = Level
person-level-hint = In the words of ISO 24801: supervised, autonomous, dive leader
person-limit = Depth limit
person-limit-hint = Of that level; empty for who does not dive
person-last-dive = Last dive
person-fitness = Fitness
person-fitness-hint = Cleared or restricted; no medical word here
person-archived = Leave out of lists
person-in-register = This person in the register
people-caption = People of the register
people-new = New person
people-add = Add person
contact-title = Emergency contact
contact-note = Kept in the register only. It never goes into a trip's log, and whoever opens it is named in the audit.
contact-name = Name of the contact
contact-relation = What they are to the person
contact-telephone = Telephone
contact-sealed = A contact is on record, sealed.
contact-open = Open the contact
contact-none = No contact on record.
contact-give = Give a contact
contact-replace = Replace the contact
contact-forget = Leave all three empty to forget the contact.
contact-save = Save contact

csv-title = Roster from a file
csv-way = Up to 200 people at once, shown line by line before anything is written.
csv-open = Roster from a file
csv-how = First line: names of the columns. Comma, semicolon or tab between them.
csv-columns-must = Needed: name. For who dives also: depth limit (in the file always in metres).
csv-columns-may = If there: level, activity (diver, snorkeller, passenger, crew), last dive (2026-05-04), fitness (cleared, restricted).
csv-columns-contact = Also: contact name, contact relation, contact telephone, date of birth (2011-05-04). They go to the register, not into the log.
csv-text = Paste lines here
csv-text-hint = name;level;depth limit
csv-file = Or choose a file
csv-file-hint = CSV in UTF-8, at most 200 people
csv-check = Show what would be written
csv-nothing-written = Nothing was written. Mend these lines and show it again.
csv-caption = { $n ->
    [one] 1 person read
   *[other] { $n } people read
}
csv-line-number = Line
csv-has-contact = given
csv-who = In the register
csv-same = Is the one in the register
csv-new = New
csv-same-note = Where somebody is the one in the register, the lesser depth limit and any restriction stand.
csv-confirm = { $n ->
    [one] Add this person
   *[other] Add these { $n } people
}
csv-again = Or read another file
csv-line = Line { $line }: { $why }
csv-whole = { $why }
csv-empty = There is nobody in it. Give a line of column names and a line for each person.
csv-too-many = { $lines } lines: at most { $most } people fit on one roster. Nothing was read.
csv-unreadable = This cannot be read as CSV: { $why }
csv-unknown-column = These columns are not known: { $names }. Rename or remove them.
csv-no-name-column = No column is called name. The first line must name the columns.
csv-too-many-fields = It has { $n } fields and the first line names { $of } columns. Quote what holds the delimiter.
csv-contact = Contact: at most 80 characters each, none that cannot be printed.
csv-name-empty = Give a name.
csv-activity = Activity: give diver, snorkeller, passenger or crew.
csv-fitness = Fitness: give cleared or restricted.
csv-limit = Depth limit: give a number { $allowed }.
csv-born = Date of birth: give a day as 2011-05-04.
csv-limit-missing = Depth limit: give it, as this person dives.
csv-last-dive = Last dive: give a day as 2026-05-04.

groups-title = Groups of dive { $n }, { $site }
groups-how = Tick people, then press where they go. Pairs and threes are drawn as boxes. Nothing is written until you save.
groups-not-saved = Changed here, not saved yet.
groups-with-ticked = Ticked people:
groups-to = To group { $letter }
groups-new = To a new group
groups-unit = Make a pair or three
groups-out = Out of their group
groups-free = In no group
groups-free-none = Everybody who dives is in a group.
groups-is-new = new
groups-empty = Nobody is left: saving stands this group down.
groups-plan = Plan, leader, gas
groups-new-plan = Plan of new groups
groups-kit = Gas of people who come into a group
groups-kit-hint = Who comes from another group of this dive brings their own. Who is known to breathe another rate, by logged dives or the register, is planned with that.
groups-save = Save groups
groups-gone = In the water or back
group-emptied = Nobody is left in the group
group-weakest = Least depth limit { LIMIT($limit) }, { $name }
group-window = Minutes from the drop: up from { $earliest }, expected { $expected }, late { $latest }, overdue { $overdue }, no gas after { $gas }
unit-pair = Pair
unit-three = Three
unit-alone = Alone: needs a partner
unit-too-many = More than three
caution-no-leader = No leader is named
caution-alone = { $name } has no partner
caution-override = Limit taken on: { $why }
caution-night = If dropped now it ends at night: lights, shorter windows

mode-return = Returns to where it went in
mode-drift = Drifts with the current
mode-one-way = One way, on a course
mode-one-way-course = One way, { $course }

plan-title = Group { $letter }, dive { $n }
plan-move-people = Move people
plan-stood-down = Stood down: { $reason }
plan-stands = As it stands
plan-checked = Checked, not saved yet
plan-levels = Levels
plan-level = Level { $n }
plan-levels-hint = In order of time, up to five; the minutes of a level include the way to it.
plan-depth = Depth
plan-minutes = Minutes
plan-minutes-hint = Bottom time, descent included
plan-stop-depth = Safety stop
plan-stop-minutes = Stop time
plan-mode = Way back
plan-course = Course
plan-course-hint = For one way only
plan-enters = Means to leave the surface
plan-enters-hint = A time of that day, 10:15. Sunset and the turn of the stream are held against it
plan-zone = Zone to surface in
plan-override = Limit taken on, and why
plan-override-hint = Only where a limit or a restriction is passed. Your name stands beside it in the log and in every report.
plan-check = Check plan
plan-save = Save plan
plan-stand-down = This group does not dive?
plan-stand-down-send = Stand down
plan-asking = Reckoning with what is typed
plan-asking-failed = No answer came: what stands here is older than what is typed. Press Check plan.
plan-fixed = This group has been in the water or is stood down. Its plan does not change here.
kit-title = Gas
kit-cylinder = Cylinder
kit-oxygen = Oxygen
kit-bar = Start
kit-breathing = Breathing rate
breathes-learned = { RATE($rate) }, median of { $n ->
    [one] 1 dive
   *[other] { $n } dives
}
breathes-stated = { RATE($rate) }, as stated in the register
breathes-usual = usual { RATE($rate) }, no dive logged

sheet-boat = Boat
sheet-day = Day
sheet-harbour = Harbour
sheet-skipper = In command
sheet-printed = Printed
sheet-entry = Log entry
sheet-print-how = Print with your browser: A4, upright.
sheet-people = { $n ->
    [one] 1 person
   *[other] { $n } people
}
sheet-number = No.
sheet-out = Out
sheet-back = Back
sheet-group = Group
sheet-gas-title = Gas
sheet-gas = { SIZE($litres) } · { $oxygen } % · { PRESSURE($bar) }
sheet-in = In
sheet-up = Up
sheet-bar = { UNITS() ->
    [imperial] Psi
   *[metric] Bar
}
sheet-depth = Depth
sheet-leads = leads
sheet-dry = In no group:
sheet-emergency = Emergency plan
sheet-cut-off = From the drop: due { $due }, late { $late }, overdue { $overdue } min
sheet-cut-off-at = Due { $due }, late { $late }, overdue { $overdue }

alerts-desk = Alerts are acknowledged on board. Call the boat if one stands unanswered: { $skipper } has command.

log-track = { $n ->
    [one] One position by the instruments is not listed here; the exports have it.
   *[other] { $n } positions by the instruments are not listed here; the exports have them.
}
log-how = Nothing is deleted. What was taken back is struck and stays readable.
log-caption = Entries, the latest first
log-entry = Entry
log-when = When
log-who = Who, on which device
log-what = What
log-detail = Said
log-void = Void
log-void-title = Void this entry
log-void-how = It stays in the log, struck, with your name and reason. What it said about people no longer counts.
log-void-send = Void entry
log-one-title = Entry { $n }
log-received = received { $at }
log-brought = brought by { $name }
log-struck = Taken back by { $by } at { $at }: { $reason }
log-device-unknown = unknown device
log-unread = Entry of a newer version, not readable here
log-clashes = Entries that disagree
log-said = { $place }, said { $by } on { $device } at { $at }
log-gap = { $n } entries of { $device } have not arrived

report-all = Everyone is accounted for: counted, called by name, agreed with the log
report-out = Not everyone is accounted for
report-under-way = The trip is not over
report-not-counted = Nobody is out by the log, but count and roll call at the return are not complete
report-gaps = Still missing from the record
report-dives = Dives
report-aboard = Aboard
report-seen-by = Seen by
report-problem = Noted
report-minutes-of = Minutes, of plan
report-depth-of = Depth, of plan
report-of-plan = { $dived } of { $planned }
report-not-known = ?
report-rate = { SIGN("rate") }
report-after = Before the next dive, before flying
report-next = Earliest next entry, no stops
report-next-planned = { $at } for the dive planned
report-next-again = { $at } for the same dive again
report-next-none = not within a day without stops
report-not-up = not up yet
report-no-fly = Stay on the ground
report-until = Until
report-why = After
report-hours = { $n } h
report-fly-single = a single dive
report-fly-repeated = several dives, or diving on days in a row
report-fly-stops = a dive that owed stops
report-after-note = Hours before flying: at least 12 after a single dive without required stops, 18 after several dives or days of diving (DAN workshop on flying after recreational diving, 2002); substantially more than 18 after required stops, for which 24 are taken here. Reckoned from what was logged. A diver's own computer and training may ask for longer, and then they count.
report-counts = Counts and roll calls
report-counts-none = None yet.
report-count = { $n } by { $by } at { $at }
report-count-hidden = Counted by { $by } at { $at }
report-open = open, round { $round }
report-agreed = agreed on { $n }
report-agreed-hidden = agreed
report-failed = differed twice
report-roll = Roll call { $point } by { $by } at { $at }: { $n } seen, { $absent } not seen
report-roll-hidden = Roll call { $point } by { $by } at { $at }
report-overrides = Overridden
report-incidents = Incidents
report-said = { $text } ({ $by }, { $at })
report-lacks = { $name }, dive { $dive }: { $what }
report-lacks-up = time up
report-lacks-aboard = time aboard
report-lacks-bar = { UNITS() ->
    [imperial] psi left
   *[metric] bar left
}
report-lacks-depth = greatest depth
report-lacks-stop = stop done or not
report-gap = { $n } entries of a device have not arrived

boats-caption = Boats of the register
boat-new = New boat
boat-name = Name
boat-call-sign = Call sign
boat-capacity = Carries
boat-capacity-unit = people, crew included
boat-speed = Speed between groups
boat-boarding-s = Time to board one person
boat-approach-s = Time to set up an approach
boat-boarding = People come aboard by
boat-side = Comes in
boat-side-hint = Sources disagree: this boat's own habit, never a command
boat-mmsi = MMSI
boat-mmsi-hint = Nine digits, if the radio has one
boat-radio = Radio and channel
boat-recall = Recall signal
boat-recall-hint = As it is agreed on in the briefing: engine revs three times, a bang on the ladder
boat-plan = Emergency plan
boat-plan-hint = One step a line, in order
boarding-ladder = Ladder
boarding-lift = Lift
side-not-set = Not set
side-up-wind = From up-wind
side-down-wind = From down-wind
side-lee = In the lee

sites-caption = Sites of the register
site-new = New site
site-name = Name
site-place = Place
site-stand-off = Distance kept from keep-clear areas
site-lat = Latitude
site-lat-hint = 4 10.5 N, or 4.175
site-lon = Longitude
site-lon-hint = 73 30.2 E, or 73.50333
site-water = Water
site-water-salt = Sea water
site-water-fresh = Fresh water
site-surface-bar = { UNITS() ->
    [imperial] Air pressure at the surface: 14.7 at sea level, some 0.15 less for every 280 ft up
   *[metric] Air pressure at the surface: 1.01325 at sea level, some 0.01 less for every 85 m up
}
site-notes = What the crew should know

crew-skipper-only = The skipper or an owner makes and changes accounts.
crew-roles = Roles
crew-roles-send = Save roles
crew-new-pin = New PIN
crew-pin-hint = Six digits; no runs, no repeats
crew-pin-send = Give this PIN
crew-passphrase = Passphrase for the desk
crew-passphrase-set = A desk asks for a passphrase instead of the PIN.
crew-passphrase-none = A desk takes the PIN.
crew-passphrase-hint = 15 characters or more; left empty, the desk takes the PIN. Helm and deck always take the PIN.
crew-passphrase-send = Keep this passphrase
crew-remove = Remove account
crew-remove-sure = Remove it; what it wrote stays
crew-add-title = New account
crew-add = Add account
crew-devices = Devices
crew-code = Code for one device
crew-code-until = Good once, until { $at }.
crew-code-send = Make a code for a new device
device-name = Device
device-kind = Used at
device-since = Let in
device-state = State
device-revoke = Revoke
device-revoked = Revoked { $day }
device-own = This one
device-in-use = In use

point-departure = before departure
point-leaving = before leaving the site
point-return = at the return
vessel-own = on this boat
vessel-tender = on the tender
vessel-other = on { $name }
vessel-shore = ashore, { $place }

told-trip-opened = Trip opened
told-person-joined = On the roster
told-person-changed = Person changed
told-person-not-coming = Not coming
told-dived-earlier = Dived earlier today
told-dive-planned = Dive planned
told-group-formed = Group formed
told-group-stood-down = Group stood down
told-head-counted = Heads counted
told-roll-called = Roll called, seen
told-departed = Departed
told-on-site = On site
told-conditions-observed = Conditions seen
told-boat-positioned = Boat at
told-drop-checked = Checked before the drop
told-left-surface = Left surface
told-buoy-seen = Buoy seen, nobody counted
told-at-surface = At surface
told-others-well = Others well
told-lost-contact = Lost contact
told-aboard = Out of the water
told-return-noted = Return noted
told-more-time = Given more time
told-recall-sounded = Recall sounded
told-person-missing = Missing
told-person-found = Found
told-emergency-declared = Emergency declared
told-emergency-step = Emergency plan
told-emergency-ended = Emergency over
told-alert-acknowledged = Alert acknowledged
told-alert-silenced = Alert quiet for 30 s
told-lookout-posted = Lookout posted
told-lookout-relieved = Lookout relieved
told-command-handed-over = Command offered
told-command-accepted = Command taken
told-pickup-arranged = Pickup order arranged
told-incident-noted = Incident
told-left-site = Left site
told-back-in-harbour = Back in harbour
told-trip-closed = Trip closed
told-beacon-heard = Locator beacon heard
told-beacon-dismissed = Beacon dismissed
told-report-signed = Report signed
told-record-sealed = Record sealed
told-signed-over = over entries 1 to { $n }, chain { $chain }
told-record = with an incident record
told-voided = Taken back
told-void-waits = waits for a second crew member on another device
told-dive = Dive { $n }
told-group = Group { $letter }
told-earlier-dive = { DEPTH($depth) }, { $minutes } min, up at { $at } ({ $source })
told-because = because: { $reason }
told-override = overridden: { $reason }
told-by-heads = by heads
told-by-names = by names
told-count-hidden = figure hidden while the count is open
told-counted = { $n } counted, { $log } by the log
told-not-seen = not seen: { $names }
told-current = current to { $set }, { $drift } kn
told-wind = wind from { $from }, { $speed } kn
told-visibility = visibility { LENGTH($n) }
told-sea-calm = sea calm
told-sea-slight = sea slight
told-sea-moderate = sea moderate
told-sea-rough = sea rough
told-water = water { $n } °C
told-neutral = engine in neutral
told-flag = flag or lights shown
told-lights = every diver has a light
told-window = expected after { $expected } min, late { $latest }, overdue { $overdue }
told-signal-well = all well
told-signal-none = no signal seen
told-signal-help = needs help
told-said-by = said by { $name }
told-seen-by = seen by { $name }
told-limit = limit { LIMIT($n) }
told-bar = { PRESSURE($n) } left
told-depth = greatest depth { DEPTH($n) }
told-surfaced-at = up at { $at }
told-stop-done = stop done
told-stop-missed = stop not done
told-of-entry = entry { $n }

# Dives of the day before a trip
earlier-title = Dives before this trip
earlier-of = Dives of { $name } before this trip
earlier-none = None is told. Dives on other trips of this box are looked up when a plan is made.
earlier-change = Tell dives before this trip
earlier-hint = Of the day of the trip and the day before: every plan is reckoned with them. A time alone is the last such time before now; else give date and time, 2026-05-04 17:40. Empty a line to take it out.
earlier-dive = Dive
earlier-minutes = Minutes to leaving the bottom
earlier-up = Up at
earlier-source = Told by
earlier-back = Back to this person
