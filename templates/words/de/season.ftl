# Words of the season: what many trips say together.

way-season = Saison
season-title = Saison
season-from = Erster Tag
season-to = Letzter Tag
season-site = Tauchplatz
season-every-site = Alle Tauchplätze
season-show = Diese Tage zeigen
season-fault-day = Einen Tag angeben, wie 2026-05-04.
season-fault-order = Einen letzten Tag angeben, der nicht vor dem ersten liegt.
season-fault-long = Höchstens { $most } Tage angeben.
season-too-many = An diesen Tagen sind { $n } Fahrten; höchstens { $most } werden auf einmal gelesen. Weniger Tage angeben.
season-read = Gelesen: { $trips ->
    [one] 1 Fahrt
   *[other] { $trips } Fahrten
}, { $dives ->
    [one] 1 Gruppentauchgang
   *[other] { $dives } Gruppentauchgänge
}. Übungen sind weggelassen, ebenso Fahrten, auf denen eine Zählung läuft. Eine laufende Fahrt zählt, soweit sie eingetragen ist.
season-only-aboard = Aus Tauchzeiten und Verspätung weggelassen: { $n }, bei denen nur das An-Bord-Kommen eingetragen wurde. Diese waren vorher oben; niemand hat geschrieben, wann.
season-not-known = Aus Tauchzeiten und Verspätung weggelassen: { $n }, bei denen jemandes Auftauchen nicht im Logbuch steht, zweifelhaft ist oder noch aussteht.
season-caution = Zum Ansehen und zum Besprechen. Tauchgänge, die schlecht ausgingen, sind selten, und wenige Tauchgänge sagen wenig: Die Zahlen zeigen nicht, was noch nicht geschehen ist.
season-rules = Mediane und Quartile stehen ab { $middle } Zahlen, die 5-%- und 95-%-Quantile ab { $tails }; bei weniger steht jede Zahl für sich. Quantile sind Typ 7 nach Hyndman und Fan (1996). Die Mindestzahlen und die Bänder der Strömung hat dieses Programm selbst gewählt, ohne Quelle.
season-print-how = Zum Drucken dieser Seite den Druckbefehl des Browsers benutzen.
season-printed = gedruckt { $at }
season-file-dives = Tauchgänge der Gruppen, als Tabelle (CSV)
season-file-gas = Gas zurück auf dem Boot, als Tabelle (CSV)
season-file-alarms = Alarme, als Tabelle (CSV)
season-nothing = nichts an diesen Tagen.
season-too-few = zu wenige
season-each-dive = Jeder Tauchgang
season-last-drawn = Die letzten { $n } von { $all } sind gezeichnet; die Tabellen sind von allen.

season-of-what = Was
season-n = n
season-least = Kleinster
season-q05 = 5 %
season-q25 = 25 %
season-median = Median
season-q75 = 75 %
season-q95 = 95 %
season-most = Größter
season-day = Tag
season-boat = Boot
season-group = Gruppe
season-planned = Geplant, min
season-dived = Tatsächlich, min
season-after-latest = Nach spätestens, min
season-current = Strömung, kn
season-word-aboard = nur an Bord
season-word-unknown = unbekannt
season-no-site = Kein Tauchplatz im Logbuch
season-strip = { $name }, n = { $n }
season-strip-few = { $name }, n = { $n }: zu wenige für eine Aussage

season-run-title = Tauchzeiten, geplant und tatsächlich
season-run-how = Vom Abtauchen bis zum Letzten der Gruppe an der Oberfläche, gegen die Tauchzeit, die ihr Zeitfenster erwartete, mit gegebener Zusatzzeit. Eine Marke über der Linie kam später hoch als geplant.
season-run-desc = Eine Marke für jeden von { $n } Gruppentauchgängen: geplante Tauchzeit unten entlang, tatsächliche seitlich hinauf. Die Tabelle hat die Zahlen.
season-run-along = geplant, Minuten
season-run-up = tatsächlich, Minuten
season-run-equal = auf der Linie: wie geplant
season-run-after = Tatsächlich minus geplant, min
season-run-caption = Wie weit tatsächliche Tauchzeiten vom Plan abweichen, Minuten
season-dives-all = Jeder Tauchgang ({ $n })
season-dives-last = Die letzten { $n } von { $all } Tauchgängen; die Datei hat alle

season-late-title = Verspätung
season-late-how = Minuten von der spätesten Zeit des Zeitfensters bis zum Letzten der Gruppe an der Oberfläche: links der Linie rechtzeitig, rechts davon verspätet. Der Kasten enthält die mittlere Hälfte, der dicke Strich darin ist der Median.
season-current-how = Strömung beim Abtauchen: in der Stunde davor beobachtet, oder nach der Strömungstabelle des Tauchplatzes.
season-late-site = Verspätung nach Tauchplatz, Minuten
season-late-current = Verspätung nach Strömung beim Abtauchen, Minuten
season-late-desc = Ein Strich für jeden Gruppentauchgang, entlang der Minuten nach der spätesten Zeit. Die Tabelle hat die Zahlen.
season-late-along = Minuten nach der spätesten Zeit
season-late-zero = spätestens
season-current-to = unter { $to } kn
season-current-of = { $from } bis unter { $to } kn
season-current-from = { $from } kn und mehr
season-current-unknown = Strömung unbekannt

