//! 3MF packages come back as they were written; bad ones are refused with place and mend.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod packages;
mod shapes;

use std::time::{Duration, Instant};

use geometry::mesh::TriMesh;
use geometry::read::{MAX_UNPACKED_BYTES, MeshFile, read_mesh_bytes};
use geometry::units::Unit;
use geometry::warned::Warned;
use glam::DVec3;
use packages::{MODEL, RELATIONS, model, object, package, threemf, zipped, zipped_by};
use shapes::{ball, cuboid};
use zip::CompressionMethod;

const PRODUCTION: &str = "xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\" \
                          requiredextensions=\"p\"";
const ITEM: &str = "<item objectid=\"1\"/>";

fn read(bytes: &[u8]) -> Warned<MeshFile> {
    read_mesh_bytes("last.3mf", bytes).unwrap_or_else(|e| panic!("{e}"))
}

fn assert_refused(bytes: &[u8], fragments: &[&str]) {
    let message = read_mesh_bytes("last.3mf", bytes).unwrap_err().to_string();
    assert!(message.starts_with("last.3mf: ") && message.len() < 600, "{message}");
    for fragment in fragments {
        assert!(message.contains(fragment), "\"{fragment}\" is missing in: {message}");
    }
}

fn brick() -> TriMesh {
    cuboid(DVec3::new(2.0, 3.0, 4.0))
}

// ---- what is read ----

#[test]
fn a_mesh_comes_back_to_the_last_bit() {
    for mesh in [brick(), ball(50.0, 3)] {
        let read = read(&threemf(&mesh));
        assert_eq!((&read.value.mesh, read.value.unit), (&mesh, Some(Unit::Mm)));
        assert_eq!(read.warnings, []);
    }
}

#[test]
fn a_package_is_known_by_its_content_whatever_its_name_and_packing() {
    let bytes = threemf(&brick());
    let read = read_mesh_bytes("last.stl", &bytes).unwrap();
    assert_eq!(read.value.mesh, brick());
    assert!(read.warnings[0].message.contains("content is a 3MF file"));
    let xml = model("", &object(1, &brick()), ITEM);
    for name in ["3D/3dmodel.model", "/3d/3DModel.MODEL"] {
        let stored = zipped_by(CompressionMethod::Stored, &[(name, xml.as_bytes())]);
        assert_eq!(read_mesh_bytes("upload", &stored).unwrap().value.mesh, brick());
    }
    // Elsewhere, by the relations, in the other order of attributes and quotes.
    let relations = RELATIONS.replace("/3D/3dmodel.model", "a/other.model").replace('"', "'");
    let parts = [("_rels/.rels", relations.as_bytes()), ("A/Other.model", xml.as_bytes())];
    assert_eq!(self::read(&zipped(&parts)).value.mesh, brick());
}

#[test]
fn every_unit_of_the_format_is_told_or_converted() {
    // 3MF Core Specification 1.3, section 3.4, ST_Unit.
    for (word, unit, factor) in [
        ("micron", Unit::Mm, 0.001),
        ("millimeter", Unit::Mm, 1.0),
        ("centimeter", Unit::Cm, 1.0),
        ("inch", Unit::In, 1.0),
        ("foot", Unit::Mm, 304.8),
        ("meter", Unit::M, 1.0),
    ] {
        let xml = model(&format!("unit=\"{word}\""), &object(1, &brick()), ITEM);
        let file = read(&package(&xml)).value;
        assert_eq!(file.unit, Some(unit), "{word}");
        assert_eq!(file.mesh.positions[7].abs(), brick().positions[7].abs() * factor, "{word}");
    }
    assert_eq!(read(&package(&model("", &object(1, &brick()), ITEM))).value.unit, Some(Unit::Mm));
    let xml = model("unit=\"ell\"", &object(1, &brick()), ITEM);
    assert_refused(&package(&xml), &[MODEL_PLACE, "line 2", "unit \"ell\"", "export"]);
}

const MODEL_PLACE: &str = "3d/3dmodel.model";

