# Contacts and who opened them, the audit, how long what is kept, and one person's data.

way-audit = Protokoll
way-retention = Aufbewahrung

contact-given = Kontakt angegeben
contact-key-term = Schlüsseldatei
contact-cannot-open = { $state ->
    [missing] Die Schlüsseldatei dieses Bordrechners fehlt: Versiegelte Kontakte lassen sich nicht öffnen. Die Datei deckwatch.key wieder neben die Datenbank legen; sie wird getrennt von den Sicherungen verwahrt. Nichts muss neu gestartet werden.
    [other] Die Schlüsseldatei ist nicht die, mit der diese Kontakte versiegelt wurden. Die richtige Datei deckwatch.key wieder neben die Datenbank legen; nichts muss neu gestartet werden.
    [no-key] Die Datei deckwatch.key neben der Datenbank ist keine Schlüsseldatei. Die richtige wieder hinlegen; nichts muss neu gestartet werden.
    [unreadable] Die Schlüsseldatei ist nicht lesbar. Die Datei deckwatch.key neben der Datenbank muss dem Programm des Bordrechners gehören.
    [damaged] Dieser Kontakt ist beschädigt und lässt sich nicht öffnen. Die Person fragen, oder auf dem Papierbogen nachsehen.
   *[store] Die Kontakte sind jetzt nicht lesbar. Die Papierbögen benutzen.
}
notice-contacts-key = { $state ->
    [missing] Die Schlüsseldatei fehlt: Notfallkontakte lassen sich nicht öffnen. Die Datei deckwatch.key wieder neben die Datenbank legen.
    [other] Die Schlüsseldatei ist nicht die, mit der die Notfallkontakte versiegelt wurden: die richtige Datei deckwatch.key wieder hinlegen.
   *[no-key] Die Schlüsseldatei ist nicht brauchbar: Notfallkontakte lassen sich nicht öffnen. Nach der Datei deckwatch.key neben der Datenbank sehen.
}

reason-title = Warum wird geöffnet?
reason-hint = Ihr Name, dieses Gerät und der Grund kommen ins Protokoll.
reason-missing = Person vermisst
reason-hurt = Verletzt oder erkrankt
reason-rescue = Rettungsdienst fragt
reason-late = Boot ist verspätet
reason-asked = Die Person bittet darum
reason-other = Anderer Grund, oder mehr Worte
fault-reason = Sagen, warum: einen Grund wählen oder eintippen.

helm-contacts-why = Warum?
helm-contacts-tap = Ein Tipp öffnet die Kontakte von: { $names }
helm-contacts-nobody = Niemand ist vermisst, verspätet oder in Not. Unten anhaken, wessen Kontakte, dann sagen, warum.

audit-how = Wer was getan hat, wann und auf welchem Gerät. Keine Seite ändert diese Zeilen.
audit-of = Nur zu { $name }.
audit-everybody = Alle zeigen
audit-kind = Worüber
audit-kind-any = Alles
audit-kind-contact-opened = Kontakt geöffnet
audit-kind-exported = Daten herausgegeben
audit-kind-erased = Person gelöscht
audit-kind-retention = Aufbewahrung
audit-kind-refused = Abgelehnt
audit-kind-sign-in = An- und Abmelden
audit-kind-account = Konten
audit-kind-device = Geräte
audit-kind-merged = Einträge zusammengelegt
audit-kind-consent = Einwilligung des Sorgeberechtigten
audit-kind-box = Der Bordrechner
audit-day = Tag
audit-show = Zeigen
audit-caption = Zeilen des Protokolls, neueste zuerst
audit-at = Wann
audit-who = Wer, und Gerät
audit-person = Person
audit-what = Was
audit-the-box = Der Bordrechner
audit-none = Dazu gibt es keine Zeile.
audit-older = Frühere Zeilen
audit-file = Diese Zeilen als Datei
fault-audit-day = Einen Tag angeben wie 2026-05-04.
fault-audit-much = Mehr Zeilen, als eine Datei fasst: einen Tag wählen.

