# Was die Blätter auf Deutsch sagen. Die Namen der Texte und ihrer Werte sind in jedem Katalog dieselben.

## Seiten
page-of = Seite { $number } von { $all }
tile-joined = { $title }, Blatt { $number } von { $all }; an der grauen Linie schneiden, Linie an Linie legen. Mit 100 % drucken, dann die Prüfstrecken messen.
tile-alone = { $title }. Mit 100 % drucken, dann die Prüfstrecken messen.

## Zeichnungen
template-title = Bogen von { $name }
template-left-end = linkes Ende; diese Kante ist die OBERSEITE
template-upright = aufrecht: 100 mm (links), 4 in (rechts)
template-not-right = Stimmen sie nicht: das Prüfblatt drucken
template-give-figures = und seine Maße angeben: sheet check.
check-title = Prüfblatt
check-print = Mit 100 % drucken, nicht an die Seite anpassen. In beiden Richtungen mit Stahlmaß messen:
check-give = barwright sheet template … --measured BREITE,HÖHE   (mm des Quadrats)
end-board-player = Spieler
end-board-far-side = Gegenseite
end-board-seen = von den Stäben aus gesehen
end-board-notch = { $number }  { $rail }: Mitte { $middle } mm, Breite { $width } mm, Höhe { $from } bis { $to } mm
end-board-print = Vom spielerseitigen Ende und von der Unterkante. Mit 100 % drucken und das Maß prüfen, bevor gesägt wird.
bass = Bass
treble = Diskant
left-end = linkes Ende
top-face = Oberseite
heights-times = Höhen × { $factor }
true-heights = wahre Höhen
saw-height = { $number }. Höhe { $height }, bis { $reach } von der Mitte
cents-mode = Mode { $mode }: Cent über dem Ziel, fertig innerhalb ±{ $cents }
cents-within = innerhalb
cents-sharp = zu hoch: Holz muss weg
cents-flat = zu tief
cents-stale = hohl: veraltete Messung
legend-wood-edge = Kante des Holzes
legend-centre = Mitte
legend-node-of-mode-1 = Knoten der Mode 1
legend-node = Knotenlinie
legend-cord-line = Schnurlinie einer Leiste
legend-node-as-read = Knotenlinie wie abgelesen
legend-look-again = ; ! vor einem Namen: diesen Stab noch einmal ansehen
legend-tube-room = Platz für ein Rohr mit Deckel
legend-tube = Rohr
legend-dummy = Blindrohr ohne Stopfen
legend-stopper = Stopfenfläche bei Bezugstemperatur
legend-board = Brett und Rohlinge, wie die Säge sie lässt
legend-cut-around = auszusparen
legend-band = Rand des Bandes eines fertigen Stabs
legend-sawn = weggesägt
legend-arch-line = Linie des Bogens: nie bis dorthin sägen

## Einheiten und häufige Wörter
inches = Zoll
millimetres = Millimeter
what = was
agreed = vereinbart
spec-compass = Umfang
spec-pitch = Stimmung
spec-stretch = Streckung
spec-modes = gestimmte Moden
spec-wood = Holz
spec-rows = Reihen
spec-weight = Gewicht der Stäbe
spec-planed = gehobeltes Holz

## Spezifikation und Stabliste
spec-from-to = { $lowest } bis { $highest }, { $bars } Stäbe{ $rows ->
    [one] , eine Reihe
   *[two] {""}
}
spec-pitch-at = A4 = { $hz } Hz bei { $celsius } °C und { $percent } % Luftfeuchte
cubic-and-board-feet = { $cubic } m³ ({ $feet } board feet)
spec-wood-moves = Holz ist kein Metall: Die Tonhöhe fällt um etwa 1 bis 2 Cent je °C und steigt, wenn das Holz trocknet, um 12 bis 19 Cent je Prozent seiner Feuchte. Das erste Nachstimmen ist nach ein bis drei Jahren fällig (aus dem Gedächtnis).
trade-rules = Vor Kauf, Versand und Ausfuhr die Handelsregeln für diese Holzart prüfen; die Papiere aufbewahren.
customer = Kunde
workshop = Werkstatt
date-of-delivery = Liefertag
title-specification = Spezifikation
none = keine
spec-stretch-steps = { $steps } Cent, gleichmäßig dazwischen
spec-modes-up-to = bis { $note } { $ratios }
cannot-be-made = nicht zu bauen
note = Ton
hz = Hz
tuned = gestimmt
length = Länge
width = Breite
thick = dick
centre = Mitte
node-from-end = Knoten vom Ende
middle-along-row = Mitte in der Reihe
blank = Rohling
schedule-words = { $unit }. Die Dicke wird von der OBERSEITE gemessen; der Knoten ist die Mitte der spielerseitigen Linie, vorausberechnet.
planned-rails = Vorausberechnete Leisten unter den geplanten Stäben
title-schedule = Stabliste

