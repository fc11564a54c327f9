// German for what is told of a scan: why its file cannot be read, what was mended, and what cannot be.
import type { Pair } from "../../said";

const mended: Pair[] = [
  ["mesh", "Netz"],
  ["nothing to do", "nichts zu tun"],
  ["{len}", "{len}"],
  [
    "a flat plate that the body stood on was cut off, {len} above its face ({n} % of the body's length); what lay below the cut is missing, and leaves openings: {n2}",
    "eine flache Platte, auf der der Körper stand, wurde abgeschnitten, {len} über ihrer Fläche ({n} % der Länge des Körpers); was unter dem Schnitt lag, fehlt und lässt Öffnungen: {n2}",
  ],
  [
    "check that no more than the plate is gone; stand it on its flat top to scan the underside whole",
    "prüfen Sie, dass nicht mehr als die Platte fehlt; stellen Sie ihn auf seine flache Oberseite, um die Unterseite ganz zu scannen",
  ],
  [
    "a rod that the body was held by, {len} long and {len2} thick, was cut off together with the face that it stands on, {len3} below that; it is open there",
    "ein Stab, an dem der Körper gehalten wurde, {len} lang und {len2} dick, wurde mit der Fläche abgeschnitten, auf der er steht, {len3} darunter; dort ist er offen",
  ],
  ["check that no more than the rod is gone", "prüfen Sie, dass nicht mehr als der Stab fehlt"],
  [
    "the surface passes through itself or is folded over: {n} place{s}, up to {len} across, {n2} triangles",
    "die Oberfläche durchdringt sich oder ist umgeschlagen: {n} Stelle{s}, bis {len} groß, {n2} Dreiecke",
  ],
  [
    "look at the surface there: a measure across it may be wrong; scan that part again, or smooth it in the scan program",
    "sehen Sie die Oberfläche dort an: ein Maß darüber kann falsch sein; scannen Sie diesen Teil noch einmal, oder glätten Sie ihn im Scanprogramm",
  ],
  ["small holes filled: {n}, up to {len} across", "kleine Löcher gefüllt: {n}, bis {len} groß"],
  ["{n} of them across a sharp edge, which is invented there", "{n} davon über eine scharfe Kante, die dort erfunden ist"],
  ["look at the edge there", "sehen Sie die Kante dort an"],
  ["points joined where a rim met itself: {n}", "Punkte verbunden, wo ein Rand sich selbst traf: {n}"],
  ["triangles removed where the rim of a hole is folded over it: {n}", "Dreiecke entfernt, wo der Rand eines Lochs darüber umgeschlagen ist: {n}"],
  ["look at the surface there", "sehen Sie die Oberfläche dort an"],
  ["a hole filled: {len} across, its rim {len2} long", "ein Loch gefüllt: {len} groß, sein Rand {len2} lang"],
  ["a sharp edge runs through it, and is invented there", "eine scharfe Kante läuft hindurch und ist dort erfunden"],
  [
    "look at the edge there; scan that part again if the edge matters",
    "sehen Sie die Kante dort an; scannen Sie diesen Teil noch einmal, wenn es auf die Kante ankommt",
  ],
  [
    "look at the surface there; scan that part again if it matters",
    "sehen Sie die Oberfläche dort an; scannen Sie diesen Teil noch einmal, wenn es darauf ankommt",
  ],
  ["an opening left as it is: {len} across, its rim {len2} long", "eine Öffnung gelassen, wie sie ist: {len} groß, ihr Rand {len2} lang"],
  [
    "nothing to do when the form is open there; otherwise close it in the scan program",
    "nichts zu tun, wenn die Form dort offen ist; sonst schließen Sie sie im Scanprogramm",
  ],
  ["{n} mm {before} the seat and {n2} mm {above} it, {middle}", "{n} mm {before} dem Fersenpunkt und {n2} mm {above} ihm, {middle}"],
  [
    "the inner wall of a hollow body, joined to the outer one round the opening, removed",
    "die innere Wand eines hohlen Körpers, rund um die Öffnung mit der äußeren verbunden, entfernt",
  ],
  ["nothing to do, if the model was hollow", "nichts zu tun, wenn das Modell hohl war"],
  [
    "edges with more than two triangles: {n}; triangles of fins removed: {n2}",
    "Kanten mit mehr als zwei Dreiecken: {n}; Dreiecke überstehender Lappen entfernt: {n2}",
  ],
  [
    "look at the surface there: a fin or an inner wall was cut off",
    "sehen Sie die Oberfläche dort an: ein überstehender Lappen oder eine innere Wand wurde abgeschnitten",
  ],
  ["plates, blocks or rods beside the body removed", "Platten, Klötze oder Stäbe neben dem Körper entfernt"],
  ["nothing to do, if the body stood on them", "nichts zu tun, wenn der Körper darauf stand"],
  ["small bodies removed", "kleine Körper entfernt"],
  ["nothing to do, if they were dust or a stand", "nichts zu tun, wenn es Staub oder ein Ständer war"],
  ["second copies of the surface, up to {len} beside it, removed", "zweite Ausfertigungen der Oberfläche, bis {len} daneben, entfernt"],
  ["nothing to do, if one is as good as the other", "nichts zu tun, wenn eine so gut ist wie die andere"],
  ["bodies inside the largest removed", "Körper im Innern des größten entfernt"],
  ["points welded to a neighbour", "Punkte mit einem Nachbarn verschweißt"],
  ["triangles without area removed", "Dreiecke ohne Fläche entfernt"],
  ["doubled triangles removed", "doppelte Dreiecke entfernt"],
  ["points without a triangle removed", "Punkte ohne Dreieck entfernt"],
  ["points parted where the surface only touched itself: {n}", "Punkte getrennt, wo die Oberfläche sich nur berührte: {n}"],
  ["rims that nearly match closed like a seam, over a length of {len}", "fast passende Ränder wie eine Naht geschlossen, auf einer Länge von {len}"],
  ["single points far off the surface pulled back into it: {n}", "einzelne Punkte weit neben der Oberfläche in sie zurückgezogen: {n}"],
  ["look at the surface there, if it should have a point", "sehen Sie die Oberfläche dort an, falls sie eine Spitze haben soll"],
  ["triangles flipped to face outward: {n}", "Dreiecke nach außen gewendet: {n}"],
  ["the surface is flat: inside and outside cannot be told", "die Oberfläche ist flach: innen und außen sind nicht zu unterscheiden"],
  ["flip it by hand if it faces the wrong way", "wenden Sie sie von Hand, wenn sie falsch herum liegt"],
  [
    "triangles removed where the surface is twisted so that it has no outside: {n}",
    "Dreiecke entfernt, wo die Oberfläche so verdreht ist, dass sie keine Außenseite hat: {n}",
  ],
  [
    "look at the surface there; a strip that turns over does not belong to a solid form",
    "sehen Sie die Oberfläche dort an; ein Streifen, der sich wendet, gehört zu keiner festen Form",
  ],
  ["triangles without height mended: {n}", "Dreiecke ohne Höhe ausgebessert: {n}"],
  ["triangles without height left as they are: {n}", "Dreiecke ohne Höhe gelassen, wie sie sind: {n}"],
  [
    "look at the surface there; scan or export it again if it is crumpled",
    "sehen Sie die Oberfläche dort an; scannen oder exportieren Sie noch einmal, wenn sie zerknittert ist",
  ],
];

