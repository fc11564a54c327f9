//! Which of the bodies is meant, and what the others are.

use super::TidyError;
use super::inside::lies_inside;
use super::sorted::Sorted;
use crate::mesh::base::plain::{Form, form};
use crate::mesh::base::span;
use crate::mesh::bodies::{bodies, middle, only, surface};
use crate::mesh::repair::Repair;
use crate::mesh::{TriMesh, shells};

/// A second body with more than this part of the first one's surface is a second last, not a
/// crumb. A last's surface varies by less than half over all sizes.
const COMPARABLE: f64 = 0.2;

/// Bodies below this part of the largest surface are not looked at closely: a last on a ground
/// sheet of 1 by 1 m, scanned from both sides, still has more.
const LARGE: f64 = 0.02;

/// A body beside a plate is the main one when it spans this part of the plate.
const LARGE_SPAN: f64 = 0.1;

/// No more bodies than this are looked at closely.
const MOST_LARGE: usize = 16;

/// The main body alone, if it is the only large one of its kind.
pub(super) fn main_body(mesh: &TriMesh, repairs: &mut Vec<Repair>) -> Result<TriMesh, TidyError> {
    let areas = mesh.face_areas();
    let mut found: Vec<Body> = bodies(mesh)
        .into_iter()
        .map(|faces| Body { area: surface(&areas, &faces), faces, form: None })
        .collect();
    if found.len() > 1 {
        let least = LARGE * found[0].area;
        for body in found.iter_mut().take(MOST_LARGE).filter(|body| body.area >= least) {
            body.form = Some(form(&only(mesh, &body.faces)));
        }
    }
    let main = main_of(&found).ok_or(TidyError::Empty)?;
    let main = found.remove(main);
    let (mut comparable, mut sorted) = (Vec::new(), Sorted::default());
    let main_mesh = only(mesh, &main.faces);
    let mut twin = shells::Twin::new(&main_mesh);
    for body in found {
        let sized = (body.area, middle(mesh, &body.faces));
        if body.is_base_of(&main) {
            sorted.bases.push(sized);
        } else if body.area <= COMPARABLE * main.area {
            sorted.small.push(sized);
        } else if let Some(off) = twin.doubled_by(&only(mesh, &body.faces)) {
            sorted.doubled.push(sized);
            sorted.off = sorted.off.max(off);
        } else if lies_inside(mesh, &body.faces, &main.faces) {
            sorted.inner.push(sized);
        } else {
            comparable.push(sized);
        }
    }
    if let Some(&second) = comparable.first() {
        let mut two = [(main.area, middle(mesh, &main.faces)), second];
        two.sort_by(|a, b| b.0.total_cmp(&a.0));
        let [(first, one), (second, other)] = two;
        let (count, places, share) = (comparable.len() + 1, [one, other], second / first);
        return Err(TidyError::SeveralBodies { count, places, share, span: span(&mesh.positions) });
    }
    sorted.report(repairs);
    drop(twin);
    Ok(main_mesh)
}

/// One of the bodies of a mesh.
struct Body {
    faces: Vec<u32>,
    area: f64,
    /// What it looks like and its span, for the large ones.
    form: Option<(Form, f64)>,
}

impl Body {
    /// Whether this is what `main` stood on: a plate, or a plain form where `main` is none.
    fn is_base_of(&self, main: &Self) -> bool {
        let (Some((own, span)), Some((main_form, main_span))) = (self.form, main.form) else {
            return false;
        };
        match own {
            Form::Plate => main_form != Form::Plate,
            Form::Plain => main_form == Form::Other && (span < main_span || self.area > main.area),
            Form::Other => false,
        }
    }
}

/// Which body is the main one: the largest, unless that is a plate, block or rod and another of
/// fair size is none.
fn main_of(found: &[Body]) -> Option<usize> {
    let (form, span) = found.first()?.form.unwrap_or((Form::Other, 0.0));
    let fair = |body: &Body| match (form, body.form) {
        (Form::Plate, Some((Form::Other, its))) => its >= LARGE_SPAN * span,
        (Form::Plate, Some((Form::Plain, its))) => its >= COMPARABLE * span,
        (Form::Plain, Some((Form::Other, its))) => {
            its >= 0.5 * span && body.area >= COMPARABLE * found[0].area
        }
        _ => false,
    };
    let better = |wanted: Form| {
        found.iter().position(|body| fair(body) && body.form.is_some_and(|(is, _)| is == wanted))
    };
    Some(better(Form::Other).or_else(|| better(Form::Plain)).unwrap_or(0))
}
