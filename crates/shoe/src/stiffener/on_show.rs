//! What is shown of a stiffener while it is worked on: its limits as lines on the last, the points
//! of its top edge that can be dragged, and where each of its checks looks.

use glam::{DMat2, DVec2, DVec3};

use super::Stiffener;
use super::brief::Length;
use super::chart::Chart;
use super::edge::{BACK_HEIGHT, WingEnd, end_height_key};
use crate::foot::Side;
use crate::reasons::Check;

/// The way up the wall at the edge is taken over this much of it, mm.
const REACH: f64 = 3.0;

/// A limit higher than this above the feather line is not drawn, mm: no last's wall is.
const HIGHEST: f64 = 250.0;

/// A limit, where it acts, drawn at its own height.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitLine {
    /// Such as `ceiling under the outside ankle`.
    pub name: String,
    /// How it was computed, and why.
    pub words: String,
    /// On the bare last, mm, each an unbroken run.
    pub runs: Vec<Vec<DVec3>>,
}

/// A point of the edge that stands for one number of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Handle {
    /// The number's key in `job.toml`.
    pub key: String,
    /// The number, mm.
    pub value: f64,
    /// On the bare last, mm.
    pub at: DVec3,
    /// The direction on the last in which the number grows, of length 1.
    pub grows: DVec3,
    /// On the flat piece, mm.
    pub flat: DVec2,
    /// The direction there, of length 1.
    pub flat_grows: DVec2,
}

/// The limits of the top edge as lines on the last. Where the last ends below one there is none.
pub fn limit_lines(chart: &Chart<'_, '_>, piece: &Stiffener) -> Vec<LimitLine> {
    let edge = &piece.edge;
    let drawn = edge.ceilings.iter().map(|ceiling| {
        let places = edge.samples.iter().zip(&ceiling.drawn).map(|(along, drawn)| {
            let up = drawn + ceiling.below + edge.zero;
            let point = (up <= HIGHEST).then(|| chart.point(*along, up).ok()).flatten();
            point.map(|p| p.position(chart.surface().mesh))
        });
        let places: Vec<Option<DVec3>> = places.collect();
        let runs = places.split(Option::is_none).map(|run| run.iter().copied().flatten().collect());
        LimitLine {
            name: ceiling.name.clone(),
            words: format!("{:.1} mm: {}; {}", ceiling.height, ceiling.formula, ceiling.reason),
            runs: runs.filter(|run: &Vec<DVec3>| run.len() > 1).collect(),
        }
    });
    drawn.collect()
}

/// The points of the top edge that can be dragged.
pub fn handles(chart: &Chart<'_, '_>, piece: &Stiffener) -> Vec<Handle> {
    let edge = &piece.edge;
    let mut all = Vec::new();
    all.extend(up(chart, piece, BACK_HEIGHT.into(), edge.back_height, 0.0));
    for side in Side::BOTH {
        let word = side.key();
        let end = edge.end(side);
        let key = |what: &str| format!("stiffener.{word}.{what}");
        let ceiling = edge.ceilings.iter().find(|c| c.side == Some(side));
        let over = chart.along_at(side, piece.landmarks.ankle(side));
        // The wearer's own ankle wins over any number that could be dragged.
        if let (Some(ceiling), Ok(along), None) =
            (ceiling, over, piece.brief.wing(side).wearer_ankle)
            && along.abs() < end.along.abs()
        {
            all.extend(up(chart, piece, key("ceiling"), ceiling.height, along));
        }
        all.extend(up(chart, piece, end_height_key(side), end.height, end.tip()));
        if piece.brief.wing(side).length == Length::Long {
            all.extend(wing_end(chart, piece, key("behind_joint"), end));
        }
    }
    all
}

/// A point of the edge whose number grows up the wall.
fn up(
    chart: &Chart<'_, '_>,
    piece: &Stiffener,
    key: String,
    value: f64,
    along: f64,
) -> Option<Handle> {
    let mesh = chart.surface().mesh;
    let top = piece.edge.height(along) + piece.edge.zero;
    let at = chart.point(along, top).ok()?.position(mesh);
    let below = chart.point(along, (top - REACH).max(0.0)).ok()?.position(mesh);
    handle(piece, &piece.wall.free_edge, key, value, at, at - below)
}

