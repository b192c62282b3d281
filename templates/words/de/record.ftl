# The record of a trip: sign-off, alerts told afterwards, incidents, each diver's own dives.

# Sign-off
record-sign-off = Unterschriften
record-sealed = Gesiegelt: Divemaster und Schiffsführer haben beide unterschrieben, und das Logbuch ist das, was sie unterschrieben haben.
record-not-signed = Noch nicht unterschrieben.
record-half-signed = Eine von zwei Unterschriften ist da.
record-after-seal = Einmal gesiegelt, und nach dem Siegel kam etwas hinzu. Beide unterschreiben neu.
record-does-not-hold = Ein Siegel ist da und hält nicht. Verlassen Sie sich nicht auf diese Niederschrift: die Prüfung des Bordrechners laufen lassen, und diese Datei so behalten, wie sie ist.
record-missing = Es fehlt die Unterschrift: { $role ->
    [Skipper] Schiffsführer
    [Divemaster] Divemaster
   *[other] { $role }
}.
record-signature = { $role } { $by }: unterschrieben { $at }, über die Einträge 1 bis { $n }.
record-signature-past = { $role } { $by }: unterschrieben { $at }, über die Einträge 1 bis { $n }. Später kam etwas hinzu.
record-signature-broken = HÄLT NICHT: { $role } { $by }, unterschrieben { $at }, über die Einträge 1 bis { $n }. Das Logbuch ist nicht, was unterschrieben wurde.
record-seal = Gesiegelt von { $by } { $at }, über die Einträge 1 bis { $n }, Kette { $chain }.
record-seal-lacks = Kein Siegel: gesetzt von { $by } { $at }, über die Einträge 1 bis { $n }, ohne die Unterschriften, die es braucht.
record-seal-broken = HÄLT NICHT: gesiegelt von { $by } { $at }, über die Einträge 1 bis { $n }. Das Logbuch ist nicht, was gesiegelt wurde.
record-after = Nach dem Siegel
record-after-line = { $what }: Eintrag { $n } ({ $by }, { $at })
record-cannot = Kann noch nicht unterschrieben werden
record-sign-how = Sie unterschreiben mit Ihrem eigenen Namen und Ihrer Rolle, über das Logbuch, wie diese Seite es zeigt. Die zweite Unterschrift siegelt die Niederschrift. Was später kommt, bleibt erhalten und steht als nach dem Siegel da.
record-read = Ich habe diesen Bericht gelesen, und er sagt, was ich gesehen habe und weiß.
record-read-first = Den Bericht lesen, und angeben, dass Sie es getan haben.
record-sign-send = Unterschreiben als { $role ->
    [Skipper] Schiffsführer
    [Divemaster] Divemaster
   *[other] { $role }
}
record-seal-how = Beide haben unterschrieben, jeder ohne die Unterschrift des anderen auf der Seite. Siegeln, was sie unterschrieben haben.
record-seal-send = Niederschrift siegeln
record-chain = Kette des Siegels:
record-paper = Unterschrift { $role ->
    [Skipper] Schiffsführer
    [Divemaster] Divemaster
   *[other] { $role }
}:
record-print-pdf = Zum Aufbewahren als Datei: in PDF drucken.
record-csv = Dieser Bericht für eine Tabelle (CSV)
record-json = Dieser Bericht für Programme (JSON)

# Planned beside dived
record-bar-of = Restdruck, von Anfang
record-stop-done = gemacht
record-stop-missed = nicht gemacht
record-stop-of = { $dived }, { $planned } min geplant

