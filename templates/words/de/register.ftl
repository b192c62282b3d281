## The register ashore: doubles, guardian's consent

person-born = Geburtsdatum
person-born-hint = Nur wenn Sie es brauchen: für Minderjährige, oder um Namensgleiche zu unterscheiden. Es bleibt im Register und steht nie im Logbuch einer Fahrt.

doubles-title = Mögliche Doppel
doubles-open = Mögliche Doppel
doubles-how = Diese Einträge sind vielleicht dieselbe Person. Von selbst wird nichts zusammengelegt: öffnen Sie ein Paar, sehen Sie hin, und entscheiden Sie.
doubles-none = Keine zwei Einträge sehen einander ähnlich.
doubles-caption = Paare, die einander ähnlich sehen, die wahrscheinlichsten zuerst
doubles-who = Einträge
doubles-why = Warum
doubles-more = Und { $n } weitere. Zuerst diese.
doubles-of = Ein anderer Eintrag von { $name }
double-name = Derselbe Name
double-order = Dieselben Namensteile in anderer Folge
double-born = Am selben Tag geboren, mit ähnlichem Namen
double-part = Ein Name ist Teil des anderen
double-slip = Namen, die sich um ein, zwei Buchstaben unterscheiden
double-born-apart = Verschiedene Geburtsdaten

merge-title = Eine Person, zwei Einträge?
merge-which = Der Eintrag von { $this } bleibt. Der von { $other } geht, und seine Nummer führt von da an hierher.
merge-turn = Stattdessen den anderen Eintrag behalten
merge-held = Jemand davon ist auf { $trip }, und die ist nicht vorbei. Nehmen Sie die Person von der Teilnehmerliste, oder legen Sie zusammen, wenn die Fahrt beendet ist.
merge-together = Beide standen auf der Teilnehmerliste von { $trips }. Das spricht für zwei Personen, es sei denn, eine wurde dort zweimal eingetragen.
merge-agreed = In beiden gleich
merge-trips = Fahrten, deren Logbuch sie nennt
merge-trip = Fahrt
merge-on-it = Genannt
merge-of-this = Der Eintrag, der bleibt
merge-of-other = Der Eintrag, der geht
merge-choose = Was gelten soll
merge-choose-how = Wählen Sie, wo sie sich unterscheiden. Ist eine Stufe, eine Tiefengrenze oder die Tauchtauglichkeit zweifelhaft, nehmen Sie das Strengere und lassen Sie sich die Karte zeigen.
merge-contact-this = Der des Eintrags, der bleibt
merge-contact-other = Der des Eintrags, der geht
merge-contact-neither = Keiner: er wird gelöscht
merge-what = Atemminutenvolumen, Einwilligungen und Tauchgänge anderer Fahrten zählen für den Eintrag, der bleibt. Kein Logbuch ändert sich: alte Fahrten zeigen den Namen, den sie hatten.
merge-sure = Das ist eine Person. Es lässt sich nicht rückgängig machen.
merge-send = Zusammenlegen
merge-two-title = Zwei Personen
merge-two-how = Sie werden nicht mehr als mögliches Doppel gezeigt.
merge-two = Das sind zwei Personen
merge-other = Mit einem anderen Eintrag zusammenlegen
merged-title = In diesen Eintrag zusammengelegt
merged-told = { $name }, durch { $who }, { $at }
fault-born = Geben Sie das Geburtsdatum als Jahr, Monat und Tag an, nicht nach heute.
fault-merge-sure = Kreuzen Sie an, dass das eine Person ist.
fault-merged-meanwhile = Eine Fahrt oder einer der Einträge hat sich inzwischen geändert. Sehen Sie noch einmal hin und senden Sie es noch einmal.

minors-title = Minderjährige
minors-open = Minderjährige und Einwilligung
minors-law = Wer ab welchem Alter tauchen darf und wer zustimmen muss, sagen das örtliche Recht und der Ausbildungsverband. Sie gehen vor.
minors-none = Niemand im Register ist unter diesem Alter, soweit ein Geburtsdatum bekannt ist.
minors-caption = Minderjährige im Register
minors-age = Alter
minors-consents = Gültige Einwilligungen
minors-not-known = { $n ->
    [0] Alle im Register haben ein Geburtsdatum.
    [one] Eine Person im Register hat kein Geburtsdatum: ob sie minderjährig ist, ist unbekannt.
   *[other] { $n } Personen im Register haben kein Geburtsdatum: ob sie minderjährig sind, ist unbekannt.
}
minors-under-title = Wer als minderjährig gilt
minors-under = Alle unter
minors-years = Jahren
fault-minors-none = Geben Sie mindestens ein Jahr an. Ein Geburtsdatum, das fehlt, verlangt nichts.

consent-title = Einwilligung des Sorgeberechtigten
consent-how = Schreiben Sie auf, was auf dem Papier steht. Das Papier selbst bleibt, wo die Basis es aufbewahrt.
consent-minor = heute { $age } Jahre alt: minderjährig
consent-of-age = heute { $age } Jahre alt
consent-none = Keine Einwilligung ist eingetragen.
consent-guardian = Name des Sorgeberechtigten
consent-given = Datum auf dem Papier
consent-for = Gilt für
consent-until-day = Bis zu einem Tag
consent-until = Bis zu welchem Tag
consent-until-hint = Nur wenn sie nicht für eine Fahrt gilt
consent-seen-by = Wer das Papier gesehen hat
consent-add = Einwilligung eintragen
consent-withdraw = Zurückziehen
consent-told-trip = { $guardian }, { $on }, für { $reaches }. Papier gesehen von { $seen }.
consent-told-until = { $guardian }, { $on }, bis { $reaches }. Papier gesehen von { $seen }.
fault-consent-given = Geben Sie das Datum auf dem Papier als Jahr, Monat und Tag an, nicht nach heute.
fault-consent-until = Geben Sie einen Tag ab heute an, höchstens 20 Jahre voraus.
fault-consent-reach = Wählen Sie eine Fahrt, oder geben Sie den letzten Tag an, an dem sie gilt: eines von beiden.

