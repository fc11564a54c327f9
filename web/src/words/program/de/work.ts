// German for what is told of the work: steps under way, what was typed and refused, conflicts, papers.
import type { Pair } from "../../said";

const steps: Pair[] = [
  ["working out what follows", "ausrechnen, was folgt"],
  ["reading the scan", "den Scan lesen"],
  ["mending the scan", "den Scan ausbessern"],
  ["standing the last and finding its marks", "den Leisten aufstellen und seine Punkte suchen"],
  ["drawing the stiffener and laying it flat", "die Hinterkappe zeichnen und flach legen"],
];

const typed: Pair[] = [
  ["as found, or by the rule", "wie gefunden, oder nach Regel"],
  ["{n} mm", "{n} mm"],
  ["nothing was typed; type a number, such as 12.5", "es wurde nichts getippt; tippen Sie eine Zahl, etwa 12,5"],
  ["\"{text}\" may mean {n} or {n2}; type {n3} or {n4}", "„{text}“ kann {n} oder {n2} heißen; tippen Sie {n3} oder {n4}"],
  [
    "\"{text}\" is no length; type a number, such as 12.5, 12,5 mm, 1.25 cm or 1/2 in",
    "„{text}“ ist keine Länge; tippen Sie eine Zahl, etwa 12.5, 12,5 mm, 1,25 cm oder 1/2 in",
  ],
  ["\"{text}\" is no unit of length here; use mm, cm, m or in", "„{text}“ ist hier keine Längeneinheit; nehmen Sie mm, cm, m oder in"],
  [
    "these rows cannot be kept; each place may stand in one row only, from {n} to {n2} mm from the seat, with both heights from {n3} to {n4} mm",
    "diese Reihen lassen sich nicht übernehmen; jede Stelle darf nur in einer Reihe stehen, {n} bis {n2} mm vor dem Fersenpunkt, mit beiden Höhen von {n3} bis {n4} mm",
  ],
  ["{n} is not allowed here; allowed is {said}", "{n} ist hier nicht erlaubt; erlaubt ist {said}"],
  ["\"{text}\" is not allowed here; allowed is {said}", "„{text}“ ist hier nicht erlaubt; erlaubt ist {said}"],
  ["{text} is not allowed here; allowed is {said}", "{text} ist hier nicht erlaubt; erlaubt ist {said}"],
  ["{said}; allowed is {said2}", "{said}; erlaubt ist {said2}"],
  ["this must not be empty; it holds {said}", "das darf nicht leer sein; erlaubt ist {said}"],
  ["one line of text in quotes, at most 500 characters", "eine Zeile Text, höchstens 500 Zeichen"],
  ["the name of a file beside job.toml, without a folder", "der Name einer Datei neben job.toml, ohne Ordner"],
  ["a size such as \"EU 39\", \"UK 6\", \"UK child 10\" or \"US men 8\"", "eine Größe wie „EU 39“, „UK 6“, „UK child 10“ oder „US men 8“"],
  ["one of {text}", "eines von {text}"],
  ["true or false", "ja oder nein"],
  ["a whole number from 1 on", "eine ganze Zahl ab 1"],
  ["a whole number from {n} to {n2}", "eine ganze Zahl von {n} bis {n2}"],
  ["a length from {n} to {n2} mm", "eine Länge von {n} bis {n2} mm"],
  ["a place [x, y, z] in the coordinates of the scan", "ein Ort [x, y, z] in den Koordinaten des Scans"],
  ["a list of at least three places [x, y, z]", "eine Liste von wenigstens drei Orten [x, y, z]"],
  [
    "four rows of four numbers: a rotation with an even scale, a shift, and 0, 0, 0, 1",
    "vier Reihen zu vier Zahlen: eine Drehung mit gleichmäßigem Maßstab, eine Verschiebung, und 0, 0, 0, 1",
  ],
  [
    "a list of {text}, along rising within {n} to {n2} mm, heights from {n3} to {n4} mm",
    "eine Liste von Stellen, die von hinten nach vorn aufeinander folgen, {n} bis {n2} mm vor dem Fersenpunkt, mit Höhen von {n3} bis {n4} mm",
  ],
  [
    "{n}, the millimetres in the \"last.unit\" of the file; correct one of the two or remove the pose",
    "{n}, so viele Millimeter hat die Einheit des Scans; berichtigen Sie eines von beiden, oder stellen Sie den Leisten neu auf",
  ],
  [
    "size \"{text}\" can be one of several, with these lasts: {text2}; write the one you mean",
    "die Größe „{text}“ kann mehreres heißen, mit diesen Leistenlängen: {text2}; schreiben Sie, was Sie meinen",
  ],
  [
    "size \"{text}\" is not known; sizes are written {text2}",
    "die Größe „{text}“ ist nicht bekannt; Größen schreibt man so: {text2}",
  ],
  [
    "size \"{text}\" names no system, and none has that number; sizes are written {text2}",
    "die Größe „{text}“ nennt kein System, und keines hat diese Zahl; Größen schreibt man so: {text2}",
  ],
  ["size \"{text}\" does not exist: there are {said}", "die Größe „{text}“ gibt es nicht, nur {said}"],
  ["{text} in half sizes", "{text} in halben Größen"],
  ["{text} in steps of {text2}", "{text} in Schritten von {text2}"],
];

