# Words of the pages ashore.

way-day = Heute
way-report = Bericht
way-people = Personen
way-boats = Boote
way-sites = Tauchplätze
way-crew = Crew und Geräte
save = Speichern
reason = Warum?
leader = Gruppenleitung
no-leader = Noch keine Leitung
no-zone = Keine Zone
litres = { UNITS() ->
    [imperial] cu ft @ psi
   *[metric] l
}
time-zone = Zeitzone
time-zone-hint = Wie in der Zonendatenbank: Indian/Maldives, Europe/Lisbon
nautical-miles = Seemeilen
of-run-time = der Tauchzeit
minutes = { $n } min
planning-aid = Planungshilfe. Ersetzt weder Tauchcomputer noch Ausbildung, Ausguck, Funk oder örtliche Vorschriften.
not-for-navigation = Nicht zur Navigation.
hidden-while-counting = Zahlen sind verdeckt, solange eine Zählung läuft.
no-depth-limit = keine Tiefengrenze angegeben
desk-fault = { $called }: { $what }. Erlaubt: { $allowed }.
desk-fault-plain = { $called }: { $what }.

fault-zone = Eine Zeitzone der Zonendatenbank angeben, etwa Indian/Maldives.
fault-day = Einen Tag von { $first } bis { $last } angeben, wie 2026-05-04.
fault-line = Höchstens Name; Brevet; Grenze angeben, mit Semikolons dazwischen.
fault-said = { $why }
fault-contact = Name und Telefon angeben, oder alle drei leer lassen.
fault-nobody-ticked = Erst mindestens eine Person anhaken.
fault-no-letter = Alle Buchstaben sind bei diesem Tauchgang vergeben. Personen in eine bestehende Gruppe setzen.
fault-unit = Zwei oder drei Personen einer Gruppe anhaken: ein Zweier- oder Dreierteam.
fault-capacity = Mindestens 1 angeben.
fault-mmsi = Neun Ziffern angeben, oder leer lassen.
fault-plan = 1 bis { $most } Schritte angeben, einen je Zeile.
fault-no-role = Mindestens eine Rolle anhaken.
fault-pin-digits = Sechs Ziffern angeben.
fault-pin-trivial = Eine andere wählen: keine Reihen und keine Wiederholungen.
fault-name-taken = Ein Konto dieses Namens gibt es schon. Einen anderen Namen angeben.
fault-no-account = Dieses Konto gibt es nicht mehr. Die Seite laden.
fault-own-role = Sie können sich die Rolle des Schiffsführers oder des Inhabers nicht selbst nehmen. Ein anderer Schiffsführer oder Inhaber kann es.
fault-display-alone = Eine Anzeige zeigt nur an: diese Rolle allein anhaken.
fault-passphrase-length = 15 bis 128 Zeichen angeben: mehrere Wörter, die nicht zusammengehören.
fault-passphrase-trivial = Eine andere wählen: Sie wiederholt dieselben wenigen Zeichen.
fault-own-account = Sie können Ihr eigenes Konto nicht entfernen. Ein anderer Schiffsführer kann es.
fault-not-sure = Anhaken, dass dieses Konto entfernt werden soll.
fault-own-device = Sie benutzen dieses Gerät gerade. Von einem anderen aus sperren.

day-title = Fahrten
day-still = Diese Seite nicht mehr erneuern
day-renew = Diese Seite alle 15 s erneuern
day-none = Heute keine Fahrt.
day-out = draußen
day-on-roster = auf der Liste
day-late = verspätet
day-new = Neue Fahrt
day-others = Andere Tage
day-register = Register

trip-at-quay = Am Kai
trip-under-way = Unterwegs
trip-on-site = Am Platz
trip-back = Zurück im Hafen

