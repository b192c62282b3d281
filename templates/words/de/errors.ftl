# Words for what went wrong.

fault-inexact = Dieses Gerät kennt seinen Ort nur auf { LENGTH($metres) } genau, brauchbar sind höchstens { LENGTH($most) }. Auf eine bessere Position warten oder die Position eintippen.
fault-empty = Bitte ausfüllen.
fault-long = Höchstens { $longest } Zeichen.
fault-control = Zeichen weglassen, die sich nicht drucken lassen.
fault-number = Eine Zahl { $allowed } angeben.
fault-stamped = Angeben, was auf der Flasche steht, Kubikfuß und Arbeitsdruck in psi, wie 80 @ 3000: { $allowed }.
fault-units = Die Basis rechnet in anderen Einheiten als beim Erstellen dieser Seite. Neu laden und jede Zahl ansehen.
fault-whole = Eine ganze Zahl von 0 bis { $most } angeben.
fault-choose = Eines davon wählen.
fault-time = Eine Zeit angeben, etwa 14:05.
fault-degrees = Grad angeben, oder Grad und Minuten: 4 10.5 N.
fault-code = Dieser Code gilt nicht mehr oder galt nie. Einen neuen geben lassen.
fault-pin = Name oder PIN ist falsch. Noch einmal versuchen.
fault-passphrase = Name, PIN oder Passphrase ist falsch. Wer eine Passphrase hat, braucht sie hier. Noch einmal versuchen.
fault-pin-wait = Zu viele falsche PINs. Wieder ab { $until } versuchen.

problem-not-found = Nicht hier
problem-not-found-do = Unter dieser Adresse ist nichts. Zum Anfang gehen und neu wählen.
problem-no-such-trip = Keine solche Fahrt
problem-no-such-trip-do = Dieser Bordrechner hat keine Fahrt dieses Namens. Zum Anfang gehen und neu wählen.
problem-not-signed-in = Nicht angemeldet
problem-not-signed-in-do = Mit Name und PIN anmelden, dann noch einmal.
problem-forbidden = Steht Ihnen nicht zu
problem-forbidden-do = Ihre Rolle erlaubt das nicht. Den Schiffsführer fragen.
problem-not-yours = Nicht von Ihnen auf diesem Gerät
problem-not-yours-do = Ereignisse überträgt das Gerät und das Crewmitglied, von dem sie stammen. Nichts wurde gespeichert.
problem-foreign-origin = Von einer anderen Seite
problem-foreign-origin-do = Das kam von einer Seite, die nicht unsere ist. Die Seite hier öffnen und noch einmal senden.
problem-foreign-host = Andere Adresse
problem-foreign-host-do = Unter dieser Adresse ist dieser Bordrechner nicht zu erreichen. Die ausgegebene Adresse benutzen.
problem-faulty = Es gibt ein Problem
problem-faulty-do = Beheben, was unten steht, und noch einmal senden. Nichts wurde gespeichert.
problem-refused = Das geht jetzt nicht
problem-refused-do = Nichts wurde gespeichert. Unten steht, warum.
problem-clash = Gleiche Nummer, anderer Inhalt
problem-clash-do = Ein Eintrag mit dieser Kennung steht schon mit anderem Inhalt im Logbuch. Beide bleiben erhalten; als neuen Eintrag noch einmal eingeben.
problem-stale-page = Diese Seite ist zu alt
problem-stale-page-do = Die Seite neu laden und noch einmal eingeben. Nichts wurde gespeichert.
problem-closed-trip = Die Fahrt ist beendet
problem-closed-trip-do = Was aus der Kopie eines Geräts zu einer beendeten Fahrt kommt, übernimmt ein Schiffsführer. Einen bitten, sich anzumelden. Nichts wurde gespeichert.
problem-too-large = Zu viel auf einmal
problem-too-large-do = Weniger auf einmal senden. Nichts wurde gespeichert.
problem-sealed = Der Kontakt ist versiegelt
problem-sealed-do = Die Schlüsseldatei dieses Bordrechners fehlt oder ist nicht die richtige. Die Datei deckwatch.key wieder neben die Datenbank legen; nichts muss neu gestartet werden.
problem-not-saving = Speichert nicht
problem-not-saving-do = Dieser Bordrechner kann jetzt nicht speichern. Mit Auge und Papier weiterwachen und das Programm neu starten.
problem-storage-full = Der Speicher ist voll
problem-storage-full-do = Nichts wurde gespeichert. Platz auf diesem Bordrechner schaffen, dann noch einmal senden.
problem-internal = Ein Fehler bei uns
problem-internal-do = Nichts wurde gespeichert. Die Seite neu laden; kommt er wieder, das Programm neu starten.

