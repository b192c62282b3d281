# Words of the divemaster's pages.

deck-part-fetch = Look and fetch
deck-part-down = Down
deck-part-drop = Ready to drop
deck-part-check = To check
deck-part-back = Back
deck-out = out
deck-under = not seen up
deck-counting = A count is open: no figures until both are in
deck-lookout-is = Lookout: { $name }, since { $since }
deck-no-lookout = No lookout posted. Post one
deck-swimming = Snorkelling: { $names }
deck-nobody-swims = Snorkellers: nobody in
deck-no-groups = No group is formed for this dive. The desk forms them.
deck-i-see = I see…

deck-group = Group { $group }
deck-hold-off = Hold off.
deck-hold-off-why = A buoy is up, nobody is seen. It counts nobody: do not approach, do not pull the line.
deck-stood-down = This group does not dive: { $reason }
deck-people = People
deck-since = { $place } since { $since }
deck-details-missing = { UNITS() ->
    [imperial] Psi or depth missing
   *[metric] Bar or depth missing
}
deck-aboard-now = Aboard now
deck-leader = leader
deck-needs-help = Needs help

deck-check-title = Seen by you before the drop
deck-check-engine = Engine in neutral
deck-check-flag = Flag A shown
deck-check-lights-shown = Lights shown, red white red
deck-check-lights = Each diver shows a light
deck-check-lights-hint = The dive ends in the dark. Tick each light that you have seen.
deck-check-send = Checks done
deck-checked-by = Checked by { $by } at { $at }. Look at the propeller once more.

deck-going = Who leaves the surface?
deck-going-hint = Take the tick off who stays aboard.
deck-drop-else = Another time or place
deck-happened-at = Happened at
deck-happened-hint = Leave empty for now; else as 14:05
deck-place-hint = Place: { $site }, unless you type another.
deck-lat = Latitude
deck-lat-hint = As 4 10.5 N
deck-lon = Longitude
deck-lon-hint = As 73 30.2 E
deck-left-surface = Left surface
deck-aid = Planning aid. It does not replace a dive computer, training, a lookout, radio or the local code.
deck-not-for-navigation = Not for navigation.

deck-heads = Who is seen at the surface?
deck-heads-hint = Tick each face you know for certain.
deck-when-where = Bearing, place or another time
deck-bearing = Bearing
deck-degrees-true = ° true
deck-range = Distance
deck-all-well = All well
deck-no-signal = No signal seen
deck-signal-help = Signal for help
deck-signal-help-note = Alarm at once, names can follow
deck-help-reason = Group { $group } signals for help
deck-help-seen = Signal for help seen
deck-who-says = Word of who is up
deck-who-says-hint = Ask the first one up: how are the others?
deck-others-well = Others well
deck-lost-contact = Lost contact
deck-alarms-at-once = Alarm at once
deck-buoy-seen = Buoy seen
deck-buoy-counts-nobody = A buoy counts nobody. Hold off until heads are up.
deck-buoy-place = Buoy with bearing or place
deck-buoy-of = Buoy of { $group }
deck-buoy-send = Log buoy
deck-colour = Colour
deck-orange = Orange or red
deck-yellow = Yellow
deck-yellow-note = Trouble: alarm at once
deck-other-colour = Other colour
deck-change-times = More time, or correct the drop
deck-all-accounted = Everybody of this group is accounted for.
deck-history = What was logged

deck-times-of = Times of { $group }
deck-left-at = left surface { $at }
deck-expected-at = due { $at }
deck-late-at = late from { $at }
deck-overdue-at = overdue from { $at }
deck-up-at = up { $at }
deck-aboard-at = aboard { $at }
deck-seen-by-is = seen by { $by }
deck-more-title = Give more time
deck-more-minutes = Minutes more
deck-more-hint = Stays in the log
deck-more-send = Give more time
deck-reason = Reason
deck-restate-title = Left surface at another time
deck-restate-at = Left surface at
deck-restate-hint = As 14:05. All deadlines follow.
deck-restate-send = Correct the drop
refused-drop-is-past = Up already: { $names }. The time of the drop stays as it is; add a note to the log.
refused-drop-later = Only the skipper moves a drop to a later time. Ask the skipper, or give more time with a reason.
refused-plan-unsound = The plan of this group does not hold: { $why }. Ask the desk.
refused-no-other-person = This entry is not about one person seen. Take it back and log it anew.