new-trip-title = Neue Fahrt
new-trip-no-boat = Im Register ist noch kein Boot. Erst eines anlegen.
new-trip-no-skipper = Noch niemand hat die Rolle des Schiffsführers. Erst ein Konto anlegen.
new-trip-boat = Boot
new-trip-skipper = Schiffsführer
new-trip-harbour = Hafen
new-trip-day = Tag
new-trip-windows = Minuten der Überwachung
new-trip-plans = Woran Pläne gemessen werden
new-trip-plans-how = Gradientenfaktoren des Gewebemodells (üblich 0.40 am ersten Stopp, 0.80 an der Oberfläche) und der Druck, den jede Flasche auf das Boot zurückbringt. Es gelten der Tauchcomputer und die örtlichen Vorschriften.
plan-gradient-low = Gradientenfaktor am ersten Stopp
plan-gradient-high = Gradientenfaktor an der Oberfläche
plan-reserve = Reserve zurück auf dem Boot
new-trip-windows-how = Die eigenen Zahlen der Basis. Keine veröffentlichte Vorschrift legt sie fest: Wo die örtlichen Vorschriften strenger sind, gelten diese.
window-earliest-share = Frühestes Auftauchen
window-latest = Verspätet nach erwarteter Zeit
window-grace = Überfällig nach verspätet
window-night-latest = Verspätet bei Nacht
window-night-grace = Überfällig bei Nacht
window-sight = Ein Kopf ist außer Sicht ab
new-trip-send = Fahrt anlegen

launch-blocked = Bevor das Boot ablegt
launch-clear = Nichts hält das Boot am Kai
trip-command = Schiffsführung
trip-dive = Tauchgang { $n }: { $site }
trip-form-groups = Gruppen dieses Tauchgangs
trip-plan-dive = Tauchgang planen
trip-no-site = Im Register ist noch kein Tauchplatz.
trip-site = Tauchplatz
trip-dive-number = Tauchgang
trip-dive-again = Tauchgang { $n }
trip-dive-new = Tauchgang { $n }, neu
trip-plan-dive-send = Diesen Tauchgang planen
trip-last = Letzte Einträge
trip-whole-log = Das ganze Logbuch

todo-roster = Niemand steht auf der Teilnehmerliste
todo-dive = Kein Tauchgang ist geplant
todo-groups = Tauchgang { $dive }: keine Gruppe gebildet
todo-without-group = Tauchgang { $dive }: in keiner Gruppe: { $names }
todo-group = Gruppe { $letter }: { $what }
block-out = Verbleib offen: { $names }
block-not-aboard = Weder an Bord noch als nicht dabei vermerkt: { $names }
block-not-counted = Es haben noch nicht zwei aus der Crew gezählt
block-count-open = Eine Zählung läuft, Runde { $round }
block-count-failed = Zweimal ungleich gezählt
block-count-old = Nach der Zählung hat sich jemand bewegt: neu zählen
block-no-roll = Namen wurden nicht aufgerufen
block-roll-old = Nach dem Aufruf gekommen oder bewegt: { $names }
block-over-capacity = Mehr Personen an Bord als die { $capacity }, für die das Boot zugelassen ist

desk-divers = { $n ->
    [one] 1 Taucher
   *[other] { $n } Taucher
}
desk-snorkellers = { $n ->
    [one] 1 Schnorchler
   *[other] { $n } Schnorchler
}
desk-passengers = { $n } Mitfahrer
desk-crew-aboard = { $n } Crew
desk-in-all = { $n } insgesamt

activity-diver = Taucher
activity-snorkeller = Schnorchler
activity-passenger = Mitfahrer
activity-crew = Crew
fitness-cleared = Tauglich
fitness-restricted = Eingeschränkt