refused-absurd = Eine Zahl von Personen angeben, die auf diesem Boot sein können.
refused-alone = { $name } ginge allein. Das Team zusammen schicken oder die Gruppe neu bilden.
refused-at-sea = Das Boot ist nicht zurück im Hafen. Das zuerst eintragen.
refused-before = Da kann es noch nicht geschehen sein. Eine Zeit nach { $from } angeben.
refused-closed = Diese Fahrt ist beendet. Was danach kam, kann der Schiffsführer als Notiz eintragen.
refused-count-failed = Zweimal ungleich gezählt. Alle beim Namen aufrufen, dann neu zählen.
refused-count-moved-on = Diese Zählung ist vorbei. Die Seite laden und in der laufenden zählen.
refused-count-old = Nach der Zählung hat sich jemand bewegt. Neu zählen.
refused-count-open = Eine Zählung läuft, Runde { $round }. Warten, bis beide Zählungen vorliegen.
refused-counted = Sie haben schon gezählt. Ein anderes Crewmitglied zählt, oder Sie zählen noch einmal nach Namen.
refused-seal-divemaster = Die Unterschrift des Divemasters fehlt.
refused-seal-skipper = Die Unterschrift des Schiffsführers fehlt.
refused-sealed = { $name } hat diese Niederschrift schon gesiegelt. Die Seite laden.
refused-signed = { $name } hat in dieser Rolle schon unterschrieben.
refused-sign-count = Bei der Zählung zur Rückkehr gibt es keine Übereinstimmung. Erst zählen.
refused-sign-emergency = Laut Logbuch ist der Notfall nicht vorbei. Erst beendet ihn der Schiffsführer.
refused-sign-gap = { $n ->
    [one] { $n } Eintrag eines Geräts ist nicht angekommen. Dieses Gerät zum Bordrechner bringen.
   *[other] { $n } Einträge eines Geräts sind nicht angekommen. Dieses Gerät zum Bordrechner bringen.
}
refused-sign-moved-on = Das Logbuch ist weitergegangen, seit diese Seite gezeigt wurde. Lesen, wie es jetzt ist, dann unterschreiben.
refused-sign-out = Verbleib offen: { $names }.
refused-sign-role = Nur der Divemaster und der Schiffsführer unterschreiben, jeder in seiner Rolle.
refused-sign-roll = Der Namensaufruf bei der Rückkehr fehlt, oder danach hat sich jemand bewegt. Erst aufrufen.
refused-sign-twice = Sie haben in der anderen Rolle unterschrieben. Die zweite Unterschrift gehört jemand anderem.
refused-sign-under-way = Das Boot ist nicht zurück im Hafen.
refused-sign-unread = { $n ->
    [one] { $n } Eintrag einer neueren Version ist hier nicht lesbar. Dieses Programm auf den neuen Stand bringen.
   *[other] { $n } Einträge einer neueren Version sind hier nicht lesbar. Dieses Programm auf den neuen Stand bringen.
}
refused-sign-unresolved = Ungeklärt, wo sie sind: { $names }. Erst klären, was die Einträge sagen.
refused-departed = Das Boot hat schon abgelegt.
refused-dive-begun = Eine Gruppe dieses Tauchgangs war schon im Wasser. Stattdessen den nächsten Tauchgang planen.
refused-dive-number = Tauchgänge sind der Reihe nach nummeriert: Der nächste ist { $next }.
refused-does-not-dive = { $name } ist auf dieser Fahrt nicht als Taucher dabei.
refused-empty = Bitte ausfüllen.
refused-engine = Erst Motor ausgekuppelt: angeben, dass Sie es gesehen haben.
refused-flag = Flagge A zeigen, nachts die Lichter, bevor jemand ins Wasser geht.
refused-full = Das Boot ist für { $capacity } Personen zugelassen, und alle Plätze sind belegt.
refused-future = Diese Zeit liegt in der Zukunft. Eine vergangene Zeit angeben.
refused-granted = Inzwischen wurden { $granted } min gegeben. Die Seite laden und neu ansehen.
refused-group-in-water = Diese Gruppe war im Wasser. An ihrem Plan ändert sich jetzt nichts.
refused-in-another-group = { $name } ist schon in Gruppe { $letter }. Erst dort herausnehmen.
refused-in-water-twice = Gruppe { $letter } ist schon abgetaucht.
refused-leader = Die Leitung muss zur Gruppe gehören.
refused-letter = Einen Buchstaben aus { $letters } wählen.
refused-letter-taken = Buchstabe { $letter } ist bei diesem Tauchgang vergeben. Einen anderen wählen.
refused-long = Höchstens 2000 Zeichen.
refused-lookout-needed = Leute sind im Wasser: stattdessen einen anderen Ausguck einteilen.
refused-more-gas = Das ist mehr als die { PRESSURE($start) } zu Beginn. Das Finimeter noch einmal ablesen.
refused-never-in = { $name } war bei diesem Tauchgang nicht im Wasser.
refused-no-alert = Diese Meldung gibt es nicht mehr. Die Seite laden.
refused-no-dive = Erst diesen Tauchgang planen.
refused-no-beacon = Dieser Notsender ist nicht zu hören oder schon verworfen. Die Seite laden.
refused-dismiss-beacon = Nur der Schiffsführer sagt, dass ein Notsender niemandem hier gehört.
refused-no-emergency = Kein Notfall ist ausgerufen.
refused-no-event = Dieser Eintrag steht nicht im Logbuch.
refused-no-depth-limit = Für { $name } ist keine Tiefengrenze bekannt: die des Brevets auf der Teilnehmerliste angeben, oder wer es verantwortet und warum.
refused-no-gas = Flasche und Anfangsdruck für { $name } angeben.
refused-below-reserve = { $name } beginnt mit { PRESSURE($bar) }, unter den { NEEDED($reserve) }, die zurückkommen müssen: eine andere Flasche geben.
refused-breaks-limit = { $name }: { $what }
refused-not-released = Der Plan überschreitet eine Grenze. Vom Büro ändern lassen, oder namentlich mit Grund freigeben.
refused-nothing-to-release = Der Plan überschreitet keine Grenze: Es gibt nichts freizugeben.
refused-no-group = Diese Gruppe ist nicht auf dieser Fahrt.
refused-no-lights = Es wird Nacht sein: eintragen, dass jeder Taucher eine Lampe hat.
refused-no-lookout = Erst einen Ausguck einteilen.
refused-no-offer = Ihnen ist jetzt keine Führung angeboten. Noch einmal darum bitten.
refused-no-roll = Alle beim Namen aufrufen.
refused-no-snorkeller = { $name } ist nicht als Schnorchler an Bord.
refused-no-step = Diesen Schritt gibt es im Notfallplan nicht.
refused-no-trip = Diese Fahrt ist nicht offen.
refused-nobody = Mindestens eine Person nennen.
refused-nobody-down = Niemand dieser Gruppe ist unter Wasser.
refused-nobody-out = Niemand ist im Wasser.
refused-not-aboard = { $name } ist nicht an Bord. Alle beim Namen aufrufen, oder eintragen, wo die Person ist.
refused-not-ashore = { $name } ist mitgekommen. Stattdessen eintragen, wo die Person ist.
refused-not-boarded = Weder an Bord noch als nicht dabei vermerkt: { $names }.
refused-not-called = Alle beim Namen aufrufen. Nicht aufgerufen: { $names }.
refused-not-checked = Erst die Prüfung vor dem Abtauchen machen.
refused-not-coming = { $name } ist auf dieser Fahrt nicht dabei.
refused-not-counted = Zwei aus der Crew zählen, jeder für sich.
refused-not-here = Das ist hier nicht an der Reihe. Nachsehen, wo das Boot ist.
refused-not-in-command = Nur wer die Führung hat, kann sie übergeben.
refused-not-in-group = { $name } ist nicht in dieser Gruppe. Erst die Gruppe neu bilden.
refused-not-in-water = Gruppe { $letter } ist nicht abgetaucht.
refused-not-on-a-site = Das Boot ist an keinem Tauchplatz.
refused-not-on-roster = Diese Person steht nicht auf der Teilnehmerliste.
refused-not-on-site = Das Boot ist nicht am Platz dieses Tauchgangs. Der Schiffsführer trägt erst „Am Platz“ ein.
refused-not-out = { $name } ist nicht draußen: nie im Wasser, oder schon zurück.
refused-not-under-way = Das Boot ist nicht unterwegs.
refused-not-up = { $name } ist nicht oben. Jemanden der Gruppe fragen, der oben ist.
refused-nothing-said = Mindestens eines eintragen, was Sie sehen.
refused-on-roster = { $name } steht schon auf der Teilnehmerliste.
refused-only-skipper = Nur der Schiffsführer kann eine Sperre mit Angabe eines Grundes übergehen.
refused-out = Verbleib offen: { $names }.
refused-over-capacity = { $aboard } sind an Bord, und das Boot ist für { $capacity } zugelassen.
refused-pairs-or-threes = Taucher gehen zu zweit oder zu dritt.
refused-restricted = { $name } ist eingeschränkt: das Büro fragen, oder angeben, wer es verantwortet und warum.
refused-roll-in-water = { $name } ist laut Logbuch im Wasser. Erst an Bord eintragen.
refused-roll-old = Nach dem Aufruf gekommen oder bewegt: { $names }. Neu aufrufen.
refused-same-name = Noch jemand namens { $name } steht auf der Teilnehmerliste. Sind beide gemeint, das angeben.
refused-seen-and-not-seen = { $name } ist als gesehen und als nicht gesehen angehakt. Eines wählen.
refused-set-and-drift = Richtung und Stärke der Strömung zusammen angeben.
refused-stood-down = Diese Gruppe taucht nicht.
refused-to-self = Sie haben die Führung schon.
refused-too-deep = { DEPTH($depth) } ist tiefer als { LIMIT($limit) }, die Grenze von { $name }. Flacher planen, oder angeben, wer es verantwortet und warum.
refused-trip-exists = Diese Fahrt ist schon offen.
refused-twice-in-group = Jemand ist zweimal in dieser Gruppe.
refused-twice-in-order = Etwas steht zweimal in der Folge.
refused-two-groups = Immer die Personen einer Gruppe auf einmal eintragen.
refused-undo = Rückgängig gilt nur für Ihren eigenen letzten Tipp, binnen einer Minute. Stattdessen den Eintrag mit Grund zurücknehmen.
refused-void-danger = Nur der Schiffsführer nimmt eine Angabe zurück, die Gefahr meldet.
refused-void-waits = Sie haben das schon zurückgenommen. Es gilt, sobald ein zweites Crewmitglied es auf einem anderen Gerät tut.
refused-end-emergency = Nur der Schiffsführer sagt, dass ein Notfall vorbei ist.
refused-voided = Dieser Eintrag zählt nicht mehr.
refused-wind-pair = Richtung und Stärke des Windes zusammen angeben.
refused-many-dives = Höchstens { $most } Tauchgänge angeben.
refused-two-at-once = Zwei Tauchgänge zur selben Zeit: bei jedem angeben, wann er endete.
refused-long-ago = Das ist mehr als einen Tag vor dem Tag dieser Fahrt. Weglassen, oder die Zeit berichtigen.
refused-short-of-depth = Zu kurz für den Weg hinab auf diese Tiefe.

# Notices of the box, on every screen. $state says which.
notice-storage = { $state ->
    [low] Der Speicher dieses Bordrechners ist fast voll: { $free } MB frei. Vor der nächsten Fahrt Platz schaffen.
    [reserve] Der Speicher dieses Bordrechners ist voll; seine letzten Megabytes sind in Gebrauch. Jetzt Platz schaffen.
    [full] Speichert nicht: Der Speicher dieses Bordrechners ist voll. Mit Auge und Papier wachen und Platz schaffen.
    [broken] Speichert nicht: { $why }. Mit Auge und Papier wachen. Alarme laufen aus dem Arbeitsspeicher weiter.
   *[stopped] Speichert nicht: Der Speicher hat versagt. Mit Auge und Papier wachen, bis das Programm neu gestartet ist.
}
notice-backup = Keine Sicherung möglich: { $why }. Was hier gespeichert ist, liegt allein auf diesem Bordrechner.
