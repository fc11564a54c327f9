//! Damaged files and plain noise: every reader answers with a mesh or a message, and at ease.
//!
//! A short run is part of the tests. `FEATHERLINE_FUZZ_SECONDS=600 cargo test --release
//! -p featherline-geometry --test read_fuzz` runs as long as told; `make fuzz` does that.

#![allow(clippy::unwrap_used, reason = "a test may fail so")]

mod shapes;

use std::time::{Duration, Instant};

use geometry::mesh::adjacency::Adjacency;
use geometry::mesh::tidy::tidy;
use geometry::mesh::write::{write_obj, write_ply, write_stl_binary};
use geometry::read::read_mesh_bytes;
use shapes::ball;

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
const WORDS: [&str; 40] = [
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
];

fn seeds() -> Vec<Vec<u8>> {
    let ball = ball(10.0, 1);
    let mut seeds = vec![Vec::new(); 4];
    write_stl_binary(&ball, &mut seeds[0]).unwrap();
    write_obj(&ball, &mut seeds[1]).unwrap();
    write_ply(&ball, &mut seeds[2]).unwrap();
    let mut text = "solid ball\n".to_owned();
    let mut ascii = String::from(
        "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\n\
         property float z\nproperty list uchar int tags\nelement face 2\n\
         property list uchar int vertex_indices\nproperty uchar red\nend_header\n",
    );
    for face in 0..3 {
        text += "facet normal 0 0 1\nouter loop\n";
        for p in ball.corners(face) {
            text += &format!("vertex {} {} {}\n", p.x, p.y, p.z);
        }
        text += "endloop\nendfacet\n";
        ascii += &format!("{face} {} 1 2 7 7\n", face * 2 % 3);
    }
    ascii += "3 0 1 2 255\n4 0 1 2 1 0\n";
    seeds[3] = (text + "endsolid ball\n").into_bytes();
    seeds.push(ascii.into_bytes());
    let mut obj = "o a\nv 0 0 0 1 1 1\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt 0 0\n".to_owned();
    obj += "f 1/1 2/1 3/1 4/1\nf -1 \\\n-2 -3\n";
    seeds.push(obj.into_bytes());
    let big = String::from_utf8_lossy(&seeds[2]).find("end_header").unwrap();
    let mut swapped = seeds[2].clone();
    swapped.splice(..big, *b"ply\nformat binary_big_endian 1.0\nelement vertex 2\nproperty short x\nproperty char y\nproperty uint z\nelement a 3\nproperty list short int b\nelement face 9\nproperty list uchar short vertex_index\n");
    seeds.push(swapped);
    seeds
}

fn damaged(seeds: &[Vec<u8>], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = seeds[dice.below(seeds.len())].clone();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len());
        let to = (at + dice.below(12)).min(bytes.len());
        match dice.below(8) {
            0 if !bytes.is_empty() => bytes[at] = dice.roll() as u8,
            1 if !bytes.is_empty() => bytes[at] ^= 1 << dice.below(8),
            2 => bytes.truncate(at),
            3 => drop(bytes.drain(at..to)),
            4 => drop(bytes.splice(at..to, WORDS[dice.below(WORDS.len())].bytes())),
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
                let other = &seeds[dice.below(seeds.len())];
                let from = dice.below(other.len());
                bytes.truncate(at);
                bytes.extend(&other[from..]);
            }
        }
    }
    bytes
}

fn noise(dice: &mut Dice) -> Vec<u8> {
    let starts: [&[u8]; 5] = [
        b"",
        b"solid ",
        b"ply\nformat ascii 1.0\n",
        b"v 0 0 0\n",
        b"ply\nformat binary_little_endian 1.0\nelement vertex 2\n",
    ];
    let mut bytes = starts[dice.below(starts.len())].to_vec();
    for _ in 0..dice.below(400) {
        if dice.below(3) == 0 {
            bytes.extend(WORDS[dice.below(WORDS.len())].bytes());
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
            let mesh = read.value;
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
    let until = seconds.map(|s| Instant::now() + Duration::from_secs(s));
    let seeds = seeds();
    for seed in &seeds[..6] {
        assert!(survives("whole", seed), "{:?}", String::from_utf8_lossy(seed));
    }
    let before = peak_memory();
    let (mut meshes, mut refusals) = (0_u64, 0_u64);
    let mut case = 0_u64;
    while until.map_or(case < 40_000, |until| Instant::now() < until) {
        let mut dice = Dice(case.wrapping_mul(0x0123_4567_89ab_cdef));
        let bytes = if case % 4 == 3 { noise(&mut dice) } else { damaged(&seeds, &mut dice) };
        let name = ["a.stl", "a.obj", "a.ply", "a"][dice.below(4)];
        let outcome = std::panic::catch_unwind(|| survives(name, &bytes));
        match outcome {
            Ok(true) => meshes += 1,
            Ok(false) => refusals += 1,
            Err(_) => panic!("case {case} ({name}): {:?}", String::from_utf8_lossy(&bytes)),
        }
        case += 1;
    }
    println!("{meshes} meshes, {refusals} refusals");
    // Both must happen often, or the damage is not worth the name.
    assert!(meshes > case / 50 && refusals > case / 50, "{meshes} meshes, {refusals} refusals");
    let grown = peak_memory() - before;
    assert!(grown < 1 << 28, "{grown} bytes more for files of a few thousand bytes");
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
            for name in ["a.stl", "a.obj", "a.ply", "a"] {
                survives(name, &bytes);
                survives(name, text.as_bytes());
                survives(name, &[b"v ".as_slice(), text.as_bytes()].concat());
            }
        }
    }
}
