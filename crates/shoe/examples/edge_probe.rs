use geometry::surface::Surface;
use shoe::last::build::*;
use shoe::stiffener::{brief::*, chart::Chart, edge::TopEdge, limits::Landmarks};
fn main() {
    let sll = 240.0;
    let built = build_last(&LastMeasures::for_size(sll, Foot::Right)).unwrap();
    println!(
        "tri {} seat {:?} jm {:?} jl {:?} n {}",
        built.mesh.triangles.len(),
        built.truth.seat,
        built.truth.joint_medial,
        built.truth.joint_lateral,
        built.truth.feather_line.len()
    );
    println!("{:?}", &built.truth.feather_line[..5]);
    let surface = Surface::new(&built.mesh).unwrap();
    let chart = Chart::new(&surface, &built.truth.feather_line, shoe::foot::Foot::Right).unwrap();
    let wing = Wing {
        length: Length::Long,
        behind_joint: 15.0,
        end_height: 18.0,
        ceiling: None,
        wearer_ankle: None,
    };
    let brief = Brief {
        standard_last_length: sll,
        size: "EU 36".into(),
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
    let marks = Landmarks {
        ankle: (0.28 * sll, 0.22 * sll),
        joint: (built.truth.joint_medial.x, built.truth.joint_lateral.x),
        breast: sll / 4.0,
    };
    let t = std::time::Instant::now();
    let edge = TopEdge::design(&chart, &brief, &marks).unwrap();
    println!("{:?} ends {:?}", t.elapsed(), edge.ends);
    for (s, h) in edge.samples.iter().zip(&edge.heights).step_by(6) {
        let p = chart.point(*s, *h).map(|p| p.position(&built.mesh)).unwrap();
        println!("{s:7.1} {h:6.2}  {p:.1}");
    }
}