const edge: Pair[] = [
  [
    "{said} and {said2} cannot both be met: they conflict by {n} mm at the {said3}. Change one of them",
    "{said} und {said2} gehen nicht zusammen: sie widersprechen sich um {n} mm ({said3}). Ändern Sie eines von beiden",
  ],
  ["back height {n} mm", "Fersenhöhe {n} mm"],
  ["height {n} mm of the {side} wing's end", "Höhe {n} mm am Ende des {side:en} Flügels"],
  ["the {side} wing, which ends {n} mm high", "der {side:e} Flügel, der {n} mm hoch endet,"],
  ["{said} {n} mm, {said2},", "{said} {n} mm, {said2},"],
  ["{said} {n} mm", "{said} {n} mm"],
  ["less {n} mm to stay clear of it", "weniger {n} mm Abstand"],
  ["less {n} mm to stay below it", "weniger {n} mm, um darunter zu bleiben"],
  ["centre back; look where the {side} ankle is marked", "hintere Mitte; sehen Sie nach, wo der {side:stem}knöchel gesetzt ist"],
  [
    "{side}, {n} mm from the centre back, where one smooth edge would have to fall too steeply",
    "{side}, {n} mm von der hinteren Mitte, wo eine glatte Kante zu steil abfallen müsste",
  ],
  [
    "the {side} wing would end {n} mm {ahead} the seat, which leaves no wing; check the {side2} joint and the breast",
    "der {side:e} Flügel würde {n} mm {ahead} dem Fersenpunkt enden, das lässt keinen Flügel; prüfen Sie den {side2:stem}ballen und die Absatzfront",
  ],
  [
    "size {text} is a child's: no rule and no survey says how high its ankles lie. Measure both ankles on the child and enter their heights; that of the {side} ankle is missing",
    "{text} ist eine Kindergröße: keine Regel und keine Erhebung sagt, wie hoch die Knöchel liegen. Messen Sie beide Knöchel am Kind und tragen Sie die Höhen ein; die des {side:stem}knöchels fehlt",
  ],
  ["the feather line has {n} points; it needs at least 16 round the bottom", "die Leistenkante hat {n} Punkte; sie braucht wenigstens 16 rund um den Boden"],
  [
    "{n} mm from the centre back the last is not high enough: {said}; scan more of the last, or lower the stiffener",
    "{n} mm von der hinteren Mitte ist der Leisten nicht hoch genug: {said}; scannen Sie mehr vom Leisten, oder machen Sie die Hinterkappe niedriger",
  ],
  ["the surface ends after {n} mm, {n2} mm were asked for", "die Oberfläche endet nach {n} mm, verlangt sind {n2} mm"],
  [
    "the feather line does not reach {n} mm forward of the seat on the {side}; check the joint marks",
    "die Leistenkante reicht {side} nicht bis {n} mm vor den Fersenpunkt; prüfen Sie die Ballen",
  ],
  [
    "a margin of {n} mm leaves no room for the nicks that tell left from right (they stay {n2} mm inside the insole edge); make the margin {n3} mm or more",
    "ein Einschlag von {n} mm lässt keinen Platz für die Kerben, die links von rechts unterscheiden (sie bleiben {n2} mm innerhalb der Kante der Brandsohle); machen Sie den Einschlag wenigstens {n3} mm breit",
  ],
  [
    "the {side} wing has no free edge for its nicks between V's and slits; make the wing longer",
    "der {side:e} Flügel hat zwischen Keilen und Schlitzen keinen Rand frei für seine Kerben; machen Sie den Flügel länger",
  ],
  ["the outline of the stiffener could not be drawn on the last", "der Umriss der Hinterkappe ließ sich nicht auf den Leisten zeichnen"],
  ["the stiffener could not be cut out of the last", "die Hinterkappe ließ sich nicht aus dem Leisten ausschneiden"],
  ["the stiffener could not be divided into even triangles", "die Hinterkappe ließ sich nicht in gleichmäßige Dreiecke teilen"],
  ["the stiffener could not be lifted off the last", "die Hinterkappe ließ sich nicht vom Leisten abheben"],
  ["the last's surface is not sound", "die Oberfläche des Leistens ist nicht heil"],
  ["the stiffener could not be laid flat", "die Hinterkappe ließ sich nicht flach legen"],
  ["no cuts could be made in the wall of the stiffener", "in der Wand der Hinterkappe ließen sich keine Einschnitte machen"],
  [
    "the stiffener could not be laid flat: its parts would be stretched or shrunk by {n} % on average; the scan is too rough about the heel, smooth it in the scan program or scan it again",
    "die Hinterkappe ließ sich nicht flach legen: ihre Teile würden im Mittel um {n} % gedehnt oder gestaucht; der Scan ist an der Ferse zu rau, glätten Sie ihn im Scanprogramm, oder scannen Sie noch einmal",
  ],
  [
    "the outline was moved further than the piece can follow; draft it afresh",
    "der Umriss wurde weiter bewegt, als das Teil folgen kann; zeichnen Sie es neu",
  ],
  [
    "no place of the surface on that side lies {n} mm from the line",
    "auf dieser Seite liegt keine Stelle der Oberfläche {n} mm von der Linie entfernt",
  ],
  [
    "the line does not enclose a piece of the surface; look for a hole in the last there",
    "die Linie umschließt kein Stück der Oberfläche; suchen Sie dort ein Loch im Leisten",
  ],
  [
    "the line crosses itself in triangle {n} of the surface; draw it without a loop",
    "die Linie kreuzt sich in Dreieck {n} der Oberfläche; zeichnen Sie sie ohne Schlinge",
  ],
  [
    "no path over the surface from {at} to {at2}: it left after {n} mm (they are {n2} mm apart); look for a hole or a fold there",
    "kein Weg über die Oberfläche von {at} nach {at2}: nach {n} mm führte er hinaus (sie liegen {n2} mm auseinander); suchen Sie dort ein Loch oder eine Falte",
  ],
  ["lines lie over each other at {n} mm; draw them apart there, or once", "bei {n} mm liegen Linien aufeinander; zeichnen Sie sie dort getrennt, oder nur eine"],
];

