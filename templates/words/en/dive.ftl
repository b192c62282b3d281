# Words of the dive: what stands against a plan and what would mend it.

finding-hypoxic = This gas has too little oxygen to breathe at the surface ({ $ppo2 } bar): take another gas, or start on one that can be breathed there.
finding-past-oxygen-limit = Oxygen reaches { $ppo2 } bar, past the limit of 1.6: do not go there on this gas; with it, not below { $mod } m.
finding-past-working-oxygen = Oxygen reaches { $ppo2 } bar, past the 1.4 bar of a working dive: not below { $mod } m on this gas.
finding-exposure-spent = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be: less time, less depth or less oxygen.
finding-exposure-high = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be.
finding-beyond-no-stop = Longer than the no-stop limit of { $limit } min: { $less } min less at { $depth } m, or the stops are owed.
finding-owes-stops = Owes stops as it is: who comes loaded from an earlier dive has to let gas out first. Rest longer before it, or hold the stops.
finding-earlier-unknown = { $n ->
    [one] A dive before it is logged with too little to reckon it
   *[other] { $n } dives before it are logged with too little to reckon them
}: have depth and times completed.
finding-above-ceiling = Level { $level } at { $depth } m lies above the ceiling when it is reached: stay deeper for longer, or cut the levels before it.
finding-below-reserve = Back on the boat with { $end } bar, less than the reserve of { $reserve } bar.
finding-gas-runs-out = The gas does not last: { $lacking } bar are lacking.
finding-below-minimum-gas = Leaves the greatest depth with { $leaving } bar; two divers on this cylinder need { $minimum } bar from there.
finding-high-place = At { $bar } bar surface pressure the tissues are reckoned as used to the height: who came up within the last day carries more.
finding-deeper-than-certified = Deeper than the { $limit } m of this certification: not below { $limit } m.
finding-no-certified-depth = No depth limit is known of this certification: have it stated on the roster.
remedy = To mend it: { $ways }.
remedy-none = Nothing small mends it: plan another dive.
remedy-turn = leave the bottom at { $bar } bar
remedy-less = { $less } min less at { $depth } m
remedy-cylinder = a cylinder of { $l } l
stop-in-words = { $min } min at { $depth } m
stop-then = , then{" "}

# A plan reckoned for its group, on the desk and on deck.

reckoned-breaks = Breaks a limit for { $names }.
reckoned-holds = No limit is broken.
reckoned-holds-first = No limit is broken. Reached first: { $what }, { $name }.
reckoned-released = Released by { $why }
reckoned-not-released = Nobody has released it: it does not go in like this.
reckoned-owes = Owes { $stops }.
reckoned-times = Leaves the bottom after { $leaving } min, up after { $run } min.
reckoned-not = Not reckoned:
reckoned-not-why = Put right what is marked, then check again.
reckoned-bar = { $bar } bar
reckoned-lacks = { $bar } bar lacking
reckoned-no-gas = no gas on record
reckoned-no-cylinder-does = more than it starts with
reckoned-no-limit = none within 10 h
reckoned-percent = { $pct } %
reckoned-spare = { $n } min to spare
reckoned-over = { $n } min too long
reckoned-who = Member
reckoned-end = Back on the boat
reckoned-in-short = back with { $end }
reckoned-limited = limit: { $what }
reckoned-leave = Leave the bottom at
reckoned-minimum = Minimum gas for two
reckoned-gas-spare = By the gas
reckoned-no-stop = No-stop limit
reckoned-no-stop-spare = By the no-stop limit
reckoned-exposure = Oxygen exposure
reckoned-limits = What limits
reckoned-least-gas = least gas
reckoned-least-time = least time
reckoned-limit-broken = limit broken
reckoned-table = Member by member
reckoned-rests = What it rests on
reckoned-model = ZH-L16C with gradient factors { $low }/{ $high }, gas as a real gas, { $reserve } bar back on the boat. End pressures are rounded down to 5 bar, pressures to keep up to 5 bar.
reckoned-no-earlier = No earlier dive is known of anybody.
reckoned-earlier = Earlier dives reckoned with: up to { $n } a person.
reckoned-interval = { $min } min at the surface before this dive, as its time is not known yet.
limits-gas = gas
limits-no-stop = no-stop limit
limits-certification = certification
limits-oxygen = depth for the oxygen
limits-exposure = oxygen exposure
limits-height = height of the place
picture-title = Depth, ceiling and gas over time
picture-metres = m
picture-bar = bar
picture-minutes = minutes from the drop
picture-depth = depth
picture-ceiling = ceiling, { $name }
picture-gas = gas left, { $name }
picture-profile = Down to { $depth } m, leaving the bottom after { $leaving } min, { $stops }, up after { $run } min.
picture-ceiling-to = The ceiling of { $name } reaches { $depth } m.
picture-no-ceiling = No ceiling anywhere.
picture-gas-to = { $name } leaves the bottom with { $leaving } bar and is up with { $end } bar.
