# What is agreed before departure: the go/no-go list, the waiting list, groups
# as suggested, what changed after a print, forecasts.

go-title = Go/no-go list
go-how = Answer what you have looked at yourself. What nobody answered is open and never counts as go.
go-desk-decides = The skipper decides at the helm.
go-caution = The list advises and records. It replaces neither the skipper's judgement nor the local code.
go-send = Log the answers
go-answer = Answer
go-note-of = Note: { $what }
go-hints = What the program can say, not an answer:
go-go = Go
go-no-go = No go
go-open = Not answered
go-leave-open = Open
go-decide = Decide
go-decide-send = Log the decision
go-decision = Decision
go-reason = Why?
go-reason-hint = Needed for no go, and for go over what does not stand at go.
go-not-at-go = not at go: { $what }
go-own = The centre's own lines
go-own-lines = One condition a line
go-own-hint = They stand on the list of this trip and of those that come. What was answered stays in the log.
go-said = { $answer }: { $by }, { $at }
go-said-note = { $answer }: { $by }, { $at }. { $note }
go-verdict-not-begun = Go/no-go list: nothing is answered yet.
go-verdict-open = Go/no-go list: begun, not decided.
go-verdict-go = Go: { $by }, { $at }.
go-verdict-go-over = Go: { $by }, { $at }, over what does not stand at go ({ $over }), because: { $reason }
go-verdict-changed = { $by } decided go at { $at }. Since then not go: { $since }. The skipper decides anew.
go-verdict-no-go = No go: { $by }, { $at }, because: { $reason }

go-weather = Weather, now and as forecast
go-sea-state = Sea at the quay and on the site
go-stream = Stream and slack against the latest surfacing
go-daylight = Daylight: sunset against the latest surfacing
go-crew-complete = Crew complete
go-lookout-named = Lookout named
go-oxygen-first-aid = Oxygen and first aid aboard and checked
go-radio = Radio checked
go-emergency-plan = Emergency plan at hand
go-recall-signal = Recall signal agreed
go-list-ashore = Passenger list left ashore

go-hint-wind = Wind from { $from }, { $speed } kn, seen by { $by } at { $at }
go-hint-sea = { $sea }, seen by { $by } at { $at }
go-hint-current = Group { $letter }, dive { $dive }: latest surfacing { $at }, water { $current }
go-hint-meets = Group { $letter }, dive { $dive }: { $what }
go-hint-sunset = Sunset at { $site }, dive { $dive }: { $sunset }, reckoned
go-hint-sunset-before = Sunset at { $site }, dive { $dive }: { $sunset }, reckoned; latest surfacing as planned { $latest }
go-hint-sunset-after = Sunset at { $site }, dive { $dive }: { $sunset }, reckoned; latest surfacing as planned { $latest } is after it
go-hint-always-up = the sun does not set
go-hint-never-up = the sun does not rise
go-hint-no-almanac = not known
go-hint-no-entry = Dive { $dive }: the latest surfacing of { $letters } is not known, as no time of entry is planned
go-hint-no-groups = No dive is planned: there is no latest surfacing to hold it against
go-hint-crew = Crew on the roster: { $names }
go-hint-no-crew = Nobody on the roster is crew
go-hint-lookout = Lookout by the log: { $name }
go-hint-no-lookout = By the log nobody is posted as lookout
go-hint-call-sign = Call sign in the register: { $sign }
go-hint-plan = The boat's emergency plan in the register has { $n ->
    [one] 1 step
   *[other] { $n } steps
}
go-hint-recall = Recall signal in the register: { $signal }
go-hint-no-recall = The register holds no recall signal for this boat
go-hint-roster = { $n } on the roster; the boat carries { $capacity }, crew included

fault-go-lines = Give at most { $most } lines of at most { $longest } characters each.
refused-no-go-why = Say why it is no go.
refused-go-over = { $n ->
    [one] 1 condition does
   *[other] { $n } conditions do
} not stand at go: say why she goes all the same.
refused-only-skipper-decides = Go or no go is the skipper's decision.
refused-go-not-decided = The go/no-go list is begun and not decided.
refused-go-changed = Something on the go/no-go list is not go since it was decided.
refused-go-no-go = The decision on the go/no-go list is no go.

