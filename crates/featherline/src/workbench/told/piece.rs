//! The piece on the last and flat: what is drawn, what limits it, what can be dragged.

use cutting::svg;
use geometry::drawing::{Anchor, Drawing, Item, Layer, Stroke};
use glam::DVec2;
use serde::Serialize;
use shoe::job::Holding;
use shoe::stiffener::chart::Chart;
use shoe::stiffener::{Stiffener, on_show, piece};

use super::{Vec2, Vec3, v2, v3};
use crate::workbench::bytes;

#[derive(Debug, Serialize)]
struct PieceTold {
    tell: &'static str,
    revision: u64,
    drag: Option<u64>,
    limits: Option<LimitsTold>,
    edge: Vec<Vec3>,
    ceilings: Vec<CeilingTold>,
    handles: Vec<HandleTold>,
    drawing: Vec<DrawnItem>,
    bounds: BoundsTold,
}

#[derive(Debug, Serialize)]
struct LimitsTold {
    material: String,
    stretch: f64,
    compress: f64,
}

#[derive(Debug, Serialize)]
struct CeilingTold {
    name: String,
    words: String,
    lines: Vec<Vec<Vec3>>,
}

#[derive(Debug, Serialize)]
struct HandleTold {
    key: String,
    value: f64,
    least: f64,
    most: f64,
    at: Vec3,
    grows: Vec3,
    flat: Vec2,
    flat_grows: Vec2,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
pub(super) enum DrawnItem {
    Path { path: String, layer: &'static str, stroke: &'static str },
    Text { text: String, at: Vec2, height: f64, angle: f64, anchor: &'static str },
}

#[derive(Debug, Serialize)]
pub(super) struct BoundsTold {
    low: Vec2,
    high: Vec2,
}

/// The piece as bytes; `drag` names the drag it follows.
pub(in crate::workbench) fn tell(
    chart: &Chart<'_, '_>,
    stiffener: &Stiffener,
    name: &str,
    revision: u64,
    drag: Option<u64>,
) -> Vec<u8> {
    let drawing = piece::draw(stiffener, name);
    let (low, high) = drawing.bounds().unwrap_or_default();
    let told = PieceTold {
        tell: "piece",
        revision,
        drag,
        limits: stiffener.brief.kind.material().map(|m| LimitsTold {
            material: m.name,
            stretch: m.stretch,
            compress: m.compress,
        }),
        edge: stiffener.wall.line_on_last(&stiffener.wall.free_edge).into_iter().map(v3).collect(),
        ceilings: ceilings(chart, stiffener),
        handles: handles(chart, stiffener),
        drawing: drawn(&drawing),
        bounds: bounds(low, high),
    };
    // Plain numbers and strings always have a JSON form.
    let json = serde_json::to_string(&told).unwrap_or_default();
    bytes::piece(&json, &stiffener.wall)
}

fn ceilings(chart: &Chart<'_, '_>, stiffener: &Stiffener) -> Vec<CeilingTold> {
    let lines = on_show::limit_lines(chart, stiffener).into_iter().map(|limit| CeilingTold {
        name: limit.name,
        words: limit.words,
        lines: limit.runs.into_iter().map(|run| run.into_iter().map(v3).collect()).collect(),
    });
    lines.collect()
}

fn handles(chart: &Chart<'_, '_>, stiffener: &Stiffener) -> Vec<HandleTold> {
    let handles = on_show::handles(chart, stiffener).into_iter().filter_map(|handle| {
        let (_, holds) = shoe::job::keys().find(|(key, _)| *key == handle.key)?;
        let Holding::Length { least, most } = holds else { return None };
        Some(HandleTold {
            key: handle.key,
            value: handle.value,
            least,
            most,
            at: v3(handle.at),
            grows: v3(handle.grows),
            flat: v2(handle.flat),
            flat_grows: v2(handle.flat_grows),
        })
    });
    handles.collect()
}

pub(super) fn bounds(low: DVec2, high: DVec2) -> BoundsTold {
    BoundsTold { low: v2(low), high: v2(high) }
}

pub(super) fn drawn(drawing: &Drawing) -> Vec<DrawnItem> {
    let items = drawing.items.iter().filter_map(|item| match item {
        Item::Path(path) => Some(DrawnItem::Path {
            path: svg::path_data(&path.curve),
            layer: if path.layer == Layer::Cut { "cut" } else { "mark" },
            stroke: match path.stroke {
                Stroke::Solid => "solid",
                Stroke::Dashed => "dashed",
                Stroke::Chain => "chain",
            },
        }),
        Item::Text(text) => Some(DrawnItem::Text {
            text: text.content.clone(),
            at: v2(text.at),
            height: text.height,
            angle: text.angle,
            anchor: match text.anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            },
        }),
        Item::Area(_) => None,
    });
    items.collect()
}