roster-coming = { $n } von { $capacity } Plätzen belegt
roster-capacity = Boot für { $n } zugelassen
roster-type = Durch Eintippen hinzufügen
roster-line = Name; Brevet; Tiefengrenze in { SIGN("depth") }
roster-line-hint = { UNITS() ->
    [imperial] Sefa Moana; Selbstständiger Taucher; 60
   *[metric] Sefa Moana; Selbstständiger Taucher; 20
}
roster-activity = Auf dieser Fahrt
roster-both = Noch jemand dieses Namens steht auf der Liste, und beide sind gemeint
roster-both-short = Beide sind gemeint
roster-add = Auf die Liste setzen
roster-choose = Aus dem Register wählen
roster-find = Teil eines Namens
roster-find-hint = In jeder Schrift, mit oder ohne Akzente
roster-find-send = Suchen
roster-found-none = Niemand dieses Namens im Register.
roster-on = Auf der Liste
roster-add-this = Hinzufügen
roster-caption = Fahren mit
roster-where = Jetzt wo
roster-change = Ändern
roster-staying = Nicht dabei
roster-staying-one = Als nicht dabei vermerkt
roster-coming-send = Kommt doch mit
roster-not-coming = Nicht dabei?
roster-not-coming-send = Als nicht dabei vermerken
roster-aboard-already = Diese Person ist mitgekommen: Die Crew trägt ein, wo sie ist.

person-name = Name
person-level = Brevet
person-level-hint = In den Worten von ISO 24801: Beaufsichtigter Taucher, Selbstständiger Taucher, Tauchgruppenleiter
person-limit = Tiefengrenze
person-limit-hint = Die dieses Brevets; leer bei allen, die nicht tauchen
person-last-dive = Letzter Tauchgang
person-fitness = Tauglichkeit
person-fitness-hint = Tauglich oder eingeschränkt; hier kein medizinisches Wort
person-archived = In Listen weglassen
person-in-register = Diese Person im Register
people-caption = Personen im Register
people-new = Neue Person
people-add = Person anlegen
contact-title = Notfallkontakt
contact-note = Nur im Register aufbewahrt. Er kommt nie in das Logbuch einer Fahrt, und wer ihn öffnet, steht im Protokoll.
contact-name = Name des Kontakts
contact-relation = Verhältnis zur Person
contact-telephone = Telefon
contact-sealed = Ein Kontakt ist hinterlegt, versiegelt.
contact-open = Kontakt öffnen
contact-none = Kein Kontakt hinterlegt.
contact-give = Kontakt angeben
contact-replace = Kontakt ersetzen
contact-forget = Alle drei leer lassen, um den Kontakt zu löschen.
contact-save = Kontakt speichern

csv-title = Teilnehmer aus einer Datei
csv-way = Bis zu 200 Personen auf einmal, Zeile für Zeile gezeigt, bevor etwas geschrieben wird.
csv-open = Teilnehmer aus einer Datei
csv-how = Erste Zeile: Namen der Spalten. Dazwischen Komma, Semikolon oder Tabulator.
csv-columns-must = Nötig: name. Für alle, die tauchen, auch: depth limit (Tiefengrenze, in der Datei immer in Metern).
csv-columns-may = Falls vorhanden: level (Brevet), activity (diver, snorkeller, passenger, crew), last dive (letzter Tauchgang, 2026-05-04), fitness (cleared, restricted).
csv-columns-contact = Außerdem: contact name, contact relation, contact telephone. Diese gehen in das Register, nicht in das Logbuch.
csv-text = Zeilen hier einfügen
csv-text-hint = name;level;depth limit
csv-file = Oder eine Datei wählen
csv-file-hint = CSV in UTF-8, höchstens 200 Personen
csv-check = Zeigen, was geschrieben würde
csv-nothing-written = Nichts wurde geschrieben. Diese Zeilen berichtigen und noch einmal zeigen.
csv-caption = { $n ->
    [one] 1 Person gelesen
   *[other] { $n } Personen gelesen
}
csv-line-number = Zeile
csv-has-contact = angegeben
csv-who = Im Register
csv-same = Ist die Person im Register
csv-new = Neu
csv-same-note = Wo jemand die Person im Register ist, gelten die geringere Tiefengrenze und jede Einschränkung.
csv-confirm = { $n ->
    [one] Diese Person hinzufügen
   *[other] Diese { $n } Personen hinzufügen
}
csv-again = Oder eine andere Datei lesen
csv-line = Zeile { $line }: { $why }
csv-whole = { $why }
csv-empty = Es ist niemand darin. Eine Zeile mit Spaltennamen und eine Zeile je Person angeben.
csv-too-many = { $lines } Zeilen: höchstens { $most } Personen passen auf eine Teilnehmerliste. Nichts wurde gelesen.
csv-unreadable = Das ist nicht als CSV lesbar: { $why }
csv-unknown-column = Diese Spalten sind nicht bekannt: { $names }. Umbenennen oder entfernen.
csv-no-name-column = Keine Spalte heißt name. Die erste Zeile muss die Spalten benennen.
csv-too-many-fields = Die Zeile hat { $n } Felder, und die erste Zeile nennt { $of } Spalten. In Anführungszeichen setzen, was das Trennzeichen enthält.
csv-contact = Kontakt: je höchstens 80 Zeichen, keines, das sich nicht drucken lässt.
csv-name-empty = Einen Namen angeben.
csv-activity = Activity: diver, snorkeller, passenger oder crew angeben.
csv-fitness = Fitness: cleared oder restricted angeben.
csv-limit = Tiefengrenze: eine Zahl { $allowed } angeben.
csv-born = Geburtsdatum: ein Tag wie 2011-05-04.
csv-limit-missing = Tiefengrenze: angeben, da diese Person taucht.
csv-last-dive = Letzter Tauchgang: einen Tag angeben wie 2026-05-04.

