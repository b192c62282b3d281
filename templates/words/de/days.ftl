# Words of days: the month, all boats of a day, a trip copied to another day.

way-month = Monat
month-title = { $month } { $year }
month-name = { $n ->
    [1] Januar
    [2] Februar
    [3] März
    [4] April
    [5] Mai
    [6] Juni
    [7] Juli
    [8] August
    [9] September
    [10] Oktober
    [11] November
   *[12] Dezember
}
month-before = Vorheriger Monat
month-after = Nächster Monat
month-caption = Fahrten nach Tagen
month-day-none = Keine Fahrt
month-booked = { $n } von { $capacity } Plätzen belegt
month-over = mehr als für das Boot zugelassen
month-out = { $n } draußen
month-today = heute
weekday-monday = Montag
weekday-tuesday = Dienstag
weekday-wednesday = Mittwoch
weekday-thursday = Donnerstag
weekday-friday = Freitag
weekday-saturday = Samstag
weekday-sunday = Sonntag

day-all-boats = Alle Boote des Tages
day-boats-none = Keine Fahrt an diesem Tag.
day-worst = Meldungen von { $boat }
day-no-alerts = Keine Meldung
day-before = Tag davor
day-after = Tag danach
day-not-renewed = Nichts vom Bordrechner. Was hier steht, ist von { $at }, { $zone }.
day-listen-only = Meldungen werden an Bord bestätigt.
day-drill = Übung

copy-title = Diese Fahrt auf einen anderen Tag kopieren
copy-dives = { $dives ->
    [one] 1 Tauchgang, an seinem Tauchplatz
   *[other] { $dives } Tauchgänge, jeder an seinem Tauchplatz
}
copy-people = { $crew } Crew; { $others } weitere in { $groups } Gruppen nur, wenn unten verlangt
copy-how = Tauchplätze, Tauglichkeit, Brevets und Grenzen kommen so, wie das Register sie jetzt hat, die Minuten der Überwachung und die Reserve nach dem Strengeren aus dieser Fahrt und der Vorgabe der Basis. Zeiten, Gezeiten des Tages, namentliche Freigaben, Tauchgänge vor der Fahrt und alles, was geschah, bleiben zurück.
copy-caution = Jede Gruppe neu prüfen, bevor sie ins Wasser geht: Personen, Gas, Drücke und Grenzen sind ein Plan von einem anderen Tag. Für den neuen wurde nichts gemessen.
copy-who = Personen
copy-with-people = Auch alle anderen, in ihren Gruppen mit deren Plänen. Ohne Personen wird keine Gruppe kopiert: Das Logbuch kennt keine, in der niemand ist.
copy-send = Kopie anlegen
