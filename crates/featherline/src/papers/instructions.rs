//! The sheet that another person can follow: what to cut, how, and why.

use cutting::sheet::{Align, Block, Column, Outcome, Sheet, StatusRow, Table};
use shoe::draft::Drafted;
use shoe::foot::{Foot, Side};
use shoe::reasons::{Check, Dimension, Verdict, in_words};
use shoe::stiffener::ankles::Ankles;
use shoe::stiffener::brief::{Construction, Kind};
use shoe::stiffener::{Stiffener, ankle_picture, nicks, piece, skive, strain_picture};

/// The sheet for one drafted job.
pub(super) fn sheet(drafted: &Drafted) -> Sheet {
    let piece = &drafted.stiffener;
    let report = &drafted.report;
    let mut blocks = vec![
        Block::Paragraph(format!(
            "Heel stiffener (US: counter) for the {} foot, {}. {}, {:.1} mm thick; {} up when drawn and cut. One piece.",
            piece.foot,
            piece.brief.size,
            capitalised(piece.brief.kind.words()),
            piece.brief.thickness,
            piece.brief.face,
        )),
        Block::Picture {
            drawing: piece::draw(piece, &report.job),
            height_mm: 70.0,
            caption: "The piece, outer side up. This picture is not to scale: cut by the full-scale pages.".into(),
        },
        Block::Heading("How to cut it".into()),
        Block::Paragraph(steps(piece)),
        Block::Heading("The nicks".into()),
        Block::Paragraph(nick_code(piece.foot)),
    ];
    blocks.extend(report.cautions.iter().map(|c| Block::Note(c.clone())));
    blocks.push(Block::Heading("Checks".into()));
    blocks.push(Block::Status(report.checks.iter().map(status).collect()));
    blocks.extend(ankles_by_survey(&report.ankles));
    blocks.push(Block::Heading("How it will distort on the last".into()));
    blocks.push(Block::Paragraph(strain_words(drafted)));
    blocks.push(Block::Picture {
        drawing: strain_picture::draw(piece),
        height_mm: 60.0,
        caption:
            "Oranges: the material must stretch here. Purples: it has fullness here and may pipe."
                .into(),
    });
    blocks.push(Block::Legend { entries: strain_picture::legend(), caption: String::new() });
    blocks.push(Block::Heading("Dimensions".into()));
    blocks.push(Block::Table(dimensions(&report.dimensions)));
    if !report.found.is_empty() || !report.warnings.is_empty() {
        blocks.push(Block::Heading("What the program found on the last".into()));
        let found = report
            .found
            .iter()
            .map(|f| format!("{} (sure: {:.0} of 100)", f.words, 100.0 * f.sureness));
        let noticed =
            report.warnings.iter().map(|w| format!("{}: {}. {}.", w.place, w.message, w.hint));
        blocks.push(Block::Paragraph(found.chain(noticed).collect::<Vec<_>>().join("\n")));
    }
    Sheet {
        title: format!("Heel stiffener, {} foot, {}", piece.foot, piece.brief.size),
        subtitle: report.job.clone(),
        footer: format!("{} · a pattern certifies nothing; local rules come first", report.job),
        blocks,
    }
}

/// How many people's ankles the edge would reach, what that rests on, and what nobody measured.
fn ankles_by_survey(ankles: &Ankles) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Ankles by survey".into())];
    let heights: Vec<String> = ankles
        .sides
        .iter()
        .map(|on| {
            format!(
                "on the {} {:.1} mm (the feather line {:.1} mm)",
                on.side, on.edge_height, on.feather_height
            )
        })
        .collect();
    if let Some(picture) = ankle_picture::draw(ankles) {
        blocks.push(Block::Paragraph(format!(
            "Surveys measured the point of the ankle bone upright from the floor, on bare feet. Above the \
             lowest place of the seat, where the foot stands, the edge stands {}. The border of the bone \
             lies below its point; by how much nobody measured, so the curve shows how many of a hundred \
             people with feet of {:.1} mm the edge would reach for each. {:.1} mm are taken \
             (wearer.ankle_drop in the job; the height of the feather line is wearer.feather_height). Measure the \
             wearer where you can.",
            heights.join(" and "),
            ankles.foot_length,
            ankles.drop
        )));
        blocks.push(Block::Picture { drawing: picture, height_mm: 62.0, caption: String::new() });
    }
    if !ankles.not_known.is_empty() {
        blocks.push(Block::Paragraph(ankles.not_known.join(" ")));
    }
    let mut sources: Vec<&str> =
        ankles.sides.iter().flat_map(|on| on.shares.iter().map(|s| s.source)).collect();
    sources.sort_unstable();
    sources.dedup();
    if !sources.is_empty() {
        blocks.push(Block::Paragraph(format!("Sources: {}.", sources.join("; "))));
    }
    blocks
}