## Blätter zum Ausfüllen
name-date-signature = Name, Datum, Unterschrift
label = Zeichen
board = Brett
thick-three-times = Dicke 3×
mass-g = Masse g
mode-1-hz = Mode 1 Hz
face-up = oben
mode-2-hz = Mode 2 Hz
mode-3-hz = Mode 3 Hz
again = noch einmal
done = fertig
look-at = ansehen
remark = Bemerkung
lean-mm = Neigung mm /\
cents-place-passes = Cent 1/2/3, Stelle, Gänge, °C
blanks-words = Auf zwei Schaumstreifen, leicht in der Mitte angeschlagen; Salz für die Knotenlinien. Zeichen aufs Hirnholz, Seite A und B bezeichnet, ein Pfeil zum Bass. Neigung: ferne Kante minus nahe Kante, wie der Stab auf der Bank liegt.
dust-blanks = Staub von Palisander, Padouk und ihren Verwandten macht Haut und Lunge überempfindlich: Absaugung und Maske.
title-blanks = Rohlingsblatt
tuning-words = Reihenfolge: Mode 3, dann 2, dann 1. Die Hälfte dessen, was fehlt, dann neu anschlagen. Ein warmer Stab klingt zu tief: zehn Minuten weglegen.
caution-belt = Band und Walze: auf der Seite schleifen, die von dir wegläuft, kurze Stäbe im Halter, keine Handschuhe; Absaugung und Maske, Gehörschutz, solange Maschinen laufen. Die Anleitungen der Maschinen gehen vor.
title-tuning = Stimmblatt
assembly-1 = Rahmen steht eben, Endbretter rechtwinklig, Leisten wie gemessen
assembly-2 = Pfosten befilzt, keiner berührt einen Stab
assembly-3 = Stäbe der Reihe nach aufgelegt, Bass zu Diskant, Oberseiten oben, Zeichen zum Spieler
assembly-4 = Schnur durch alle Stäbe einer Reihe, Feder an einem Ende; so gespannt, dass die Stäbe sitzen und klingen
assembly-5 = Oberseiten in einer Ebene, Abstände gleich, Halbtöne frei von den Stammtönen
assembly-6 = jeder Stab frei: ein wenig anheben, anschlagen, kein Schnarren
assembly-7 = Rohre gerade gehängt, jedes mittig unter seinem Stab, Deckel frei voneinander
assembly-8 = Stopfen dicht; nach zwei Stunden bei Raumtemperatur eingestellt
assembly-9 = chromatisch mit den Schlägeln des Kunden gespielt: gleich laut
assembly-10 = Nachklang gleich: kein Stab unter 0,6 seiner Nachbarn (aus dem Gedächtnis)
assembly-11 = Oktaven und Quarten: keine ungewollte Schwebung
assembly-12 = Ecken angeschlagen: kein lautes Verdrehen neben einer gestimmten Mode
assembly-13 = Temperatur und Luftfeuchte notiert
assembly-14 = zerlegt, getragen, wieder aufgebaut: wie zuvor
assembly-15 = Zeugnis übergeben, Pflegeblatt erklärt, nächster Besuch vereinbart
assembly-16 = Papiere des Holzes übergeben
caution-heavy = Er ist schwer: Einen Rahmen heben zwei. Frische Rohrenden sind scharf.
put-together-by = zusammengebaut von
looked-over-by = durchgesehen von
title-assembly = Aufbau- und Prüfliste