retention-how = Der Bordrechner prüft einmal am Tag, was er von Personen aufbewahrt. Was gelöscht wird, steht zuerst hier. Wer auf einer Fahrt ist, die noch läuft, oder zu wem etwas offen ist, behält alles.
retention-clock = Die Zeit des Bordrechners ist nicht bestätigt: Bis dahin wird nichts gelöscht.
retention-going = Was gelöscht wird
retention-looked = Aufgelistet { $at }.
retention-not-looked = Der Bordrechner hat noch nicht geprüft; das tut er binnen Minuten nach seinem Start.
retention-nothing = Nichts Aufbewahrtes läuft binnen 30 Tagen ab.
retention-going-caption = Löscht der Bordrechner selbst, nach der Regel unten
retention-what = Was
retention-over = Abgelaufen
retention-not-before = Gelöscht nicht vor
retention-unchecked-entry = Erst wenn die Regel geprüft ist
item-contact = Notfallkontakt
item-fitness = Tauglichkeit: wird neu gefragt
item-entry = Ganzer Eintrag im Register
retention-asking = Fahrten, zu denen etwas offen ist
retention-asking-how = Ein Vorfall, ein Notfall, ein geöffneter Kontakt, etwas Übergangenes oder fehlende Einträge. Alle auf diesen Fahrten behalten alles, bis jemand sagt, dass nichts mehr offen ist.
retention-settle-why = Warum ist nichts mehr offen?
retention-settle = Nichts ist offen
retention-staying = Bleibt, was auch die Regel sagt
held-not-over = Auf einer Fahrt, die noch läuft: { $trip }
held-asks = Zu einer Fahrt ist etwas offen: { $trip }
held-unread = Ein Logbuch ist nicht lesbar, also weiß niemand, wer dabei war: { $trip }
retention-rule = Die Regel
retention-check = Prüfen Sie Ihre örtlichen Vorschriften: Diese Zahlen sind übliche Praxis und kein Gesetz. Bis jemand sie geprüft hat, bleiben Namen; Kontakte und Tauglichkeit gehen trotzdem nach ihnen.
retention-confirmed = Anhand der örtlichen Vorschriften geprüft von { $by }, { $day }.
retention-named = Gesetz oder Vorschrift dazu
retention-named-hint = So, wie die Basis es nennt; steht im Protokoll neben jeder Löschung
retention-contact = Kontakte bleiben
retention-fitness = Tauglichkeit bleibt
retention-fitness-hint = Danach steht dort Eingeschränkt, damit das Büro neu fragt
retention-entry = Namen und Brevets bleiben
retention-entry-hint = Der ganze Eintrag im Register, mit allem darin
retention-records = Logbücher müssen bleiben
retention-records-hint = Die Tauchnachweise. Der Bordrechner löscht kein Logbuch
retention-notice = Auf der Liste, bevor gelöscht wird
unit-days = Tage
unit-years = Jahre
retention-checked = Ich habe diese Regel anhand der örtlichen Vorschriften geprüft
retention-save = Regel festlegen
retention-past = Logbücher über ihre Jahre hinaus
retention-past-how = Die Regel verlangt die Logbücher dieser Fahrten nicht mehr. Der Bordrechner kann kein Logbuch herausnehmen: Die Jahre anderer Fahrten stehen in derselben Datei.
fault-notice = Mindestens 1 Tag, damit jemand die Liste lesen kann.
fault-entry-first = Der Eintrag nimmt Kontakt und Tauglichkeit mit: ihm mindestens so viele Tage geben.
fault-rule-named = Das Gesetz oder die Vorschrift nennen, die Sie geprüft haben.
fault-trip-not-over = Diese Fahrt läuft noch.

