# Words of the season: what many trips say together.

way-season = Season
season-title = Season
season-from = First day
season-to = Last day
season-site = Site
season-every-site = Every site
season-show = Show these days
season-fault-day = Give a day, as 2026-05-04.
season-fault-order = Give a last day that is not before the first.
season-fault-long = Give at most { $most } days.
season-too-many = There are { $n } trips on these days; at most { $most } are read at once. Give fewer days.
season-read = Read: { $trips ->
    [one] 1 trip
   *[other] { $trips } trips
}, { $dives ->
    [one] 1 group dive
   *[other] { $dives } group dives
}. Drills are left out, and trips on which a count is open. A trip under way counts as far as it is logged.
season-only-aboard = Left out of run times and lateness: { $n } where only coming aboard was logged. They came up before that; nobody wrote when.
season-not-known = Left out of run times and lateness: { $n } where somebody's surfacing is not on the log, is in doubt, or is still to come.
season-caution = To look at and to talk about. Dives that went badly are few, and few dives say little: the figures do not show what has not happened yet.
season-rules = Medians and quartiles are told from { $middle } figures on, the 5 % and 95 % quantiles from { $tails } on; with fewer each figure stands for itself. Quantiles are type 7 of Hyndman and Fan (1996). The least numbers and the bands of current are this program's own choice, without a source.
season-print-how = To print this page, use the print command of the browser.
season-printed = printed { $at }
season-file-dives = Dives of groups, as a table (CSV)
season-file-gas = Gas back on the boat, as a table (CSV)
season-file-alarms = Alarms, as a table (CSV)
season-nothing = nothing on these days.
season-too-few = too few
season-each-dive = Each dive
season-last-drawn = The last { $n } of { $all } are drawn; the tables are of all.

season-of-what = What
season-n = n
season-least = Least
season-q05 = 5 %
season-q25 = 25 %
season-median = Median
season-q75 = 75 %
season-q95 = 95 %
season-most = Most
season-day = Day
season-boat = Boat
season-group = Group
season-planned = Planned, min
season-dived = Dived, min
season-after-latest = After latest, min
season-current = Current, kn
season-word-aboard = only aboard
season-word-unknown = not known
season-no-site = No site on the log
season-strip = { $name }, n = { $n }
season-strip-few = { $name }, n = { $n }: too few to tell

season-run-title = Run times, planned and dived
season-run-how = From leaving the surface to the last of the group at the surface, against the run time that its window expected, with time that was given. A mark above the line came up later than planned.
season-run-desc = One mark for each of { $n } group dives: planned run time along the foot, dived run time up the side. The table has the figures.
season-run-along = planned, minutes
season-run-up = dived, minutes
season-run-equal = on the line: as planned
season-run-after = Dived minus planned, min
season-run-caption = How far dived run times lie from the plan, minutes
season-dives-all = Each dive ({ $n })
season-dives-last = The last { $n } of { $all } dives; the file has all

season-late-title = Lateness
season-late-how = Minutes from the latest time of the window to the last of the group at the surface: to the left of the line in time, to the right of it late. The box holds the middle half, the thick stroke in it is the median.
season-current-how = Current at the drop: observed within the hour before, or by the stream table of the site.
season-late-site = Lateness by site, minutes
season-late-current = Lateness by current at the drop, minutes
season-late-desc = One stroke for each group dive, along minutes after the latest time. The table has the figures.
season-late-along = minutes after the latest time
season-late-zero = latest
season-current-to = under { $to } kn
season-current-of = { $from } to under { $to } kn
season-current-from = { $from } kn and more
season-current-unknown = Current not known

season-alarms-title = Alarms
season-alarms-how = What sounded: warnings, alarms and emergencies, each cause once, of late, overdue and out of gas the gravest that was reached. Where a site is chosen, all alarms of the trips that dived there. Beside deadlines that a word came too late for, what a later word took back is not counted.
season-alarms-caption = Alarms by trip, the latest day first
season-trip = Trip
season-hours = Hours under way
season-an-hour = Alarms an hour
season-alarms = Alarms
season-unanswered = Over before anybody acknowledged
season-to-acknowledge = Median to acknowledge, min
season-acknowledged = Acknowledged
season-late-word = Only by a late word
season-all-trips = All trips
season-hours-unknown = not known
season-none-over = none over
season-none-acknowledged = none
season-share-of = { $pct } % ({ $n } of { $of })
season-hour = Hour under way
season-hourly-title = Alarms an hour, by hour under way
season-hourly-desc = A column for each hour after leaving the quay, of { $n } trips. The table has the figures.
season-hourly-along = hour after leaving the quay
season-hourly-up = alarms an hour
season-hourly-caption = Alarms by hour under way, of { $n } trips whose departure and return are logged

season-gas-title = Gas back on the boat
season-gas-how = { UNITS() ->
    [imperial] Psi that each diver brought back, against the reserve that the trip planned with.
   *[metric] Bar that each diver brought back, against the reserve that the trip planned with.
}
season-gas-below = Below the reserve: { $below } dives, where { $n } have their { SIGN("pressure") } written down. Not written down: { $missing } dives; nobody knows what those brought back.
season-gas-back = { UNITS() ->
    [imperial] Psi back on the boat
   *[metric] Bar back on the boat
}
season-gas-caption = { UNITS() ->
    [imperial] Psi back on the boat
   *[metric] Bar back on the boat
}
season-gas-site = { UNITS() ->
    [imperial] Psi above the reserve, by site
   *[metric] Bar above the reserve, by site
}
season-gas-desc = One stroke for each dive of a diver, along { SIGN("pressure") } above the reserve. The table has the figures.
season-gas-along = { SIGN("pressure") } above the reserve
season-gas-zero = reserve

season-windows-title = The minutes of the watch beside these dives
season-rests-on-centre = The figures that count were set by the centre. They are an assumption, not an observation, and every trip keeps those it was opened with.
season-rests-on-program = The figures that count are those this program starts with, as the centre set none. They are an assumption without a source, not an observation, and every trip keeps those it was opened with.
season-windows-how = Beside them stands what the dives of these days would give: the 5 % quantile of dived over planned run time, and the 95 % quantile of the minutes after the planned run time. Dives that were given more time are left out. Nothing is taken over from here.
season-windows-caption = Earliest and latest, as they count and as the dives would give them
season-figure = Figure
season-counts = Counts now
season-would-give = These dives would give
season-dives-n = Dives behind it
season-earliest-day = Earliest, by day
season-earliest-night = Earliest, at night
season-latest-day = Late, by day
season-latest-night = Late, at night
season-of-run-time = { $n } of the run time
season-after = { $n } min after the expected time
season-windows-caution = A later latest time means that a missing group is looked for later. A quantile of dives that ended well is no reason for it.