/// A moulded piece is bought in shape; the pattern serves to choose and trim it.
const MOULDED_STEPS: &str = "1. Print at 100 %, without fitting to the page, and measure the 100 mm square or line.\n\
2. Cut the pattern out of paper and wrap it round the bought piece, centre back on centre back.\n\
3. Trim the piece to the pattern's top edge and wing ends.\n\
4. Check its height and the place of its wings against the dimensions below before it goes into a shoe.";

fn steps(piece: &Stiffener) -> String {
    let brief = &piece.brief;
    let widths = &piece.margin.widths;
    if brief.kind == Kind::Moulded {
        return MOULDED_STEPS.into();
    }
    let in_wall = match piece.wall.cuts.len() {
        0 => String::new(),
        n => format!(
            " {n} of the V's reach up into the wall: stop at their points, and let their sides meet when you last, without lapping over."
        ),
    };
    let mut steps = vec![
        "Print at 100 %, without fitting to the page. Measure the 100 mm square or line before anything is cut.".to_owned(),
        format!("Lay the pattern on the material with the {} up and the outer side towards you; a flipped piece is wrong.", brief.face),
        format!("Cut along the unbroken outline. Cut the V's away, open the slits, cut the nicks.{in_wall}"),
        format!(
            "Skive {:.0} mm wide along the top and both wing ends to nothing, on the inner side (towards the foot); the margin to between a third and a half of the thickness.",
            skive::width(brief.thickness)
        ),
    ];
    steps.push(
        match brief.kind {
            Kind::Leather => "Wet the leather through before lasting; let it dry on the last.",
            Kind::Fibreboard => "Damp the board or coat it as its maker says; it stretches little.",
            Kind::Thermoplastic | Kind::Moulded => {
                "Warm it as its maker says and last it hot; let it cool on the last."
            }
        }
        .to_owned(),
    );
    steps.push(match brief.construction {
        Construction::StitchedOutward => format!("Slide it between lining and upper, centre back on centre back, feather line on feather line. Turn the margin ({:.1} mm) outward.", widths.whole()),
        _ => format!(
            "Slide it between lining and upper, centre back on centre back, feather line on feather line. Turn the margin under: {:.1} mm as drawn, of which {:.1} mm lie under the insole.",
            widths.whole(), widths.net
        ),
    });
    let numbered: Vec<String> =
        steps.iter().enumerate().map(|(i, s)| format!("{}. {s}", i + 1)).collect();
    numbered.join("\n")
}

fn nick_code(foot: Foot) -> String {
    format!(
        "The nicks in the margin tell the foot, the side and the face without reading a word. One nick stands at the centre back, {} on the outside wing, and on the inside wing {} for a left foot or {} for a right foot. Hold the piece with the top edge up: the inside of a right foot then lies to the left, of a left foot to the right. If it lies the other way, the outer side is turned away from you. This piece is for the {foot} foot: {} nicks on the inside. For the {} foot of an even pair turn the pattern over and cut {} nicks on the inside instead.",
        nicks::count(foot, Side::Lateral),
        nicks::count(Foot::Left, Side::Medial),
        nicks::count(Foot::Right, Side::Medial),
        nicks::count(foot, Side::Medial),
        foot.other(),
        nicks::count(foot.other(), Side::Medial),
    )
}

fn status(check: &Check) -> StatusRow {
    let outcome = match check.verdict {
        Verdict::Pass => Outcome::Pass,
        Verdict::Unsure => Outcome::Unsure,
        Verdict::Fail => Outcome::Fail,
    };
    StatusRow {
        outcome,
        subject: capitalised(&check.name),
        detail: format!(
            "{}; wanted: {}. {} ({}). {}.",
            in_words(check.value, &check.unit),
            check.limit,
            capitalised(&check.reason),
            check.mark.words(),
            capitalised(&check.place),
        ),
    }
}

fn strain_words(drafted: &Drafted) -> String {
    let strain = &drafted.report.strain;
    format!(
        "The flat piece must change by {:.1} % on average to lie on the last; nearly all of it by less than {:.1} %. The feather edge and the centre back keep their lengths and the top edge does not grow, so that it does not gape; the bulge of the heel is what must stretch.",
        strain.mean, strain.p95
    )
}

fn dimensions(all: &[Dimension]) -> Table {
    let column =
        |title: &str, share: f64, align: Align| Column { title: title.into(), share, align };
    let row = |d: &Dimension| {
        vec![
            capitalised(&d.name),
            in_words(d.value, &d.unit),
            format!("{}. {}", capitalised(&d.formula), capitalised(&d.reason)),
            d.mark.words().into(),
        ]
    };
    Table {
        columns: vec![
            column("Dimension", 3.0, Align::Left),
            column("Value", 1.3, Align::Right),
            column("How and why", 5.0, Align::Left),
            column("Rests on", 2.0, Align::Left),
        ],
        rows: all.iter().map(row).collect(),
    }
}

fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
