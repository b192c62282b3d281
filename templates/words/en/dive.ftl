# Words of the dive: what stands against a plan and what would mend it.

finding-hypoxic = This gas has too little oxygen to breathe at the surface (ppO2 { $ppo2 } bar): take another gas, or start on one that can be breathed there.
finding-past-oxygen-limit = Oxygen reaches ppO2 { $ppo2 } bar, past the limit of 1.6: do not go there on this gas; with it, not below { LIMIT($mod) }.
finding-past-working-oxygen = Oxygen reaches ppO2 { $ppo2 } bar, past the ppO2 1.4 bar of a working dive: not below { LIMIT($mod) } on this gas.
finding-exposure-spent = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be: less time, less depth or less oxygen.
finding-exposure-high = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be.
finding-beyond-no-stop = Longer than the no-stop limit of { $limit } min: { $less } min less at { DEPTH($depth) }, or the stops are owed.
finding-owes-stops = Owes stops as it is: who comes loaded from an earlier dive has to let gas out first. Rest longer before it, or hold the stops.
finding-earlier-unknown = { $n ->
    [one] A dive before it is logged with too little to reckon it
   *[other] { $n } dives before it are logged with too little to reckon them
}: have depth and times completed.
finding-above-ceiling = Level { $level } at { DEPTH($depth) } lies above the ceiling when it is reached: stay deeper for longer, or cut the levels before it.
finding-below-reserve = Back on the boat with { PRESSURE($end) }, less than the reserve of { NEEDED($reserve) }.
finding-gas-runs-out = The gas does not last: { NEEDED($lacking) } are lacking.
finding-below-minimum-gas = Leaves the greatest depth with { PRESSURE($leaving) }; two divers on this cylinder need { NEEDED($minimum) } from there.
finding-high-place = At { AIR($bar) } surface pressure the tissues are reckoned as used to the height: who came up within the last day carries more.
finding-deeper-than-certified = Deeper than the { LIMIT($limit) } of this certification: not below { LIMIT($limit) }.
finding-no-certified-depth = No depth limit is known of this certification: have it stated on the roster.
remedy = To mend it: { $ways }.
remedy-none = Nothing small mends it: plan another dive.
remedy-turn = leave the bottom at { NEEDED($bar) }
remedy-less = { $less } min less at { DEPTH($depth) }
remedy-cylinder = a cylinder of { SIZE($l) }
stop-in-words = { $min } min at { STOP($depth) }
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
reckoned-bar = { PRESSURE($bar) }
reckoned-lacks = { NEEDED($bar) } lacking
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
reckoned-model =
    ZH-L16C with gradient factors { $low }/{ $high }, gas as a real gas, { NEEDED($reserve) } back on the boat. End pressures are rounded down to { UNITS() ->
        [imperial] 50 psi
       *[metric] 5 bar
    }, pressures to keep up to { UNITS() ->
        [imperial] 50 psi
       *[metric] 5 bar
    }.
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
picture-metres = { SIGN("depth") }
picture-bar = { SIGN("pressure") }
picture-minutes = minutes from the drop
picture-depth = depth
picture-ceiling = ceiling, { $name }
picture-gas = gas left, { $name }
picture-profile = Down to { DEPTH($depth) }, leaving the bottom after { $leaving } min, { $stops }, up after { $run } min.
picture-ceiling-to = The ceiling of { $name } reaches { DEPTH($depth) }.
picture-no-ceiling = No ceiling anywhere.
picture-gas-to = { $name } leaves the bottom with { PRESSURE($leaving) } and is up with { PRESSURE($end) }.
