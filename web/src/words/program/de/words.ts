// German for the words that stand in the holes of sentences, each case its own table.

/** `{s}`: the ending of an English plural, and what a German noun adds for it. */
const plural = { s: { "": "", s: "n" } };

const sides = {
  side: { inside: "innen", outside: "außen" },
  // innerer Flügel
  "side:er": { inside: "innerer", outside: "äußerer" },
  // der innere Flügel
  "side:e": { inside: "innere", outside: "äußere" },
  // dem inneren Flügel
  "side:en": { inside: "inneren", outside: "äußeren" },
  // Innenknöchel, Innenballen
  "side:stem": { inside: "Innen", outside: "Außen" },
};

const feet = {
  foot: { left: "links", right: "rechts" },
  "foot:er": { left: "linker", right: "rechter" },
  "foot:e": { left: "linke", right: "rechte" },
  "foot:en": { left: "linken", right: "rechten" },
};

const marks = {
  mark: {
    seat: "Fersenpunkt",
    "inside joint": "Innenballen",
    "outside joint": "Außenballen",
    "inside ankle": "Innenknöchel",
    "outside ankle": "Außenknöchel",
    "heel breast": "Absatzfront",
    "top of the centre back": "Oberes Ende der hinteren Mitte",
    "waist point": "Taillenpunkt",
    "instep point": "Ristpunkt",
    "vamp point": "Blattpunkt",
    "toe point": "Spitzenpunkt",
    "front of the top": "Vorderes Ende oben",
    "back of the top": "Hinteres Ende oben",
    "feather line": "Leistenkante",
  },
};

const places = {
  before: { "in front of": "vor", behind: "hinter" },
  ahead: { "forward of": "vor", behind: "hinter" },
  above: { above: "über", below: "unter" },
  middle: { "in the middle": "in der Mitte", "on the inside": "innen", "on the outside": "außen" },
  open: { bottom: "am Boden", toe: "an der Spitze", back: "hinten", side: "an der Seite" },
};

const things = {
  unit: { mm: "Millimeter", cm: "Zentimeter", m: "Meter", in: "Zoll" },
  line: {
    "centre back": "hintere Mitte",
    "inside wing along the feather line": "Flügel innen entlang der Leistenkante",
    "outside wing along the feather line": "Flügel außen entlang der Leistenkante",
    "top edge with both ends": "Oberkante mit beiden Enden",
    "inside wing": "Flügel innen",
    "outside wing": "Flügel außen",
  },
  state: { "on the last": "am Leisten", "where the piece lies": "wo das Teil liegt", flat: "flach" },
  kind: {
    "leather, lasted wet": "Leder, nass gezwickt",
    fibreboard: "Faserpappe",
    "thermoplastic, lasted hot": "Thermoplast, heiß gezwickt",
    "moulded, bought in": "vorgeformt, zugekauft",
  },
  material: {
    "wet leather": "nasses Leder",
    "dry leather": "trockenes Leder",
    board: "Faserpappe",
    "hot thermoplastic": "heißer Thermoplast",
  },
  // What a file may be in; the article goes with its name.
  format: { "an STL": "STL", "an OBJ": "OBJ", "a PLY": "PLY" },
  thing: { sheet: "Blatt", row: "Reihe", column: "Spalte" },
  "thing:many": { sheet: "Blätter", row: "Reihen", column: "Spalten" },
  stand: { upright: "hochkant", "lying on the long side": "quer" },
  how: { "and smoothed": "und geglättet", "without changing the surface": "ohne die Oberfläche zu ändern" },
};

export const words: Record<string, Record<string, string>> = { ...plural, ...sides, ...feet, ...marks, ...places, ...things };
