# Words of the dive: what stands against a plan and what would mend it.

finding-hypoxic = This gas has too little oxygen to breathe at the surface ({ $ppo2 } bar): take another gas, or start on one that can be breathed there.
finding-past-oxygen-limit = Oxygen reaches { $ppo2 } bar, past the limit of 1.6: do not go there on this gas; with it, not below { $mod } m.
finding-past-working-oxygen = Oxygen reaches { $ppo2 } bar, past the 1.4 bar of a working dive: not below { $mod } m on this gas.
finding-exposure-spent = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be: less time, less depth or less oxygen.
finding-exposure-high = Oxygen exposure of the day reaches { $pct } % of what a single exposure may be.
finding-beyond-no-stop = Longer than the no-stop limit of { $limit } min: { $less } min less at { $depth } m, or the stops are owed.
finding-above-ceiling = Level { $level } at { $depth } m lies above the ceiling when it is reached: stay deeper for longer, or cut the levels before it.
finding-below-reserve = Back on the boat with { $end } bar, less than the reserve of { $reserve } bar.
finding-gas-runs-out = The gas does not last: { $lacking } bar are lacking.
finding-below-minimum-gas = Leaves the greatest depth with { $leaving } bar; two divers on this cylinder need { $minimum } bar from there.
finding-high-place = At { $bar } bar surface pressure the tissues are reckoned as used to the height: who came up within the last day carries more.
finding-deeper-than-certified = Deeper than the { $limit } m of this certification: not below { $limit } m.
remedy = To mend it: { $ways }.
remedy-turn = leave the bottom at { $bar } bar
remedy-less = { $less } min less at { $depth } m
remedy-cylinder = a cylinder of { $l } l
stop-in-words = { $min } min at { $depth } m
stop-then = , then{" "}
