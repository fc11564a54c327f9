//! The marks on one page, given in millimetres from its lower left corner.
//!
//! The numbers are written here and not by `pdf_writer::Content`, which holds them as f32: on a
//! page of five metres that alone would cost a quarter of a thousandth of a millimetre.

use glam::DVec2;

use crate::number::plain;
use crate::text::helvetica::Style;

/// Points in a millimetre.
pub(crate) const POINTS: f64 = 72.0 / 25.4;

/// Decimals of a point: 0.000 004 mm.
const DECIMALS: usize = 5;

/// Decimals of a point for coloured areas, which nobody measures: 0.004 mm.
const COARSE: usize = 2;

/// Black, grey or a colour: red, green, blue from 0 to 255.
pub(crate) type Color = [u8; 3];

/// Ink of lines and letters.
pub(crate) const BLACK: Color = [0, 0, 0];

/// A page in the making.
#[derive(Debug, Clone, Default)]
pub(crate) struct Canvas {
    content: String,
}

impl Canvas {
    /// The page's content stream.
    pub(crate) fn finish(self) -> Vec<u8> {
        self.content.into_bytes()
    }

    fn operator(&mut self, numbers: &[f64], decimals: usize, name: &str) {
        for n in numbers {
            self.content.push_str(&plain(*n, decimals));
            self.content.push(' ');
        }
        self.content.push_str(name);
        self.content.push('\n');
    }

    fn in_points(&mut self, points: &[DVec2], name: &str) {
        let numbers: Vec<f64> = points.iter().flat_map(|p| (*p * POINTS).to_array()).collect();
        self.operator(&numbers, DECIMALS, name);
    }

    /// Runs `marks` so that what they change of the looks, and the clip, ends with them.
    pub(crate) fn apart(&mut self, marks: impl FnOnce(&mut Self)) {
        self.operator(&[], 0, "q");
        marks(self);
        self.operator(&[], 0, "Q");
    }

    /// Nothing shows outside this box from here on.
    pub(crate) fn clip(&mut self, low: DVec2, high: DVec2) {
        self.rectangle(low, high);
        self.operator(&[], 0, "W n");
    }

    /// Weight (mm), dashes (mm) and colour of the lines that follow.
    pub(crate) fn pen(&mut self, weight: f64, dashes: &[f64], color: Color) {
        self.operator(&[weight * POINTS], DECIMALS, "w");
        let lengths: Vec<String> = dashes.iter().map(|d| plain(d * POINTS, DECIMALS)).collect();
        self.content.push_str(&format!("[{}] 0 d\n", lengths.join(" ")));
        self.operator(&color.map(share), 3, "RG");
    }

    /// Colour of the areas and letters that follow.
    pub(crate) fn ink(&mut self, color: Color) {
        self.operator(&color.map(share), 3, "rg");
    }

    /// Round ends and corners for the lines that follow.
    pub(crate) fn round_pen(&mut self) {
        self.operator(&[1.0], 0, "J");
        self.operator(&[1.0], 0, "j");
    }

    pub(crate) fn move_to(&mut self, p: DVec2) {
        self.in_points(&[p], "m");
    }

    pub(crate) fn line_to(&mut self, p: DVec2) {
        self.in_points(&[p], "l");
    }

    pub(crate) fn curve_to(&mut self, control_a: DVec2, control_b: DVec2, end: DVec2) {
        self.in_points(&[control_a, control_b, end], "c");
    }

    pub(crate) fn close(&mut self) {
        self.operator(&[], 0, "h");
    }

    pub(crate) fn stroke(&mut self) {
        self.operator(&[], 0, "S");
    }

    pub(crate) fn fill(&mut self) {
        self.operator(&[], 0, "f");
    }

    pub(crate) fn fill_and_stroke(&mut self) {
        self.operator(&[], 0, "B");
    }

    /// Adds a rectangle to the path.
    pub(crate) fn rectangle(&mut self, low: DVec2, high: DVec2) {
        self.in_points(&[low, high - low], "re");
    }

    /// Adds a closed polygon to the path, to a hundredth of a point.
    pub(crate) fn coarse_polygon(&mut self, points: impl Iterator<Item = DVec2>) {
        for (i, p) in points.enumerate() {
            let name = if i == 0 { "m" } else { "l" };
            self.operator(&(p * POINTS).to_array(), COARSE, name);
        }
        self.close();
    }

    /// A straight line.
    pub(crate) fn line(&mut self, from: DVec2, to: DVec2) {
        self.move_to(from);
        self.line_to(to);
        self.stroke();
    }

    /// WinAnsi text whose base line starts at `at` and runs at `angle` degrees; `size` in mm.
    pub(crate) fn text(&mut self, text: &[u8], style: Style, size: f64, at: DVec2, angle: f64) {
        let font = match style {
            Style::Regular => "F1",
            Style::Bold => "F2",
        };
        let (sin, cos) = angle.to_radians().sin_cos();
        let at = at * POINTS;
        self.content.push_str(&format!("BT /{font} {} Tf\n", plain(size * POINTS, DECIMALS)));
        self.operator(&[cos, sin, -sin, cos, at.x, at.y], 6, "Tm");
        self.content.push_str(&format!("<{}> Tj ET\n", hex(text)));
    }
}

fn share(value: u8) -> f64 {
    f64::from(value) / 255.0
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|b| format!("{b:02x}")).collect()
}
