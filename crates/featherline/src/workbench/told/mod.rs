//! What the page is told, in the shapes it expects.

pub(super) mod last;
pub(super) mod piece;
pub(super) mod report;
pub(super) mod state;

use glam::{DVec2, DVec3};
use serde::Serialize;

pub(super) type Vec3 = [f64; 3];
pub(super) type Vec2 = [f64; 2];

pub(super) fn v3(place: DVec3) -> Vec3 {
    place.to_array()
}

pub(super) fn v2(place: DVec2) -> Vec2 {
    place.to_array()
}

/// Something noticed, with what to do about it.
#[derive(Debug, Clone, Serialize)]
pub(super) struct Notice {
    place: String,
    message: String,
    hint: String,
}

impl From<&geometry::warned::Warning> for Notice {
    fn from(warning: &geometry::warned::Warning) -> Self {
        let geometry::warned::Warning { place, message, hint } = warning.clone();
        Self { place, message, hint }
    }
}
