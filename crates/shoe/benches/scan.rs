//! Reading, mending, thinning, standing and measuring a noisy scan, apart and all together.
//!
//! After the table come ratios of times that were taken by turns in this one run: they hold on a
//! machine whose own speed is not known, and when it is busy.

mod noisy;

use std::hint::black_box;
use std::sync::OnceLock;
use std::time::Instant;

use geometry::mesh::TriMesh;
use geometry::mesh::write::write_stl_binary;
use geometry::read::read_mesh_bytes;
use shoe::last::measure::{Measures, measure};
use shoe::last::mend::{Mended, Thinned, mend, thinned};
use shoe::last::scan::{Standing, stand_mended};
use shoe::last::stand::Given;

fn main() {
    divan::main();
    // Not where the benches are only listed, or tried as tests.
    if std::env::args().any(|word| word == "--bench") {
        ratios();
    }
}

/// About how many triangles; the true numbers stand before the ratios.
const SIZES: [usize; 2] = [10_000, 100_000];
const MILLION: [usize; 1] = [1_000_000];

/// How often each is timed for the ratios.
const ROUNDS: usize = 5;
const ROUNDS_OF_A_MILLION: usize = 3;

/// The bytes of a binary STL with about so many triangles, made once.
fn file(triangles: usize) -> &'static [u8] {
    static FILES: [OnceLock<Vec<u8>>; 3] = [const { OnceLock::new() }; 3];
    let sizes = [SIZES[0], SIZES[1], MILLION[0]];
    let place = sizes.iter().position(|size| *size == triangles).expect("one of the sizes");
    FILES[place].get_or_init(|| {
        let mut bytes = Vec::new();
        let scan = noisy::noisy_scan(triangles);
        write_stl_binary(&scan, &mut bytes).expect("memory holds it");
        bytes
    })
}

fn read(bytes: &[u8]) -> TriMesh {
    read_mesh_bytes("scan.stl", bytes).expect("a sound file").value.mesh
}

fn mended(scan: &TriMesh) -> Mended {
    mend(scan).expect("a sound scan")
}

fn thin(mended: &Mended) -> Option<Thinned> {
    thinned(&mended.mesh, &Given::nothing()).expect("its unit shows")
}

fn stood(mended: Mended, thin: Option<Thinned>) -> Standing {
    stand_mended(mended, thin, &Given::nothing()).expect("shaped like a last").value
}

fn measured(standing: &Standing) -> Measures {
    measure(&standing.last, &standing.scan, None).value
}

fn whole(bytes: &[u8]) -> Measures {
    let mended = mended(&read(bytes));
    let thin = thin(&mended);
    measured(&stood(mended, thin))
}

/// One bench at 10 and 100 thousand triangles, and once at a million.
macro_rules! at_all_sizes {
    ($(#[doc = $what:literal] $name:ident: $run:ident;)*) => {$(
        #[doc = $what]
        mod $name {
            #[divan::bench(args = super::SIZES, sample_count = 5, sample_size = 1)]
            fn at(bencher: divan::Bencher, triangles: usize) {
                super::$run(bencher, triangles);
            }

            #[divan::bench(args = super::MILLION, sample_count = 1, sample_size = 1)]
            fn at_a_million(bencher: divan::Bencher, triangles: usize) {
                super::$run(bencher, triangles);
            }
        }
    )*};
}

at_all_sizes! {
    /// From the bytes of a binary STL to a mesh.
    a_read: bench_read;
    /// From the mesh to a sound surface.
    b_mend: bench_mend;
    /// From the sound surface to fewer triangles, where there are more than 150 000.
    c_thin: bench_thin;
    /// From the sound surface to a standing last with its marks.
    d_stand: bench_stand;
    /// From the standing last to its measures.
    e_measure: bench_measure;
    /// From the bytes to the measures.
    f_whole: bench_whole;
}

fn bench_read(bencher: divan::Bencher, triangles: usize) {
    let bytes = file(triangles);
    bencher.bench_local(|| read(black_box(bytes)));
}

fn bench_mend(bencher: divan::Bencher, triangles: usize) {
    let scan = read(file(triangles));
    bencher.bench_local(|| mended(black_box(&scan)));
}

fn bench_thin(bencher: divan::Bencher, triangles: usize) {
    let mended = mended(&read(file(triangles)));
    bencher.bench_local(|| thin(black_box(&mended)));
}

fn bench_stand(bencher: divan::Bencher, triangles: usize) {
    let mended = mended(&read(file(triangles)));
    let thin = thin(&mended);
    bencher
        .with_inputs(|| (mended.clone(), thin.clone()))
        .bench_local_values(|(mended, thin)| stood(mended, thin));
}

fn bench_measure(bencher: divan::Bencher, triangles: usize) {
    let mended = mended(&read(file(triangles)));
    let thin = thin(&mended);
    let standing = stood(mended, thin);
    bencher.bench_local(|| measured(black_box(&standing)));
}

fn bench_whole(bencher: divan::Bencher, triangles: usize) {
    let bytes = file(triangles);
    bencher.bench_local(|| whole(black_box(bytes)));
}

#[allow(clippy::print_stdout, reason = "its result")]
fn ratios() {
    let [fine, finest] = [SIZES[1], MILLION[0]].map(file);
    let [scan, finest_scan] = [fine, finest].map(read);
    let counts = [scan.triangles.len(), finest_scan.triangles.len()];
    println!("\nratios at {} and {} triangles", counts[0], counts[1]);
    let [all, reading, mending] = by_turns(
        ROUNDS,
        [&|| drop(whole(fine)), &|| drop(read(fine)), &|| drop(mended(black_box(&scan)))],
    );
    let [all_finest, reading_finest, mending_finest] = by_turns(
        ROUNDS_OF_A_MILLION,
        [&|| drop(whole(finest)), &|| drop(read(finest)), &|| {
            drop(mended(black_box(&finest_scan)))
        }],
    );
    let [n, n_finest] = counts.map(|count| count as f64);
    for (what, ratio) in [
        ("the whole way : reading alone, smaller scan", all / reading),
        ("the whole way : reading alone, larger scan", all_finest / reading_finest),
        ("triangles, larger : smaller", n_finest / n),
        ("mending, larger : smaller", mending_finest / mending),
        ("the whole way, larger : smaller", all_finest / all),
    ] {
        println!("{ratio:8.1}  {what}");
    }
}

/// The median seconds of each of `works`, which run by turns: a busy moment slows all of them.
fn by_turns<const N: usize>(rounds: usize, works: [&dyn Fn(); N]) -> [f64; N] {
    let mut seconds = [(); N].map(|()| Vec::new());
    for _ in 0..rounds {
        for (work, seconds) in works.iter().zip(&mut seconds) {
            let begun = Instant::now();
            work();
            seconds.push(begun.elapsed().as_secs_f64());
        }
    }
    seconds.map(|mut seconds| {
        seconds.sort_by(f64::total_cmp);
        seconds[rounds / 2]
    })
}
