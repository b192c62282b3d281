# What is agreed before departure: the go/no-go list, the waiting list, groups
# as suggested, what changed after a print, forecasts.

go-title = Go/No-go-Liste
go-how = Antworten Sie auf das, was Sie selbst angesehen haben. Was niemand beantwortet hat, ist offen und gilt nie als Go.
go-desk-decides = Der Schiffsführer entscheidet am Steuerstand.
go-caution = Die Liste rät und hält fest. Sie ersetzt weder das Urteil des Schiffsführers noch die örtlichen Vorschriften.
go-send = Antworten eintragen
go-answer = Antwort
go-note-of = Anmerkung: { $what }
go-hints = Was das Programm sagen kann, keine Antwort:
go-go = Go
go-no-go = No-go
go-open = Nicht beantwortet
go-leave-open = Offen
go-decide = Entscheiden
go-decide-send = Entscheidung eintragen
go-decision = Entscheidung
go-reason = Warum?
go-reason-hint = Nötig für No-go, und für Go über etwas hinweg, das nicht auf Go steht.
go-not-at-go = nicht auf Go: { $what }
go-own = Eigene Zeilen der Basis
go-own-lines = Eine Bedingung je Zeile
go-own-hint = Sie stehen auf der Liste dieser Fahrt und der kommenden. Was beantwortet wurde, bleibt im Logbuch.
go-said = { $answer }: { $by }, { $at }
go-said-note = { $answer }: { $by }, { $at }. { $note }
go-verdict-not-begun = Go/No-go-Liste: noch nichts beantwortet.
go-verdict-open = Go/No-go-Liste: begonnen, nicht entschieden.
go-verdict-go = Go: { $by }, { $at }.
go-verdict-go-over = Go: { $by }, { $at }, über das hinweg, was nicht auf Go steht ({ $over }), weil: { $reason }
go-verdict-changed = { $by } hat um { $at } auf Go entschieden. Seitdem nicht Go: { $since }. Der Schiffsführer entscheidet neu.
go-verdict-no-go = No-go: { $by }, { $at }, weil: { $reason }

go-weather = Wetter, jetzt und nach Vorhersage
go-sea-state = Seegang am Kai und am Platz
go-stream = Strom und Stillwasser gegen das späteste Auftauchen
go-daylight = Tageslicht: Sonnenuntergang gegen das späteste Auftauchen
go-crew-complete = Besatzung vollständig
go-lookout-named = Ausguck benannt
go-oxygen-first-aid = Sauerstoff und Erste Hilfe an Bord und geprüft
go-radio = Funk geprüft
go-emergency-plan = Notfallplan zur Hand
go-recall-signal = Rückrufsignal vereinbart
go-list-ashore = Passagierliste an Land gelassen

go-hint-wind = Wind aus { $from }, { $speed } kn, gesehen von { $by } um { $at }
go-hint-sea = { $sea }, gesehen von { $by } um { $at }
go-hint-current = Gruppe { $letter }, Tauchgang { $dive }: spätestes Auftauchen { $at }, Wasser { $current }
go-hint-meets = Gruppe { $letter }, Tauchgang { $dive }: { $what }
go-hint-sunset = Sonnenuntergang an { $site }, Tauchgang { $dive }: { $sunset }, gerechnet
go-hint-sunset-before = Sonnenuntergang an { $site }, Tauchgang { $dive }: { $sunset }, gerechnet; spätestes Auftauchen nach Plan { $latest }
go-hint-sunset-after = Sonnenuntergang an { $site }, Tauchgang { $dive }: { $sunset }, gerechnet; spätestes Auftauchen nach Plan { $latest } liegt danach
go-hint-always-up = die Sonne geht nicht unter
go-hint-never-up = die Sonne geht nicht auf
go-hint-no-almanac = unbekannt
go-hint-no-entry = Tauchgang { $dive }: das späteste Auftauchen von { $letters } ist unbekannt, da keine Einstiegszeit geplant ist
go-hint-no-groups = Kein Tauchgang ist geplant: es gibt kein spätestes Auftauchen, gegen das es zu halten wäre
go-hint-crew = Besatzung auf der Teilnehmerliste: { $names }
go-hint-no-crew = Niemand auf der Teilnehmerliste ist Besatzung
go-hint-lookout = Ausguck nach dem Logbuch: { $name }
go-hint-no-lookout = Nach dem Logbuch ist niemand als Ausguck eingeteilt
go-hint-call-sign = Rufzeichen im Register: { $sign }
go-hint-plan = Der Notfallplan des Boots im Register hat { $n ->
    [one] 1 Schritt
   *[other] { $n } Schritte
}
go-hint-recall = Rückrufsignal im Register: { $signal }
go-hint-no-recall = Im Register steht für dieses Boot kein Rückrufsignal
go-hint-roster = { $n } auf der Teilnehmerliste; das Boot trägt { $capacity }, Besatzung eingeschlossen

fault-go-lines = Geben Sie höchstens { $most } Zeilen mit je höchstens { $longest } Zeichen an.
refused-no-go-why = Sagen Sie, warum No-go.
refused-go-over = { $n ->
    [one] 1 Bedingung steht
   *[other] { $n } Bedingungen stehen
} nicht auf Go: sagen Sie, warum das Boot trotzdem fährt.
refused-only-skipper-decides = Go oder No-go entscheidet der Schiffsführer.
refused-go-not-decided = Die Go/No-go-Liste ist begonnen und nicht entschieden.
refused-go-changed = Auf der Go/No-go-Liste steht etwas nicht auf Go, seit entschieden wurde.
refused-go-no-go = Die Entscheidung der Go/No-go-Liste ist No-go.