groups-title = Gruppen von Tauchgang { $n }, { $site }
groups-how = Personen anhaken, dann drücken, wohin sie kommen. Zweier- und Dreierteams sind als Kästen gezeichnet. Nichts wird geschrieben, bis Sie speichern.
groups-not-saved = Hier geändert, noch nicht gespeichert.
groups-with-ticked = Angehakte Personen:
groups-to = In Gruppe { $letter }
groups-new = In eine neue Gruppe
groups-unit = Als Zweier- oder Dreierteam
groups-out = Aus ihrer Gruppe
groups-free = In keiner Gruppe
groups-free-none = Alle, die tauchen, sind in einer Gruppe.
groups-is-new = neu
groups-empty = Niemand ist übrig: Nach dem Speichern taucht diese Gruppe nicht.
groups-plan = Plan, Leitung, Gas
groups-new-plan = Plan neuer Gruppen
groups-kit = Gas der Personen, die in eine Gruppe kommen
groups-kit-hint = Wer aus einer anderen Gruppe dieses Tauchgangs kommt, bringt das eigene mit. Ist von jemandem ein anderes Atemminutenvolumen bekannt, aus eingetragenen Tauchgängen oder dem Register, wird damit geplant.
groups-save = Gruppen speichern
groups-gone = Im Wasser oder zurück
group-emptied = Niemand ist in der Gruppe übrig
group-weakest = Geringste Tiefengrenze { LIMIT($limit) }, { $name }
group-window = Minuten ab dem Abtauchen: oben ab { $earliest }, erwartet { $expected }, verspätet { $latest }, überfällig { $overdue }, kein Gas nach { $gas }
unit-pair = Zweierteam
unit-three = Dreierteam
unit-alone = Allein: braucht einen Partner
unit-too-many = Mehr als drei
caution-no-leader = Keine Gruppenleitung benannt
caution-alone = { $name } hat keinen Partner
caution-override = Grenze verantwortet: { $why }
caution-night = Bei Abtauchen jetzt endet es bei Nacht: Lampen, kürzere Zeitfenster

mode-return = Kommt dahin zurück, wo sie abgetaucht ist
mode-drift = Treibt mit der Strömung
mode-one-way = In eine Richtung, nach Kurs
mode-one-way-course = In eine Richtung, { $course }

