# Words on how this box is reached: basic mode, the authority, its certificate.

basic-mode = Grundbetrieb: diese Seite offen lassen
problem-basic-mode = Nicht im Grundbetrieb
problem-basic-mode-do = Das geht nur über die https-Adresse, da es hier mitgelesen werden könnte: { $address }

authority-title = Dieses Gerät dem Bordrechner vertrauen lassen
authority-why = Der Bordrechner hat ein selbst ausgestelltes Zertifikat. Ein Gerät, das ihm vertraut, erreicht den Bordrechner über https, behält die Seiten, wenn das Netz ausfällt, und kann seinen Bildschirm wach halten. Es gilt für die eigene Adresse des Bordrechners und für nichts anderes.
authority-compare = Nur installieren, wenn dieser Fingerabdruck der ist, der beim Erstellen ausgedruckt wurde:
authority-get = Zertifikat holen
authority-android = Android
authority-android-1 = Das Zertifikat mit der Schaltfläche oben holen und die Datei behalten.
authority-android-2 = Die Einstellungen öffnen, nach „CA-Zertifikat“ suchen, „Zertifikat installieren“ wählen, dann „CA-Zertifikat“. Android warnt, dass andere mitlesen könnten: Dieses Zertifikat lässt auf anderen Adressen niemanden mitlesen.
authority-android-3 = Die Datei authority.crt wählen.
authority-ios = iPad und iPhone
authority-ios-1 = Diese Seite in Safari öffnen, das Zertifikat mit der Schaltfläche oben holen und das Profil erlauben.
authority-ios-2 = Die Einstellungen öffnen, „Profil geladen“ antippen und es installieren.
authority-ios-3 = Das Profil allein genügt nicht: In Einstellungen, Allgemein, Info, Zertifikatsvertrauenseinstellungen das volle Vertrauen dafür einschalten.
authority-then = Dann den Bordrechner unter dieser Adresse öffnen

notice-certificate = Das Zertifikat der https-Adresse läuft am { $ends } ab, in { $days } Tagen: erneuern. Danach sind Tablets über https vom Bordrechner abgeschnitten; der Grundbetrieb geht weiter.
notice-certificate-ended = Das Zertifikat der https-Adresse ist am { $ends } abgelaufen: Eingerichtete Tablets arbeiten allein. Den Grundbetrieb öffnen, oder das Zertifikat erneuern.
notice-certificate-not-yet = Das Zertifikat der https-Adresse gilt erst ab { $begins }, und die Uhr dieses Bordrechners sagt { $now }: Eines davon ist falsch, und Tablets verbinden sich nicht über https.
notice-certificate-missing = Für die https-Adresse war kein Zertifikat lesbar: Tablets können sich nicht über https verbinden. Das Protokoll des Programms sagt, warum; der Grundbetrieb geht weiter.
notice-certificate-refused = Das neue Zertifikat für die https-Adresse taugt nicht und wurde nicht übernommen: Das vorherige bleibt. Das Protokoll des Programms sagt, warum.