# Alerts
record-alerts = Meldungen
record-alerts-none = Keine Meldung verlangte von jemandem ein Handeln.
record-alerts-summary = { $n ->
    [one] { $n } Meldung verlangte ein Handeln.
   *[other] { $n } Meldungen verlangten ein Handeln.
} Vorbei, bevor jemand bestätigte: { $unseen } von { $over } ({ $percent } %). Zeit bis zum Bestätigen: { $median } im Median, höchstens { $longest }.
record-alerts-caption = Meldungen, wie dieser Bordrechner sie gab, auch Vorsicht
record-alert = Meldung
record-priority = Dringlichkeit
record-since = Seit
record-answered = Bestätigt nach
record-answered-by = Von
record-until = Vorbei
record-emergency = Notfall
record-alarm = Alarm
record-warning = Warnung
record-caution = Vorsicht
record-holds-still = besteht noch
record-went-over = wurde zu einer anderen Meldung
record-ended-unseen = { $at }, unbestätigt
record-nobody = niemand hat bestätigt
record-seconds = { $s } s
record-minutes = { $m } min { $s } s
record-acts = Rückruf, Suche und Notfall
record-conditions = Bedingungen
record-conditions-none = Niemand hat notiert, wie die See war.
record-incidents-none = Keine notiert.
record-withheld = Anzeichen, Sauerstoff und Versorgung sind auf dieser einfachen Verbindung weggelassen. Den Bericht über die https-Adresse öffnen.

# An incident and its record
incident-new = Niederschrift eines Vorfalls
incident-caution = Schreiben Sie, was geschehen ist und was gesehen wurde, keine Meinung, wer schuld ist. Über jemandes Gesundheit nur, was den Behandelnden hilft. Erst Hilfe rufen, dann schreiben.
incident-text = Was geschehen ist
incident-sort = Vor allem
incident-choose = Wählen
incident-injury = jemand ist verletzt
incident-illness = jemandem ist unwohl
incident-after-dive = Anzeichen nach einem Tauchgang
incident-separation = jemand getrennt, verspätet oder vermisst
incident-equipment = Ausrüstung versagte
incident-boat = das Boot
incident-other = etwas anderes
incident-at = Wann es geschah
incident-time-hint = Etwa 14:05; leer, wenn jetzt oder gar nicht.
incident-where = Wo
incident-where-hint = Auf der Leiter, an der Muring, auf { DEPTH(18) } an der Wand
incident-place = Position
incident-persons = Wen betrifft es
incident-of-person = Zur Person
incident-depth = Maximaltiefe
incident-under = Zeit unter Wasser
incident-stops = Stopps ausgelassen
incident-not-known = unbekannt
incident-yes = ja
incident-no = nein
incident-oxygen = Sauerstoff ab
incident-signs = Was gesehen oder von der Person gesagt wurde
incident-signs-hint = Bleibt in diesem Bericht: Es steht in keiner Liste, auf keiner Logbuchseite und auf keinem Tauchgangsblatt.
incident-done = Was getan wurde
incident-called = Wer gerufen wurde
incident-called-hint = Womit, wann, und was sie sagten
incident-witnesses = Wer es gesehen hat
incident-outcome = Wie es ausging, wohin die Person kam
incident-send = Niederschrift eintragen

# Each diver's own dives
card-title = Eigene Tauchgänge
card-all = Tauchgangsblätter: die eigenen Tauchgänge jedes Tauchers
card-how = Ein Blatt für jeden Taucher, zum Drucken oder Weitergeben. Von anderen stehen dort nur die Namen der Gruppe.
card-with = Gruppe { $letter } mit { $names }
card-alone = Gruppe { $letter }
card-plan = Geplant:
card-what = Was
card-planned = Geplant
card-actual = Tatsächlich
card-in = Abgetaucht
card-up = Oben
card-minutes = Minuten
card-depth = Maximaltiefe, { SIGN("depth") }
card-bar = { UNITS() ->
    [imperial] Psi: Anfang, Rest
   *[metric] Bar: Anfang, Rest
}
card-stop = Stopp
card-stop-min = { $n } min
card-elsewhere = { $n ->
    [one] { $n } Vorfallnotiz nennt diesen Taucher mit anderen. Bei der Basis danach fragen.
   *[other] { $n } Vorfallnotizen nennen diesen Taucher mit anderen. Bei der Basis danach fragen.
}
