# Words of the watch: phases of a group, priorities and states of an alert.

phase-ready = Ready
phase-down = In water
phase-window = Window
phase-due = Due
phase-late = Late
phase-overdue = Overdue
phase-buoy = Buoy only
phase-split = Split
phase-surface = At surface
phase-distress = Distress
phase-missing = Missing
phase-unresolved = Unresolved
phase-aboard = Aboard

due-in = due in
late-in = late in
overdue-in = overdue in
overdue-for = for

priority-none = Normal
priority-caution = Caution
priority-warning = Warning
priority-alarm = Alarm
priority-emergency = Emergency

alert-state-active = Unacknowledged
alert-state-silenced = Quiet
alert-state-acknowledged = Acknowledged
alert-state-resolved = Over, unacknowledged