const talk: Pair[] = [
  ["the new job has no name", "der neue Auftrag hat keinen Namen"],
  ["give it one of its own", "geben Sie ihm einen eigenen"],
  ["put it right, and the work goes on here by itself", "bringen Sie es in Ordnung, dann geht es hier von selbst weiter"],
  [
    "the scan was changed outside this program; what follows is worked out anew",
    "der Scan wurde außerhalb dieses Programms geändert; was daraus folgt, wird neu ausgerechnet",
  ],
  ["the job was changed outside, and cannot be read any more", "der Auftrag wurde von außen geändert und lässt sich nicht mehr lesen"],
  ["there is nothing to take back", "es gibt nichts zurückzunehmen"],
  ["there is nothing to bring back", "es gibt nichts zu wiederholen"],
  ["the last does not stand yet; wait until it does", "der Leisten steht noch nicht; warten Sie, bis er steht"],
  ["nothing was dragged", "es wurde nichts gezogen"],
  ["nothing was said to be dragged", "es wurde nicht gesagt, was gezogen wird"],
  ["the program does not understand the page: {said}", "das Programm versteht die Seite nicht: {said}"],
  ["this cannot be understood", "das lässt sich nicht verstehen"],
  ["load the page again", "laden Sie die Seite neu"],
  [
    "the job was changed outside this program; what you see is the newest state",
    "der Auftrag wurde außerhalb dieses Programms geändert; was Sie sehen, ist der neueste Stand",
  ],
  [
    "this was changed outside the program since; going back would lose that change",
    "das wurde seither außerhalb des Programms geändert; ein Zurück würde diese Änderung verlieren",
  ],
  ["there is no piece", "es gibt kein Teil"],
  ["see what the checks say", "sehen Sie nach, was die Prüfungen sagen"],
  ["the scan could not be stood", "der Scan ließ sich nicht aufstellen"],
  ["see what the job says of it", "sehen Sie nach, was der Auftrag dazu sagt"],
  ["the scan is not on the table any more", "der Scan liegt nicht mehr bereit"],
  ["this scan is not on the table any more", "dieser Scan liegt nicht mehr bereit"],
  ["hand it over once more", "übergeben Sie ihn noch einmal"],
  ["the scan is larger than {n} MiB", "der Scan ist größer als {n} MiB"],
  ["export it with fewer triangles; 500,000 are plenty", "exportieren Sie ihn mit weniger Dreiecken; 500 000 sind reichlich"],
  ["there is no job \"{text}\"", "es gibt keinen Auftrag „{text}“"],
  ["look at the list of jobs", "sehen Sie in der Liste der Aufträge nach"],
  ["a job has a mesh as read, and one stood", "ein Auftrag hat ein Netz wie gelesen und eines aufgestellt"],
  ["there is no such file", "diese Datei gibt es nicht"],
  ["there is nothing at this address", "unter dieser Adresse ist nichts"],
  ["the work on this broke off, which is a fault of the program", "die Arbeit daran brach ab; das ist ein Fehler des Programms"],
  ["try again; if it happens again, keep the job and tell its makers", "versuchen Sie es noch einmal; geschieht es wieder, heben Sie den Auftrag auf und melden Sie es"],
  ["this address is not the workbench's own", "diese Adresse ist nicht die der Werkbank"],
  ["open the address that the program printed", "öffnen Sie die Adresse, die das Programm genannt hat"],
  ["another page asked for this", "eine andere Seite hat danach gefragt"],
  ["use the workbench's own page", "benutzen Sie die eigene Seite der Werkbank"],
  ["this browser does not hold the key of the running program", "dieser Browser hat den Schlüssel des laufenden Programms nicht"],
  [
    "open the whole address that the program printed, the part behind the ? too",
    "öffnen Sie die ganze Adresse, die das Programm genannt hat, auch den Teil hinter dem ?",
  ],
  ["this machine does not let the program answer in the network: {said}", "dieser Rechner lässt das Programm nicht im Netz antworten: {said}"],
  [
    "a firewall or a guard against viruses may forbid it: let Featherline through there, then switch on once more",
    "eine Firewall oder ein Virenschutz kann es verbieten: lassen Sie Featherline dort zu, und schalten Sie noch einmal ein",
  ],
  ["the tablet was switched off at the bench", "das Tablet wurde an der Werkbank ausgeschaltet"],
  ["this device is not paired", "dieses Gerät ist nicht angemeldet"],
  ["open the address that the screen at the bench shows, by its numbers", "öffnen Sie die Adresse, die der Bildschirm an der Werkbank zeigt, mit ihren Ziffern"],
  ["open the first page and enter the code shown at the bench", "öffnen Sie die erste Seite und geben Sie den Code ein, den die Werkbank zeigt"],
];