#[test]
fn items_and_nested_components_go_into_one_mesh_where_they_are_put() {
    let groups = "<object id=\"2\"><components>\n\
         <component objectid=\"1\" transform=\"0 1 0 -1 0 0 0 0 1 100 0 0\"/>\n\
         <component objectid=\"1\"/></components></object>\n\
         <object id=\"3\"><components><component objectid=\"2\" transform=\"2 0 0 0 2 0 0 0 2 0 0 7\"/>\
         </components></object>\n";
    let build =
        "<item objectid=\"3\" transform=\"1 0 0 0 1 0 0 0 1 0 1000 0\"/><item objectid=\"1\"/>";
    let mesh = read(&package(&model("", &(object(1, &brick()) + groups), build))).value.mesh;
    assert_eq!((mesh.positions.len(), mesh.triangles.len()), (24, 36));
    // A quarter turn and 100 along x, then twice as large and 7 up, then 1000 along y.
    let p = brick().positions[0];
    let turned = DVec3::new(-p.y + 100.0, p.x, p.z);
    assert_eq!(mesh.positions[0], 2.0 * turned + DVec3::new(0.0, 1000.0, 7.0));
    assert_eq!(mesh.positions[8], 2.0 * p + DVec3::new(0.0, 1000.0, 7.0));
    assert_eq!(mesh.positions[16], p);
    assert!((mesh.signed_volume() - 24.0 * 17.0).abs() < 1e-9);
}

#[test]
fn mirroring_turns_the_triangles_and_mirroring_twice_does_not() {
    let mirror = "transform=\"-1 0 0 0 1 0 0 0 1 0 0 0\"";
    let group = format!(
        "<object id=\"2\"><components><component objectid=\"1\" {mirror}/></components></object>"
    );
    let resources = object(1, &brick()) + &group;
    let mirrored = model("", &resources, &format!("<item objectid=\"1\" {mirror}/>"));
    let twice = model("", &resources, &format!("<item objectid=\"2\" {mirror}/>"));
    assert_eq!(read(&package(&mirrored)).value.mesh.signed_volume(), 24.0);
    assert_eq!(read(&package(&twice)).value.mesh, brick());
}

#[test]
fn colours_materials_and_lattices_are_passed_over() {
    let plain = object(1, &brick());
    let resources =
        "<basematerials id=\"9\"><base name=\"a\" displaycolor=\"#FF0000\"/></basematerials>\
         <m:colorgroup id=\"8\"><m:color color=\"#00FF00FF\"/></m:colorgroup>\
         <!-- <vertex x=\"no\"/> --><s:slicestack id=\"7\"><s:slice ztop=\"1\"><s:vertices>\
         <s:vertex x=\"a\" y=\"b\"/></s:vertices></s:slice></s:slicestack>"
            .to_owned()
            + &plain
                .replace("type=", "pid=\"9\" pindex=\"0\" name=\"&lt;last&gt;\" type=")
                .replace("v3=", "pid=\"8\" p1=\"0\" p2=\"0\" p3=\"0\" v3=")
                .replace(
                    "</triangles>",
                    "</triangles><b:beamlattice><b:beams><b:beam v1=\"0\" v2=\"1\"/>\
                </b:beams></b:beamlattice>",
                );
    let extensions = "xmlns:m=\"http://schemas.microsoft.com/3dmanufacturing/material/2015/02\" \
         xmlns:b=\"http://schemas.microsoft.com/3dmanufacturing/beamlattice/2017/02\" \
         xmlns:s=\"http://schemas.microsoft.com/3dmanufacturing/slice/2015/07\"";
    let coloured = model(extensions, &resources, ITEM);
    assert_eq!(read(&package(&coloured)), read(&package(&model("", &plain, ITEM))));
    let required = model(&format!("{extensions} requiredextensions=\"m b\""), &resources, ITEM);
    let read = read(&package(&required));
    assert_eq!(read.value.mesh, brick());
    assert_eq!(read.warnings.len(), 1, "{:?}", read.warnings);
    assert!(read.warnings[0].message.contains("beamlattice/2017/02"));
    assert!(read.warnings[0].place.contains(MODEL_PLACE));
}

