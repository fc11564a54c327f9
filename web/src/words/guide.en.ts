// The guide in English: from scan to paper, and to every size, in eleven steps, for people who never saw such a program.
// `docs/guide.md` is written from it by `make screenshots`.

export interface GuideStep {
  /** Says what is done. */
  title: string;
  text: string;
  /** What belongs to it, one by one. */
  points?: { title: string; all: string[] };
  /** What to look for. */
  look?: string;
  /** What to do if it goes wrong. */
  wrong?: string;
  care?: string;
  /** What the picture shows. */
  alt: string;
}

export const guide = {
  title: "Guide",
  whole: "From scan to paper, and to every size, in eleven steps",
  intro:
    "For someone at a bench with a last who never used such a program. The pictures show the demo, which is invented. Open it and try everything: every change can be taken back. A stiffener is the stiff piece round the heel, between upper and lining.",
  open: "Open the guide",
  invitation: "New here? The guide leads from scan to paper in eleven steps.",
  put: "Put this line away",
  of: (n: number, all: number) => `Step ${n} of ${all}`,
  back: "Back",
  next: "Next",
  done: "Close the guide",
  show: "Show me",
  showInDemo: "Show me in the demo",
  larger: "See the picture larger",
  smaller: "Close the picture",
  look: "Look for",
  wrong: "If it goes wrong",
  care: "Take care",
  steps: {
    scan: {
      title: "Scan the last",
      text: "Stand the last upside down, on its flat top, and scan it all round. The plate under it may be in the scan: the program cuts it off and says so. Write down whether the insole was on the last, for you will be asked. Save the scan as STL, OBJ, PLY or 3MF. Any unit and any position will do.",
      points: {
        title: "The scan must show:",
        all: [
          "the whole heel, well above the place where the stiffener will end",
          "the whole bottom, from heel to toe",
          "the feather line, the edge where side and bottom meet, sharp and all round; everything is measured from it",
        ],
      },
      wrong: "A last that was scanned standing on its bottom lacks that bottom. The program refuses such a scan and says which part is missing. Scan it again, standing on its top.",
      alt: "A scan of a last seen from below. A ring lies round the edge between bottom and side at the heel.",
    },
    drop: {
      title: "Drop the scan on the window",
      text: "Drag the file of the scan into this window and let go, or pick it on the shelf of jobs. Type the size that the last is made for, such as EU 39 or UK 6. Type the heel height if you can measure it: from the ground up to the feather line at the very back, with the last standing as in the shoe. Leave unit and foot on “find it” unless you know better. Then press “Stand the last”.",
      look: "Give the heel height if you can. A last alone shows it only to about 4 mm.",
      alt: "The page that asks about a new scan. A ring lies round the fields for size and heel height.",
    },
    stand: {
      title: "Look whether it stands right",
      text: "The station Last shows how the last was stood; the dashed outline is the ground. Turn it with Heel, Inside, Outside and Below, or drag the picture. Check heel height, foot and unit in the list. Further down you read what was found, how sure that is, and what was mended. What you type wins over what was found.",
      look: "Compare “Measured on the last” with your own tape and ruler. With the wrong foot, inside and outside change places. With the wrong unit, all numbers are wrong.",
      wrong: "A mended hole is filled smoothly, not measured. “Show where” leads to it. If it lies at the heel or on the feather line, scan the last again.",
      alt: "The last with rings round two mended holes, and the list that says what was mended.",
    },
    marks: {
      title: "Put the marks where they belong",
      text: "Everything is built on the marks. Begin with the ankles: the program puts them at a share of the last's length, and no source was found for that place. Drag a mark on the last, or choose it in the list and type its place, or move it with the arrow keys. A ring was found by the program, a full square was placed by you. What you placed stays; the round arrow sets it back.",
      points: {
        title: "What they are:",
        all: [
          "Seat: the rearmost point of the feather line. Heights and lengths begin here. Above it runs the centre back.",
          "Inside and outside joint: the widest places of the tread. The wings end behind them.",
          "Inside and outside ankle: the ankle bones as they sit over the last. The top edge stays under them.",
          "Heel breast: where the front face of the heel stands. A short wing ends just past it.",
          "The other marks serve the measures of the last.",
        ],
      },
      look: "Do you know the wearer? Measure upright from the insole to the lower border of each ankle bone. Enter both heights at the station Stiffener. They win over every rule of thumb.",
      care: "No survey and no rule covers children's ankles: for a child's size both heights must be entered. Children's, diabetic and orthopaedic footwear belongs with licensed professionals.",
      alt: "The outside of the last with its marks. A ring lies round the outside ankle, which shows as a full square.",
    },
    asked: {
      title: "Answer what is asked first",
      text: "At the station Stiffener begin at the top of the list. Say how the shoe is made, what the stiffener is made of, how thick the lining is, and whether the insole was on the last when you scanned it. “By rule” means that the program chose; “entered” means that you did. Point at an underlined word or tap it: you read why it is so, and how well that is founded.",
      look: "Measure your own lining, insole and stiffener material, and type what you measured. The thicknesses by rule are common practice without a source.",
      care: "Heated thermoplastic burns. Ventilate where adhesives and solvents are used, and keep them from flames.",
      alt: "The first questions at the station Stiffener: construction, kind of stiffener, lining, insole.",
    },
    topline: {
      title: "Say what the stiffener may not pass",
      text: "In a low shoe the stiffener must stay below the topline. Under “Topline of the shoe” type its height at the centre back. With “Add a place” type heights along the sides: how far forward of the seat, then inside and outside. Read these heights with a ruler laid on the last, up from the feather line. The dashed red lines on the last are the limits, of the topline and of the ankles.",
      look: "5 mm below the topline, and the limits under the ankles, are common practice without a source. You can change them.",
      wrong: "If two limits cannot be kept together, the program names both and says by how many millimetres they conflict. It does not know where upper and lining are already stitched together. Look there yourself, and keep the edge about 3 mm away (common practice, no source).",
      alt: "The last with dashed red lines for the topline and the ankle, and the edge of the stiffener below them.",
    },
    wings: {
      title: "Choose the wings and shape the top edge",
      text: "A wing can be long, to behind the joint; mid-waist; or short, just past the heel breast. Inside and outside may differ. Then drag the yellow points, on the last or on the flat piece: back height, limits, and the height and place of the wing ends. The flat piece follows while you drag. Every number can also be typed: 12.5 or 12,5, 1.25 cm, 1/2 in.",
      look: "A wing that reaches the joint breaks where the shoe bends; 10 to 20 mm behind it is common practice. Too high at the back, the edge meets the tendon. Too low, the heel slips.",
      alt: "The last and the flat piece side by side. A ring lies round the same yellow point on both.",
    },
    strain: {
      title: "Read the colours and the checks",
      text: "The colours say what the flat material must do on the last. Oranges: it must stretch; purples: it has fullness, and may pipe or fold. The two strokes on the scale are the limits of your material. Below stand the checks: a tick holds, a question mark is open, a cross failed. Press one to read what was measured, what is wanted and why; the place is ringed, and “Go to” leads to what mends it.",
      look: "Open does not mean wrong. It means that the program cannot know, and you must look.",
      wrong: "Dark orange beyond the limit, mostly at the bulge of the heel: pull the piece over in stages, wetter or hotter, or take another material. Try one piece first.",
      alt: "The flat piece in oranges, the scale of colours with its limits, and an open check that says what was measured and what is wanted.",
    },
    print: {
      title: "Print at full scale",
      text: "Go to the station Paper. Under “Sheets over the piece” choose A4 or Letter: you see how the piece falls on the sheets. Press “Print on A4 …” and open the PDF. In the print window choose “actual size” or 100 %, never “fit to page”. Cut each sheet along the line at its left edge, lay it on the dashed line of its neighbour, circles on circles of the same number, and glue.",
      look: "instructions.pdf says how to cut the piece, and why every number is what it is. Print it too. For a laser or a cutting table take the SVG or the DXF.",
      care: "Cut away from your body; keep the other hand behind the blade.",
      alt: "The flat piece with the outlines of two sheets of A4 over it. A ring lies round the button that prints.",
    },
    measure: {
      title: "Measure, try, and come back",
      text: "Measure the 100 mm line on every sheet. If it is not 100 mm, do not cut: the piece is wrong. Cut a trial piece and try it on the last, with the lining on it if you can, for the piece is drawn to lie outside the lining. Check back height and wing ends with a ruler. Then come back and change what does not fit: every edit is saved at once, and “Take back” goes back step by step, even on another day.",
      look: "On the shelf of jobs, “Duplicate” makes a second job from the first, which stays as it is. Each job keeps its own last, size and numbers.",
      care: "A pattern certifies nothing; local rules come first. Check the first piece with a ruler and on the last before you cut more.",
      alt: "A printed sheet with half of the piece. A ring lies round the check line of 100 mm.",
    },
    sizes: {
      title: "Make the other sizes",
      text: "When one size is right, go to the station Sizes. Under “From” and “To” pick the first and the last size, and press the button that makes the pieces. The program grades the last and draws each piece anew on the last of its own size; none is another one scaled. Flip through the sizes above the pictures. “Over each other” lays them on the centre back, “Grade table” tells every dimension with its step. Then press “Write the files”.",
      points: {
        title: "What you can decide:",
        all: [
          "half sizes, where your system has them; one foot or both",
          "other fittings: say first which fitting the last has",
          "what grows with the size: heel height, toe spring and top of the last stay unless you choose “graded”",
        ],
      },
      look: "A star in the table marks a number that does not step as the others do, and below stands why: a rule holds it, or two sizes want to be compared. When you change the job, the sizes stay as they were until you make them again.",
      wrong: "A size that cannot be made is named with what mends it; as long as one is missing, nothing is written. For children's sizes both ankle heights must be entered.",
      care: "Measure the 100 mm line for every size, and try the smallest and the largest piece on a last before you cut the range.",
      alt: "Seven sizes of the flat piece over each other, one of them lifted out, and above them the row of sizes to flip through. A ring lies round that row.",
    },
  } satisfies Record<string, GuideStep>,
};
