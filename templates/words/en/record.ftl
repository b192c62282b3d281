# The record of a trip: sign-off, alerts told afterwards, incidents, each diver's own dives.

# Sign-off
record-sign-off = Sign-off
record-sealed = Sealed: the divemaster and the skipper have both signed, and the log is what they signed.
record-not-signed = Not signed yet.
record-half-signed = One of two signatures is there.
record-after-seal = Sealed once, and something came after the seal. Both sign again.
record-does-not-hold = A seal is there and does not hold. Do not rely on this record: run the check of the box, and keep this file as it is.
record-missing = Missing: the signature of the { $role ->
    [Skipper] skipper
   *[Divemaster] divemaster
}.
record-signature = { $role } { $by } signed { $at }, over entries 1 to { $n }.
record-signature-past = { $role } { $by } signed { $at }, over entries 1 to { $n }. Something came later.
record-signature-broken = DOES NOT HOLD: { $role } { $by } signed { $at }, over entries 1 to { $n }. The log is not what was signed.
record-seal = Sealed by { $by } { $at }, over entries 1 to { $n }, chain { $chain }.
record-seal-lacks = Not a seal: set by { $by } { $at }, over entries 1 to { $n }, without the signatures it needs.
record-seal-broken = DOES NOT HOLD: sealed by { $by } { $at }, over entries 1 to { $n }. The log is not what was sealed.
record-after = After the seal
record-after-line = { $what }: entry { $n } ({ $by }, { $at })
record-cannot = Not to be signed yet
record-sign-how = You sign in your own name and role, over the log as this page shows it. The second signature seals the record. What comes later is kept and shown as after the seal.
record-read = I have read this report, and it says what I saw and know.
record-read-first = Read the report, and say that you have.
record-sign-send = Sign as { $role ->
    [Skipper] skipper
    [Divemaster] divemaster
   *[other] { $role }
}
record-seal-how = Both have signed, each without the other's signature on the page. Seal what they signed.
record-seal-send = Seal the record
record-chain = Chain of the seal:
record-paper = Signature of the { $role ->
    [Skipper] skipper
   *[Divemaster] divemaster
}:
record-print-pdf = To keep it as a file, print to PDF.
record-csv = This report for a spreadsheet (CSV)
record-json = This report for programs (JSON)

# Planned beside dived
record-bar-of = { UNITS() ->
    [imperial] Psi left, of start
   *[metric] Bar left, of start
}
record-stop-done = done
record-stop-missed = not done
record-stop-of = { $dived }, { $planned } min planned

# Alerts
record-alerts = Alerts
record-alerts-none = No alert asked anybody for an act.
record-alerts-summary = { $n ->
    [one] { $n } alert asked for an act.
   *[other] { $n } alerts asked for an act.
} Over before anybody acknowledged: { $unseen } of { $over } ({ $percent } %). Time to acknowledge: { $median } in the middle, { $longest } at most.
record-alerts-caption = Alerts as this box told them, cautions too
record-alert = Alert
record-priority = Priority
record-since = Since
record-answered = Acknowledged after
record-answered-by = By
record-until = Over
record-emergency = Emergency
record-alarm = Alarm
record-warning = Warning
record-caution = Caution
record-holds-still = holds still
record-went-over = became another alert
record-ended-unseen = { $at }, unacknowledged
record-nobody = nobody acknowledged
record-seconds = { $s } s
record-minutes = { $m } min { $s } s
record-acts = Recall, search and emergency
record-conditions = Conditions
record-conditions-none = Nobody noted what the sea was like.
record-incidents-none = None noted.
record-withheld = Signs, oxygen and care are left out on this plain connection. Open the report by the https address.

# An incident and its record
incident-new = Incident record
incident-caution = Write what happened and what was seen, no opinion on who is at fault. Of somebody's health only what helps those who treat them. Call first, write later.
incident-text = What happened
incident-sort = First of all
incident-choose = Choose
incident-injury = somebody is hurt
incident-illness = somebody is unwell
incident-after-dive = signs after a dive
incident-separation = somebody separated, late or missing
incident-equipment = equipment failed
incident-boat = the boat
incident-other = anything else
incident-at = When it happened
incident-time-hint = Such as 14:05; empty if now, or not at all.
incident-where = Where
incident-where-hint = On the ladder, at the mooring, at { DEPTH(18) } on the wall
incident-place = Position
incident-persons = Whom it concerns
incident-of-person = Of the person
incident-depth = Greatest depth
incident-under = Time under water
incident-stops = Stops missed
incident-not-known = not known
incident-yes = yes
incident-no = no
incident-oxygen = Oxygen from
incident-signs = What was seen, or told by the person
incident-signs-hint = Stays in this report: it is in no list, no log page and on no card.
incident-done = What was done
incident-called = Who was called
incident-called-hint = By what, when, and what they said
incident-witnesses = Who saw it
incident-outcome = How it ended, where to the person went
incident-send = Log this record

# Each diver's own dives
card-title = Own dives
card-all = Cards of each diver's own dives
card-how = A card for each diver, to print or to hand on. Of others nothing stands there but the names of the group.
card-with = Group { $letter } with { $names }
card-alone = Group { $letter }
card-plan = Planned:
card-what = What
card-planned = Planned
card-actual = Dived
card-in = Left the surface
card-up = Up
card-minutes = Minutes
card-depth = Greatest depth, { SIGN("depth") }
card-bar = { UNITS() ->
    [imperial] Psi: start, left
   *[metric] Bar: start, left
}
card-stop = Stop
card-stop-min = { $n } min
card-elsewhere = { $n ->
    [one] { $n } incident note names this diver with others. Ask the centre for it.
   *[other] { $n } incident notes name this diver with others. Ask the centre for them.
}
