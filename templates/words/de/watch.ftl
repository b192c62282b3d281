# Words of the watch: phases of a group, priorities and states of an alert.

phase-ready = Bereit
phase-down = Im Wasser
phase-window = Zeitfenster
phase-due = Erwartet
phase-late = Verspätet
phase-overdue = Überfällig
phase-buoy = Nur Boje
phase-split = Getrennt
phase-surface = Oberfläche
phase-distress = In Not
phase-missing = Vermisst
phase-unresolved = Ungeklärt
phase-aboard = An Bord

check-now = Nachsehen

due-in = erwartet in
late-in = verspätet in
overdue-in = überfällig in
overdue-for = überfällig seit

priority-none = Normal
priority-caution = Vorsicht
priority-warning = Warnung
priority-alarm = Alarm
priority-emergency = Notfall

alert-state-active = Unbestätigt
alert-state-silenced = Still
alert-state-acknowledged = Bestätigt
alert-state-resolved = Vorbei, unbestätigt

partner-in = Partner binnen
partner-over = Frist vorbei seit
waiting-for = wartet
back-at = zurück um
run-time = Tauchzeit
count-at-surface = { $n } von { $of } an der Oberfläche
count-aboard = { $n } von { $of } an Bord
count-people = { $n ->
    [one] 1 Person
   *[other] { $n } Personen
}
names-and = { $most } und { $last }
time-local = { $time } Ortszeit

place-ashore = an Land
place-aboard = an Bord
place-other-vessel = auf anderem Boot
place-landed = zurück an Land
place-in-water = im Wasser
place-at-surface = an der Oberfläche
place-missing = vermisst
place-unresolved = ungeklärt

alert-late = Verspätet: { $group }
alert-overdue = Überfällig: { $group }
alert-out-of-gas = Gas zu Ende: { $group }
alert-yellow-buoy = Gelbe Boje: { $group }
alert-partner = Partner nicht oben: { $names }, { $group }
alert-lost-contact = Kontakt verloren: { $names }, { $group }
alert-beacon = Über AIS gehört: { $beacon }
alert-beacon-test = Test über AIS gehört: { $beacon }
alert-distress = Braucht Hilfe: { $names }
alert-missing = Vermisst: { $names }
alert-unresolved = Ungeklärt, wo { $name } ist
alert-emergency = Notfall: { $reason }
alert-count-differs = Zählungen ungleich
alert-count-failed-site = Zweimal ungleich gezählt: Notfallplan öffnen
alert-count-failed-quay = Zweimal ungleich gezählt: am Kai bleiben
alert-reopened = Fahrt beendet, aber Leute draußen
alert-no-lookout = Kein Ausguck eingeteilt
alert-lookout-relief = Ausguck { $name } ablösen
alert-current-old = Strömung zuletzt vor über 60 min gesehen
alert-unread = Eintrag einer neueren Version hier nicht lesbar
alert-gap = Einträge eines Geräts sind nicht angekommen
alert-since = Seit { $since }, { $minutes } min. { $do }
alert-seen-by = Bestätigt von { $by }. Seit { $since }
alert-over-at = Vorbei um { $at }, niemand hat bestätigt
alert-do-late = Ausguck nach oben, stromab suchen.
alert-do-overdue = Rückruf, Bezugspunkt festhalten, früh Hilfe rufen.
alert-do-distress = Sofort hin.
alert-do-beacon = Köpfe zählen. Zu seiner Position fahren. Früh Hilfe rufen.
alert-do-beacon-test = Fragen, wer testet.
alert-do-emergency = Notfallplan befolgen.
alert-do-unresolved = Hinsehen und eintragen, was zu sehen ist.
alert-do-recount = Neu zählen, jeder für sich.
alert-do-count-failed = Niemand fährt ab. Alle beim Namen aufrufen.
alert-do-reopened = Schiffsführer und Büro rufen.
alert-do-lookout = Ausguck einteilen.
alert-do-current = Neu hinsehen und eintragen.
alert-do-doubt = Betroffene als nicht in Sicherheit behandeln.

beacon-locator = Ortungssender { $identity }
beacon-person = Mensch-über-Bord-Sender { $identity }
beacon-epirb = Seenotfunkbake { $identity }
beacon-in-test = meldet sich als Test
position-typed = eingetippt
position-by-instruments = von den Instrumenten
position-by-device = Eigenposition eines Geräts

why-distress = Notzeichen von { $names }
why-missing = { $names } als vermisst gemeldet
why-lost-contact = { $by } hat Kontakt zu { $names } verloren
why-out-of-gas = Gas rechnerisch seit { $minutes } min zu Ende
why-overdue = Seit { $minutes } min überfällig
why-late = Seit { $minutes } min verspätet, überfällig in { $overdue } min
why-partner = { $up } oben, { $down } nicht: noch { $left } min
why-partner-over = { $up } oben, { $down } nicht: 5 min sind um
why-others-well = { $by } sagt, die anderen sind wohlauf
why-unresolved = { $name }: { $said }
why-said = { $place } ({ $by }, vor { $minutes } min)
why-at-surface = { $n } von { $of } seit { $minutes } min an der Oberfläche
why-buoy-only = Boje vor { $minutes } min, niemand gesehen: fernbleiben
why-yellow-buoy = Gelbe Boje: als Notlage behandeln
why-due = Seit { $minutes } min erwartet
why-expected = Erwartet in { $minutes } min
why-in-window = Kann schon oben sein, erwartet in { $minutes } min
why-current-shortens = Strömung trägt Köpfe außer Sicht: { $minutes } min früher überfällig
why-extension-ignored = Zusatzzeit zählt nicht: neu geben
why-formed-apart = Gruppe von zwei Crewmitgliedern verschieden gebildet
why-given-more = { $minutes } min Zusatzzeit gegeben

short-distress-all = Gibt Notzeichen
short-lost-contact = Kontakt verloren: { $names }
short-partner = { $up } oben, { $down } nicht
short-unresolved = { $name }: { $places }?
short-out-of-gas = Gas rechnerisch zu Ende

stops-owed = Pflichtstopp { $stops }
stops-longer = falls noch unten: Pflichtstopp { $stops }, oben { $up }
stops-longer-none = falls noch unten: kein Pflichtstopp, oben { $up }
stops-recalled = Rückruf { $at }: frühestens oben { $up }, { $stops }
stops-recalled-none = Rückruf { $at }: frühestens oben { $up }
stops-reckoned = Stopps und Auftauchzeiten sind berechnet: Es gelten die Tauchcomputer der Taucher.
