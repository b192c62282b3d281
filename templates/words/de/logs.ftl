# Words for handing a log over and taking it in. Scripts fill in what stands between % signs.

logs-title = Logbuch übergeben
logs-how = Ein Tablet, das allein war, übergibt, was es hat, als Datei oder als Codes auf seinem Bildschirm. Ein anderes liest es ein, behält es und übergibt es dem Bordrechner, sobald einer da ist. Zweimal schadet nicht.
logs-box-holds = { $n ->
    [one] Dieser Bordrechner hat { $n } Eintrag
   *[other] Dieser Bordrechner hat { $n } Einträge
}
logs-taken = { $new } neu, { $there } waren schon hier.
logs-clashed = { $n ->
    [one] { $n } weicht von dem ab, was hier unter derselben Nummer steht. Er wurde beiseitegelegt und zählt nicht: siehe unten.
   *[other] { $n } weichen von dem ab, was hier unter denselben Nummern steht. Diese wurden beiseitegelegt und zählen nicht: siehe unten.
}
logs-aside-title = Beiseitegelegt: zählt nicht
logs-aside-how = Zwei Einträge tragen dieselbe Nummer mit anderem Inhalt, und niemand weiß, welcher stimmt. Fragen, wer sie gemacht hat, und neu eintragen, was geschehen ist.
logs-aside = { $name }, { $at }: { $kind }
logs-aside-unread = Ein Eintrag, der hier nicht lesbar ist
logs-settled = Das ist geklärt: den Hinweis beenden
logs-brought-title = Von Geräten gebracht
logs-brought-how = Einträge aus der Kopie eines Geräts hat, wer sie brachte, weitergegeben, nicht gemacht.
logs-brought = { $at } · { $name }: { $new } neu{ $aside ->
    [0] {""}
   *[other] , { $aside } beiseitegelegt
}
logs-save-box = Speichern, was dieser Bordrechner hat
logs-file = Datei
logs-file-hint = Ihr Name endet auf .jsonl
logs-lines = Oder ihre Zeilen hier einfügen
logs-lines-hint = Ein Eintrag je Zeile, wie sie in der Datei stehen
logs-take = Einlesen
logs-take-in = Einlesen
logs-hand-over = Übergeben
logs-text = Oder Zeilen oder Codes hier einfügen
logs-text-hint = Wie sie in der Datei stehen, oder wie ein Handy sie vom Bildschirm las
logs-trip = Fahrt
logs-what = Was
logs-what-pending = Noch nicht Übertragenes
logs-what-all = Das ganze Logbuch
logs-held = Dieses Gerät hat %n% Einträge, davon %pending% nicht übertragen.
logs-held-none = Dieses Gerät hat nichts von dieser Fahrt.
logs-not-taken = %act%: vom Bordrechner nicht angenommen, %why%
logs-give-up = Das fallen lassen
logs-no-store = Dieser Browser behält nichts: Zeilen dem Bordrechner mit der Datei selbst übergeben.
logs-save = Als Datei speichern
logs-show = Als Codes zeigen
logs-code = Code für ein anderes Gerät
logs-code-of = Code %n% von %of%
logs-many-codes = %of% Codes: Eine Datei geht schneller, wenn es für sie einen Weg gibt.
logs-nothing-to-show = Es gibt nichts zu übergeben.
logs-previous = Zurück
logs-next = Weiter
logs-pause = Pause
logs-go-on = Fortsetzen
logs-scan = Codes lesen
logs-stop = Stopp
logs-no-camera = Keine Kamera gefunden. Eine Datei nehmen, oder einfügen, was ein anderes Handy liest.
logs-camera-insecure = Die Kamera geht nur über die sichere Adresse dieses Bordrechners. Eine Datei nehmen, oder einfügen, was ein anderes Handy liest.
logs-camera-denied = Die Kamera wurde nicht erlaubt. Für diese Seite erlauben, oder eine Datei nehmen.
logs-scanning = Den Code ins Bild halten.
logs-scanned = %n% von %of% Codes gelesen. Fehlt: %missing%
logs-other-code = Dieser Code ist nicht aus einem Logbuch.
logs-kept-here = %n% Einträge eingelesen und auf diesem Gerät behalten.
logs-unreadable = Zeile %line% ist kein Eintrag eines Logbuchs.
logs-damaged = Die Codes passen nicht zusammen: noch einmal lesen.
logs-parts-missing = %n% von %of% Codes sind da. Fehlt: %missing%
logs-deliver = Dem Bordrechner übergeben
logs-offer = Dieser Bordrechner hat die Fahrt %trip% nicht, von der dieses Gerät %n% Einträge hat. Ist es der Bordrechner dieses Bootes, dann übergeben.
logs-offer-failed = Nicht alles wurde übergeben. Siehe Logbuch übergeben.
logs-box-same = Der Bordrechner hat alles, was dieses Gerät hat.
logs-box-lacks = Dem Bordrechner fehlen %n% Einträge, die dieses Gerät hat.
logs-box-lost = Der Bordrechner hat diese Fahrt nicht. Dieses Gerät hat %n% Einträge davon.
logs-box-away = Der Bordrechner ist nicht erreichbar. Was dieses Gerät hat, bleibt bis dahin hier.
logs-box-differs = Der Bordrechner hat unter denselben Nummern anderen Inhalt.
logs-handed = %new% Einträge übergeben; %there% waren da.
logs-closed = Die Fahrt ist beendet: Ein Schiffsführer übergibt, was dem Bordrechner fehlt.
logs-refused = Der Bordrechner hat einige Einträge abgelehnt. Diese bleiben auf diesem Gerät:
logs-clashed-here = %n% Einträge weichen von dem ab, was der Bordrechner hat. Diese wurden dort beiseitegelegt und zählen nicht.

notice-log-clash = { $boat }: { $count } Einträge wurden beiseitegelegt, da andere unter denselben Nummern im Logbuch stehen. Die beiseitegelegten zählen nicht. Siehe Logbuch übergeben.