season-alarms-title = Alarme
season-alarms-how = Was Ton gab: Warnungen, Alarme und Notfälle, jede Ursache einmal, von verspätet, überfällig und Gas zu Ende die schwerste, die erreicht wurde. Ist ein Tauchplatz gewählt, alle Alarme der Fahrten, die dort tauchten. Außer Fristen, für die eine Angabe zu spät kam, zählt nicht, was eine spätere Angabe zurücknahm.
season-alarms-caption = Alarme nach Fahrt, letzter Tag zuerst
season-trip = Fahrt
season-hours = Stunden unterwegs
season-an-hour = Alarme je Stunde
season-alarms = Alarme
season-unanswered = Vorbei, bevor jemand bestätigte
season-to-acknowledge = Median bis zum Bestätigen, min
season-acknowledged = Bestätigt
season-late-word = Nur durch eine späte Angabe
season-all-trips = Alle Fahrten
season-hours-unknown = unbekannt
season-none-over = keiner vorbei
season-none-acknowledged = keiner
season-share-of = { $pct } % ({ $n } von { $of })
season-hour = Stunde unterwegs
season-hourly-title = Alarme je Stunde, nach Stunde unterwegs
season-hourly-desc = Eine Säule für jede Stunde nach dem Ablegen, von { $n } Fahrten. Die Tabelle hat die Zahlen.
season-hourly-along = Stunde nach dem Ablegen
season-hourly-up = Alarme je Stunde
season-hourly-caption = Alarme nach Stunde unterwegs, von { $n } Fahrten, deren Abfahrt und Rückkehr eingetragen sind

season-gas-title = Gas zurück auf dem Boot
season-gas-how = { UNITS() ->
    [imperial] Psi, die jeder Taucher zurückbrachte, gegen die Reserve, mit der die Fahrt plante.
   *[metric] Bar, die jeder Taucher zurückbrachte, gegen die Reserve, mit der die Fahrt plante.
}
season-gas-below = Unter der Reserve: { $below } Tauchgänge von { $n }, deren Restdruck aufgeschrieben ist. Nicht aufgeschrieben: { $missing } Tauchgänge; niemand weiß, was diese zurückbrachten.
season-gas-back = { UNITS() ->
    [imperial] Psi zurück auf dem Boot
   *[metric] Bar zurück auf dem Boot
}
season-gas-caption = { UNITS() ->
    [imperial] Psi zurück auf dem Boot
   *[metric] Bar zurück auf dem Boot
}
season-gas-site = { UNITS() ->
    [imperial] Psi über der Reserve, nach Tauchplatz
   *[metric] Bar über der Reserve, nach Tauchplatz
}
season-gas-desc = Ein Strich für jeden Tauchgang eines Tauchers, entlang der { SIGN("pressure") } über der Reserve. Die Tabelle hat die Zahlen.
season-gas-along = { SIGN("pressure") } über der Reserve
season-gas-zero = Reserve

season-windows-title = Die Minuten der Überwachung neben diesen Tauchgängen
season-rests-on-centre = Die geltenden Zahlen hat die Basis festgelegt. Es ist eine Annahme, keine Beobachtung, und jede Fahrt behält die, mit denen sie angelegt wurde.
season-rests-on-program = Die geltenden Zahlen sind die, mit denen dieses Programm beginnt, da die Basis keine festgelegt hat. Es ist eine Annahme ohne Quelle, keine Beobachtung, und jede Fahrt behält die, mit denen sie angelegt wurde.
season-windows-how = Daneben steht, was die Tauchgänge dieser Tage ergäben: das 5-%-Quantil von tatsächlicher zu geplanter Tauchzeit und das 95-%-Quantil der Minuten nach der geplanten Tauchzeit. Tauchgänge mit Zusatzzeit sind weggelassen. Von hier wird nichts übernommen.
season-windows-caption = Frühestens und spätestens, wie sie gelten und wie die Tauchgänge sie ergäben
season-figure = Zahl
season-counts = Gilt jetzt
season-would-give = Ergäben diese Tauchgänge
season-dives-n = Tauchgänge dahinter
season-earliest-day = Frühestens, bei Tag
season-earliest-night = Frühestens, bei Nacht
season-latest-day = Verspätet, bei Tag
season-latest-night = Verspätet, bei Nacht
season-of-run-time = { $n } der Tauchzeit
season-after = { $n } min nach der erwarteten Zeit
season-windows-caution = Eine späteste Zeit, die weiter hinten liegt, heißt, dass eine vermisste Gruppe später gesucht wird. Ein Quantil von Tauchgängen, die gut endeten, ist kein Grund dafür.
