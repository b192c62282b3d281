## The register ashore: doubles, guardian's consent

person-born = Date of birth
person-born-hint = Only if you need it: for minors, or to tell namesakes apart. It is kept in the register, never in a trip's log.

doubles-title = Likely doubles
doubles-open = Likely doubles
doubles-how = These entries may be the same person. Nothing is merged by itself: open a pair, look, and decide.
doubles-none = No two entries look alike.
doubles-caption = Pairs that look alike, the likeliest first
doubles-who = Entries
doubles-why = Why
doubles-more = And { $n } more. Deal with these first.
doubles-of = Another entry of { $name }
double-name = The same name
double-order = The same words of a name in another order
double-born = Born on the same day, with a similar name
double-part = One name is part of the other
double-slip = Names a letter or two apart
double-born-apart = Dates of birth differ

merge-title = One person, two entries?
merge-which = The entry of { $this } remains. That of { $other } goes, and its number leads here from then on.
merge-turn = Keep the other entry instead
merge-held = One of them is on { $trip }, which is not over. Take them off its roster, or merge when the trip is closed.
merge-together = Both were on the roster of { $trips }. That speaks for two people, unless one of them was entered there twice.
merge-agreed = The same in both
merge-trips = Trips whose logs name them
merge-trip = Trip
merge-on-it = Named
merge-of-this = The entry that remains
merge-of-other = The entry that goes
merge-choose = What is to stand
merge-choose-how = Choose where they differ. If a level, a depth limit or a fitness is in doubt, take the stricter one and ask for the card.
merge-contact-this = That of the entry that remains
merge-contact-other = That of the entry that goes
merge-contact-neither = Neither: it will be deleted
merge-what = Breathing rates, consents and dives of other trips count for the entry that remains. No log is changed: old trips show the name they had.
merge-sure = This is one person. It cannot be undone.
merge-send = Merge
merge-two-title = Two people
merge-two-how = They are no longer shown as a likely double.
merge-two = These are two people
merge-other = Merge with another entry
merged-title = Merged into this entry
merged-told = { $name }, by { $who }, { $at }
fault-born = Give the date of birth as year, month and day, not after today.
fault-merge-sure = Tick that this is one person.
fault-merged-meanwhile = A trip or one of the entries changed in the meantime. Look again and send it again.

minors-title = Minors
minors-open = Minors and consent
minors-law = Who may dive from which age, and who must agree, is for the local law and the training organisation to say. They come first.
minors-none = Nobody in the register is under that age, as far as a date of birth is known.
minors-caption = Minors in the register
minors-age = Age
minors-consents = Consents that hold
minors-not-known = { $n ->
    [0] Everybody in the register has a date of birth.
    [one] One person in the register has no date of birth: whether they are a minor is not known.
   *[other] { $n } people in the register have no date of birth: whether they are minors is not known.
}
minors-under-title = Who counts as a minor
minors-under = Everybody under
minors-years = years
fault-minors-none = Give at least one year. A date of birth that is left out asks for nothing.

consent-title = Guardian's consent
consent-how = Write down what the paper says. The paper itself stays where the centre keeps it.
consent-minor = { $age } years old today: a minor
consent-of-age = { $age } years old today
consent-none = No consent is written down.
consent-guardian = Guardian's name
consent-given = Date on the paper
consent-for = Valid for
consent-until-day = Until a day
consent-until = Until which day
consent-until-hint = Only if it is not for one trip
consent-seen-by = Who saw the paper
consent-add = Write the consent
consent-withdraw = Withdraw
consent-told-trip = { $guardian }, { $on }, for { $reaches }. Paper seen by { $seen }.
consent-told-until = { $guardian }, { $on }, until { $reaches }. Paper seen by { $seen }.
fault-consent-given = Give the date on the paper as year, month and day, not after today.
fault-consent-until = Give a day from today on, at most 20 years ahead.
fault-consent-reach = Choose a trip, or give the last day on which it holds: one of the two.

minor-consented = { $age } years old. Consent of { $guardian }.
minor-overridden = { $age } years old. Without consent, by { $who }: { $why }
minor-lacking = { $age } years old. No guardian's consent for this day.
minors-on-trip = Minors on this trip
minors-over-https = A minor is on this trip. How they stand is shown over https only.
minors-trip-not-known = { $n ->
    [one] One person on the roster has no date of birth in the register: whether they are a minor is not known.
   *[other] { $n } people on the roster have no date of birth in the register: whether they are minors is not known.
}
todo-consent = { $name }: { $what }
consent-write = Write a consent down
consent-without = Take along without consent: why?
consent-without-hint = Your name, the time and the reason stay with this trip. The local law may forbid it.
consent-without-send = Take along without consent
data-goes-consent = Guardians' consents and decisions to go without

## What a boat has aboard, and whom to call from her

equipment-title = Equipment
equipment-open = Equipment and its checks
equipment-code = The local code says what a boat must carry and how often it is checked. It comes first.
equipment-none = Nothing is listed for this boat.
equipment-caption = What is aboard, and when it was looked at
equipment-name = What
equipment-count = How many
equipment-place = Place aboard
equipment-checked = Last looked at
equipment-never = Never
equipment-due = Next check by
equipment-check = Looked at today
equipment-next = Next check by
equipment-check-send = Looked at
equipment-remove = Take off the list
equipment-overdue-tag = Check is due
equipment-add-title = Put something on the list
equipment-add = Add
equipment-usual-title = What boats with divers usually have
equipment-usual-how = Common practice, no rule: oxygen kit, first aid kit, radio, flag A, drift marker, throw line, lights, spare cylinder on a line, boarding ladder or lift. Each counts as not looked at until somebody did.
equipment-usual = Add what is missing of these
usual-oxygen = Oxygen kit
usual-first-aid = First aid kit
usual-radio = Radio
usual-flag = Flag A
usual-marker = Drift marker
usual-throw-line = Throw line
usual-lights = Lights
usual-spare-gas = Spare cylinder on a line
usual-boarding = Boarding ladder or lift
equipment-overdue = { $name }: the check was due by { $due }
equipment-unchecked = { $name }: nobody wrote that it was looked at
equipment-trip-none = No equipment is listed for this boat: whether it was looked at is not known.
equipment-of-boats = Checks that are due
fault-equipment-count = Give at least 1.
fault-equipment-many = At most { $most } things fit on the list of one boat.
fault-equipment-due = Give the day of the next check, from today on, at most 20 years ahead.

help-title = Whom to call, where to go
help-open = Whom to call, where to go
help-caution = Call each number once before you rely on it. Chambers close and change: ask yours, and let the rescue service decide where a casualty goes.
help-channel = Radio channel for help
help-channel-hint = As it is watched where this boat sails
help-numbers = Numbers ashore
help-numbers-hint = One a line: who, and the number
help-chamber = Nearest recompression chamber
help-chamber-hint = Name, number, hours, and who must be asked before
help-evacuation = Where a casualty is handed over
help-evacuation-hint = Quay, landing place, position; who meets you there
help-save = Save as gone through today
help-told-title = Gone through
help-told = Gone through on { $on } by { $by }
help-none = Nobody has written down whom to call. Do that before the boat leaves.

level-introductory = Introductory dive (ISO 11121)
level-supervised = Supervised diver (ISO 24801-1)
level-autonomous = Autonomous diver (ISO 24801-2)
level-leader = Dive leader (ISO 24801-3)
level-instructor-1 = Instructor level 1 (ISO 24802-1)
level-instructor-2 = Instructor level 2 (ISO 24802-2)
