# Words of every page.

drill = ÜBUNG
skip-to-main = Zum Inhalt
ways = Seiten
ways-and-screen = Seiten und Bildschirm
actions = Aktionen
palette = Bildschirmfarben
palette-day = Tag
palette-dusk = Dämme­rung
palette-night = Nacht
sound-on-this-device = Ton auf dem Gerät
sound-is-on = Ton ist an
undo = Rückgängig
go-back = Zurück
there-is-a-problem = Es gibt ein Problem
minutes-short = min
minutes-seconds-short = min:s

own-clock-ahead = Die Uhr dieses Geräts geht gegenüber dem Bordrechner { $span } vor. Fristen laufen nach der Zeit des Bordrechners, { $time }.
own-clock-behind = Die Uhr dieses Geräts geht gegenüber dem Bordrechner { $span } nach. Fristen laufen nach der Zeit des Bordrechners, { $time }.

age-page = bei Erstellung
age-live = Live
age-stale = Nicht live seit { $since } ({ $age })

alerts = Meldungen
no-alerts = Keine Meldungen
all-alerts = Alle Meldungen
more-alerts = weitere
more-notices = weitere vom Bord­rechner
notice-of-the-box = Bordrechner, seit

error-prefix = Fehler:{" "}
to-the-start = Zum Anfang
role-skipper = Schiffsführer
role-divemaster = Divemaster
role-desk = Büro
role-owner = Inhaber
role-display = Anzeige
way-watch = Übersicht
way-pickup = Aufnahme{"\u00AD"}folge
way-count = Zählung
way-roll = Namens{"\u00AD"}aufruf
way-conditions = Bedin{"\u00AD"}gungen
way-emergency = Notfall
way-trip = Fahrt
way-groups = Gruppen
way-returns = Rückkehr
way-lookout = Ausguck
void-waits = { $by } nimmt dies zurück: { $reason }. Das gilt erst, wenn ein zweites Crewmitglied es auf einem anderen Gerät ebenfalls zurücknimmt.
way-roster = Teilnehmerliste
way-passenger-list = Passagierliste
way-boat-sheet = Bordblatt
way-log = Logbuch
way-helm = Steuer{"\u00AD"}stand
way-deck = Deck
way-desk = Büro

drill-device = Bildschirm der Übung
enrol-title = Dieses Gerät zulassen
enrol-how = Der Schiffsführer, oder wer diesen Bordrechner betreibt, gibt einen achtstelligen Code aus. Er gilt ein einziges Mal, zehn Minuten lang.
enrol-code = Code
enrol-code-hint = Acht Ziffern
enrol-name = Name dieses Geräts
enrol-name-hint = So, wie die Crew es nennt: Tablet Steuerstand, Handy Deck 1
enrol-kind = Wo wird es benutzt?
enrol-send = Zulassen
place-of-work-helm = Steuerstand
place-of-work-helm-note = Tablet des Schiffsführers
place-of-work-deck = Deck
place-of-work-deck-note = Handy eines Divemasters
place-of-work-desk = Büro
place-of-work-desk-note = Computer an Land
sign-in-title = Anmelden
sign-in-device = Dieses Gerät: { $device }
sign-in-name = Name
sign-in-pin = PIN
sign-in-pin-hint = Sechs Ziffern
sign-in-desk = PIN oder Passphrase
sign-in-desk-hint = Sechs Ziffern, oder Ihre Passphrase, wenn Sie eine haben
sign-in-send = Anmelden
sign-out = Abmelden
start-title = Fahrten
start-none = Noch keine Fahrt. Das Büro legt sie an.
start-desk = Im Büro planen
trip-closed = beendet
day-unknown = Tag unbekannt

dive-level = { DEPTH($depth) } { $minutes } min
dive-stop = { $minutes } min auf { STOP($depth) }

# Days, bearings, ranges.
day-in-words = { $day }. { $month } { $year }
month-1 = Januar
month-2 = Februar
month-3 = März
month-4 = April
month-5 = Mai
month-6 = Juni
month-7 = Juli
month-8 = August
month-9 = September
month-10 = Oktober
month-11 = November
month-12 = Dezember
degrees-true = { $degrees }° rw
degrees-unit = ° rw
bounds = von { $min } bis { $max }
language = Sprache

# Zeichen der Einheiten; siehe src/words/measured.rs.
measure-metres = m
measure-feet = ft
measure-nautical-miles = sm
measure-kilometres = km
measure-bar = bar
measure-psi = psi
measure-litres = l
measure-cubic-feet = cu ft @ 3000 psi
measure-litres-minute = l/min
measure-cubic-feet-minute = cu ft/min
