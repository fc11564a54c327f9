// German for what is told of the last: how it was stood, its marks and measures, and why it may be none.
import type { Pair } from "../../said";

const found: Pair[] = [
  [
    "The file states no unit; with {unit} for its unit the form is {n} mm at its longest, as a last may be.",
    "Die Datei sagt keine Einheit; in {unit} gelesen ist die Form {n} mm lang, wie ein Leisten sein kann.",
  ],
  [
    "The bottom is taken to be the side where most of the surface faces one way, evenly mirrored between inside and outside.",
    "Als Boden gilt die Seite, an der die meiste Oberfläche in eine Richtung weist, gleichmäßig gespiegelt zwischen innen und außen.",
  ],
  [
    "The heel is taken to be the taller end, further from the widest place.",
    "Als Ferse gilt das höhere Ende, das weiter von der breitesten Stelle entfernt ist.",
  ],
  ["A {foot} foot, by the joints that were placed.", "Ein {foot:er} Fuß, nach den gesetzten Ballen."],
  ["A {foot} foot: {said}.", "Ein {foot:er} Fuß: {said}."],
  [
    "the joint lies {n} mm further forward on the {foot}, the waist is {n2} mm more hollow on the {foot2}, and the toe swings {n3} mm to the {foot3}",
    "der Ballen liegt {foot} {n} mm weiter vorn, das Gelenk ist {foot2} um {n2} mm hohler, und die Spitze schwingt {n3} mm nach {foot3}",
  ],
  [
    "No size was given; by its length and its inside joint it is about EU {n}.",
    "Eine Größe wurde nicht genannt; nach Länge und Innenballen ist es etwa EU {n}.",
  ],
  ["In the given pose the seat stands at {n} mm.", "In der angegebenen Stellung steht der Fersenpunkt auf {n} mm."],
  ["Without an edge it rests on heel and ball: no heel.", "Ohne Kante ruht er auf Ferse und Ballen: kein Absatz."],
  [
    "Stood so that its tread is lowest under the joint line, the seat is at {n} mm; a tread that is lowest a little further forward or back makes that 4 mm more or less, so enter the heel height where you know it.",
    "So gestellt, dass die Auftrittsfläche unter der Ballenlinie am tiefsten liegt, ist der Fersenpunkt auf {n} mm; liegt sie etwas weiter vorn oder hinten am tiefsten, sind es 4 mm mehr oder weniger: tragen Sie also die Absatzhöhe ein, wenn Sie sie kennen.",
  ],
  ["The feather line follows a sharp edge.", "Die Leistenkante folgt einer scharfen Kante."],
  [
    "The edge is rounded; the feather line is the middle of the rounding.",
    "Die Kante ist gerundet; die Leistenkante ist die Mitte der Rundung.",
  ],
  [
    "There is no feather line: no edge shows between bottom and wall. The edge of the ground contact is taken, where the surface faces half-way between down and outward",
    "Eine Leistenkante gibt es nicht: Zwischen Boden und Wand zeigt sich keine Kante. Genommen wird der Rand der Standfläche, wo die Oberfläche halb nach unten und halb nach außen weist",
  ],
  [
    "The bottom is still widening at {n} % of its length; the {side} joint is put there, place it by hand.",
    "Bei {n} % seiner Länge wird der Boden noch breiter; der {side:stem}ballen ist dorthin gesetzt, setzen Sie ihn von Hand.",
  ],
  [
    "The {side} joint is the widest place on its side, at {n} % of the length.",
    "Der {side:stem}ballen ist die breiteste Stelle seiner Seite, bei {n} % der Länge.",
  ],
  ["No wall rises from the seat; place the top of the centre back.", "Über dem Fersenpunkt steigt keine Wand auf; setzen Sie das obere Ende der hinteren Mitte."],
  [
    "The wall above the seat ends {n} mm above it, where the surface ends or bends into the top.",
    "Die Wand über dem Fersenpunkt endet {n} mm darüber, wo die Oberfläche aufhört oder in die Oberseite biegt.",
  ],
  [
    "No ridge shows on the upper side; the vamp point is put above the middle between the joints.",
    "Auf der Oberseite zeigt sich kein Grat; der Blattpunkt ist über die Mitte zwischen den Ballen gesetzt.",
  ],
  ["No ridge shows on the upper side; place the waist point by hand.", "Auf der Oberseite zeigt sich kein Grat; setzen Sie den Taillenpunkt von Hand."],
  ["No ridge shows on the upper side; place the instep point by hand.", "Auf der Oberseite zeigt sich kein Grat; setzen Sie den Ristpunkt von Hand."],
  [
    "The vamp point is where the upright plane through both joints meets the ridge of the upper side.",
    "Der Blattpunkt liegt, wo die lotrechte Ebene durch beide Ballen den Grat der Oberseite trifft.",
  ],
  [
    "The waist point is half-way along the ridge from the vamp point to the instep point.",
    "Der Taillenpunkt liegt auf dem Grat, halbwegs vom Blattpunkt zum Ristpunkt.",
  ],
  [
    "The top begins before the instep point; it is put at the front end of the top.",
    "Die Oberseite beginnt vor dem Ristpunkt; er ist an ihr vorderes Ende gesetzt.",
  ],
  [
    "The instep point lies on the ridge, 0.30 of the way from seat to joints behind the vamp point.",
    "Der Ristpunkt liegt auf dem Grat, um 0,30 des Wegs vom Fersenpunkt zu den Ballen hinter dem Blattpunkt.",
  ],
  ["No top shows; place its ends by hand.", "Es zeigt sich keine Oberseite; setzen Sie ihre Enden von Hand."],
  [
    "The front end of the top is where a tape laid over the centre line turns most from the top into the front.",
    "Das vordere Ende der Oberseite liegt, wo ein über die Mitte gelegtes Maßband am stärksten von oben nach vorn wendet.",
  ],
  [
    "The rear end of the top is where a tape laid over the centre line turns most from the back into the top.",
    "Das hintere Ende der Oberseite liegt, wo ein über die Mitte gelegtes Maßband am stärksten von hinten nach oben wendet.",
  ],
];

