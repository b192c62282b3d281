# Words for what went wrong.

fault-inexact = This device knows its place only to { LENGTH($metres) }, and { LENGTH($most) } is the most that is of use. Wait for a better fix, or type the position.
fault-empty = Fill this in.
fault-long = Use at most { $longest } characters.
fault-control = Leave out characters that cannot be printed.
fault-number = Give a number { $allowed }.
fault-stamped = Give what is stamped on the cylinder, its cubic feet and its working pressure in psi, as 80 @ 3000: { $allowed }.
fault-units = The centre tells other units than when this page was drawn. Load it again and look at every figure.
fault-whole = Give a whole number from 0 to { $most }.
fault-choose = Choose one of these.
fault-time = Give a time such as 14:05.
fault-degrees = Give degrees, or degrees and minutes: 4 10.5 N.
fault-code = This code is not good any more, or never was. Ask for a new one.
fault-pin = Name or PIN is wrong. Try again.
fault-passphrase = Name, PIN or passphrase is wrong. Who has a passphrase needs it here. Try again.
fault-pin-wait = Too many wrong PINs. Try again at { $until }.

problem-not-found = Not here
problem-not-found-do = There is nothing at this address. Go to the start and choose again.
problem-no-such-trip = No such trip
problem-no-such-trip-do = This box holds no trip of that name. Go to the start and choose again.
problem-not-signed-in = Not signed in
problem-not-signed-in-do = Sign in with your name and PIN, then do it again.
problem-forbidden = Not yours to do
problem-forbidden-do = Your role does not allow this. Ask the skipper.
problem-not-yours = Not made by you on this device
problem-not-yours-do = Events are delivered by the device and the crew member that made them. Nothing was saved.
problem-foreign-origin = From another page
problem-foreign-origin-do = This was sent from a page that is not ours. Open the page here and send it again.
problem-foreign-host = Another address
problem-foreign-host-do = This box is not reached by this address. Use the address that was given out.
problem-faulty = There is a problem
problem-faulty-do = Mend what is named below and send it again. Nothing was saved.
problem-refused = This makes no sense now
problem-refused-do = Nothing was saved. See what is named below.
problem-clash = Same number, other content
problem-clash-do = An entry with this identity stands in the log already with other content. Both are kept; enter it again as a new one.
problem-stale-page = This page is too old
problem-stale-page-do = Load the page again and enter it once more. Nothing was saved.
problem-closed-trip = The trip is closed
problem-closed-trip-do = What comes to a closed trip from a device's copy is taken in by a skipper. Ask one to sign in. Nothing was saved.
problem-too-large = Too much at once
problem-too-large-do = Send less at a time. Nothing was saved.
problem-sealed = The contact is sealed
problem-sealed-do = The key file of this box is missing or not the right one. Put the file deckwatch.key back beside the database; nothing has to be restarted.
problem-not-saving = Not saving
problem-not-saving-do = This box cannot save now. Keep watch by eye and paper, and restart the program.
problem-storage-full = The disk is full
problem-storage-full-do = Nothing was saved. Free space on this box, then send it again.
problem-internal = A fault of ours
problem-internal-do = Nothing was saved. Load the page again; if it comes back, restart the program.