#[test]
fn names_may_have_a_prefix_and_lines_any_end() {
    let xml = model("", &object(1, &brick()), ITEM);
    let prefixed = xml
        .replace("</", "</c:")
        .replace("xmlns=", "xmlns:c=")
        .replace('\n', "\r\n")
        .replace("/>", " />");
    let mut with_prefix = String::from("\u{feff}");
    for (i, piece) in prefixed.split('<').enumerate() {
        with_prefix += if i == 0 { "" } else { "<" };
        let is_open = piece.chars().next().is_some_and(char::is_alphabetic);
        with_prefix += if is_open { "c:" } else { "" };
        with_prefix += piece;
    }
    assert_eq!(read(&package(&with_prefix)).value.mesh, brick());
}

#[test]
fn parts_named_by_a_path_are_read() {
    let other = model("", &object(5, &brick()), "");
    let group = "<object id=\"1\"><components><component p:path=\"/3D/Objects/a.model\" objectid=\"5\"/>\
                 </components></object>";
    let root = model(PRODUCTION, group, ITEM);
    let parts = [(MODEL, root.as_bytes()), ("3D/objects/A.model", other.as_bytes())];
    let read = read(&zipped(&parts));
    assert_eq!((read.value.mesh, read.warnings), (brick(), vec![]));
    assert_refused(&zipped(&parts[..1]), &["3d/objects/a.model", "not in the package", "export"]);
    let inches = other.replace("xml:lang=\"en-US\"", "unit=\"inch\"");
    let parts = [parts[0], ("3D/Objects/a.model", inches.as_bytes())];
    assert_refused(&zipped(&parts), &["3d/objects/a.model", "unit differs", "one unit"]);
}

#[test]
fn supports_are_left_out_and_a_missing_build_takes_all_both_with_a_warning() {
    let support = object(2, &ball(9.0, 1)).replace("type=\"model\"", "type=\"support\"");
    let build = "<item objectid=\"1\"/><item objectid=\"2\"/>";
    let held = read(&package(&model("", &(object(1, &brick()) + &support), build)));
    assert_eq!(held.value.mesh, brick());
    assert!(held.warnings[0].message.ends_with("left out: 1"));
    let group = "<object id=\"2\"><components><component objectid=\"1\"/></components></object>";
    let loose = read(&package(&model("", &(object(1, &brick()) + group), "")));
    assert_eq!(loose.value.mesh, brick());
    assert!(loose.warnings[0].message.contains("nothing is marked to be built"));
}

// ---- what is refused ----

#[test]
fn packages_of_something_else_and_damaged_ones_are_refused() {
    let whole = threemf(&brick());
    assert_refused(b"\x01\x02\x03 no zip", &["no whole zip package", "copy or export"]);
    assert_refused(&whole[..whole.len() - 30], &["no whole zip package", "copy or export"]);
    assert_refused(&whole[..40], &["no whole zip package"]);
    let message = read_mesh_bytes("letter.docx", &whole[..60]).unwrap_err().to_string();
    assert!(message.contains("not an STL, OBJ, PLY or 3MF file"), "{message}");
    let letter = zipped(&[("word/document.xml", b"<w/>")]);
    assert_refused(&letter, &["without a 3D model", MODEL_PLACE, "3MF or binary STL"]);
    assert_refused(&zipped(&[]), &["without a 3D model"]);
}

#[test]
fn damage_inside_a_packed_part_is_told() {
    let mut bytes = zipped(&[(MODEL, model("", &object(1, &ball(9.0, 2)), ITEM).as_bytes())]);
    let middle = bytes.len() / 2;
    for byte in &mut bytes[middle..middle + 20] {
        *byte ^= 0x55;
    }
    assert_refused(&bytes, &[MODEL_PLACE]);
    // Stored, so that only the check sum tells.
    let xml = model("", &object(1, &brick()), ITEM);
    let mut stored = zipped_by(CompressionMethod::Stored, &[(MODEL, xml.as_bytes())]);
    let at = stored.windows(4).position(|w| w == b" x=\"").unwrap();
    stored[at + 4] = b'7';
    assert_refused(&stored, &[MODEL_PLACE, "damaged or cut short", "copy or export it again"]);
}