## Rohre
inner = innen
follows-the-bar = folgt dem Stab
cents-a-mm = Cent je mm
cut = Zuschnitt
set-at = gesetzt bei
what-to-cut = Zuschnitt
stock-tube = Rohstück
cut-in-order = in dieser Reihenfolge schneiden
left-over = Rest
title-tubes = Rohrliste
stopper-at = Stopfen bei { $celsius } °C
keeps-pitch = hält die Tonhöhe { $cold }–{ $warm } °C
tubes-words = { $unit } von der Mündung zur Stopfenfläche. Längen freier Rohre, wenn die Mündung nicht angepasst wurde: Stopfen beweglich lassen, unter dem gestimmten Stab nach Gehör setzen.
caution-tubes = Metallrohre sägen: Augen und Ohren geschützt, das Rohr eingespannt, keine Handschuhe an drehendem Werkzeug; frische Enden sind scharf. Die Anleitung der Säge geht vor.

## Zeugnis
cert-for = {""} für { $name }
cert-by = , gestimmt von { $name }
cert-all-within = Alle { $bars } Stäbe liegen innerhalb der Klasse { $class }.
cert-outside = { $out } von { $bars } Stäben liegen außerhalb der Klasse { $class }: { $which }.
cert-pitch = A4 = { $hz } Hz bei { $air }. Nächster Besuch: { $visit }. { $within }
cert-ratios = Cent über dem Ziel; Moden 1, 2, 3: ×{ $ratios }.
bar = Stab
mode-1 = Mode 1
mode-2 = Mode 2
mode-3 = Mode 3
heard-on = gehört
for-its-owner = Für den Besitzer
the-seal = Das Siegel
title-certificate = Stimmzeugnis

## Nachstimmen
retune-no-certificate = Kein Zeugnis in den Aufzeichnungen.
retune-certified = Zeugnis vom { $date } bei A4 = { $hz } Hz.
retune-wanted = { $certified } Jetzt gewünscht: A4 = { $hz } Hz. Stäbe: { $work }; etwa { $hours } Stunden (geschätzt).
went-modes = gewandert, Moden 1/2/3
what-to-do = zu tun
after-cents = danach, Cent
caution-retuning = Ein zu tiefer Stab wird getrocknet, bevor man schneidet. An jedem Loch nach Rissen sehen. Staub alter Lacke und von Palisander macht überempfindlich: Absaugung und Maske.
title-retuning = Nachstimmblatt

## Knoten und Bohrungen
not-read = nicht abgelesen
nodes-words = { $unit } vom spielerseitigen Ende, Oberseite oben; links und rechts, wie der Spieler sie sieht.
rails-under-bars = Leisten unter den Stäben
drill-words = { $unit } vom spielerseitigen Ende, an der linken und an der rechten Kante, OBERSEITE OBEN. Bohrer { $drill }, die Achse { $below } unter der Oberseite. Die Löcher der Halbtöne neigen sich anders herum als die der Stammtöne: zweimal hinsehen.
players-line-left = Linie beim Spieler, links
right = rechts
far-line-left = ferne Linie, links
salt-again = neu salzen
title-nodes = Knotentabelle
players-hole-left = Loch beim Spieler, links
lean = Neigung
far-hole-left = fernes Loch, links
wood-over-under = Holz darüber, darunter
mind = beachten
from-the-plan = Nach dem PLAN, nicht nach dem gebauten Rahmen: nicht danach bohren.
caution-drill = Den Stab einspannen, ein Klotz dahinter, Späne räumen, Augen geschützt, keine Handschuhe. Die Anleitung der Bohrmaschine geht vor. Ein Loch lässt sich nicht zurücknehmen.
title-drill = Bohrtabelle

