# Words of the dive: what stands against a plan and what would mend it.

finding-hypoxic = Dieses Gas hat zu wenig Sauerstoff, um es an der Oberfläche zu atmen (ppO2 { $ppo2 } bar): ein anderes Gas nehmen, oder mit einem beginnen, das sich dort atmen lässt.
finding-past-oxygen-limit = Sauerstoff erreicht ppO2 { $ppo2 } bar, über der Grenze von 1.6: nicht mit diesem Gas dorthin; mit ihm nicht tiefer als { LIMIT($mod) }.
finding-past-working-oxygen = Sauerstoff erreicht ppO2 { $ppo2 } bar, über den ppO2 1.4 bar eines Arbeitstauchgangs: mit diesem Gas nicht tiefer als { LIMIT($mod) }.
finding-exposure-spent = Die Sauerstoffbelastung des Tages erreicht { $pct } % dessen, was eine einzelne Belastung sein darf: weniger Zeit, weniger Tiefe oder weniger Sauerstoff.
finding-exposure-high = Die Sauerstoffbelastung des Tages erreicht { $pct } % dessen, was eine einzelne Belastung sein darf.
finding-beyond-no-stop = Länger als die Nullzeit von { $limit } min: { $less } min weniger auf { DEPTH($depth) }, sonst sind Stopps Pflicht.
finding-owes-stops = Schon so sind Stopps Pflicht: Wer vorgesättigt von einem früheren Tauchgang kommt, muss erst Gas abgeben. Vorher länger pausieren, oder die Stopps einhalten.
finding-earlier-unknown = { $n ->
    [one] Ein Tauchgang davor ist zu lückenhaft eingetragen, um ihn zu berechnen
   *[other] { $n } Tauchgänge davor sind zu lückenhaft eingetragen, um sie zu berechnen
}: Tiefe und Zeiten ergänzen lassen.
finding-above-ceiling = Stufe { $level } auf { DEPTH($depth) } liegt über der Auftauchgrenze, wenn sie erreicht wird: länger tiefer bleiben, oder die Stufen davor kürzen.
finding-below-reserve = Zurück auf dem Boot mit { PRESSURE($end) }, weniger als die Reserve von { NEEDED($reserve) }.
finding-gas-runs-out = Das Gas reicht nicht: Es fehlen { NEEDED($lacking) }.
finding-below-minimum-gas = Verlässt die größte Tiefe mit { PRESSURE($leaving) }; zwei Taucher an dieser Flasche brauchen von dort { NEEDED($minimum) }.
finding-high-place = Bei { AIR($bar) } Oberflächendruck ist mit Geweben gerechnet, die an die Höhe gewöhnt sind: Wer binnen des letzten Tages heraufkam, trägt mehr Gas.
finding-deeper-than-certified = Tiefer als die { LIMIT($limit) } dieses Brevets: nicht tiefer als { LIMIT($limit) }.
finding-no-certified-depth = Zu diesem Brevet ist keine Tiefengrenze bekannt: auf der Teilnehmerliste angeben lassen.
remedy = Das hilft: { $ways }.
remedy-none = Keine kleine Änderung hilft: einen anderen Tauchgang planen.
remedy-turn = Grund bei { NEEDED($bar) } verlassen
remedy-less = { $less } min weniger auf { DEPTH($depth) }
remedy-cylinder = eine Flasche mit { SIZE($l) }
stop-in-words = { $min } min auf { STOP($depth) }
stop-then = , dann{" "}

# A plan reckoned for its group, on the desk and on deck.

reckoned-breaks = Überschreitet eine Grenze für { $names }.
reckoned-holds = Keine Grenze überschritten.
reckoned-holds-first = Keine Grenze überschritten. Zuerst erreicht: { $what }, { $name }.
reckoned-released = Freigegeben von { $why }
reckoned-not-released = Niemand hat ihn freigegeben: So geht die Gruppe nicht ins Wasser.
reckoned-owes = Pflichtstopp: { $stops }.
reckoned-times = Verlässt den Grund nach { $leaving } min, oben nach { $run } min.
reckoned-not = Nicht berechnet:
reckoned-not-why = Berichtigen, was markiert ist, dann neu prüfen.
reckoned-bar = { PRESSURE($bar) }
reckoned-lacks = { NEEDED($bar) } fehlen
reckoned-no-gas = kein Gas eingetragen
reckoned-no-cylinder-does = mehr als zu Beginn da ist
reckoned-no-limit = keine Grenze binnen 10 h
reckoned-percent = { $pct } %
reckoned-spare = { $n } min übrig
reckoned-over = { $n } min zu lang
reckoned-who = Mitglied
reckoned-end = Zurück auf dem Boot
reckoned-in-short = zurück mit { $end }
reckoned-limited = Grenze: { $what }
reckoned-leave = Grund verlassen bei
reckoned-minimum = Mindestgas für zwei
reckoned-gas-spare = Nach dem Gas
reckoned-no-stop = Nullzeit
reckoned-no-stop-spare = Nach der Nullzeit
reckoned-exposure = Sauerstoffbelastung
reckoned-limits = Was begrenzt
reckoned-least-gas = am wenigsten Gas
reckoned-least-time = am wenigsten Zeit
reckoned-limit-broken = Grenze überschritten
reckoned-table = Mitglied für Mitglied
reckoned-rests = Worauf es beruht
reckoned-model =
    ZH-L16C mit Gradientenfaktoren { $low }/{ $high }, Gas als reales Gas, { NEEDED($reserve) } zurück auf dem Boot. Enddrücke sind auf { UNITS() ->
        [imperial] 50 psi
       *[metric] 5 bar
    } abgerundet, einzuhaltende Drücke auf { UNITS() ->
        [imperial] 50 psi
       *[metric] 5 bar
    } aufgerundet.
reckoned-no-earlier = Von niemandem ist ein früherer Tauchgang bekannt.
reckoned-earlier = Frühere Tauchgänge eingerechnet: bis zu { $n } je Person.
reckoned-interval = { $min } min Oberflächenpause vor diesem Tauchgang, da seine Zeit noch nicht bekannt ist.
limits-gas = Gas
limits-no-stop = Nullzeit
limits-certification = Brevet
limits-oxygen = Tiefe für den Sauerstoff
limits-exposure = Sauerstoffbelastung
limits-height = Höhe des Ortes
picture-title = Tiefe, Auftauchgrenze und Gas über der Zeit
picture-metres = { SIGN("depth") }
picture-bar = { SIGN("pressure") }
picture-minutes = Minuten ab dem Abtauchen
picture-depth = Tiefe
picture-ceiling = Auftauchgrenze, { $name }
picture-gas = Gas übrig, { $name }
picture-profile = Hinab auf { DEPTH($depth) }, verlässt den Grund nach { $leaving } min, { $stops }, oben nach { $run } min.
picture-ceiling-to = Die Auftauchgrenze von { $name } reicht bis { DEPTH($depth) }.
picture-no-ceiling = Nirgends eine Auftauchgrenze.
picture-gas-to = { $name } verlässt den Grund mit { PRESSURE($leaving) } und ist mit { PRESSURE($end) } oben.