const places: Pair[] = [
  ["size", "Größe"],
  ["foot", "Fuß"],
  ["the scan", "der Scan"],
  ["the opening", "die Öffnung"],
  ["joints", "Ballen"],
  ["instep", "Rist"],
  ["{mark}", "{mark}"],
];

const warnings: Pair[] = [
  ["the form is {n} mm long, the size says a standard length of {n2} mm", "die Form ist {n} mm lang, nach der Größe wären es {n2} mm"],
  ["check the size and the unit of the file", "prüfen Sie die Größe und die Einheit der Datei"],
  ["the given {mark} lies {n} mm off the surface", "der gesetzte Punkt „{mark}“ liegt {n} mm neben der Oberfläche"],
  [
    "check that it was placed on this scan, and in the unit of the file",
    "prüfen Sie, ob er auf diesem Scan gesetzt wurde, und in der Einheit der Datei",
  ],
  ["the form looks like a {foot} last, not {foot2}: {said}", "die Form sieht aus wie ein {foot:er} Leisten, nicht wie ein {foot2:er}: {said}"],
  ["check the foot; a scan may also have been mirrored", "prüfen Sie den Fuß; auch kann der Scan gespiegelt sein"],
  ["left or right hardly shows; taken as {foot}", "links oder rechts zeigt sich kaum; angenommen ist {foot}"],
  ["say which foot it is", "sagen Sie, welcher Fuß es ist"],
  [
    "it was given as {n} mm; by its tread the last stands at about {n2} mm",
    "angegeben sind {n} mm; nach seiner Auftrittsfläche steht der Leisten auf etwa {n2} mm",
  ],
  [
    "measure the heel height of the last again: length, toe spring and ball girth follow it",
    "messen Sie die Absatzhöhe des Leistens noch einmal: Länge, Spitzensprengung und Ballenumfang folgen ihr",
  ],
  ["the heel height found, {n} mm, is hardly one", "die gefundene Absatzhöhe, {n} mm, ist kaum eine"],
  ["enter the heel height", "tragen Sie die Absatzhöhe ein"],
  [
    "a foot has no feather line: use a last, or correct the line by hand",
    "ein Fuß hat keine Leistenkante: nehmen Sie einen Leisten, oder berichtigen Sie die Linie von Hand",
  ],
  ["the feather line is not clear (sureness {n})", "die Leistenkante ist nicht deutlich (Sicherheit {n})"],
  ["look at it all round and correct it where it strays", "sehen Sie sie rundum an und berichtigen Sie sie, wo sie abirrt"],
  ["both joints lie on the same side of the axis; move one across", "beide Ballen liegen auf derselben Seite der Achse; setzen Sie einen hinüber"],
  [
    "its triangles are coarse; they were divided from {n} into {n2} {how}",
    "seine Dreiecke sind grob; sie wurden von {n} in {n2} geteilt, {how}",
  ],
  ["a finer scan gives a truer piece", "ein feinerer Scan ergibt ein genaueres Teil"],
  [
    "its {n} triangles were thinned to {n2} for the work; they lie within {n3} mm of the scan",
    "seine {n} Dreiecke wurden für die Arbeit auf {n2} ausgedünnt; sie liegen höchstens {n3} mm neben dem Scan",
  ],
  [
    "its surface is rougher than {n} mm, and what the piece lies on is smoother",
    "seine Oberfläche ist rauer als {n} mm, und worauf das Teil liegt, ist glatter",
  ],
  [
    "look at the last from all sides; a calmer scan gives a truer piece",
    "sehen Sie den Leisten von allen Seiten an; ein ruhigerer Scan ergibt ein genaueres Teil",
  ],
  [
    "it is taken for the top, and no edge shows at the bottom: a foot looks so, but also a last whose sole was not scanned, standing upside down",
    "sie gilt als Oberseite, und am Boden zeigt sich keine Kante: So sieht ein Fuß aus, aber auch ein Leisten, dessen Sohle nicht gescannt wurde und der auf dem Kopf steht",
  ],
  ["look at the pictures; if it stands on its head, scan the sole too", "sehen Sie die Bilder an; steht er auf dem Kopf, scannen Sie auch die Sohle"],
  [
    "a hole was filled at the very front or back, so length, size and toe spring rest on what was made up there",
    "ganz vorn oder hinten wurde ein Loch gefüllt; Länge, Größe und Spitzensprengung beruhen auf dem, was dort ergänzt wurde",
  ],
  ["measure the length on the last itself, or scan that end again", "messen Sie die Länge am Leisten selbst, oder scannen Sie dieses Ende noch einmal"],
];

