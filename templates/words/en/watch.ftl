# Words of the watch: phases of a group, priorities and states of an alert.

phase-ready = Ready
phase-down = In water
phase-window = Window
phase-due = Due
phase-late = Late
phase-overdue = Overdue
phase-buoy = Buoy only
phase-split = Split
phase-surface = At surface
phase-distress = Distress
phase-missing = Missing
phase-unresolved = Unresolved
phase-aboard = Aboard

check-now = Check now

due-in = due in
late-in = late in
overdue-in = overdue in
overdue-for = for

priority-none = Normal
priority-caution = Caution
priority-warning = Warning
priority-alarm = Alarm
priority-emergency = Emergency

alert-state-active = Unacknowledged
alert-state-silenced = Quiet
alert-state-acknowledged = Acknowledged
alert-state-resolved = Over, unacknowledged

partner-in = partner in
partner-over = partner over for
waiting-for = waiting
back-at = back at
run-time = run time
count-at-surface = { $n } of { $of } at surface
count-aboard = { $n } of { $of } aboard
count-people = { $n ->
    [one] 1 person
   *[other] { $n } people
}
names-and = { $most } and { $last }
time-local = { $time } local

place-ashore = ashore
place-aboard = aboard
place-other-vessel = aboard another vessel
place-landed = landed
place-in-water = in water
place-at-surface = at surface
place-missing = missing
place-unresolved = unresolved

alert-late = Late: { $group }
alert-overdue = Overdue: { $group }
alert-out-of-gas = No gas left: { $group }
alert-yellow-buoy = Yellow buoy: { $group }
alert-partner = Partner not up: { $names }, { $group }
alert-lost-contact = Contact lost with { $names }, { $group }
alert-beacon = Heard on AIS: { $beacon }
alert-beacon-test = Test heard on AIS: { $beacon }
alert-distress = Needs help: { $names }
alert-missing = Missing: { $names }
alert-unresolved = Not clear where { $name } is
alert-emergency = Emergency: { $reason }
alert-count-differs = Counts differ
alert-count-failed-site = Counts differ twice: open the emergency plan
alert-count-failed-quay = Counts differ twice: stay at the quay
alert-reopened = Closed trip has people out
alert-no-lookout = No lookout posted
alert-lookout-relief = Lookout { $name } due for relief
alert-current-old = Current last seen over 60 min ago
alert-unread = An entry of a newer version cannot be read here
alert-gap = Entries of a device have not arrived
alert-since = Since { $since }, { $minutes } min. { $do }
alert-seen-by = Acknowledged by { $by }. Since { $since }
alert-over-at = Over at { $at }, nobody acknowledged
alert-do-late = Lookout aloft, check down-current.
alert-do-overdue = Recall, mark the datum, call for help early.
alert-do-distress = Go now.
alert-do-beacon = Count heads. Go to its place. Call for help early.
alert-do-beacon-test = Ask who is testing.
alert-do-emergency = Follow the emergency plan.
alert-do-unresolved = Look, and log what you see.
alert-do-recount = Recount, each alone.
alert-do-count-failed = Nobody leaves. Call the roll by name.
alert-do-reopened = Call skipper and desk.
alert-do-lookout = Post a lookout.
alert-do-current = Look again and log it.
alert-do-doubt = Treat its people as not safe.

beacon-locator = Locator beacon { $identity }
beacon-person = Person-overboard beacon { $identity }
beacon-epirb = Emergency beacon { $identity }
beacon-in-test = says that it is a test
position-typed = typed
position-by-instruments = by the instruments
position-by-device = by a device's own position

why-distress = { $names } signals for help
why-missing = { $names } declared missing
why-lost-contact = { $by } lost contact with { $names }
why-out-of-gas = No gas can be left since { $minutes } min
why-overdue = Overdue for { $minutes } min
why-late = Late for { $minutes } min, overdue in { $overdue }
why-partner = { $up } up, { $down } not: { $left } min left
why-partner-over = { $up } up, { $down } not: 5 min are over
why-others-well = { $by } says the others are well
why-unresolved = { $name }: { $said }
why-said = { $place } ({ $by }, { $minutes } min ago)
why-at-surface = { $n } of { $of } at surface for { $minutes } min
why-buoy-only = Buoy { $minutes } min ago, nobody seen: hold off
why-yellow-buoy = Yellow buoy: treat as trouble
why-due = Due { $minutes } min ago
why-expected = Due in { $minutes } min
why-in-window = May be up now, due in { $minutes } min
why-current-shortens = Current carries heads out of sight: overdue { $minutes } min sooner
why-extension-ignored = More time given does not count: give it again
why-formed-apart = Two crew formed this group differently
why-given-more = Given { $minutes } min more

short-distress-all = Signals for help
short-lost-contact = Contact lost with { $names }
short-partner = { $up } up, { $down } not
short-unresolved = { $name }: { $places }?
short-out-of-gas = No gas can be left

stops-owed = owes { $stops }
stops-longer = if still down: owes { $stops }, up { $up }
stops-longer-none = if still down: no stops owed, up { $up }
stops-recalled = recalled { $at }: earliest up { $up }, { $stops }
stops-recalled-none = recalled { $at }: earliest up { $up }
stops-reckoned = Stops and times up are reckoned: the divers' own computers rule.