## Rahmen
frame-words = { $unit }. Längs: von der Bassseite des tiefsten Stammtons; weg: von seiner äußeren Schnur. Von oben gesehen, Spieler unten, Diskant rechts. Zwischen den Innenflächen der Endbretter: { $between }, ab { $before } vor dem tiefsten Stammton.
frame-from-above = Der Rahmen von oben
length-bends = { $length }, Knick nach { $bend }
end-board = Endbrett, { $end }
rails = Leisten
wood-of-frame = Holz des Rahmens
frame-lengths = Längen zwischen den Endbrettern: zugeben, was die Verbindung braucht. Winkel gegen den rechten, wie sich die Leiste von oben gesehen neigt.
posts-along = Pfosten, längs jeder Leiste vom Bassende
end-boards-from = Endbretter, vom spielerseitigen Ende und von der Unterkante
caution-frame = Mit Schutzhauben sägen und hobeln, Augen, Ohren und Lunge geschützt; die Anleitungen der Maschinen gehen vor. Gebohrt wird nach dem gebauten Rahmen, nicht nach diesem Blatt.
title-frame = Rahmenblatt
cord-line-of-rail = Schnurlinie der Leiste
bass-along = Bass längs
away = weg
bend = Knick
treble-along = Diskant längs
off-square = gegen rechten Winkel
piece = Teil
section = Querschnitt
cut-bass = Schnitt, Bass
cut-treble = Schnitt, Diskant
square = rechtwinklig
rail = Leiste
posts = Pfosten
places = Stellen
middle = Mitte
from = von
to = bis
end-boards = Endbretter
players-rail = { $row }, Leiste beim Spieler
far-rail = { $row }, ferne Leiste
naturals = Stammtöne
accidentals = Halbtöne
end-board-full-size = Endbrett, { $end }, wahre Größe

## Holzvorrat und Zuschnitt
stock-words = { $unit }. Neigung: ferne minus nahe Kante der Knotenlinie. Was noch nicht gemessen ist, steht als –.
stock-blanks = { $count ->
    [one] Ein Rohling ohne Ton
   *[other] { $count } Rohlinge ohne Ton
}
not-measured-yet = Noch nicht gemessen: { $which }.
defect-at = { $what } { $from }–{ $to } längs, { $near }–{ $far } quer
stock-none = Kein Rohling ist ohne Ton.
boards = Bretter
dust-and-trade = Staub von Palisander, Padouk und ihren Verwandten macht Haut und Lunge überempfindlich: Absaugung und Maske. Vor Kauf, Versand und Ausfuhr die Handelsregeln der Holzart prüfen; die Papiere aufbewahren.
title-stock = Holzvorrat
size = Maße
lean-in-mm = Neigung mm
moisture-percent = Feuchte %
good-for-sure = gut für (sicher)
why = warum
note-given = bekommt Ton
all = alle
cubic-board-feet = m³ (board feet)
to-be-cut-around = auszusparen
verdict-top = oben und Mitte
verdict-middle = Mittellage
verdict-bass = Bass
verdict-reject = ausscheiden
verdict-wait = warten
sure-good = gut
sure-fair = mäßig
sure-low = gering
drying-at-rest = in Ruhe ({ $rate })
drying-rate = { $percent } % je Woche
drying-weeks = noch { $weeks } Wochen ({ $least } bis { $most }), { $rate }
drying-unknown = { $rate }; wann es ruht, ist noch nicht bekannt
saw-words = { $name }: { $steps } Schritte, { $kerfs } Schnitte, etwa { $minutes } Minuten. { $unit }, wie auf der Skala der Säge. Das Blatt wird immer nur höher gestellt. Zum Einstellen Stecker ziehen.
board-size = Brett { $name }: { $length } × { $width } × { $thickness }
step = Schritt
blade-height = Blatthöhe
from-the-centre = von der Mitte
saw-stops = Anschläge vom Stabende, äußerste zuerst
kerfs = Schnitte
strike-before-sanding = Den gesägten Stab anschlagen, bevor geschliffen wird.
title-saw = Sägeschritte
from-the-left-end = vom linken Ende
from-the-near-edge = von der nahen Kante
cut-places = Schnitt, Stellen am ganzen Brett gemessen
caution-saw = Schutzhauben, Schiebestock, Augen, Ohren und Lunge geschützt; die Anleitungen der Sägen und örtliche Regeln gehen vor. Staub von Palisander und Padouk macht überempfindlich.
title-cutlist = Zuschnittliste
cut-across = ablängen bei { $at } vom linken Ende, den Teil von { $from } bis { $to } der Breite
cut-along = auftrennen bei { $at } von der nahen Kante, den Teil von { $from } bis { $to } der Länge
saw-how-across = Höhe: vom Tisch zur Spitze eines Zahns, der Rohling liegt auf seiner Unterseite. Anschlag: vom Ende des Stabs ({ $length } lang) zur nahen Seite des Schnitts. An jedem Anschlag sägen, den Stab umdrehen, wieder sägen.
saw-how-along = Höhe: vom Tisch zur Spitze eines Zahns, der Rohling liegt auf seiner Unterseite. Anschlag: von jedem Ende des Stabs ({ $length } lang) zur Achse des Blatts, wo ein Schnitt beginnt und wo er endet; Schnitt neben Schnitt über die Breite.

