//! Every mesh format comes back as it was written; every bad file is refused with place and mend.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::path::Path;

use geometry::mesh::TriMesh;
use geometry::mesh::write::{write_obj, write_ply, write_stl_binary};
use geometry::read::{read_mesh, read_mesh_bytes};
use glam::DVec3;
use proptest::prelude::*;
use shapes::{as_set, ball, cuboid};

fn read(name: &str, bytes: &[u8]) -> TriMesh {
    read_mesh_bytes(name, bytes).unwrap().value.mesh
}

fn message(name: &str, bytes: &[u8]) -> String {
    read_mesh_bytes(name, bytes).unwrap_err().to_string()
}

fn assert_refused(name: &str, bytes: &[u8], fragments: &[&str]) {
    let message = message(name, bytes);
    assert!(message.starts_with(name), "{message}");
    for fragment in fragments {
        assert!(message.contains(fragment), "\"{fragment}\" is missing in: {message}");
    }
}

fn stl(triangles: &[[[f32; 3]; 3]]) -> Vec<u8> {
    let mut bytes = vec![b' '; 80];
    bytes.extend((triangles.len() as u32).to_le_bytes());
    for t in triangles {
        bytes.extend([0; 12]);
        bytes.extend(t.iter().flatten().flat_map(|v| v.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

const T: [[f32; 3]; 3] = [[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]];

const FACET: &str = "facet normal 0 0 1\n outer loop\n vertex 0 0 0\n vertex 1.0000000001 0 0\n \
                     vertex 0 1 -0.0\n endloop\nendfacet\n";

const PLY_HEAD: &str = "ply\nformat ascii 1.0\ncomment made by hand\nelement vertex 4\n\
                        property float x\nproperty float y\nproperty float z\n\
                        element face 1\nproperty list uchar int vertex_indices\nend_header\n";

// ---- what is read ----

#[test]
fn a_binary_stl_headed_solid_is_read_as_binary() {
    let mut bytes = stl(&[T, T]);
    bytes[..23].copy_from_slice(b"solid facet from scanne");
    let mesh = read("last.stl", &bytes);
    assert_eq!((mesh.positions.len(), mesh.triangles.len()), (3, 2));
}

#[test]
fn an_stl_joins_exactly_equal_corners_and_zero_of_either_sign() {
    let mut other = T;
    other[0][2] = -0.0;
    other[1] = [1.0, 1.0, 1e-20];
    let mesh = read("last.stl", &stl(&[T, other]));
    assert_eq!(mesh.positions.len(), 4);
    assert_eq!(mesh.triangles, [[0, 1, 2], [0, 3, 2]]);
}

#[test]
fn a_text_stl_keeps_all_digits_and_reads_several_solids() {
    let upper = FACET.to_uppercase().replace('\n', "\r\n");
    let text = format!("solid a b c\n{FACET}endsolid a\nsolid d\n{upper}endsolid\n");
    let warned = read_mesh_bytes("last.stl", text.as_bytes()).unwrap();
    assert_eq!(warned.value.mesh.triangles, [[0, 1, 2], [0, 1, 2]]);
    assert_eq!(warned.value.mesh.positions[1].x, 1.0000000001);
    assert!(warned.warnings.is_empty());
}

#[test]
fn a_text_stl_without_its_last_line_is_read_with_a_warning() {
    let warned = read_mesh_bytes("last.stl", format!("solid\n{FACET}").as_bytes()).unwrap();
    assert!(warned.warnings[0].message.contains("endsolid"));
    assert!(warned.warnings[0].place.contains("line 8"));
}

#[test]
fn bytes_after_the_last_triangle_are_left_out_with_a_warning() {
    let mut bytes = stl(&[T]);
    bytes.extend([7; 3]);
    let warned = read_mesh_bytes("last.stl", &bytes).unwrap();
    assert_eq!(warned.value.mesh.triangles.len(), 1);
    assert!(warned.warnings[0].message.contains("3 bytes"));
}

#[test]
fn the_content_decides_the_format_and_a_wrong_ending_is_told() {
    let obj = b"# made by hand\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n";
    let warned = read_mesh_bytes("last.stl", obj).unwrap();
    assert_eq!(warned.value.mesh.triangles, [[0, 1, 2]]);
    assert!(warned.warnings[0].message.contains("content is an OBJ file"));
    assert_eq!(read("upload", obj).triangles.len(), 1);
    assert_eq!(read("last.ply", &stl(&[T])).triangles.len(), 1);
    let ply = format!("{PLY_HEAD}0 0 0\n1 0 0\n1 1 0\n0 1 0\n3 0 1 2\n");
    assert_eq!(read("last.obj", ply.as_bytes()).triangles.len(), 1);
}

#[test]
fn an_obj_reads_polygons_negative_indices_groups_colours_and_continued_lines() {
    let text = "\u{feff}# C:\\scans\\\r\nmtllib a.mtl\r\no first\r\nv 0 0 0 0.5 0.5 0.5\r\n\
                v 1 0 0 1.0\r\nv 1 1 0\r\nv 0 1 0\r\nvt 0 0\r\nvn 0 0 1\r\n\
                f 1/1/1 2//1 3/1 4 # a square\r\no second\r\ng part\r\nusemtl b\r\ns off\r\n\
                v .5e0 +1. -1\r\nf -1 -2 \\\r\n -3\r\nl 1 2\r\n";
    let warned = read_mesh_bytes("last.obj", text.as_bytes()).unwrap();
    assert_eq!(warned.value.mesh.triangles, [[0, 1, 2], [0, 2, 3], [4, 3, 2]]);
    assert_eq!(warned.value.mesh.positions[4], DVec3::new(0.5, 1.0, -1.0));
    assert!(
        warned.warnings[0].message.ends_with("more than three corners, split into triangles: 1")
    );
}

#[test]
fn an_obj_may_name_vertices_before_they_come() {
    let mesh = read("a.obj", b"f 1 2 3\nv 0 0 0\nv 1 0 0\nv 0 1 0\n");
    assert_eq!(mesh.triangles, [[0, 1, 2]]);
}

#[test]
fn a_ply_passes_over_what_it_does_not_need() {
    let text = "ply\r\nformat ascii 1.0\r\nobj_info invented\r\nelement camera 1\r\n\
                property list int float pose\r\nproperty float f\r\nelement vertex 4\r\n\
                property uchar red\r\nproperty double z\r\nproperty list uchar int tags\r\n\
                property double y\r\nproperty double x\r\nelement face 2\r\n\
                property uchar flags\r\nproperty list ushort uint vertex_index\r\n\
                property float quality\r\nelement edge 0\r\nproperty int a\r\nend_header\r\n\
                2 1.5 2.5 50\r\n9 0 0 0 0\r\n9 0 2 1 1 0 1.00000000001\r\n\r\n9 0 0 1 1\r\n\
                9 0 0 1 0\r\n0 4 0 1 2 3 0.5\r\n0 2 0 1 0.5\r\n";
    let warned = read_mesh_bytes("a.ply", text.as_bytes()).unwrap();
    assert_eq!(warned.value.mesh.positions[1], DVec3::new(1.00000000001, 0.0, 0.0));
    assert_eq!(warned.value.mesh.triangles, [[0, 1, 2], [0, 2, 3]]);
    assert_eq!(warned.warnings.len(), 2);
}

#[test]
fn a_ply_reads_strips_of_triangles() {
    // Two strips of one row, the first with a corner repeated to turn, and a second row.
    let text = PLY_HEAD.replace("vertex 4", "vertex 6").replace("face 1", "tristrips 2")
        + "0 0 0\n0 1 0\n1 0 0\n1 1 0\n2 0 0\n2 1 0\n\
           11 0 1 2 3 3 4 -1 3 2 4 5\n3 0 2 1\n";
    let warned = read_mesh_bytes("a.ply", text.as_bytes()).unwrap();
    let expected = [[0, 1, 2], [2, 1, 3], [3, 2, 4], [4, 2, 5], [0, 2, 1]];
    assert_eq!((warned.value.mesh.triangles.as_slice(), warned.warnings), (&expected[..], vec![]));
    for index in ["6", "-2"] {
        let bad = text.replace("3 0 2 1", &format!("3 0 2 {index}"));
        assert_refused("a.ply", bad.as_bytes(), &["row of strips 1 (line 18)", "counted from 0"]);
    }
}

/// The same triangles in the same places, and nothing to say about them.
fn assert_same(name: &str, plain: &[u8], coloured: &[u8]) {
    assert_ne!(plain, coloured);
    let plain = read_mesh_bytes(name, plain).unwrap();
    assert_eq!(plain.warnings, []);
    assert_eq!(read_mesh_bytes(name, coloured).unwrap(), plain);
}

#[test]
fn colours_change_nothing() {
    let ball = ball(50.0, 2);
    // OBJ: three numbers more a vertex.
    let obj = written(|m, o| write_obj(m, o), &ball);
    let text = String::from_utf8(obj.clone()).unwrap();
    let coloured = |line: &str| match line.starts_with("v ") {
        true => format!("{line} 0.25 0.5 1\n"),
        false => format!("{line}\n"),
    };
    let with_colour: String = text.lines().map(coloured).collect();
    assert_same("a.obj", &obj, with_colour.as_bytes());

    // PLY: four bytes more a vertex and a face.
    let names = "property uchar red\nproperty uchar green\nproperty uchar blue\n\
                 property uchar alpha\n";
    let head = format!("ply\nformat ascii 1.0\nelement vertex {}\n", ball.positions.len());
    let axes = "property double x\nproperty double y\nproperty double z\n";
    let list =
        format!("element face {}\nproperty list uchar int vertex_indices\n", ball.triangles.len());
    let body = |colour: &str| {
        let vertices = ball.positions.iter().map(|p| format!("{} {} {}{colour}\n", p.x, p.y, p.z));
        let faces =
            ball.triangles.iter().map(|t| format!("3 {} {} {}{colour}\n", t[0], t[1], t[2]));
        vertices.chain(faces).collect::<String>()
    };
    let plain = format!("{head}{axes}{list}end_header\n{}", body(""));
    let with_colour =
        format!("{head}{axes}{names}{list}{names}end_header\n{}", body(" 255 0 7 128"));
    assert_same("a.ply", plain.as_bytes(), with_colour.as_bytes());

    // STL: the two spare bytes of each triangle as five bits a colour, in one way or another, and
    // a colour for all in the header.
    let stl = written(|m, o| write_stl_binary(m, o), &ball);
    let mut with_colour = stl.clone();
    with_colour[..80].fill(b' ');
    with_colour[..10].copy_from_slice(b"COLOR=\xff\x00\x07\x80");
    for face in 0..ball.triangles.len() {
        let at = 84 + 50 * face + 48;
        with_colour[at..at + 2].copy_from_slice(&(0x8000_u16 | face as u16).to_le_bytes());
    }
    assert_same("a.stl", &stl, &with_colour);
}

/// A PLY whose every type differs from what `write_ply` writes, in the byte order asked for.
fn odd_ply(big: bool) -> Vec<u8> {
    let order = if big { "big" } else { "little" };
    let mut bytes = format!(
        "ply\nformat binary_{order}_endian 1.0\nelement face 1\nproperty list int short \
         vertex_index\nproperty list uchar double extra\nelement vertex 3\nproperty float x\n\
         property short y\nproperty char z\nproperty double confidence\nend_header\n"
    )
    .into_bytes();
    let mut put = |little: &[u8]| {
        let ordered: Vec<u8> =
            if big { little.iter().rev().copied().collect() } else { little.to_vec() };
        bytes.extend(ordered);
    };
    put(&3_i32.to_le_bytes());
    [0_i16, 1, 2].iter().for_each(|i| put(&i.to_le_bytes()));
    put(&[2]);
    [1.0_f64, 2.0].iter().for_each(|v| put(&v.to_le_bytes()));
    for (x, y, z) in [(0.5_f32, 0_i16, 0_i8), (10.25, -300, 0), (0.0, 1, -7)] {
        put(&x.to_le_bytes());
        put(&y.to_le_bytes());
        put(&z.to_le_bytes());
        put(&1.0_f64.to_le_bytes());
    }
    bytes
}

#[test]
fn a_ply_is_read_in_either_byte_order_and_any_number_type() {
    for big in [false, true] {
        let mesh = read("a.ply", &odd_ply(big));
        assert_eq!(mesh.positions[1], DVec3::new(10.25, -300.0, 0.0));
        assert_eq!(mesh.positions[2], DVec3::new(0.0, 1.0, -7.0));
        assert_eq!(mesh.triangles, [[0, 1, 2]]);
    }
}

// ---- what is refused ----

#[test]
fn missing_files_folders_and_devices_are_refused() {
    let refusal = |path: &str| read_mesh(Path::new(path)).unwrap_err().to_string();
    assert!(refusal("no/such/last.stl").contains("no such file"));
    assert!(refusal(env!("CARGO_MANIFEST_DIR")).contains("this is a folder"));
    #[cfg(unix)]
    assert!(refusal("/dev/null").contains("not an ordinary file"));
}

#[test]
fn a_file_without_permission_is_refused_with_what_the_system_says() {
    // A name longer than any system takes: unreadable for the owner of everything too.
    let refusal = read_mesh(Path::new(&"x".repeat(5000))).unwrap_err().to_string();
    assert!(refusal.contains("cannot be read ("), "{refusal}");
}

#[cfg(unix)]
#[test]
fn a_file_above_the_limit_is_refused_unread() {
    let path = std::env::temp_dir().join(format!("featherline-large-{}.stl", std::process::id()));
    // Sparse: takes no room on the disk.
    std::fs::File::create(&path).unwrap().set_len((2 << 30) + 1).unwrap();
    let refusal = read_mesh(&path).unwrap_err().to_string();
    std::fs::remove_file(&path).unwrap();
    assert!(refusal.contains("2147483649 bytes is more than the limit of 2147483648"), "{refusal}");
    assert!(refusal.contains("reduce the number of triangles"));
}

#[test]
fn empty_and_unknown_files_are_refused() {
    assert_refused("last.stl", b"", &["empty (0 bytes)", "export the mesh again"]);
    assert_refused(
        "photo.jpg",
        b"\xff\xd8\xff\xe0 \x00",
        &["not an STL, OBJ, PLY or 3MF", "binary STL"],
    );
    assert_refused("letter.txt", b"Dear Sir", &["not an STL, OBJ, PLY or 3MF"]);
}

#[test]
fn a_short_binary_stl_tells_how_many_triangles_are_there() {
    let whole = stl(&[T, T, T]);
    let place = ["cut short at byte 200", "3 triangles are promised, 2 are present", "again"];
    assert_refused("last.stl", &whole[..200], &place);
    assert_refused("last.stl", &whole[..83], &["83 bytes are too few", "84"]);
    let mut huge = whole;
    huge[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    assert_refused("last.stl", &huge, &["4294967295 triangles are promised, 3 are present"]);
}

#[test]
fn stl_text_without_facets_or_with_garbage_is_refused() {
    assert_refused("last.stl", b"solid nothing\nendsolid\n", &["no \"facet\"", "binary STL"]);
    assert_refused(
        "last.stl",
        b"solid x\nhello world\n",
        &["line 2", "hello world", "no \"facet\""],
    );
    assert_refused("last.stl", b"Dear Sir,\nplease", &["line 1", "no \"facet\""]);
    let bad = format!("solid\n{FACET}hello\n");
    assert_refused("last.stl", bad.as_bytes(), &["line 9", "found \"hello\"", "binary STL"]);
    let two = FACET.replacen(" vertex 0 0 0\n", "", 1);
    assert_refused("last.stl", two.as_bytes(), &["line 6", "three corners"]);
    let four = FACET.replacen(" vertex 0 0 0\n", " vertex 0 0 0\nvertex 0 0 0\n", 1);
    assert_refused("a.stl", format!("solid\n{four}").as_bytes(), &["line 7", "three corners"]);
    let cut = format!("solid\n{FACET}{}", &FACET[..40]);
    assert_refused(
        "last.stl",
        cut.as_bytes(),
        &["line 11: the file ends inside this line", "again"],
    );
    let cut = format!("solid\n{FACET}{}", FACET.split_inclusive('\n').next().unwrap());
    // Cut inside a face, an OBJ would seem to have a face with too few corners.
    let face = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 2";
    assert_refused("last.obj", face, &["line 5", "ends inside a face", "again"]);
    assert_refused("last.stl", cut.as_bytes(), &["line 9", "ends inside triangle 2"]);
    let short = FACET.replacen("0 0 0", "0 0", 1);
    assert_refused("a.stl", format!("solid\n{short}").as_bytes(), &["line 4", "three coordinates"]);
    let nested = format!("solid\nfacet normal 0 0 1\n{FACET}");
    assert_refused("a.stl", nested.as_bytes(), &["line 3", "\"endfacet\" first"]);
}

#[test]
fn coordinates_that_are_no_numbers_are_refused_with_their_place() {
    let mut bad = T;
    bad[2][1] = f32::NAN;
    assert_refused("last.stl", &stl(&[T, bad]), &["triangle 2 (byte 134)", "not a finite number"]);
    bad[2][1] = f32::NEG_INFINITY;
    assert_refused("last.stl", &stl(&[bad]), &["triangle 1"]);
    let text = format!("solid\n{FACET}{}", FACET.replacen("1.0000000001", "nan", 1));
    assert_refused("last.stl", text.as_bytes(), &["line 12, triangle 2", "not a finite number"]);
    assert_refused("a.obj", b"v 0 0 0\nv 1e999 0 0\n", &["line 2", "not a finite number"]);
    let ply = format!("{PLY_HEAD}0 0 0\n1 0 0\n1 inf 0\n0 1 0\n3 0 1 2\n");
    assert_refused("a.ply", ply.as_bytes(), &["vertex 2 (line 13)", "not a finite number"]);
}

#[test]
fn a_decimal_comma_is_named() {
    assert_refused("a.obj", b"v 0,5 0 0\n", &["line 1", "found \"0,5\"", "decimals need a point"]);
}

#[test]
fn bad_lines_of_an_obj_are_named() {
    assert_refused("a.obj", b"v 0 0\n", &["line 1", "three coordinates"]);
    assert_refused("a.obj", b"v 0 0 0\n\nf 1 x 1\n", &["line 3", "found \"x\""]);
    let long = [b"v ".as_slice(), &[b'x'; 500]].concat();
    assert!(message("a.obj", &long).len() < 200);
}

#[test]
fn indices_out_of_range_are_refused_with_their_place() {
    let vertices = "v 0 0 0\nv 1 0 0\nv 0 1 0\n";
    for (face, index) in [
        ("1 2 4", "vertex 4"),
        ("0 1 2", "vertex 0"),
        ("-4 1 2", "vertex -4"),
        ("1 2 5000000000", "vertex 5000000000"),
    ] {
        let text = format!("{vertices}f {face}\n");
        assert_refused(
            "a.obj",
            text.as_bytes(),
            &["line 4", index, "there are 3 vertices, counted from 1"],
        );
    }
    let smallest = format!("{vertices}f {} 1 2\n", i64::MIN);
    assert_refused("a.obj", smallest.as_bytes(), &["line 4"]);
    for index in [4, -1] {
        let ply = format!("{PLY_HEAD}0 0 0\n1 0 0\n1 1 0\n0 1 0\n3 0 1 {index}\n");
        let place = ["face 0 (line 15)", "there are 4 vertices, counted from 0"];
        assert_refused("a.ply", ply.as_bytes(), &place);
    }
}

#[test]
fn files_without_triangles_are_refused() {
    assert_refused("last.stl", &stl(&[]), &["no triangles", "cloud of points"]);
    assert_refused("a.obj", b"v 0 0 0\nv 1 0 0\n", &["no triangles, 2 points"]);
    let ply = PLY_HEAD.replace("face 1", "face 0") + "0 0 0\n1 0 0\n1 1 0\n0 1 0\n";
    assert_refused("a.ply", ply.as_bytes(), &["no triangles, 4 points"]);
}

#[test]
fn a_header_that_promises_too_much_is_refused_without_memory() {
    let before = peak_memory();
    for format in ["ascii", "binary_little_endian", "binary_big_endian"] {
        for (element, count) in
            [("vertex", "4000000000"), ("face", "4000000000"), ("face", "18446744073709551615")]
        {
            let text = PLY_HEAD.replace("ascii", format).replace(
                &format!("{element} {}", if element == "vertex" { 4 } else { 1 }),
                &format!("{element} {count}"),
            );
            let bytes = [text.as_bytes(), &[b'0'; 48]].concat();
            assert_refused("a.ply", &bytes, &[count, "are promised", "copy or export it again"]);
        }
    }
    // A list that promises 4 thousand million entries.
    let text = PLY_HEAD.replace("ascii", "binary_little_endian").replace("uchar", "uint");
    let bytes = [text.as_bytes(), &[0; 48], &u32::MAX.to_le_bytes(), &[0; 12]].concat();
    assert_refused("a.ply", &bytes, &["cut short", "\"face\" 0"]);
    let text = format!("{PLY_HEAD}0 0 0\n1 0 0\n1 1 0\n0 1 0\n4000000000 0 1 2\n");
    assert_refused("a.ply", text.as_bytes(), &["line 15", "a list of 4000000000 numbers"]);
    assert!(peak_memory() - before < 1 << 30);
}

/// The most address space that this process has had, bytes; 0 where the system does not tell.
fn peak_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmPeak:")).unwrap_or("0 kB");
    1024 * line.trim().trim_end_matches(" kB").parse::<u64>().unwrap()
}

#[test]
fn bad_headers_of_a_ply_are_refused_with_their_line() {
    let cases = [
        ("format ascii", "format roman", "line 2", "unknown \"format roman"),
        ("format ascii 1.0\n", "", "line 9", "no \"format\" line"),
        ("element vertex 4", "element vertex many", "line 4", "unreadable"),
        ("element vertex 4\n", "", "line 4", "before the first element"),
        ("element vertex", "element point", "line 1", "no element \"vertex\""),
        ("element face", "element vertex", "line 8", "a second element"),
        ("float x", "list int float x", "line 4", "one number named \"x\""),
        ("float y", "text y", "line 6", "unreadable \"property text y\""),
        ("list uchar", "list float", "line 9", "unreadable"),
        ("end_header\n", "", "line 10", "unknown"),
    ];
    for (old, new, line, fragment) in cases {
        let text = PLY_HEAD.replacen(old, new, 1) + "0 0 0\n1 0 0\n1 1 0\n0 1 0\n3 0 1 2\n";
        assert_refused("a.ply", text.as_bytes(), &[line, fragment, "export again"]);
    }
    assert_refused("a.ply", b"ply\nformat ascii 1.0\n", &["no \"end_header\""]);
    assert_refused("a.ply", b"plaster", &["begins with the word \"ply\""]);
}

#[test]
fn a_ply_cut_short_is_refused() {
    let whole = odd_ply(false);
    let cut = &whole[..whole.len() - 1];
    // The face's lists are not counted by the promise of the header, so only the end tells.
    let place = format!("cut short at byte {}", cut.len());
    assert_refused("a.ply", cut, &[&place, "\"vertex\" 2"]);
    let text = format!("{PLY_HEAD}0.000 0.000 0.000\n1 0 0\n1 1 0");
    assert_refused("a.ply", text.as_bytes(), &["line 13", "before row 3"]);
    let text = format!("{PLY_HEAD}0 0 0\n1 0\n1 1 0\n0 1 0\n3 0 1 2\n");
    assert_refused("a.ply", text.as_bytes(), &["line 12", "more numbers"]);
}

// ---- there and back ----

fn written(
    write: impl Fn(&TriMesh, &mut Vec<u8>) -> std::io::Result<()>,
    mesh: &TriMesh,
) -> Vec<u8> {
    let mut bytes = Vec::new();
    write(mesh, &mut bytes).unwrap();
    bytes
}

fn any_mesh() -> impl Strategy<Value = TriMesh> {
    let point = [-1e6..1e6, -1e-3..1e-3, -300.0..300.0_f64];
    proptest::collection::vec(point, 3..30).prop_flat_map(|points| {
        let n = points.len() as u32;
        let triangle = [0..n, 0..n, 0..n];
        proptest::collection::vec(triangle, 1..60).prop_map(move |triangles| TriMesh {
            positions: points.iter().map(|p| DVec3::from_array(*p)).collect(),
            triangles,
        })
    })
}

proptest! {
    #[test]
    fn obj_and_ply_come_back_to_the_last_bit(mesh in any_mesh()) {
        prop_assert_eq!(&read("a.obj", &written(|m, o| write_obj(m, o), &mesh)), &mesh);
        prop_assert_eq!(&read("a.ply", &written(|m, o| write_ply(m, o), &mesh)), &mesh);
    }

    #[test]
    fn a_binary_stl_comes_back_rounded_to_f32(mesh in any_mesh()) {
        let back = read("a.stl", &written(|m, o| write_stl_binary(m, o), &mesh));
        prop_assert_eq!(back.triangles.len(), mesh.triangles.len());
        for face in 0..mesh.triangles.len() as u32 {
            let rounded = mesh.corners(face).map(|p| p.as_vec3().as_dvec3());
            prop_assert_eq!(back.corners(face), rounded);
        }
    }
}

#[test]
fn all_formats_give_the_same_ball() {
    let mut ball = ball(50.0, 3);
    for p in &mut ball.positions {
        *p = p.as_vec3().as_dvec3();
    }
    let expected = as_set(&ball);
    let stl = read("a.stl", &written(|m, o| write_stl_binary(m, o), &ball));
    assert_eq!(stl.positions.len(), ball.positions.len());
    for back in [
        stl,
        read("a.obj", &written(|m, o| write_obj(m, o), &ball)),
        read("a.ply", &written(|m, o| write_ply(m, o), &ball)),
    ] {
        assert_eq!(as_set(&back), expected);
    }
}

#[test]
fn a_box_is_read_from_a_file_on_disk() {
    let path = std::env::temp_dir().join(format!("featherline-box-{}.stl", std::process::id()));
    let cuboid = cuboid(DVec3::new(2.0, 3.0, 4.0));
    std::fs::write(&path, written(|m, o| write_stl_binary(m, o), &cuboid)).unwrap();
    let back = read_mesh(&path).unwrap().value.mesh;
    std::fs::remove_file(&path).unwrap();
    assert_eq!(back.positions.len(), 8);
    assert_eq!(back.signed_volume(), 24.0);
}
