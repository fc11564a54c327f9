//! What the bodies beside the main one were, in words.

use glam::DVec3;

use crate::mesh::repair::{Repair, RepairKind, largest_places};

/// The smaller bodies by what they are, each with its size and place.
#[derive(Default)]
pub(super) struct Sorted {
    pub(super) bases: Vec<(f64, DVec3)>,
    pub(super) small: Vec<(f64, DVec3)>,
    pub(super) doubled: Vec<(f64, DVec3)>,
    /// How far the doubled ones lie off the main one at most.
    pub(super) off: f64,
    pub(super) inner: Vec<(f64, DVec3)>,
}

impl Sorted {
    pub(super) fn report(self, repairs: &mut Vec<Repair>) {
        let kinds = [
            (
                RepairKind::BaseCut,
                self.bases,
                "plates, blocks or rods beside the body removed",
                "nothing to do, if the body stood on them",
            ),
            (
                RepairKind::CrumbsRemoved,
                self.small,
                "small bodies removed",
                "nothing to do, if they were dust or a stand",
            ),
            (
                RepairKind::DoubledShellRemoved,
                self.doubled,
                "second copies of the surface, up to {} beside it, removed",
                "nothing to do, if one is as good as the other",
            ),
            (
                RepairKind::InnerShellRemoved,
                self.inner,
                "bodies inside the largest removed",
                "nothing to do, if the model was hollow",
            ),
        ];
        for (kind, found, what, hint) in kinds {
            let count = found.len();
            if count > 0 {
                let places = largest_places(found);
                let told = Repair::new(kind, count, places, format!("{what}: {count}"), hint);
                let doubled = kind == RepairKind::DoubledShellRemoved;
                repairs.push(if doubled { told.with_lengths(vec![self.off]) } else { told });
            }
        }
    }
}
