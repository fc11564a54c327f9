fn main() {
    let a: Vec<String> = std::env::args().collect();
    let mesh = geometry::read::read_mesh(std::path::Path::new(&a[1])).unwrap().value.mesh;
    let material = a.get(2).filter(|m| *m != "-").map(|m| m.parse().unwrap());
    let worst = a.get(3).is_some_and(|m| m == "worst");
    let grain = a.get(4).map_or(0.0, |g| g.parse().unwrap());
    let t = std::time::Instant::now();
    let flat = flatten::flatten(&mesh, &flatten::Options { material, worst_strain: worst, grain, ..Default::default() }).unwrap();
    eprintln!("{} its, {:.3} s conv {} flipped {} overlaps {}", flat.iterations, t.elapsed().as_secs_f64(), flat.converged, flat.flipped, flat.overlaps);
}