const notSound: Pair[] = [
  ["the scan's surface is not sound", "die Oberfläche des Scans ist nicht heil"],
  ["the scan is open in {n} place{s}, and only the top may be", "der Scan ist an {n} Stelle{s} offen, und nur oben darf er es sein"],
  [
    "the scan is open at the {open} ({n} mm across): that part of the last is missing; scan it again, standing on its top",
    "der Scan ist {open} offen ({n} mm groß): dieser Teil des Leistens fehlt; scannen Sie ihn noch einmal, auf der Oberseite stehend",
  ],
  [
    "the scan is open along {n} mm, which no top is: a whole side of the last is missing, its bottom or its wall; scan it again from all sides",
    "der Scan ist auf {n} mm offen, so groß ist keine Oberseite: eine ganze Seite des Leistens fehlt, sein Boden oder seine Wand; scannen Sie ihn noch einmal von allen Seiten",
  ],
  [
    "the edge between vertices {n} and {n2} is used twice in the same direction; the surface is doubled, inverted or branches there",
    "die Kante zwischen den Ecken {n} und {n2} wird zweimal in derselben Richtung benutzt; dort ist die Oberfläche doppelt, verkehrt oder verzweigt",
  ],
  ["the mesh has no triangles; scan or export it again", "das Netz hat keine Dreiecke; scannen oder exportieren Sie noch einmal"],
  [
    "triangle {n}: vertex {n2} is named, but there are {n3}, counted from 0; export the mesh again",
    "Dreieck {n}: Ecke {n2} ist genannt, es gibt aber {n3}, von 0 an gezählt; exportieren Sie das Netz noch einmal",
  ],
  ["vertex {n}: a coordinate is not a finite number; export the mesh again", "Ecke {n}: eine Koordinate ist keine endliche Zahl; exportieren Sie das Netz noch einmal"],
  [
    "the surface is doubled, inverted or branches at the edge between vertices {n} and {n2}; tidy the mesh first",
    "an der Kante zwischen den Ecken {n} und {n2} ist die Oberfläche doppelt, verkehrt oder verzweigt; bringen Sie das Netz erst in Ordnung",
  ],
  [
    "the hole at {at} is {n} across, {n2} % of the surface (at most {n3} % is filled); scan that part again",
    "das Loch bei {at} ist {n} groß, {n2} % der Oberfläche (gefüllt werden höchstens {n3} %); scannen Sie diesen Teil noch einmal",
  ],
  [
    "a loose piece of {n} triangles lies at {at}, apart from the surface; delete it, or join it, in the scan program",
    "bei {at} liegt ein loses Stück aus {n} Dreiecken neben der Oberfläche; löschen oder verbinden Sie es im Scanprogramm",
  ],
  [
    "the rim at {at}, {n} across, is the border of a thin sheet and not a hole; a closed surface is needed",
    "der Rand bei {at}, {n} groß, ist der Rand einer dünnen Haut und kein Loch; gebraucht wird eine geschlossene Oberfläche",
  ],
  [
    "the hole at {at}, {n} across, cannot be filled without passing through the surface; its rim is folded or twisted: trim it in the scan program",
    "das Loch bei {at}, {n} groß, lässt sich nicht füllen, ohne durch die Oberfläche zu gehen; sein Rand ist umgeschlagen oder verdreht: beschneiden Sie ihn im Scanprogramm",
  ],
  [
    "the mesh lies {n} from the origin and is only {n2} across: the file's numbers cannot hold its shape there (they step by {n3}); move it to the origin in the scan program and export it again",
    "das Netz liegt {n} vom Ursprung entfernt und ist nur {n2} groß: die Zahlen der Datei können seine Form dort nicht halten (ihr Schritt ist {n3}); schieben Sie es im Scanprogramm zum Ursprung und exportieren Sie noch einmal",
  ],
  [
    "nothing is left after joining points within {n} mm; lower the tolerance or correct the unit (the mesh is {n2} mm across)",
    "nichts bleibt, wenn Punkte innerhalb von {n} mm verbunden werden; senken Sie die Toleranz oder berichtigen Sie die Einheit (das Netz ist {n2} mm groß)",
  ],
  [
    "the triangles have no area: all points lie on one line, or in one place; export the mesh again",
    "die Dreiecke haben keine Fläche: alle Punkte liegen auf einer Linie oder an einer Stelle; exportieren Sie das Netz noch einmal",
  ],
  [
    "two lasts in one file: keep one ({n} bodies of comparable size, with their middles at {at} and {at2}; the second has {n2} % of the surface of the first); delete all but one in the scan program",
    "zwei Leisten in einer Datei: behalten Sie einen ({n} Körper vergleichbarer Größe, ihre Mitten bei {at} und {at2}; der zweite hat {n2} % der Oberfläche des ersten); löschen Sie im Scanprogramm alle bis auf einen",
  ],
];

