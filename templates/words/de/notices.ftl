# What is wrong with the box itself: what is the matter, and what to do.

notice-nobody-watching = Niemand wacht: Leute sind draußen, und niemand hat einen scharf geschalteten Bildschirm vor Augen. Diese Fahrt am Steuerstand oder an Deck öffnen und den Bildschirm scharf schalten.
notice-devices-silent = { $count ->
    [one] Seit über einer Minute stumm: { $names }. Nach diesem Gerät sehen; was es eingetragen hat, kann hier fehlen.
   *[other] Seit über einer Minute stumm: { $names }. Nach diesen Geräten sehen; was sie eingetragen haben, kann hier fehlen.
}
notice-devices-hidden = { $count ->
    [one] Scharf, aber Seite verdeckt: { $names }. Der Ton kann spät oder gar nicht kommen.
   *[other] Scharf, aber Seiten verdeckt: { $names }. Der Ton kann spät oder gar nicht kommen.
}
notice-device-clocks = Uhr mehr als 30 s daneben: { $names }. Fristen laufen nach der Zeit des Bordrechners; diese Uhr stellen.
notice-box-clock-off = Die Zeit des Bordrechners liegt { $seconds } s neben dem Mittel von { $devices } Geräten. Mit einer Uhr vergleichen.

notice-sounder-none = Der Bordrechner hat keinen Signalgeber: Ton geben nur Bildschirme. Einen scharf geschalteten im Blick behalten.
notice-sounder-fails = Der Signalgeber hat um { $at } versagt: { $name }, { $why }. Einen scharf geschalteten Bildschirm im Blick behalten und den Signalgeber prüfen.
notice-sentry-none = Fiele dieser Bordrechner aus, gäbe nichts Ton: Sein zweiter Prozess läuft nicht. In dessen Protokoll nachsehen, und einen scharf geschalteten Bildschirm im Blick behalten.
notice-sounder-untried = Vor der Abfahrt hat niemand den Signalgeber geprüft. Auf der Seite zum Scharfschalten prüfen.
notice-may-sleep = Diese Maschine kann einschlafen, während Leute draußen sind: Sie ließ sich nicht wach halten. So einstellen, dass sie nie einschläft.

notice-clock-set = Die Uhr des Bordrechners wurde um { $at } verstellt, { $by }; Fristen haben sich nicht verschoben.
notice-clock-unconfirmed = Die Zeit des Bordrechners ist nicht bestätigt. Mit einer Uhr vergleichen und bestätigen.
notice-check-groups = Nachsehen: { $groups }. Die Zeit des Bordrechners ist nicht bestätigt: danach bestätigen.
