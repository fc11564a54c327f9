//! Flattening the heel band at three finenesses.

#[path = "../tests/surfaces/mod.rs"]
mod surfaces;

use flatten::{Options, flatten};

fn main() {
    divan::main();
}

/// Columns and rows for about 10, 50 and 200 thousand triangles.
const GRIDS: [(usize, usize); 3] = [(174, 30), (388, 66), (776, 130)];

#[divan::bench(args = GRIDS, sample_count = 5, sample_size = 1)]
fn heel_band(bencher: divan::Bencher, (columns, rows): (usize, usize)) {
    let mesh = surfaces::heel_band(columns, rows);
    bencher.bench_local(|| flatten(&mesh, &Options::default()).expect("the band is a disk"));
}