told-condition-answered = Condition answered
told-trip-decided = Go/no-go decided

waiting-title = Waiting list
waiting-how = The waiting list takes people once the boat is full.
waiting-wish = Wish of who waits
waiting-wish-hint = Kept with the waiting list: with Mara, second dive only
waiting-add = Put on the waiting list
waiting-counts-nowhere = In order. Nobody here is on the roster, and nobody here is counted.
waiting-left = { $n ->
    [0] The boat is full: it carries { $capacity }, crew included.
    [one] 1 place is free of the { $capacity } that the boat carries, crew included.
   *[other] { $n } places are free of the { $capacity } that the boat carries, crew included.
}
waiting-since = since { $at }, by { $by }
waiting-up = Move up to the roster
waiting-off = Take off the list
todo-waiting = A place is free, and first on the waiting list is { $name }
refused-not-waiting = This person is not on the waiting list any more.
refused-waiting = { $name } is on the waiting list already.
refused-waiting-full = The waiting list takes { $most } people.
refused-place-free = { $n ->
    [one] 1 place is free: add to the roster.
   *[other] { $n } places are free: add to the roster.
}
told-waiting-joined = On the waiting list
told-waiting-left = Off the waiting list

suggest-title = Suggest groups
suggest-how = From levels, limits and wishes: for those who are ticked above, else for all divers without a group. Crew goes in only if ticked. It is a draft: change it as you like. Nothing is written before you save.
suggest-ratio = Divers to one leader
suggest-divers = divers
suggest-ratio-hint = Common practice, no source. The local code and the centre's rules come first.
suggest-depth = Planned depth
suggest-depth-hint = If given, who may not go there is named.
suggest-wish = { $name } wishes to dive with
suggest-wish-none = No wish
suggest-minor = Under age
suggest-send = Suggest groups
suggest-made = Suggested, not saved
suggest-caution = A draft made from levels and limits alone. It knows nothing of experience, conditions or health. Somebody who knows the divers looks at it and saves it.
suggest-left-out = In no group
suggest-wishes = Wishes not met
suggest-led = { $name } leads those who need a leader
suggest-autonomous = All are autonomous; limits that lie next to each other
suggest-wished = { $name } wished to dive with { $with }
suggest-minor-with = { $name }, under age, dives with { $with }
suggest-weakest = Weakest limit: { LIMIT($limit) }, { $name }
suggest-no-leader = { $name } needs a leader, and none is left
suggest-over = { $n } divers to one leader: more than one leader takes here
suggest-too-deep = { $name } may dive to { LIMIT($limit) }: less than the planned depth
suggest-no-limit = No depth limit is known of { $name }
suggest-minor-alone = { $name } is under age and has no adult in the pair or three
suggest-restricted = { $name } is restricted: look first
suggest-alone = { $name }: nobody is left to make a pair with
suggest-wish-unmet = { $name } with { $with }
fault-suggest-nobody = There is nobody to suggest a group for. Tick who is to dive.

print-changes = Changed since the last print
print-since = { $n ->
    [0] Printed { $at }, noted by { $by }. Nothing has changed since.
    [one] Printed { $at }, noted by { $by }. 1 thing has changed since:
   *[other] Printed { $at }, noted by { $by }. { $n } things have changed since:
}
print-none = No print is noted yet.
print-first = No earlier print is noted.
print-note = Note that this page is printed as it stands
print-changed = changed since the last print
print-briefings = Briefing cards

forecast-title = Weather and tide notes
forecast-how = What a forecast or tide table says for this trip, as you read it. What is seen at sea is logged under conditions.
forecast-of = About
forecast-weather = Weather
forecast-sea = Sea
forecast-tide = Tide and stream
forecast-text = What it says
forecast-source = From where, and of when
forecast-source-hint = Harbour office, issued 06:00
forecast-send = Log the note
forecast-none = Nothing is noted yet.
forecast-bare = { $of }: { $text }
forecast-from = { $of }: { $text } ({ $source })
told-sheet-printed = Printed
told-forecast-noted = Forecast noted
