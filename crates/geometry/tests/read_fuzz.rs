//! Damaged files and plain noise: every reader answers with a mesh or a message, and at ease.
//!
//! A short run is part of the tests. `FEATHERLINE_FUZZ_SECONDS=600 cargo test --release
//! -p featherline-geometry --test read_fuzz` runs as long as told for each of the six readers, one
//! after another; `make fuzz` does that.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod packages;
mod shapes;

use std::time::{Duration, Instant};

use geometry::mesh::TriMesh;
use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::tidy::tidy;
use geometry::mesh::write::{write_obj, write_ply, write_stl_binary};
use geometry::read::read_mesh_bytes;
use packages::{MODEL, RELATIONS, model, object, zipped, zipped_by};
use shapes::ball;
use zip::CompressionMethod;

/// Numbers from a seed (Steele, Lea and Flood 2014, SplitMix64): a failure can be repeated.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ self.0 >> 30).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ z >> 27).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ z >> 31
    }

    fn below(&mut self, n: usize) -> usize {
        (self.roll() % n.max(1) as u64) as usize
    }
}

/// Words that steer a reader somewhere new, put in the place of others.
const WORDS: [&str; 44] = [
    "solid",
    "facet",
    "vertex",
    "endfacet",
    "endsolid",
    "endloop",
    "outer loop",
    "v",
    "f",
    "vn",
    "f 1 2 3 4",
    "f -1 -2 -3",
    "-",
    "\\\n",
    "#",
    "1/2/3",
    "//",
    "nan",
    "inf",
    "-1e308",
    "1e-320",
    "4294967295",
    "-9223372036854775808",
    "18446744073709551616",
    "ply\n",
    "format ascii 1.0\n",
    "format binary_big_endian 1.0\n",
    "element vertex 3\n",
    "element face 4000000000\n",
    "element x 0\n",
    "property list uint double vertex_indices\n",
    "property list char int x\n",
    "property double x\n",
    "property uchar a\n",
    "end_header\n",
    "\n",
    "\r",
    "\0",
    " ",
    "\u{feff}",
    "element tristrips 1\n",
    "-1",
    "usemtl a",
    "property list int int vertex_indices\n",
];

/// The same for the XML of a 3MF.
const TAGS: [&str; 24] = [
    "<object id=\"1\">",
    "</object>",
    "<mesh>",
    "</mesh>",
    "<vertices/>",
    "<vertex x=\"1e999\" y=\"nan\" z=\"0\"/>",
    "<triangle v1=\"0\" v2=\"1\" v3=\"4294967295\"/>",
    "<components><component objectid=\"2\"/></components>",
    "<component objectid=\"1\" transform=\"0 0 0 0 0 0 0 0 0 0 0 0\"/>",
    "<item objectid=\"3\" transform=\"-1 0 0 0 1 0 0 0 1 1e300 0 0\"/>",
    "<item objectid=\"1\" p:path=\"/3D/b.model\"/>",
    "<item objectid=\"1\" p:path=\"/_rels/.rels\"/>",
    "<!DOCTYPE a [<!ENTITY b \"c\">]>",
    "<!--",
    "-->",
    "<![CDATA[",
    "]]>",
    "<?x ",
    "&amp;",
    "&#x110000;",
    "unit=\"foot\"",
    "requiredextensions=\"p q\"",
    "\"",
    ">",
];

/// A reader, and where its damaged files come from.
struct Kind {
    name: &'static str,
    /// Its own kind of name; other names are tried too.
    file: &'static str,
    seeds: Vec<Vec<u8>>,
    /// How noise begins that this reader takes for its own.
    start: &'static [u8],
}

