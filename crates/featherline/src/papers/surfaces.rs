//! The surfaces of a drafted job as OBJ, in mm: what was measured can be measured again.

use std::fmt::Write as _;

use geometry::mesh::TriMesh;
use glam::DVec3;
use shoe::last::stand::Last;
use shoe::stiffener::Stiffener;

/// The wall on the bare last, in the last frame.
pub(super) fn on_last(piece: &Stiffener) -> Vec<u8> {
    wall(piece, &piece.wall.on_last.positions, "on the bare last")
}

/// The wall where the middle of the piece's thickness lies, in the last frame.
pub(super) fn where_it_lies(piece: &Stiffener) -> Vec<u8> {
    wall(piece, &piece.wall.neutral.positions, "where the middle of the piece lies")
}

/// The wall laid flat, z = 0.
pub(super) fn flat(piece: &Stiffener) -> Vec<u8> {
    let places: Vec<DVec3> = piece.wall.flat.iter().map(|p| p.extend(0.0)).collect();
    wall(piece, &places, "laid flat, the seat at the origin, the centre back along y")
}

/// The last in the last frame.
pub(super) fn last(last: &Last) -> Vec<u8> {
    let mut text = header("the last, standing");
    mesh(&mut text, &last.mesh.positions, &last.mesh);
    text.into_bytes()
}

/// The three states share vertices, triangles and lines, so that they can be compared.
fn wall(piece: &Stiffener, places: &[DVec3], what: &str) -> Vec<u8> {
    let mut text = header(&format!("heel stiffener, wall {what}"));
    mesh(&mut text, places, &piece.wall.on_last);
    let lines = [
        ("feather_line", &piece.wall.feather),
        ("free_edge", &piece.wall.free_edge),
        ("centre_back", &piece.wall.centre_back),
    ];
    for (name, chain) in lines {
        let _ = write!(text, "g {name}\nl");
        for vertex in chain {
            let _ = write!(text, " {}", vertex + 1);
        }
        text.push('\n');
    }
    text.into_bytes()
}

fn header(what: &str) -> String {
    format!(
        "# {what}; mm; last frame: seat at the origin, x to the toe, y to the wearer's left, z up\n"
    )
}

fn mesh(text: &mut String, places: &[DVec3], mesh: &TriMesh) {
    for p in places {
        let _ = writeln!(text, "v {} {} {}", p.x, p.y, p.z);
    }
    for [a, b, c] in &mesh.triangles {
        let _ = writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1);
    }
}