told-condition-answered = Bedingung beantwortet
told-trip-decided = Go/No-go entschieden

waiting-title = Warteliste
waiting-how = Die Warteliste nimmt auf, sobald das Boot voll ist.
waiting-wish = Wunsch dessen, der wartet
waiting-wish-hint = Bleibt bei der Warteliste: mit Mara, nur zweiter Tauchgang
waiting-add = Auf die Warteliste
waiting-counts-nowhere = Der Reihe nach. Niemand hier steht auf der Teilnehmerliste, und niemand hier wird gezählt.
waiting-left = { $n ->
    [0] Das Boot ist voll: es trägt { $capacity }, Besatzung eingeschlossen.
    [one] 1 Platz ist frei von { $capacity }, die das Boot trägt, Besatzung eingeschlossen.
   *[other] { $n } Plätze sind frei von { $capacity }, die das Boot trägt, Besatzung eingeschlossen.
}
waiting-since = seit { $at }, durch { $by }
waiting-up = Auf die Teilnehmerliste
waiting-off = Von der Liste nehmen
todo-waiting = Ein Platz ist frei, und zuerst auf der Warteliste steht { $name }
refused-not-waiting = Diese Person steht nicht mehr auf der Warteliste.
refused-waiting = { $name } steht schon auf der Warteliste.
refused-waiting-full = Die Warteliste nimmt { $most } Personen auf.
refused-place-free = { $n ->
    [one] 1 Platz ist frei: auf die Teilnehmerliste setzen.
   *[other] { $n } Plätze sind frei: auf die Teilnehmerliste setzen.
}
told-waiting-joined = Auf der Warteliste
told-waiting-left = Von der Warteliste

suggest-title = Gruppen vorschlagen
suggest-how = Aus Stufen, Grenzen und Wünschen: für alle, die oben angekreuzt sind, sonst für alle Taucher ohne Gruppe. Besatzung nur, wenn angekreuzt. Es ist ein Entwurf: ändern Sie ihn, wie Sie wollen. Nichts wird geschrieben, bevor Sie speichern.
suggest-ratio = Taucher je Gruppenleitung
suggest-divers = Taucher
suggest-ratio-hint = Üblich, ohne Quelle. Örtliche Vorschriften und die Regeln der Basis gehen vor.
suggest-depth = Geplante Tiefe
suggest-depth-hint = Wenn angegeben, wird genannt, wer dort nicht hin darf.
suggest-wish = { $name } wünscht zu tauchen mit
suggest-wish-none = Kein Wunsch
suggest-minor = Minderjährig
suggest-send = Gruppen vorschlagen
suggest-made = Vorgeschlagen, nicht gespeichert
suggest-caution = Ein Entwurf allein aus Stufen und Grenzen. Er weiß nichts von Erfahrung, Bedingungen oder Gesundheit. Jemand, der die Taucher kennt, sieht ihn an und speichert ihn.
suggest-left-out = In keiner Gruppe
suggest-wishes = Nicht erfüllte Wünsche
suggest-led = { $name } leitet, wer eine Leitung braucht
suggest-autonomous = Alle sind selbständig; die Grenzen liegen nebeneinander
suggest-wished = { $name } wünschte zu tauchen mit { $with }
suggest-minor-with = { $name }, minderjährig, taucht mit { $with }
suggest-weakest = Schwächste Grenze: { LIMIT($limit) }, { $name }
suggest-no-leader = { $name } braucht eine Leitung, und keine ist übrig
suggest-over = { $n } Taucher je Leitung: mehr, als eine Leitung hier nimmt
suggest-too-deep = { $name } darf bis { LIMIT($limit) }: weniger als die geplante Tiefe
suggest-no-limit = Von { $name } ist keine Tiefengrenze bekannt
suggest-minor-alone = { $name } ist minderjährig und hat keinen Erwachsenen im Zweier- oder Dreierteam
suggest-restricted = { $name } ist eingeschränkt: zuerst ansehen
suggest-alone = { $name }: niemand ist für ein Zweierteam übrig
suggest-wish-unmet = { $name } mit { $with }
fault-suggest-nobody = Es gibt niemanden, für den eine Gruppe vorzuschlagen wäre. Kreuzen Sie an, wer tauchen soll.

print-changes = Geändert seit dem letzten Druck
print-since = { $n ->
    [0] Gedruckt { $at }, vermerkt von { $by }. Seitdem ist nichts geändert.
    [one] Gedruckt { $at }, vermerkt von { $by }. Seitdem ist 1 Sache geändert:
   *[other] Gedruckt { $at }, vermerkt von { $by }. Seitdem sind { $n } Sachen geändert:
}
print-none = Noch kein Druck ist vermerkt.
print-first = Kein früherer Druck ist vermerkt.
print-note = Vermerken, dass diese Seite so gedruckt ist
print-changed = geändert seit dem letzten Druck
print-briefings = Briefingkarten

forecast-title = Notizen zu Wetter und Gezeiten
forecast-how = Was eine Vorhersage oder Gezeitentafel für diese Fahrt sagt, wie Sie es gelesen haben. Was auf See gesehen wird, wird unter Bedingungen eingetragen.
forecast-of = Über
forecast-weather = Wetter
forecast-sea = Seegang
forecast-tide = Gezeit und Strom
forecast-text = Was sie sagt
forecast-source = Woher, und von wann
forecast-source-hint = Hafenamt, ausgegeben 06:00
forecast-send = Notiz eintragen
forecast-none = Noch nichts ist notiert.
forecast-bare = { $of }: { $text }
forecast-from = { $of }: { $text } ({ $source })
told-sheet-printed = Gedruckt
told-forecast-noted = Vorhersage notiert
