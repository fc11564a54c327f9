//! What was mended on a mesh, by name: for people to read and for programs to count.

use glam::DVec3;
use serde::Serialize;

use crate::warned::Warning;

/// No more places than this are named for one repair; they are the largest.
pub const MOST_PLACES: usize = 12;

/// The kinds of repair. Written as short names such as "hole-filled".
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum RepairKind {
    /// Points in one place made one.
    PointsJoined,
    /// Triangles without area removed.
    EmptyTrianglesRemoved,
    /// Triangles on the same three points removed.
    DoubledTrianglesRemoved,
    /// Points that no triangle uses removed.
    UnusedPointsRemoved,
    /// Sheets that hang on the surface by an edge removed.
    FinsRemoved,
    /// Triangles removed where the surface has no outside.
    TwistedRemoved,
    /// Single points far off the surface around them removed.
    SpikesRemoved,
    /// Small separate bodies removed.
    CrumbsRemoved,
    /// A body inside the largest removed.
    InnerShellRemoved,
    /// A second copy of the surface removed.
    DoubledShellRemoved,
    /// Places parted where the surface only touched itself.
    TouchingParted,
    /// Triangles turned to face outward.
    TurnedOutward,
    /// The surface is flat, so that inside and outside cannot be told.
    FlatLeft,
    /// Triangles without height mended.
    SliversMended,
    /// Triangles without height that could not be mended.
    SliversLeft,
    /// Rims that nearly match joined.
    SeamsClosed,
    /// A hole closed.
    HoleFilled,
    /// An opening left as it is.
    OpeningLeft,
    /// The surface passes through itself or is folded over, and was left so.
    CrossingLeft,
    /// What the body stood on removed.
    BaseCut,
    /// What looks like a stand left in place.
    StandLeft,
}

/// One kind of repair that was made on a mesh.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Repair {
    /// What was done.
    pub kind: RepairKind,
    /// How many times.
    pub count: usize,
    /// Where: the middles of the largest, the largest first, in the coordinates of the mesh.
    pub places: Vec<DVec3>,
    /// What was found and done, in plain words; lengths in the unit of the mesh, or in the one
    /// that [`in_unit`](Self::in_unit) named.
    pub message: String,
    /// What the user can do.
    pub hint: String,
    /// The same with `{}` in place of each length, and the lengths.
    #[serde(skip)]
    pattern: Option<(String, Vec<f64>)>,
}

impl Repair {
    /// A repair; of `places`, which come largest first, [`MOST_PLACES`] are kept.
    pub fn new(
        kind: RepairKind,
        count: usize,
        mut places: Vec<DVec3>,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        places.truncate(MOST_PLACES);
        let (message, hint) = (message.into(), hint.into());
        Self { kind, count, places, message, hint, pattern: None }
    }

    /// The same with these lengths, in the unit of the mesh, for each `{}` in the message.
    #[must_use]
    pub fn with_lengths(mut self, lengths: Vec<f64>) -> Self {
        let pattern = self.message;
        self.message = filled(&pattern, lengths.iter().map(|l| digits(*l)));
        self.pattern = Some((pattern, lengths));
        self
    }

    /// The same with its lengths told in another unit, of which one of the mesh's has `scale`.
    #[must_use]
    pub fn in_unit(mut self, scale: f64, unit: &str) -> Self {
        if let Some((pattern, lengths)) = &self.pattern {
            let told = lengths.iter().map(|l| format!("{} {unit}", digits(l * scale)));
            self.message = filled(pattern, told);
        }
        self
    }
}

fn filled(pattern: &str, lengths: impl Iterator<Item = String>) -> String {
    lengths.fold(pattern.to_owned(), |text, length| text.replacen("{}", &length, 1))
}

/// A length with three digits that say something.
pub(crate) fn digits(length: f64) -> String {
    let decimals = if length > 0.0 { 2.0 - length.log10().floor() } else { 0.0 };
    format!("{length:.*}", decimals.clamp(0.0, 12.0) as usize)
}

/// A place, to a thousandth of the span.
pub(crate) fn place(place: DVec3, span: f64) -> String {
    let decimals = if span > 0.0 { 3.0 - span.log10().floor() } else { 3.0 };
    let decimals = decimals.clamp(0.0, 12.0) as usize;
    let [x, y, z] = place.to_array().map(|x| format!("{x:.decimals$}"));
    format!("({x}, {y}, {z})")
}

impl From<Repair> for Warning {
    fn from(repair: Repair) -> Self {
        Self { place: "mesh".to_owned(), message: repair.message, hint: repair.hint }
    }
}

/// The places of the largest: `sized` holds a size and a place each. Equal sizes are told apart
/// by place, so the outcome does not depend on their order.
pub(crate) fn largest_places(mut sized: Vec<(f64, DVec3)>) -> Vec<DVec3> {
    let order = |a: &(f64, DVec3), b: &(f64, DVec3)| {
        let (p, q) = (a.1, b.1);
        let by_place = p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(p.z.total_cmp(&q.z));
        b.0.total_cmp(&a.0).then(by_place)
    };
    if sized.len() > MOST_PLACES {
        sized.select_nth_unstable_by(MOST_PLACES - 1, order);
        sized.truncate(MOST_PLACES);
    }
    sized.sort_by(order);
    sized.into_iter().map(|(_, place)| place).collect()
}
