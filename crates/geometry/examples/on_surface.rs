//! Draws on the surface of a mesh file, for checks by other programs: `on_surface MESH REQUEST`.
//!
//! The request is a JSON file: `{"do": "shortest", ...}`; a point is `[vertex]` or
//! `[face, a, b, c]` with barycentric weights. The result is printed as JSON, with the seconds
//! that the work took without reading.
//!
//! | `do` | fields | result |
//! | --- | --- | --- |
//! | `closest` | `places` | for each place: point, distance |
//! | `shortest`, `local` | `pairs` of points | for each pair: length, places |
//! | `distances` | `sources`, `at` | the distance of each point |
//! | `straightest` | `from`, `direction`, `length` | length, places |
//! | `curve` | `through`, `closed` | length, places, `at_points`, places and directions each mm |
//! | `parallel` | `line` (points) or `through`, `closed`, `distance`, `flank` | lines, and the line |
//! | `cut` | `lines`, each of `through`, `closed` | for each piece: area, euler, loops |

mod program;

use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use geometry::mesh::TriMesh;
use geometry::read::read_mesh;
use geometry::surface::geodesic::{Distances, locally_shortest, shortest, straightest};
use geometry::surface::{
    Closest, Flank, Surface, SurfacePath, SurfacePoint, curve_through, cut_along, parallel,
};
use glam::DVec3;
use serde_json::{Value, json};

fn main() -> ExitCode {
    program::ended(run)
}

fn run(arguments: &[String]) -> Result<String, String> {
    let [file, request] = arguments else {
        return Err("two words are needed: MESH REQUEST.json".to_owned());
    };
    let mesh = read_mesh(Path::new(file)).map_err(text)?.value.mesh;
    let request = std::fs::read_to_string(request).map_err(|e| format!("{request}: {e}"))?;
    let request: Value = serde_json::from_str(&request).map_err(text)?;
    let surface = Surface::new(&mesh).map_err(text)?;
    let begin = Instant::now();
    let found = match request["do"].as_str() {
        Some("closest") => closest(&surface, &request)?,
        Some("shortest") => paths(&surface, &request, true)?,
        Some("local") => paths(&surface, &request, false)?,
        Some("distances") => distances(&surface, &request)?,
        Some("straightest") => straight(&surface, &request)?,
        Some("curve") => curve(&surface, &request)?,
        Some("parallel") => parallels(&surface, &request)?,
        Some("cut") => cut(&surface, &request)?,
        other => return Err(format!("{other:?}: no such work")),
    };
    let seconds = begin.elapsed().as_secs_f64();
    Ok(json!({"found": found, "seconds": seconds}).to_string())
}

fn text(error: impl std::fmt::Display) -> String {
    error.to_string()
}

fn list<'v>(value: &'v Value, name: &str) -> Result<&'v Vec<Value>, String> {
    value[name].as_array().ok_or(format!("{name}: a list is needed"))
}

fn numbers(value: &Value) -> Result<Vec<f64>, String> {
    let all = value.as_array().ok_or("a list of numbers is needed")?;
    all.iter().map(|v| v.as_f64().ok_or(format!("{v}: no number"))).collect()
}

fn place(value: &Value) -> Result<DVec3, String> {
    match numbers(value)?[..] {
        [x, y, z] => Ok(DVec3::new(x, y, z)),
        _ => Err(format!("{value}: three numbers are needed")),
    }
}

fn point(mesh: &TriMesh, value: &Value) -> Result<SurfacePoint, String> {
    let point = match numbers(value)?[..] {
        [v] => SurfacePoint::Vertex(v as u32),
        [face, a, b, c] => SurfacePoint::in_face(mesh, face as u32, [a, b, c], 1e-12),
        _ => return Err(format!("{value}: [vertex] or [face, a, b, c] is needed")),
    };
    Ok(point)
}

fn points(mesh: &TriMesh, all: &[Value]) -> Result<Vec<SurfacePoint>, String> {
    all.iter().map(|v| point(mesh, v)).collect()
}

fn places(mesh: &TriMesh, path: &SurfacePath) -> Vec<[f64; 3]> {
    path.points.iter().map(|p| p.position(mesh).to_array()).collect()
}