const AGAIN = "exportieren Sie noch einmal";
const read: Pair[] = [
  ["{text}: there is no such file; check the name and the folder", "{text}: diese Datei gibt es nicht; prüfen Sie Namen und Ordner"],
  ["{text}: this is a folder; name the mesh file inside it", "{text}: das ist ein Ordner; nennen Sie die Datei darin"],
  ["{text}: this is not an ordinary file; save the mesh as a file first", "{text}: das ist keine gewöhnliche Datei; speichern Sie das Netz erst als Datei"],
  [
    "{text}: cannot be read ({said}); check that you may open it and that the disk is in",
    "{text}: lässt sich nicht lesen ({said}); prüfen Sie, ob Sie sie öffnen dürfen und der Datenträger da ist",
  ],
  ["{text}: the file is empty (0 bytes); export the mesh again", `{text}: die Datei ist leer (0 Bytes); ${AGAIN}`],
  [
    "{text}: {n} bytes is more than the limit of {n2} bytes; reduce the number of triangles in the scan program and export again",
    `{text}: {n} Bytes sind mehr als die Grenze von {n2} Bytes; verringern Sie im Scanprogramm die Zahl der Dreiecke und ${AGAIN}`,
  ],
  [
    "{text}: not an STL, OBJ, PLY or 3MF file; export the mesh again as binary STL",
    `{text}: keine Datei der Art STL, OBJ, PLY oder 3MF; ${AGAIN}, als binäres STL`,
  ],
  [
    "{text}: {n} bytes are too few for an STL file (the least is 84); copy or export it again",
    `{text}: {n} Bytes sind zu wenige für eine STL-Datei (wenigstens 84); kopieren oder ${AGAIN}`,
  ],
  [
    "{text}: cut short at byte {n}: {n2} triangles are promised, {n3} are present; copy or export it again",
    `{text}: bei Byte {n} abgeschnitten: {n2} Dreiecke sind versprochen, {n3} vorhanden; kopieren oder ${AGAIN}`,
  ],
  [
    "{text}: {said}: meant to be an STL in text form, but there is no \"facet\" in it; export again as binary STL",
    `{text}: {said}: als STL in Textform gemeint, aber ohne „facet“; ${AGAIN}, als binäres STL`,
  ],
  ["{text}: line {n}: the file ends inside {said}; copy or export it again", `{text}: Zeile {n}: die Datei endet mitten in {said}; kopieren oder ${AGAIN}`],
  ["{text}: line {n}: expected {said}, found \"{text2}\"; {said2}", "{text}: Zeile {n}: erwartet war {said}, gefunden „{text2}“; {said2}"],
  ["{text}: line {n}: {said}; export again, best as binary STL", `{text}: Zeile {n}: {said}; ${AGAIN}, am besten als binäres STL`],
  [
    "{text}: {said}: a coordinate is not a finite number; repair the mesh in the scan program, or delete that triangle, and export again",
    `{text}: {said}: eine Koordinate ist keine endliche Zahl; bessern Sie das Netz im Scanprogramm aus oder löschen Sie das Dreieck, und ${AGAIN}`,
  ],
  [
    "{text}: {said}: vertex {n} is named, but {said2}; the file is damaged: export it again",
    `{text}: {said}: Ecke {n} ist genannt, aber es gibt sie nicht ({said2}); die Datei ist beschädigt: ${AGAIN}`,
  ],
  [
    "{text}: {said}: {n} {said2} are promised, which need at least {n2} bytes, but {n3} bytes are left; the file is cut short or damaged: copy or export it again",
    `{text}: {said}: {n} ({said2}) sind versprochen, wozu wenigstens {n2} Bytes nötig sind, aber {n3} Bytes sind übrig; die Datei ist abgeschnitten oder beschädigt: kopieren oder ${AGAIN}`,
  ],
  ["{text}: cut short at byte {n}, inside {said}; copy or export it again", `{text}: bei Byte {n} abgeschnitten, mitten in {said}; kopieren oder ${AGAIN}`],
  [
    "{text}: meant to be a 3MF, but it is no whole zip package ({said}); copy or export it again",
    `{text}: als 3MF gemeint, aber kein ganzes Zip-Paket ({said}); kopieren oder ${AGAIN}`,
  ],
  [
    "{text}: not an STL, OBJ, PLY or 3MF file, but a zip package without a 3D model (there is no \"{text2}\" in it); unpack it if the mesh lies inside, or export the mesh as 3MF or binary STL",
    "{text}: keine Datei der Art STL, OBJ, PLY oder 3MF, sondern ein Zip-Paket ohne 3D-Modell (ohne „{text2}“); entpacken Sie es, wenn das Netz darin liegt, oder exportieren Sie als 3MF oder binäres STL",
  ],
  [
    "{text}: {said}: unpacks to more than the limit of {n} bytes; reduce the number of triangles in the scan program and export again",
    `{text}: {said}: ist entpackt größer als die Grenze von {n} Bytes; verringern Sie im Scanprogramm die Zahl der Dreiecke und ${AGAIN}`,
  ],
  [
    "{text}: {said}: its objects are repeated to more than {n} triangles and vertices; keep one last in the file and export again",
    `{text}: {said}: seine Körper wiederholen sich zu mehr als {n} Dreiecken und Ecken; behalten Sie einen Leisten in der Datei und ${AGAIN}`,
  ],
  [
    "{text}: no triangles, {n} points; if it is a cloud of points, let the scan program make a surface of it, then export again",
    `{text}: keine Dreiecke, {n} Punkte; ist es eine Punktwolke, lassen Sie das Scanprogramm eine Oberfläche daraus machen, und ${AGAIN}`,
  ],
  ["{text}, byte {n}", "{text}, Byte {n}"],
  ["{text}, line {n}", "{text}, Zeile {n}"],
  ["line 1 to {n}", "Zeile 1 bis {n}"],
  ["line {n}, \"{text}\"", "Zeile {n}, „{text}“"],
  ["vertex {n} ({said})", "Ecke {n} ({said})"],
  ["of \"{text}\"", "„{text}“"],
  ["this line, at \"{text}\"", "dieser Zeile, bei „{text}“"],
  ["the {n} rows of \"{text}\", before row {n2}", "den {n} Reihen „{text}“, vor Reihe {n2}"],
  ["a PLY file begins with the word \"ply\"", "eine PLY-Datei beginnt mit dem Wort „ply“"],
  ["unknown \"{text}\"", "unbekannt: „{text}“"],
  ["unreadable \"{text}\"", "unlesbar: „{text}“"],
  ["a second element \"{text}\"", "ein zweites Element „{text}“"],
  ["a property before the first element", "eine „property“ vor dem ersten Element"],
  ["no \"format\" line", "keine Zeile „format“"],
  ["no element \"vertex\"", "kein Element „vertex“"],
  ["\"vertex\" needs one number named \"{text}\"", "„vertex“ braucht eine Zahl mit dem Namen „{text}“"],
  ["the header has no \"end_header\"", "dem Kopf der Datei fehlt „end_header“"],
  ["more numbers on the line", "mehr Zahlen in der Zeile"],
  ["line {n}", "Zeile {n}"],
  ["byte {n}", "Byte {n}"],
  ["triangle {n} (byte {n2})", "Dreieck {n} (Byte {n2})"],
  ["line {n}, triangle {n2}", "Zeile {n}, Dreieck {n2}"],
  ["a number", "eine Zahl"],
  ["a whole number", "eine ganze Zahl"],
  ["three coordinates", "drei Koordinaten"],
  ["a face", "eine Fläche"],
  ["a triangle of three corners inside a facet", "ein Dreieck mit drei Ecken in einer „facet“"],
  ["a line of an STL in text form", "eine Zeile eines STL in Textform"],
  ["the number of a vertex, such as 7 or 7/1/3", "die Nummer einer Ecke, etwa 7 oder 7/1/3"],
  ["there are {n} vertices, counted from 0", "es gibt {n} Ecken, von 0 an gezählt"],
  ["there are {n} vertices, counted from 1", "es gibt {n} Ecken, von 1 an gezählt"],
  ["export the mesh again", AGAIN],
  ["copy or export it again", `kopieren oder ${AGAIN}`],
  ["export again as binary STL", `${AGAIN}, als binäres STL`],
  ["decimals need a point, not a comma: change the number format and export again", `Dezimalzahlen brauchen einen Punkt, kein Komma: ändern Sie das Zahlenformat und ${AGAIN}`],
  ["the name ends in .{text}, but the content is {format} file", "der Name endet auf .{text}, der Inhalt aber ist {format}"],
  ["it was read as {format} file; rename it to .{text}", "sie wurde als {format} gelesen; benennen Sie sie um in .{text}"],
  ["faces with more than three corners, split into triangles: {n}", "Flächen mit mehr als drei Ecken, in Dreiecke geteilt: {n}"],
  ["flat or nearly flat faces lose nothing; for others export triangles", "ebene und fast ebene verlieren nichts; für andere exportieren Sie Dreiecke"],
  ["faces with fewer than three corners, left out: {n}", "Flächen mit weniger als drei Ecken, weggelassen: {n}"],
  ["they have no area; nothing needs to be done", "sie haben keine Fläche; nichts ist zu tun"],
  ["{n} bytes after the last element were left out", "{n} Bytes nach dem letzten Element wurden weggelassen"],
  ["{n} bytes after the last of {n2} triangles were left out", "{n} Bytes nach dem letzten von {n2} Dreiecken wurden weggelassen"],
  ["check that nothing is missing; if so, export again", `prüfen Sie, ob etwas fehlt; wenn ja, ${AGAIN}`],
  ["there is no \"endsolid\" after triangle {n}", "nach Dreieck {n} fehlt „endsolid“"],
  ["the file may be cut short: look whether the mesh is whole", "die Datei kann abgeschnitten sein: sehen Sie nach, ob das Netz ganz ist"],
  ["its unit differs from that of {text}", "ihre Einheit ist nicht die von {text}"],
  ["export the mesh again, all of it in one unit", `${AGAIN}, alles in einer Einheit`],
  ["requires the extension {text}, which was passed over", "verlangt die Erweiterung {text}, die übergangen wurde"],
  ["look whether the surface is whole; if not, export plain triangles", "sehen Sie nach, ob die Oberfläche ganz ist; wenn nicht, exportieren Sie einfache Dreiecke"],
  ["nothing is marked to be built, so every object was read", "nichts ist zum Bauen bestimmt, also wurde jeder Körper gelesen"],
  ["look whether the surface is the last alone", "sehen Sie nach, ob die Oberfläche nur der Leisten ist"],
  ["supports for printing, left out: {n}", "Stützen für den Druck, weggelassen: {n}"],
  ["they are no part of the last; nothing needs to be done", "sie gehören nicht zum Leisten; nichts ist zu tun"],
];

export const scan: Pair[] = [...mended, ...notSound, ...read];