#[test]
fn passwords_and_unknown_packing_are_refused() {
    let xml = model("", &object(1, &brick()), ITEM);
    let bytes = zipped(&[(MODEL, xml.as_bytes())]);
    let central = bytes.windows(4).rposition(|w| w == b"PK\x01\x02").unwrap();
    // The general purpose flag, bit 0, and the method (APPNOTE 6.3.10, 4.3.7 and 4.3.12).
    let mut locked = bytes.clone();
    locked[6] |= 1;
    locked[central + 8] |= 1;
    assert_refused(&locked, &[MODEL_PLACE, "assword", "without a password"]);
    let mut odd = bytes;
    odd[8] = 97;
    odd[central + 10] = 97;
    assert_refused(&odd, &[MODEL_PLACE, "not read", "usual deflate"]);
}

#[test]
fn bad_models_are_refused_with_part_line_and_mend() {
    let xml = model("", &object(1, &brick()), ITEM);
    let cases: [(&str, &str, &[&str]); 17] = [
        ("</mesh>", "", &["line 30", "XML"]),
        ("</build>\n</model>\n", "", &["line 33", "ends before the end"]),
        ("core/2015/02", "core/9", &["line 2", "namespace"]),
        ("y=\"", "q=\"", &["line 7", "a vertex without its x, y and z"]),
        ("v2=\"", "w=\"", &["line 17", "a triangle without"]),
        ("x=\"", "x=\"a", &["line 7", "\"x\" should be a number"]),
        ("x=\"", "x=\"1e999", &["line 7, object 1", "not a finite number"]),
        ("v1=\"", "v1=\"9", &["line 17, object 1", "8 vertices before it, counted from 0"]),
        ("v1=\"", "v1=\"-1", &["line 17", "vertex -1"]),
        ("id=\"1\" type", "type", &["line 5", "without its id"]),
        ("objectid=\"1\"", "objectid=\"4\"", &["line 33", "object 4 is used, but there is none"]),
        ("objectid=\"1\"", "a=\"1\"", &["line 33", "without its objectid"]),
        ("objectid=\"1\"", "objectid=\"1\" transform=\"1 0 0\"", &["line 33", "twelve numbers"]),
        ("objectid=\"1\"", "objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 0 0 0 0\"", &["flat"]),
        ("<resources>", "<resources><object id=\"1\"/>", &["a second object 1"]),
        ("<mesh>", "<mesh></mesh><mesh>", &["line 5", "a second mesh"]),
        ("<model", "<!DOCTYPE model [<!ENTITY a \"b\">]><model", &["line 2", "DOCTYPE"]),
    ];
    assert!(read(&package(&xml)).warnings.is_empty());
    for (old, new, fragments) in cases {
        assert!(xml.contains(old), "{old}");
        let bytes = package(&xml.replacen(old, new, 1));
        assert_refused(&bytes, &[MODEL_PLACE, "export"]);
        assert_refused(&bytes, fragments);
    }
    assert_refused(&package("<html/>"), &["expected the tag \"model\", found \"html\""]);
    assert_refused(&package(""), &["ends before the end"]);
    assert_refused(&package(&model("", "", "")), &["no triangles, 0 points"]);
}

#[test]
fn objects_that_hold_themselves_are_refused() {
    let group = |id: u32, inner: u32| {
        format!(
            "<object id=\"{id}\"><components><component objectid=\"{inner}\"/></components></object>\n"
        )
    };
    let own = model("", &group(1, 1), ITEM);
    assert_refused(&package(&own), &["line 5", "object 1 is a part of itself"]);
    let ring = model("", &(group(1, 2) + &group(2, 3) + &group(3, 1)), ITEM);
    assert_refused(&package(&ring), &["line 7", "object 1 is a part of itself"]);
    let chain: String = (1..90).map(|id| group(id, id + 1)).collect();
    let deep = model("", &(chain + &object(90, &brick())), ITEM);
    assert_refused(&package(&deep), &["more than 64 groups inside one another"]);
}

// ---- bombs ----

/// Runs `work` and makes sure that it took little memory and time.
fn at_ease(what: &str, megabytes: u64, work: impl FnOnce()) {
    let (before, begin) = (peak_memory(), Instant::now());
    work();
    let (grown, seconds) = (peak_memory() - before, begin.elapsed());
    assert!(grown < megabytes << 20, "{what}: {grown} bytes");
    assert!(seconds < Duration::from_secs(60), "{what}: {seconds:?}");
}