plan-title = Gruppe { $letter }, Tauchgang { $n }
plan-move-people = Personen umsetzen
plan-stood-down = Taucht nicht: { $reason }
plan-stands = Wie es steht
plan-checked = Geprüft, noch nicht gespeichert
plan-levels = Tiefenstufen
plan-level = Stufe { $n }
plan-levels-hint = In zeitlicher Folge, bis zu fünf; die Minuten einer Stufe enthalten den Weg dorthin.
plan-depth = Tiefe
plan-minutes = Minuten
plan-minutes-hint = Grundzeit, mit Abstieg
plan-stop-depth = Sicherheitsstopp
plan-stop-minutes = Stoppzeit
plan-mode = Rückweg
plan-course = Kurs
plan-course-hint = Nur für eine Richtung
plan-enters = Will abtauchen um
plan-enters-hint = Eine Zeit dieses Tages, 10:15. Sonnenuntergang und Drehen der Strömung werden daran gemessen
plan-zone = Zone zum Auftauchen
plan-override = Wer die Grenze verantwortet, und warum
plan-override-hint = Nur wo eine Grenze oder eine Einschränkung überschritten wird. Ihr Name steht daneben, im Logbuch und in jedem Bericht.
plan-check = Plan prüfen
plan-save = Plan speichern
plan-stand-down = Taucht diese Gruppe nicht?
plan-stand-down-send = Gruppe taucht nicht
plan-asking = Rechnet mit dem Eingetippten
plan-asking-failed = Es kam keine Antwort: Was hier steht, ist älter als das Eingetippte. Plan prüfen drücken.
plan-fixed = Diese Gruppe war im Wasser oder taucht nicht. Ihr Plan ändert sich hier nicht.
kit-title = Gas
kit-cylinder = Flasche
kit-oxygen = Sauerstoff
kit-bar = Anfang
kit-breathing = Atemminutenvolumen
breathes-learned = { RATE($rate) }, Median aus { $n ->
    [one] 1 Tauchgang
   *[other] { $n } Tauchgängen
}
breathes-stated = { RATE($rate) }, wie im Register angegeben
breathes-usual = übliche { RATE($rate) }, kein Tauchgang eingetragen

sheet-boat = Boot
sheet-day = Tag
sheet-harbour = Hafen
sheet-skipper = Schiffsführung
sheet-printed = Gedruckt
sheet-entry = Eintrag im Logbuch
sheet-print-how = Mit dem Browser drucken: A4, Hochformat.
sheet-people = { $n ->
    [one] 1 Person
   *[other] { $n } Personen
}
sheet-number = Nr.
sheet-out = Hin
sheet-back = Zurück
sheet-group = Gruppe
sheet-gas-title = Gas
sheet-gas = { SIZE($litres) } · { $oxygen } % · { PRESSURE($bar) }
sheet-in = Ab
sheet-up = Oben
sheet-bar = { UNITS() ->
    [imperial] Psi
   *[metric] Bar
}
sheet-depth = Tiefe
sheet-leads = leitet
sheet-dry = In keiner Gruppe:
sheet-emergency = Notfallplan
sheet-cut-off = Ab dem Abtauchen: erwartet { $due }, verspätet { $late }, überfällig { $overdue } min
sheet-cut-off-at = Erwartet { $due }, verspätet { $late }, überfällig { $overdue }

alerts-desk = Meldungen werden an Bord bestätigt. Bleibt eine unbeantwortet, das Boot rufen: { $skipper } hat die Führung.

log-track = { $n ->
    [one] Eine Position der Instrumente ist hier nicht aufgeführt; die Exporte enthalten sie.
   *[other] { $n } Positionen der Instrumente sind hier nicht aufgeführt; die Exporte enthalten sie.
}
log-how = Nichts wird gelöscht. Was zurückgenommen wurde, ist durchgestrichen und bleibt lesbar.
log-caption = Einträge, neueste zuerst
log-entry = Eintrag
log-when = Wann
log-who = Wer, auf welchem Gerät
log-what = Was
log-detail = Angabe
log-void = Zurücknehmen
log-void-title = Diesen Eintrag zurücknehmen
log-void-how = Er bleibt im Logbuch, durchgestrichen, mit Ihrem Namen und Grund. Was er über Personen sagte, zählt nicht mehr.
log-void-send = Eintrag zurücknehmen
log-one-title = Eintrag { $n }
log-received = eingegangen { $at }
log-brought = gebracht von { $name }
log-struck = Zurückgenommen von { $by } um { $at }: { $reason }
log-device-unknown = unbekanntes Gerät
log-unread = Eintrag einer neueren Version, hier nicht lesbar
log-clashes = Einträge, die sich widersprechen
log-said = { $place }, gesagt von { $by } auf { $device } um { $at }
log-gap = { $n } Einträge von { $device } sind nicht angekommen