const file: Pair[] = [
  ["{text}, line {n}: not readable as TOML: {said}", "{text}, Zeile {n}: nicht als TOML zu lesen: {said}"],
  [
    "{text}: written by a newer version (schema {n}, this one reads up to {n2}); update Featherline",
    "{text}: von einer neueren Fassung geschrieben (Schema {n}, diese liest bis {n2}); bringen Sie Featherline auf den neuen Stand",
  ],
  ["{text}: \"{text2}\" is missing; it holds {said}", "{text}: „{text2}“ fehlt; erlaubt ist {said}"],
  ["{text}, line {n}: \"{text2}\" is not known", "{text}, Zeile {n}: „{text2}“ ist nicht bekannt"],
  ["did you mean \"{text}\"?", "war „{text}“ gemeint?"],
  ["remove it or correct its spelling", "nehmen Sie es heraus, oder berichtigen Sie die Schreibung"],
  ["{text}, line {n}: \"{text2}\" is {text3}; allowed is {said}", "{text}, Zeile {n}: „{text2}“ ist {text3}; erlaubt ist {said}"],
  ["the history of edits cannot be read, so earlier edits cannot be undone", "der Verlauf der Änderungen ist nicht zu lesen, frühere lassen sich also nicht zurücknehmen"],
  ["the job itself is whole; a new history begins with the next edit", "der Auftrag selbst ist heil; ein neuer Verlauf beginnt mit der nächsten Änderung"],
  ["{text}: is already there and not empty; choose another folder", "{text}: ist schon da und nicht leer; wählen Sie einen anderen Ordner"],
  ["{text}: the scan of the last cannot be read ({said})", "{text}: der Scan des Leistens ist nicht zu lesen ({said})"],
  [
    "{text}: the job cannot be written ({said}); check that the disk is there, has room and lets you write",
    "{text}: der Auftrag lässt sich nicht schreiben ({said}); prüfen Sie, ob der Datenträger da ist, Platz hat und Sie schreiben dürfen",
  ],
  ["{text}: there is no such job folder; `featherline new` makes one", "{text}: diesen Ordner eines Auftrags gibt es nicht; „featherline new“ legt einen an"],
  ["{text}: holds no job.toml, so it is no job", "{text}: enthält keine job.toml, ist also kein Auftrag"],
  ["{text}: cannot be read ({said})", "{text}: ist nicht zu lesen ({said})"],
  [
    "{text}: \"last.file\" names \"{text2}\", which is not in this folder; put it back or correct the name",
    "{text}: „last.file“ nennt „{text2}“, das nicht in diesem Ordner ist; legen Sie es zurück, oder berichtigen Sie den Namen",
  ],
  ["{text}: \"{text2}\" is not in this folder; copy it there first", "{text}: „{text2}“ ist nicht in diesem Ordner; kopieren Sie es erst dorthin"],
  [
    "{text}: was changed by another program since it was opened; open the job again and repeat the edit",
    "{text}: wurde von einem anderen Programm geändert, seit es geöffnet wurde; öffnen Sie den Auftrag neu und wiederholen Sie die Änderung",
  ],
  [
    "{text}: cannot be saved ({said}); check that the disk is there, has room and lets you write",
    "{text}: lässt sich nicht speichern ({said}); prüfen Sie, ob der Datenträger da ist, Platz hat und Sie schreiben dürfen",
  ],
  ["\"{text}\" is not a setting", "„{text}“ ist keine Einstellung"],
  ["\"{text}\" is kept by Featherline itself and cannot be set", "„{text}“ führt Featherline selbst und ist nicht einzustellen"],
];