## Bemerkungen und Arbeit
wood-under-unknown = { $over } mm, unbekannt
do-not-drill-unread = nicht bohren: nicht abgelesen
do-not-drill-misread = nicht bohren: neu ablesen
steep = steil
little-wood-at-hole = weniger als { $mm } mm Holz am Loch
work-leave = lassen
work-strike = anschlagen: { $why }
work-look-at = zuerst ansehen: { $what }
work-lower = tiefer stimmen: { $parts }
then = ; dann{" "}
work-dry = er ist feucht: Wochen trocknen; sollte { $cents } Cent steigen
work-dry-unknown = zu tief, und sein Wasser ist nicht bekannt: wiegen, trocknen lassen, neu anschlagen
work-replace = ein neuer Stab, oder ein tieferer Ton: { $why }
lower-mode = Mode { $mode } um { $cents } Cent
lower-about = { $head } (etwa { $depth } von { $from } bis { $to } neben der Mitte)
lower-centre = { $head } (etwa { $depth } über der Mitte)
work-trim = an jedem Ende { $each } abnehmen: dann { $then }, Löcher { $holes } neben den Knoten; danach tiefer stimmen, was zu hoch ist
count-leave = { $n } zu lassen
count-lower = { $n } tiefer zu stimmen
count-dry = { $n } erst zu trocknen
count-trim = { $n } zu kürzen
count-look = { $n } anzusehen
count-strike = { $n } anzuschlagen
count-replace = { $n } zu ersetzen
advice-1 = Bei 40 bis 55 % Luftfeuchte halten, fern von Heizungen, Fenstern und Bühnenlicht; ein kleines Hygrometer unter der Decke ist sein Geld wert.
advice-2 = Vor dem Spielen an den Raum gewöhnen: einige Stunden nach einem kalten Wagen, einen Tag nach einem Wechsel der Jahreszeit.
advice-3 = Schlägel nehmen, die zum Ton passen: harte schlagen Dellen in die Bassstäbe und in die höchsten, und ein Stab mit Dellen wird tiefer.
advice-4 = Bedeckt und waagerecht tragen, Stäbe auf ihren Schnüren oder einzeln in Tuch; nie etwas daraufstellen.
advice-5 = Für einen kalten oder heißen Saal die Stopfen versetzen, nicht die Stäbe: Das Rohrblatt sagt, wie weit.
advice-6 = Die Oberseite nicht schleifen oder lackieren: ein Millimeter davon ist mehr als ein Halbton.
damaged = beschädigt
sealed-with = gesiegelt mit dem Schlüssel der Werkstatt { $key }
own-reference-bars = eigenen Bezugsstäben der Werkstatt
generic-wood = allgemeinem fehlerfreiem Holz
cert-method = Jeder Stab wurde in Ruhe angeschlagen und von { $program } gehört; die Messungen sind auf { $air } umgerechnet mit { $cents } Cent je Grad (nach { $whose }). Das gilt für alle Stäbe gemeinsam auf ±{ $sigma } Cent; wie die Stäbe zueinander stehen, gilt auf die Zahl jedes Stabs.
air-and-humidity = { $celsius } °C und { $percent } %
air-alone = { $celsius } °C
class-concert = Konzert
class-working = Arbeit
class-school = Schule
accidentals-bank = Rohre der Halbtöne
naturals-bank = Rohre der Stammtöne
no-temperature = keine Temperatur genannt
pitch-at-air = A4 = { $hz } Hz bei { $air }
template-as-believed = wie er vermutlich ist
template-to-be-sawn = der Bogen, der zu sägen ist
title-templates = Bogenschablonen
label-bar = Stab { $label }
title-labels = Stabzeichen
title-book = Auftragsbuch
