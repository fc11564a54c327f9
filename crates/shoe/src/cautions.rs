//! The usual cautions, shown where they matter and on every instruction sheet.

use crate::stiffener::brief::{Brief, Kind};

/// The cautions that apply to cutting and lasting the piece.
pub fn cautions(brief: &Brief) -> Vec<String> {
    let mut all = vec![
        "Cut away from your body; keep the other hand behind the blade.".to_owned(),
        "Ventilate where adhesives and solvents are used; keep them from flames.".to_owned(),
    ];
    if matches!(brief.kind, Kind::Thermoplastic | Kind::Moulded) {
        all.push("Heated thermoplastic burns: wear gloves.".to_owned());
    }
    if brief.child {
        all.push("Children's feet: no survey and no rule covers the ankle heights; the ones used were entered by you.".to_owned());
    }
    all.push("Children's, diabetic, orthopaedic and protective footwear belong with licensed professionals and their standards.".to_owned());
    all.push("A pattern certifies nothing; local rules come first.".to_owned());
    all
}
