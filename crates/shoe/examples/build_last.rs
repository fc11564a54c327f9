//! Builds a last from measures and writes it as OBJ or binary STL, with its truth beside it.
//!
//! `build_last OUT.{obj,stl} [sll=270] [foot=right] [heel=25] [radius=0] [edge=2.5] ...`

use std::fmt::Write as _;
use std::{env, fs, process};

use shoe::last::build::{BuiltLast, Foot, LastMeasures, build_last};

fn main() {
    if let Err(message) = run(&env::args().skip(1).collect::<Vec<_>>()) {
        eprintln!("{message}");
        process::exit(1);
    }
}

fn run(arguments: &[String]) -> Result<(), String> {
    let [path, settings @ ..] = arguments else {
        return Err("say where to write: build_last OUT.obj sll=270 foot=left heel=25".into());
    };
    let measures = measures(settings)?;
    let built = build_last(&measures).map_err(|error| error.to_string())?;
    let bytes = if path.ends_with(".stl") { stl(&built) } else { obj(&built).into_bytes() };
    fs::write(path, bytes).map_err(|error| format!("{path}: {error}"))?;
    let beside = format!("{path}.truth.json");
    fs::write(&beside, truth(&built)).map_err(|error| format!("{beside}: {error}"))
}

fn measures(settings: &[String]) -> Result<LastMeasures, String> {
    let mut pairs = Vec::new();
    for setting in settings {
        let pair = setting.split_once('=').ok_or(format!("{setting}: write name=value"))?;
        pairs.push(pair);
    }
    let number = |value: &str| value.parse::<f64>().map_err(|e| format!("{value}: {e}"));
    let mut sll = 270.0;
    let mut foot = Foot::Right;
    for &(name, value) in &pairs {
        match (name, value) {
            ("sll", _) => sll = number(value)?,
            ("foot", "left") => foot = Foot::Left,
            ("foot", "right") => foot = Foot::Right,
            _ => {}
        }
    }
    let mut m = LastMeasures::for_size(sll, foot);
    for (name, value) in pairs {
        let field = match name {
            "sll" | "foot" => continue,
            "length" => &mut m.length,
            "girth" => &mut m.ball_girth,
            "heel" => &mut m.heel_height,
            "spring" => &mut m.toe_spring,
            "seat" => &mut m.seat_width,
            "tread" => &mut m.tread_width,
            "radius" => &mut m.edge_radius,
            "edge" => &mut m.resolution,
            _ => return Err(format!("{name}: no such measure")),
        };
        *field = number(value)?;
    }
    Ok(m)
}

fn obj(built: &BuiltLast) -> String {
    let mut text = String::from("# Invented last, mm, last frame\n");
    for p in &built.mesh.positions {
        let _ = writeln!(text, "v {} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &built.mesh.triangles {
        let _ = writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1);
    }
    text
}

fn stl(built: &BuiltLast) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((built.mesh.triangles.len() as u32).to_le_bytes());
    for face in 0..built.mesh.triangles.len() as u32 {
        let normal = built.mesh.area_vector(face).normalize_or_zero();
        for v in [normal].into_iter().chain(built.mesh.corners(face)) {
            for c in v.to_array() {
                bytes.extend((c as f32).to_le_bytes());
            }
        }
        bytes.extend([0, 0]);
    }
    bytes
}

fn truth(built: &BuiltLast) -> String {
    let point = |p: &glam::DVec3| format!("[{}, {}, {}]", p.x, p.y, p.z);
    let line = |l: &[glam::DVec3]| l.iter().map(point).collect::<Vec<_>>().join(", ");
    let t = &built.truth;
    format!(
        "{{\"seat\": {}, \"toe\": {}, \"joint_medial\": {}, \"joint_lateral\": {}, \"ground\": {}, \"top\": {},\n\"feather_line\": [{}],\n\"back_line\": [{}]}}\n",
        point(&t.seat),
        point(&t.toe),
        point(&t.joint_medial),
        point(&t.joint_lateral),
        t.ground,
        t.top,
        line(&t.feather_line),
        line(&t.back_line),
    )
}
