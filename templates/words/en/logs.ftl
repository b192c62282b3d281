# Words for handing a log over and taking it in. Scripts fill in what stands between % signs.

logs-title = Hand over the log
logs-how = A tablet that was alone hands over what it holds, as a file or as codes on its screen. Another takes it in, keeps it, and hands it to the box as soon as there is one. Nothing is lost by doing it twice.
logs-box-holds = { $n ->
    [one] This box holds { $n } entry
   *[other] This box holds { $n } entries
}
logs-taken = { $new } new, { $there } were here already.
logs-clashed = { $n ->
    [one] { $n } differs from what stands here under the same number. It was kept aside and does not count: see below.
   *[other] { $n } differ from what stands here under the same numbers. They were kept aside and do not count: see below.
}
logs-aside-title = Kept aside: does not count
logs-aside-how = Two entries bear the same number with other content, and nobody knows which is true. Ask who made them, and log anew what happened.
logs-aside = { $name }, { $at }: { $kind }
logs-aside-unread = An entry that cannot be read here
logs-settled = It is settled: end the notice
logs-brought-title = Brought from devices
logs-brought-how = Entries that came from a device's copy were relayed, not made, by who brought them.
logs-brought = { $at } · { $name }: { $new } new{ $aside ->
    [0] {""}
   *[other] , { $aside } kept aside
}
logs-save-box = Save what this box holds
logs-file = File
logs-file-hint = Its name ends in .jsonl
logs-lines = Or paste its lines here
logs-lines-hint = One entry a line, as they stand in the file
logs-take = Take in
logs-take-in = Take in
logs-hand-over = Hand over
logs-text = Or paste lines or codes here
logs-text-hint = As they stand in the file, or as a phone read them from the screen
logs-trip = Trip
logs-what = What
logs-what-pending = Not delivered yet
logs-what-all = The whole log
logs-held = This device holds %n% entries, %pending% of them not delivered.
logs-held-none = This device holds nothing of this trip.
logs-not-taken = %act%: not taken by the box, %why%
logs-give-up = Drop this
logs-no-store = This browser keeps nothing: hand lines to the box by the file itself.
logs-save = Save as a file
logs-show = Show as codes
logs-code = Code to be read by another device
logs-code-of = Code %n% of %of%
logs-many-codes = %of% codes: a file is quicker, if there is a way for one.
logs-nothing-to-show = There is nothing to hand over.
logs-previous = Previous
logs-next = Next
logs-pause = Pause
logs-go-on = Go on
logs-scan = Read codes
logs-stop = Stop
logs-no-camera = No camera was found. Take a file, or paste what another phone reads.
logs-camera-insecure = The camera works only on the secure address of this box. Take a file, or paste what another phone reads.
logs-camera-denied = The camera was not allowed. Allow it for this page, or take a file.
logs-scanning = Hold the code into the picture.
logs-scanned = %n% of %of% codes read. Missing: %missing%
logs-other-code = That code is not of a log.
logs-kept-here = %n% entries taken in and kept on this device.
logs-unreadable = Line %line% is no entry of a log.
logs-damaged = The codes do not fit together: read them once more.
logs-parts-missing = %n% of %of% codes are there. Missing: %missing%
logs-deliver = Hand over to the box
logs-offer = This box does not hold the trip %trip%, of which this device holds %n% entries. If it is the box of this boat, hand them over.
logs-offer-failed = Not all was handed over. See Hand over the log.
logs-box-same = The box holds all that this device holds.
logs-box-lacks = The box lacks %n% entries that this device holds.
logs-box-lost = The box does not hold this trip. This device holds %n% entries of it.
logs-box-away = The box is not in reach. What this device holds is kept until it is back.
logs-box-differs = The box holds other content under the same numbers.
logs-handed = %new% entries handed over; %there% were there.
logs-closed = The trip is closed: a skipper hands over what the box lacks.
logs-refused = The box refused some entries. They stay on this device:
logs-clashed-here = %n% entries differ from what the box holds. They were kept aside there and do not count.

notice-log-clash = { $boat }: { $count } entries were kept aside, since others stand in the log under the same numbers. They do not count. See Hand over the log.