report-all = Vollzählig: alle gezählt, beim Namen aufgerufen, mit dem Logbuch in Übereinstimmung
report-out = Nicht vollzählig: nicht von allen steht fest, wo sie sind
report-under-way = Die Fahrt läuft noch
report-not-counted = Laut Logbuch ist niemand draußen, aber Zählung und Namensaufruf bei der Rückkehr sind nicht vollständig
report-gaps = Was noch fehlt
report-dives = Tauchgänge
report-aboard = An Bord
report-seen-by = Gesehen von
report-problem = Notiert
report-minutes-of = Minuten, von Plan
report-depth-of = Tiefe, von Plan
report-of-plan = { $dived } von { $planned }
report-not-known = ?
report-rate = { SIGN("rate") }
report-after = Vor dem nächsten Tauchgang, vor dem Fliegen
report-next = Frühester nächster Tauchgang, ohne Stopps
report-next-planned = { $at } für den geplanten Tauchgang
report-next-again = { $at } für denselben Tauchgang noch einmal
report-next-none = binnen eines Tages nicht ohne Stopps
report-not-up = noch nicht oben
report-no-fly = Nicht fliegen
report-until = Bis
report-why = Grund
report-hours = { $n } h
report-fly-single = einzelner Tauchgang
report-fly-repeated = mehrere Tauchgänge, oder Tauchen an aufeinanderfolgenden Tagen
report-fly-stops = Tauchgang mit Pflichtstopps
report-after-note = Stunden vor dem Fliegen: mindestens 12 nach einem einzelnen Tauchgang ohne Pflichtstopps, 18 nach mehreren Tauchgängen oder Tauchtagen (DAN-Workshop zum Fliegen nach dem Sporttauchen, 2002); erheblich mehr als 18 nach Pflichtstopps, wofür hier 24 angesetzt sind. Berechnet aus dem, was eingetragen wurde. Der eigene Computer und die Ausbildung eines Tauchers können mehr verlangen, und dann gelten sie.
report-counts = Zählungen und Namensaufrufe
report-counts-none = Noch keine.
report-count = { $n }, gezählt von { $by } um { $at }
report-count-hidden = Gezählt von { $by } um { $at }
report-open = läuft, Runde { $round }
report-agreed = übereinstimmend { $n }
report-agreed-hidden = übereinstimmend
report-failed = zweimal ungleich
report-roll = Namensaufruf { $point } von { $by } um { $at }: { $n } gesehen, { $absent } nicht gesehen
report-roll-hidden = Namensaufruf { $point } von { $by } um { $at }
report-overrides = Übergangen
report-incidents = Vorfälle
report-said = { $text } ({ $by }, { $at })
report-lacks = { $name }, Tauchgang { $dive }: { $what }
report-lacks-up = Auftauchzeit
report-lacks-aboard = Zeit an Bord
report-lacks-bar = Restdruck
report-lacks-depth = Maximaltiefe
report-lacks-stop = Stopp gemacht oder nicht
report-gap = { $n } Einträge eines Geräts sind nicht angekommen

