use geometry::drawing::*;
use geometry::surface::Surface;
use geometry::units::Mm;
use shoe::last::build::*;
use shoe::stiffener::{self, brief::*, chart::Chart, limits::Landmarks, *};
fn main() {
    let eu: f64 = std::env::args().nth(1).map_or(36.0, |a| a.parse().unwrap());
    let sll = eu * 20.0 / 3.0;
    let t = std::time::Instant::now();
    let built = build_last(&LastMeasures::for_size(sll, Foot::Right)).unwrap();
    eprintln!("build {:?}", t.elapsed());
    let t = std::time::Instant::now();
    let stood =
        shoe::last::stand::stand(&built.mesh, &shoe::last::stand::Given::size_only(Mm(sll)))
            .unwrap();
    eprintln!("stand {:?} {:?}", t.elapsed(), stood.warnings);
    let last = stood.value;
    for f in &last.found {
        eprintln!("  {:.2} {}", f.sureness, f.sentence);
    }
    let surface = Surface::new(&last.mesh).unwrap();
    let foot = match last.foot {
        shoe::last::marks::Foot::Left => shoe::foot::Foot::Left,
        _ => shoe::foot::Foot::Right,
    };
    let chart = Chart::new(&surface, &last.marks.feather_line.points, foot).unwrap();
    let wing = Wing {
        length: Length::Long,
        behind_joint: 15.0,
        end_height: 18.0,
        ceiling: None,
        wearer_ankle: None,
    };
    let brief = Brief {
        standard_last_length: sll,
        size: format!("EU {eu}"),
        child: false,
        construction: Construction::Cemented,
        kind: Kind::Fibreboard,
        insole_on_last: false,
        insole: 2.0,
        lining: 1.0,
        thickness: 1.2,
        settling: 3.0,
        back_height: None,
        below_topline: 5.0,
        topline: vec![],
        margin: None,
        face: "x".into(),
        medial: wing.clone(),
        lateral: wing,
    };
    let m = &last.marks;
    let marks = Landmarks {
        ankle: (m.ankle_medial_x.at, m.ankle_lateral_x.at),
        joint: (m.joint_medial.at.x, m.joint_lateral.at.x),
        breast: m.breast.at,
    };
    let t = std::time::Instant::now();
    let piece = stiffener::draft(&chart, &brief, &marks, (false, false)).unwrap();
    eprintln!("draft {:?} tri {}", t.elapsed(), piece.wall.on_last.triangles.len());
    for d in measure::dimensions(&piece) {
        println!("{:50} {:8.2} {}", d.name, d.value, d.unit);
    }
    for c in verify::checks(&piece, &chart).unwrap() {
        println!("{:?} {:50} {:8.3} | {} | {}", c.verdict, c.name, c.value, c.limit, c.place);
    }
    println!(
        "{:.2} {:.2} {:.2}",
        piece.wall.strain.mean, piece.wall.strain.p95, piece.wall.strain.p99
    );
    let d = piece::draw(&piece, "Probe");
    std::fs::write("/tmp/piece.svg", cutting::svg::write(&d, 10.0).unwrap()).unwrap();
    let d = strain_picture::draw(&piece);
    std::fs::write("/tmp/strain.svg", cutting::svg::write(&d, 10.0).unwrap()).unwrap();
    let _ = Layer::Cut;
    for i in 0..60 {
        let a = -165.0 + i as f64 * 1.0;
        let d = chart.direction(a);
        let p = chart.point(a, piece.edge.height(a)).unwrap().position(&last.mesh);
        let f = chart.feather(a);
        println!("W {a:.1} dir {:.3} f {f:.3} p {p:.3}", d.y.atan2(d.x).to_degrees());
    }
}