data-title = Daten dieser Person
data-open = Herausgeben oder löschen
data-audit = Wer was zu dieser Person geöffnet hat
data-export = Herausgeben
data-export-how = Alles, was der Bordrechner von dieser Person aufbewahrt, auch der Kontakt, als eine JSON-Datei. Was ein Logbuch von mehreren zugleich sagt, wird nur genannt.
data-asked-by = Wer hat gebeten, und woher wissen Sie, dass es diese Person ist?
data-export-send = Als Datei herausgeben
data-erase = Löschen
data-goes = Das geht
data-goes-entry = Der Eintrag im Register: Name, Brevet, Tiefengrenze, letzter Tauchgang, Tauglichkeit
data-goes-rates = Atemminutenvolumen, aus Tauchgängen gelernt
data-goes-contact = Der Notfallkontakt und der Schlüssel, mit dem er versiegelt ist
data-stays = Das bleibt
data-stays-how = Die Logbücher der Fahrten sind Tauchnachweise, die aufbewahrt werden müssen und nicht geändert werden können: Der Name bleibt in jedem von diesen. Das Protokoll behält seine Zeilen, mit einer Nummer anstelle des Namens. Sicherungen enthalten das Gelöschte, bis die letzte von vorher entfernt ist.
data-no-trip = Kein Logbuch nennt diese Person.
data-stays-until = Der Name bleibt im Logbuch, mindestens bis { $day }
data-erase-sure = Diese Person löschen. Das lässt sich nicht rückgängig machen.
data-erase-send = Löschen
fault-logged-meanwhile = In diesem Augenblick hat jemand etwas eingetragen. Neu ansehen und noch einmal senden.
fault-erase-sure = Anhaken, dass diese Person gelöscht werden soll.

# The first start.
set-up-title = Diesen Bordrechner einrichten
set-up-how = Eine Seite, einmal: die Basis, ihr erstes Boot, und wer dafür einsteht. Alles lässt sich später ändern.
set-up-code = Code
set-up-code-hint = Acht Ziffern; sie stehen dort, wo das Programm gestartet wurde
set-up-centre = Die Basis
set-up-centre-name = Name der Basis
set-up-place = Hafen
set-up-place-hint = Wo Ihre Fahrten beginnen, wie neue Fahrten ihn nennen
set-up-zone = Zeitzone
set-up-zone-hint = Die Ihrer Uhren an Land
set-up-jurisdiction = Land, dessen Recht für Sie gilt
set-up-jurisdiction-hint = Daraus folgt, wie lange Sie aufbewahren müssen: prüfen Sie die Tage unter „Aufbewahrt und gelöscht“ an diesem Recht
set-up-boat = Das erste Boot
set-up-plan = Erster Schritt seines Notfallplans
set-up-plan-hint = Was die Besatzung zuerst tut, wenn jemand vermisst wird. Schreiben Sie den ganzen Plan auf die Seite des Boots, bevor Sie ablegen
set-up-owner = Inhaber
set-up-owner-hint = Steht ein für die Konten, dafür, wer was sieht, und für das, was aufbewahrt wird
set-up-roles = Arbeitet auf Fahrten als
set-up-roles-hint = Ein Inhaber muss nicht mitfahren; kreuzen Sie an, was Sie außerdem tun
set-up-device = Dieses Gerät
set-up-send = Einrichten
fault-set-up-code = Das ist nicht der Code, oder er ist verbraucht. Sehen Sie nach, wo das Programm gestartet wurde; ein neuer Start gibt einen neuen.
prove-again = Deine PIN oder deine Passphrase
prove-again-hint = Noch einmal gefragt, weil das nicht zurückgenommen werden kann
fault-prove = Das ist nicht deine PIN oder Passphrase. Versuche es noch einmal.

way-units = Einheiten
units-how = Was Seiten zeigen, was in Formulare getippt und was gedruckt wird. Logbücher, Ausgaben, Listen als CSV und die Schnittstelle für Programme bleiben metrisch.
units-caution = Jede Seite zeigt die neuen Einheiten, sobald sie das nächste Mal geladen wird: vorher allen an Bord sagen. Gedruckte Blätter bleiben in den alten: neu drucken.
units-choose = Tiefe und Druck in
units-set-up-hint = Kann der Inhaber später ändern
units-metric = Meter und bar
units-metric-note = Flaschen in Litern, Atmung in l/min
units-imperial = Fuß und psi
units-imperial-note = Flaschen in Kubikfuß bei ihrem Arbeitsdruck, Atmung in cu ft/min
units-save = Einheiten speichern
