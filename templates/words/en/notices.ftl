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

notice-sounder-none = The box has no sounder: only screens sound. Keep an armed screen in view.
notice-sounder-fails = The sounder failed at { $at }: { $name }, { $why }. Keep an armed screen in view and see to it.
notice-sentry-none = Nothing would sound if this box were to fail: its second process does not run. See what its log says, and keep an armed screen in view.
notice-sounder-untried = Nobody tried the sounder before departure. Try it on the page that arms a screen.
notice-may-sleep = This machine may fall asleep while people are out: it could not be kept awake. Set it never to sleep.

notice-clock-set = The box's clock was set by { $by } at { $at }; deadlines did not move.
notice-clock-unconfirmed = The time of the box is not confirmed. Check it against a watch and confirm it.
notice-check-groups = Check now: { $groups }. The time of the box is not confirmed: then confirm it.