boats-caption = Boote im Register
boat-new = Neues Boot
boat-name = Name
boat-call-sign = Rufzeichen
boat-capacity = Zugelassen für
boat-capacity-unit = Personen, mit Crew
boat-speed = Geschwindigkeit zwischen Gruppen
boat-boarding-s = Zeit, eine Person aufzunehmen
boat-approach-s = Zeit, eine Anfahrt vorzubereiten
boat-boarding = Personen kommen an Bord über
boat-side = Fährt an
boat-side-hint = Quellen sind sich uneins: die eigene Gewohnheit dieses Bootes, nie eine Anweisung
boat-mmsi = MMSI
boat-mmsi-hint = Neun Ziffern, wenn das Funkgerät eine hat
boat-radio = Funk und Kanal
boat-recall = Rückrufsignal
boat-recall-hint = Wie im Briefing vereinbart: dreimal Motor hochdrehen, ein Schlag an die Leiter
boat-plan = Notfallplan
boat-plan-hint = Ein Schritt je Zeile, der Reihe nach
boarding-ladder = Leiter
boarding-lift = Lift
side-not-set = Nicht festgelegt
side-up-wind = Aus Luv
side-down-wind = Aus Lee
side-lee = Personen in Lee des Bootes

sites-caption = Tauchplätze im Register
site-new = Neuer Tauchplatz
site-name = Name
site-place = Ort
site-stand-off = Abstand zu Sperrzonen
site-lat = Breite
site-lat-hint = 4 10.5 N, oder 4.175
site-lon = Länge
site-lon-hint = 73 30.2 E, oder 73.50333
site-water = Wasser
site-water-salt = Salzwasser
site-water-fresh = Süßwasser
site-surface-bar = { UNITS() ->
    [imperial] Luftdruck an der Oberfläche: 14.7 auf Meereshöhe, etwa 0.15 weniger je 280 ft Höhe
   *[metric] Luftdruck an der Oberfläche: 1.01325 auf Meereshöhe, etwa 0.01 weniger je 85 m Höhe
}
site-notes = Was die Crew wissen soll

crew-skipper-only = Der Schiffsführer oder ein Inhaber legt Konten an und ändert sie.
crew-roles = Rollen
crew-roles-send = Rollen speichern
crew-new-pin = Neue PIN
crew-pin-hint = Sechs Ziffern; keine Reihen, keine Wiederholungen
crew-pin-send = Diese PIN geben
crew-passphrase = Passphrase für das Büro
crew-passphrase-set = Ein Gerät im Büro fragt nach einer Passphrase statt der PIN.
crew-passphrase-none = Ein Gerät im Büro nimmt die PIN.
crew-passphrase-hint = 15 Zeichen oder mehr; bleibt sie leer, nimmt das Büro die PIN. Steuerstand und Deck nehmen immer die PIN.
crew-passphrase-send = Diese Passphrase festlegen
crew-remove = Konto entfernen
crew-remove-sure = Entfernen; was es geschrieben hat, bleibt
crew-add-title = Neues Konto
crew-add = Konto anlegen
crew-devices = Geräte
crew-code = Code für ein Gerät
crew-code-until = Einmal gültig, bis { $at }.
crew-code-send = Code für ein neues Gerät erzeugen
device-name = Gerät
device-kind = Benutzt am Ort
device-since = Zugelassen
device-state = Zustand
device-revoke = Sperren
device-revoked = Gesperrt { $day }
device-own = Dieses
device-in-use = In Gebrauch

point-departure = vor der Abfahrt
point-leaving = vor Verlassen des Platzes
point-return = bei der Rückkehr
vessel-own = auf diesem Boot
vessel-tender = auf dem Beiboot
vessel-other = auf { $name }
vessel-shore = an Land, { $place }

