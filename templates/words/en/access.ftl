# Contacts and who opened them, the audit, how long what is kept, and one person's data.

way-audit = Audit
way-retention = Kept and deleted

contact-given = Contact given
contact-key-term = Key file
contact-cannot-open = { $state ->
    [missing] The key file of this box is missing: sealed contacts cannot be opened. Put the file deckwatch.key back beside the database; it is kept apart from the backups. Nothing has to be restarted.
    [other] The key file is not the one these contacts were sealed by. Put the right file deckwatch.key back beside the database; nothing has to be restarted.
    [no-key] The file deckwatch.key beside the database is no key file. Put the right one back; nothing has to be restarted.
    [unreadable] The key file cannot be read. The box's program must own the file deckwatch.key beside the database.
    [damaged] This contact is damaged and cannot be opened. Ask the person, or the paper form.
   *[store] The contacts cannot be read now. Use the paper forms.
}
notice-contacts-key = { $state ->
    [missing] The key file is missing: emergency contacts cannot be opened. Put the file deckwatch.key back beside the database.
    [other] The key file is not the one that sealed the emergency contacts: put the right file deckwatch.key back.
   *[no-key] The key file cannot be used: emergency contacts cannot be opened. See to the file deckwatch.key beside the database.
}

reason-title = Why is it opened?
reason-hint = Your name, this device and the reason go to the audit.
reason-missing = Person missing
reason-hurt = Person hurt or ill
reason-rescue = Rescue service asks
reason-late = Boat is late
reason-asked = The person asks
reason-other = Another reason, or more words
fault-reason = Say why: choose a reason or type one.

helm-contacts-why = Why?
helm-contacts-tap = One tap opens the contacts of: { $names }
helm-contacts-nobody = Nobody is missing, late or in trouble. Tick below whose contacts, then say why.

audit-how = Who did what, when and on which device. No page changes these lines.
audit-of = Only about { $name }.
audit-everybody = Show everybody
audit-kind = About
audit-kind-any = Everything
audit-kind-contact-opened = Contact opened
audit-kind-exported = Data taken out
audit-kind-erased = Person erased
audit-kind-retention = Kept and deleted
audit-kind-refused = Refused
audit-kind-sign-in = Signing in and out
audit-kind-account = Accounts
audit-kind-device = Devices
audit-kind-merged = Entries merged
audit-kind-consent = Guardian's consent
audit-kind-box = The box
audit-day = Day
audit-show = Show
audit-caption = Lines of the audit, the latest first
audit-at = When
audit-who = Who, and device
audit-person = Person
audit-what = What
audit-the-box = The box
audit-none = No line answers to that.
audit-older = Earlier lines
audit-file = These lines as a file
fault-audit-day = Give a day like 2026-05-04.
fault-audit-much = More lines than a file takes: choose a day.

retention-how = The box looks once a day at what it keeps of people. What will be deleted stands here first. Whoever is on a trip that is not over, or about which something is open, keeps everything.
retention-clock = The time of the box is not confirmed: nothing is deleted until it is.
retention-going = What will be deleted
retention-looked = Listed { $at }.
retention-not-looked = The box has not looked yet; it does within minutes of its start.
retention-nothing = Nothing of what is kept ends within 30 days.
retention-going-caption = Deleted by the box itself, by the rule below
retention-what = What
retention-over = Time over
retention-not-before = Deleted not before
retention-unchecked-entry = Only when the rule is checked
item-contact = Emergency contact
item-fitness = Fitness: asked anew
item-entry = Whole entry of the register
retention-asking = Trips with something open
retention-asking-how = An incident, an emergency, a contact that was opened, something overridden, or entries that are missing. Everybody on them keeps everything until somebody says that nothing is open any more.
retention-settle-why = Why is nothing open any more?
retention-settle = Nothing is open
retention-staying = Kept whatever the rule says
held-not-over = On a trip that is not over: { $trip }
held-asks = Something is open about a trip: { $trip }
held-unread = A log cannot be read, so nobody knows who was on it: { $trip }
retention-rule = The rule
retention-check = Check your local code: these figures are common practice and no law. Until somebody has checked them, names stay; contacts and fitness go by them all the same.
retention-confirmed = Checked against the local code by { $by }, { $day }.
retention-named = Law or code it follows
retention-named-hint = As the centre calls it; stands in the audit beside each deletion
retention-contact = Contacts stay
retention-fitness = Fitness stays
retention-fitness-hint = After that it says Restricted, so that the desk asks again
retention-entry = Names and levels stay
retention-entry-hint = The whole entry of the register, with everything in it
retention-records = Logs of trips must stay
retention-records-hint = The dive records. The box deletes no log
retention-notice = On the list before it is deleted
unit-days = days
unit-years = years
retention-checked = I checked this rule against the local code
retention-save = Set the rule
retention-past = Logs past their years
retention-past-how = The rule no longer asks for the logs of these trips. The box cannot take a log out: the years of other trips stand in the same file.
fault-notice = At least 1 day, so that somebody can read the list.
fault-entry-first = The entry takes contact and fitness along: give it at least as many days.
fault-rule-named = Name the law or code that you checked.
fault-trip-not-over = This trip is not over.