refused-absurd = Give a number of people that can be on this boat.
refused-alone = { $name } would go alone. Send the pair, or form the group anew.
refused-at-sea = The boat is not back in harbour. Log that first.
refused-before = That is before it can have happened. Give a time after { $from }.
refused-closed = This trip is closed. The skipper can log what came later as a note.
refused-count-failed = Counts differed twice. Call the roll by name, then count again.
refused-count-moved-on = This count is over. Load the page and count in the one that is open.
refused-count-old = Somebody moved after the count. Count again.
refused-count-open = A count is open, round { $round }. Wait until both counts are in.
refused-counted = You have counted already. Another crew member counts, or you count once more by names.
refused-seal-divemaster = The divemaster's signature is missing.
refused-seal-skipper = The skipper's signature is missing.
refused-sealed = { $name } has sealed this record already. Load the page.
refused-signed = { $name } has signed in this role already.
refused-sign-count = The count at the return is not agreed. Count first.
refused-sign-emergency = The emergency is not over by the log. The skipper ends it first.
refused-sign-gap = { $n ->
    [one] { $n } entry of a device has not arrived. Bring that device to the box.
   *[other] { $n } entries of a device have not arrived. Bring that device to the box.
}
refused-sign-moved-on = The log has gone on since this page was shown. Read it as it is now, then sign.
refused-sign-out = Not accounted for: { $names }.
refused-sign-role = Only the divemaster and the skipper sign, each as what they are.
refused-sign-roll = The roll at the return is not called, or somebody moved after it. Call it first.
refused-sign-twice = You have signed in the other role. The second signature is another person's.
refused-sign-under-way = The boat is not back in harbour.
refused-sign-unread = { $n ->
    [one] { $n } entry of a newer version cannot be read here. Bring this program up to date.
   *[other] { $n } entries of a newer version cannot be read here. Bring this program up to date.
}
refused-sign-unresolved = Not clear where they are: { $names }. Settle what the entries say first.
refused-departed = The boat has left already.
refused-dive-begun = A group of this dive has been in the water. Plan the next dive instead.
refused-dive-number = Dives are numbered in order: the next is { $next }.
refused-does-not-dive = { $name } is not on this trip to dive.
refused-empty = Fill this in.
refused-engine = Engine in neutral first: say that you have seen it.
refused-flag = Show flag A, or the lights at night, before anybody goes in.
refused-full = The boat carries { $capacity } people, and all places are taken.
refused-future = That time lies ahead. Give a time that has passed.
refused-granted = { $granted } min were granted meanwhile. Load the page and look again.
refused-group-in-water = This group has been in the water. Nothing of its plan changes now.
refused-in-another-group = { $name } is in group { $letter } already. Take them out there first.
refused-in-water-twice = Group { $letter } has left the surface already.
refused-leader = The leader must be one of the group.
refused-letter = Choose one letter of { $letters }.
refused-letter-taken = Letter { $letter } is taken on this dive. Choose another.
refused-long = Use at most 2000 characters.
refused-lookout-needed = People are in the water: post another lookout instead.
refused-more-gas = That is more than the { PRESSURE($start) } at the start. Read the gauge again.
refused-never-in = { $name } was not in the water on this dive.
refused-no-alert = That alert is no longer there. Load the page.
refused-no-dive = Plan this dive first.
refused-no-beacon = That beacon is not heard, or is dismissed already. Load the page.
refused-dismiss-beacon = Only the skipper says that a beacon is nobody's here.
refused-no-emergency = No emergency is declared.
refused-no-event = That entry is not in the log.
refused-no-depth-limit = No depth limit is known of { $name }: state the one of the certification on the roster, or who takes it on and why.
refused-no-gas = Give cylinder and start pressure for { $name }.
refused-below-reserve = { $name } starts with { PRESSURE($bar) }, below the { NEEDED($reserve) } that have to come back: give another cylinder.
refused-breaks-limit = { $name }: { $what }
refused-not-released = The plan breaks a limit. Have the desk change it, or release it by name with a reason.
refused-nothing-to-release = The plan breaks no limit: there is nothing to release.
refused-no-group = That group is not on this trip.
refused-no-lights = It will be night: record that every diver has a light.
refused-no-lookout = Post a lookout first.
refused-no-offer = No command is offered to you now. Ask for it again.
refused-no-roll = Call the roll by name.
refused-no-snorkeller = { $name } is not aboard as a snorkeller.
refused-no-step = There is no such step in the emergency plan.
refused-no-trip = This trip is not open.
refused-nobody = Name at least one person.
refused-nobody-down = Nobody of this group is under water.
refused-nobody-out = Nobody is in the water.
refused-not-aboard = { $name } is not aboard. Call the roll, or log where they are.
refused-not-ashore = { $name } has come along. Log where they are instead.
refused-not-boarded = Neither aboard nor marked as not coming: { $names }.
refused-not-called = Call everybody by name. Not called: { $names }.
refused-not-checked = Do the checks before the drop first.
refused-not-coming = { $name } is not coming on this trip.
refused-not-counted = Two crew count, each alone.
refused-not-here = This is not taken here. Look where the boat is.
refused-not-in-command = Only who has command can hand it over.
refused-not-in-group = { $name } is not in this group. Form the group anew first.
refused-not-in-water = Group { $letter } has not left the surface.
refused-not-on-a-site = The boat is not on a site.
refused-not-on-roster = That person is not on the roster.
refused-not-on-site = The boat is not on the site of this dive. The skipper logs 'on site' first.
refused-not-out = { $name } is not out: never in, or back already.
refused-not-under-way = The boat is not under way.
refused-not-up = { $name } is not up. Ask somebody of the group who is.
refused-nothing-said = Log at least one thing you see.
refused-on-roster = { $name } is on the roster already.
refused-only-skipper = Only the skipper opens a gate by stating a reason.
refused-out = Not accounted for: { $names }.
refused-over-capacity = { $aboard } are aboard, and the boat carries { $capacity }.
refused-pairs-or-threes = Divers go in pairs or threes.
refused-restricted = { $name } is restricted: ask the desk, or state who takes it on and why.
refused-roll-in-water = { $name } is in the water by the log. Log them aboard first.
refused-roll-old = Came or moved after the roll: { $names }. Call it again.
refused-same-name = Another { $name } is on the roster. If both are meant, say so.
refused-seen-and-not-seen = { $name } is ticked as seen and as not seen. Choose one.
refused-set-and-drift = Give set and drift together.
refused-stood-down = This group does not dive.
refused-to-self = You have command already.
refused-too-deep = { DEPTH($depth) } is deeper than { LIMIT($limit) }, the limit of { $name }. Plan shallower, or state who takes it on and why.
refused-trip-exists = This trip is open already.
refused-twice-in-group = Somebody is in this group twice.
refused-twice-in-order = An entry stands in the order twice.
refused-two-groups = Log the people of one group at a time.
refused-undo = Undo is for your own last tap, within a minute. Void the entry with a reason instead.
refused-void-danger = Only the skipper takes back a word of danger.
refused-void-waits = You took this back already. It counts once a second crew member does so on another device.
refused-end-emergency = Only the skipper says that an emergency is over.
refused-voided = That entry does not count any more.
refused-wind-pair = Give wind direction and speed together.
refused-many-dives = Give at most { $most } dives.
refused-two-at-once = Two dives at one time: give each when it came up.
refused-long-ago = That is more than a day before the day of this trip. Leave it out, or mend the time.
refused-short-of-depth = Too short for the way down to that depth.

# Notices of the box, on every screen. $state says which.
notice-storage = { $state ->
    [low] The disk of this box is nearly full: { $free } MB are left. Free space before the next trip.
    [reserve] The disk of this box is full; its last megabytes are in use. Free space on it now.
    [full] Not saving: the disk of this box is full. Keep watch by eye and paper, and free space on it.
    [broken] Not saving: { $why }. Keep watch by eye and paper. Alarms go on from memory.
   *[stopped] Not saving: the disk failed. Keep watch by eye and paper until the program has started again.
}
notice-backup = No backup could be made: { $why }. What is saved here stands on this box alone.