const measures: Pair[] = [
  ["length", "Länge"],
  ["width", "Breite"],
  ["heel height", "Absatzhöhe"],
  ["toe spring", "Spitzensprengung"],
  ["seat width", "Fersenbreite"],
  ["tread width", "Auftrittsbreite"],
  ["ball girth", "Ballenumfang"],
  ["waist girth", "Taillenumfang"],
  ["instep girth", "Ristumfang"],
  ["short heel girth", "kurzer Fersenumfang"],
  ["long heel girth", "langer Fersenumfang"],
  ["length round heel", "Länge um die Ferse"],
  [
    "the tape is shortest at the front end of the top, so it tells where the last is cut off as well",
    "das Maßband ist am vorderen Ende der Oberseite am kürzesten, sagt also auch, wo der Leisten abgeschnitten ist",
  ],
  ["compare it only with lasts of the same height at the top", "vergleichen Sie es nur mit Leisten, die oben gleich hoch sind"],
  ["its plane misses the last, so the girth is 0", "seine Ebene trifft den Leisten nicht, der Umfang ist also 0"],
  ["check the marks that it goes over", "prüfen Sie die Punkte, über die er läuft"],
  [
    "the tape runs over the top of the last, which it bridges in a straight line",
    "das Maßband läuft über die Oberseite des Leistens, die es in gerader Linie überbrückt",
  ],
  [
    "take it as a comparison only; a last cut off higher reads more",
    "nehmen Sie es nur zum Vergleich; ein höher abgeschnittener Leisten misst mehr",
  ],
  ["a taut tape would slip further than any tape is laid", "ein straffes Maßband würde weiter rutschen, als man eines legt"],
  ["check the mark that it goes over, or place it by hand", "prüfen Sie den Punkt, über den es läuft, oder setzen Sie ihn von Hand"],
  ["no wall rises from the seat, so there is no back curve", "über dem Fersenpunkt steigt keine Wand auf, also gibt es keine Fersenlinie"],
  ["check the seat, and place it by hand where it is wrong", "prüfen Sie den Fersenpunkt, und setzen Sie ihn von Hand, wenn er falsch ist"],
  [
    "no upper side shows at waist and instep: the girths there and round the heel are guesses",
    "an Taille und Rist zeigt sich keine Oberseite: die Umfänge dort und um die Ferse sind geraten",
  ],
  ["scan the last up to its top", "scannen Sie den Leisten bis oben hin"],
];

