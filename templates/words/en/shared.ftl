# Words of every page.

drill = DRILL
skip-to-main = Skip to the page
ways = Pages
ways-and-screen = Pages and screen
actions = Actions
palette = Screen colours
palette-day = Day
palette-dusk = Dusk
palette-night = Night
sound-on-this-device = Sound on this device
sound-is-on = Sound is on
undo = Undo
go-back = Go back
there-is-a-problem = There is a problem
minutes-short = min
minutes-seconds-short = min:s

age-page = when made
age-live = Live
age-stale = Not live since { $since } ({ $age })

alerts = Alerts
no-alerts = No alerts
more-alerts = more alerts