told-trip-opened = Fahrt angelegt
told-person-joined = Auf der Teilnehmerliste
told-person-changed = Person geändert
told-person-not-coming = Nicht dabei
told-dived-earlier = Heute schon getaucht
told-dive-planned = Tauchgang geplant
told-group-formed = Gruppe gebildet
told-group-stood-down = Gruppe taucht nicht
told-head-counted = Köpfe gezählt
told-roll-called = Namen aufgerufen, gesehen
told-departed = Abgelegt
told-on-site = Am Platz
told-conditions-observed = Bedingungen gesehen
told-boat-positioned = Boot auf
told-drop-checked = Vor dem Abtauchen geprüft
told-left-surface = Abgetaucht
told-buoy-seen = Boje gesehen, niemand gezählt
told-at-surface = An der Oberfläche
told-others-well = Andere wohlauf
told-lost-contact = Kontakt verloren
told-aboard = Aus dem Wasser
told-return-noted = Rückkehr notiert
told-more-time = Mehr Zeit gegeben
told-recall-sounded = Rückruf gegeben
told-person-missing = Vermisst
told-person-found = Gefunden
told-emergency-declared = Notfall ausgerufen
told-emergency-step = Notfallplan
told-emergency-ended = Notfall vorbei
told-alert-acknowledged = Meldung bestätigt
told-alert-silenced = Meldung 30 s still
told-lookout-posted = Ausguck eingeteilt
told-lookout-relieved = Ausguck abgelöst
told-command-handed-over = Führung angeboten
told-command-accepted = Führung übernommen
told-pickup-arranged = Aufnahmefolge geordnet
told-incident-noted = Vorfall
told-left-site = Platz verlassen
told-back-in-harbour = Zurück im Hafen
told-trip-closed = Fahrt beendet
told-beacon-heard = Notsender gehört
told-beacon-dismissed = Notsender verworfen
told-report-signed = Bericht unterschrieben
told-record-sealed = Niederschrift gesiegelt
told-signed-over = über die Einträge 1 bis { $n }, Kette { $chain }
told-record = mit einer Niederschrift des Vorfalls
told-voided = Zurückgenommen
told-void-waits = wartet auf ein zweites Crewmitglied an einem anderen Gerät
told-dive = Tauchgang { $n }
told-group = Gruppe { $letter }
told-earlier-dive = { DEPTH($depth) }, { $minutes } min, oben um { $at } ({ $source })
told-because = Grund: { $reason }
told-override = übergangen: { $reason }
told-by-heads = nach Köpfen
told-by-names = nach Namen
told-count-hidden = Zahl verdeckt, solange die Zählung läuft
told-counted = { $n } gezählt, { $log } laut Logbuch
told-not-seen = nicht gesehen: { $names }
told-current = Strömung nach { $set }, { $drift } kn
told-wind = Wind aus { $from }, { $speed } kn
told-visibility = Sicht { LENGTH($n) }
told-sea-calm = See ruhig
told-sea-slight = See leicht bewegt
told-sea-moderate = See mäßig bewegt
told-sea-rough = See grob
told-water = Wasser { $n } °C
told-neutral = Motor ausgekuppelt
told-flag = Flagge oder Lichter gezeigt
told-lights = jeder Taucher hat eine Lampe
told-window = erwartet nach { $expected } min, verspätet { $latest }, überfällig { $overdue }
told-signal-well = alle wohlauf
told-signal-none = kein Zeichen gesehen
told-signal-help = braucht Hilfe
told-said-by = gesagt von { $name }
told-seen-by = gesehen von { $name }
told-limit = Grenze { LIMIT($n) }
told-bar = { PRESSURE($n) } übrig
told-depth = Maximaltiefe { DEPTH($n) }
told-surfaced-at = oben um { $at }
told-stop-done = Stopp gemacht
told-stop-missed = Stopp nicht gemacht
told-of-entry = Eintrag { $n }

# Dives of the day before a trip
earlier-title = Tauchgänge vor dieser Fahrt
earlier-of = Tauchgänge von { $name } vor dieser Fahrt
earlier-none = Keine angegeben. Tauchgänge auf anderen Fahrten dieses Bordrechners werden nachgeschlagen, wenn ein Plan entsteht.
earlier-change = Tauchgänge vor dieser Fahrt angeben
earlier-hint = Vom Tag der Fahrt und vom Tag davor: Jeder Plan wird mit ihnen berechnet. Eine Zeit allein ist die letzte solche Zeit vor jetzt; sonst Datum und Zeit angeben, 2026-05-04 17:40. Eine Zeile leeren, um sie zu entfernen.
earlier-dive = Tauchgang
earlier-minutes = Minuten bis zum Verlassen des Grundes
earlier-up = Oben um
earlier-source = Angegeben von
earlier-back = Zurück zu dieser Person
