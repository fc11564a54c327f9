// German for what is told of the sizes of a range: why one cannot be made, what holds a step, its files.
import type { Pair } from "../../said";

const asked: Pair[] = [
  ["no sizes have been derived", "es sind noch keine Größen angefertigt"],
  ["pick a run of sizes and derive it first", "wählen Sie erst einen Größenlauf, und fertigen Sie ihn an"],
  ["{text} is in no run through {text2}", "{text} kommt in keinem Größenlauf durch {text2} vor"],
  ["no size is left in this run", "in diesem Größenlauf bleibt keine Größe"],
  ["pick the run anew", "wählen Sie den Größenlauf neu"],
  ["there is no such size in this run", "diese Größe gibt es in diesem Größenlauf nicht"],
  ["pick another, or derive the run again", "wählen Sie eine andere, oder fertigen Sie den Größenlauf neu an"],
  [
    "other fittings are made from that of the last; say which one it has",
    "andere Weiten werden von der des Leistens aus gemacht; sagen Sie, welche er hat",
  ],
  [
    "the last is now of another system of sizes; pick the run anew",
    "der Leisten ist jetzt in einer anderen Größenzählung; wählen Sie den Größenlauf neu",
  ],
  [
    "{text} has no fitting \"{text2}\"; it has {text3} ({text4} is the narrowest)",
    "{text} hat keine Weite „{text2}“; es gibt {text3} ({text4} ist die schmalste)",
  ],
  [
    "{text} names no fittings with a girth step (it writes the foot's width in mm); leave the fitting away, or write the size in another system",
    "{text} nennt keine Weiten mit einem Umfangssprung (es schreibt die Breite des Fußes in mm); lassen Sie die Weite weg, oder schreiben Sie die Größe in einer anderen Zählung",
  ],
  ["the sizes cannot be derived side by side: {text}", "die Größen lassen sich nicht nebeneinander anfertigen: {text}"],
  ["close other programs and derive them again", "schließen Sie andere Programme, und fertigen Sie sie neu an"],
];

const graded: Pair[] = [
  [
    "the {said} cannot be measured on the last to be graded; check the marks that it goes over, and place them by hand",
    "am Leisten, der gradiert werden soll, lässt sich dieser Umfang nicht messen: {said}; prüfen Sie die Punkte, über die er geht, und setzen Sie sie von Hand",
  ],
  [
    "the feather line is too short to grade the last along it; place it by hand",
    "die Leistenkante ist zu kurz, um den Leisten an ihr entlang zu gradieren; setzen Sie sie von Hand",
  ],
  [
    "the {said} of {n} mm cannot be reached, the nearest is {n2} mm; check the marks that it goes over: it should lie between the joints and the front of the top",
    "{said}: {n} mm sind nicht zu erreichen, am nächsten kommen {n2} mm; prüfen Sie die Punkte, über die er geht: er soll zwischen den Ballen und dem vorderen Ende oben liegen",
  ],
  [
    "the {said} of {n} mm cannot be reached on a last of standard length {n2} mm: the last would be {n3} times as full there, and {n4} to {n5} is what a last may be; choose a size or a fitting nearer to the base",
    "{said}: {n} mm sind an einem Leisten von {n2} mm Normlänge nicht zu erreichen: der Leisten wäre dort {n3}-mal so voll, und {n4} bis {n5} darf er sein; wählen Sie eine Größe oder Weite, die näher an der des Leistens liegt",
  ],
  [
    "{n} mm was measured on a wearer of {text} ({foot} foot); for {text2} {n2} mm is taken",
    "{n} mm sind an einem Träger von {text} gemessen ({foot:er} Fuß); für {text2} gelten {n2} mm",
  ],
  [
    "measure a wearer of that size, and draft it as a job of its own",
    "messen Sie einen Träger dieser Größe, und zeichnen Sie sie als eigenen Auftrag",
  ],
  ["an uneven step: compare the sizes", "ein ungleicher Sprung: vergleichen Sie die Größen"],
  [
    "the rule stays level above a standard last length of {n} mm",
    "über einer Normlänge des Leistens von {n} mm bleibt die Regel gleich",
  ],
  [
    "below a standard last length of {n} mm the rule falls in proportion",
    "unter einer Normlänge des Leistens von {n} mm fällt die Regel im Verhältnis",
  ],
];

const files: Pair[] = [
  ["the job was changed since these sizes were derived", "der Auftrag wurde geändert, seit diese Größen angefertigt wurden"],
  ["derive them again before you write them", "fertigen Sie sie neu an, ehe Sie sie schreiben"],
  [
    "{n} of the pieces could not be derived, and nothing is written",
    "{n} der Teile ließen sich nicht anfertigen, und es wird nichts geschrieben",
  ],
  [
    "mend what is said of each, or leave those sizes out",
    "bessern Sie aus, was bei jedem gesagt ist, oder lassen Sie diese Größen weg",
  ],
  ["{text}: cannot be written: {text2}", "{text}: lässt sich nicht schreiben: {text2}"],
  ["check that the disk has room and lets you write", "prüfen Sie, ob der Datenträger Platz hat und Sie schreiben lässt"],
  ["the sizes over each other, and the grade table", "die Größen übereinander, und die Gradiertabelle"],
  ["every piece at full scale, a page each", "jedes Teil in voller Größe, je eine Seite"],
  ["each dimension by size, for other programs", "jedes Maß nach Größen, für andere Programme"],
  ["the sizes over each other at full scale", "die Größen übereinander in voller Größe"],
  ["the same for drawing programs", "dasselbe für Zeichenprogramme"],
  ["the same for cutting tables", "dasselbe für Schneidtische"],
  ["the graded last, standing, in mm", "der gradierte Leisten, stehend, in mm"],
];

export const range: Pair[] = [...asked, ...graded, ...files];
