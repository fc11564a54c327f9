//! The last from the side, from below and from behind, with its marks and measures.

use geometry::drawing::{Anchor, Drawing, Item, Layer, Stroke};
use geometry::mesh::TriMesh;
use glam::{DVec2, DVec3};
use shoe::foot::Foot;
use shoe::last::measure::GirthName;

use super::label::{Label, dimension, dots, path, ring, row, row_height, text, thin};
use super::view::{Camera, View};
use crate::commands::measure::Measured;

/// Width of a picture, mm on paper: what a sheet of A4 has between its margins.
pub(super) const WIDTH: f64 = 170.0;
/// Room beside the last for dimensions, mm.
const BESIDE: f64 = 23.0;
/// The three pictures stand on one page: its height less titles, labels and captions, mm.
const STACKED: f64 = 133.0;
/// From the last to a dimension line beside it, mm.
const OFF: f64 = 5.0;

/// What the pictures are made of.
pub(super) struct Pictures<'a> {
    pub(super) measured: &'a Measured,
    pub(super) mesh: &'a TriMesh,
    pub(super) normals: &'a [DVec3],
}

/// A picture in the making: how the view lies on paper.
struct Canvas<'a> {
    view: View,
    scale: f64,
    offset: DVec2,
    of: &'a Pictures<'a>,
    items: Vec<Item>,
}

impl Canvas<'_> {
    fn place(&self, p: DVec3) -> DVec2 {
        self.view.flat(p) * self.scale + self.offset
    }

    fn surface(&mut self) {
        let items = self.view.surface(self.of.mesh, self.of.normals, |p| self.place(p));
        self.items.extend(items);
    }

    /// What is in sight of a line on the last.
    fn line(&mut self, line: &[DVec3], closed: bool, layer: Layer, stroke: Stroke) {
        let runs = self.view.visible(line, closed);
        let items = runs.iter().map(|run| path(run.iter().map(|p| self.place(*p)), layer, stroke));
        let items: Vec<Item> = items.collect();
        self.items.extend(items);
    }

    /// Rings where the surface was mended.
    fn rings(&mut self) {
        let measured = self.of.measured;
        let places = measured.repairs.iter().flat_map(|r| &r.places);
        let in_last = places.map(|p| measured.last.last_from_file.transform_point3(*p));
        let items: Vec<Item> =
            in_last.filter(|p| self.view.in_sight(*p)).map(|p| ring(self.place(p))).collect();
        self.items.extend(items);
    }

    fn finish(self, title: &str) -> Drawing {
        Drawing { title: title.into(), items: self.items }
    }
}

