# What is wrong with the box itself: what is the matter, and what to do.

notice-nobody-watching = Nobody watches: people are out and no armed screen is before anybody's eyes. Open this trip at the helm or on deck and arm the screen.
notice-devices-silent = { $count ->
    [one] Silent for over a minute: { $names }. See to that device; what it logged may be missing here.
   *[other] Silent for over a minute: { $names }. See to these devices; what they logged may be missing here.
}
notice-devices-hidden = { $count ->
    [one] Armed, but its page is hidden: { $names }. It may sound late or not at all.
   *[other] Armed, but their pages are hidden: { $names }. They may sound late or not at all.
}
notice-device-clocks = Clock more than 30 s off: { $names }. Deadlines count on the box's time; set that clock.
notice-box-clock-off = The box's time is { $seconds } s away from the middle of { $devices } devices. Check it against a watch.