const papers: Pair[] = [
  ["how to cut it, and why every number is what it is", "wie es zu schneiden ist, und warum jede Zahl ist, wie sie ist"],
  ["the piece at full scale on one page", "das Teil in voller Größe auf einer Seite"],
  ["the piece at full scale on {said}", "das Teil in voller Größe: {said}"],
  ["{said} of {text}, {stand}: {said2}, {said3}", "{said} {text}, {stand}: {said2}, {said3}"],
  ["1 {thing}", "1 {thing}"],
  ["{n} {thing}s", "{n} {thing:many}"],
  ["the piece at full scale, for drawing programs and lasers", "das Teil in voller Größe, für Zeichenprogramme und Laser"],
  ["the piece at full scale, for cutting tables", "das Teil in voller Größe, für Schneidtische"],
  ["where the material stretches and where it has fullness", "wo sich das Material dehnt und wo es Mehrweite hat"],
  ["dimensions, checks and strain, for other programs", "Maße, Prüfungen und Dehnung, für andere Programme"],
  ["the wall of the piece on the bare last", "die Wand des Teils auf dem bloßen Leisten"],
  ["the same outside the lining", "dieselbe außen auf dem Futter"],
  ["the same laid flat", "dieselbe flach gelegt"],
  ["the last, standing, in mm", "der Leisten, stehend, in mm"],
];

const materials: Pair[] = [["{material}", "{material}"]];

export const work: Pair[] = [...steps, ...typed, ...edge, ...talk, ...file, ...papers, ...materials];