deck-return-of = Return: { $name }
deck-bar = { PRESSURE($bar) }
deck-depth = { DEPTH($depth) }
deck-stop-done = stop done
deck-stop-missed = stop missed
deck-bar-left = { UNITS() ->
    [imperial] Psi left
   *[metric] Bar left
}
deck-greatest-depth = Greatest depth
deck-stop = Stop
deck-whither = Out of the water to
deck-vessel-own = This boat
deck-vessel-tender = Our tender
deck-vessel-other = Another boat
deck-vessel-shore = Shore
deck-elsewhere = Another boat or shore: which, and who sees them there?
deck-vessel-name = Name of the boat, or place ashore
deck-vessel-name-hint = Only for another boat or ashore
deck-seen-by = Seen by
deck-seen-by-hint = On this boat and its tender { $crew }, if left empty. Elsewhere, who there has them in sight: no hearsay.
deck-fault-seen-by = Name who sees them there. Until then they are not accounted for.
deck-times-problem = Times, trouble
deck-surfaced-at = Came up at
deck-aboard-when = Out of the water at
deck-problem = Trouble or discomfort
deck-problem-hint = A few words, nothing medical
deck-return-send = Log aboard
deck-details-send = Log details

deck-missing-title = { UNITS() ->
    [imperial] Psi or depth missing
   *[metric] Bar or depth missing
}
deck-missing-none = Nothing is missing of those who are back.
deck-save = Save
deck-missing-hint = Save takes all of a group at once; what is left empty stays open. Times as 14:05 or 1405.
deck-cell-bar = { UNITS() ->
    [imperial] Psi left
   *[metric] Bar left
}
deck-cell-depth = Depth, { SIGN("depth") }
deck-cell-up = Up at
deck-planned-depth = plan { $depth }
deck-log-returns = { UNITS() ->
    [imperial] Psi, depth and times of the whole group
   *[metric] Bar, depth and times of the whole group
}
deck-everybody = Everybody of this dive

deck-entry-late = { $at }, logged { $logged }
deck-entry-by = { $by }, { $device }
deck-entry-taken-back = Does not count: { $reason } ({ $by })
deck-entry-stated-anew = stated anew
deck-device-unknown = unknown device
deck-take-back = Take back
deck-take-back-what = The entry stays in the log with your reason and does not count any more. The people return to what was logged of them before.
deck-take-back-hint = For example: wrong face
deck-take-back-send = Take back this entry
deck-right = Who was it really?
deck-right-hint = The same is then logged for them.
deck-right-nobody = Nobody, or not sure

deck-said-checked = Checks before the drop done
deck-said-formed = Group formed
deck-said-left = Left surface: { $names }
deck-said-buoy-orange = Buoy seen, orange or red
deck-said-buoy-yellow = Buoy seen, yellow
deck-said-buoy-other = Buoy seen, other colour
deck-said-well = At surface, all well: { $names }
deck-said-no-signal = At surface, no signal seen: { $names }
deck-said-help = At surface, signals for help: { $names }
deck-said-others-well = { $name } says the others are well
deck-said-lost-contact = { $name } lost contact with the others
deck-said-aboard = { $name } aboard
deck-said-tender = { $name } aboard the tender
deck-said-other-boat = { $name } aboard { $vessel }, seen there by { $seen }
deck-said-landed = { $name } ashore, { $place }, seen there by { $seen }
deck-said-return = { $name }: { $detail }
deck-said-more = { $minutes } min more: { $reason }
deck-said-lookout = Lookout: { $name }
deck-said-relieved = Lookout { $name } relieved
deck-said-taken-back = Taken back: { $what }
deck-said-take-back-waits = Still counts until a second crew member takes it back on another device: { $what }
deck-said-other = Entry of the kind { $kind }

deck-relief-in = relief in
deck-relief-over = relief due since
deck-look-for = Look out for
deck-see-heads = Heads
deck-see-buoy = A buoy
deck-see-help = Signal for help
deck-see-help-note = Alarm at once
deck-post-title = Post the lookout
deck-post-hint = Nothing else to do, whole site every minute, relieved every hour. One tap takes the watch.
deck-post-other = Somebody else
deck-post-send = Post
deck-relieve = Relieve, nobody takes the watch
deck-whose-buoy = Whose buoy?
deck-whose-heads = Whose heads?
deck-whose-help = Who signals for help?
deck-whose-unsure = Not sure? Keep it in sight, tell the skipper the bearing, and log it when you know.
deck-nobody-out = No group is out.
deck-snorkellers = Snorkellers
deck-in-water = In the water
deck-swim-who = Who goes in?
deck-swim-hint = Tick each by name.
deck-swim-send = Into the water
deck-no-snorkellers = No snorkeller is on this trip.

# The plan before the drop
deck-plan-now = If it drops now
deck-release-why = Release it all the same? Say why
deck-release-hint = Your name stands beside it in the log and in every report.
deck-release-send = Release this plan