data-title = Data of this person
data-open = Export or erase
data-audit = Who opened what about this person
data-export = Export
data-export-how = Everything the box keeps of this person, the contact too, as one JSON file. What a log says of several people at once is only named.
data-asked-by = Who asked, and how do you know it is them?
data-export-send = Export as a file
data-erase = Erase
data-goes = This goes
data-goes-entry = The entry of the register: name, level, depth limit, last dive, fitness
data-goes-rates = Breathing rates learned from dives
data-goes-contact = The emergency contact, and the key it is sealed by
data-stays = This stays
data-stays-how = The logs of trips are dive records that must be kept and cannot be changed: the name stays in each of these. The audit keeps its lines, with a number instead of the name. Backups hold what was erased until the last one of before is removed.
data-no-trip = No log names this person.
data-stays-until = The name stays in the log, at least until { $day }
data-erase-sure = Erase this person. It cannot be undone.
data-erase-send = Erase
fault-logged-meanwhile = Somebody logged something in this moment. Look again and send once more.
fault-erase-sure = Tick that this person is to be erased.

# The first start.
set-up-title = Set this box up
set-up-how = One page, once: the centre, its first boat, and who answers for it. Everything can be changed later.
set-up-code = Code
set-up-code-hint = Eight digits, printed where the program was started
set-up-centre = The centre
set-up-centre-name = Name of the centre
set-up-place = Harbour
set-up-place-hint = Where your trips start, as new trips name it
set-up-zone = Time zone
set-up-zone-hint = The one your clocks ashore show
set-up-jurisdiction = Country or state whose law you follow
set-up-jurisdiction-hint = How long you must keep records follows from it: check the days under 'What is kept' against that law
set-up-boat = The first boat
set-up-plan = First step of its emergency plan
set-up-plan-hint = What the crew does first when somebody is missing. Write the whole plan on the boat's page before you sail
set-up-owner = The owner
set-up-owner-hint = Answers for accounts, for who sees what, and for what is kept
set-up-roles = Works on trips as
set-up-roles-hint = An owner need not sail; tick what you also do
set-up-device = This device
set-up-send = Set up
fault-set-up-code = That is not the code, or it is used up. Look where the program was started; start it again for a new one.
prove-again = Your PIN, or your passphrase
prove-again-hint = Asked again, as this cannot be taken back
fault-prove = That is not your PIN or passphrase. Try again.

way-units = Units
units-how = What pages tell, what is typed into forms, and what is printed. Logs, exports, lists as CSV and the interface for programs stay metric.
units-caution = Every page tells the new units when it is next loaded: tell everybody on board before. Sheets that were printed stay in the old ones: print them again.
units-choose = Depth and pressure in
units-set-up-hint = Can be changed later by the owner
units-metric = Metres and bar
units-metric-note = Cylinders in litres, breathing in l/min
units-imperial = Feet and psi
units-imperial-note = Cylinders in cubic feet at their working pressure, breathing in cu ft/min
units-save = Save the units