/// The most address space that this process has had, bytes; 0 where the system does not tell.
fn peak_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmPeak:")).unwrap_or("0 kB");
    1024 * line.trim().trim_end_matches(" kB").parse::<u64>().unwrap()
}

/// A zip whose one part is `head`, then `fill` until it has `bytes`, without holding it unpacked.
fn bomb(head: &str, fill: &[u8], bytes: u64) -> Vec<u8> {
    use std::io::Write as _;
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default().compression_level(Some(1));
    zip.start_file(MODEL, options.large_file(true)).unwrap();
    zip.write_all(head.as_bytes()).unwrap();
    let block = fill.repeat((1 << 20) / fill.len());
    for _ in 0..bytes / block.len() as u64 + 1 {
        zip.write_all(&block).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

// One test: the peak is that of the whole process.
#[test]
fn bombs_are_refused_at_ease() {
    let whole = model("", &object(1, &brick()), ITEM);
    let inside = whole.split("<resources>").next().unwrap().to_owned();
    let limit = MAX_UNPACKED_BYTES.to_string();
    // Spaces between tags are a text, and a text has its limit too.
    for (what, head) in [
        ("a text without end", inside.clone()),
        ("an attribute without end", format!("{inside}<resources><object id=\"")),
        ("a comment without end", format!("{inside}<!-- ")),
        ("a tag without end", format!("{inside}<object ")),
    ] {
        let bytes = bomb(&head, b" ", 1 << 25);
        at_ease(what, 64, || assert_refused(&bytes, &[MODEL_PLACE, "more than 1048576 bytes"]));
    }
    let filler = format!("<metadata name=\"{}\"/>\n", "a".repeat(1000));
    let bytes = bomb(&inside, filler.as_bytes(), MAX_UNPACKED_BYTES);
    assert!(bytes.len() < 1 << 24, "{}", bytes.len());
    at_ease("tags without end", 64, || assert_refused(&bytes, &["unpacks to more", &limit]));

    // A size that lies: the part unpacks to more than its header says, and to less.
    for said in [10_u32, u32::MAX - 1] {
        let mut lying = zipped(&[(MODEL, whole.as_bytes())]);
        let central = lying.windows(4).rposition(|w| w == b"PK\x01\x02").unwrap();
        lying[22..26].copy_from_slice(&said.to_le_bytes());
        lying[central + 24..central + 28].copy_from_slice(&said.to_le_bytes());
        at_ease("a size that lies", 64, || drop(read_mesh_bytes("last.3mf", &lying)));
    }

    let deep = inside + &"<a>".repeat(1_000_000);
    at_ease("deep tags", 64, || assert_refused(&package(&deep), &["more than 64 tags"]));
    let laughs =
        format!("<!DOCTYPE m [<!ENTITY a \"ha\"><!ENTITY b \"{}\">]>{whole}", "&a;".repeat(99));
    at_ease("entities", 64, || assert_refused(&package(&laughs), &["DOCTYPE"]));
    let many: String = (0..100_000).map(|i| format!(" a{i}=\"\" xmlns:n{i}=\"x\"")).collect();
    let crowded = whole.replacen("<model", &format!("<model{}", &many[..900_000]), 1);
    at_ease("a crowd of attributes", 64, || drop(read_mesh_bytes("last.3mf", &package(&crowded))));

    // Groups of ten in groups of ten: 10^12 bricks, or 10^12 times nothing.
    let tens = |inner: &str| {
        let mut resources = inner.to_owned();
        for id in 2..14 {
            let component = format!("<component objectid=\"{}\"/>", id - 1);
            resources += &format!(
                "<object id=\"{id}\"><components>{}</components></object>\n",
                component.repeat(10)
            );
        }
        package(&model("", &resources, "<item objectid=\"13\"/>"))
    };
    let (bricks, nothing) = (tens(&object(1, &brick())), tens("<object id=\"1\"/>"));
    at_ease("bricks", 64, || assert_refused(&bricks, &["repeated to more than 64000000"]));
    at_ease("nothing", 64, || assert_refused(&nothing, &["no triangles"]));
}