fn kinds() -> Vec<Kind> {
    let ball = ball(10.0, 1);
    let written = |write: fn(&TriMesh, &mut Vec<u8>) -> std::io::Result<()>| {
        let mut bytes = Vec::new();
        write(&ball, &mut bytes).unwrap();
        bytes
    };
    let stl = written(|m, o| write_stl_binary(m, o));
    let ply = written(|m, o| write_ply(m, o));
    let mut text = "solid ball\n".to_owned();
    let mut ascii = String::from(
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\n\
         property float z\nproperty list uchar int tags\nelement face 2\n\
         property list uchar int vertex_indices\nproperty uchar red\nelement tristrips 1\n\
         property list int int vertex_indices\nend_header\n",
    );
    for face in 0..3 {
        text += "facet normal 0 0 1\nouter loop\n";
        for p in ball.corners(face) {
            text += &format!("vertex {} {} {}\n", p.x, p.y, p.z);
        }
        text += "endloop\nendfacet\n";
        ascii += &format!("{face} {} 1 2 7 7\n", face * 2 % 3);
    }
    ascii += "3 0 1 2 255\n4 0 1 2 1 0\n9 0 1 2 1 -1 2 1 0 1\n";
    let text = (text + "endsolid ball\n").into_bytes();
    let obj = "o a\nv 0 0 0 1 1 1\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt 0 0\n\
               f 1/1 2/1 3/1 4/1\nf -1 \\\n-2 -3\n";
    let body = String::from_utf8_lossy(&ply).find("end_header").unwrap();
    let mut swapped = ply.clone();
    swapped.splice(..body, *b"ply\nformat binary_big_endian 1.0\nelement vertex 2\nproperty short x\nproperty char y\nproperty uint z\nelement a 3\nproperty list short int b\nelement face 9\nproperty list uchar short vertex_index\n");
    let kind = |name, file, start, seeds| Kind { name, file, seeds, start };
    vec![
        kind("STL binary", "a.stl", &[b' '; 84], vec![stl]),
        kind("STL text", "a.stl", b"solid ", vec![text]),
        kind("OBJ", "a.obj", b"v 0 0 0\n", vec![written(|m, o| write_obj(m, o)), obj.into()]),
        kind("PLY text", "a.ply", b"ply\nformat ascii 1.0\n", vec![ascii.into_bytes()]),
        kind(
            "PLY binary",
            "a.ply",
            b"ply\nformat binary_little_endian 1.0\nelement vertex 2\n",
            vec![ply, swapped],
        ),
        kind("3MF", "a.3mf", b"PK\x03\x04", packages_of(&ball)),
    ]
}

/// The parts of the packages that are damaged before they are zipped.
fn parts() -> [Vec<(&'static str, Vec<u8>)>; 2] {
    let ball = ball(10.0, 0);
    let resources = object(1, &ball)
        + "<object id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 -1 0 0 0 1 5 6 7\"/>\
           <component objectid=\"1\"/></components></object>";
    let build =
        "<item objectid=\"2\"/><item objectid=\"1\" transform=\"0 1 0 1 0 0 0 0 1 0 0 0\"/>";
    let one = model("unit=\"micron\"", &resources, build);
    let production = "xmlns:p=\"http://schemas.microsoft.com/3dmanufacturing/production/2015/06\"";
    let build = "<item objectid=\"1\" p:path=\"/3D/b.model\"/>";
    let root = model(production, "", build);
    let relations = || ("_rels/.rels", RELATIONS.as_bytes().to_vec());
    [
        vec![relations(), (MODEL, one.into_bytes())],
        vec![
            relations(),
            (MODEL, root.into_bytes()),
            ("3D/b.model", model("", &object(1, &ball), "").into_bytes()),
        ],
    ]
}

fn packages_of(ball: &TriMesh) -> Vec<Vec<u8>> {
    let xml = model("unit=\"inch\"", &object(1, ball), "<item objectid=\"1\"/>");
    let stored = zipped_by(CompressionMethod::Stored, &[(MODEL, xml.as_bytes())]);
    let whole = parts().map(|parts| {
        let parts: Vec<(&str, &[u8])> = parts.iter().map(|(n, c)| (*n, c.as_slice())).collect();
        zipped(&parts)
    });
    whole.into_iter().chain([stored]).collect()
}

/// A sound package with damage to the XML of a part.
fn damaged_xml(dice: &mut Dice) -> Vec<u8> {
    let all = parts();
    let mut chosen = all[dice.below(all.len())].clone();
    let part = dice.below(chosen.len());
    let seeds: Vec<Vec<u8>> = all.iter().flatten().map(|(_, content)| content.clone()).collect();
    chosen[part].1 = damaged(std::slice::from_ref(&chosen[part].1), &seeds, &TAGS, dice);
    let parts: Vec<(&str, &[u8])> = chosen.iter().map(|(n, c)| (*n, c.as_slice())).collect();
    zipped(&parts)
}

/// One of `seeds`, damaged in a few places, some by pieces of `others`.
fn damaged(seeds: &[Vec<u8>], others: &[Vec<u8>], words: &[&str], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = seeds[dice.below(seeds.len())].clone();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len());
        let to = (at + dice.below(12)).min(bytes.len());
        match dice.below(8) {
            0 if !bytes.is_empty() => bytes[at] = dice.roll() as u8,
            1 if !bytes.is_empty() => bytes[at] ^= 1 << dice.below(8),
            2 => bytes.truncate(at),
            3 => drop(bytes.drain(at..to)),
            4 => drop(bytes.splice(at..to, words[dice.below(words.len())].bytes())),
            5 => {
                let part = bytes[at..to].to_vec();
                let other = dice.below(bytes.len());
                drop(bytes.splice(other..other, part));
            }
            // Digits matter most in text: counts and indices.
            6 => {
                let digits: Vec<usize> =
                    (0..bytes.len().min(4000)).filter(|i| bytes[*i].is_ascii_digit()).collect();
                if !digits.is_empty() {
                    bytes[digits[dice.below(digits.len())]] = b'0' + dice.below(10) as u8;
                }
            }
            _ => {
                let other = &others[dice.below(others.len())];
                let from = dice.below(other.len());
                bytes.truncate(at);
                bytes.extend(&other[from..]);
            }
        }
    }
    bytes
}