/// The foot of a long wing's end, whose distance from the joint grows backwards.
fn wing_end(
    chart: &Chart<'_, '_>,
    piece: &Stiffener,
    key: String,
    end: &WingEnd,
) -> Option<Handle> {
    let at = chart.feather(end.along);
    let behind = chart.feather(end.along - end.along.signum() * REACH);
    let value = piece.brief.wing(end.side).behind_joint;
    handle(piece, &piece.wall.feather, key, value, at, behind - at)
}

/// A handle at the vertex of `chain` that lies nearest to `at`.
fn handle(
    piece: &Stiffener,
    chain: &[u32],
    key: String,
    value: f64,
    at: DVec3,
    grows: DVec3,
) -> Option<Handle> {
    let wall = &piece.wall;
    let apart = |v: &u32| wall.on_last.positions[*v as usize].distance_squared(at);
    let vertex = *chain.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
    let grows = grows.try_normalize()?;
    let flat_grows = carried(piece, vertex, grows).try_normalize()?;
    Some(Handle { key, value, at, grows, flat: wall.flat[vertex as usize], flat_grows })
}

/// A direction on the last at a vertex of the wall, laid flat with the triangles about it.
fn carried(piece: &Stiffener, vertex: u32, direction: DVec3) -> DVec2 {
    let wall = &piece.wall;
    let about = wall.on_last.triangles.iter().filter(|t| t.contains(&vertex));
    about
        .map(|t| {
            let [a, b, c] = t.map(|v| wall.on_last.positions[v as usize]);
            let [fa, fb, fc] = t.map(|v| wall.flat[v as usize]);
            let (u, v) = (b - a, c - a);
            // Least squares: the direction's own part in the plane of the triangle.
            let gram = DMat2::from_cols_array(&[u.dot(u), u.dot(v), u.dot(v), v.dot(v)]);
            let shares = gram.inverse() * DVec2::new(u.dot(direction), v.dot(direction));
            let area = u.cross(v).length();
            ((fb - fa) * shares.x + (fc - fa) * shares.y) * area
        })
        .filter(|by| by.is_finite())
        .sum()
}

/// Where a check looks.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPlace {
    /// On the bare last, mm; `None` for the whole last.
    pub at: Option<DVec3>,
    /// On the flat piece, mm; likewise.
    pub flat: Option<DVec2>,
    /// The key of the number that mends it, where one does.
    pub key: Option<String>,
}

/// Where a check looks and what mends it; `None` for one about the whole piece.
pub fn place_of(chart: &Chart<'_, '_>, piece: &Stiffener, check: &Check) -> Option<CheckPlace> {
    let wall = &piece.wall;
    let vertex = |v: u32, key: Option<&str>| CheckPlace {
        at: Some(wall.on_last.positions[v as usize]),
        flat: Some(wall.flat[v as usize]),
        key: key.map(str::to_owned),
    };
    let place = check.place.as_str();
    let named = Side::BOTH.into_iter().find(|side| place.contains(&side.to_string()));
    if let Some(side) = named {
        let word = side.key();
        let (along, key) = if place.contains("wing end") {
            let key = match check.name.contains("height") {
                true => end_height_key(side),
                false => format!("stiffener.{word}.behind_joint"),
            };
            (piece.edge.end(side).along, key)
        } else {
            let key = if place.contains("ankle") && check.name.starts_with("place") {
                format!("marks.ankle_{word}")
            } else {
                format!("stiffener.{word}.ceiling")
            };
            (chart.along_at(side, piece.landmarks.ankle(side)).ok()?, key)
        };
        let on_edge = chart.point(along, piece.edge.height(along) + piece.edge.zero).ok()?;
        let at = on_edge.position(chart.surface().mesh);
        let apart = |v: &&u32| wall.on_last.positions[**v as usize].distance_squared(at);
        let nearest = wall.free_edge.iter().min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        return Some(vertex(*nearest, Some(&key)));
    }
    let back = wall.centre_back.as_slice();
    match place {
        "the last" => {
            let key = if check.name.contains("size") { "last.size" } else { "last.foot" };
            Some(CheckPlace { at: None, flat: None, key: Some(key.into()) })
        }
        "centre back" => Some(vertex(*back.last()?, Some(BACK_HEIGHT))),
        "top edge" => Some(vertex(*back.last()?, None)),
        "bulge of the heel" => Some(vertex(*back.get(back.len() / 2)?, Some("stiffener.kind"))),
        "lasting margin" => Some(vertex(*back.first()?, Some("stiffener.margin"))),
        _ if place.contains("feather line") => Some(vertex(*back.first()?, None)),
        _ => None,
    }
}
