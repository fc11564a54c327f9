//! SVG in millimetres: for screens, and for lasers and plotters that read it.

use std::fmt::Write as _;

use geometry::drawing::{Anchor, Arc, Area, Curve, Drawing, Item, Layer, Path, Text};
use glam::DVec2;

use crate::line::{Look, look};
use crate::number::plain;
use crate::text::extent;
use crate::text::helvetica::CAP_HEIGHT;
use crate::unwritable::{self, Unwritable};

/// Decimals of a millimetre.
const DECIMALS: usize = 6;

/// A page without width or height shows nothing at all, mm.
const LEAST_SIZE: DVec2 = DVec2::ONE;

/// Decimals of a radius, from which readers derive the centre.
const RADIUS_DECIMALS: usize = 9;

/// Wider arcs are split, radians: near a half circle the rounding of the radius moves the centre
/// thousands of times as far.
const WIDEST_ARC: f64 = 2.0;

/// Writes the drawing with `margin` millimetres around its bounds.
///
/// Width and height are in mm and one unit of the `viewBox` is 1 mm. Arcs stay arcs. The layers
/// become groups named `cut`, `mark` and `text`, painted in this order over the coloured areas,
/// which come first in a group named `area`. Texts are set in the reader's Helvetica or Arial.
pub fn write(drawing: &Drawing, margin: f64) -> Result<String, Unwritable> {
    unwritable::check(drawing)?;
    unwritable::check_margin(margin)?;
    let (low, high) = extent::bounds(drawing).unwrap_or_default();
    let page = Page { left: low.x - margin, top: high.y + margin };
    let [width, height] = (high - low + 2.0 * margin).max(LEAST_SIZE).to_array().map(number);
    let title = escape(&drawing.title);
    let mut svg = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\">\n<title>{title}</title>\n"
    );
    group(&mut svg, "area", drawing, |item| match item {
        Item::Area(area) => Some(page.area(area)),
        _ => None,
    });
    for (layer, id) in [(Layer::Cut, "cut"), (Layer::Mark, "mark"), (Layer::Text, "text")] {
        group(&mut svg, id, drawing, |item| match item {
            Item::Path(path) if path.layer == layer => Some(page.path(path)),
            Item::Text(text) if text.layer == layer => Some(page.text(text)),
            _ => None,
        });
    }
    svg.push_str("</svg>\n");
    Ok(svg)
}

fn group(svg: &mut String, id: &str, drawing: &Drawing, element: impl Fn(&Item) -> Option<String>) {
    let elements: Vec<String> = drawing.items.iter().filter_map(element).collect();
    if !elements.is_empty() {
        svg.push_str(&format!("<g id=\"{id}\">\n{}\n</g>\n", elements.join("\n")));
    }
}

/// A curve as the data of a path, in mm with y up: for a picture that is turned over as a whole.
pub fn path_data(curve: &Curve) -> String {
    data(curve, true, |p| format!("{} {}", number(p.x), number(p.y)))
}

/// The data of a path, its points told by `point`; `up` where y grows upward there.
fn data(curve: &Curve, up: bool, point: impl Fn(DVec2) -> String) -> String {
    let mut data = String::new();
    if let Some(first) = curve.knots.first() {
        let _ = write!(data, "M {}", point(first.at));
    }
    for (a, b) in curve.pieces() {
        let end = point(b.at);
        match Arc::between(a, b) {
            None => {
                let _ = write!(data, " L {end}");
            }
            Some(arc) => {
                let radius = plain(arc.radius, RADIUS_DECIMALS);
                // A sweep of 1 turns from x to y, which is clockwise to the eye where y is down.
                let from_x_to_y = u8::from((arc.sweep > 0.0) == up);
                let count = (arc.sweep.abs() / WIDEST_ARC).ceil().max(1.0) as u32;
                for i in 1..=count {
                    let to = if i == count {
                        end.clone()
                    } else {
                        point(arc.at(f64::from(i) / f64::from(count)))
                    };
                    let _ = write!(data, " A {radius} {radius} 0 0 {from_x_to_y} {to}");
                }
            }
        }
    }
    if curve.closed {
        data.push_str(" Z");
    }
    data
}

/// Where the drawing's left and top edge lie; SVG counts downward from there.
struct Page {
    left: f64,
    top: f64,
}

impl Page {
    fn point(&self, p: DVec2) -> String {
        format!("{} {}", number(p.x - self.left), number(self.top - p.y))
    }

    fn path(&self, path: &Path) -> String {
        let Look { weight, dashes, screen: [r, g, b] } = look(path.layer, path.stroke);
        let dashes = if dashes.is_empty() {
            String::new()
        } else {
            let lengths: Vec<String> = dashes.iter().map(|d| number(*d)).collect();
            format!(" stroke-dasharray=\"{}\"", lengths.join(" "))
        };
        let data = self.data(&path.curve);
        format!(
            "<path d=\"{data}\" fill=\"none\" stroke=\"#{r:02x}{g:02x}{b:02x}\" \
             stroke-width=\"{weight}\"{dashes}/>"
        )
    }

    fn data(&self, curve: &Curve) -> String {
        data(curve, false, |p| self.point(p))
    }

    fn text(&self, text: &Text) -> String {
        let anchor = match text.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let [x, y] = [number(text.at.x - self.left), number(self.top - text.at.y)];
        let turned = if text.angle == 0.0 {
            String::new()
        } else {
            format!(" transform=\"rotate({} {x} {y})\"", number(-text.angle))
        };
        let [r, g, b] = look(text.layer, Default::default()).screen;
        format!(
            "<text x=\"{x}\" y=\"{y}\" font-family=\"Helvetica, Arial, sans-serif\" \
             font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"#{r:02x}{g:02x}{b:02x}\"{turned}>{}\
             </text>",
            number(text.height / CAP_HEIGHT),
            escape(&text.content)
        )
    }

    fn area(&self, area: &Area) -> String {
        let points: Vec<String> = area.outline.iter().map(|p| self.point(*p)).collect();
        let [r, g, b] = area.color;
        let color = format!("#{r:02x}{g:02x}{b:02x}");
        let points = points.join(" ");
        // A hairline of its own colour closes the seams that smoothing would leave between areas.
        format!(
            "<polygon points=\"{points}\" fill=\"{color}\" stroke=\"{color}\" \
             stroke-width=\"0.1\" stroke-linejoin=\"round\"/>"
        )
    }
}

fn number(value: f64) -> String {
    plain(value, DECIMALS)
}

/// Text as XML allows it: its special signs spelled out, control characters turned into spaces.
fn escape(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            '\'' => safe.push_str("&#39;"),
            c if c.is_control() || matches!(c, '\u{fffe}' | '\u{ffff}') => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}