impl<'a> Pictures<'a> {
    fn canvas(&'a self, camera: Camera, scale: f64, left: Option<f64>) -> Canvas<'a> {
        let view = View::new(self.mesh, camera);
        let (low, high) = view.bounds();
        let middle = (WIDTH - (high.x - low.x) * scale) / 2.0;
        let offset = DVec2::new(left.unwrap_or(middle) - low.x * scale, 0.0);
        Canvas { view, scale, offset, of: self, items: Vec::new() }
    }

    /// Millimetres on paper for one of the last; the same in all pictures.
    pub(super) fn scale(&self) -> f64 {
        let last = &self.measured.last;
        let top = self.mesh.bounds().map_or(1.0, |(_, high)| high.z - last.ground);
        let m = &self.measured.measures;
        // From the side and from behind the last is as tall as it stands, from below as wide.
        ((WIDTH - 2.0 * BESIDE) / m.length).min(STACKED / (2.0 * top + m.width))
    }

    /// Where the heel height is read: the seat, or on a foot level with its lowest point there.
    fn heel(&self) -> DVec3 {
        let last = &self.measured.last;
        last.marks.seat.at.with_z(last.ground + self.measured.measures.heel_height)
    }

    /// Seen from the outside, the toe to the right on a right foot and to the left on a left.
    pub(super) fn side(&self) -> Drawing {
        let (last, m) = (&self.measured.last, &self.measured.measures);
        let (marks, scale) = (&last.marks, self.scale());
        let forward = if last.foot == Foot::Right { 1.0 } else { -1.0 };
        let camera = Camera { right: DVec3::X * forward, ahead: DVec3::Y * forward };
        let mut c = self.canvas(camera, scale, None);
        c.offset.y = -last.ground * scale;
        c.surface();
        c.line(&marks.feather_line.points, true, Layer::Cut, Stroke::Solid);
        c.line(&marks.centre_back, false, Layer::Cut, Stroke::Chain);
        for (_, girth) in m.girths.named() {
            c.line(&girth.tape, true, Layer::Mark, Stroke::Dashed);
        }
        c.rings();

        let (low, high) = c.view.bounds();
        let [left, right] = [low.x, high.x].map(|x| x * scale + c.offset.x);
        let top = high.y * scale + c.offset.y;
        let girth = |name: GirthName| {
            let all = m.girths.named();
            let found = all.iter().find(|(n, _)| *n == name);
            found.map_or_else(String::new, |(n, g)| {
                format!("{} {:.1}", n.words().trim_end_matches(" girth"), g.length)
            })
        };
        // Where the short heel tape comes over the front.
        let throat = |p: &&DVec3| p.x + p.z - last.ground;
        let throat = m.girths.short_heel.tape.iter().max_by(|a, b| throat(a).total_cmp(&throat(b)));
        let upper = vec![
            Label::new(c.place(marks.top_back.at), &["top, rear"]),
            Label::new(c.place(marks.top_front.at), &["top, front"]),
            Label::new(
                c.place(throat.copied().unwrap_or(marks.top_front.at)),
                &[&girth(GirthName::ShortHeel)],
            ),
            Label::new(
                c.place(marks.instep.at),
                &["instep point", &girth(GirthName::Instep), &girth(GirthName::LongHeel)],
            ),
            Label::new(c.place(marks.waist.at), &["waist point", &girth(GirthName::Waist)]),
            Label::new(c.place(marks.vamp.at), &["vamp point", &girth(GirthName::Ball)]),
        ];
        let lower = vec![
            Label::new(c.place(marks.seat.at), &["seat"]),
            Label::new(c.place(m.breast), &["heel breast"]),
            Label::new(c.place(marks.joint_lateral.at), &["outside joint"]),
            Label::new(c.place(marks.toe.at), &["toe"]),
        ];
        let named: Vec<DVec2> = upper.iter().chain(&lower).map(|label| label.at).collect();
        c.items.push(path([DVec2::ZERO, DVec2::new(WIDTH, 0.0)], Layer::Cut, Stroke::Solid));
        c.items.extend(row(upper, top + 6.0, true, 0.0, WIDTH));
        c.items.extend(row(lower, -5.0, false, 0.0, WIDTH));

        let seat = c.place(self.heel());
        let toe = c.place(marks.toe.at);
        let (heel_x, toe_x) =
            if forward > 0.0 { (left - OFF, right + OFF) } else { (right + OFF, left - OFF) };
        let outward =
            |x: f64| if x < WIDTH / 2.0 { (-1.5, Anchor::End) } else { (1.5, Anchor::Start) };
        for (x, at, word, value) in
            [(heel_x, seat, "heel", m.heel_height), (toe_x, toe, "spring", m.toe_spring)]
        {
            c.items.push(thin([at, DVec2::new(x, at.y)]));
            c.items.extend(dimension(DVec2::new(x, 0.0), DVec2::new(x, at.y)));
            let (aside, anchor) = outward(x);
            c.items.push(Item::Text(text(DVec2::new(x + aside, 4.8), word, anchor)));
            let value = format!("{value:.1}");
            c.items.push(Item::Text(text(DVec2::new(x + aside, 1.3), &value, anchor)));
        }
        let under = -5.0 - row_height(1) - 5.0;
        let ends = [left, right].map(|x| DVec2::new(x, under));
        c.items.extend(dimension(ends[0], ends[1]));
        let words = format!("length {:.1}", m.length);
        let middle = (ends[0] + ends[1]) / 2.0 - DVec2::Y * 3.6;
        c.items.push(Item::Text(text(middle, &words, Anchor::Middle)));
        c.items.extend(dots(&named));
        c.finish("The last from the side")
    }

    /// Seen from below, under the picture from the side.
    pub(super) fn below(&self) -> Drawing {
        let (last, m) = (&self.measured.last, &self.measured.measures);
        let (marks, scale) = (&last.marks, self.scale());
        let forward = if last.foot == Foot::Right { 1.0 } else { -1.0 };
        let mut c = self.canvas(Camera { right: DVec3::X * forward, ahead: DVec3::Z }, scale, None);
        c.surface();
        let line = &marks.feather_line.points;
        c.line(line, true, Layer::Cut, Stroke::Solid);
        c.line(&m.girths.ball.tape, true, Layer::Mark, Stroke::Dashed);
        c.line(&m.girths.waist.tape, true, Layer::Mark, Stroke::Dashed);
        c.line(&m.girths.instep.tape, true, Layer::Mark, Stroke::Dashed);
        c.rings();
        let (low, high) = c.view.bounds();
        let [left, right] = [low.x, high.x].map(|x| x * scale + c.offset.x);
        let (bottom, top) = (low.y * scale + c.offset.y, high.y * scale + c.offset.y);
        // Seen so, the outside lies above.
        let upper = vec![
            Label::new(c.place(m.round_heel.lateral), &["end, length round heel"]),
            Label::new(c.place(marks.joint_lateral.at), &["outside joint"]),
        ];
        let lower = vec![
            Label::new(c.place(marks.seat.at), &["seat"]),
            Label::new(c.place(m.breast), &["heel breast"]),
            Label::new(c.place(m.round_heel.medial), &["end, length round heel"]),
            Label::new(c.place(marks.joint_medial.at), &["inside joint"]),
            Label::new(c.place(marks.toe.at), &["toe"]),
        ];
        let named: Vec<DVec2> = upper.iter().chain(&lower).map(|label| label.at).collect();
        c.items.extend(row(upper, top + 4.0, true, 0.0, WIDTH));
        c.items.extend(row(lower, bottom - 4.0, false, 0.0, WIDTH));
        let reach = marks.toe.at.x;
        let seat = widest(line.iter().filter(|p| p.x < 0.3 * reach));
        let tread = widest(line.iter().filter(|p| p.x > 0.5 * reach));
        let (heel_x, toe_x) =
            if forward > 0.0 { (left - OFF, right + OFF) } else { (right + OFF, left - OFF) };
        for (x, ends, word, value) in
            [(heel_x, seat, "seat", m.seat_width), (toe_x, tread, "tread", m.tread_width)]
        {
            let Some(ends) = ends.map(|ends| ends.map(|p| c.place(p))) else { continue };
            for end in ends {
                c.items.push(path([end, DVec2::new(x, end.y)], Layer::Text, Stroke::Solid));
            }
            c.items.extend(dimension(DVec2::new(x, ends[0].y), DVec2::new(x, ends[1].y)));
            let (aside, anchor) =
                if x < WIDTH / 2.0 { (-1.5, Anchor::End) } else { (1.5, Anchor::Start) };
            let middle = (ends[0].y + ends[1].y) / 2.0;
            c.items.push(Item::Text(text(DVec2::new(x + aside, middle + 0.6), word, anchor)));
            let value = format!("{value:.1}");
            c.items.push(Item::Text(text(DVec2::new(x + aside, middle - 2.9), &value, anchor)));
        }
        c.items.extend(dots(&named));
        c.finish("The last from below")
    }

    /// Seen from behind.
    pub(super) fn behind(&self) -> Drawing {
        let (last, m) = (&self.measured.last, &self.measured.measures);
        let (marks, scale) = (&last.marks, self.scale());
        let mut c = self.canvas(Camera { right: -DVec3::Y, ahead: DVec3::X }, scale, None);
        c.offset.y = -last.ground * scale;
        c.surface();
        c.line(&marks.feather_line.points, true, Layer::Cut, Stroke::Solid);
        c.line(&marks.centre_back, false, Layer::Cut, Stroke::Chain);
        c.rings();
        let (low, high) = c.view.bounds();
        let [left, right] = [low.x, high.x].map(|x| x * scale + c.offset.x);
        let upper =
            vec![Label::new(c.place(marks.centre_back_top.at), &["top of the centre back"])];
        let lower = vec![Label::new(c.place(marks.seat.at), &["seat"])];
        let named: Vec<DVec2> = upper.iter().chain(&lower).map(|label| label.at).collect();
        let ground = [left - 30.0, right + 30.0].map(|x| DVec2::new(x, 0.0));
        c.items.push(path(ground, Layer::Cut, Stroke::Solid));
        c.items.extend(row(upper, high.y * scale + c.offset.y + 5.0, true, 0.0, WIDTH));
        c.items.extend(row(lower, -4.0, false, 0.0, WIDTH));
        let seat = c.place(self.heel());
        let x = left - OFF;
        c.items.push(path([seat, DVec2::new(x, seat.y)], Layer::Text, Stroke::Solid));
        c.items.extend(dimension(DVec2::new(x, 0.0), DVec2::new(x, seat.y)));
        let words = format!("heel {:.1}", m.heel_height);
        c.items.push(Item::Text(text(DVec2::new(x - 1.5, 1.3), &words, Anchor::End)));
        // The picture keeps the width of the others, so that all have one scale.
        c.items.push(thin([DVec2::new(0.0, 0.0); 2]));
        c.items.push(thin([DVec2::new(WIDTH, 0.0); 2]));
        c.items.extend(dots(&named));
        c.finish("The last from behind")
    }
}

/// The points furthest to the left and to the right.
fn widest<'a>(points: impl Iterator<Item = &'a DVec3> + Clone) -> Option<[DVec3; 2]> {
    let by_y = |a: &&DVec3, b: &&DVec3| a.y.total_cmp(&b.y);
    Some([*points.clone().min_by(by_y)?, *points.max_by(by_y)?])
}
