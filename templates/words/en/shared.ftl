# Words of every page.

drill = DRILL
skip-to-main = Skip to the page
ways = Pages
ways-and-screen = Pages and screen
actions = Actions
palette = Screen colours
palette-day = Day
palette-dusk = Dusk
palette-night = Night
sound-on-this-device = Sound on this device
sound-is-on = Sound is on
undo = Undo
go-back = Go back
there-is-a-problem = There is a problem
minutes-short = min
minutes-seconds-short = min:s

own-clock-ahead = The clock of this device is { $span } ahead of the box. Deadlines count on the box's time, { $time }.
own-clock-behind = The clock of this device is { $span } behind the box. Deadlines count on the box's time, { $time }.

age-page = when made
age-live = Live
age-stale = Not live since { $since } ({ $age })

alerts = Alerts
no-alerts = No alerts
all-alerts = All alerts
more-alerts = more alerts
more-notices = more of the box
notice-of-the-box = the box, since

error-prefix = Error:{" "}
to-the-start = To the start
role-skipper = Skipper
role-divemaster = Divemaster
role-desk = Desk
role-owner = Owner
role-display = Display
way-watch = Watch list
way-pickup = Pickup order
way-count = Count
way-roll = Roll call
way-conditions = Conditions
way-emergency = Emergency
way-trip = Trip
way-groups = Groups
way-returns = Returns
way-lookout = Lookout
void-waits = { $by } takes this back: { $reason }. It counts once a second crew member does so on another device.
way-roster = Roster
way-passenger-list = Passenger list
way-boat-sheet = Boat sheet
way-log = Log
way-helm = Helm
way-deck = Deck
way-desk = Desk

drill-device = Screen of the drill
enrol-title = Let this device in
enrol-how = The skipper, or whoever runs this box, gives out a code of eight digits. It is good once, for ten minutes.
enrol-code = Code
enrol-code-hint = Eight digits
enrol-name = Name of this device
enrol-name-hint = As the crew calls it: helm tablet, deck phone 1
enrol-kind = Where is it used?
enrol-send = Let in
place-of-work-helm = Helm
place-of-work-helm-note = Tablet of the skipper
place-of-work-deck = Deck
place-of-work-deck-note = Phone of a divemaster
place-of-work-desk = Desk
place-of-work-desk-note = Computer ashore
sign-in-title = Sign in
sign-in-device = This device: { $device }
sign-in-name = Name
sign-in-pin = PIN
sign-in-pin-hint = Six digits
sign-in-desk = PIN or passphrase
sign-in-desk-hint = Six digits, or your passphrase if you have one
sign-in-send = Sign in
sign-out = Sign out
start-title = Trips
start-none = No trip yet. The desk opens one.
start-desk = Plan at the desk
trip-closed = closed
day-unknown = day not known

dive-level = { DEPTH($depth) } { $minutes } min
dive-stop = { $minutes } min at { STOP($depth) }

# Days, bearings, ranges.
day-in-words = { $day } { $month } { $year }
month-1 = January
month-2 = February
month-3 = March
month-4 = April
month-5 = May
month-6 = June
month-7 = July
month-8 = August
month-9 = September
month-10 = October
month-11 = November
month-12 = December
degrees-true = { $degrees }° T
degrees-unit = °T
bounds = from { $min } to { $max }
language = Language

# Signs of units. What is measured stands in messages as { DEPTH($depth) } and its like
# (src/words/measured.rs): figure and sign in the centre's units.
measure-metres = m
measure-feet = ft
measure-nautical-miles = nm
measure-kilometres = km
measure-bar = bar
measure-psi = psi
measure-litres = l
measure-cubic-feet = cu ft @ 3000 psi
measure-litres-minute = l/min
measure-cubic-feet-minute = cu ft/min
