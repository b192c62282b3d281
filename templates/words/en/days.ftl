# Words of days: the month, all boats of a day, a trip copied to another day.

way-month = Month
month-title = { $month } { $year }
month-name = { $n ->
    [1] January
    [2] February
    [3] March
    [4] April
    [5] May
    [6] June
    [7] July
    [8] August
    [9] September
    [10] October
    [11] November
   *[12] December
}
month-before = The month before
month-after = The month after
month-caption = Trips by day
month-day-none = No trip
month-booked = { $n } of { $capacity } places taken
month-over = more than the boat carries
month-out = { $n } out of the boat
month-today = today
weekday-monday = Monday
weekday-tuesday = Tuesday
weekday-wednesday = Wednesday
weekday-thursday = Thursday
weekday-friday = Friday
weekday-saturday = Saturday
weekday-sunday = Sunday

day-all-boats = All boats of the day
day-boats-none = No trip on this day.
day-worst = Alerts of { $boat }
day-no-alerts = No alert
day-before = The day before
day-after = The day after
day-not-renewed = No word from the box. What stands here is of { $at }, { $zone }.
day-listen-only = Alerts are acknowledged on board.
day-drill = Drill

copy-title = Copy this trip to another day
copy-dives = { $dives ->
    [one] 1 dive
   *[other] { $dives } dives
}, each on its site
copy-people = { $crew } crew; { $others } others in { $groups } groups only if asked for below
copy-how = Sites, fitness, levels and limits are taken as the register has them now, the minutes of the watch and the reserve as the stricter of this trip's and the centre's. Times, tides of that day, releases by name, dives before the trip and everything that happened stay behind.
copy-caution = Check every group anew before it goes in: people, gas, pressures and limits are a plan of another day. Nothing was measured for the new one.
copy-who = People
copy-with-people = Also everybody else, in their groups with their plans. Without people no group is copied: the log holds none that nobody is in.
copy-send = Open the copy