fn noise(start: &[u8], words: &[&str], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = start[..start.len() - dice.below(8) / 7 * dice.below(start.len())].to_vec();
    for _ in 0..dice.below(400) {
        if dice.below(3) == 0 {
            bytes.extend(words[dice.below(words.len())].bytes());
            bytes.push(b' ');
        } else {
            bytes.push(dice.roll() as u8);
        }
    }
    bytes
}

/// Reads, checks what came, and tells whether it was a mesh.
fn survives(name: &str, bytes: &[u8]) -> bool {
    match read_mesh_bytes(name, bytes) {
        Ok(read) => {
            let mesh = read.value.mesh;
            let n = mesh.positions.len();
            assert!(!mesh.triangles.is_empty());
            assert!(mesh.triangles.iter().flatten().all(|v| (*v as usize) < n));
            assert!(mesh.positions.iter().all(|p| p.is_finite()));
            if let Ok(tidied) = tidy(&mesh, 0.001) {
                Adjacency::new(&tidied.mesh).unwrap();
            }
            true
        }
        Err(error) => {
            let message = error.to_string();
            assert!(message.starts_with(name) && message.len() < 600, "{message}");
            false
        }
    }
}

#[test]
fn damaged_files_and_noise_are_read_or_refused() {
    let seconds = std::env::var("FEATHERLINE_FUZZ_SECONDS")
        .ok()
        .map(|s| s.parse::<u64>().expect("FEATHERLINE_FUZZ_SECONDS is a whole number of seconds"));
    let kinds = kinds();
    let all: Vec<Vec<u8>> = kinds.iter().flat_map(|kind| kind.seeds.clone()).collect();
    for (number, kind) in kinds.iter().enumerate() {
        let until = seconds.map(|s| Instant::now() + Duration::from_secs(s));
        println!("{}", fuzz(kind, number as u64, &all, until));
    }
}

/// Damages files of one kind for as long as told, or a few thousand times; counts what came.
fn fuzz(kind: &Kind, number: u64, all: &[Vec<u8>], until: Option<Instant>) -> String {
    assert!(survives(kind.file, &kind.seeds[0]), "{}", kind.name);
    let is_package = kind.file == "a.3mf";
    let words: &[&str] = if is_package { &TAGS } else { &WORDS };
    let before = peak_memory();
    let (mut meshes, mut refusals) = (0_u64, 0_u64);
    let mut case = 0_u64;
    while until.map_or(case < 3_000, |until| Instant::now() < until) {
        let mut dice = Dice((case << 3 | number).wrapping_mul(0x0123_4567_89ab_cdef));
        let bytes = match case % 8 {
            7 => noise(kind.start, words, &mut dice),
            n if is_package && n < 5 => damaged_xml(&mut dice),
            _ => damaged(&kind.seeds, all, words, &mut dice),
        };
        let name = [kind.file, kind.file, "a.stl", "a.obj", "a.ply", "a.3mf", "a"][dice.below(7)];
        let outcome = std::panic::catch_unwind(|| survives(name, &bytes));
        match outcome {
            Ok(true) => meshes += 1,
            Ok(false) => refusals += 1,
            Err(_) => {
                panic!("{} case {case} ({name}): {:?}", kind.name, String::from_utf8_lossy(&bytes))
            }
        }
        case += 1;
    }
    let grown = peak_memory() - before;
    // Both must happen often, or the damage is not worth the name.
    assert!(
        meshes > case / 50 && refusals > case / 50,
        "{}: {meshes} meshes, {refusals} refusals",
        kind.name
    );
    assert!(grown < 1 << 28, "{grown} bytes more for files of a few thousand bytes");
    format!("{}: {meshes} meshes, {refusals} refusals, {} MB more memory", kind.name, grown >> 20)
}

/// The most address space that this process has had, bytes; 0 where the system does not tell.
fn peak_memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmPeak:")).unwrap_or("0 kB");
    1024 * line.trim().trim_end_matches(" kB").parse::<u64>().unwrap()
}

mod any_bytes {
    use super::survives;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_bytes_are_read_or_refused(
            bytes in proptest::collection::vec(any::<u8>(), 0..600),
            text in "\\PC{0,80}",
        ) {
            for name in ["a.stl", "a.obj", "a.ply", "a.3mf", "a"] {
                survives(name, &bytes);
                survives(name, text.as_bytes());
                survives(name, &[b"v ".as_slice(), text.as_bytes()].concat());
                survives(name, &[b"PK\x03\x04".as_slice(), &bytes].concat());
            }
        }
    }
}