minor-consented = { $age } Jahre alt. Einwilligung von { $guardian }.
minor-overridden = { $age } Jahre alt. Ohne Einwilligung, durch { $who }: { $why }
minor-lacking = { $age } Jahre alt. Keine Einwilligung für diesen Tag.
minors-on-trip = Minderjährige auf dieser Fahrt
minors-over-https = Ein Minderjähriger ist auf dieser Fahrt. Wie es um die Einwilligung steht, wird nur über https gezeigt.
minors-trip-not-known = { $n ->
    [one] Eine Person auf der Teilnehmerliste hat im Register kein Geburtsdatum: ob sie minderjährig ist, ist unbekannt.
   *[other] { $n } Personen auf der Teilnehmerliste haben im Register kein Geburtsdatum: ob sie minderjährig sind, ist unbekannt.
}
todo-consent = { $name }: { $what }
consent-write = Einwilligung eintragen
consent-without = Ohne Einwilligung mitnehmen: warum?
consent-without-hint = Ihr Name, die Zeit und der Grund bleiben bei dieser Fahrt. Das örtliche Recht kann es verbieten.
consent-without-send = Ohne Einwilligung mitnehmen
data-goes-consent = Einwilligungen von Sorgeberechtigten und Entscheidungen, ohne sie zu fahren

## What a boat has aboard, and whom to call from her

equipment-title = Ausrüstung
equipment-open = Ausrüstung und ihre Prüfungen
equipment-code = Die örtlichen Vorschriften sagen, was ein Boot mitführen und wie oft es geprüft werden muss. Sie gehen vor.
equipment-none = Für dieses Boot steht nichts auf der Liste.
equipment-caption = Was an Bord ist, und wann es angesehen wurde
equipment-name = Was
equipment-count = Wie viele
equipment-place = Platz an Bord
equipment-checked = Zuletzt angesehen
equipment-never = Nie
equipment-due = Nächste Prüfung bis
equipment-check = Heute angesehen
equipment-next = Nächste Prüfung bis
equipment-check-send = Angesehen
equipment-remove = Von der Liste nehmen
equipment-overdue-tag = Prüfung fällig
equipment-add-title = Etwas auf die Liste setzen
equipment-add = Hinzufügen
equipment-usual-title = Was Boote mit Tauchern meist haben
equipment-usual-how = Üblich, keine Vorschrift: Sauerstoffkoffer, Verbandkasten, Funk, Flagge A, Driftmarke, Wurfleine, Lichter, Reserveflasche an einer Leine, Leiter oder Lift. Jedes gilt als nicht angesehen, bis jemand es getan hat.
equipment-usual = Hinzufügen, was davon fehlt
usual-oxygen = Sauerstoffkoffer
usual-first-aid = Verbandkasten
usual-radio = Funk
usual-flag = Flagge A
usual-marker = Driftmarke
usual-throw-line = Wurfleine
usual-lights = Lichter
usual-spare-gas = Reserveflasche an einer Leine
usual-boarding = Leiter oder Lift
equipment-overdue = { $name }: die Prüfung war fällig bis { $due }
equipment-unchecked = { $name }: niemand hat eingetragen, dass es angesehen wurde
equipment-trip-none = Für dieses Boot ist keine Ausrüstung eingetragen: ob sie angesehen wurde, ist unbekannt.
equipment-of-boats = Fällige Prüfungen
fault-equipment-count = Geben Sie mindestens 1 an.
fault-equipment-many = Höchstens { $most } Dinge passen auf die Liste eines Boots.
fault-equipment-due = Geben Sie den Tag der nächsten Prüfung an, ab heute, höchstens 20 Jahre voraus.

help-title = Wen rufen, wohin
help-open = Wen rufen, wohin
help-caution = Rufen Sie jede Nummer einmal an, bevor Sie sich darauf verlassen. Kammern schließen und wechseln: fragen Sie Ihre, und lassen Sie den Rettungsdienst entscheiden, wohin ein Verletzter kommt.
help-channel = Funkkanal für Hilfe
help-channel-hint = Wie er dort gehört wird, wo dieses Boot fährt
help-numbers = Nummern an Land
help-numbers-hint = Eine je Zeile: wer, und die Nummer
help-chamber = Nächste Druckkammer
help-chamber-hint = Name, Nummer, Zeiten, und wer vorher zu fragen ist
help-evacuation = Wo ein Verletzter übergeben wird
help-evacuation-hint = Kai, Anlegestelle, Position; wer Sie dort erwartet
help-save = Speichern, als heute durchgesehen
help-told-title = Durchgesehen
help-told = Durchgesehen am { $on } von { $by }
help-none = Niemand hat aufgeschrieben, wen man ruft. Tun Sie das, bevor das Boot ablegt.

level-introductory = Schnuppertauchgang (ISO 11121)
level-supervised = Beaufsichtigter Taucher (ISO 24801-1)
level-autonomous = Selbständiger Taucher (ISO 24801-2)
level-leader = Tauchgruppenleiter (ISO 24801-3)
level-instructor-1 = Tauchlehrer Stufe 1 (ISO 24802-1)
level-instructor-2 = Tauchlehrer Stufe 2 (ISO 24802-2)