fn closest(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let search = Closest::new(surface.mesh);
    let found: Result<Vec<Value>, String> = list(request, "places")?
        .iter()
        .map(|v| {
            let asked = place(v)?;
            let found = search.to(asked, 0.0).ok_or("no triangles")?.position(surface.mesh);
            Ok(json!({"place": found.to_array(), "distance": found.distance(asked)}))
        })
        .collect();
    Ok(Value::from(found?))
}

fn paths(surface: &Surface<'_>, request: &Value, global: bool) -> Result<Value, String> {
    let mesh = surface.mesh;
    let found: Result<Vec<Value>, String> = list(request, "pairs")?
        .iter()
        .map(|pair| {
            let (from, to) = (point(mesh, &pair[0])?, point(mesh, &pair[1])?);
            let way = if global { shortest } else { locally_shortest };
            let way = way(surface, from, to).map_err(text)?;
            Ok(json!({"length": way.length, "places": places(mesh, &way.path)}))
        })
        .collect();
    Ok(Value::from(found?))
}

fn distances(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let sources = points(surface.mesh, list(request, "sources")?)?;
    let reach = request["reach"].as_f64().unwrap_or(f64::INFINITY);
    let distances = Distances::from_points(surface, &sources, reach);
    let at = points(surface.mesh, list(request, "at")?)?;
    Ok(at.iter().map(|p| json!(distances.at(p))).collect())
}

fn straight(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let from = point(surface.mesh, &request["from"])?;
    let length = request["length"].as_f64().ok_or("length: a number is needed")?;
    let way = straightest(surface, from, place(&request["direction"])?, length).map_err(text)?;
    Ok(json!({"length": way.length, "places": places(surface.mesh, &way.path)}))
}

fn drawn(surface: &Surface<'_>, request: &Value) -> Result<SurfacePath, String> {
    let closed = request["closed"].as_bool().unwrap_or(false);
    if let Some(line) = request["line"].as_array() {
        return Ok(SurfacePath { points: points(surface.mesh, line)?, closed });
    }
    let through = points(surface.mesh, list(request, "through")?)?;
    Ok(curve_through(surface, &through, closed).map_err(text)?.path)
}

fn curve(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let through = points(surface.mesh, list(request, "through")?)?;
    let closed = request["closed"].as_bool().unwrap_or(false);
    let curve = curve_through(surface, &through, closed).map_err(text)?;
    let every: Vec<f64> = (0..=curve.length() as usize).map(|s| s as f64).collect();
    Ok(json!({
        "length": curve.length(),
        "places": places(surface.mesh, &curve.path),
        "at_points": curve.at_points,
        "each_mm": every.iter().map(|s| curve.place(*s).to_array()).collect::<Vec<_>>(),
        "directions": every.iter().map(|s| curve.direction(*s).to_array()).collect::<Vec<_>>(),
    }))
}

fn parallels(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let line = drawn(surface, request)?;
    let distance = request["distance"].as_f64().ok_or("distance: a number is needed")?;
    let flank = match request["flank"].as_str() {
        Some("right") => Flank::Right,
        _ => Flank::Left,
    };
    let lines = parallel(surface, &line, distance, flank).map_err(text)?;
    let told = |line: &SurfacePath| {
        json!({
            "places": places(surface.mesh, line),
            "closed": line.closed,
            "length": line.length(surface.mesh),
        })
    };
    Ok(json!({"line": told(&line), "lines": lines.iter().map(told).collect::<Vec<_>>()}))
}

fn cut(surface: &Surface<'_>, request: &Value) -> Result<Value, String> {
    let lines: Result<Vec<SurfacePath>, String> =
        list(request, "lines")?.iter().map(|line| drawn(surface, line)).collect();
    let cut = cut_along(surface, &lines?).map_err(text)?;
    let told = cut.pieces.iter().map(|piece| {
        json!({
            "area": piece.area(),
            "euler": piece.euler(),
            "disk": piece.is_disk(),
            "loops": piece.loop_lengths(),
            "vertices": piece.mesh.positions.iter().map(|p| p.to_array()).collect::<Vec<_>>(),
            "triangles": piece.mesh.triangles,
        })
    });
    Ok(told.collect())
}