const refused: Pair[] = [
  ["the mesh has no surface; choose another file", "das Netz hat keine Oberfläche; wählen Sie eine andere Datei"],
  ["the mesh is not tidy: {said}; repair it first", "das Netz ist nicht in Ordnung: {said}; bessern Sie es erst aus"],
  [
    "the surface faces inward (it encloses {n} cubic units); turn its triangles over",
    "die Oberfläche weist nach innen (sie umschließt {n} Raumeinheiten); wenden Sie ihre Dreiecke",
  ],
  [
    "the form is {n} units long, which is a last in no unit (100 to 380 mm); choose another file, scale it, or take away what stands beside it",
    "die Form ist {n} Einheiten lang, das ist in keiner Einheit ein Leisten (100 bis 380 mm); wählen Sie eine andere Datei, skalieren Sie sie, oder entfernen Sie, was daneben steht",
  ],
  [
    "the form is {n} mm long when read in {unit}, a last at most 380 mm; {said}",
    "in {unit} gelesen ist die Form {n} mm lang, ein Leisten höchstens 380 mm; {said}",
  ],
  [
    "the form is {n} mm long when read in {unit}, a last at least 100 mm; {said}",
    "in {unit} gelesen ist die Form {n} mm lang, ein Leisten mindestens 100 mm; {said}",
  ],
  ["no unit would make it a last; choose another file", "in keiner Einheit wäre sie ein Leisten; wählen Sie eine andere Datei"],
  ["it would be a last if the unit were {said}", "ein Leisten wäre sie in {said}"],
  ["{unit}", "{unit}"],
  ["{unit} or {unit2}", "{unit} oder {unit2}"],
  [
    "this is not shaped like a last: {n} x {n2} x {n3} mm, {said}; choose another file, or cut away what is not the last",
    "das hat nicht die Form eines Leistens: {n} × {n2} × {n3} mm, {said}; wählen Sie eine andere Datei, oder schneiden Sie weg, was nicht Leisten ist",
  ],
  ["it is flat like a plate or thin like a rod", "es ist flach wie eine Platte oder dünn wie ein Stab"],
  ["it is about as wide as it is long", "es ist etwa so breit wie lang"],
  ["its width and height do not fit its length", "Breite und Höhe passen nicht zur Länge"],
  ["its two ends are alike, so heel and toe cannot be told", "beide Enden sind gleich, Ferse und Spitze sind nicht zu unterscheiden"],
  ["no one of its sides stands out as the bottom", "keine Seite hebt sich als Boden ab"],
  [
    "no line between bottom and wall shows: only {n} of {n2} sections have one; check that the bottom was scanned too",
    "zwischen Boden und Wand zeigt sich keine Linie: nur {n} von {n2} Schnitten haben eine; prüfen Sie, ob auch der Boden gescannt wurde",
  ],
  ["the given {said} cannot be used: {said2}", "eine Angabe ist nicht zu gebrauchen ({said}): {said2}"],
  ["pose", "Stellung"],
  [
    "it must be a rotation with one positive scale, and its determinant is {n}",
    "sie muss eine Drehung mit einem einzigen positiven Maßstab sein, und ihre Determinante ist {n}",
  ],
  ["it scales by {n}, but one {unit} is {n2} mm", "sie vergrößert um {n}, aber eine Einheit ({unit}) ist {n2} mm"],
  ["{n} mm is not between 80 and 340 mm", "{n} mm liegt nicht zwischen 80 und 340 mm"],
  ["{n} mm is not between -10 and 150 mm", "{n} mm liegt nicht zwischen −10 und 150 mm"],
  ["its coordinates are {text}", "seine Koordinaten sind {text}"],
  ["it needs at least 24 points all round", "sie braucht mindestens 24 Punkte rundum"],
  ["it holds numbers that are not finite", "sie enthält Zahlen, die nicht endlich sind"],
];

export const last: Pair[] = [...found, ...places, ...warnings, ...measures, ...refused];
