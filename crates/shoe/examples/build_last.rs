//! Builds a last from measures and writes it as OBJ or binary STL, with its truth beside it.
//!
//! `build_last OUT.{obj,stl} sll=270 foot=right heel=25 ...`; called without arguments it lists
//! all names.

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
        return Err(format!("say where to write: build_last OUT.obj sll=270 foot=left; {NAMES}"));
    };
    let measures = measures(settings)?;
    let built = build_last(&measures).map_err(|error| error.to_string())?;
    let bytes = if path.ends_with(".stl") { stl(&built) } else { obj(&built).into_bytes() };
    fs::write(path, bytes).map_err(|error| format!("{path}: {error}"))?;
    let beside = format!("{path}.truth.json");
    fs::write(&beside, truth(&built)).map_err(|error| format!("{beside}: {error}"))
}

const NAMES: &str = "\
names, mm or degrees: sll (standard length, sets all the rest), foot (left, right), length, girth, \
heel, spring, seat, tread, radius, edge (of the triangles), top_height, top_length, top_width, \
bulge, swing, dome, arch, toe (-1 square, 0 round, 1 pointed), extension (of the toe), tilt (of the \
top), pitch (of the seat), forward (lowest point of the tread)";

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
            "top_height" => &mut m.top_height,
            "top_length" => &mut m.top_length,
            "top_width" => &mut m.top_width,
            "bulge" => &mut m.back_bulge,
            "swing" => &mut m.toe_swing,
            "dome" => &mut m.tread_dome,
            "arch" => &mut m.arch,
            "toe" => &mut m.toe_point,
            "tilt" => &mut m.top_tilt,
            "pitch" => &mut m.seat_pitch,
            "forward" => &mut m.tread_forward,
            "extension" => {
                m.length += number(value)?;
                &mut m.toe_extension
            }
            _ => return Err(format!("{name}: no such measure; {NAMES}")),
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
    let r = &t.reached;
    format!(
        "{{\"seat\": {}, \"toe\": {}, \"joint_medial\": {}, \"joint_lateral\": {}, \"ground\": {}, \
         \"top_back\": {}, \"top_front\": {},\n\"length\": {}, \"ball_girth\": {}, \"heel_height\": {}, \
         \"toe_spring\": {}, \"seat_width\": {}, \"tread_width\": {},\n\"feather_line\": [{}],\n\
         \"back_line\": [{}]}}\n",
        point(&t.seat),
        point(&t.toe),
        point(&t.joint_medial),
        point(&t.joint_lateral),
        t.ground,
        point(&t.top_back),
        point(&t.top_front),
        r.length,
        r.ball_girth,
        r.heel_height,
        r.toe_spring,
        r.seat_width,
        r.tread_width,
        line(&t.feather_line),
        line(&t.back_line),
    )
}
